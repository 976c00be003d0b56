//! The sleeve: flaps, the window of the rise with its arrow, and for each flow a window
//! with the pressure scale at its edge.

use super::{ARROW, ARROW_WINDOW, FLAP, HEAD, Rule, SLEEVE, Slot, WINDOW, ZONE};
use crate::canvas::{Anchor, Spot};
use crate::drawing::Drawing;
use crate::text::{shorten, width};
use crate::to_scale::{ToScale, number};
use hydraulics::units::{Kind, System, show};
use study::SlideRow;

/// Figures of the scales, mm high.
const FIGURE: f64 = 3.0;

pub(super) fn draw(rule: &Rule<'_>) -> Drawing {
    let panel = rule.panel();
    let mut sheet = ToScale::new(SLEEVE, panel + 2.0 * FLAP);
    outline(&mut sheet, rule, panel);
    head(&mut sheet, rule);
    for (number, row) in rule.chart.rows.iter().enumerate() {
        one_row(&mut sheet, rule, (number, row));
    }
    let caption = format!(
        "Sleeve of the slide chart of {}: {} windows for flows from {} to {}, with pump pressure at the edge.",
        rule.title,
        rule.chart.rows.len(),
        rule.chart.rows.first().map_or_else(String::new, |row| show(
            Kind::Flow,
            row.flow,
            rule.first
        )),
        rule.chart.rows.last().map_or_else(String::new, |row| show(
            Kind::Flow,
            row.flow,
            rule.first
        )),
    );
    sheet.finish("Sleeve of a slide chart", caption, rule.table())
}

fn outline(sheet: &mut ToScale, rule: &Rule<'_>, panel: f64) {
    sheet.rect("thin", (0.0, 0.0), (SLEEVE, panel + 2.0 * FLAP));
    for fold in [FLAP, FLAP + panel] {
        sheet.line("thin dash", (0.0, fold), (SLEEVE, fold));
    }
    sheet.bar((6.0, 6.6), rule.first);
    let words = "✂ Cut the outline and every window. Fold back at both dashed lines. Glue the back panel to the flaps.";
    sheet.text((6.0, FLAP + panel + 5.6), Anchor::Start, FIGURE, words);
}

fn head(sheet: &mut ToScale, rule: &Rule<'_>) {
    let title = shorten(rule.title, 4.2, 140.0);
    sheet.text((3.0, FLAP + 5.6), Anchor::Start, 4.2, &title);
    let slot = rule.arrow_slot();
    let (top, bottom) = (FLAP + slot.top, FLAP + slot.bottom);
    let left = ARROW - ARROW_WINDOW;
    window(sheet, (left, top), (2.0 * ARROW_WINDOW, bottom - top));
    arrow(sheet, top, -1.0);
    if rule.second.is_some() {
        arrow(sheet, bottom, 1.0);
    }
    let units = Rule::unit(Kind::Length, rule.first);
    let units = match rule.second {
        Some(second) => format!("{units}, below it {}", Rule::unit(Kind::Length, second)),
        None => units.to_string(),
    };
    sheet.text(
        (3.0, top + 2.4),
        Anchor::Start,
        3.8,
        "1 Rise of the tip above the pump",
    );
    sheet.text(
        (3.0, top + 6.8),
        Anchor::Start,
        FIGURE,
        &format!("in {units}: set it at the arrow"),
    );
    steps(sheet, rule);
}

/// What to do, in the order of doing it.
fn steps(sheet: &mut ToScale, rule: &Rule<'_>) {
    let unit = |kind| Rule::unit(kind, rule.first);
    let lines = [
        "2 Go to the row of your flow".to_string(),
        format!("3 Find your length of hose ({})", unit(Kind::Length)),
        format!("4 Above it: pump pressure ({})", unit(Kind::Pressure)),
    ];
    let left = ARROW + ARROW_WINDOW + 3.0;
    for (line, y) in lines.iter().zip([1.4, 5.4, 9.4]) {
        sheet.text((left, FLAP + HEAD + y), Anchor::Start, FIGURE, line);
    }
}

/// A triangle that points at the edge of a window, from above (-1) or from below (1).
fn arrow(sheet: &mut ToScale, edge: f64, side: f64) {
    let back = edge + side * 3.4;
    let at = ARROW.to_string();
    sheet.group(&[("arrow", &at)], |sheet| {
        sheet.shape(
            "full",
            &[(ARROW, edge), (ARROW - 2.2, back), (ARROW + 2.2, back)],
        );
    });
}

/// A window to cut out.
fn window(sheet: &mut ToScale, (x, y): Spot, (width, height): Spot) {
    sheet.rect("thin", (x, y), (width, height));
    let middle = (x + 0.5 * width, y + 0.5 * height + 1.0);
    sheet.text(middle, Anchor::Middle, 2.8, "cut out");
}

fn one_row(sheet: &mut ToScale, rule: &Rule<'_>, (number, row): (usize, &SlideRow)) {
    let slot = rule.slot(number);
    let slot = Slot {
        zone: FLAP + slot.zone,
        top: FLAP + slot.top,
        bottom: FLAP + slot.bottom,
    };
    let place = (WINDOW.0, slot.top);
    window(sheet, place, (WINDOW.1 - WINDOW.0, slot.bottom - slot.top));
    name(sheet, rule, &slot, row);
    let row = number.to_string();
    scale(sheet, rule, rule.first, (slot.top, -1.0), &row);
    if let Some(second) = rule.second {
        scale(sheet, rule, second, (slot.bottom, 1.0), &row);
    }
}

/// The flow, large, and the tip pressure that goes with it.
fn name(sheet: &mut ToScale, rule: &Rule<'_>, slot: &Slot, row: &SlideRow) {
    const BIG: f64 = 6.0;
    let flow = show(Kind::Flow, row.flow, rule.first);
    let (value, unit) = flow.split_once(' ').unwrap_or((&flow, ""));
    let y = slot.zone + ZONE + 1.6;
    sheet.text((2.0, y), Anchor::Start, BIG, value);
    let after = 2.0 + 1.14 * width(value, BIG) + 1.0;
    sheet.text((after, y), Anchor::Start, 3.4, unit);
    let mut lines = Vec::new();
    if let Some(second) = rule.second {
        lines.push(show(Kind::Flow, row.flow, second));
    }
    let tip = show(Kind::Pressure, row.tip_pressure, rule.first);
    lines.push(match row.aim {
        true => format!("aim, tip {tip}"),
        false => format!("tip {tip}"),
    });
    if let Some(second) = rule.second {
        lines.push(format!(
            "({})",
            show(Kind::Pressure, row.tip_pressure, second)
        ));
    }
    let named = row.setting.as_ref().filter(|_| several_settings(rule));
    let named = named.filter(|setting| **setting != flow);
    lines.extend(named.map(|setting| format!("setting {setting}")));
    for (line, n) in lines.iter().zip(0_u8..) {
        let y = y + 3.7 + 3.4 * f64::from(n);
        let line = shorten(line, 2.8, WINDOW.0 - 3.0);
        sheet.text((2.0, y), Anchor::Start, 2.8, &line);
    }
    if row.aim {
        let height = slot.bottom - slot.zone;
        sheet.rect("box", (0.9, slot.zone + 0.6), (WINDOW.0 - 7.5, height));
    }
}

fn several_settings(rule: &Rule<'_>) -> bool {
    let mut settings = rule.chart.rows.iter().map(|row| &row.setting);
    let first = settings.next();
    settings.any(|setting| Some(setting) != first)
}

/// The pressure scale at an edge of a window: above it (-1) or below (1).
fn scale(sheet: &mut ToScale, rule: &Rule<'_>, system: System, (edge, side): Spot, row: &str) {
    let unit = Kind::Pressure.unit(system);
    let marks = rule.pressures(system);
    let x = |value: f64| rule.x(unit.to_si(value));
    let tick = |value: f64, long: f64| [(x(value), edge), (x(value), edge + side * long)];
    let small = marks.marks.iter().filter(|mark| mark.rank < 2);
    let small = small.map(|mark| tick(mark.value, if mark.rank == 1 { 1.9 } else { 1.3 }));
    sheet.lines("lead", &small.collect::<Vec<_>>());
    let base = if side < 0.0 { edge - 2.9 } else { edge + 5.0 };
    let stop = stop(sheet, rule, system, (edge, side), base);
    let data = [("scale", "pressure"), ("row", row), ("unit", unit.symbol)];
    sheet.group(&data, |sheet| {
        for mark in marks.marks.iter().filter(|mark| mark.rank == 2) {
            let value = number(mark.value, marks.figures);
            let written = format!("{}", (mark.value * 1e6).round() / 1e6);
            sheet.group(&[("value", &written)], |sheet| {
                let [from, to] = tick(mark.value, 2.4);
                sheet.line("axis", from, to);
                if x(mark.value) + 0.5 * width(&value, FIGURE) < stop - 0.8 {
                    sheet.text((x(mark.value), base), Anchor::Middle, FIGURE, &value);
                }
            });
        }
    });
    sheet.text((WINDOW.0 - 0.5, base), Anchor::End, 2.8, unit.symbol);
}

/// The limit of the pump pressure, with hatching and a word; where it stands.
fn stop(
    sheet: &mut ToScale,
    rule: &Rule<'_>,
    system: System,
    (edge, side): Spot,
    base: f64,
) -> f64 {
    let right = WINDOW.1 + 1.5;
    let Some((limit, _)) = &rule.chart.stop else {
        return right;
    };
    let at = rule.x(limit.value).max(WINDOW.0);
    if at > right - 2.0 {
        return right;
    }
    let far = edge + side * 5.6;
    sheet.line("main", (at, edge), (at, far));
    let value = show(Kind::Pressure, *limit, system);
    let said = [
        format!("stop: {value}"),
        format!("stop {value}"),
        "stop".into(),
        String::new(),
    ];
    let room = right - at - 2.0;
    let said = said
        .into_iter()
        .find(|said| width(said, FIGURE) <= room)
        .unwrap_or_default();
    sheet.text((at + 1.2, base), Anchor::Start, FIGURE, &said);
    let from = at + 2.4 + width(&said, FIGURE);
    let many = ((right - from) / 1.5).max(0.0) as usize;
    let hatch = (0..many).map(|n| {
        let x = from + 1.5 * n as f64;
        [(x, base + 0.4), (x + 1.4, base - 2.4)]
    });
    sheet.lines("thin", &hatch.collect::<Vec<_>>());
    at
}
