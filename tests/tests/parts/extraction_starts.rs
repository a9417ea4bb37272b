//! Parts drawn over the range of the trade: the search finds its start from the sweep alone, and
//! the joint 95 % region holds the truth as often as it says over all of them together.

use jigwise_physics::{
    Capacitor, Choke, Complex64, Covariance, Crystal, Draws, Fixture, ImpedanceSweep, Inductor,
    LineEnd, Model, ParallelRlc, Part, Quantity as Q, Resistor, SeriesRlc, Stub, p_value,
};
use jigwise_tests::distance::distance_squared;
use jigwise_tests::fifty_ohm::Z0;
use jigwise_tests::frequencies;
use jigwise_tests::seed::seed;

const PARTS: usize = 2_700;
/// 99.9 % of a binomial of 2700 and 0.95, exact (scipy).
const BAND: std::ops::RangeInclusive<usize> = 2527..=2601;

struct OutputQuantity {
    part: Part,
    freq_hz: Vec<f64>,
    fixture: Fixture,
    model: Model,
    truth: Vec<(Q, f64)>,
}

struct Source(Draws);

impl Source {
    /// Even in the logarithm.
    fn from(&mut self, low: f64, high: f64) -> f64 {
        low * (high / low).powf(self.0.uniform())
    }

    fn capacitor(&mut self) -> OutputQuantity {
        let part = Capacitor {
            capacitance_f: self.from(10e-12, 10e-6),
            esr_ohm: self.from(0.01, 3.0),
            esl_h: self.from(0.3e-9, 10e-9),
            leakage_ohm: None,
        };
        let hz = part.self_resonance_hz().unwrap();
        OutputQuantity {
            part: part.into(),
            freq_hz: log_sweep(hz / self.from(3.0, 30.0), hz * self.from(1.5, 10.0)),
            fixture: Fixture::ShuntThrough,
            model: Model::Capacitor,
            truth: vec![
                (Q::Capacitance, part.capacitance_f),
                (Q::Esl, part.esl_h),
                (Q::Esr, part.esr_ohm),
            ],
        }
    }

    fn coil(&mut self) -> OutputQuantity {
        let part = Inductor {
            inductance_h: self.from(10e-9, 1e-3),
            series_resistance_ohm: self.from(0.01, 100.0),
            parallel_capacitance_f: self.from(0.1e-12, 20e-12),
            skin: None,
        };
        let hz = part.self_resonance_hz().unwrap();
        OutputQuantity {
            part: part.into(),
            freq_hz: log_sweep(hz / self.from(10.0, 300.0), hz * self.from(0.8, 3.0)),
            fixture: Fixture::SeriesThrough,
            model: Model::Inductor,
            truth: vec![
                (Q::Inductance, part.inductance_h),
                (Q::Resistance, part.series_resistance_ohm),
                (Q::WindingCapacitance, part.parallel_capacitance_f),
            ],
        }
    }

    fn resistor(&mut self) -> OutputQuantity {
        let part = Resistor {
            resistance_ohm: self.from(1.0, 100e3),
            parallel_capacitance_f: self.from(0.02e-12, 0.5e-12),
            series_inductance_h: self.from(0.5e-9, 10e-9),
        };
        OutputQuantity {
            part: part.into(),
            freq_hz: log_sweep(1e6, self.from(0.1e9, 6e9)),
            fixture: Fixture::Reflect,
            model: Model::Resistor,
            truth: vec![(Q::Resistance, part.resistance_ohm)],
        }
    }

    /// f0, √(L/C), Q and a sweep around f0.
    fn resonance(&mut self) -> (f64, f64, f64, Vec<f64>) {
        let (hz, ohm, q) = (
            self.from(1e6, 500e6),
            self.from(10.0, 1000.0),
            self.from(3.0, 300.0),
        );
        let half = (hz / q * self.from(0.5, 4.0)).min(0.9 * hz);
        let from_hz = hz - half * self.from(0.7, 1.0);
        (hz, ohm, q, even_sweep(from_hz, hz + half))
    }

    fn series(&mut self) -> OutputQuantity {
        let (hz, ohm, q, freq_hz) = self.resonance();
        let omega = std::f64::consts::TAU * hz;
        let part = SeriesRlc {
            resistance_ohm: ohm / q,
            inductance_h: ohm / omega,
            capacitance_f: 1.0 / (ohm * omega),
        };
        OutputQuantity {
            part: part.into(),
            freq_hz,
            fixture: Fixture::ShuntThrough,
            model: Model::SeriesRlc,
            truth: vec![
                (Q::SeriesResonance, hz),
                (Q::Inductance, part.inductance_h),
                (Q::Resistance, part.resistance_ohm),
            ],
        }
    }

    fn parallel(&mut self) -> OutputQuantity {
        let (hz, ohm, q, freq_hz) = self.resonance();
        let omega = std::f64::consts::TAU * hz;
        let part = ParallelRlc {
            resistance_ohm: ohm * q,
            inductance_h: ohm / omega,
            capacitance_f: 1.0 / (ohm * omega),
        };
        OutputQuantity {
            part: part.into(),
            freq_hz,
            fixture: Fixture::SeriesThrough,
            model: Model::ParallelRlc,
            truth: vec![
                (Q::ParallelResonance, hz),
                (Q::Capacitance, part.capacitance_f),
                (Q::Resistance, part.resistance_ohm),
            ],
        }
    }

    fn crystal(&mut self) -> OutputQuantity {
        let part = Crystal {
            series_resonance_hz: self.from(1e6, 100e6),
            motional_capacitance_f: self.from(2e-15, 30e-15),
            motional_resistance_ohm: self.from(5.0, 200.0),
            parallel_capacitance_f: self.from(2e-12, 7e-12),
        };
        let (hz, half) = (
            part.series_resonance_hz,
            part.width_hz(0.0) * self.from(0.7, 8.0),
        );
        OutputQuantity {
            part: part.into(),
            freq_hz: even_sweep(hz - half, hz + half),
            fixture: Fixture::SeriesThrough,
            model: Model::Crystal,
            truth: vec![
                (Q::SeriesResonance, hz),
                (Q::MotionalResistance, part.motional_resistance_ohm),
                (Q::MotionalCapacitance, part.motional_capacitance_f),
            ],
        }
    }

    fn choke(&mut self) -> OutputQuantity {
        let part = Choke {
            inductance_h: self.from(1e-6, 1e-3),
            relaxation_hz: self.from(0.5e6, 30e6),
            winding_capacitance_f: self.from(1e-12, 10e-12),
            series_resistance_ohm: self.from(0.01, 2.0),
        };
        OutputQuantity {
            part: part.into(),
            freq_hz: log_sweep(self.from(10e3, 100e3), self.from(50e6, 300e6)),
            fixture: Fixture::SeriesThrough,
            model: Model::Choke,
            truth: vec![
                (Q::LowFrequencyInductance, part.inductance_h),
                (Q::Relaxation, part.relaxation_hz),
                (Q::WindingCapacitance, part.winding_capacitance_f),
            ],
        }
    }

    fn stub(&mut self, end: LineEnd) -> OutputQuantity {
        let delay_s = self.from(0.1e-9, 50e-9);
        let top_hz = self.from(0.1, 4.0) / (2.0 * delay_s);
        let part = Stub {
            zc_ohm: self.from(20.0, 300.0),
            delay_s,
            loss_np: self.from(0.003, 0.5),
            loss_at_hz: top_hz,
            end,
        };
        OutputQuantity {
            part: part.into(),
            freq_hz: even_sweep(top_hz / 100.0, top_hz),
            fixture: Fixture::Reflect,
            model: Model::Stub(end),
            truth: vec![
                (Q::CharacteristicImpedance, part.zc_ohm),
                (Q::Delay, delay_s),
                (Q::Loss, part.loss_np),
            ],
        }
    }

    fn draw(&mut self, kind: usize) -> OutputQuantity {
        match kind {
            0 => self.capacitor(),
            1 => self.coil(),
            2 => self.resistor(),
            3 => self.series(),
            4 => self.parallel(),
            5 => self.crystal(),
            6 => self.choke(),
            7 => self.stub(LineEnd::Open),
            _ => self.stub(LineEnd::Short),
        }
    }
}

fn log_sweep(from_hz: f64, to_hz: f64) -> Vec<f64> {
    frequencies::log_sweep(from_hz, to_hz, 51)
}

fn even_sweep(from_hz: f64, to_hz: f64) -> Vec<f64> {
    frequencies::even_sweep(from_hz, to_hz, 101)
}

#[test]
fn drawn_parts_come_back() {
    let seed = seed();
    let mut source = Source(Draws::new(seed));
    let mut hits = 0;
    let mut refused = Vec::new();
    for n in 0..PARTS {
        let case = source.draw(n % 9);
        let noise = Covariance::circular(5e-5f64.powi(2));
        let readings: Vec<(Complex64, Covariance)> = case
            .freq_hz
            .iter()
            .map(|&hz| {
                let device = case.part.immittance(hz).unwrap();
                let random = noise.through(case.fixture.ohm_per_reading(device, Z0).unwrap());
                let exact = device.impedance().unwrap();
                (exact + source.0.with_covariance(random), random)
            })
            .collect();
        let (z, random): (Vec<_>, Vec<_>) = readings.into_iter().unzip();
        let sweep = ImpedanceSweep::new(&case.freq_hz, &z, &random, &[]).unwrap();
        match sweep.fit(case.model) {
            // A loss too small to be seen is refused by itself; the rest must hold.
            Ok(found) => {
                let is_told = |&(q, _): &(Q, f64)| found.value(q).is_some();
                let told: Vec<_> = case.truth.iter().copied().filter(is_told).collect();
                assert!(!told.is_empty());
                let distance = distance_squared(&found, &told).unwrap();
                let chance = p_value(distance, told.len() as u32);
                assert!(
                    chance > 1e-8,
                    "{:?} of {:?}: {:?}, seed {seed}",
                    case.part,
                    case.truth,
                    found.values
                );
                hits += usize::from(chance >= 0.05);
            }
            Err(why) => {
                refused.push(format!("{why}\n{:?}", case.part));
            }
        }
    }
    // One in a thousand misfits by chance.
    assert!(
        refused.len() <= PARTS / 200,
        "seed {seed}, refused:\n{}",
        refused.join("\n")
    );
    assert!(BAND.contains(&hits), "{hits} hits, seed {seed}");
}
