//! Fits, bounds, resonances and p-values against scipy (`tests/oracle/make_fits.py`).

use jigwise_physics::{
    Complex64, Covariance, ExtractError, ImpedanceSweep, Inductor, LineEnd, Model, Quantity,
    SweepErrors, p_value,
};
use jigwise_tests::expected::near;
use serde_json::Value;

const FITS: &str = include_str!("../../oracle/fits.json");

fn numbers(value: &Value) -> Vec<f64> {
    value
        .as_array()
        .unwrap()
        .iter()
        .map(|v| v.as_f64().unwrap())
        .collect()
}

fn complexes(fit: &Value, re: &str, im: &str) -> Vec<Complex64> {
    let pairs = numbers(&fit[re]).into_iter().zip(numbers(&fit[im]));
    pairs.map(|(re, im)| Complex64::new(re, im)).collect()
}

/// scipy.stats.truncnorm: a Gaussian cut off below zero is below the bound with 95 %.
#[test]
fn bounds_of_small_values_agree_with_scipy() {
    let file: Value = serde_json::from_str(FITS).unwrap();
    let bounds = file["bounds"].as_array().unwrap();
    assert_eq!(bounds.len(), 10);
    for bound in bounds {
        let [value, u, expected] = ["v", "u", "bound"].map(|key| bound[key].as_f64().unwrap());
        let esr = jigwise_physics::Value {
            quantity: Quantity::Esr,
            value,
            u,
        };
        let found = esr.upper_bound();
        assert!(
            (found - expected).abs() < 1e-9 * expected.abs().max(u),
            "{value} ± {u}: {found}, scipy {expected}"
        );
        assert_eq!(esr.holds_zero(2.0), value <= 2.0 * u);
    }
}

/// scipy.optimize.brentq on X of the circuit.
#[test]
fn the_zero_of_the_reactance_agrees_with_scipy() {
    let file: Value = serde_json::from_str(FITS).unwrap();
    let resonances = file["resonances"].as_array().unwrap();
    assert_eq!(resonances.len(), 6);
    for resonance in resonances {
        let of = |key: &str| resonance[key].as_f64().unwrap();
        let skin = jigwise_physics::SkinLoss {
            resistance_ohm: of("skin"),
            at_hz: of("at_hz"),
        };
        let coil = Inductor {
            inductance_h: of("l"),
            series_resistance_ohm: of("r"),
            parallel_capacitance_f: of("c"),
            skin: (skin.resistance_ohm > 0.0).then_some(skin),
        };
        for (found, key) in [
            (coil.reactance_zero_hz(), "zero_hz"),
            (coil.self_resonance_hz(), "lossless_hz"),
        ] {
            let found = found.unwrap();
            assert!((found / of(key) - 1.0).abs() < 1e-11, "{coil:?}: {found}");
        }
    }
    let choked = Inductor {
        inductance_h: 10e-6,
        series_resistance_ohm: 1_100.0,
        parallel_capacitance_f: 10e-12,
        skin: None,
    };
    // R above √(L/C) = 1 kΩ: X is negative at every frequency.
    assert_eq!(choked.reactance_zero_hz(), None);
}

/// scipy.optimize.least_squares on circuits made by scikit-rf, same weights, same shift: the
/// same values within a thousandth of their uncertainty, the same covariance to 1e-4, the same
/// χ² and p. `oracle/make_fits.py` makes them.
#[test]
fn fits_agree_with_scipy() {
    use Quantity as Q;
    let file: Value = serde_json::from_str(FITS).unwrap();
    let fits = file["fits"].as_array().unwrap();
    assert_eq!(fits.len(), 6);
    for fit in fits {
        let kind = fit["kind"].as_str().unwrap();
        let (model, quantities): (_, &[Quantity]) = match kind {
            "capacitor" => (Model::Capacitor, &[Q::Capacitance, Q::Esr, Q::Esl]),
            "coil" => (
                Model::Inductor,
                &[Q::Inductance, Q::Resistance, Q::WindingCapacitance],
            ),
            "resistor" => (
                Model::Resistor,
                &[Q::Resistance, Q::WindingCapacitance, Q::Inductance],
            ),
            "choke" => (
                Model::Choke,
                &[
                    Q::LowFrequencyInductance,
                    Q::Relaxation,
                    Q::WindingCapacitance,
                    Q::Resistance,
                ],
            ),
            "crystal" => (
                Model::Crystal,
                &[
                    Q::SeriesResonance,
                    Q::MotionalResistance,
                    Q::MotionalCapacitance,
                    Q::HolderCapacitance,
                ],
            ),
            "stub" => (
                Model::Stub(LineEnd::Open),
                &[Q::CharacteristicImpedance, Q::Delay, Q::Loss],
            ),
            other => panic!("no model for {other}"),
        };
        let freq_hz = numbers(&fit["freq_hz"]);
        let z = complexes(fit, "re", "im");
        let shifts = [complexes(fit, "shift_re", "shift_im")];
        let diagonal = complexes(fit, "variance_re", "variance_im");
        let random: Vec<Covariance> = diagonal
            .iter()
            .zip(numbers(&fit["cross"]))
            .map(|(c, cross)| Covariance {
                re: c.re,
                im: c.im,
                cross,
            })
            .collect();
        let sweep = ImpedanceSweep::new(&freq_hz, &z, &random, &shifts).unwrap();
        let found = sweep
            .fit(model)
            .unwrap_or_else(|why| panic!("{kind}: {why}"));
        let (values, u) = (numbers(&fit["values"]), numbers(&fit["u"]));
        for (j, &quantity) in quantities.iter().enumerate() {
            let value = found.value(quantity).unwrap();
            near(
                &format!("{kind} {quantity:?} / u"),
                value.value / u[j],
                values[j] / u[j],
                1e-3,
            );
            near(
                &format!("{kind} u({quantity:?})"),
                value.u / u[j],
                1.0,
                1e-4,
            );
            let row = numbers(&fit["correlation"][j]);
            for (k, &other) in quantities.iter().enumerate() {
                let found = found.correlation(quantity, other).unwrap();
                near(
                    &format!("{kind} r({quantity:?}, {other:?})"),
                    found,
                    row[k],
                    1e-4,
                );
            }
        }
        let goodness = found.goodness.unwrap();
        let (chi_square, p) = (
            fit["chi_square"].as_f64().unwrap(),
            fit["p"].as_f64().unwrap(),
        );
        near(&format!("{kind} χ²"), goodness.chi_square, chi_square, 1e-4);
        near(&format!("{kind} p"), goodness.p.unwrap(), p, 1e-4);
    }
}

/// The errors of the moved fits: scatter a·|Z|·|1 + Z/Z0|, shifts b·Z and c·Z²/Z0.
#[derive(Debug)]
struct Moving {
    a: f64,
    b: f64,
    c: f64,
    z0_ohm: f64,
}

impl SweepErrors for Moving {
    fn at(&self, _: usize, z: Complex64, shifts: &mut [Complex64]) -> Option<Covariance> {
        let (scale, square) = (self.b * z, self.c * z * z / self.z0_ohm);
        let all = [scale, scale * Complex64::I, square, square * Complex64::I];
        shifts.copy_from_slice(&all);
        let sigma = self.a * z.norm() * (1.0 + z / self.z0_ohm).norm();
        Some(Covariance::circular(sigma * sigma))
    }
}

/// Scatter and shifts taken at the fitted circuit: values, u and χ² as scipy finds them with the
/// whole covariance matrix, from the same file. A rippled coil is refused; with the shifts of each
/// reading it was accepted.
#[test]
fn fits_with_errors_of_the_circuit_agree_with_scipy() {
    let file: Value = serde_json::from_str(FITS).unwrap();
    let entry = |name: &str| file["moving"][name].as_f64().unwrap();
    let errors = Moving {
        a: entry("a"),
        b: entry("b"),
        c: entry("c"),
        z0_ohm: entry("z0"),
    };
    let fits = file["moved_fits"].as_array().unwrap();
    assert_eq!(fits.len(), 3);
    for fit in fits {
        let kind = fit["kind"].as_str().unwrap();
        let model = match kind {
            "coil" => Model::Inductor,
            _ => Model::Capacitor,
        };
        let freq_hz = numbers(&fit["freq_hz"]);
        let z = complexes(fit, "re", "im");
        let mut shifts = vec![vec![Complex64::ZERO; z.len()]; 4];
        let mut random = Vec::new();
        for (k, &z) in z.iter().enumerate() {
            let mut own = [Complex64::ZERO; 4];
            random.extend(errors.at(k, z, &mut own));
            for (all, own) in shifts.iter_mut().zip(own) {
                all[k] = own;
            }
        }
        let sweep = ImpedanceSweep::new(&freq_hz, &z, &random, &shifts).unwrap();
        let found = sweep.with_errors(&errors).fit(model);
        let expected = fit["chi_square"].as_f64().unwrap();
        // χ² stands where it moves by less than a thousandth of √(2ν).
        let within = 1e-3 * (2.0 * (2.0 * z.len() as f64 - 3.0)).sqrt();
        if fit["ripple"].as_f64().unwrap() > 0.0 {
            let Err(ExtractError::Misfit { chi_square, .. }) = found else {
                panic!("{found:?}");
            };
            near(
                "χ² of a ripple",
                chi_square,
                expected,
                within * expected / 119.0,
            );
            continue;
        }
        let found = found.unwrap_or_else(|why| panic!("{kind}: {why}"));
        near(kind, found.goodness.unwrap().chi_square, expected, within);
        let (values, u) = (numbers(&fit["values"]), numbers(&fit["u"]));
        // The capacitance across the coil is not told.
        for (j, value) in found.values.iter().take(2).enumerate() {
            near(kind, value.value / u[j], values[j] / u[j], 1e-3);
            near(kind, value.u / u[j], 1.0, 1e-3);
        }
    }
}

/// scipy.stats.chi2.sf, from the same file.
#[test]
fn chances_of_chi_square_agree_with_scipy() {
    let file: Value = serde_json::from_str(FITS).unwrap();
    let chances = file["chances"].as_array().unwrap();
    assert!(chances.len() >= 9);
    for chance in chances {
        let of = |name: &str| chance[name].as_f64().unwrap();
        let found = p_value(of("x"), of("nu") as u32);
        assert!((found / of("p") - 1.0).abs() < 1e-11, "{chance}: {found}");
    }
}
