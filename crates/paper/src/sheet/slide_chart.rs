//! The slide chart of a line: a paper slide rule, to print, cut and fold.

use book::{Book, Conditions};
use hydraulics::units::{Kind as Unit, Length, Measure, System};
use picture::{ROWS, SlideRule};
use serde_json::{Value, json};
use study::answer::LineAnswer;
use study::fact::Said;
use study::figure;
use study::notice::Weight;
use study::{SlideChart, SlideRow};

use super::common::{cautions, makes_foam, no_answer, notices, refused};
use super::of_line::begun;
use super::{Drawn, Kind, Sheet};
use crate::paper::{PaperError, Units};
use crate::words::capital;

/// The slide chart of `line`: flow, length of its last hose and rise of its tip give the
/// pump pressure. A line of which there can be none, with several tips or no hose of its
/// own, has a sheet that says why.
///
/// # Errors
/// [`PaperError::Unknown`] when the book has no such line.
///
/// ```
/// let text = b"[book]\nname = 'Example'\n[line.left]\n\
///     parts = [{ hose = '2.5 in', length = '200 ft' }, { nozzle = '1-1/8 in smooth bore' }]\n\
///     aim = { tip_pressure = '50 psi' }\n";
/// let book = book::read(text, "example.toml")?;
/// let chart = paper::slide_chart(&book, "left", paper::Units::Us)?;
/// assert_eq!(chart.drawings.len(), 2);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn slide_chart(book: &Book, line: &str, units: Units) -> Result<Sheet, PaperError> {
    let (mut sheet, _) = begun(Kind::SlideChart, book, line, units)?;
    let most = if units.second().is_some() {
        ROWS.1
    } else {
        ROWS.0
    };
    let answer = study::solve(book, line, &Conditions::default());
    let chart = answer.and_then(|a| Ok((a, study::slide_chart(book, line, units.first(), most)?)));
    match chart {
        Ok((answer, chart)) => fill(&mut sheet, book, &answer, &chart),
        Err(error) => {
            let why = error.to_string();
            sheet.tell("no slide chart", why.clone());
            sheet.body = json!({ "refused": {
                "weight": "Note",
                "text": capital(&format!("there is no slide chart of this line: {why}.")),
                "mend": "",
            }});
        }
    }
    Ok(sheet)
}

fn fill(sheet: &mut Sheet, book: &Book, answer: &LineAnswer, chart: &SlideChart) {
    let units = sheet.units;
    sheet.cautions = cautions(makes_foam(answer));
    if let Some(notice) = no_answer(answer) {
        sheet.tell("no answer", notice.text.clone());
        sheet.body = json!({ "refused": refused(notice, units) });
        return;
    }
    sheet.head.push(("Hose", chart.hose.clone()));
    sheet.rests_on(&answer.coefficients, None);
    sheet.rests_on_items(&answer.items);
    let rule = picture::slide_rule(chart, &sheet.title, units.first(), units.second());
    sheet.body = json!({
        "sleeve": { "width": rule.sleeve_mm, "code": rule.sleeve_code },
        "slide": { "width": rule.slide_mm, "code": rule.slide_code },
        "panel": rule.panel_mm,
        "bar": if units.first() == System::Us { "4 in" } else { "100 mm" },
        "error": reading_error(sheet, &rule),
        "rises": ([rule.rises.0, rule.rises.1].map(|r| units.show(figure::length(r)).text())),
        "stop": stop(sheet, chart),
        "table": table(sheet, chart),
        "notices": notices(answer, Weight::Limit, units),
        "hose": chart.hose,
        "example": Value::Null,
    });
    tell(sheet, chart);
    sheet.body["example"] = example(sheet, book, chart, &rule);
    sheet.drawings = [rule.sleeve, rule.slide].map(Drawn::from).into();
}

fn tell(sheet: &mut Sheet, chart: &SlideChart) {
    sheet.tell("hose", chart.hose.as_str());
    let nozzle = match chart
        .rows
        .iter()
        .find(|row| row.aim)
        .and_then(|row| row.setting.as_ref())
    {
        Some(setting) => format!("{}, {setting}", chart.nozzle),
        None => chart.nozzle.clone(),
    };
    sheet.head.push(("Nozzle", nozzle.clone()));
    sheet.tell("nozzle", nozzle);
    sheet.tell("hose carried", figure::length(chart.carried));
    let ten = ten(sheet.units.first());
    let head = figure::pressure(chart.head * ten.value).fine();
    let name = format!(
        "pressure for {} of rise",
        figure::length(ten).show(sheet.units.first())
    );
    sheet.tell(name, head);
    for row in &chart.rows {
        let row_name = name_of(chart, row, sheet.units.first());
        sheet.tell(
            format!("{row_name}: tip pressure"),
            figure::pressure(row.tip_pressure),
        );
        for (length, pressure) in chart.lengths.iter().zip(&row.level) {
            let length = figure::length(*length).show(sheet.units.first());
            let said = match pressure {
                Some(pressure) => Said::Figure(figure::pressure(*pressure)),
                None => Said::Text("none".into()),
            };
            sheet.tell(format!("{row_name}, {length}, level"), said);
        }
    }
}

/// A round rise: 10 ft, 3 m.
fn ten(system: System) -> Length {
    let value = if system == System::Us { 10.0 } else { 3.0 };
    Length::of_si(Unit::Length.unit(system).to_si(value))
}

/// The flow of a row, with its setting where the rows have several.
fn name_of(chart: &SlideChart, row: &SlideRow, system: System) -> String {
    let flow = figure::flow(row.flow).show(system);
    match several_settings(chart, row, &flow) {
        Some(setting) => format!("{flow}, setting {setting}"),
        None => flow,
    }
}

fn several_settings<'a>(chart: &SlideChart, row: &'a SlideRow, flow: &str) -> Option<&'a str> {
    let several = chart.rows.iter().any(|other| other.setting != row.setting);
    let setting = row.setting.as_deref().filter(|_| several);
    setting.filter(|setting| *setting != flow)
}

/// What half a millimetre is, and two of them: one to set the rise, one to read.
fn reading_error(sheet: &mut Sheet, rule: &SlideRule) -> Value {
    let half = figure::pressure(rule.half_millimetre).fine();
    let twice = figure::pressure(rule.half_millimetre * 2.0).fine();
    sheet.tell("half a millimetre", half);
    json!([half, twice].map(|error| sheet.units.show(error).text()))
}

fn stop(sheet: &mut Sheet, chart: &SlideChart) -> Value {
    let Some((limit, why)) = &chart.stop else {
        return Value::Null;
    };
    let limit = figure::pressure(*limit);
    sheet.tell(format!("stop: {why}"), limit);
    json!({ "limit": sheet.units.show(limit).text(), "why": why })
}

/// The same in figures: lengths down, flows across.
fn table(sheet: &Sheet, chart: &SlideChart) -> Value {
    let units = sheet.units;
    let flows = chart.rows.iter().map(|row| {
        let flow = figure::flow(row.flow).show(units.first());
        let setting = several_settings(chart, row, &flow);
        json!({ "flow": units.show(figure::flow(row.flow)), "setting": setting, "aim": row.aim })
    });
    let rows = chart.lengths.iter().enumerate().map(|(n, length)| {
        let cells = chart.rows.iter().map(|row| {
            let pressure = row.level.get(n).copied().flatten();
            let over = |p| chart.stop.as_ref().is_some_and(|(limit, _)| p > *limit);
            pressure.map(|p| json!({ "shown": units.show(figure::pressure(p)), "over": over(p) }))
        });
        json!({
            "length": units.show(figure::length(*length)),
            "carried": *length == chart.carried,
            "cells": cells.collect::<Vec<_>>(),
        })
    });
    json!({ "flows": flows.collect::<Vec<_>>(), "rows": rows.collect::<Vec<_>>() })
}

/// A rise as it stands on the slide.
fn signed(rise: Length, system: System) -> String {
    let text = figure::length(rise).show(system).replace('-', "\u{2212}");
    let plus = if rise.value > 0.0 { "+" } else { "" };
    format!("{plus}{text}")
}

/// One setting worked through: the aim, the length carried, and the rise of the book, or
/// twice ten feet where the tip is level. Where that is past the stop or the scale, the
/// longest hose that is not.
fn example(sheet: &mut Sheet, book: &Book, chart: &SlideChart, rule: &SlideRule) -> Value {
    let units = sheet.units;
    let row = chart.rows.iter().find(|row| row.aim).or(chart.rows.first());
    let Some(row) = row else { return Value::Null };
    let usual = ten(units.first()) * 2.0;
    let can =
        |rise: &Length| rise.value.abs() > 0.5 && *rise >= rule.rises.0 && *rise <= rule.rises.1;
    let rise = [chart.rise, usual]
        .into_iter()
        .find(can)
        .unwrap_or_default();
    let at = |length, rise| {
        let flow = (row.flow, row.setting.as_deref());
        study::pressure_for(book, &chart.line, flow, (length, rise))
            .ok()
            .flatten()
    };
    let most = chart
        .stop
        .as_ref()
        .map_or(rule.pressures.1, |(stop, _)| stop.min(rule.pressures.1));
    let lengths = chart.lengths.iter().rev();
    let found = std::iter::once(&chart.carried)
        .chain(lengths)
        .find_map(|&length| {
            let (level, up) = (at(length, Length::of_si(0.0))?, at(length, rise)?);
            (level.max(up) <= most && up >= rule.pressures.0).then_some((length, level, up))
        });
    let Some((length, level, up)) = found else {
        return Value::Null;
    };
    let up = figure::pressure(up);
    sheet.tell("example", up);
    let first = units.first();
    json!({
        "flow": units.show(figure::flow(row.flow)).text(),
        "length": units.show(figure::length(length)).text(),
        "rise": units.show(figure::length(rise)).text(),
        "set": signed(rise, first),
        "level": units.show(figure::pressure(level)).text(),
        "pump": units.show(up).text(),
    })
}
