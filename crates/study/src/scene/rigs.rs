//! What each rig does: its pump, its intake, its outlets.

use super::Solved;
use crate::fact::{Fact, Said, object};
use crate::figure;
use book::LaidRig;
use hydraulics::pump::Governor;
use hydraulics::shuttle;
use hydraulics::units::{Measure, Pressure, Ratio, System, Time, VolumeRate};
use serde_json::Value;

/// Where a pump's pressure comes from.
#[derive(Debug, Clone, PartialEq)]
pub enum SetBy {
    /// The reader asked for it.
    Asked,
    /// The book says it.
    Book,
    /// The book says a speed.
    Speed(Ratio),
    /// What asks most of it.
    Demand(String),
    /// It feeds nothing.
    Nothing,
}

/// What a rig does.
#[derive(Debug, Clone, PartialEq)]
pub struct RigAnswer {
    /// Its name.
    pub name: String,
    /// Pressure that its pump is to hold; `None` when it is held at a speed.
    pub setting: Option<Pressure>,
    /// Where that comes from.
    pub set_by: SetBy,
    /// Pressure at its intake.
    pub intake: Pressure,
    /// Intake pressure at which it gives nothing any more.
    pub least_intake: Pressure,
    /// Pressure at its discharge.
    pub discharge: Pressure,
    /// Discharge less intake.
    pub net: Pressure,
    /// Flow.
    pub flow: VolumeRate,
    /// Rated flow.
    pub rated: VolumeRate,
    /// The most net pressure that its pump has at this flow.
    pub capability: Pressure,
    /// How long its own tank lasts at this flow, should all else fail.
    pub tank_lasts: Option<Time>,
    /// Its outlets.
    pub outlets: Vec<OutletAnswer>,
}

/// An outlet of a rig.
#[derive(Debug, Clone, PartialEq)]
pub struct OutletAnswer {
    /// What it feeds.
    pub feeds: String,
    /// That is another rig.
    pub feeds_rig: bool,
    /// Flow.
    pub flow: VolumeRate,
    /// Pressure behind its valve.
    pub pressure: Pressure,
    /// What is asked there, for every aim to be met; `None` when nothing is.
    pub needs: Option<Pressure>,
    /// How far its valve is open.
    pub gate: Ratio,
    /// The valve was gated here, to give what is asked and no more.
    pub gated: bool,
}

pub(super) fn answers(solved: &Solved<'_>) -> Vec<RigAnswer> {
    let rigs = solved.laid.rigs.iter().enumerate();
    rigs.map(|(index, rig)| answer(solved, index, rig))
        .collect()
}

fn answer(solved: &Solved<'_>, index: usize, rig: &LaidRig) -> RigAnswer {
    let flow = solved.steady.flow(rig.part);
    let (intake, discharge) = (solved.pressure(rig.intake), solved.pressure(rig.discharge));
    let tank = solved.book.rig.get(&rig.name).and_then(|r| r.tank.as_ref());
    let refill = VolumeRate::of_si(0.0);
    let pipe = solved
        .book
        .rig
        .get(&rig.name)
        .and_then(|r| r.tank_flow.as_ref());
    let pipe = pipe.map_or(flow, |pipe| pipe.get());
    let branches = solved.laid.branches.iter().enumerate();
    let own = branches.filter(|(_, branch)| branch.rig == index);
    RigAnswer {
        name: rig.name.clone(),
        setting: match rig.governor {
            Governor::Pressure(pressure) => Some(pressure),
            Governor::Speed(_) => None,
        },
        set_by: set_by(solved, rig),
        intake,
        least_intake: rig.starves_at,
        discharge,
        net: discharge - intake,
        flow,
        rated: rig.pump.rated_flow(),
        capability: rig.pump.capability(flow),
        tank_lasts: tank.and_then(|tank| shuttle::lasts(tank.get(), flow.min(pipe), refill)),
        outlets: own.map(|(at, branch)| outlet(solved, at, branch)).collect(),
    }
}

fn set_by(solved: &Solved<'_>, rig: &LaidRig) -> SetBy {
    let entry = solved.scene.rig.get(&rig.name);
    let demand = solved.demands.cuts.get(rig.cut).filter(|d| d.any());
    if solved.asked.contains(&rig.name) {
        return SetBy::Asked;
    }
    match (rig.governor, entry, demand) {
        (Governor::Speed(speed), ..) => SetBy::Speed(speed),
        (_, Some(entry), _) if entry.pump_pressure.is_some() => SetBy::Book,
        (_, _, Some(demand)) => SetBy::Demand(format!("{}, {}", demand.worst.0, demand.worst.1)),
        _ => SetBy::Nothing,
    }
}

fn outlet(solved: &Solved<'_>, at: usize, branch: &book::Branch) -> OutletAnswer {
    let demand = solved.demands.branches.get(at).filter(|d| d.any());
    let behind = solved.laid.layout.lay.ends(branch.part).1;
    OutletAnswer {
        feeds: branch.outlet.feeds.to_string(),
        feeds_rig: matches!(branch.outlet.feeds, book::Feeds::Rig(_)),
        flow: solved.steady.flow(branch.part),
        pressure: solved.pressure(behind),
        needs: demand.map(|d| d.pressure),
        gate: branch.valve.gate,
        gated: solved.gated.contains_key(&branch.outlet),
    }
}

impl RigAnswer {
    /// Where its pressure comes from, in words.
    pub fn set_by_words(&self) -> String {
        match &self.set_by {
            SetBy::Asked => "asked for".into(),
            SetBy::Book => "the book".into(),
            SetBy::Speed(speed) => format!("speed, {:.0} % of rated", 100.0 * speed.value),
            SetBy::Demand(who) => who.clone(),
            SetBy::Nothing => "it feeds nothing".into(),
        }
    }

    /// What is said about it.
    pub fn facts(&self) -> Vec<Fact> {
        vec![
            ("rig", self.name.clone().into()),
            ("pump pressure", figure::pressure(self.discharge).into()),
            ("setting", self.setting.map(figure::pressure).into()),
            ("set by", self.set_by_words().into()),
            ("intake", figure::pressure(self.intake).into()),
            ("net pressure", figure::pressure(self.net).into()),
            ("capability", figure::pressure(self.capability).into()),
            ("flow", figure::flow(self.flow).into()),
            ("rated flow", figure::flow(self.rated).into()),
            (
                "own tank would last",
                self.tank_lasts.map(figure::time).into(),
            ),
        ]
    }

    pub(super) fn json(&self, system: System) -> Value {
        let mut value = object(&self.facts(), system);
        let outlets = self.outlets.iter().map(|o| object(&o.facts(), system));
        if let Some(map) = value.as_object_mut() {
            map.insert("outlets".into(), Value::Array(outlets.collect()));
        }
        value
    }
}

impl OutletAnswer {
    /// What is said about it.
    pub fn facts(&self) -> Vec<Fact> {
        vec![
            ("feeds", self.feeds.clone().into()),
            ("flow", figure::flow(self.flow).into()),
            ("pressure", figure::pressure(self.pressure).into()),
            ("needs", self.needs.map(figure::pressure).into()),
            ("gate", figure::share(self.gate).into()),
            ("gated for its line", Said::Flag(self.gated)),
        ]
    }
}
