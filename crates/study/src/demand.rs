//! What is asked of every pump, eductor and regulating valve when each tip is to
//! have just its flow: one solution with the layout cut at them.

use crate::need;
use book::{Book, Branch, Cut, CutKind, LaidTip, Layout, SceneLayout, StandpipeItem, Stated};
use hydraulics::element::Element;
use hydraulics::units::{Measure, Pressure, VolumeRate, psi};
use lay::{Lay, PartId, PlaceId, Steady, inverse};
use std::collections::BTreeMap;

/// Residual that a pump keeps at its intake: 20 psi (case PDP-REL-06).
pub(crate) fn least_residual() -> Pressure {
    psi(hydraulics::hydrant::LEAST_RESIDUAL_PSI)
}

/// What something asks of what feeds it.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Demand {
    pub flow: VolumeRate,
    /// The pressure that it must find where it begins; less than any where
    /// nothing is fed.
    pub pressure: Pressure,
    /// What asks for most: its line or rig, and its place there.
    pub worst: (String, String),
}

impl Default for Demand {
    fn default() -> Self {
        Demand {
            flow: VolumeRate::of_si(0.0),
            pressure: Pressure::of_si(f64::NEG_INFINITY),
            worst: Default::default(),
        }
    }
}

impl Demand {
    fn add(&mut self, flow: VolumeRate, pressure: Pressure, who: &(String, String)) {
        self.flow += flow;
        if pressure > self.pressure {
            self.pressure = pressure;
            self.worst = who.clone();
        }
    }

    /// Is anything fed?
    pub fn any(&self) -> bool {
        self.pressure.value.is_finite()
    }
}

/// A pressure that a place must have beside what its tips ask: a standpipe's
/// outlet.
pub(crate) struct Required {
    pub place: PlaceId,
    pub pressure: Pressure,
    pub after: usize,
    pub branch: Option<usize>,
    pub who: (String, String),
}

/// What a scene's standpipes require at the outlets in use. One that regulates
/// below that gives what it is set to.
pub(crate) fn required(book: &Book, laid: &SceneLayout) -> Vec<Required> {
    let mut all = Vec::new();
    for pipe in &laid.standpipes {
        let Some(item) = book.standpipe.get(&pipe.name) else {
            continue;
        };
        for (floor, place, line) in &pipe.outlets {
            let fed = laid.layout.tips.iter().find(|tip| tip.line == *line);
            let Some(tip) = fed else { continue };
            let cuts = laid
                .layout
                .cuts
                .iter()
                .rposition(|cut| cut.outlet == *place);
            let wanted = standpipe_required(item);
            all.push(Required {
                place: *place,
                pressure: item.setting(*floor).map_or(wanted, |s| s.min(wanted)),
                after: cuts.unwrap_or(laid.rigs.get(rig_of(laid, tip)).map_or(0, |r| r.cut)),
                branch: tip.branch,
                who: (pipe.name.clone(), format!("outlet on floor {floor}")),
            });
        }
    }
    all
}

fn rig_of(laid: &SceneLayout, tip: &LaidTip) -> usize {
    let branch = tip.branch.and_then(|b| laid.branches.get(b));
    branch.map_or(0, |b| b.rig)
}

/// Residual that a standpipe's outlet must have: the book's, or 100 psi (cases
/// LIM-07 and LIM-10).
pub(crate) fn standpipe_required(item: &StandpipeItem) -> Pressure {
    let written = item.required.as_ref().map(Stated::get);
    written.unwrap_or_else(|| psi(100.0))
}

/// What is asked in a layout.
pub(crate) struct Demands {
    /// At the outlet of each cut.
    pub cuts: Vec<Demand>,
    /// Behind each outlet of the rigs, in a scene.
    pub branches: Vec<Demand>,
    /// What each tip that has a flow asks of the cut that feeds it.
    pub tips: Vec<Pressure>,
}

/// A tip's flow, as its aim or its rating has it.
pub(crate) fn by_aim(tip: &LaidTip) -> Option<VolumeRate> {
    need::flow(tip).filter(|_| need::is_open(tip))
}

/// What is asked in `layout`, each tip having the flow that `flow` says. At every
/// cut the layout is taken apart: the inlet draws what goes through, the outlet is
/// a supply at no pressure.
pub(crate) fn demands(
    layout: &Layout,
    branches: usize,
    outlets: &[Required],
    flow: impl Fn(&LaidTip) -> Option<VolumeRate>,
) -> Demands {
    let tips: Vec<(&LaidTip, VolumeRate)> = layout
        .tips
        .iter()
        .filter_map(|tip| Some((tip, flow(tip)?)))
        .collect();
    let flows = cut_flows(layout, &tips);
    let steady = solved(layout, &tips, &flows);
    let lost = |place| {
        steady
            .pressure(place)
            .unwrap_or(Pressure::of_si(f64::INFINITY))
    };
    let mut all = Demands {
        cuts: vec![Demand::default(); layout.cuts.len()],
        branches: vec![Demand::default(); branches],
        tips: Vec::new(),
    };
    // From the tips back to the water, each before what feeds it.
    for (tip, flow) in &tips {
        let law = layout.lay.law(tip.part);
        let asks = law.loss(*flow).pressure + layout.lay.rise(tip.part) - lost(tip.inlet);
        let who = (tip.line.clone(), tip.path.to_string());
        all.tips.push(asks);
        all.ask(layout, tip.after, tip.branch, *flow, asks, &who);
    }
    let none = VolumeRate::of_si(0.0);
    for outlet in outlets {
        let asks = outlet.pressure - lost(outlet.place);
        let (after, branch) = (outlet.after, outlet.branch);
        all.ask(layout, after, branch, none, asks, &outlet.who);
    }
    for (index, cut) in layout.cuts.iter().enumerate().rev() {
        let (Some(after), Some(own)) = (cut.after, all.cuts.get(index).cloned()) else {
            continue;
        };
        if !own.any() {
            continue;
        }
        let flow = flows.get(index).copied().unwrap_or_default();
        let asks = at_inlet(&cut.kind, flow, own.pressure) - lost(cut.inlet);
        let who = match cut.kind {
            CutKind::Pump => (cut.line.clone(), "intake".into()),
            CutKind::Eductor(..) => (cut.line.clone(), format!("{}, eductor", cut.path)),
            CutKind::Regulating(..) => own.worst.clone(),
        };
        let feeders = feeders(after, cut);
        let each = flow / feeders.len() as f64;
        for (after, branch) in feeders {
            all.ask(layout, after, branch, each, asks, &who);
        }
    }
    all
}

/// Everything that feeds a cut, each with its outlet.
fn feeders(after: usize, cut: &Cut) -> Vec<(usize, Option<usize>)> {
    let first = std::iter::once((after, cut.branch));
    first.chain(cut.also_after.iter().copied()).collect()
}

impl Demands {
    fn ask(
        &mut self,
        layout: &Layout,
        after: usize,
        branch: Option<usize>,
        flow: VolumeRate,
        pressure: Pressure,
        who: &(String, String),
    ) {
        if let Some(feeds) = self.cuts.get_mut(after) {
            feeds.add(flow, pressure, who);
        }
        let pump = |cut: &book::Cut| matches!(cut.kind, CutKind::Pump);
        let direct = layout.cuts.get(after).is_some_and(pump);
        let outlet = branch.and_then(|b| self.branches.get_mut(b));
        if let (true, Some(outlet)) = (direct, outlet) {
            outlet.add(flow, pressure, who);
        }
    }
}

/// Highest discharge pressure that is tried: 1,000 psi.
const HIGHEST: f64 = 6.9e6;

/// The flows of all tips when every outlet of the rigs stands as wide open as its
/// hardest tip needs and nothing past it is gated: easier tips then take more than
/// their aim. A tip past an eductor, or whose flow cannot be had, keeps its aim's.
pub(crate) fn open_flows(laid: &SceneLayout, outlets: &[Required]) -> BTreeMap<PartId, VolumeRate> {
    let layout = &laid.layout;
    let mut flows = BTreeMap::new();
    for tip in &layout.tips {
        if let Some(flow) = by_aim(tip) {
            flows.insert(tip.part, flow);
        }
    }
    for (index, branch) in laid.branches.iter().enumerate() {
        let own: Vec<(&LaidTip, VolumeRate)> = layout
            .tips
            .iter()
            .filter(|tip| tip.branch == Some(index))
            .filter_map(|tip| Some((tip, by_aim(tip)?)))
            .collect();
        let plain = own.iter().all(|(tip, _)| !past_eductor(layout, tip));
        let outlets: Vec<&Required> = outlets
            .iter()
            .filter(|outlet| outlet.branch == Some(index))
            .collect();
        if own.len() + outlets.len() > 1 && plain {
            flows.extend(opened(laid, branch, (&own, &outlets)));
        }
    }
    flows
}

fn past_eductor(layout: &Layout, tip: &LaidTip) -> bool {
    let cut = layout.cuts.get(tip.after);
    cut.is_some_and(|cut| matches!(cut.kind, CutKind::Eductor(..)))
}

/// The flows of one outlet's tips at the discharge at which the hardest has its.
fn opened(
    laid: &SceneLayout,
    branch: &Branch,
    (own, outlets): (&[(&LaidTip, VolumeRate)], &[&Required]),
) -> Vec<(PartId, VolumeRate)> {
    let Some(rig) = laid.rigs.get(branch.rig) else {
        return Vec::new();
    };
    let mut lay = laid.layout.lay.clone();
    inverse::shut(&mut lay, laid.rigs.iter().map(|rig| rig.part));
    let others = laid.branches.iter().filter(|b| b.part != branch.part);
    inverse::shut(&mut lay, others.map(|b| b.part));
    lay.hold(rig.discharge, Pressure::of_si(0.0));
    // A valve that holds gives no more however high the pump is set: what lies past
    // it counts as long as it can be had, else not.
    let past = |after: usize| {
        let cut = laid.layout.cuts.get(after);
        cut.is_some_and(|cut| matches!(cut.kind, CutKind::Regulating(..)))
    };
    let plain: Vec<_> = own
        .iter()
        .filter(|(tip, _)| !past(tip.after))
        .copied()
        .collect();
    let open: Vec<_> = outlets.iter().filter(|o| !past(o.after)).copied().collect();
    let found = pressure_for(&lay, rig.discharge, own, &open)
        .or_else(|| pressure_for(&lay, rig.discharge, &plain, &open));
    let Some(pressure) = found else {
        return Vec::new();
    };
    lay.set_pressure(rig.discharge, pressure);
    let steady = lay::solve(&lay);
    let flows = own.iter().map(|(tip, _)| (tip.part, steady.flow(tip.part)));
    flows.collect()
}

/// The discharge at which every tip has its flow and every outlet its pressure.
fn pressure_for(
    lay: &Lay,
    discharge: PlaceId,
    own: &[(&LaidTip, VolumeRate)],
    outlets: &[&Required],
) -> Option<Pressure> {
    let least = |steady: &Steady| {
        let shares = own
            .iter()
            .map(|(tip, flow)| (steady.flow(tip.part) / *flow).value);
        let pressures = outlets.iter().map(|outlet| {
            let now = steady.pressure(outlet.place).unwrap_or_default();
            (now / outlet.pressure).value
        });
        shares.chain(pressures).fold(f64::INFINITY, f64::min)
    };
    if own.is_empty() && outlets.is_empty() {
        return None;
    }
    let ceiling = Pressure::of_si(HIGHEST);
    inverse::pump_pressure(lay, discharge, least, 1.0, ceiling).ok()
}

/// Flow through each cut. An eductor takes its rated flow.
fn cut_flows(layout: &Layout, tips: &[(&LaidTip, VolumeRate)]) -> Vec<VolumeRate> {
    let mut flows = vec![VolumeRate::of_si(0.0); layout.cuts.len()];
    for (tip, flow) in tips {
        if let Some(through) = flows.get_mut(tip.after) {
            *through += *flow;
        }
    }
    for (index, cut) in layout.cuts.iter().enumerate().rev() {
        let Some(through) = flows.get_mut(index) else {
            continue;
        };
        if let (CutKind::Eductor(eductor, _), true) = (&cut.kind, through.value > 0.0) {
            *through = eductor.rated_flow();
        }
        let through = *through;
        let Some(after) = cut.after else { continue };
        let feeders = feeders(after, cut);
        let each = through / feeders.len() as f64;
        for (after, _) in feeders {
            if let Some(feeds) = flows.get_mut(after) {
                *feeds += each;
            }
        }
    }
    flows
}

fn solved(layout: &Layout, tips: &[(&LaidTip, VolumeRate)], flows: &[VolumeRate]) -> Steady {
    let mut lay = layout.lay.clone();
    let none = Pressure::of_si(0.0);
    inverse::shut(&mut lay, layout.tips.iter().map(|tip| tip.part));
    inverse::shut(&mut lay, layout.cuts.iter().filter_map(|cut| cut.part));
    // What a relay must bring does not come from another source.
    inverse::shut(&mut lay, layout.sources.iter().copied());
    for (tip, flow) in tips {
        inverse::draw_more(&mut lay, tip.inlet, *flow);
    }
    for (cut, flow) in layout.cuts.iter().zip(flows) {
        lay.hold(cut.outlet, none);
        if cut.after.is_some() {
            inverse::draw_more(&mut lay, cut.inlet, *flow);
        }
    }
    lay::solve(&lay)
}

/// The pressure that a part asks at its inlet for `beyond` at its outlet.
fn at_inlet(kind: &CutKind, flow: VolumeRate, beyond: Pressure) -> Pressure {
    match kind {
        CutKind::Pump => least_residual(),
        CutKind::Eductor(eductor, _) => eductor.rated_inlet(),
        CutKind::Regulating(setting, law) => beyond.min(*setting) + law.loss(flow).pressure,
    }
}
