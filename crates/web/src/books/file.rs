//! The file of a book: its exact text, to edit by hand, to download.

use super::{differences::differences, history::your_name, problems::problems};
use crate::address;
use crate::conflict;
use crate::fault::Fault;
use crate::form::{Parcel, as_in};
use crate::reader::Reader;
use crate::shell::{Place, page};
use crate::told::{Told, message, message_and_wrong};
use crate::workbench::{Opened, Workbench};
use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE};
use axum::response::{IntoResponse, Redirect, Response};
use book::Problems;
use maud::{Markup, html};
use serde::Deserialize;
use std::sync::Arc;

/// To a page of a book after something was saved.
pub(crate) fn saved_at(slug: &str, rest: &str) -> Response {
    Redirect::to(&address::book(slug, rest)).into_response()
}

/// The form of a text: which revision it was made on, and what is wrong with it.
struct Sheet<'a> {
    slug: &'a str,
    base: i64,
    text: &'a str,
    wrong: Option<&'a Problems>,
}

pub(crate) async fn shown(
    State(workbench): State<Arc<Workbench>>,
    Path(slug): Path<String>,
    Query(Told { told: code }): Query<Told>,
    reader: Reader,
) -> Result<Markup, Fault> {
    let base = workbench.records.newest(&slug).await?;
    let text = workbench.records.revision(&slug, base).await?.text;
    let reading = book::examine(text.as_bytes(), &slug);
    let sheet = Sheet {
        slug: &slug,
        base,
        text: &text,
        wrong: (!reading.problems.list().is_empty()).then_some(&reading.problems),
    };
    // A file that cannot be read can still be mended here.
    let opened = workbench.open_at(&slug, base).await.ok();
    let told = match &opened {
        Some(opened) => message_and_wrong(&workbench, opened, code.as_deref()).await?,
        None => message(code.as_deref()),
    };
    let content = html! {
        (told)
        (sheet.shown(&reader))
    };
    Ok(framed(&reader, opened.as_deref(), &content))
}

fn framed(reader: &Reader, opened: Option<&Opened>, content: &Markup) -> Markup {
    let place = opened.map_or_else(Place::default, |opened| Place::of(opened, "File"));
    page("File", reader, &place, content)
}

impl Sheet<'_> {
    fn shown(&self, reader: &Reader) -> Markup {
        html! {
            h1 { "File" }
            p { "The book as it is kept, revision " (self.base) ". What you save becomes the next revision; this one stays." }
            @if let Some(wrong) = self.wrong { (problems(wrong, self.text)) }
            (text_form(self.slug, self.base, self.text, self.wrong.is_some(), "Save as the next revision"))
            p.actions {
                a.button href=(address::book(self.slug, "/file/download")) { "Download the file" }
                a.button href=(address::book(self.slug, "/history")) { "Older revisions" }
            }
            (your_name(reader))
        }
    }
}

/// A text area with a book's text.
fn text_form(slug: &str, base: i64, text: &str, wrong: bool, label: &str) -> Markup {
    html! {
        form method="post" action=(address::book(slug, "/file")) enctype="multipart/form-data" {
            input type="hidden" name="base" value=(base);
            label for="text" { "Text of the file" }
            // A browser leaves the first line end of a text area out.
            textarea id="text" name="text" rows="24" spellcheck="false" autocapitalize="off" wrap="off"
                aria-invalid=[wrong.then_some("true")] aria-describedby=[wrong.then_some("problems")] { "\n" (text) }
            div.actions { button.first { (label) } }
        }
    }
}

pub(crate) async fn sent(
    State(workbench): State<Arc<Workbench>>,
    Path(slug): Path<String>,
    reader: Reader,
    parcel: Parcel,
) -> Result<Response, Fault> {
    let base = parcel.number("base").ok_or_else(|| {
        let text = "The form does not say which revision it was made on; open the file again.";
        Fault::Misread(text.into())
    })?;
    let before = workbench.records.revision(&slug, base).await?.text;
    let text = as_in(&before, &parcel.text("text"));
    let reading = book::examine(text.as_bytes(), "your text");
    if reading.book.is_none() {
        let sheet = Sheet {
            slug: &slug,
            base,
            text: &text,
            wrong: Some(&reading.problems),
        };
        let opened = workbench.open_at(&slug, base).await.ok();
        let whole = framed(&reader, opened.as_deref(), &sheet.shown(&reader));
        return Ok((StatusCode::UNPROCESSABLE_ENTITY, whole).into_response());
    }
    let why = "file edited by hand";
    match workbench.save(&slug, base, &text, why, &reader.name).await {
        Ok(number) if number == base => Ok(saved_at(&slug, "/file?told=same")),
        Ok(_) => Ok(saved_at(&slug, "/file?told=saved")),
        Err(fault) => conflict::told(&workbench, &reader, fault, |now| mine(now, &text)).await,
    }
}

/// The reader's own text beside the newest revision, and a way to save it after all.
fn mine(newest: &Opened, text: &str) -> Markup {
    let next = newest.revision + 1;
    html! {
        p { "Your text is below, as you wrote it. Take into it what the others changed, then save it as revision " (next) "." }
        h3 { "From revision " (newest.revision) " to your text" }
        (differences("From the newest revision to your text", &newest.text, text))
        (text_form(&newest.slug, newest.revision, text, false, &format!("Save my text as revision {next}")))
    }
}

#[derive(Deserialize)]
pub(crate) struct Which {
    revision: Option<String>,
}

/// The bytes of a revision, as they came in.
pub(crate) async fn download(
    State(workbench): State<Arc<Workbench>>,
    Path(slug): Path<String>,
    Query(which): Query<Which>,
) -> Result<Response, Fault> {
    let number = match which.revision {
        Some(text) => number(&slug, &text)?,
        None => workbench.records.newest(&slug).await?,
    };
    let text = workbench.records.revision(&slug, number).await?.text;
    let attached = format!("attachment; filename=\"{}\"", file_name(&slug, number));
    Ok((
        [
            (CONTENT_TYPE, "application/toml; charset=utf-8".to_string()),
            (CONTENT_DISPOSITION, attached),
        ],
        text,
    )
        .into_response())
}

/// A revision's number from an address.
pub(crate) fn number(slug: &str, text: &str) -> Result<i64, Fault> {
    text.parse().map_err(|_| {
        Fault::Missing(format!(
            "\"{text}\" is no revision of book \"{slug}\"; revisions are counted from 1"
        ))
    })
}

/// A name that every system takes.
fn file_name(slug: &str, number: i64) -> String {
    let plain: String = slug
        .chars()
        .map(|c| if c.is_ascii_alphanumeric() { c } else { '-' })
        .collect();
    format!("{plain}-{number}.toml")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_name_has_plain_letters_only() {
        assert_eq!(file_name("é\"/..\\a", 3), "------a-3.toml");
    }
}
