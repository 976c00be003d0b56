//! Every sheet that a book can print, by kind.

use super::address as place;
use super::choice::{Asked, Choice};
use super::preview::at;
use super::print::boxed;
use super::standing::{Held, mark, register};
use crate::address;
use crate::fault::Fault;
use crate::reader::Reader;
use crate::shell::{Place, page};
use crate::workbench::{Opened, Workbench};
use axum::extract::{Path, Query, State};
use book::Book;
use maud::{Markup, html};
use paper::Kind;
use std::sync::Arc;

pub(super) async fn shown(
    State(workbench): State<Arc<Workbench>>,
    Path(slug): Path<String>,
    Query(asked): Query<Asked>,
    reader: Reader,
) -> Result<Markup, Fault> {
    let opened = workbench.open(&slug).await?;
    let choice = Choice::of(&asked, &reader, &opened.book)?;
    let content = content(&workbench, &opened, &reader, choice, None).await?;
    Ok(framed(&opened, &reader, &content))
}

pub(super) fn framed(opened: &Opened, reader: &Reader, content: &Markup) -> Markup {
    page("Paper", reader, &Place::of(opened, "Paper"), content)
}

/// The page; `wrong` is an address that cannot be used, and why.
pub(super) async fn content(
    workbench: &Workbench,
    opened: &Arc<Opened>,
    reader: &Reader,
    choice: Choice,
    wrong: Option<(&str, &str)>,
) -> Result<Markup, Fault> {
    let held = register(workbench, opened).await?;
    let due = held.iter().filter(|held| held.due).count();
    Ok(html! {
        h1 { "Paper" }
        p { "Every sheet that this book can print. What is printed from here is entered in the register, \
             which says when it has become wrong." }
        div.actions {
            a.button href=(address::book(&opened.slug, "/issued")) {
                "Register of issued sheets"
                @if due > 0 { ": " (due) " to be reprinted" }
            }
            a.button href="/paper" { "Look up a code" }
        }
        (choice.form())
        (sheets(opened, &held, choice))
        (place::form(opened, reader, wrong))
    })
}

fn sheets(opened: &Opened, held: &[Held], choice: Choice) -> Markup {
    let kinds = Kind::ALL.into_iter();
    let kinds = kinds.map(|kind| (kind, kind.subjects(&opened.book)));
    let kinds: Vec<_> = kinds.filter(|(_, all)| !all.is_empty()).collect();
    if kinds.is_empty() {
        return html! {
            p.quiet { "The book has nothing to print yet. A line or a rig comes first." }
        };
    }
    html! {
        form.kept method="post" action=(address::book(&opened.slug, "/paper")) {
            (choice.hidden())
            input type="hidden" name="base" value=(opened.revision);
            div.two {
                @for (kind, subjects) in &kinds {
                    fieldset.sheets aria-labelledby=(kind.word()) {
                        h2 id=(kind.word()) { (kind.title()) }
                        @if subjects.len() > 1 {
                            label.check { input type="checkbox" name="all" value=(kind.word()); "All " (subjects.len()) }
                        }
                        ul.reaches {
                            @for subject in subjects { (row(opened, held, choice, *kind, subject)) }
                        }
                    }
                }
            }
            div.actions {
                button.first { "Print those ticked and enter them" }
                button name="do" value="everything" { "Print and enter everything" }
            }
            p.hint { "One sheet comes as a PDF, several as a ZIP with a PDF for each. To see one first, open it." }
        }
    }
}

fn row(opened: &Opened, held: &[Held], choice: Choice, kind: Kind, subject: &str) -> Markup {
    let called = called(&opened.book, kind, subject);
    let own = || held.iter().filter(|held| held.is_about(kind, subject));
    let telling = own().find(|held| held.due).or_else(|| own().next());
    html! {
        li.sheet-row {
            label.check {
                input type="checkbox" name="sheet" value=(boxed(kind, subject));
                span.unseen { "Print " (kind.title()) ": " (called) }
            }
            a.reach href=(choice.at(at(&opened.slug, kind, subject, ""))) { (called) }
            @if let Some(held) = telling {
                span.place { (mark(&held.standing)) ", issued " (held.day()) }
            }
        }
    }
}

/// What people call the subject of a sheet.
fn called<'a>(book: &'a Book, kind: Kind, subject: &'a str) -> &'a str {
    let line = of_lines(kind, book).then(|| book.line.get(subject));
    let title = line.flatten().and_then(|line| line.title.as_deref());
    title.unwrap_or(subject)
}

/// Are sheets of this kind about lines?
fn of_lines(kind: Kind, book: &Book) -> bool {
    let subjects = kind.subjects(book);
    subjects
        .iter()
        .all(|subject| book.line.contains_key(*subject))
}

/// What links of a page lead to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum About {
    Line,
    Rig,
    Hose,
    Nozzle,
}

impl About {
    fn has(self, book: &Book, name: &str) -> bool {
        match self {
            About::Line => book.line.contains_key(name),
            About::Rig => book.rig.contains_key(name),
            About::Hose => book.hose(name).is_some(),
            About::Nozzle => book.nozzle(name).is_some(),
        }
    }
}

/// Links to the sheets about a thing of the book; nothing where there are none.
pub(crate) fn links(opened: &Opened, about: About, name: &str) -> Markup {
    let book = &opened.book;
    let kinds = Kind::ALL.into_iter().filter(|kind| {
        let subjects = kind.subjects(book);
        subjects.contains(&name) && subjects.iter().all(|subject| about.has(book, subject))
    });
    let kinds: Vec<Kind> = kinds.collect();
    html! {
        @if !kinds.is_empty() {
            p.inline.no-print {
                "On paper: "
                @for (index, kind) in kinds.iter().enumerate() {
                    @if index > 0 { " · " }
                    a href=(at(&opened.slug, *kind, name, "")) { (kind.title()) }
                }
            }
        }
    }
}
