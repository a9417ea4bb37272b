//! What a reduction makes of files that hold more than one pair of equal ports: never a value
//! at the wrong reference.

use jigwise_physics::Fixture;
use jigwise_reduce::{ReduceError, reduce};
use jigwise_tests::touchstone::{c, read};
use jigwise_touchstone::Sweep;
use num_complex::Complex64;

/// A part Z between two ports of references R1 and R2, by nodal analysis of any textbook:
/// S21 = 2√(R1·R2)/(Z + R1 + R2), S11 = (Z + R2 − R1)/(Z + R1 + R2).
fn series(z: Complex64, r1: f64, r2: f64) -> Sweep {
    let below = z + r1 + r2;
    let s21 = 2.0 * (r1 * r2).sqrt() / below;
    let (s11, s22) = ((z + r2 - r1) / below, (z + r1 - r2) / below);
    Sweep::new(2, &[r1, r2], vec![7.1e6], vec![s11, s21, s21, s22]).unwrap()
}

/// A part Z across two ports: with the conductance G = 1/R1 + 1/R2 + 1/Z at the node,
/// S21 = 2/(√(R1·R2)·G), S11 = 2/(R1·G) − 1.
fn shunt(z: Complex64, r1: f64, r2: f64) -> Sweep {
    let g = 1.0 / r1 + 1.0 / r2 + 1.0 / z;
    let s21 = 2.0 / ((r1 * r2).sqrt() * g);
    let (s11, s22) = (2.0 / (r1 * g) - 1.0, 2.0 / (r2 * g) - 1.0);
    Sweep::new(2, &[r1, r2], vec![7.1e6], vec![s11, s21, s21, s22]).unwrap()
}

#[test]
fn unequal_references_give_the_same_ohms() {
    let z = c(330.0, -120.0);
    for (r1, r2) in [(50.0, 50.0), (50.0, 75.0), (75.0, 50.0), (600.0, 5.0)] {
        for (sweep, fixture) in [
            (series(z, r1, r2), Fixture::SeriesThrough),
            (shunt(z, r1, r2), Fixture::ShuntThrough),
        ] {
            let reduction = reduce(&sweep, fixture).unwrap();
            assert_eq!(reduction.reference.ohm(), r1);
            let point = reduction.points[0];
            let found = point.device.impedance().unwrap();
            assert!((found - z).norm() < 1e-9, "{fixture:?} {r1} {r2}: {found}");
            assert!(point.consistency.unwrap() < 1e-12);
        }
    }
}

/// Reflect reads at port 1 alone, whose reference is in force.
#[test]
fn reflect_takes_port_one_as_it_is() {
    let sweep = read("a.s2p", "# MHz RI R 75 50\n1 0 0 0 0 0 0 1 0\n");
    let reduction = reduce(&sweep, Fixture::Reflect).unwrap();
    assert_eq!(reduction.points[0].device.impedance(), Some(c(75.0, 0.0)));
}

#[test]
fn what_no_fixture_gives_is_refused() {
    let three = "# MHz RI\n1 0 0 .5 0 .5 0\n.5 0 0 0 .5 0\n.5 0 .5 0 0 0\n";
    let mixed = "[Version] 2.0\n# MHz S RI\n[Number of Ports] 2\n[Two-Port Data Order] 12_21\n\
                 [Number of Frequencies] 1\n[Mixed-Mode Order] D1,2 C1,2\n[Network Data]\n\
                 1 .1 0 .9 0 .9 0 .1 0\n[End]\n";
    let one_path = "# MHz RI R 50 75\n1 .1 0 .9 0 0 0 0 0\n";
    for (name, text, words) in [
        ("a.s3p", three, "found 3 ports"),
        ("a.ts", mixed, "mixed-mode"),
        ("a.s2p", one_path, "different impedances"),
    ] {
        let error = reduce(&read(name, text), Fixture::SeriesThrough).unwrap_err();
        assert!(!matches!(error, ReduceError::Number(_)), "{error}");
        assert!(error.to_string().contains(words), "{error}");
        assert!(error.to_string().contains("export"), "{error}");
    }
}
