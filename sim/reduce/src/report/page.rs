//! The page itself.

use std::fmt::Write as _;

use jigwise_physics::{Extracted, Fixture, Method, StandingCaution, Trust};

use super::{Check, Figure, Gathered, Holds, K, PlotPoint, Report, figures};
use crate::{Findings, model_words};
use jigwise_bench::scene::{Palette, Scene, escaped, properties, sign, svg};
use jigwise_bench::words::{
    CAUTION, fixture_connection, fixture_title, reading_name, standing_caution, trust,
};
use jigwise_quantity::{complex_ohm, engineering, fixed, with_spread};

const STYLE: &str = include_str!("report.css");
/// Comments of a file that are shown; more are counted.
const STORY: usize = 16;

/// The report as one page of HTML that asks nothing of a network.
pub fn page(report: &Report) -> String {
    let mut page = Page {
        out: String::new(),
        signs: 0,
    };
    page.head(report);
    page.question(report);
    page.values(report);
    page.checks(&report.gathered.checks());
    page.figures(&figures(report));
    page.table(&report.gathered);
    page.method(report);
    page.left_out(report);
    page.cautions(report);
    page.out.push_str("</main>\n</body>\n</html>\n");
    page.out
}

struct Page {
    out: String,
    /// Signs drawn so far, for their ids.
    signs: usize,
}

/// Writing to a String can't fail.
macro_rules! put {
    ($page:expr, $($part:tt)*) => {{
        let _ = write!($page.out, $($part)*);
    }};
}

impl Page {
    fn head(&mut self, report: &Report) {
        let style = STYLE
            .replace("LIGHT", &properties(&Palette::LIGHT))
            .replace("DARK", &properties(&Palette::DARK));
        let part = escaped(&report.subject.part);
        put!(
            self,
            "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\"/>\n\
             <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"/>\n\
             <title>{part}: impedance</title>\n<style>\n{style}</style>\n</head>\n<body>\n<main>\n\
             <header>\n<p class=\"from\">Jigwise, a sweep in ohms{}</p>\n<h1>{part}</h1>\n\
             </header>\n",
            report
                .subject
                .made
                .as_ref()
                .map_or(String::new(), |made| format!(", {}", escaped(made)))
        );
    }

    fn section(&mut self, id: &str, title: &str) {
        put!(
            self,
            "<section aria-labelledby=\"{id}\">\n<h2 id=\"{id}\">{title}</h2>\n"
        );
    }

    fn end_section(&mut self) {
        self.out.push_str("</section>\n");
    }

    fn paragraph(&mut self, text: &str) {
        put!(self, "<p>{}</p>\n", escaped(text));
    }

    fn list(&mut self, entries: &[String]) {
        self.out.push_str("<ul>\n");
        for entry in entries {
            put!(self, "<li>{}</li>\n", escaped(entry));
        }
        self.out.push_str("</ul>\n");
    }

    /// A fixture's name after its sign.
    fn named(&mut self, fixture: Fixture) -> String {
        self.signs += 1;
        let scene = Scene {
            size: [16.0, 16.0],
            title: fixture_title(fixture).to_owned(),
            description: format!("The sign of the fixture {}", fixture_connection(fixture)),
            marks: vec![sign(fixture, [8.0, 8.0], 14.0)],
        };
        let drawn = svg(&scene, &format!("sign-{}", self.signs));
        // Beside its name the sign says nothing more to a screen reader.
        let drawn = drawn.replacen(
            "class=\"jw-figure\"",
            "class=\"sign\" aria-hidden=\"true\"",
            1,
        );
        format!("{drawn} {}", fixture_title(fixture))
    }

    fn question(&mut self, report: &Report) {
        let (all, subject) = (&report.gathered, &report.subject);
        self.section("question", "The question");
        let hz = |hz| engineering(hz, "Hz", 4);
        self.paragraph(&format!(
            "What is the impedance of this part from {} to {}? {} points, read at a reference \
             of {}.",
            hz(all.span_hz.0),
            hz(all.span_hz.1),
            all.points,
            engineering(subject.reference.ohm(), "Ω", 3)
        ));
        self.out.push_str("<ul>\n");
        for file in &subject.files {
            let named = self.named(file.fixture);
            put!(
                self,
                "<li>{named}, the part {}: {} of {}</li>\n",
                fixture_connection(file.fixture),
                reading_name(file.fixture),
                escaped(&file.name)
            );
        }
        self.out.push_str("</ul>\n");
        self.end_section();
    }

    fn values(&mut self, report: &Report) {
        self.section("values", "What the sweep says of the part");
        match &report.findings {
            Ok(findings) => self.findings(findings),
            Err(refusal) => self.refused(refusal),
        }
        self.end_section();
    }

    fn refused(&mut self, why: &str) {
        put!(self, "<p class=\"refused\">{}</p>\n", escaped(why));
    }

    fn findings(&mut self, findings: &Findings) {
        match findings.values() {
            Some((_, values)) => {
                self.paragraph(&findings.why);
                self.extracted(values);
                self.goodness(values);
            }
            None => self.refused(&findings.why),
        }
        if let Some(change) = findings.change_of_kind() {
            self.refused(&change);
        }
        for (freq_hz, found) in &findings.spots {
            put!(
                self,
                "<h3>At {}</h3>\n",
                escaped(&engineering(*freq_hz, "Hz", 5))
            );
            match found {
                Ok(values) => self.extracted(values),
                Err(error) => self.refused(&sentence(&error.to_string())),
            }
        }
        let behind = if findings.has_budget {
            format!(
                "± is U = k·u with k = {}, about 95 % coverage of each value by itself. u holds \
                 the noise of every point and what the calibration leaves, which moves all \
                 points together.",
                fixed(K, 0)
            )
        } else {
            format!(
                "± is U = k·u with k = {}, from the scatter of the readings about the circuit \
                 alone. What the calibration leaves is not in it: no uncertainty of the readings \
                 is known. Name the instrument with --instrument (a preset, or a file with an \
                 [instrument] table) to get it.",
                fixed(K, 0)
            )
        };
        self.paragraph(&behind);
        if findings.chosen.is_none() {
            let refusals: Vec<String> = findings
                .tried
                .iter()
                .filter_map(|(model, found)| {
                    let error = found.as_ref().err()?;
                    Some(format!("As {}: {error}.", model_words(*model)))
                })
                .collect();
            if !refusals.is_empty() {
                self.out.push_str("<h3>Circuits that were tried</h3>\n");
                self.list(&refusals);
            }
        }
    }

    fn extracted(&mut self, found: &Extracted) {
        if !found.values.is_empty() {
            self.out.push_str("<dl class=\"values\">\n");
            for (at, value) in found.values.iter().enumerate() {
                // Rs and the ESR of a capacitor are one value.
                let is_told = found.values[..at]
                    .iter()
                    .any(|v| v.value == value.value && v.quantity.unit() == value.quantity.unit());
                if is_told {
                    continue;
                }
                put!(
                    self,
                    "<dt>{}</dt><dd>{}</dd>\n",
                    escaped(value.quantity.symbol()),
                    escaped(&with_spread(
                        value.value,
                        K * value.u,
                        value.quantity.unit()
                    ))
                );
            }
            self.out.push_str("</dl>\n");
        }
        let mut said: Vec<String> = Vec::new();
        for refused in &found.refused {
            let symbol = refused.quantity.symbol();
            let why = refused.why.to_string();
            // A refusal that several values share is told once.
            match said.iter_mut().find(|s| s.ends_with(&format!(": {why}."))) {
                Some(line) => line.insert_str(0, &format!("{symbol}, ")),
                None => said.push(format!("{symbol}: {why}.")),
            }
        }
        if !said.is_empty() {
            self.out.push_str("<p>Not told by this sweep:</p>\n");
            self.list(&said);
        }
    }

    fn goodness(&mut self, found: &Extracted) {
        let Some(goodness) = found.goodness else {
            return;
        };
        if let Some(p) = goodness.p {
            self.paragraph(&format!(
                "How well the circuit follows: χ² {} with {} degrees of freedom, p {}; the \
                 largest miss is {} at {}.",
                fixed(goodness.chi_square, 1),
                goodness.degrees_of_freedom,
                fixed(p, 3),
                engineering(goodness.worst_ohm, "Ω", 2),
                engineering(goodness.worst_hz, "Hz", 4)
            ));
        }
    }

    fn checks(&mut self, checks: &[Check]) {
        self.section("checks", "Checks");
        self.out.push_str(
            "<table class=\"checks\">\n<caption>What must hold for one passive part at the \
             reference plane.</caption>\n<thead><tr><th scope=\"col\" class=\"text\">Should \
             hold</th><th scope=\"col\" class=\"text\">Outcome</th><th scope=\"col\" \
             class=\"text\">Found, and what it means</th><th scope=\"col\" class=\"text\">What \
             to do</th></tr></thead>\n<tbody>\n",
        );
        for check in checks {
            let (word, mark) = check.holds.face();
            let class = match check.holds {
                Holds::Yes => "yes",
                Holds::Nearly => "nearly",
                Holds::No => "no",
                Holds::Unknown => "unknown",
            };
            put!(
                self,
                "<tr><th scope=\"row\">{}<br/><span class=\"law\">{}</span></th>\
                 <td class=\"text\"><span class=\"holds \
                 {class}\"><span aria-hidden=\"true\">{mark}</span> {word}</span></td>\
                 <td class=\"text\">{}. {}</td><td class=\"text\">{}</td></tr>\n",
                check.of,
                escaped(check.what),
                escaped(&sentence_start(&check.found)),
                escaped(check.means),
                escaped(check.next)
            );
        }
        self.out.push_str("</tbody>\n</table>\n");
        self.end_section();
    }

    fn figures(&mut self, figures: &[Figure]) {
        self.section("plots", "Over frequency");
        for figure in figures {
            let id = format!("figure-{}", figure.name);
            put!(
                self,
                "<figure>\n{}\n<figcaption>{}</figcaption>\n</figure>\n",
                svg(&figure.scene, &id),
                escaped(&figure.caption)
            );
        }
        self.end_section();
    }

    fn table(&mut self, all: &Gathered) {
        self.section("table", "Points");
        let known = all.is_known();
        let several = all.measured.iter().filter(|m| **m).count() > 1;
        let mut heading = vec!["R", "X"];
        if known {
            heading.extend(["u(R)", "u(X)"]);
        }
        heading.extend(["|Z|", "Phase"]);
        put!(
            self,
            "<div class=\"wide\" tabindex=\"0\" role=\"region\" aria-labelledby=\"table\">\n\
             <table class=\"points\">\n<caption>{} of {} points; all of them are in \
             points.csv.{}</caption>\n<thead><tr><th scope=\"col\" class=\"text\">Frequency</th>",
            all.rows.len(),
            all.points,
            if known {
                " u: standard uncertainty, k = 1."
            } else {
                ""
            }
        );
        for name in heading {
            put!(self, "<th scope=\"col\">{name}</th>");
        }
        if several {
            self.out
                .push_str("<th scope=\"col\" class=\"text\">Best fixture</th>");
            if known {
                self.out.push_str("<th scope=\"col\">Agreement p</th>");
            }
        }
        if known {
            self.out
                .push_str("<th scope=\"col\" class=\"text\">Trust</th>");
        }
        self.out.push_str("</tr></thead>\n<tbody>\n");
        for point in &all.rows {
            self.row(point, known, several);
        }
        self.out.push_str("</tbody>\n</table>\n</div>\n");
        self.end_section();
    }

    fn row(&mut self, point: &PlotPoint, known: bool, several: bool) {
        put!(
            self,
            "<tr><th scope=\"row\">{}</th>",
            engineering(point.freq_hz, "Hz", 5)
        );
        let ohms = |ohm: Option<f64>, digits| {
            ohm.map_or("–".to_owned(), |ohm| engineering(ohm, "Ω", digits))
        };
        let z = point.z_ohm;
        let mut cells = vec![
            z.map_or("open".to_owned(), |z| engineering(z.re, "Ω", 4)),
            ohms(z.map(|z| z.im), 4),
        ];
        if known {
            cells.push(ohms(point.u_ohm.map(|u| u.0), 2));
            cells.push(ohms(point.u_ohm.map(|u| u.1), 2));
        }
        cells.push(ohms(z.map(|z| z.norm()), 4));
        let phase = z.filter(|z| z.norm() > 0.0).map(|z| z.arg().to_degrees());
        cells.push(phase.map_or("–".to_owned(), |deg| format!("{}°", fixed(deg, 1))));
        for cell in cells {
            put!(self, "<td>{cell}</td>");
        }
        if several {
            put!(
                self,
                "<td class=\"text\">{}</td>",
                fixture_title(point.fixture)
            );
            if known {
                let p = match point.p {
                    Some(p) => fixed(p, 3),
                    None if point.is_refused => "not blended".to_owned(),
                    None => "–".to_owned(),
                };
                put!(self, "<td>{p}</td>");
            }
        }
        if known {
            put!(
                self,
                "<td class=\"text\">{}</td>",
                escaped(&trust_cell(point))
            );
        }
        self.out.push_str("</tr>\n");
    }

    fn method(&mut self, report: &Report) {
        let subject = &report.subject;
        self.section("how", "How it was done");
        self.out.push_str("<dl class=\"facts\">\n");
        let mut fact = |name: &str, text: &str| {
            put!(self, "<dt>{name}</dt><dd>{}</dd>\n", escaped(text));
        };
        fact("Correction", &subject.correction.join(" "));
        if !subject.beside.is_empty() {
            let files: Vec<String> = subject
                .beside
                .iter()
                .map(|(what, name)| format!("{what}: {name}"))
                .collect();
            fact("Files beside", &files.join("; "));
        }
        match &subject.instrument {
            Some((name, invented)) => fact(
                "Instrument",
                &format!(
                    "{name}{}",
                    if *invented {
                        ", an invented budget of Jigwise's, not that of any instrument on sale"
                    } else {
                        ""
                    }
                ),
            ),
            None => fact(
                "Instrument",
                "not named, so no uncertainty of the readings is known",
            ),
        }
        fact(
            "Ohms",
            "each reading inverted exactly: reflect Z0(1 + S11)/(1 − S11), shunt-through \
             (Z0/2)·S21/(1 − S21), series-through 2·Z0(1 − S21)/S21",
        );
        if subject.instrument.is_some() {
            fact(
                "Uncertainty",
                "propagated to first order as a 2×2 covariance of R and X, k = 1 in table and \
                 file; where the reading lies within 25 σ of the pole of its inverse, the exact \
                 95 % region counts",
            );
        }
        if report.gathered.measured.iter().filter(|m| **m).count() > 1 {
            fact(
                "Several fixtures",
                if subject.instrument.is_some() {
                    "blended at each frequency by generalised least squares, with what the \
                     calibration leaves kept common; fixtures within 6 σ of their pole are left \
                     out of the blend"
                } else {
                    "one chosen at each frequency; without an instrument nothing tells how to \
                     weigh them, so they are not blended"
                },
            );
        }
        fact(
            "Values",
            "weighted complex least squares of a circuit over the whole sweep; the circuit with \
             the least −2·ln(likelihood) + values·ln(readings), simpler ones first",
        );
        fact(
            "Made by",
            concat!("Jigwise ", env!("CARGO_PKG_VERSION"), ", jig reduce"),
        );
        self.out.push_str("</dl>\n");
        for file in &subject.files {
            if file.comments.is_empty() {
                continue;
            }
            put!(
                self,
                "<h3>What {} says of itself</h3>\n<ul class=\"story\">\n",
                escaped(&file.name)
            );
            for comment in file.comments.iter().take(STORY) {
                put!(self, "<li>{}</li>\n", escaped(&printable(comment)));
            }
            self.out.push_str("</ul>\n");
            if file.comments.len() > STORY {
                self.paragraph(&format!(
                    "and {} lines more in the file.",
                    file.comments.len() - STORY
                ));
            }
        }
        self.end_section();
    }

    fn left_out(&mut self, report: &Report) {
        let (all, subject) = (&report.gathered, &report.subject);
        let mut entries: Vec<String> = subject
            .remarks
            .iter()
            .map(|(file, remark)| format!("{file}: {}", sentence(remark)))
            .collect();
        entries.extend(subject.left_out.iter().cloned());
        if all.opens > 0 {
            entries.push(format!(
                "{} of {} points read as an exact open and have no ohms.",
                all.opens, all.points
            ));
        }
        for (reason, count, first_hz) in &all.not_blended {
            entries.push(format!(
                "Not blended at {count} of {} points, first at {}: {reason}. The best fixture's \
                 own value stands there.",
                all.points,
                engineering(*first_hz, "Hz", 4)
            ));
        }
        if all.doubtful > 0 {
            let least = all.least_p.map_or(String::new(), |(p, hz)| {
                format!(", least p {} at {}", fixed(p, 4), engineering(hz, "Hz", 4))
            });
            entries.push(format!(
                "The fixtures agree poorly at {} of {} blended points (p below 0.05{least}); \
                 one in twenty does so by chance.",
                all.doubtful, all.blended
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
        if all.blended > 0 && subject.has_blanks {
            entries.push(
                "What the blanks may leave is in the uncertainty of each fixture, not in that of \
                 the blend."
                    .to_owned(),
            );
        }
        if subject.instrument.is_none() {
            entries.push(
                "No uncertainty: name the instrument behind the readings with --instrument."
                    .to_owned(),
            );
        }
        self.section("left", "What to know, and what is left out");
        if entries.is_empty() {
            self.paragraph("Every point was told, and nothing odd was found in the files.");
        } else {
            self.list(&entries);
        }
        self.end_section();
    }

    fn cautions(&mut self, report: &Report) {
        let all = &report.gathered;
        let mut entries = vec![
            CAUTION.to_owned(),
            "A capacitor is discharged through a resistor and checked with a meter; an \
             electrolytic recovers some voltage by itself."
                .to_owned(),
            "Crystals, ferrites, class-2 ceramics and diodes depend on level and bias: these \
             ohms are those of a small signal without bias, and say nothing of the part at work."
                .to_owned(),
            "Nothing here tells of a part on the mains: interference capacitors and chokes are \
             measured unplugged and isolated only."
                .to_owned(),
        ];
        if all.blended > 0 {
            entries.push(standing_caution(StandingCaution::CommonStandards));
            entries.push(standing_caution(StandingCaution::Level {
                ratio: all.level_ratio.max(1.0),
            }));
        }
        self.section("cautions", "Cautions");
        self.list(&entries);
        self.end_section();
    }
}

/// What the table says of trust at a point.
fn trust_cell(point: &PlotPoint) -> String {
    match (point.trust, point.region) {
        (None, _) => "–".to_owned(),
        (Some(Trust::Linear), _) => "u".to_owned(),
        (Some(_), Some((center, radius, true))) => format!(
            "within {} of {}",
            engineering(radius, "Ω", 3),
            complex_ohm(center, 3)
        ),
        (Some(_), Some((center, radius, false))) => format!(
            "outside {} about {}",
            engineering(radius, "Ω", 3),
            complex_ohm(center, 3)
        ),
        (Some(other), None) => trust(other).to_owned(),
    }
}

/// How a calibration is told in a report.
pub fn correction_words(method: Method) -> &'static str {
    match method {
        Method::None => "None here: the readings are taken as corrected where the part sits.",
        Method::Response(_) => {
            "Response by one standard: directivity and both matches are left in the readings."
        }
        Method::OnePort => "One-port, three terms from open, short and load.",
        Method::EnhancedResponse => {
            "Enhanced response: three terms of port 1 and the through's tracking; the match of \
             port 2 is left."
        }
        Method::OnePath => {
            "One-path, six terms of the forward direction: exact for a part that looks the same \
             from both sides, as one part in a fixture does."
        }
        Method::Full => "Full, twelve terms.",
        Method::UnknownThrough => {
            "Unknown through: twelve terms from a through of which only the rough phase is known."
        }
    }
}

/// With a capital and a full stop.
fn sentence(text: &str) -> String {
    let mut text = sentence_start(text);
    if !text.ends_with(['.', '!', '?']) {
        text.push('.');
    }
    text
}

fn sentence_start(text: &str) -> String {
    let mut rest = text.chars();
    match rest.next() {
        Some(first) if first.is_ascii_lowercase() => {
            first.to_ascii_uppercase().to_string() + rest.as_str()
        }
        _ => text.to_owned(),
    }
}

/// A comment as it may stand in a page: without what no page may hold.
fn printable(text: &str) -> String {
    text.trim()
        .chars()
        .map(|c| if c.is_control() { ' ' } else { c })
        .collect()
}
