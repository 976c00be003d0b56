//! Which nozzles get their water through which hose.

use crate::need;
use crate::operating::solve_plain;
use book::{Book, Conditions, Part, Parts};
use hydraulics::nozzle::Nozzle;
use hydraulics::units::{Length, Pressure, VolumeRate};

/// A nozzle, at one setting, that takes all the water of a hose.
#[derive(Debug, Clone, PartialEq)]
pub struct NozzleOn {
    /// Its name.
    pub nozzle: String,
    /// Its setting.
    pub setting: Option<String>,
    /// The nozzle itself.
    pub law: Nozzle,
    /// The nozzle pressure for which it is rated.
    pub rated: Pressure,
    /// What it is meant to flow: by the aim of the first line that has it, else by its
    /// rating.
    pub flow: VolumeRate,
    /// How much of the hose that line has.
    pub length: Length,
    /// That line.
    pub line: String,
}

impl NozzleOn {
    /// Its name, with its setting.
    pub fn called(&self) -> String {
        match &self.setting {
            Some(setting) => format!("{}, {setting}", self.nozzle),
            None => self.nozzle.clone(),
        }
    }
}

/// Every hose of the book, and those of the catalogue that its lines use.
pub fn hoses(book: &Book) -> Vec<&str> {
    let mut names: Vec<&str> = book.hose.keys().map(String::as_str).collect();
    for line in book.line.values() {
        used(&line.parts, &mut names);
    }
    names
}

fn used<'a>(parts: &'a Parts, names: &mut Vec<&'a str>) {
    for part in parts {
        match part {
            Part::Hose(part) if !names.contains(&part.hose.as_str()) => names.push(&part.hose),
            Part::Branches(rows) | Part::Legs(rows) => {
                rows.iter().for_each(|row| used(row, names));
            }
            _ => {}
        }
    }
}

/// The nozzles of the book's lines that take all the water of `hose`, each setting once,
/// in the order of the lines. A hose that feeds several tips, or is one of several legs,
/// has none.
///
/// ```
/// let text = b"[book]\nname = 'Example'\n[line.left]\n\
///     parts = [{ hose = '2.5 in', length = '200 ft' }, { nozzle = '1-1/8 in smooth bore' }]\n";
/// let book = book::read(text, "example.toml")?;
/// assert_eq!(study::nozzles_on(&book, "2.5 in")[0].line, "left");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn nozzles_on(book: &Book, hose: &str) -> Vec<NozzleOn> {
    let mut list: Vec<NozzleOn> = Vec::new();
    for line in book.line.keys() {
        let conditions = Conditions::default();
        let laid = book::layout(book, line, &conditions);
        let (Ok(layout), Ok(answer)) = (laid, solve_plain(book, line, &conditions)) else {
            continue;
        };
        for (tip, got) in layout.tips.iter().zip(&answer.tips) {
            let all_of_it = |flow: VolumeRate| {
                got.flow.value > 0.0 && (flow - got.flow).value.abs() < 1e-3 * got.flow.value
            };
            let through = answer.parts.iter().zip(&layout.parts);
            let mut through = through.filter(|(part, laid)| {
                part.name == hose && need::leads(&laid.path, &tip.path) && all_of_it(part.flow)
            });
            let Some((part, _)) = through.next() else {
                continue;
            };
            let known = |on: &NozzleOn| on.nozzle == tip.name && on.setting == tip.setting;
            if list.iter().any(known) {
                continue;
            }
            list.push(NozzleOn {
                nozzle: tip.name.clone(),
                setting: tip.setting.clone(),
                law: tip.tip.nozzle,
                rated: tip.rated_pressure,
                flow: need::flow(tip).unwrap_or(got.flow),
                length: part.length.unwrap_or_default(),
                line: line.clone(),
            });
        }
    }
    list
}
