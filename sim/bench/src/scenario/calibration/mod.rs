//! How an analyzer was calibrated.

mod read;
mod write;

use jigwise_physics::{
    Complex64, Connection, Definitions, Fixture, Kit, Method, Normaliser, NumberError, Piece, Port,
    ReferenceImpedance, Standard, ThroughStandard, Trio,
};

use crate::device::{Device, DeviceError};

pub(super) use self::read::calibration;
pub use self::read::{OFFSET_KEYS, load_of, offset_line, open_of, short_of};
pub(super) use self::write::calibration_table;

/// How the analyzer was calibrated, and with what.
#[derive(Debug, Clone, PartialEq)]
pub struct CalibrationPlan {
    /// What is made of the raw readings.
    pub method: Method,
    /// Which of the invented front ends the analyzer has; `None` where that is not known: it is
    /// drawn for the instrument then, or the first one where there is no instrument.
    pub front_end: Option<u64>,
    /// The standards as they are.
    pub standards: Kit,
    /// Standards that the calibration takes for ideal, whatever they are.
    pub taken_for_ideal: Trio<bool>,
    /// True where it takes the through for a flush connection, whatever it is.
    pub through_taken_for_flush: bool,
    /// What was connected by mistake where a standard was asked for.
    pub instead: Trio<Option<Device>>,
    /// What was not measured.
    pub skipped: Skipped,
}

/// The pieces of a calibration that were left out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Skipped {
    /// The reflection standards, at both ports.
    pub reflections: Trio<bool>,
    /// The through.
    pub through: bool,
    /// The isolation.
    pub isolation: bool,
}

/// Where the flag of a piece is kept.
pub(crate) type PieceOf = fn(&mut Skipped) -> &mut bool;

impl Skipped {
    /// The name of each piece, and where it is kept.
    pub(crate) const PIECES: [(&'static str, PieceOf); 5] = [
        ("open", |skipped| &mut skipped.reflections.open),
        ("short", |skipped| &mut skipped.reflections.short),
        ("load", |skipped| &mut skipped.reflections.load),
        ("through", |skipped| &mut skipped.through),
        ("isolation", |skipped| &mut skipped.isolation),
    ];

    /// The names of the pieces that were left out.
    pub fn names(mut self) -> Vec<&'static str> {
        Self::PIECES
            .into_iter()
            .filter(|(_, piece)| *piece(&mut self))
            .map(|(name, _)| name)
            .collect()
    }
}

impl CalibrationPlan {
    /// A calibration by `method` with ideal standards, nothing skipped.
    pub fn new(method: Method, reference: ReferenceImpedance) -> Self {
        Self {
            method,
            front_end: None,
            standards: ideal_kit(reference),
            taken_for_ideal: Trio::default(),
            through_taken_for_flush: false,
            instead: Trio::default(),
            skipped: Skipped::default(),
        }
    }

    /// What the standards are at a frequency.
    ///
    /// # Errors
    /// [`NumberError`] for a figure of a standard outside what physics takes.
    pub fn truth(
        &self,
        freq_hz: f64,
        reference: ReferenceImpedance,
    ) -> Result<Definitions, NumberError> {
        Definitions::of(&self.standards, freq_hz, reference)
    }

    /// What the calibration takes them for.
    ///
    /// # Errors
    /// As [`CalibrationPlan::truth`].
    pub fn taken_for(
        &self,
        freq_hz: f64,
        reference: ReferenceImpedance,
    ) -> Result<Definitions, NumberError> {
        let ideal = ideal_kit(reference);
        let (is, taken) = (&self.standards.reflections, &self.taken_for_ideal);
        let choose = |as_ideal, standard, other| if as_ideal { other } else { standard };
        let kit = Kit {
            reflections: Trio {
                open: choose(taken.open, is.open, ideal.reflections.open),
                short: choose(taken.short, is.short, ideal.reflections.short),
                load: choose(taken.load, is.load, ideal.reflections.load),
            },
            through: if self.through_taken_for_flush {
                ThroughStandard::FLUSH
            } else {
                self.standards.through
            },
        };
        Definitions::of(&kit, freq_hz, reference)
    }

    /// What went otherwise than asked for, at a frequency.
    ///
    /// # Errors
    /// [`DeviceError`] for a device connected by mistake that has no impedance there.
    pub fn slips(
        &self,
        freq_hz: f64,
        reference: ReferenceImpedance,
    ) -> Result<Vec<Connection>, DeviceError> {
        let mut slips = Vec::new();
        type OfPort = fn(Port) -> Piece;
        let reflections: [(OfPort, &Option<Device>, bool); 3] = [
            (
                Piece::Open,
                &self.instead.open,
                self.skipped.reflections.open,
            ),
            (
                Piece::Short,
                &self.instead.short,
                self.skipped.reflections.short,
            ),
            (
                Piece::Load,
                &self.instead.load,
                self.skipped.reflections.load,
            ),
        ];
        for (piece, instead, skipped) in reflections {
            for port in Port::ALL {
                if let Some(device) = instead {
                    let gamma = Fixture::Reflect
                        .reading(device.immittance(Some(freq_hz))?, reference)
                        .value()
                        .unwrap_or(Complex64::ONE);
                    slips.push(Connection::OtherReflection(piece(port), gamma));
                }
                if skipped {
                    slips.push(Connection::Skipped(piece(port)));
                }
            }
        }
        if self.skipped.through {
            slips.push(Connection::Skipped(Piece::Through));
        }
        if self.skipped.isolation {
            slips.push(Connection::Skipped(Piece::Isolation));
        }
        Ok(slips)
    }
}

/// Ideal standards, the load that of the reference.
pub fn ideal_kit(reference: ReferenceImpedance) -> Kit {
    Kit {
        reflections: Trio {
            load: Standard::load(reference.ohm()),
            ..Kit::IDEAL.reflections
        },
        ..Kit::IDEAL
    }
}

/// The methods by their names in files and commands.
pub const METHODS: [(&str, Method); 8] = [
    ("none", Method::None),
    ("response-open", Method::Response(Normaliser::Open)),
    ("response-short", Method::Response(Normaliser::Short)),
    ("one-port", Method::OnePort),
    ("enhanced-response", Method::EnhancedResponse),
    ("one-path", Method::OnePath),
    ("full", Method::Full),
    ("unknown-through", Method::UnknownThrough),
];

/// A method's name in files and commands.
pub fn method_key(method: Method) -> &'static str {
    METHODS
        .iter()
        .find(|(_, known)| *known == method)
        .map_or("none", |(key, _)| key)
}
