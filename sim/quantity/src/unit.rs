//! The units a value can be in.

/// The unit a value is in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unit {
    /// Ω
    Ohm,
    /// Hz
    Hertz,
    /// F
    Farad,
    /// H
    Henry,
    /// dB
    Decibel,
    /// °
    Degree,
    /// rad
    Radian,
    /// %
    Percent,
    /// m
    Metre,
    /// s
    Second,
    /// A plain number.
    One,
}

impl Unit {
    /// The quantity that is measured in the unit.
    ///
    /// ```
    /// # use jigwise_quantity::Unit;
    /// assert_eq!(Unit::Hertz.quantity(), "frequency");
    /// ```
    pub fn quantity(self) -> &'static str {
        match self {
            Self::Ohm => "resistance in ohms",
            Self::Hertz => "frequency",
            Self::Farad => "capacitance",
            Self::Henry => "inductance",
            Self::Decibel => "level in dB",
            Self::Degree => "angle in degrees",
            Self::Radian => "angle in radians",
            Self::Percent => "percentage",
            Self::Metre => "length",
            Self::Second => "time",
            Self::One => "plain number",
        }
    }

    /// [`Unit::quantity`] with its article.
    ///
    /// ```
    /// # use jigwise_quantity::Unit;
    /// assert_eq!(Unit::Henry.a_quantity(), "an inductance");
    /// ```
    pub fn a_quantity(self) -> String {
        with_article(self.quantity())
    }

    /// The sign of the unit; empty for a plain number.
    pub const fn sign(self) -> &'static str {
        match self {
            Self::Ohm => "Ω",
            Self::Hertz => "Hz",
            Self::Farad => "F",
            Self::Henry => "H",
            Self::Decibel => "dB",
            Self::Degree => "°",
            Self::Radian => "rad",
            Self::Percent => "%",
            Self::Metre => "m",
            Self::Second => "s",
            Self::One => "",
        }
    }

    /// The unit in the letters of a keyboard, as files have it.
    ///
    /// ```
    /// # use jigwise_quantity::Unit;
    /// assert_eq!(Unit::Ohm.typed(), "ohm");
    /// ```
    pub fn typed(self) -> &'static str {
        match self {
            Self::Ohm => "ohm",
            Self::Degree => "deg",
            other => other.sign(),
        }
    }

    /// One value as it can be typed.
    ///
    /// ```
    /// # use jigwise_quantity::Unit;
    /// assert_eq!(Unit::Hertz.example(), "7.1 MHz");
    /// ```
    pub fn example(self) -> &'static str {
        match self {
            Self::Ohm => "330 Ω",
            Self::Hertz => "7.1 MHz",
            Self::Farad => "330 pF",
            Self::Henry => "2.2 µH",
            Self::Decibel => "-38 dB",
            Self::Degree => "0.5 deg",
            Self::Radian => "0.01 rad",
            Self::Percent => "10 %",
            Self::Metre => "12 mm",
            Self::Second => "30 ps",
            Self::One => "0.015",
        }
    }

    /// The ways to type a value, for messages.
    pub(crate) fn examples(self) -> &'static str {
        match self {
            Self::Ohm => "4.7k, 4k7 or 330 Ω",
            Self::Hertz => "7.1M or 7.1 MHz",
            Self::Farad => "330p or 330 pF",
            Self::Henry => "2u2H or 2.2 µH",
            other => other.example(),
        }
    }

    pub(crate) fn of_sign(text: &str) -> Option<Self> {
        Some(match text {
            "Ω" | "\u{2126}" | "R" => Self::Ohm,
            "F" => Self::Farad,
            "H" => Self::Henry,
            "°" => Self::Degree,
            "%" => Self::Percent,
            "s" => Self::Second,
            _ => match text.to_ascii_lowercase().as_str() {
                "ohm" | "ohms" => Self::Ohm,
                "hz" => Self::Hertz,
                "db" => Self::Decibel,
                "deg" => Self::Degree,
                "rad" => Self::Radian,
                _ => return None,
            },
        })
    }

    /// After a prefix a lower-case unit is clear: `pf`, `uh`.
    pub(crate) fn of_sign_after_prefix(text: &str) -> Option<Self> {
        Self::of_sign(text).or(match text {
            "f" => Some(Self::Farad),
            "h" => Some(Self::Henry),
            "m" => Some(Self::Metre),
            _ => None,
        })
    }
}

/// A noun with a or an before it.
pub(crate) fn with_article(noun: &str) -> String {
    let article = if noun.starts_with(['a', 'e', 'i', 'o', 'u']) {
        "an"
    } else {
        "a"
    };
    format!("{article} {noun}")
}
