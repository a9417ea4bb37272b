//! The fixtures' colours: contrast, and apart for every kind of colour vision.
//!
//! Sources: contrast ratio and its limits (3:1 for graphics, 4.5:1 for text) are those of the
//! Web Content Accessibility Guidelines 2.2, criteria 1.4.11 and 1.4.3. The simulation of
//! colour-blind vision is that of Machado, Oliveira and Fernandes, IEEE Transactions on
//! Visualization and Computer Graphics 15(6), 2009, at full severity; its matrices are from
//! memory. Distances are CIE 1976 in CIELAB; a distance of 2.3 is just noticeable (common
//! practice), and eight times that is asked for here.

use jigwise_bench::Fixture;
use jigwise_bench::scene::{Palette, Rgb};

const THEMES: [(&str, Palette); 3] = [
    ("light", Palette::LIGHT),
    ("dark", Palette::DARK),
    ("hall", Palette::HALL),
];

const VISION: [(&str, [[f64; 3]; 3]); 4] = [
    ("full", [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]]),
    (
        "protan",
        [
            [0.152286, 1.052583, -0.204868],
            [0.114503, 0.786281, 0.099216],
            [-0.003882, -0.048116, 1.051998],
        ],
    ),
    (
        "deutan",
        [
            [0.367322, 0.860646, -0.227968],
            [0.280085, 0.672501, 0.047413],
            [-0.011820, 0.042940, 0.968881],
        ],
    ),
    (
        "tritan",
        [
            [1.255528, -0.076749, -0.178779],
            [-0.078411, 0.930809, 0.147602],
            [0.004733, 0.691367, 0.303900],
        ],
    ),
];

const JUST_NOTICEABLE: f64 = 2.3;
const APART: f64 = 8.0 * JUST_NOTICEABLE;

fn linear(Rgb(rgb): Rgb) -> [f64; 3] {
    rgb.map(|byte| {
        let share = f64::from(byte) / 255.0;
        if share <= 0.04045 {
            share / 12.92
        } else {
            ((share + 0.055) / 1.055).powf(2.4)
        }
    })
}

fn times(matrix: [[f64; 3]; 3], [x, y, z]: [f64; 3]) -> [f64; 3] {
    matrix.map(|[a, b, c]| a * x + b * y + c * z)
}

fn luminance(color: Rgb) -> f64 {
    let [r, g, b] = linear(color);
    0.2126 * r + 0.7152 * g + 0.0722 * b
}

fn contrast(one: Rgb, other: Rgb) -> f64 {
    let (a, b) = (luminance(one), luminance(other));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

/// CIELAB of linear sRGB for the D65 white (IEC 61966-2-1 primaries).
fn lab(rgb: [f64; 3]) -> [f64; 3] {
    const TO_XYZ: [[f64; 3]; 3] = [
        [0.4124, 0.3576, 0.1805],
        [0.2126, 0.7152, 0.0722],
        [0.0193, 0.1192, 0.9505],
    ];
    const WHITE: [f64; 3] = [0.9505, 1.0, 1.089];
    let xyz = times(TO_XYZ, rgb.map(|part| part.clamp(0.0, 1.0)));
    let f = |k: usize| {
        let share = xyz[k] / WHITE[k];
        if share > 216.0 / 24389.0 {
            share.cbrt()
        } else {
            (24389.0 / 27.0 * share + 16.0) / 116.0
        }
    };
    let (x, y, z) = (f(0), f(1), f(2));
    [116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)]
}

fn distance(one: [f64; 3], other: [f64; 3]) -> f64 {
    one.iter()
        .zip(other)
        .map(|(a, b)| (a - b).powi(2))
        .sum::<f64>()
        .sqrt()
}

#[test]
fn the_contrast_formula_knows_black_and_white() {
    let ratio = contrast(Rgb([0; 3]), Rgb([255; 3]));
    assert!((ratio - 21.0).abs() < 1e-12);
}

#[test]
fn writing_has_the_contrast_of_writing() {
    for (theme, palette) in THEMES {
        for ground in [palette.paper, palette.ground] {
            for (name, ink) in [("text", palette.text), ("faint", palette.faint)] {
                let ratio = contrast(ink, ground);
                assert!(ratio >= 4.5, "{theme}: {name} {ratio:.2}:1");
            }
            // Fixtures' names are written in their colours.
            for fixture in Fixture::ALL {
                let ratio = contrast(palette.fixture(fixture), ground);
                assert!(ratio >= 4.5, "{theme}: {fixture:?} {ratio:.2}:1");
            }
            let ratio = contrast(palette.device, ground);
            assert!(ratio >= 3.0, "{theme}: device {ratio:.2}:1");
        }
    }
}

#[test]
fn fixtures_stay_apart_for_every_kind_of_vision() {
    for (theme, palette) in THEMES {
        for (vision, matrix) in VISION {
            let seen = |fixture| lab(times(matrix, linear(palette.fixture(fixture))));
            for (k, one) in Fixture::ALL.into_iter().enumerate() {
                for other in Fixture::ALL.into_iter().skip(k + 1) {
                    let apart = distance(seen(one), seen(other));
                    assert!(
                        apart >= APART,
                        "{theme}, {vision}: {one:?} and {other:?} {apart:.1} apart"
                    );
                }
            }
        }
    }
}

#[test]
fn colours_are_the_ones_agreed() {
    let hex = |palette: Palette| palette.fixtures.map(Rgb::hex);
    assert_eq!(hex(Palette::LIGHT), ["#7b3294", "#a65e00", "#00795a"]);
    assert_eq!(hex(Palette::DARK), ["#c08ad6", "#e69f00", "#2bc49a"]);
}
