//! The three columns: one fixture each, in the order of the questions: does it see the change, do
//! the readings part, what is the value, what is the least change.

use egui::{FontId, Id, Pos2, Rect, Sense, Ui, UiBuilder, Vec2, pos2};
use jigwise_bench::scene::{
    CloudScale, Glide, circuit, cloud, envelope, mini_circuit, sign, verdict_sign,
};
use jigwise_bench::words::{
    came_out, column_change, column_value, fixture_title, no_reading, verdict, verdict_in_short,
    verdict_words,
};
use jigwise_bench::{Fixture, FixtureAppraisal, Verdict, fixed};
use jigwise_exercises::explain::Thing;

use super::layout::{Layout, Shape};
use super::look::strong_family;
use super::memory::{FrameMemory, Seen};
use super::paint::{Brush, color};
use super::sums::sum_ui;
use super::{explain, named};
use crate::{Desk, View};

/// The least height of a picture of clouds.
const LEAST_CLOUD: f32 = 64.0;
/// Height that the sums of a fixture need.
const SUMS: f32 = 200.0;
/// The height from which a cloud needs no more.
const FULL_CLOUD: f32 = 140.0;
/// Smaller letters are none.
const LEAST_LETTERS: f32 = 6.0;
/// Height of a line in heights of its letters.
const LINE: f32 = 1.35;
/// Height of the full circuit.
const CIRCUIT: f32 = 96.0;

/// A row under the clouds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Row {
    Value,
    Change,
    CameOut,
    Reading,
}

/// What of a column there is room for.
struct Plan {
    title: f32,
    circuit: f32,
    verdict: f32,
    cloud: f32,
    rows: Vec<Row>,
    row: f32,
    sums: f32,
}

impl Plan {
    fn of(column: Vec2, view: &View, layout: &Layout) -> Self {
        let sizes = layout.sizes;
        // Where there is no room for three lines the sign beside the verdict names the fixture.
        let title = if column.y < 4.9 * sizes.body {
            0.0
        } else {
            1.7 * sizes.body
        };
        let verdict = 1.6 * verdict_size(column, layout);
        let row = 1.6 * sizes.body;
        let mut left = column.y - title - verdict;
        let mut rows = Vec::new();
        let mut take = |left: &mut f32, wanted: &[Row], spare: f32| {
            for each in wanted {
                if *left >= row + spare {
                    *left -= row;
                    rows.push(*each);
                }
            }
        };
        take(&mut left, &[Row::Value], 0.0);
        let is_small = layout.shape != Shape::Wide;
        let others: &[Row] = if is_small {
            &[Row::Change]
        } else if view.theme == crate::Theme::Hall {
            &[]
        } else {
            &[Row::Change, Row::CameOut, Row::Reading]
        };
        take(&mut left, others, LEAST_CLOUD + 8.0);
        rows.sort_by_key(|row| match row {
            Row::Value => 0,
            Row::CameOut => 1,
            Row::Change => 2,
            Row::Reading => 3,
        });
        let mut cloud = if left >= LEAST_CLOUD { left - 8.0 } else { 0.0 };
        let mut sums = 0.0;
        let mut circuit = 0.0;
        if layout.shape == Shape::Wide && cloud > 0.0 {
            if cloud >= FULL_CLOUD + SUMS {
                sums = SUMS;
                cloud -= SUMS;
            } else if view.sums {
                sums = cloud;
                cloud = 0.0;
            }
            if cloud >= 1.4 * FULL_CLOUD + CIRCUIT && column.x >= 260.0 {
                circuit = CIRCUIT;
                cloud -= CIRCUIT;
            }
        }
        Self {
            title,
            circuit,
            verdict,
            cloud,
            rows,
            row,
            sums,
        }
    }
}

fn verdict_size(column: Vec2, layout: &Layout) -> f32 {
    if column.x >= 190.0 {
        layout.sizes.head
    } else {
        layout.sizes.body
    }
}

/// What the book explains of a place in a column.
pub(super) fn thing_at(
    at: Pos2,
    column: Rect,
    fixture: Fixture,
    view: &View,
    layout: &Layout,
) -> Thing {
    if layout.shape == Shape::Narrow {
        return Thing::Value;
    }
    let plan = Plan::of(column.size(), view, layout);
    let has_sums_first = plan.cloud == 0.0;
    let first_sums = if has_sums_first { plan.sums } else { 0.0 };
    let mut top = column.top();
    let rows = plan.rows.iter().map(|row| {
        let thing = match row {
            Row::Value => Thing::Value,
            Row::CameOut => Thing::Ticks,
            Row::Change => Thing::SmallestChange,
            Row::Reading => Thing::Reading,
        };
        (plan.row, thing)
    });
    [
        (plan.title, explain::of_fixture(fixture)),
        (plan.circuit, explain::of_fixture(fixture)),
        (plan.verdict, Thing::Clouds),
        (plan.cloud, Thing::Clouds),
        (first_sums, Thing::Sums),
        (4.0, Thing::Value),
    ]
    .into_iter()
    .chain(rows)
    .find_map(|(height, thing)| {
        top += height;
        (at.y < top).then_some(thing)
    })
    .unwrap_or(Thing::Sums)
}

/// All three columns.
pub(super) fn columns_ui(
    ui: &mut Ui,
    desk: &Desk,
    view: &mut View,
    memory: &mut FrameMemory,
    seen: &Seen,
    layout: &Layout,
    now_s: f64,
) {
    let places = Fixture::ALL.map(|fixture| {
        seen.clouds[fixture as usize]
            .as_ref()
            .map_or_else(Glide::default, Glide::of)
    });
    let number = desk.calibration_number();
    let glides = memory
        .glide
        .follow(places, number, now_s, view.reduced_motion);
    for fixture in Fixture::ALL {
        let column = Column {
            desk,
            seen,
            layout,
            fixture,
            rect: layout.columns[fixture as usize],
        };
        if !column.rect.is_positive() {
            continue;
        }
        if layout.shape == Shape::Narrow {
            column.narrow(ui, view);
        } else {
            column.whole(ui, view, glides[fixture as usize]);
        }
    }
}

struct Column<'a> {
    desk: &'a Desk,
    seen: &'a Seen,
    layout: &'a Layout,
    fixture: Fixture,
    rect: Rect,
}

impl Column<'_> {
    fn whole(&self, ui: &mut Ui, view: &mut View, glide: Glide) {
        let rect = self.rect;
        let plan = Plan::of(rect.size(), view, self.layout);
        let mut top = rect.top();
        let mut next = |height: f32| {
            let place =
                Rect::from_min_size(pos2(rect.left(), top), Vec2::new(rect.width(), height));
            top += height;
            place
        };
        let title = next(plan.title);
        if plan.title > 0.0 {
            self.title(ui, view, title, plan.circuit == 0.0);
        }
        if plan.circuit > 0.0 {
            self.circuit(ui, view, next(plan.circuit));
        }
        self.verdict(ui, view, next(plan.verdict));
        if plan.cloud > 0.0 {
            self.cloud(ui, view, next(plan.cloud), glide);
        }
        if plan.sums > 0.0 && plan.cloud == 0.0 {
            self.sums(ui, view, next(plan.sums));
        }
        let palette = view.theme.palette();
        ui.painter()
            .hline(rect.x_range(), top + 2.0, (1.0, color(palette.hair)));
        top += 4.0;
        for row in &plan.rows {
            let place =
                Rect::from_min_size(pos2(rect.left(), top), Vec2::new(rect.width(), plan.row));
            self.row(ui, view, *row, place);
            top += plan.row;
        }
        if plan.sums > 0.0 && plan.cloud > 0.0 {
            let room = Rect::from_min_max(pos2(rect.left(), top + 4.0), rect.max);
            self.sums(ui, view, room);
        }
    }

    /// One fixture in a row: its verdict and its value.
    fn narrow(&self, ui: &Ui, view: &View) {
        let half = self.rect.height() / 2.0;
        let top = Rect::from_min_size(self.rect.min, Vec2::new(self.rect.width(), half));
        self.verdict(ui, view, top);
        self.row(ui, view, Row::Value, top.translate(Vec2::new(0.0, half)));
    }

    fn appraisal(&self) -> Option<&FixtureAppraisal> {
        self.seen.readout.appraisal_of(self.fixture)
    }

    /// The fixture knows the part best of all.
    fn is_best(&self) -> bool {
        self.seen.answer.best == Some(self.fixture)
    }

    /// A sign in place of what is covered.
    fn covered(&self, ui: &Ui, what: &str, place: Rect) {
        let size = self
            .layout
            .sizes
            .head
            .min(place.height() / LINE)
            .max(LEAST_LETTERS);
        let ink = ui.visuals().weak_text_color();
        let font = FontId::new(size, strong_family());
        ui.painter()
            .text(place.center(), egui::Align2::CENTER_CENTER, "?", font, ink);
        named::say(ui, &self.name(what), "covered", place);
    }

    fn name(&self, what: &str) -> String {
        format!("{}, {what}", fixture_title(self.fixture))
    }

    fn title(&self, ui: &Ui, view: &View, place: Rect, with_circuit: bool) {
        const MINI: Vec2 = Vec2::new(76.0, 30.0);
        let size = self.layout.sizes.body;
        let middle = place.center().y;
        let brush = Brush::new(ui.painter(), Pos2::ZERO, view.theme);
        let center = [place.left() + 0.55 * size, middle].map(f64::from);
        brush.draw(&[sign(self.fixture, center, f64::from(1.05 * size))]);
        let left = place.left() + 1.6 * size;
        let has_mini = with_circuit
            && view.theme != crate::Theme::Hall
            && place.width() >= 220.0
            && place.height() >= 26.0;
        let room = place.right() - left - if has_mini { MINI.x } else { 0.0 };
        let title = fixture_title(self.fixture);
        let font = FontId::new(size, strong_family());
        let ink = color(view.theme.palette().fixture(self.fixture));
        let whole = ui
            .painter()
            .layout_no_wrap(title.to_owned(), font.clone(), ink);
        let shown = if whole.size().x <= room {
            title
        } else {
            title.split_once('-').map_or(title, |(first, _)| first)
        };
        named::line(ui, shown, pos2(left, middle - 0.62 * size), room, font, ink);
        named::say(ui, &self.name("fixture"), title, place);
        if has_mini {
            let at = pos2(place.right() - MINI.x, middle - MINI.y / 2.0);
            let marks = mini_circuit(self.fixture, [MINI.x, MINI.y].map(f64::from));
            Brush::new(ui.painter(), at, view.theme).draw(&marks);
        }
    }

    fn circuit(&self, ui: &Ui, view: &View, place: Rect) {
        let scene = circuit(self.fixture);
        let [width, height] = scene.size.map(|length| length as f32);
        let scale = (place.height() / height).min(place.width() / width);
        let painter = ui.painter_at(place);
        let brush = Brush::new(&painter, place.min, view.theme).scaled(scale);
        brush.draw(&scene.marks);
        if view.wave {
            let reference = self.desk.scenario().reference;
            brush.draw(&envelope(self.fixture, self.desk.device(), reference));
        }
        picture(ui, place, &self.name("circuit"), scene.description);
    }

    fn verdict(&self, ui: &Ui, view: &View, place: Rect) {
        if view.covers.verdict(self.fixture) {
            self.covered(ui, "verdict", place);
            return;
        }
        let Some(appraisal) = self.appraisal() else {
            return;
        };
        let size = verdict_size(self.rect.size(), self.layout)
            .min(place.height() / LINE)
            .max(LEAST_LETTERS);
        let middle = place.center().y;
        let center = [place.left() + 0.45 * size, middle].map(f64::from);
        let brush = Brush::new(ui.painter(), Pos2::ZERO, view.theme);
        let marks = verdict_sign(
            self.fixture,
            appraisal.verdict,
            center,
            f64::from(0.85 * size),
        );
        brush.draw(&marks);
        let left = place.left() + 1.3 * size;
        let room = place.right() - left;
        let is_seen = appraisal.verdict == Verdict::Sees;
        let font = |size: f32| {
            if is_seen {
                FontId::new(size, strong_family())
            } else {
                FontId::proportional(size)
            }
        };
        let ink = ui.visuals().text_color();
        let words = verdict_words(appraisal.verdict);
        let width = |font: FontId| {
            let galley = ui.painter().layout_no_wrap(words.to_owned(), font, ink);
            galley.size().x
        };
        // The whole words, a little smaller where that helps, or else the short ones.
        let least = self.layout.sizes.body.min(size);
        let (shown, size) = if width(font(size)) <= room {
            (words, size)
        } else if width(font(least)) <= room {
            (words, least)
        } else {
            (verdict_in_short(appraisal.verdict), size)
        };
        let font = font(size);
        named::line(ui, shown, pos2(left, middle - 0.62 * size), room, font, ink);
        named::say(ui, &self.name("verdict"), &verdict(appraisal), place);
    }

    fn cloud(&self, ui: &Ui, view: &mut View, place: Rect, glide: Glide) {
        if view.covers.verdict(self.fixture) {
            self.covered(ui, "clouds", place);
            return;
        }
        if view.guide.covers_clouds() {
            let font = FontId::new(self.layout.sizes.answer, strong_family());
            let ink = color(view.theme.palette().fixture(self.fixture));
            ui.painter()
                .text(place.center(), egui::Align2::CENTER_CENTER, "?", font, ink);
            let response = ui.interact(place, Id::new(self.name("guess")), Sense::click());
            let name = format!("Guess {}", fixture_title(self.fixture));
            response
                .widget_info(|| egui::WidgetInfo::labeled(egui::WidgetType::Button, true, &name));
            if response.clicked() {
                view.guide.guess(self.fixture);
            }
            return;
        }
        let separation =
            |fixture: Fixture| self.seen.readout.appraisal_of(fixture)?.separation_sigma;
        let clouds = self.seen.clouds[self.fixture as usize].as_ref();
        let (Some(clouds), Some(own)) = (clouds, separation(self.fixture)) else {
            return;
        };
        let scale = CloudScale::of(Fixture::ALL.into_iter().filter_map(separation));
        let size = [place.width(), place.height()].map(f64::from);
        let scene = cloud(
            clouds,
            own,
            scale,
            glide,
            size,
            f64::from(self.layout.sizes.small),
        );
        Brush::new(&ui.painter_at(place), place.min, view.theme).draw(&scene.marks);
        picture(ui, place, &scene.title, scene.description);
    }

    fn row(&self, ui: &Ui, view: &View, row: Row, place: Rect) {
        let (is_covered, what) = match row {
            Row::Value => (view.covers.bar(self.fixture), "value"),
            Row::CameOut => (view.covers.bar(self.fixture), "this time"),
            Row::Change => (view.covers.verdict(self.fixture), "a change"),
            Row::Reading => (view.covers.reading(self.fixture), "reading"),
        };
        if is_covered {
            self.covered(ui, what, place);
            return;
        }
        let (label, name, shown, spoken, is_large) = match row {
            Row::Value => {
                let value = self.value();
                ("|Z|", "value", value.clone(), value, true)
            }
            Row::CameOut => {
                let text = self.came_out();
                ("this time", "this time", text.clone(), text, false)
            }
            Row::Change => {
                let text = self.change();
                ("a change", "a change", text.clone(), text, false)
            }
            Row::Reading => return self.reading(ui, place),
        };
        let at = self.label(ui, label, place);
        let is_strong = is_large && self.is_best() && !view.covers.best_fixture();
        let font = |size: f32| {
            if is_strong {
                FontId::new(size, strong_family())
            } else {
                FontId::proportional(size)
            }
        };
        let ink = ui.visuals().text_color();
        let room = place.right() - at;
        let largest = self.layout.sizes.body + if is_large { 2.0 } else { 0.0 };
        let mut size = largest.min(place.height() / LINE).max(LEAST_LETTERS);
        let width = |size: f32| {
            let galley = ui.painter().layout_no_wrap(shown.clone(), font(size), ink);
            galley.size().x
        };
        while size > self.layout.sizes.small && width(size) > room {
            size -= 1.0;
        }
        let middle = place.center().y - 0.62 * size;
        named::line(ui, &shown, pos2(at, middle), room, font(size), ink);
        named::say(ui, &self.name(name), &spoken, place);
    }

    /// The name of a row, where there is room for it. Where its text begins.
    fn label(&self, ui: &Ui, label: &str, place: Rect) -> f32 {
        let size = self.layout.sizes.small;
        if place.width() < 13.0 * size {
            return place.left();
        }
        let font = FontId::proportional(size);
        let at = pos2(place.left(), place.center().y - 0.62 * size);
        named::line(
            ui,
            label,
            at,
            5.0 * size,
            font,
            ui.visuals().weak_text_color(),
        );
        place.left() + 5.0 * size
    }

    fn value(&self) -> String {
        let interval = self.seen.interval(self.fixture);
        column_value(&self.seen.readout, self.fixture, interval)
    }

    fn came_out(&self) -> String {
        match self.desk.trials().last() {
            None => "not read yet".to_owned(),
            Some(last) => last[self.fixture as usize].map_or("–".to_owned(), |ohm| {
                came_out(ohm, self.seen.interval(self.fixture))
            }),
        }
    }

    fn change(&self) -> String {
        column_change(&self.seen.readout, self.desk.bench(), self.fixture)
    }

    fn reading(&self, ui: &Ui, place: Rect) {
        let entry = self.seen.readout.of(self.fixture);
        let at = self.label(ui, "reading", place);
        let size = self.layout.sizes.body;
        let (font, ink) = (FontId::proportional(size), ui.visuals().text_color());
        let middle = place.center().y - 0.62 * size;
        let room = place.right() - at;
        if entry.reading.is_none() {
            named::line(
                ui,
                "none: it would oscillate",
                pos2(at, middle),
                room,
                font,
                ink,
            );
            let why = no_reading(self.fixture, self.seen.readout.reference);
            named::say(ui, &self.name("reading"), &why, place);
            return;
        }
        let [of_db, of_deg] = self.seen.display_decimals;
        let decibels = entry.decibels().map_or_else(
            || "0, no decibels".to_owned(),
            |db| format!("{}\u{202f}dB", fixed(db, of_db)),
        );
        let degrees = entry
            .degrees()
            .map_or_else(|| "–".to_owned(), |deg| format!("{}°", fixed(deg, of_deg)));
        let first = named::line(ui, &decibels, pos2(at, middle), room, font.clone(), ink);
        named::say(ui, &self.name("decibels"), &decibels, first);
        let next = pos2(first.right() + 0.6 * size, middle);
        let second = named::line(ui, &degrees, next, place.right() - next.x, font, ink);
        named::say(ui, &self.name("degrees"), &degrees, second);
    }

    fn sums(&self, ui: &mut Ui, view: &View, place: Rect) {
        if view.covers.sums(self.fixture) {
            self.covered(ui, "sums", place);
            return;
        }
        let mut room = ui.new_child(UiBuilder::new().id_salt(self.fixture).max_rect(place));
        room.set_clip_rect(place.intersect(ui.clip_rect()));
        sum_ui(&mut room, self.desk, self.seen, self.fixture);
    }
}

fn picture(ui: &Ui, rect: Rect, title: &str, description: String) {
    let response = ui.interact(rect, Id::new(("picture", title)), Sense::hover());
    ui.ctx().accesskit_node_builder(response.id, |node| {
        node.set_role(accesskit::Role::Image);
        node.set_label(title);
        node.set_description(description);
    });
}
