//! The report of a test entered in the register, so that its code is found.

use super::day::{Left, Reduced};
use super::report::{Report, choice, file_name};
use crate::address;
use crate::fault::Fault;
use crate::form::{Filled, Pairs, Sent};
use crate::paper::{Asked, Choice, as_looked_at, attached, held, in_register};
use crate::reader::Reader;
use crate::workbench::{Workbench, now};
use axum::extract::{Path, State};
use axum::response::Response;
use maud::{Markup, html};
use paper::{Kind, Size};
use records::{NewIssue, RecordsError, Stage, Test};
use std::sync::Arc;
use study::proof::Proof;

/// A report takes a full page.
const SIZES: [Size; 2] = [Size::A4, Size::Letter];

/// Typesets, and when all is well enters and hands over.
pub(super) async fn sent(
    State(workbench): State<Arc<Workbench>>,
    Path((slug, id)): Path<(String, i64)>,
    reader: Reader,
    Filled(pairs): Filled<Pairs>,
) -> Result<Response, Fault> {
    let sent = Sent(pairs);
    let report = Report::open(&workbench, &slug, id, Left::of(&sent)).await?;
    match report.stage {
        // Its next reading would make it another.
        Stage::Open => return Err(RecordsError::Open(id).into()),
        Stage::Closed => as_looked_at(&report.reduced.opened, &sent)?,
        // It is reckoned with the revisions of its day, whatever was saved since.
        Stage::Accepted { .. } => {}
    }
    let book = &report.reduced.opened.book;
    let choice = Choice::of(&Asked::of(&sent), &reader, book)?.fitting(Kind::TestReport);
    let made = report.made(&reader, choice).await?;
    let issues: Vec<NewIssue> = NewIssue::of(&made.sheet, &made.on).into_iter().collect();
    let entered = workbench.records.issue(&slug, &issues, now(), &reader.name);
    entered.await?;
    Ok(attached(&file_name(id), "application/pdf", made.pdf))
}

/// What the register has of a test's report, and the form that enters it.
pub(super) async fn shown(
    workbench: &Workbench,
    reader: &Reader,
    reduced: &Reduced,
    (test, proof): (&Test, &Proof),
) -> Result<Markup, Fault> {
    let opened = &reduced.opened;
    let (kind, subject) = (Kind::TestReport.word(), paper::report_subject(proof));
    let prints = workbench.records.issued_of(&opened.slug, kind, &subject);
    let prints = held(prints.await?, opened).await?;
    let choice = choice(reader, opened)?.fitting(Kind::TestReport);
    Ok(html! {
        h2 { "The report on paper" }
        (in_register(&prints, "No report of this test is in the register."))
        @if test.stage == Stage::Open {
            p.quiet { "It is entered in the register once the sheet is closed: a further reading would make it another." }
        } @else {
            form.choose.no-print method="post" action=(address::test(&opened.slug, test.id, "/report")) {
                @for (key, value) in reduced.left.pairs() { input type="hidden" name=(key) value=(value); }
                input type="hidden" name="base" value=(opened.revision);
                (choice.fields(&SIZES))
                div.actions { button { "Enter the report in the register" } }
                p.hint { "It is printed too. Its code, typed at \"Look up a code\", says what was tested, and whether the book has what was found." }
            }
        }
    })
}
