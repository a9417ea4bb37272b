//! Published values that the chapters on arithmetic, uncertainty and borders show, computed by the
//! book and held against their sources.

use jigwise_tests::pressed_book::text_of;

#[track_caller]
fn says(page: &str, words: &[&str]) {
    let text = text_of(page);
    for words in words {
        assert!(text.contains(words), "{page} lacks \"{words}\": {text}");
    }
}

/// JCGM 100:2008, annex H.2: printed R 127.732 u 0.071, X 219.847 u 0.295, r −0.588. u(X) is 0.2956
/// by the means and 0.2955 by five impedances; without correlation u is 0.1945 and 0.2009.
#[test]
fn the_guide_s_simultaneous_resistance_and_reactance() {
    says(
        "doubt/gum.html",
        &[
            "Means first, with their correlation 127.732 0.071 219.847 0.296 −0.588",
            "One Z for each set, then the mean 127.732 0.071 219.847 0.295 −0.588",
            "correlation left out: wrong 127.732 0.195 219.847 0.201",
            "Mean 4.9990 19.6610 1.04446",
            "u of the mean 0.0032 0.0095 0.00075",
        ],
    );
}

/// JCGM 101:2008, 9.4, in millionths. First-order: 0; 100, −96 to 296; 2500, 1520 to 3480. Exact mean
/// x² + 2u². Exact shortest intervals, by scipy: 0 to 149.8; 0 to 366.0; 1593.6 to 3548.6.
#[test]
fn the_guide_s_power_loss() {
    let text = text_of("doubt/dice.html");
    for (row, exact, within) in [
        ("0 0 0 to 0 50 ", [0.0, 149.8], 3.0),
        ("0.01 100 −96 to 296 150 ", [0.0, 366.0], 6.0),
        // The density is flat at its ends, so a run of dice wanders far along it.
        ("0.05 2500 1520 to 3480 2550 ", [1593.6, 3548.6], 40.0),
    ] {
        let rest = text.split(row).nth(1);
        let rest = rest.unwrap_or_else(|| panic!("no row {row}: {text}"));
        let mut ends = rest.split(' ').filter_map(|word| word.parse::<f64>().ok());
        for exact in exact {
            let end = ends.next().unwrap();
            assert!((end - exact).abs() < within, "{row}: {end} for {exact}");
        }
    }
}

/// The exact disc of a circular scatter: centre A + B·t0/(t0² − ρ²), radius B·ρ/(t0² − ρ²) with
/// ρ = 2.44775 σ; for 950 Ω and σ = 0.02, t0 = 0.1, B = 100 Ω, A = −50 Ω by hand.
#[test]
fn the_region_near_an_open() {
    let rho: f64 = 2.447_746_8 * 0.02;
    let below = 0.1 * 0.1 - rho * rho;
    let (centre, radius) = (-50.0 + 100.0 * 0.1 / below, 100.0 * rho / below);
    assert!((centre - radius - 621.3).abs() < 0.5 && (centre + radius - 1908.5).abs() < 1.5);
    says(
        "doubt/open.html",
        &["950 Ω 5.00 σ 950 Ω ± 400 Ω 0.62 to 1.9 kΩ", "above 1.3 kΩ"],
    );
}

/// Borders of unequal errors, from z = [(k − 1) + √((k − 1)² + 16k)]/4 and z = (2√k − 1)/(2 − √k);
/// strays from √(L/C).
#[test]
fn what_moves_the_middle_border() {
    let border = |z: f64| format!("{:.1} Ω", 50.0 * z);
    let relative = |k: f64| ((k - 1.0) + ((k - 1.0).powi(2) + 16.0 * k).sqrt()) / 4.0;
    let absolute = |k: f64| (2.0 * k.sqrt() - 1.0) / (2.0 - k.sqrt());
    for k in [0.5, 0.8, 1.25] {
        let row = format!("{k} {} {}", border(relative(k)), border(absolute(k)));
        says("borders/move.html", &[&row]);
    }
    let largest = format!("4 {:.0} Ω none", 50.0 * relative(4.0));
    says(
        "borders/move.html",
        &[&largest, "1.0 nH 100 fF 100 Ω", "300 pH 50 fF 77.5 Ω"],
    );
}

/// K = |z + 1|²/(2|z|) and its sisters at the borders of equal relative errors, SWR 1 + √6 and x = √5,
/// where K·|S| ties.
#[test]
fn two_fixtures_tie_where_the_derivation_says() {
    for (page, part, ties) in [
        (
            "borders/equal.html",
            "172.474 Ω 2.870 9.044 4.305",
            "1.580 7.899 1.580",
        ),
        (
            "borders/equal.html",
            "14.495 Ω 2.870 4.305 9.044",
            "1.580 1.580 7.899",
        ),
        (
            "borders/parts.html",
            "j22.36 Ω 1.342 2.012 4.696",
            "1.342 1.342",
        ),
    ] {
        says(page, &[&format!("{part} {ties}")]);
    }
}

/// |Γ| = (s − 1)/(s + 1), return loss −20 log|Γ|; handbooks of radio.
#[test]
fn standing_wave_ratios() {
    says(
        "sums/resonance.html",
        &[
            "2 0.3333 9.54 dB 88.9 % 25.00 Ω 100.0 Ω",
            "1.5 0.2000 13.98 dB 96.0 % 33.33 Ω 75.00 Ω",
            // 1/(2π·√(10 µH·2 pF)).
            "35.59 MHz",
        ],
    );
}

/// Two independent results: 1/u² weights. 4.71 ± 0.02 and 4.92 ± 0.03 differ by 5.8 times √(u₁² + u₂²),
/// and χ² of one difference is its square.
#[test]
fn a_contradiction_is_refused() {
    let ratio: f64 = 0.21 / (0.02_f64.powi(2) + 0.03_f64.powi(2)).sqrt();
    let chi_square = format!("{:.1}, with 1 degree of freedom", ratio * ratio);
    says("two/refuse.html", &[&chi_square, "refuse the average"]);
    says(
        "two/compare.html",
        &["one can expect from their uncertainties: average."],
    );
}

/// Every chapter that is learnt from has its objectives, and the first path is about an hour and a
/// half.
#[test]
fn the_first_path_takes_about_ninety_minutes() {
    let text = text_of("use.html");
    let minutes: u32 = text
        .split("These take about ")
        .nth(1)
        .and_then(|rest| rest.split([',', ' ']).next()?.parse().ok())
        .unwrap_or_else(|| panic!("no minutes: {text}"));
    assert!((75..=100).contains(&minutes), "{minutes}");
    says("question.html", &["First path, page 1 of"]);
    says(
        "reflect/circuit.html",
        &["After this chapter you can", "pages and takes about"],
    );
}
