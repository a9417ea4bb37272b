//! The table of points.

use maud::{Markup, html};

use super::super::Gathered;
use crate::{Column, PartPoint, Shown, View};

pub(super) fn section(all: &Gathered) -> Markup {
    let columns: Vec<(&Column, Shown)> = all.columns().shown(View::Page).collect();
    let caption = format!(
        "{} of {} points; all of them are in points.csv.{}",
        all.rows.len(),
        all.points,
        if all.is_known() {
            " u: standard uncertainty, k = 1."
        } else {
            ""
        }
    );
    let inside = html! {
        div class="wide" { "\n"
            table class="points" { "\n"
                caption { (caption) } "\n"
                thead {
                    tr {
                        @for (at, (_, shown)) in columns.iter().enumerate() {
                            th scope="col" class=[is_text(at, shown)] { (shown.title(View::Page)) }
                        }
                    }
                } "\n"
                tbody { "\n"
                    @for point in &all.rows { (row(point, &columns)) "\n" }
                } "\n"
            } "\n"
        } "\n"
    };
    super::section("table", "Points", &inside)
}

/// The first column heads its row and stands to the left as words do.
fn is_text(at: usize, shown: &Shown) -> Option<&'static str> {
    (at == 0 || shown.is_words).then_some("text")
}

fn row(point: &PartPoint, columns: &[(&Column, Shown)]) -> Markup {
    html! {
        tr {
            @for (at, (column, shown)) in columns.iter().enumerate() {
                @let text = column.text(point, View::Page);
                @if at == 0 {
                    th scope="row" data-name=(shown.title(View::Page)) { (text) }
                } @else {
                    td class=[is_text(at, shown)] data-name=(shown.title(View::Page)) { (text) }
                }
            }
        }
    }
}
