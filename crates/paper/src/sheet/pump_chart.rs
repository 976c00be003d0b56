//! The pump chart of a rig: every line's pump pressure by length and rise.

use book::{Book, Conditions};
use hydraulics::units::System;
use serde_json::{Value, json};
use study::answer::{ItemUsed, LineAnswer, ValueUsed};
use study::ask::{AskError, ChartAsked};
use study::fact::Said;
use study::figure;
use study::notice::Weight;
use study::{Cell, Chart, ChartTable};

use super::common::{
    aim, cautions, gating, makes_foam, no_answer, notices, own_tips, refused, refused_because,
};
use super::{Kind, Sheet, unknown};
use crate::paper::{PaperError, Units};

/// The pump chart of `rig`: for each of its lines the aim, and the pump pressure by
/// length of its last hose and rise of its tips, a table for each setting of its nozzle.
/// A line without an answer has its notice instead.
///
/// # Errors
/// [`PaperError::Unknown`] when the book has no such rig.
///
/// ```
/// let text = b"[book]\nname = 'Example'\n[rig.pumper]\npump = '1250 gpm'\n";
/// let book = book::read(text, "example.toml")?;
/// let chart = paper::pump_chart(&book, "pumper", paper::Units::Us)?;
/// assert!(chart.body["empty"].is_string());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn pump_chart(book: &Book, rig: &str, units: Units) -> Result<Sheet, PaperError> {
    let Some(item) = book.rig.get(rig) else {
        return Err(unknown("rig", rig, book.rig.keys()));
    };
    let mut sheet = Sheet::new(Kind::PumpChart, book, (rig, rig), units);
    let lines = book.line.iter();
    let lines = lines.filter(|(_, line)| line.rig.as_deref() == Some(rig));
    let mut foam = false;
    let mut blocks = Vec::new();
    for (name, _) in lines {
        blocks.push(block(&mut sheet, book, name, &mut foam));
    }
    let ceiling = book
        .pump_ceiling
        .as_ref()
        .map(|c| figure::pressure(c.get()));
    if let Some(ceiling) = ceiling {
        sheet.tell("pump ceiling", ceiling);
    }
    let system = units.first();
    let unit = |system| hydraulics::units::Kind::Pressure.unit(system).symbol;
    if let Ok(Some(used)) = item.used(book::Which::Best) {
        let pump = used.pump.clone();
        sheet.rests_on_items(&[ItemUsed {
            name: rig.to_string(),
            used: ValueUsed::Pump(used),
        }]);
        for (flow, net) in pump.points() {
            let name = format!("pump at {}", figure::flow(*flow).show(System::Us));
            sheet.tell(name, figure::pressure(*net));
        }
        let drawing = picture::capability(rig, &pump, None, system);
        sheet.drawings.push(drawing.into());
    }
    sheet.cautions = cautions(foam);
    sheet.body = json!({
        "ceiling": ceiling.map(|c| units.show(c).text()),
        "unit": unit(system),
        "also_unit": units.second().map(unit),
        "empty": blocks.is_empty().then(|| {
            format!("No line in the book comes off {rig}. Give a line rig = \"{rig}\" and print again.")
        }),
        "lines": blocks,
    });
    Ok(sheet)
}

/// What the chart says of one line.
fn block(sheet: &mut Sheet, book: &Book, line: &str, foam: &mut bool) -> Value {
    let units = sheet.units;
    let title = book.line.get(line).and_then(|l| l.title.clone());
    let mut block = json!({ "name": line, "title": title });
    let answer = match study::solve(book, line, &Conditions::default()) {
        Ok(answer) => answer,
        Err(error) => {
            sheet.tell(format!("{line}: no answer"), error.to_string());
            block["refused"] = refused_because(&error);
            return block;
        }
    };
    *foam |= makes_foam(&answer);
    if let Some(notice) = no_answer(&answer) {
        sheet.tell(format!("{line}: no answer"), notice.text.clone());
        block["refused"] = refused(notice, units);
        return block;
    }
    sheet.rests_on(&answer.coefficients, None);
    sheet.rests_on_items(&answer.items);
    say(sheet, &answer, &mut block);
    let chart = ChartAsked::default().of(book, line, units.first());
    match chart {
        Ok(chart) => tables(sheet, &chart, book, &mut block),
        Err(error) => block["no_table"] = no_table(&error),
    }
    block
}

fn no_table(error: &AskError) -> Value {
    json!(format!("There is no table of lengths: {error}."))
}

/// Aim, pump pressure as carried, gating, and what stands against it.
fn say(sheet: &mut Sheet, answer: &LineAnswer, block: &mut Value) {
    let units = sheet.units;
    let line = &answer.line;
    let pressure = figure::pressure(answer.pump_pressure);
    sheet.tell(format!("{line}: pump pressure as carried"), pressure);
    let aims: Vec<String> = own_tips(answer).map(|tip| aim(tip, units)).collect();
    sheet.tell(format!("{line}: aim"), aims.join("; "));
    let gates = answer
        .gating
        .as_ref()
        .map(|g| gating(g, units))
        .unwrap_or_default();
    sheet.tell(format!("{line}: gating"), gates.join(" "));
    let heavy = notices(answer, Weight::Limit, units);
    for notice in answer.notices.iter().filter(|n| n.weight >= Weight::Limit) {
        sheet.tell(
            format!("{line}: {} {}", notice.code, notice.place),
            notice.text.clone(),
        );
    }
    block["aims"] = json!(aims);
    block["carried"] = json!(units.show(pressure));
    block["from"] = json!(answer.basis_words());
    block["gating"] = json!(gates);
    block["notices"] = json!(heavy);
}

fn tables(sheet: &mut Sheet, chart: &Chart, book: &Book, block: &mut Value) {
    let units = sheet.units;
    let now = study::varied_length(book, &chart.line).unwrap_or_default();
    let rises = chart.rises.iter();
    let rises: Vec<Value> = rises
        .map(|&rise| match rise.value.abs() < 1e-9 {
            true => json!({ "value": "level", "unit": "", "also": null }),
            false => json!(units.show(figure::length(rise))),
        })
        .collect();
    let mut list = Vec::new();
    for table in &chart.tables {
        tell_cells(sheet, chart, table);
        let rows = chart
            .lengths
            .iter()
            .zip(&table.rows)
            .map(|(&length, cells)| {
                json!({
                    "length": units.show(figure::length(length)),
                    "carried": (length - now).value.abs() < 1e-6,
                    "cells": cells.iter().map(|c| cell(c, units)).collect::<Vec<_>>(),
                })
            });
        let rows: Vec<Value> = rows.collect();
        let any = |test: fn(&Cell) -> bool| table.rows.iter().flatten().any(test);
        list.push(json!({
            "setting": table.setting,
            "flow": units.show(figure::flow(table.flow)),
            "rows": rows,
            "over": any(|c| c.over),
            "none": any(|c| c.pump_pressure.is_none()),
        }));
    }
    block["hose"] = json!(chart.hose);
    block["place"] = json!(chart.place);
    block["rises"] = json!(rises);
    block["tables"] = json!(list);
}

fn cell(cell: &Cell, units: Units) -> Value {
    match cell.pump_pressure {
        Some(pressure) => {
            let shown = units.show(figure::pressure(pressure));
            let also = shown.also.as_deref().and_then(|a| a.split(' ').next());
            json!({ "value": shown.value, "also": also, "over": cell.over })
        }
        None => json!({ "value": "none", "also": null, "over": false }),
    }
}

fn tell_cells(sheet: &mut Sheet, chart: &Chart, table: &ChartTable) {
    let system = sheet.units.first();
    let setting = table.setting.as_deref().map(|s| format!(", setting {s}"));
    let setting = setting.unwrap_or_default();
    for (&length, cells) in chart.lengths.iter().zip(&table.rows) {
        for (&rise, cell) in chart.rises.iter().zip(cells) {
            let show = |l| figure::length(l).show(system);
            let name = format!(
                "{}{setting}, {}, rise {}",
                chart.line,
                show(length),
                show(rise)
            );
            let said = match cell.pump_pressure {
                Some(pressure) => Said::Figure(figure::pressure(pressure)),
                None => Said::Text("none".into()),
            };
            sheet.tell(name.clone(), said);
            if cell.over {
                sheet.tell(name, "over the limit");
            }
        }
    }
}
