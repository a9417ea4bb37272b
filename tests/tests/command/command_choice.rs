//! `jig plan`, `jig crossovers`, `jig reach`: which fixture for what. Closed forms follow from
//! K = |z + 1|²/(2|z|), |2z + 1|²/(2|z|), |z + 2|²/(2|z|), z = Z/Z0; the consequences of the
//! presets, which are invented, were computed once outside with numpy and are given to the
//! digits kept then.

use std::process::ExitCode;

use jigwise_tests::answers::{KEYS, number};
use jigwise_tests::expected::same;
use jigwise_tests::jig::{jig, json, refuses};
use jigwise_tests::shown::ohm;
use jigwise_tests::workbench::scenario_file;

const PRESETS: [&str; 3] = ["handheld", "club-bench", "laboratory"];

/// `found` rounds to the digits of `shown`, such as "9.4", "265" or "4.8k".
#[track_caller]
fn rounds_to(found: f64, shown: &str) {
    rounds_to_within(found, shown, 1e-12);
}

#[track_caller]
fn rounds_to_within(found: f64, shown: &str, slack: f64) {
    let digits = shown.trim_end_matches(['k', 'M']);
    let decimals = digits.split_once('.').map_or(0, |(_, part)| part.len());
    let step = ohm(shown) / digits.parse::<f64>().unwrap() / 10f64.powi(decimals as i32);
    let off = (found - ohm(shown)).abs();
    assert!(off <= 0.5 * step + slack * found, "{found} for {shown}");
}

#[test]
fn plan_answers_in_three_lines() {
    for (device, advice, best) in [
        (
            "0.5",
            "Use shunt-through, for value and for change: 500.0 mΩ",
            1,
        ),
        (
            "12",
            "Use reflect for its value, shunt-through to see it change: 12.00 Ω",
            0,
        ),
        ("50", "Use reflect, for value and for change: 50.00 Ω", 0),
        (
            "220",
            "Use reflect for its value, series-through to see it change: 220.0 Ω",
            0,
        ),
        (
            "4.7k",
            "Use series-through, for value and for change: 4.700 kΩ",
            2,
        ),
    ] {
        let arguments = [
            "--device",
            device,
            "--at",
            "7.1M",
            "--instrument",
            "handheld",
        ];
        let found = jig(&[&["plan"], arguments.as_slice()].concat());
        assert_eq!(found.code, ExitCode::SUCCESS, "{}", found.err);
        let text = found.out.replace('\u{202f}', " ");
        let lines: Vec<&str> = text.lines().collect();
        let [answer, first, second, third] = lines[..] else {
            panic!("not four lines: {text}")
        };
        // The first sentence is the window's, which its own tests check.
        assert!(answer.contains("know") && answer.ends_with('.'), "{answer}");
        assert_eq!(first, format!("{advice} at 7.100 MHz on the handheld."));

        // The second line is what `read` says in numbers, to two digits.
        let read = json(&[&["read"], arguments.as_slice()].concat());
        assert_eq!(read["best_for_value"], KEYS[best]);
        let parts: Vec<&str> = second
            .strip_prefix("At 95 %, ")
            .and_then(|rest| rest.strip_suffix('.'))
            .unwrap_or_else(|| panic!("{second}"))
            .split("; ")
            .collect();
        for ((part, key), entry) in parts
            .iter()
            .zip(KEYS)
            .zip(read["fixtures"].as_array().unwrap())
        {
            assert!(part.starts_with(&format!("{key}: R and X ")), "{part}");
            // √(−ln 0.05): radius of a circular 95 % region over e.
            let percent = 100.0 * (-0.05_f64.ln()).sqrt() * number(&entry["relative_u"]);
            match part
                .split_once("within ")
                .unwrap()
                .1
                .split_once(" %")
                .unwrap()
                .0
            {
                "100" => assert!(percent >= 99.9 && part.contains("unknown"), "{part}"),
                shown => rounds_to(percent, shown),
            }
            match entry["resolvable_increase"].as_f64() {
                None => assert!(part.ends_with("shows no increase"), "{part}"),
                Some(share) => {
                    let shown = part.split_once("shows +").unwrap().1.trim_end_matches(" %");
                    rounds_to(100.0 * share, &shown.replace(' ', ""));
                }
            }
        }

        let z = ohm(device) / 50.0;
        // Relative error of Z over that of S, for a resistor (|z² − 1|/2z, 2z + 1, (z + 2)/z).
        let factors = [
            (z * z - 1.0).abs() / (2.0 * z),
            2.0 * z + 1.0,
            (z + 2.0) / z,
        ];
        let numbers: Vec<&str> = third
            .split([' ', ','])
            .filter(|word| word.starts_with(|c: char| c.is_ascii_digit()))
            .collect();
        assert_eq!(numbers.len(), 3, "{third}");
        for (factor, shown) in factors.into_iter().zip(numbers) {
            if factor == 0.0 {
                assert_eq!(shown, "0.00", "{third}");
            } else {
                rounds_to(factor, shown);
            }
        }
    }
}

#[test]
fn plan_knows_other_instruments_and_the_ends() {
    // 200 Ω lies beyond the club bench's 183 Ω and within the handheld's 275 Ω.
    for (instrument, value) in [
        ("handheld", "reflect for its value"),
        ("club-bench", "series-through"),
    ] {
        let found = jig(&["plan", "--device", "200", "--instrument", instrument]);
        assert!(
            found.out.contains(&format!("\nUse {value}")),
            "{}",
            found.out
        );
    }
    let unnamed = jig(&["plan", "--device", "200"]);
    assert!(unnamed.out.contains("on the handheld"), "{}", unnamed.out);
    for device in ["open", "short"] {
        let found = jig(&["plan", "--device", device]);
        assert_eq!(found.code, ExitCode::SUCCESS);
        assert_eq!(found.out.lines().count(), 4, "{}", found.out);
        assert!(
            found.out.contains("No percentage has a meaning"),
            "{}",
            found.out
        );
    }
}

struct Crossing {
    between: String,
    ohm: f64,
    swr: Option<f64>,
    best: bool,
}

fn crossings(arguments: &[&str]) -> Vec<Crossing> {
    let found = json(&[&["crossovers"], arguments].concat());
    let list = found["crossovers"].as_array().unwrap();
    list.iter()
        .map(|entry| {
            let mut keys: Vec<_> = entry.as_object().unwrap().keys().collect();
            keys.sort_unstable();
            assert_eq!(keys, ["best", "between", "magnitude_ohm", "swr"]);
            let pair = entry["between"].as_array().unwrap();
            let [a, b] = &pair[..] else { panic!("{entry}") };
            let [a, b] = [a, b].map(|name| name.as_str().unwrap());
            assert!(KEYS.contains(&a) && KEYS.contains(&b) && a != b, "{entry}");
            Crossing {
                between: format!("{a} {b}"),
                ohm: number(&entry["magnitude_ohm"]),
                swr: entry["swr"].as_f64(),
                best: entry["best"].as_bool().unwrap(),
            }
        })
        .collect()
}

fn best_ohms(found: &[Crossing]) -> Vec<f64> {
    let mut ohms: Vec<f64> = found.iter().filter(|c| c.best).map(|c| c.ohm).collect();
    ohms.sort_unstable_by(f64::total_cmp);
    ohms
}

/// Equal relative errors: reflect ties at z = (√6 − 1)/5 and 1 + √6 for a resistor, at 1/√5 and
/// √5 for a reactance; shunt with series at Z0. SWR 3.449 is the trade's "about four to one"
/// (common practice, no source).
#[test]
fn crossovers_for_errors_in_proportion() {
    let (root5, root6) = (5f64.sqrt(), 6f64.sqrt());
    for (angle, z, shown) in [
        ("0", [(root6 - 1.0) / 5.0, 1.0 + root6], [14.495, 172.474]),
        ("90", [1.0 / root5, root5], [22.361, 111.803]),
        ("-90", [1.0 / root5, root5], [22.361, 111.803]),
    ] {
        let found = crossings(&["--relative", "--angle", angle]);
        same(&best_ohms(&found), &z.map(|z| 50.0 * z), 1e-12);
        same(&best_ohms(&found), &shown, 4e-5);
        for c in &found {
            let through = c.between == "shunt-through series-through";
            assert_eq!(c.best, !through);
            if through {
                same(&[c.ohm], &[50.0], 1e-12);
            }
            if angle == "0" {
                let expected = (c.ohm / 50.0).max(50.0 / c.ohm);
                same(&[c.swr.unwrap()], &[expected], 1e-9);
            }
        }
    }
    for (angle, low, high) in [("45", 16.381, 152.616), ("-60", 17.913, 139.564)] {
        let found = crossings(&["--relative", "--angle", angle]);
        same(&best_ohms(&found), &[low, high], 4e-5);
        // SWR = (1 + |Γ|)/(1 − |Γ|), |Γ|² = (z² + 1 − 2z·cos θ)/(z² + 1 + 2z·cos θ).
        for c in &found {
            let z = c.ohm / 50.0;
            let turn = 2.0 * z * angle.parse::<f64>().unwrap().to_radians().cos();
            let gamma = ((z * z + 1.0 - turn) / (z * z + 1.0 + turn)).sqrt();
            same(&[c.swr.unwrap()], &[(1.0 + gamma) / (1.0 - gamma)], 1e-9);
        }
    }
    let other = crossings(&["--relative", "--reference", "75"]);
    same(
        &best_ohms(&other),
        &[15.0 * (root6 - 1.0), 75.0 * (1.0 + root6)],
        1e-12,
    );
}

/// Equal absolute errors: shunt ties with series at Z0 and reflect is never worse.
#[test]
fn crossovers_for_errors_of_one_size() {
    for angle in ["0", "45", "90"] {
        let found = crossings(&["--absolute", "--angle", angle]);
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].between, "shunt-through series-through");
        same(&[found[0].ohm], &[50.0], 1e-12);
        assert!(!found[0].best, "reflect is better there");
    }
}

/// For value they move with the instrument, for change hardly at all.
#[test]
fn crossovers_of_the_presets() {
    for (preset, resistive, reactive, change) in [
        (
            PRESETS[0],
            ["9.10", "275"],
            ["12.6", "198"],
            ["14.42908", "171.6927"],
        ),
        (
            PRESETS[1],
            ["13.7", "183"],
            ["24.0", "104"],
            ["14.43462", "172.8360"],
        ),
        (
            PRESETS[2],
            ["18.5", "135"],
            ["48.3", "51.8"],
            ["14.47248", "172.6881"],
        ),
    ] {
        for (arguments, expected) in [
            (["--instrument", preset].as_slice(), resistive),
            (&["--instrument", preset, "--angle", "90"], reactive),
            (&["--instrument", preset, "--change"], change),
        ] {
            let found = best_ohms(&crossings(arguments));
            assert_eq!(found.len(), 2, "{arguments:?}: {found:?}");
            for (ohm, shown) in found.into_iter().zip(expected) {
                rounds_to(ohm, shown);
            }
        }
        // In words too: the instrument, what for, and each crossover.
        let text = jig(&["crossovers", "--instrument", preset, "--change"]).out;
        let name = preset.replace('-', " ");
        assert!(
            text.starts_with(&format!("Crossovers for change, {name}")),
            "{text}"
        );
        assert!(text.contains("reflect and shunt-through"), "{text}");
    }
}

/// Relative errors k times as large in series tie at k = z·(2z + 1)/(z + 2), errors of one
/// size at k = ((2z + 1)/(z + 2))²: 30 Ω needs 0.5077, and k = 0.5 ties at 29.7 Ω.
#[test]
fn what_would_move_shunt_against_series() {
    for (ohms, relative, absolute) in [
        ("30", 0.5077, 0.7160),
        ("50", 1.0, 1.0),
        ("84.3", 2.0, 1.4070),
        ("306.6", 10.0, 2.6599),
    ] {
        let found = jig(&["crossovers", "--to", ohms]);
        assert_eq!(found.code, ExitCode::SUCCESS, "{}", found.err);
        let ratio = |start: &str| -> f64 {
            let line = found
                .out
                .lines()
                .find(|line| line.starts_with(start))
                .unwrap();
            let rest = line.split_once("must be ").unwrap().1;
            rest.split(' ').next().unwrap().parse().unwrap()
        };
        let z = ohm(ohms) / 50.0;
        let sides = (2.0 * z + 1.0) / (z + 2.0);
        for (start, expected, outside) in [
            ("errors in proportion", z * sides, relative),
            ("errors of one size", sides * sides, absolute),
        ] {
            assert!(
                (ratio(start) - expected).abs() <= 0.5001e-4,
                "{}",
                found.out
            );
            assert!(
                (expected / outside - 1.0).abs() < 1e-3,
                "{expected} {outside}"
            );
        }
        // By duality Z → Z0²/Z whatever treats all S21 alike can't move it.
        let [can, never] = ["Can move it", "Can never move it"].map(|start| {
            found
                .out
                .lines()
                .find(|line| line.starts_with(start))
                .unwrap()
        });
        assert!(
            can.contains("branch inductance") && can.contains("ground loop"),
            "{can}"
        );
        for cause in ["noise floor", "crosstalk", "load standard", "drift"] {
            assert!(never.contains(cause) && !can.contains(cause), "{never}");
        }
    }
    // k = 0.5 → z = ((k − 1) + √((k − 1)² + 16k))/4 = 29.7 Ω.
    let found = jig(&["crossovers", "--to", "29.6535"]).out;
    assert!(
        found.contains("must be 0.5000 times as large in series-through"),
        "{found}"
    );
}

/// A tenth of 1.94 mΩ is less than any contact has, so `reach` and `plan` say that contacts and
/// ground loop are left out; not of the handheld, which never comes near, nor where both are in.
#[test]
fn what_only_contacts_and_the_ground_loop_limit_is_said() {
    let reach = jig(&["reach", "--instrument", "laboratory"]).out;
    let said = "At its lower end, 1.94 mΩ, shunt-through leaves out contact resistance and ground \
                loop, 0 Ω in this budget and about 10 mΩ on a bench: its ±194 µΩ holds only without \
                them.";
    let line = reach.lines().last().unwrap().replace('\u{202f}', " ");
    assert_eq!(line, said);
    assert_eq!(reach.matches("leaves out").count(), 1, "{reach}");
    let found = json(&["reach", "--instrument", "laboratory"]);
    let left_out = |at: usize| found["fixtures"][at]["left_out"].clone();
    assert_eq!(left_out(0), serde_json::json!([]));
    assert_eq!(
        left_out(1),
        serde_json::json!(["contact resistance", "ground loop"])
    );

    let plan = jig(&["plan", "--device", "0.005", "--instrument", "laboratory"]).out;
    assert_eq!(plan.lines().count(), 4, "{plan}");
    let second = plan.lines().nth(2).unwrap();
    assert!(
        second.contains(". Shunt-through leaves out contact resistance and ground"),
        "{plan}"
    );
    for quiet in ["0.5", "50", "4.7k"] {
        let plan = jig(&["plan", "--device", quiet, "--instrument", "handheld"]).out;
        assert!(!plan.contains("leaves out"), "{plan}");
    }
    let text = |more: &str| format!("version = 1\n[instrument]\npreset = \"laboratory\"\n{more}");
    for (more, left) in [
        ("contact = \"1 mΩ\"\n", Some("leaves out ground loop, 0")),
        ("contact = \"1 mΩ\"\nground_loop = \"2 mΩ\"\n", None),
    ] {
        let (_folder, path) = scenario_file(&text(more));
        let found = jig(&["plan", "--device", "0.005", "--instrument", &path]).out;
        match left {
            Some(left) => assert!(found.contains(left), "{found}"),
            None => assert!(!found.contains("leaves out"), "{found}"),
        }
    }
}

#[test]
fn reach_for_ten_percent() {
    for (preset, rows) in [
        (PRESETS[0], [["6.6", "380"], ["0.55", "37"], ["68", "4.5k"]]),
        (
            PRESETS[1],
            [["3.3", "751"], ["0.029", "207"], ["12", "86k"]],
        ),
        (
            PRESETS[2],
            [["1.06", "2.35k"], ["0.0019", "1.76k"], ["1.4", "1.29M"]],
        ),
    ] {
        let arguments = ["reach", "--percent", "10", "--instrument", preset];
        let found = json(&arguments);
        assert_eq!(found["instrument"], preset.replace('-', " "));
        assert_eq!(number(&found["relative_u95"]), 0.1);
        for (k, row) in rows.into_iter().enumerate() {
            let entry = &found["fixtures"][k];
            assert_eq!(entry["fixture"], KEYS[k]);
            let ranges = entry["ranges"].as_array().unwrap();
            assert_eq!(ranges.len(), 1, "{entry}");
            let ends = ["from_ohm", "to_ohm"].map(|end| number(&ranges[0][end]));
            for (end, shown) in ends.into_iter().zip(row) {
                // Outside the radius was rounded to 1.731·e; it is 1.7308.
                rounds_to_within(end, shown, 2e-4);
            }
            // At either end √(−ln 0.05)·e is the wanted tenth: what `read` says there.
            for end in ends {
                let device = format!("{end:e}");
                let read = json(&["read", "--device", &device, "--instrument", preset]);
                let e = number(&read["fixtures"][k]["relative_u"]);
                assert!(
                    (1.731 * e / 0.1 - 1.0).abs() < 1e-3,
                    "{preset} {device}: {e}"
                );
            }
        }
        assert_eq!(
            json(&["reach", "--percent", "10 %", "--instrument", preset]),
            found
        );
        let text = jig(&arguments).out;
        let left_out = found["fixtures"][1]["left_out"].as_array().unwrap().len();
        assert_eq!(
            text.lines().count(),
            5 + usize::from(left_out > 0),
            "{text}"
        );
        assert!(text.contains("value, 95"), "{text}");
    }
    // A wish that no fixture of the handheld meets, in words.
    let never = jig(&["reach", "--percent", "1", "--instrument", "handheld"]).out;
    assert_eq!(never.matches("never").count(), 3, "{never}");
}

#[test]
fn bad_questions_are_refused() {
    for (arguments, words) in [
        (["plan", "--device", ""].as_slice(), ["no number", "4.7k"]),
        (&["plan"], ["no device", "--device 4.7k"]),
        (&["plan", "--device", "330p"], ["frequency", "7.1M"]),
        (&["plan", "none.toml"], ["none.toml", "can't be read"]),
        (&["crossovers", "--angle", "91"], ["91", "-90 to 90"]),
        (&["crossovers", "--angle", "-90.5"], ["-90.5", "-90 to 90"]),
        (&["crossovers", "--angle", "nan"], ["nan", "no number"]),
        (&["crossovers", "--reference", "0"], ["0", "above zero"]),
        (
            &["crossovers", "--relative", "--absolute"],
            ["--relative", "--absolute"],
        ),
        (
            &["crossovers", "--relative", "--instrument", "handheld"],
            ["--relative", "--instrument"],
        ),
        (
            &["crossovers", "--relative", "--change"],
            ["--relative", "--change"],
        ),
        (&["crossovers", "--to", "0"], ["0", "above zero"]),
        (&["crossovers", "--to", "-30"], ["-30", "above zero"]),
        (&["crossovers", "--relativ"], ["--relativ", "--relative"]),
        (
            &["reach", "--percent", "0", "--json"],
            ["is 0 %", "from 0.0001 to 100 %"],
        ),
        (
            &["reach", "--percent", "150 %", "--json"],
            ["is 150 %", "from 0.0001 to 100 %"],
        ),
        (
            &["reach", "--percent=-10", "--json"],
            ["is -10 %", "from 0.0001 to 100 %"],
        ),
        (&["reach", "--percent", "ten"], ["ten", "no number"]),
        (&["reach", "--percent", "3 dB"], ["3 dB", "percentage"]),
        (&["reach", "--angle", "180"], ["180", "-90 to 90"]),
        (&["reach", "--reference", "-50"], ["-50", "above zero"]),
        (
            &["reach", "--instrument", "handhold"],
            ["handhold", "handheld"],
        ),
    ] {
        refuses(arguments, &words);
    }
}

/// A lossless part has no standing-wave ratio, and JSON has no infinities.
#[test]
fn a_lossless_crossover_has_no_swr() {
    for angle in ["90", "-90"] {
        let found = crossings(&["--relative", "--angle", angle]);
        assert_eq!(found.len(), 3);
        assert!(found.iter().all(|crossover| crossover.swr.is_none()));
    }
}
