//! From readings of standards to a correction.

use num_complex::Complex64;

use super::correction::{Response, Solved};
use crate::{
    CalibrationError, Correction, Definitions, DirectionTerms, MeasuredStandards, Method,
    Normaliser, OnePortTerms, Piece, Port, RAW_STANDARD_READINGS, ReflectionStandard, Scattering,
    SwitchTerms, TwelveTerms,
};

/// Finds the correction of a method from what the standards read and are taken for.
///
/// # Errors
/// [`CalibrationError`] where a standard that the method needs was not measured, where two are
/// the same reflection at this frequency, where the readings fit no terms, and for NaN or
/// infinity.
///
/// ```
/// use jigwise_physics::{Definitions, MeasuredStandards, Method, solve};
///
/// let nothing = MeasuredStandards::default();
/// let error = solve(Method::OnePort, &nothing, &Definitions::IDEAL).unwrap_err();
/// assert_eq!(
///     error.to_string(),
///     "the open on port 1 was not measured and the calibration \"one port\" needs it: \
///      measure it, or choose a calibration that does without"
/// );
/// ```
pub fn solve(
    method: Method,
    measured: &MeasuredStandards,
    definitions: &Definitions,
) -> Result<Correction, CalibrationError> {
    let job = Job {
        method,
        measured,
        definitions,
    };
    let solved = job.solved().map_err(|e| e.at(definitions.freq_hz))?;
    Ok(Correction {
        method,
        measured: *measured,
        definitions: *definitions,
        doubts: [0.0; RAW_STANDARD_READINGS],
        solved,
    })
}

struct Job<'a> {
    method: Method,
    measured: &'a MeasuredStandards,
    definitions: &'a Definitions,
}

impl Job<'_> {
    fn solved(&self) -> Result<Solved, CalibrationError> {
        Ok(match self.method {
            Method::Raw => Solved::Nothing,
            Method::Scaled(by) => self.scaled(by)?,
            Method::OnePort => Solved::OnePort([
                Some(self.one_port(Port::One)?),
                self.one_port_if_measured(Port::Two)?,
            ]),
            Method::OnePortAndThrough => {
                let reverse = match self.one_port_if_measured(Port::Two)? {
                    Some(terms) => Some(self.direction(Port::Two, terms)?),
                    None => None,
                };
                Solved::WithoutLoadMatch(self.forward()?, reverse)
            }
            Method::OneDirection => Solved::Symmetric(self.forward()?),
            Method::BothDirections => Solved::Full(TwelveTerms {
                forward: self.forward()?,
                reverse: self.direction(Port::Two, self.one_port(Port::Two)?)?,
            }),
            Method::UnknownThrough => Solved::Full(self.unknown_through()?),
        })
    }

    fn missing(&self, piece: Piece) -> CalibrationError {
        CalibrationError::Missing {
            piece,
            method: self.method,
        }
    }

    fn one_port(&self, port: Port) -> Result<OnePortTerms, CalibrationError> {
        let raw = &self.measured.reflections[port as usize];
        let known = &self.definitions.reflections[port as usize];
        let names = ReflectionStandard::ALL.map(|standard| Piece::Reflection(standard, port));
        let mut standards = [(Complex64::ZERO, Complex64::ZERO); 3];
        for ((slot, standard), name) in standards.iter_mut().zip(ReflectionStandard::ALL).zip(names)
        {
            let raw = standard.of(raw).ok_or_else(|| self.missing(name))?;
            *slot = (*standard.of(known), raw);
        }
        OnePortTerms::solve(&standards)
            .map(|fit| fit.terms)
            .map_err(|error| error.naming(&names))
    }

    /// `None` where none of the standards of the port was measured.
    fn one_port_if_measured(&self, port: Port) -> Result<Option<OnePortTerms>, CalibrationError> {
        let raw = &self.measured.reflections[port as usize];
        if raw.open.or(raw.short).or(raw.load).is_none() {
            return Ok(None);
        }
        self.one_port(port).map(Some)
    }

    fn forward(&self) -> Result<DirectionTerms, CalibrationError> {
        self.direction(Port::One, self.one_port(Port::One)?)
    }

    /// The raw through, everything finite.
    fn through(&self) -> Result<Scattering, CalibrationError> {
        let raw = self
            .measured
            .through
            .ok_or_else(|| self.missing(Piece::Through))?;
        let known = &self.definitions.through;
        let isolation = self.isolation_readings();
        let forward = [known.s11, known.s12, known.s21, known.s22, raw.s11, raw.s21];
        check_finite(Piece::Through, &forward)?;
        if self.method.needs_both_directions() {
            check_finite(Piece::Through, &[raw.s12, raw.s22])?;
        }
        check_finite(
            Piece::Isolation,
            &[isolation[0], isolation[1], self.definitions.isolation],
        )?;
        Ok(raw)
    }

    fn isolation_readings(&self) -> [Complex64; 2] {
        self.measured
            .isolation
            .map_or([Complex64::ZERO; 2], |i| [i.forward, i.reverse])
    }

    /// All six terms of the direction in which `port` sends.
    ///
    /// With g = D/S21 of the through and k = x/D of what leaks in the isolation reading x,
    /// e10e32 = (m21 − e30)·g and e30 = m − e10e32·k give e10e32 = (m21 − m)·g/(1 − k·g).
    fn direction(
        &self,
        port: Port,
        one_port: OnePortTerms,
    ) -> Result<DirectionTerms, CalibrationError> {
        let (raw, known, isolated) = (
            self.through()?,
            self.definitions.through,
            self.definitions.isolated(),
        );
        let (raw, known, isolated) = match port {
            Port::One => (raw, known, isolated),
            Port::Two => (raw.flipped(), known.flipped(), isolated.flipped()),
        };
        let isolation = self.isolation_readings()[port as usize];
        let mut terms =
            DirectionTerms::from_through(one_port, isolation, &known, (raw.s11, raw.s21))?;
        if self.definitions.isolation != Complex64::ZERO {
            let g = terms.bottom(&known) / known.s21;
            let k = isolated.s21 / terms.bottom(&isolated);
            terms.through_tracking /= 1.0 - k * g;
            terms.crosstalk = isolation - terms.through_tracking * k;
        }
        terms.checked()
    }

    fn scaled(&self, by: Normaliser) -> Result<Solved, CalibrationError> {
        Ok(Solved::Response {
            reflections: match by.reflection() {
                Some(standard) => self.scaled_by_reflection(standard)?,
                None => [None; 2],
            },
            transmissions: match by.uses_through() {
                true => self.scaled_by_through()?,
                false => [None; 2],
            },
        })
    }

    /// What the reflection at each port is multiplied by; port 2 only where it was measured.
    fn scaled_by_reflection(
        &self,
        standard: ReflectionStandard,
    ) -> Result<[Option<Complex64>; 2], CalibrationError> {
        let mut reflections = [None; 2];
        for port in Port::ALL {
            let (raw, known) = (
                &self.measured.reflections[port as usize],
                &self.definitions.reflections[port as usize],
            );
            let (raw, known) = (*standard.of(raw), *standard.of(known));
            let piece = Piece::Reflection(standard, port);
            let Some(raw) = raw else {
                if port == Port::One {
                    return Err(self.missing(piece));
                }
                continue;
            };
            check_finite(piece, &[raw, known])?;
            reflections[port as usize] = Some(factor(known, raw, "reflection tracking")?);
        }
        Ok(reflections)
    }

    /// How the transmission of each direction is scaled; the second only where it was measured.
    fn scaled_by_through(&self) -> Result<[Option<Response>; 2], CalibrationError> {
        let mut transmissions = [None; 2];
        let raw = self.through()?;
        let known = self.definitions.through;
        for (port, raw, known) in [
            (Port::One, raw.s21, known.s21),
            (Port::Two, raw.s12, known.s12),
        ] {
            let isolation = self.isolation_readings()[port as usize];
            let leaks = self.definitions.isolation;
            // As in `direction`, without any match.
            let tracking = (raw - isolation) / (known - leaks);
            let crosstalk = isolation - tracking * leaks;
            // One direction only: the other one was not read, or reads nothing.
            let found = factor(Complex64::ONE, tracking, "through tracking");
            match (port, found) {
                (Port::Two, Err(_)) => {}
                (_, found) => {
                    transmissions[port as usize] = Some(Response {
                        crosstalk,
                        factor: found?,
                    });
                }
            }
        }
        Ok(transmissions)
    }

    /// The three terms of both ports, and one more from reciprocity.
    ///
    /// Free of the switches, a through with S21 = S12 reads m21/m12 = e10e32/e23e01, and
    /// e10e32·e23e01 is the product of both reflection trackings; so e10e32 is a root, and the
    /// one is taken that brings S21 within ±90° of the definition.
    fn unknown_through(&self) -> Result<TwelveTerms, CalibrationError> {
        let ports = [self.one_port(Port::One)?, self.one_port(Port::Two)?];
        let raw = self.through()?;
        let switch = self.measured.switch_terms.unwrap_or(SwitchTerms {
            forward: Complex64::ZERO,
            reverse: Complex64::ZERO,
        });
        check_finite(Piece::Through, &[switch.forward, switch.reverse])?;
        let [forward, reverse] = self.isolation_readings();
        let mut crosstalk = [forward, reverse];
        let mut terms = eight_terms(ports, &raw, crosstalk, switch, &self.definitions.through)?;
        if self.definitions.isolation != Complex64::ZERO {
            // What leaks is taken off the isolation reading by the tracking found so far.
            let isolated = self.definitions.isolated();
            for _ in 0..3 {
                let there = terms.forward.through_tracking / terms.forward.bottom(&isolated);
                let flipped = isolated.flipped();
                let back = terms.reverse.through_tracking / terms.reverse.bottom(&flipped);
                crosstalk = [
                    forward - there * isolated.s21,
                    reverse - back * isolated.s12,
                ];
                terms = eight_terms(ports, &raw, crosstalk, switch, &self.definitions.through)?;
            }
        }
        Ok(terms)
    }
}

fn eight_terms(
    ports: [OnePortTerms; 2],
    raw: &Scattering,
    crosstalk: [Complex64; 2],
    switch: SwitchTerms,
    estimate: &Scattering,
) -> Result<TwelveTerms, CalibrationError> {
    let [one, two] = ports;
    let clean = Scattering {
        s21: raw.s21 - crosstalk[0],
        s12: raw.s12 - crosstalk[1],
        ..*raw
    };
    // Without the switches, up to a factor that both share.
    let there = clean.s21 * (1.0 - clean.s22 * switch.forward);
    let back = clean.s12 * (1.0 - clean.s11 * switch.reverse);
    let product = one.reflect_tracking * two.reflect_tracking;
    let with = |root: Complex64| {
        let load = |far: OnePortTerms, switch: Complex64| {
            let bottom = 1.0 - far.directivity * switch;
            (
                far.source_match + far.reflect_tracking * switch / bottom,
                bottom,
            )
        };
        let (forward_match, forward_bottom) = load(two, switch.forward);
        let (reverse_match, reverse_bottom) = load(one, switch.reverse);
        TwelveTerms {
            forward: DirectionTerms {
                one_port: one,
                load_match: forward_match,
                through_tracking: root / forward_bottom,
                crosstalk: crosstalk[0],
            },
            reverse: DirectionTerms {
                one_port: two,
                load_match: reverse_match,
                through_tracking: product / root / reverse_bottom,
                crosstalk: crosstalk[1],
            },
        }
    };
    let root = (product * there / back).sqrt();
    let found = with(root);
    found.forward.checked()?;
    found.reverse.checked()?;
    let s21 = found.correct(raw).s21;
    let aligned = s21.re * estimate.s21.re + s21.im * estimate.s21.im;
    Ok(if aligned < 0.0 { with(-root) } else { found })
}

fn factor(
    known: Complex64,
    raw: Complex64,
    term: &'static str,
) -> Result<Complex64, CalibrationError> {
    let factor = known / raw;
    if factor.re.is_finite() && factor.im.is_finite() && factor != Complex64::ZERO {
        return Ok(factor);
    }
    Err(CalibrationError::Singular { term })
}

fn check_finite(piece: Piece, values: &[Complex64]) -> Result<(), CalibrationError> {
    for value in values.iter().flat_map(|value| [value.re, value.im]) {
        if !value.is_finite() {
            return Err(CalibrationError::NotFinite { piece, value });
        }
    }
    Ok(())
}
