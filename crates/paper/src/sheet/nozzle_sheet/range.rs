//! What an automatic nozzle does below, in and above its range, in words.

use book::NozzleItem;
use serde_json::{Value, json};
use study::figure;

use crate::paper::Units;
use crate::sheet::nozzles;

/// Three rows: the word, where it holds, what the nozzle does there. None for a nozzle
/// that is not automatic.
pub(super) fn words(item: &NozzleItem, setting: Option<&str>, units: Units) -> Value {
    let Some(range) = nozzles::automatic(item, setting) else {
        return json!([]);
    };
    let flows = range.flow.each_ref().map(|q| figure::flow(q.get()));
    let pressures = range.pressure.each_ref().map(|p| figure::pressure(p.get()));
    let [low_flow, high_flow] = flows.map(|flow| units.show(flow).text());
    let [low, high] = pressures.map(|pressure| units.show(pressure).text());
    json!([
        [
            "Below",
            format!("under {low_flow} and {low}"),
            "The baffle rests on its stop: a fixed opening. The stream is weak; reach falls fast with pressure.",
        ],
        [
            "In",
            format!(
                "{} at {}",
                nozzles::between(flows, units),
                nozzles::between(pressures, units)
            ),
            "The baffle moves: flow changes much, pressure little. The stream looks good all over the range, so look at the flow and not at the stream.",
        ],
        [
            "Above",
            format!("over {high_flow} and {high}"),
            "The baffle is as far open as it goes: a fixed opening again. Pressure and reaction rise fast with flow.",
        ],
    ])
}
