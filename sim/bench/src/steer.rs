//! Moving a device by steps, as a keyboard or a slider does.

use std::f64::consts::{FRAC_PI_2, PI};

use jigwise_physics::{Capacitor, Complex64, Immittance, Inductor, Part, ReferenceImpedance};

use crate::Device;

/// Steps of |Z| in a decade.
pub const STEPS_PER_DECADE: f64 = 24.0;
/// |Z|/Z0, in decades, at the far end of the rule and of the reach plot: where a device
/// comes in when it is moved away from an open.
pub(crate) const FARTHEST_DECADES: f64 = 4.35;
/// The same at the near end, for a short.
pub(crate) const NEAREST_DECADES: f64 = -4.75;

/// The device with |Z| times 10^(steps/24), its phase kept. An open comes in from the far end
/// of the rule, a short from the near end; each stays where it is when moved outward.
pub fn step_magnitude(device: Immittance, reference: ReferenceImpedance, steps: f64) -> Immittance {
    let from_end = |decades: f64| with_polar(reference.ohm() * 10f64.powf(decades), 0.0);
    let moved = match device.impedance() {
        None if steps < 0.0 => from_end(FARTHEST_DECADES),
        Some(z) if z == Complex64::ZERO && steps > 0.0 => from_end(NEAREST_DECADES),
        Some(z) if z != Complex64::ZERO => {
            with_polar(z.norm() * 10f64.powf(steps / STEPS_PER_DECADE), z.arg())
        }
        _ => None,
    };
    moved.unwrap_or(device)
}

/// The device with its phase turned by `angle_rad`, |Z| kept. A passive device stays passive,
/// within ±90°; an open or short has no phase to turn.
pub fn step_phase(device: Immittance, angle_rad: f64) -> Immittance {
    let Some(z) = device.impedance().filter(|z| *z != Complex64::ZERO) else {
        return device;
    };
    let from = z.arg();
    let turned = from + angle_rad;
    let to = if from.abs() <= FRAC_PI_2 {
        turned.clamp(-FRAC_PI_2, FRAC_PI_2)
    } else {
        (turned + PI).rem_euclid(2.0 * PI) - PI
    };
    with_polar(z.norm(), to).unwrap_or(device)
}

/// The phase of Z in radians; `None` for an open or a short, which have none.
pub fn phase_rad(device: Immittance) -> Option<f64> {
    device
        .impedance()
        .filter(|z| *z != Complex64::ZERO)
        .map(Complex64::arg)
}

/// The device of magnitude `ohm` and phase `angle_rad`; `None` where the value is not finite.
/// At ±90° the resistance is zero exactly.
pub fn with_polar(ohm: f64, angle_rad: f64) -> Option<Immittance> {
    let z = if angle_rad.abs() == FRAC_PI_2 {
        Complex64::new(0.0, ohm * angle_rad.signum())
    } else {
        Complex64::from_polar(ohm, angle_rad)
    };
    Immittance::from_impedance(z).ok()
}

impl Device {
    /// A part of the same kind with another impedance at a frequency: a resistor stays one while
    /// it has no reactance, a coil while X > 0, a capacitor while X < 0, both with the resistance
    /// in series. Everything else becomes a fixed value.
    ///
    /// ```
    /// use jigwise_bench::{Complex64, Device, Immittance};
    ///
    /// let target = Immittance::from_impedance(Complex64::new(2.0, 100.0)).unwrap();
    /// let coil = Device::inductor(2.2e-6).moved_to(target, Some(7.1e6));
    /// let back = coil.immittance(Some(7.1e6))?.impedance().unwrap();
    /// assert!((back - Complex64::new(2.0, 100.0)).norm() < 1e-12);
    /// assert!(matches!(coil, Device::Part(_)));
    ///
    /// let moved = Device::resistor(50.0).moved_to(target, None);
    /// assert_eq!(moved, Device::Fixed(Complex64::new(2.0, 100.0)));
    /// # Ok::<(), jigwise_bench::DeviceError>(())
    /// ```
    pub fn moved_to(&self, target: Immittance, freq_hz: Option<f64>) -> Self {
        let Some(z) = target.impedance().filter(|z| z.re >= 0.0) else {
            return target.into();
        };
        let omega = freq_hz.map(|hz| 2.0 * PI * hz);
        match (self, omega) {
            (Self::Part(Part::Resistor(_)), _) if z.im == 0.0 => Self::resistor(z.re),
            (Self::Part(Part::Inductor(_)), Some(omega)) if z.im > 0.0 => {
                Self::from(Part::from(Inductor {
                    series_resistance_ohm: z.re,
                    ..Inductor::ideal(z.im / omega)
                }))
            }
            (Self::Part(Part::Capacitor(_)), Some(omega)) if z.im < 0.0 => {
                Self::from(Part::from(Capacitor {
                    esr_ohm: z.re,
                    ..Capacitor::ideal(-1.0 / (omega * z.im))
                }))
            }
            _ => target.into(),
        }
    }
}

impl From<Immittance> for Device {
    fn from(device: Immittance) -> Self {
        match device.impedance() {
            None => Self::Open,
            Some(_) if device.is_short() => Self::Short,
            Some(z) => Self::Fixed(z),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const Z0: ReferenceImpedance = ReferenceImpedance::FIFTY_OHM;

    #[test]
    fn a_decade_of_steps_is_a_factor_of_ten() {
        let mut device = Immittance::from_impedance(Complex64::new(30.0, 40.0)).unwrap();
        for _ in 0..24 {
            device = step_magnitude(device, Z0, 1.0);
        }
        let z = device.impedance().unwrap();
        assert!((z / Complex64::new(300.0, 400.0) - 1.0).norm() < 1e-12);
    }

    #[test]
    fn ends_can_be_left_and_not_passed() {
        assert!(step_magnitude(Immittance::OPEN, Z0, 1.0).is_open());
        assert!(!step_magnitude(Immittance::OPEN, Z0, -1.0).is_open());
        assert!(step_magnitude(Immittance::SHORT, Z0, -1.0).is_short());
        assert!(!step_magnitude(Immittance::SHORT, Z0, 1.0).is_short());
        let coil = Immittance::from_impedance(Complex64::new(0.0, 40.0)).unwrap();
        assert_eq!(step_phase(coil, 0.5).impedance().unwrap().re, 0.0);
    }
}
