use super::*;
use jigwise_bench::NamedInstrument;

fn scenario(device: &str) -> Scenario {
    Scenario {
        device: device.parse().unwrap(),
        instrument: NamedInstrument::preset("handheld"),
        ..Scenario::default()
    }
}

fn said(device: &str, cover: Cover, guess: Guess) -> Uncovered {
    uncover(&scenario(device), cover, guess).unwrap()
}

/// Design §4: on the handheld the value crossovers of a resistor are about 9.4 Ω and 265 Ω, the
/// change crossovers 14.43 Ω and 171.7 Ω.
#[test]
fn the_best_fixture_changes_at_the_crossovers() {
    let best = |device, fixture| said(device, Cover::BestFixture, Guess::Fixture(fixture));
    for (device, fixture) in [
        ("8", Fixture::ShuntThrough),
        ("11", Fixture::Reflect),
        ("240", Fixture::Reflect),
        ("300", Fixture::SeriesThrough),
    ] {
        for other in Fixture::ALL {
            assert_eq!(best(device, other).is_good, other == fixture, "{device}");
        }
    }
    let change = best("200", Fixture::SeriesThrough).to_string();
    assert!(change.contains("for a change"), "{change}");
    assert!(
        !best("200", Fixture::ShuntThrough)
            .to_string()
            .contains("for a change")
    );
}

/// 20·log10(100/4800) = −33.625 dB; half of it is 10 log; without its minus it is +33.6.
#[test]
fn a_level_names_its_slip() {
    let level = Cover::Reading(Fixture::SeriesThrough);
    let guess = |db| said("4.7k", level, Guess::Level(db));
    assert!(guess(-33.6).is_good && guess(-32.0).is_good);
    assert_eq!(guess(-16.8).slip, Some(Slip::TenLog));
    assert_eq!(guess(33.6).slip, Some(Slip::LevelSign));
    let reflect = 20.0 * (4650.0_f64 / 4750.0).log10();
    assert_eq!(
        guess(reflect).slip,
        Some(Slip::OtherFixture(Fixture::Reflect))
    );
    let missed = guess(-40.0);
    assert!(missed.to_string().contains("too low"), "{missed}");
    assert_eq!(missed.slip, None);
}

#[test]
fn a_bar_is_tapped_or_typed() {
    let bar = Cover::Bar(Fixture::SeriesThrough);
    let right = {
        let bench = Bench::new(&scenario("4.7k")).unwrap();
        share_of(&bench.modulus_intervals()[2].unwrap(), 4_700.0)
    };
    let tap = |ohm| said("4.7k", bar, Guess::BarEnd(ohm));
    assert!(tap(4_700.0 * (1.0 + right)).is_good);
    assert!(tap(4_700.0 / (1.0 + right)).is_good);
    assert_eq!(
        tap(4_700.0 * (1.0 + right / 1.96)).slip,
        Some(Slip::StandardGiven)
    );
    let wide = said("4.7k", bar, Guess::BarWidth(1.25));
    assert!(wide.to_string().contains("wider"), "{wide}");
    assert_eq!(Guess::read(bar, "± 8 %"), Ok(Guess::BarWidth(0.08)));
    assert_eq!(Guess::read(bar, "5.1k"), Ok(Guess::BarEnd(5_100.0)));
    assert!(Guess::read(bar, "many").is_err());
    assert!(Guess::read(Cover::BestFixture, "3").is_err());
}

#[test]
fn a_verdict_is_seen_or_not() {
    let sees = |fixture, sees| said("4.7k", Cover::Verdict(fixture), Guess::Sees(sees));
    assert!(sees(Fixture::SeriesThrough, true).is_good);
    assert!(!sees(Fixture::ShuntThrough, true).is_good);
}

#[test]
fn what_is_not_there_is_said() {
    let open = scenario("open");
    let error = uncover(
        &open,
        Cover::Reading(Fixture::SeriesThrough),
        Guess::Level(0.0),
    );
    assert!(
        error
            .unwrap_err()
            .to_string()
            .contains("choose another part")
    );
    let form = uncover(&open, Cover::BestFixture, Guess::Level(0.0));
    assert!(form.unwrap_err().to_string().contains("choose a fixture"));
}
