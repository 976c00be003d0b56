//! What several sheets say in the same way.

use serde_json::{Value, json};
use study::answer::{Gating, LineAnswer, TipAnswer};
use study::figure;
use study::notice::{Notice, Weight};

use crate::cautions::{ALWAYS, FOAM};
use crate::paper::Units;
use crate::words;

/// The notice because of which an answer's figures must not be printed.
pub(crate) fn no_answer(answer: &LineAnswer) -> Option<&Notice> {
    let barred = ["not_converged", "nothing_to_aim_at", "below_air_pressure"];
    let notices = answer.notices.iter();
    notices.clone().find(|n| barred.contains(&n.code))
}

/// The notices of `answer` that weigh at least `least`.
pub(crate) fn notices(answer: &LineAnswer, least: Weight, units: Units) -> Vec<Value> {
    let heavy = answer.notices.iter().filter(|n| n.weight >= least);
    heavy.map(|notice| words::notice(notice, units)).collect()
}

/// What a tip is for, with its name: "twin, high: flow 150 gpm".
pub(crate) fn aim(tip: &TipAnswer, units: Units) -> String {
    format!("{}: {}", tip.called(), aim_alone(tip, units))
}

/// What a tip is for: "flow 150 gpm, reaction at most 95 lbf".
pub(crate) fn aim_alone(tip: &TipAnswer, units: Units) -> String {
    let aims = tip.aim.iter();
    let aims = aims
        .map(|(name, figure)| format!("{} {}", name.replace('_', " "), units.show(*figure).text()));
    let aims: Vec<String> = aims.collect();
    match aims.is_empty() {
        true => "none in the book, so its rating".into(),
        false => aims.join(", "),
    }
}

/// The tips of the line itself, each once.
pub(crate) fn own_tips(answer: &LineAnswer) -> impl Iterator<Item = &TipAnswer> {
    answer.tips.iter().filter(|tip| tip.line == answer.line)
}

/// Which legs to gate, and how far.
pub(crate) fn gating(gating: &Gating, units: Units) -> Vec<String> {
    let pressure = units.show(figure::pressure(gating.pump_pressure)).text();
    let gates = gating.gates.iter().map(|gate| {
        let excess = units.show(figure::pressure(gate.excess)).text();
        let how_far = match gate.gate {
            Some(open) => format!("about {} open", units.show(figure::share(open)).text()),
            None => "there is no gate in the book that takes so much: gate by the gauge".into(),
        };
        format!(
            "Gate the leg to {}: it must take {excess}, {how_far}.",
            gate.place
        )
    });
    let first =
        format!("With the easier legs gated, {pressure} at the pump gives every tip its aim.");
    std::iter::once(first).chain(gates).collect()
}

/// The cautions of a sheet about these answers.
pub(crate) fn cautions(foam: bool) -> Vec<&'static str> {
    ALWAYS.into_iter().chain(foam.then_some(FOAM)).collect()
}

/// Is foam made on this line?
pub(crate) fn makes_foam(answer: &LineAnswer) -> bool {
    !answer.eductors.is_empty() || answer.tips.iter().any(|tip| tip.attachment.is_some())
}

/// What stands in the place of figures that there are none of.
pub(crate) fn refused(notice: &Notice, units: Units) -> Value {
    words::notice(notice, units)
}

/// The same, where the question could not be put.
pub(crate) fn refused_because(error: &dyn std::fmt::Display) -> Value {
    json!({
        "weight": "Limit",
        "text": words::capital(&format!("{error}.")),
        "mend": "Mend the line in the book and print again.",
    })
}
