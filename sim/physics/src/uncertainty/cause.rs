//! The causes of error by name: what class each belongs to, what it does to a reading, and how
//! large an instrument's entries make it.

use crate::{Fixture, Instrument, InstrumentEntry, Systematic};

/// A cause of error of a reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Cause {
    /// Noise of receiver and source that does not depend on the signal.
    NoiseFloor,
    /// Noise of the magnitude, proportional to the signal.
    TraceMagnitude,
    /// Noise of the phase.
    TracePhase,
    /// Rounding of the magnitude shown.
    DisplayMagnitude,
    /// Rounding of the phase shown.
    DisplayPhase,
    /// Error of the calibration load.
    Load,
    /// Error of the calibration open.
    Open,
    /// Error of the calibration short.
    Short,
    /// Directivity, as data sheets quote it.
    Directivity,
    /// Reflection tracking, as data sheets quote it.
    ReflectTracking,
    /// Source match, as data sheets quote it.
    SourceMatch,
    /// Through tracking.
    ThroughTracking,
    /// Crosstalk between the ports.
    Crosstalk,
    /// Match of the receiving port.
    LoadMatch,
    /// Raw match of the ports, where it is not known: it multiplies other residuals of the
    /// calibration in the through fixtures.
    RawMatch,
    /// Taking the part out and putting it back.
    Reconnect,
    /// Phase error of a flexed cable.
    CablePhase,
    /// Drift since the calibration.
    Drift,
    /// Resistance of the contacts of the fixture.
    Contact,
    /// Ground loop: current that the two cable braids share.
    GroundLoop,
    /// What is left of the strays of the fixture where they are taken out.
    Strays,
}

impl Cause {
    /// All of them, random ones first.
    pub const ALL: [Self; 21] = [
        Self::NoiseFloor,
        Self::TraceMagnitude,
        Self::TracePhase,
        Self::DisplayMagnitude,
        Self::DisplayPhase,
        Self::Load,
        Self::Open,
        Self::Short,
        Self::Directivity,
        Self::ReflectTracking,
        Self::SourceMatch,
        Self::ThroughTracking,
        Self::Crosstalk,
        Self::LoadMatch,
        Self::RawMatch,
        Self::Reconnect,
        Self::CablePhase,
        Self::Drift,
        Self::Contact,
        Self::GroundLoop,
        Self::Strays,
    ];

    /// The cause in a few words: those of the entry that gives its size.
    ///
    /// ```
    /// use jigwise_physics::Cause;
    ///
    /// assert_eq!(Cause::Load.name(), "load standard");
    /// assert_eq!(Cause::NoiseFloor.name(), "noise floor");
    /// ```
    pub fn name(self) -> &'static str {
        // The floor has two entries, one for each kind of reading; strays are no entry of an
        // instrument.
        match self {
            Self::NoiseFloor => "noise floor",
            Self::Strays => "what is left of the strays",
            _ => InstrumentEntry::ALL
                .iter()
                .find(|entry| entry.cause == Some(self))
                .map_or("", |entry| entry.words),
        }
    }

    /// True for noise, which differs from one reading to the next and averages out.
    pub const fn is_random(self) -> bool {
        matches!(
            self,
            Self::NoiseFloor | Self::TraceMagnitude | Self::TracePhase
        )
    }

    /// True for what a calibration leaves: the same for every reading until the next one.
    pub const fn is_of_calibration(self) -> bool {
        matches!(
            self,
            Self::Load
                | Self::Open
                | Self::Short
                | Self::Directivity
                | Self::ReflectTracking
                | Self::SourceMatch
                | Self::ThroughTracking
                | Self::Crosstalk
                | Self::LoadMatch
                | Self::RawMatch
        )
    }

    /// The causes that a calibration leaves, in the order of [`Cause::ALL`].
    pub(crate) const OF_CALIBRATION: [Self; 10] = {
        let mut found = [Self::Load; 10];
        let (mut from, mut to) = (0, 0);
        while from < Self::ALL.len() {
            if Self::ALL[from].is_of_calibration() {
                found[to] = Self::ALL[from];
                to += 1;
            }
            from += 1;
        }
        assert!(to == found.len());
        found
    };

    /// True for the rounding of what the display shows.
    pub(crate) const fn is_of_display(self) -> bool {
        matches!(self, Self::DisplayMagnitude | Self::DisplayPhase)
    }

    /// True where the error is one real number (a phase, a resistance), not a complex one.
    pub const fn is_real(self) -> bool {
        matches!(
            self,
            Self::TraceMagnitude
                | Self::TracePhase
                | Self::DisplayMagnitude
                | Self::DisplayPhase
                | Self::CablePhase
                | Self::Contact
                | Self::Strays
        )
    }

    /// True for what stays the same from one frequency of a sweep to the next.
    pub const fn stays_over_a_sweep(self) -> bool {
        !self.is_random() && !self.is_of_display()
    }

    /// The effect of a unit of this cause on the reading of a fixture, and its real factor; `None`
    /// where it has none by itself.
    pub(crate) fn effect(self, fixture: Fixture) -> Option<(Effect, f64)> {
        let reflect = fixture == Fixture::Reflect;
        Some(match self {
            Self::NoiseFloor | Self::Reconnect => (Effect::Absolute, 1.0),
            Self::TraceMagnitude | Self::DisplayMagnitude => (Effect::Radial, 1.0),
            Self::TracePhase | Self::DisplayPhase | Self::CablePhase => (Effect::Tangential, 1.0),
            Self::Load => (Effect::Scale, -2.0),
            Self::Open if reflect => (Effect::OpenEnd, -1.0),
            Self::Short if reflect => (Effect::ShortEnd, 1.0),
            Self::Open | Self::Short => (Effect::Scale, 0.5),
            Self::SourceMatch if reflect => (Effect::Square, 1.0),
            Self::SourceMatch => (Effect::Scale, -1.0),
            Self::Directivity if reflect => (Effect::Absolute, 1.0),
            Self::ReflectTracking if reflect => (Effect::Relative, 1.0),
            Self::LoadMatch if !reflect => (Effect::Scale, -1.0),
            Self::ThroughTracking if !reflect => (Effect::Relative, 1.0),
            Self::Crosstalk if !reflect => (Effect::Absolute, 1.0),
            Self::Drift => (Effect::Relative, 1.0),
            Self::Contact => (Effect::Resistance, fixture.contact_factor()),
            Self::GroundLoop if fixture == Fixture::ShuntThrough => (Effect::Impedance, 1.0),
            Self::Directivity
            | Self::ReflectTracking
            | Self::LoadMatch
            | Self::ThroughTracking
            | Self::Crosstalk
            | Self::RawMatch
            | Self::GroundLoop
            | Self::Strays => return None,
        })
    }

    /// E|δ|² of this cause by the entries of an instrument, or the variance of a real one.
    /// `connections` as in [`crate::Budget::new`].
    pub(crate) fn mean_square(
        self,
        instrument: &Instrument,
        connections: u32,
        fixture: Fixture,
    ) -> f64 {
        let averages = f64::from(instrument.averages);
        let floor = |rms: f64| rms * rms / averages * instrument.ifbw_hz / instrument.floor_ifbw_hz;
        // A step of width w rounds by a uniform error of variance w²/12.
        let rounding = |step: f64| step * step / 12.0;
        // Uniform in a disc of radius r: E|δ|² = r²/2.
        let share = if instrument.systematic_is_bound {
            0.5
        } else {
            1.0
        };
        let residual = |size: f64| share * size * size;
        match (self, instrument.systematic) {
            (Self::NoiseFloor, _) => floor(match fixture {
                Fixture::Reflect => instrument.reflect_floor,
                Fixture::ShuntThrough | Fixture::SeriesThrough => instrument.through_floor,
            }),
            (Self::TraceMagnitude, _) => instrument.trace_magnitude.powi(2) / averages,
            (Self::TracePhase, _) => instrument.trace_phase_rad.powi(2) / averages,
            (Self::DisplayMagnitude, _) => rounding(instrument.display_magnitude),
            (Self::DisplayPhase, _) => rounding(instrument.display_phase_rad),
            (Self::Reconnect, _) if connections == 0 => 0.0,
            (Self::Reconnect, _) => instrument.reconnect.powi(2) / f64::from(connections),
            (Self::CablePhase, _) => instrument.cable_phase_rad.powi(2),
            // It multiplies residuals of standards; a data sheet tells what is left in the end.
            (Self::RawMatch, Systematic::Standards(_)) => instrument.raw_match.powi(2),
            (Self::Drift, _) => instrument.drift.powi(2),
            (Self::Contact, _) => instrument.contact_ohm.powi(2),
            (Self::GroundLoop, _) => instrument.ground_loop_ohm.powi(2),
            (Self::Load, Systematic::Standards(s)) => residual(s.load),
            (Self::Open, Systematic::Standards(s)) => residual(s.open),
            (Self::Short, Systematic::Standards(s)) => residual(s.short),
            (Self::ThroughTracking, Systematic::Standards(s)) => residual(s.through_tracking),
            (Self::Crosstalk, Systematic::Standards(s)) => residual(s.crosstalk),
            (Self::LoadMatch, Systematic::Standards(s)) => residual(s.load_match),
            (Self::Directivity, Systematic::Vendor(f)) => residual(f.directivity),
            (Self::ReflectTracking, Systematic::Vendor(f)) => residual(f.reflect_tracking),
            (Self::SourceMatch, Systematic::Vendor(f)) => residual(f.source_match),
            (Self::ThroughTracking, Systematic::Vendor(f)) => residual(f.through_tracking),
            (Self::Crosstalk, Systematic::Vendor(f)) => residual(f.crosstalk),
            (Self::LoadMatch, Systematic::Vendor(f)) => residual(f.load_match),
            (Self::Directivity | Self::ReflectTracking | Self::SourceMatch | Self::RawMatch, _)
            | (Self::Load | Self::Open | Self::Short | Self::Strays, _) => 0.0,
        }
    }
}

/// What a unit error does to the reading S of a device z, D = z·dS/dz.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Effect {
    /// 1.
    Absolute,
    /// S.
    Relative,
    /// D: the same part of Z whatever Z is.
    Scale,
    /// D·(z − 1)/2.
    OpenEnd,
    /// D·(z − 1)/(2z).
    ShortEnd,
    /// S².
    Square,
    /// S, by a real error.
    Radial,
    /// j·S, by a real error.
    Tangential,
    /// dS/dZ, by a real error in ohms.
    Resistance,
    /// dS/dZ, by a complex error in ohms.
    Impedance,
    /// ρ·√(1 + |t ± ρ|²): a leak times the raw match of source and of load, of unknown phase.
    MatchedLeak,
}

impl Effect {
    pub(crate) const ALL: [Self; 11] = [
        Self::Absolute,
        Self::Relative,
        Self::Scale,
        Self::OpenEnd,
        Self::ShortEnd,
        Self::Square,
        Self::Radial,
        Self::Tangential,
        Self::Resistance,
        Self::Impedance,
        Self::MatchedLeak,
    ];

    /// True where the error is a real number: scatter along one axis.
    pub(crate) const fn is_real(self) -> bool {
        matches!(self, Self::Radial | Self::Tangential | Self::Resistance)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn real_causes_have_real_effects() {
        for cause in Cause::ALL {
            for (effect, _) in Fixture::ALL.iter().filter_map(|f| cause.effect(*f)) {
                assert_eq!(effect.is_real(), cause.is_real(), "{cause:?}");
            }
        }
    }
}
