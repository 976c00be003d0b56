//! Every point of a test, those left out too.

use serde_json::{Value, json};
use study::figure::Figure;
use study::proof::{Proof, Seen};

use crate::paper::Units;
use crate::sheet::{Sheet, measured};
use crate::words;

pub(super) fn tell(sheet: &mut Sheet, proof: &Proof) {
    for seen in &proof.points {
        for (place, figure) in &seen.read {
            sheet.tell(
                format!("point {}: {place}", seen.point),
                measured::precise(*figure),
            );
        }
        if let Some(why) = &seen.left_out {
            sheet.tell(format!("point {}: left out", seen.point), why.as_str());
        }
    }
}

/// What is the same at every point, and a column for each thing that is not.
pub(super) fn table(proof: &Proof, units: Units) -> Value {
    let places = places(proof);
    let (same, columns): (Vec<&'static str>, Vec<&'static str>) =
        places.into_iter().partition(|place| is_same(proof, place));
    let same = same.into_iter().filter_map(|place| {
        let figure = read(proof.points.first()?, place)?;
        Some(format!(
            "{place} {}",
            units.show(measured::precise(figure)).text()
        ))
    });
    let head = columns.iter().map(|place| {
        let figure = proof.points.iter().find_map(|seen| read(seen, place));
        titled(place, figure, units)
    });
    let head: Vec<String> = head.collect();
    // Without a fit nothing is expected, and nothing is left over.
    let fitted = !proof.found.is_empty();
    let first = proof.points.first().filter(|_| fitted);
    let residual = first.map(|seen| titled("residual", Some(seen.residual), units));
    let columns: Vec<Column> = columns.into_iter().map(|p| Column::of(proof, p)).collect();
    let rows = proof.points.iter();
    let rows = rows.map(|seen| row(seen, &columns, fitted, units));
    json!({
        "same": same.collect::<Vec<_>>(),
        "head": head.into_iter().chain(residual).collect::<Vec<_>>(),
        "rows": rows.collect::<Vec<_>>(),
        "timed": proof.points.iter().any(|seen| !seen.time.is_empty()),
    })
}

/// A column of readings.
struct Column {
    place: &'static str,
    /// All of it to a decimal more than a fireground needs, or none of it.
    fine: bool,
}

impl Column {
    fn of(proof: &Proof, place: &'static str) -> Self {
        let mut all = proof.points.iter().filter_map(|seen| read(seen, place));
        Column {
            place,
            fine: all.all(measured::is_precise),
        }
    }
}

/// Places in the order in which they first come.
fn places(proof: &Proof) -> Vec<&'static str> {
    let mut places = Vec::new();
    for (place, _) in proof.points.iter().flat_map(|seen| &seen.read) {
        if !places.contains(place) {
            places.push(*place);
        }
    }
    places
}

fn read(seen: &Seen, place: &str) -> Option<Figure> {
    let found = seen.read.iter().find(|(at, _)| *at == place);
    found.map(|(_, figure)| *figure)
}

/// Lengths and rises that never change need no column.
fn is_same(proof: &Proof, place: &str) -> bool {
    let first = proof.points.first().and_then(|seen| read(seen, place));
    proof.points.len() > 1
        && ["length", "rise"].contains(&place)
        && proof.points.iter().all(|seen| read(seen, place) == first)
}

/// "Flow, gpm (L/min)".
fn titled(place: &str, figure: Option<Figure>, units: Units) -> String {
    let Some(figure) = figure else {
        return words::capital(place);
    };
    let unit = figure.unit(units.first());
    let also = units.second().map(|system| figure.unit(system));
    match also.filter(|also| *also != unit) {
        Some(also) => format!("{}, {unit} ({also})", words::capital(place)),
        None => format!("{}, {unit}", words::capital(place)),
    }
}

fn row(seen: &Seen, columns: &[Column], fitted: bool, units: Units) -> Value {
    let cells = columns.iter().map(|column| match read(seen, column.place) {
        Some(figure) if column.fine => cell(figure.fine(), units),
        Some(figure) => cell(figure, units),
        None => Value::Null,
    });
    let residual = fitted.then(|| match seen.left_out {
        Some(_) => Value::Null,
        None => cell(measured::precise(seen.residual), units),
    });
    let mut said: Vec<String> = Vec::new();
    if let Some(why) = &seen.left_out {
        said.push(format!("left out: {why}"));
    }
    if seen.stands_out {
        said.push("stands out".into());
    }
    if !seen.remark.is_empty() {
        said.push(seen.remark.clone());
    }
    json!({
        "point": seen.point,
        "time": seen.time,
        "cells": cells.chain(residual).collect::<Vec<_>>(),
        "out": seen.left_out.is_some(),
        "stands_out": seen.stands_out,
        "said": said.join("; "),
    })
}

/// The number alone: the unit stands at the head of its column.
fn cell(figure: Figure, units: Units) -> Value {
    let shown = units.show(figure);
    let also = shown
        .also
        .as_deref()
        .and_then(|also| also.split(' ').next());
    json!({ "value": shown.value, "also": also })
}
