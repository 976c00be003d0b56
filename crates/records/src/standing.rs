//! Whether an issued sheet is still right.

use crate::issue::Issue;
use book::Book;
use paper::{Difference, Kind, Paper, Sheet, Size, Units};
use std::collections::BTreeMap;

/// How an issued sheet stands against the book of today.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Standing {
    /// What it says is right, from whichever revision it was printed.
    Current,
    /// It says something that is no longer so.
    Superseded {
        /// What, in the units of the sheet. Empty when it is gone.
        differences: Vec<Difference>,
        /// What it is about is no longer in the book.
        gone: bool,
    },
    /// It was taken back.
    Withdrawn,
}

impl Standing {
    /// The word for it: "current", "superseded" or "withdrawn".
    pub fn word(&self) -> &'static str {
        match self {
            Standing::Current => "current",
            Standing::Superseded { .. } => "superseded",
            Standing::Withdrawn => "withdrawn",
        }
    }
}

/// How `issue` stands against `book`, the newest revision: its sheet is made anew, and
/// what it says compared. A sheet of a test day says what was planned or found on that
/// day, and stays right: whether the book has it, [`paper::held`] tells. The report of a
/// comparison stays right as long as all that it rests on is as it was: [`paper::rests`].
pub fn standing(issue: &Issue, book: &Book) -> Standing {
    match of_no_book_alone(issue, book) {
        Some(standing) => standing,
        None => compared(issue, anew(issue, book).map(digested).as_ref()),
    }
}

/// How an issue stands that was withdrawn, or that no book alone makes anew.
fn of_no_book_alone(issue: &Issue, book: &Book) -> Option<Standing> {
    if issue.withdrawn.is_some() {
        return Some(Standing::Withdrawn);
    }
    let kind = Kind::called(&issue.kind).filter(|kind| !kind.is_of_a_book())?;
    Some(match kind.is_of_a_comparison() {
        true => rested(issue, book),
        false => Standing::Current,
    })
}

/// How the report of a comparison stands: by what it rests on.
fn rested(issue: &Issue, book: &Book) -> Standing {
    let units = Units::called(&issue.units).unwrap_or_default();
    match paper::rests(&issue.told, book, units) {
        none if none.is_empty() => Standing::Current,
        differences => Standing::Superseded {
            differences,
            gone: false,
        },
    }
}

/// How each of `issues` stands against `book`, in their order. Each sheet is made anew
/// only once.
pub fn standings(issues: &[Issue], book: &Book) -> Vec<Standing> {
    let mut made = BTreeMap::new();
    let stands = issues.iter().map(|issue| {
        if let Some(standing) = of_no_book_alone(issue, book) {
            return standing;
        }
        let key = (&issue.kind, &issue.subject, &issue.units);
        let sheet = made
            .entry(key)
            .or_insert_with(|| anew(issue, book).map(digested));
        compared(issue, sheet.as_ref())
    });
    stands.collect()
}

/// The same sheet from `book`; `None` when the book no longer has what it is about.
fn anew(issue: &Issue, book: &Book) -> Option<Sheet> {
    let units = Units::called(&issue.units)?;
    let sheet = Kind::called(&issue.kind)?.sheet(book, &issue.subject, units);
    sheet.ok()
}

/// A sheet with its digest, which takes long to make of one with drawings.
fn digested(sheet: Sheet) -> (String, Sheet) {
    (sheet.digest(), sheet)
}

fn compared(issue: &Issue, sheet: Option<&(String, Sheet)>) -> Standing {
    let Some((digest, sheet)) = sheet else {
        return Standing::Superseded {
            differences: Vec::new(),
            gone: true,
        };
    };
    if *digest == issue.digest {
        return Standing::Current;
    }
    // A change too small to be read on the sheet leaves it right.
    match paper::differences(&issue.told, sheet) {
        none if none.is_empty() => Standing::Current,
        differences => Standing::Superseded {
            differences,
            gone: false,
        },
    }
}

/// Which of `issues` are to be printed anew, with their `standings`: the superseded ones
/// that a book alone makes and whose subject is still in it, each once, unless a current
/// print of the same kind, subject, units and size was issued. A comparison is asked again
/// first.
pub fn to_reprint<'a>(issues: &'a [Issue], standings: &[Standing]) -> Vec<&'a Issue> {
    let pairs = || issues.iter().zip(standings);
    let same = |a: &Issue, b: &Issue| {
        (&a.kind, &a.subject, &a.units, &a.size) == (&b.kind, &b.subject, &b.units, &b.size)
    };
    let mut due: Vec<&Issue> = Vec::new();
    for (issue, standing) in pairs() {
        let made = Kind::called(&issue.kind).is_some_and(Kind::is_of_a_book);
        let wrong = made && matches!(standing, Standing::Superseded { gone: false, .. });
        let current = |(other, stands): (&Issue, &Standing)| {
            *stands == Standing::Current && same(other, issue)
        };
        if wrong && !pairs().any(current) && !due.iter().any(|other| same(other, issue)) {
            due.push(issue);
        }
    }
    due
}

/// What is [to be printed anew](to_reprint) of `issues`, made from `book`: each sheet on
/// `paper` of its own size.
pub fn reprints(issues: &[Issue], book: &Book, paper: &Paper) -> Vec<(Sheet, Paper)> {
    let due = to_reprint(issues, &standings(issues, book)).into_iter();
    let made = due.filter_map(|issue| {
        let size = Size::called(&issue.size).unwrap_or(paper.size);
        let paper = Paper {
            size,
            ..paper.clone()
        };
        Some((anew(issue, book)?, paper))
    });
    made.collect()
}
