//! Hose added at a tip: what changes.

use crate::answer::LineAnswer;
use crate::figure;
use crate::operating::{StudyError, needs, solve, worst};
use crate::sizing::with;
use book::{Added, Book, Conditions, LaidTip, Path, Stated};
use hydraulics::coupling::Coupling;
use hydraulics::hose::{content, water_weight};
use hydraulics::units::{Length, Mass, Pressure, System, Volume};
use serde_json::{Value, json};

/// What adding hose at a tip changes.
#[derive(Debug, Clone, PartialEq)]
pub struct Extended {
    /// The tip.
    pub place: String,
    /// The hose added.
    pub hose: String,
    /// How much of it.
    pub length: Length,
    /// It goes in between the shut-off, which stays behind, and the tip.
    pub leaves_shutoff: bool,
    /// As it was.
    pub before: LineAnswer,
    /// At the pump pressure that gives every tip its old flow.
    pub same_flow: LineAnswer,
    /// Can the old flows be had at all? When not, `same_flow` is only the nearest:
    /// an eductor that drew stops drawing, or the one tip has less.
    pub same_flow_had: bool,
    /// At the old pump pressure.
    pub same_pressure: LineAnswer,
    /// Adapters without which it cannot be screwed together.
    pub adapters: Vec<String>,
    /// Couplings are not written for every end, so the fit is not known.
    pub fit_unknown: bool,
    /// Water in the added hose.
    pub water: Volume,
    /// What that water weighs.
    pub water_weight: Mass,
    /// What the added hose weighs dry, where its entry says.
    pub hose_weight: Option<Mass>,
    /// The rig's tank, from which the added hose is filled.
    pub tank: Option<Volume>,
}

impl Extended {
    /// Does an eductor that drew stop drawing, whatever the pump does?
    pub fn stops_drawing(&self) -> bool {
        stop_drawing(&self.before, &self.same_flow)
    }

    /// This answer as JSON in the units of `system`.
    pub fn json(&self, system: System) -> Value {
        json!({
            "place": self.place,
            "hose": self.hose,
            "length": figure::length(self.length).json(system),
            "leaves_shutoff": self.leaves_shutoff,
            "adapters": self.adapters,
            "fit_unknown": self.fit_unknown,
            "water": figure::volume(self.water).json(system),
            "water_weight": figure::mass(self.water_weight).json(system),
            "hose_weight": self.hose_weight.map(|m| figure::mass(m).json(system)),
            "tank": self.tank.map(|v| figure::volume(v).json(system)),
            "before": self.before.json(system),
            "same_flow": self.same_flow.json(system),
            "same_flow_had": self.same_flow_had,
            "same_pressure": self.same_pressure.json(system),
        })
    }
}

/// Adds `length` of `hose` at the tip of `line` at `place` (its only tip when
/// `None`).
///
/// # Errors
/// [`StudyError`] when the line, the tip or the hose is not there.
pub fn extend(
    book: &Book,
    line: &str,
    place: Option<&Path>,
    (hose, length): (&str, Length),
    conditions: &Conditions,
) -> Result<Extended, StudyError> {
    let plain = book::layout(book, line, conditions)?;
    let tip = the_tip(line, &plain.tips, place)?;
    let before = solve(book, line, conditions)?;
    extended(
        book,
        (line, &plain, tip),
        (hose, length),
        conditions,
        (before, solve),
    )
}

/// How a line is solved.
pub(crate) type Solver = fn(&Book, &str, &Conditions) -> Result<LineAnswer, StudyError>;

/// [`extend`] of a line that is laid out and solved already.
pub(crate) fn extended(
    book: &Book,
    (line, plain, tip): (&str, &book::Layout, &LaidTip),
    (hose, length): (&str, Length),
    conditions: &Conditions,
    (before, solver): (LineAnswer, Solver),
) -> Result<Extended, StudyError> {
    let added = all_added(line, tip, (hose, length), conditions)?;
    let changed = with(conditions, &tip.path, |c| c.added = Some(added));
    let at = |pressure| Conditions {
        pump_pressure: Some(pressure),
        ..changed.clone()
    };
    let pressure = pressure_for_old_flows(book, line, &changed, &before)?;
    let found = book.hose(hose).map(|h| h.item);
    let bore = found.map_or_else(Length::default, |h| h.size.get());
    let water = content(bore, length);
    let (adapters, fit_unknown) = fit(book, plain, tip, hose);
    let same_flow = solver(book, line, &at(pressure))?;
    Ok(Extended {
        place: tip.path.to_string(),
        hose: hose.into(),
        length,
        leaves_shutoff: tip.breaks,
        same_flow_had: !stop_drawing(&before, &same_flow) && !falls_short(&before, &same_flow),
        same_flow,
        same_pressure: solver(book, line, &at(before.pump_pressure))?,
        before,
        adapters,
        fit_unknown,
        water,
        water_weight: water_weight(water, book.water()),
        hose_weight: found
            .and_then(|h| h.weight.as_ref())
            .map(|weight| weight.get() * length),
        tank: tank(book, line),
    })
}

/// The hose that `conditions` have added at a tip already, and `length` more.
pub(crate) fn all_added(
    line: &str,
    tip: &LaidTip,
    (hose, length): (&str, Length),
    conditions: &Conditions,
) -> Result<Added, StudyError> {
    let there = conditions.changes.get(&tip.path);
    let there = there.and_then(|change| change.added.as_ref());
    let before = match there {
        None => Length::default(),
        Some(added) if added.hose == hose => added.length,
        Some(added) => {
            return Err(StudyError::Question {
                line: line.into(),
                message: format!(
                    "hose \"{}\" was added at {} already; add more of the same, not \"{hose}\"",
                    added.hose, tip.path
                ),
            });
        }
    };
    Ok(Added {
        hose: hose.into(),
        length: before + length,
    })
}

fn stop_drawing(before: &LineAnswer, after: &LineAnswer) -> bool {
    let mut both = before.eductors.iter().zip(&after.eductors);
    both.any(|(old, new)| old.draws && !new.draws)
}

/// Has the one tip of a line less than before? Of several, the easier are gated.
fn falls_short(before: &LineAnswer, after: &LineAnswer) -> bool {
    match (before.tips.as_slice(), after.tips.as_slice()) {
        ([old], [new]) => new.flow < old.flow * 0.995,
        _ => false,
    }
}

fn tank(book: &Book, line: &str) -> Option<Volume> {
    let rig = book.line.get(line)?.rig.as_ref()?;
    book.rig.get(rig)?.tank.as_ref().map(Stated::get)
}

fn the_tip<'a>(
    line: &str,
    tips: &'a [LaidTip],
    place: Option<&Path>,
) -> Result<&'a LaidTip, StudyError> {
    let own: Vec<&LaidTip> = tips.iter().filter(|t| t.line == line).collect();
    let list = || {
        let places: Vec<String> = own.iter().map(|t| format!("\"{}\"", t.path)).collect();
        places.join(", ")
    };
    let refuse = |message: String| StudyError::Question {
        line: line.into(),
        message,
    };
    match (place, own.as_slice()) {
        (Some(place), _) => own
            .iter()
            .copied()
            .find(|t| t.path == *place)
            .ok_or_else(|| refuse(format!("has no tip at {place}; its tips are at {}", list()))),
        (None, [tip]) => Ok(tip),
        (None, _) => Err(refuse(format!("has several tips; say which: {}", list()))),
    }
}

/// The pump pressure at which every tip has the flow it had.
fn pressure_for_old_flows(
    book: &Book,
    line: &str,
    changed: &Conditions,
    before: &LineAnswer,
) -> Result<Pressure, StudyError> {
    let layout = book::layout(book, line, changed)?;
    let mut flows = needs(&layout, line);
    for need in &mut flows {
        let place = need.0.path.to_string();
        if let Some(tip) = before
            .tips
            .iter()
            .find(|t| t.place == place && t.line == line)
        {
            need.1 = tip.flow;
        }
    }
    flows.retain(|need| need.1.value > 0.0);
    Ok(worst(&layout, &flows).map_or(before.pump_pressure, |w| w.pressure))
}

/// The adapters that the added hose needs at its two ends.
fn fit(book: &Book, plain: &book::Layout, tip: &LaidTip, hose: &str) -> (Vec<String>, bool) {
    let nozzle = book.nozzle(&tip.name).map(|n| n.item);
    let added = book.hose(hose).map(|h| h.item);
    let get = |c: &Option<Stated<Coupling>>| c.as_ref().map(Stated::get);
    let breaks = nozzle
        .filter(|_| tip.breaks)
        .and_then(|n| get(&n.breaks_at));
    let before = plain
        .parts
        .iter()
        .rev()
        .find(|p| p.kind == book::PartKind::Hose && leads_to(&p.path, &tip.path))
        .and_then(|p| book.hose(&p.name));
    let upstream = breaks.or_else(|| before.and_then(|h| get(&h.item.outlet)));
    let downstream = match breaks {
        Some(outlet) => Some(outlet.mate()),
        None => nozzle.and_then(|n| get(&n.coupling)),
    };
    let ends = added.map_or((None, None), |h| (get(&h.inlet), get(&h.outlet)));
    let joint = |from: Option<Coupling>, to: Option<Coupling>| match (from, to) {
        (Some(from), Some(to)) => (from.adapter_to(&to), false),
        _ => (None, true),
    };
    let (first, unknown_first) = joint(upstream, ends.0);
    let (second, unknown_second) = joint(ends.1, downstream);
    let adapters = first.into_iter().chain(second).collect();
    (adapters, unknown_first || unknown_second)
}

/// Does the part at `path` stand just before `tip` in its row?
fn leads_to(path: &Path, tip: &Path) -> bool {
    let (Some((_, before)), Some((_, row))) = (path.0.split_last(), tip.0.split_last()) else {
        return false;
    };
    before == row
}
