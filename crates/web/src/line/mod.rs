//! The page of one line.

mod change;
mod controls;
mod crew;
mod fields;
mod hands;
mod hands_form;
mod new;
mod next;
mod page;
mod parts;
mod take_out;

use crate::address;
use crate::conflict;
use crate::fault::Fault;
use crate::form::Filled;
use crate::reader::Reader;
use crate::workbench::{Opened, Workbench};
use axum::Router;
use axum::extract::{Path as At, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::{get, post};
use book::{Book, Conditions, Part, Parts, Path, Step};
use change::Changed;
pub(crate) use change::Sent;
pub(crate) use fields::{Groups, Row, field, plain};
pub(crate) use hands::Pairs;
use hands::{Hands, Wrong};
use hydraulics::units::System;
use maud::{Markup, html};
use page::LinePage;
use parts::Editing;
use std::sync::Arc;

pub(crate) fn routes() -> Router<Arc<Workbench>> {
    Router::new()
        .route("/book/{book}/line/{line}", get(show))
        .route(
            "/book/{book}/line/{line}/edit",
            post(edit).get(line_of_form),
        )
        .route("/book/{book}/line/{line}/take-out", get(take_out::asked))
        .route("/book/{book}/new-line", get(asked).post(begun))
}

async fn show(
    State(workbench): State<Arc<Workbench>>,
    At((slug, line)): At<(String, String)>,
    Query(pairs): Query<Pairs>,
    reader: Reader,
) -> Result<Response, Fault> {
    let opened = workbench.open(&slug).await?;
    let mut editing = Editing::asked(&pairs);
    let done = pairs.iter().find(|(key, _)| key == "told");
    match done.map(|(_, value)| value.as_str()) {
        Some("same") => editing.told = vec!["Nothing changed, so nothing was saved.".into()],
        Some("undone") => {
            let words = "Undone. On the page History, \"Make again\" brings it back.";
            editing.told = vec![words.into()];
        }
        Some(number) if *number == opened.revision.to_string() => {
            editing.told = told(&workbench, &opened, reader.system(&opened.book)).await?;
            editing.undo = true;
        }
        _ => {}
    }
    answer(&opened, &line, &pairs, &reader, &editing)
}

/// A form's own address, opened afresh, is the line's page.
async fn line_of_form(At((slug, line)): At<(String, String)>) -> Redirect {
    Redirect::to(&address::line(&slug, &line))
}

/// What the newest revision changed, in the reader's units.
async fn told(
    workbench: &Workbench,
    opened: &Opened,
    system: System,
) -> Result<Vec<String>, Fault> {
    let kept = workbench
        .records
        .revision(&opened.slug, opened.revision)
        .await?;
    let words = match kept.entry.before {
        Some(before) => {
            let before = workbench.open_at(&opened.slug, before).await?;
            study::changes(&before.book, &opened.book, system)
        }
        None => kept.entry.note.words,
    };
    Ok(vec![format!(
        "Saved as revision {}. {}",
        opened.revision,
        words.join("; ")
    )])
}

async fn edit(
    State(workbench): State<Arc<Workbench>>,
    At((slug, line)): At<(String, String)>,
    Query(pairs): Query<Pairs>,
    reader: Reader,
    Filled(fields): Filled<Pairs>,
) -> Result<Response, Fault> {
    let sent = Sent(fields);
    let opened = opened_for(&workbench, &slug, &sent).await?;
    let system = reader.system(&opened.book);
    match change::change(&opened.book, &line, &sent, system) {
        Ok(done) => saved(&workbench, &opened, &reader, &sent, done).await,
        Err(wrong) => {
            let editing = Editing {
                what: change::open_at(&sent),
                sent: Some(sent),
                wrong,
                ..Editing::default()
            };
            answer(&opened, &line, &pairs, &reader, &editing)
        }
    }
}

async fn asked(
    State(workbench): State<Arc<Workbench>>,
    At(slug): At<String>,
    reader: Reader,
) -> Result<Response, Fault> {
    let opened = workbench.open(&slug).await?;
    Ok(new::form(&opened, &reader, &Editing::default()).into_response())
}

async fn begun(
    State(workbench): State<Arc<Workbench>>,
    At(slug): At<String>,
    reader: Reader,
    Filled(fields): Filled<Pairs>,
) -> Result<Response, Fault> {
    let sent = Sent(fields);
    let opened = opened_for(&workbench, &slug, &sent).await?;
    match change::begin(&opened.book, &sent, reader.system(&opened.book)) {
        Ok(done) => saved(&workbench, &opened, &reader, &sent, done).await,
        Err(wrong) => {
            let editing = Editing {
                sent: Some(sent),
                wrong,
                ..Editing::default()
            };
            let page = new::form(&opened, &reader, &editing);
            Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response())
        }
    }
}

/// The revision that a form was made from.
pub(crate) async fn opened_for(
    workbench: &Workbench,
    slug: &str,
    sent: &Sent,
) -> Result<Arc<Opened>, Fault> {
    match sent.base() {
        Some(base) => workbench.open_at(slug, base).await,
        None => Err(Fault::Misread(
            "The form does not say which revision it changes. Open the page again.".into(),
        )),
    }
}

/// Saves a change of a line, or tells who was first.
async fn saved(
    workbench: &Workbench,
    opened: &Opened,
    reader: &Reader,
    sent: &Sent,
    done: Changed,
) -> Result<Response, Fault> {
    let page = match &done.line {
        Some(line) => address::line(&opened.slug, line),
        None => address::book(&opened.slug, ""),
    };
    let saving = Saving {
        after: &done.book,
        why: done.why,
        page,
    };
    saving.save(workbench, opened, reader, sent).await
}

/// A change that is ready to be saved.
pub(crate) struct Saving<'a> {
    pub after: &'a Book,
    /// The deed, for the history.
    pub why: &'a str,
    /// Where it leads, with the number of the revision it made.
    pub page: String,
}

impl Saving<'_> {
    /// Saves it, or tells who was first.
    pub async fn save(
        self,
        workbench: &Workbench,
        opened: &Opened,
        reader: &Reader,
        sent: &Sent,
    ) -> Result<Response, Fault> {
        let text = book::amend(&opened.text, &opened.book, self.after);
        let (slug, base) = (&opened.slug, opened.revision);
        let said = workbench.save(slug, base, &text, self.why, &reader.name);
        let number = match said.await {
            Ok(number) => number,
            Err(fault) => {
                return conflict::told(workbench, reader, fault, |newest| {
                    let system = reader.system(&opened.book);
                    let words = study::changes(&opened.book, self.after, system);
                    again(newest, reader, sent, &words)
                })
                .await;
            }
        };
        let told = match number == base {
            true => "same".to_string(),
            false => number.to_string(),
        };
        let page = address::asked(self.page, [("told", told.as_str())]);
        Ok(Redirect::to(&page).into_response())
    }
}

/// What was wanted, in `words`, and a way to have it on the newest revision.
fn again(newest: &Opened, reader: &Reader, sent: &Sent, words: &[String]) -> Markup {
    let fields = sent.on(newest.revision);
    if words.is_empty() {
        return html! { p { "Nothing: what you sent changes nothing on the revision that you had." } };
    }
    html! {
        @if let Some(base) = sent.base() { p { "Your change of revision " (base) ":" } }
        ul { @for words in words { li { (words) } } }
        form method="post" action=(reader.here) {
            @for (key, value) in &fields.0 { input type="hidden" name=(key) value=(value); }
            button.first { "Make my change on revision " (newest.revision) }
        }
    }
}

/// The page, or its changing regions where the address asks for a fragment.
fn answer(
    opened: &Opened,
    line: &str,
    pairs: &Pairs,
    reader: &Reader,
    editing: &Editing,
) -> Result<Response, Fault> {
    let system = reader.system(&opened.book);
    let book = &opened.book;
    let entry = book
        .line
        .get(line)
        .ok_or_else(|| Fault::Missing(format!("The book has no line \"{line}\".")))?;
    let plain = Conditions::default();
    let was = study::solve(book, line, &plain)?;
    let layout = book::layout(book, line, &plain).map_err(study::StudyError::from)?;
    let controls = controls::controls(book, &layout, &was);
    let hands = Hands::read(pairs, system).only_changes(&controls);
    let (conditions, mut wrong) = hands.conditions(book, line, was.pump_pressure);
    let now = match conditions == plain {
        true => was.clone(),
        false => study::solve(book, line, &conditions)?,
    };
    let layout = book::layout(book, line, &conditions).map_err(study::StudyError::from)?;
    let window = hands.window().unwrap_or_else(|error: Wrong| {
        wrong.push(error);
        None
    });
    let next = study::what_next(book, line, &conditions, system)?;
    let status = editing.status(!wrong.is_empty());
    let page = LinePage {
        opened,
        reader,
        system,
        hands: &hands,
        controls: &controls,
        wrong: &wrong,
        was: &was,
        now: &now,
        layout: &layout,
        next: &next,
        window,
        editing,
        line: entry,
    };
    let fragment = pairs.iter().any(|(key, _)| key == "fragment");
    let content = if fragment {
        page.fragment()
    } else {
        page.whole()
    };
    Ok((status, content).into_response())
}

/// The part at `path`, if there is one.
fn part_at<'a>(parts: &'a Parts, path: &Path) -> Option<&'a Part> {
    let (first, rest) = path.0.split_first()?;
    let Step::Part(number) = first else {
        return None;
    };
    let part = parts.get(number.checked_sub(1)?)?;
    let Some((row, rest)) = rest.split_first() else {
        return Some(part);
    };
    let rows = match (part, row) {
        (Part::Branches(rows), Step::Branch(n)) | (Part::Legs(rows), Step::Leg(n)) => {
            rows.get(n.checked_sub(1)?)?
        }
        _ => return None,
    };
    part_at(rows, &Path(rest.to_vec()))
}
