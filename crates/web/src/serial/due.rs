//! What is due for a test, by day.

use super::row::{Row, mark};
use crate::address;
use crate::fault::Fault;
use crate::reader::Reader;
use crate::shell::{Place, page};
use crate::tables::wide;
use crate::when::{day, day_words};
use crate::workbench::{Opened, Workbench, now};
use axum::extract::{Path, Query, State};
use jiff::ToSpan;
use jiff::civil::Date;
use maud::{Markup, html};
use records::RecordsError;
use serde::Deserialize;
use std::sync::Arc;

/// Days ahead that can be chosen.
const AHEAD: [(i32, &str); 4] = [
    (0, "today"),
    (30, "the next 30 days"),
    (90, "the next 90 days"),
    (365, "the next year"),
];

/// How far ahead is looked where nothing is said.
const USUAL: i32 = 90;

/// Rows of a page; the calendar and the tables have them all.
const MOST: usize = 200;

#[derive(Deserialize)]
pub(super) struct Ahead {
    days: Option<i32>,
}

impl Ahead {
    fn days(&self) -> i32 {
        self.days.unwrap_or(USUAL).clamp(0, 3660)
    }
}

pub(super) async fn shown(
    State(workbench): State<Arc<Workbench>>,
    Path(slug): Path<String>,
    Query(ahead): Query<Ahead>,
    reader: Reader,
) -> Result<Markup, Fault> {
    let opened = workbench.open(&slug).await?;
    let today = day(now());
    let by = later(&today, ahead.days())?;
    let due = workbench.records.due(&slug, &by).await?.into_iter();
    let rows: Result<Vec<Row>, Fault> = due.map(|(_, piece)| Row::new(piece, &today)).collect();
    let content = content(&opened, &rows?, ahead.days());
    let place = Place::of(&opened, "Inventory");
    Ok(page("What is due", &reader, &place, &content))
}

/// The day `days` after `today`.
pub(super) fn later(today: &str, days: i32) -> Result<String, Fault> {
    let no_day = || Fault::from(RecordsError::Day(today.into()));
    let today: Date = today.parse().map_err(|_| no_day())?;
    let by = today.checked_add(days.days()).map_err(|_| no_day())?;
    Ok(by.to_string())
}

fn content(opened: &Opened, rows: &[Row], days: i32) -> Markup {
    let to = |rest: &str| address::book(&opened.slug, &format!("/inventory{rest}"));
    let overdue = rows.iter().filter(|row| row.overdue).count();
    html! {
        h1 { "What is due" }
        form.form.no-print method="get" action=(to("/due")) {
            div.beside {
                label for="days" { "Due within" }
                select id="days" name="days" {
                    @for (count, words) in AHEAD { option value=(count) selected[count == days] { (words) } }
                }
                button { "Show" }
            }
        }
        @if rows.is_empty() {
            p role="status" { "Nothing is due by then, and nothing has failed." }
        } @else {
            p role="status" {
                (rows.len()) @if rows.len() == 1 { " piece is due or failed" } @else { " pieces are due or failed" }
                @if overdue > 0 { ", " (overdue) " of them overdue" }
                "."
            }
            (wide("Due for a test, by day", &table(&opened.slug, rows)))
            @if rows.len() > MOST { p { "and " (rows.len() - MOST) " more after these: the tables and the calendar have them all." } }
        }
        p.actions.no-print {
            a.button href=(to("/due.ics")) { "Calendar file, an entry a day" }
            a.button href=(to("/due.ics?each=piece")) { "Calendar file, an entry a piece" }
            a.button href=(to("")) { "All of the inventory" }
        }
    }
}

fn table(slug: &str, rows: &[Row]) -> Markup {
    html! {
        thead { tr {
            @for head in ["Due on", "Number", "What it is", "State"] { th scope="col" { (head) } }
        } }
        tbody {
            @for row in rows.iter().take(MOST) {
                tr {
                    td { (day_words(&row.due.to_string())) @if row.overdue { " " b { "overdue" } } }
                    th scope="row" { a.reach href=(row.address(slug)) { (row.piece.new.serial) } }
                    td { (row.name()) }
                    td { (mark(row.state)) }
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_are_counted_over_the_end_of_a_year() {
        assert_eq!(later("2026-12-15", 30).unwrap(), "2027-01-14");
        assert!(later("soon", 30).is_err());
    }
}
