//! The plan of a test day and the reports of its tests, on paper.

use super::Prove;
use crate::commands::Failure;
use crate::kept;
use crate::print::{self, Done};
use book::Book;
use hydraulics::units::System;
use paper::{Paper, Sheet, Size, Tested};
use std::path::Path;
use study::proof::{self, Accepting, Day, Plan, Proved};

/// Prints the plan, where that is asked for.
pub fn plan(
    ask: &Prove,
    book: &Book,
    plan: &Plan,
    system: System,
) -> Result<Option<Done>, Failure> {
    let date = ask.date.as_deref().unwrap_or_default();
    printed(ask, book, || {
        vec![paper::test_plan(book, plan, date, system.into())]
    })
}

/// Prints a report of each test, where that is asked for.
pub fn reports(
    ask: &Prove,
    book: &Book,
    (day, proved): (&Day, &Proved),
    system: System,
) -> Result<Option<Done>, Failure> {
    let how = Accepting {
        source: ask.source.clone(),
        go_on: ask.all_the_same,
        suspects: &proved.suspects,
        corrected: &ask.correct,
    };
    let report = |(test, one): (&proof::Test, &proof::Proof)| -> Sheet {
        // What this test alone does to the book.
        let after = ask.accept.then(|| proof::accept(book, one, &how).ok());
        let after = after.flatten();
        let tested = Tested {
            test,
            proof: one,
            suspects: &proved.suspects,
            after: after.as_ref(),
            day: &[
                ("At the pump", ""),
                ("At the gauges", ""),
                ("Weather, wind", ""),
                ("Water temperature", ""),
            ],
        };
        paper::test_report(book, &tested, system.into())
    };
    let pairs = day.tests.iter().zip(&proved.proofs);
    printed(ask, book, || pairs.map(report).collect())
}

fn printed(
    ask: &Prove,
    book: &Book,
    sheets: impl FnOnce() -> Vec<Sheet>,
) -> Result<Option<Done>, Failure> {
    let Some(place) = &ask.report else {
        return Ok(None);
    };
    let paper = Paper {
        size: match book.units {
            System::Us => Size::Letter,
            System::Si => Size::A4,
        },
        date: ask.printed.clone().unwrap_or_else(kept::today),
        address: None,
        revision: None,
    };
    let pairs = sheets().into_iter().map(|sheet| (sheet, paper.clone()));
    print::write(book, pairs.collect(), place).map(Some)
}

/// "Printed: 2 sheets in reports".
pub fn said(done: &Done, place: &Path) -> String {
    let count = done.sheets.len();
    let sheets = if count == 1 { "sheet" } else { "sheets" };
    let mut text = format!("\nPrinted: {count} {sheets}, {}\n", place.display());
    for name in names(done) {
        text.push_str(&format!("  {name}\n"));
    }
    text
}

/// The names of the files.
pub fn names(done: &Done) -> Vec<String> {
    let files = done.sheets.iter();
    files.map(|(_, _, file)| file.file.clone()).collect()
}
