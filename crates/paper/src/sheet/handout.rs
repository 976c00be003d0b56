//! A handout for a class about one line: what it gives, why the pump pressure is what it
//! is, what happens next, and questions with their answers.

mod questions;
mod sum;

use book::{Book, Conditions};
use serde_json::{Value, json};
use study::answer::{LineAnswer, TipAnswer, regime_word};
use study::figure;
use study::notice::Weight;
use study::{Changed, Next, what_next};

use super::common::{aim, aim_alone, gating, notices, own_tips};
use super::of_line::{answered, begun};
use super::{Kind, Sheet};
use crate::paper::{PaperError, Units};
use crate::words::capital;

/// More hose than this, in m, is a question for the class and not told beforehand.
const ASKED: f64 = 20.0;

/// The handout about `line`.
///
/// # Errors
/// [`PaperError::Unknown`] when the book has no such line. A line without an answer has a
/// handout that says why, without a number.
///
/// ```
/// let text = b"[book]\nname = 'Example'\n[line.left]\n\
///     parts = [{ hose = '2.5 in', length = '200 ft' }, { nozzle = '1-1/8 in smooth bore' }]\n\
///     aim = { tip_pressure = '50 psi' }\n";
/// let book = book::read(text, "example.toml")?;
/// let sheet = paper::handout(&book, "left", paper::Units::Us)?;
/// // 50 at the tip, and 2 x 2.66^2 x 2 = 28 psi in the hose: 78 at the pump.
/// let sum = sheet.body["sum"]["terms"].as_array().ok_or("no sum")?;
/// assert_eq!((&sum[0]["shown"]["value"], &sum[1]["shown"]["value"]), (&"50.0".into(), &"28.3".into()));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn handout(book: &Book, line: &str, units: Units) -> Result<Sheet, PaperError> {
    let (mut sheet, _) = begun(Kind::Handout, book, line, units)?;
    if let Some(answer) = answered(&mut sheet, book) {
        fill(&mut sheet, book, &answer);
    }
    Ok(sheet)
}

fn fill(sheet: &mut Sheet, book: &Book, answer: &LineAnswer) {
    let units = sheet.units;
    let conditions = Conditions::default();
    let next = what_next(book, &answer.line, &conditions, units.first()).unwrap_or_default();
    sheet.tell("pump pressure", figure::pressure(answer.pump_pressure));
    sheet.tell("flow", figure::flow(answer.flow));
    let tips: Vec<Value> = own_tips(answer).map(|tip| tip_json(sheet, tip)).collect();
    if let Ok(layout) = book::layout(book, &answer.line, &conditions) {
        let drawing = picture::profile(&layout, answer, units.first());
        sheet.drawings.push(drawing.into());
        sheet.body["sum"] = sum::of(sheet, &layout, answer);
    }
    let told = next
        .iter()
        .filter(|next| is_of_line(next) && !is_asked(next));
    let told = told.filter_map(|next| happens(sheet, answer, next));
    let told: Vec<Value> = told.collect();
    let asked = questions::of(sheet, book, answer, &next);
    let gates = answer.gating.as_ref().map(|g| gating(g, units));
    for notice in heavy(answer) {
        let name = format!("{} {}", notice.code, notice.place);
        sheet.tell(name, notice.text.clone());
    }
    let body = &mut sheet.body;
    body["pump"] = json!(units.show(figure::pressure(answer.pump_pressure)));
    body["flow"] = json!(units.show(figure::flow(answer.flow)));
    body["from"] = json!(answer.basis_words());
    body["tips"] = json!(tips);
    body["gating"] = json!(gates.unwrap_or_default());
    body["next"] = json!(told);
    body["questions"] = asked;
    body["notices"] = json!(notices(answer, Weight::Caution, units));
}

fn heavy(answer: &LineAnswer) -> impl Iterator<Item = &study::notice::Notice> {
    let all = answer.notices.iter();
    all.filter(|notice| notice.weight >= Weight::Caution)
}

fn tip_json(sheet: &mut Sheet, tip: &TipAnswer) -> Value {
    let (units, place) = (sheet.units, &tip.place);
    let figures = [
        ("flow", figure::flow(tip.flow)),
        ("tip pressure", figure::pressure(tip.tip_pressure)),
        ("reaction", figure::force(tip.reaction)),
        ("effective reach", figure::length(tip.effective_reach)),
        ("greatest throw", figure::length(tip.maximum_throw)),
    ];
    for (name, figure) in figures {
        sheet.tell(format!("{place}: {name}"), figure);
    }
    sheet.tell(format!("{place}: held by"), tip.takes());
    sheet.tell(format!("{place}: aim"), aim(tip, units));
    let [flow, pressure, reaction, reach, throw] = figures.map(|(_, figure)| units.show(figure));
    json!({
        "name": tip.called(),
        "place": place,
        "aim": aim_alone(tip, units),
        "regime": tip.regime.map(regime_word),
        "flow": flow,
        "tip_pressure": pressure,
        "reaction": reaction,
        "reaction_form": tip.reaction_form,
        "people": tip.takes(),
        "reach": reach,
        "throw": throw,
    })
}

/// The nozzle at `place`, by which a class knows it better; `place` where two tips have
/// the same.
fn called<'a>(answer: &'a LineAnswer, place: &'a str) -> &'a str {
    let Some(here) = own_tips(answer).find(|tip| tip.place == place) else {
        return place;
    };
    let same = own_tips(answer).filter(|tip| tip.nozzle == here.nozzle);
    match same.count() {
        1 => &here.nozzle,
        _ => place,
    }
}

/// Is it about this line alone? What other lines and the water do to it is told by the
/// scenes.
fn is_of_line(next: &Next) -> bool {
    !matches!(next.code, "second_line" | "hydrant_weaker")
}

/// Is it left for the class to work out?
fn is_asked(next: &Next) -> bool {
    match (next.code, &next.change) {
        ("pump_lower", _) => true,
        ("extend", Some(Changed::Added(_, added))) => added.length.value > ASKED,
        _ => false,
    }
}

/// What happens, with its figures before and after; `None` where there is nothing to
/// say.
fn happens(sheet: &mut Sheet, answer: &LineAnswer, next: &Next) -> Option<Value> {
    if next.refused.is_some() || next.figures.is_empty() {
        return None;
    }
    let units = sheet.units;
    let mut rows = Vec::new();
    let most = if own_tips(answer).count() > 1 { 6 } else { 3 };
    for gain in next.figures.iter().take(most) {
        let name = match called(answer, &gain.place) {
            "" => capital(&gain.name),
            place => format!("{place}: {}", gain.name),
        };
        sheet.tell(format!("{}, {name}", next.title), gain.after);
        rows.push(json!({
            "name": name,
            "before": gain.before.map(|before| units.show(before).text()),
            "after": units.show(gain.after).text(),
        }));
    }
    Some(json!({ "title": next.title, "rows": rows, "words": next.words }))
}
