//! Of many calibrations with one reading each, about 95 % come out inside the interval of |Z|.
//!
//! A count of 1 000 is binomial, with p = 0.95 a mean of 950 and a standard deviation of 6.9: 917 to
//! 977 is about four of them to either side, since 72 cells are looked at. Source of the limits:
//! the binomial distribution.

use jigwise_bench::{Bench, Device, Fixture, NamedInstrument, Scenario};

const CALIBRATIONS: u64 = 1_000;
const INSIDE: std::ops::RangeInclusive<usize> = 917..=977;

#[test]
fn nineteen_of_twenty_ticks_lie_in_the_bar() {
    let devices = [
        "4.7k",
        "0.02",
        "3",
        "50",
        "30 - j40",
        "600 + j900",
        "open",
        "short",
    ];
    let mut outside = Vec::new();
    for instrument in NamedInstrument::preset_names() {
        for device in devices {
            let scenario = Scenario {
                device: device.parse::<Device>().unwrap(),
                instrument: NamedInstrument::preset(instrument),
                seed: 20,
                ..Scenario::default()
            };
            let bench = Bench::new(&scenario).unwrap();
            let intervals = bench.modulus_intervals();
            let mut inside = [0_usize; 3];
            for number in 1..=CALIBRATIONS {
                let came_out = bench.one_reading(number);
                for fixture in Fixture::ALL {
                    let k = fixture as usize;
                    let is_inside = came_out[k]
                        .zip(intervals[k])
                        .is_some_and(|(ohm, interval)| interval.contains(ohm));
                    inside[k] += usize::from(is_inside);
                }
            }
            for fixture in Fixture::ALL {
                let count = inside[fixture as usize];
                if !INSIDE.contains(&count) {
                    outside.push(format!("{instrument}, {device}, {fixture:?}: {count}"));
                }
            }
        }
    }
    assert!(outside.is_empty(), "seed 20: {outside:#?}");
}
