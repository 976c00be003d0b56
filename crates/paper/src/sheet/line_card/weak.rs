//! What to do when the stream is weak: what it can be, by which figures it shows, and
//! what mends it.

use book::{Book, Conditions};
use serde_json::{Value, json};
use study::answer::{LineAnswer, TipAnswer};
use study::{Next, figure};

use crate::sheet::Sheet;

/// A cause of a weak stream, and what to do about it.
struct Cause {
    /// Its code among what can happen next.
    code: &'static str,
    words: &'static str,
    mend: &'static str,
}

const CAUSES: [Cause; 3] = [
    Cause {
        code: "pump_lower",
        words: "The pump is low",
        mend: "Read the gauge of this outlet; bring it to the pump pressure above, slowly.",
    },
    Cause {
        code: "kink",
        words: "The hose is kinked",
        mend: "Walk the hose from the nozzle back and straighten it.",
    },
    Cause {
        code: "screen",
        words: "The nozzle or its screen is clogged",
        mend: "Flush if the nozzle can; else withdraw, shut down, and clear the screen.",
    },
];

/// The steps in their order, each with the figures of an example where the line has one.
pub(super) fn steps(sheet: &mut Sheet, book: &Book, answer: &LineAnswer, next: &[Next]) -> Value {
    let mut steps = vec![json!({
        "cause": "The nozzle is not fully open, or a gate on the way is part shut",
        "mend": "Open it fully, slowly. In danger: withdraw first, then look for the cause.",
    })];
    for cause in &CAUSES {
        let example = next.iter().find(|n| n.code == cause.code);
        let example = example.filter(|n| n.refused.is_none() && !n.figures.is_empty());
        let Some(example) = example else { continue };
        steps.push(json!({
            "cause": cause.words,
            "example": in_figures(sheet, example),
            "mend": cause.mend,
        }));
    }
    if let Some(mend) = other_setting(sheet, book, answer) {
        steps.push(json!({ "cause": "The pump cannot give more", "mend": mend }));
    }
    json!(steps)
}

/// "A kink that closes 40 % of hose attack: flow 130 gpm, tip pressure 96 psi".
fn in_figures(sheet: &mut Sheet, example: &Next) -> String {
    let units = sheet.units;
    let gains = example.figures.iter();
    let gains = gains.filter(|g| matches!(&*g.name, "flow" | "tip pressure"));
    let mut words = Vec::new();
    for gain in gains {
        sheet.tell(
            format!("{}, {} {}", example.title, gain.place, gain.name),
            gain.after,
        );
        let place = match gain.place.as_str() {
            "" => String::new(),
            place => format!("{place} "),
        };
        words.push(format!(
            "{place}{} {}",
            gain.name,
            units.show(gain.after).text()
        ));
    }
    format!("{}: {}.", example.title, words.join(", "))
}

/// The setting of the first tip's automatic nozzle that gives more flow at the same pump
/// pressure, in words; `None` when it has none.
fn other_setting(sheet: &mut Sheet, book: &Book, answer: &LineAnswer) -> Option<String> {
    let tip = answer.tips.iter().find(|tip| tip.regime.is_some())?;
    let nozzle = book.nozzle(&tip.nozzle)?.item;
    let settings = nozzle.settings().into_iter();
    let others = settings.filter(|name| Some(*name) != tip.setting.as_deref());
    let tried = others.filter_map(|name| Some((name, at_setting(book, answer, tip, name)?)));
    let (name, best) = tried
        .filter(|(_, other)| other.flow > tip.flow && other.tip_pressure < tip.tip_pressure)
        .max_by(|a, b| a.1.flow.value.total_cmp(&b.1.flow.value))?;
    let (flow, pressure) = (figure::flow(best.flow), figure::pressure(best.tip_pressure));
    sheet.tell(format!("setting {name}: flow"), flow);
    sheet.tell(format!("setting {name}: tip pressure"), pressure);
    let reaction = figure::force(best.reaction);
    sheet.tell(format!("setting {name}: reaction"), reaction);
    let units = sheet.units;
    Some(format!(
        "Turn nozzle {} to setting {name}: at the same pump pressure flow {}, tip pressure {}, reaction {} ({}). Tell the pump.",
        tip.nozzle,
        units.show(flow).text(),
        units.show(pressure).text(),
        units.show(reaction).text(),
        best.takes()
    ))
}

/// What `tip` gives on another setting, the pump as it is.
fn at_setting(book: &Book, answer: &LineAnswer, tip: &TipAnswer, name: &str) -> Option<TipAnswer> {
    let mut conditions = Conditions {
        pump_pressure: Some(answer.pump_pressure),
        ..Conditions::default()
    };
    let path = tip.place.parse().ok()?;
    conditions.changes.entry(path).or_default().setting = Some(name.into());
    let other = study::solve(book, &answer.line, &conditions).ok()?;
    let mut tips = other.tips.into_iter();
    tips.find(|t| t.place == tip.place && t.line == tip.line)
}
