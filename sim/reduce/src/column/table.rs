//! Every column, once.

use jigwise_bench::words::{circle, fixture_key, fixture_title, trust, trust_key};
use jigwise_physics::{Fixture, Trust};
use jigwise_quantity::{as_known, engineering, fixed};

use super::{Column, NOTHING, Shown, Value, View};
use crate::{COVERAGE_FACTOR, PartPoint, ReducedPoint};

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
        let z = point.device().impedance();
        let (spread, _) = point.spread_ohm();
        z.map_or("open".to_owned(), |z| {
            as_known(z.re, spread, "Ω", most(view))
        })
    }),
    |point| point.device().impedance().map(|z| z.re).into(),
);

pub(super) const REACTANCE: Column = Column::number(
    &["x_ohm"],
    "Ω",
    Shown::text(["X", "X"], false, |point, view| {
        let z = point.device().impedance();
        let (_, spread) = point.spread_ohm();
        z.map_or(NOTHING.to_owned(), |z| {
            as_known(z.im, spread, "Ω", most(view))
        })
    }),
    |point| point.device().impedance().map(|z| z.im).into(),
);

pub(super) const MAGNITUDE: Column = Column::number(
    &["magnitude_ohm"],
    "Ω",
    Shown::text(["|Z|", "|Z|"], false, |point, view| {
        let size = point.device().impedance().map(|z| z.norm());
        let (spread, _) = polar_spread(point);
        size.map_or(NOTHING.to_owned(), |ohm| {
            as_known(ohm, spread, "Ω", most(view))
        })
    }),
    |point| reduced(point, ReducedPoint::magnitude_ohm),
);

pub(super) const PHASE: Column = Column::number(
    &["phase_deg"],
    "°",
    Shown::text(["Angle", "Phase"], false, |point, view| {
        const DECIMALS: [usize; 2] = [2, 1];
        let Some(deg) = point.as_reduced().and_then(|point| point.phase_deg()) else {
            return NOTHING.to_owned();
        };
        let size = point.device().impedance().map_or(0.0, |z| z.norm());
        let spread = (polar_spread(point).1 / size).to_degrees();
        // Below the second digit of its uncertainty nothing is known.
        let known = (1.0 - spread.log10().floor()).clamp(0.0, DECIMALS[view as usize] as f64);
        format!("{}°", fixed(deg, known as usize))
    }),
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
    value: as_a_part,
};

/// The most digits of ohms.
fn most(view: View) -> usize {
    match view {
        View::Terminal => 5,
        View::Page => 4,
    }
}

/// What the digits of |Z| and the phase are shown by, along Z and across it, Ω.
fn polar_spread(point: &PartPoint) -> (f64, f64) {
    let has_meaning = point.trust().is_some_and(Trust::has_deviation);
    let polar = point.polar_uncertainty_ohm().filter(|_| has_meaning);
    polar.unwrap_or_else(|| point.spread_ohm())
}

/// A coil or a capacitor where the reactance is that of one, and not what is left of a resistor's.
fn as_a_part(point: &PartPoint) -> Value {
    const LEAST_SHARE: f64 = 0.1;
    let (Some(reduced), Some(z)) = (point.as_reduced(), point.device().impedance()) else {
        return Value::Nothing;
    };
    let (_, spread) = point.spread_ohm();
    if z.im.abs() < LEAST_SHARE * z.norm() || z.im.abs() < COVERAGE_FACTOR * spread {
        let is_resistor = z.re > LEAST_SHARE * z.norm() && z.re > COVERAGE_FACTOR * spread;
        return if is_resistor {
            Value::Text("resistor".to_owned())
        } else {
            Value::Nothing
        };
    }
    let share = spread / z.im.abs();
    let told = |value: f64, unit| as_known(value, share * value, unit, most(View::Terminal));
    let henry = reduced.inductance_h().map(|henry| told(henry, "H"));
    let farad = || Some(told(reduced.capacitance_f()?, "F"));
    henry.or_else(farad).map_or(Value::Nothing, Value::Text)
}

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
