//! What accepting a result did to the book and to its lines.

use book::Book;
use serde_json::{Value, json};
use study::figure::Figure;
use study::proof::{Effect, effects};

use crate::paper::Units;

/// What changed from `before` to `after`, and each line that gives something else.
pub(super) fn words(before: &Book, after: &Book, units: Units) -> Value {
    let lines = effects(before, after);
    let lines = lines.iter().map(|effect| line(effect, units));
    let lines: Vec<Value> = lines.collect();
    let said = study::changes(before, after, units.first()).into_iter();
    // The lines stand in the table, more of them than a sentence names.
    let said = said.map(|said| match said.split_once("; so ") {
        Some((changed, _)) if !lines.is_empty() => changed.to_string(),
        _ => said,
    });
    json!({ "said": said.collect::<Vec<_>>(), "lines": lines })
}

/// Pump pressure and flow before and after, and the limits that it now passes.
fn line(effect: &Effect, units: Units) -> Value {
    let shown = |figure: Option<Figure>| match figure {
        Some(figure) => units.show(figure).text(),
        None => "no answer".into(),
    };
    let [before, after] = effect.pump_pressure.map(shown);
    let [flow_before, flow_after] = effect.flow.map(shown);
    json!([
        effect.title.as_deref().unwrap_or(&effect.line),
        before,
        after,
        flow_before,
        flow_after,
        effect.crosses.join("; "),
    ])
}
