//! Equipment made, changed and taken out by forms.

use super::entry::{Kind, entry};
use super::form::{Form, page};
use super::uses::uses;
use crate::address;
use crate::fault::Fault;
use crate::form::Filled;
use crate::line::{Pairs, Saving, Sent, opened_for};
use crate::reader::Reader;
use crate::workbench::{Opened, Workbench};
use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use book::{Book, ItemError, ItemFields, ItemKind, Origin};
use maud::{Markup, html};
use serde::Deserialize;
use std::sync::Arc;

type Bench = State<Arc<Workbench>>;

/// The revision that a form made.
#[derive(Deserialize)]
pub(super) struct Told {
    pub told: Option<String>,
}

/// What the newest revision changed, where the address asks for it.
pub(super) async fn said(
    workbench: &Workbench,
    opened: &Opened,
    told: Option<&str>,
) -> Result<Markup, Fault> {
    let number = opened.revision.to_string();
    if told != Some(number.as_str()) {
        return Ok(html! {});
    }
    let kept = workbench.records.revision(&opened.slug, opened.revision);
    let words = kept.await?.entry.note.words.join("; ");
    Ok(html! { div.told role="status" { "Saved as revision " (number) ". " (words) } })
}

/// The item that a new one shall be like.
#[derive(Deserialize)]
pub(super) struct Like {
    like: Option<String>,
}

pub(super) async fn asked(
    State(workbench): Bench,
    Path((slug, word)): Path<(String, String)>,
    Query(asked): Query<Like>,
    reader: Reader,
) -> Result<Markup, Fault> {
    let opened = workbench.open(&slug).await?;
    let kind = kind(&word)?;
    let like = asked.like.filter(|like| !like.is_empty());
    let fields = match &like {
        None => ItemFields::default(),
        Some(name) => stands(&opened, kind, name, &reader)?,
    };
    let form = Form {
        like,
        ..Form::new(kind, None, fields)
    };
    Ok(page(&opened, &reader, &form))
}

pub(super) async fn made(
    State(workbench): Bench,
    Path((slug, word)): Path<(String, String)>,
    reader: Reader,
    Filled(pairs): Filled<Pairs>,
) -> Result<Response, Fault> {
    let sent = Sent(pairs);
    let opened = opened_for(&workbench, &slug, &sent).await?;
    let kind = kind(&word)?;
    let fields = fields(&sent);
    let like = Some(sent.get("like")).filter(|like| !like.is_empty());
    let system = reader.system(&opened.book);
    match book::new_item(&opened.book, kind, like, &fields, system) {
        Ok(after) => {
            let saving = Saving {
                after: &after,
                why: &format!("new {word}"),
                page: address::equipment(&slug, &word, fields.get("name")),
            };
            saving.save(&workbench, &opened, &reader, &sent).await
        }
        Err(error) => {
            let form = Form {
                like: like.map(String::from),
                wrong: wrong(error),
                ..Form::new(kind, None, fields)
            };
            Ok(refused(&opened, &reader, &form))
        }
    }
}

pub(super) async fn shown(
    State(workbench): Bench,
    Path((slug, word, name)): Path<(String, String, String)>,
    reader: Reader,
) -> Result<Markup, Fault> {
    let opened = workbench.open(&slug).await?;
    let kind = own(&opened.book, &word, &name)?;
    let fields = stands(&opened, kind, &name, &reader)?;
    Ok(page(&opened, &reader, &Form::new(kind, Some(name), fields)))
}

pub(super) async fn changed(
    State(workbench): Bench,
    Path((slug, word, name)): Path<(String, String, String)>,
    reader: Reader,
    Filled(pairs): Filled<Pairs>,
) -> Result<Response, Fault> {
    let sent = Sent(pairs);
    let opened = opened_for(&workbench, &slug, &sent).await?;
    let kind = own(&opened.book, &word, &name)?;
    let gone = sent.get("do") == "remove";
    let fields = match gone {
        true => stands(&opened, kind, &name, &reader)?,
        false => fields(&sent),
    };
    let done = match gone {
        true => removed(&opened.book, kind, &name),
        false => {
            let system = reader.system(&opened.book);
            book::change_item(&opened.book, kind, &name, &fields, system).map_err(wrong)
        }
    };
    match done {
        Ok(after) => {
            let (deed, page) = match gone {
                true => ("taken out", address::book(&slug, "/equipment")),
                false => ("changed", address::equipment(&slug, &word, &name)),
            };
            let saving = Saving {
                after: &after,
                why: &format!("{word} {deed}"),
                page,
            };
            saving.save(&workbench, &opened, &reader, &sent).await
        }
        Err(wrong) => {
            let form = Form {
                wrong,
                ..Form::new(kind, Some(name), fields)
            };
            Ok(refused(&opened, &reader, &form))
        }
    }
}

fn refused(opened: &Opened, reader: &Reader, form: &Form) -> Response {
    let page = page(opened, reader, form);
    (StatusCode::UNPROCESSABLE_ENTITY, page).into_response()
}

/// The kind of an address, where forms make it.
fn kind(word: &str) -> Result<ItemKind, Fault> {
    let kind = Kind::read(word).and_then(Kind::by_form);
    kind.ok_or_else(|| {
        Fault::Missing(format!(
            "There is no form for a {word}. It can be written into the book's file."
        ))
    })
}

/// The kind of an item that is the book's own.
fn own(book: &Book, word: &str, name: &str) -> Result<ItemKind, Fault> {
    let by_form = kind(word)?;
    let found = Kind::read(word).and_then(|kind| entry(book, kind, name));
    match found.map(|entry| entry.origin) {
        Some(Origin::Own) => Ok(by_form),
        Some(Origin::Catalogue) => Err(Fault::Missing(format!(
            "\"{name}\" is of the generic catalogue, which is not changed. Make one like it."
        ))),
        None => Err(Fault::Missing(format!(
            "The book has no {word} \"{name}\"."
        ))),
    }
}

/// What the form shows for an item as it stands.
fn stands(
    opened: &Opened,
    kind: ItemKind,
    name: &str,
    reader: &Reader,
) -> Result<ItemFields, Fault> {
    let system = reader.system(&opened.book);
    book::item_fields(&opened.book, kind, name, system).ok_or_else(|| {
        let word = kind.word();
        Fault::Missing(format!(
            "There is no {word} \"{name}\" in this book or in the catalogue."
        ))
    })
}

fn fields(sent: &Sent) -> ItemFields {
    let about = ["base", "do", "like"];
    let own = sent
        .0
        .iter()
        .filter(|(key, _)| !about.contains(&key.as_str()));
    ItemFields(own.cloned().collect())
}

/// Each message beside its field; those of none at the top.
fn wrong(error: ItemError) -> Vec<(String, String)> {
    match error {
        ItemError::Fields(all) => {
            let said = |error: book::FieldError| {
                (
                    error.key.to_string(),
                    format!("{}: {}", error.message, error.mend),
                )
            };
            all.into_iter().map(said).collect()
        }
        other => vec![(String::new(), format!("{other}: {}", other.mend()))],
    }
}

/// The book without it, or what uses it.
fn removed(book: &Book, kind: ItemKind, name: &str) -> Result<Book, Vec<(String, String)>> {
    let word = kind.word();
    let found = Kind::read(word).and_then(|kind| entry(book, kind, name));
    let used = found.map(|entry| uses(book, &entry)).unwrap_or_default();
    if used == Default::default() {
        return book::remove_item(book, kind, name).map_err(wrong);
    }
    let all = [
        ("line", &used.lines),
        ("scene", &used.scenes),
        ("hydrant", &used.hydrants),
    ];
    let all = all
        .into_iter()
        .flat_map(|(what, names)| names.iter().map(move |name| format!("{what} \"{name}\"")));
    let all: Vec<String> = all.collect();
    let message = format!(
        "The {word} \"{name}\" is in use: {}. Take it out of there first, or put another in its place.",
        all.join(", ")
    );
    Err(vec![(String::new(), message)])
}
