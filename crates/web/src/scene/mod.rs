//! Scenes: rigs, water and lines at work together.

mod answer;
mod change;
mod compared;
mod edit;
mod fields;
mod hands;
mod list;
mod new;
mod parts;
mod water;

use crate::fault::Fault;
use crate::reader::Reader;
use crate::shell::{Place, page};
use crate::workbench::{Opened, Workbench};
use axum::Router;
use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use book::{Scene, SceneLayout};
use fields::{Editing, What};
use hands::Hands;
use hydraulics::units::System;
use maud::{Markup, html};
use parts::Parts;
use std::sync::Arc;
use study::{SceneCompared, StudyError};

pub(crate) fn routes() -> Router<Arc<Workbench>> {
    Router::new()
        .route("/book/{slug}/scenes", get(list::page_of))
        .route("/book/{slug}/new-scene", get(edit::asked).post(edit::begun))
        .route("/book/{slug}/scene/{scene}", get(scene))
        .route(
            "/book/{slug}/scene/{scene}/edit",
            get(scene).post(edit::edit),
        )
}

/// What was asked in an address, in its order.
type Asked = Vec<(String, String)>;

/// A scene as one page shows it.
struct Shown<'a> {
    opened: &'a Opened,
    name: &'a str,
    laid: SceneLayout,
    compared: SceneCompared,
    changed: bool,
    system: System,
}

async fn scene(
    State(workbench): State<Arc<Workbench>>,
    Path((slug, name)): Path<(String, String)>,
    Query(asked): Query<Asked>,
    reader: Reader,
) -> Result<Response, Fault> {
    let opened = workbench.open(&slug).await?;
    let asks = |wanted: &str| asked.iter().find(|(key, _)| key == wanted);
    let mut editing = Editing {
        what: asks("edit").map_or(What::Nothing, |(_, what)| What::read(what)),
        ..Editing::default()
    };
    if asks("told").is_some_and(|(_, number)| *number == opened.revision.to_string()) {
        let kept = workbench.records.revision(&slug, opened.revision).await?;
        let words = kept.entry.note.words.join("; ");
        editing.told = Some(format!("Saved as revision {}. {words}", opened.revision));
    }
    answer(&opened, &name, &asked, &reader, &editing)
}

/// The page, or its changing regions where the address asks for a fragment.
fn answer(
    opened: &Opened,
    name: &str,
    asked: &Asked,
    reader: &Reader,
    editing: &Editing,
) -> Result<Response, Fault> {
    let system = reader.system(&opened.book);
    let place = Place::of(opened, "Scenes");
    let laid = book::scene(&opened.book, name, &Default::default()).map_err(StudyError::from);
    let solved = laid.and_then(|laid| {
        let mut hands = Hands::read(&opened.book, &laid, asked, system);
        let changes = hands.changes();
        let changed = changes != Default::default();
        let compared = compared(opened, name, &changes, changed)?;
        hands.settle(&compared.before);
        let shown = Shown {
            opened,
            name,
            laid,
            compared,
            changed,
            system,
        };
        Ok((shown, hands))
    });
    let (shown, hands) = match (solved, opened.book.scene.get(name)) {
        (Ok(solved), _) => solved,
        (Err(error), None) => return Err(error.into()),
        (Err(error), Some(scene)) => {
            let title = scene.title.as_deref().unwrap_or(name);
            let content = unsolved(&error, &parts(opened, (name, scene), system, editing));
            let content = html! { h1 { (title) } (content) };
            let whole = page(title, reader, &place, &content);
            return Ok((StatusCode::UNPROCESSABLE_ENTITY, whole).into_response());
        }
    };
    let status = match hands.is_wrong() || !editing.wrong.is_empty() {
        true => StatusCode::UNPROCESSABLE_ENTITY,
        false => StatusCode::OK,
    };
    if asked.iter().any(|(key, _)| key == "fragment") {
        let fragment = html! { (shown.top(&hands)) (shown.live()) };
        return Ok((status, fragment).into_response());
    }
    let content = shown.content(&hands, asked, editing);
    let whole = page(shown.title(), reader, &place, &content);
    Ok((status, whole).into_response())
}

/// A scene that has no answer can still be changed until it has one.
fn unsolved(error: &StudyError, parts: &Markup) -> Markup {
    html! {
        p.wrong role="alert" { "This scene has no answer: " (error) }
        (parts)
    }
}

fn parts(
    opened: &Opened,
    (name, scene): (&str, &Scene),
    system: System,
    editing: &Editing,
) -> Markup {
    let parts = Parts {
        opened,
        name,
        scene,
        system,
        editing,
    };
    parts.show()
}

/// The scene as its book has it, and as the reader's hands have it.
fn compared(
    opened: &Opened,
    name: &str,
    changes: &book::SceneConditions,
    changed: bool,
) -> Result<SceneCompared, StudyError> {
    let plain = book::SceneConditions::default();
    if changed {
        return study::what_if_scene(&opened.book, name, &plain, changes);
    }
    let before = study::solve_scene(&opened.book, name, &plain)?;
    let after = before.clone();
    Ok(SceneCompared { before, after })
}

impl Shown<'_> {
    fn title(&self) -> &str {
        self.compared.after.title.as_deref().unwrap_or(self.name)
    }

    fn content(&self, hands: &Hands, asked: &Asked, editing: &Editing) -> Markup {
        let scene = self.opened.book.scene.get(self.name);
        html! {
            h1 { (self.title()) }
            @if let Some(told) = &editing.told { p.told role="status" { (told) } }
            @if let Some(about) = scene.map(|scene| &scene.about) {
                @if let Some(note) = &about.note { p { (note) } }
                @if about.invented { p.quiet { "Invented, for a demonstration." } }
            }
            (self.top(hands))
            (hands.form(&self.opened.slug, self.name, asked, self.system))
            @if let Some(scene) = scene { (parts(self.opened, (self.name, scene), self.system, editing)) }
            (self.live())
        }
    }

    /// What is looked at first, above the hands, and changes with them.
    fn top(&self, hands: &Hands) -> Markup {
        html! {
            div.live #top data-summary=(answer::summary(self)) {
                @if hands.is_wrong() {
                    div role="alert" {
                        @for wrong in hands.wrongs() { p.wrong { (wrong) } }
                        p.quiet { "Figures below are without what could not be read." }
                    }
                }
                (answer::figures(self))
                (answer::drawn(self))
            }
        }
    }

    /// All else that changes with the hands.
    fn live(&self) -> Markup {
        html! {
            div.live #live {
                @if self.changed { (compared::table(&self.compared, self.system)) }
                (answer::sections(self))
                (water::sections(self))
                (answer::ends(self))
            }
        }
    }
}
