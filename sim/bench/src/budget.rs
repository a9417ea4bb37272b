//! The error budget of a scenario's instrument: by band, and on the bench as it stands.

use std::fmt::Display;

use jigwise_physics::{
    Bands, Budget, CalibrationMade, Complex64, Definitions, Fixture, Port, ReflectionStandard, Trio,
};

use crate::chain::entry;
use crate::front_end::FrontEnd;
use crate::scenario::{CalibrationPlan, Scenario, ScenarioError};

/// The error budgets of the scenario's instrument by band, where it names one.
pub(crate) fn by_band(scenario: &Scenario) -> Result<Option<Bands>, ScenarioError> {
    scenario
        .instrument
        .as_ref()
        .map(|instrument| instrument.budgets(scenario.reference, scenario.connections))
        .transpose()
}

/// The budget of a readout, at its frequency: where the scenario names the front end, that of this
/// front end; with the strays of the fixtures and what the calibration left.
pub(crate) fn of_readout(scenario: &Scenario) -> Result<Option<Budget>, ScenarioError> {
    let Some(instrument) = &scenario.instrument else {
        return Ok(None);
    };
    let freq_hz = scenario.readout_hz();
    let figures = instrument.figures_at(freq_hz)?;
    let mut budget = Budget::new(&figures, scenario.reference, scenario.connections)
        .map_err(|error| ScenarioError::of_instrument(&instrument.name, error))?;
    let Some(freq_hz) = freq_hz else {
        return Ok(Some(budget));
    };
    let fixtures = &scenario.fixtures;
    budget = budget
        .in_fixtures(&fixtures.strays, freq_hz, fixtures.doubt())
        .map_err(entry)?;
    if let Some(plan) = &scenario.calibration {
        let made = made(plan, scenario, freq_hz)?;
        budget = budget.after_calibration(&made).map_err(entry)?;
        if plan.front_end.is_some() {
            budget = budget.with_front_end(&made.terms);
        }
    }
    Ok(Some(budget))
}

/// The calibration of a plan at one frequency, as far as it was made.
fn made(
    plan: &CalibrationPlan,
    scenario: &Scenario,
    freq_hz: f64,
) -> Result<CalibrationMade, ScenarioError> {
    let failed = |error: &dyn Display| ScenarioError::free(format!("calibration: {error}"));
    let reference = scenario.reference;
    let terms = FrontEnd::of(scenario, plan, freq_hz)?
        .analyzer()
        .terms(freq_hz);
    let truth = plan.truth(freq_hz, reference).map_err(|e| failed(&e))?;
    let taken = plan.taken_for(freq_hz, reference).map_err(|e| failed(&e))?;
    let [is, as_taken] = [&truth, &taken].map(|all| all.reflections[Port::One as usize]);
    let off = |standard: ReflectionStandard| -> Result<Complex64, ScenarioError> {
        let taken = *standard.of(&as_taken);
        if *standard.of(&plan.skipped.reflections) {
            // The reading of an ideal analyzer stands in for the one not taken.
            let raw = *standard.of(&Definitions::IDEAL.reflections[Port::One as usize]);
            return Ok(terms.forward.one_port.correct(raw) - taken);
        }
        let Some(device) = standard.of(&plan.instead) else {
            return Ok(*standard.of(&is) - taken);
        };
        let device = device.immittance(Some(freq_hz)).map_err(|e| failed(&e))?;
        let gamma = Fixture::Reflect.reading(device, reference).value();
        Ok(gamma.unwrap_or(Complex64::ONE) - taken)
    };
    Ok(CalibrationMade {
        has_isolation: !plan.skipped.isolation,
        has_through: !plan.skipped.through,
        reflections_off: Trio {
            open: off(ReflectionStandard::Open)?,
            short: off(ReflectionStandard::Short)?,
            load: off(ReflectionStandard::Load)?,
        },
        through_off: truth.through.s21 / taken.through.s21 - 1.0,
        ..CalibrationMade::good(plan.method, terms)
    })
}
