//! `card`: the three fixtures side by side, for one page to print.

use jigwise_bench::words::{fixture_connection, fixture_title};
use jigwise_bench::{Complex64, Fixture, Immittance, ReferenceImpedance, engineering, fixed};
use jigwise_quantity::significant;
use maud::{Markup, html};

use crate::block::{Block, BlockError};
use crate::figure;
use crate::formula::inline_formula;
use crate::markup::row_of;
use maud::PreEscaped;

const Z0: ReferenceImpedance = ReferenceImpedance::FIFTY_OHM;

/// The reading, the way back, and a sum that needs no known part.
const FORMULAS: [[&str; 3]; 3] = [
    [
        "S_{11} = \\frac{Z - Z_0}{Z + Z_0}",
        "Z = Z_0\\frac{1 + S_{11}}{1 - S_{11}}",
        "\\lvert S_{11}\\rvert \\le 1",
    ],
    [
        "S_{21} = \\frac{2Z}{2Z + Z_0}",
        "Z = \\frac{Z_0}{2}\\frac{S_{21}}{1 - S_{21}}",
        "S_{21} - S_{11} = 1",
    ],
    [
        "S_{21} = \\frac{2Z_0}{Z + 2Z_0}",
        "Z = 2Z_0\\frac{1 - S_{21}}{S_{21}}",
        "S_{21} + S_{11} = 1",
    ],
];
/// Parts that everybody has at hand.
const KNOWN: [f64; 3] = [10.0, 100.0, 1e3];

pub(crate) fn card(block: &Block<'_>) -> Result<Markup, BlockError> {
    block.no_words("expected card and nothing more")?;
    let formulas = |index: usize| -> Result<Markup, BlockError> {
        let mut cells = Vec::new();
        for of_fixture in FORMULAS {
            let set =
                inline_formula(of_fixture[index]).map_err(|error| block.error(error.message))?;
            cells.push(set);
        }
        Ok(html! { @for cell in &cells { td { (PreEscaped(cell)) } } })
    };
    let known = known(block)?;
    let at_least = least_sensitive(block)?;
    let caption = format!(
        "The three fixtures on a reference of {}; levels of perfect resistors",
        engineering(Z0.ohm(), "Ω", 2)
    );
    Ok(html! {
        div.jw-table.jw-card tabindex="0" role="group" aria-label=(caption) {
            table {
                caption { (caption) }
                thead { tr { td {} @for fixture in Fixture::ALL { th scope="col" { (fixture_title(fixture)) } } } }
                tbody {
                    (row_of("The part sits", html! {
                        @for fixture in Fixture::ALL {
                            td {
                                (fixture_connection(fixture))
                                (figure::drawing_of(fixture, &format!("{}-{}", block.id, fixture as usize)))
                            }
                        }
                    }))
                    (row_of("Reading", formulas(0)?))
                    (row_of("Ohms", formulas(1)?))
                    (row_of("Has to hold", formulas(2)?))
                    (row_of("Smallest K at", html! { @for cell in &at_least { td { (cell) } } }))
                    @for row in &known { (row) }
                }
            }
        }
    })
}

fn reading(fixture: Fixture, part: Immittance) -> String {
    match fixture.reading(part, Z0).value() {
        Some(s) if s.norm() > 0.0 => format!(
            "{} ({}\u{202f}dB)",
            significant(s.re, 3).replace('-', "−"),
            fixed(20.0 * s.norm().log10() + 0.0, 2)
        ),
        _ => "0".to_owned(),
    }
}

fn resistor(block: &Block<'_>, ohm: f64) -> Result<Immittance, BlockError> {
    Immittance::from_impedance(Complex64::new(ohm, 0.0)).map_err(|error| block.error(error))
}

/// What open, short and some resistors read.
fn known(block: &Block<'_>) -> Result<Vec<Markup>, BlockError> {
    let reads = |name: &str, part: Immittance| {
        row_of(
            name,
            html! { @for fixture in Fixture::ALL { td { (reading(fixture, part)) } } },
        )
    };
    let mut known = vec![
        reads("An open reads", Immittance::OPEN),
        reads("A short reads", Immittance::SHORT),
    ];
    for ohm in [Z0.ohm()].into_iter().chain(KNOWN) {
        let name = format!("{} reads", engineering(ohm, "Ω", 2));
        known.push(reads(&name, resistor(block, ohm)?));
    }
    Ok(known)
}

/// Where an error of the reading comes back least often: at the reference, half and twice of it.
fn least_sensitive(block: &Block<'_>) -> Result<Vec<String>, BlockError> {
    let least = [1.0, 0.5, 2.0].map(|share| share * Z0.ohm());
    let mut found = Vec::new();
    for (fixture, ohm) in Fixture::ALL.into_iter().zip(least) {
        let k = fixture.relative_sensitivity(resistor(block, ohm)?, Z0);
        found.push(format!(
            "{} (K = {})",
            engineering(ohm, "Ω", 2),
            significant(k, 1)
        ));
    }
    Ok(found)
}
