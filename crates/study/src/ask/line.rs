//! What is asked of one line.

use super::{AskError, Asked, known, misread, place, pressure, quantity, share};
use crate::answer::LineAnswer;
use crate::operating::solve;
use crate::whatif::{Compared, WhatIf, what_if};
use book::{Book, Conditions, PartKind, Path};
use hydraulics::nozzle::Regulator;
use hydraulics::units::{Kind, Length, System};
use serde_json::{Value, json};

/// The answer to a question about one line.
#[derive(Debug, Clone, PartialEq)]
pub enum OfLine {
    /// Nothing was changed.
    Plain(Box<LineAnswer>),
    /// Before and after the changes.
    Changed(Box<Compared>),
}

impl OfLine {
    /// This answer as JSON in the units of `system`.
    pub fn json(&self, system: System) -> Value {
        match self {
            OfLine::Plain(answer) => answer.json(system),
            OfLine::Changed(compared) => json!({
                "before": compared.before.json(system),
                "after": compared.after.json(system),
            }),
        }
    }

    /// The answer with the changes made, if there are any.
    pub fn last(&self) -> &LineAnswer {
        match self {
            OfLine::Plain(answer) => answer,
            OfLine::Changed(compared) => &compared.after,
        }
    }
}

impl Asked {
    /// Answers the question about the line called `name`.
    ///
    /// # Errors
    /// [`AskError`] when the question is not written right or has no answer.
    pub fn line(&self, book: &Book, name: &str) -> Result<OfLine, AskError> {
        known(book, name)?;
        let conditions = self.conditions()?;
        let changes = self.changes(book, name)?;
        Ok(match changes.is_empty() {
            true => OfLine::Plain(Box::new(solve(book, name, &conditions)?)),
            false => OfLine::Changed(Box::new(what_if(book, name, &conditions, &changes)?)),
        })
    }

    /// The conditions that a question about lines starts from: coefficients and
    /// pump pressure.
    ///
    /// # Errors
    /// [`AskError::Misread`].
    pub fn conditions(&self) -> Result<Conditions, AskError> {
        if self.weaker.is_some() {
            let option = self.named("weaker");
            return misread(format!(
                "{option} is a question about a scene; ask it of a scene of the book"
            ));
        }
        let option = self.named("pump");
        let pump = match self.pump.as_slice() {
            [] => None,
            [one] => Some(pressure(&option, one)?),
            _ => {
                return misread(format!("{option}: a line has one pump; give one pressure"));
            }
        };
        Ok(Conditions {
            pump_pressure: pump,
            which: self.which,
            ..Default::default()
        })
    }

    /// The changes asked of the line called `name`.
    ///
    /// # Errors
    /// [`AskError`] when a value or a place cannot be read, or there is no such line.
    pub fn changes(&self, book: &Book, name: &str) -> Result<Vec<WhatIf>, AskError> {
        let layout = book::layout(book, name, &Conditions::default())?;
        let tips: Vec<Path> = layout.tips.iter().map(|t| t.path.clone()).collect();
        let hoses = layout.parts.iter().filter(|p| p.kind == PartKind::Hose);
        let hoses: Vec<Path> = hoses.map(|p| p.path.clone()).collect();
        let mut changes = Vec::new();
        if let Some(off) = &self.off {
            let by = quantity(&self.named("off"), Kind::Pressure, off)?;
            changes.push(WhatIf::PumpOff(by));
        }
        let gate = ("gate", &self.gate);
        for (option, list) in std::iter::once(gate).chain(self.of_lines()) {
            let named = self.named(option);
            let usual = match option {
                "kink" | "length" | "hose" => (hoses.as_slice(), false),
                _ => (tips.as_slice(), true),
            };
            for text in list {
                changes.push(match option {
                    "length" => longer(&named, text, usual, &layout)?,
                    _ => change(option, &named, text, usual)?,
                });
            }
        }
        Ok(changes)
    }
}

/// One change, from what was written under `option`.
fn change(
    option: &str,
    named: &str,
    text: &str,
    usual: (&[Path], bool),
) -> Result<WhatIf, AskError> {
    if option == "second" {
        return Ok(WhatIf::SecondLine(text.trim().into()));
    }
    let (at, value) = placed(named, text, usual)?;
    Ok(match option {
        "gate" => WhatIf::Gate(at, share(named, &value)?),
        "kink" => WhatIf::Kink(at, share(named, &value)?),
        "screen" => WhatIf::Screen(at, share(named, &value)?),
        "regulator" => WhatIf::Regulator(at, regulator(named, &value)?),
        "rise" => WhatIf::Rise(at, quantity(named, Kind::Length, &value)?),
        "hose" => WhatIf::Hose(at, value),
        "nozzle" => WhatIf::Nozzle(at, value),
        _ => WhatIf::Setting(at, value),
    })
}

/// A hose of another length: so much longer than in the book.
fn longer(
    named: &str,
    text: &str,
    usual: (&[Path], bool),
    layout: &book::Layout,
) -> Result<WhatIf, AskError> {
    let (at, value) = placed(named, text, usual)?;
    let length: Length = quantity(named, Kind::Length, &value)?;
    if length.value <= 0.0 {
        return misread(format!("{named}: a hose of {value} is no hose"));
    }
    let own = layout.parts.iter().find(|part| part.path == at);
    match own.and_then(|part| part.length) {
        Some(own) => Ok(WhatIf::Longer(at, length - own)),
        None => misread(format!("{named}: {at} is no hose")),
    }
}

fn regulator(option: &str, text: &str) -> Result<Regulator, AskError> {
    match text.trim().split_once(' ') {
        None if text.eq_ignore_ascii_case("flush") => Ok(Regulator::Flush),
        None if text.eq_ignore_ascii_case("opening") => Ok(Regulator::Opening),
        None if text.eq_ignore_ascii_case("closing") => Ok(Regulator::Closing),
        Some(("jammed", at)) => Ok(Regulator::Jammed(share(option, at)?)),
        _ => misread(format!(
            "{option}: \"{text}\" is none of flush, opening, closing, \"jammed 40 %\""
        )),
    }
}

/// Reads "[PLACE =] VALUE". Without a place it is the first of `usual`, which
/// must be the only one where `only`.
fn placed(
    option: &str,
    text: &str,
    (usual, only): (&[Path], bool),
) -> Result<(Path, String), AskError> {
    if let Some((at, value)) = text.split_once('=') {
        return Ok((place(option, at)?, value.trim().to_string()));
    }
    match usual {
        [first, ..] if !only || usual.len() == 1 => Ok((first.clone(), text.trim().to_string())),
        [] => misread(format!("{option}: this line has no place for it")),
        [first, ..] => {
            let places: Vec<String> = usual.iter().map(|p| format!("\"{p}\"")).collect();
            misread(format!(
                "{option}: this line has several places, say which: {}; for example {option} \"{first} = {}\"",
                places.join(", "),
                text.trim()
            ))
        }
    }
}
