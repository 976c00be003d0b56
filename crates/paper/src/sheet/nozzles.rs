//! Nozzles as several sheets speak of them.

use book::{Book, NozzleItem, NozzleKind, Part, SettingError, catalogue};
use hydraulics::units::{Kind, Length, System};
use study::figure::{self, Figure};

use crate::paper::Units;

/// The nozzles of `parts`, each once, in the order in which the water meets them.
pub(crate) fn in_parts<'a>(parts: &'a [Part], names: &mut Vec<&'a str>) {
    for part in parts {
        match part {
            Part::Nozzle(part) if !names.contains(&part.nozzle.as_str()) => {
                names.push(&part.nozzle);
            }
            Part::Branches(rows) | Part::Legs(rows) => {
                rows.iter().for_each(|row| in_parts(row, names));
            }
            _ => {}
        }
    }
}

/// The department's own nozzles, then those of the catalogue that its lines use.
pub(crate) fn of_book(book: &Book) -> Vec<&str> {
    let mut names: Vec<&str> = book.nozzle.keys().map(String::as_str).collect();
    for line in book.line.values() {
        in_parts(&line.parts, &mut names);
    }
    names.retain(|name| book.nozzle(name).is_some());
    names
}

/// All nozzles that can be asked for, for a refusal.
pub(crate) fn known(book: &Book) -> impl Iterator<Item = &String> {
    book.nozzle.keys().chain(catalogue().nozzle.keys())
}

/// The settings of `item` by name; one without a name where it has none.
pub(crate) fn settings(item: &NozzleItem) -> Vec<Option<&str>> {
    let names = item.settings();
    match names.is_empty() {
        true => vec![None],
        false => names.into_iter().map(Some).collect(),
    }
}

/// What `item` is rated for on `setting`: "150 gpm at 50 psi", "70 to 200 gpm at 94 to
/// 106 psi".
///
/// # Errors
/// [`SettingError`] when it has no such setting, or its numbers describe no nozzle.
pub(crate) fn rated(
    item: &NozzleItem,
    setting: Option<&str>,
    units: Units,
) -> Result<String, SettingError> {
    let pressure = item.rated_pressure(setting)?;
    let flow = item.rated(setting)?.flow(pressure);
    Ok(match automatic(item, setting) {
        Some(range) => {
            let flows = range.flow.each_ref().map(|flow| figure::flow(flow.get()));
            let pressures = range.pressure.each_ref();
            let pressures = pressures.map(|pressure| figure::pressure(pressure.get()));
            format!("{} at {}", between(flows, units), between(pressures, units))
        }
        None => format!(
            "{} at {}",
            units.show(figure::flow(flow)).text(),
            units.show(figure::pressure(pressure)).text()
        ),
    })
}

/// The range of an automatic nozzle on `setting`; `None` of another kind.
pub(crate) fn automatic<'a>(
    item: &'a NozzleItem,
    setting: Option<&str>,
) -> Option<&'a book::AutomaticSetting> {
    match &item.kind {
        NozzleKind::Automatic { settings, .. } => settings.get(setting?),
        _ => None,
    }
}

/// "70 to 200 gpm (265 to 757 L/min)".
pub(crate) fn between([low, high]: [Figure; 2], units: Units) -> String {
    let both = |system| {
        let (low, high) = (low.show(system), high.show(system));
        let number = low.split(' ').next().unwrap_or_default();
        format!("{number} to {high}")
    };
    let first = both(units.first());
    match units.second().map(both) {
        Some(second) => format!("{first} ({second})"),
        None => first,
    }
}

/// The kind in words: "Smooth-bore, 15/16 in", "Automatic".
pub(crate) fn kind(item: &NozzleItem, units: Units) -> String {
    match &item.kind {
        NozzleKind::SmoothBore { bore, .. } => {
            format!("Smooth-bore, tip {}", size(bore.get(), bore.text(), units))
        }
        NozzleKind::Fixed { .. } => "Fixed: one orifice".into(),
        NozzleKind::Selectable { .. } => "Selectable: a ring with several flows".into(),
        NozzleKind::Automatic { .. } => {
            "Automatic: a spring and a baffle hold the pressure over a range of flow".into()
        }
    }
}

/// A size as it is written, for a fraction of an inch says more than a decimal; in mm
/// where the sheet asks for it.
pub(crate) fn size(size: Length, written: &str, units: Units) -> String {
    let shown = |system| figure::size(size).show(system);
    let in_us = Kind::Size.unit(System::Us).symbol;
    let us = match written.ends_with(in_us) {
        true => written.to_string(),
        false => shown(System::Us),
    };
    match units {
        Units::Us => us,
        Units::Si => shown(System::Si),
        Units::Both => format!("{us} ({})", shown(System::Si)),
    }
}
