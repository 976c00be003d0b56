//! What a choice changes against what is carried today: line by line, each change by
//! itself, and what is to be bought.

use super::super::asked::Asked;
use super::super::evaluate::{Gives, How, evaluate};
use super::super::shown::result;
use super::super::stock::to_buy;
use super::super::tried::value_of;
use super::super::{Choice, LineResult, OfLine, Said};
use super::measure::counted;
use crate::figure::{self, Figure};
use book::comparison::AimKind;
use hydraulics::units::{Length, Measure, System};
use rayon::prelude::*;

/// Least and most cost of each aim among the unbeaten, in the order of the aims.
pub(in crate::choose) type Scales = [(f64, f64)];

/// One change by itself.
struct Alone {
    said: Said,
    /// How much better the line becomes, weighed; below zero: worse.
    gain: f64,
    price: Option<f64>,
}

/// Choices of which is told what they change.
const TOLD: usize = 25;

/// Says of the first choices what they change.
pub(in crate::choose) fn set(
    asked: &Asked,
    today: &Choice,
    choices: &mut [Choice],
    scales: &Scales,
) {
    let first = choices.len().min(TOLD);
    let first = choices.get_mut(..first).unwrap_or_default();
    first
        .par_iter_mut()
        .for_each(|choice| choice.to_change = told(asked, today, choice, scales));
}

/// In sentences: what each line has in place of what it has today and what that does;
/// each change by itself, first the one that brings most for its price; what is to be
/// bought and what becomes free.
fn told(asked: &Asked, today: &Choice, choice: &Choice, scales: &Scales) -> Vec<Said> {
    let mut said = Vec::new();
    let mut alone = Vec::new();
    let lines = choice.on.iter().zip(&today.on).enumerate();
    let mut changed = 0;
    for (number, (on, own)) in lines {
        if !same_equipment(on, own) {
            changed += 1;
            said.extend(together(asked, (on, own), choice, today));
            alone.extend(by_itself(asked, number, (on, own), today, scales));
        }
    }
    said.extend(pump(asked, choice, today));
    if changed > 0 {
        alone.extend(pump_by_itself(asked, choice, today, scales));
    }
    // With one change alone there is nothing to choose between.
    if alone.len() > 1 {
        alone.sort_by(|a, b| worth(b).total_cmp(&worth(a)));
        said.push("each change by itself, the one that brings most for its price first:".into());
        said.extend(alone.into_iter().map(|alone| alone.said));
    }
    if changed == 0 {
        said.push("the equipment of these lines stays as it is".into());
    }
    said.extend(to_buy(asked.book, &choice.on).said(asked.book));
    said
}

/// What is gained for a price; what costs nothing comes first, what has no price last of
/// what gains.
fn worth(alone: &Alone) -> f64 {
    match alone.price {
        Some(price) if price > 0.0 && alone.gain > 0.0 => alone.gain / price,
        None if alone.gain > 0.0 => alone.gain * 1e-12,
        _ if alone.gain > 0.0 => 1e6 + alone.gain,
        _ => alone.gain,
    }
}

fn same_equipment(on: &OfLine, own: &OfLine) -> bool {
    on.hose == own.hose
        && on.nozzle == own.nozzle
        && on.setting == own.setting
        && (on.length - own.length).value.abs() <= 1e-9
}

/// "twin on low instead of twin on high", "large instead of attack".
fn instead(on: &OfLine, own: &OfLine) -> Said {
    let mut parts: Vec<Said> = Vec::new();
    let named = |on: &OfLine| match &on.setting {
        Some(setting) => format!("{} on {setting}", on.nozzle),
        None => on.nozzle.clone(),
    };
    if on.hose != own.hose {
        parts.push(format!("{} instead of {}", on.hose, own.hose).into());
    }
    if (on.length - own.length).value.abs() > 1e-9 {
        let length = |length: Length| Said::default().figure(figure::length(length));
        parts.push(
            length(on.length)
                .words(" instead of ")
                .said(length(own.length))
                .words(" of hose"),
        );
    }
    if on.nozzle == own.nozzle && on.setting != own.setting {
        let own = own.setting.clone().unwrap_or_default();
        parts.push(format!("{} instead of {own}", named(on)).into());
    } else if on.nozzle != own.nozzle {
        parts.push(format!("{} instead of {}", named(on), named(own)).into());
    }
    let joined = parts
        .into_iter()
        .reduce(|one, other| one.words(" and ").said(other));
    joined.unwrap_or_default()
}

/// What a line has in place of what it has today, with all changes made.
fn together(
    asked: &Asked,
    (on, own): (&OfLine, &OfLine),
    choice: &Choice,
    today: &Choice,
) -> Option<Said> {
    let of = |choice: &Choice| -> Option<LineResult> {
        let mut results = choice.results.iter();
        results.find(|result| result.line == on.line).cloned()
    };
    let said = Said::new(format!("{}: ", on.line)).said(instead(on, own));
    let deltas = deltas(asked, &of(today)?, &of(choice)?);
    Some(
        said.words(", at ")
            .figure(figure::pressure(on.pump_pressure))
            .words(": ")
            .said(deltas),
    )
}

/// What the pump does: where a line keeps its equipment its pump pressure alone changes.
fn pump(asked: &Asked, choice: &Choice, today: &Choice) -> Vec<Said> {
    let pairs = choice.on.iter().zip(&today.on);
    let moved = pairs.filter(|(on, own)| same_equipment(on, own) && moves(on, own));
    moved
        .filter_map(|(on, own)| {
            let of = |choice: &Choice| -> Option<LineResult> {
                let mut results = choice.results.iter();
                results.find(|result| result.line == on.line).cloned()
            };
            let deltas = deltas(asked, &of(today)?, &of(choice)?);
            Some(
                Said::new(format!("{}: equipped as today, pumped at ", on.line))
                    .figure(figure::pressure(on.pump_pressure))
                    .words(" instead of ")
                    .figure(figure::pressure(own.pump_pressure))
                    .words(": ")
                    .said(deltas),
            )
        })
        .collect()
}

/// Does the pump pressure differ by more than a gauge shows?
fn moves(on: &OfLine, own: &OfLine) -> bool {
    (on.pump_pressure - own.pump_pressure).value.abs() > 3_000.0
}

/// What is different between two answers of a line.
fn deltas(asked: &Asked, was: &LineResult, is: &LineResult) -> Said {
    let mut parts: Vec<Said> = Vec::new();
    let mut part = |now: f64, then: f64, figure: &dyn Fn(f64) -> Figure, what: Said| {
        let change = figure((now - then).abs());
        let shown = [System::Us, System::Si].map(|system| change.show_change(system));
        // A change that rounds to nothing in either system is told in neither.
        if shown.iter().any(|shown| shown == "none") {
            return;
        }
        let way = if now > then { " more " } else { " less " };
        parts.push(Said::default().figure(change).words(way).said(what));
    };
    let flow = |si: f64| figure::flow(Measure::of_si(si));
    part(is.flow.value, was.flow.value, &flow, "flow".into());
    if let (Some(now), Some(then), Some(low)) = (is.low, was.low, asked.low) {
        let what = Said::new("flow at ")
            .figure(figure::pressure(low))
            .words(" at the pump");
        part(now.0.value, then.0.value, &flow, what);
    }
    let force = |si: f64| figure::force(Measure::of_si(si));
    part(
        is.reaction.value,
        was.reaction.value,
        &force,
        "reaction".into(),
    );
    let reach = |si: f64| figure::length(Measure::of_si(si));
    part(is.reach.value, was.reach.value, &reach, "reach".into());
    let joined = parts
        .into_iter()
        .reduce(|one, other| one.words(", ").said(other));
    joined.unwrap_or_else(|| "the crew gets the same".into())
}

/// A line's own values of each aim that counts, as costs between nothing and one; below
/// and above where it lies beyond all the unbeaten.
fn costs(asked: &Asked, gives: &Gives, scales: &Scales) -> f64 {
    let all = asked.aims.iter().zip(scales);
    let mut sum = 0.0;
    for (aim, (low, high)) in all.filter(|(aim, _)| aim.weight > 0.0) {
        let together = matches!(
            aim.aim,
            AimKind::OnePumpPressure | AimKind::Kinds | AimKind::Price
        );
        let cost = aim.cost(value_of(aim, gives).0);
        if !together && cost.is_finite() && high > low {
            sum += aim.weight * (cost - low) / (high - low);
        }
    }
    let all: f64 = counted(asked).map(|aim| aim.weight).sum();
    sum / all.max(1e-9)
}

fn gives(asked: &Asked, number: usize, on: &OfLine) -> Gives {
    let how = How {
        reaches: None,
        all: false,
    };
    let all = evaluate(asked, number, on, &[on.pump_pressure], how);
    all.first().copied().unwrap_or_else(Gives::nothing)
}

/// A line equipped anew and pumped as today, all the others as they are.
fn by_itself(
    asked: &Asked,
    number: usize,
    (on, own): (&OfLine, &OfLine),
    today: &Choice,
    scales: &Scales,
) -> Option<Alone> {
    let then = OfLine {
        pump_pressure: own.pump_pressure,
        ..on.clone()
    };
    let (is, ..) = result(asked, number, &then)?;
    let was = today.results.iter().find(|was| was.line == on.line)?;
    let mut all = today.on.clone();
    *all.get_mut(number)? = then.clone();
    let purchase = to_buy(asked.book, &all);
    let price = purchase.price();
    let cost = match (purchase.buy.is_empty(), price) {
        (true, _) => "nothing to buy".to_string(),
        (false, Some(price)) => asked.book.price_text(price),
        (false, None) => "no price in the book".to_string(),
    };
    let said = Said::new(format!("{} (", on.line))
        .said(instead(on, own))
        .words(format!("; {cost}), pumped at today's "))
        .figure(figure::pressure(own.pump_pressure))
        .words(": ")
        .said(deltas(asked, was, &is));
    Some(Alone {
        gain: costs(asked, &gives(asked, number, own), scales)
            - costs(asked, &gives(asked, number, &then), scales),
        said,
        price,
    })
}

/// The new pump pressure with today's equipment on all the lines.
fn pump_by_itself(
    asked: &Asked,
    choice: &Choice,
    today: &Choice,
    scales: &Scales,
) -> Option<Alone> {
    let pressure = choice.pump_pressure?;
    let mut parts: Vec<Said> = Vec::new();
    let mut gain = 0.0;
    for (number, (on, own)) in choice.on.iter().zip(&today.on).enumerate() {
        if !moves(on, own) {
            continue;
        }
        let then = OfLine {
            pump_pressure: pressure,
            ..own.clone()
        };
        let (is, ..) = result(asked, number, &then)?;
        let was = today.results.iter().find(|was| was.line == on.line)?;
        let from = Said::new(format!("{} from ", on.line))
            .figure(figure::pressure(own.pump_pressure))
            .words(": ");
        parts.push(from.said(deltas(asked, was, &is)));
        gain += costs(asked, &gives(asked, number, own), scales)
            - costs(asked, &gives(asked, number, &then), scales);
    }
    let joined = parts
        .into_iter()
        .reduce(|one, other| one.words("; ").said(other))?;
    Some(Alone {
        said: Said::new("all lines pumped at ")
            .figure(figure::pressure(pressure))
            .words(" (nothing to buy), equipped as today: ")
            .said(joined),
        gain,
        price: Some(0.0),
    })
}
