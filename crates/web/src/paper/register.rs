//! The register of issued sheets: what is out there, and whether it still holds.

use super::preview::at;
use super::standing::{Held, mark, named, register};
use super::withdraw;
use crate::address;
use crate::books::your_name;
use crate::fault::Fault;
use crate::reader::Reader;
use crate::shell::{Place, page};
use crate::workbench::{Opened, Workbench};
use axum::extract::{Path, Query, State};
use axum::response::Redirect;
use maud::{Markup, html};
use paper::Kind;
use records::Standing;
use serde::Deserialize;
use std::sync::Arc;

/// Sheets on a page.
const PAGE: usize = 100;

/// The standings that can be looked for.
const STANDINGS: [&str; 4] = ["to reprint", "current", "superseded", "withdrawn"];

/// What is looked for.
#[derive(Deserialize, Default)]
pub(super) struct Search {
    kind: Option<String>,
    standing: Option<String>,
    find: Option<String>,
    told: Option<String>,
    page: Option<usize>,
}

impl Search {
    fn kind(&self) -> &str {
        self.kind.as_deref().unwrap_or("")
    }

    fn standing(&self) -> &str {
        self.standing.as_deref().unwrap_or("")
    }

    fn find(&self) -> &str {
        self.find.as_deref().unwrap_or("").trim()
    }

    fn is_any(&self) -> bool {
        self.kind().is_empty() && self.standing().is_empty() && self.find().is_empty()
    }

    /// The address of the same search, at `page` of it.
    fn at(&self, own: &str, page: usize) -> String {
        let number = page.to_string();
        let all = [
            ("find", self.find()),
            ("kind", self.kind()),
            ("standing", self.standing()),
            ("page", if page > 1 { &number } else { "" }),
        ];
        let asked = all.into_iter().filter(|(_, value)| !value.is_empty());
        address::asked(own.into(), asked)
    }

    fn has(&self, held: &Held) -> bool {
        let standing = match self.standing() {
            "" => true,
            "to reprint" => held.due,
            word => held.standing.word() == word,
        };
        let kind = self.kind().is_empty() || held.issue.kind == self.kind();
        let said = [
            &held.title(),
            &held.issue.subject,
            &held.issue.code,
            &held.issue.who,
        ];
        let said = said.map(String::as_str).join(" ").to_lowercase();
        let mut words = self.find().split_whitespace();
        standing && kind && words.all(|word| said.contains(&word.to_lowercase()))
    }
}

pub(super) async fn shown(
    State(workbench): State<Arc<Workbench>>,
    Path(slug): Path<String>,
    Query(search): Query<Search>,
    reader: Reader,
) -> Result<Markup, Fault> {
    let opened = workbench.open(&slug).await?;
    let held = register(&workbench, &opened).await?;
    let list = List {
        opened: &opened,
        reader: &reader,
        held: &held,
        search: &search,
        wrong: None,
    };
    Ok(list.page())
}

/// Opened afresh, the address of a form is the register.
pub(super) async fn back(Path((slug, _)): Path<(String, String)>) -> Redirect {
    Redirect::to(&address::book(&slug, "/issued"))
}

/// Where a sheet stands in the register.
pub(super) fn place(slug: &str, held: &Held) -> String {
    let code = &held.issue.code;
    address::book(
        slug,
        &format!("/issued?find={code}#sheet-{}", held.issue.id),
    )
}

/// The page.
pub(super) struct List<'a> {
    pub opened: &'a Opened,
    pub reader: &'a Reader,
    pub held: &'a [Held],
    pub search: &'a Search,
    /// A sheet that was not withdrawn, and why.
    pub wrong: Option<(i64, &'a str)>,
}

impl List<'_> {
    pub fn page(&self) -> Markup {
        let place = Place::of(self.opened, "Paper");
        page(
            "Register of issued sheets",
            self.reader,
            &place,
            &self.content(),
        )
    }

    fn content(&self) -> Markup {
        let found: Vec<&Held> = self
            .held
            .iter()
            .filter(|held| self.search.has(held))
            .collect();
        html! {
            h1 { "Register of issued sheets" }
            @if self.search.told.as_deref() == Some("withdrawn") { p.told role="status" { "Withdrawn. It stays in the register." } }
            @if self.held.is_empty() {
                p.quiet { "Nothing has been issued from this book yet." }
                p.actions { a.button.first href=(address::book(&self.opened.slug, "/paper")) { "Print sheets" } }
            } @else {
                p { (self.counts()) }
                (self.reprint())
                (self.filter())
                @if found.is_empty() {
                    p role="status" { "No issued sheet is like that." }
                }
                (self.listed(&found))
            }
            (your_name(self.reader))
        }
    }

    fn listed(&self, found: &[&Held]) -> Markup {
        let pages = found.len().div_ceil(PAGE).max(1);
        let number = self.search.page.unwrap_or(1).clamp(1, pages);
        let rows = found.iter().skip((number - 1) * PAGE).take(PAGE);
        let own = address::book(&self.opened.slug, "/issued");
        html! {
            ol.issues start=((number - 1) * PAGE + 1) {
                @for held in rows {
                    li id=(format!("sheet-{}", held.issue.id)) class=(held.standing.word()) { (self.one(held)) }
                }
            }
            @if pages > 1 {
                nav.pages aria-label="Pages of the register" {
                    @if number > 1 { a.button rel="prev" href=(self.search.at(&own, number - 1)) { "The " (PAGE) " before" } }
                    span { "Page " (number) " of " (pages) }
                    @if number < pages { a.button rel="next" href=(self.search.at(&own, number + 1)) { "The next " (PAGE) } }
                }
            }
        }
    }

    fn counts(&self) -> String {
        let count = |word: &str| {
            self.held
                .iter()
                .filter(|h| h.standing.word() == word)
                .count()
        };
        let counts =
            ["current", "superseded", "withdrawn"].map(|word| format!("{} {word}", count(word)));
        let all = match self.held.len() {
            1 => "1 issued sheet".to_string(),
            many => format!("{many} issued sheets"),
        };
        format!("{all}: {}.", counts.join(", "))
    }

    fn reprint(&self) -> Markup {
        let due = self.held.iter().filter(|held| held.due).count();
        html! {
            @if due > 0 {
                form.actions method="post" action=(address::book(&self.opened.slug, "/issued/reprint")) {
                    input type="hidden" name="base" value=(self.opened.revision);
                    button.first {
                        @if due == 1 { "Reprint the superseded sheet" } @else { "Reprint all " (due) " superseded sheets" }
                    }
                    span.hint { "Each on the paper and in the units it had; the new prints are entered." }
                }
            }
        }
    }

    fn filter(&self) -> Markup {
        let search = self.search;
        let own = address::book(&self.opened.slug, "/issued");
        html! {
            form.form.no-print method="get" action=(own) role="search" {
                div.fields {
                    div {
                        label for="find" { "Find" }
                        input type="search" id="find" name="find" value=(search.find()) aria-describedby="find-hint";
                        p.hint id="find-hint" { "A line, a rig, a code, a name." }
                    }
                    div {
                        label for="kind" { "Kind" }
                        select id="kind" name="kind" {
                            option value="" { "All" }
                            @for kind in Kind::ALL.into_iter().chain(Kind::OF_A_TEST).chain(Kind::OF_A_COMPARISON) {
                                option value=(kind.word()) selected[kind.word() == search.kind()] { (kind.title()) }
                            }
                        }
                    }
                    div {
                        label for="standing" { "Standing" }
                        select id="standing" name="standing" {
                            option value="" { "All" }
                            @for word in STANDINGS {
                                option value=(word) selected[word == search.standing()] { (crate::tables::capital(word)) }
                            }
                        }
                    }
                }
                div.actions {
                    button { "Find" }
                    @if !search.is_any() { a.button href=(own) { "Show all" } }
                }
            }
        }
    }

    fn one(&self, held: &Held) -> Markup {
        let issue = &held.issue;
        html! {
            h2 { (held.title()) }
            p { (mark(&held.standing)) }
            (held.says())
            p.quiet {
                "Issued " (held.day()) " by " (named(&issue.who)) " from revision " (issue.revision) ", "
                (held.choice_words()) ", code "
                a.reach href=(format!("/paper/{}", issue.code)) { (issue.code) }
            }
            @if held.standing != Standing::Withdrawn {
                div.actions {
                    @let can = held.can_be_made();
                    @if let (Some(kind), Some(choice), true) = (held.kind(), held.choice(), can) {
                        a.button href=(choice.at(at(&self.opened.slug, kind, &issue.subject, ""))) { "See it as it would be printed now" }
                    }
                }
                (withdraw::form(&self.opened.slug, held, self.wrong))
            }
        }
    }
}
