//! What the reader has set on a line, as it stands in the page's address.
//!
//! A key names a hand and, where a line has several places, the place: `pump`,
//! `gate part 2`, `setting part 2`, `kink part 1`; `hose part 1`, `length part 1` and
//! `nozzle part 2` put other equipment there. The numbers are in the units
//! that `in` names, so that an address means the same in both.

use super::controls::Control;
use crate::address;
use crate::form::Pairs;
use crate::reader::{units, word};
use crate::workbench::Opened as Workbook;
use book::{Added, Book, Change, Conditions, Opened, Path, Stated};
use hydraulics::nozzle::Regulator;
use hydraulics::units::{Kind, Length, Measure, Pressure, Ratio, System, figure};
use std::collections::BTreeMap;

/// What the address asks of a line.
#[derive(Debug, Clone, Default)]
pub(super) struct Hands {
    /// By key, as typed.
    typed: BTreeMap<String, String>,
    /// The units of bare numbers in it.
    units: System,
    /// The reader's.
    system: System,
}

/// A value that cannot be used, by its key.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Wrong {
    pub key: String,
    pub message: String,
}

/// Keys that ask something of the page and not of the line.
const OF_PAGE: [&str; 9] = [
    "units", "in", "fragment", "edit", "add", "beyond", "told", "base", "divide",
];

impl Hands {
    /// Forgets what stands as the book has it.
    pub fn only_changes(mut self, controls: &[Control]) -> Self {
        let units = self.units;
        // With other equipment the pump stands at what is asked, not near it.
        let pump = self.is_equipped();
        self.typed.retain(|key, typed| {
            let control = controls.iter().find(|control| control.key == *key);
            let stands = control.is_some_and(|control| control.standing(units) == typed.trim());
            !stands || (pump && key == "pump")
        });
        self
    }

    /// Is another hose or nozzle on, or hose of another length?
    fn is_equipped(&self) -> bool {
        self.typed.keys().any(|key| is_equipment(key))
    }

    /// The line with the hose and nozzles that are asked for, and nothing else moved. What
    /// cannot be is left out.
    pub fn equipped(&self, book: &Book, line: &str) -> Conditions {
        let mut conditions = Conditions::default();
        for key in self.typed.keys().filter(|key| is_equipment(key)) {
            // What is wrong with it is told when all is applied.
            let _ = self.apply(key, book, line, &mut conditions);
        }
        conditions
    }

    pub fn read(pairs: &Pairs, system: System) -> Self {
        let said = pairs.iter().find(|(key, _)| key == "in");
        let set = pairs
            .iter()
            .filter(|(key, value)| !OF_PAGE.contains(&key.as_str()) && !value.trim().is_empty());
        Hands {
            typed: set.cloned().collect(),
            units: said.and_then(|(_, word)| units(word)).unwrap_or(system),
            system,
        }
    }

    /// What stands in the field of `key`, in the reader's units.
    pub fn field(&self, key: &str, kind: Kind) -> Option<String> {
        let typed = self.typed.get(key)?;
        if self.units == self.system {
            return Some(typed.clone());
        }
        let read = Stated::<Any>::read(kind, &whole(kind, typed), self.units);
        Some(match read {
            Ok(stated) => plain(kind, stated.get().0, self.system),
            Err(_) => typed.clone(),
        })
    }

    /// What was chosen for `key`.
    pub fn word(&self, key: &str) -> Option<&str> {
        self.typed.get(key).map(String::as_str)
    }

    /// The quantity of `key`.
    pub fn quantity<Q: Measure>(&self, key: &str, kind: Kind) -> Result<Option<Q>, Wrong> {
        let Some(typed) = self.typed.get(key) else {
            return Ok(None);
        };
        let read = Stated::<Q>::read(kind, &whole(kind, typed), self.units);
        let wrong = |error| Wrong {
            key: key.into(),
            message: format!("{error}; write it like \"{}\"", kind.example(self.system)),
        };
        read.map(|stated| Some(stated.get())).map_err(wrong)
    }

    fn within<Q: Measure>(
        &self,
        key: &str,
        kind: Kind,
        (low, high): (&str, &str),
    ) -> Result<Option<Q>, Wrong> {
        let found: Option<Q> = self.quantity(key, kind)?;
        let bound = |text: &str| Stated::<Q>::read(kind, text, System::Us).map(|s| s.get().si());
        match (found, bound(low), bound(high)) {
            (Some(q), Ok(least), Ok(most)) if !(least..=most).contains(&q.si()) => {
                let shown = |si: f64| hydraulics::units::show(kind, Q::of_si(si), self.system);
                Err(Wrong {
                    key: key.into(),
                    message: format!(
                        "{} is not between {} and {}",
                        shown(q.si()),
                        shown(least),
                        shown(most)
                    ),
                })
            }
            _ => Ok(found),
        }
    }

    /// The window that the stream is to reach: distance of the wall and height of
    /// the sill.
    pub fn window(&self) -> Result<Option<(Length, Length)>, Wrong> {
        let range = ("0 ft", "1000 ft");
        let wall = self.within("wall", Kind::Length, range)?;
        let sill = self.within("sill", Kind::Length, range)?;
        Ok(wall.map(|wall| (wall, sill.unwrap_or_default())))
    }

    /// Everything that is set.
    pub fn rest(&self) -> impl Iterator<Item = (&str, &str)> {
        let all = self
            .typed
            .iter()
            .map(|(key, value)| (key.as_str(), value.as_str()));
        all.filter(|(key, _)| !matches!(*key, "wall" | "sill" | "anew"))
    }

    /// The address of the line with these hands and `more`. Figures of the first
    /// are in their own units.
    pub fn address(&self, opened: &Workbook, line: &str, more: &[(String, String)]) -> String {
        let mut all = self.typed.clone();
        all.extend(more.iter().cloned());
        if !all.is_empty() {
            all.insert("in".into(), word(self.units).into());
        }
        let pairs = all
            .iter()
            .map(|(key, value)| (key.as_str(), value.as_str()));
        address::asked(address::line(&opened.slug, line), pairs)
    }

    /// The conditions that these hands make of `line`, whose pump stands at `pump`
    /// when nothing else is said. What cannot be used is left out and told.
    pub fn conditions(&self, book: &Book, line: &str, pump: Pressure) -> (Conditions, Vec<Wrong>) {
        let mut conditions = Conditions::default();
        let mut wrong = Vec::new();
        for key in self.typed.keys() {
            if let Err(error) = self.apply(key, book, line, &mut conditions) {
                wrong.push(error);
            }
        }
        let changed = !conditions.changes.is_empty() || !conditions.also.is_empty();
        if self.word("anew").is_some() {
            conditions.pump_pressure = None;
        } else if conditions.pump_pressure.is_none() && changed {
            conditions.pump_pressure = Some(pump);
        }
        (conditions, wrong)
    }

    fn apply(
        &self,
        key: &str,
        book: &Book,
        line: &str,
        conditions: &mut Conditions,
    ) -> Result<(), Wrong> {
        let (hand, place) = key.split_once(' ').unwrap_or((key, "pump outlet"));
        let word = self.typed.get(key).map_or("", String::as_str);
        let wrong = |message: String| Wrong {
            key: key.into(),
            message,
        };
        match hand {
            "pump" => {
                conditions.pump_pressure =
                    self.within(key, Kind::Pressure, ("0 psi", "1000 psi"))?;
                return Ok(());
            }
            "second" => {
                let known = book.line.contains_key(word);
                if !known {
                    return Err(wrong(format!("the book has no line \"{word}\"")));
                }
                conditions.also.push(Opened {
                    line: word.into(),
                    ..Opened::default()
                });
                return trial(book, line, conditions).map_err(|message| {
                    conditions.also.pop();
                    wrong(message)
                });
            }
            "wall" | "sill" | "anew" => return Ok(()),
            _ => {}
        }
        let path: Path = place
            .parse()
            .map_err(|e: book::PathError| wrong(e.to_string()))?;
        let mut change = conditions.changes.get(&path).cloned().unwrap_or_default();
        match hand {
            "length" => change.extra_length = self.longer(key, book, line, &path)?,
            "nozzle" => put_on(book, word, &mut change),
            _ => self.change(hand, key, &mut change)?,
        }
        let before = conditions.changes.insert(path.clone(), change);
        trial(book, line, conditions).map_err(|message| {
            match before {
                Some(before) => conditions.changes.insert(path, before),
                None => conditions.changes.remove(&path),
            };
            wrong(message)
        })
    }

    fn change(&self, hand: &str, key: &str, change: &mut Change) -> Result<(), Wrong> {
        let word = self.typed.get(key).map_or("", String::as_str);
        let share = |key| self.within::<Ratio>(key, Kind::Share, ("0 %", "100 %"));
        let wrong = |message: String| Wrong {
            key: key.into(),
            message,
        };
        match hand {
            "gate" => change.gate = share(key)?,
            "kink" => change.kink = share(key)?.filter(|s| s.value > 0.0),
            "screen" => change.screen_blocked = share(key)?.filter(|s| s.value > 0.0),
            "setting" => change.setting = Some(word.into()),
            "hose" => change.hose = Some(word.trim().into()),
            "regulator" => change.regulator = regulator(word).map_err(wrong)?,
            "rise" => {
                change.extra_rise = self.within(key, Kind::Length, ("-500 ft", "500 ft"))?;
            }
            "extend" => change.added = Some(self.added(key)?),
            _ => return Err(wrong(format!("\"{hand}\" is nothing that can be set here"))),
        }
        Ok(())
    }

    /// How much longer than in the book the hose at `path` is.
    fn longer(
        &self,
        key: &str,
        book: &Book,
        line: &str,
        path: &Path,
    ) -> Result<Option<Length>, Wrong> {
        let wanted: Option<Length> = self.within(key, Kind::Length, ("1 ft", "10000 ft"))?;
        let parts = book.line.get(line).map(|line| &line.parts);
        let stands = parts.and_then(|parts| match super::part_at(parts, path) {
            Some(book::Part::Hose(hose)) => Some(hose.length.get()),
            _ => None,
        });
        let stands = stands.ok_or_else(|| Wrong {
            key: key.into(),
            message: format!("{path} of this line is no hose"),
        })?;
        Ok(wanted.map(|wanted| wanted - stands))
    }

    /// "50 ft of attack".
    fn added(&self, key: &str) -> Result<Added, Wrong> {
        let word = self.typed.get(key).map_or("", String::as_str);
        let wrong = || Wrong {
            key: key.into(),
            message: format!("\"{word}\" is no hose to add; write it like \"50 ft of 1.75 in\""),
        };
        let (length, hose) = word.split_once(" of ").ok_or_else(wrong)?;
        let read = Stated::<Length>::read(Kind::Length, length, self.units);
        let length = read.map_err(|_| wrong())?.get();
        let within = length.value > 0.0 && length.value <= 3048.0;
        within
            .then(|| Added {
                hose: hose.trim().into(),
                length,
            })
            .ok_or_else(wrong)
    }
}

/// Does a key name equipment, and no hand?
fn is_equipment(key: &str) -> bool {
    let hand = key.split_once(' ').map_or(key, |(hand, _)| hand);
    matches!(hand, "hose" | "nozzle" | "length")
}

/// "twin, low": a nozzle and its setting.
fn put_on(book: &Book, word: &str, change: &mut Change) {
    let word = word.trim();
    let (nozzle, setting) = match word.rsplit_once(", ") {
        Some((nozzle, setting)) if book.nozzle(word).is_none() => (nozzle, Some(setting)),
        _ => (word, None),
    };
    change.nozzle = Some(nozzle.trim().into());
    change.setting = setting.map(|setting| setting.trim().into());
}

/// Can the line be laid out so? A change may name what is not there.
fn trial(book: &Book, line: &str, conditions: &Conditions) -> Result<(), String> {
    match book::layout(book, line, conditions) {
        Ok(_) => Ok(()),
        Err(error) => Err(error.to_string()),
    }
}

fn regulator(word: &str) -> Result<Option<Regulator>, String> {
    match word {
        "as set" => Ok(None),
        "flush" => Ok(Some(Regulator::Flush)),
        _ => {
            let at = word.strip_prefix("jammed ");
            let at = at.and_then(|at| Stated::<Ratio>::read(Kind::Share, at, System::Us).ok());
            let at = at
                .map(|at| at.get())
                .filter(|at| (0.0..=1.0).contains(&at.value));
            let refuse = || format!("\"{word}\" is none of: as set, flush, jammed 20 %");
            at.map(|at| Some(Regulator::Jammed(at))).ok_or_else(refuse)
        }
    }
}

/// A bare share in a field is in per cent.
fn whole(kind: Kind, typed: &str) -> String {
    let typed = typed.trim();
    match kind == Kind::Share && typed.parse::<f64>().is_ok() {
        true => format!("{typed} %"),
        false => typed.into(),
    }
}

/// The figure alone, as it stands in a field.
pub(super) fn plain(kind: Kind, si: f64, system: System) -> String {
    let value = figure(kind, Any(si), system);
    hydraulics::units::decimal(value, kind.decimals(system))
}

/// A quantity of whatever kind, as its SI value.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Any(f64);

impl Measure for Any {
    fn of_si(value: f64) -> Self {
        Any(value)
    }

    fn si(self) -> f64 {
        self.0
    }
}
