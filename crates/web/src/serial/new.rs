//! A piece of equipment entered by form.

use crate::address;
use crate::fault::Fault;
use crate::fields::{Groups, Row, field, plain};
use crate::form::{Filled, Pairs, Refused, Sent};
use crate::reader::Reader;
use crate::shell::{Place, page};
use crate::when::day;
use crate::workbench::{Opened, Workbench, now};
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use book::Book;
use maud::{Markup, html};
use records::{By, Gear, NewEquipment, RecordsError};
use std::sync::Arc;

/// Months between tests where nothing else is written: hose and nozzles are tested each
/// year (from memory, of the standards for hose and nozzles in service).
pub(super) const YEAR: &str = "12";

pub(super) async fn asked(
    State(workbench): State<Arc<Workbench>>,
    Path(slug): Path<String>,
    reader: Reader,
) -> Result<Markup, Fault> {
    let opened = workbench.open(&slug).await?;
    let usual = [
        ("gear", Gear::Hose.word().to_string()),
        ("since", day(now())),
        ("months", YEAR.to_string()),
    ];
    let usual = usual.map(|(key, value)| (key.to_string(), value));
    Ok(form(&opened, &reader, &Sent(usual.into()), &[]))
}

pub(super) async fn made(
    State(workbench): State<Arc<Workbench>>,
    Path(slug): Path<String>,
    reader: Reader,
    Filled(pairs): Filled<Pairs>,
) -> Result<Response, Fault> {
    let sent = Sent(pairs);
    let opened = workbench.open(&slug).await?;
    let made = match piece(&sent) {
        Ok(piece) => enter(&workbench, &slug, &piece, &reader).await?,
        Err(wrong) => Err(wrong),
    };
    match made {
        Ok(page) => Ok(Redirect::to(&page).into_response()),
        Err(wrong) => {
            let page = form(&opened, &reader, &sent, &wrong);
            Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response())
        }
    }
}

/// Enters it; where the records refuse, says why beside the field.
async fn enter(
    workbench: &Workbench,
    slug: &str,
    piece: &NewEquipment,
    reader: &Reader,
) -> Result<Result<String, Refused>, Fault> {
    let by = By::new(&reader.name, now());
    let all = std::slice::from_ref(piece);
    let beside = |key: &str, error: RecordsError| vec![(key.to_string(), error.to_string())];
    Ok(
        match workbench.records.add_equipment(slug, all, &by).await {
            Ok(()) => Ok(address::asked(
                address::piece(slug, &piece.serial),
                [("told", "new")],
            )),
            Err(error @ (RecordsError::Serial(_) | RecordsError::Unnamed(_))) => {
                Err(beside("serial", error))
            }
            Err(error @ RecordsError::Day(_)) => Err(beside("since", error)),
            Err(other) => return Err(other.into()),
        },
    )
}

/// What the form says.
fn piece(sent: &Sent) -> Result<NewEquipment, Refused> {
    let mut wrong = Vec::new();
    let mut say = |key: &str, text: String| wrong.push((key.to_string(), text));
    let serial = sent.own("serial");
    match serial.chars().count() {
        0 => say("serial", "Write the number that stands on it.".into()),
        1..=60 => {}
        long => say(
            "serial",
            format!("It has {long} characters; write at most 60."),
        ),
    }
    let gear = Gear::called(sent.get("gear"));
    if gear.is_none() {
        say("gear", "Choose hose, nozzle or gauge.".into());
    }
    let written = sent.own("months");
    let months: Option<u16> = written.parse().ok().filter(|m| (1..=240).contains(m));
    if months.is_none() {
        let text =
            format!("\"{written}\" is no number of months from 1 to 240: write 12 for each year.");
        say("months", text);
    }
    match (gear, months) {
        (Some(gear), Some(months)) if wrong.is_empty() => Ok(NewEquipment {
            serial,
            gear,
            item: sent.own("item"),
            title: sent.own("title"),
            since: sent.own("since"),
            months,
        }),
        _ => Err(wrong),
    }
}

fn rows(book: &Book, sent: &Sent) -> Vec<Row> {
    let gears = Gear::ALL.map(|gear| (gear.word(), gear.word()));
    let own = |key: &str| sent.own(key);
    vec![
        Row::text("serial", "Number on it", &own("serial")),
        Row::choice("gear", "Kind", &own("gear"), plain(&gears)),
        Row::choice("item", "What it is in the book", &own("item"), items(book)),
        Row::text("title", "What people call it", &own("title")),
        Row::date("since", "In service since", &own("since")),
        Row::text("months", "Months between tests", &own("months")),
    ]
}

/// The department's own hoses, nozzles and gauges.
fn items(book: &Book) -> Groups {
    let pair = |name: &String| (name.clone(), name.clone());
    let none = (String::new(), "None of these".to_string());
    vec![
        ("", vec![none]),
        ("Hose", book.hose.keys().map(pair).collect()),
        ("Nozzles", book.nozzle.keys().map(pair).collect()),
        ("Gauges", book.gauge.keys().map(pair).collect()),
    ]
}

fn form(opened: &Opened, reader: &Reader, sent: &Sent, wrong: &[(String, String)]) -> Markup {
    let message = |key: &str| {
        wrong
            .iter()
            .find(|(k, _)| k == key)
            .map(|(_, m)| m.as_str())
    };
    let own = address::book(&opened.slug, "/inventory/new");
    let content = html! {
        h1 { "Enter a piece" }
        @if !wrong.is_empty() { p.wrong role="alert" { "Nothing was saved: mend what is marked." } }
        form.form method="post" action=(own) {
            div.fields {
                @for (index, row) in rows(&opened.book, sent).iter().enumerate() {
                    (field(&row.id(), row, &row.value, message(row.key), index == 0))
                }
            }
            p.hint { "Hose and nozzles are tested each year, gauges as their maker says (from memory; local rules decide)." }
            div.actions {
                button.first { "Enter it" }
                a.button href=(address::book(&opened.slug, "/inventory")) { "Leave it" }
            }
        }
    };
    page(
        "Enter a piece",
        reader,
        &Place::of(opened, "Inventory"),
        &content,
    )
}
