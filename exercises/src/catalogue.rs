//! The index of tasks.

use std::fmt;
use std::sync::LazyLock;

use jigwise_bench::file::{Keyed, Place, RawTable};
use jigwise_bench::{MAX_QUOTED, ScenarioError, excerpt, hint};

use crate::read_task::{TASK_KEYS, read_task};
use crate::scenarios::scenario;
use crate::task::{Setup, Task};

/// The index of all tasks, in the order of its file.
#[derive(Debug, Clone)]
pub struct Catalogue {
    tasks: Vec<Task>,
}

/// The tasks that come with Jigwise.
pub fn catalogue() -> &'static Catalogue {
    static BUILT_IN: LazyLock<Catalogue> = LazyLock::new(|| {
        Catalogue::from_toml(include_str!("../tasks.toml"), "exercises/tasks.toml")
            .unwrap_or_else(|error| panic!("{error}; the index built in is read by a test"))
    });
    &BUILT_IN
}

/// Why an index can't be read, or that it holds no task of a name.
#[derive(Debug, Clone, PartialEq)]
pub struct CatalogueError(Fault);

#[derive(Debug, Clone, PartialEq)]
enum Fault {
    File(ScenarioError),
    UnknownTask(String),
}

impl CatalogueError {
    /// The line of the index that is at fault, from 1; `None` for an unknown name.
    pub fn line(&self) -> Option<usize> {
        match &self.0 {
            Fault::File(error) => error.line(),
            Fault::UnknownTask(_) => None,
        }
    }

    /// True where a task of that name does not exist.
    pub fn is_unknown_task(&self) -> bool {
        matches!(self.0, Fault::UnknownTask(_))
    }
}

impl std::error::Error for CatalogueError {}

impl From<ScenarioError> for CatalogueError {
    fn from(error: ScenarioError) -> Self {
        Self(Fault::File(error))
    }
}

impl fmt::Display for CatalogueError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.0 {
            Fault::File(error) => error.fmt(f),
            Fault::UnknownTask(message) => f.write_str(message),
        }
    }
}

impl Catalogue {
    /// Reads an index from text; `name` is what errors call it.
    ///
    /// # Errors
    /// [`CatalogueError`] naming file, line and value.
    pub fn from_toml(text: &str, name: &str) -> Result<Self, CatalogueError> {
        let place = Place { file: name, text };
        let raw = RawTable::parse(&place)?;
        let file = Keyed::document(
            &place,
            &raw,
            "an index of tasks",
            Some(&["version", "task"]),
        )?;
        let mut tasks: Vec<Task> = Vec::new();
        for table in file.tables("task", "task", &TASK_KEYS)? {
            let lookup = |name: &str| {
                let found = scenario(name).map_err(|error| error.to_string());
                found.map(Setup::new)
            };
            let task = read_task(&table, &lookup, true)?;
            if tasks.iter().any(|known| known.key == task.key) {
                let message = format!(
                    "there is a task \"{}\" already; give this one another key",
                    task.key
                );
                return Err(table.error("key", message).into());
            }
            tasks.push(task);
        }
        Ok(Self { tasks })
    }

    /// All tasks, in the order of the index.
    pub fn tasks(&self) -> &[Task] {
        &self.tasks
    }

    /// The task of a name.
    ///
    /// # Errors
    /// [`CatalogueError`], which names the nearest.
    pub fn task(&self, key: &str) -> Result<&Task, CatalogueError> {
        self.tasks
            .iter()
            .find(|task| task.key == key)
            .ok_or_else(|| {
                let keys: Vec<&str> = self.tasks.iter().map(Task::key).collect();
                let quoted = excerpt(key, MAX_QUOTED);
                CatalogueError(Fault::UnknownTask(format!(
                    "\"{quoted}\" is no task{}",
                    hint(key, &keys)
                )))
            })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::area::Area;
    use jigwise_bench::Fixture;

    const GOOD: &str = r#"version = 1
[[task]]
key = "one"
title = "One"
fixture = "reflect"
scenario = "match"
asks = "resistance"
digits = 3
prompt = "Of {{reference 2}}?"
hints = ["h"]
area = "reading"
objective = "o"
level = 1
minutes = 3
chapter = "reflect/worked.md"
"#;

    #[test]
    fn wrong_entries_have_their_line() {
        assert!(Catalogue::from_toml(GOOD, "t").is_ok());
        for (from, to, line, reason) in [
            ("version = 1", "version = 2", 1, "expected 1"),
            ("reflect", "reflekt", 5, "expected one of"),
            ("\"match\"", "\"mach\"", 6, "did you mean \"match\"?"),
            ("\"resistance\"", "\"ohms\"", 7, "expected one of"),
            ("digits = 3", "digits = 0", 8, "from 1 to 9"),
            ("digits = 3", "", 7, "needs either"),
            ("digits = 3", "uncertainty = \"2 V\"", 8, "uncertainty"),
            (
                "{{reference 2}}",
                "{{refrence}}",
                9,
                "did you mean \"reference\"?",
            ),
            ("[\"h\"]", "[]", 10, "at least one"),
            ("title", "titel", 4, "did you mean \"title\"?"),
            ("\"resistance\"", "\"formula\"", 7, "neither digits nor"),
        ] {
            let text = GOOD.replacen(from, to, 1);
            let error = Catalogue::from_toml(&text, "tasks.toml").unwrap_err();
            assert_eq!(error.line(), Some(line), "{error}");
            assert!(error.to_string().contains(reason), "{error}");
        }
        let twice = format!("{GOOD}{}", &GOOD["version = 1\n".len()..]);
        let error = Catalogue::from_toml(&twice, "tasks.toml").unwrap_err();
        assert_eq!(error.line(), Some(17), "{error}");
    }

    #[test]
    fn there_are_six_tasks_an_area_at_least() {
        for area in Area::ALL {
            let tasks = catalogue().tasks().iter();
            let count = tasks.filter(|task| task.area() == area).count();
            assert!(count >= 6, "{area:?}: {count}");
        }
        assert!(catalogue().tasks().len() >= 54);
    }

    #[test]
    fn there_are_three_tasks_a_fixture_at_least() {
        for fixture in Fixture::ALL {
            let count = catalogue()
                .tasks()
                .iter()
                .filter(|task| task.fixture() == fixture)
                .count();
            assert!(count >= 3, "{fixture:?}");
        }
    }
}
