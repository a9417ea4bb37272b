//! A student's folder holds the answers in no form, and no short seed makes the same trays.

use std::collections::{HashMap, HashSet};
use std::fs;

use jigwise_exercises::tray::{KEY_PATH, Key, Seed, TrayFile, TraySet, lab, labs};
use jigwise_exercises::{Answer, Asks};
use jigwise_tests::lab::lab as lab_command;

const SEED: &str = "c40de1f2390b7a5586d2114f9be7a063";
const GROUPS: u32 = 6;

fn sets() -> impl Iterator<Item = TraySet> {
    let seed: Seed = SEED.parse().unwrap();
    labs()
        .iter()
        .map(move |known| TraySet::new(lab(known.key()).unwrap(), seed, GROUPS))
}

fn of_students(set: &TraySet) -> Vec<TrayFile> {
    (1..=GROUPS)
        .flat_map(|number| set.files_of(&set.group(number).unwrap()).unwrap())
        .collect()
}

/// Every number of the key, by the group.
fn secrets(set: &TraySet, number: u32) -> Vec<f64> {
    let key = &set.teachers_files().unwrap()[0];
    let key: toml::Table = String::from_utf8(key.bytes.clone())
        .unwrap()
        .parse()
        .unwrap();
    let group = &key["group"].as_array().unwrap()[number as usize - 1];
    let mut found: Vec<f64> = group["drawn"]
        .as_str()
        .unwrap()
        .split([' ', ';'])
        .filter(|word| word.contains('e'))
        .filter_map(|word| word.parse().ok())
        .collect();
    for question in set.group(number).unwrap().questions() {
        match question.task.right_answer() {
            Some(Answer::Value(value)) => found.push(value.re),
            _ => found.extend(question.task.knowable().map(|knowable| knowable.right)),
        }
    }
    found
}

/// A number as it might be hidden: digits, hexadecimal, bytes of doubles and singles in both orders,
/// and all of them in base 64 at each of the three offsets. Of the digits the first `count` are enough.
fn disguises(value: f64, count: usize) -> Vec<Vec<u8>> {
    let mut plain: Vec<Vec<u8>> = Vec::new();
    let digits = format!("{:.9e}", value.abs())
        .split('e')
        .next()
        .unwrap()
        .replace('.', "");
    let digits = &digits[..count];
    plain.push(digits.as_bytes().to_vec());
    for at in 1..=4 {
        plain.push(format!("{}.{}", &digits[..at], &digits[at..]).into_bytes());
    }
    let bytes = [
        value.to_le_bytes().to_vec(),
        value.to_be_bytes().to_vec(),
        (value as f32).to_le_bytes().to_vec(),
        (value as f32).to_be_bytes().to_vec(),
    ];
    let hex = |bytes: &[u8]| -> String { bytes.iter().map(|b| format!("{b:02x}")).collect() };
    let mut all = plain.clone();
    all.extend(bytes.iter().cloned());
    all.extend(bytes.iter().map(|bytes| hex(bytes).into_bytes()));
    all.extend(
        bytes
            .iter()
            .map(|bytes| hex(bytes).to_uppercase().into_bytes()),
    );
    for text in plain.iter().chain(&bytes) {
        for lead in 0..3 {
            let mut shifted = vec![b'x'; lead];
            shifted.extend(text);
            let coded = base64(&shifted);
            // Letters at the ends also hold bits of what stands beside.
            let start = [0, 2, 3][lead];
            let end = shifted.len() * 8 / 6;
            if end > start + 4 {
                all.push(coded.as_bytes()[start..end].to_vec());
            }
        }
    }
    all
}

fn base64(bytes: &[u8]) -> String {
    const SIGNS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut out = String::new();
    for three in bytes.chunks(3) {
        let word = three
            .iter()
            .fold(0u32, |word, byte| (word << 8) | u32::from(*byte));
        let word = word << (8 * (3 - three.len()));
        for place in 0..=three.len() {
            let at = (word >> (18 - 6 * place)) & 63;
            out.push(char::from(SIGNS[at as usize]));
        }
    }
    out
}

fn contains(text: &[u8], part: &[u8]) -> bool {
    let starts = text
        .iter()
        .enumerate()
        .filter(|(_, byte)| **byte == part[0]);
    starts
        .into_iter()
        .any(|(at, _)| text[at..].starts_with(part))
}

#[test]
fn the_search_finds_what_is_hidden() {
    let value: f64 = 4_712.345;
    for hidden in [
        "R = 4712.3 ohm".as_bytes().to_vec(),
        b"4.7123e3".to_vec(),
        value.to_le_bytes().to_vec(),
        base64(format!("the answer {value}").as_bytes()).into_bytes(),
        base64(&value.to_be_bytes()).into_bytes(),
    ] {
        let text = [b"before ".to_vec(), hidden.clone(), b" after".to_vec()].concat();
        let found = disguises(value, 5).iter().any(|part| contains(&text, part));
        assert!(found, "{}", String::from_utf8_lossy(&hidden));
    }
}

#[test]
fn no_value_of_the_key_is_in_a_students_folder() {
    for set in sets() {
        for number in 1..=GROUPS {
            let folder = set.files_of(&set.group(number).unwrap()).unwrap();
            for value in secrets(&set, number) {
                for file in &folder {
                    // A Touchstone file is full of digits, and five in a row happen by chance.
                    let count = if file.path.contains("/data/") { 7 } else { 5 };
                    for part in disguises(value, count) {
                        assert!(
                            !contains(&file.bytes, &part),
                            "{} holds {value} as {:?}",
                            file.path,
                            String::from_utf8_lossy(&part)
                        );
                    }
                }
            }
            let seed = SEED.as_bytes();
            for file in &folder {
                assert!(!contains(&file.bytes, seed) && !contains(&file.bytes, &seed[..12]));
                assert!(!contains(&file.bytes, b"teacher"), "{}", file.path);
            }
        }
    }
}

/// What differs between two groups is drawn data, the group's number and the code; names, comments and
/// the order of everything are the same for all.
#[test]
fn names_and_order_tell_nothing() {
    for set in sets() {
        let mut shapes = HashSet::new();
        for number in 1..=GROUPS {
            let folder = set.files_of(&set.group(number).unwrap()).unwrap();
            let names: Vec<String> = folder
                .iter()
                .map(|file| {
                    let (folder, name) = file.path.split_once('/').unwrap();
                    name.replace(folder, "group")
                })
                .collect();
            let form = folder
                .iter()
                .find(|file| file.path.ends_with(".toml"))
                .unwrap();
            let form = String::from_utf8(form.bytes.clone()).unwrap();
            let form = form.replace(&format!("group = {number}\n"), "");
            shapes.insert((names, form));
        }
        assert_eq!(shapes.len(), 1, "{}", set.lab().key());
    }
}

/// The parts of the junk box get their letters in a drawn order, each order about as often.
#[test]
fn the_letters_are_drawn() {
    let seed: Seed = SEED.parse().unwrap();
    let set = TraySet::new(lab("junk-box").unwrap(), seed, 600);
    let mut of_first: HashMap<String, u32> = HashMap::new();
    for number in 1..=600 {
        let group = set.group(number).unwrap();
        let first = &group.questions()[1].task;
        let kind = format!("{:?} {:?}", first.asks(), first.fixture());
        *of_first.entry(kind).or_default() += 1;
    }
    // Six parts, of which two are resistors in series-through: 100 each, 200 for these two. A count
    // of 100 scatters by 9, so 60 to 140 and 140 to 260 hold for all with a chance of 1e-4.
    assert_eq!(of_first.len(), 5, "{of_first:?}");
    for (kind, count) in of_first {
        let is_two = kind.contains("ResistanceClaim") && kind.contains("Series");
        let expected = if is_two { 140..260 } else { 60..140 };
        assert!(expected.contains(&count), "{kind}: {count}");
    }
}

#[test]
fn a_seed_gives_the_same_bytes_again_and_groups_differ() {
    for (a, b) in sets().zip(sets()) {
        assert_eq!(of_students(&a), of_students(&b));
        assert_eq!(a.teachers_files().unwrap(), b.teachers_files().unwrap());
        let mut data = HashMap::new();
        for file in of_students(&a)
            .iter()
            .filter(|file| file.path.contains("/data/"))
        {
            let other = data.insert(file.bytes.clone(), file.path.clone());
            assert_eq!(other, None, "{}", file.path);
        }
    }
}

/// Whoever tries all short seeds finds neither the code nor the first reading of any file.
#[test]
fn seeds_from_1_to_10_000_make_no_sealed_tray() {
    let set = sets().nth(2).unwrap();
    assert!(SEED.parse::<Seed>().unwrap().is_sealed());
    let code = set.code();
    let answers = |set: &TraySet| -> Vec<String> {
        let group = set.group(1).unwrap();
        let questions = group.questions().iter();
        questions
            .map(|question| question.task.answer_words())
            .collect()
    };
    let own = answers(&set);
    for short in 1..=10_000 {
        let seed: Seed = short.to_string().parse().unwrap();
        assert!(!seed.is_sealed());
        let other = TraySet::new(set.lab(), seed, 1);
        assert_ne!(other.code(), code);
        // The answers too, for a part of them: they take longer.
        if short % 100 == 0 {
            assert_ne!(answers(&other), own);
        }
    }
}

#[test]
fn the_command_makes_sealed_trays_and_the_same_again_from_the_key() {
    let place = tempfile::tempdir().unwrap();
    let path = |name: &str| place.path().join(name).display().to_string();
    let make = |out: &str, more: &[&str]| {
        let out = path(out);
        let all = ["tray", "--lab", "three-ways", "--class", "2", "--out", &out];
        lab_command(&[&all, more].concat())
    };
    let made = make("a", &[]);
    assert!(made.is_good(), "{}", made.err);
    assert_eq!(made.err, "");
    let key = fs::read_to_string(place.path().join("a").join(KEY_PATH)).unwrap();
    let table: toml::Table = key.parse().unwrap();
    let seed = table["seed"].as_str().unwrap();
    assert_eq!(seed.len(), 32);
    assert!(Key::read(&key, "key.toml").is_ok());
    assert!(make("b", &["--seed", seed]).is_good());
    for file in [
        "group-01/sheet.html",
        "group-02/data/r-reflect.s1p",
        KEY_PATH,
    ] {
        let read = |of: &str| fs::read(place.path().join(of).join(file)).unwrap();
        assert_eq!(read("a"), read("b"), "{file}");
    }
    // Another time other bits come from the system.
    assert!(make("c", &[]).is_good());
    let other = fs::read_to_string(place.path().join("c").join(KEY_PATH)).unwrap();
    assert_ne!(key, other);
    let warned = make("d", &["--seed", "7"]);
    assert!(
        warned.is_good() && warned.err.contains("this seed is short"),
        "{}",
        warned.err
    );
    // Nothing is replaced unasked, and nothing that is no tray ever.
    assert!(make("a", &[]).err.contains("holds trays already"));
    fs::create_dir(place.path().join("own")).unwrap();
    fs::write(place.path().join("own/letter.txt"), "dear").unwrap();
    for more in [&[][..], &["--replace"]] {
        assert!(make("own", more).err.contains("holds no trays"));
    }
    assert!(make("a", &["--replace"]).is_good());
    let left: Vec<_> = fs::read_dir(place.path()).unwrap().flatten().collect();
    assert_eq!(left.len(), 5, "{left:?}");
    for (arguments, says) in [
        (
            ["tray", "--lab", "junkbox", "--class", "2", "--out", "x"],
            "did you mean \"junk-box\"?",
        ),
        (
            ["tray", "--lab", "junk-box", "--class", "0", "--out", "x"],
            "--class",
        ),
        (
            ["tray", "--lab", "junk-box", "--class", "many", "--out", "x"],
            "--class",
        ),
    ] {
        let told = lab_command(&arguments);
        assert!(!told.is_good() && told.err.contains(says), "{}", told.err);
    }
}

/// The kinds that trays ask for.
#[test]
fn trays_ask_for_values_with_their_plus_minus() {
    let claims = sets().flat_map(|set| {
        let group = set.group(1).unwrap();
        group.questions().to_vec()
    });
    let count = claims
        .filter(|question| question.task.asks().is_claim())
        .count();
    assert!(count >= 14, "{count}");
    let kinds: HashSet<Asks> = sets()
        .flat_map(|set| set.group(1).unwrap().questions().to_vec())
        .map(|question| question.task.asks())
        .collect();
    assert!(kinds.len() >= 7, "{kinds:?}");
}
