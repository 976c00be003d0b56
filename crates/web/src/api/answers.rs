//! The questions, each answered by one function of `study`.

use super::named::{Asking, Named};
use super::questions::{self, OfChart, OfExtension, OfLine, OfScene, Plain};
use super::shapes::{Chart, Extended, LineOrChange, Problems, SceneOrChange};
use super::told::{Refusal, Refusals, Told};
use crate::fault::Fault;
use crate::reader::{Reader, word};
use crate::workbench::Workbench;
use axum::Json;
use axum::body::Bytes;
use axum::extract::State;
use axum::extract::rejection::BytesRejection;
use axum::http::StatusCode;
use axum::http::header::CONTENT_TYPE;
use axum::response::IntoResponse;
use records::Role;
use serde::Serialize;
use serde_json::Value;
use std::sync::Arc;
use utoipa::ToSchema;

type Shared = State<Arc<Workbench>>;
type Answer = Result<Json<Value>, Told>;

/// Every book.
#[derive(Serialize, ToSchema)]
pub(super) struct Books {
    books: Vec<Kept>,
}

/// A book of the records.
#[derive(Serialize, ToSchema)]
struct Kept {
    /// Its name in addresses.
    book: String,
    /// The department's name.
    name: String,
    /// The newest revision, counted from 1.
    revision: i64,
    /// When that was saved, seconds since 1970.
    saved: i64,
}

/// What a book holds.
#[derive(Serialize, ToSchema)]
pub(super) struct Contents {
    /// Its name in addresses.
    book: String,
    /// The department's name.
    name: String,
    /// The newest revision, counted from 1.
    revision: i64,
    /// The units that answers come in when none are asked for.
    #[schema(inline, value_type = questions::Units)]
    units: &'static str,
    /// The department is made up.
    invented: bool,
    lines: Vec<Entry>,
    scenes: Vec<Entry>,
    rigs: Vec<String>,
    hose: Vec<String>,
    nozzles: Vec<String>,
    appliances: Vec<String>,
    hydrants: Vec<String>,
    drafts: Vec<String>,
    shuttles: Vec<String>,
    standpipes: Vec<String>,
    gauges: Vec<String>,
}

/// A line or a scene.
#[derive(Serialize, ToSchema)]
struct Entry {
    name: String,
    #[schema(required)]
    title: Option<String>,
}

/// Every book in the records
#[utoipa::path(get, path = "/api/books", tag = "Books", responses(
    (status = 200, description = "The books, by name.", body = Books),
    (status = 400, description = "The question is not written right.", body = Refusal,
        content_type = "application/problem+json"),
))]
pub(super) async fn books(
    State(workbench): Shared,
    reader: Reader,
    _: Asking<Plain>,
) -> Result<Json<Books>, Told> {
    let kept = workbench.records.books().await?.into_iter();
    let kept = kept.filter(|kept| reader.who.is(Role::Reader, &kept.slug));
    let books = kept.map(|kept| Kept {
        book: kept.slug,
        name: kept.name,
        revision: kept.revision,
        saved: kept.at,
    });
    Ok(Json(Books {
        books: books.collect(),
    }))
}

/// What a book holds: its lines, scenes, rigs and equipment
#[utoipa::path(get, path = "/api/books/{book}", tag = "Books",
    params(("book" = String, Path, description = "The book's name in addresses",
        example = "saltmarsh-bend-fire-and-rescue")),
    responses((status = 200, description = "What the book holds.", body = Contents), Refusals),
)]
pub(super) async fn book(
    State(workbench): Shared,
    Named(slug): Named<String>,
    _: Asking<Plain>,
) -> Result<Json<Contents>, Told> {
    let opened = workbench.open(&slug).await?;
    let book = &opened.book;
    let line = |(name, line): (&String, &book::Line)| entry(name, line.title.as_ref());
    let scene = |(name, scene): (&String, &book::Scene)| entry(name, scene.title.as_ref());
    Ok(Json(Contents {
        book: opened.slug.clone(),
        name: book.name.clone(),
        revision: opened.revision,
        units: word(book.units),
        invented: book.about.invented,
        lines: book.line.iter().map(line).collect(),
        scenes: book.scene.iter().map(scene).collect(),
        rigs: book.rig.keys().cloned().collect(),
        hose: book.hose.keys().cloned().collect(),
        nozzles: book.nozzle.keys().cloned().collect(),
        appliances: book.appliance.keys().cloned().collect(),
        hydrants: book.hydrant.keys().cloned().collect(),
        drafts: book.draft.keys().cloned().collect(),
        shuttles: book.shuttle.keys().cloned().collect(),
        standpipes: book.standpipe.keys().cloned().collect(),
        gauges: book.gauge.keys().cloned().collect(),
    }))
}

fn entry(name: &str, title: Option<&String>) -> Entry {
    Entry {
        name: name.into(),
        title: title.cloned(),
    }
}

/// The book's file, to the byte
#[utoipa::path(get, path = "/api/books/{book}/file", tag = "Books",
    params(("book" = String, Path, description = "The book's name in addresses",
        example = "saltmarsh-bend-fire-and-rescue")),
    responses((status = 200, description = "The newest revision.", body = String,
        content_type = "application/toml"), Refusals),
)]
pub(super) async fn file(
    State(workbench): Shared,
    Named(slug): Named<String>,
    _: Asking<Plain>,
) -> Result<impl IntoResponse, Told> {
    let newest = workbench.records.newest(&slug).await?;
    let revision = workbench.records.revision(&slug, newest).await?;
    Ok(([(CONTENT_TYPE, "application/toml")], revision.text))
}

/// What a line gives, and what changes if
///
/// Pump pressure, and for each tip flow, tip pressure, reaction and reach. Where a
/// change is asked, the answer has the line before and after it, the pump left as it
/// was. A change names its place, "part 3, branch 1, part 2 = 50 %", unless it is the
/// line's only tip, or for a kink and for hose its first hose.
#[utoipa::path(get, path = "/api/books/{book}/lines/{line}", tag = "Lines",
    params(
        ("book" = String, Path, description = "The book's name in addresses",
            example = "saltmarsh-bend-fire-and-rescue"),
        ("line" = String, Path, description = "The line's name", example = "left-crosslay"),
        OfLine),
    responses((status = 200, description = "The line, or before and after.", body = LineOrChange),
        Refusals),
)]
pub(super) async fn line(
    State(workbench): Shared,
    Named((slug, line)): Named<(String, String)>,
    Asking(of): Asking<OfLine>,
) -> Answer {
    let opened = workbench.open(&slug).await?;
    let system = questions::system(of.units.as_deref(), &opened.book)?;
    refuse_scene(&opened.book, &slug, &line)?;
    let answer = of.asked()?.line(&opened.book, &line)?;
    Ok(Json(answer.json(system)))
}

/// The pump chart of a line: pump pressure by length, rise and setting
#[utoipa::path(get, path = "/api/books/{book}/lines/{line}/chart", tag = "Lines",
    params(
        ("book" = String, Path, description = "The book's name in addresses",
            example = "saltmarsh-bend-fire-and-rescue"),
        ("line" = String, Path, description = "The line's name", example = "left-crosslay"),
        OfChart),
    responses((status = 200, description = "The chart.", body = Chart), Refusals),
)]
pub(super) async fn chart(
    State(workbench): Shared,
    Named((slug, line)): Named<(String, String)>,
    Asking(of): Asking<OfChart>,
) -> Answer {
    let opened = workbench.open(&slug).await?;
    let system = questions::system(of.units.as_deref(), &opened.book)?;
    refuse_scene(&opened.book, &slug, &line)?;
    let asked = of.asked()?;
    // A large chart takes long enough for others to wait.
    let worked = tokio::task::spawn_blocking(move || asked.of(&opened.book, &line, system)).await;
    let chart = worked.map_err(|stopped| {
        let detail = format!("the chart was not finished: {stopped}; ask again");
        Told::new(StatusCode::INTERNAL_SERVER_ERROR, detail)
    })?;
    Ok(Json(chart?.json(system)))
}

/// What changes when hose is added at a tip
#[utoipa::path(get, path = "/api/books/{book}/lines/{line}/extend", tag = "Lines",
    params(
        ("book" = String, Path, description = "The book's name in addresses",
            example = "saltmarsh-bend-fire-and-rescue"),
        ("line" = String, Path, description = "The line's name", example = "rear-crosslay"),
        OfExtension),
    responses((status = 200, description = "Before, at the same flow, at the same pressure.",
        body = Extended), Refusals),
)]
pub(super) async fn extend(
    State(workbench): Shared,
    Named((slug, line)): Named<(String, String)>,
    Asking(of): Asking<OfExtension>,
) -> Answer {
    let opened = workbench.open(&slug).await?;
    let system = questions::system(of.units.as_deref(), &opened.book)?;
    refuse_scene(&opened.book, &slug, &line)?;
    let extended = of.asked()?.of(&opened.book, &line)?;
    Ok(Json(extended.json(system)))
}

/// What a scene gives, which limit binds, and what changes if
#[utoipa::path(get, path = "/api/books/{book}/scenes/{scene}", tag = "Scenes",
    params(
        ("book" = String, Path, description = "The book's name in addresses",
            example = "saltmarsh-bend-fire-and-rescue"),
        ("scene" = String, Path, description = "The scene's name", example = "mill-street"),
        OfScene),
    responses((status = 200, description = "The scene, or before and after.",
        body = SceneOrChange), Refusals),
)]
pub(super) async fn scene(
    State(workbench): Shared,
    Named((slug, scene)): Named<(String, String)>,
    Asking(of): Asking<OfScene>,
) -> Answer {
    let opened = workbench.open(&slug).await?;
    let system = questions::system(of.units.as_deref(), &opened.book)?;
    let answer = of.asked()?.scene(&opened.book, &scene)?;
    Ok(Json(answer.json(system)))
}

/// What is wrong with a book's file
///
/// Everything that is wrong with the file that is sent, with line, column and a mend. A
/// file without problems has an empty list. Nothing is kept.
#[utoipa::path(post, path = "/api/check", tag = "Books",
    request_body(content = String, content_type = "application/toml",
        description = "The book's file", example = "[book]\nname = \"Example\"\n"),
    responses(
        (status = 200, description = "The problems, errors and warnings.", body = Problems),
        (status = 400, description = "The question is not written right.", body = Refusal,
            content_type = "application/problem+json"),
        (status = 413, description = "The file is too large to be read.", body = Refusal,
            content_type = "application/problem+json"),
    ),
)]
pub(super) async fn check(_: Asking<Plain>, sent: Result<Bytes, BytesRejection>) -> Answer {
    let bytes = sent.map_err(|rejected| {
        let detail = format!("the file cannot be taken: {rejected}; a book has at most 1 MB");
        Told::new(rejected.status(), detail)
    })?;
    Ok(Json(book::examine(&bytes, "book.toml").problems.json()))
}

/// Says where to ask when a line's question names a scene.
fn refuse_scene(book: &book::Book, slug: &str, line: &str) -> Result<(), Fault> {
    match book.scene.contains_key(line) {
        false => Ok(()),
        true => Err(Fault::Missing(format!(
            "\"{line}\" is a scene, not a line; ask /api/books/{slug}/scenes/{line}"
        ))),
    }
}
