//! A scenario that changes takes text, figure and answer with it.

use jigwise_bench::Scenario;
use jigwise_bench::quotes::Quote;
use jigwise_page::{Block, NoMeasurements, html};

fn scenario_of(ohm: &str) -> String {
    format!(
        "version = 1\ntitle = \"A resistor\"\n[device]\nkind = \"resistor\"\nresistance = \"{ohm}\"\n\
         [at]\nfrequency = \"7.1 MHz\"\n"
    )
}

struct Seen {
    given: String,
    figure: String,
    result: String,
    quoted: String,
}

fn seen(ohm: &str) -> Seen {
    let body = scenario_of(ohm);
    let block = Block::new("worked series-through", &body, "id", &NoMeasurements);
    let page = html(&block).unwrap_or_else(|error| panic!("{ohm}: {error}"));
    let after = |label: &str| {
        let rest = page.split(label).nth(1);
        let rest = rest.unwrap_or_else(|| panic!("no {label}: {page}"));
        rest.split("</p>").next().unwrap_or_default().to_owned()
    };
    let scenario = Scenario::from_toml(&body, "test").expect("a scenario");
    let quote: Quote = "series-through.level 3".parse().expect("a key");
    Seen {
        given: after("Given.</strong>"),
        result: after("Result.</strong>"),
        figure: page.rsplit("<svg").next().unwrap_or_default().to_owned(),
        quoted: quote.of(&scenario).expect("a level"),
    }
}

/// By hand: S21 of 100 Ω between two ports of 50 Ω is 100/200, −6.021 dB; of 300 Ω it is 100/400,
/// −12.041 dB. On the chart Γ moves from 1/3 to 5/7.
#[test]
fn text_figure_and_answer_change_together() {
    let (before, after) = (seen("100"), seen("300"));
    for (seen, level, ohm) in [
        (&before, "−6.021\u{202f}dB", "100"),
        (&after, "−12.041\u{202f}dB", "300"),
    ] {
        assert_eq!(seen.quoted, level);
        assert!(seen.given.contains(level), "{}", seen.given);
        assert!(seen.result.contains(ohm), "{}", seen.result);
    }
    assert_ne!(before.figure, after.figure);
    assert!(after.figure.contains("0.714"), "{}", after.figure);
}
