//! The slide: the rise, and for each flow the lengths of hose.

use super::{ARROW, OVERHANG, Rule, SLEEVE, SLIDE, Slot, TRAVEL, WINDOW};
use crate::canvas::Anchor;
use crate::drawing::Drawing;
use crate::text::{shorten, width};
use crate::to_scale::{ToScale, number};
use hydraulics::units::{Kind, Length, Measure, System, show};
use study::SlideRow;

/// The slide is so much less high than the panel, at either edge.
const PLAY: f64 = 1.0;

/// Figures of lengths, mm high.
const FIGURE: f64 = 3.2;

/// Marks begin behind the sleeve, so that none ends short of its edge.
const BEHIND: f64 = 0.8;

pub(super) fn draw(rule: &Rule<'_>) -> Drawing {
    let height = rule.panel() - 2.0 * PLAY;
    let mut sheet = ToScale::new(SLIDE, height + 10.0);
    sheet.rect("thin", (0.0, 0.0), (SLIDE, height));
    grips(&mut sheet, rule, height);
    rise(&mut sheet, rule);
    for (number, row) in rule.chart.rows.iter().enumerate() {
        lengths(&mut sheet, rule, (number, row));
    }
    sheet.bar((6.0, height + 8.0), rule.first);
    let caption = format!(
        "Slide of the slide chart of {}: lengths of hose {} for each flow, and the rise of the tip from {} to {}.",
        rule.title,
        rule.chart.hose,
        show(Kind::Length, rule.rises.0, rule.first),
        show(Kind::Length, rule.rises.1, rule.first),
    );
    sheet.finish("Slide of a slide chart", caption, rule.table())
}

/// A row of the panel, on the slide.
fn on_slide(slot: Slot) -> Slot {
    Slot {
        zone: slot.zone - PLAY,
        top: slot.top - PLAY,
        bottom: slot.bottom - PLAY,
    }
}

/// Where to hold the slide, what it is, and how far it may be pulled.
fn grips(sheet: &mut ToScale, rule: &Rule<'_>, height: f64) {
    let room = height - 8.0;
    let middle = 0.5 * height;
    sheet.upward((7.0, middle), 4.2, &shorten(rule.title, 4.2, room));
    let hose = format!("hose {}, nozzle {}", rule.chart.hose, rule.chart.nozzle);
    sheet.upward((13.0, middle), 3.0, &shorten(&hose, 3.0, room));
    sheet.upward((SLIDE - 3.0, middle), 3.4, "✂ cut the outline · hold here");
    for (at, anchor, from) in [
        (OVERHANG + TRAVEL.1, Anchor::End, -1.2),
        (OVERHANG + SLEEVE - TRAVEL.0, Anchor::Start, 1.2),
    ] {
        sheet.line("main", (at, 0.0), (at, 6.0));
        sheet.text((at + from, 4.6), anchor, 3.0, "stop");
    }
}

fn rise(sheet: &mut ToScale, rule: &Rule<'_>) {
    let slot = on_slide(rule.arrow_slot());
    side(
        sheet,
        rule,
        rule.first,
        (slot.top - BEHIND, slot.top, slot.top + 6.0),
        1.0,
    );
    if let Some(second) = rule.second {
        let base = slot.bottom - 2.9;
        side(
            sheet,
            rule,
            second,
            (slot.bottom + BEHIND, slot.bottom, base),
            -1.0,
        );
    }
}

/// The rise in one system of units, from an edge of its window inward.
fn side(
    sheet: &mut ToScale,
    rule: &Rule<'_>,
    system: System,
    (from, edge, base): (f64, f64, f64),
    inward: f64,
) {
    let unit = Kind::Length.unit(system);
    let marks = rule.rise_marks(system);
    // Higher is farther to the left: the slide moves right for it.
    let x = |value: f64| OVERHANG + ARROW - rule.travel(Length::of_si(unit.to_si(value)));
    let base = match rule.second {
        Some(_) if inward > 0.0 => edge + 4.9,
        _ => base,
    };
    for mark in &marks.marks {
        let at = x(mark.value);
        let long = 1.3 + 0.5 * f64::from(mark.rank);
        if mark.rank < 2 {
            sheet.line("lead", (at, from), (at, edge + inward * long));
            continue;
        }
        let written = format!("{}", (mark.value * 1e6).round() / 1e6);
        sheet.group(&[("rise", &written), ("unit", unit.symbol)], |sheet| {
            sheet.line("axis", (at, from), (at, edge + inward * long));
            sheet.text(
                (at, base),
                Anchor::Middle,
                2.8,
                &signed(mark.value, marks.figures),
            );
        });
    }
}

fn signed(value: f64, step: f64) -> String {
    match value > 1e-9 {
        true => format!("+{}", number(value, step)),
        false => number(value, step),
    }
}

fn lengths(sheet: &mut ToScale, rule: &Rule<'_>, (row, entry): (usize, &SlideRow)) {
    let slot = on_slide(rule.slot(row));
    let row = row.to_string();
    let unit = Kind::Length.unit(rule.first);
    // What the slide can bring into the window.
    let seen = WINDOW.0 - TRAVEL.0..=SLEEVE + 2.5;
    let mut marks = Vec::new();
    for (length, pressure) in rule.chart.lengths.iter().zip(&entry.level) {
        let Some(pressure) = pressure else { continue };
        let at = rule.x(pressure.value);
        if seen.contains(&at) {
            marks.push((OVERHANG + at, *length, *length == rule.chart.carried));
        }
    }
    let figured = figured(rule, &marks);
    sheet.group(
        &[("scale", "length"), ("row", &row), ("unit", unit.symbol)],
        |sheet| {
            for (n, (at, length, carried)) in marks.iter().enumerate() {
                let written = format!("{}", (unit.from_si(length.value) * 1e6).round() / 1e6);
                sheet.group(&[("value", &written)], |sheet| {
                    let has = figured.contains(&n);
                    mark(sheet, rule, &slot, (*at, *length), (has, *carried));
                });
            }
        },
    );
}

/// Which marks have room for their figure: the carried length first, then every other
/// and the rest.
fn figured(rule: &Rule<'_>, marks: &[(f64, Length, bool)]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..marks.len()).collect();
    let round = |length: Length| {
        let value = Kind::Length.unit(rule.first).from_si(length.value);
        let hundreds = value
            / if rule.first == System::Us {
                100.0
            } else {
                30.0
            };
        u8::from((hundreds - hundreds.round()).abs() > 1e-6)
    };
    order.sort_by_key(|&n| marks.get(n).map(|m| (!m.2, round(m.1))));
    let mut taken: Vec<(f64, f64)> = Vec::new();
    let mut figured = Vec::new();
    for n in order {
        let Some(&(at, length, carried)) = marks.get(n) else {
            continue;
        };
        let (left, right) = extent(rule, at, length, carried);
        if taken
            .iter()
            .all(|(l, r)| right + 0.8 < *l || *r + 0.8 < left)
        {
            taken.push((left, right));
            figured.push(n);
        }
    }
    figured
}

/// From where to where the figure of a mark reaches.
fn extent(rule: &Rule<'_>, at: f64, length: Length, carried: bool) -> (f64, f64) {
    let wide = width(&feet(rule.first, length), FIGURE);
    let frame = if carried { 0.7 } else { 0.0 };
    match rule.second {
        // Beside its mark, which runs through the window.
        Some(second) => {
            let wide = wide.max(width(&feet(second, length), 2.8));
            (at, at + 0.7 + wide + 2.0 * frame)
        }
        None => (at - 0.5 * wide - frame, at + 0.5 * wide + frame),
    }
}

fn feet(system: System, length: Length) -> String {
    number(Kind::Length.unit(system).from_si(length.value), 1.0)
}

fn mark(
    sheet: &mut ToScale,
    rule: &Rule<'_>,
    slot: &Slot,
    (at, length): (f64, Length),
    (figured, carried): (bool, bool),
) {
    let class = if figured { "axis" } else { "lead" };
    let (left, right) = extent(rule, at, length, carried);
    let figure = feet(rule.first, length);
    match rule.second {
        Some(second) => {
            sheet.line(class, (at, slot.top - BEHIND), (at, slot.bottom + BEHIND));
            if figured {
                let x = at + 0.7 + if carried { 0.5 } else { 0.0 };
                sheet.text((x, slot.top + 4.0), Anchor::Start, FIGURE, &figure);
                let below = feet(second, length);
                sheet.text((x, slot.bottom - 1.4), Anchor::Start, 2.8, &below);
            }
        }
        None => {
            let long = if figured { 2.6 } else { 1.7 };
            sheet.line(class, (at, slot.top - BEHIND), (at, slot.top + long));
            if figured {
                sheet.text((at, slot.top + 6.3), Anchor::Middle, FIGURE, &figure);
            }
        }
    }
    if carried && figured {
        let top = slot.top + if rule.second.is_some() { 0.9 } else { 3.2 };
        let bottom = slot.bottom - if rule.second.is_some() { 0.7 } else { 0.9 };
        sheet.rect("thin", (left, top), (right - left, bottom - top));
    }
}
