//! Comparisons: asked by their text, or by the name under which they are kept.

use super::named::{Asking, Named};
use super::questions::{self, Plain};
use super::shapes::ComparisonAnswer;
use super::told::{Refusal, Refusals, Told};
use crate::compare::Worked;
use crate::workbench::Workbench;
use axum::Json;
use axum::body::Bytes;
use axum::extract::State;
use axum::extract::rejection::BytesRejection;
use hydraulics::units::System;
use records::ComparisonEntry;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::sync::Arc;
use study::choose::{Choice, Chosen};
use utoipa::{IntoParams, ToSchema};

type Shared = State<Arc<Workbench>>;

/// Comparisons that are listed.
const LISTED: i64 = 1000;

/// The comparisons that a department keeps.
#[derive(Serialize, ToSchema)]
pub(super) struct Comparisons {
    /// The book's name in addresses.
    book: String,
    comparisons: Vec<OneComparison>,
}

/// A comparison that is kept.
#[derive(Serialize, ToSchema)]
struct OneComparison {
    /// Its name in addresses.
    comparison: String,
    /// What it is about; may be empty.
    title: String,
    /// The newest version, counted from 1.
    version: i64,
    /// When that was kept, seconds since 1970.
    kept: i64,
    /// Who kept it; may be empty.
    who: String,
    /// It was withdrawn, and stands only to be read.
    withdrawn: bool,
}

fn one(entry: ComparisonEntry) -> OneComparison {
    OneComparison {
        comparison: entry.name,
        title: entry.title,
        version: entry.newest,
        kept: entry.by.at,
        who: entry.by.who,
        withdrawn: entry.withdrawn.is_some(),
    }
}

/// The comparisons that a department keeps
#[utoipa::path(get, path = "/api/books/{book}/comparisons", tag = "Comparisons",
    params(("book" = String, Path, description = "The book's name in addresses",
        example = "saltmarsh-bend-fire-and-rescue")),
    responses((status = 200, description = "The comparisons, the last kept first.",
        body = Comparisons), Refusals),
)]
pub(super) async fn comparisons(
    State(workbench): Shared,
    Named(slug): Named<String>,
    _: Asking<Plain>,
) -> Result<Json<Comparisons>, Told> {
    workbench.records.newest(&slug).await?;
    let all = workbench.records.comparisons(&slug, LISTED).await?;
    Ok(Json(Comparisons {
        book: slug,
        comparisons: all.into_iter().map(one).collect(),
    }))
}

/// Of a comparison.
#[derive(Deserialize, IntoParams, Default)]
#[serde(default)]
#[into_params(parameter_in = Query)]
pub(super) struct OfComparison {
    /// Units of the answer; the book's when left out
    #[param(inline, value_type = Option<questions::Units>)]
    units: Option<String>,
    /// Which version of it; the newest when left out
    version: Option<i64>,
}

/// What a comparison finds that a department keeps
///
/// Asked of the book as it is. What takes longer than 40 seconds is not answered here; the
/// command `compare` takes as long as it needs.
#[utoipa::path(get, path = "/api/books/{book}/comparisons/{comparison}", tag = "Comparisons",
    params(
        ("book" = String, Path, description = "The book's name in addresses",
            example = "saltmarsh-bend-fire-and-rescue"),
        ("comparison" = String, Path, description = "The comparison's name"),
        OfComparison),
    responses((status = 200, description = "What it finds.", body = ComparisonAnswer),
        (status = 503, description = "It takes too long, or too many are asked at once.",
            body = Refusal, content_type = "application/problem+json"),
        Refusals),
)]
pub(super) async fn kept(
    State(workbench): Shared,
    Named((slug, name)): Named<(String, String)>,
    Asking(of): Asking<OfComparison>,
) -> Result<Json<Value>, Told> {
    let version = of.version.map(|version| ("version", version.to_string()));
    let pairs = std::iter::once(("of", name)).chain(version);
    answer(&workbench, &slug, pairs, of.units.as_deref()).await
}

/// Units, and nothing more.
#[derive(Deserialize, IntoParams, Default)]
#[serde(default)]
#[into_params(parameter_in = Query)]
pub(super) struct InUnits {
    /// Units of the answer; the book's when left out
    #[param(inline, value_type = Option<questions::Units>)]
    units: Option<String>,
}

/// What a comparison finds
///
/// The comparison is sent as its file. Nothing is kept. What takes longer than 40 seconds
/// is not answered here; the command `compare` takes as long as it needs.
#[utoipa::path(post, path = "/api/books/{book}/compare", tag = "Comparisons",
    request_body(content = String, content_type = "application/toml",
        description = "The comparison's file", example = "[comparison]\nlines = [\"left-crosslay\"]\n\n[vary]\nnozzle = [\"twin\"]\npump_pressure = { from = \"100 psi\", to = \"150 psi\", step = \"25 psi\" }\n\n[aims]\nflow = 1\nreaction = 1\n\n[doubt]\ndraws = 0\n"),
    params(
        ("book" = String, Path, description = "The book's name in addresses",
            example = "saltmarsh-bend-fire-and-rescue"),
        InUnits),
    responses((status = 200, description = "What it finds.", body = ComparisonAnswer),
        (status = 413, description = "The file is too large to be read.", body = Refusal,
            content_type = "application/problem+json"),
        (status = 503, description = "It takes too long, or too many are asked at once.",
            body = Refusal, content_type = "application/problem+json"),
        Refusals),
)]
pub(super) async fn sent(
    State(workbench): Shared,
    Named(slug): Named<String>,
    Asking(of): Asking<InUnits>,
    sent: Result<Bytes, BytesRejection>,
) -> Result<Json<Value>, Told> {
    let bytes = sent.map_err(|rejected| {
        let detail = format!("the file cannot be taken: {rejected}");
        Told::new(rejected.status(), detail)
    })?;
    let text = String::from_utf8_lossy(&bytes).into_owned();
    let pairs = std::iter::once(("text", text));
    answer(&workbench, &slug, pairs, of.units.as_deref()).await
}

async fn answer(
    workbench: &Workbench,
    slug: &str,
    pairs: impl Iterator<Item = (&'static str, String)>,
    units: Option<&str>,
) -> Result<Json<Value>, Told> {
    let pairs = pairs.map(|(key, value)| (key.to_string(), value));
    // The units are read before the work is begun.
    let opened = workbench.open(slug).await?;
    let system = questions::system(units, &opened.book)?;
    let worked = Worked::out(workbench, slug, pairs.collect()).await?;
    Ok(Json(object(&worked.chosen, system)))
}

/// All that was found, and how sure each choice is, as the command has it.
fn object(chosen: &Chosen, system: System) -> Value {
    let doubted = |choice: &Choice| {
        let doubted = choice.doubted.as_ref();
        doubted.map_or(Value::Null, |doubted| doubted.json(system))
    };
    let mut object = chosen.json(system);
    if let Some(all) = object.get_mut("choices").and_then(Value::as_array_mut) {
        for (value, choice) in all.iter_mut().zip(&chosen.choices) {
            value["doubted"] = doubted(choice);
        }
    }
    if let (Some(today), Some(choice)) = (object.get_mut("today"), &chosen.today) {
        today["doubted"] = doubted(choice);
    }
    let answer = chosen.choices.get(chosen.robust.unwrap_or(0));
    object["answer"] = answer.map_or(Value::Null, |choice| choice.code.clone().into());
    object
}
