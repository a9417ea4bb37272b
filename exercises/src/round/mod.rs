//! An unlabelled part: the device is hidden, readings are noisy and cost, and the answer is a value
//! with its ±. It is graded by what could be known from the readings bought.
//!
//! ```
//! use jigwise_bench::Fixture;
//! use jigwise_exercises::round::{Purchase, Round, Subject};
//!
//! let mut round = Round::new("22222-22222".parse()?)?;
//! let bought = round.buy(Purchase {
//!     subject: Subject::Part,
//!     fixture: Fixture::Reflect,
//!     freq_hz: 7.1e6,
//!     averages: 4,
//! })?;
//! assert_eq!(bought.cost, 2);
//! assert!(!round.answer("1 Mohm ± 1 %")?.is_right());
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod bought;
mod code;
mod error;
mod grade;
mod sort;

use std::fmt;

use jigwise_bench::{
    Blank, Fixture, Immittance, NamedInstrument, Scenario, ScenarioError, Session, Wanted,
    engineering, without_zeros,
};

pub use bought::{Bought, Shown};
pub use code::{Code, CodeError};
pub use error::RoundError;
pub use grade::Graded;
pub use sort::Sort;
use sort::{Drawn, INSTRUMENT, KNOWN_OHM, known_device, known_words};

/// What the readings of a round may cost together.
pub const BUDGET: u32 = 16;
/// What calibrating again costs.
pub const CALIBRATION_COST: u32 = 3;
/// The averages to choose from; each step costs one more.
pub const AVERAGES: [u32; 4] = [1, 4, 16, 64];

/// A frequency in all its digits and no more, as the analyzer is set.
pub fn hertz(freq_hz: f64) -> String {
    without_zeros(&engineering(freq_hz, "Hz", 6))
}

/// What is put into the fixture.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Subject {
    /// The unlabelled part.
    Part,
    /// The fixture without the part: empty or shorted, as the fixture wants it. Reflect wants both.
    Blank,
    /// The known resistor that lies beside the analyzer.
    Known,
}

impl Subject {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Part, Self::Blank, Self::Known];

    /// Its name on a button.
    pub fn title(self) -> String {
        match self {
            Self::Part => "the part".to_owned(),
            Self::Blank => "a blank".to_owned(),
            Self::Known => format!("the known {}", engineering(KNOWN_OHM, "Ω", 3)),
        }
    }
}

/// What somebody wants to read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Purchase {
    /// What is put into the fixture.
    pub subject: Subject,
    /// The fixture.
    pub fixture: Fixture,
    /// One of [`Round::freq_hz`].
    pub freq_hz: f64,
    /// One of [`AVERAGES`].
    pub averages: u32,
}

impl Purchase {
    /// What it costs: one for each reading, and one more for each four times as many averages.
    pub fn cost(&self) -> u32 {
        let readings = match self.subject {
            Subject::Part | Subject::Known => 1,
            // At most two.
            Subject::Blank => Blank::of(self.fixture).len() as u32,
        };
        readings * (1 + self.averages.max(1).ilog(4))
    }
}

/// A round that is being played.
#[derive(Debug, Clone)]
pub struct Round {
    code: Code,
    drawn: Drawn,
    session: Session,
    calibration: u32,
    bought: Vec<Bought>,
    readings: u64,
    spent: u32,
    is_over: bool,
}

impl Round {
    /// The round of a code, with nothing bought yet.
    ///
    /// # Errors
    /// None for the codes there are; a test makes rounds of all sorts.
    pub fn new(code: Code) -> Result<Self, ScenarioError> {
        let drawn = Drawn::of(code)?;
        let mut found = drawn.sound.clone();
        if let Some(botched) = &drawn.botched {
            found.calibration = Some(botched.clone());
        }
        Ok(Self {
            session: Session::new(&found),
            code,
            drawn,
            calibration: 0,
            bought: Vec::new(),
            readings: 0,
            spent: 0,
            is_over: false,
        })
    }

    /// Its code.
    pub fn code(&self) -> Code {
        self.code
    }

    /// What is known before the first reading, in sentences.
    pub fn about(&self) -> Vec<String> {
        vec![
            self.code.sort.about().to_owned(),
            known_words(&self.instrument(), &self.drawn.freq_hz),
        ]
    }

    /// What is asked.
    pub fn question(&self) -> String {
        let what = match self.code.sort {
            Sort::Resistor | Sort::Borrowed => "What is its resistance".to_owned(),
            Sort::Capacitor => "What is its capacitance".to_owned(),
            Sort::Coil => "What is its inductance".to_owned(),
            Sort::Crystal => format!(
                "What is its resistance at {}, its series resonance",
                hertz(self.drawn.sound.readout_hz().unwrap_or_default())
            ),
        };
        format!(
            "{what}, with its 95\u{202f}% interval? Answer as in {}, or write can't be told.",
            self.code.sort.asks().example()
        )
    }

    /// The frequencies to choose from, Hz.
    pub fn freq_hz(&self) -> &[f64] {
        &self.drawn.freq_hz
    }

    /// The frequency that a reading has to be taken at, Hz, where the answer goes with it.
    pub fn asked_hz(&self) -> Option<f64> {
        self.drawn.asked_hz
    }

    /// The instrument, with one average.
    pub fn instrument(&self) -> NamedInstrument {
        // The preset itself, so that it goes by its own name.
        NamedInstrument::preset(INSTRUMENT).unwrap_or_default()
    }

    /// The same analyzer with a part of which one thinks that it may be this one: a bench to work
    /// on, that knows nothing of the hidden part nor of the strays.
    pub fn bench_for(&self, guess: Immittance) -> Scenario {
        Scenario {
            device: guess.into(),
            instrument: Some(self.instrument()),
            calibration: self.drawn.sound.calibration.clone(),
            freq_hz: Some(self.drawn.asked_hz.unwrap_or(7.1e6)),
            ..Scenario::default()
        }
    }

    /// What has been bought so far.
    pub fn bought(&self) -> &[Bought] {
        &self.bought
    }

    /// How much is left to spend.
    pub fn left(&self) -> u32 {
        BUDGET - self.spent
    }

    /// The calibration in force; 0 is the one that was there before.
    pub fn calibration(&self) -> u32 {
        self.calibration
    }

    /// True once it was answered.
    pub fn is_over(&self) -> bool {
        self.is_over
    }

    fn pay(&mut self, cost: u32) -> Result<(), RoundError> {
        if self.is_over {
            return Err(RoundError::Over);
        }
        if cost > self.left() {
            return Err(RoundError::TooDear {
                cost,
                left: self.left(),
            });
        }
        self.spent += cost;
        Ok(())
    }

    /// Takes a reading.
    ///
    /// # Errors
    /// [`RoundError`] where too little is left, for a frequency or averages that are not offered,
    /// and after the answer.
    pub fn buy(&mut self, purchase: Purchase) -> Result<&Bought, RoundError> {
        if !self.drawn.freq_hz.contains(&purchase.freq_hz) {
            return Err(RoundError::Frequency {
                freq_hz: purchase.freq_hz,
                known: self.drawn.freq_hz.clone(),
            });
        }
        if !AVERAGES.contains(&purchase.averages) {
            return Err(RoundError::Averages(purchase.averages));
        }
        let Purchase {
            subject, fixture, ..
        } = purchase;
        let at = Some(purchase.freq_hz);
        let of =
            |error: &dyn fmt::Display| RoundError::Bench(ScenarioError::free(error.to_string()));
        let devices: Vec<Immittance> = match subject {
            Subject::Part => vec![self.drawn.sound.device.immittance(at).map_err(|e| of(&e))?],
            Subject::Known => vec![known_device().immittance(at).map_err(|e| of(&e))?],
            Subject::Blank => Blank::of(fixture).iter().map(|b| b.stands_for()).collect(),
        };
        let cost = purchase.cost();
        self.pay(cost)?;
        let instrument = self.instrument();
        let mut shown = Vec::with_capacity(devices.len());
        for device in devices {
            self.readings += 1;
            let reading = self.session.read(
                device,
                Wanted {
                    fixture,
                    freq_hz: purchase.freq_hz,
                    averages: purchase.averages,
                    number: self.readings,
                },
            )?;
            shown.push(Shown::of(reading, &instrument));
        }
        self.bought.push(Bought {
            purchase,
            shown,
            calibration: self.calibration,
            cost,
        });
        // Just pushed.
        Ok(&self.bought[self.bought.len() - 1])
    }

    /// Calibrates again, with good standards.
    ///
    /// # Errors
    /// [`RoundError`] where too little is left, and after the answer.
    pub fn calibrate(&mut self) -> Result<(), RoundError> {
        self.pay(CALIBRATION_COST)?;
        self.calibration += 1;
        let seed = self.drawn.sound.seed;
        self.session = Session::new(&Scenario {
            seed: seed.wrapping_add(u64::from(self.calibration) * 0x9e37_79b9),
            ..self.drawn.sound.clone()
        });
        Ok(())
    }
}
