//! The numbers on the screen are those of the text command, for two hundred seeded scenarios.
//!
//! The screen's come from the accessibility tree, the command's from its JSON: two roads from
//! the same scenario file.

use egui::Vec2;
use egui::accesskit::Role;
use egui_kittest::Harness;
use egui_kittest::kittest::NodeT;
use jigwise_bench::words::{display_decimals, trust_key};
use jigwise_bench::{
    Complex64, Device, Instrument, NamedInstrument, Nudge, Scenario, Trust, complex_ohm,
    engineering, fixed,
};
use jigwise_sim::Simulator;
use jigwise_sim::face::simulator_ui;
use rand::{RngExt, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus;
use serde_json::Value;

const SCENARIOS: usize = 200;

fn scenario(rng: &mut Xoshiro256PlusPlus) -> Scenario {
    let magnitude = 10f64.powf(rng.random_range(-3.0..6.0));
    let phase = rng.random_range(-90.0_f64..90.0).to_radians();
    let device = match rng.random_range(0..10) {
        0 => Device::Open,
        1 => Device::Short,
        2 => Device::inductor(10f64.powf(rng.random_range(-9.0..-3.0))),
        3 => Device::capacitor(10f64.powf(rng.random_range(-13.0..-6.0))),
        _ => Device::Fixed(Complex64::from_polar(magnitude, phase)),
    };
    let (name, _) = Instrument::PRESETS[rng.random_range(0..3)];
    let amount = rng.random_range(0.001..0.5) * if rng.random_bool(0.5) { 1.0 } else { -1.0 };
    Scenario {
        device,
        instrument: NamedInstrument::preset(name),
        nudge: Nudge::new(amount, Default::default(), rng.random_bool(0.3)).unwrap(),
        connections: rng.random_range(0..3),
        ..Scenario::default()
    }
}

fn read(scenario: &Scenario, file: &std::path::Path) -> Value {
    std::fs::write(file, scenario.to_toml()).unwrap();
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let arguments = ["jig", "read", file.to_str().unwrap(), "--json"];
    jigwise_jig::run(arguments, &mut out, &mut err);
    serde_json::from_slice(&out).unwrap_or_else(|_| panic!("{}", String::from_utf8_lossy(&err)))
}

fn said(simulator: Simulator) -> Vec<String> {
    let mut harness = Harness::builder()
        .with_size(Vec2::new(1280.0, 2400.0))
        .build_ui_state(simulator_ui, simulator);
    harness.run_steps(4);
    harness
        .root()
        .children_recursive()
        .filter(|node| node.accesskit_node().role() == Role::Label)
        .filter_map(|node| node.accesskit_node().value())
        .collect()
}

/// The fewest significant digits n, from two to eight, with |Z|/10^(n − 1) within the half width
/// of the interval; three where it has no end.
fn known_digits(ohm: f64, magnitude: &Value) -> usize {
    let end = |key: &str| magnitude[key].as_f64();
    let Some((low, high)) = end("from_ohm").zip(end("to_ohm")).filter(|(l, h)| l < h) else {
        return 3;
    };
    let half_width = 0.5 * (high - low);
    let is_fine = |digits: &usize| ohm * 0.1f64.powi(*digits as i32 - 1) <= half_width;
    (2..8).find(is_fine).unwrap_or(8)
}

fn shown<'a>(lines: &'a [String], name: &str) -> Option<&'a str> {
    let beginning = format!("{name}: ");
    lines.iter().find_map(|line| line.strip_prefix(&beginning))
}

#[test]
fn the_screen_says_what_the_command_reads() {
    let seed: u64 = std::env::var("JIGWISE_SEED")
        .ok()
        .and_then(|text| text.parse().ok())
        .unwrap_or(11);
    let mut rng = Xoshiro256PlusPlus::seed_from_u64(seed);
    let file = std::env::temp_dir().join(format!("jigwise-screen-{}.toml", std::process::id()));
    for number in 0..SCENARIOS {
        let scenario = scenario(&mut rng);
        let told = format!("seed {seed}, scenario {number}:\n{}", scenario.to_toml());
        let json = read(&scenario, &file);
        let instrument = scenario.instrument.clone().unwrap_or_default();
        let figures = instrument.figures_at(scenario.readout_hz());
        let [of_db, of_deg] = display_decimals(&figures.unwrap_or(instrument.figures));
        let lines = said(Simulator::new(scenario).unwrap());
        for (title, entry) in ["Reflect", "Shunt-through", "Series-through"]
            .into_iter()
            .zip(json["fixtures"].as_array().unwrap())
        {
            let on_screen = |what: &str| shown(&lines, &format!("{title}, {what}"));
            if let Some(db) = entry["reading"]["db"].as_f64() {
                let expected = format!("{}\u{202f}dB", fixed(db, of_db));
                assert_eq!(on_screen("decibels"), Some(expected.as_str()), "{told}");
            }
            if let Some(deg) = entry["reading"]["deg"].as_f64() {
                let expected = format!("{}°", fixed(deg, of_deg));
                assert_eq!(on_screen("degrees"), Some(expected.as_str()), "{told}");
            }
            let ohms = on_screen("ohms got back").unwrap();
            let z = &entry["impedance"];
            match (z["r_ohm"].as_f64(), z["x_ohm"].as_f64()) {
                (Some(r), Some(x)) => {
                    let z = Complex64::new(r, x);
                    let digits = known_digits(z.norm(), &entry["magnitude"]);
                    assert_eq!(ohms, complex_ohm(z, digits), "{told}");
                }
                _ => assert_eq!(ohms, "open", "{told}"),
            }
            // The screen shows no u where a standard deviation has no meaning.
            let has_deviation = [Trust::Linear, Trust::Disc]
                .iter()
                .any(|known| entry["trust"] == trust_key(*known));
            if !has_deviation {
                assert_eq!(on_screen("uncertainty"), None, "{told}");
            } else if let (Some(u_r), Some(u_x)) =
                (entry["u_r_ohm"].as_f64(), entry["u_x_ohm"].as_f64())
            {
                let expected = format!(
                    "u(R) {}, u(X) {}",
                    engineering(u_r, "Ω", 3),
                    engineering(u_x, "Ω", 3)
                );
                assert_eq!(on_screen("uncertainty"), Some(expected.as_str()), "{told}");
            }
            for (key, way) in [
                ("resolvable_increase", "increase it shows"),
                ("resolvable_decrease", "decrease it shows"),
            ] {
                let Some(text) = on_screen(way) else {
                    assert!(entry[key].is_null(), "{told}");
                    continue;
                };
                match entry[key].as_f64() {
                    Some(share) => {
                        let number = jigwise_bench::percent(share);
                        assert!(text.starts_with(&number), "{told}{text} for {share}");
                        let limit = entry[key.replace("resolvable", "limited_by")].as_str();
                        assert!(text.ends_with(limit.unwrap()), "{told}{text}");
                    }
                    None => assert!(text.starts_with("none"), "{told}{text}"),
                }
            }
            if let Some(d) = entry["separation_sigma"].as_f64() {
                let text = on_screen("verdict").unwrap();
                let number = jigwise_bench::words::sigma(d);
                assert!(
                    text.contains(&format!("({number} σ apart)")),
                    "{told}{text}"
                );
            }
        }
    }
    std::fs::remove_file(&file).unwrap();
}
