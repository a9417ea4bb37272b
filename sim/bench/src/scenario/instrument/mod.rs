//! The instrument of a scenario, with its name and its bands.

mod read;
mod write;

use std::path::Path;

use jigwise_physics::{Bands, Budget, Instrument, ReferenceImpedance};
use jigwise_quantity::{MAX_QUOTED, engineering, excerpt};

use super::INSTRUMENT;
use crate::file::{self, Keyed, Place, RawTable, ScenarioError, expected_one_of};

pub(super) use self::read::instrument;
pub(super) use self::write::instrument_table;

/// An instrument's error budget with the name it goes by.
#[derive(Debug, Clone, PartialEq)]
pub struct NamedInstrument {
    /// "handheld", "club bench", "laboratory", or what its owner calls it.
    pub name: String,
    /// Its figures, in its first band where it has several.
    pub figures: Instrument,
    /// The frequency up to which they hold, Hz; infinite where they hold at any.
    pub up_to_hz: f64,
    /// The bands above, rising.
    pub higher: Vec<Band>,
}

/// What an instrument is between the end of the band before and a frequency.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    /// The frequency up to which the figures hold, Hz; infinite for all above.
    pub up_to_hz: f64,
    /// The figures.
    pub figures: Instrument,
}

impl Default for NamedInstrument {
    fn default() -> Self {
        Self::of_preset(0)
    }
}

impl NamedInstrument {
    /// The same instrument with other averages, in all its bands.
    pub fn with_averages(mut self, averages: u32) -> Self {
        self.figures.averages = averages;
        for band in &mut self.higher {
            band.figures.averages = averages;
        }
        self
    }

    /// An instrument with the same figures at every frequency.
    pub fn at_any_frequency(name: String, figures: Instrument) -> Self {
        Self {
            name,
            figures,
            up_to_hz: f64::INFINITY,
            higher: Vec::new(),
        }
    }

    fn of_preset(index: usize) -> Self {
        let (name, figures) = Instrument::PRESETS[index];
        let higher = Instrument::PRESETS_ABOVE[index];
        Self {
            name: name.to_owned(),
            figures,
            up_to_hz: Instrument::PRESETS_UP_TO_HZ,
            higher: higher
                .map(|(up_to_hz, figures)| Band { up_to_hz, figures })
                .to_vec(),
        }
    }

    /// All bands, the first one too.
    pub fn bands(&self) -> impl Iterator<Item = Band> + '_ {
        let first = Band {
            up_to_hz: self.up_to_hz,
            figures: self.figures,
        };
        [first].into_iter().chain(self.higher.iter().copied())
    }

    /// True where the figures differ by frequency.
    pub fn has_bands(&self) -> bool {
        self.up_to_hz.is_finite()
    }

    /// The figures at a frequency; those of the first band where none is given.
    ///
    /// # Errors
    /// [`ScenarioError`] above the last band.
    pub fn figures_at(&self, freq_hz: Option<f64>) -> Result<Instrument, ScenarioError> {
        let Some(freq_hz) = freq_hz else {
            return Ok(self.figures);
        };
        let mut end_hz = 0.0;
        for band in self.bands() {
            if freq_hz <= band.up_to_hz {
                return Ok(band.figures);
            }
            end_hz = band.up_to_hz;
        }
        Err(ScenarioError::free(format!(
            "{} has figures up to {} only, and {} is above; add a band without up_to for all \
             higher frequencies, or ask below",
            self.name,
            engineering(end_hz, "Hz", 4),
            engineering(freq_hz, "Hz", 4)
        ))
        .about(vec![INSTRUMENT.into()]))
    }

    /// The figures in use at a frequency, to be changed. Above the last band those of the last.
    pub fn figures_at_mut(&mut self, freq_hz: Option<f64>) -> &mut Instrument {
        let freq_hz = freq_hz.unwrap_or(0.0);
        if freq_hz <= self.up_to_hz {
            return &mut self.figures;
        }
        let last = self.higher.len().saturating_sub(1);
        let at = self
            .higher
            .iter()
            .position(|band| freq_hz <= band.up_to_hz)
            .unwrap_or(last);
        match self.higher.get_mut(at) {
            Some(band) => &mut band.figures,
            None => &mut self.figures,
        }
    }

    /// The figures of all bands, to be changed alike.
    pub fn all_figures_mut(&mut self) -> impl Iterator<Item = &mut Instrument> {
        let higher = self.higher.iter_mut().map(|band| &mut band.figures);
        [&mut self.figures].into_iter().chain(higher)
    }

    /// The budgets of all bands, for a part connected `connections` times after the calibration.
    ///
    /// # Errors
    /// [`ScenarioError`] naming the instrument where an entry is out of range.
    pub fn budgets(
        &self,
        reference: ReferenceImpedance,
        connections: u32,
    ) -> Result<Bands, ScenarioError> {
        let of = |band: Band| {
            Budget::new(&band.figures, reference, connections)
                .map(|budget| (band.up_to_hz, budget))
                .map_err(|error| ScenarioError::of_instrument(&self.name, error))
        };
        self.bands()
            .map(of)
            .collect::<Result<_, _>>()
            .map(Bands::new)
    }

    /// Its name, with the frequency that its figures were asked at. Where they differ by band and
    /// no frequency is named, it is the first band.
    ///
    /// ```
    /// use jigwise_bench::NamedInstrument;
    ///
    /// let handheld = NamedInstrument::default();
    /// assert_eq!(handheld.words_at(None), "handheld (first band, up to 30.00\u{202f}MHz)");
    /// assert_eq!(handheld.words_at(Some(1e8)), "handheld at 100.0\u{202f}MHz");
    /// ```
    pub fn words_at(&self, freq_hz: Option<f64>) -> String {
        match freq_hz {
            _ if !self.has_bands() => self.name.clone(),
            Some(freq_hz) => format!("{} at {}", self.name, engineering(freq_hz, "Hz", 4)),
            None => format!(
                "{} (first band, up to {})",
                self.name,
                engineering(self.up_to_hz, "Hz", 4)
            ),
        }
    }

    /// The names of the presets.
    pub fn preset_names() -> [&'static str; 3] {
        Instrument::PRESETS.map(|(name, _)| name)
    }

    /// True for a preset as it is: its figures are those of no instrument on sale.
    pub fn is_invented(&self) -> bool {
        Self::preset(&self.name).is_some_and(|preset| preset == *self)
    }

    /// One of the invented presets; a hyphen may stand for the blank.
    pub fn preset(name: &str) -> Option<Self> {
        let name = name.to_lowercase().replace('-', " ");
        Instrument::PRESETS
            .iter()
            .position(|(known, _)| *known == name)
            .map(Self::of_preset)
    }

    /// A preset by name, or else the `[instrument]` table of a file, which may be a scenario.
    ///
    /// # Errors
    /// [`ScenarioError`] naming the nearest preset, or file, line and value.
    pub fn named_or_read(name_or_file: &str) -> Result<Self, ScenarioError> {
        if let Some(preset) = Self::preset(name_or_file) {
            return Ok(preset);
        }
        let path = Path::new(name_or_file);
        if !path.exists() {
            return Err(ScenarioError::free(format!(
                "\"{}\" is neither a file nor an instrument, {}",
                excerpt(name_or_file, MAX_QUOTED),
                expected_one_of(name_or_file, &Self::preset_names())
            )));
        }
        let (text, name) = file::text_of(path)?;
        let place = Place {
            file: &name,
            text: &text,
        };
        let raw = RawTable::parse(&place)?;
        // The rest of the file, which may be a scenario, is left alone.
        let file = Keyed::document(&place, &raw, "an instrument file", None)?;
        match read::table(&file)? {
            Some(table) => Ok(read::named(&table)?.unwrap_or_default()),
            None => Err(file.error(
                "instrument",
                "there is no [instrument] table; an instrument file needs version = 1 and that \
                 table",
            )),
        }
    }
}
