//! The page of a comparison: worked out at once where that is quick, else on demand.

use super::answer::Answer;
use super::asked::Question;
use super::file;
use super::keep;
use super::refused::{form_of, refused};
use super::run::{Found, Reckoned, Work};
use super::start::{size_words, start, unfinished};
use super::weights::Weighed;
use crate::fault::Fault;
use crate::form::Pairs;
use crate::reader::Reader;
use crate::shell::{Place, page};
use crate::workbench::Workbench;
use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use book::comparison::Comparison;
use maud::{Markup, html};
use std::sync::Arc;
use std::time::Duration;
use study::choose::{ChooseError, size};

/// A page waits so long for what was reckoned to be quick.
const QUICK: Duration = Duration::from_secs(10);

/// And so long for what was started knowing that it is not.
pub(crate) const PATIENT: Duration = Duration::from_secs(40);

pub(super) async fn shown(
    State(workbench): State<Arc<Workbench>>,
    Path(slug): Path<String>,
    Query(pairs): Query<Pairs>,
    reader: Reader,
) -> Result<Response, Fault> {
    let question = Question::open(&workbench, &slug, pairs).await?;
    let comparison = match question.read() {
        Ok(comparison) => comparison,
        Err(wrong) => {
            let content = html! {
                h1 { (title_of(&question, None)) }
                (file::of(&question, Some(&wrong)))
                (keep::state(&question))
            };
            let whole = framed(&question, &reader, None, &content);
            return Ok((StatusCode::UNPROCESSABLE_ENTITY, whole).into_response());
        }
    };
    let weighed = Weighed::of(&question, comparison);
    let asked = (&question, &weighed);
    match found(&workbench, asked).await? {
        Outcome::Found(Ok(chosen)) if question.look.get("fragment") == "1" => {
            let answer = Answer::of(&question, &weighed, &reader, &chosen);
            Ok(answer.fragment().into_response())
        }
        Outcome::Found(found) => {
            let status = match &found {
                Ok(_) => StatusCode::OK,
                Err(_) => StatusCode::UNPROCESSABLE_ENTITY,
            };
            let content = content_of(&workbench, asked, &reader, found).await?;
            let whole = framed(&question, &reader, Some(weighed.now()), &content);
            Ok((status, whole).into_response())
        }
        Outcome::Told(status, told) => {
            let content = around(&question, weighed.now(), &told);
            let whole = framed(&question, &reader, Some(weighed.now()), &content);
            Ok((status, whole).into_response())
        }
    }
}

enum Outcome {
    Found(Found),
    /// What has to be said before there is an answer.
    Told(StatusCode, Markup),
}

async fn found(
    workbench: &Workbench,
    (question, weighed): (&Question, &Weighed),
) -> Result<Outcome, Fault> {
    let opened = &question.opened;
    let comparison = weighed.now();
    if let Some(chosen) = opened.compared.of(opened, comparison) {
        return Ok(Outcome::Found(Ok(chosen)));
    }
    let reckoned = match Reckoned::of(opened, comparison).await? {
        Ok(reckoned) => reckoned,
        Err(error) => return Ok(Outcome::Found(Err(error))),
    };
    if reckoned.is_long() && !question.is_started() {
        let told = start(question, &reckoned);
        return Ok(Outcome::Told(StatusCode::OK, told));
    }
    let work = Work::begin(workbench, opened, comparison);
    let limit = if question.is_started() {
        PATIENT
    } else {
        QUICK
    };
    Ok(match work.within(limit).await? {
        Ok(found) => Outcome::Found(found),
        Err(of) => Outcome::Told(
            StatusCode::SERVICE_UNAVAILABLE,
            unfinished(question, &reckoned.size, of),
        ),
    })
}

/// What was found, for whoever asks by the same question: a page's whole content.
pub(super) async fn content_of(
    workbench: &Workbench,
    (question, weighed): (&Question, &Weighed),
    reader: &Reader,
    found: Found,
) -> Result<Markup, Fault> {
    let told = keep::told(&question.look);
    Ok(match found {
        Ok(chosen) => {
            let answer = Answer::of(question, weighed, reader, &chosen);
            let report = super::take::report_form(workbench, reader, question).await?;
            html! { (told) (answer.whole()) (report) (keep::versions(workbench, question).await?) }
        }
        Err(error) => {
            let system = reader.system(&question.opened.book);
            let comparison = weighed.now();
            let said = refused(question, comparison, &error, system);
            let size = match &error {
                ChooseError::Nothing { .. } => size(&question.opened.book, comparison).ok(),
                _ => None,
            };
            html! {
                (told)
                (around(question, comparison, &html! {
                    @if let Some(size) = &size { p.quiet { (size_words(size)) "." } }
                    (said)
                }))
            }
        }
    })
}

/// Title, what is to be said, and what can be done with the comparison.
fn around(question: &Question, comparison: &Comparison, said: &Markup) -> Markup {
    html! {
        h1 { (title_of(question, Some(comparison))) }
        (keep::state(question))
        (said)
        p.actions.no-print {
            a.button href=(form_of(question)) { "Change the comparison" }
            a.button href=(question.at("/file")) { "Its file" }
        }
        @if question.kept.is_none() { (keep::form(question, comparison)) }
    }
}

/// What the comparison is about.
pub(super) fn title_of(question: &Question, comparison: Option<&Comparison>) -> String {
    let own = comparison.and_then(|comparison| comparison.title.clone());
    let kept = question.kept.as_ref().map(|kept| kept.name.clone());
    own.or(kept).unwrap_or_else(|| "Comparison".into())
}

fn framed(
    question: &Question,
    reader: &Reader,
    comparison: Option<&Comparison>,
    content: &Markup,
) -> Markup {
    let title = title_of(question, comparison);
    let place = Place::of(&question.opened, "Comparisons");
    page(&title, reader, &place, content)
}
