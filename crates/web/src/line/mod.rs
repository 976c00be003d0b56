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
use crate::fault::Fault;
use crate::form::{Filled, Pairs, Sent};
use crate::reader::Reader;
use crate::saving::{Saving, opened_for};
use crate::told;
use crate::workbench::{Opened, Workbench};
use axum::Router;
use axum::extract::{Path as At, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::{get, post};
use book::{Book, Conditions, Part, Parts, Path, Step};
use change::Changed;
use controls::Control;
use hands::{Hands, Wrong};
use hydraulics::units::System;
use maud::{Markup, html};
use page::LinePage;
use parts::Editing;
use std::sync::Arc;
use study::answer::LineAnswer;

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
    let code = pairs.iter().find(|(key, _)| key == "told");
    let code = code.map(|(_, code)| code.as_str());
    let system = reader.system(&opened.book);
    let told = told::told(&workbench, &opened, code, Some(&line), system).await?;
    answer(
        &opened,
        &line,
        &pairs,
        &reader,
        &Editing::asked(&pairs),
        &told,
    )
}

/// A form's own address, opened afresh, is the line's page.
async fn line_of_form(At((slug, line)): At<(String, String)>) -> Redirect {
    Redirect::to(&address::line(&slug, &line))
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
            };
            answer(&opened, &line, &pairs, &reader, &editing, &html! {})
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
        tells: true,
    };
    saving.save(workbench, opened, reader, sent).await
}

/// The page, or its changing regions where the address asks for a fragment.
fn answer(
    opened: &Opened,
    line: &str,
    pairs: &Pairs,
    reader: &Reader,
    editing: &Editing,
    told: &Markup,
) -> Result<Response, Fault> {
    let system = reader.system(&opened.book);
    let book = &opened.book;
    let entry = book
        .line
        .get(line)
        .ok_or_else(|| Fault::Missing(format!("The book has no line \"{line}\".")))?;
    let plain = Conditions::default();
    let Standing {
        was,
        controls,
        hands,
        conditions,
        mut wrong,
    } = Standing::read(book, line, pairs, system)?;
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
        told,
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

/// A line as the book has it, and what the hands in an address make of it.
struct Standing {
    was: LineAnswer,
    controls: Vec<Control>,
    hands: Hands,
    conditions: Conditions,
    wrong: Vec<Wrong>,
}

impl Standing {
    fn read(book: &Book, line: &str, pairs: &Pairs, system: System) -> Result<Self, Fault> {
        let plain = Conditions::default();
        let was = study::solve(book, line, &plain)?;
        let hands = Hands::read(pairs, system);
        let equipped = hands.equipped(book, line);
        let layout = book::layout(book, line, &equipped).map_err(study::StudyError::from)?;
        let controls = controls::controls(book, &layout, &was);
        let hands = hands.only_changes(&controls);
        let (conditions, wrong) = hands.conditions(book, line, was.pump_pressure);
        Ok(Standing {
            was,
            controls,
            hands,
            conditions,
            wrong,
        })
    }
}

/// What the question `pairs` makes of `line`. Nothing that it asks is passed over.
pub(crate) fn conditions(
    book: &Book,
    line: &str,
    pairs: &Pairs,
    system: System,
) -> Result<Conditions, Fault> {
    let standing = Standing::read(book, line, pairs, system)?;
    match standing.wrong.first() {
        None => Ok(standing.conditions),
        Some(wrong) => Err(Fault::Misread(format!("{}: {}", wrong.key, wrong.message))),
    }
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
