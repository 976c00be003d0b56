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
    json!({
        "said": study::changes(before, after, units.first()),
        "lines": lines.collect::<Vec<_>>(),
    })
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
