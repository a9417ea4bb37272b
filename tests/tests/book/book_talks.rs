//! The pages about talks and rounds, and that the window's questions find their pages.

use std::path::Path;

use jigwise_exercises::explain::Thing;
use jigwise_exercises::talk::talks;
use jigwise_tests::pressed_book::{book, text_of};

/// Every thing that the window explains has a page in the built book, and a heading there.
#[test]
fn every_thing_of_the_window_has_its_page_and_heading() {
    for thing in Thing::all() {
        let address = thing.address();
        let (page, heading) = address.split_once('#').unwrap_or((&address, ""));
        let html = book().pages.get(Path::new(page));
        let html = html.unwrap_or_else(|| panic!("{thing:?}: no page {page}"));
        if !heading.is_empty() {
            let id = format!("id=\"{heading}\"");
            let ids: Vec<&str> = html
                .split("<h2 id=\"")
                .skip(1)
                .map(|rest| &rest[..30.min(rest.len())])
                .collect();
            assert!(
                html.contains(&id),
                "{thing:?}: no heading {heading} on {page}: {ids:?}"
            );
        }
    }
}

/// The script says every word of the talk, so that the two never differ.
#[test]
fn the_scripts_hold_the_whole_talks() {
    for built_in in talks() {
        let text = text_of(&format!("talks/{}.html", built_in.key));
        for stop in &built_in.talk.stops {
            let shown = stop.shown.as_ref().unwrap();
            let spoken = shown.say.iter().chain(&shown.ask);
            for words in spoken.chain([&shown.sentence]) {
                let plain = words.split_whitespace().collect::<Vec<_>>().join(" ");
                assert!(text.contains(&plain), "{}: {plain}", built_in.key);
            }
        }
    }
}
