//! A folder with invented sweeps, for end-to-end tests of the commands.

use std::f64::consts::TAU;
use std::fs;
use std::process::ExitCode;

use num_complex::Complex64;
use tempfile::TempDir;

use crate::jig::jig;

/// The three fixtures as the commands name them, with the ending of their files.
pub const FIXTURES: [(&str, &str); 3] = [
    ("reflect", "s1p"),
    ("shunt-through", "s2p"),
    ("series-through", "s2p"),
];

/// The table of the club bench, as scenarios name it.
pub const CLUB_BENCH: &str = "[instrument]\npreset = \"club bench\"\n";

/// Ohms of R and L in series.
pub fn coil_ohm(r_ohm: f64, l_h: f64, freq_hz: f64) -> Complex64 {
    Complex64::new(r_ohm, TAU * freq_hz * l_h)
}

/// A folder of its own, gone with it.
#[derive(Debug)]
pub struct Workbench {
    folder: TempDir,
}

impl Workbench {
    /// An empty one.
    ///
    /// # Panics
    /// Where the system gives no folder.
    pub fn new() -> Self {
        Self {
            folder: tempfile::tempdir().expect("a folder"),
        }
    }

    /// The path of a name in it.
    pub fn path(&self, name: &str) -> String {
        let path = self.folder.path().join(name);
        path.to_str().expect("UTF-8").to_owned()
    }

    /// Writes a file and returns its path.
    ///
    /// # Panics
    /// Where it can't be written.
    pub fn write(&self, name: &str, content: impl AsRef<[u8]>) -> String {
        let path = self.path(name);
        fs::write(&path, content).expect("written");
        path
    }

    /// Reads a file.
    ///
    /// # Panics
    /// Where it can't be read.
    pub fn read(&self, name: &str) -> String {
        fs::read_to_string(self.path(name)).unwrap_or_else(|error| panic!("{name}: {error}"))
    }

    /// `jig sweep` of a scenario in a fixture into `{stem}.s1p` or `.s2p`, raw with standards
    /// and blanks beside it; the path of the part's file.
    ///
    /// # Panics
    /// Where the command fails.
    #[track_caller]
    pub fn measured(&self, scenario: &str, fixture: &str, stem: &str, more: &[&str]) -> String {
        let (_, ending) = FIXTURES
            .into_iter()
            .find(|(name, _)| *name == fixture)
            .expect("a fixture");
        let scenario = self.write(&format!("{stem}.toml"), scenario);
        let out = self.path(&format!("{stem}.{ending}"));
        let arguments = [
            "sweep",
            &scenario,
            "--fixture",
            fixture,
            "--replace",
            "--out",
            &out,
        ];
        let outcome = jig(&[&arguments, more].concat());
        assert_eq!(outcome.code, ExitCode::SUCCESS, "{}", outcome.err);
        out
    }

    /// The arguments that name the standards beside a raw sweep of `stem`, as far as they
    /// exist.
    pub fn standards(&self, stem: &str, with_second_port: bool) -> Vec<String> {
        let mut arguments = Vec::new();
        for (flag, names) in [
            ("--open", ["open.s1p", "open-2.s1p"]),
            ("--short", ["short.s1p", "short-2.s1p"]),
            ("--load", ["load.s1p", "load-2.s1p"]),
            ("--thru", ["through.s2p", "no-other"]),
            ("--isolation", ["isolation.s2p", "no-other"]),
        ] {
            for (at, name) in names.into_iter().enumerate() {
                let path = self.path(&format!("{stem}-{name}"));
                if (at == 0 || with_second_port) && fs::exists(&path).unwrap_or(false) {
                    arguments.extend([flag.to_owned(), path]);
                }
            }
        }
        arguments
    }
}

/// A folder with one scenario file in it, and the file's path.
///
/// # Panics
/// Where it can't be written.
pub fn scenario_file(text: &str) -> (Workbench, String) {
    let bench = Workbench::new();
    let path = bench.write("bench.toml", text);
    (bench, path)
}

impl Default for Workbench {
    fn default() -> Self {
        Self::new()
    }
}
