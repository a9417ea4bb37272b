//! What the fixture adds around a part, how it was calibrated, and the ohms got back.

use jigwise_physics::{Equivalents, Fixture, Termination};
use jigwise_quantity::{complex_ohm, engineering, fixed, percent, unsigned_percent};

use crate::fixture_entries::PartStray;
use crate::readout::Bench;
use crate::scenario::{CalibrationPlan, Scenario};

pub(super) fn of_scenario(key: &str, scenario: &Scenario, digits: usize) -> Option<String> {
    let show = |value: f64, unit: &str| engineering(value, unit, digits);
    let present = |value: f64, unit: &str| (value > 0.0).then(|| show(value, unit));
    let strays = &scenario.fixtures.strays;
    let plan = scenario.calibration.as_ref();
    Some(match key {
        "arm" => present(strays.before.length_m, "m")?,
        "arm-velocity" => {
            present(strays.before.length_m, "m")?;
            fixed(strays.before.velocity_factor, 2)
        }
        "arm-turn" => {
            let turn = strays.before.one_way_degrees(scenario.readout_hz()?).ok()?;
            format!("{}°", fixed(turn, digits))
        }
        "method" => plan?.method.to_string(),
        "load" => show(load_ohm(plan?)?, "Ω"),
        "load-share" => percent(scenario.reference.ohm() / load_ohm(plan?)? - 1.0),
        "standard-stray" => {
            let reflections = &plan?.standards.reflections;
            let of = |termination| match termination {
                Termination::Open { capacitance } => present(capacitance[0], "F"),
                Termination::Short { inductance } => present(inductance[0], "H"),
                _ => None,
            };
            of(reflections.open.termination).or_else(|| of(reflections.short.termination))?
        }
        key => {
            let stray = PartStray::ALL.into_iter().find(|stray| stray.key == key)?;
            present(stray.get(strays), stray.unit.sign())?
        }
    })
}

pub(super) fn of_fixture(
    key: &str,
    bench: &Bench,
    fixture: Fixture,
    digits: usize,
) -> Option<String> {
    let readout = bench.readout();
    let back = readout.of(fixture).got_back?;
    let z = back.impedance();
    let seen = || Equivalents::new(back, readout.freq_hz?).ok();
    let true_z = || readout.device.impedance().filter(|z| z.norm() > 0.0);
    let ohms = |value| engineering(value, "Ω", digits);
    Some(match key {
        "back-z" => complex_ohm(z?, digits),
        "back-r" => ohms(z?.re),
        "back-x" => ohms(z?.im),
        "back-magnitude" => ohms(z?.norm()),
        "back-capacitance" => engineering(seen()?.series_capacitance_f()?, "F", digits),
        "back-inductance" => engineering(seen()?.series_inductance_h()?, "H", digits),
        "back-off" => percent(z?.norm() / true_z()?.norm() - 1.0),
        "back-error" => unsigned_percent((z? - true_z()?).norm() / true_z()?.norm()),
        _ => return None,
    })
}

/// The resistance of a calibration's load standard, Ω; `None` where no load closes it.
pub fn load_ohm(plan: &CalibrationPlan) -> Option<f64> {
    match plan.standards.reflections.load.termination {
        Termination::Load { resistance_ohm, .. } => Some(resistance_ohm),
        _ => None,
    }
}
