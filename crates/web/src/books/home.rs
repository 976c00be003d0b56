//! All books.

use crate::address;
use crate::fault::Fault;
use crate::reader::Reader;
use crate::shell::{Place, page};
use crate::when::when;
use crate::workbench::{Opened, Workbench};
use axum::extract::State;
use maud::{Markup, html};
use records::{Kept, Role};
use std::sync::Arc;

pub(crate) async fn shown(
    State(workbench): State<Arc<Workbench>>,
    reader: Reader,
) -> Result<Markup, Fault> {
    let mut books = Vec::new();
    for kept in workbench.records.books().await? {
        if !reader.who.is(Role::Reader, &kept.slug) {
            continue;
        }
        let opened = match workbench.open_at(&kept.slug, kept.revision).await {
            Ok(opened) => Ok(opened),
            Err(Fault::Book(problems)) => Err(problems),
            Err(fault) => return Err(fault),
        };
        books.push((kept, opened));
    }
    let content = html! {
        h1 { "Books" }
        p { "A book holds what one department owns: rigs, hose, nozzles, water, and the lines made of them." }
        div.actions {
            a.button.first href="/books/new" { "New book" }
            a.button href="/books/import" { "Bring a file in" }
        }
        @if books.is_empty() {
            @if reader.who.person().is_some() {
                p.quiet { "There is no book that you may read yet. A department's keeper can add you by your name." }
            } @else {
                p.quiet { "There is no book yet." }
            }
        } @else {
            h2 { @if reader.who.person().is_some() { "Yours to read" } @else { "On this computer" } }
            ul.cards {
                @for (kept, opened) in &books {
                    li {
                        h3 { a href=(address::book(&kept.slug, "")) { (kept.name) } }
                        @match opened {
                            Ok(opened) => (facts(opened)),
                            Err(problems) => {
                                p.wrong { "It cannot be read: " (problems) }
                                p.above { a href=(address::book(&kept.slug, "/file")) { "Mend its file" } }
                            }
                        }
                        (saved(kept))
                    }
                }
            }
        }
    };
    Ok(page("Books", &reader, &Place::default(), &content))
}

fn saved(kept: &Kept) -> Markup {
    html! { p.quiet { "Revision " (kept.revision) ", saved " (when(kept.at)) } }
}

fn facts(opened: &Opened) -> Markup {
    let book = &opened.book;
    let counts = [
        (book.line.len(), "line"),
        (book.scene.len(), "scene"),
        (book.rig.len(), "rig"),
        (book.hydrant.len(), "hydrant"),
    ];
    let told: Vec<String> = counts
        .iter()
        .filter(|(count, word)| *count > 0 || *word == "line")
        .map(|(count, word)| match count {
            0 => format!("no {word} yet"),
            1 => format!("1 {word}"),
            _ => format!("{count} {word}s"),
        })
        .collect();
    html! {
        p { (told.join(", ")) }
        @if book.about.invented { p { "Invented, for demonstration" } }
    }
}
