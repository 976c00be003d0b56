//! What a comparison gives to take along: its report, its tables.

use super::asked::{self, Question};
use super::file::file_name;
use super::run::{Found, Work};
use super::shown::PATIENT;
use super::weights::Weighed;
use crate::fault::Fault;
use crate::form::{Filled, Pairs, Sent};
use crate::paper::{Asked, Choice as OnPaper, as_looked_at, attached, beside, held, in_register};
use crate::reader::Reader;
use crate::tables_out;
use crate::when::day;
use crate::workbench::{Workbench, now};
use axum::extract::{Path, Query, State};
use axum::response::Response;
use book::comparison::Comparison;
use maud::{Markup, html};
use paper::tables::{self, Stamp};
use paper::{Kind, Paper, Sheet, Size};
use records::NewIssue;
use std::sync::Arc;
use study::choose::Chosen;

/// A report takes a full page.
const SIZES: [Size; 2] = [Size::A4, Size::Letter];

/// A comparison that was worked out, ranked as its page has it.
pub(crate) struct Worked {
    question: Question,
    /// With the weights of the page.
    comparison: Comparison,
    pub chosen: Arc<Chosen>,
}

impl Worked {
    /// What the page with these pairs in its address says.
    pub async fn out(workbench: &Workbench, slug: &str, pairs: Pairs) -> Result<Self, Fault> {
        let question = Question::open(workbench, slug, pairs).await?;
        let comparison = question.read().map_err(Fault::Book)?;
        let Weighed { own, moved, wrong } = Weighed::of(&question, comparison);
        if let Some((_, wrong)) = wrong.first() {
            return Err(Fault::Misread(format!("{wrong}.")));
        }
        let comparison = moved.unwrap_or(own);
        let found = found(workbench, (&question, &comparison)).await?;
        let chosen = found.map_err(|error| Fault::Choose(Box::new(error)))?;
        Ok(Worked {
            question,
            comparison,
            chosen,
        })
    }

    /// Under which name it goes.
    pub fn name(&self) -> String {
        let kept = self.question.kept.as_ref().map(|kept| kept.name.clone());
        kept.unwrap_or_else(|| "comparison".into())
    }
}

async fn found(
    workbench: &Workbench,
    (question, comparison): (&Question, &Comparison),
) -> Result<Found, Fault> {
    let opened = &question.opened;
    if let Some(chosen) = opened.compared.of(opened, comparison) {
        return Ok(Ok(chosen));
    }
    let work = Work::begin(workbench, opened, comparison);
    work.within(PATIENT).await?.map_err(Fault::Unfinished)
}

/// The tables, as a workbook, as CSV, or what lies on each line as Parquet.
pub(super) async fn tables(
    State(workbench): State<Arc<Workbench>>,
    Path((slug, word)): Path<(String, String)>,
    Query(pairs): Query<Pairs>,
    reader: Reader,
) -> Result<Response, Fault> {
    let form = match word.as_str() {
        "parquet" => None,
        word => Some(tables_out::form(word)?),
    };
    let worked = Worked::out(&workbench, &slug, pairs).await?;
    let opened = worked.question.opened.clone();
    let units = reader.system(&opened.book).into();
    let name = file_name(&worked.question);
    let tables = beside(move || {
        let Worked {
            comparison, chosen, ..
        } = &worked;
        tables::of_comparison(
            &worked.question.opened.book,
            &worked.name(),
            comparison,
            chosen,
            units,
        )
    })
    .await?;
    let Some(form) = form else {
        let stamp = Stamp {
            date: day(now()),
            revision: u32::try_from(opened.revision).ok(),
        };
        let bytes = tables.parquet("By line", &stamp)?;
        let kind = "application/vnd.apache.parquet";
        return Ok(attached(&format!("{name}.parquet"), kind, bytes));
    };
    tables_out::sent(&opened, &tables, form)
}

/// A report typeset.
struct Made {
    sheet: Sheet,
    on: Paper,
    pdf: Vec<u8>,
    name: String,
}

async fn made(worked: Worked, reader: &Reader, choice: OnPaper) -> Result<Made, Fault> {
    let on = Paper {
        size: choice.size,
        date: day(now()),
        address: reader.address.clone(),
        revision: u32::try_from(worked.question.opened.revision).ok(),
    };
    beside(move || {
        let sheet = paper::comparison_report(
            &worked.question.opened.book,
            &worked.name(),
            &worked.comparison,
            &worked.chosen,
            choice.units,
        );
        let pdf = paper::press(&sheet, &on)?.pdf;
        let name = format!("{}-report.pdf", file_name(&worked.question));
        Ok(Made {
            sheet,
            on,
            pdf,
            name,
        })
    })
    .await?
}

/// The report to look at, in no register.
pub(super) async fn report(
    State(workbench): State<Arc<Workbench>>,
    Path(slug): Path<String>,
    Query(pairs): Query<Pairs>,
    reader: Reader,
) -> Result<Response, Fault> {
    let worked = Worked::out(&workbench, &slug, pairs).await?;
    let book = &worked.question.opened.book;
    let choice = OnPaper::of(&Asked::default(), &reader, book)?.fitting(Kind::ComparisonReport);
    let made = made(worked, &reader, choice).await?;
    Ok(attached(&made.name, "application/pdf", made.pdf))
}

/// Typesets, and when all is well enters and hands over.
pub(super) async fn entered(
    State(workbench): State<Arc<Workbench>>,
    Path(slug): Path<String>,
    reader: Reader,
    Filled(pairs): Filled<Pairs>,
) -> Result<Response, Fault> {
    let sent = Sent(pairs.clone());
    let worked = Worked::out(&workbench, &slug, pairs).await?;
    if worked.question.kept.is_none() {
        let text = "Keep the comparison first: a sheet in the register names what it rests on.";
        return Err(Fault::Misread(text.into()));
    }
    as_looked_at(&worked.question.opened, &sent)?;
    let book = &worked.question.opened.book;
    let choice = OnPaper::of(&Asked::of(&sent), &reader, book)?.fitting(Kind::ComparisonReport);
    let made = made(worked, &reader, choice).await?;
    let issues: Vec<NewIssue> = NewIssue::of(&made.sheet, &made.on).into_iter().collect();
    let entered = workbench.records.issue(&slug, &issues, now(), &reader.name);
    entered.await?;
    Ok(attached(&made.name, "application/pdf", made.pdf))
}

/// What the register has of a comparison's report, and the form that enters it.
pub(super) async fn report_form(
    workbench: &Workbench,
    reader: &Reader,
    question: &Question,
) -> Result<Markup, Fault> {
    let Some(kept) = &question.kept else {
        return Ok(html! {
            h2 { "The report on paper" }
            p.quiet { "It is entered in the register once the comparison is kept: a sheet names what it rests on." }
        });
    };
    let opened = &question.opened;
    let kind = Kind::ComparisonReport;
    let issued = workbench
        .records
        .issued_of(&opened.slug, kind.word(), &kept.name);
    let issued = held(issued.await?, opened).await?;
    let choice = OnPaper::of(&Asked::default(), reader, &opened.book)?.fitting(kind);
    Ok(html! {
        h2 { "The report on paper" }
        (in_register(&issued, "No report of this comparison is in the register."))
        form.choose.no-print method="post" action=(asked::of(&opened.slug, "/report")) {
            @for (key, value) in question.pairs() { input type="hidden" name=(key) value=(value); }
            @for (key, value) in question.looked_at() { input type="hidden" name=(key) value=(value); }
            input type="hidden" name="base" value=(opened.revision);
            (choice.fields(&SIZES))
            div.actions { button { "Enter the report in the register" } }
            p.hint { "It is printed too. Its code, typed at \"Code on a sheet\", says what was compared, and what of the book it rests on changed since." }
        }
    })
}
