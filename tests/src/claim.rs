//! A budget that claims more or less than the instrument has.

use jigwise_physics::{Instrument, Systematic};

/// Every entry of an instrument's budget `factor` times as large.
pub fn claimed(instrument: &Instrument, factor: f64) -> Instrument {
    let mut claimed = *instrument;
    if let Systematic::Standards(s) = &mut claimed.systematic {
        for entry in [
            &mut s.load,
            &mut s.open,
            &mut s.short,
            &mut s.through_tracking,
            &mut s.crosstalk,
            &mut s.load_match,
        ] {
            *entry *= factor;
        }
    }
    for entry in [
        &mut claimed.reflect_floor,
        &mut claimed.through_floor,
        &mut claimed.trace_magnitude,
        &mut claimed.trace_phase_rad,
        &mut claimed.reconnect,
        &mut claimed.drift,
        &mut claimed.cable_phase_rad,
        &mut claimed.contact_ohm,
        &mut claimed.ground_loop_ohm,
    ] {
        *entry *= factor;
    }
    claimed
}
