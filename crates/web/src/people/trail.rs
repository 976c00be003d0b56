//! The audit trail of a department: who did what, and when.

use crate::address;
use crate::fault::Fault;
use crate::reader::Reader;
use crate::shell::{Place, page};
use crate::tables::wide;
use crate::when::when;
use crate::workbench::Workbench;
use axum::extract::{Path, Query, State};
use maud::{Markup, html};
use records::Deed;
use serde::Deserialize;
use std::sync::Arc;

/// Deeds on a page.
const PAGE: i64 = 50;

#[derive(Deserialize)]
pub(super) struct From {
    before: Option<i64>,
}

pub(super) async fn shown(
    State(workbench): State<Arc<Workbench>>,
    Path(slug): Path<String>,
    Query(From { before }): Query<From>,
    reader: Reader,
) -> Result<Markup, Fault> {
    let opened = workbench.open(&slug).await?;
    let mut deeds = workbench.records.trail(&slug, before, PAGE + 1).await?;
    let more = deeds.len() as i64 > PAGE;
    deeds.truncate(PAGE as usize);
    let content = html! {
        h1 { "Who did what" }
        p { "Written together with what it tells of, and never changed. Sign-ins of the department's people are in it." }
        @if deeds.is_empty() { p.quiet { "Nothing, before that." } } @else { (wide("Who did what", &rows(&deeds))) }
        div.actions {
            @if before.is_some() { a.button href=(address::book(&slug, "/trail")) { "The latest" } }
            @if let (true, Some(last)) = (more, deeds.last()) {
                a.button href=(address::book(&slug, &format!("/trail?before={}", last.id))) { "Before these" }
            }
        }
    };
    let place = Place::of(&opened, "People");
    Ok(page("Who did what", &reader, &place, &content))
}

fn rows(deeds: &[Deed]) -> Markup {
    html! {
        thead { tr { th scope="col" { "When" } th scope="col" { "Who" } th scope="col" { "What" } th scope="col" { "To what" } } }
        tbody {
            @for deed in deeds {
                tr {
                    td { (when(deed.by.at)) }
                    td { (if deed.by.who.is_empty() { "no name given" } else { &deed.by.who }) }
                    th scope="row" { (crate::tables::capital(&deed.what)) }
                    td { (deed.about) }
                }
            }
        }
    }
}
