//! The choices that no other beats, why each is in, and what left the others out.

use serde_json::{Value, json};
use study::choose::{Choice, Chosen, aim_name};
use study::doubt::on_days;

use super::Report;
use super::answer::pump;
use crate::compared;
use crate::words::capital;

/// Choices that the sheet lists; the tables have more.
const PRINTED: usize = 15;

/// Texts of what is on the lines that it lists for them.
const ROWS: usize = 30;

/// Choices of which it says why they are in.
const EXPLAINED: usize = 4;

/// Aims that stand side by side on a page.
const ABREAST: usize = 5;

/// The choices that the sheet lists: fewer where each line has its own equipment.
pub(super) fn printed(chosen: &Chosen) -> impl Iterator<Item = &Choice> {
    let mut rows = 0;
    let fits = move |choice: &&Choice| {
        rows += compared::alike(&choice.on).len();
        rows <= ROWS
    };
    chosen.choices.iter().take(PRINTED).take_while(fits)
}

/// The unbeaten choices with every aim, in as many tables as the aims need.
pub(super) fn table(report: &Report<'_>) -> Value {
    let chosen = report.chosen;
    let printed: Vec<&Choice> = printed(chosen).collect();
    let equipment = printed.iter().map(|choice| {
        json!({
            "code": choice.code,
            "on": report.among_others(choice),
            "pump": pump(choice, report.units),
            "holds": choice.doubted.as_ref().map(|d| on_days(d.all_hold.0)),
            "score": format!("{:.0}", 100.0 * choice.score),
        })
    });
    let places: Vec<usize> = (0..chosen.aims.len()).collect();
    let parts = places.chunks(ABREAST).map(|places| {
        let heads = places.iter().filter_map(|at| head(report, *at));
        let rows = printed.iter().map(|choice| {
            let cells = places.iter().map(|at| cell(report, choice, *at));
            json!({ "code": choice.code, "cells": cells.collect::<Vec<_>>() })
        });
        json!({
            "heads": heads.collect::<Vec<_>>(),
            "rows": rows.collect::<Vec<_>>(),
        })
    });
    json!({
        "all": equipment.collect::<Vec<_>>(),
        "parts": parts.collect::<Vec<_>>(),
        "same_lengths": report.comparison.vary.length.is_empty(),
        "drawn": printed.iter().any(|choice| choice.doubted.is_some()),
        "more": chosen.unbeaten.saturating_sub(printed.len() as u64),
    })
}

/// "Flow at low pump pressure (gpm)", the weight below it.
fn head(report: &Report<'_>, at: usize) -> Option<Value> {
    let (aim, weight) = report.chosen.aims.get(at)?;
    let first = report.chosen.choices.first()?.measured.get(at)?;
    let shown = report.units.show(first.value);
    let near = report
        .comparison
        .aims
        .get(aim)
        .and_then(|w| w.near.as_ref());
    let better = match (near, aim.more_is_better()) {
        (Some(_), _) => "closer is better",
        (None, true) => "more is better",
        (None, false) => "less is better",
    };
    Some(json!({
        "name": capital(aim_name(*aim)),
        "unit": shown.unit,
        "better": match *weight > 0.0 {
            true => better,
            false => "shown only",
        },
    }))
}

fn cell(report: &Report<'_>, choice: &Choice, at: usize) -> Value {
    match choice.measured.get(at) {
        Some(measured) => json!({
            "shown": report.units.show(measured.value),
            "best": measured.good >= 1.0,
        }),
        None => Value::Null,
    }
}

/// Why the first of them are in, and what each lost on.
pub(super) fn reasons(report: &Report<'_>) -> Vec<Value> {
    let answer = report.answer().map(|(place, _)| place);
    let choices = report.chosen.choices.iter().enumerate();
    let others = choices.filter(|(place, _)| Some(*place) != answer);
    let told = others.take(EXPLAINED).map(|(place, choice)| {
        json!({
            "code": choice.code,
            "on": report.among_others(choice),
            "pump": pump(choice, report.units),
            "why": compared::sentences(&choice.why, report.units),
            // What the first one's says is of the second.
            "lost": match place {
                0 => Vec::new(),
                _ => compared::sentences(&choice.against, report.units),
            },
        })
    });
    told.collect()
}

/// What left choices out.
pub(super) fn excluded(report: &Report<'_>) -> Vec<Value> {
    let units = report.units;
    let rows = report.chosen.excluded.iter().map(|excluded| {
        let figures = excluded.has_and_may;
        let figures = figures.map(|(has, may)| compared::has_and_may(has, may, units));
        let (has, may) = figures.unzip();
        json!({
            "limit": capital(excluded.limit.name()),
            "choices": compared::count(excluded.choices),
            "alone": compared::count(excluded.alone),
            "nearest": compared::phrase(&excluded.nearest, units),
            "has": has,
            "may": may,
            "text": compared::sentence(&excluded.text, units),
        })
    });
    rows.collect()
}
