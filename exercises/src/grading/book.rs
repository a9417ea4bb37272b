//! Forms held against the key.

use std::borrow::Cow;
use std::cmp::Reverse;
use std::collections::{BTreeMap, HashMap};

use jigwise_bench::ScenarioError;
use jigwise_reduce::on_all_cores;

use super::form::{Form, FormError, FormFile, Written};
use crate::check::Verdict;
use crate::slip::Slip;
use crate::tray::{Group, Question, TraySet};

/// What has become of a form.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Status {
    /// It counts.
    Graded,
    /// It counts and came after the time that was set.
    Late,
    /// It is graded and does not count, because another form of the group does.
    SetAside,
    /// It can't be graded.
    Broken,
    /// The group handed in nothing.
    Missing,
}

impl Status {
    /// As a table has it.
    pub const fn word(&self) -> &'static str {
        match self {
            Self::Graded => "graded",
            Self::Late => "late",
            Self::SetAside => "set aside",
            Self::Broken => "broken",
            Self::Missing => "missing",
        }
    }

    /// True for a form whose points count.
    pub const fn counts(&self) -> bool {
        matches!(self, Self::Graded | Self::Late)
    }
}

/// One answer with its marks.
#[derive(Debug, Clone, PartialEq)]
pub struct Marked {
    /// The question's name on the form.
    pub name: String,
    /// The question's title.
    pub title: String,
    /// The answer as it was written.
    pub answer: String,
    /// What is said of it.
    pub said: String,
    /// The slip behind a wrong answer, where it is known.
    pub slip: Option<Slip>,
    /// The points.
    pub points: f64,
    /// The most points.
    pub out_of: u32,
}

/// One form, or a group without one.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// The file; empty for a group that handed in nothing.
    pub form: String,
    /// The group, where it is known.
    pub group: Option<u32>,
    /// The names on the form.
    pub names: String,
    /// When it was handed in, as the form says.
    pub handed_in: String,
    /// What has become of it.
    pub status: Status,
    /// Its answers, in the order of the questions.
    pub marked: Vec<Marked>,
    /// What has to be said of the form.
    pub remarks: Vec<String>,
}

impl Row {
    /// The sum of its points.
    pub fn points(&self) -> f64 {
        self.marked.iter().map(|marked| marked.points).sum()
    }
}

/// All forms of a class.
#[derive(Debug, Clone)]
pub struct Gradebook {
    /// The title of the lab.
    pub title: String,
    /// The code of the trays.
    pub code: String,
    /// One row for each form, and for each group that handed in nothing, by group.
    pub rows: Vec<Row>,
    /// The questions: name and most points.
    pub questions: Vec<(String, u32)>,
}

/// Grades all forms. `due` is a time as forms have it, `2026-11-30T12:45`: what came later is marked
/// late and graded all the same. `progress` is told the share that is done.
///
/// # Errors
/// [`ScenarioError`] where the lab's own file is wrong; no form can cause one.
pub fn grade(
    set: &TraySet,
    forms: &[FormFile],
    due: Option<&str>,
    mut progress: impl FnMut(f64),
) -> Result<Gradebook, ScenarioError> {
    const RUN: usize = 1_024;
    let code = set.code();
    let press = set.press()?.for_grading()?;
    let first = press.group(1)?;
    let mut rows = Vec::with_capacity(forms.len());
    for start in (0..forms.len()).step_by(RUN) {
        let run = start..(start + RUN).min(forms.len());
        let group_of = |number: u32| press.group(number).map(Cow::Owned);
        rows.extend(on_all_cores(run.clone(), |at| {
            let file = &forms[at];
            row(file, Form::read(file, set, &code, group_of), due)
        }));
        progress(run.end as f64 / forms.len() as f64);
    }
    set_duplicates_aside(&mut rows);
    let handed_in: std::collections::HashSet<u32> =
        rows.iter().filter_map(|row| row.group).collect();
    for number in (1..=set.groups()).filter(|number| !handed_in.contains(number)) {
        rows.push(Row {
            form: String::new(),
            group: Some(number),
            names: String::new(),
            handed_in: String::new(),
            status: Status::Missing,
            marked: Vec::new(),
            remarks: vec![format!("group {number} handed in no form")],
        });
    }
    rows.sort_by(|a, b| {
        let place = |row: &Row| (row.group.unwrap_or(u32::MAX), row.form.clone());
        place(a).cmp(&place(b))
    });
    Ok(Gradebook {
        title: set.lab().title().to_owned(),
        code,
        rows,
        questions: first
            .questions()
            .iter()
            .map(|question| (question.name.clone(), question.points))
            .collect(),
    })
}

fn row(file: &FormFile, read: Result<(Form, Cow<'_, Group>), FormError>, due: Option<&str>) -> Row {
    let (form, group) = match read {
        Ok(read) => read,
        Err(error) => {
            return Row {
                form: file.name.clone(),
                group: error.group(),
                names: String::new(),
                handed_in: String::new(),
                status: Status::Broken,
                marked: Vec::new(),
                remarks: vec![error.to_string()],
            };
        }
    };
    let mut remarks = form.remarks;
    let mut status = Status::Graded;
    if let Some(due) = due {
        // Times of one form, year first, are in the order of their letters.
        if form.handed_in.is_empty() {
            remarks.push("the form says no time, so whether it is late can't be told".to_owned());
        } else if form.handed_in.as_str() > due {
            status = Status::Late;
            remarks.push(format!("handed in at {}, due at {due}", form.handed_in));
        }
    }
    let marked: Vec<Marked> = group
        .questions()
        .iter()
        .zip(form.answers)
        .map(|(question, written)| mark(question, written, &file.name))
        .collect();
    if marked.iter().all(|marked| marked.answer.is_empty()) {
        remarks.push("every answer is blank".to_owned());
    }
    Row {
        form: file.name.clone(),
        group: Some(form.group),
        names: form.names,
        handed_in: form.handed_in,
        status,
        marked,
        remarks,
    }
}

fn mark(question: &Question, written: Written, file: &str) -> Marked {
    let none = |answer: String, said: String| Marked {
        name: question.name.clone(),
        title: question.task.title().to_owned(),
        answer,
        said,
        slip: None,
        points: 0.0,
        out_of: question.points,
    };
    let (text, line) = match written {
        Written::Blank => return none(String::new(), "Left blank.".to_owned()),
        Written::Unreadable(said) => return none("?".to_owned(), said),
        Written::Text { text, line } => (text, line),
    };
    match question.task.check(&text) {
        Ok(verdict) => Marked {
            said: verdict.to_string(),
            slip: verdict.slip(),
            points: points(&verdict, question.points),
            ..none(text, String::new())
        },
        Err(error) => {
            let place = line.map_or(file.to_owned(), |line| format!("{file}, line {line}"));
            let form = question.form();
            none(text, format!("{place}: {error}. {form}"))
        }
    }
}

/// Points in quarters, rounded up: a part of an answer is worth something.
fn points(verdict: &Verdict, out_of: u32) -> f64 {
    (4.0 * verdict.credit() * f64::from(out_of)).ceil() / 4.0
}

/// Of several forms of one group the latest counts, where all say when; else the first by name.
fn set_duplicates_aside(rows: &mut [Row]) {
    let mut by_group: HashMap<u32, Vec<usize>> = HashMap::new();
    for (at, row) in rows.iter().enumerate() {
        if let (Some(group), true) = (row.group, row.status.counts()) {
            by_group.entry(group).or_default().push(at);
        }
    }
    for (group, mut of_group) in by_group {
        if of_group.len() < 2 {
            continue;
        }
        of_group.sort_by(|a, b| rows[*a].form.cmp(&rows[*b].form));
        let all_timed = of_group.iter().all(|at| !rows[*at].handed_in.is_empty());
        let kept = match all_timed {
            true => of_group
                .iter()
                .copied()
                .max_by(|a, b| rows[*a].handed_in.cmp(&rows[*b].handed_in)),
            false => of_group.first().copied(),
        };
        let Some(kept) = kept else { continue };
        let name = rows[kept].form.clone();
        let why = if all_timed {
            "the latest"
        } else {
            "the first by name"
        };
        let count = of_group.len();
        rows[kept].remarks.push(format!(
            "group {group} handed in {count} forms; this one counts, {why}"
        ));
        for at in of_group.into_iter().filter(|at| *at != kept) {
            rows[at].status = Status::SetAside;
            rows[at].remarks.push(format!(
                "group {group} handed in {count} forms; {name} counts, {why}"
            ));
        }
    }
}

impl Gradebook {
    /// The most points.
    pub fn out_of(&self) -> u32 {
        self.questions.iter().map(|(_, points)| points).sum()
    }

    /// The slips of the class, the most frequent first, with how often each was made.
    pub fn slips(&self) -> Vec<(String, usize)> {
        let mut counted: BTreeMap<String, usize> = BTreeMap::new();
        for row in self.rows.iter().filter(|row| row.status.counts()) {
            for slip in row.marked.iter().filter_map(|marked| marked.slip) {
                *counted.entry(slip.to_string()).or_default() += 1;
            }
        }
        let mut slips: Vec<(String, usize)> = counted.into_iter().collect();
        slips.sort_by_key(|(_, count)| Reverse(*count));
        slips
    }

    /// How many forms have each status, in a line.
    pub fn counts(&self) -> String {
        let counts = [
            Status::Graded,
            Status::Late,
            Status::SetAside,
            Status::Broken,
            Status::Missing,
        ]
        .map(|status| format!("{} {}", self.count(&status), status.word()));
        counts.join(", ")
    }

    /// How many rows have a status.
    pub fn count(&self, status: &Status) -> usize {
        self.rows.iter().filter(|row| row.status == *status).count()
    }
}
