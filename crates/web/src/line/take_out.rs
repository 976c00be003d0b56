//! Asked before a line is taken out of its book.

use crate::address;
use crate::fault::Fault;
use crate::reader::Reader;
use crate::shell::{Place, page};
use crate::words;
use crate::workbench::Workbench;
use axum::extract::{Path, State};
use book::Edit;
use maud::{Markup, html};
use std::sync::Arc;

pub(super) async fn asked(
    State(workbench): State<Arc<Workbench>>,
    Path((slug, name)): Path<(String, String)>,
    reader: Reader,
) -> Result<Markup, Fault> {
    let opened = workbench.open(&slug).await?;
    let book = &opened.book;
    let line = book
        .line
        .get(&name)
        .ok_or_else(|| Fault::Missing(format!("The book has no line \"{name}\".")))?;
    let title = line.title.as_deref().unwrap_or(&name);
    let here = address::line(&slug, &name);
    let refused = book::edit(book, &name, &Edit::Delete).err();
    let content = html! {
        h1 { "Take out " (title) "?" }
        p {
            @if let Some(rig) = &line.rig { "Off " b { (rig) } ": " }
            (words::row(&line.parts, reader.system(book)))
        }
        @if let Some(error) = &refused {
            p.caution { "It cannot be taken out: " (error) "." }
            @if !error.mend().is_empty() { p.mend { (error.mend()) } }
            p.actions { a.button href=(here) { "Leave it" } }
        } @else {
            p { "The line leaves the book. The revision that has it stays in the history, and Undo brings it back." }
            form method="post" action=(format!("{here}/edit")) {
                input type="hidden" name="base" value=(opened.revision);
                div.actions {
                    button.first name="do" value="delete" { "Take it out" }
                    a.button href=(here) { "Leave it" }
                }
            }
        }
    };
    let heading = format!("Take out {title}?");
    Ok(page(
        &heading,
        &reader,
        &Place::of(&opened, "Lines"),
        &content,
    ))
}
