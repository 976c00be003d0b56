//! The card of one line: what it is, what the pump gives, what the crew gets, what more
//! hose takes, and what to do when the stream is weak.

mod weak;

use book::{Book, Conditions, Part, Parts};
use hydraulics::units::System;
use serde_json::{Value, json};
use study::answer::{LineAnswer, TipAnswer, regime_word};
use study::figure;
use study::notice::Weight;
use study::{Changed, Next, what_next};

use super::common::{aim, aim_alone, gating, notices, own_tips};
use super::of_line::{answered, begun};
use super::{Drawn, Kind, Sheet};
use crate::paper::{PaperError, Units};
use crate::words::said;

/// The card of `line`.
///
/// # Errors
/// [`PaperError::Unknown`] when the book has no such line. A line without an answer has a
/// card that says why, without a number.
///
/// ```
/// let text = b"[book]\nname = 'Example'\n[line.left]\n\
///     parts = [{ hose = '2.5 in', length = '200 ft' }, { nozzle = '1-1/8 in smooth bore' }]\n\
///     aim = { tip_pressure = '50 psi' }\n";
/// let book = book::read(text, "example.toml")?;
/// let card = paper::line_card(&book, "left", paper::Units::Us)?;
/// // 266 gpm (case NZ-U-21); 2 x 2.66^2 x 2 = 28 psi, and 50 at the tip.
/// assert_eq!(card.body["pump"]["value"], "78");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn line_card(book: &Book, line: &str, units: Units) -> Result<Sheet, PaperError> {
    let (mut sheet, entry) = begun(Kind::LineCard, book, line, units)?;
    let mut parts = Vec::new();
    list_parts(book, &entry.parts, 0, units, &mut parts);
    for (number, part) in parts.iter().enumerate() {
        sheet.tell(
            format!("part {}", number + 1),
            part["text"].as_str().unwrap_or_default(),
        );
    }
    sheet.body["parts"] = json!(parts);
    if let Some(answer) = answered(&mut sheet, book) {
        fill(&mut sheet, book, &answer);
    }
    Ok(sheet)
}

fn fill(sheet: &mut Sheet, book: &Book, answer: &LineAnswer) {
    let units = sheet.units;
    tell(sheet, answer);
    let system = units.first();
    sheet.drawings.extend(profile(book, answer, system));
    let next = what_next(book, &answer.line, &Conditions::default(), system).unwrap_or_default();
    let extend = extends(sheet, answer, &next);
    let weak = weak::steps(sheet, book, answer, &next);
    let body = &mut sheet.body;
    body["pump"] = json!(units.show(figure::pressure(answer.pump_pressure)));
    body["flow"] = json!(units.show(figure::flow(answer.flow)));
    body["from"] = json!(answer.basis_words());
    body["tips"] = own_tips(answer).map(|tip| tip_json(tip, units)).collect();
    body["gating"] = json!(
        answer
            .gating
            .as_ref()
            .map(|g| gating(g, units))
            .unwrap_or_default()
    );
    body["eductors"] = eductors(answer, units);
    body["extend"] = extend;
    body["weak"] = weak;
    body["notices"] = json!(notices(answer, Weight::Caution, units));
}

/// The line from pump to tip, as on screen.
fn profile(book: &Book, answer: &LineAnswer, system: System) -> Option<Drawn> {
    let layout = book::layout(book, &answer.line, &Conditions::default()).ok()?;
    Some(picture::profile(&layout, answer, system).into())
}

fn tell(sheet: &mut Sheet, answer: &LineAnswer) {
    sheet.tell("pump pressure", figure::pressure(answer.pump_pressure));
    sheet.tell("flow", figure::flow(answer.flow));
    for tip in own_tips(answer) {
        let place = &tip.place;
        sheet.tell(format!("{place}: flow"), figure::flow(tip.flow));
        sheet.tell(
            format!("{place}: tip pressure"),
            figure::pressure(tip.tip_pressure),
        );
        sheet.tell(format!("{place}: reaction"), figure::force(tip.reaction));
        sheet.tell(format!("{place}: held by"), tip.takes());
        sheet.tell(
            format!("{place}: effective reach"),
            figure::length(tip.effective_reach),
        );
        sheet.tell(
            format!("{place}: greatest throw"),
            figure::length(tip.maximum_throw),
        );
        sheet.tell(format!("{place}: aim"), aim(tip, sheet.units));
    }
    if let Some(gates) = &answer.gating {
        sheet.tell("gating", gating(gates, sheet.units).join(" "));
    }
    for eductor in &answer.eductors {
        for (name, fact) in eductor.facts() {
            sheet.tell(format!("eductor: {name}"), fact);
        }
    }
    for notice in answer
        .notices
        .iter()
        .filter(|n| n.weight >= Weight::Caution)
    {
        sheet.tell(
            format!("{} {}", notice.code, notice.place),
            notice.text.clone(),
        );
    }
}

fn tip_json(tip: &TipAnswer, units: Units) -> Value {
    json!({
        "name": tip.called(),
        "place": tip.place,
        "aim": aim_alone(tip, units),
        "aim_met": tip.aim_met,
        "regime": tip.regime.map(regime_word),
        "flow": units.show(figure::flow(tip.flow)),
        "tip_pressure": units.show(figure::pressure(tip.tip_pressure)),
        "reaction": units.show(figure::force(tip.reaction)),
        "reaction_form": tip.reaction_form,
        "people": tip.takes(),
        "reach": units.show(figure::length(tip.effective_reach)),
        "throw": units.show(figure::length(tip.maximum_throw)),
        "attachment": tip.attachment.as_ref().map(|a| a.name.as_str()),
    })
}

fn eductors(answer: &LineAnswer, units: Units) -> Value {
    let all = answer.eductors.iter().flat_map(|eductor| eductor.facts());
    let facts = all.filter_map(|(name, fact)| Some((name, said(&fact, units)?)));
    json!(facts.collect::<Vec<_>>())
}

/// Rows of the table of hose added: what, the pump pressure for the same flow, and the
/// flow and tip pressure when nobody tells the pump.
fn extends(sheet: &mut Sheet, answer: &LineAnswer, next: &[Next]) -> Value {
    let units = sheet.units;
    let mut rows = Vec::new();
    for item in next.iter().filter(|n| n.code == "extend") {
        let Some(Changed::Added(_, added)) = &item.change else {
            rows.push(json!({ "refused": item.refused }));
            continue;
        };
        let length = units.show(figure::length(added.length)).text();
        let mut row = json!({
            "more": format!("+{length}"),
            "hose": added.hose,
            "at": own_tips(answer).find(|tip| tip.place == item.place).map(TipAnswer::called),
            "title": item.title,
            "words": item.words,
        });
        for gain in &item.figures {
            sheet.tell(format!("{}, {}", item.title, gain.name), gain.after);
            let key = match &*gain.name {
                "pump pressure for the same flow" => "pump",
                "flow at the same pump pressure" => "flow",
                "tip pressure at the same pump pressure" => "tip_pressure",
                _ => continue,
            };
            // An eductor keeps its rated inlet pressure whatever lies past it.
            row[key] = match key == "pump" && !answer.eductors.is_empty() {
                true => json!({ "value": "eductor: keep", "unit": "", "also": null }),
                false => json!(units.show(gain.after)),
            };
        }
        rows.push(row);
    }
    json!(rows)
}

/// The parts in words, each with how deep it lies in rows.
fn list_parts(book: &Book, parts: &Parts, depth: usize, units: Units, list: &mut Vec<Value>) {
    for part in parts {
        match part {
            Part::Branches(rows) | Part::Legs(rows) => {
                let word = if matches!(part, Part::Legs(_)) {
                    "Leg"
                } else {
                    "Branch"
                };
                for (number, row) in rows.iter().enumerate() {
                    let text = format!("{word} {}", number + 1);
                    list.push(json!({ "text": text, "depth": depth, "row": true }));
                    list_parts(book, row, depth + 1, units, list);
                }
            }
            _ => list.push(json!({ "text": part_words(book, part, units), "depth": depth })),
        }
    }
}

fn part_words(book: &Book, part: &Part, units: Units) -> String {
    let length = |l| units.show(figure::length(l)).text();
    let rise = match part {
        Part::Hose(part) => part.rise.as_ref(),
        Part::Nozzle(part) => part.rise.as_ref(),
        Part::Appliance(part) => part.rise.as_ref(),
        Part::Branches(_) | Part::Legs(_) => None,
    };
    let rise = match rise.map(book::Stated::get).filter(|r| r.value != 0.0) {
        Some(rise) if rise.value > 0.0 => format!(", {} up", length(rise)),
        Some(rise) => format!(", {} down", length(-rise)),
        None => String::new(),
    };
    let words = match part {
        Part::Hose(part) => {
            let size = book.hose(&part.hose).map(|hose| hose.item.size.text());
            let size = size.map(|size| format!(" ({size})"));
            let size = size
                .filter(|size| !size.contains(&part.hose))
                .unwrap_or_default();
            format!("{} hose {}{size}", length(part.length.get()), part.hose)
        }
        Part::Nozzle(part) => {
            let setting = part.setting.as_ref().map(|s| format!(", setting {s}"));
            let foam = part
                .attachment
                .as_ref()
                .map(|a| format!(", attachment {a}"));
            let extra = [setting, foam].into_iter().flatten().collect::<String>();
            format!("Nozzle {}{extra}", part.nozzle)
        }
        Part::Appliance(part) => {
            let ratio = part.ratio.as_ref().map(|r| format!(", {}", r.text()));
            format!("{}{}", part.appliance, ratio.unwrap_or_default())
        }
        Part::Branches(_) | Part::Legs(_) => String::new(),
    };
    format!("{words}{rise}")
}
