//! Where the linear uncertainty is trusted, an exact Monte Carlo outside finds it right. From
//! `tests/oracle/make_trust.py`: the share of its draws inside the linear 95 % ellipse and inside
//! R ± 2·u(R), the least of all directions, by |t0|/σ and the ratio of the two standard
//! deviations of the reading.

use jigwise_physics::{Covariance, Coverage, Trust};
use serde_json::Value;

/// Less than this is told.
const LEAST_INSIDE: f64 = 0.94;

#[test]
fn the_linear_uncertainty_is_trusted_where_it_holds() {
    let oracle: Value = serde_json::from_str(include_str!("../../oracle/trust.json")).unwrap();
    let (mut trusted, mut told) = (0, 0);
    for cell in oracle["cells"].as_array().unwrap() {
        let number = |key: &str| cell[key].as_f64().unwrap();
        let ratio = number("ratio");
        let reading = Covariance {
            re: 1.0,
            im: ratio * ratio,
            cross: 0.0,
        };
        let trust = Trust::of_scatter(number("k"), reading, Coverage::P95);
        let inside = number("joint").min(number("component"));
        if trust == Trust::Linear {
            trusted += 1;
            assert!(inside >= LEAST_INSIDE, "{cell}: trusted");
        } else {
            told += 1;
            // Half a percent of caution is allowed for.
            assert!(inside < LEAST_INSIDE + 0.005, "{cell}: told without need");
        }
    }
    assert!(trusted > 25 && told > 25, "{trusted}, {told}");
}
