//! From a comparison to the text of its file.

use super::{Cases, Comparison, Doubt, Limits, NozzleChoice, Steps, Vary, Wanted, word_for};
use crate::model::Stated;
use crate::writer::{maybe, pair, put, quoted, stated};
use hydraulics::units::System;
use std::fmt::Write;

/// The text of `comparison`, in a fixed order of keys. Reading it gives the same
/// comparison; comments of the file it came from are not kept (its note is).
///
/// ```
/// use book::comparison::{read, write};
/// use hydraulics::units::System;
/// let text = "[comparison]\nlines = [\"left\"]\n\n[aims]\nflow = 1\n";
/// let comparison = read(text.as_bytes(), "left.toml", System::Us)?;
/// assert_eq!(write(&comparison), text);
/// # Ok::<(), book::Problems>(())
/// ```
pub fn write(comparison: &Comparison) -> String {
    let mut out = String::from("[comparison]\n");
    about(&mut out, comparison);
    section(&mut out, "vary", |out| vary(out, &comparison.vary));
    section(&mut out, "cases", |out| cases(out, &comparison.cases));
    section(&mut out, "limits", |out| limits(out, &comparison.limits));
    section(&mut out, "aims", |out| {
        for (aim, wanted) in &comparison.aims {
            put(out, aim.key(), &weight(wanted));
        }
    });
    section(&mut out, "doubt", |out| doubt(out, &comparison.doubt));
    out
}

/// A section, unless nothing is in it.
fn section(out: &mut String, name: &str, fill: impl FnOnce(&mut String)) {
    let mut inside = String::new();
    fill(&mut inside);
    if !inside.is_empty() {
        // Writing to a String does not fail.
        let _ = write!(out, "\n[{name}]\n{inside}");
    }
}

fn about(out: &mut String, comparison: &Comparison) {
    let text = |text: &String| quoted(text);
    maybe(out, "title", comparison.title.as_ref(), text);
    maybe(out, "note", comparison.note.as_ref(), text);
    maybe(out, "units", comparison.units.as_ref(), |units| {
        match units {
            System::Us => "\"us\"",
            System::Si => "\"si\"",
        }
        .into()
    });
    put(out, "lines", &list(&comparison.lines, text));
    flag(out, "each_line", comparison.each_line);
}

fn flag(out: &mut String, key: &str, on: bool) {
    if on {
        put(out, key, "true");
    }
}

fn list<T>(items: &[T], show: impl Fn(&T) -> String) -> String {
    let items: Vec<String> = items.iter().map(show).collect();
    format!("[{}]", items.join(", "))
}

fn some<T>(out: &mut String, key: &str, items: &[T], show: impl Fn(&T) -> String) {
    if !items.is_empty() {
        put(out, key, &list(items, show));
    }
}

fn vary(out: &mut String, vary: &Vary) {
    some(out, "hose", &vary.hose, |name| quoted(name));
    some(out, "nozzle", &vary.nozzle, nozzle);
    some(out, "length", &vary.length, stated);
    match &vary.pump_pressure {
        Steps::List(values) => some(out, "pump_pressure", values, stated),
        Steps::Range { from, to, step } => {
            let [from, to, step] = [from, to, step].map(stated);
            let range = format!("{{ from = {from}, to = {to}, step = {step} }}");
            put(out, "pump_pressure", &range);
        }
    }
}

/// "twin, high", or in full where that would be read otherwise.
fn nozzle(choice: &NozzleChoice) -> String {
    let plain = |text: &str| text.trim() == text && !text.is_empty();
    let NozzleChoice { nozzle, setting } = choice;
    match setting {
        None if !nozzle.contains(',') => quoted(nozzle),
        None => format!("{{ nozzle = {} }}", quoted(nozzle)),
        Some(setting)
            if plain(nozzle) && !nozzle.contains(',') && plain(setting) && short(choice) =>
        {
            quoted(&format!("{nozzle}, {setting}"))
        }
        Some(setting) => {
            let (nozzle, setting) = (quoted(nozzle), quoted(setting));
            format!("{{ nozzle = {nozzle}, setting = {setting} }}")
        }
    }
}

/// Are both together no longer than a name may be?
fn short(choice: &NozzleChoice) -> bool {
    let letters = |text: &str| text.chars().count();
    let setting = choice.setting.as_deref().map_or(0, letters);
    letters(&choice.nozzle) + setting + 2 <= crate::reader::NAME_LIMIT
}

fn cases(out: &mut String, cases: &Cases) {
    some(out, "rise", &cases.rise, stated);
    some(out, "coefficient", &cases.coefficient, |which| {
        quoted(word_for(*which))
    });
    let low = cases.low_pump_pressure.as_ref();
    maybe(out, "low_pump_pressure", low, stated);
    maybe(out, "gated", cases.gated.as_ref(), stated);
}

fn limits(out: &mut String, limits: &Limits) {
    maybe(out, "people", limits.people.as_ref(), u8::to_string);
    maybe(out, "reaction", limits.reaction.as_ref(), stated);
    maybe(out, "pump_pressure", limits.pump_pressure.as_ref(), stated);
    flag(out, "past_service_pressure", limits.past_service_pressure);
    maybe(out, "flow", limits.flow.as_ref(), stated);
    maybe(out, "tip_pressure", limits.tip_pressure.as_ref(), stated);
    maybe(out, "reach", limits.reach.as_ref(), stated);
    let low = limits.flow_at_low_pump.as_ref();
    maybe(out, "flow_at_low_pump", low, stated);
    let low = limits.tip_pressure_at_low_pump.as_ref();
    maybe(out, "tip_pressure_at_low_pump", low, stated);
    maybe(out, "weight", limits.weight.as_ref(), stated);
    let outlet = limits.outlet_pressure.as_ref();
    maybe(out, "outlet_pressure", outlet, stated);
    maybe(out, "price", limits.price.as_ref(), stated);
    maybe(out, "kinds", limits.kinds.as_ref(), u8::to_string);
}

fn weight(wanted: &Wanted) -> String {
    let weight = stated(&wanted.weight);
    match wanted.near.as_ref().map(Stated::text) {
        None => weight,
        Some(_) => {
            let near = wanted.near.as_ref().map(stated).unwrap_or_default();
            format!("{{ weight = {weight}, near = {near} }}")
        }
    }
}

fn doubt(out: &mut String, doubt: &Doubt) {
    maybe(out, "draws", doubt.draws.as_ref(), u64::to_string);
    maybe(out, "seed", doubt.seed.as_ref(), u64::to_string);
    maybe(out, "days", doubt.days.as_ref(), stated);
    maybe(out, "pump_gauge", doubt.pump_gauge.as_ref(), stated);
    maybe(out, "governor", doubt.governor.as_ref(), stated);
    maybe(out, "length", doubt.length.as_ref(), stated);
    maybe(out, "rise", doubt.rise.as_ref(), pair);
    maybe(out, "gate", doubt.gate.as_ref(), pair);
    maybe(out, "kink", doubt.kink.as_ref(), pair);
    flag(out, "published", doubt.published);
}
