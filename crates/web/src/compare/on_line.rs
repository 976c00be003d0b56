//! A choice on its line's own page, so that its numbers can be checked there.

use crate::address;
use crate::workbench::Opened;
use book::{Book, Change, LayoutError};
use hydraulics::units::{Kind, Length, Measure, System, decimal, figure};
use study::choose::{OfLine, conditions_of};

/// The address of the line with what `on` puts on it, the pump where the choice has it.
/// `None` where the line cannot be laid out so.
pub(super) fn link(opened: &Opened, on: &OfLine) -> Option<String> {
    let pairs = pairs(&opened.book, on).ok()?;
    let pairs = pairs
        .iter()
        .map(|(key, value)| (key.as_str(), value.as_str()));
    Some(address::asked(address::line(&opened.slug, &on.line), pairs))
}

fn pairs(book: &Book, on: &OfLine) -> Result<Vec<(String, String)>, LayoutError> {
    let conditions = conditions_of(book, on)?;
    let mut pairs = Vec::new();
    for (path, change) in &conditions.changes {
        let mut say = |hand: &str, value: String| pairs.push((format!("{hand} {path}"), value));
        if let Some(hose) = &change.hose {
            say("hose", hose.clone());
        }
        if change
            .extra_length
            .is_some_and(|more| more.value.abs() > 1e-6)
        {
            say("length", exact(Kind::Length, on.length));
        }
        match (&change.nozzle, &change.setting) {
            (Some(nozzle), setting) => say("nozzle", put_on(nozzle, setting.as_deref())),
            (None, Some(setting)) => say("setting", setting.clone()),
            (None, None) => {}
        }
        debug_assert!(only_equipment(change), "{change:?}");
    }
    pairs.push(("pump".into(), exact(Kind::Pressure, on.pump_pressure)));
    // The units of what has none of its own.
    pairs.push(("in".into(), "us".into()));
    Ok(pairs)
}

fn put_on(nozzle: &str, setting: Option<&str>) -> String {
    match setting {
        Some(setting) => format!("{nozzle}, {setting}"),
        None => nozzle.into(),
    }
}

/// A quantity in US units, without the last unsteady digits.
fn exact<Q: Measure>(kind: Kind, quantity: Q) -> String {
    let value = decimal(figure(kind, quantity, System::Us), 4);
    let value = match value.contains('.') {
        true => value
            .trim_end_matches('0')
            .trim_end_matches('.')
            .to_string(),
        false => value,
    };
    format!("{value} {}", kind.unit(System::Us).symbol)
}

/// Nothing else of a line is changed by a choice.
fn only_equipment(change: &Change) -> bool {
    let none = Change {
        hose: None,
        nozzle: None,
        setting: None,
        extra_length: None::<Length>,
        ..change.clone()
    };
    none == Change::default()
}
