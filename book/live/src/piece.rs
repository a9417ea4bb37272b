//! A piece of a page with what it is computed from.

use jigwise_page::{
    Block, NoMeasurements, Scenarios, displayed_formula, filled, following_html, inline_formula,
    value,
};

/// A piece of a page that follows the part.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Piece {
    /// A number of running text: what stands between its braces.
    Value(String),
    /// A formula with numbers in it.
    Formula {
        /// Its LaTeX, with braces where numbers go.
        latex: String,
        /// True for one in a paragraph of its own.
        displayed: bool,
    },
    /// A block.
    Block {
        /// What follows its opening fence.
        info: String,
        /// What stands between its fences.
        body: String,
        /// Its id in the page.
        id: String,
    },
}

impl Piece {
    /// The piece over scenarios, as the press computes it.
    ///
    /// # Errors
    /// A sentence, where these scenarios have no such piece.
    pub fn html(&self, scenarios: &dyn Scenarios) -> Result<String, String> {
        self.html_in(scenarios, false)
    }

    /// The same for a page that shows this piece of the same bench with another part: the layers
    /// of its figures that do not follow the part are left empty.
    ///
    /// # Errors
    /// A sentence, where these scenarios have no such piece.
    pub fn html_over_still_layers(&self, scenarios: &dyn Scenarios) -> Result<String, String> {
        self.html_in(scenarios, true)
    }

    fn html_in(&self, scenarios: &dyn Scenarios, has_layers: bool) -> Result<String, String> {
        match self {
            Self::Value(source) => value(source, scenarios),
            Self::Formula { latex, displayed } => {
                let latex = filled(latex, scenarios).map_err(|error| error.message)?;
                let set = match displayed {
                    true => displayed_formula(&latex),
                    false => inline_formula(&latex),
                };
                set.map_err(|error| error.message)
            }
            Self::Block { info, body, id } => {
                let mut block =
                    Block::new(info, body, id.as_str(), &NoMeasurements).over(scenarios);
                if has_layers {
                    block = block.without_still_layers();
                }
                following_html(&block).map_err(|error| error.to_string())
            }
        }
    }
}
