//! Scenes made and changed by forms.

use super::change::{self, Changed};
use super::fields::{Editing, What};
use super::new;
use crate::address;
use crate::fault::Fault;
use crate::form::{Filled, Pairs, Sent};
use crate::reader::Reader;
use crate::saving::{Saving, opened_for};
use crate::workbench::{Opened, Workbench};
use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use maud::{Markup, html};
use std::sync::Arc;

pub(super) async fn asked(
    State(workbench): State<Arc<Workbench>>,
    Path(slug): Path<String>,
    reader: Reader,
) -> Result<Markup, Fault> {
    let opened = workbench.open(&slug).await?;
    Ok(new::form(&opened, &reader, &Editing::default()))
}

pub(super) async fn begun(
    State(workbench): State<Arc<Workbench>>,
    Path(slug): Path<String>,
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

pub(super) async fn edit(
    State(workbench): State<Arc<Workbench>>,
    Path((slug, scene)): Path<(String, String)>,
    Query(asked): Query<Pairs>,
    reader: Reader,
    Filled(fields): Filled<Pairs>,
) -> Result<Response, Fault> {
    let sent = Sent(fields);
    let opened = opened_for(&workbench, &slug, &sent).await?;
    let system = reader.system(&opened.book);
    match change::change(&opened.book, &scene, &sent, system) {
        Ok(done) => saved(&workbench, &opened, &reader, &sent, done).await,
        Err(wrong) => {
            let editing = Editing {
                what: open_at(&sent),
                sent: Some(sent),
                wrong,
            };
            super::answer(&opened, &scene, &asked, &reader, &editing, &html! {})
        }
    }
}

/// The forms that stay open.
fn open_at(sent: &Sent) -> What {
    match sent.get("do") {
        "rig" => What::Add,
        _ if sent.get("rig").is_empty() => What::Scene,
        _ => What::Rig(sent.get("rig").into()),
    }
}

/// Saves a change, or tells who was first.
async fn saved(
    workbench: &Workbench,
    opened: &Opened,
    reader: &Reader,
    sent: &Sent,
    done: Changed,
) -> Result<Response, Fault> {
    let page = match &done.scene {
        Some(scene) => address::scene(&opened.slug, scene),
        None => address::book(&opened.slug, "/scenes"),
    };
    let saving = Saving {
        after: &done.book,
        why: done.why,
        page,
        tells: done.scene.is_some(),
    };
    saving.save(workbench, opened, reader, sent).await
}
