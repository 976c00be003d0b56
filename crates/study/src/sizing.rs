//! The longest hose, and the smallest, that a pump-pressure ceiling allows.

use crate::answer::pair;
use crate::figure;
use crate::operating::{StudyError, needs, worst};
use book::{Book, Change, Conditions, LaidPart, Layout, Part, PartKind, Path, Used, Which};
use hydraulics::units::{Length, Measure, Pressure, System};
use lay::inverse::{NoAnswer, reach};
use serde_json::{Value, json};

/// Longest hose that is tried: 5 km.
const LONGEST: f64 = 5000.0;

/// A hose that does.
#[derive(Debug, Clone, PartialEq)]
pub struct HoseThatDoes {
    /// The hose.
    pub hose: String,
    /// Where it lies.
    pub place: String,
    /// Its length.
    pub length: Length,
    /// The pump pressure that it takes.
    pub pump_pressure: Pressure,
    /// The coefficient of the hose that was used, and where it comes from.
    pub used: Option<Used>,
    /// That pump pressure with every C at the lowest and the highest of its
    /// published spread; for the longest hose, at this length.
    pub over_spread: (Pressure, Pressure),
}

impl HoseThatDoes {
    /// This hose as JSON in the units of `system`.
    pub fn json(&self, system: System) -> Value {
        let (low, high) = self.over_spread;
        json!({
            "hose": self.hose,
            "place": self.place,
            "length": figure::length(self.length).json(system),
            "pump_pressure": figure::pressure(self.pump_pressure).json(system),
            "used": self.used.as_ref().map(|u| u.text(system)),
            "over_spread": pair(figure::pressure(low), figure::pressure(high), system),
        })
    }
}

fn found(
    book: &Book,
    line: &str,
    (hose, place, length): (&str, &Path, Length),
    conditions: &Conditions,
) -> Result<HoseThatDoes, StudyError> {
    let at = |which| needed(book, line, &conditions.with_hose(which));
    Ok(HoseThatDoes {
        hose: hose.into(),
        place: place.to_string(),
        length,
        pump_pressure: at(conditions.which)?,
        used: book.friction(hose, conditions.which),
        over_spread: (at(Which::PublishedLow)?, at(Which::PublishedHigh)?),
    })
}

/// The pump pressure at which every tip of `line` has just its aim.
pub(crate) fn needed(
    book: &Book,
    line: &str,
    conditions: &Conditions,
) -> Result<Pressure, StudyError> {
    let layout = book::layout(book, line, conditions)?;
    let needs = needs(&layout, line);
    let found = worst(&layout, &needs).map(|w| w.pressure);
    found.ok_or_else(|| StudyError::Question {
        line: line.into(),
        message: "every tip is shut, or no nozzle pressure meets its aim".into(),
    })
}

/// The hose whose length is varied: the last on the way to the first tip, in
/// the row that all the tips share where there are several.
pub(crate) fn varied(layout: &Layout, line: &str) -> Result<LaidPart, StudyError> {
    let hoses = || {
        layout
            .parts
            .iter()
            .filter(|p| p.kind == PartKind::Hose && p.line == line)
    };
    let shared = layout.tips.len() == 1;
    let found = if shared {
        hoses().next_back()
    } else {
        hoses().next()
    };
    found.cloned().ok_or_else(|| StudyError::Question {
        line: line.into(),
        message: "has no hose whose length could be changed".into(),
    })
}

/// The book's length of the hose whose length charts and [`longest`] vary.
///
/// # Errors
/// [`StudyError`] when the line is not there or has no hose.
pub fn varied_length(book: &Book, line: &str) -> Result<Length, StudyError> {
    let layout = book::layout(book, line, &Conditions::default())?;
    Ok(varied(&layout, line)?.length.unwrap_or_default())
}

/// The longest that the line's last hose can be at a pump pressure of `ceiling`,
/// every tip having its aim.
///
/// # Errors
/// [`StudyError::Question`] when even no hose there is too much, or when there
/// is none.
pub fn longest(
    book: &Book,
    line: &str,
    conditions: &Conditions,
    ceiling: Pressure,
) -> Result<HoseThatDoes, StudyError> {
    let layout = book::layout(book, line, conditions)?;
    let hose = varied(&layout, line)?;
    let now = hose.length.unwrap_or_default().value;
    let base = conditions
        .changes
        .get(&hose.path)
        .and_then(|c| c.extra_length);
    let base = base.unwrap_or_default();
    let at_length = |length: f64| {
        let extra = base + Length::of_si(length - now);
        with(conditions, &hose.path, |c| c.extra_length = Some(extra))
    };
    let mut failure = None;
    let pressure = |length: f64| match needed(book, line, &at_length(length)) {
        Ok(pressure) => pressure.value,
        Err(error) => {
            failure = Some(error);
            f64::NAN
        }
    };
    // A millimetre stands for none: a run has some length.
    let root = reach(pressure, ceiling.value, (1e-3, LONGEST));
    if let Some(failure) = failure {
        return Err(failure);
    }
    let length = match root {
        Ok(length) => length,
        Err(NoAnswer::OutOfReach { .. }) => LONGEST,
        Err(_) => {
            return Err(StudyError::Question {
                line: line.into(),
                message: format!(
                    "needs more than the ceiling even without hose \"{}\" ({})",
                    hose.name, hose.path
                ),
            });
        }
    };
    let place = (hose.name.as_str(), &hose.path, Length::of_si(length));
    found(book, line, place, &at_length(length))
}

/// The smallest of the book's and the catalogue's hose that does in the place of
/// the line's last hose at a pump pressure of `ceiling`; `None` when none does.
///
/// Couplings are not looked at: another size may need adapters.
///
/// # Errors
/// [`StudyError`] when the line cannot be laid out.
pub fn smallest(
    book: &Book,
    line: &str,
    conditions: &Conditions,
    ceiling: Pressure,
) -> Result<Option<HoseThatDoes>, StudyError> {
    let layout = book::layout(book, line, conditions)?;
    let hose = varied(&layout, line)?;
    let mut candidates: Vec<(f64, &String)> = book
        .hose
        .iter()
        .chain(
            book::catalogue()
                .hose
                .iter()
                .filter(|(name, _)| !book.hose.contains_key(*name)),
        )
        .map(|(name, item)| (item.size.get().value, name))
        .collect();
    candidates.sort_by(|a, b| a.0.total_cmp(&b.0));
    for (_, name) in candidates {
        let changed = with(conditions, &hose.path, |c| c.hose = Some(name.clone()));
        let Ok(pressure) = needed(book, line, &changed) else {
            continue;
        };
        if pressure <= ceiling {
            let place = (name.as_str(), &hose.path, hose.length.unwrap_or_default());
            return found(book, line, place, &changed).map(Some);
        }
    }
    Ok(None)
}

/// `conditions` with one more change at `path`.
pub(crate) fn with(
    conditions: &Conditions,
    path: &Path,
    change: impl FnOnce(&mut Change),
) -> Conditions {
    let mut changed = conditions.clone();
    change(changed.changes.entry(path.clone()).or_default());
    changed
}

/// Does the line have one row only, without branches?
pub(crate) fn is_single(parts: &[Part]) -> bool {
    !parts.iter().any(|p| matches!(p, Part::Branches(_)))
}
