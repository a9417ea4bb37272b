//! Calibrations against scikit-rf (BSD-3-Clause). `oracle/calibration_vectors.py` makes raw
//! readings by cascading parts with random error boxes, without a twelve-term formula; here the
//! calibration is solved from the raw standards alone, and must give back the part that
//! scikit-rf started from, and agree with what scikit-rf's own calibrations give.

use std::array::from_fn;

use jigwise_physics::{
    Correction, Definitions, Isolation, Kit, MeasuredStandards, Method, OffsetLine, OnePortTerms,
    Port, Scattering, Standard, SwitchTerms, Termination, ThroughStandard, Trio, solve,
};
use jigwise_tests::fifty_ohm::Z0;
use num_complex::Complex64;
use serde_json::Value;

const VECTORS: &str = include_str!("../../oracle/calibration_vectors.json");
/// Rounding in the solution of three equations and in the correction, times up to twenty where
/// the standards lie close together on the sphere.
const TOLERANCE: f64 = 1e-12;

fn complex(value: &Value) -> Complex64 {
    let part = |k: usize| value[k].as_f64().expect("a number");
    Complex64::new(part(0), part(1))
}

fn list<const N: usize>(value: &Value) -> [Complex64; N] {
    assert_eq!(value.as_array().expect("a list").len(), N);
    from_fn(|k| complex(&value[k]))
}

fn real<const N: usize>(value: &Value) -> [f64; N] {
    assert_eq!(value.as_array().expect("a list").len(), N);
    from_fn(|k| value[k].as_f64().expect("a number"))
}

fn scattering(value: &Value) -> Scattering {
    let [s11, s12, s21, s22] = list(value);
    Scattering { s11, s12, s21, s22 }
}

struct Case(Value);

impl Case {
    fn all() -> Vec<Self> {
        let file: Value = serde_json::from_str(VECTORS).expect("JSON");
        let vectors = file["vectors"].as_array().expect("a list of vectors");
        vectors.iter().cloned().map(Self).collect()
    }

    fn complex(&self, name: &str) -> Complex64 {
        complex(&self.0[name])
    }

    fn scattering(&self, name: &str) -> Scattering {
        scattering(&self.0[name])
    }

    fn is_ideal(&self) -> bool {
        self.0["kit"].is_null()
    }

    fn freq_hz(&self) -> f64 {
        self.0["freq_hz"].as_f64().expect("a frequency")
    }

    /// What the standards are, as scikit-rf has them.
    fn definitions(&self) -> Definitions {
        let [open, short, load] = list(&self.0["known_reflections"]);
        Definitions {
            reflections: [Trio { open, short, load }; 2],
            through: self.scattering("known_through"),
            freq_hz: Some(self.freq_hz()),
            ..Definitions::IDEAL
        }
    }

    /// The standards by the figures in the file.
    fn kit(&self) -> Kit {
        let figures = &self.0["kit"];
        let line = |name: &str| {
            let [delay_s, zc_ohm, loss_ohm_per_s] = real(&figures[name]);
            OffsetLine {
                delay_s,
                zc_ohm,
                loss_ohm_per_s,
            }
        };
        let [resistance_ohm, inductance_h, capacitance_f] = real(&figures["load"]);
        let load = Termination::Load {
            resistance_ohm,
            inductance_h,
            capacitance_f,
        };
        Kit {
            reflections: Trio {
                open: Standard::open(real(&figures["capacitance"])).behind(line("open_line")),
                short: Standard::short(real(&figures["inductance"])).behind(line("short_line")),
                load: Standard {
                    termination: load,
                    offset: line("load_line"),
                },
            },
            through: ThroughStandard {
                line: line("through_line"),
            },
        }
    }

    fn measured(&self) -> MeasuredStandards {
        let [forward, reverse] = list(&self.0["raw_isolation"]);
        MeasuredStandards {
            reflections: from_fn(|port| {
                let [open, short, load] = list(&self.0["raw_reflections"][port]).map(Some);
                Trio { open, short, load }
            }),
            through: Some(self.scattering("raw_through")),
            isolation: Some(Isolation { forward, reverse }),
            switch_terms: None,
        }
    }

    fn solved(&self, method: Method) -> Correction {
        solve(method, &self.measured(), &self.definitions()).unwrap()
    }

    /// The unknown through in the place of the through, known by its phase alone.
    fn solved_by_unknown_through(&self) -> Correction {
        let [forward, reverse] = list(&self.0["switch_terms"]);
        let measured = MeasuredStandards {
            through: Some(self.scattering("raw_unknown")),
            switch_terms: Some(SwitchTerms { forward, reverse }),
            ..self.measured()
        };
        let estimate = self.complex("unknown_estimate");
        let definitions = Definitions {
            through: Scattering {
                s12: estimate,
                s21: estimate,
                ..Scattering::THROUGH
            },
            ..self.definitions()
        };
        solve(Method::UnknownThrough, &measured, &definitions).unwrap()
    }
}

/// The largest of many differences, told when all are in.
struct Largest {
    what: &'static str,
    value: f64,
}

impl Largest {
    fn new(what: &'static str) -> Self {
        Self { what, value: 0.0 }
    }

    #[track_caller]
    fn take(&mut self, number: usize, miss: f64, allowed: f64) {
        assert!(
            miss <= allowed,
            "case {number}, {}: off by {miss:e}, allowed {allowed:e}",
            self.what
        );
        self.value = self.value.max(miss);
    }
}

#[expect(clippy::print_stderr, reason = "kept by the harness, shown on request")]
impl Drop for Largest {
    fn drop(&mut self) {
        eprintln!("{}: largest difference {:e}", self.what, self.value);
    }
}

#[test]
fn two_hundred_analyzers_of_all_kinds_with_raw_readings_far_from_the_part() {
    let cases = Case::all();
    assert_eq!(cases.len(), 200);
    assert_eq!(cases.iter().filter(|case| case.is_ideal()).count(), 50);
    for kind in ["shunt", "series", "other"] {
        let of_kind = cases.iter().filter(|case| case.0["part_kind"] == kind);
        assert!(of_kind.count() > 60, "{kind}");
    }
    for case in &cases {
        let raw = case.scattering("raw_part");
        assert!(raw.distance(&case.scattering("part")) > 0.05);
        let moved = case.complex("raw_reflection") - case.complex("reflection");
        assert!(moved.norm() > 0.01);
    }
}

#[test]
fn standards_are_what_scikit_rf_builds_from_their_figures() {
    let mut largest = Largest::new("definitions");
    for (number, case) in Case::all().iter().enumerate() {
        let want = case.definitions();
        let got = if case.is_ideal() {
            Definitions {
                freq_hz: want.freq_hz,
                ..Definitions::IDEAL
            }
        } else {
            Definitions::of(&case.kit(), case.freq_hz(), Z0).unwrap()
        };
        let (a, b) = (got.reflections[0], want.reflections[0]);
        let off = [a.open - b.open, a.short - b.short, a.load - b.load];
        for miss in off {
            largest.take(number, miss.norm(), 1e-14);
        }
        largest.take(number, got.through.distance(&want.through), 1e-14);
    }
}

#[test]
fn one_port_gives_the_reflection_back() {
    let mut to_truth = Largest::new("one-port to the reflection");
    let mut to_scikit = Largest::new("one-port to scikit-rf's");
    for (number, case) in Case::all().iter().enumerate() {
        let found = case
            .solved(Method::OnePort)
            .apply_one_port(case.complex("raw_reflection"));
        let miss = (found - case.complex("reflection")).norm();
        to_truth.take(number, miss, TOLERANCE);
        let miss = (found - case.complex("one_port")).norm();
        to_scikit.take(number, miss, TOLERANCE);
    }
}

#[test]
fn full_gives_the_part_back() {
    let mut to_truth = Largest::new("full to the part");
    let mut to_scikit = Largest::new("full to scikit-rf's twelve terms");
    for (number, case) in Case::all().iter().enumerate() {
        let found = case
            .solved(Method::BothDirections)
            .apply(&case.scattering("raw_part"));
        to_truth.take(number, found.distance(&case.scattering("part")), TOLERANCE);
        to_scikit.take(number, found.distance(&case.scattering("full")), TOLERANCE);
    }
}

#[test]
fn unknown_through_gives_the_part_back() {
    let mut to_truth = Largest::new("unknown through to the part");
    let mut to_scikit = Largest::new("unknown through to scikit-rf's");
    for (number, case) in Case::all().iter().enumerate() {
        let found = case
            .solved_by_unknown_through()
            .apply(&case.scattering("raw_part"));
        to_truth.take(number, found.distance(&case.scattering("part")), TOLERANCE);
        let theirs = case.scattering("unknown");
        to_scikit.take(number, found.distance(&theirs), TOLERANCE);
    }
}

/// The estimate on the far side picks the other root: −S21, and S11 as before.
#[test]
fn the_other_root_turns_transmission_round() {
    for case in Case::all() {
        let estimate = -case.complex("unknown_estimate");
        let right = case.solved_by_unknown_through();
        let measured = {
            let [forward, reverse] = list(&case.0["switch_terms"]);
            MeasuredStandards {
                through: Some(case.scattering("raw_unknown")),
                switch_terms: Some(SwitchTerms { forward, reverse }),
                ..case.measured()
            }
        };
        let definitions = Definitions {
            through: Scattering {
                s12: estimate,
                s21: estimate,
                ..Scattering::THROUGH
            },
            ..case.definitions()
        };
        let wrong = solve(Method::UnknownThrough, &measured, &definitions).unwrap();
        let raw = case.scattering("raw_part");
        let (right, wrong) = (right.apply(&raw), wrong.apply(&raw));
        assert!((right.s21 + wrong.s21).norm() < TOLERANCE);
        assert!((right.s11 - wrong.s11).norm() < TOLERANCE);
    }
}

#[test]
fn enhanced_response_is_scikit_rfs_and_keeps_an_error() {
    let mut to_scikit = Largest::new("enhanced response to scikit-rf's");
    let mut kept: f64 = 0.0;
    for (number, case) in Case::all().iter().enumerate() {
        let found = case
            .solved(Method::OnePortAndThrough)
            .apply(&case.scattering("raw_part"));
        let [s11, s21] = list(&case.0["enhanced"]);
        let miss = (found.s11 - s11).norm().max((found.s21 - s21).norm());
        to_scikit.take(number, miss, TOLERANCE);
        kept = kept.max((found.s21 - case.scattering("part").s21).norm());
    }
    assert!(kept > 0.02, "the load match is not corrected: {kept}");
}

/// Forward readings alone are enough for a part that looks the same from both sides, and wrong
/// for another.
#[test]
fn one_direction_gives_symmetric_parts_back_and_no_others() {
    let mut to_truth = Largest::new("one direction to the part");
    for (number, case) in Case::all().iter().enumerate() {
        let mut measured = case.measured();
        measured.reflections[Port::Two as usize] = Trio::NONE;
        let nothing = Complex64::new(f64::NAN, 0.0);
        let forward_only = |s: Scattering| Scattering {
            s12: nothing,
            s22: nothing,
            ..s
        };
        measured.through = measured.through.map(forward_only);
        let correction = solve(Method::OneDirection, &measured, &case.definitions()).unwrap();
        let found = correction.apply(&forward_only(case.scattering("raw_part")));
        let miss = found.distance(&case.scattering("part"));
        if case.0["part_kind"] == "other" {
            assert!(miss > 1e-3, "case {number}");
        } else {
            to_truth.take(number, miss, TOLERANCE);
        }
    }
}

/// Five standards with noise on each reading: the same terms and the same rest as scikit-rf's
/// least squares by singular values.
#[test]
fn least_squares_are_scikit_rfs() {
    let mut to_scikit = Largest::new("terms by least squares to scikit-rf's");
    let mut rests = Largest::new("rest by least squares to scikit-rf's");
    for (number, case) in Case::all().iter().enumerate() {
        let known: [Complex64; 3] = list(&case.0["known_reflections"]);
        let more: [Complex64; 2] = list(&case.0["more_reflections"]);
        let raw: [Complex64; 5] = list(&case.0["noisy_five"]);
        let standards: Vec<_> = known.into_iter().chain(more).zip(raw).collect();
        let fit = OnePortTerms::solve(&standards).unwrap();
        let [directivity, source_match, tracking] = list(&case.0["fit"]);
        for miss in [
            fit.terms.directivity - directivity,
            fit.terms.source_match - source_match,
            fit.terms.reflect_tracking - tracking,
        ] {
            to_scikit.take(number, miss.norm(), TOLERANCE);
        }
        let rms = case.0["fit_rms"].as_f64().unwrap();
        assert!(rms > 1e-5, "case {number} has noise: {rms}");
        rests.take(number, (fit.residual_rms - rms).abs(), 1e-14);
    }
}
