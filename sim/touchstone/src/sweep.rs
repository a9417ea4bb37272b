use std::fmt;

use num_complex::Complex64;

use crate::parameter::{renormalise, renormalise_reflection};
use crate::{MOST_PORTS, Remark, SweepError};

/// A sweep as S-parameters over frequency, with what its file says beside them.
///
/// Two sweeps are equal where their data are: ports, references, frequencies, S, noise and
/// mixed-mode order. Comments and remarks don't count.
#[derive(Debug, Clone)]
pub struct Sweep {
    pub(crate) ports: usize,
    pub(crate) references_ohm: Vec<f64>,
    pub(crate) frequency_hz: Vec<f64>,
    pub(crate) s: Vec<Complex64>,
    pub(crate) noise: Vec<NoisePoint>,
    pub(crate) modes: Vec<Mode>,
    pub(crate) comments: Vec<String>,
    pub(crate) remarks: Vec<Remark>,
}

impl PartialEq for Sweep {
    fn eq(&self, other: &Self) -> bool {
        self.ports == other.ports
            && self.references_ohm == other.references_ohm
            && self.frequency_hz == other.frequency_hz
            && self.s == other.s
            && self.noise == other.noise
            && self.modes == other.modes
    }
}

/// One line of a two-port file's noise data.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NoisePoint {
    /// Frequency, Hz.
    pub freq_hz: f64,
    /// Least noise figure, dB.
    pub least_figure_db: f64,
    /// Source reflection coefficient at which it is reached, at port 1's reference.
    pub source_reflection: Complex64,
    /// Effective noise resistance, Ω.
    pub resistance_ohm: f64,
}

/// What one row and column of a mixed-mode matrix stands for: a token of
/// \[Mixed-Mode Order\].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mode {
    /// S1: the port by itself.
    Single(usize),
    /// D2,3: the difference of two ports.
    Differential(usize, usize),
    /// C2,3: what two ports have in common.
    Common(usize, usize),
}

impl fmt::Display for Mode {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Single(port) => write!(f, "S{port}"),
            Self::Differential(plus, minus) => write!(f, "D{plus},{minus}"),
            Self::Common(plus, minus) => write!(f, "C{plus},{minus}"),
        }
    }
}

impl Sweep {
    /// A sweep from its data: S row-major, one matrix after the other, S11 S12 … S21 S22 ….
    /// One reference stands for all ports.
    ///
    /// # Errors
    /// [`SweepError`] where lengths don't match, a number is not finite, a reference is not
    /// positive or the frequencies don't rise.
    pub fn new(
        ports: usize,
        references_ohm: &[f64],
        frequency_hz: Vec<f64>,
        s: Vec<Complex64>,
    ) -> Result<Self, SweepError> {
        if !(1..=MOST_PORTS).contains(&ports) {
            return Err(SweepError::Ports { found: ports });
        }
        let references_ohm = spread(references_ohm, ports)?;
        if frequency_hz.is_empty() {
            return Err(SweepError::NoPoints);
        }
        let expected = frequency_hz.len() * ports * ports;
        if s.len() != expected {
            return Err(SweepError::Length {
                what: "S-parameters",
                found: s.len(),
                expected,
            });
        }
        let mut previous_hz = None;
        for (index, &found_hz) in frequency_hz.iter().enumerate() {
            let rises = previous_hz.is_none_or(|previous| found_hz > previous);
            if !found_hz.is_finite() || found_hz < 0.0 || !rises {
                return Err(SweepError::Frequency { index, found_hz });
            }
            previous_hz = Some(found_hz);
        }
        if let Some(at) = s.iter().position(|s| !is_finite(*s)) {
            return Err(SweepError::NotFinite {
                index: at / (ports * ports),
            });
        }
        Ok(Self {
            ports,
            references_ohm,
            frequency_hz,
            s,
            noise: Vec::new(),
            modes: Vec::new(),
            comments: Vec::new(),
            remarks: Vec::new(),
        })
    }

    /// The same with noise data, in rising order of frequency.
    ///
    /// # Errors
    /// [`SweepError`] for other than two ports, numbers that are not finite or frequencies
    /// that don't rise.
    pub fn with_noise(mut self, noise: Vec<NoisePoint>) -> Result<Self, SweepError> {
        if self.ports != 2 && !noise.is_empty() {
            return Err(SweepError::NoiseNeedsTwoPorts);
        }
        let mut previous_hz = None;
        for (index, point) in noise.iter().enumerate() {
            let finite = is_finite(point.source_reflection)
                && point.least_figure_db.is_finite()
                && point.resistance_ohm.is_finite();
            if !finite {
                return Err(SweepError::NotFinite { index });
            }
            let found_hz = point.freq_hz;
            let rises = previous_hz.is_none_or(|previous| found_hz > previous);
            if !found_hz.is_finite() || found_hz < 0.0 || !rises {
                return Err(SweepError::Frequency { index, found_hz });
            }
            previous_hz = Some(found_hz);
        }
        self.noise = noise;
        Ok(self)
    }

    /// The same with other leading comments, one a line; a line end inside one begins another.
    #[must_use]
    pub fn with_comments<T: AsRef<str>>(mut self, comments: impl IntoIterator<Item = T>) -> Self {
        self.comments = comments
            .into_iter()
            .flat_map(|text| {
                let lines: Vec<String> = text
                    .as_ref()
                    .split(['\n', '\r'])
                    .map(str::to_owned)
                    .collect();
                lines
            })
            .collect();
        self
    }

    /// Number of ports.
    pub fn ports(&self) -> usize {
        self.ports
    }

    /// The reference impedance of every port, Ω; finite and above zero. NaN where the ports
    /// have different ones, so that nothing computed with it can pass for a value: see
    /// [`Self::references_ohm`] and [`Self::renormalised`].
    pub fn reference_ohm(&self) -> f64 {
        let first = self.references_ohm[0];
        if self.references_ohm.iter().all(|ohm| *ohm == first) {
            first
        } else {
            f64::NAN
        }
    }

    /// The reference impedance of each port, Ω; finite and above zero.
    pub fn references_ohm(&self) -> &[f64] {
        &self.references_ohm
    }

    /// Number of frequencies, at least one.
    #[expect(
        clippy::len_without_is_empty,
        reason = "a sweep has at least one point"
    )]
    pub fn len(&self) -> usize {
        self.frequency_hz.len()
    }

    /// The frequencies in hertz, strictly rising.
    pub fn frequency_hz(&self) -> &[f64] {
        &self.frequency_hz
    }

    /// S_to,from at point `index` (from 0), ports counted from 1 as in S21.
    ///
    /// In a mixed-mode sweep rows and columns are those of [`Self::modes`].
    ///
    /// # Panics
    /// Where the point or the port does not exist.
    pub fn s(&self, index: usize, to_port: usize, from_port: usize) -> Complex64 {
        assert!(
            (1..=self.ports).contains(&to_port) && (1..=self.ports).contains(&from_port),
            "no S{to_port}{from_port} in a sweep of {} ports",
            self.ports
        );
        let cell = (to_port - 1) * self.ports + (from_port - 1);
        self.s[index * self.ports * self.ports + cell]
    }

    /// The noise data of a two-port file; empty where there are none.
    pub fn noise(&self) -> &[NoisePoint] {
        &self.noise
    }

    /// What the rows and columns of a mixed-mode sweep stand for; empty for single-ended
    /// ports, the usual case. Mixed-mode data are handed on as the file has them.
    pub fn modes(&self) -> &[Mode] {
        &self.modes
    }

    /// The comments above the first record, without exclamation marks.
    pub fn comments(&self) -> &[String] {
        &self.comments
    }

    /// What was odd about the file.
    pub fn remarks(&self) -> &[Remark] {
        &self.remarks
    }

    /// True for a two-port of which S12 and S22 are zero at every point while S11 or S21 is
    /// not: the export of an analyzer that measures one direction.
    ///
    /// ```
    /// let text = "# MHz S RI\n1 .1 0 .9 0 0 0 0 0\n2 .1 0 .8 0 0 0 0 0\n";
    /// let sweep = jigwise_touchstone::read_text(text.as_bytes(), "pad.s2p")?;
    /// assert!(sweep.is_one_direction());
    /// # Ok::<(), jigwise_touchstone::TouchstoneError>(())
    /// ```
    pub fn is_one_direction(&self) -> bool {
        let zero = |to, from| (0..self.len()).all(|k| self.s(k, to, from) == Complex64::ZERO);
        self.ports == 2 && zero(1, 2) && zero(2, 2) && !(zero(1, 1) && zero(2, 1))
    }

    /// The points from one frequency to another, both included; `None` where there are none.
    ///
    /// ```
    /// let text = "# MHz S RI\n1 .1 0\n2 .2 0\n3 .3 0\n";
    /// let sweep = jigwise_touchstone::read_text(text.as_bytes(), "coil.s1p")?;
    /// assert_eq!(sweep.between(1.5e6, 3e6).unwrap().frequency_hz(), [2e6, 3e6]);
    /// assert!(sweep.between(4e6, 5e6).is_none());
    /// # Ok::<(), jigwise_touchstone::TouchstoneError>(())
    /// ```
    pub fn between(&self, from_hz: f64, to_hz: f64) -> Option<Self> {
        let first = self.frequency_hz.partition_point(|hz| *hz < from_hz);
        let end = self.frequency_hz.partition_point(|hz| *hz <= to_hz);
        if first >= end {
            return None;
        }
        let cells = self.ports * self.ports;
        Some(Self {
            ports: self.ports,
            references_ohm: self.references_ohm.clone(),
            frequency_hz: self.frequency_hz[first..end].to_vec(),
            s: self.s[first * cells..end * cells].to_vec(),
            noise: self.noise.clone(),
            modes: self.modes.clone(),
            comments: self.comments.clone(),
            remarks: self.remarks.clone(),
        })
    }

    /// The same network seen at other references, one for all ports or one for each.
    ///
    /// ```
    /// let text = "# MHz S RI R 50 75\n1 0 0 1 0 1 0 0 0\n";
    /// let sweep = jigwise_touchstone::read_text(text.as_bytes(), "match.s2p")?;
    /// assert!(sweep.reference_ohm().is_nan());
    /// // A transformer that shows 50 Ω as 75 Ω, seen from a 50 Ω port: (75 − 50)/(75 + 50).
    /// let at_50 = sweep.renormalised(&[50.0])?;
    /// assert!((at_50.s(0, 2, 2).re - 0.2).abs() < 1e-15);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// [`SweepError`] where the references are not positive or miscounted, for mixed-mode
    /// data, for a two-port measured in one direction only, and at a pole.
    pub fn renormalised(&self, references_ohm: &[f64]) -> Result<Self, SweepError> {
        let to_ohm = spread(references_ohm, self.ports)?;
        if !self.modes.is_empty() {
            return Err(SweepError::MixedMode);
        }
        let mut moved = self.clone();
        if to_ohm == self.references_ohm {
            return Ok(moved);
        }
        if self.is_one_direction() {
            return Err(SweepError::OneDirection);
        }
        let mut work = Vec::new();
        let cells = self.ports * self.ports;
        for (index, s) in moved.s.chunks_exact_mut(cells).enumerate() {
            if !renormalise(&self.references_ohm, &to_ohm, s, &mut work) {
                return Err(SweepError::Singular { index });
            }
        }
        for (index, point) in moved.noise.iter_mut().enumerate() {
            let gamma = point.source_reflection;
            let gamma = renormalise_reflection(self.references_ohm[0], to_ohm[0], gamma);
            if !is_finite(gamma) {
                return Err(SweepError::Singular { index });
            }
            point.source_reflection = gamma;
        }
        moved.references_ohm = to_ohm;
        Ok(moved)
    }
}

fn is_finite(value: Complex64) -> bool {
    value.re.is_finite() && value.im.is_finite()
}

/// One reference for each port.
fn spread(references_ohm: &[f64], ports: usize) -> Result<Vec<f64>, SweepError> {
    if let Some(&found_ohm) = references_ohm
        .iter()
        .find(|ohm| !ohm.is_finite() || **ohm <= 0.0)
    {
        return Err(SweepError::Reference { found_ohm });
    }
    match references_ohm {
        [one] => Ok(vec![*one; ports]),
        each if each.len() == ports => Ok(each.to_vec()),
        other => Err(SweepError::Length {
            what: "references",
            found: other.len(),
            expected: ports,
        }),
    }
}
