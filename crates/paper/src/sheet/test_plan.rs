//! The plan of a test day: where the gauges stand, what to read, room to write.

use book::Book;
use hydraulics::units::{Kind as Unit, Measure, Pressure, System};

use serde_json::{Value, json};
use study::figure;
use study::notice::Notice;
use study::proof::{Expected, Place, Plan, PlanItem, PlanPoint, Subject};

use super::gauges::{self, Used, is_of_a_gauge};
use super::{Kind, Sheet, measured};
use crate::cautions::TEST;
use crate::paper::Units;
use crate::words;

/// What is written down once on a test day.
const DAY: [&str; 9] = [
    "Date",
    "Place",
    "In charge, may stop the test; so may anybody",
    "At the pump",
    "At the gauges",
    "Writes",
    "Weather, wind",
    "Water temperature",
    "Begun, ended",
];

/// The plan of a test day for `plan`, on `date` (empty where it is not set yet): for each
/// subject the set-up, the gauges, and a row of boxes for every point and every repeat,
/// numbered through as the readings are.
pub fn test_plan(book: &Book, plan: &Plan, date: &str, units: Units) -> Sheet {
    let names: Vec<String> = plan
        .items
        .iter()
        .map(|item| item.subject.to_string())
        .collect();
    let subject = match date {
        "" => names.join("; "),
        date => format!("{}; {date}", names.join("; ")),
    };
    let title = match names.as_slice() {
        [only] => format!("Test of {only}"),
        all => format!("Test day: {} tests", all.len()),
    };
    let mut sheet = Sheet::new(Kind::TestPlan, book, (&subject, &title), units);
    if !date.is_empty() {
        sheet.head = vec![("Date of the test", date.to_string())];
    }
    sheet.cautions = TEST.to_vec();
    let items: Vec<Value> = plan
        .items
        .iter()
        .map(|one| item(&mut sheet, book, one, date))
        .collect();
    let day = DAY.map(|name| (name, if name == "Date" { date } else { "" }));
    sheet.body = json!({
        "day": day,
        "items": items,
        "cautions": notices(&plan.cautions, units),
    });
    sheet
}

fn notices(notices: &[Notice], units: Units) -> Vec<Value> {
    notices
        .iter()
        .map(|notice| words::notice(notice, units))
        .collect()
}

fn item(sheet: &mut Sheet, book: &Book, item: &PlanItem, date: &str) -> Value {
    let units = sheet.units;
    let named = item.gauges.iter().filter(|at| is_of_a_gauge(at.place));
    let named: Vec<(Place, String)> = named.map(|at| (at.place, at.gauge.clone())).collect();
    let drawing = picture::set_up(&item.subject, &named);
    sheet.drawings.push(drawing.into());
    tell(sheet, item);
    let used = item.gauges.iter().filter(|at| is_of_a_gauge(at.place));
    let used: Vec<Used> = used
        .map(|at| Used {
            name: at.gauge.clone(),
            places: vec![at.place],
            calibrated: None,
            step: None,
        })
        .collect();
    let date = (!date.is_empty()).then_some(date);
    let columns = columns(item);
    json!({
        "title": words::capital(&item.title),
        "subject": item.subject.to_string(),
        "gauges": gauges::rows(book, &used, date, units),
        "layout": item.layout,
        "where": item.gauges.iter().map(|at| (words::capital(at.place.word()), at.words.as_str())).collect::<Vec<_>>(),
        "once": once(&item.subject, units),
        "head": columns.iter().map(|place| words::capital(place.word())).collect::<Vec<_>>(),
        "rows": rows(item, &columns, service_pressure(book, &item.subject), units),
        "repeats": item.repeats,
        // What an unknown gauge may be off by is in no figure.
        "known": item.gauges.iter().all(|at| !is_of_a_gauge(at.place) || !at.gauge.is_empty()),
        "expected": item.expected.iter().map(|one| expected(one, units)).collect::<Vec<_>>(),
        "notices": notices(&item.notices, units),
    })
}

fn tell(sheet: &mut Sheet, item: &PlanItem) {
    let about = item.subject.to_string();
    for point in &item.points {
        for (place, figure) in &point.expected {
            let name = format!("{about}, point {}: {}", point.number, place.word());
            sheet.tell(name, figure.fine());
        }
    }
    for one in &item.expected {
        sheet.tell(format!("{about}: {}", one.name), measured::said(&one.value));
    }
    sheet.tell(format!("{about}: repeats"), item.repeats);
}

/// What is measured once for all points, as name and unit.
fn once(subject: &Subject, units: Units) -> Vec<(String, &'static str)> {
    let all = subject
        .places()
        .iter()
        .filter(|place| place.kind() == Unit::Length);
    all.map(|place| {
        let unit = place.kind().unit(units.first()).symbol;
        (words::capital(place.word()), unit)
    })
    .collect()
}

/// What is read at every point: all that is planned but lengths.
fn columns(item: &PlanItem) -> Vec<Place> {
    let planned = item.gauges.iter().map(|at| at.place);
    planned
        .filter(|place| place.kind() != Unit::Length)
        .collect()
}

/// The service pressure of the hose that is tested for its friction.
fn service_pressure(book: &Book, subject: &Subject) -> Option<f64> {
    match subject {
        Subject::Hose { hose, .. } => {
            let item = book.hose(hose)?.item;
            item.service_pressure.as_ref().map(|p| p.get().si())
        }
        _ => None,
    }
}

/// Does a point take the hose above its service pressure?
fn is_too_high(point: &PlanPoint, service: Option<f64>) -> bool {
    let inlet = point.expected.iter().find(|(at, _)| *at == Place::Inlet);
    let limit = service.map(|si| figure::pressure(Pressure::of_si(si)).value(System::Us));
    let read = inlet.map(|(_, figure)| figure.value(System::Us));
    read.zip(limit).is_some_and(|(read, limit)| read > limit)
}

/// A row for each point of each round, numbered through.
fn rows(item: &PlanItem, columns: &[Place], service: Option<f64>, units: Units) -> Vec<Value> {
    let points = |round: u32| item.points.iter().map(move |point| (round, point));
    let rounds = (1..=item.repeats.max(1)).flat_map(points);
    let numbered = (1_u32..).zip(rounds);
    let row = |(number, (round, point)): (u32, (u32, &PlanPoint))| {
        let cells = columns.iter().map(|place| cell(point, *place, units));
        json!({
            "number": number,
            "round": round,
            "target": words::capital(&point.target),
            "too_high": is_too_high(point, service),
            "cells": cells.collect::<Vec<_>>(),
        })
    };
    numbered.map(row).collect()
}

fn cell(point: &PlanPoint, place: Place, units: Units) -> Value {
    let expected = point.expected.iter().find(|(at, _)| *at == place);
    let steer = point.steer.0 == place;
    let figure = match steer {
        true => Some(point.steer.1),
        false => expected.map(|(_, figure)| *figure),
    };
    json!({
        "steer": steer,
        "expected": figure.map(|figure| units.show(figure).text()),
        "unit": place.kind().unit(units.first()).symbol,
    })
}

fn expected(one: &Expected, units: Units) -> Value {
    let per_cent = |share: f64| format!("{:.1} %", 100.0 * share);
    json!({
        "name": words::capital(&one.name),
        "value": measured::text(&one.value, units),
        "exact": one.share < 1e-6,
        "half": measured::text(&one.half, units),
        "share": per_cent(one.share),
        "wanted": per_cent(one.wanted),
        "floor": per_cent(one.floor),
        "reached": one.reached,
        "limited_by": one.limited_by,
    })
}
