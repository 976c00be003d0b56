//! What the register holds of a printed sheet.

use paper::{Code, Paper, Sheet, Told};

/// A sheet that is entered in the register.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewIssue {
    /// [`paper::Kind::word`].
    pub kind: String,
    /// The rig or line that it is about, by its name in the book.
    pub subject: String,
    /// What people call that.
    pub title: String,
    /// [`paper::Units::word`].
    pub units: String,
    /// [`paper::Size::word`].
    pub size: String,
    /// The day that stands on it, as "2026-05-11".
    pub date: String,
    /// The code that stands on it, as it is printed.
    pub code: String,
    /// [`Sheet::digest`].
    pub digest: String,
    /// The revision that it was printed from.
    pub revision: i64,
    /// All that it says.
    pub told: Vec<Told>,
}

impl NewIssue {
    /// `sheet` as printed on `paper`; `None` when the paper names no revision, for then
    /// there is nothing in the records that it was printed from.
    pub fn of(sheet: &Sheet, paper: &Paper) -> Option<Self> {
        let code = Code::of(sheet, paper.revision);
        Some(NewIssue {
            kind: sheet.kind.word().into(),
            subject: sheet.subject.clone(),
            title: sheet.title.clone(),
            units: sheet.units.word().into(),
            size: paper.size.word().into(),
            date: paper.date.clone(),
            code: code.to_string(),
            digest: sheet.digest(),
            revision: code.revision?.into(),
            told: paper::told(sheet),
        })
    }
}

/// A sheet of the register.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Issue {
    /// Its number in the register.
    pub id: i64,
    /// The book.
    pub slug: String,
    /// When it was entered, seconds since 1970.
    pub at: i64,
    /// By whom; may be empty.
    pub who: String,
    /// [`paper::Kind::word`].
    pub kind: String,
    /// The rig or line that it is about, by its name in the book of that day.
    pub subject: String,
    /// What people called that.
    pub title: String,
    /// [`paper::Units::word`].
    pub units: String,
    /// [`paper::Size::word`].
    pub size: String,
    /// The day that stands on it, as "2026-05-11".
    pub date: String,
    /// The code that stands on it, as it is printed.
    pub code: String,
    /// [`Sheet::digest`] of that day.
    pub digest: String,
    /// The revision that it was printed from.
    pub revision: i64,
    /// All that it says; in a list empty once it was withdrawn.
    pub told: Vec<Told>,
    /// That it was taken back.
    pub withdrawn: Option<Withdrawn>,
}

/// That a sheet was taken back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Withdrawn {
    /// When, seconds since 1970.
    pub at: i64,
    /// By whom; may be empty.
    pub who: String,
    /// Why.
    pub why: String,
}
