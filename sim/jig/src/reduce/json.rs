//! The points as JSON.

use std::cell::RefCell;
use std::io::Write;

use jigwise_bench::words::fixture_key;
use jigwise_reduce::{Columns, Ensemble, Findings, PartPoint, ReduceError, Value};
use serde::Serialize;
use serde::ser::{Error as _, SerializeMap, SerializeSeq, Serializer};

use super::points::wanted;
use super::values::ValuesJson;
use super::{Prepared, Reduce};
use crate::CommandError;
use crate::json::{self, AgreementJson, Document, Warning};

#[derive(Serialize)]
struct ReductionJson<'a> {
    #[serde(skip_serializing_if = "Option::is_none")]
    fixture: Option<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    fixtures: Option<Vec<&'static str>>,
    reference_ohm: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    instrument: Option<&'a str>,
    /// Whether the fixtures tell of one part.
    #[serde(skip_serializing_if = "Option::is_none")]
    agreement: Option<AgreementJson>,
    #[serde(skip_serializing_if = "Option::is_none")]
    strays: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    values: Option<ValuesJson>,
    #[serde(skip_serializing_if = "Option::is_none")]
    points: Option<Points<'a>>,
    /// Each fixture by itself, where they contradict each other.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    apart: Vec<Self>,
}

/// Points that are reduced while they are written.
struct Points<'a> {
    ensemble: &'a Ensemble<'a>,
    at_hz: &'a [f64],
    columns: Columns,
}

/// Where a writer's error meets a refusal.
enum Stopped<E> {
    Writer(E),
    Refused(ReduceError),
}

impl<E> From<ReduceError> for Stopped<E> {
    fn from(error: ReduceError) -> Self {
        Self::Refused(error)
    }
}

impl Serialize for Points<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let list = RefCell::new(serializer.serialize_seq(None)?);
        let written = wanted(self.ensemble, self.at_hz, |point| {
            let json = PointJson {
                point,
                columns: self.columns,
            };
            list.borrow_mut()
                .serialize_element(&json)
                .map_err(Stopped::Writer)
        });
        match written {
            Ok(()) => list.into_inner().end(),
            Err(Stopped::Writer(error)) => Err(error),
            Err(Stopped::Refused(error)) => Err(S::Error::custom(error)),
        }
    }
}

/// A point as an object: a key for each column.
struct PointJson<'a> {
    point: &'a PartPoint,
    columns: Columns,
}

impl Serialize for PointJson<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(None)?;
        for column in self.columns.all() {
            let value = ValueJson {
                value: &column.value(self.point),
                fields: column.fields,
            };
            map.serialize_entry(column.key, &value)?;
        }
        map.end()
    }
}

struct ValueJson<'a> {
    value: &'a Value,
    /// The keys of a record.
    fields: &'static [&'static str],
}

impl Serialize for ValueJson<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self.value {
            Value::Nothing => serializer.serialize_none(),
            Value::Flag(flag) => serializer.serialize_bool(*flag),
            Value::Number(number) => serializer.serialize_f64(*number),
            Value::Word(word) => serializer.serialize_str(word),
            Value::Words(words) => words.serialize(serializer),
            Value::Text(text) => serializer.serialize_str(text),
            Value::Record(values) => {
                let mut map = serializer.serialize_map(None)?;
                for (key, value) in self.fields.iter().zip(values) {
                    let value = ValueJson { value, fields: &[] };
                    map.serialize_entry(key, &value)?;
                }
                map.end()
            }
        }
    }
}

impl<'a> ReductionJson<'a> {
    fn of(given: &'a Reduce, part: &'a Prepared<'_>, findings: Option<&Findings>) -> Self {
        let fixtures: Vec<&'static str> = part
            .inputs
            .fixtures
            .iter()
            .copied()
            .map(fixture_key)
            .collect();
        let one = fixtures.len() == 1;
        Self {
            fixture: one.then(|| fixtures[0]),
            fixtures: (!one).then_some(fixtures),
            reference_ohm: part.ensemble.reference().ohm(),
            instrument: part
                .inputs
                .instrument
                .as_ref()
                .map(|named| named.name.as_str()),
            agreement: part.ensemble.agreement().map(AgreementJson::from),
            strays: part.inputs.strays.as_ref().map(|named| named.name.as_str()),
            values: findings.map(ValuesJson::of),
            points: Some(Points {
                ensemble: &part.ensemble,
                at_hz: &given.at,
                columns: part.columns(),
            }),
            apart: Vec::new(),
        }
    }
}

pub(super) fn write_json(
    given: &Reduce,
    part: &Prepared<'_>,
    findings: Option<&Findings>,
    notes: &[String],
    out: &mut dyn Write,
) -> Result<(), CommandError> {
    let body = ReductionJson::of(given, part, findings);
    document(body, part, warnings(&[part], notes), out)
}

/// The fixtures of a part that contradict each other, each by itself.
pub(super) fn write_apart(
    given: &Reduce,
    part: &Prepared<'_>,
    each: &[Prepared<'_>],
    notes: &[String],
    out: &mut dyn Write,
) -> Result<(), CommandError> {
    let apart = each.iter().map(|one| ReductionJson::of(given, one, None));
    let body = ReductionJson {
        points: None,
        apart: apart.collect(),
        ..ReductionJson::of(given, part, None)
    };
    let each: Vec<&Prepared<'_>> = each.iter().collect();
    document(body, part, warnings(&each, notes), out)
}

fn document(
    body: ReductionJson<'_>,
    part: &Prepared<'_>,
    warnings: Vec<Warning>,
    out: &mut dyn Write,
) -> Result<(), CommandError> {
    let document = Document::new("reduce", body)
        .read(part.inputs.files())
        .warned(warnings);
    json::write_json(&document, out)
}

/// What is said beside the numbers.
fn warnings(parts: &[&Prepared<'_>], notes: &[String]) -> Vec<Warning> {
    let notes = notes.iter().map(|text| Warning {
        file: None,
        text: text.clone(),
    });
    let remarks = parts.iter().flat_map(|part| part.remarks());
    let remarks = remarks.map(|(file, text)| Warning {
        file: Some(file.to_owned()),
        text,
    });
    notes.chain(remarks).collect()
}
