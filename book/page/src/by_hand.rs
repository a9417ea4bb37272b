//! `by-hand KIND`, then one sum a line: arithmetic with complex numbers and with repeated readings,
//! a step at a time, as a pocket calculator does it.

use std::f64::consts::TAU;

use jigwise_bench::{
    Complex64, Coverage, Unit, engineering, expected_one_of, parse_reading, parse_value,
    plain_complex,
};
use jigwise_quantity::{significant, unsigned_percent};
use maud::{Markup, html};

use crate::block::{Block, BlockError};
use crate::markup::{paragraph, text_steps, worked};

/// Significant digits of a step.
const DIGITS: usize = 4;
/// Between the numbers of a line.
const PARTED: char = ';';
/// Readings around their mean, in σ, that hold 95 %, for a circular scatter of many.
const WITHIN: f64 = 2.0;

type Steps = fn(&[&str]) -> Result<(String, Vec<String>), String>;

const KINDS: [(&str, Steps); 6] = [
    ("divide", divide),
    ("invert", invert),
    ("resonance", resonance),
    ("repeated", repeated),
    ("take-off", take_off),
    ("circle", circle),
];

/// One worked sum for each line of the body.
pub(crate) fn by_hand(block: &Block<'_>) -> Result<Markup, BlockError> {
    let kind = block.words.join(" ");
    let names = KINDS.map(|(name, _)| name);
    let Some((_, steps)) = KINDS.iter().find(|(name, _)| *name == kind) else {
        let expected = expected_one_of(&kind, &names);
        return Err(block.error(format!("\"{kind}\" is no sum, {expected}")));
    };
    let mut sums = Vec::new();
    for (index, line) in block.lines() {
        let numbers: Vec<&str> = line.split(PARTED).map(str::trim).collect();
        let sum = steps(&numbers).map_err(|message| block.body_error(index, message))?;
        sums.push(sum);
    }
    if sums.is_empty() {
        return Err(block.error("no sum to work; write its numbers, one sum a line"));
    }
    Ok(html! {
        @for (given, steps) in &sums {
            (worked(&format!("By hand: {given}"), html! {
                (paragraph("Given", given))
                (text_steps(steps))
            }))
        }
    })
}

fn complex(text: &str) -> Result<Complex64, String> {
    parse_reading(text).map_err(|error| error.to_string())
}

fn two<'a>(numbers: &[&'a str], what: &str) -> Result<[&'a str; 2], String> {
    <[&str; 2]>::try_from(numbers).map_err(|_| format!("expected {what}, parted by {PARTED}"))
}

fn shown(value: f64) -> String {
    significant(value, DIGITS).replace('-', "−")
}

fn complex_shown(value: Complex64) -> String {
    match (value.re == 0.0, value.im == 0.0) {
        (_, true) => shown(value.re),
        (true, false) => {
            let sign = if value.im < 0.0 { "−" } else { "" };
            format!("{sign}j{}", shown(value.im.abs()))
        }
        _ => plain_complex(value, DIGITS),
    }
}

/// a/b = a·b*/|b|².
fn divide(numbers: &[&str]) -> Result<(String, Vec<String>), String> {
    let [above, below] = two(numbers, "two complex numbers")?;
    let (a, b) = (complex(above)?, complex(below)?);
    let square = b.norm_sqr();
    if square == 0.0 {
        return Err("the lower number is zero; nothing can be divided by it".to_owned());
    }
    let product = a * b.conj();
    let result = a / b;
    Ok((
        format!("({}) / ({})", complex_shown(a), complex_shown(b)),
        vec![
            format!(
                "Turn the sign of the lower j: {}. Multiply above and below by this number.",
                complex_shown(b.conj())
            ),
            format!(
                "Below, the j cancels: {}² + {}² = {}.",
                shown(b.re.abs()),
                shown(b.im.abs()),
                shown(square)
            ),
            format!(
                "Above, four products, and j·j = −1: real part {} × {} + {} × {} = {}.",
                in_brackets(a.re),
                in_brackets(b.re),
                in_brackets(a.im),
                in_brackets(b.im),
                shown(product.re)
            ),
            format!(
                "Imaginary part {} × {} − {} × {} = {}.",
                in_brackets(a.im),
                in_brackets(b.re),
                in_brackets(a.re),
                in_brackets(b.im),
                shown(product.im)
            ),
            format!(
                "Divide both by {}: the result is {}.",
                shown(square),
                complex_shown(result)
            ),
        ],
    ))
}

fn in_brackets(value: f64) -> String {
    match value < 0.0 {
        true => format!("({})", shown(value)),
        false => shown(value),
    }
}

/// Y = 1/Z = (R − jX)/(R² + X²).
fn invert(numbers: &[&str]) -> Result<(String, Vec<String>), String> {
    let [text] = numbers else {
        return Err("expected one impedance, as in 30 + j40".to_owned());
    };
    let z = complex(text)?;
    let square = z.norm_sqr();
    if square == 0.0 {
        return Err("a short has no admittance; write another impedance".to_owned());
    }
    let y = z.inv();
    Ok((
        format!("Z = {}\u{202f}Ω; wanted is 1/Z", complex_shown(z)),
        vec![
            format!(
                "R² + X² = {}² + {}² = {}.",
                shown(z.re.abs()),
                shown(z.im.abs()),
                shown(square)
            ),
            format!(
                "G = R/(R² + X²) = {}/{} = {}.",
                shown(z.re),
                shown(square),
                engineering(y.re, "S", DIGITS)
            ),
            format!(
                "B = −X/(R² + X²) = −({})/{} = {}.",
                shown(z.im),
                shown(square),
                engineering(y.im, "S", DIGITS)
            ),
            format!(
                "The way back is the same sum: 1/Y is {}\u{202f}Ω again.",
                complex_shown(y.inv())
            ),
        ],
    ))
}

/// Z = 1/(1/Z_read − 1/Z_beside).
fn take_off(numbers: &[&str]) -> Result<(String, Vec<String>), String> {
    let [read, beside] = two(numbers, "the impedance read and that of what lies beside")?;
    let (read, beside) = (complex(read)?, complex(beside)?);
    if read.norm_sqr() == 0.0 || beside.norm_sqr() == 0.0 || read == beside {
        return Err("a short, or nothing left; write other impedances".to_owned());
    }
    let left = read.inv() - beside.inv();
    let siemens = |y: Complex64| {
        let milli = 1e3 * y;
        format!("{}\u{202f}mS", complex_shown(milli))
    };
    Ok((
        format!(
            "read: {}\u{202f}Ω; beside it: {}\u{202f}Ω",
            complex_shown(read),
            complex_shown(beside)
        ),
        vec![
            format!("1/Z as read: {}.", siemens(read.inv())),
            format!("1/Z of what lies beside: {}.", siemens(beside.inv())),
            format!("Subtract: {}.", siemens(left)),
            format!("Turn back: {}\u{202f}Ω.", complex_shown(left.inv())),
        ],
    ))
}

/// ± of an impedance whose cloud is round: 2.448 σ = 1.731 e·|Z|.
fn circle(numbers: &[&str]) -> Result<(String, Vec<String>), String> {
    let [sigma, size] = two(numbers, "σ and |Z| in ohms")?;
    let (sigma, size) = (complex(sigma)?.re, complex(size)?.re);
    if !(sigma > 0.0 && size > 0.0) {
        return Err("both have to be above zero".to_owned());
    }
    let (p, e) = (Coverage::P95, 2f64.sqrt() * sigma / size);
    let (in_sigma, in_rms) = (p.radius_in_sigma(), p.radius_in_rms());
    Ok((
        format!(
            "σ = {} in each direction, |Z| = {}",
            engineering(sigma, "Ω", 3),
            engineering(size, "Ω", 3)
        ),
        vec![
            format!(
                "By σ: {} × {} = {}, which is {} of |Z|.",
                significant(in_sigma, DIGITS),
                engineering(sigma, "Ω", 3),
                engineering(in_sigma * sigma, "Ω", 3),
                unsigned_percent(in_sigma * sigma / size)
            ),
            format!(
                "By e: √(σ² + σ²)/|Z| = {}, and {} × e = {}.",
                unsigned_percent(e),
                significant(in_rms, DIGITS),
                unsigned_percent(in_rms * e)
            ),
        ],
    ))
}

/// f = 1/(2π·√(LC)).
fn resonance(numbers: &[&str]) -> Result<(String, Vec<String>), String> {
    let [l, c] = two(numbers, "an inductance and a capacitance")?;
    let of = |text, unit| parse_value(text, unit).map_err(|error| error.to_string());
    let (l, c) = (of(l, Unit::Henry)?, of(c, Unit::Farad)?);
    if !(l > 0.0 && c > 0.0) {
        return Err("both have to be above zero".to_owned());
    }
    let root = (l * c).sqrt();
    let f = 1.0 / (TAU * root);
    let x = TAU * f * l;
    Ok((
        format!(
            "L = {}, C = {}",
            engineering(l, "H", 3),
            engineering(c, "F", 3)
        ),
        vec![
            format!(
                "In henries and farads the product is {}.",
                power_of_ten(l * c)
            ),
            format!("Its root: {}.", engineering(root, "s", DIGITS)),
            format!(
                "1/(2π × {}) = {}.",
                engineering(root, "s", DIGITS),
                engineering(f, "Hz", DIGITS)
            ),
            format!(
                "Check: 2πfL = {} and 1/(2πfC) = {} there. Both have the size √(L/C) = {}.",
                engineering(x, "Ω", DIGITS),
                engineering(1.0 / (TAU * f * c), "Ω", DIGITS),
                engineering((l / c).sqrt(), "Ω", DIGITS)
            ),
        ],
    ))
}

/// A number as a pocket calculator shows it, with a power of ten.
fn power_of_ten(value: f64) -> String {
    let exponent = value.abs().log10().floor() as i32;
    format!(
        "{} × 10^{}",
        shown(value / 10f64.powi(exponent)),
        exponent.to_string().replace('-', "−")
    )
}

/// Mean and scatter of repeated readings, GUM (JCGM 100) 4.2.
fn repeated(numbers: &[&str]) -> Result<(String, Vec<String>), String> {
    let values = numbers
        .iter()
        .map(|text| complex(text).map(|value| value.re))
        .collect::<Result<Vec<f64>, String>>()?;
    let n = values.len();
    if n < 3 {
        return Err("expected three readings or more".to_owned());
    }
    let count = n as f64;
    let mean = values.iter().sum::<f64>() / count;
    let squares: f64 = values.iter().map(|value| (value - mean).powi(2)).sum();
    let sigma = (squares / (count - 1.0)).sqrt();
    let of_mean = sigma / count.sqrt();
    let deviations: Vec<String> = values
        .iter()
        .map(|value| significant(value - mean, 3).replace('-', "−"))
        .collect();
    let all: Vec<String> = values.iter().map(|value| shown(*value)).collect();
    Ok((
        format!("{n} readings: {}", all.join(", ")),
        vec![
            format!("Their mean: {}.", significant(mean, DIGITS + 1)),
            format!("How far each is from the mean: {}.", deviations.join(", ")),
            format!("The squares of these, added: {}.", shown(squares)),
            format!(
                "Divide by {} (one less than the number of readings) and take the root: σ = {}.",
                n - 1,
                significant(sigma, 3)
            ),
            format!(
                "The mean scatters √{n} times less: u = σ/√{n} = {}.",
                significant(of_mean, 3)
            ),
            format!(
                "For many readings ± would be {WITHIN} u = {}. For {n} it is wider, because σ \
                 itself is known badly.",
                significant(WITHIN * of_mean, 3)
            ),
        ],
    ))
}
