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
use crate::form::Pairs;
use crate::reader::Reader;
use crate::shell::{Place, page};
use crate::tables_out;
use crate::told;
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
use study::{SceneAnswer, SceneCompared, StudyError};

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
    Query(asked): Query<Pairs>,
    reader: Reader,
) -> Result<Response, Fault> {
    let opened = workbench.open(&slug).await?;
    let asks = |wanted: &str| asked.iter().find(|(key, _)| key == wanted);
    let editing = Editing {
        what: asks("edit").map_or(What::Nothing, |(_, what)| What::read(what)),
        ..Editing::default()
    };
    let code = asks("told").map(|(_, code)| code.as_str());
    let system = reader.system(&opened.book);
    let told = told::told(&workbench, &opened, code, None, system).await?;
    answer(&opened, &name, &asked, &reader, &editing, &told)
}

/// The page, or its changing regions where the address asks for a fragment.
fn answer(
    opened: &Opened,
    name: &str,
    asked: &Pairs,
    reader: &Reader,
    editing: &Editing,
    told: &Markup,
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
        let fragment = html! { (shown.top(&hands)) (shown.live(&hands)) };
        return Ok((status, fragment).into_response());
    }
    let content = shown.content(&hands, asked, editing, told);
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

/// The scene as the question `asked` has it, and its layout. Nothing that is asked is
/// passed over.
pub(crate) fn standing(
    opened: &Opened,
    name: &str,
    asked: &Pairs,
    system: System,
) -> Result<(SceneAnswer, SceneLayout), Fault> {
    let laid = book::scene(&opened.book, name, &Default::default()).map_err(StudyError::from)?;
    let hands = Hands::read(&opened.book, &laid, asked, system);
    if let Some(wrong) = hands.wrongs().next() {
        return Err(Fault::Misread(wrong));
    }
    let changes = hands.changes();
    let changed = changes != Default::default();
    let compared = compared(opened, name, &changes, changed)?;
    Ok((compared.after, laid))
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

    fn content(&self, hands: &Hands, asked: &Pairs, editing: &Editing, told: &Markup) -> Markup {
        let scene = self.opened.book.scene.get(self.name);
        html! {
            h1 { (self.title()) }
            (told)
            @if let Some(about) = scene.map(|scene| &scene.about) {
                @if let Some(note) = &about.note { p { (note) } }
                @if about.invented { p.quiet { "Invented, for a demonstration." } }
            }
            (self.top(hands))
            (hands.form(&self.opened.slug, self.name, asked, self.system))
            @if let Some(scene) = scene { (parts(self.opened, (self.name, scene), self.system, editing)) }
            (self.live(hands))
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
    fn live(&self, hands: &Hands) -> Markup {
        html! {
            div.live #live {
                @if self.changed { (compared::table(&self.compared, self.system)) }
                (answer::sections(self))
                (water::sections(self))
                (answer::ends(self))
                (tables_out::links(&hands.address(&self.opened.slug, self.name), "this scene", self.system))
            }
        }
    }
}
