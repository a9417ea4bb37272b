//! Whether χ² of a fit tells a part from its circuit, and an honest budget from another.
//!
//! Null cases: p of 1000 seeded measurements each is uniform by the test of Kolmogorov and
//! Smirnov. D is at most 0.0615, its 0.1 % point for 1000 (1.95/√n, table of any text on
//! statistics, cited from memory). Budgets of 1.3 times the size, or less by that, leave it far
//! behind. Faults: a part that is not its circuit, and a budget that claims too much, are refused
//! at least 99 times of 100.

use jigwise_bench::{Fixture, Measurement, Scenario};
use jigwise_physics::{Budget, Complex64, ExtractError, Immittance, Instrument, Model, Scattering};
use jigwise_reduce::{Findings, FitInput, Recipe, Wanted, fit_input};
use jigwise_tests::claim::claimed;
use jigwise_tests::closed_loop::recipe_of;
use jigwise_tests::one_band::one_band;
use jigwise_tests::seed::seed;
use jigwise_touchstone::Sweep;

const RUNS: u64 = 1000;
/// 1.95/√1000.
const MAX_D: f64 = 0.0615;

struct Bench {
    name: &'static str,
    fixture: Fixture,
    scenario: Scenario,
    /// From raw sweeps with those of the standards; otherwise corrected before.
    is_raw: bool,
    has_blanks: bool,
}

impl Bench {
    fn new(name: &'static str, fixture: Fixture, is_raw: bool, text: &str) -> Self {
        let scenario =
            one_band(Scenario::from_toml(&format!("version = 1\n{text}"), name).unwrap());
        let strays = &scenario.fixtures.strays;
        Self {
            name,
            fixture,
            has_blanks: strays.gap_f + strays.ground_h + strays.pin_f > 0.0,
            scenario,
            is_raw,
        }
    }

    fn figures(&self) -> &Instrument {
        &self.scenario.instrument.as_ref().unwrap().figures
    }

    fn budget(&self, figures: &Instrument) -> Budget {
        let connections = self.scenario.connections;
        Budget::new(figures, self.scenario.reference, connections).unwrap()
    }

    fn measured(&self, run: u64) -> Measurement {
        // Each case draws noise of its own.
        let case: u64 = self.name.bytes().map(u64::from).sum();
        let seed = seed()
            .wrapping_mul(1_000_000_007)
            .wrapping_add(case * 10_000 + run);
        let mut scenario = Scenario {
            seed,
            ..self.scenario.clone()
        };
        // A corrected file does not tell the front end: each run has another.
        if let Some(plan) = scenario.calibration.as_mut().filter(|_| !self.is_raw) {
            // Not the seed of the noise: both draw from it in the same way.
            plan.front_end = Some(seed ^ 0x5a5a_5a5a);
        }
        Measurement::of(&scenario, self.fixture).unwrap()
    }

    /// A measured sweep, its part's impedance times 1 + `amplitude`·cos over 11 periods.
    fn input(&self, measurement: &Measurement, budget: Budget, amplitude: f64) -> FitInput {
        let mut recipe = if self.is_raw {
            recipe_of(&self.scenario, measurement, self.has_blanks)
        } else {
            Recipe::default()
        };
        recipe.budget = Some(budget.into());
        let sweep = if amplitude != 0.0 {
            self.rippled(measurement, amplitude)
        } else if self.is_raw {
            measurement.raw().unwrap()
        } else {
            measurement.corrected().unwrap()
        };
        fit_input(&sweep, self.fixture, &recipe).unwrap()
    }

    fn rippled(&self, measurement: &Measurement, amplitude: f64) -> Sweep {
        let z0 = self.scenario.reference;
        let last = (measurement.freq_hz.len() - 1) as f64;
        let mut s = Vec::new();
        for (k, point) in measurement.points.iter().enumerate() {
            let factor = 1.0 + amplitude * (std::f64::consts::TAU * 11.0 * k as f64 / last).cos();
            let read = match self.fixture {
                Fixture::Reflect => point.corrected.s11,
                _ => point.corrected.s21,
            };
            let z = self
                .fixture
                .immittance(read, z0)
                .unwrap()
                .impedance()
                .unwrap();
            let part = Immittance::from_impedance(z * factor).unwrap();
            let through = self.fixture.reading(part, z0).value().unwrap();
            let back = self.fixture.port_reflection(part, z0).value().unwrap();
            match (self.fixture, self.is_raw) {
                (Fixture::Reflect, true) => {
                    s.push(point.correction.one_port().unwrap().raw(through));
                }
                (Fixture::Reflect, false) => s.push(through),
                (_, false) => s.extend([back, through, through, back]),
                (_, true) => {
                    let corrected = Scattering {
                        s11: back,
                        s12: through,
                        s21: through,
                        s22: back,
                    };
                    let raw = point.correction.raw_of(self.fixture, &corrected);
                    s.extend([raw.s11, raw.s12, raw.s21, raw.s22]);
                }
            }
        }
        let ports = if self.fixture == Fixture::Reflect {
            1
        } else {
            2
        };
        Sweep::new(ports, &[z0.ohm()], measurement.freq_hz.clone(), s).unwrap()
    }
}

fn p_of(input: &FitInput, model: Model) -> f64 {
    match input.sweep().unwrap().fit(model) {
        Ok(found) => found.goodness.unwrap().p.unwrap(),
        Err(ExtractError::Misfit { p, .. }) => p,
        Err(other) => panic!("{other}"),
    }
}

/// The largest distance of the distribution of `p` from the uniform one.
fn kolmogorov_smirnov(mut p: Vec<f64>) -> f64 {
    p.sort_by(f64::total_cmp);
    let n = p.len() as f64;
    p.iter()
        .enumerate()
        .map(|(k, p)| (p - k as f64 / n).max((k + 1) as f64 / n - p))
        .fold(0.0, f64::max)
}

#[expect(clippy::print_stderr, reason = "shown beside a failure")]
fn p_is_uniform(bench: &Bench, model: Model) {
    let budgets = [1.0, 1.3, 1.0 / 1.3].map(|by| bench.budget(&claimed(bench.figures(), by)));
    let mut all = [Vec::new(), Vec::new(), Vec::new()];
    for run in 0..RUNS {
        let measurement = bench.measured(run);
        for (p, budget) in all.iter_mut().zip(budgets) {
            // A fifth of them tells a wrong budget.
            if p.len() as u64 == run
                && (budget.noise_of(Complex64::ONE, bench.fixture)
                    == budgets[0].noise_of(Complex64::ONE, bench.fixture)
                    || run < RUNS / 5)
            {
                p.push(p_of(&bench.input(&measurement, budget, 0.0), model));
            }
        }
    }
    let [just, wide, narrow] = all.map(kolmogorov_smirnov);
    let line = format!(
        "{}, seed {}: D = {just:.4} ({wide:.3} at 1.3 times the budget, {narrow:.3} at 1/1.3)",
        bench.name,
        seed()
    );
    eprintln!("{line}");
    assert!(just <= MAX_D && wide > 0.3 && narrow > 0.3, "{line}");
}

#[test]
fn p_of_a_capacitor_in_reflect_with_raw_standards_is_uniform() {
    let bench = Bench::new(
        "100 pF, reflect, club bench, raw",
        Fixture::Reflect,
        true,
        r#"
        [device]
        kind = "capacitor"
        capacitance = "100 pF"
        esr = "2 ohm"
        esl = "3 nH"
        [sweep]
        from = "20 MHz"
        to = "500 MHz"
        points = 31
        spacing = "logarithmic"
        [instrument]
        preset = "club bench"
        drift = 0.001
        [calibration]
        method = "one port"
        connections = 1
        "#,
    );
    p_is_uniform(&bench, Model::Capacitor);
}

#[test]
fn p_of_a_coil_in_series_with_raw_standards_is_uniform() {
    let bench = Bench::new(
        "10 µH, series-through, club bench, raw",
        Fixture::SeriesThrough,
        true,
        r#"
        [device]
        kind = "inductor"
        inductance = "10 uH"
        series_resistance = "20 ohm"
        parallel_capacitance = "2 pF"
        [sweep]
        from = "0.5 MHz"
        to = "25 MHz"
        points = 21
        spacing = "logarithmic"
        [strays]
        gap = "0.3 pF"
        [instrument]
        preset = "club bench"
        contact = "0.02 ohm"
        [calibration]
        method = "both directions"
        connections = 1
        "#,
    );
    p_is_uniform(&bench, Model::Inductor);
}

/// A corrected file does not tell the front end, which is another in each run: here one with
/// matches of 13 to 22 dB, whatever the instrument.
#[test]
fn p_of_a_corrected_coil_in_series_is_uniform() {
    let bench = Bench::new(
        "1 µH, series-through, handheld, corrected",
        Fixture::SeriesThrough,
        false,
        r#"
        [device]
        kind = "inductor"
        inductance = "1 uH"
        series_resistance = "5 ohm"
        parallel_capacitance = "3 pF"
        [sweep]
        from = "2 MHz"
        to = "20 MHz"
        points = 9
        spacing = "logarithmic"
        [instrument]
        preset = "handheld"
        trace_magnitude = "0.1 dB"
        trace_phase = "0.6 deg"
        [calibration]
        method = "both directions"
        "#,
    );
    p_is_uniform(&bench, Model::Inductor);
}

#[test]
fn p_of_a_corrected_capacitor_in_series_is_uniform() {
    let bench = Bench::new(
        "100 pF, series-through, club bench, corrected",
        Fixture::SeriesThrough,
        false,
        r#"
        [device]
        kind = "capacitor"
        capacitance = "100 pF"
        esr = "5 ohm"
        esl = "10 nH"
        [sweep]
        from = "40 MHz"
        to = "150 MHz"
        points = 9
        spacing = "logarithmic"
        [instrument]
        preset = "club bench"
        trace_magnitude = "0.05 dB"
        trace_phase = "0.3 deg"
        [calibration]
        method = "both directions"
        "#,
    );
    p_is_uniform(&bench, Model::Capacitor);
}

/// Many points, front ends of the instrument's own raw match: the noise of the corrected readings is
/// up to a third more or less than the budget's. Taken for exact it gave D = 0.2 here.
#[test]
fn p_of_a_corrected_capacitor_in_reflect_is_uniform() {
    let bench = Bench::new(
        "100 pF, reflect, handheld, corrected",
        Fixture::Reflect,
        false,
        r#"
        [device]
        kind = "capacitor"
        capacitance = "100 pF"
        esr = "2 ohm"
        esl = "3 nH"
        [sweep]
        from = "20 MHz"
        to = "500 MHz"
        points = 51
        spacing = "logarithmic"
        [instrument]
        preset = "handheld"
        "#,
    );
    p_is_uniform(&bench, Model::Capacitor);
}

/// The products of the residuals with the raw match are larger than the noise here. Counted as
/// scatter they made p nearly 1 in every run (D = 1), whatever the part did.
#[test]
fn p_of_a_corrected_coil_in_shunt_is_uniform() {
    let bench = Bench::new(
        "1 µH, shunt-through, club bench, corrected",
        Fixture::ShuntThrough,
        false,
        r#"
        [device]
        kind = "inductor"
        inductance = "1 uH"
        series_resistance = "5 ohm"
        parallel_capacitance = "3 pF"
        [sweep]
        from = "1 MHz"
        to = "60 MHz"
        points = 51
        spacing = "logarithmic"
        [instrument]
        preset = "club bench"
        "#,
    );
    p_is_uniform(&bench, Model::Inductor);
}

/// Honest sweeps that were all refused, or a sixth of them: near a match the directivity makes most
/// of the raw reading, and a resonance takes the ohms far from the first order.
#[expect(clippy::print_stderr, reason = "shown beside a failure")]
#[test]
fn honest_corrected_sweeps_are_accepted() {
    const TRIED: u64 = 100;
    let coil = "kind = \"inductor\"\ninductance = \"1 uH\"\nseries_resistance = \"5 ohm\"\n\
                parallel_capacitance = \"3 pF\"";
    let fifty = "kind = \"resistor\"\nresistance = \"50 ohm\"";
    let mut wrong = Vec::new();
    for (device, model, preset) in [
        (fifty, Model::Resistor, "handheld"),
        (fifty, Model::Resistor, "club bench"),
        (fifty, Model::Resistor, "laboratory"),
        (coil, Model::Inductor, "laboratory"),
    ] {
        let text = format!(
            "[device]\n{device}\n[sweep]\nfrom = \"1 MHz\"\nto = \"100 MHz\"\npoints = 201\n\
             [instrument]\npreset = \"{preset}\"\n"
        );
        let bench = Bench::new(preset, Fixture::Reflect, false, &text);
        let budget = bench.budget(bench.figures());
        let p = |run| p_of(&bench.input(&bench.measured(run), budget, 0.0), model);
        let refused = (0..TRIED).map(p).filter(|p| *p < 0.001).count();
        let line = format!("{model:?}, {preset}, seed {}: {refused} refused", seed());
        eprintln!("{line}");
        if refused > 3 {
            wrong.push(line);
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[expect(clippy::print_stderr, reason = "shown beside a failure")]
fn is_noticed(bench: &Bench, figures: &Instrument, amplitude: f64) {
    const TRIED: u64 = 100;
    let budget = bench.budget(figures);
    let values = |run: &u64| {
        let input = bench.input(&bench.measured(*run), budget, amplitude);
        let findings = Findings::of(&input, &Wanted::Automatic).unwrap();
        findings.values().is_some()
    };
    let accepted: Vec<u64> = (0..TRIED).filter(values).collect();
    let line = format!(
        "{}, seed {}: runs {accepted:?} give values",
        bench.name,
        seed()
    );
    eprintln!("{line}");
    assert!(accepted.len() <= 1, "{line}");
}

fn resistor(
    name: &'static str,
    fixture: Fixture,
    is_raw: bool,
    ohm: &str,
    points: u32,
    preset: &str,
) -> Bench {
    let text = format!(
        r#"
        [device]
        kind = "resistor"
        resistance = "{ohm} ohm"
        [sweep]
        from = "1 MHz"
        to = "100 MHz"
        points = {points}
        [instrument]
        preset = "{preset}"
        "#
    );
    Bench::new(name, fixture, is_raw, &text)
}

#[test]
fn a_rippled_kilohm_in_reflect_is_refused() {
    let club = resistor(
        "1 kΩ ± 8 %, club bench",
        Fixture::Reflect,
        true,
        "1000",
        201,
        "club bench",
    );
    is_noticed(&club, club.figures(), 0.08);
    let handheld = resistor(
        "1 kΩ ± 20 %, handheld",
        Fixture::Reflect,
        true,
        "1000",
        101,
        "handheld",
    );
    is_noticed(&handheld, handheld.figures(), 0.2);
}

#[test]
fn a_budget_of_a_tenth_of_the_noise_is_refused() {
    let club = resistor(
        "1 kΩ, 100 averages claimed",
        Fixture::Reflect,
        true,
        "1000",
        201,
        "club bench",
    );
    let claimed = Instrument {
        averages: 100,
        ..*club.figures()
    };
    is_noticed(&club, &claimed, 0.0);
}

#[test]
fn a_rippled_resistor_in_series_is_refused() {
    let many = resistor(
        "50 Ω ± 8 %, handheld",
        Fixture::SeriesThrough,
        false,
        "50",
        1001,
        "handheld",
    );
    is_noticed(&many, many.figures(), 0.08);
    for is_raw in [true, false] {
        let few = resistor(
            "50 Ω ± 2 %, handheld",
            Fixture::SeriesThrough,
            is_raw,
            "50",
            201,
            "handheld",
        );
        is_noticed(&few, few.figures(), 0.02);
    }
}

#[test]
fn a_rippled_coil_in_series_is_refused() {
    let coil = Bench::new(
        "10 µH ± 5 %, handheld",
        Fixture::SeriesThrough,
        false,
        r#"
        [device]
        kind = "inductor"
        inductance = "10 uH"
        series_resistance = "2 ohm"
        parallel_capacitance = "2 pF"
        [sweep]
        from = "1 MHz"
        to = "20 MHz"
        points = 1001
        [instrument]
        preset = "handheld"
        "#,
    );
    is_noticed(&coil, coil.figures(), 0.05);
}
