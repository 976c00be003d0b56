//! What the report of a comparison rests on, and what of it is no longer so.
//!
//! A comparison takes too long to be run again whenever somebody opens the register. Its
//! report therefore tells what went into it: the lines as they are carried, every value
//! of their equipment and of all that could be chosen, and what a crew can hold. A book
//! in which all this is as it was gives the same report.

use std::collections::BTreeSet;

use book::{Book, Conditions, Origin};
use hydraulics::units::decimal;
use study::fact::Said;
use study::figure;

use crate::paper::Units;
use crate::register::{self, Difference, Told};
use crate::tables::{Column, Entry, Equipment, Table, listed};

/// What a thing's name begins with, in what a report tells.
const HEAD: &str = "rests on ";

/// Columns of the tables of equipment on which no answer rests.
const IDLE: [&str; 6] = ["name", "setting", "note", "source", "colour", "mark"];

/// What an answer can rest on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Thing {
    Line,
    Hose,
    Nozzle,
    Appliance,
    Rig,
    Crew,
}

impl Thing {
    const ALL: [Thing; 6] = [
        Thing::Line,
        Thing::Hose,
        Thing::Nozzle,
        Thing::Appliance,
        Thing::Rig,
        Thing::Crew,
    ];

    fn word(self) -> &'static str {
        match self {
            Thing::Line => "line",
            Thing::Hose => "hose",
            Thing::Nozzle => "nozzle",
            Thing::Appliance => "appliance",
            Thing::Rig => "rig",
            Thing::Crew => "crew",
        }
    }
}

/// Things, each with its name.
pub(crate) type Things = BTreeSet<(Thing, String)>;

/// The name under which the limits of the crew are told.
pub(crate) const CREW: &str = "limits";

/// What `book` says of `things`.
pub(crate) fn of(book: &Book, things: &Things) -> Vec<(String, Said)> {
    let mut told = Vec::new();
    for (thing, name) in things {
        let head = format!("{HEAD}{} {name}: ", thing.word());
        let facts = match thing {
            Thing::Line => line(book, name),
            Thing::Hose => item(book, Equipment::Hose, name),
            Thing::Nozzle => item(book, Equipment::Nozzle, name),
            Thing::Appliance => item(book, Equipment::Appliance, name),
            Thing::Rig => item(book, Equipment::Rig, name),
            Thing::Crew => crew(book),
        };
        let facts = facts.into_iter();
        told.extend(facts.map(|(name, said)| (format!("{head}{name}"), said)));
    }
    told
}

fn is_in(what: &str) -> (String, Said) {
    ("is in".into(), Said::Text(what.into()))
}

/// What a line gives as it is carried, from which hose and nozzles.
fn line(book: &Book, name: &str) -> Vec<(String, Said)> {
    if !book.line.contains_key(name) {
        return vec![is_in("no book any more")];
    }
    let answer = match study::solve(book, name, &Conditions::default()) {
        Ok(answer) => answer,
        Err(error) => return vec![("answer".into(), Said::Text(format!("none: {error}")))],
    };
    let mut facts: Vec<(String, Said)> = vec![
        is_in("the book"),
        (
            "pump pressure today".into(),
            figure::pressure(answer.pump_pressure).into(),
        ),
        ("flow today".into(), figure::flow(answer.flow).into()),
    ];
    for part in &answer.parts {
        let length = part.length.map(figure::length);
        facts.push((format!("{}, {}", part.place, part.name), length.into()));
    }
    for tip in &answer.tips {
        let nozzle = tip.called();
        facts.push((format!("{}, nozzle today", tip.place), nozzle.into()));
    }
    facts
}

fn crew(book: &Book) -> Vec<(String, Said)> {
    let people = ["one person", "two people", "three people"];
    let limits = people.into_iter().zip(book.crew_limits());
    limits
        .map(|(people, force)| (people.to_string(), figure::force(force).into()))
        .collect()
}

/// Every value of a piece of equipment.
fn item(book: &Book, kind: Equipment, name: &str) -> Vec<(String, Said)> {
    let origin = match kind {
        Equipment::Hose => book.hose(name).map(|found| found.origin),
        Equipment::Nozzle => book.nozzle(name).map(|found| found.origin),
        Equipment::Appliance => book.appliance(name).map(|found| found.origin),
        _ => book.rig.contains_key(name).then_some(Origin::Own),
    };
    let is = match origin {
        Some(Origin::Own) => "the book",
        Some(Origin::Catalogue) => "the catalogue",
        None => return vec![is_in("neither book nor catalogue")],
    };
    let table = |units| listed(book, kind, Some(name), units);
    let mut facts = vec![is_in(is)];
    if let (Some(us), Some(si)) = (table(Units::Us), table(Units::Si)) {
        for row in 0..us.rows.len() {
            facts.extend(values(&us, &si, row));
        }
    }
    facts
}

/// The values of one row in both systems of units.
fn values(us: &Table, si: &Table, row: usize) -> Vec<(String, Said)> {
    let setting = us.column("setting").and_then(|at| entry(us, row, at));
    let columns = us.columns.iter().enumerate();
    let told = columns.filter(|(_, column)| !IDLE.contains(&column.name.as_str()));
    let facts = told.filter_map(|(at, column)| {
        let here = entry(us, row, at)?;
        let alike = si.columns.get(at).is_some_and(|c| c.name == column.name);
        let there = entry(si, row, at).filter(|there| alike && *there != here);
        let said = match there {
            Some(there) => format!("{here} ({there})"),
            None => here,
        };
        let name = match &setting {
            Some(setting) => format!("{setting}, {}", column.name),
            None => column.name.clone(),
        };
        Some((name.replace(": ", ", "), Said::Text(said)))
    });
    facts.collect()
}

fn entry(table: &Table, row: usize, at: usize) -> Option<String> {
    let Column { unit, decimals, .. } = table.columns.get(at)?;
    match table.rows.get(row)?.get(at)? {
        Entry::Text(text) => Some(text.clone()),
        Entry::Nothing => None,
        Entry::Number(number) => {
            let number = decimal(*number, (*decimals).max(1));
            let unit = unit.as_deref().unwrap_or_default();
            Some(format!("{number} {unit}").trim_end().to_string())
        }
    }
}

/// What the report of a comparison rests on that is no longer so in `book`: `before` is
/// what the report told. Empty when the comparison, run again, would say the same.
///
/// ```
/// let text = b"[book]\nname = 'Example'\n[hose.red]\nsize = '2.5 in'\ncoefficient = 2\n";
/// let book = book::read(text, "example.toml")?;
/// let told = paper::Told {
///     name: "rests on hose red: published C".into(),
///     us: "2.5 psi, gpm, ft".into(),
///     si: "2.5 psi, gpm, ft".into(),
/// };
/// let changed = paper::rests(&[told], &book, paper::Units::Us);
/// let now = changed[0].now.as_deref().unwrap_or_default();
/// assert!(now.starts_with("2.0 psi, gpm, ft"), "{now}");
/// # Ok::<(), book::Problems>(())
/// ```
pub fn rests(before: &[Told], book: &Book, units: Units) -> Vec<Difference> {
    let before = before.iter().filter(|told| told.name.starts_with(HEAD));
    let before: Vec<Told> = before.cloned().collect();
    let things: Things = before.iter().filter_map(thing).collect();
    let now = register::facts(&of(book, &things));
    register::between(&before, &now, units)
}

/// The thing that `told` is about: "rests on hose attack: published C".
fn thing(told: &Told) -> Option<(Thing, String)> {
    let (kind, rest) = told.name.strip_prefix(HEAD)?.split_once(' ')?;
    let (name, _) = rest.rsplit_once(": ")?;
    let thing = Thing::ALL.into_iter().find(|thing| thing.word() == kind)?;
    Some((thing, name.into()))
}
