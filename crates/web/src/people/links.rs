//! Readers' links of a department: each shows one issued sheet to whoever has it.

use crate::address;
use crate::fault::Fault;
use crate::form::Filled;
use crate::paper::{Held, register};
use crate::reader::Reader;
use crate::secret::token;
use crate::shell::{Place, page};
use crate::when::when;
use crate::workbench::{Opened, Workbench, now};
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use maud::{Markup, html};
use records::{By, Link, NewLink};
use serde::Deserialize;
use std::sync::Arc;

/// How long a link may be good, in days.
const DAYS: [(i64, &str); 4] = [
    (7, "a week"),
    (31, "a month"),
    (92, "three months"),
    (366, "a year"),
];

/// What is said above the list.
#[derive(Default)]
struct Said {
    told: &'static str,
    link: Option<String>,
    wrong: &'static str,
}

pub(super) async fn shown(
    State(workbench): State<Arc<Workbench>>,
    Path(slug): Path<String>,
    reader: Reader,
) -> Result<Markup, Fault> {
    let opened = workbench.open(&slug).await?;
    links(&workbench, &opened, &reader, &Said::default()).await
}

/// Opened afresh, the address of a form is the list.
pub(super) async fn back(Path((slug, _)): Path<(String, String)>) -> Redirect {
    Redirect::to(&address::book(&slug, "/links"))
}

async fn links(
    workbench: &Workbench,
    opened: &Arc<Opened>,
    reader: &Reader,
    said: &Said,
) -> Result<Markup, Fault> {
    let slug = &opened.slug;
    let links = workbench.records.links(slug).await?;
    let held = register(workbench, opened).await?;
    let content = html! {
        @if !said.told.is_empty() { p.told role="status" { (said.told) } }
        @if !said.wrong.is_empty() { p.wrong role="alert" { (said.wrong) } }
        h1 { "Readers' links" }
        p { "A reader's link shows one issued sheet, and whether it is still right, to whoever has the link: no name, no password, nothing else of the department." }
        @if let Some(link) = &said.link {
            div.keep {
                p { "The link, shown this once:" }
                p { code.link { (link) } }
            }
        }
        (make(slug, &held))
        h2 { "Links that were made" }
        @if links.is_empty() { p.quiet { "None yet." } }
        ul.cards { @for link in &links { li { (one(slug, link, &held)) } } }
    };
    let place = Place::of(opened, "Paper");
    Ok(page("Readers' links", reader, &place, &content))
}

/// Each sheet once, by its newest printing.
fn make(slug: &str, held: &[Held]) -> Markup {
    let mut seen = std::collections::BTreeSet::new();
    let sheets = held.iter().filter(|held| !held.is_withdrawn());
    let sheets = sheets.filter(|held| seen.insert(held.issue.code.as_str()));
    let sheets: Vec<&Held> = sheets.collect();
    html! {
        @if sheets.is_empty() {
            p.quiet { "A link is made for a sheet of the register, and there is none that was not withdrawn. " a href=(address::book(slug, "/paper")) { "Print sheets" } }
        } @else {
            form.form method="post" action=(address::book(slug, "/links")) {
                div.fields {
                    div {
                        label for="sheet" { "Sheet" }
                        select id="sheet" name="sheet" {
                            @for held in &sheets {
                                option value=(held.issue.id) { (held.title()) ", " (held.choice_words()) ", " (held.issue.code) }
                            }
                        }
                    }
                    div {
                        label for="days" { "Good for" }
                        select id="days" name="days" { @for (days, words) in DAYS { option value=(days) { (words) } } }
                    }
                }
                div.actions { button.first { "Make a link" } }
            }
        }
    }
}

fn one(slug: &str, link: &Link, held: &[Held]) -> Markup {
    let sheet = held.iter().find(|held| held.issue.id == link.issue);
    html! {
        h3 { @match sheet { Some(held) => (held.title()), None => "A sheet" } }
        @if let Some(held) = sheet { p { "Code " (held.issue.code) } }
        p.quiet { "Link " (link.id) ", made " (when(link.by.at)) " by " (link.by.who) }
        @if let Some(by) = &link.withdrawn {
            p { b { "Withdrawn " } (when(by.at)) " by " (by.who) }
        } @else if link.ends <= now() {
            p { b { "Over " } "since " (when(link.ends)) }
        } @else {
            p { "Good until " (when(link.ends)) }
            form.actions method="post" action=(address::book(slug, &format!("/links/{}/withdraw", link.id))) {
                button { "Withdraw link " (link.id) }
            }
        }
    }
}

#[derive(Deserialize)]
pub(super) struct Wanted {
    sheet: i64,
    days: i64,
}

pub(super) async fn made(
    State(workbench): State<Arc<Workbench>>,
    Path(slug): Path<String>,
    reader: Reader,
    Filled(wanted): Filled<Wanted>,
) -> Result<Markup, Fault> {
    let opened = workbench.open(&slug).await?;
    if !DAYS.iter().any(|(days, _)| *days == wanted.days) {
        return Err(Fault::Misread(
            "A link is good for a week to a year.".into(),
        ));
    }
    let (token, at) = (token()?, now());
    let new = NewLink {
        token: &token,
        ends: at + wanted.days * 86_400,
    };
    let by = By::new(&reader.name, at);
    let records = &workbench.records;
    records.make_link(&slug, wanted.sheet, &new, &by).await?;
    let said = Said {
        told: "The link is made.",
        link: Some(format!("{}/sheet/{token}", reader.host)),
        ..Said::default()
    };
    links(&workbench, &opened, &reader, &said).await
}

pub(super) async fn withdrawn(
    State(workbench): State<Arc<Workbench>>,
    Path((slug, id)): Path<(String, String)>,
    reader: Reader,
) -> Result<Response, Fault> {
    let opened = workbench.open(&slug).await?;
    let by = By::new(&reader.name, now());
    let records = &workbench.records;
    let done = match id.parse() {
        Ok(id) => records.withdraw_link(&slug, id, &by).await?,
        Err(_) => false,
    };
    let (status, said) = match done {
        true => (
            StatusCode::OK,
            Said {
                told: "The link is withdrawn: it shows nothing any more.",
                ..Said::default()
            },
        ),
        false => (
            StatusCode::NOT_FOUND,
            Said {
                wrong: "There is no such link that was not withdrawn before.",
                ..Said::default()
            },
        ),
    };
    let page = links(&workbench, &opened, &reader, &said).await?;
    Ok((status, page).into_response())
}
