//! `talk KEY`: a talk as its script, stop by stop, from the same file that the simulator shows.

use jigwise_bench::ScenarioError;
use jigwise_exercises::Cover;
use jigwise_exercises::talk::{Shown, Talk, talk as talk_of, talks};
use maud::{Markup, html};

use crate::block::{Block, BlockError};
use crate::markup;

pub(crate) fn talk(block: &Block<'_>) -> Result<Markup, BlockError> {
    let [key] = block.words[..] else {
        return Err(block.error("expected talk KEY, as in talk club"));
    };
    let found = talk_of(key).ok_or_else(|| {
        let known: Vec<&str> = talks().iter().map(|built_in| built_in.key).collect();
        block.error(format!(
            "\"{key}\" is no talk{}",
            jigwise_bench::hint(key, &known)
        ))
    })?;
    script(found, key, &block.id).map_err(|error| block.error(error))
}

fn script(talk: &Talk, key: &str, id: &str) -> Result<Markup, ScenarioError> {
    let mut begins_s = 0;
    let mut stops = Vec::new();
    for (number, stop) in (1..).zip(&talk.stops) {
        let shown = stop.shown.as_ref().map_err(Clone::clone)?;
        let fragment = shown.scenario.to_fragment().ok();
        let own_id = format!("{id}-{number}");
        stops.push(html! {
            section.talk-stop aria-labelledby=(own_id) {
                h2 id=(own_id) { (number) ". " (stop.title) }
                p.talk-time { "From " (clock(begins_s)) ", " (stop.seconds) " s. " (covered(shown)) }
                p { strong { "On the screen: " } (shown.sentence) }
                @if let Some(ask) = &shown.ask { p { strong { "Ask: " } (ask) } }
                @for paragraph in &shown.say { p { (paragraph) } }
                @if let Some(fragment) = &fragment { (markup::open_bench(fragment)) }
            }
        });
        begins_s += stop.seconds;
    }
    Ok(html! {
        div.talk {
            p { (talk.stops.len()) " stops, " (talk.minutes()) " minutes." }
            (markup::open_bench(&format!("talk={key}")))
            @for stop in &stops { (stop) }
        }
    })
}

fn clock(seconds: u32) -> String {
    format!("{}:{:02}", seconds / 60, seconds % 60)
}

/// What is covered at first, as the speaker has to know.
fn covered(shown: &Shown) -> String {
    match shown.covered[..] {
        [] => "Nothing is covered.".to_owned(),
        [Cover::BestFixture] => "The answer is covered until you go on.".to_owned(),
        _ => "Answer and columns are covered until you go on.".to_owned(),
    }
}
