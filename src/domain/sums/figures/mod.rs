//! The bench: every figure that a maker can ask for away from any batch.
//!
//! One table, [`FIGURES`], feeds the shell verb and the bench screen alike:
//! what a figure is called, what it takes (names, kinds, defaults, help) and
//! the function that answers. To use it:
//!
//! ```
//! use skep::domain::sums::figures::{self, System};
//! let spec = figures::find("alcohol").unwrap();
//! let answer = spec.answer(&[("og", "1.100"), ("sg", "1.000")]).unwrap();
//! assert_eq!(answer.lines[0].label, "alcohol");
//! assert_eq!(answer.lines[0].text(System::Us), "13.5 % vol");
//! assert!(answer.why.to_string().contains("Balling"));
//! ```
//!
//! Lives here: names, words, parsing of typed inputs, calls of the sums. Must
//! not live here: equations (they are in the topic files).

mod cellar;
mod gas;
mod gravity;
mod input;
mod lists;
mod must;
mod read;
mod shown;
mod stabilise;
mod table;

pub use input::{InputError, InputSpec, Inputs, Kind, Value};
pub use lists::{LotText, PartText};
pub use shown::{Line, Shown, System};
pub use table::FIGURES;

use super::{SumError, Why};

/// Groups of the bench, in their order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Group {
    /// Gravity and its instruments.
    Gravity,
    /// Alcohol.
    Alcohol,
    /// Designing and feeding a must.
    Must,
    /// Gas and pressure.
    Gas,
    /// Sulfite, sorbate, sweetening, acid.
    Stabilise,
    /// Blending, serving, sanitising, units.
    Cellar,
}

impl Group {
    /// All of them, in order.
    pub const ALL: [Self; 6] = [
        Self::Gravity,
        Self::Alcohol,
        Self::Must,
        Self::Gas,
        Self::Stabilise,
        Self::Cellar,
    ];

    /// As printed.
    pub const fn title(self) -> &'static str {
        match self {
            Self::Gravity => "gravity",
            Self::Alcohol => "alcohol",
            Self::Must => "must and nutrient",
            Self::Gas => "gas and bottles",
            Self::Stabilise => "stabilising and acid",
            Self::Cellar => "blends, servings, units",
        }
    }
}

/// One figure of the bench.
#[derive(Debug, Clone, Copy)]
pub struct FigureSpec {
    /// Its word in the shell: `skep figure ID name=value …`.
    pub id: &'static str,
    /// Its title.
    pub title: &'static str,
    /// Where it stands.
    pub group: Group,
    /// One sentence: what it tells.
    pub about: &'static str,
    /// What it takes, in the order of asking.
    pub inputs: &'static [InputSpec],
    /// The formula, for 'why?'.
    pub formula: &'static str,
    /// Sources, for 'why?'.
    pub source: &'static [&'static str],
    /// Range and error, for 'why?'.
    pub range: &'static str,
    /// From checked inputs to lines and notes.
    pub compute: fn(&Inputs<'_>) -> Result<Answer, Refusal>,
}

/// Lines and notes before the 'why' is put to them.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Answer {
    /// The results, the main one first.
    pub lines: Vec<Line>,
    /// Cautions and remarks, each one sentence or two.
    pub notes: Vec<String>,
}

impl Answer {
    /// From lines alone.
    pub fn of(lines: Vec<Line>) -> Self {
        Self {
            lines,
            notes: Vec::new(),
        }
    }

    /// With a note.
    #[must_use]
    pub fn note(mut self, text: impl Into<String>) -> Self {
        self.notes.push(text.into());
        self
    }
}

/// A figure's answer, complete.
#[derive(Debug, Clone, PartialEq)]
pub struct Figure {
    /// The results, the main one first.
    pub lines: Vec<Line>,
    /// Cautions and remarks.
    pub notes: Vec<String>,
    /// What stands behind the main result.
    pub why: Why,
}

/// Why a figure is not given; the sentence is for the maker.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Refusal {
    /// An input could not be read. Which one stands in the error.
    #[error(transparent)]
    Input(#[from] InputError),
    /// The sum has no answer for these inputs.
    #[error(transparent)]
    Sum(#[from] SumError),
    /// Inputs that a figure cannot use together.
    #[error("{0}")]
    Words(String),
}

impl From<crate::domain::units::OutOfRange> for Refusal {
    fn from(error: crate::domain::units::OutOfRange) -> Self {
        Self::Sum(error.into())
    }
}

impl FigureSpec {
    /// Parses the inputs given as name and text (a name may stand once; what
    /// is missing takes its default) and answers.
    pub fn answer(&self, given: &[(&str, &str)]) -> Result<Figure, Refusal> {
        let inputs = Inputs::parse(self.inputs, given)?;
        let Answer { lines, notes } = (self.compute)(&inputs)?;
        let why = self.why(&inputs, &lines);
        Ok(Figure { lines, notes, why })
    }

    fn why(&self, inputs: &Inputs<'_>, lines: &[Line]) -> Why {
        let main = lines.first();
        Why {
            inputs: inputs.told(),
            formula: self.formula,
            source: self.source.to_vec(),
            range: self.range,
            result: main.map(|l| l.text(System::Metric)).unwrap_or_default(),
            plus_minus: main.and_then(Line::plus_minus_text),
        }
    }

    /// The input of this name.
    pub fn input(&self, name: &str) -> Option<&'static InputSpec> {
        self.inputs.iter().find(|i| i.name == name)
    }
}

/// The figure of this id.
pub fn find(id: &str) -> Option<&'static FigureSpec> {
    FIGURES.iter().find(|f| f.id == id)
}
