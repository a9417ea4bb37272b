//! A calibration in a file: which sweeps were made of which standards.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use jigwise_physics::{CalibrationStep, Port, ReferenceImpedance, ReflectionStandard, SwitchTerms};
use jigwise_touchstone::Sweep;

use crate::{Beside, StandardSweeps, SweepsAhead};
use jigwise_bench::file::{
    self, Keyed, OFFSET_KEYS, Place, RawTable, offset_line, standard_keys, standard_of,
};
use jigwise_bench::{METHODS, ScenarioError};

/// A calibration file, read with all the sweeps that it names.
///
/// ```toml
/// version = 1
/// method = "both directions"  # see METHODS for the others
///
/// [open]
/// file = "open.s1p"           # a .s2p holds both ports
/// second_file = "open-2.s1p"  # the same standard at port 2
/// capacitance = ["60 fF", "20e-27 F/Hz"]
/// delay = "15 ps"
///
/// [short]
/// file = "short.s2p"
/// inductance = ["5 pH"]
/// delay = "15 ps"
/// loss = "1 Gohm/s"
///
/// [load]
/// file = "load.s2p"
/// known_as = "load-measured-elsewhere.s1p"
///
/// [through]
/// file = "through.s2p"
/// delay = "0 s"
///
/// [isolation]
/// file = "isolation.s2p"
///
/// [switch]
/// file = "switch.s2p"         # S21: forward term, S12: reverse term
/// ```
///
/// File names are relative to the calibration file. A standard without a definition is ideal;
/// `known_as` names a one-port sweep of it that somebody else measured, and stands instead of a
/// definition.
#[derive(Debug, Clone)]
pub struct CalibrationFile {
    /// The sweeps and what they are taken for.
    pub standards: Arc<StandardSweeps>,
    /// The file of each sweep, with what it is of.
    pub files: Vec<(Beside, PathBuf)>,
}

const KEYS: [&str; 8] = [
    "version",
    "method",
    ReflectionStandard::Open.name(),
    ReflectionStandard::Short.name(),
    ReflectionStandard::Load.name(),
    CalibrationStep::Through.name(),
    CalibrationStep::Isolation.name(),
    SwitchTerms::NAME,
];
const REFLECTION_KEYS: [&str; 3] = ["file", "second_file", "known_as"];

impl CalibrationFile {
    /// Reads a calibration file for readings at `reference`.
    ///
    /// # Errors
    /// [`ScenarioError`] naming file, line and value.
    pub fn read(path: &Path, reference: ReferenceImpedance) -> Result<Self, ScenarioError> {
        let (text, file) = file::text_of(path)?;
        let place = Place {
            file: &file,
            text: &text,
        };
        let raw = RawTable::parse(&place)?;
        let keyed = Keyed::document(&place, &raw, "a calibration file", Some(&KEYS))?;
        let folder = path.parent().unwrap_or(Path::new(""));
        // What is wrong with a file is said where its name is used.
        let named = REFLECTION_KEYS.iter().flat_map(|key| raw.texts_of(key));
        let ahead = SweepsAhead::of(&named.map(|name| folder.join(name)).collect::<Vec<_>>());
        Reader {
            folder,
            reference,
            files: Vec::new(),
            ahead,
        }
        .read(&keyed)
    }
}

struct Reader<'a> {
    folder: &'a Path,
    reference: ReferenceImpedance,
    files: Vec<(Beside, PathBuf)>,
    ahead: SweepsAhead,
}

impl Reader<'_> {
    fn read(mut self, keyed: &Keyed<'_>) -> Result<CalibrationFile, ScenarioError> {
        let Some(method) = keyed.choice("method", &METHODS)? else {
            return Err(keyed.error(
                "method",
                "there is no method; add for example method = \"both directions\", or \"one port\" for \
                 reflect",
            ));
        };
        let mut standards = StandardSweeps::ideal(method, self.reference);
        for of in ReflectionStandard::ALL {
            let keys = [&REFLECTION_KEYS[..], &standard_keys(of)].concat();
            let Some(table) = keyed.table(of.name(), of.name(), &keys)? else {
                continue;
            };
            *of.of_mut(&mut standards.kit.reflections) = standard_of(&table, of, self.reference)?;
            let [one, two] = &mut standards.reflections;
            [*of.of_mut(one), *of.of_mut(two)] = self.reflection(&table, of)?;
            *of.of_mut(&mut standards.known_as) = self.known(&table, of)?;
        }
        let through = CalibrationStep::Through.name();
        let through_keys = [&["file"], &OFFSET_KEYS[..]].concat();
        if let Some(table) = keyed.table(through, through, &through_keys)? {
            standards.kit.through.line = offset_line(&table)?;
            standards.through = self.needed(&table, Beside::Through)?;
        }
        let isolation = CalibrationStep::Isolation.name();
        if let Some(table) = keyed.table(isolation, isolation, &["file"])? {
            standards.isolation = self.needed(&table, Beside::Isolation)?;
        }
        if let Some(table) = keyed.table(SwitchTerms::NAME, SwitchTerms::NAME, &["file"])? {
            standards.switch_terms = self.needed(&table, Beside::SwitchTerms)?;
        }
        check_measured(keyed, &standards)?;
        Ok(CalibrationFile {
            standards: Arc::new(standards),
            files: self.files,
        })
    }

    fn sweep(
        &mut self,
        table: &Keyed<'_>,
        key: &str,
        what: Beside,
    ) -> Result<Option<Sweep>, ScenarioError> {
        let Some(name) = table.text(key)? else {
            return Ok(None);
        };
        let path = self.folder.join(name.as_ref());
        let sweep = self
            .ahead
            .take(&path)
            .map_err(|error| table.error(key, format!("{key}, {what}: {error}")))?;
        self.files.push((what, path));
        Ok(Some(sweep))
    }

    fn needed(&mut self, table: &Keyed<'_>, what: Beside) -> Result<Option<Sweep>, ScenarioError> {
        match self.sweep(table, "file", what)? {
            Some(sweep) => Ok(Some(sweep)),
            None => Err(table.error(
                "file",
                format!("{what} has no file; add for example file = \"name.s2p\""),
            )),
        }
    }

    fn reflection(
        &mut self,
        table: &Keyed<'_>,
        of: ReflectionStandard,
    ) -> Result<[Option<Sweep>; 2], ScenarioError> {
        let [first, second] = Port::ALL.map(|port| Beside::Standard(of, port));
        let Some(sweep) = self.needed(table, first)? else {
            return Ok([None, None]);
        };
        let [one, mut two] = ports_of(sweep)
            .map_err(|message| table.error("file", format!("file, {first}: {message}")))?;
        if table.has("second_file") {
            if two.is_some() {
                return Err(table.error(
                    "second_file",
                    "file holds both ports already; leave second_file out, or give two .s1p",
                ));
            }
            two = self.sweep(table, "second_file", second)?;
        }
        Ok([one, two])
    }

    fn known(
        &mut self,
        table: &Keyed<'_>,
        of: ReflectionStandard,
    ) -> Result<Option<Sweep>, ScenarioError> {
        let own = REFLECTION_KEYS;
        if table.has("known_as")
            && let Some((key, offset)) = table.other_than(&own)
        {
            return Err(table.error_at(
                offset,
                format!("known_as and {key} both say what the standard is; keep one of them"),
            ));
        }
        self.sweep(table, "known_as", Beside::Definition(of))
    }
}

/// Refuses a method whose standards are not all named, at the line of the method.
fn check_measured(keyed: &Keyed<'_>, standards: &StandardSweeps) -> Result<(), ScenarioError> {
    // A table holds both ports, so one at port 1 goes by the table's name.
    let missing: Vec<String> = standards
        .missing()
        .into_iter()
        .map(|what| match what {
            Beside::Standard(of, Port::One) => format!("the {}", of.name()),
            other => other.to_string(),
        })
        .collect();
    if missing.is_empty() {
        return Ok(());
    }
    Err(keyed.error(
        "method",
        format!(
            "the calibration \"{}\" needs {}, which no table names; add {}, or choose a method \
             that does without",
            standards.method,
            missing.join(", "),
            if missing.len() == 1 { "it" } else { "them" }
        ),
    ))
}

/// A sweep of one standard at each port of a two-port file, port 1 first; nothing at port 2
/// where the file was measured from port 1 alone.
///
/// # Errors
/// A sentence where there are more than two ports.
pub fn ports_of(sweep: Sweep) -> Result<[Option<Sweep>; 2], String> {
    match sweep.ports() {
        1 => Ok([Some(sweep), None]),
        2 => {
            let of = |port: usize| {
                let s = (0..sweep.len()).map(|k| sweep.s(k, port, port)).collect();
                let reference = sweep.references_ohm()[port - 1];
                Sweep::new(1, &[reference], sweep.frequency_hz().to_vec(), s)
                    .map_err(|error| error.to_string())
            };
            let second = if sweep.is_one_direction() {
                None
            } else {
                Some(of(2)?)
            };
            Ok([Some(of(1)?), second])
        }
        more => Err(format!(
            "found {more} ports, expected one (.s1p) or both (.s2p)"
        )),
    }
}
