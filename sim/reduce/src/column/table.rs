//! Every column, once.

use jigwise_bench::words::{circle, fixture_key, fixture_title, trust, trust_key};
use jigwise_physics::{Fixture, Trust};
use jigwise_quantity::{engineering, fixed};

use super::{Column, NOTHING, Shown, Value, View};
use crate::{PartPoint, ReducedPoint};

fn reduced(point: &PartPoint, value: fn(&ReducedPoint) -> Option<f64>) -> Value {
    point.as_reduced().as_ref().and_then(value).into()
}

pub(super) const FREQUENCY: Column = Column::number(
    &["freq_hz"],
    "Hz",
    Shown::number(["Frequency", "Frequency"], [6, 5]),
    |point| Value::Number(point.freq_hz),
);

pub(super) const RESISTANCE: Column = Column::number(
    &["r_ohm"],
    "Ω",
    Shown::text(["R", "R"], false, |point, view| {
        let digits = [5, 4][view as usize];
        let z = point.device().impedance();
        z.map_or("open".to_owned(), |z| engineering(z.re, "Ω", digits))
    }),
    |point| point.device().impedance().map(|z| z.re).into(),
);

pub(super) const REACTANCE: Column = Column::number(
    &["x_ohm"],
    "Ω",
    Shown::number(["X", "X"], [5, 4]),
    |point| point.device().impedance().map(|z| z.im).into(),
);

pub(super) const MAGNITUDE: Column = Column::number(
    &["magnitude_ohm"],
    "Ω",
    Shown::number(["|Z|", "|Z|"], [5, 4]),
    |point| reduced(point, ReducedPoint::magnitude_ohm),
);

pub(super) const PHASE: Column = Column::number(
    &["phase_deg"],
    "°",
    Shown::number(["Angle", "Phase"], [2, 1]),
    |point| reduced(point, ReducedPoint::phase_deg),
);

/// What the point would be by itself: a coil or a capacitor. For people alone, since numbers
/// have both.
pub(super) const AS_A_PART: Column = Column {
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

pub(super) const IDENTITY_MISS: Column = Column::number(
    &["identity"],
    "",
    Shown::number(["Identity", "Identity"], [4, 4]),
    |point| reduced(point, |point| point.consistency),
);

pub(super) const OF_EVERY_POINT: [Column; 10] = [
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

/// A standard uncertainty for people: none where it has no meaning. Files hold the linear figure
/// there too, beside what to trust.
fn u_text(point: &PartPoint, of: fn((f64, f64)) -> f64) -> String {
    let has_meaning = point.trust().is_some_and(Trust::has_deviation);
    let known = point.uncertainty_ohm().filter(|_| has_meaning);
    known.map_or(NOTHING.to_owned(), |both| engineering(of(both), "Ω", 2))
}

pub(super) const U_RESISTANCE: Column = Column::number(
    &["u_r_ohm"],
    "Ω",
    Shown::text(["u(R)", "u(R)"], false, |point, _| {
        u_text(point, |(u_r, _)| u_r)
    }),
    |point| point.uncertainty_ohm().map(|(u_r, _)| u_r).into(),
);

pub(super) const U_REACTANCE: Column = Column::number(
    &["u_x_ohm"],
    "Ω",
    Shown::text(["u(X)", "u(X)"], false, |point, _| {
        u_text(point, |(_, u_x)| u_x)
    }),
    |point| point.uncertainty_ohm().map(|(_, u_x)| u_x).into(),
);

pub(super) const TRUST: Column = Column {
    key: "trust",
    fields: &[],
    csv: &["trust"],
    unit: "",
    shown: Shown::text(["Trust", "Trust"], true, |point, _| trust_words(point)),
    value: |point| {
        point
            .trust()
            .map_or(Value::Nothing, |t| Value::Word(trust_key(t)))
    },
};

pub(super) const KNOWN: [Column; 5] = [
    U_RESISTANCE,
    U_REACTANCE,
    Column::number(&["correlation"], "", None, |point| {
        point.covariance().map(|c| c.correlation()).into()
    }),
    TRUST,
    // The 95 % region and how it was found, where the linear uncertainty does not hold.
    Column {
        key: "region",
        fields: &["side", "r_ohm", "x_ohm", "radius_ohm", "by"],
        csv: &[
            "region",
            "region_r_ohm",
            "region_x_ohm",
            "region_radius_ohm",
            "region_by",
        ],
        unit: "Ω",
        shown: None,
        value: |point| {
            let linear = point.trust() == Some(Trust::Linear);
            match point.region().filter(|_| !linear) {
                Some(region) => Value::Record(vec![
                    Value::Word(if region.is_inside {
                        "inside"
                    } else {
                        "outside"
                    }),
                    Value::Number(region.center_ohm.re),
                    Value::Number(region.center_ohm.im),
                    Value::Number(region.radius_ohm),
                    Value::Word(region.by.key()),
                ]),
                None => Value::Nothing,
            }
        },
    },
];

pub(super) const FIXTURE: Column = Column {
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

pub(super) const AGREEMENT: Column = Column::number(
    &["p"],
    "",
    Shown::text(
        ["Agreement p", "Agreement p"],
        false,
        |point, _| match &point.blend {
            Some(Ok(blend)) => fixed(blend.p, 3),
            Some(Err(_)) => "not blended".to_owned(),
            None => NOTHING.to_owned(),
        },
    ),
    |point| point.blended().map(|blend| blend.p).into(),
);

pub(super) const SEVERAL: [Column; 5] = [
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
        (Some(_), Some(region)) => circle(region.center_ohm, region.radius_ohm, region.is_inside),
        (Some(other), None) => trust(other).to_owned(),
    }
}
