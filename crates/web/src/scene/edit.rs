//! Scenes made and changed by forms.

use super::Asked;
use super::change::{self, Changed, Sent};
use super::fields::{Editing, What};
use super::new;
use crate::address;
use crate::conflict;
use crate::fault::Fault;
use crate::form::Filled;
use crate::reader::Reader;
use crate::workbench::{Opened, Workbench};
use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
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
    Filled(fields): Filled<Asked>,
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
    Query(asked): Query<Asked>,
    reader: Reader,
    Filled(fields): Filled<Asked>,
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
                ..Editing::default()
            };
            super::answer(&opened, &scene, &asked, &reader, &editing)
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

/// The revision that a form was made from.
async fn opened_for(workbench: &Workbench, slug: &str, sent: &Sent) -> Result<Arc<Opened>, Fault> {
    match sent.base() {
        Some(base) => workbench.open_at(slug, base).await,
        None => Err(Fault::Misread(
            "The form does not say which revision it changes. Open the page again.".into(),
        )),
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
    let text = book::amend(&opened.text, &opened.book, &done.book);
    let slug = &opened.slug;
    let said = workbench
        .save(slug, opened.revision, &text, done.why, &reader.name)
        .await;
    let number = match said {
        Ok(number) => number,
        Err(fault) => {
            return conflict::told(workbench, reader, fault, |newest| {
                again(newest, reader, sent, done.why)
            })
            .await;
        }
    };
    let page = match &done.scene {
        Some(scene) => {
            let number = number.to_string();
            address::asked(address::scene(slug, scene), [("told", number.as_str())])
        }
        None => address::book(slug, "/scenes"),
    };
    Ok(Redirect::to(&page).into_response())
}

/// What was wanted, and a way to have it on the newest revision.
fn again(newest: &Opened, reader: &Reader, sent: &Sent, why: &str) -> Markup {
    const HIDDEN: [&str; 5] = ["base", "form", "do", "at", "was"];
    let fields = sent.on(newest.revision);
    let told = sent.0.iter();
    let told = told.filter(|(key, value)| !HIDDEN.contains(&key.as_str()) && !value.is_empty());
    html! {
        p { (why) ":" }
        ul { @for (key, value) in told { li { (key.replace('_', " ")) ": " b { (value) } } } }
        form method="post" action=(reader.here) {
            @for (key, value) in &fields.0 { input type="hidden" name=(key) value=(value); }
            button.first { "Make my change on revision " (newest.revision) }
        }
    }
}
