//! The tasks hold what they promise: nothing passes for a blank, the right answer passes,
//! one just outside the tolerance does not, and every slip is told by its name.

use std::collections::HashSet;
use std::f64::consts::TAU;

use jigwise_bench::{Complex64, Device, Part};
use jigwise_exercises::{Answer, Asks, Slip, Task, Verdict, catalogue};
use jigwise_tests::second_budget;

fn typed(task: &Task, value: Complex64) -> String {
    match task.asks() {
        asks if asks.is_complex() => {
            let sign = if value.im < 0.0 { '-' } else { '+' };
            format!("{:e} {sign} j{:e}", value.re, value.im.abs())
        }
        _ => format!("{:e}", value.re),
    }
}

pub(crate) fn verdict(task: &Task, text: &str) -> Verdict {
    task.check(text)
        .unwrap_or_else(|error| panic!("{} {text}: {error}", task.key()))
}

fn value_tasks() -> impl Iterator<Item = (&'static Task, Complex64)> {
    catalogue()
        .tasks()
        .iter()
        .filter_map(|task| match task.right_answer() {
            Some(Answer::Value(right)) => Some((task, right)),
            _ => None,
        })
}

#[test]
fn a_blank_is_never_right() {
    for task in catalogue().tasks() {
        for blank in ["", " ", "?", "0"] {
            let right = task.check(blank).is_ok_and(|verdict| verdict.is_right());
            assert!(!right, "{} takes {blank:?}", task.key());
        }
    }
}

#[test]
fn the_right_answer_passes_and_one_just_outside_does_not() {
    for (task, right) in value_tasks() {
        assert_eq!(
            verdict(task, &typed(task, right)),
            Verdict::Right,
            "{}",
            task.key()
        );
        if task.asks() == Asks::Averages {
            for beside in [right - 1.0, right + 1.0] {
                assert!(!verdict(task, &typed(task, beside)).is_right());
            }
            continue;
        }
        let distance = task.tolerance().around(right.norm());
        let directions = match task.asks() {
            asks if asks.is_complex() => vec![
                Complex64::ONE,
                -Complex64::ONE,
                Complex64::I,
                -Complex64::I,
                Complex64::from_polar(1.0, 2.0),
            ],
            _ => vec![Complex64::ONE, -Complex64::ONE],
        };
        for direction in directions {
            let inside = typed(task, right + direction * distance * 0.99);
            assert!(verdict(task, &inside).is_right(), "{} {inside}", task.key());
            let outside = typed(task, right + direction * distance * 1.01);
            assert!(
                !verdict(task, &outside).is_right(),
                "{} {outside}",
                task.key()
            );
        }
    }
}

/// The value of a task by a formula written out here; `None` for the kinds of the test below.
fn outside(task: &Task, asks: Asks) -> Option<Complex64> {
    let scenario = task.scenario();
    let z0 = scenario.reference.ohm();
    let device = scenario.device.fixed_ohm();
    let hz = || scenario.freq_hz.unwrap();
    let arm = scenario.fixtures.strays.before;
    let gap = scenario.fixtures.strays.gap_f;
    let fixture = task.fixture() as usize;
    // Numbers of the question itself, which stand before their unit.
    let printed = |unit: &str| -> Vec<f64> {
        let mut found = Vec::new();
        for part in task
            .prompt()
            .split(unit)
            .collect::<Vec<_>>()
            .iter()
            .rev()
            .skip(1)
        {
            let number = part.trim_end_matches(['\u{202f}', ' ']);
            let start = number
                .rfind(|c: char| !(c.is_ascii_digit() || c == '.'))
                .map_or(0, |at| at + number[at..].chars().next().unwrap().len_utf8());
            found.extend(number[start..].parse::<f64>());
        }
        found
    };
    let gamma = || (device.unwrap() - z0) / (device.unwrap() + z0);
    Some(match asks {
        // Pozar, Microwave Engineering, 4th ed., ch. 2: Γ, SWR and the terminated line
        // Z = Z0·(ZL + jZ0·tan βl)/(Z0 + jZL·tan βl); at a quarter wave Z0²/ZL.
        Asks::Distance => gamma().norm().into(),
        Asks::Angle => gamma().arg().to_degrees().into(),
        Asks::Swr => ((1.0 + gamma().norm()) / (1.0 - gamma().norm())).into(),
        Asks::Opposite => z0 * z0 / device.unwrap(),
        Asks::Apparent if arm.length_m > 0.0 => {
            let turn = TAU * hz() * arm.length_m / (arm.velocity_factor * 299_792_458.0);
            let tangent = Complex64::new(0.0, turn.tan());
            let z = device.unwrap();
            z0 * (z + z0 * tangent) / (z0 + z * tangent)
        }
        // The exact law of imperfect standards with the open alone wrong (references: it is also
        // the open/short/load compensation of impedance meters).
        Asks::Apparent => {
            let open = Complex64::new(0.0, -1.0 / (TAU * hz() * 90e-15));
            let z = device.unwrap();
            z * (z0 - open) / (z - open)
        }
        Asks::PlaneAngle => {
            (-720.0 * arm.length_m * hz() / (arm.velocity_factor * 299_792_458.0)).into()
        }
        // Handbook: a capacitor's reactance is 1/(2π·f·C).
        Asks::Corner => (1.0 / (TAU * device.unwrap().re * gap)).into(),
        Asks::BlankLevel => {
            let z = Complex64::new(0.0, -1.0 / (TAU * hz() * gap));
            (20.0 * (2.0 * z0 / (2.0 * z0 + z)).norm().log10()).into()
        }
        // Equal relative errors: |Γ|·K of reflect is |S21|·K of the through fixture.
        Asks::Crossover => {
            let cost = |fixture: usize, z: f64| {
                let z = Complex64::from(z);
                second_budget::reading(fixture, z).norm() * second_budget::gain(fixture, z)
            };
            let (mut low, mut high) = (1.5, 50.0);
            for _ in 0..100 {
                let middle = (low + high) / 2.0;
                if cost(0, middle) < cost(fixture, middle) {
                    low = middle
                } else {
                    high = middle
                }
            }
            (z0 * low).into()
        }
        Asks::Sensitivity => {
            // A finite difference on the inverse of the fixture.
            let z = device.unwrap() / z0;
            let s = second_budget::reading(fixture, z);
            let back = |s: Complex64| 0.5 * s / (1.0 - s);
            let step = 1e-7;
            (((back(s + step) - back(s)) / step / z).norm()).into()
        }
        // JCGM 100, table G.1: 95 % of a normal quantity lie within 1.960 u; a circle that holds
        // 95 % of two independent ones has the radius √(−2·ln 0.05) u (the Rayleigh quantile).
        Asks::Expanded => (1.960 * u_of(task)).into(),
        Asks::Radius => ((-2.0 * 0.05f64.ln()).sqrt() * u_of(task)).into(),
        // JCGM 100, 5.1.2: independent contributions add by their squares.
        Asks::Combined => {
            let parts = printed("%");
            assert_eq!(parts.len(), 3, "{}", task.prompt());
            parts.iter().map(|u| u * u).sum::<f64>().sqrt().into()
        }
        // The exact law of imperfect standards: Z′ = Z·Z0/Zload.
        Asks::LoadShare => (100.0 * (50.0 / 56.0 - 1.0)).into(),
        Asks::Separation => {
            let z = device.unwrap() / z0;
            let f = second_budget::handheld();
            second_budget::separation(fixture, [z, z * 1.1], &f, false).into()
        }
        Asks::DisplayChange => {
            let z = device.unwrap() / z0;
            let f = second_budget::handheld();
            let (mut low, mut high) = (0.0_f64, 10.0);
            for _ in 0..100 {
                let middle = (low + high) / 2.0;
                match second_budget::display_moves(fixture, [z, z * (1.0 + middle)], &f) {
                    true => high = middle,
                    false => low = middle,
                }
            }
            (100.0 * high).into()
        }
        _ => return None,
    })
}

/// u of R from the question, Ω.
fn u_of(task: &Task) -> f64 {
    let text = task.prompt();
    let at = text
        .find("u = ")
        .map(|at| at + 4)
        .or_else(|| text.find("u(R) = ").map(|at| at + 7));
    let rest = &text[at.unwrap()..];
    let end = rest.find('Ω').unwrap() + 'Ω'.len_utf8();
    jigwise_quantity::parse_value(&rest[..end], jigwise_quantity::Unit::Ohm).unwrap()
}

#[test]
fn the_right_answer_is_that_of_a_formula_from_outside() {
    let mut checked = 0;
    for (task, right) in value_tasks() {
        let Some(expected) = outside(task, task.asks()) else {
            continue;
        };
        let allowed = task.tolerance().allows(expected, right);
        assert!(
            allowed,
            "{}: {right} counts, {expected} expected",
            task.key()
        );
        // Half of what a student may be off is left to the digits of the question.
        let near = (expected - right).norm() <= 0.5 * task.tolerance().around(right.norm());
        assert!(near, "{}: {right} counts, {expected} expected", task.key());
        checked += 1;
    }
    assert!(checked >= 15, "{checked}");
}

/// What is right follows from the reading, rounded as a display rounds it. It has to lead back
/// to the part that the scenario says was connected, which no formula of the checker knows.
#[test]
fn the_right_answer_is_the_part_that_was_connected() {
    for (task, right) in value_tasks() {
        let device = &task.scenario().device;
        let device = device.fixed_ohm().map_or(device.clone(), Device::Fixed);
        let connected = match (task.asks(), device) {
            (Asks::Impedance, Device::Fixed(z)) => z,
            (Asks::Resistance, Device::Fixed(z)) => z.re.into(),
            (Asks::Capacitance, Device::Part(Part::Capacitor(part))) => part.capacitance_f.into(),
            // |Γ| = (s − 1)/(s + 1) with s = 82/50, level 20·log10|Γ|: handbook formula.
            (Asks::Level, Device::Fixed(z)) => {
                let swr = z.re / 50.0;
                (20.0 * ((swr - 1.0) / (swr + 1.0)).log10()).into()
            }
            // Handbook: L of a coil at low frequency, 1/(2π√(LC)) and, of a crystal,
            // Q = 1/(2π·fs·C1·R1).
            (Asks::Inductance, Device::Part(Part::Inductor(coil))) => coil.inductance_h.into(),
            (Asks::SelfResonance, Device::Part(Part::Capacitor(part))) => {
                (1.0 / (TAU * (part.esl_h * part.capacitance_f).sqrt())).into()
            }
            (Asks::SelfResonance, Device::Part(Part::Inductor(coil))) => {
                (1.0 / (TAU * (coil.inductance_h * coil.parallel_capacitance_f).sqrt())).into()
            }
            // Handbook: a winding with its resistance, and the capacitance across both; the
            // resistance of its skin grows with the root of the frequency.
            (Asks::Impedance, Device::Part(Part::Inductor(coil))) => {
                let hz = task.scenario().freq_hz.unwrap();
                let skin = coil
                    .skin
                    .map_or(0.0, |skin| skin.resistance_ohm * (hz / skin.at_hz).sqrt());
                let winding = Complex64::new(
                    coil.series_resistance_ohm + skin,
                    TAU * hz * coil.inductance_h,
                );
                let across = Complex64::new(0.0, TAU * hz * coil.parallel_capacitance_f);
                (winding.inv() + across).inv()
            }
            (Asks::Quality, Device::Part(Part::Crystal(crystal))) => {
                let omega = TAU * crystal.series_resonance_hz;
                let rc = crystal.motional_resistance_ohm * crystal.motional_capacitance_f;
                (1.0 / (omega * rc)).into()
            }
            (Asks::Length, Device::Open) => task.scenario().fixtures.strays.before.length_m.into(),
            // Held against a second budget below.
            (Asks::Averages | Asks::Change, _) => continue,
            (asks, _) if outside(task, asks).is_some() => continue,
            other => panic!("{}: {other:?}", task.key()),
        };
        assert!(
            task.tolerance().allows(connected, right),
            "{}: {connected} was connected, {right} counts as right",
            task.key()
        );
    }
}

#[test]
fn every_slip_is_recognised_wherever_it_can_be_made() {
    let mut named = HashSet::new();
    for (task, _) in value_tasks() {
        for slip in Slip::ALL {
            let Some(slipped) = task.slipped_value(slip) else {
                continue;
            };
            let verdict = verdict(task, &typed(task, slipped));
            let found = verdict.slip().unwrap_or_else(|| {
                panic!("{}: {slip:?} gives {slipped}, told {verdict}", task.key())
            });
            // Two slips may lead to one number; then the commoner one is named. The coarsest
            // task asks for two digits, of which one unit is up to a tenth.
            let of_found = task.slipped_value(found).unwrap();
            assert!(
                (of_found - slipped).norm() <= 0.1 * slipped.norm(),
                "{}: {slip:?} is told as {found:?}",
                task.key()
            );
            if found == slip {
                named.insert(slip);
            }
        }
    }
    for slip in Slip::ALL {
        assert!(named.contains(&slip), "no task tells {slip:?} by its name");
    }
}

#[test]
fn every_solution_ends_with_its_answer_and_the_right_answer_passes() {
    for task in catalogue().tasks() {
        let solution = task.solution();
        assert!(solution.len() >= 2, "{}: {solution:?}", task.key());
        assert!(
            solution.iter().all(|step| step.len() > 4),
            "{}: {solution:?}",
            task.key()
        );
        let last = solution.last().unwrap();
        assert!(last.contains(&task.answer_words()), "{last}");
        assert!(!last.contains("NaN") && !last.contains('–'), "{last}");
        if task.asks().has_options() {
            let letters: String = task
                .answer_words()
                .split(", ")
                .filter_map(|word| word.split(" (").next())
                .collect();
            assert!(
                verdict(task, &letters).is_right(),
                "{} {letters}",
                task.key()
            );
        } else if task.asks().is_claim() {
            let words = task.answer_words();
            assert!(verdict(task, &words).is_right(), "{} {words}", task.key());
        }
    }
}

#[test]
fn every_task_names_a_page_of_the_book_and_an_objective() {
    let text = jigwise_tests::workspace::root().join("book/text");
    for task in catalogue().tasks() {
        let page = text.join(task.chapter());
        assert!(page.is_file(), "{}: {}", task.key(), task.chapter());
        assert!(task.objective().ends_with('.'), "{}", task.key());
        assert!((1..=3).contains(&task.level()) && task.minutes() >= 2);
    }
}

#[test]
fn nothing_that_is_said_gives_the_answer_away() {
    for (task, right) in value_tasks() {
        let mut said = vec![task.prompt().to_owned(), task.form()];
        said.extend(task.hints().iter().cloned());
        for slip in Slip::ALL {
            if let Some(slipped) = task.slipped_value(slip) {
                said.push(verdict(task, &typed(task, slipped)).to_string());
            }
        }
        for part in [right.re, right.im] {
            if part == 0.0 {
                continue;
            }
            let digits = format!("{:.2e}", part.abs());
            let digits = digits.split('e').next().unwrap();
            for text in &said {
                assert!(!text.contains(digits), "{}: {text}", task.key());
            }
        }
    }
}
