//! What is around every page.

use crate::offer::offered;
use crate::reader::{Reader, Theme};
use crate::who::Who;
use crate::workbench::Opened;
use hydraulics::units::System;
use maud::{DOCTYPE, Markup, html};
use records::Role;

/// Where a page stands: the book it is of, and which of its parts.
#[derive(Default)]
pub(crate) struct Place<'a> {
    pub book: Option<&'a Opened>,
    /// "Lines", "Scenes", "Comparisons", "Equipment", "Inventory", "Tests", "Paper", "History", "File";
    /// empty for none.
    pub part: &'static str,
}

impl<'a> Place<'a> {
    pub fn of(book: &'a Opened, part: &'static str) -> Self {
        Place {
            book: Some(book),
            part,
        }
    }
}

/// The parts of a book, and where each is.
const PARTS: [(&str, &str); 9] = [
    ("Lines", ""),
    ("Scenes", "/scenes"),
    ("Comparisons", "/comparisons"),
    ("Equipment", "/equipment"),
    ("Inventory", "/inventory"),
    ("Tests", "/tests"),
    ("Paper", "/paper"),
    ("History", "/history"),
    ("File", "/file"),
];

/// A whole page: head, ways to other pages, `content`, cautions.
pub(crate) fn page(title: &str, reader: &Reader, place: &Place<'_>, content: &Markup) -> Markup {
    let system = place.book.map(|opened| reader.system(&opened.book));
    let content = offered(&reader.who, content);
    html! {
        (DOCTYPE)
        html lang="en" data-theme=(reader.theme.word()) {
            (head(title, reader.who != Who::Own))
            body data-book=[place.book.map(|opened| &opened.slug)] data-revision=[place.book.map(|opened| opened.revision)] {
                a.skip href="#content" { "To the content" }
                header {
                    a.home href="/" { (mark()) span { "Handline" } }
                    @if let Some(opened) = place.book {
                        a.department href=(format!("/book/{}", opened.slug)) { (opened.book.name) }
                        nav aria-label="Parts of the book" {
                            @for (name, path) in PARTS {
                                a href=(format!("/book/{}{path}", opened.slug))
                                    aria-current=[(name == place.part).then_some("page")] { (name) }
                            }
                            @if let Some(path) = people(reader, &opened.slug) {
                                a href=(format!("/book/{}{path}", opened.slug))
                                    aria-current=[(place.part == "People").then_some("page")] { "People" }
                            }
                        }
                    }
                    (switches(reader, system))
                    (signed_in(reader))
                }
                main id="content" tabindex="-1" {
                    @if let Some(opened) = place.book { (reads_only(reader, &opened.slug)) }
                    (content)
                }
                footer {
                    p {
                        "For planning, training and testing; never the only basis of a decision at an incident. "
                        a href="/cautions" { "Cautions" }
                        @if reader.who != Who::Nobody {
                            span.no-print { " · " }
                            a href="/paper" { "Code on a sheet" }
                            span.no-print { " · " }
                            a href="/api" { "For programs" }
                        }
                    }
                }
                div #tell role="status" aria-live="polite" {}
            }
        }
    }
}

fn head(title: &str, hidden: bool) -> Markup {
    html! {
        head {
            meta charset="utf-8";
            meta name="viewport" content="width=device-width, initial-scale=1";
            @if hidden { meta name="robots" content="noindex, nofollow"; }
            title { (title) " - Handline" }
            link rel="icon" href="/assets/mark.svg" type="image/svg+xml";
            link rel="stylesheet" href="/assets/handline.css";
            script type="module" src="/assets/handline.js" {}
        }
    }
}

/// A page for whoever has its address: `content`, and no way to anything else.
pub(crate) fn alone(title: &str, reader: &Reader, content: &Markup) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" data-theme=(reader.theme.word()) {
            (head(title, true))
            body {
                main id="content" tabindex="-1" { (content) }
                footer {
                    p { "For planning, training and testing; never the only basis of a decision at an incident. The authority having jurisdiction, the maker's instructions and qualified instructors decide." }
                }
                div #tell role="status" aria-live="polite" {}
            }
        }
    }
}

/// Where people of the department are, for who may see it: its list, or what they did.
fn people(reader: &Reader, slug: &str) -> Option<&'static str> {
    reader.who.person()?;
    match reader.who.is(Role::Keeper, slug) {
        true => Some("/people"),
        false => reader.who.is(Role::Editor, slug).then_some("/trail"),
    }
}

/// Who is signed in, and the way out.
fn signed_in(reader: &Reader) -> Markup {
    html! {
        @match &reader.who {
            Who::Own => {}
            Who::Nobody => a.button href="/sign-in" { "Sign in" },
            Who::Person(person) => form.signed-in method="post" action="/sign-out" {
                a href="/account" { span.unseen { "Your account: " } (person.name) }
                button { "Sign out" }
            }
        }
    }
}

/// Why there is nothing to change on the pages of who reads only.
fn reads_only(reader: &Reader, slug: &str) -> Markup {
    html! {
        @if reader.who.is(Role::Reader, slug) && !reader.who.is(Role::Editor, slug) {
            p.quiet.no-print {
                @match reader.who.is(Role::Tester, slug) {
                    true => "You read this book and take readings.",
                    false => "You read this book.",
                }
                " To change it takes an editor; its keeper gives roles."
            }
        }
    }
}

/// Units and theme: plain forms, so that they work without a script.
fn switches(reader: &Reader, system: Option<System>) -> Markup {
    let units = [("us", "US", System::Us), ("si", "SI", System::Si)];
    let themes = [
        (Theme::Light, "Day"),
        (Theme::Night, "Night"),
        (Theme::Device, "As device"),
    ];
    html! {
        form.switches method="post" action="/settings" {
            input type="hidden" name="back" value=(reader.here);
            @if let Some(system) = system {
                fieldset.together {
                    legend { "Units" }
                    @for (word, label, is) in units {
                        button name="units" value=(word) aria-pressed=(if is == system { "true" } else { "false" }) { (label) }
                    }
                }
            }
            fieldset.together {
                legend { "Light" }
                @for (theme, label) in themes {
                    button name="theme" value=(theme.word()) aria-pressed=(if theme == reader.theme { "true" } else { "false" }) { (label) }
                }
            }
        }
    }
}

/// The workbench's own mark: a stream leaving a tip.
fn mark() -> Markup {
    html! {
        svg.mark viewBox="0 0 32 32" width="32" height="32" aria-hidden="true" focusable="false" {
            path d="M3 25h8l5-4" {}
            path d="M16 21C20 14 25 11 29 11" {}
            path d="M17 23c4-5 8-7 12-7" {}
        }
    }
}
