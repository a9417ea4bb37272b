//! A thousand rounds of each sort, played by a careful player and by three who are not.
//!
//! A player has what a learner has: the round's own words, readings as the display shows them, and
//! the analyzer's budget for a part that it thinks it has. Formulas are worked out here from the
//! circuits (references §1.4), not taken from the code under test.
//!
//! 926 of 1000: a binomial count with p = 0.95 lies below that with a chance of 4e-4.

use jigwise_bench::{Bench, Complex64, Fixture, Immittance};
use jigwise_exercises::Slip;
use jigwise_exercises::round::{CALIBRATION_COST, Code, Graded, Purchase, Round, Sort, Subject};

const ROUNDS: u64 = 1_000;
const PASSED: usize = 926;
/// Any other would do; it is fixed so that a red run is red again.
const FIRST_SEED: u64 = 0x51_7a3c_0000;
const Z0: f64 = 50.0;
const HALF_OF_95: f64 = 1.959_963_984_540_054;

/// Voltage divider and reflection solved for Z: references §1.4.
fn ohms(fixture: Fixture, s: Complex64) -> Complex64 {
    let z = match fixture {
        Fixture::Reflect => Z0 * (1.0 + s) / (1.0 - s),
        Fixture::ShuntThrough => 0.5 * Z0 * s / (1.0 - s),
        Fixture::SeriesThrough => 2.0 * Z0 * (1.0 - s) / s,
    };
    // The display may show what an open shows.
    if z.is_finite() {
        z
    } else {
        Complex64::from(1e6)
    }
}

/// The fixture taken off, by Kirchhoff: a gap lies across the part, a way to ground in series, and
/// reflect has both.
fn without(fixture: Fixture, z: Complex64, blank: &[Complex64]) -> Complex64 {
    match (fixture, blank) {
        (Fixture::SeriesThrough, [empty]) => (z.inv() - empty.inv()).inv(),
        (Fixture::ShuntThrough, [shorted]) => z - shorted,
        (Fixture::Reflect, [empty, shorted]) => {
            ((z - shorted).inv() - (empty - shorted).inv()).inv()
        }
        _ => z,
    }
}

struct Player {
    round: Round,
    is_careful: bool,
}

/// The value found, its ± by the analyzer's budget, and how it was found.
struct Found {
    value: f64,
    half_width: f64,
    unit: &'static str,
}

impl Player {
    fn new(sort: Sort, number: u64) -> Self {
        let code = Code::new(sort, FIRST_SEED + number);
        Self {
            round: Round::new(code).unwrap(),
            is_careful: true,
        }
    }

    fn sort(&self) -> Sort {
        self.round.code().sort()
    }

    fn read(
        &mut self,
        subject: Subject,
        fixture: Fixture,
        freq_hz: f64,
        averages: u32,
    ) -> Vec<Complex64> {
        let purchase = Purchase {
            subject,
            fixture,
            freq_hz,
            averages,
        };
        let bought = self.round.buy(purchase).unwrap();
        bought.shown.iter().map(|shown| shown.reading()).collect()
    }

    fn bench(&self, z: Complex64, freq_hz: f64, averages: u32) -> Bench {
        let mut scenario = self.round.bench_for(Immittance::from_impedance(z).unwrap());
        scenario.freq_hz = Some(freq_hz);
        scenario.instrument = Some(self.round.instrument().with_averages(averages));
        Bench::new(&scenario).unwrap()
    }

    /// R, C or L, as the sort asks.
    fn value(&self, z: Complex64, freq_hz: f64) -> (f64, f64, &'static str) {
        let omega = std::f64::consts::TAU * freq_hz;
        match self.sort() {
            Sort::Resistor | Sort::Borrowed | Sort::Crystal => (z.re, 1.0, "ohm"),
            Sort::Capacitor => {
                let farad = -1.0 / (omega * z.im);
                (farad, farad / z.im, "F")
            }
            Sort::Coil => (z.im / omega, 1.0 / omega, "H"),
        }
    }

    /// Reads the known part, and calibrates again where it comes out wrong.
    fn check(&mut self, freq_hz: f64) {
        if !matches!(self.sort(), Sort::Borrowed | Sort::Crystal) {
            return;
        }
        let known = self.read(Subject::Known, Fixture::Reflect, freq_hz, 1)[0];
        let came_out = ohms(Fixture::Reflect, known);
        // Strays are within a few percent here, wrong standards are not.
        if (came_out.re / 100.0 - 1.0).abs() > 0.08 {
            self.round.calibrate().unwrap();
        }
    }

    /// By how much each fixture would be off at the part, as the analyzer's budget has it.
    fn by_doubt(&self, z: Complex64, at: &[f64]) -> Vec<(f64, Fixture, f64)> {
        let mut all = Vec::new();
        for freq_hz in at {
            // A first look says what the part is at another frequency too.
            let z = self.moved(z, at[0], *freq_hz);
            let bench = self.bench(z, *freq_hz, 16);
            for fixture in Fixture::ALL {
                let ohms = bench
                    .budget()
                    .unwrap()
                    .impedance_covariance(fixture, bench.device());
                let Some(ohms) = ohms else { continue };
                let (value, slope, _) = self.value(z, *freq_hz);
                let u = match self.sort() {
                    Sort::Capacitor | Sort::Coil => ohms.im.sqrt(),
                    _ => ohms.re.sqrt(),
                };
                all.push(((u * slope / value).abs(), fixture, *freq_hz));
            }
        }
        all.sort_by(|a, b| a.0.total_cmp(&b.0));
        all
    }

    fn moved(&self, z: Complex64, from_hz: f64, to_hz: f64) -> Complex64 {
        match self.sort() {
            Sort::Capacitor => Complex64::new(z.re, z.im * from_hz / to_hz),
            Sort::Coil => Complex64::new(z.re, z.im * to_hz / from_hz),
            _ => z,
        }
    }

    /// What is found in one fixture at one frequency.
    fn found(&mut self, fixture: Fixture, freq_hz: f64) -> (Found, Complex64) {
        let averages = if self.is_careful { 16 } else { 1 };
        let reading = self.read(Subject::Part, fixture, freq_hz, averages)[0];
        let blank: Vec<Complex64> = match self.sort().has_strays() {
            true => {
                let read = self.read(Subject::Blank, fixture, freq_hz, 1);
                read.into_iter().map(|s| ohms(fixture, s)).collect()
            }
            false => Vec::new(),
        };
        let z = without(fixture, ohms(fixture, reading), &blank);
        let bench = self.bench(z, freq_hz, averages);
        let covariance = bench
            .budget()
            .unwrap()
            .impedance_covariance(fixture, bench.device());
        let (value, slope, unit) = self.value(z, freq_hz);
        let u = covariance.map_or(f64::INFINITY, |ohms| match self.sort() {
            Sort::Capacitor | Sort::Coil => ohms.im.sqrt(),
            _ => ohms.re.sqrt(),
        });
        let half_width = HALF_OF_95 * u * slope.abs();
        (
            Found {
                value,
                half_width,
                unit,
            },
            reading,
        )
    }

    /// The careful way: check, look, choose, read.
    fn plays(mut self) -> (Self, Found, Fixture, f64, Complex64) {
        let asked = self.round.asked_hz();
        let at: Vec<f64> = match asked {
            Some(asked) => vec![asked],
            None => {
                // The middle one first, where the first look is taken.
                let offered = self.round.freq_hz();
                vec![offered[1], offered[0], offered[2]]
            }
        };
        self.check(at[0]);
        let look = self.read(Subject::Part, Fixture::Reflect, at[0], 1)[0];
        let first = ohms(Fixture::Reflect, look);
        let (_, fixture, freq_hz) = self.by_doubt(first, &at)[0];
        let (mut found, mut reading) = self.found(fixture, freq_hz);
        let mut chosen = (fixture, freq_hz);
        // The first look may be far off: with what is known now the choice is made again.
        let z = ohms(fixture, reading);
        let here = self.moved(z, freq_hz, at[0]);
        let (_, other, other_hz) = self.by_doubt(here, &at)[0];
        let cost = if other == Fixture::Reflect { 5 } else { 4 };
        if (other, other_hz) != chosen && self.round.left() >= cost {
            (found, reading) = self.found(other, other_hz);
            chosen = (other, other_hz);
        }
        (self, found, chosen.0, chosen.1, reading)
    }
}

fn claim(found: &Found, times: f64) -> String {
    let Found {
        value,
        half_width,
        unit,
    } = found;
    // Wider than half of the value is no value.
    if *half_width > 0.5 * value.abs() && times == 1.0 {
        return "can't be told".to_owned();
    }
    format!("{value:e} {unit} ± {:e} {unit}", half_width * times)
}

fn graded(mut round: Round, answer: &str) -> Graded {
    round
        .answer(answer)
        .unwrap_or_else(|error| panic!("{answer}: {error}"))
}

#[test]
fn a_careful_player_passes() {
    for sort in Sort::ALL {
        let mut passed = 0;
        let mut told = std::collections::BTreeMap::<String, u32>::new();
        for number in 0..ROUNDS {
            let (player, found, ..) = Player::new(sort, number).plays();
            let graded = graded(player.round, &claim(&found, 1.0));
            passed += usize::from(graded.is_right());
            if !graded.is_right() {
                let how = format!("{:?} {:?}", graded.judged.outcome, graded.slip);
                *told.entry(how).or_default() += 1;
            }
        }
        assert!(passed >= PASSED, "{sort:?}: {passed} of {ROUNDS}, {told:?}");
    }
}

#[test]
fn six_times_too_little_or_too_much_fails() {
    for sort in Sort::ALL {
        for times in [1.0 / 6.0, 6.0] {
            let mut failed = 0;
            for number in 0..ROUNDS {
                let (player, found, ..) = Player::new(sort, number).plays();
                let graded = graded(player.round, &claim(&found, times));
                failed += usize::from(!graded.is_right());
            }
            assert!(
                failed >= 990,
                "{sort:?}, {times} times: {failed} of {ROUNDS} fail"
            );
        }
    }
}

/// The formula of another fixture is named, or its value is told to lie outside.
#[test]
fn another_fixtures_formula_is_named() {
    for sort in Sort::ALL {
        let (mut named, mut passed) = (0, 0);
        for number in 0..ROUNDS {
            let (player, found, fixture, freq_hz, reading) = Player::new(sort, number).plays();
            let other = Fixture::ALL[(fixture as usize + 1 + number as usize % 2) % 3];
            let z = ohms(other, reading);
            let (value, _, unit) = player.value(z, freq_hz);
            let half_width = found.half_width / found.value.abs() * value.abs();
            let slipped = Found {
                value,
                half_width,
                unit,
            };
            let graded = graded(player.round, &claim(&slipped, 1.0));
            named += usize::from(graded.slip == Some(Slip::OtherFixture(other)));
            passed += usize::from(graded.is_right());
        }
        assert!(passed <= 10, "{sort:?}: {passed} of {ROUNDS} pass");
        assert!(
            named + passed >= 990,
            "{sort:?}: {named} of {ROUNDS} are named"
        );
    }
}

/// Who reads the part in the fixture that knows it least, and says honestly how little it is, is
/// told of the one that knows it.
#[test]
fn the_wrong_fixture_is_told_of() {
    let mut told = 0;
    let mut count = 0;
    for number in 0..ROUNDS {
        let mut player = Player::new(Sort::Resistor, number);
        let at = player.round.freq_hz()[1];
        let look = player.read(Subject::Known, Fixture::Reflect, at, 1)[0];
        assert!((ohms(Fixture::Reflect, look).re / 100.0 - 1.0).abs() < 0.2);
        let part = player
            .round
            .clone()
            .buy(Purchase {
                subject: Subject::Part,
                fixture: Fixture::SeriesThrough,
                freq_hz: at,
                averages: 64,
            })
            .unwrap()
            .shown[0]
            .reading();
        let z = ohms(Fixture::SeriesThrough, part);
        // A part far from where the middle of the rule is.
        let wrong = match z.norm() {
            small if small < 8.0 => Fixture::SeriesThrough,
            large if large > 600.0 => Fixture::ShuntThrough,
            _ => continue,
        };
        count += 1;
        let (found, _) = player.found(wrong, at);
        let graded = graded(player.round, &claim(&found, 1.0));
        told += usize::from(graded.better.is_some_and(|(better, _)| better != wrong));
    }
    assert!(count > 200);
    assert!(told as f64 >= 0.99 * count as f64, "{told} of {count}");
}

/// Without a check a botched calibration gives a wrong value, and the answer says why.
#[test]
fn who_does_not_check_a_calibration_is_told() {
    let (mut failed, mut told) = (0, 0);
    for number in 0..ROUNDS {
        let mut player = Player::new(Sort::Crystal, number);
        let at = player.round.asked_hz().unwrap();
        let (found, _) = player.found(Fixture::Reflect, at);
        let graded = graded(player.round, &claim(&found, 1.0));
        failed += usize::from(!graded.is_right());
        told += usize::from(graded.known_came_out_ohm.is_some());
    }
    assert_eq!(failed, told);
    assert!(failed >= 800, "{failed}");
}

#[test]
fn a_round_is_the_same_again() {
    for sort in Sort::ALL {
        let (a, ..) = Player::new(sort, 5).plays();
        let (b, ..) = Player::new(sort, 5).plays();
        assert_eq!(a.round.bought(), b.round.bought());
        let (c, ..) = Player::new(sort, 6).plays();
        assert_ne!(a.round.bought(), c.round.bought());
    }
}

#[test]
fn what_can_not_be_done_gets_a_sentence() {
    let mut round = Round::new(Code::new(Sort::Crystal, 3)).unwrap();
    let purchase = Purchase {
        subject: Subject::Part,
        fixture: Fixture::Reflect,
        freq_hz: round.freq_hz()[0],
        averages: 64,
    };
    let said = |result: Result<(), String>| result.unwrap_err();
    let other = Purchase {
        freq_hz: 1.0,
        ..purchase
    };
    let error = said(round.buy(other).map(|_| ()).map_err(|e| e.to_string()));
    assert!(error.contains("choose one of"), "{error}");
    let other = Purchase {
        averages: 3,
        ..purchase
    };
    let error = said(round.buy(other).map(|_| ()).map_err(|e| e.to_string()));
    assert!(error.contains("1, 4, 16, 64"), "{error}");
    let before = round.left();
    for _ in 0..before / purchase.cost() {
        round.buy(purchase).unwrap();
    }
    let error = said(round.buy(purchase).map(|_| ()).map_err(|e| e.to_string()));
    assert!(error.contains("answer with what you have"), "{error}");
    // Read, but nowhere near the frequency that is asked about.
    let error = said(
        round
            .answer("50 ohm ± 2 %")
            .map(|_| ())
            .map_err(|e| e.to_string()),
    );
    assert!(error.contains("was not read at"), "{error}");
    let mut round = Round::new(Code::new(Sort::Resistor, 3)).unwrap();
    let error = said(round.answer("many").map(|_| ()).map_err(|e| e.to_string()));
    assert!(error.contains("many"), "{error}");
    round
        .buy(Purchase {
            freq_hz: round.freq_hz()[0],
            averages: 1,
            ..purchase
        })
        .unwrap();
    round.answer("can't be told").unwrap();
    let error = said(round.calibrate().map_err(|e| e.to_string()));
    assert!(error.contains("begin another one"), "{error}");
    assert!(CALIBRATION_COST < before);
}
