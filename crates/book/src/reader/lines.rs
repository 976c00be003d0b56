//! Lines and their parts.

use super::DEPTH_LIMIT;
use super::walk::{NAME_LIMIT, Reader, Span, Table, Value};
use crate::check;
use crate::keys::{self, Key};
use crate::model::{
    Aim, AppliancePart, Book, HosePart, Line, NozzlePart, Part, Parts, Path, RegulatorState, Step,
    Target,
};
use crate::problem::nearest;
use hydraulics::units::Ratio;
use std::collections::HashMap;
use toml::de::DeValue;

/// Where in the file the parts of one line and their keys are, and whether
/// every part could be told.
struct Spots {
    spans: HashMap<(Path, String), Span>,
    whole: bool,
}

impl Spots {
    fn mark(&mut self, path: &Path, table: &Table<'_>) {
        self.spans
            .insert((path.clone(), String::new()), table.span.clone());
        for (key, value) in table.map.iter() {
            self.spans
                .insert((path.clone(), key.get_ref().to_string()), value.span());
        }
    }

    fn find(&self, path: &Path, key: &str) -> Option<Span> {
        let part = || self.spans.get(&(path.clone(), String::new()));
        let exact = self.spans.get(&(path.clone(), key.to_string()));
        exact.or_else(part).cloned()
    }
}

pub(super) fn line(reader: &mut Reader, book: &Book, name: &str, table: &Table<'_>) -> Line {
    let mut spots = Spots {
        spans: HashMap::new(),
        whole: true,
    };
    spots.mark(&Path::default(), table);
    let parts = match table.value("parts") {
        Some(value) => row(reader, &mut spots, value, &Path::default(), &table.what, 0),
        None => {
            spots.whole = false;
            Parts::new()
        }
    };
    let line = Line {
        title: reader.text(table, "title"),
        rig: reader.name_of(table, "rig"),
        marking: reader.marking(table),
        pump_pressure: reader.quantity(table, "pump_pressure"),
        parts,
        aim: aim(reader, table),
        about: reader.about(table),
    };
    // Checking a line with a gap would report things that are not wrong.
    if spots.whole && name.chars().count() <= NAME_LIMIT && !reader.full() {
        let faults = check::line(book, name, &line);
        reader.faults(faults, |fault| {
            let found = spots.find(&fault.path, fault.key);
            found.unwrap_or_else(|| table.span.clone())
        });
    }
    line
}

/// The parts of a supply line: they end open.
pub(super) fn supply(reader: &mut Reader, book: &Book, table: &Table<'_>) -> Parts {
    let Some(value) = table.value("parts") else {
        let example = "parts = [{ hose = \"supply\", length = \"100 ft\" }]";
        if !table.keys.iter().any(|k| k.name == "parts" && k.needed) {
            reader.missing(table, "parts", example);
        }
        return Parts::new();
    };
    let mut spots = Spots {
        spans: HashMap::new(),
        whole: true,
    };
    spots.mark(&Path::default(), table);
    let parts = row(reader, &mut spots, value, &Path::default(), &table.what, 0);
    if spots.whole && !reader.full() {
        let faults = check::supply(book, &table.what, &parts);
        reader.faults(faults, |fault| {
            let found = spots.find(&fault.path, fault.key);
            found.unwrap_or_else(|| table.span.clone())
        });
    }
    parts
}

fn aim(reader: &mut Reader, table: &Table<'_>) -> Option<Aim> {
    let inner = reader.inner(table, "aim")?;
    let targets = ["flow", "tip_pressure", "reach"];
    let stated: Vec<&str> = targets.into_iter().filter(|key| inner.has(key)).collect();
    if stated.len() > 1 {
        reader.error(
            "one_of_two",
            inner.span.clone(),
            format!("the {} has {}", inner.what, stated.join(" and ")),
            "keep one: a pump can be set for one target only",
        );
    }
    if stated.is_empty() && !inner.has("reaction_at_most") {
        reader.missing(&inner, "target", "flow = \"150 gpm\"");
    }
    let flow = reader.quantity(&inner, "flow").map(Target::Flow);
    let pressure = reader
        .quantity(&inner, "tip_pressure")
        .map(Target::TipPressure);
    let reach = reader.quantity(&inner, "reach").map(Target::Reach);
    Some(Aim {
        target: flow.or(pressure).or(reach),
        reaction_at_most: reader.quantity(&inner, "reaction_at_most"),
    })
}

fn row(
    reader: &mut Reader,
    spots: &mut Spots,
    value: Value<'_>,
    at: &Path,
    line: &str,
    depth: usize,
) -> Parts {
    let DeValue::Array(items) = value.get_ref() else {
        spots.whole = false;
        reader.wrong_type(value, &format!("row of parts of {line}"), "a list of parts");
        return Parts::new();
    };
    if depth > DEPTH_LIMIT {
        spots.whole = false;
        reader.error(
            "too_deep",
            value.span(),
            format!("rows of parts of {line} lie {depth} deep within each other"),
            format!("the limit is {DEPTH_LIMIT}; divide the line"),
        );
        return Parts::new();
    }
    let span = value.span();
    spots.spans.insert((at.clone(), "row".into()), span);
    let mut parts = Parts::new();
    for (index, item) in items.iter().enumerate() {
        let path = at.then(Step::Part(index + 1));
        match part(reader, spots, item, &path, line, depth) {
            Some(part) => parts.push(part),
            None => spots.whole = false,
        }
    }
    parts
}

fn part(
    reader: &mut Reader,
    spots: &mut Spots,
    value: Value<'_>,
    path: &Path,
    line: &str,
    depth: usize,
) -> Option<Part> {
    let what = format!("{path} of {line}");
    let keys = kind(reader, value, &what)?;
    let table = reader.table(value, keys, what)?;
    spots.mark(path, &table);
    match keys.first()?.name {
        "hose" => Some(Part::Hose(HosePart {
            hose: reader.name_of(&table, "hose")?,
            length: reader.quantity_or(&table, "length"),
            rise: reader.quantity(&table, "rise"),
            kink: reader.quantity(&table, "kink"),
        })),
        "nozzle" => nozzle(reader, &table).map(Part::Nozzle),
        "appliance" => Some(Part::Appliance(AppliancePart {
            appliance: reader.name_of(&table, "appliance")?,
            gates: gates(reader, &table),
            ratio: reader.quantity(&table, "ratio"),
            rise: reader.quantity(&table, "rise"),
        })),
        "branches" => {
            let step = Step::Branch as fn(usize) -> Step;
            rows(reader, spots, &table, path, line, depth, step).map(Part::Branches)
        }
        _ => {
            let step = Step::Leg as fn(usize) -> Step;
            rows(reader, spots, &table, path, line, depth, step).map(Part::Legs)
        }
    }
}

/// The keys of the kind of part that `value` is: told by the one key that says
/// so.
fn kind(reader: &mut Reader, value: Value<'_>, what: &str) -> Option<&'static [Key]> {
    let words = || keys::PARTS.iter().filter_map(|k| k.first()).map(|k| k.name);
    let DeValue::Table(map) = value.get_ref() else {
        reader.wrong_type(
            value,
            what,
            "a part, as { hose = \"attack\", length = \"200 ft\" }",
        );
        return None;
    };
    let told: Vec<&str> = words().filter(|word| map.contains_key(*word)).collect();
    match told.as_slice() {
        [one] => keys::PARTS
            .into_iter()
            .find(|k| k.first().is_some_and(|first| first.name == *one)),
        [] => {
            let meant = map
                .iter()
                .find_map(|(key, _)| nearest(key.get_ref(), words()).map(|near| (key, near)));
            let (span, mend) = match meant {
                Some((key, near)) => (key.span(), format!("did you mean \"{near}\"?")),
                None => (
                    value.span(),
                    format!("write one of {}", words().collect::<Vec<_>>().join(", ")),
                ),
            };
            let message = format!("{what} does not say what it is");
            reader.error("unknown_part", span, message, mend);
            None
        }
        many => {
            let message = format!("{what} is {} at once", many.join(" and "));
            let mend = "write each as a part of its own, in { }";
            reader.error("one_of_two", value.span(), message, mend);
            None
        }
    }
}

fn nozzle(reader: &mut Reader, table: &Table<'_>) -> Option<NozzlePart> {
    let flush = reader.flag(table, "flush");
    let jammed = reader.quantity::<Ratio>(table, "jammed");
    if flush && table.has("jammed") {
        reader.error(
            "one_of_two",
            table.at("jammed"),
            format!("{} is both flush and jammed", table.what),
            "keep flush or jammed",
        );
    }
    let regulator = match (jammed, flush) {
        (Some(share), _) => Some(RegulatorState::Jammed(share)),
        (None, true) => Some(RegulatorState::Flush),
        (None, false) => None,
    };
    Some(NozzlePart {
        nozzle: reader.name_of(table, "nozzle")?,
        setting: reader.name_of(table, "setting"),
        gate: reader.quantity(table, "gate"),
        rise: reader.quantity(table, "rise"),
        regulator,
        screen_blocked: reader.quantity(table, "screen_blocked"),
        tip_only: reader.flag(table, "tip_only"),
        attachment: reader.name_of(table, "attachment"),
        aim: aim(reader, table),
    })
}

fn gates(reader: &mut Reader, table: &Table<'_>) -> Vec<crate::model::Stated<Ratio>> {
    let Some(keys::Shape::Several(keys::Shape::Quantity(bounds))) = keys::shape(table.keys, "gate")
    else {
        return Vec::new();
    };
    let what = format!("gate of {}", table.what);
    let values = reader.several(table, "gate");
    let read = |value| reader.measure(value, &what, bounds);
    values.into_iter().filter_map(read).collect()
}

fn rows(
    reader: &mut Reader,
    spots: &mut Spots,
    table: &Table<'_>,
    path: &Path,
    line: &str,
    depth: usize,
    step: fn(usize) -> Step,
) -> Option<Vec<Parts>> {
    let key = table.keys.first()?.name;
    let value = table.value(key)?;
    let DeValue::Array(items) = value.get_ref() else {
        let wanted = "a list of rows, as [[...], [...]]";
        reader.wrong_type(value, &format!("{key} of {}", table.what), wanted);
        return None;
    };
    let read = |(index, item)| {
        let at = path.then(step(index + 1));
        row(reader, spots, item, &at, line, depth + 1)
    };
    Some(items.iter().enumerate().map(read).collect())
}
