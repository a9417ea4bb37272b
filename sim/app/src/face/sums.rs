//! The sums of a fixture: its formula with numbers, the reading as a number, u by cause.

use egui::Ui;
use jigwise_bench::words::{
    came_out_complex, causes_by_share, fixture_title, reading_name, resolvable, trust,
};
use jigwise_bench::{Fixture, Trust, engineering, plain_complex, sums, unsigned_percent};

use super::memory::Seen;
use super::named;
use crate::Desk;

/// Causes that are named.
const CAUSES: usize = 3;

/// All three fixtures, one after the other.
pub(super) fn sums_ui(ui: &mut Ui, desk: &Desk, seen: &Seen) {
    for fixture in Fixture::ALL {
        ui.add_space(6.0);
        ui.strong(fixture_title(fixture));
        sum_ui(ui, desk, seen, fixture);
    }
}

/// One fixture.
pub(super) fn sum_ui(ui: &mut Ui, desk: &Desk, seen: &Seen, fixture: Fixture) {
    let title = fixture_title(fixture);
    let name = |what: &str| format!("{title}, {what}");
    let entry = seen.readout.of(fixture);
    ui.spacing_mut().item_spacing.y = 2.0;
    if let Some(s) = entry.reading {
        let text = format!("{} = {}", reading_name(fixture), plain_complex(s, 5));
        named::value(ui, &name("linear"), text);
    }
    let sum = sums::back(&entry, seen.readout.reference);
    named::value(ui, &name("formula"), sum.symbols);
    if let Some(numbers) = sum.numbers {
        named::value(ui, &name("formula with numbers"), format!("= {numbers}"));
    }
    let interval = seen.interval(fixture);
    let ohms = desk.got_back(fixture).map_or("–".to_owned(), |device| {
        came_out_complex(device, interval)
    });
    named::value(ui, &name("ohms got back"), ohms);
    let Some(appraised) = seen.readout.appraisal_of(fixture) else {
        return;
    };
    if let Some(u) = appraised.ohms.filter(|_| appraised.trust.has_deviation()) {
        let text = format!(
            "u(R) {}, u(X) {}",
            engineering(u.u_r_ohm, "Ω", 3),
            engineering(u.u_x_ohm, "Ω", 3)
        );
        named::value(ui, &name("uncertainty"), text);
    }
    if appraised.trust != Trust::Linear {
        named::value(ui, &name("trust"), trust(appraised.trust));
    }
    let causes: Vec<String> = causes_by_share(desk.bench(), fixture)
        .into_iter()
        .take(CAUSES)
        .map(|(each, share)| format!("{} {}", each.name(), unsigned_percent(share)))
        .collect();
    if !causes.is_empty() {
        let text = format!("u² from {}", causes.join(", "));
        named::value(ui, &name("causes"), text);
    }
    if let Some(both) = appraised.resolvable {
        let text = resolvable(both.increase);
        named::value(ui, &name("increase it shows"), text);
        let text = resolvable(both.decrease);
        named::value(ui, &name("decrease it shows"), text);
    }
}
