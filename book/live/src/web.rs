//! What the scripts of the book call.

use jigwise_exercises::catalogue;
use jigwise_page::JunkBox;
use wasm_bindgen::prelude::wasm_bindgen;

use crate::{MovedPart, Piece};

/// A page: its pieces, and the part that was moved, if one was.
#[wasm_bindgen]
#[derive(Default)]
pub struct LivePage {
    pieces: Vec<Piece>,
    part: Option<MovedPart>,
}

#[wasm_bindgen]
impl LivePage {
    /// A page without pieces.
    #[wasm_bindgen(constructor)]
    pub fn new() -> Self {
        Self::default()
    }

    /// Takes in a number of running text, by what stands between its braces; gives its index.
    pub fn add_value(&mut self, source: &str) -> usize {
        self.add(Piece::Value(source.to_owned()))
    }

    /// Takes in a formula; gives its index.
    pub fn add_formula(&mut self, latex: &str, displayed: bool) -> usize {
        let latex = latex.to_owned();
        self.add(Piece::Formula { latex, displayed })
    }

    /// Takes in a block; gives its index.
    pub fn add_block(&mut self, info: &str, body: &str, id: &str) -> usize {
        self.add(Piece::Block {
            info: info.to_owned(),
            body: body.to_owned(),
            id: id.to_owned(),
        })
    }

    fn add(&mut self, piece: Piece) -> usize {
        self.pieces.push(piece);
        self.pieces.len() - 1
    }

    /// A piece for the part as it is now. `has_still_layers` says that the page shows the piece of
    /// the same bench already: a layer that does not follow the part comes as an empty
    /// `g.jw-still`.
    ///
    /// # Errors
    /// A sentence that says why there is none for this part.
    pub fn html(&self, index: usize, has_still_layers: bool) -> Result<String, String> {
        let piece = self.pieces.get(index).ok_or("no such piece")?;
        match &self.part {
            Some(part) if has_still_layers => piece.html_over_still_layers(part),
            Some(part) => piece.html(part),
            None => piece.html(&JunkBox),
        }
    }

    /// Takes the part of a scenario in hand, as it is printed.
    ///
    /// # Errors
    /// A sentence, where there is no such scenario or its part can't be moved.
    pub fn take(&mut self, name: &str) -> Result<(), String> {
        let part = MovedPart::of(name).map_err(|error| error.to_string())?;
        self.part = Some(part);
        Ok(())
    }

    /// Puts the part back as it is printed.
    pub fn put_back(&mut self) {
        if let Some(part) = &mut self.part {
            part.put_back();
        }
    }

    /// Takes the bench of a link in hand, in place of the scenario `name`.
    ///
    /// # Errors
    /// A sentence; the page stays as it is.
    pub fn open(&mut self, name: &str, fragment: &str) -> Result<(), String> {
        let part = MovedPart::from_fragment(name, fragment).map_err(|error| error.to_string())?;
        self.part = Some(part);
        Ok(())
    }

    /// The bench as the fragment of a link.
    ///
    /// # Errors
    /// A sentence, for a bench that no link holds.
    pub fn fragment(&self) -> Result<String, String> {
        let part = self.in_hand()?;
        part.fragment().map_err(|error| error.to_string())
    }

    /// Moves the part to where it was typed: `4.7k`, `330p`, `50 - j20`.
    ///
    /// # Errors
    /// A sentence; the part stays where it is.
    pub fn type_part(&mut self, text: &str) -> Result<(), String> {
        let part = self.part.as_mut().ok_or(NONE_IN_HAND)?;
        part.type_part(text).map_err(|error| error.to_string())
    }

    /// Moves the part to a place of a figure.
    ///
    /// # Errors
    /// A sentence; the part stays where it is.
    pub fn drag(&mut self, grip: &str, x: f64, y: f64) -> Result<(), String> {
        let part = self.part.as_mut().ok_or(NONE_IN_HAND)?;
        part.drag(grip, [x, y]).map_err(|error| error.to_string())
    }

    /// Moves |Z| by steps of a twenty-fourth of a decade, and the phase by degrees.
    ///
    /// # Errors
    /// A sentence; the part stays where it is.
    pub fn step(&mut self, steps: f64, degrees: f64) -> Result<(), String> {
        let part = self.part.as_mut().ok_or(NONE_IN_HAND)?;
        part.step(steps, degrees).map_err(|error| error.to_string())
    }

    /// Moves |Z| to a power of ten, in ohms, and the phase to an angle in degrees.
    ///
    /// # Errors
    /// A sentence; the part stays where it is.
    pub fn set_polar(&mut self, log_ohm: f64, degrees: f64) -> Result<(), String> {
        let part = self.part.as_mut().ok_or(NONE_IN_HAND)?;
        part.set_polar(log_ohm, degrees)
            .map_err(|error| error.to_string())
    }

    /// Calibrates again, the part in place.
    ///
    /// # Errors
    /// A sentence, where no part is in hand.
    pub fn calibrate_again(&mut self) -> Result<(), String> {
        self.part.as_mut().ok_or(NONE_IN_HAND)?.calibrate_again();
        Ok(())
    }

    /// True where the part is not as it is printed, or was calibrated again.
    pub fn is_moved(&self) -> bool {
        self.part.as_ref().is_some_and(MovedPart::is_moved)
    }

    /// The part in words.
    pub fn words(&self) -> String {
        self.part.as_ref().map_or(String::new(), MovedPart::words)
    }

    /// The part as it is printed, in words.
    pub fn printed_words(&self) -> String {
        self.part
            .as_ref()
            .map_or(String::new(), MovedPart::printed_words)
    }

    /// |Z| in words.
    pub fn magnitude_words(&self) -> String {
        self.part
            .as_ref()
            .map_or(String::new(), MovedPart::magnitude_words)
    }

    /// The phase in words.
    pub fn phase_words(&self) -> String {
        self.part
            .as_ref()
            .map_or(String::new(), MovedPart::phase_words)
    }

    /// The power of ten of |Z| in ohms, kept within the rule.
    pub fn log_ohm(&self) -> f64 {
        self.part.as_ref().map_or(0.0, MovedPart::log_ohm)
    }

    /// The phase in degrees; 0 for an open or a short.
    pub fn degrees(&self) -> f64 {
        self.part.as_ref().map_or(0.0, MovedPart::degrees)
    }

    fn in_hand(&self) -> Result<&MovedPart, String> {
        Ok(self.part.as_ref().ok_or(NONE_IN_HAND)?)
    }
}

const NONE_IN_HAND: &str = "no part is in hand; choose one first";

/// The name of a scenario for a list of parts, or nothing where its part can't be moved.
#[wasm_bindgen]
pub fn part_title(name: &str) -> Option<String> {
    MovedPart::of(name).ok().map(|part| part.title())
}

/// What a check says.
#[wasm_bindgen]
pub struct Checked {
    right: bool,
    words: String,
}

#[wasm_bindgen]
impl Checked {
    /// True where the answer is right.
    #[wasm_bindgen(getter)]
    pub fn right(&self) -> bool {
        self.right
    }

    /// What is said of it.
    #[wasm_bindgen(getter)]
    pub fn words(&self) -> String {
        self.words.clone()
    }
}

/// Checks an answer to a task, as `lab check` does.
///
/// # Errors
/// A sentence: no such task, or text that is no answer to it.
#[wasm_bindgen]
pub fn check_answer(key: &str, answer: &str) -> Result<Checked, String> {
    let (right, words) = crate::check_answer(key, answer)?;
    Ok(Checked { right, words })
}

/// The title of a task, or nothing where there is no such task any more.
#[wasm_bindgen]
pub fn task_title(key: &str) -> Option<String> {
    let task = catalogue().task(key).ok()?;
    Some(task.title().to_owned())
}

/// What a formula gives back in a fixture, as `jig roundtrip` says it.
///
/// # Errors
/// A sentence: no such fixture, or text that is no formula.
#[wasm_bindgen]
pub fn check_formula(formula: &str, fixture: &str) -> Result<String, String> {
    crate::check_formula(formula, fixture)
}
