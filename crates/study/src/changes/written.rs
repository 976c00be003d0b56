//! What differs between two books as they are written: entry by entry, key by key.

use super::words::{from_to, join};
use book::Book;
use toml::{Table, Value};

/// What became of an entry.
#[derive(Debug, PartialEq)]
pub(super) enum Named {
    New(String),
    Gone(String),
    /// From a name to another.
    Renamed(String, String),
    /// With what changed about it.
    Changed(String, Vec<String>),
}

/// Keys whose value names what their table is about.
const NAMING: [&str; 10] = [
    "line",
    "hose",
    "nozzle",
    "appliance",
    "hydrant",
    "rig",
    "draft",
    "shuttle",
    "standpipe",
    "tank",
];

/// Lists of what [`NAMING`] names.
const LISTS: [&str; 4] = ["parts", "lines", "intake", "standpipes"];

/// Keys whose texts are too long to be repeated.
const LONG: [&str; 2] = ["note", "source"];

/// The book as a table of its tables.
pub(super) fn tables(book: &Book) -> Table {
    // What was written from a book is TOML.
    book::write(book).parse().unwrap_or_default()
}

/// What became of the entries of one kind: those there now in their order, then
/// those taken out.
pub(super) fn named(old: &Table, new: &Table, kind: &str) -> Vec<Named> {
    let (old, new) = (under(old, kind), under(new, kind));
    let lost = |name: &String| !new.contains_key(name);
    let mut gone: Vec<&String> = old.keys().filter(|name| lost(name)).collect();
    let mut said = Vec::new();
    for (name, now) in &new {
        let was = old.get(name);
        if was == Some(now) {
            continue;
        }
        let same = gone.iter().position(|other| old.get(*other) == Some(now));
        said.push(match (was, same) {
            (Some(was), _) => Named::Changed(name.clone(), differences("", was, now)),
            (None, Some(i)) => Named::Renamed(gone.remove(i).clone(), name.clone()),
            (None, None) => Named::New(name.clone()),
        });
    }
    said.extend(gone.into_iter().cloned().map(Named::Gone));
    said
}

/// What changed about the department, but for its name.
pub(super) fn department(old: &Table, new: &Table) -> Vec<String> {
    let but_name = |table: &Table| {
        let mut table = under(table, "book");
        table.remove("name");
        Value::Table(table)
    };
    differences("", &but_name(old), &but_name(new))
}

/// What changed about where the values come from.
pub(super) fn about(old: &book::About, new: &book::About) -> Vec<String> {
    let table = |about: &book::About| {
        let text = |text: &Option<String>| text.clone().map(Value::String);
        let invented = about.invented.then_some(Value::Boolean(true));
        [
            ("source", text(&about.source)),
            ("note", text(&about.note)),
            ("invented", invented),
        ]
        .into_iter()
        .filter_map(|(key, value)| Some((key.to_string(), value?)))
        .collect()
    };
    differences("", &Value::Table(table(old)), &Value::Table(table(new)))
}

fn under(table: &Table, kind: &str) -> Table {
    let inner = table.get(kind).and_then(Value::as_table);
    inner.cloned().unwrap_or_default()
}

/// What differs, each with the way to it in front.
fn differences(way: &str, old: &Value, new: &Value) -> Vec<String> {
    match (old, new) {
        _ if old == new => Vec::new(),
        (Value::Table(old), Value::Table(new)) => of_tables(way, old, new),
        (Value::Array(old), Value::Array(new)) if is_rows(old) || is_rows(new) => {
            of_rows(way, old, new)
        }
        _ => from_to(way, &said(old), &said(new)).into_iter().collect(),
    }
}

fn of_tables(way: &str, old: &Table, new: &Table) -> Vec<String> {
    let gone = old.keys().filter(|key| !new.contains_key(*key));
    let keys = new.keys().chain(gone);
    keys.flat_map(|key| of_key(way, key, old.get(key), new.get(key)))
        .collect()
}

fn of_key(way: &str, key: &str, old: Option<&Value>, new: Option<&Value>) -> Vec<String> {
    let there = further(way, &plain(key));
    let long = LONG.contains(&key);
    match (old, new) {
        (Some(old), Some(new)) if old == new => Vec::new(),
        (Some(_), Some(_)) if long => vec![format!("{there} changed")],
        (Some(old), Some(new)) => differences(&there, old, new),
        (None, Some(_)) if long => vec![format!("{there} added")],
        (None, Some(Value::Boolean(true))) => vec![format!("{there} no to yes")],
        (Some(Value::Boolean(true)), None) => vec![format!("{there} yes to no")],
        (None, Some(Value::Array(new))) if is_rows(new) => of_rows(&there, &[], new),
        (Some(Value::Array(old)), None) if is_rows(old) => of_rows(&there, old, &[]),
        (None, Some(new)) => vec![format!("{there} {} added", said(new))],
        (Some(_), None) => vec![format!("{there} taken out")],
        (None, None) => Vec::new(),
    }
}

/// Rows that stay are left aside; of the others each is set against its like.
fn of_rows(way: &str, old: &[Value], new: &[Value]) -> Vec<String> {
    let (partners, gone) = paired(old, new, &[&|a, b| a == b, &alike, &|_, _| true]);
    let mut said_all = Vec::new();
    let mut furthest = 0;
    for (i, (now, partner)) in new.iter().zip(partners).enumerate() {
        let place = row_of(way, now, i);
        match partner {
            None => said_all.push(added(way, now)),
            Some(j) if alike(&old[j], now) || name_of(now).is_none() => {
                said_all.extend(differences(&place, &old[j], now));
            }
            Some(j) => {
                let place = of_list(way, &said(now));
                said_all.push(format!("{place} in place of {}", said(&old[j])));
            }
        }
        if let Some(j) = partner {
            if j < furthest {
                said_all.push(format!("{place} moved from {} to {}", j + 1, i + 1));
            }
            furthest = furthest.max(j);
        }
    }
    let gone = gone
        .iter()
        .map(|&j| format!("{} taken out", of_list(way, &said(&old[j]))));
    said_all.extend(gone);
    said_all
}

fn added(way: &str, row: &Value) -> String {
    format!("{} added", of_list(way, &said(row)))
}

/// Are two things the same, or like enough?
type Test<'a, T> = &'a dyn Fn(&T, &T) -> bool;

/// The partner of each of `new` among `old`, and which of `old` have none: the
/// first test that any pass is the one that counts.
pub(super) fn paired<T>(
    old: &[T],
    new: &[T],
    tests: &[Test<'_, T>],
) -> (Vec<Option<usize>>, Vec<usize>) {
    let mut free: Vec<usize> = (0..old.len()).collect();
    let mut partners = vec![None; new.len()];
    for test in tests {
        // What stayed in its place did not move, though others are like it.
        if old.len() == new.len() {
            for (at, partner) in partners.iter_mut().enumerate() {
                if partner.is_none() && free.contains(&at) && test(&old[at], &new[at]) {
                    *partner = Some(at);
                    free.retain(|&i| i != at);
                }
            }
        }
        for (partner, now) in partners.iter_mut().zip(new) {
            if partner.is_none() {
                let like = free.iter().position(|&i| test(&old[i], now));
                *partner = like.map(|at| free.remove(at));
            }
        }
    }
    (partners, free)
}

/// Do both name the same thing?
fn alike(old: &Value, new: &Value) -> bool {
    name_of(old).is_some() && name_of(old) == name_of(new)
}

/// The key and value that say what a row is about.
fn name_of(row: &Value) -> Option<(&str, &str)> {
    let (key, value) = row.as_table()?.iter().next()?;
    let name = match value {
        // A rig's own tank has no other name.
        Value::Boolean(true) => "",
        value => value.as_str()?,
    };
    NAMING
        .contains(&key.as_str())
        .then_some((key.as_str(), name))
}

/// The way to a row: what it is about, or its number in the list.
fn row_of(way: &str, row: &Value, index: usize) -> String {
    match name_of(row) {
        Some((key, name)) => of_list(way, &join(key, name)),
        None => format!("{} {}", single(way), index + 1),
    }
}

/// The list's own name says nothing where its rows say what they are.
fn of_list(way: &str, row: &str) -> String {
    let named = row
        .split([' ', ','])
        .next()
        .is_some_and(|word| NAMING.contains(&word));
    let (outer, list) = way.rsplit_once(", ").unwrap_or(("", way));
    match named && LISTS.contains(&list) {
        true => further(outer, row),
        false => further(way, row),
    }
}

fn further(way: &str, step: &str) -> String {
    match way {
        "" => step.into(),
        // One of its kind: "setting high", "measured coefficient".
        "rig" | "setting" | "attachment" | "crew" | "measured" | "fire" | "spill" | "loss" => {
            join(way, step)
        }
        way => format!("{way}, {step}"),
    }
}

fn is_rows(list: &[Value]) -> bool {
    list.iter().all(|row| row.is_table() || row.is_array()) && !list.is_empty()
}

/// One of several: "pump points" are of a "pump point".
fn single(way: &str) -> String {
    match way.strip_suffix("branches") {
        Some(outer) => format!("{outer}branch"),
        None => way.strip_suffix('s').unwrap_or(way).into(),
    }
}

/// A key in plain words.
fn plain(key: &str) -> String {
    match key {
        "hazen_williams" => "Hazen-Williams C".into(),
        "shutoff" => "shut-off".into(),
        key => key.replace('_', " "),
    }
}

/// A value as it is written, in words.
fn said(value: &Value) -> String {
    match value {
        Value::String(text) => text.clone(),
        Value::Boolean(true) => "yes".into(),
        Value::Boolean(false) => "no".into(),
        Value::Array(all) => all.iter().map(said).collect::<Vec<_>>().join(", "),
        Value::Table(table) => {
            let fields = table
                .iter()
                .filter(|(key, _)| !LONG.contains(&key.as_str()));
            let fields = fields.map(|(key, value)| match value {
                Value::Boolean(true) => plain(key),
                value => format!("{} {}", plain(key), said(value)),
            });
            fields.collect::<Vec<_>>().join(", ")
        }
        other => other.to_string(),
    }
}
