//! All equipment of a book and of the catalogue.

use super::entry::{Entry, Kind, entries};
use super::uses::uses;
use super::values::key_values;
use crate::address;
use crate::fault::Fault;
use crate::reader::Reader;
use crate::shell::{Place, page};
use crate::tables_out;
use crate::told::told;
use crate::workbench::{Opened, Workbench};
use axum::extract::{Path, Query, State};
use book::ItemKind;
use hydraulics::units::System;
use maud::{Markup, html};
use serde::Deserialize;
use std::sync::Arc;

/// What is looked for.
#[derive(Deserialize)]
pub(super) struct Search {
    find: Option<String>,
    kind: Option<String>,
    told: Option<String>,
}

pub(super) async fn page_of(
    State(workbench): State<Arc<Workbench>>,
    Path(slug): Path<String>,
    Query(search): Query<Search>,
    reader: Reader,
) -> Result<Markup, Fault> {
    let opened = workbench.open(&slug).await?;
    let system = reader.system(&opened.book);
    let said = told(&workbench, &opened, search.told.as_deref(), None, system).await?;
    let content = content(&opened, &search, system, &said);
    Ok(page(
        "Equipment",
        &reader,
        &Place::of(&opened, "Equipment"),
        &content,
    ))
}

/// An entry as the list shows it.
struct Row<'a> {
    entry: Entry<'a>,
    values: String,
    used: String,
}

impl Row<'_> {
    /// Does it have every word that is looked for?
    fn has(&self, words: &[String]) -> bool {
        let about = self.entry.about();
        let said = [
            self.entry.kind.many(),
            self.entry.kind.word(),
            self.entry.name,
            &self.values,
            self.entry.whose(),
            about.note.as_deref().unwrap_or(""),
            about.source.as_deref().unwrap_or(""),
        ];
        let said = said.join(" ").to_lowercase();
        words.iter().all(|word| said.contains(word))
    }
}

fn content(opened: &Opened, search: &Search, system: System, said: &Markup) -> Markup {
    let find = search.find.as_deref().unwrap_or("").trim();
    let kind = search.kind.as_deref().and_then(Kind::read);
    let words: Vec<String> = find.split_whitespace().map(str::to_lowercase).collect();
    let kinds = Kind::ALL
        .into_iter()
        .filter(|k| kind.is_none_or(|kind| kind == *k));
    let groups: Vec<(Kind, Vec<Row<'_>>)> = kinds
        .map(|kind| (kind, rows(opened, kind, &words, system)))
        .filter(|(_, rows)| !rows.is_empty())
        .collect();
    html! {
        h1 { "Equipment" }
        (said)
        p { "The department's own, and the generic catalogue that every book can name." }
        div.actions {
            @for kind in ItemKind::ALL {
                a.button href=(address::book(&opened.slug, &format!("/new/{}", kind.word()))) { "New " (kind.word()) }
            }
        }
        (form(opened, find, kind))
        (tables_out::links(&address::book(&opened.slug, "/equipment"), "all equipment", system))
        @if groups.is_empty() {
            p role="status" { "Nothing here has \"" (find) "\". Look for a size, a kind or a part of a name, as 2.5 in." }
        }
        @for (kind, rows) in &groups {
            h2 id=(kind.word()) { (kind.many()) }
            ul.cards { @for row in rows { (card(opened, row)) } }
        }
    }
}

fn rows<'a>(opened: &'a Opened, kind: Kind, words: &[String], system: System) -> Vec<Row<'a>> {
    let entries = entries(&opened.book, kind).into_iter();
    let rows = entries.map(|entry| Row {
        values: key_values(&opened.book, &entry, system),
        used: uses(&opened.book, &entry).words(),
        entry,
    });
    rows.filter(|row| row.has(words)).collect()
}

fn form(opened: &Opened, find: &str, kind: Option<Kind>) -> Markup {
    let action = format!("/book/{}/equipment", address::step(&opened.slug));
    html! {
        form.form method="get" action=(action) role="search" {
            div.fields {
                div {
                    label for="find" { "Find" }
                    input type="search" id="find" name="find" value=(find) aria-describedby="find-hint";
                    p.hint id="find-hint" { "A name, a size, a kind: 2.5 in, smooth, own." }
                }
                div {
                    label for="kind" { "Kind" }
                    select id="kind" name="kind" {
                        option value="" { "All" }
                        @for one in Kind::ALL {
                            option value=(one.word()) selected[kind == Some(one)] { (one.many()) }
                        }
                    }
                }
            }
            div.actions {
                button.first type="submit" { "Find" }
                @if !find.is_empty() || kind.is_some() { a.button href=(action) { "Show all" } }
            }
        }
    }
}

fn card(opened: &Opened, row: &Row<'_>) -> Markup {
    let entry = &row.entry;
    html! {
        li {
            h3 { a href=(address::equipment(&opened.slug, entry.kind.word(), entry.name)) { (entry.name) } }
            p { (row.values) }
            p.quiet {
                (entry.whose())
                @if entry.kind != Kind::Gauge { ", " (row.used) }
                @if entry.about().invented { ", invented" }
            }
        }
    }
}
