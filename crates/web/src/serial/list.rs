//! All equipment of a department by its numbers, found by words, kind and state.

use super::row::{Row, STATES, mark};
use crate::address;
use crate::books::your_name;
use crate::fault::Fault;
use crate::reader::Reader;
use crate::shell::{Place, page};
use crate::tables::{capital, wide};
use crate::when::day;
use crate::workbench::{Opened, Workbench, now};
use axum::extract::{Path, Query, State as Shared};
use maud::{Markup, html};
use records::{Gear, State};
use serde::Deserialize;
use std::sync::Arc;

/// Pieces on a page.
const PAGE: usize = 50;

/// What is looked for.
#[derive(Deserialize, Default)]
pub(super) struct Search {
    #[serde(default)]
    find: String,
    #[serde(default)]
    gear: String,
    #[serde(default)]
    state: String,
    page: Option<usize>,
    told: Option<String>,
}

impl Search {
    /// Does it take this piece?
    fn takes(&self, row: &Row, words: &[String]) -> bool {
        let gear = Gear::called(&self.gear);
        let state = called(&self.state);
        gear.is_none_or(|gear| gear == row.piece.new.gear)
            && state.is_none_or(|state| state == row.state)
            && row.has(words)
    }

    /// Those of `rows` that it takes.
    pub fn found<'a>(&self, rows: &'a [Row]) -> Vec<&'a Row> {
        let words: Vec<String> = self
            .find
            .split_whitespace()
            .map(str::to_lowercase)
            .collect();
        rows.iter().filter(|row| self.takes(row, &words)).collect()
    }

    /// Nothing in particular.
    fn is_any(&self) -> bool {
        self.find.trim().is_empty() && self.gear.is_empty() && self.state.is_empty()
    }

    /// The address of the same search, at `page` of it.
    fn at(&self, path: &str, page: usize) -> String {
        let number = page.to_string();
        let all = [
            ("find", self.find.as_str()),
            ("gear", &self.gear),
            ("state", &self.state),
            ("page", if page > 1 { &number } else { "" }),
        ];
        let asked = all.into_iter().filter(|(_, value)| !value.is_empty());
        address::asked(path.into(), asked)
    }
}

/// The state that `word` means.
fn called(word: &str) -> Option<State> {
    STATES.into_iter().find(|state| state.word() == word)
}

/// A department's equipment as it stands today.
pub(super) async fn rows(workbench: &Workbench, slug: &str) -> Result<Vec<Row>, Fault> {
    let today = day(now());
    let all = workbench.records.equipment(slug).await?.into_iter();
    all.map(|piece| Row::new(piece, &today)).collect()
}

pub(super) async fn shown(
    Shared(workbench): Shared<Arc<Workbench>>,
    Path(slug): Path<String>,
    Query(search): Query<Search>,
    reader: Reader,
) -> Result<Markup, Fault> {
    let opened = workbench.open(&slug).await?;
    let rows = rows(&workbench, &slug).await?;
    let content = content(&opened, &reader, &rows, &search);
    let place = Place::of(&opened, "Inventory");
    Ok(page("Inventory", &reader, &place, &content))
}

fn content(opened: &Opened, reader: &Reader, rows: &[Row], search: &Search) -> Markup {
    let to = |rest: &str| address::book(&opened.slug, &format!("/inventory{rest}"));
    html! {
        h1 { "Inventory" }
        (told(search.told.as_deref()))
        p { "Hose, nozzles and gauges by the number that stands on each, with their tests." }
        div.actions {
            a.button.first href=(to("/new")) { "Enter a piece" }
            a.button href=(to("/bring")) { "Bring a list in" }
            a.button href=(to("/due")) { "What is due" }
        }
        @if rows.is_empty() {
            p.quiet { "Nothing is entered yet. Enter a piece, or bring in the list that the department has." }
        } @else {
            (counts(rows, search, &to("")))
            (filter(search, &to("")))
            (listed(opened, &search.found(rows), search))
            p.actions.no-print {
                a.button href=(search.at(&to("/tables/csv"), 1)) { "This list, CSV" }
                a.button href=(search.at(&to("/tables/xlsx"), 1)) { "This list, XLSX" }
            }
        }
        (your_name(reader))
    }
}

fn told(code: Option<&str>) -> Markup {
    let count = code.and_then(|code| code.strip_prefix("in-")?.parse::<usize>().ok());
    html! {
        @if let Some(count) = count {
            p.told role="status" { (count) @if count == 1 { " piece was" } @else { " pieces were" } " entered." }
        }
    }
}

/// How many stand how; each leads to those.
fn counts(rows: &[Row], search: &Search, own: &str) -> Markup {
    let count = |state: State| rows.iter().filter(|row| row.state == state).count();
    let all = STATES.map(|state| (state, count(state)));
    html! {
        ul.states aria-label="How many stand how" {
            @for (state, count) in all.into_iter().filter(|(_, count)| *count > 0) {
                li {
                    a.button href=(address::asked(own.into(), [("state", state.word())]))
                        aria-current=[(search.state == state.word()).then_some("true")] { (mark(state)) " " (count) }
                }
            }
        }
    }
}

fn filter(search: &Search, own: &str) -> Markup {
    html! {
        form.form.no-print method="get" action=(own) role="search" {
            div.fields {
                div {
                    label for="find" { "Find" }
                    input type="search" id="find" name="find" value=(search.find) aria-describedby="find-hint";
                    p.hint id="find-hint" { "A number, a name, a word of a remark." }
                }
                div {
                    label for="gear" { "Kind" }
                    select id="gear" name="gear" {
                        option value="" { "All" }
                        @for gear in Gear::ALL {
                            option value=(gear.word()) selected[gear.word() == search.gear] { (capital(gear.word())) }
                        }
                    }
                }
                div {
                    label for="state" { "State" }
                    select id="state" name="state" {
                        option value="" { "All" }
                        @for state in STATES {
                            option value=(state.word()) selected[state.word() == search.state] { (capital(state.word())) }
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

fn listed(opened: &Opened, found: &[&Row], search: &Search) -> Markup {
    let pages = found.len().div_ceil(PAGE).max(1);
    let number = search.page.unwrap_or(1).clamp(1, pages);
    let rows: Vec<&&Row> = found.iter().skip((number - 1) * PAGE).take(PAGE).collect();
    let own = address::book(&opened.slug, "/inventory");
    let first = (number - 1) * PAGE + 1;
    html! {
        @if found.is_empty() {
            p role="status" { "No piece is like that." }
        } @else {
            p role="status" {
                @if pages == 1 { (pieces(found.len())) "." }
                @else { (first) " to " (first + rows.len() - 1) " of " (pieces(found.len())) "." }
            }
            (wide("Equipment by serial number", &table(&opened.slug, &rows)))
            @if pages > 1 {
                nav.pages aria-label="Pages of the list" {
                    @if number > 1 { a.button rel="prev" href=(search.at(&own, number - 1)) { "The " (PAGE) " before" } }
                    span { "Page " (number) " of " (pages) }
                    @if number < pages { a.button rel="next" href=(search.at(&own, number + 1)) { "The next " (PAGE) } }
                }
            }
        }
    }
}

pub(super) fn pieces(count: usize) -> String {
    match count {
        1 => "1 piece".into(),
        many => format!("{many} pieces"),
    }
}

fn table(slug: &str, rows: &[&&Row]) -> Markup {
    html! {
        thead { tr {
            @for head in ["Number", "What it is", "State", "Next test due", "Latest test"] { th scope="col" { (head) } }
        } }
        tbody {
            @for row in rows {
                tr {
                    th scope="row" { a.reach href=(row.address(slug)) { (row.piece.new.serial) } }
                    td { (row.name()) @if !row.piece.new.title.is_empty() || !row.piece.new.item.is_empty() { span.place { " " (row.piece.new.gear.word()) } } }
                    td { (mark(row.state)) }
                    td { (row.next()) }
                    td { (row.last()) }
                }
            }
        }
    }
}
