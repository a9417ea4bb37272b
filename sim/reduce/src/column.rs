//! The columns of a table of points: one list that the text table, JSON, comma-separated values
//! and the report's page all read.

use jigwise_bench::words::{fixture_key, fixture_title, trust, trust_key};
use jigwise_physics::{Fixture, Trust};
use jigwise_quantity::{complex_ohm, engineering, fixed};

use crate::{PartPoint, ReducedPoint};

/// What a point has in a column.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// The point has no such value.
    Nothing,
    /// Yes or no.
    Flag(bool),
    /// A number in the column's unit.
    Number(f64),
    /// A word of a fixed list.
    Word(&'static str),
    /// Several of them.
    Words(Vec<&'static str>),
    /// A sentence.
    Text(String),
    /// One value for each of [`Column::fields`].
    Record(Vec<Value>),
}

impl From<Option<f64>> for Value {
    fn from(value: Option<f64>) -> Self {
        value.map_or(Self::Nothing, Self::Number)
    }
}

/// Where a column is shown to people.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum View {
    /// The table of the text command, with a little more room for digits.
    Terminal,
    /// The table of a report's page.
    Page,
}

/// How a column is shown to people.
#[derive(Debug, Clone, Copy)]
pub struct Shown {
    /// Its heading on the terminal, and on the page.
    titles: [&'static str; 2],
    /// Digits of its numbers, likewise: significant ones with a prefix, decimals without.
    digits: [usize; 2],
    /// True where it holds words, which stand to the left.
    pub is_words: bool,
    /// Its text, where that is more than the number with its unit.
    text: Option<fn(&PartPoint, View) -> String>,
}

impl Shown {
    const fn number(titles: [&'static str; 2], digits: [usize; 2]) -> Option<Self> {
        Some(Self {
            titles,
            digits,
            is_words: false,
            text: None,
        })
    }

    const fn text(
        titles: [&'static str; 2],
        is_words: bool,
        text: fn(&PartPoint, View) -> String,
    ) -> Option<Self> {
        Some(Self {
            titles,
            digits: [0, 0],
            is_words,
            text: Some(text),
        })
    }

    /// The heading.
    pub const fn title(&self, view: View) -> &'static str {
        self.titles[view as usize]
    }
}

/// One column.
#[derive(Debug, Clone, Copy)]
pub struct Column {
    /// Its key in JSON.
    pub key: &'static str,
    /// The keys inside it in JSON, where its value is a [`Value::Record`].
    pub fields: &'static [&'static str],
    /// Its headings in comma-separated values, one for each field; empty where it is left out.
    pub csv: &'static [&'static str],
    /// The unit of its numbers.
    pub unit: &'static str,
    /// How people see it, where they do.
    pub shown: Option<Shown>,
    value: fn(&PartPoint) -> Value,
}

impl Column {
    /// A number with one key for JSON and comma-separated values.
    const fn number(
        key: &'static [&'static str; 1],
        unit: &'static str,
        shown: Option<Shown>,
        value: fn(&PartPoint) -> Value,
    ) -> Self {
        Self {
            key: key[0],
            fields: &[],
            csv: key,
            unit,
            shown,
            value,
        }
    }

    /// What a point has in it.
    pub fn value(&self, point: &PartPoint) -> Value {
        (self.value)(point)
    }

    /// What a point has in it, as people read it.
    pub fn text(&self, point: &PartPoint, view: View) -> String {
        let shown = self.shown.as_ref();
        if let Some(text) = shown.and_then(|shown| shown.text) {
            return text(point, view);
        }
        let digits = shown.map_or(0, |shown| shown.digits[view as usize]);
        match self.value(point) {
            Value::Number(number) => match self.unit {
                "" => fixed(number, digits),
                "°" => format!("{}°", fixed(number, digits)),
                unit => engineering(number, unit, digits),
            },
            Value::Word(word) => word.to_owned(),
            Value::Text(text) => text,
            _ => NOTHING.to_owned(),
        }
    }
}

/// What stands where there is no value.
const NOTHING: &str = "–";

/// Which columns a table of points has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Columns {
    /// True where an instrument is known, so that values have uncertainties.
    pub has_instrument: bool,
    /// True where the part was measured in several fixtures.
    pub is_several: bool,
}

impl Columns {
    /// The columns of JSON and of comma-separated values.
    pub fn all(self) -> impl Iterator<Item = &'static Column> {
        let known: &[Column] = if self.has_instrument { &KNOWN } else { &[] };
        let several: &[Column] = if self.is_several { &SEVERAL } else { &[] };
        OF_EVERY_POINT.iter().chain(known).chain(several)
    }

    /// The columns that people see, each with how.
    pub fn shown(self, view: View) -> impl Iterator<Item = (&'static Column, Shown)> {
        let mut columns = vec![&FREQUENCY, &RESISTANCE, &REACTANCE];
        if self.has_instrument {
            columns.extend([&U_RESISTANCE, &U_REACTANCE]);
        }
        columns.extend([&MAGNITUDE, &PHASE]);
        if view == View::Terminal {
            columns.push(&AS_A_PART);
        }
        if self.is_several {
            columns.push(&FIXTURE);
            if self.has_instrument {
                columns.push(&AGREEMENT);
            }
        } else if view == View::Terminal {
            columns.push(&IDENTITY_MISS);
        }
        if view == View::Page && self.has_instrument {
            columns.push(&TRUST);
        }
        columns
            .into_iter()
            .filter_map(|column| Some((column, column.shown?)))
    }
}

fn reduced(point: &PartPoint, value: fn(&ReducedPoint) -> Option<f64>) -> Value {
    point.as_reduced().as_ref().and_then(value).into()
}

const FREQUENCY: Column = Column::number(
    &["freq_hz"],
    "Hz",
    Shown::number(["Frequency", "Frequency"], [6, 5]),
    |point| Value::Number(point.freq_hz),
);

const RESISTANCE: Column = Column::number(
    &["r_ohm"],
    "Ω",
    Shown::text(["R", "R"], false, |point, view| {
        let digits = [5, 4][view as usize];
        let z = point.device().impedance();
        z.map_or("open".to_owned(), |z| engineering(z.re, "Ω", digits))
    }),
    |point| point.device().impedance().map(|z| z.re).into(),
);

const REACTANCE: Column = Column::number(
    &["x_ohm"],
    "Ω",
    Shown::number(["X", "X"], [5, 4]),
    |point| point.device().impedance().map(|z| z.im).into(),
);

const MAGNITUDE: Column = Column::number(
    &["magnitude_ohm"],
    "Ω",
    Shown::number(["|Z|", "|Z|"], [5, 4]),
    |point| reduced(point, ReducedPoint::magnitude_ohm),
);

const PHASE: Column = Column::number(
    &["phase_deg"],
    "°",
    Shown::number(["Angle", "Phase"], [2, 1]),
    |point| reduced(point, ReducedPoint::phase_deg),
);

/// What the point would be by itself: a coil or a capacitor. For people alone, since numbers
/// have both.
const AS_A_PART: Column = Column {
    key: "",
    fields: &[],
    csv: &[],
    unit: "",
    shown: Shown::number(["As a part", "As a part"], [0, 0]),
    value: |point| {
        let Some(point) = point.as_reduced() else {
            return Value::Nothing;
        };
        let henry = point.inductance_h().map(|henry| engineering(henry, "H", 5));
        let farad = || Some(engineering(point.capacitance_f()?, "F", 5));
        henry.or_else(farad).map_or(Value::Nothing, Value::Text)
    },
};

const IDENTITY_MISS: Column = Column::number(
    &["consistency"],
    "",
    Shown::number(["Identity", "Identity"], [4, 4]),
    |point| reduced(point, |point| point.consistency),
);

const OF_EVERY_POINT: [Column; 10] = [
    FREQUENCY,
    Column {
        key: "open",
        fields: &[],
        csv: &[],
        unit: "",
        shown: None,
        value: |point| Value::Flag(point.device().is_open()),
    },
    RESISTANCE,
    REACTANCE,
    MAGNITUDE,
    PHASE,
    Column {
        key: "reading",
        fields: &["re", "im"],
        csv: &["reading_re", "reading_im"],
        unit: "",
        shown: None,
        value: |point| match point.best() {
            Some(best) => {
                let parts = [best.reading.re, best.reading.im];
                Value::Record(parts.map(Value::Number).to_vec())
            }
            None => Value::Nothing,
        },
    },
    Column::number(&["inductance_h"], "H", None, |point| {
        reduced(point, ReducedPoint::inductance_h)
    }),
    Column::number(&["capacitance_f"], "F", None, |point| {
        reduced(point, ReducedPoint::capacitance_f)
    }),
    IDENTITY_MISS,
];

const U_RESISTANCE: Column = Column::number(
    &["u_r_ohm"],
    "Ω",
    Shown::number(["u(R)", "u(R)"], [2, 2]),
    |point| point.uncertainty_ohm().map(|(u_r, _)| u_r).into(),
);

const U_REACTANCE: Column = Column::number(
    &["u_x_ohm"],
    "Ω",
    Shown::number(["u(X)", "u(X)"], [2, 2]),
    |point| point.uncertainty_ohm().map(|(_, u_x)| u_x).into(),
);

const TRUST: Column = Column {
    key: "trust",
    fields: &[],
    csv: &["trust"],
    unit: "",
    shown: Shown::text(["Trust", "Trust"], true, |point, _| trust_words(point)),
    value: |point| point.trust().map_or(Value::Nothing, |t| Value::Word(trust_key(t))),
};

const KNOWN: [Column; 5] = [
    U_RESISTANCE,
    U_REACTANCE,
    Column::number(&["correlation"], "", None, |point| {
        point.covariance().map(|c| c.correlation()).into()
    }),
    TRUST,
    // The exact 95 % region, where the linear uncertainty does not hold.
    Column {
        key: "region",
        fields: &["side", "r_ohm", "x_ohm", "radius_ohm"],
        csv: &[
            "region",
            "region_r_ohm",
            "region_x_ohm",
            "region_radius_ohm",
        ],
        unit: "Ω",
        shown: None,
        value: |point| {
            let linear = point.trust() == Some(Trust::Linear);
            match point.region().filter(|_| !linear) {
                Some(region) => Value::Record(vec![
                    Value::Word(if region.is_inside { "inside" } else { "outside" }),
                    Value::Number(region.center_ohm.re),
                    Value::Number(region.center_ohm.im),
                    Value::Number(region.radius_ohm),
                ]),
                None => Value::Nothing,
            }
        },
    },
];

const FIXTURE: Column = Column {
    key: "fixture",
    fields: &[],
    csv: &["fixture"],
    unit: "",
    shown: Shown::text(["Best", "Best fixture"], true, |point, view| {
        let name = match view {
            View::Terminal => fixture_key(point.chosen),
            View::Page => fixture_title(point.chosen),
        };
        name.to_owned()
    }),
    value: |point| Value::Word(fixture_key(point.chosen)),
};

const AGREEMENT: Column = Column::number(
    &["p"],
    "",
    Shown::text(["Agreement p", "Agreement p"], false, |point, _| {
        match &point.blend {
            Some(Ok(blend)) => fixed(blend.p, 3),
            Some(Err(_)) => "not blended".to_owned(),
            None => NOTHING.to_owned(),
        }
    }),
    |point| point.blended().map(|blend| blend.p).into(),
);

const SEVERAL: [Column; 5] = [
    FIXTURE,
    Column::number(&["chi_square"], "", None, |point| {
        point.blended().map(|blend| blend.chi_square).into()
    }),
    AGREEMENT,
    Column {
        key: "used",
        fields: &[],
        csv: &["used"],
        unit: "",
        shown: None,
        value: |point| match point.blended() {
            Some(blend) => {
                let used = Fixture::ALL.into_iter().zip(blend.used);
                let used = used.filter(|(_, used)| *used);
                Value::Words(used.map(|(fixture, _)| fixture_key(fixture)).collect())
            }
            None => Value::Nothing,
        },
    },
    Column {
        key: "not_blended",
        fields: &[],
        csv: &["not_blended"],
        unit: "",
        shown: None,
        value: |point| match &point.blend {
            Some(Err(error)) => Value::Text(error.to_string()),
            _ => Value::Nothing,
        },
    },
];

/// Which statement of uncertainty holds, with the region where that is it.
fn trust_words(point: &PartPoint) -> String {
    match (point.trust(), point.region()) {
        (None, _) => NOTHING.to_owned(),
        (Some(Trust::Linear), _) => "u".to_owned(),
        (Some(_), Some(region)) => format!(
            "{} {} {} {}",
            if region.is_inside { "within" } else { "outside" },
            engineering(region.radius_ohm, "Ω", 3),
            if region.is_inside { "of" } else { "about" },
            complex_ohm(region.center_ohm, 3)
        ),
        (Some(other), None) => trust(other).to_owned(),
    }
}
