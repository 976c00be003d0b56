//! Sheets: which there are, one as PDF, what was issued and how it stands.

use super::named::{Asking, Named};
use super::questions::Plain;
use super::told::{Refusals, Told};
use crate::fault::Fault;
use crate::paper::{Asked, Choice, Held, beside, held, kind, register};
use crate::reader::Reader;
use crate::when::day;
use crate::workbench::{Workbench, now};
use axum::Json;
use axum::extract::State;
use axum::http::header::CONTENT_TYPE;
use axum::response::IntoResponse;
use paper::{Code, Kind, Paper};
use records::Standing;
use serde::{Deserialize, Serialize};
use std::sync::Arc;
use utoipa::{IntoParams, ToSchema};

type Shared = State<Arc<Workbench>>;

/// What can be printed.
#[derive(Serialize, ToSchema)]
pub(super) struct Sheets {
    /// The book's name in addresses.
    book: String,
    /// The newest revision, of which they are made.
    revision: i64,
    sheets: Vec<OneSheet>,
}

/// A sheet that can be printed.
#[derive(Serialize, ToSchema)]
struct OneSheet {
    /// "pump-chart", "line-card" and so on.
    kind: &'static str,
    /// What people call the kind.
    title: &'static str,
    /// The line, rig or other thing that it is about.
    subject: String,
}

/// Every sheet that a book can print
#[utoipa::path(get, path = "/api/books/{book}/sheets", tag = "Paper",
    params(("book" = String, Path, description = "The book's name in addresses",
        example = "saltmarsh-bend-fire-and-rescue")),
    responses((status = 200, description = "The sheets, by kind.", body = Sheets), Refusals),
)]
pub(super) async fn sheets(
    State(workbench): Shared,
    Named(slug): Named<String>,
    _: Asking<Plain>,
) -> Result<Json<Sheets>, Told> {
    let opened = workbench.open(&slug).await?;
    let all = Kind::ALL.into_iter().flat_map(|kind| {
        let subjects = kind.subjects(&opened.book).into_iter();
        subjects.map(move |subject| OneSheet {
            kind: kind.word(),
            title: kind.title(),
            subject: subject.into(),
        })
    });
    Ok(Json(Sheets {
        book: opened.slug.clone(),
        revision: opened.revision,
        sheets: all.collect(),
    }))
}

/// Of one sheet.
#[derive(Deserialize, IntoParams, Default)]
#[serde(default)]
#[into_params(parameter_in = Query)]
pub(super) struct OfSheet {
    /// Paper; Letter for a book in US units, else A4
    #[param(inline, value_type = Option<Sizes>)]
    size: Option<String>,
    /// Units on the sheet; the book's when left out
    #[param(inline, value_type = Option<SheetUnits>)]
    units: Option<String>,
    /// The day that stands on it; today when left out
    #[param(example = "2026-05-11")]
    date: Option<String>,
}

/// Sizes of paper.
#[derive(ToSchema)]
#[schema(rename_all = "snake_case")]
#[expect(dead_code, reason = "describes the words that `Choice` reads")]
pub(super) enum Sizes {
    /// 210 by 297 mm
    A4,
    /// 8.5 by 11 in
    Letter,
    /// 105 by 139 mm; a sheet that is drawn to scale takes a full page
    Pocket,
}

/// Units of a sheet.
#[derive(ToSchema)]
#[schema(rename_all = "snake_case")]
#[expect(dead_code, reason = "describes the words that `Choice` reads")]
pub(super) enum SheetUnits {
    /// psi, gpm, feet, pounds
    Us,
    /// bar, litres a minute, metres, newtons
    Si,
    /// US with metric beside it
    Both,
}

/// One sheet as PDF
///
/// A proof: it is not entered in the register, which only the pages do.
#[utoipa::path(get, path = "/api/books/{book}/sheets/{kind}/{subject}", tag = "Paper",
    params(
        ("book" = String, Path, description = "The book's name in addresses",
            example = "saltmarsh-bend-fire-and-rescue"),
        ("kind" = String, Path, description = "The kind of sheet", example = "line-card"),
        ("subject" = String, Path, description = "What it is about", example = "left-crosslay"),
        OfSheet),
    responses((status = 200, description = "The sheet.", body = Vec<u8>,
        content_type = "application/pdf"), Refusals),
)]
pub(super) async fn sheet(
    State(workbench): Shared,
    Named((slug, word, subject)): Named<(String, String, String)>,
    Asking(of): Asking<OfSheet>,
) -> Result<impl IntoResponse, Told> {
    let opened = workbench.open(&slug).await?;
    let kind = kind(&word)?;
    let asked = Asked {
        size: of.size,
        units: of.units,
    };
    let choice = Choice::asked(&asked, opened.book.units)?.fitting(kind);
    let paper = Paper {
        size: choice.size,
        date: of.date.unwrap_or_else(|| day(now())),
        address: None,
        revision: u32::try_from(opened.revision).ok(),
    };
    let pressed = beside(move || {
        let sheet = kind.sheet(&opened.book, &subject, choice.units)?;
        Ok::<_, Fault>(paper::press(&sheet, &paper)?)
    });
    let pressed = pressed.await??;
    Ok(([(CONTENT_TYPE, "application/pdf")], pressed.pdf))
}

/// What was issued from a book.
#[derive(Serialize, ToSchema)]
pub(super) struct Register {
    /// The book's name in addresses.
    book: String,
    /// The newest revision, against which the sheets stand.
    revision: i64,
    /// The newest first.
    issued: Vec<Issued>,
}

/// An issued sheet.
#[derive(Serialize, ToSchema)]
struct Issued {
    /// Its number in the register.
    number: i64,
    /// The book's name in addresses.
    book: String,
    kind: String,
    subject: String,
    /// What people called the subject.
    title: String,
    /// The code that stands on it.
    #[schema(example = "C3D-9KT-M4X")]
    code: String,
    /// The day that stands on it.
    #[schema(example = "2026-05-11")]
    date: String,
    /// When it was entered, seconds since 1970.
    entered: i64,
    /// By whom; may be empty.
    by: String,
    /// The revision that it was printed from.
    revision: i64,
    size: String,
    units: String,
    standing: Stands,
    /// It is wrong, and no newer print has taken its place.
    to_reprint: bool,
    /// What it is about is no longer in the book.
    gone: bool,
    /// What is no longer as it says, in its units.
    differences: Vec<Differs>,
    #[schema(required)]
    withdrawn: Option<TakenBack>,
}

/// Whether a sheet is still right.
#[derive(Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
#[schema(rename_all = "snake_case")]
enum Stands {
    /// What it says is right.
    Current,
    /// Something that it says is no longer so.
    Superseded,
    /// It was taken back.
    Withdrawn,
}

/// What is no longer as a sheet says.
#[derive(Serialize, ToSchema)]
struct Differs {
    #[schema(example = "pump pressure")]
    name: String,
    /// Null when the sheet does not speak of it.
    #[schema(required, example = "139 psi")]
    said: Option<String>,
    /// Null when it is no longer so.
    #[schema(required, example = "151 psi")]
    now: Option<String>,
}

/// That a sheet was taken back.
#[derive(Serialize, ToSchema)]
struct TakenBack {
    /// When, seconds since 1970.
    at: i64,
    /// By whom; may be empty.
    by: String,
    why: String,
}

impl From<Held> for Issued {
    fn from(held: Held) -> Self {
        let (to_reprint, gone) = (held.due, held.is_gone());
        let issue = held.issue;
        let (standing, differences) = match held.standing {
            Standing::Current => (Stands::Current, Vec::new()),
            Standing::Superseded { differences, .. } => (Stands::Superseded, differences),
            Standing::Withdrawn => (Stands::Withdrawn, Vec::new()),
        };
        let differences = differences.into_iter().map(|one| Differs {
            name: one.name,
            said: one.said,
            now: one.now,
        });
        Issued {
            number: issue.id,
            book: issue.slug,
            kind: issue.kind,
            subject: issue.subject,
            title: issue.title,
            code: issue.code,
            date: issue.date,
            entered: issue.at,
            by: issue.who,
            revision: issue.revision,
            size: issue.size,
            units: issue.units,
            standing,
            to_reprint,
            gone,
            differences: differences.collect(),
            withdrawn: issue.withdrawn.map(|taken| TakenBack {
                at: taken.at,
                by: taken.who,
                why: taken.why,
            }),
        }
    }
}

/// What was issued from a book, and whether it is still right
#[utoipa::path(get, path = "/api/books/{book}/issued", tag = "Paper",
    params(("book" = String, Path, description = "The book's name in addresses",
        example = "saltmarsh-bend-fire-and-rescue")),
    responses((status = 200, description = "The register, newest first.", body = Register),
        Refusals),
)]
pub(super) async fn issued(
    State(workbench): Shared,
    Named(slug): Named<String>,
    _: Asking<Plain>,
) -> Result<Json<Register>, Told> {
    let opened = workbench.open(&slug).await?;
    let held = register(&workbench, &opened).await?;
    Ok(Json(Register {
        book: opened.slug.clone(),
        revision: opened.revision,
        issued: held.into_iter().map(Issued::from).collect(),
    }))
}

/// What a code on a sheet stands for.
#[derive(Serialize, ToSchema)]
pub(super) struct Found {
    /// As it is printed.
    code: String,
    /// Every print with it, the newest first.
    issued: Vec<Issued>,
}

/// Whether the sheet with a code is still right
#[utoipa::path(get, path = "/api/codes/{code}", tag = "Paper",
    params(("code" = String, Path,
        description = "The code on a sheet, with its hyphens or without")),
    responses((status = 200, description = "The prints with this code.", body = Found), Refusals),
)]
pub(super) async fn code(
    State(workbench): Shared,
    Named(typed): Named<String>,
    reader: Reader,
    _: Asking<Plain>,
) -> Result<Json<Found>, Told> {
    let mut issues = workbench.records.by_code(&typed).await?;
    // Of a department that one may not read there is no sheet.
    issues.retain(|issue| reader.who.is(records::Role::Reader, &issue.slug));
    let code: Code = typed
        .parse()
        .map_err(|why: paper::CodeError| Fault::Misread(why.to_string()))?;
    let Some(slug) = issues.first().map(|issue| issue.slug.clone()) else {
        let text = format!(
            "no register here has the code {code}; it was printed as a proof, or by another workbench"
        );
        return Err(Fault::Missing(text).into());
    };
    let opened = workbench.open(&slug).await?;
    let own = issues.into_iter().filter(|issue| issue.slug == slug);
    let held = held(own.collect(), &opened).await?;
    Ok(Json(Found {
        code: code.to_string(),
        issued: held.into_iter().map(Issued::from).collect(),
    }))
}
