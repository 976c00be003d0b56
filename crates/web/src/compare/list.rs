//! The comparisons that a department keeps.

use super::asked;
use crate::books::your_name;
use crate::fault::Fault;
use crate::form::{Pairs, Sent};
use crate::reader::Reader;
use crate::shell::{Place, page};
use crate::when::when;
use crate::workbench::{Opened, Workbench};
use axum::extract::{Path, Query, State};
use maud::{Markup, html};
use records::ComparisonEntry;
use std::sync::Arc;

/// Comparisons that are listed.
const LISTED: i64 = 500;

pub(super) async fn shown(
    State(workbench): State<Arc<Workbench>>,
    Path(slug): Path<String>,
    Query(pairs): Query<Pairs>,
    reader: Reader,
) -> Result<Markup, Fault> {
    let opened = workbench.open(&slug).await?;
    let all = workbench.records.comparisons(&slug, LISTED).await?;
    let told = Sent(pairs).own("told");
    let content = content(&opened, &reader, &all, &told);
    let place = Place::of(&opened, "Comparisons");
    Ok(page("Comparisons", &reader, &place, &content))
}

fn content(opened: &Opened, reader: &Reader, all: &[ComparisonEntry], told: &str) -> Markup {
    let (gone, kept): (Vec<_>, Vec<_>) = all.iter().partition(|one| one.withdrawn.is_some());
    html! {
        h1 { "Comparisons" }
        @if told == "withdrawn" { p.told role="status" { "Withdrawn. It stands below and can be brought back." } }
        p { "Which hose, which nozzle, which pump pressure: every choice that a question allows is tried on the department's own lines, those that pass a limit are left out, and what no other choice beats in everything is ranked, with why and how sure." }
        div.actions {
            a.button.first href=(asked::all(&opened.slug, "/new")) { "New comparison" }
            a.button href=(asked::of(&opened.slug, "/file")) { "From a file" }
        }
        @if kept.is_empty() { p.quiet { "None is kept yet." } }
        ul.cards { @for one in kept { (card(opened, one)) } }
        @if !gone.is_empty() {
            h2 { "Withdrawn" }
            ul.cards { @for one in gone { (card(opened, one)) } }
        }
        (your_name(reader))
    }
}

fn card(opened: &Opened, one: &ComparisonEntry) -> Markup {
    html! {
        li {
            h3 { a href=(asked::by_name(&opened.slug, &one.name)) { (title(one)) } }
            p.quiet { (one.name) ", version " (one.number) " · " (when(one.by.at)) " · " (who(&one.by.who)) }
        }
    }
}

/// What a kept comparison is called.
pub(super) fn title(one: &ComparisonEntry) -> &str {
    match one.title.as_str() {
        "" => &one.name,
        title => title,
    }
}

/// Who saved it.
pub(super) fn who(name: &str) -> &str {
    match name {
        "" => "no name given",
        name => name,
    }
}
