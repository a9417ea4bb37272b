//! Tasks with one rule: the rule in symbols, then the numbers in it and what comes between.

use std::f64::consts::TAU;

use jigwise_bench::quotes::{Shown, load_ohm};
use jigwise_bench::{
    Bench, Complex64, Coverage, Device, Fixture, Part, Readout, SPEED_OF_LIGHT_M_PER_S,
    complex_ohm, engineering, fixed, percent, significant, unsigned_percent,
};

use super::{DIGITS, ohms};
use crate::claim::NORMAL_95;
use crate::read_task::cause_in_percent;
use crate::task::{Asks, Task};

/// The rule, and the steps with its numbers; what can't be computed is left out.
pub(super) fn steps(task: &Task, bench: &Bench, readout: &Readout) -> Vec<String> {
    let mut steps = vec![rule(task).to_owned()];
    steps.extend(numbers(task, bench, readout).unwrap_or_default());
    steps
}

/// The rule behind a task with one formula.
pub(super) fn rule(task: &Task) -> &'static str {
    match task.asks() {
        Asks::Length => {
            "The wave goes there and back, so the length is −φ/720° wavelengths in the line."
        }
        Asks::SelfResonance => "Both reactances have the same size at f = 1/(2π·√(L·C)).",
        Asks::Quality => "The loop holds R1 and both ports, so Q = f/Δf·(R1 + 2·Z0)/R1.",
        Asks::Distance => "|Γ| = |Z − Z0|/|Z + Z0|.",
        Asks::Angle => "The angle of Γ is that of Z − Z0 less that of Z + Z0.",
        Asks::Swr => "SWR = (1 + |Γ|)/(1 − |Γ|), with |Γ| = |Z − Z0|/|Z + Z0|.",
        Asks::Opposite => "At −Γ lies Z0²/Z, and that is Z0²·(R − jX)/(R² + X²).",
        Asks::Apparent => {
            "The reading of part and surroundings, turned into ohms by the fixture's formula."
        }
        Asks::Crossover => {
            "Reflect and a through fixture see alike where a resistor makes the SWR 1 + √6: at \
             Z0/(1 + √6) and at Z0·(1 + √6)."
        }
        Asks::Sensitivity => match task.fixture() {
            Fixture::Reflect => "K = |z + 1|²/(2·|z|), with z = Z/Z0.",
            Fixture::ShuntThrough => "K = |2·z + 1|²/(2·|z|), with z = Z/Z0.",
            Fixture::SeriesThrough => "K = |z + 2|²/(2·|z|), with z = Z/Z0.",
        },
        Asks::Expanded => "U = 1.96·u.",
        Asks::Radius => "The radius is √(−2·ln 0.05) = 2.45 standard uncertainties.",
        Asks::Combined => "u = √(a² + b² + c²).",
        Asks::LoadShare => {
            "The analyzer calls the load the reference, so all ohms are off by Z0/load − 1."
        }
        Asks::PlaneAngle => "An open behind a line of length l shows −720°·l/λ.",
        Asks::Corner => "f = 1/(2π·R·C).",
        _ => "",
    }
}

fn numbers(task: &Task, bench: &Bench, readout: &Readout) -> Option<Vec<String>> {
    let z0 = task.scenario().reference.ohm();
    Some(match task.asks() {
        Asks::Length | Asks::PlaneAngle => along_a_line(task, readout)?,
        Asks::SelfResonance => self_resonance(task)?,
        Asks::Quality => quality(task, z0)?,
        Asks::Distance | Asks::Swr | Asks::Angle => {
            reflection(task.asks(), bench.device().impedance()?, z0)
        }
        Asks::Opposite => opposite(bench.device().impedance()?, z0),
        Asks::Crossover => crossover(task.fixture(), z0),
        Asks::Sensitivity => sensitivity(task, bench.device().impedance()?, z0),
        Asks::Expanded => {
            let u = readout.appraisal_of(task.fixture())?.ohms?.u_r_ohm;
            vec![format!(
                "U = {}·{} = {}.",
                fixed(NORMAL_95, 2),
                ohm(u),
                ohm(NORMAL_95 * u)
            )]
        }
        Asks::Radius => radius(task, bench)?,
        Asks::Combined => combined(task)?,
        Asks::LoadShare => {
            let load = load_ohm(task.scenario().calibration.as_ref()?)?;
            vec![format!(
                "{} / {} − 1 = {} − 1 = {}.",
                ohm(z0),
                ohm(load),
                significant(z0 / load, DIGITS),
                percent(z0 / load - 1.0)
            )]
        }
        Asks::Corner => corner(task)?,
        _ => return None,
    })
}

fn ohm(value: f64) -> String {
    engineering(value, "Ω", DIGITS)
}

fn second(value: f64) -> String {
    engineering(value, "s", DIGITS)
}

fn degree(value: f64) -> String {
    format!("{}°", fixed(value, 2))
}

fn along_a_line(task: &Task, readout: &Readout) -> Option<Vec<String>> {
    let line = task.scenario().fixtures.strays.before;
    let freq_hz = task.scenario().readout_hz()?;
    let wavelength_m = line.velocity_factor * SPEED_OF_LIGHT_M_PER_S / freq_hz;
    let metre = |value| engineering(value, "m", DIGITS);
    let mut steps = vec![format!(
        "A wavelength in the line is λ = v·c/f = {}·{}·10⁶\u{202f}m/s / {} = {}.",
        fixed(line.velocity_factor, 2),
        significant(SPEED_OF_LIGHT_M_PER_S / 1e6, DIGITS),
        engineering(freq_hz, "Hz", DIGITS),
        metre(wavelength_m)
    )];
    steps.push(match task.asks() {
        Asks::Length => {
            let angle_deg = Shown::of(&readout.of(Fixture::Reflect))?.angle_deg;
            format!(
                "l = {} / 720° · {} = {}.",
                degree(-angle_deg),
                metre(wavelength_m),
                metre(-angle_deg / 720.0 * wavelength_m)
            )
        }
        _ => format!(
            "−720° · {} / {} = {}.",
            metre(line.length_m),
            metre(wavelength_m),
            degree(-720.0 * line.length_m / wavelength_m)
        ),
    });
    Some(steps)
}

fn self_resonance(task: &Task) -> Option<Vec<String>> {
    let (l, c) = match task.scenario().device {
        Device::Part(Part::Capacitor(part)) => (part.esl_h, part.capacitance_f),
        Device::Part(Part::Inductor(part)) => (part.inductance_h, part.parallel_capacitance_f),
        _ => return None,
    };
    let root = (l * c).sqrt();
    Some(vec![
        format!(
            "√(L·C) = √({} · {}) = {}.",
            engineering(l, "H", DIGITS),
            engineering(c, "F", DIGITS),
            second(root)
        ),
        format!(
            "2π times that is {}, and one over it is {}.",
            second(TAU * root),
            engineering(1.0 / (TAU * root), "Hz", DIGITS)
        ),
    ])
}

fn quality(task: &Task, z0: f64) -> Option<Vec<String>> {
    let Device::Part(Part::Crystal(crystal)) = task.scenario().device else {
        return None;
    };
    let r1 = crystal.motional_resistance_ohm;
    let width_hz = crystal.width_hz(2.0 * z0);
    let in_loop = crystal.series_resonance_hz / width_hz;
    let ratio = (r1 + 2.0 * z0) / r1;
    // As many digits as the question gives.
    let hz = |value| engineering(value, "Hz", 5);
    Some(vec![
        format!(
            "f/Δf = {} / {} = {}.",
            hz(crystal.series_resonance_hz),
            hz(width_hz),
            significant(in_loop, DIGITS)
        ),
        format!(
            "(R1 + 2·Z0)/R1 = ({} + {}) / {} = {}.",
            ohm(r1),
            ohm(2.0 * z0),
            ohm(r1),
            significant(ratio, DIGITS)
        ),
        "The product of the two is the Q.".to_owned(),
    ])
}

fn reflection(asks: Asks, z: Complex64, z0: f64) -> Vec<String> {
    let (above, below) = (z - z0, z + z0);
    let (a, b) = (above.norm(), below.norm());
    if asks == Asks::Angle {
        return angle(above, below);
    }
    let size = a / b;
    let mut steps = vec![
        format!(
            "Z − Z0 is {}. Its size, √(R² + X²), is {}.",
            ohms(above),
            ohm(a)
        ),
        format!("Z + Z0 is {}. Its size is {}.", ohms(below), ohm(b)),
        format!("|Γ| = {} / {} = {}.", ohm(a), ohm(b), fixed(size, 4)),
    ];
    if asks == Asks::Swr {
        steps.push(format!(
            "SWR = {} / {} = {}.",
            fixed(1.0 + size, 4),
            fixed(1.0 - size, 4),
            significant((1.0 + size) / (1.0 - size), DIGITS)
        ));
    }
    steps
}

fn angle(above: Complex64, below: Complex64) -> Vec<String> {
    let [up, down] = [above, below].map(|z| z.arg().to_degrees());
    let mut first = format!("Z − Z0 is {}, at the angle {}.", ohms(above), degree(up));
    if above.re < 0.0 {
        let of_calculator = (above.im / above.re).atan().to_degrees();
        first.push_str(&format!(
            " A calculator gives {} for the quotient. R − Z0 is negative, so the arrow points to \
             the left, 180° away from that.",
            degree(of_calculator)
        ));
    }
    let mut steps = vec![
        first,
        format!("Z + Z0 is {}, at the angle {}.", ohms(below), degree(down)),
    ];
    let difference = format!(
        "{} less {} is {}.",
        degree(up),
        degree(down),
        degree(up - down)
    );
    steps.push(match up - down {
        over if over > 180.0 => {
            format!(
                "{difference} Less a whole turn that is {}.",
                degree(over - 360.0)
            )
        }
        under if under < -180.0 => {
            format!(
                "{difference} With a whole turn more that is {}.",
                degree(under + 360.0)
            )
        }
        _ => difference,
    });
    steps
}

fn opposite(z: Complex64, z0: f64) -> Vec<String> {
    let squares = z.norm_sqr();
    let factor = z0 * z0 / squares;
    vec![
        format!(
            "R² + X² = {}² + {}² = {}.",
            significant(z.re, DIGITS),
            significant(z.im.abs(), DIGITS),
            significant(squares, DIGITS)
        ),
        format!(
            "Z0² = {}, and {} / {} = {}.",
            significant(z0 * z0, DIGITS),
            significant(z0 * z0, DIGITS),
            significant(squares, DIGITS),
            significant(factor, DIGITS)
        ),
        format!(
            "{}·({}) = {}.",
            significant(factor, DIGITS),
            complex_ohm(z.conj(), DIGITS),
            complex_ohm(factor * z.conj(), DIGITS)
        ),
    ]
}

fn crossover(fixture: Fixture, z0: f64) -> Vec<String> {
    let swr = 1.0 + 6.0_f64.sqrt();
    let shown = significant(swr, DIGITS);
    let mut steps = vec![format!("1 + √6 = {shown}.")];
    match fixture {
        Fixture::ShuntThrough => steps.push(format!(
            "Shunt-through is for small parts: {} / {shown} = {}.",
            ohm(z0),
            ohm(z0 / swr)
        )),
        Fixture::SeriesThrough => steps.push(format!(
            "Series-through is for large parts: {} · {shown} = {}.",
            ohm(z0),
            ohm(z0 * swr)
        )),
        Fixture::Reflect => {}
    }
    steps
}

fn sensitivity(task: &Task, z: Complex64, z0: f64) -> Vec<String> {
    let ratio = z / z0;
    let above = match task.fixture() {
        Fixture::Reflect => ratio + 1.0,
        Fixture::ShuntThrough => 2.0 * ratio + 1.0,
        Fixture::SeriesThrough => ratio + 2.0,
    }
    .norm();
    let number = |value| significant(value, DIGITS);
    let k = above * above / (2.0 * ratio.norm());
    vec![
        format!(
            "|z| = {} / {} = {}.",
            ohm(z.norm()),
            ohm(z0),
            number(ratio.norm())
        ),
        format!(
            "K = {}² / (2·{}) = {}.",
            number(above),
            number(ratio.norm()),
            number(k)
        ),
        format!("An error of 0.01 becomes 0.01·{} of Z.", number(k)),
    ]
}

fn radius(task: &Task, bench: &Bench) -> Option<Vec<String>> {
    let spread = bench
        .budget()?
        .impedance_covariance(task.fixture(), bench.device())?;
    let sigma = spread.principal_variances().0.sqrt();
    let factor = Coverage::P95.radius_in_sigma();
    Some(vec![format!(
        "u(R) and u(X) are alike here, {} each: {}·{} = {}.",
        engineering(sigma, "Ω", 3),
        fixed(factor, 3),
        engineering(sigma, "Ω", 3),
        ohm(factor * sigma)
    )])
}

fn combined(task: &Task) -> Option<Vec<String>> {
    let mut parts = Vec::new();
    for which in 1..=3 {
        let (_, share) = cause_in_percent(task.scenario(), task.fixture(), which)?;
        parts.push(100.0 * share);
    }
    let number = |value: f64| significant(value, DIGITS);
    let squares: Vec<String> = parts.iter().map(|part| number(part * part)).collect();
    let sum: f64 = parts.iter().map(|part| part * part).sum();
    Some(vec![
        format!(
            "In percent the squares are {}, and their sum is {}.",
            squares.join(", "),
            number(sum)
        ),
        format!(
            "√{} = {}, that is {}.",
            number(sum),
            number(sum.sqrt()),
            unsigned_percent(sum.sqrt() / 100.0)
        ),
    ])
}

fn corner(task: &Task) -> Option<Vec<String>> {
    let r = task.scenario().device.fixed_ohm()?.norm();
    let c = task.scenario().fixtures.strays.gap_f;
    Some(vec![
        format!(
            "2π·R·C = {}·{} · {} = {}.",
            significant(TAU, DIGITS),
            ohm(r),
            engineering(c, "F", DIGITS),
            second(TAU * r * c)
        ),
        format!(
            "One over that is {}.",
            engineering(1.0 / (TAU * r * c), "Hz", DIGITS)
        ),
    ])
}
