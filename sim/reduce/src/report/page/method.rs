//! How it was done, and what is left out.

use jigwise_bench::words::{AGREEMENT_NOTE, agreement, fixture_key, sums::inversion};
use jigwise_physics::{Fixture, MIN_LINEAR_T0_IN_SIGMA, MIN_T0_IN_SIGMA, Trust};
use jigwise_quantity::engineering;
use maud::{Markup, html};

use super::{list, paragraph, sentence};
use crate::report::{InputFile, Report, SubjectFile};

/// Comments of a file that are shown; more are counted.
const MAX_COMMENTS: usize = 16;

pub(super) fn section(report: &Report) -> Markup {
    let inside = html! {
        dl class="facts" { "\n"
            @for (name, text) in facts(report) { dt { (name) } dd { (text) } "\n" }
        } "\n"
        @if !report.subject.provenance.inputs.is_empty() {
            (inputs(&report.subject.provenance.inputs))
        }
        @for file in report.subject.files.iter().filter(|file| !file.comments.is_empty()) {
            (story(file))
        }
    };
    super::section("how", "How it was done", &inside)
}

fn facts(report: &Report) -> Vec<(&'static str, String)> {
    let subject = &report.subject;
    let mut facts = vec![("Correction", subject.correction.join(" "))];
    if !subject.beside.is_empty() {
        let files: Vec<String> = subject
            .beside
            .iter()
            .map(|(what, name)| format!("{what}: {name}"))
            .collect();
        facts.push(("Files beside", files.join("; ")));
    }
    facts.push((
        "Instrument",
        match &subject.instrument {
            Some((name, true)) => format!(
                "{name}, an invented budget of Jigwise's, not that of any instrument on sale"
            ),
            Some((name, false)) => name.clone(),
            None => "not named, so no uncertainty of the readings is known".to_owned(),
        },
    ));
    if let Some(times) = subject.provenance.connections {
        facts.push((
            "Connected",
            match times {
                0 => "not again after the calibration".to_owned(),
                1 => "once after the calibration; u holds how well that repeats".to_owned(),
                many => {
                    format!("{many} times after the calibration; u holds how well that repeats")
                }
            },
        ));
    }
    let told = [
        ("Measured by", &subject.provenance.operator),
        ("Serial number", &subject.provenance.serial),
    ];
    for (name, said) in told {
        facts.extend(said.as_ref().map(|said| (name, printable(said))));
    }
    facts.push((
        "Ohms",
        format!(
            "each reading inverted exactly: {}",
            Fixture::ALL
                .map(|fixture| format!("{} {}", fixture_key(fixture), inversion(fixture)))
                .join(", ")
        ),
    ));
    if subject.instrument.is_some() {
        facts.push((
            "Uncertainty",
            format!(
                "propagated to first order as a 2×2 covariance of R and X; u(R) and u(X) in table \
                 and file are standard uncertainties, k = 1, and every ± is 95 %; where the \
                 reading lies within {} σ of the pole of its inverse, or scatters so little in \
                 one direction that the curvature of the inverse shows, the 95 % region counts",
                MIN_LINEAR_T0_IN_SIGMA
            ),
        ));
    }
    if report.gathered.is_several() {
        let text = if subject.instrument.is_some() {
            format!(
                "blended at each frequency by generalised least squares, with what the \
                 calibration leaves common to all, and what a connection or a blank leaves each \
                 fixture's own; fixtures within {MIN_T0_IN_SIGMA} σ of their \
                 pole, or with a doubt along one direction that their inverse bends, are left out \
                 of the blend"
            )
        } else {
            "one chosen at each frequency; without an instrument nothing tells how to weigh them, \
             so they are not blended"
                .to_owned()
        };
        facts.push(("Several fixtures", text));
    }
    facts.push((
        "Values",
        "weighted complex least squares of a circuit over the whole sweep; the circuit with the \
         least −2·ln(likelihood) + values·ln(readings), simpler ones first"
            .to_owned(),
    ));
    let provenance = &subject.provenance;
    if !provenance.versions.is_empty() {
        facts.push(("Made by", provenance.versions.clone()));
    }
    facts.extend(
        provenance
            .command
            .iter()
            .map(|line| ("Command", line.clone())),
    );
    facts
}

/// Every file that was read, so that somebody can tell whether theirs is the same.
fn inputs(files: &[InputFile]) -> Markup {
    html! {
        h3 { "Files" } "\n"
        dl class="files" { "\n"
            @for file in files {
                dt { (printable(&file.name)) ", " (file.what) } "\n"
                dd {
                    @if let Some(changed) = &file.changed { "last changed " (changed) }
                    @if let Some(sha256) = &file.sha256 {
                        @if file.changed.is_some() { "; " }
                        "SHA-256 " code { (sha256) }
                    }
                } "\n"
            }
        } "\n"
    }
}

/// The first comments of a file.
fn story(file: &SubjectFile) -> Markup {
    let more = file.comments.len().saturating_sub(MAX_COMMENTS);
    html! {
        h3 { "What " (file.name) " says of itself" } "\n"
        ul class="story" { "\n"
            @for comment in file.comments.iter().take(MAX_COMMENTS) {
                li { (printable(comment)) } "\n"
            }
        } "\n"
        @if more > 0 { (paragraph(&format!("and {more} lines more in the file."))) }
    }
}

pub(super) fn left_out(report: &Report) -> Markup {
    let entries = to_know(report);
    let inside = if entries.is_empty() {
        paragraph("Every point was told, and nothing odd was found in the files.")
    } else {
        list(&entries)
    };
    super::section("left", "What to know, and what is left out", &inside)
}

fn to_know(report: &Report) -> Vec<String> {
    let (all, subject) = (&report.gathered, &report.subject);
    let mut entries: Vec<String> = subject
        .remarks
        .iter()
        .map(|(file, remark)| format!("{file}: {}", sentence(remark)))
        .collect();
    if all.opens > 0 {
        entries.push(format!(
            "{} of {} points read as an exact open and have no ohms.",
            all.opens, all.points
        ));
    }
    for (reason, count, first_hz) in &all.not_blended {
        entries.push(format!(
            "Not blended at {count} of {} points, first at {}: {reason}. The best fixture's own \
             value stands there.",
            all.points,
            engineering(*first_hz, "Hz", 4)
        ));
    }
    if let Some(found) = &all.agreement {
        entries.push(format!(
            "{}. {}",
            sentence(&agreement(found)).trim_end_matches('.'),
            sentence(AGREEMENT_NOTE)
        ));
    }
    let untrusted = all.trusts[Trust::Disc as usize..].iter().sum::<usize>();
    if untrusted > 0 {
        entries.push(format!(
            "At {untrusted} of {} points the linear u is too small; there the 95 % region in \
             points.csv counts.",
            all.points
        ));
    }
    if subject.instrument.is_none() {
        entries.push(
            "No uncertainty: name the instrument behind the readings with --instrument.".to_owned(),
        );
    }
    entries
}

/// A comment as it may stand in a page: without what no page may hold.
fn printable(text: &str) -> String {
    text.trim()
        .chars()
        .map(|c| if c.is_control() { ' ' } else { c })
        .collect()
}
