//! The file of a comparison: its text, to look at, to change, to take along.

use super::asked::{self, CHANGES, LONGEST, Question};
use crate::books::problems;
use crate::fault::Fault;
use crate::form::Pairs;
use crate::paper::attached;
use crate::reader::Reader;
use crate::shell::{Place, page};
use crate::workbench::{Opened, Workbench};
use axum::extract::{Path, Query, State};
use axum::response::Response;
use book::Problems;
use maud::{Markup, html};
use std::sync::Arc;

/// The text, as a form that asks what it says.
pub(super) async fn shown(
    State(workbench): State<Arc<Workbench>>,
    Path(slug): Path<String>,
    Query(pairs): Query<Pairs>,
    reader: Reader,
) -> Result<Markup, Fault> {
    if !pairs
        .iter()
        .any(|(key, _)| matches!(key.as_str(), "of" | "text"))
    {
        let opened = workbench.open(&slug).await?;
        return Ok(framed(
            &opened,
            &reader,
            &html! {
                h1 { "A comparison from its file" }
                (form(&slug, "", &[], None))
            },
        ));
    }
    let question = Question::open(&workbench, &slug, pairs).await?;
    let content = html! {
        h1 { "File of the comparison" }
        (of(&question, question.read().err().as_ref()))
    };
    Ok(framed(&question.opened, &reader, &content))
}

/// What is wrong with the text, and the text.
pub(super) fn of(question: &Question, wrong: Option<&Problems>) -> Markup {
    let slug = &question.opened.slug;
    let mut carried = question.pairs();
    carried.retain(|(key, _)| CHANGES.contains(key));
    if let Some(kept) = &question.kept {
        carried.push(("changes", kept.name.clone()));
        carried.push(("base", kept.newest.to_string()));
    }
    html! {
        @if let Some(wrong) = wrong { (problems(wrong, &question.text)) }
        (form(slug, &question.text, &carried, wrong))
        p.actions { a.button href=(question.at("/download")) { "Download the file" } }
    }
}

fn framed(opened: &Opened, reader: &Reader, content: &Markup) -> Markup {
    let place = Place::of(opened, "Comparisons");
    page("File of the comparison", reader, &place, content)
}

fn form(slug: &str, text: &str, carried: &[(&str, String)], wrong: Option<&Problems>) -> Markup {
    let wrong = wrong.is_some();
    html! {
        form method="get" action=(asked::of(slug, "")) {
            @for (key, value) in carried { input type="hidden" name=(key) value=(value); }
            label for="text" { "Text of the file" }
            // A browser leaves the first line end of a text area out.
            textarea id="text" name="text" rows="24" spellcheck="false" autocapitalize="off" wrap="off" maxlength=(LONGEST)
                aria-invalid=[wrong.then_some("true")] aria-describedby=[wrong.then_some("problems")] { "\n" (text) }
            div.actions { button.first { "Compare" } a.button href=(asked::all(slug, "")) { "Leave it" } }
        }
    }
}

/// The bytes of the file.
pub(super) async fn download(
    State(workbench): State<Arc<Workbench>>,
    Path(slug): Path<String>,
    Query(pairs): Query<Pairs>,
) -> Result<Response, Fault> {
    let question = Question::open(&workbench, &slug, pairs).await?;
    let name = format!("{}.toml", file_name(&question));
    let kind = "application/toml; charset=utf-8";
    Ok(attached(&name, kind, question.text.into_bytes()))
}

/// What files of a comparison are called, without their ending.
pub(super) fn file_name(question: &Question) -> String {
    let slug = &question.opened.slug;
    match &question.kept {
        Some(kept) => crate::slug(&format!("{slug} {} {}", kept.name, kept.number)),
        None => crate::slug(&format!("{slug} comparison")),
    }
}
