//! An invented analyzer without any correction, to calibrate.
//!
//! No instrument is modelled. The sizes are those the trade knows of raw instruments and cables
//! (common practice, no source): directivity 25 to 30 dB, source match 15 to 20 dB, and load
//! match about the same. Each port is one error box; behind it, switch and receiver reflect in
//! turn, so that source and load match differ and twelve terms follow from eight with two
//! switch terms.

use std::f64::consts::TAU;

use num_complex::Complex64;

use crate::{
    Budget, Definitions, DirectionTerms, Draws, Fixture, Isolation, MeasuredStandards,
    OnePortTerms, Piece, Port, ReflectionStandard, Scattering, SwitchTerms, Trio, TwelveTerms,
};

/// A slip while calibrating: what was connected in place of a standard.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Connection {
    /// Nothing was measured: the term keeps what an ideal analyzer reads, the standard itself.
    Skipped(Piece),
    /// Another reflection: the wrong standard, or one not tightened. For open, short and load.
    OtherReflection(Piece, Complex64),
    /// Another through than the one asked for.
    OtherThrough(Scattering),
}

/// A reflection inside the analyzer: two waves with delays of their own.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Ripple {
    waves: [(Complex64, f64); 2],
}

impl Ripple {
    const NONE: Self = Self {
        waves: [(Complex64::ZERO, 0.0); 2],
    };

    /// Magnitude from 0.7 to 1 of `most`, as the two waves beat.
    fn drawn(most: f64, draws: &mut Draws) -> Self {
        let mut wave = |size: f64, delay_s: f64| {
            let phase = TAU * draws.uniform();
            let delay_s = delay_s * (0.8 + 0.4 * draws.uniform());
            (Complex64::from_polar(size, phase), delay_s)
        };
        Self {
            waves: [wave(0.85 * most, 0.3e-9), wave(0.15 * most, 2.5e-9)],
        }
    }

    /// At every frequency circular with the rms magnitude given, over all seeds.
    fn of_rms(rms: f64, draws: &mut Draws) -> Self {
        let mut wave = |share: f64, delay_s: f64| {
            let size = draws.circular(0.5 * share * rms * rms);
            (size, delay_s * (0.8 + 0.4 * draws.uniform()))
        };
        Self {
            waves: [wave(0.97, 0.3e-9), wave(0.03, 2.5e-9)],
        }
    }

    fn at(&self, freq_hz: f64) -> Complex64 {
        self.waves
            .iter()
            .map(|&(size, delay_s)| size * Complex64::cis(-TAU * freq_hz * delay_s))
            .sum()
    }
}

/// One port with its cable.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Side {
    directivity: Ripple,
    source_match: Ripple,
    switch: Ripple,
    crosstalk: Ripple,
    /// Load match where it was drawn, in place of what the switch would make it.
    load_match: Option<Ripple>,
    /// Gain of the way to the plane and back at low frequency.
    gain: Complex64,
    delay_s: f64,
    /// Loss of the cable there and back at 1 GHz, nepers; with √f.
    loss_neper: f64,
}

impl Side {
    const IDEAL: Self = Self {
        directivity: Ripple::NONE,
        source_match: Ripple::NONE,
        switch: Ripple::NONE,
        crosstalk: Ripple::NONE,
        load_match: None,
        gain: Complex64::ONE,
        delay_s: 0.0,
        loss_neper: 0.0,
    };

    fn drawn(draws: &mut Draws) -> Self {
        let db = |db: f64| 10f64.powf(-db / 20.0);
        let mut from = |least: f64, most: f64| least + (most - least) * draws.uniform();
        let (directivity, source, switch) = (from(25.0, 27.0), from(15.0, 17.0), from(22.0, 26.0));
        let crosstalk = from(78.0, 88.0);
        let gain = Complex64::from_polar(from(0.85, 0.95), from(0.0, TAU));
        let (delay_s, loss_neper) = (from(1.5e-9, 2.5e-9), from(0.05, 0.1));
        Self {
            directivity: Ripple::drawn(db(directivity), draws),
            source_match: Ripple::drawn(db(source), draws),
            switch: Ripple::drawn(db(switch), draws),
            crosstalk: Ripple::drawn(db(crosstalk), draws),
            load_match: None,
            gain,
            delay_s,
            loss_neper,
        }
    }

    /// What the switch and the receiver behind it reflect.
    ///
    /// Where the load match l was drawn, it is what makes l of the terms of the port:
    /// Γ = (l − s)/(R + D·(l − s)), s, R and D its source match, reflection tracking and
    /// directivity.
    fn switch_at(&self, freq_hz: f64) -> Complex64 {
        let Some(load_match) = &self.load_match else {
            return self.switch.at(freq_hz);
        };
        let port = self.one_port(freq_hz);
        let behind = load_match.at(freq_hz) - port.source_match;
        behind / (port.reflect_tracking + port.directivity * behind)
    }

    fn one_port(&self, freq_hz: f64) -> OnePortTerms {
        let lost = (-self.loss_neper * (freq_hz / 1e9).sqrt()).exp();
        OnePortTerms {
            directivity: self.directivity.at(freq_hz),
            source_match: self.source_match.at(freq_hz),
            reflect_tracking: self.gain
                * lost
                * Complex64::cis(-2.0 * TAU * freq_hz * self.delay_s),
        }
    }
}

/// An invented front end: error terms that run smoothly with frequency, drawn from a seed.
///
/// Directivity 25 to 30 dB, source match 15 to 20 dB, load match 13 to 22 dB, about 2 ns of cable at
/// each port, crosstalk near −80 dB. Meant for 0 Hz to 10 GHz.
///
/// ```
/// use jigwise_physics::RawAnalyzer;
///
/// let analyzer = RawAnalyzer::new(3);
/// let terms = analyzer.terms(500e6).forward;
/// let db = |size: f64| -20.0 * size.log10();
/// assert!((24.9..30.1).contains(&db(terms.one_port.directivity.norm())));
/// assert!((14.9..20.2).contains(&db(terms.one_port.source_match.norm())));
/// assert_eq!(analyzer, RawAnalyzer::new(3));
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RawAnalyzer {
    sides: [Side; 2],
    /// By what the way there and the way back between the ports differ: times it there, divided by
    /// it back.
    skew: Complex64,
}

impl RawAnalyzer {
    /// One that reads right by itself, so that a correction finds nothing to correct.
    ///
    /// ```
    /// use jigwise_physics::{Complex64, RawAnalyzer, Scattering};
    ///
    /// let s = Complex64::new(0.3, -0.4);
    /// let network = Scattering { s11: s, s12: 2.0 * s, s21: 2.0 * s, s22: s };
    /// assert_eq!(RawAnalyzer::IDEAL.measure(&network, 1e8, None), network);
    /// ```
    pub const IDEAL: Self = Self {
        sides: [Side::IDEAL; 2],
        skew: Complex64::ONE,
    };

    /// The analyzer of `seed`.
    pub fn new(seed: u64) -> Self {
        Self::drawn(&mut Draws::new(seed))
    }

    fn drawn(draws: &mut Draws) -> Self {
        Self {
            sides: [(); 2].map(|()| Side::drawn(draws)),
            skew: Complex64::from_polar(1.05, TAU * draws.uniform()),
        }
    }

    /// The analyzer of `seed` with source and load matches drawn anew: all four circular, of the
    /// rms magnitude `raw_match`, and independent of each other.
    ///
    /// ```
    /// use jigwise_physics::RawAnalyzer;
    ///
    /// let mean = (0..1000)
    ///     .map(|seed| RawAnalyzer::with_raw_match(seed, 0.1).terms(1e8).forward)
    ///     .map(|terms| terms.load_match.norm_sqr() / 1000.0)
    ///     .sum::<f64>();
    /// assert!((mean.sqrt() / 0.1 - 1.0).abs() < 0.05);
    /// ```
    pub fn with_raw_match(seed: u64, raw_match: f64) -> Self {
        // A stream of its own: noise may be drawn from the seed itself.
        let mut draws = Draws::stream(seed, 0);
        let mut analyzer = Self::drawn(&mut draws);
        for side in &mut analyzer.sides {
            side.source_match = Ripple::of_rms(raw_match, &mut draws);
            side.load_match = Some(Ripple::of_rms(raw_match, &mut draws));
        }
        analyzer
    }

    /// Switch terms: the reflections of switch and receiver of the port that receives.
    pub fn switch_terms(&self, freq_hz: f64) -> SwitchTerms {
        let [one, two] = &self.sides;
        SwitchTerms {
            forward: two.switch_at(freq_hz),
            reverse: one.switch_at(freq_hz),
        }
    }

    /// All error terms at a frequency.
    ///
    /// With Γ2 as the forward switch term and the error box of port 2: load match
    /// e22 + e32e23·Γ2/(1 − e33·Γ2), tracking e10e32/(1 − e33·Γ2); the reverse direction
    /// likewise.
    pub fn terms(&self, freq_hz: f64) -> TwelveTerms {
        let [one, two] = self.sides.map(|side| side.one_port(freq_hz));
        let switch = self.switch_terms(freq_hz);
        // Both square roots follow the cables, so that nothing jumps with frequency.
        let half = |side: &Side| {
            let lost = (-0.5 * side.loss_neper * (freq_hz / 1e9).sqrt()).exp();
            side.gain.sqrt() * lost * Complex64::cis(-TAU * freq_hz * side.delay_s)
        };
        let way = half(&self.sides[0]) * half(&self.sides[1]);
        let skew = self.skew;
        let direction = |near: OnePortTerms, far: OnePortTerms, switch, way, leak: &Ripple| {
            let bottom = 1.0 - far.directivity * switch;
            DirectionTerms {
                one_port: near,
                load_match: far.source_match + far.reflect_tracking * switch / bottom,
                through_tracking: way / bottom,
                crosstalk: leak.at(freq_hz),
            }
        };
        let [leak_there, leak_back] = [&self.sides[0].crosstalk, &self.sides[1].crosstalk];
        TwelveTerms {
            forward: direction(one, two, switch.forward, way * skew, leak_there),
            reverse: direction(two, one, switch.reverse, way / skew, leak_back),
        }
    }

    /// The raw readings of a network, with the random part of `noise` where it is given.
    pub fn measure(
        &self,
        network: &Scattering,
        freq_hz: f64,
        noise: Option<(&Budget, &mut Draws)>,
    ) -> Scattering {
        let raw = self.terms(freq_hz).raw(network);
        match noise {
            Some((budget, draws)) => noisy(&raw, budget, draws),
            None => raw,
        }
    }

    /// The raw reading of a one-port at a port, with the random part of `noise` where it is
    /// given.
    pub fn measure_reflection(
        &self,
        gamma: Complex64,
        port: Port,
        freq_hz: f64,
        noise: Option<(&Budget, &mut Draws)>,
    ) -> Complex64 {
        let terms = self.terms(freq_hz);
        let raw = match port {
            Port::One => terms.forward.one_port.raw(gamma),
            Port::Two => terms.reverse.one_port.raw(gamma),
        };
        match noise {
            Some((budget, draws)) => budget.noise(Fixture::Reflect).added_to(raw, draws),
            None => raw,
        }
    }

    /// The readings of standards that truly are `truth`: open, short and load at both ports,
    /// through, isolation and switch terms. `slips` says what went otherwise; of two slips of
    /// one piece the last one counts.
    ///
    /// For residuals drawn by [`Budget::draw_calibration`], `truth` is what
    /// [`Definitions::with_residuals`] makes of the definitions in use.
    ///
    /// ```
    /// use jigwise_physics::{
    ///     Budget, Cause, Complex64, Definitions, Draws, Instrument, Method, RawAnalyzer,
    ///     ReferenceImpedance, solve,
    /// };
    ///
    /// let budget = Budget::new(&Instrument::HANDHELD, ReferenceImpedance::FIFTY_OHM, 0)?;
    /// let mut draws = Draws::new(5);
    /// let residuals = budget.draw_calibration(&mut draws);
    /// let taken = Definitions::IDEAL;
    /// let analyzer = RawAnalyzer::new(5);
    /// let noise = Some((&budget, &mut draws));
    /// let truth = taken.with_residuals(&residuals);
    /// let measured = analyzer.measure_standards(&truth, 1e9, &[], noise);
    /// let correction = solve(Method::BothDirections, &measured, &taken)?;
    /// // A perfect match reads as what the load was not.
    /// let raw = analyzer.measure_reflection(Complex64::ZERO, jigwise_physics::Port::One, 1e9, None);
    /// let off = correction.apply_one_port(raw) + residuals.of(Cause::Load);
    /// assert!(off.norm() < 0.01);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn measure_standards(
        &self,
        truth: &Definitions,
        freq_hz: f64,
        slips: &[Connection],
        mut noise: Option<(&Budget, &mut Draws)>,
    ) -> MeasuredStandards {
        let mut reflections = [Trio::NONE; 2];
        for port in Port::ALL {
            let true_ones = &truth.reflections[port as usize];
            let mut reading = |standard: ReflectionStandard| {
                let piece = Piece::Reflection(standard, port);
                // Noise is drawn in any case, so that a slip moves nothing else.
                let connected = slips.iter().rev().find_map(|slip| match *slip {
                    Connection::OtherReflection(p, other) if p == piece => Some(Some(other)),
                    Connection::Skipped(p) if p == piece => Some(None),
                    _ => None,
                });
                let here = connected.flatten().unwrap_or(*standard.of(true_ones));
                let raw = self.measure_reflection(here, port, freq_hz, lend(&mut noise));
                Some(match connected {
                    Some(None) => *standard.of(&Definitions::IDEAL.reflections[0]),
                    _ => raw,
                })
            };
            reflections[port as usize] = Trio::from_fn(&mut reading);
        }
        let connected = slips.iter().rev().find_map(|slip| match *slip {
            Connection::OtherThrough(other) => Some(Some(other)),
            Connection::Skipped(Piece::Through) => Some(None),
            _ => None,
        });
        let here = connected.flatten().unwrap_or(truth.through);
        let mut through = self.measure(&here, freq_hz, lend(&mut noise));
        if connected == Some(None) {
            through = Scattering::THROUGH;
        }
        let isolated = self.measure(&truth.isolated(), freq_hz, lend(&mut noise));
        let skipped = slips.contains(&Connection::Skipped(Piece::Isolation));
        MeasuredStandards {
            reflections,
            through: Some(through),
            isolation: (!skipped).then_some(Isolation {
                forward: isolated.s21,
                reverse: isolated.s12,
            }),
            switch_terms: Some(self.switch_terms(freq_hz)),
        }
    }
}

/// The noise for one reading more.
fn lend<'a>(noise: &'a mut Option<(&Budget, &mut Draws)>) -> Option<(&'a Budget, &'a mut Draws)> {
    noise
        .as_mut()
        .map(|(budget, draws)| (*budget, &mut **draws))
}

fn noisy(raw: &Scattering, budget: &Budget, draws: &mut Draws) -> Scattering {
    let mut with_noise = |raw, fixture| budget.noise(fixture).added_to(raw, draws);
    Scattering {
        s11: with_noise(raw.s11, Fixture::Reflect),
        s12: with_noise(raw.s12, Fixture::ShuntThrough),
        s21: with_noise(raw.s21, Fixture::ShuntThrough),
        s22: with_noise(raw.s22, Fixture::Reflect),
    }
}
