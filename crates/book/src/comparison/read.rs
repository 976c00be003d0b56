//! From the text of a file to a comparison, with every problem that is met.

use super::check::{self, Fault};
use super::keys::{self, COEFFICIENTS};
use super::{
    AimKind, Cases, Comparison, Doubt, LIST_LIMIT, Limits, NozzleChoice, Steps, Vary, Wanted,
};
use crate::keys::{Key, Range, Shape, shape};
use crate::model::{Book, Stated, Which};
use crate::problem::{Problems, nearest};
use crate::reader::{Reader, Sort, Span, Table, Value, of_file, short, words};
use hydraulics::units::{Measure, Pressure, Ratio, System};
use indexmap::IndexMap;
use toml::de::{DeTable, DeValue};

/// Bytes that the file of a comparison may have at most: 100 kB.
pub const SIZE_LIMIT: usize = 100_000;

static FILE: Sort = Sort {
    what: "comparison",
    limit: SIZE_LIMIT,
    flat: "a comparison has at most a list of tables: [{ ... }]; leave the other brackets out",
};

/// Reads a comparison. `file` is its name, for messages; bare numbers are in `system`,
/// unless the comparison says otherwise.
///
/// # Errors
/// [`Problems`]: every problem met, each with its line, its column and what would mend
/// it.
///
/// ```
/// use book::comparison::read;
/// use hydraulics::units::System;
/// let text = b"[comparison]\nlines = 'left-crosslay'\n[aims]\nflo = 1\n";
/// let problems = read(text, "crosslays.toml", System::Us).err().ok_or("no aim is flo")?;
/// let first = problems.list().first().ok_or("no problem")?;
/// assert_eq!((first.line, first.column), (4, 1));
/// assert_eq!(first.mend, "did you mean \"flow\"?");
/// # Ok::<(), &str>(())
/// ```
pub fn read(bytes: &[u8], file: &str, system: System) -> Result<Comparison, Problems> {
    reading(bytes, file, system, |_| Vec::new())
}

/// Reads a comparison and looks up in `book` what it names; bare numbers are in the
/// book's units, unless it says otherwise.
///
/// # Errors
/// As [`read()`]; and lines, hose, nozzles and settings that the book does not have.
pub fn read_for(bytes: &[u8], file: &str, book: &Book) -> Result<Comparison, Problems> {
    reading(bytes, file, book.units, |found| check::check(found, book))
}

fn reading(
    bytes: &[u8],
    file: &str,
    system: System,
    more: impl FnOnce(&Comparison) -> Vec<Fault>,
) -> Result<Comparison, Problems> {
    let (found, problems) = of_file(bytes, file, &FILE, |reader, map| {
        reader.system = system;
        let found = comparison(reader, map);
        // What could not be read is no ground to judge the rest by.
        if reader.problems.is_empty() {
            let faults = check::contradictions(&found).into_iter();
            for fault in faults.chain(more(&found)) {
                let span = spot(map, &fault);
                reader.error(fault.code, span, fault.message, fault.mend);
            }
        }
        found
    });
    match problems.is_error() {
        true => Err(problems),
        false => Ok(found),
    }
}

/// Where in the file a fault is: the value it is about, or the nearest table around it.
fn spot(map: &DeTable<'_>, fault: &Fault) -> Span {
    let (mut map, mut span) = (map, 0..0);
    for step in fault.place.split('.') {
        let Some((key, value)) = map.get_key_value(step) else {
            return span;
        };
        span = match value.span() {
            empty if empty.is_empty() => key.span(),
            full => full,
        };
        match value.get_ref() {
            DeValue::Table(inner) => map = inner,
            DeValue::Array(items) => {
                let item = fault.index.and_then(|index| items.get(index));
                return item.map_or(span, |item| item.span());
            }
            _ => return span,
        }
    }
    span
}

fn comparison(reader: &mut Reader, map: &DeTable<'_>) -> Comparison {
    let file = Table {
        map,
        keys: keys::FILE,
        span: 0..0,
        what: "the file".into(),
    };
    reader.check_keys(&file);
    let mut found = Comparison::default();
    if let Some(table) = section(reader, &file, "comparison", keys::ABOUT) {
        about(reader, &table, &mut found);
    }
    if let Some(table) = section(reader, &file, "vary", keys::VARY) {
        found.vary = vary(reader, &table);
    }
    if let Some(table) = section(reader, &file, "cases", keys::CASES) {
        found.cases = cases(reader, &table);
    }
    if let Some(table) = section(reader, &file, "limits", keys::LIMITS) {
        found.limits = limits(reader, &table);
    }
    if let Some(table) = section(reader, &file, "aims", keys::AIMS) {
        found.aims = aims(reader, &table);
    }
    if let Some(table) = section(reader, &file, "doubt", keys::DOUBT) {
        found.doubt = doubt(reader, &table);
    }
    found
}

/// A table of the file, called as it is written there.
fn section<'t>(
    reader: &mut Reader,
    file: &Table<'t>,
    key: &str,
    keys: &'static [Key],
) -> Option<Table<'t>> {
    reader.table(file.value(key)?, keys, format!("[{key}]"))
}

fn about(reader: &mut Reader, table: &Table<'_>, found: &mut Comparison) {
    found.title = reader.text(table, "title");
    found.note = reader.text(table, "note");
    found.units = match reader.word(table, "units") {
        Some("si") => Some(System::Si),
        Some(_) => Some(System::Us),
        None => None,
    };
    reader.system = found.units.unwrap_or(reader.system);
    found.lines = names(reader, table, "lines");
    found.each_line = reader.flag(table, "each_line");
}

fn vary(reader: &mut Reader, table: &Table<'_>) -> Vary {
    Vary {
        hose: names(reader, table, "hose"),
        nozzle: nozzles(reader, table),
        length: quantities(reader, table, "length"),
        pump_pressure: steps(reader, table),
    }
}

fn cases(reader: &mut Reader, table: &Table<'_>) -> Cases {
    Cases {
        rise: quantities(reader, table, "rise"),
        coefficient: coefficients(reader, table),
        low_pump_pressure: reader.quantity(table, "low_pump_pressure"),
        gated: reader.quantity(table, "gated"),
    }
}

fn limits(reader: &mut Reader, table: &Table<'_>) -> Limits {
    Limits {
        people: small(reader, table, "people"),
        reaction: reader.quantity(table, "reaction"),
        pump_pressure: reader.quantity(table, "pump_pressure"),
        past_service_pressure: reader.flag(table, "past_service_pressure"),
        flow: reader.quantity(table, "flow"),
        tip_pressure: reader.quantity(table, "tip_pressure"),
        reach: reader.quantity(table, "reach"),
        flow_at_low_pump: reader.quantity(table, "flow_at_low_pump"),
        tip_pressure_at_low_pump: reader.quantity(table, "tip_pressure_at_low_pump"),
        weight: reader.quantity(table, "weight"),
        outlet_pressure: reader.quantity(table, "outlet_pressure"),
        price: reader.quantity(table, "price"),
        kinds: small(reader, table, "kinds"),
    }
}

fn doubt(reader: &mut Reader, table: &Table<'_>) -> Doubt {
    Doubt {
        draws: count(reader, table, "draws"),
        seed: count(reader, table, "seed"),
        days: reader.quantity(table, "days"),
        pump_gauge: reader.quantity(table, "pump_gauge"),
        governor: reader.quantity(table, "governor"),
        length: reader.quantity(table, "length"),
        rise: reader.quantity_pair(table, "rise"),
        gate: reader.quantity_pair(table, "gate"),
        kink: kink(reader, table),
        published: reader.flag(table, "published"),
    }
}

/// A chance and a share: neither is the lower end of the other.
fn kink(reader: &mut Reader, table: &Table<'_>) -> Option<[Stated<Ratio>; 2]> {
    let [chance, share] = reader.pair(table, "kink")?;
    let Some(Shape::Pair(Shape::Quantity(bounds))) = shape(table.keys, "kink") else {
        return None;
    };
    let chance = reader.measure(chance, &format!("chance of {}", table.what("kink")), bounds);
    let share = reader.measure(share, &format!("share of {}", table.what("kink")), bounds);
    Some([chance?, share?])
}

/// A whole number.
fn count(reader: &mut Reader, table: &Table<'_>, key: &str) -> Option<u64> {
    let stated = reader.quantity::<Ratio>(table, key)?;
    // Within its range it is exact.
    format!("{:.0}", stated.get().value).parse().ok()
}

fn small(reader: &mut Reader, table: &Table<'_>, key: &str) -> Option<u8> {
    count(reader, table, key).and_then(|number| u8::try_from(number).ok())
}

/// The items of a list, or one that stands for a list of one; none of a list that is too
/// long.
fn list<'t>(reader: &mut Reader, table: &Table<'t>, key: &str) -> Vec<Value<'t>> {
    let items = reader.several(table, key);
    if items.len() <= LIST_LIMIT {
        return items;
    }
    let message = format!(
        "the {} has {} values; a list has at most {LIST_LIMIT}",
        table.what(key),
        items.len()
    );
    reader.error("too_long", table.at(key), message, "leave some of them out");
    Vec::new()
}

fn names(reader: &mut Reader, table: &Table<'_>, key: &str) -> Vec<String> {
    let mut found = Vec::new();
    for value in list(reader, table, key) {
        found.extend(name(reader, value, &table.what(key)));
    }
    found
}

fn name(reader: &mut Reader, value: Value<'_>, what: &str) -> Option<String> {
    let found = match value.get_ref() {
        DeValue::String(text) => Some(text.to_string()),
        other => words(other),
    };
    match &found {
        None => reader.wrong_type(value, what, "a name in quotation marks"),
        Some(name) => reader.name(name, value.span(), &format!("the {what}")),
    }
    found
}

fn quantities<Q: Measure>(reader: &mut Reader, table: &Table<'_>, key: &str) -> Vec<Stated<Q>> {
    let Some(Shape::Several(Shape::Quantity(bounds))) = shape(table.keys, key) else {
        return Vec::new();
    };
    measures(reader, table, key, bounds)
}

fn measures<Q: Measure>(
    reader: &mut Reader,
    table: &Table<'_>,
    key: &str,
    bounds: &Range,
) -> Vec<Stated<Q>> {
    let what = table.what(key);
    let values = list(reader, table, key).into_iter();
    values
        .filter_map(|value| reader.measure(value, &what, bounds))
        .collect()
}

fn steps(reader: &mut Reader, table: &Table<'_>) -> Steps<Pressure> {
    let key = "pump_pressure";
    let Some(value) = table.value(key) else {
        return Steps::default();
    };
    let Some(Shape::Any([Shape::Several(Shape::Quantity(bounds)), Shape::Table(keys)])) =
        shape(table.keys, key)
    else {
        return Steps::default();
    };
    if !matches!(value.get_ref(), DeValue::Table(_)) {
        return Steps::List(measures(reader, table, key, bounds));
    }
    let read = |reader: &mut Reader| {
        let table = reader.table(value, keys, table.what(key))?;
        let from = reader.quantity(&table, "from");
        let to = reader.quantity(&table, "to");
        let step = reader.quantity(&table, "step");
        Some(Steps::Range {
            from: from?,
            to: to?,
            step: step?,
        })
    };
    read(reader).unwrap_or_default()
}

fn nozzles(reader: &mut Reader, table: &Table<'_>) -> Vec<NozzleChoice> {
    let mut found = Vec::new();
    for value in list(reader, table, "nozzle") {
        found.extend(match value.get_ref() {
            DeValue::Table(_) => in_full(reader, value, &table.what("nozzle")),
            _ => at_once(reader, value, &table.what("nozzle")),
        });
    }
    found
}

fn in_full(reader: &mut Reader, value: Value<'_>, what: &str) -> Option<NozzleChoice> {
    let table = reader.table(value, keys::NOZZLE, what.into())?;
    for key in ["nozzle", "setting"] {
        if let Some(value) = table.value(key) {
            name(reader, value, &table.what(key));
        }
    }
    Some(NozzleChoice {
        nozzle: table.value("nozzle").and_then(plainly)?,
        setting: table.value("setting").and_then(plainly),
    })
}

fn plainly(value: Value<'_>) -> Option<String> {
    match value.get_ref() {
        DeValue::String(text) => Some(text.to_string()),
        other => words(other),
    }
}

/// "twin, high": a nozzle and its setting.
fn at_once(reader: &mut Reader, value: Value<'_>, what: &str) -> Option<NozzleChoice> {
    let text = name(reader, value, what)?;
    let Some((nozzle, setting)) = text.split_once(',') else {
        return Some(NozzleChoice {
            nozzle: text,
            setting: None,
        });
    };
    let (nozzle, setting) = (nozzle.trim(), setting.trim());
    if nozzle.is_empty() || setting.is_empty() {
        let message = format!("the {what} is \"{}\"", short(&text));
        let mend = "write a nozzle and its setting, as \"twin, high\", or the nozzle alone";
        reader.error("no_setting", value.span(), message, mend);
        return None;
    }
    Some(NozzleChoice {
        nozzle: nozzle.into(),
        setting: Some(setting.into()),
    })
}

fn coefficients(reader: &mut Reader, table: &Table<'_>) -> Vec<Which> {
    let mut found = Vec::new();
    for value in list(reader, table, "coefficient") {
        let what = table.what("coefficient");
        let DeValue::String(text) = value.get_ref() else {
            reader.wrong_type(value, &what, "a text in quotation marks");
            continue;
        };
        match which(text) {
            Some(which) => found.push(which),
            None => {
                let mend = match nearest(text, COEFFICIENTS.iter().copied()) {
                    Some(near) => format!("did you mean \"{near}\"?"),
                    None => format!("write one of {}", COEFFICIENTS.join(", ")),
                };
                let message = format!("the {what} is \"{}\"", short(text));
                reader.error("unknown_word", value.span(), message, mend);
            }
        }
    }
    found
}

const ALL: [Which; 5] = [
    Which::Best,
    Which::Published,
    Which::PublishedLow,
    Which::PublishedHigh,
    Which::Measured,
];

fn which(word: &str) -> Option<Which> {
    ALL.into_iter()
        .find(|which| super::word_for(*which) == word)
}

fn aims(reader: &mut Reader, table: &Table<'_>) -> IndexMap<AimKind, Wanted> {
    let mut found = IndexMap::new();
    // In the order of the file, which is the order in which they are shown.
    for (key, value) in table.map.iter() {
        let all = AimKind::ALL.into_iter();
        let Some(aim) = all.into_iter().find(|aim| aim.key() == key.get_ref()) else {
            continue;
        };
        if let Some(wanted) = wanted(reader, table, aim.key(), value) {
            found.insert(aim, wanted);
        }
    }
    found
}

fn wanted(
    reader: &mut Reader,
    table: &Table<'_>,
    key: &'static str,
    value: Value<'_>,
) -> Option<Wanted> {
    let Some(Shape::Any([Shape::Quantity(bounds), Shape::Table(keys)])) = shape(table.keys, key)
    else {
        return None;
    };
    if !matches!(value.get_ref(), DeValue::Table(_)) {
        let what = format!("weight of {} in [aims]", key.replace('_', " "));
        let weight = reader.measure(value, &what, bounds)?;
        return Some(Wanted { weight, near: None });
    }
    let what = format!("{} in [aims]", key.replace('_', " "));
    let inner = reader.table(value, keys, what)?;
    Some(Wanted {
        weight: reader.quantity(&inner, "weight")?,
        near: inner
            .has("near")
            .then(|| reader.quantity(&inner, "near"))
            .flatten(),
    })
}
