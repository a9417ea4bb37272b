//! The three columns: one fixture each, rows aligned so that one row compares them.

use accesskit::Role;
use egui::{Align, Layout, RichText, Sense, Ui, Vec2};
use jigwise_bench::scene::{circuit, cloud, envelope, sigma_ruler, sign};
use jigwise_bench::words::{
    CAUTION, beside_an_end, fixture_title, no_reading, nothing_resolves, nudge_in_ohms,
    reading_name, resolvable, trust, verdict,
};
use jigwise_bench::{
    Fixture, FixtureReadout, Readout, Trust, bench_story, complex_ohm, engineering, fixed,
    plain_complex, sums,
};

use super::named::{self, Look};
use super::paint::{Brush, color};
use crate::{Desk, Theme, View};

/// Below this width of a column its entries are stacked under each other.
const NARROWEST_COLUMN: f32 = 185.0;

/// All rows.
pub(super) fn columns_ui(ui: &mut Ui, desk: &Desk, view: &View) {
    let theme = view.theme;
    let readout = desk.readout();
    let stacked = is_stacked(ui, &readout);
    row(ui, theme, &readout, |ui, entry| {
        title_ui(ui, theme, entry, !stacked);
    });
    if !stacked {
        row(ui, theme, &readout, |ui, entry| {
            circuit_ui(ui, desk, view, entry)
        });
    }
    caption(ui, theme, "What the analyzer reads");
    row(ui, theme, &readout, |ui, entry| {
        reading(ui, &readout, entry)
    });
    caption(
        ui,
        theme,
        &format!("Ohms got back, {}", desk.calibration_words()),
    );
    // Beside the numbers that it explains.
    let story = bench_story(desk.scenario()).join(" ");
    if !story.is_empty() {
        ui.label(RichText::new(story).small());
    }
    row(ui, theme, &readout, |ui, entry| {
        got_back(ui, desk, &readout, entry)
    });
    caption(ui, theme, "The change of |Z| it shows");
    row(ui, theme, &readout, |ui, entry| shows(ui, &readout, entry));
    caption(ui, theme, &nudge_in_ohms(&readout));
    row(ui, theme, &readout, |ui, entry| {
        cloud_ui(ui, desk, theme, entry)
    });
    row(ui, theme, &readout, |ui, entry| {
        verdict_ui(ui, &readout, entry)
    });
    ruler_ui(ui, theme, &readout);
    for sentence in beside_an_end(&readout, desk.bench()) {
        ui.label(sentence);
    }
    if let Some(sentence) = nothing_resolves(&readout, desk.bench()) {
        ui.label(RichText::new(sentence).strong());
    }
    let best = |fixture: Option<Fixture>| fixture.map_or("none", fixture_title);
    if let Some(appraisal) = readout.appraisal {
        ui.label(format!(
            "Best for value: {}. Best for change: {}. On the {} (presets are invented).",
            best(appraisal.best_for_value),
            best(appraisal.best_for_change),
            desk.instrument().name
        ));
    }
    caption(ui, theme, "The formula back to ohms, with its numbers");
    row(ui, theme, &readout, |ui, entry| {
        formula(ui, &readout, entry)
    });
    if stacked {
        row(ui, theme, &readout, |ui, entry| {
            circuit_ui(ui, desk, view, entry)
        });
    }
    ui.label(RichText::new(CAUTION).small().weak());
}

fn is_stacked(ui: &Ui, readout: &Readout) -> bool {
    ui.available_width() < NARROWEST_COLUMN * readout.fixtures.len() as f32
}

fn row(
    ui: &mut Ui,
    theme: Theme,
    readout: &Readout,
    mut cell: impl FnMut(&mut Ui, &FixtureReadout),
) {
    if !is_stacked(ui, readout) {
        ui.columns(readout.fixtures.len(), |columns| {
            for (ui, entry) in columns.iter_mut().zip(&readout.fixtures) {
                // Not justified: a wrapped formula keeps its spacing.
                ui.with_layout(Layout::top_down(Align::LEFT), |ui| cell(ui, entry));
            }
        });
    } else {
        for entry in &readout.fixtures {
            ui.horizontal_top(|ui| {
                sign_ui(ui, theme, entry);
                ui.vertical(|ui| cell(ui, entry));
            });
        }
    }
}

fn caption(ui: &mut Ui, theme: Theme, text: &str) {
    ui.label(
        RichText::new(text)
            .small()
            .color(color(theme.palette().faint)),
    );
    let line = ui.available_rect_before_wrap();
    ui.painter().hline(
        line.x_range(),
        line.top() - 2.0,
        (theme.line_factor(), color(theme.palette().grid)),
    );
    ui.add_space(2.0);
}

/// The fixture's name; its sign stands before it, and in a narrow window before every entry.
fn title_ui(ui: &mut Ui, theme: Theme, entry: &FixtureReadout, with_sign: bool) {
    let name = RichText::new(fixture_title(entry.fixture))
        .heading()
        .color(color(theme.palette().fixture(entry.fixture)));
    ui.horizontal(|ui| {
        if with_sign {
            sign_ui(ui, theme, entry);
        }
        ui.label(name);
    });
}

fn sign_ui(ui: &mut Ui, theme: Theme, entry: &FixtureReadout) {
    const SIDE: f32 = 18.0;
    let (rect, _) = ui.allocate_exact_size(Vec2::splat(SIDE), Sense::hover());
    let center = [f64::from(SIDE) / 2.0; 2];
    let mark = sign(entry.fixture, center, f64::from(SIDE) * 0.9);
    Brush::new(ui.painter(), rect.min, theme).draw(&[mark]);
}

fn circuit_ui(ui: &mut Ui, desk: &Desk, view: &View, entry: &FixtureReadout) {
    const WIDEST: f32 = 170.0;
    let scene = circuit(entry.fixture);
    let [width, height] = scene.size.map(|length| length as f32);
    let scale = (ui.available_width().min(WIDEST) / width).max(0.1);
    let size = Vec2::new(width, height) * scale;
    let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
    let painter = ui.painter_at(rect);
    let brush = Brush::new(&painter, rect.min, view.theme).scaled(scale);
    brush.draw(&scene.marks);
    if view.wave {
        let reference = desk.scenario().reference;
        brush.draw(&envelope(entry.fixture, desk.device(), reference));
    }
    name_picture(ui, &response, scene.title, scene.description);
}

fn reading(ui: &mut Ui, readout: &Readout, entry: &FixtureReadout) {
    let title = fixture_title(entry.fixture);
    let name = |what: &str| format!("{title}, {what}");
    let symbol = reading_name(entry.fixture);
    let Some(s) = entry.reading else {
        named::value(
            ui,
            &name("reading"),
            no_reading(entry.fixture, readout.reference),
            Look::Body,
        );
        return;
    };
    let decibels = entry.decibels().map_or_else(
        || "0, no decibels".to_owned(),
        |db| format!("{}\u{202f}dB", fixed(db, 3)),
    );
    let degrees = entry
        .degrees()
        .map_or_else(|| "–".to_owned(), |deg| format!("{}°", fixed(deg, 2)));
    ui.horizontal_wrapped(|ui| {
        named::value(ui, &name("decibels"), decibels, Look::Large);
        named::value(ui, &name("degrees"), degrees, Look::Large);
    });
    ui.horizontal_wrapped(|ui| {
        ui.label(RichText::new(symbol).small());
        named::value(ui, &name("linear"), plain_complex(s, 5), Look::Small);
    });
}

fn formula(ui: &mut Ui, readout: &Readout, entry: &FixtureReadout) {
    let title = fixture_title(entry.fixture);
    let sum = sums::back(entry, readout.reference);
    named::value(ui, &format!("{title}, formula"), sum.symbols, Look::Body);
    if let Some(numbers) = sum.numbers {
        let name = format!("{title}, formula with numbers");
        named::value(ui, &name, format!("= {numbers}"), Look::Small);
    }
}

fn got_back(ui: &mut Ui, desk: &Desk, readout: &Readout, entry: &FixtureReadout) {
    let title = fixture_title(entry.fixture);
    let ohms = desk
        .got_back(entry.fixture)
        .map_or("–".to_owned(), |device| {
            device
                .impedance()
                .map_or("open".to_owned(), |z| complex_ohm(z, 5))
        });
    named::value(ui, &format!("{title}, ohms got back"), ohms, Look::Large);
    let Some(seen) = readout.appraisal_of(entry.fixture) else {
        return;
    };
    if let Some(u) = seen.ohms {
        if seen.trust.has_deviation() {
            let text = format!(
                "u(R) {}, u(X) {}",
                engineering(u.u_r_ohm, "Ω", 3),
                engineering(u.u_x_ohm, "Ω", 3)
            );
            named::value(ui, &format!("{title}, uncertainty"), text, Look::Small);
        }
        if seen.trust != Trust::Linear {
            ui.label(RichText::new(trust(seen.trust)).small());
        }
    }
}

fn shows(ui: &mut Ui, readout: &Readout, entry: &FixtureReadout) {
    let title = fixture_title(entry.fixture);
    let Some(both) = readout
        .appraisal_of(entry.fixture)
        .and_then(|seen| seen.resolvable)
    else {
        ui.label("no relative change here");
        return;
    };
    let name = |way: &str| format!("{title}, {way} it shows");
    named::value(
        ui,
        &name("increase"),
        resolvable(both.increase),
        Look::Small,
    );
    named::value(
        ui,
        &name("decrease"),
        resolvable(both.decrease),
        Look::Small,
    );
}

fn cloud_ui(ui: &mut Ui, desk: &Desk, theme: Theme, entry: &FixtureReadout) {
    const HEIGHT: f32 = 98.0;
    let size = Vec2::new(ui.available_width() - 8.0, HEIGHT);
    let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
    let Some(clouds) = desk.clouds(entry.fixture) else {
        return;
    };
    let scene = cloud(&clouds, [f64::from(size.x), f64::from(size.y)]);
    if ui.is_rect_visible(rect) {
        Brush::new(&ui.painter_at(rect), rect.min, theme).draw(&scene.marks);
    }
    name_picture(ui, &response, scene.title, scene.description);
}

fn verdict_ui(ui: &mut Ui, readout: &Readout, entry: &FixtureReadout) {
    if let Some(seen) = readout.appraisal_of(entry.fixture) {
        let name = format!("{}, verdict", fixture_title(entry.fixture));
        named::value(ui, &name, verdict(seen), Look::Body);
    }
}

fn ruler_ui(ui: &mut Ui, theme: Theme, readout: &Readout) {
    const HEIGHT: f32 = 52.0;
    let size = Vec2::new(ui.available_width(), HEIGHT);
    let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
    let scene = sigma_ruler(readout, [f64::from(size.x), f64::from(size.y)]);
    Brush::new(&ui.painter_at(rect), rect.min, theme).draw(&scene.marks);
    name_picture(ui, &response, scene.title, scene.description);
}

fn name_picture(ui: &Ui, response: &egui::Response, title: String, description: String) {
    ui.ctx().accesskit_node_builder(response.id, |node| {
        node.set_role(Role::Image);
        node.set_label(title);
        node.set_description(description);
    });
}
