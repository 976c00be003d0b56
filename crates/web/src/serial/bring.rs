//! A list that the department has, brought in: looked at first, entered when that is
//! confirmed.

use super::list::pieces;
use crate::address;
use crate::carry::{LARGEST, file, form, to_hex};
use crate::fault::Fault;
use crate::fields::{Row as Field, field, plain};
use crate::form::Parcel;
use crate::reader::Reader;
use crate::shell::{Place, page};
use crate::tables::{capital, wide};
use crate::told::problem_rows;
use crate::when::{day, plain_day};
use crate::workbench::{Opened, Workbench, now};
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use maud::{Markup, html};
use records::lists::{self, DateOrder, Field as Said, List, Listed, Matching, Ways};
use records::{By, Gear, RecordsError};
use std::sync::Arc;
use study::intake::{RowProblem, Table};

/// Rows that are shown.
const SHOWN: usize = 30;

pub(super) async fn asked(
    State(workbench): State<Arc<Workbench>>,
    Path(slug): Path<String>,
    reader: Reader,
) -> Result<Markup, Fault> {
    let opened = workbench.open(&slug).await?;
    Ok(start(&opened, &reader, None))
}

fn own(opened: &Opened) -> String {
    address::book(&opened.slug, "/inventory/bring")
}

fn start(opened: &Opened, reader: &Reader, wrong: Option<&str>) -> Markup {
    let content = html! {
        h1 { "Bring a list in" }
        @if let Some(wrong) = wrong { p.wrong role="alert" { (wrong) "." } p { "Nothing was entered." } }
        p { "A CSV or XLSX file with a row for each piece, under a head that names its columns: the number that stands on it, its kind, in service since, last tested, result." }
        (form(&opened.slug, "/inventory"))
    };
    page(
        "Bring a list in",
        reader,
        &Place::of(opened, "Inventory"),
        &content,
    )
}

pub(super) async fn sent(
    State(workbench): State<Arc<Workbench>>,
    Path(slug): Path<String>,
    reader: Reader,
    parcel: Parcel,
) -> Result<Response, Fault> {
    let opened = workbench.open(&slug).await?;
    let (bytes, name) = file(&parcel);
    let refused = |wrong: &str| {
        let page = start(&opened, &reader, Some(wrong));
        Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response())
    };
    if bytes.len() > LARGEST {
        let count = bytes.len();
        return refused(&format!(
            "{name} has {count} bytes; at most {LARGEST} are read: split it"
        ));
    }
    let table = match lists::read(&bytes, &name) {
        Ok(table) => table,
        Err(problem) => return refused(&problem.to_string()),
    };
    let (matching, ways) = (matching(&table, &parcel), ways(&parcel));
    let have = workbench.records.equipment(&slug).await?;
    let list = lists::list(&table, &matching, &ways, &opened.book, &have);
    let mut clash = None;
    if parcel.text("do") == "enter" && !list.rows.is_empty() {
        let by = By::new(&reader.name, now());
        match workbench.records.bring_in(&slug, &list.rows, &by).await {
            Ok(()) => {
                let page = address::book(&slug, "/inventory");
                let told = format!("in-{}", list.rows.len());
                return Ok(
                    Redirect::to(&address::asked(page, [("told", told.as_str())])).into_response(),
                );
            }
            // Somebody entered one of them since the list was shown.
            Err(error @ RecordsError::Serial(_)) => clash = Some(error.to_string()),
            Err(other) => return Err(other.into()),
        }
    }
    let look = Look {
        opened: &opened,
        reader: &reader,
        table: &table,
        matching: &matching,
        ways: &ways,
        list: &list,
        bytes: &bytes,
        clash: clash.as_deref(),
    };
    let status = match look.clash {
        Some(_) => StatusCode::CONFLICT,
        None => StatusCode::OK,
    };
    Ok((status, look.page()).into_response())
}

/// What the page says that each column is, else what its head says.
fn matching(table: &Table, parcel: &Parcel) -> Matching {
    let mut matching = Matching::of(table);
    if parcel.text("columns").is_empty() {
        return matching;
    }
    for index in 0..table.head.len() {
        matching.set(
            index,
            Said::called(&parcel.text(&format!("column-{index}"))),
        );
    }
    matching
}

fn ways(parcel: &Parcel) -> Ways {
    let order = parcel.text("order");
    let order = DateOrder::ALL.into_iter().find(|one| one.key() == order);
    Ways {
        order: order.unwrap_or_default(),
        gear: Gear::called(&parcel.text("gear")),
        since: Some(parcel.text("since")).filter(|since| !since.is_empty()),
        passed: !parcel.text("passed").is_empty(),
        today: day(now()),
    }
}

struct Look<'a> {
    opened: &'a Opened,
    reader: &'a Reader,
    table: &'a Table,
    matching: &'a Matching,
    ways: &'a Ways,
    list: &'a List,
    bytes: &'a [u8],
    clash: Option<&'a str>,
}

impl Look<'_> {
    fn page(&self) -> Markup {
        let (list, count) = (self.list, self.list.rows.len());
        let content = html! {
            h1 { "Look at it first" }
            @if let Some(clash) = self.clash { p.wrong role="alert" { (clash) ". Nothing was entered; read the list again." } }
            p { b { (self.table.file) } ": " (self.table.rows.len()) " rows, " (pieces(count)) " can be entered. Nothing is entered yet." }
            @if count > 0 {
                h2 { "What can be entered" }
                (wide("What can be entered", &rows(&list.rows)))
                @if count > SHOWN { p { "and " (count - SHOWN) " more." } }
            }
            @if !list.problems.is_empty() {
                h2 { "What cannot" }
                (problems(&list.problems))
            }
            form method="post" enctype="multipart/form-data" action=(own(self.opened)) {
                textarea.carried name="carried" hidden { (to_hex(self.bytes)) }
                input type="hidden" name="name" value=(self.table.file);
                input type="hidden" name="columns" value=(self.table.head.len());
                h2 { "What each column is" }
                (self.columns())
                h2 { "What no column says" }
                (self.rest())
                div.actions {
                    @if count > 0 { button.first name="do" value="enter" { "Enter " (pieces(count)) } }
                    button name="do" value="look" { "Read it again so" }
                    a.button href=(address::book(&self.opened.slug, "/inventory")) { "Leave it" }
                }
            }
        };
        page(
            "Look at it first",
            self.reader,
            &Place::of(self.opened, "Inventory"),
            &content,
        )
    }

    fn columns(&self) -> Markup {
        html! {
            div.fields.columns {
                @for index in 0..self.table.head.len() {
                    @let taken = self.matching.columns.get(index).copied().flatten();
                    div {
                        label for=(format!("column-{index}")) { (self.table.column(index)) }
                        select id=(format!("column-{index}")) name=(format!("column-{index}")) {
                            option value="" { "not used" }
                            @for one in Said::ALL { option value=(one.key()) selected[taken == Some(one)] { (one.head()) } }
                        }
                    }
                }
            }
        }
    }

    fn rest(&self) -> Markup {
        let gears = Gear::ALL.map(|gear| (gear.word(), gear.word()));
        let mut kinds = plain(&[("", "as its column says")]);
        kinds.extend(plain(&gears));
        let orders = plain(&[
            ("", "years first, or clear as they are"),
            ("month", "month first: 5/11/2026 is 11 May"),
            ("day", "day first: 11.5.2026 is 11 May"),
        ]);
        let since = self.ways.since.as_deref().unwrap_or("");
        let passed = if self.ways.passed { "yes" } else { "" };
        let show = |row: Field| field(&row.id(), &row, &row.value, None, false);
        html! {
            div.fields.columns {
                (show(Field::choice("gear", "All pieces are", self.ways.gear.map_or("", Gear::word), kinds)))
                (show(Field::choice("order", "Dates are written", self.ways.order.key(), orders)))
                (show(Field::date("since", "In service since, where no row says it", since)))
                (show(Field::check("passed", "A test without a result was passed", passed)))
            }
        }
    }
}

fn rows(all: &[Listed]) -> Markup {
    html! {
        thead { tr { @for head in ["Row", "Number", "Kind", "What it is", "In service since", "Latest test", "Retired"] { th scope="col" { (head) } } } }
        tbody {
            @for one in all.iter().take(SHOWN) {
                tr {
                    th scope="row" { (one.row) }
                    td { (one.new.serial) }
                    td { (capital(one.new.gear.word())) }
                    td { (one.new.item) @if !one.new.title.is_empty() { " " (one.new.title) } }
                    td { (plain_day(&one.new.since)) }
                    td { @if let Some(tested) = &one.tested { (super::row::outcome(tested.passed)) ", " (plain_day(&tested.date)) } }
                    td { @if let Some((date, why)) = &one.retired { (plain_day(date)) @if !why.is_empty() { ": " (why) } } }
                }
            }
        }
    }
}

fn problems(all: &[RowProblem]) -> Markup {
    problem_rows(all)
}
