//! Every revision of a book: who, when, what; undo, make again, compare, go back.

use super::differences::differences;
use super::file::{number, saved_at};
use crate::address;
use crate::conflict::{self, said};
use crate::fault::Fault;
use crate::form::Filled;
use crate::reader::Reader;
use crate::shell::{Place, page};
use crate::told::{Told, message_and_wrong};
use crate::workbench::Workbench;
use axum::Json;
use axum::extract::{Path, Query, State};
use axum::response::Response;
use maud::{Markup, html};
use records::Entry;
use serde::Deserialize;
use serde_json::{Value, json};
use std::sync::Arc;

/// Revisions listed unless all are asked for.
const LISTED: i64 = 50;

#[derive(Deserialize)]
pub(crate) struct How {
    all: Option<String>,
}

pub(crate) async fn shown(
    State(workbench): State<Arc<Workbench>>,
    Path(slug): Path<String>,
    Query(Told { told: code }): Query<Told>,
    Query(how): Query<How>,
    reader: Reader,
) -> Result<Markup, Fault> {
    let opened = workbench.open(&slug).await?;
    let most = if how.all.is_some() { 100_000 } else { LISTED };
    let history = workbench.records.history(&slug, most).await?;
    let left_off = opened.revision - i64::try_from(history.len()).unwrap_or(0);
    let told = message_and_wrong(&workbench, &opened, code.as_deref()).await?;
    let content = html! {
        (told)
        h1 { "History" }
        p { "Nothing is lost: each save is a revision, and a revision is never changed." }
        @if let Some(newest) = history.first() { (steps(&slug, newest)) }
        (your_name(&reader))
        p { a.button href=(address::book(&slug, "/trail")) { "Who did what" } }
        h2 { "Revisions" }
        p.hint { "What changed is written in the book's units, whichever you read in." }
        ol.history {
            @for entry in &history {
                li {
                    (said(entry))
                    p { a.button href=(address::book(&slug, &format!("/history/{}", entry.number))) {
                        "Revision " (entry.number) ": see and compare"
                    } }
                }
            }
        }
        @if left_off > 0 {
            p { a.button href=(address::book(&slug, "/history?all=1")) { "The " (left_off) " before these" } }
        }
    };
    Ok(page(
        "History",
        &reader,
        &Place::of(&opened, "History"),
        &content,
    ))
}

/// Undo and make again, each saying what it would do.
fn steps(slug: &str, newest: &Entry) -> Markup {
    let step = |path: &str, possible: bool, label: &str| {
        html! {
            form method="post" action=(address::book(slug, path)) {
                input type="hidden" name="base" value=(newest.number);
                button disabled[!possible] { (label) }
            }
        }
    };
    let undo = match newest.before {
        Some(back) => format!("Undo: back to revision {back}"),
        None => "Nothing to undo".into(),
    };
    let redo = match newest.again {
        Some(again) => format!("Make again: revision {again}"),
        None => "Nothing to make again".into(),
    };
    html! {
        div.actions {
            (step("/undo", newest.before.is_some(), &undo))
            (step("/redo", newest.again.is_some(), &redo))
        }
    }
}

/// The name beside the reader's changes, so that others are told whose they are.
pub(crate) fn your_name(reader: &Reader) -> Markup {
    if let Some(person) = reader.who.person() {
        return html! { p.quiet { "Your changes are kept under your name, " (person.name) "." } };
    }
    html! {
        form.form.name method="post" action="/settings" {
            input type="hidden" name="back" value=(reader.here);
            label for="your-name" { "Your name beside changes" }
            div.beside {
                input type="text" id="your-name" name="name" value=(reader.name) maxlength="60" autocomplete="name"
                    aria-describedby="your-name-hint";
                button { "Keep the name" }
            }
            p.hint id="your-name-hint" { "Kept in this browser. Others who work on the book see it." }
        }
    }
}

#[derive(Deserialize)]
pub(crate) struct Against {
    against: Option<String>,
}

/// One revision: what it changed, or how it differs from another.
pub(crate) async fn revision(
    State(workbench): State<Arc<Workbench>>,
    Path((slug, asked)): Path<(String, String)>,
    Query(against): Query<Against>,
    reader: Reader,
) -> Result<Markup, Fault> {
    let opened = workbench.open(&slug).await?;
    let asked = number(&slug, &asked)?;
    let revision = workbench.records.revision(&slug, asked).await?;
    let other = match against.against.as_deref().map(str::trim) {
        Some("") | None => asked - 1,
        Some(text) => number(&slug, text)?,
    };
    let compared = match other {
        0 => None,
        _ => Some(workbench.records.revision(&slug, other).await?.text),
    };
    let newest = opened.revision;
    let link = |rest: String| address::book(&slug, &rest);
    let content = html! {
        h1 { "Revision " (asked) }
        div.history { (said(&revision.entry)) }
        div.actions {
            @if asked < newest {
                form method="post" action=(link("/back".into())) {
                    input type="hidden" name="base" value=(newest);
                    input type="hidden" name="to" value=(asked);
                    button.first { "Go back to this revision" }
                }
            } @else {
                p.quiet { "This is the book as it now is." }
            }
            a.button href=(link(format!("/file/download?revision={asked}"))) { "Download revision " (asked) }
            a.button href=(link("/history".into())) { "To the history" }
        }
        h2 { "Compare" }
        form.actions method="get" {
            label for="against" { "Revision" }
            input.short type="number" id="against" name="against" min="1" max=(newest) value=(other.max(1));
            button { "Compare with it" }
        }
        @if let Some(text) = &compared {
            h3 { "From revision " (other) " to revision " (asked) }
            (differences(&format!("From revision {other} to revision {asked}"), text, &revision.text))
        } @else {
            p.quiet { "This is the first revision." }
        }
        h2 { "Its text" }
        details {
            summary { "All of it" }
            pre tabindex="0" role="region" aria-label=(format!("Text of revision {asked}")) { (revision.text) }
        }
    };
    let title = format!("Revision {asked}");
    Ok(page(
        &title,
        &reader,
        &Place::of(&opened, "History"),
        &content,
    ))
}

#[derive(Deserialize)]
pub(crate) struct Step {
    base: i64,
    /// The line whose page it was done on; empty for the list of lines.
    line: Option<String>,
}

pub(crate) async fn undo(
    State(workbench): State<Arc<Workbench>>,
    Path(slug): Path<String>,
    reader: Reader,
    Filled(step): Filled<Step>,
) -> Result<Response, Fault> {
    match workbench.undo(&slug, step.base, &reader.name).await {
        Ok(_) => undone(&workbench, &slug, step.line.as_deref()).await,
        Err(fault) => {
            told(
                &workbench,
                &reader,
                fault,
                "You wanted to undo the change before.",
            )
            .await
        }
    }
}

/// Back to where Undo was pressed, or to the lines where that line is no more.
async fn undone(workbench: &Workbench, slug: &str, line: Option<&str>) -> Result<Response, Fault> {
    let Some(line) = line else {
        return Ok(saved_at(slug, "/history?told=undone"));
    };
    let rest = match workbench.open(slug).await?.book.line.contains_key(line) {
        true => format!("/line/{}", address::step(line)),
        false => String::new(),
    };
    Ok(saved_at(slug, &format!("{rest}?told=undone")))
}

pub(crate) async fn redo(
    State(workbench): State<Arc<Workbench>>,
    Path(slug): Path<String>,
    reader: Reader,
    Filled(step): Filled<Step>,
) -> Result<Response, Fault> {
    match workbench.redo(&slug, step.base, &reader.name).await {
        Ok(_) => Ok(saved_at(&slug, "/history?told=redone")),
        Err(fault) => {
            told(
                &workbench,
                &reader,
                fault,
                "You wanted to make a change again.",
            )
            .await
        }
    }
}

async fn told(
    workbench: &Workbench,
    reader: &Reader,
    fault: Fault,
    wanted: &str,
) -> Result<Response, Fault> {
    conflict::told(workbench, reader, fault, |now| {
        html! {
            p { (wanted) }
            p { a.button href=(address::book(&now.slug, "/history")) { "See the history and decide anew" } }
        }
    })
    .await
}

#[derive(Deserialize)]
pub(crate) struct Back {
    base: i64,
    to: i64,
}

/// An old revision's text as the newest.
pub(crate) async fn back(
    State(workbench): State<Arc<Workbench>>,
    Path(slug): Path<String>,
    reader: Reader,
    Filled(Back { base, to }): Filled<Back>,
) -> Result<Response, Fault> {
    let text = workbench.records.revision(&slug, to).await?.text;
    let why = format!("back to revision {to}");
    match workbench.save(&slug, base, &text, &why, &reader.name).await {
        Ok(number) if number == base => Ok(saved_at(&slug, "/history?told=same")),
        Ok(_) => Ok(saved_at(&slug, "/history?told=back")),
        Err(fault) => {
            let wanted = format!("You wanted to go back to revision {to}.");
            told(&workbench, &reader, fault, &wanted).await
        }
    }
}

/// The newest revision, for a page that waits to be told of another's changes.
pub(crate) async fn newest(
    State(workbench): State<Arc<Workbench>>,
    Path(slug): Path<String>,
) -> Result<Json<Value>, Fault> {
    let newest = workbench.records.newest(&slug).await?;
    let note = workbench.records.revision(&slug, newest).await?.entry.note;
    Ok(Json(json!({
        "revision": newest,
        "who": note.who,
        "why": note.why,
        "at": note.at,
        "words": note.words,
    })))
}
