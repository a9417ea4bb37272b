//! Y, Z, H and G to S. In version 1 files they are normalised to the reference, so the
//! conversions need no ohms.
//!
//! Source: any text on two-ports; each follows from v = a + b, i = a − b at both ports. The
//! scaling of H and G to the reference is from memory of the 1.1 specification.

use num_complex::Complex64;

use crate::option_line::Parameter;

const ONE: Complex64 = Complex64::ONE;

/// S of a one-port; `None` at a pole, or for H and G, which have no one-port form.
pub(crate) fn one_port_s(parameter: Parameter, value: Complex64) -> Option<Complex64> {
    match parameter {
        Parameter::S => Some(value),
        Parameter::Z => quotient(value - ONE, value + ONE),
        Parameter::Y => quotient(ONE - value, ONE + value),
        Parameter::H | Parameter::G => None,
    }
}

/// S of a two-port, row-major [11, 12, 21, 22]; `None` at a pole.
pub(crate) fn two_port_s(parameter: Parameter, m: [Complex64; 4]) -> Option<[Complex64; 4]> {
    let [m11, m12, m21, m22] = m;
    let cross = m12 * m21;
    let (lower, upper) = match parameter {
        Parameter::S => return Some(m),
        Parameter::Z => (
            (m11 + ONE) * (m22 + ONE) - cross,
            [
                (m11 - ONE) * (m22 + ONE) - cross,
                m12 * 2.0,
                m21 * 2.0,
                (m11 + ONE) * (m22 - ONE) - cross,
            ],
        ),
        Parameter::Y => (
            (ONE + m11) * (ONE + m22) - cross,
            [
                (ONE - m11) * (ONE + m22) + cross,
                m12 * -2.0,
                m21 * -2.0,
                (ONE + m11) * (ONE - m22) + cross,
            ],
        ),
        Parameter::H => (
            (m11 + ONE) * (m22 + ONE) - cross,
            [
                (m11 - ONE) * (m22 + ONE) - cross,
                m12 * 2.0,
                m21 * -2.0,
                (ONE + m11) * (ONE - m22) + cross,
            ],
        ),
        Parameter::G => (
            (m11 + ONE) * (m22 + ONE) - cross,
            [
                (ONE - m11) * (m22 + ONE) + cross,
                m12 * -2.0,
                m21 * 2.0,
                (m11 + ONE) * (m22 - ONE) - cross,
            ],
        ),
    };
    let mut s = [ONE; 4];
    for (cell, value) in s.iter_mut().zip(upper) {
        *cell = quotient(value, lower)?;
    }
    Some(s)
}

fn quotient(num: Complex64, den: Complex64) -> Option<Complex64> {
    let value = num / den;
    (value.re.is_finite() && value.im.is_finite()).then_some(value)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn c(re: f64, im: f64) -> Complex64 {
        Complex64::new(re, im)
    }

    /// One network given four ways must give one S. The network: z normalised, its y the
    /// matrix inverse, h and g by the definitions v1 = h11·i1 + h12·v2, i1 = g11·v1 + g12·i2.
    #[test]
    fn four_descriptions_of_one_network_agree() {
        let z = [c(2.0, 0.5), c(0.3, -0.2), c(0.7, 0.1), c(1.5, -0.4)];
        let det = z[0] * z[3] - z[1] * z[2];
        let y = [z[3] / det, -z[1] / det, -z[2] / det, z[0] / det];
        let h = [det / z[3], z[1] / z[3], -z[2] / z[3], z[3].inv()];
        let g = [z[0].inv(), -z[1] / z[0], z[2] / z[0], det / z[0]];
        let from_z = two_port_s(Parameter::Z, z).unwrap();
        for (parameter, m) in [(Parameter::Y, y), (Parameter::H, h), (Parameter::G, g)] {
            let s = two_port_s(parameter, m).unwrap();
            for (a, b) in s.iter().zip(from_z) {
                assert!((a - b).norm() < 1e-15, "{parameter:?}: {a} against {b}");
            }
        }
    }
}
