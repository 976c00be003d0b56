//! Scenes: rigs, water and lines at work together.

mod answer;
mod compared;
mod hands;
mod list;
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
use book::SceneLayout;
use hands::Hands;
use hydraulics::units::System;
use maud::{Markup, html};
use std::sync::Arc;
use study::{SceneCompared, StudyError};

pub(crate) fn routes() -> Router<Arc<Workbench>> {
    Router::new()
        .route("/book/{slug}/scenes", get(list::page_of))
        .route("/book/{slug}/scene/{scene}", get(scene))
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
    let system = reader.system(&opened.book);
    let laid = book::scene(&opened.book, &name, &Default::default()).map_err(StudyError::from)?;
    let mut hands = Hands::read(&opened.book, &laid, &asked, system);
    let changes = hands.changes();
    let changed = changes != Default::default();
    let compared = compared(&opened, &name, &changes, changed)?;
    hands.settle(&compared.before);
    let shown = Shown {
        opened: &opened,
        name: &name,
        laid,
        compared,
        changed,
        system,
    };
    let status = match hands.is_wrong() {
        true => StatusCode::UNPROCESSABLE_ENTITY,
        false => StatusCode::OK,
    };
    if asked.iter().any(|(key, _)| key == "fragment") {
        return Ok((status, shown.live(&hands)).into_response());
    }
    let content = shown.content(&hands, &asked);
    let title = shown.title();
    let whole = page(title, &reader, &Place::of(&opened, "Scenes"), &content);
    Ok((status, whole).into_response())
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

    fn content(&self, hands: &Hands, asked: &Asked) -> Markup {
        let about = self
            .opened
            .book
            .scene
            .get(self.name)
            .map(|scene| &scene.about);
        html! {
            h1 { (self.title()) }
            @if let Some(about) = about {
                @if let Some(note) = &about.note { p { (note) } }
                @if about.invented { p.quiet { "Invented, for a demonstration." } }
            }
            (hands.form(&self.opened.slug, self.name, asked, self.system))
            (self.live(hands))
        }
    }

    /// What changes with the hands.
    fn live(&self, hands: &Hands) -> Markup {
        html! {
            div.live #live data-summary=(answer::summary(self)) {
                @if hands.is_wrong() {
                    div role="alert" {
                        @for wrong in hands.wrongs() { p.wrong { (wrong) } }
                        p.quiet { "Figures below are without what could not be read." }
                    }
                }
                (answer::figures(self))
                @if self.changed { (compared::table(&self.compared, self.system)) }
                (answer::drawn(self))
                (answer::sections(self))
                (water::sections(self))
                (answer::ends(self))
            }
        }
    }
}
