//! A mode named by a link: `talk=club`, `round=22222-22222`, `round=coil`, `predict=best-fixture`.

use jigwise_bench::{MAX_QUOTED, excerpt, hint};
use jigwise_exercises::Cover;
use jigwise_exercises::round::{Code, Sort};
use jigwise_exercises::talk::{Talk, talk, talks};

use crate::Simulator;

/// What a link asks to begin.
#[derive(Debug, Clone)]
pub enum ModeLink {
    /// A talk that comes along.
    Talk(&'static Talk),
    /// The round of a code.
    Round(Code),
    /// Any round of a sort.
    AnyRound(Sort),
    /// To predict something.
    Predict(Cover),
}

impl ModeLink {
    /// Reads what stands behind the `#` of a link. What follows an `&` belongs to the page.
    ///
    /// # Errors
    /// The sentence that says what is wrong with it.
    pub fn from_fragment(fragment: &str) -> Result<Self, String> {
        let fragment = fragment.strip_prefix('#').unwrap_or(fragment);
        let named = fragment.split('&').next().unwrap_or_default();
        let (mode, name) = named.split_once('=').unwrap_or((named, ""));
        match mode {
            "talk" => Self::talk(name),
            "round" => Self::round(name),
            // A browser writes the space of a typed address so.
            "predict" => Self::predict(&name.replace("%20", " ")),
            other => Err(format!(
                "this link asks for \"{}\"{}",
                excerpt(other, MAX_QUOTED),
                hint(other, &["talk", "round", "predict"])
            )),
        }
    }

    /// The talk of a name.
    ///
    /// # Errors
    /// A sentence with the nearest.
    pub fn talk(name: &str) -> Result<Self, String> {
        talk(name).map(Self::Talk).ok_or_else(|| {
            let keys: Vec<&str> = talks().iter().map(|built_in| built_in.key).collect();
            format!(
                "\"{}\" is no talk that comes along{}",
                excerpt(name, MAX_QUOTED),
                hint(name, &keys)
            )
        })
    }

    /// The round of a code, or any one of a sort.
    ///
    /// # Errors
    /// A sentence about the code.
    pub fn round(name: &str) -> Result<Self, String> {
        let sort = Sort::ALL.into_iter().find(|sort| sort.key() == name);
        match sort {
            Some(sort) => Ok(Self::AnyRound(sort)),
            None => name
                .parse()
                .map(Self::Round)
                .map_err(|error: jigwise_exercises::round::CodeError| error.to_string()),
        }
    }

    /// To predict something, by its name in files; hyphens may stand for spaces.
    ///
    /// # Errors
    /// A sentence with the nearest.
    pub fn predict(name: &str) -> Result<Self, String> {
        let same = |cover: &Cover| {
            let key = cover.key();
            key == name || key.replace(' ', "-") == name
        };
        Cover::all().find(same).map(Self::Predict).ok_or_else(|| {
            let keys: Vec<String> = Cover::all().map(Cover::key).collect();
            let keys: Vec<&str> = keys.iter().map(String::as_str).collect();
            format!(
                "\"{}\" can't be covered{}",
                excerpt(name, MAX_QUOTED),
                hint(name, &keys)
            )
        })
    }
}

impl Simulator {
    /// Begins what a link asks for.
    pub fn follow_link(&mut self, link: ModeLink) {
        match link {
            ModeLink::Talk(talk) => self.begin_talk(talk.clone()),
            ModeLink::Round(code) => self.begin_round(code),
            ModeLink::AnyRound(sort) => self.begin_any_round(sort),
            ModeLink::Predict(cover) => self.predict(cover),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_link_names_a_mode_or_gets_a_sentence() {
        for good in [
            "#talk=club",
            "talk=short&theme=hall",
            "round=22222-22222",
            "round=coil",
            "predict=best-fixture",
            "predict=best%20fixture",
            "predict=bar-shunt-through",
        ] {
            assert!(ModeLink::from_fragment(good).is_ok(), "{good}");
        }
        for (wrong, words) in [
            ("talk=clubb", "did you mean \"club\"?"),
            ("round=22222-22223", "compare it"),
            ("round=", "has 0 signs"),
            ("predict=best", "can't be covered"),
            ("tlak=club", "did you mean \"talk\"?"),
            ("", "this link asks for"),
        ] {
            let said = ModeLink::from_fragment(wrong).unwrap_err();
            assert!(said.contains(words), "{wrong}: {said}");
        }
    }
}
