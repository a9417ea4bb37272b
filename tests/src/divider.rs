//! The readings by circuit theory, as the truth for the closed formulas.

use jigwise_physics::{Fixture, ReferenceImpedance};
use num_complex::Complex64;
use num_rational::BigRational;
use num_traits::{One, Zero};

use crate::exact::{Exact, fraction};

/// The reading by the voltage divider: a generator of 2 V behind Z0, so that a matched port
/// takes 1 V; S11 is what the port voltage has above 1 V, S21 is the voltage across the Z0
/// of port 2. `None` where the divider has no solution.
///
/// # Panics
/// For a short in shunt-through, whose admittance is no fraction, and for a reference that is
/// not finite and above zero.
pub fn reading_by_divider(fixture: Fixture, z: &Exact, z0: f64) -> Option<Exact> {
    let one = Exact::one();
    let two = one.clone() + one.clone();
    let z0 = Exact::new(fraction(z0), BigRational::zero());
    let quotient = |num: Exact, den: Exact| (!den.is_zero()).then(|| num / den);
    match fixture {
        Fixture::Reflect => {
            let port_volts = quotient(two * z.clone(), z.clone() + z0)?;
            Some(port_volts - one)
        }
        Fixture::ShuntThrough => {
            let y0 = one.clone() / z0;
            let y = one / z.clone();
            quotient(two.clone() * y0.clone(), two * y0 + y)
        }
        Fixture::SeriesThrough => {
            let loop_amperes = quotient(two.clone(), z.clone() + two * z0.clone())?;
            Some(loop_amperes * z0)
        }
    }
}

/// How near the part is to the pole of the fixture: |a + b|/(|a| + |b|) of the two terms
/// whose sum is the denominator. 1 for a resistor, 0 at the pole; the digits lost are its
/// inverse.
pub fn distance_from_pole(fixture: Fixture, z: Complex64, z0: ReferenceImpedance) -> f64 {
    let z = z / z0.ohm();
    let (a, b) = match fixture {
        Fixture::Reflect => (z, 1.0),
        Fixture::ShuntThrough => (z * 2.0, 1.0),
        Fixture::SeriesThrough => (z, 2.0),
    };
    (a + b).norm() / (a.norm() + b)
}
