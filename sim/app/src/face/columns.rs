//! The three columns: one fixture each, rows aligned so that one row compares them.

use accesskit::Role;
use egui::{Align, Layout, RichText, Sense, Ui, Vec2};
use jigwise_bench::scene::{circuit, sign};
use jigwise_bench::words::{fixture_connection, fixture_title, no_reading, reading_name};
use jigwise_bench::{FixtureReadout, Readout, fixed, plain_complex, sums};

use super::named::{self, Look};
use super::paint::{Brush, color};
use crate::Desk;

/// Below this width of a column its entries are stacked under each other.
const NARROWEST_COLUMN: f32 = 185.0;

/// All rows.
pub(super) fn columns_ui(ui: &mut Ui, desk: &Desk) {
    let readout = desk.readout();
    row(ui, &readout, |ui, entry| heading(ui, desk, entry));
    row(ui, &readout, |ui, entry| circuit_ui(ui, desk, entry));
    caption(ui, desk, "What the analyzer reads");
    row(ui, &readout, |ui, entry| reading(ui, &readout, entry));
    caption(ui, desk, "The formula back to ohms, with its numbers");
    row(ui, &readout, |ui, entry| formula(ui, &readout, entry));
    caption(ui, desk, "Ohms got back");
    row(ui, &readout, |ui, entry| got_back(ui, &readout, entry));
}

fn row(ui: &mut Ui, readout: &Readout, mut cell: impl FnMut(&mut Ui, &FixtureReadout)) {
    let count = readout.fixtures.len();
    if ui.available_width() / count as f32 >= NARROWEST_COLUMN {
        ui.columns(count, |columns| {
            for (ui, entry) in columns.iter_mut().zip(&readout.fixtures) {
                // Not justified: a wrapped formula keeps its spacing.
                ui.with_layout(Layout::top_down(Align::LEFT), |ui| cell(ui, entry));
            }
        });
    } else {
        for entry in &readout.fixtures {
            cell(ui, entry);
        }
    }
}

fn caption(ui: &mut Ui, desk: &Desk, text: &str) {
    ui.add_space(4.0);
    ui.label(
        RichText::new(text)
            .small()
            .color(color(desk.theme.palette().faint)),
    );
    let line = ui.available_rect_before_wrap();
    ui.painter().hline(
        line.x_range(),
        line.top() - 2.0,
        (desk.theme.line_factor(), color(desk.theme.palette().grid)),
    );
    ui.add_space(2.0);
}

fn heading(ui: &mut Ui, desk: &Desk, entry: &FixtureReadout) {
    ui.horizontal_wrapped(|ui| {
        const SIDE: f32 = 18.0;
        let (rect, _) = ui.allocate_exact_size(Vec2::splat(SIDE), Sense::hover());
        let center = [f64::from(SIDE) / 2.0; 2];
        let mark = sign(entry.fixture, center, f64::from(SIDE) * 0.9);
        Brush::new(ui.painter(), rect.min, desk.theme).draw(&[mark]);
        ui.label(
            RichText::new(fixture_title(entry.fixture))
                .heading()
                .color(color(desk.theme.palette().fixture(entry.fixture))),
        );
    });
    ui.label(RichText::new(fixture_connection(entry.fixture)).small());
}

fn circuit_ui(ui: &mut Ui, desk: &Desk, entry: &FixtureReadout) {
    const WIDEST: f32 = 300.0;
    let scene = circuit(entry.fixture);
    let [width, height] = scene.size.map(|length| length as f32);
    let scale = (ui.available_width().min(WIDEST) / width).max(0.1);
    let size = Vec2::new(width, height) * scale;
    let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
    Brush::new(&ui.painter_at(rect), rect.min, desk.theme)
        .scaled(scale)
        .draw(&scene.marks);
    ui.ctx().accesskit_node_builder(response.id, |node| {
        node.set_role(Role::Image);
        node.set_label(scene.title.as_str());
        node.set_description(scene.description.as_str());
    });
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
        ui.label(format!("|{symbol}|"));
        named::value(ui, &name("decibels"), decibels, Look::Large);
    });
    ui.horizontal_wrapped(|ui| {
        ui.label("angle");
        named::value(ui, &name("degrees"), degrees, Look::Large);
    });
    ui.horizontal_wrapped(|ui| {
        ui.label(symbol);
        named::value(ui, &name("linear"), plain_complex(s, 5), Look::Body);
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

fn got_back(ui: &mut Ui, readout: &Readout, entry: &FixtureReadout) {
    let sum = sums::back(entry, readout.reference);
    let name = format!("{}, ohms got back", fixture_title(entry.fixture));
    named::value(ui, &name, sum.result, Look::Large);
}
