//! One piece of equipment: how it stands, its tests, and the forms for the next one and
//! for retiring it.

use super::row::{Row, mark, outcome};
use crate::address;
use crate::books::your_name;
use crate::fault::Fault;
use crate::fields::{self, field, plain};
use crate::form::{Filled, Pairs, Refused, Sent, whole};
use crate::reader::Reader;
use crate::shell::{Place, page};
use crate::tables::wide;
use crate::when::{day, day_words, when};
use crate::workbench::{Opened, Workbench, now};
use axum::extract::{Path, Query, State as Shared};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use book::Stated;
use hydraulics::units::{Kind, Pressure, System};
use maud::{Markup, html};
use records::{By, Gear, RecordsError, State, Trial};
use serde::Deserialize;
use std::sync::Arc;

#[derive(Deserialize, Default)]
pub(super) struct Asked {
    told: Option<String>,
}

/// What was typed into one of its forms, and what is wrong with it.
#[derive(Default)]
struct Typed {
    sent: Sent,
    wrong: Refused,
}

impl Typed {
    fn message(&self, key: &str) -> Option<&str> {
        let found = self.wrong.iter().find(|(k, _)| k == key);
        found.map(|(_, message)| message.as_str())
    }

    /// What was typed, or what stands there at first.
    fn or(&self, key: &str, first: &str) -> String {
        match self.sent.0.is_empty() {
            true => first.into(),
            false => self.sent.own(key),
        }
    }
}

pub(super) async fn shown(
    Shared(workbench): Shared<Arc<Workbench>>,
    Path((slug, serial)): Path<(String, String)>,
    Query(asked): Query<Asked>,
    reader: Reader,
) -> Result<Markup, Fault> {
    let opened = workbench.open(&slug).await?;
    let told = asked.told.as_deref();
    page_of(
        &workbench,
        &opened,
        &reader,
        &serial,
        told,
        &Typed::default(),
    )
    .await
}

/// The outcome of a test, entered.
pub(super) async fn tested(
    Shared(workbench): Shared<Arc<Workbench>>,
    Path((slug, serial)): Path<(String, String)>,
    reader: Reader,
    Filled(pairs): Filled<Pairs>,
) -> Result<Response, Fault> {
    let sent = Sent(pairs);
    let opened = workbench.open(&slug).await?;
    let system = reader.system(&opened.book);
    let by = By::new(&reader.name, now());
    let done = match trial(&sent, system, by) {
        Ok(trial) => workbench.records.add_trial(&slug, &serial, &trial).await,
        Err(wrong) => {
            return refused(&workbench, &opened, &reader, &serial, Typed { sent, wrong }).await;
        }
    };
    after(&workbench, &opened, &reader, &serial, sent, done, "date").await
}

/// Taken out of service for good.
pub(super) async fn retired(
    Shared(workbench): Shared<Arc<Workbench>>,
    Path((slug, serial)): Path<(String, String)>,
    reader: Reader,
    Filled(pairs): Filled<Pairs>,
) -> Result<Response, Fault> {
    let sent = Sent(pairs);
    let opened = workbench.open(&slug).await?;
    let why = sent.own("why");
    if why.is_empty() {
        let wrong = vec![(
            "why".into(),
            "Say why, for whoever looks for it later.".into(),
        )];
        return refused(&workbench, &opened, &reader, &serial, Typed { sent, wrong }).await;
    }
    let by = By::new(&reader.name, now());
    let day = sent.own("retired");
    let done = workbench
        .records
        .retire(&slug, &serial, (&day, &why), &by)
        .await;
    after(&workbench, &opened, &reader, &serial, sent, done, "retired").await
}

/// Back to the piece, or what the records said beside the field `of_day` or at the top.
async fn after(
    workbench: &Workbench,
    opened: &Arc<Opened>,
    reader: &Reader,
    serial: &str,
    sent: Sent,
    done: Result<(), RecordsError>,
    of_day: &str,
) -> Result<Response, Fault> {
    let wrong = match done {
        Ok(()) => {
            let piece = address::piece(&opened.slug, serial);
            let page = address::asked(piece, [("told", "entered")]);
            return Ok(Redirect::to(&page).into_response());
        }
        Err(error @ RecordsError::Day(_)) => vec![(of_day.to_string(), error.to_string())],
        Err(error @ RecordsError::Retired { .. }) => whole(error.to_string()),
        Err(other) => return Err(other.into()),
    };
    refused(workbench, opened, reader, serial, Typed { sent, wrong }).await
}

async fn refused(
    workbench: &Workbench,
    opened: &Arc<Opened>,
    reader: &Reader,
    serial: &str,
    typed: Typed,
) -> Result<Response, Fault> {
    let page = page_of(workbench, opened, reader, serial, None, &typed).await?;
    Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response())
}

/// What the form of a test says.
fn trial(sent: &Sent, system: System, by: By) -> Result<Trial, Refused> {
    let passed = match sent.get("outcome") {
        "passed" => true,
        "failed" => false,
        _ => return Err(vec![("outcome".into(), "Choose passed or failed.".into())]),
    };
    let written = sent.own("pressure");
    let held = match written.as_str() {
        "" => None,
        text => {
            let stated = Stated::<Pressure>::read(Kind::Pressure, text, system);
            let stated =
                stated.map_err(|error| vec![("pressure".to_string(), error.to_string())])?;
            let bare = text.parse::<f64>().is_ok();
            let unit = Kind::Pressure.unit(system).symbol;
            Some(match bare {
                true => format!("held {} {unit}", stated.text()),
                false => format!("held {}", stated.text()),
            })
        }
    };
    let remark = sent.own("remark");
    let said = held
        .into_iter()
        .chain((!remark.is_empty()).then_some(remark));
    Ok(Trial {
        date: sent.own("date"),
        passed,
        remark: said.collect::<Vec<_>>().join("; "),
        by,
    })
}

async fn page_of(
    workbench: &Workbench,
    opened: &Arc<Opened>,
    reader: &Reader,
    serial: &str,
    told: Option<&str>,
    typed: &Typed,
) -> Result<Markup, Fault> {
    let all = workbench.records.equipment(&opened.slug).await?;
    let piece = all.into_iter().find(|piece| piece.new.serial == serial);
    let piece = piece.ok_or_else(|| RecordsError::NoSerial(serial.into()))?;
    let trials = workbench.records.trials(&opened.slug, serial).await?;
    let row = Row::new(piece, &day(now()))?;
    let content = html! {
        h1 { (serial) ": " (row.name()) }
        @match told {
            Some("new") => p.told role="status" { "Entered in the inventory." },
            Some("entered") => p.told role="status" { "Entered. It stays in the records." },
            _ => {},
        }
        @if let Some(message) = typed.message("") { p.wrong role="alert" { (message) } }
        @else if !typed.wrong.is_empty() { p.wrong role="alert" { "Nothing was saved: mend what is marked." } }
        p.which { (mark(row.state)) }
        (facts(opened, &row))
        @if row.state != State::Retired { (forms(opened, reader, &row, typed)) }
        h2 { "Its tests" }
        (history(&trials))
        p.actions.no-print { a.button href=(address::book(&opened.slug, "/inventory")) { "All of the inventory" } }
        (your_name(reader))
    };
    let place = Place::of(opened, "Inventory");
    Ok(page(
        &format!("{serial}: {}", row.name()),
        reader,
        &place,
        &content,
    ))
}

fn facts(opened: &Opened, row: &Row) -> Markup {
    let new = &row.piece.new;
    let told = |name: &str, said: Markup| html! { tr { th scope="row" { (name) } td { (said) } } };
    let rows = html! {
        tbody {
            (told("Kind", html! { (new.gear.word()) }))
            @if !new.item.is_empty() { (told("In the book", item(opened, row))) }
            @if !new.title.is_empty() { (told("Called", html! { (new.title) })) }
            (told("In service since", day_words(&new.since)))
            (told("Tested every", html! { (new.months) @if new.months == 1 { " month" } @else { " months" } }))
            (told("Next test due", row.next()))
            (told("Latest test", row.last()))
            @if let Some((date, why)) = &row.piece.retired { (told("Retired", html! { (day_words(date)) ": " (why) })) }
        }
    };
    wide("What is known of it", &rows)
}

/// What it is in the book, with its page where it has one.
fn item(opened: &Opened, row: &Row) -> Markup {
    let (name, book) = (row.piece.new.item.as_str(), &opened.book);
    let kind = match row.piece.new.gear {
        Gear::Hose if book.hose.contains_key(name) => "hose",
        Gear::Nozzle if book.nozzle.contains_key(name) => "nozzle",
        _ => return html! { (name) },
    };
    html! { a.reach href=(address::equipment(&opened.slug, kind, name)) { (name) } }
}

fn forms(opened: &Opened, reader: &Reader, row: &Row, typed: &Typed) -> Markup {
    let own = address::piece(&opened.slug, &row.piece.new.serial);
    let system = reader.system(&opened.book);
    let today = day(now());
    let show = |row: fields::Row| field(&row.id(), &row, &row.value, typed.message(row.key), false);
    let outcomes = [("passed", "Passed"), ("failed", "Failed")];
    let caution = match row.piece.new.gear {
        Gear::Hose => {
            "A hose under test can whip: let the air out, raise the pressure slowly, stay off it, and stay at or below its test pressure."
        }
        Gear::Nozzle => "A nozzle under test pushes back: tie it down or hold it with a full crew.",
        Gear::Gauge => "Compare with a standard whose own calibration is in date.",
    };
    html! {
        section aria-labelledby="test-it" {
            h2 id="test-it" { "Enter a test" }
            p.hint { (caution) " The maker's instructions and the local rules decide." }
            form.form method="post" action=(format!("{own}/tested")) {
                div.fields {
                    (show(fields::Row::date("date", "Day of the test", &typed.or("date", &today))))
                    (show(fields::Row::choice("outcome", "Outcome", &typed.or("outcome", ""), first_none(&outcomes))))
                    (show(fields::Row::measured("pressure", "Pressure held", Kind::Pressure, &typed.or("pressure", ""), system)))
                    (show(fields::Row::text("remark", "Remark", &typed.or("remark", ""))))
                }
                div.actions { button.first { "Enter the test" } }
            }
        }
        details open[typed.message("why").is_some() || typed.message("retired").is_some()] {
            summary { "Retire it" }
            p { "Out of service for good. It stays in the records." }
            form.form method="post" action=(format!("{own}/retire")) {
                div.fields {
                    (show(fields::Row::date("retired", "Day", &typed.or("retired", &today))))
                    (show(fields::Row::text("why", "Why", &typed.or("why", ""))))
                }
                div.actions { button { "Retire it" } }
            }
        }
    }
}

/// A choice where nothing is chosen beforehand.
fn first_none(of: &[(&str, &str)]) -> fields::Groups {
    let mut groups = vec![("", vec![(String::new(), "Choose".to_string())])];
    groups.extend(plain(of));
    groups
}

fn history(trials: &[Trial]) -> Markup {
    if trials.is_empty() {
        return html! { p.quiet { "None is entered yet." } };
    }
    let rows = html! {
        thead { tr { @for head in ["Day", "Outcome", "Remark", "Entered"] { th scope="col" { (head) } } } }
        tbody {
            @for trial in trials {
                tr {
                    th scope="row" { (day_words(&trial.date)) }
                    td { strong class=(format!("state {}", if trial.passed { "tested" } else { "failed" })) { (outcome(trial.passed)) } }
                    td { (trial.remark) }
                    td { (when(trial.by.at)) @if !trial.by.who.is_empty() { " by " (trial.by.who) } }
                }
            }
        }
    };
    wide("Its tests", &rows)
}
