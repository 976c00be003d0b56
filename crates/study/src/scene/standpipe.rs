//! Standpipes: which floor runs out, and what the pump must hold for the top.

use super::Solved;
use crate::demand;
use crate::fact::{Fact, Said, object};
use crate::figure;
use book::{Book, LaidStandpipe, LossWritten, StandpipeItem, Stated};
use hydraulics::element::Element;
use hydraulics::units::{Measure, Pressure, System, VolumeRate, psi};
use serde_json::Value;

/// What a standpipe gives.
#[derive(Debug, Clone, PartialEq)]
pub struct StandpipeAnswer {
    /// Its name.
    pub name: String,
    /// The rig that feeds it.
    pub rig: String,
    /// Flow into it.
    pub flow: VolumeRate,
    /// Pressure at its inlet.
    pub inlet: Pressure,
    /// The highest that the system is rated for.
    pub rated: Option<Pressure>,
    /// Residual pressure that an outlet must have.
    pub required: Pressure,
    /// The outlets in use, from below.
    pub floors: Vec<FloorAnswer>,
    /// Floors that have outlets.
    pub of_floors: u32,
    /// The highest floor whose outlet would have the required pressure with the
    /// topmost line there instead and the pump as it is; zero when none has.
    pub highest_floor: u32,
    /// What the pump must hold so that the top floor's outlet has it.
    pub pump_for_top: Pressure,
    /// What the inlet has then.
    pub inlet_for_top: Pressure,
}

/// An outlet in use.
#[derive(Debug, Clone, PartialEq)]
pub struct FloorAnswer {
    /// Its floor.
    pub floor: u32,
    /// The line off it.
    pub line: String,
    /// Pressure behind its valve.
    pub pressure: Pressure,
    /// The pressure at which its valve holds, if it regulates.
    pub setting: Option<Pressure>,
    /// Does the valve hold that pressure now?
    pub regulates: bool,
}

pub(super) fn answers(solved: &Solved<'_>) -> Vec<StandpipeAnswer> {
    let pipes = solved.laid.standpipes.iter();
    pipes.filter_map(|pipe| answer(solved, pipe)).collect()
}

fn answer(solved: &Solved<'_>, pipe: &LaidStandpipe) -> Option<StandpipeAnswer> {
    let item = solved.book.standpipe.get(&pipe.name)?;
    let label = format!("standpipe {}", pipe.name);
    let gate = |b: &&book::Branch| b.outlet.rig == pipe.rig && b.outlet.feeds.to_string() == label;
    let branch = solved.laid.branches.iter().find(gate)?;
    let flow = solved.steady.flow(branch.part);
    let inlet = solved.pressure(pipe.inlet);
    let required = demand::standpipe_required(item);
    let top = item.floors.get().value.round();
    let used = used(solved, pipe);
    let lost = |floor: f64| lost(solved.book, item, (flow, &used), floor);
    let reaches = |floor: f64| inlet - lost(floor) >= required - psi(0.1);
    let floors = (1..=top as u32).filter(|&floor| reaches(f64::from(floor)));
    let discharge = solved.pressure(solved.laid.rigs.get(branch.rig)?.discharge);
    Some(StandpipeAnswer {
        name: pipe.name.clone(),
        rig: pipe.rig.clone(),
        flow,
        inlet,
        rated: item.rated_pressure.as_ref().map(Stated::get),
        required,
        floors: pipe
            .outlets
            .iter()
            .map(|outlet| floor(solved, item, outlet))
            .collect(),
        of_floors: top as u32,
        highest_floor: floors.max().unwrap_or(0),
        pump_for_top: discharge + required + lost(top) - inlet,
        inlet_for_top: required + lost(top),
    })
}

/// The floors in use and the flow taken on each, from below.
fn used(solved: &Solved<'_>, pipe: &LaidStandpipe) -> Vec<(f64, VolumeRate)> {
    let outlets = pipe.outlets.iter().map(|(floor, _, line)| {
        let tips = solved.tips.iter().filter(|tip| tip.line == *line);
        let flow = tips.fold(VolumeRate::of_si(0.0), |sum, tip| sum + tip.flow);
        (*floor, flow)
    });
    outlets.collect()
}

/// What is lost from the inlet to the outlet of `floor`, valve open, with the
/// topmost line there instead, and the others where they are.
fn lost(
    book: &Book,
    item: &StandpipeItem,
    (all, used): (VolumeRate, &[(f64, VolumeRate)]),
    floor: f64,
) -> Pressure {
    let c = item.hazen_williams.as_ref().map(Stated::get);
    let friction = hydraulics::friction::Friction::HazenWilliams {
        bore: item.riser.get(),
        c: c.unwrap_or_else(|| hydraulics::units::Ratio::of_si(120.0)),
    };
    let water = book.water();
    let stretch = |from: f64, to: f64, flow: VolumeRate| {
        let length = item.height(to) - item.height(from);
        let run = hydraulics::hose::Run::new(friction, length, water);
        run.map_or(Pressure::of_si(0.0), |run| run.loss(flow).pressure)
    };
    let at = |loss: &Option<LossWritten>, flow: VolumeRate| {
        let law = LossWritten::law(loss.as_ref());
        law.map_or(Pressure::of_si(0.0), |law| law.loss(flow).pressure)
    };
    let (top, others) = used
        .split_last()
        .map_or((all, used), |(top, rest)| (top.1, rest));
    let (mut from, mut flow, mut riser) = (1.0, all, Pressure::of_si(0.0));
    for &(at, taken) in others.iter().filter(|(at, _)| *at < floor) {
        riser += stretch(from, at, flow);
        (from, flow) = (at, flow - taken);
    }
    riser += stretch(from, floor, flow);
    let rise = water.static_pressure(item.height(floor));
    at(&item.inlet_loss, all) + riser + at(&item.outlet_loss, top) + rise
}

fn floor(
    solved: &Solved<'_>,
    item: &StandpipeItem,
    (floor, place, line): &(f64, lay::PlaceId, String),
) -> FloorAnswer {
    let pressure = solved.pressure(*place);
    let setting = item.setting(*floor);
    FloorAnswer {
        floor: floor.round() as u32,
        line: line.clone(),
        pressure,
        setting,
        regulates: setting.is_some_and(|setting| pressure >= setting - psi(0.5)),
    }
}

impl StandpipeAnswer {
    /// What is said about it.
    pub fn facts(&self) -> Vec<Fact> {
        let highest = match self.highest_floor {
            0 => Said::Text("none".into()),
            floor => floor.into(),
        };
        vec![
            ("standpipe", self.name.clone().into()),
            ("fed by", self.rig.clone().into()),
            ("flow", figure::flow(self.flow).into()),
            ("inlet", figure::pressure(self.inlet).into()),
            ("rated for", self.rated.map(figure::pressure).into()),
            (
                "required at an outlet",
                figure::pressure(self.required).into(),
            ),
            ("highest floor that has it", highest),
            ("floors", self.of_floors.into()),
            (
                "pump pressure for the top floor",
                figure::pressure(self.pump_for_top).into(),
            ),
        ]
    }

    pub(super) fn json(&self, system: System) -> Value {
        let mut value = object(&self.facts(), system);
        let floors = self.floors.iter().map(|f| object(&f.facts(), system));
        if let Some(map) = value.as_object_mut() {
            map.insert("outlets".into(), Value::Array(floors.collect()));
        }
        value
    }
}

impl FloorAnswer {
    /// What is said about it.
    pub fn facts(&self) -> Vec<Fact> {
        vec![
            ("floor", self.floor.into()),
            ("line", self.line.clone().into()),
            ("pressure", figure::pressure(self.pressure).into()),
            ("valve set to", self.setting.map(figure::pressure).into()),
            (
                "valve holds",
                match self.setting {
                    Some(_) => self.regulates.into(),
                    None => Said::Nothing,
                },
            ),
        ]
    }
}
