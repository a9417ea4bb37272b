//! What `jig reduce` counts and says of the front end: nothing where the standards show it, its raw
//! match where the readings were corrected elsewhere.

use jigwise_tests::answers::{number, ohms};
use jigwise_tests::jig::{jig, json};
use jigwise_tests::second_budget::{
    Figures, SERIES, SHUNT, handheld, noise_and_display, residuals,
};
use jigwise_tests::workbench::Workbench;

const SAID: &str = "corrected elsewhere, so the raw match of the analyzer is not known and counts \
                    as 0.18 rms of any phase";

fn scenario(instrument: &str) -> String {
    format!(
        "version = 1\n[device]\nkind = \"fixed\"\nimpedance = \"30 - j40\"\n\
         [at]\nfrequency = \"20 MHz\"\n[instrument]\npreset = \"{instrument}\"\n"
    )
}

#[test]
fn the_raw_match_counts_where_the_readings_were_corrected_elsewhere() {
    let bench = Workbench::new();
    for (at, fixture) in [(SHUNT, "shunt-through"), (SERIES, "series-through")] {
        let path = bench.measured(&scenario("handheld"), fixture, fixture, &[]);
        let arguments = [
            "reduce",
            &path,
            "--fixture",
            fixture,
            "--instrument",
            "handheld",
        ];
        let point = &json(&arguments)["points"][0];
        let z = ohms(point) / 50.0;
        let [r, x] = ["u_r_ohm", "u_x_ohm"].map(|key| number(&point[key]));
        // A file is not rounded as a display is. What the noise of the calibration adds is below
        // 1 %; the raw match adds 2 to 4 %.
        let figures = Figures {
            step: [0.0; 2],
            ..handheld()
        };
        let noise = noise_and_display(at, z, &figures);
        let told = r.hypot(x) / (50.0 * z.norm());
        let want = (residuals(at, z, &figures) + noise).sqrt();
        assert!(told >= want * (1.0 - 1e-6), "{fixture}: {told} for {want}");
        assert!(told <= want * 1.01, "{fixture}: {told} for {want}");
        let said = jig(&arguments).err;
        assert_eq!(said.matches(SAID).count(), 1, "{said}");
    }
}

#[test]
fn nothing_is_said_where_it_does_not_matter() {
    let bench = Workbench::new();
    let quiet = |stem: &str, fixture: &str, instrument: &str, more: &[String]| {
        let path = bench.path(stem);
        let mut arguments = vec![
            "reduce",
            &path,
            "--fixture",
            fixture,
            "--instrument",
            instrument,
        ];
        arguments.extend(more.iter().map(String::as_str));
        let said = jig(&arguments).err;
        assert!(!said.contains("corrected elsewhere"), "{said}");
    };
    // The standards show the front end.
    let shunt = ["shunt-through", "raw"];
    let more = ["--raw", "--with-standards"];
    bench.measured(&scenario("handheld"), shunt[0], shunt[1], &more);
    quiet(
        "raw.s2p",
        shunt[0],
        "handheld",
        &bench.standards("raw", true),
    );
    // Reflect has no products with it, and the club bench little raw match.
    bench.measured(&scenario("handheld"), "reflect", "one", &[]);
    quiet("one.s1p", "reflect", "handheld", &[]);
    bench.measured(&scenario("club bench"), shunt[0], "club", &[]);
    quiet("club.s2p", shunt[0], "club-bench", &[]);
}
