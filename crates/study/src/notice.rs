//! Notices: a stated problem or caution attached to an answer.

use crate::figure::Figure;

/// How much a notice weighs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Weight {
    /// Something to know about the answer.
    Remark,
    /// Something that may go wrong.
    Caution,
    /// A limit is passed, or there is no physical answer.
    Limit,
}

impl Weight {
    /// The word on screens and in JSON.
    pub fn word(self) -> &'static str {
        match self {
            Weight::Remark => "remark",
            Weight::Caution => "caution",
            Weight::Limit => "limit",
        }
    }
}

/// A stated problem or caution: what, where, with which numbers, and what to
/// do.
#[derive(Debug, Clone, PartialEq)]
pub struct Notice {
    /// A fixed name for programs, in snake_case.
    pub code: &'static str,
    /// How much it weighs.
    pub weight: Weight,
    /// The part or tip it is about; empty when it is about the whole line.
    pub place: String,
    /// The numbers it rests on, each with its name.
    pub numbers: Vec<(&'static str, Figure)>,
    /// What is the matter, in plain words without numbers.
    pub text: String,
    /// What to do about it.
    pub mend: String,
}

impl Notice {
    /// A notice about the whole line.
    pub fn new(code: &'static str, weight: Weight, text: impl Into<String>) -> Self {
        Notice {
            code,
            weight,
            place: String::new(),
            numbers: Vec::new(),
            text: text.into(),
            mend: String::new(),
        }
    }

    /// The same notice about `place`.
    pub fn at(mut self, place: impl Into<String>) -> Self {
        self.place = place.into();
        self
    }

    /// The same notice with one more number.
    pub fn with(mut self, name: &'static str, figure: Figure) -> Self {
        self.numbers.push((name, figure));
        self
    }

    /// The same notice with what to do.
    pub fn mend(mut self, mend: impl Into<String>) -> Self {
        self.mend = mend.into();
        self
    }
}
