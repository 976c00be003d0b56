//! Where on a line the hose and the nozzles are that a comparison changes, and what a
//! choice changes there.

use super::{OfLine, Where};
use book::{Book, Change, Conditions, HosePart, LayoutError, Line, NozzlePart, Part, Path, Step};
use hydraulics::units::{Length, Measure};
use std::collections::{BTreeMap, BTreeSet};

/// The tips of a line, and the last hose before each.
pub(super) struct Places<'a> {
    pub hoses: Vec<(Path, &'a HosePart)>,
    pub tips: Vec<(Path, &'a NozzlePart)>,
    /// Names of the hose and nozzles that stay.
    pub others: BTreeSet<&'a str>,
}

impl<'a> Places<'a> {
    pub fn of(line: &'a Line) -> Self {
        let mut places = Places {
            hoses: Vec::new(),
            tips: Vec::new(),
            others: BTreeSet::new(),
        };
        places.row(&line.parts, &Path::default(), Vec::new());
        let mut all = Vec::new();
        named(&line.parts, &Path::default(), &mut all);
        let varied = |path: &Path| {
            let hose = places.hoses.iter().any(|(own, _)| own == path);
            hose || places.tips.iter().any(|(own, _)| own == path)
        };
        let stays = all.iter().filter(|(path, _)| !varied(path));
        places.others = stays.map(|(_, name)| *name).collect();
        places
    }

    /// Walks a row, `last` being the last hose before it; gives the last hose of the
    /// row's open end.
    fn row(
        &mut self,
        parts: &'a [Part],
        at: &Path,
        mut last: Vec<(Path, &'a HosePart)>,
    ) -> Vec<(Path, &'a HosePart)> {
        for (index, part) in parts.iter().enumerate() {
            let path = at.then(Step::Part(index + 1));
            match part {
                Part::Hose(hose) => last = vec![(path, hose)],
                Part::Nozzle(tip) if index + 1 == parts.len() => {
                    for (path, hose) in &last {
                        if !self.hoses.iter().any(|(own, _)| own == path) {
                            self.hoses.push((path.clone(), hose));
                        }
                    }
                    self.tips.push((path, tip));
                }
                Part::Nozzle(_) | Part::Appliance(_) => {}
                Part::Branches(rows) => {
                    for (branch, row) in rows.iter().enumerate() {
                        self.row(row, &path.then(Step::Branch(branch + 1)), last.clone());
                    }
                }
                Part::Legs(rows) => {
                    let before = std::mem::take(&mut last);
                    for (leg, row) in rows.iter().enumerate() {
                        let at = path.then(Step::Leg(leg + 1));
                        for found in self.row(row, &at, before.clone()) {
                            if !last.iter().any(|(own, _)| *own == found.0) {
                                last.push(found);
                            }
                        }
                    }
                }
            }
        }
        last
    }

    /// What is on the line as the book has it, by its first tip and the hose before
    /// that; the pump pressure is left at nothing.
    pub fn as_is(&self, book: &Book, line: &str) -> OfLine {
        let hose = self.hoses.first();
        let tip = self.tips.first();
        OfLine {
            line: line.into(),
            hose: hose.map_or_else(String::new, |(_, hose)| hose.hose.clone()),
            length: hose.map_or_else(Length::default, |(_, hose)| hose.length.get()),
            nozzle: tip.map_or_else(String::new, |(_, tip)| tip.nozzle.clone()),
            setting: tip.and_then(|(_, tip)| setting(book, tip)),
            pump_pressure: Measure::of_si(0.0),
        }
    }

    /// Which hose, lengths, nozzles and settings `on` changes. What is as at the first
    /// tip stays as it is at all tips.
    fn changed(&self, book: &Book, on: &OfLine) -> Changed {
        let own = self.as_is(book, &on.line);
        let nozzle = on.nozzle != own.nozzle;
        Changed {
            hose: on.hose != own.hose,
            length: (on.length - own.length).value.abs() > 1e-9,
            nozzle,
            setting: nozzle || on.setting != own.setting,
        }
    }

    /// What `on` changes, part by part.
    pub fn changes(&self, book: &Book, on: &OfLine) -> BTreeMap<Path, Change> {
        let changed = self.changed(book, on);
        let hoses = self.hoses.iter().map(|(path, hose)| {
            let change = Change {
                hose: changed.hose.then(|| on.hose.clone()),
                extra_length: changed.length.then(|| on.length - hose.length.get()),
                ..Change::default()
            };
            (path.clone(), change)
        });
        let tips = self.tips.iter().map(|(path, tip)| {
            let own = changed.nozzle || tip.nozzle == on.nozzle;
            let change = Change {
                nozzle: changed.nozzle.then(|| on.nozzle.clone()),
                setting: on.setting.clone().filter(|_| own && changed.setting),
                ..Change::default()
            };
            (path.clone(), change)
        });
        let all = hoses.chain(tips);
        all.filter(|(_, change)| *change != Change::default())
            .collect()
    }

    /// `line` with `on` in the parts themselves.
    pub fn replaced(&self, book: &Book, line: &Line, on: &OfLine) -> Line {
        let mut line = line.clone();
        for (path, change) in self.changes(book, on) {
            match part_mut(&mut line.parts, &path.0) {
                Some(Part::Hose(part)) => {
                    if let Some(hose) = change.hose {
                        part.hose = hose;
                    }
                }
                Some(Part::Nozzle(part)) => {
                    if let Some(nozzle) = change.nozzle {
                        part.nozzle = nozzle;
                        part.regulator = None;
                        part.setting = None;
                    }
                    part.setting = change.setting.or(part.setting.take());
                }
                _ => {}
            }
        }
        line
    }

    /// Names of the hose and nozzles on the line with `on`.
    pub fn names<'n>(&'n self, book: &Book, on: &'n OfLine) -> BTreeSet<&'n str> {
        let changed = self.changed(book, on);
        let hoses = self.hoses.iter().map(|(_, hose)| match changed.hose {
            true => on.hose.as_str(),
            false => hose.hose.as_str(),
        });
        let tips = self.tips.iter().map(|(_, tip)| match changed.nozzle {
            true => on.nozzle.as_str(),
            false => tip.nozzle.as_str(),
        });
        hoses
            .chain(tips)
            .chain(self.others.iter().copied())
            .collect()
    }
}

struct Changed {
    hose: bool,
    length: bool,
    nozzle: bool,
    setting: bool,
}

/// The name of the setting that a tip is on.
fn setting(book: &Book, tip: &NozzlePart) -> Option<String> {
    let found = book.nozzle(&tip.nozzle)?;
    let name = found.item.setting(tip.setting.as_deref()).ok().flatten();
    name.map(Into::into)
}

/// Every hose and nozzle below a row, by its path.
fn named<'a>(parts: &'a [Part], at: &Path, found: &mut Vec<(Path, &'a str)>) {
    for (index, part) in parts.iter().enumerate() {
        let path = at.then(Step::Part(index + 1));
        match part {
            Part::Hose(hose) => found.push((path, &hose.hose)),
            Part::Nozzle(tip) => found.push((path, &tip.nozzle)),
            Part::Appliance(_) => {}
            Part::Branches(rows) => {
                for (branch, row) in rows.iter().enumerate() {
                    named(row, &path.then(Step::Branch(branch + 1)), found);
                }
            }
            Part::Legs(rows) => {
                for (leg, row) in rows.iter().enumerate() {
                    named(row, &path.then(Step::Leg(leg + 1)), found);
                }
            }
        }
    }
}

fn part_mut<'a>(parts: &'a mut [Part], steps: &[Step]) -> Option<&'a mut Part> {
    let (Step::Part(n), rest) = steps.split_first()? else {
        return None;
    };
    let part = parts.get_mut(n.checked_sub(1)?)?;
    match (part, rest) {
        (part, []) => Some(part),
        (Part::Branches(rows), [Step::Branch(row), rest @ ..])
        | (Part::Legs(rows), [Step::Leg(row), rest @ ..]) => {
            part_mut(rows.get_mut(row.checked_sub(1)?)?, rest)
        }
        _ => None,
    }
}

/// The conditions under which [`crate::solve`] gives what `on` gives as the book has
/// the line otherwise: its hose, its nozzle and setting, its length, its pump pressure.
///
/// # Errors
/// [`LayoutError::NoLine`] when the book does not have the line.
///
/// ```
/// use hydraulics::units::{Kind, System, parse, show};
/// use study::choose::{OfLine, conditions_of};
/// let text = br#"
/// [book]
/// name = "Example"
/// [line.left]
/// parts = [{ hose = "1.75 in", length = "200 ft" }, { nozzle = "1 in smooth bore" }]
/// "#;
/// let book = book::read(text, "example.toml")?;
/// let on = OfLine {
///     line: "left".into(),
///     hose: "2.5 in".into(),
///     length: parse(Kind::Length, "200 ft")?,
///     nozzle: "1-1/8 in smooth bore".into(),
///     setting: None,
///     pump_pressure: parse(Kind::Pressure, "78.3 psi")?,
/// };
/// let answer = study::solve(&book, "left", &conditions_of(&book, &on)?)?;
/// assert_eq!(show(Kind::Flow, answer.flow, System::Us), "266 gpm");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn conditions_of(book: &Book, on: &OfLine) -> Result<Conditions, LayoutError> {
    conditions_at(book, on, &Where::default())
}

/// The same in a case: with the tips higher, and by other coefficients.
///
/// # Errors
/// As [`conditions_of`].
pub fn conditions_at(book: &Book, on: &OfLine, at: &Where) -> Result<Conditions, LayoutError> {
    let Some(line) = book.line.get(&on.line) else {
        let none = book::layout(book, &on.line, &Conditions::default());
        return none.map(|_| Conditions::default());
    };
    let places = Places::of(line);
    let mut conditions = Conditions {
        pump_pressure: Some(on.pump_pressure),
        changes: places.changes(book, on),
        ..Conditions::default().with_hose(at.coefficient)
    };
    raise(&places, &mut conditions, at.rise);
    Ok(conditions)
}

/// Holds every tip so much higher.
pub(super) fn raise(places: &Places, conditions: &mut Conditions, rise: Length) {
    if rise.value == 0.0 {
        return;
    }
    for (path, _) in &places.tips {
        let change = conditions.changes.entry(path.clone()).or_default();
        change.extra_rise = Some(rise);
    }
}
