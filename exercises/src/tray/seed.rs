//! The seed of a set of trays, and what is drawn from it.
//!
//! Draws come from the stream cipher ChaCha with 20 rounds, keyed by the seed: whoever has all that
//! was drawn can't find the key, nor any other draw. Each group and each purpose has a stream of its
//! own.

use std::fmt;

use rand::rngs::ChaCha20Rng;
use rand::{RngExt, SeedableRng};

/// 128 bits from which a set of trays is made.
#[derive(Clone, Copy, PartialEq, Eq)]
pub struct Seed([u8; 16]);

/// Text that is no seed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SeedError {
    text: String,
}

impl std::error::Error for SeedError {}

impl fmt::Display for SeedError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "\"{}\" is no seed; a seed is 32 hexadecimal digits as a key has them, or a whole \
             number",
            jigwise_bench::excerpt(&self.text, jigwise_bench::MAX_QUOTED)
        )
    }
}

impl Seed {
    /// A seed of 128 bits; they have to come from the operating system, or the browser's own source
    /// of them.
    pub const fn new(bits: [u8; 16]) -> Self {
        Self(bits)
    }

    /// A seed as typed: 32 hexadecimal digits, or a whole number.
    ///
    /// ```
    /// use jigwise_exercises::tray::Seed;
    ///
    /// let long: Seed = "00112233445566778899aabbccddeeff".parse()?;
    /// assert!(long.is_sealed());
    /// assert!(!"7".parse::<Seed>()?.is_sealed());
    /// # Ok::<(), jigwise_exercises::tray::SeedError>(())
    /// ```
    fn read(text: &str) -> Option<Self> {
        let text = text.trim();
        if text.len() == 32 && text.bytes().all(|byte| byte.is_ascii_hexdigit()) {
            return u128::from_str_radix(text, 16)
                .ok()
                .map(|bits| Self(bits.to_be_bytes()));
        }
        let number: u64 = text.parse().ok()?;
        Some(Self(u128::from(number).to_be_bytes()))
    }

    /// What is said to a teacher who gives a seed that is not sealed.
    pub const SHORT: &str = "this seed is short, so a student can find it by trying all such seeds; \
                             leave it out where marks depend on the trays";

    /// False for a seed so short that all of its kind can be tried.
    pub fn is_sealed(self) -> bool {
        u128::from_be_bytes(self.0) > u128::from(u64::MAX)
    }

    /// A stream of draws.
    pub(crate) fn stream(self, purpose: Purpose, group: u32) -> Stream {
        let mut key = [0; 32];
        key[..16].copy_from_slice(&self.0);
        key[16..24].copy_from_slice(b"Jigwise\x01");
        key[24] = purpose as u8;
        key[28..].copy_from_slice(&group.to_be_bytes());
        Stream(ChaCha20Rng::from_seed(key))
    }

    /// The code of a set of trays, which stands on every sheet and form. It tells two sets apart and
    /// nothing of the seed.
    pub(crate) fn code(self) -> String {
        // Letters and digits that nobody mistakes for each other.
        const SIGNS: [u8; 32] = *b"23456789ABCDEFGHJKLMNPQRSTUVWXYZ";
        let mut stream = self.stream(Purpose::Code, 0);
        let mut code = String::new();
        for place in 0..8 {
            if place == 4 {
                code.push('-');
            }
            code.push(char::from(SIGNS[stream.below(SIGNS.len())]));
        }
        code
    }
}

impl std::str::FromStr for Seed {
    type Err = SeedError;

    fn from_str(text: &str) -> Result<Self, SeedError> {
        Self::read(text).ok_or_else(|| SeedError {
            text: text.trim().to_owned(),
        })
    }
}

/// All 32 digits.
impl fmt::Display for Seed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:032x}", u128::from_be_bytes(self.0))
    }
}

/// Not the bits: a log is no place for a key.
impl fmt::Debug for Seed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Seed(…)")
    }
}

/// What a stream is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Purpose {
    /// The code on the sheets.
    Code = 0,
    /// The parts of a group.
    Parts = 1,
    /// The noise of a group's measurements.
    Noise = 2,
    /// The part of a round.
    Round = 3,
}

/// Draws from a seed.
#[derive(Debug)]
pub(crate) struct Stream(ChaCha20Rng);

impl Stream {
    /// Uniform in 0 ≤ x < 1.
    pub(crate) fn uniform(&mut self) -> f64 {
        self.0.random()
    }

    /// Uniform in 0 ≤ k < `count`.
    pub(crate) fn below(&mut self, count: usize) -> usize {
        self.0.random_range(0..count)
    }

    /// The seed of a measurement.
    pub(crate) fn seed(&mut self) -> u64 {
        self.0.random()
    }

    /// 0 to `count` − 1 in a drawn order.
    pub(crate) fn order(&mut self, count: usize) -> Vec<usize> {
        let mut order: Vec<usize> = (0..count).collect();
        for last in (1..count).rev() {
            order.swap(last, self.below(last + 1));
        }
        order
    }
}
