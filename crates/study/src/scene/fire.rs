//! Flow needed by the planning forms, against what the scene gives.

use super::{Solved, SourceAnswer};
use crate::fact::{Fact, Said, object};
use crate::figure::{self, Figure};
use book::{FireWritten, Stated};
use hydraulics::fire_flow::{self, Building, Estimate, Hazard, Need};
use hydraulics::units::{Measure, Ratio, System, Time, VolumeRate};
use serde_json::{Value, json};

/// A building that burns, against the scene's water and crews.
#[derive(Debug, Clone, PartialEq)]
pub struct FireAnswer {
    /// What each form says.
    pub needs: Vec<NeedAnswer>,
    /// What the scene's tips give together.
    pub given: VolumeRate,
    /// What its mains have at 20 psi, together; `None` without hydrants.
    pub mains: Option<VolumeRate>,
}

/// What one form says, and what it takes.
#[derive(Debug, Clone, PartialEq)]
pub struct NeedAnswer {
    /// What the form says, and where it holds.
    pub estimate: Estimate,
    /// The flow that it comes to.
    pub flow: VolumeRate,
    /// Lines like the scene's that it takes; `None` when the scene has none.
    pub lines: Option<u32>,
    /// People on their nozzles, by the book's crew limits.
    pub people: Option<u32>,
    /// How long a stock of water lasts at the flow that goes with it.
    pub lasts: Option<Time>,
    /// Do the scene's tips give it?
    pub given: bool,
}

pub(super) fn answer(solved: &Solved<'_>, sources: &[SourceAnswer]) -> Option<FireAnswer> {
    let written = solved.scene.fire.as_ref()?;
    let given = solved.outflow();
    let estimates = estimates(written);
    let needs = estimates.into_iter().map(|e| need(solved, given, e));
    let mut mains: Vec<(&str, VolumeRate)> = Vec::new();
    for main in sources.iter().filter_map(|source| source.main.as_ref()) {
        if !mains.iter().any(|(name, _)| *name == main.name) {
            mains.push((&main.name, main.available));
        }
    }
    let all = mains.iter().map(|(_, flow)| *flow);
    Some(FireAnswer {
        needs: needs.collect(),
        given,
        mains: all.reduce(|a, b| a + b),
    })
}

fn count(stated: Option<&Stated<Ratio>>, usual: u32) -> u32 {
    stated.map_or(usual, |n| n.get().value.round() as u32)
}

fn estimates(written: &FireWritten) -> Vec<Estimate> {
    let all = Ratio::of_si(1.0);
    let building = Building {
        length: written.length.get(),
        width: written.width.get(),
        height: written.height.get(),
        floors: count(written.floors.as_ref(), 1),
        involved: written.involved.as_ref().map_or(all, Stated::get),
        exposed_sides: count(written.exposed_sides.as_ref(), 0),
        exposed_floors: count(written.exposed_floors.as_ref(), 0),
    };
    let mut estimates = vec![
        fire_flow::by_area(&building),
        fire_flow::by_volume(&building),
    ];
    let hazard = written.hazard.as_ref();
    let hazard = hazard.and_then(|n| Hazard::of_number(n.get().value.round() as u32));
    if let (Some(hazard), Some(construction)) = (hazard, written.construction_type) {
        let exposed = building.exposed_sides > 0;
        estimates.push(fire_flow::rural_supply(
            &building,
            hazard,
            construction,
            exposed,
        ));
    }
    if let Some(construction) = written.construction {
        let factor =
            |stated: &Option<Stated<Ratio>>| stated.as_ref().map_or(1.0, |s| s.get().value);
        let area = building.floor_area() * f64::from(building.floors);
        let (occupancy, exposure) = (factor(&written.occupancy), factor(&written.exposure));
        estimates.push(fire_flow::insurance(
            construction,
            area,
            occupancy,
            exposure,
        ));
    }
    estimates
}

fn need(solved: &Solved<'_>, given: VolumeRate, estimate: Estimate) -> NeedAnswer {
    let (flow, lasts) = match estimate.need {
        Need::Flow(flow) => (flow, None),
        Need::Supply(stock) => {
            let flow = fire_flow::delivery_rate(stock);
            (flow, Some(stock / flow))
        }
    };
    let flowing = solved.tips.iter().filter(|tip| tip.flow.value > 1e-5);
    let tips = flowing.clone().count() as f64;
    let each = given / tips.max(1.0);
    let lines = (tips > 0.0).then(|| ((flow / each).value - 1e-9).ceil().max(0.0));
    let people: f64 = flowing
        .map(|tip| match (tip.on_monitor, tip.people) {
            (true, _) => 1.0,
            (false, Some(people)) => f64::from(people),
            (false, None) => 4.0,
        })
        .sum();
    let people = lines.map(|lines| (lines * people / tips.max(1.0)).ceil());
    NeedAnswer {
        estimate,
        flow,
        lines: lines.map(|n| n as u32),
        people: people.map(|n| n as u32),
        lasts,
        given: given.value >= 0.995 * flow.value,
    }
}

impl FireAnswer {
    /// What is said about all forms together.
    pub fn facts(&self) -> Vec<Fact> {
        vec![
            ("given by all tips", figure::flow(self.given).into()),
            (
                "mains at least residual",
                self.mains.map(figure::flow).into(),
            ),
        ]
    }

    pub(super) fn json(&self, system: System) -> Value {
        let mut value = object(&self.facts(), system);
        let needs = self.needs.iter().map(|n| object(&n.facts(), system));
        if let Some(map) = value.as_object_mut() {
            map.insert("needs".into(), json!(needs.collect::<Vec<_>>()));
        }
        value
    }
}

impl NeedAnswer {
    /// The stock of water that it asks for, where it asks for one.
    pub fn stock(&self) -> Option<Figure> {
        self.estimate.supply().map(figure::volume)
    }

    /// What is said about it.
    pub fn facts(&self) -> Vec<Fact> {
        vec![
            ("form", self.estimate.name.into()),
            ("flow needed", figure::flow(self.flow).into()),
            ("stock needed", self.stock().into()),
            ("lasts", self.lasts.map(figure::time).into()),
            ("given", self.given.into()),
            ("lines", self.lines.into()),
            ("people on the nozzles", self.people.into()),
            ("within its range", Said::Flag(self.estimate.valid)),
            ("for", self.estimate.why.into()),
        ]
    }
}
