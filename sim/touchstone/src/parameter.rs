//! Y, Z, H and G to S, and S from one set of references to another.
//!
//! All of it follows from the waves of a port with a real reference R (any text on networks):
//!
//! v = √R·(a + b), i = (a − b)/√R, b = S·a.
//!
//! With z_ij = Z_ij/√(R_i·R_j) and y_ij = Y_ij·√(R_i·R_j) that gives (z + 1)·S = z − 1 and
//! (1 + y)·S = 1 − y; h and g scale as the quotients of voltage and current that they are.
//! Version 1 files hold the normalised values already, version 2 files ohms and siemens.
//! The scaling of H and G in version 1 is from memory of the 1.1 specification.
//!
//! For new references R', with p = (R + R')/(2√(R·R')) and q = (R − R')/(2√(R·R')) on
//! diagonals P and Q: a' = P·a + Q·b, b' = Q·a + P·b, so S'·(P + Q·S) = Q + P·S.

use num_complex::Complex64;

use crate::matrix::solve;
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

/// Turns `m`, a row-major matrix of `ports`, into S in place; false at a pole.
///
/// `references_ohm` is given where the values are in ohms and siemens (version 2). `work` is
/// scratch space, kept between calls.
pub(crate) fn to_s(
    parameter: Parameter,
    ports: usize,
    references_ohm: Option<&[f64]>,
    m: &mut [Complex64],
    work: &mut Vec<Complex64>,
) -> bool {
    if parameter == Parameter::S {
        return true;
    }
    if let Some(ohm) = references_ohm {
        normalise(parameter, ports, ohm, m);
    }
    match *m {
        [value] => one_port_s(parameter, value).is_some_and(|s| {
            m[0] = s;
            true
        }),
        [m11, m12, m21, m22] => two_port_s(parameter, [m11, m12, m21, m22]).is_some_and(|s| {
            m.copy_from_slice(&s);
            true
        }),
        _ => many_port_s(parameter, ports, m, work),
    }
}

/// Ohms and siemens to numbers without a unit.
fn normalise(parameter: Parameter, ports: usize, ohm: &[f64], m: &mut [Complex64]) {
    for to in 0..ports {
        for from in 0..ports {
            let (r, c) = (ohm[to], ohm[from]);
            let scale = match (parameter, to) {
                (Parameter::S, _) => 1.0,
                (Parameter::Z, _) => 1.0 / (r * c).sqrt(),
                (Parameter::Y, _) => (r * c).sqrt(),
                // h11 is a voltage by a current, h22 a current by a voltage, the other two
                // plain quotients between the ports; g the other way round.
                (Parameter::H, 0) if from == 0 => 1.0 / r,
                (Parameter::H, 0) => (c / r).sqrt(),
                (Parameter::H, _) if from == 0 => (r / c).sqrt(),
                (Parameter::H, _) => r,
                (Parameter::G, 0) if from == 0 => r,
                (Parameter::G, 0) => (r / c).sqrt(),
                (Parameter::G, _) if from == 0 => (c / r).sqrt(),
                (Parameter::G, _) => 1.0 / r,
            };
            m[to * ports + from] *= scale;
        }
    }
}

fn many_port_s(
    parameter: Parameter,
    ports: usize,
    m: &mut [Complex64],
    work: &mut Vec<Complex64>,
) -> bool {
    work.clear();
    work.extend_from_slice(m);
    let sign = match parameter {
        Parameter::Z => 1.0,
        Parameter::Y => -1.0,
        Parameter::S | Parameter::H | Parameter::G => return false,
    };
    for value in m.iter_mut() {
        *value *= sign;
    }
    for port in 0..ports {
        work[port * ports + port] += ONE;
        m[port * ports + port] -= sign;
    }
    solve(ports, work, m)
}

/// S at references `from_ohm` to S at `to_ohm`, in place; false where no such S exists.
pub(crate) fn renormalise(
    from_ohm: &[f64],
    to_ohm: &[f64],
    s: &mut [Complex64],
    work: &mut Vec<Complex64>,
) -> bool {
    let ports = from_ohm.len();
    let pq = |port: usize| {
        let (from, to) = (from_ohm[port], to_ohm[port]);
        let below = 2.0 * (from * to).sqrt();
        ((from + to) / below, (from - to) / below)
    };
    // Transposed, since the solver divides from the left: (P + Q·S)ᵀ·S'ᵀ = (Q + P·S)ᵀ.
    work.clear();
    work.resize(ports * ports, Complex64::ZERO);
    for row in 0..ports {
        let (p, q) = pq(row);
        for column in 0..ports {
            let value = s[row * ports + column] * q;
            work[column * ports + row] = if row == column { value + p } else { value };
        }
    }
    for row in 0..ports {
        let (p, q) = pq(row);
        for column in 0..ports {
            let value = s[row * ports + column] * p;
            s[row * ports + column] = if row == column { value + q } else { value };
        }
    }
    transpose(ports, s);
    let found = solve(ports, work, s);
    transpose(ports, s);
    found
}

/// Γ at one reference to Γ at another, both real and positive.
pub(crate) fn renormalise_reflection(from_ohm: f64, to_ohm: f64, gamma: Complex64) -> Complex64 {
    let step = (to_ohm - from_ohm) / (to_ohm + from_ohm);
    (gamma - step) / (ONE - gamma * step)
}

fn transpose(ports: usize, m: &mut [Complex64]) {
    for row in 1..ports {
        for column in 0..row {
            m.swap(row * ports + column, column * ports + row);
        }
    }
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

    /// The closed forms of two ports and the linear equations of many are one map.
    #[test]
    fn two_ports_by_the_equations_of_many() {
        let m = [c(2.0, 0.5), c(0.3, -0.2), c(0.7, 0.1), c(1.5, -0.4)];
        for parameter in [Parameter::Z, Parameter::Y] {
            let mut many = m;
            assert!(many_port_s(parameter, 2, &mut many, &mut Vec::new()));
            let two = two_port_s(parameter, m).unwrap();
            for (a, b) in many.iter().zip(two) {
                assert!((a - b).norm() < 1e-15, "{parameter:?}: {a} against {b}");
            }
        }
    }

    /// One network in ohms, read at unequal references four ways, gives one S.
    #[test]
    fn ohms_at_unequal_references_agree() {
        let z = [c(80.0, 5.0), c(3.0, -2.0), c(7.0, 1.0), c(15.0, -40.0)];
        let det = z[0] * z[3] - z[1] * z[2];
        let y = [z[3] / det, -z[1] / det, -z[2] / det, z[0] / det];
        let h = [det / z[3], z[1] / z[3], -z[2] / z[3], z[3].inv()];
        let g = [z[0].inv(), -z[1] / z[0], z[2] / z[0], det / z[0]];
        let of = |parameter, mut m: [Complex64; 4], ohm: [f64; 2]| {
            assert!(to_s(parameter, 2, Some(&ohm), &mut m, &mut Vec::new()));
            m
        };
        let from_z = of(Parameter::Z, z, [20.0, 75.0]);
        for (parameter, m) in [(Parameter::Y, y), (Parameter::H, h), (Parameter::G, g)] {
            for (a, b) in of(parameter, m, [20.0, 75.0]).iter().zip(from_z) {
                assert!((a - b).norm() < 1e-15, "{parameter:?}: {a} against {b}");
            }
        }
        let mut moved = of(Parameter::Z, z, [50.0, 50.0]);
        assert!(renormalise(
            &[50.0, 50.0],
            &[20.0, 75.0],
            &mut moved,
            &mut Vec::new()
        ));
        for (a, b) in moved.iter().zip(from_z) {
            assert!((a - b).norm() < 1e-15, "{a} against {b}");
        }
    }
}
