//! The report of a test, and the plan of a day, as PDF.

use super::begin::Wanted;
use super::day::{Left, Reduced};
use crate::fault::Fault;
use crate::form::{Pairs, Sent};
use crate::paper::{Asked, Choice, attached, beside};
use crate::reader::Reader;
use crate::when::day;
use crate::workbench::{Opened, Workbench, now};
use axum::extract::{Path, Query, State};
use axum::response::Response;
use paper::{Paper, Sheet, Tested};
use records::Stage;
use std::sync::Arc;

/// A test that is reported: its day, and the book that has its result.
pub(super) struct Report {
    pub reduced: Reduced,
    at: usize,
    pub stage: Stage,
    after: Option<Arc<Opened>>,
}

/// A report typeset.
pub(super) struct Made {
    pub sheet: Sheet,
    pub on: Paper,
    pub pdf: Vec<u8>,
}

impl Report {
    /// Of one that is in the book: the book before and after.
    pub async fn open(
        workbench: &Workbench,
        slug: &str,
        id: i64,
        left: Left,
    ) -> Result<Self, Fault> {
        let (reduced, at) = Reduced::of_test(workbench, slug, id, left).await?;
        let stage = reduced.one(at)?.0.stage;
        let (reduced, after) = match stage {
            Stage::Accepted { revision } => {
                let after = workbench.open_at(slug, revision).await?;
                let before = workbench.open_at(slug, revision - 1).await;
                match before {
                    Ok(before) => (reduced.against(before).await?, Some(after)),
                    Err(_) => (reduced, None),
                }
            }
            _ => (reduced, None),
        };
        Ok(Report {
            reduced,
            at,
            stage,
            after,
        })
    }

    /// On the paper and in the units of `choice`, from the revision that has its result.
    pub async fn made(self, reader: &Reader, choice: Choice) -> Result<Made, Fault> {
        let of = self.after.as_ref().unwrap_or(&self.reduced.opened);
        let on = on(reader, of, choice);
        beside(move || {
            let Report {
                reduced, at, after, ..
            } = &self;
            let all = (reduced.day.tests.get(*at), reduced.proved.proofs.get(*at));
            let (Some(test), Some(proof)) = all else {
                return Err(Fault::Missing("There is no such test.".into()));
            };
            let tested = Tested {
                test,
                proof,
                suspects: &reduced.proved.suspects,
                after: after.as_ref().map(|after| &after.book),
                day: &[],
            };
            let sheet = paper::test_report(&reduced.opened.book, &tested, choice.units);
            let pdf = pressed(&sheet, &on)?;
            Ok(Made { sheet, on, pdf })
        })
        .await?
    }
}

/// What the file of a report is called.
pub(super) fn file_name(id: i64) -> String {
    format!("test-{id}-report.pdf")
}

/// A report to look at, in no register.
pub(super) async fn asked(
    State(workbench): State<Arc<Workbench>>,
    Path((slug, id)): Path<(String, i64)>,
    Query(pairs): Query<Pairs>,
    reader: Reader,
) -> Result<Response, Fault> {
    let report = Report::open(&workbench, &slug, id, Left::of(&Sent(pairs))).await?;
    let choice = choice(&reader, &report.reduced.opened)?;
    let made = report.made(&reader, choice).await?;
    Ok(attached(&file_name(id), "application/pdf", made.pdf))
}

/// The paper and units that the reader's book asks for.
pub(super) fn choice(reader: &Reader, opened: &Opened) -> Result<Choice, Fault> {
    Choice::of(&Asked::default(), reader, &opened.book)
}

fn on(reader: &Reader, opened: &Opened, choice: Choice) -> Paper {
    Paper {
        size: choice.size,
        date: day(now()),
        address: reader.address.clone(),
        revision: u32::try_from(opened.revision).ok(),
    }
}

fn pressed(sheet: &Sheet, on: &Paper) -> Result<Vec<u8>, Fault> {
    Ok(paper::press(sheet, on)?.pdf)
}

/// The sheet of a plan: where gauges stand, what to read, room to write.
pub(super) async fn plan(
    State(workbench): State<Arc<Workbench>>,
    Path(slug): Path<String>,
    Query(pairs): Query<Pairs>,
    reader: Reader,
) -> Result<Response, Fault> {
    let opened = workbench.open(&slug).await?;
    let asked = pairs.into_iter().filter(|(key, _)| key != "units");
    let wanted = Wanted::of(&opened.book, &Sent(asked.collect()));
    if let Some(wrong) = wanted.wrong() {
        return Err(Fault::Misread(wrong));
    }
    let choice = choice(&reader, &opened)?;
    let on = on(&reader, &opened, choice);
    let name = format!("test-plan-{}.pdf", wanted.date);
    let pdf = beside(move || {
        let plan = super::plan::of(&opened.book, &wanted);
        let plan = plan.map_err(|error| Fault::Misread(error.to_string()))?;
        let sheet = paper::test_plan(&opened.book, &plan, &wanted.date, choice.units);
        pressed(&sheet, &on)
    })
    .await??;
    Ok(attached(&name, "application/pdf", pdf))
}
