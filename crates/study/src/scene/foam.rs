//! Foam: eductors, proportioners, and a spill to be covered.

use super::Solved;
use crate::fact::{Fact, Said};
use crate::figure;
use book::{Cut, CutKind, LaidTip, Layout, PartKind, Stated};
use hydraulics::eductor::Eductor;
use hydraulics::foam_supply::{self, Spill};
use hydraulics::units::{Area, Length, Measure, Pressure, Ratio, Time, Volume, VolumeRate};
use lay::Steady;

/// What an eductor does.
#[derive(Debug, Clone, PartialEq)]
pub struct EductorAnswer {
    /// Its line.
    pub line: String,
    /// Its place.
    pub place: String,
    /// Flow.
    pub flow: VolumeRate,
    /// Rated flow.
    pub rated: VolumeRate,
    /// Pressure at its inlet.
    pub inlet: Pressure,
    /// Rated inlet pressure.
    pub rated_inlet: Pressure,
    /// Pressure at its outlet.
    pub outlet: Pressure,
    /// The highest outlet pressure at which it draws, at this inlet.
    pub highest_outlet: Pressure,
    /// Does it draw concentrate?
    pub draws: bool,
    /// The ratio at which it is set.
    pub set: Option<Ratio>,
    /// The ratio that it makes.
    pub makes: Option<Ratio>,
    /// Hose past it.
    pub hose_past: Length,
    /// The most hose past it at its rated flow and inlet; `None` when none is
    /// short enough.
    pub longest_past: Option<Length>,
    /// What the nozzles past it pass at their rated pressure.
    pub nozzle: VolumeRate,
    /// How high the highest of them is held above it.
    pub rise: Length,
    /// Nozzle pressure that is wanted past it, at its rated flow.
    pub nozzle_pressure: Pressure,
}

impl EductorAnswer {
    /// Do the nozzles past it pass what it is rated for, to a twentieth?
    pub fn nozzle_matches(&self) -> bool {
        (self.nozzle - self.rated).value.abs() <= 0.05 * self.rated.value
    }
}

/// A line of foam solution.
#[derive(Debug, Clone, PartialEq)]
pub struct FoamLine {
    /// The line.
    pub line: String,
    /// The rig that feeds it.
    pub rig: String,
    /// Eductor or proportioner.
    pub by: &'static str,
    /// Solution.
    pub solution: VolumeRate,
    /// Share of concentrate that is asked for.
    pub asked: Option<Ratio>,
    /// Share of concentrate in it; zero where an eductor does not draw.
    pub ratio: Ratio,
    /// Concentrate.
    pub concentrate: VolumeRate,
    /// The most that the rig's proportioner adds.
    pub most: Option<VolumeRate>,
    /// How long the rig's concentrate lasts for all its foam lines.
    pub lasts: Option<Time>,
}

/// A spill against the foam at hand.
#[derive(Debug, Clone, PartialEq)]
pub struct SpillAnswer {
    /// Its area.
    pub area: Area,
    /// What it takes.
    pub need: Spill,
    /// Solution from the scene's lines, where concentrate is in it.
    pub solution: VolumeRate,
    /// Concentrate that the rigs with foam lines carry.
    pub carried: Volume,
    /// How long the first of those rigs has some, its lines as they flow.
    pub lasts: Option<Time>,
    /// Area that the solution covers at the rate.
    pub covers: Area,
}

pub(super) fn eductors(solved: &Solved<'_>) -> Vec<EductorAnswer> {
    eductors_of(&solved.laid.layout, &solved.steady)
}

/// What every eductor of a layout does.
pub(crate) fn eductors_of(layout: &Layout, steady: &Steady) -> Vec<EductorAnswer> {
    let cuts = layout.cuts.iter().enumerate();
    let eductor = |(index, cut): (usize, &Cut)| match &cut.kind {
        CutKind::Eductor(eductor, set) => Some(answer(layout, steady, index, (cut, eductor, *set))),
        _ => None,
    };
    cuts.filter_map(eductor).collect()
}

fn answer(
    layout: &Layout,
    steady: &Steady,
    index: usize,
    (cut, eductor, set): (&Cut, &Eductor, Option<Ratio>),
) -> EductorAnswer {
    let at = |place| steady.pressure(place).unwrap_or_default();
    let (inlet, outlet) = (at(cut.inlet), at(cut.outlet));
    let flow = cut.part.map(|part| steady.flow(part)).unwrap_or_default();
    let draws = flow.value > 1e-5 && eductor.draws(inlet, outlet);
    let past = past(layout, steady, index, cut);
    EductorAnswer {
        line: cut.line.clone(),
        place: cut.path.to_string(),
        flow,
        rated: eductor.rated_flow(),
        inlet,
        rated_inlet: eductor.rated_inlet(),
        outlet,
        highest_outlet: eductor.highest_outlet(inlet),
        draws,
        set,
        makes: set
            .filter(|_| draws)
            .map(|set| eductor.ratio_at(set, inlet)),
        hose_past: past.hose,
        longest_past: longest(eductor, &past, (flow, outlet)),
        nozzle: past.nozzle,
        rise: past.rise,
        nozzle_pressure: past.wanted,
    }
}

/// What lies past an eductor.
struct Past {
    hose: Length,
    nozzle: VolumeRate,
    rise: Length,
    /// Pressure of that rise.
    lift: Pressure,
    /// Pressure that the tip asks at the eductor's rated flow, its rise apart.
    wanted: Pressure,
    /// Pressure at that tip's inlet now.
    tip: Pressure,
}

fn past(layout: &Layout, steady: &Steady, index: usize, cut: &Cut) -> Past {
    let tips: Vec<&LaidTip> = layout.tips.iter().filter(|t| t.after == index).collect();
    let hose = layout.parts.iter().filter(|part| {
        part.kind == PartKind::Hose && part.line == cut.line && part.path > cut.path
    });
    let flow = cut.part.map(|part| steady.flow(part)).unwrap_or_default();
    // Side by side, the way is as long as one leg: its share of the flow.
    let hose = hose.fold(Length::of_si(0.0), |sum, part| {
        let share = (steady.flow(part.part) / flow).value;
        let share = if share.is_finite() { share } else { 1.0 };
        sum + part.length.unwrap_or_default() * share
    });
    let nozzle = tips.iter().fold(VolumeRate::of_si(0.0), |sum, tip| {
        sum + tip.tip.nozzle.flow(tip.rated_pressure)
    });
    let highest = tips
        .iter()
        .max_by(|a, b| a.height.value.total_cmp(&b.height.value));
    let start = layout.lay.height(cut.outlet);
    let (rise, lift, wanted, tip) = match highest {
        None => Default::default(),
        Some(tip) => {
            let column = layout.lay.column(layout.lay.height(tip.inlet) - start);
            let wanted = tip.rated_pressure + layout.lay.rise(tip.part);
            let now = steady.pressure(tip.inlet).unwrap_or_default();
            (tip.height - start, column, wanted, now)
        }
    };
    Past {
        hose,
        nozzle,
        rise,
        lift,
        wanted,
        tip,
    }
}

/// The most hose past an eductor at its rating: what the limit leaves after
/// nozzle and rise, over the loss of the hose that lies there.
fn longest(
    eductor: &Eductor,
    past: &Past,
    (flow, outlet): (VolumeRate, Pressure),
) -> Option<Length> {
    let friction = outlet - past.tip - past.lift;
    if flow.value < 1e-5 || friction.value <= 0.0 || past.hose.value <= 0.0 {
        return None;
    }
    let rated = eductor.rated_flow();
    let friction = friction * (rated / flow) * (rated / flow);
    let limit = eductor.highest_outlet(eductor.rated_inlet());
    let spare = limit - past.wanted - past.lift;
    (spare.value > 0.0).then(|| past.hose * (spare / friction))
}

pub(super) fn lines(solved: &Solved<'_>, eductors: &[EductorAnswer]) -> Vec<FoamLine> {
    let mut lines: Vec<FoamLine> = eductors.iter().map(|e| by_eductor(solved, e)).collect();
    lines.extend(proportioned(solved));
    let drawn: Vec<(String, VolumeRate)> = lines
        .iter()
        .map(|line| (line.rig.clone(), line.concentrate))
        .collect();
    for line in &mut lines {
        let all = drawn.iter().filter(|(rig, _)| *rig == line.rig);
        let all = all.fold(VolumeRate::of_si(0.0), |sum, (_, flow)| sum + *flow);
        let rig = solved.book.rig.get(&line.rig);
        let carried = rig.and_then(|r| r.concentrate.as_ref()).map(Stated::get);
        line.lasts = carried.filter(|_| all.value > 0.0).map(|c| c / all);
    }
    lines
}

fn rig_of(solved: &Solved<'_>, line: &str) -> String {
    let tip = solved.laid.layout.tips.iter().find(|t| t.line == line);
    let branch = tip.and_then(|t| t.branch);
    let branch = branch.and_then(|b| solved.laid.branches.get(b));
    branch.map_or_else(String::new, |b| b.outlet.rig.clone())
}

fn by_eductor(solved: &Solved<'_>, eductor: &EductorAnswer) -> FoamLine {
    let ratio = eductor.makes.unwrap_or_else(|| Ratio::of_si(0.0));
    FoamLine {
        line: eductor.line.clone(),
        rig: rig_of(solved, &eductor.line),
        by: "eductor",
        solution: eductor.flow,
        asked: eductor.set,
        ratio,
        concentrate: foam_supply::concentrate(eductor.flow, ratio),
        most: None,
        lasts: None,
    }
}

/// The lines that a rig's own proportioner gives solution: leaner than asked for
/// where all together ask for more concentrate than it adds, water where there is
/// none.
fn proportioned(solved: &Solved<'_>) -> Vec<FoamLine> {
    let most = |rig: &str| {
        let item = solved.book.rig.get(rig);
        item.and_then(|r| r.proportioner.as_ref()).map(Stated::get)
    };
    let solution = |line: &str| {
        let tips = solved.tips.iter().filter(|tip| tip.line == line);
        tips.fold(VolumeRate::of_si(0.0), |sum, tip| sum + tip.flow)
    };
    let asked = |rig: &str| {
        let own = solved.laid.foam.iter().filter(|foam| foam.rig == rig);
        own.fold(VolumeRate::of_si(0.0), |sum, foam| {
            sum + foam_supply::concentrate(solution(&foam.line), foam.ratio)
        })
    };
    let lines = solved.laid.foam.iter().map(|foam| {
        let (most, asked) = (most(&foam.rig), asked(&foam.rig));
        let share = match most {
            None => 0.0,
            Some(most) if asked > most => (most / asked).value,
            Some(_) => 1.0,
        };
        let (solution, ratio) = (solution(&foam.line), foam.ratio * share);
        FoamLine {
            line: foam.line.clone(),
            rig: foam.rig.clone(),
            by: "proportioner",
            solution,
            asked: Some(foam.ratio),
            ratio,
            concentrate: foam_supply::concentrate(solution, ratio),
            most,
            lasts: None,
        }
    });
    lines.collect()
}

pub(super) fn spill(solved: &Solved<'_>, foam: &[FoamLine]) -> Option<SpillAnswer> {
    let written = solved.scene.spill.as_ref()?;
    let rate = written.rate.as_ref().map(Stated::get);
    let duration = written.duration.as_ref().map(Stated::get);
    let need = Spill {
        area: written.area.get(),
        rate: rate.unwrap_or_else(|| written.fuel.spill_rate()),
        ratio: written.ratio.get(),
        duration: duration.unwrap_or_else(foam_supply::spill_duration),
    };
    // Concentrate counts on the rigs that use it; foam counts where it is rich enough.
    let users: std::collections::BTreeSet<&str> = foam.iter().map(|l| l.rig.as_str()).collect();
    let carried = users.iter().filter_map(|name| {
        let rig = solved.book.rig.get(*name)?;
        Some(rig.concentrate.as_ref()?.get())
    });
    let carried = carried.fold(Volume::of_si(0.0), |sum, volume| sum + volume);
    let rich = need.ratio * 0.95;
    let drawing = foam
        .iter()
        .filter(|line| line.ratio.value > 0.0 && line.ratio >= rich);
    let lasts = foam.iter().filter(|line| line.ratio.value > 0.0);
    let lasts = lasts
        .map(|line| line.lasts.unwrap_or_default())
        .reduce(Time::min);
    let solution = drawing.fold(VolumeRate::of_si(0.0), |sum, line| sum + line.solution);
    Some(SpillAnswer {
        area: need.area,
        need,
        solution,
        carried,
        lasts,
        covers: solution / need.rate,
    })
}

impl EductorAnswer {
    /// What is said about it.
    pub fn facts(&self) -> Vec<Fact> {
        vec![
            ("line", self.line.clone().into()),
            ("place", self.place.clone().into()),
            ("draws concentrate", self.draws.into()),
            ("flow", figure::flow(self.flow).into()),
            ("rated flow", figure::flow(self.rated).into()),
            ("inlet", figure::pressure(self.inlet).into()),
            ("rated inlet", figure::pressure(self.rated_inlet).into()),
            ("outlet", figure::pressure(self.outlet).into()),
            (
                "highest outlet",
                figure::pressure(self.highest_outlet).into(),
            ),
            ("set to", self.set.map(figure::ratio).into()),
            ("makes", self.makes.map(figure::ratio).into()),
            ("hose past it", figure::length(self.hose_past).into()),
            (
                "longest past it",
                match self.longest_past {
                    Some(length) => figure::length(length).into(),
                    None => Said::Nothing,
                },
            ),
            ("nozzle past it", figure::flow(self.nozzle).into()),
            ("nozzle matches", self.nozzle_matches().into()),
        ]
    }
}

impl FoamLine {
    /// What is said about it.
    pub fn facts(&self) -> Vec<Fact> {
        vec![
            ("line", self.line.clone().into()),
            ("rig", self.rig.clone().into()),
            ("by", self.by.into()),
            ("solution", figure::flow(self.solution).into()),
            ("set to", self.asked.map(figure::ratio).into()),
            ("ratio", figure::ratio(self.ratio).into()),
            ("concentrate", figure::small_flow(self.concentrate).into()),
            ("at most", self.most.map(figure::small_flow).into()),
            ("carried lasts", self.lasts.map(figure::time).into()),
        ]
    }
}

impl SpillAnswer {
    /// What is said about it.
    pub fn facts(&self) -> Vec<Fact> {
        vec![
            ("area", figure::area(self.area).into()),
            ("rate", figure::rate(self.need.rate).into()),
            ("duration", figure::time(self.need.duration).into()),
            ("ratio", figure::ratio(self.need.ratio).into()),
            ("solution needed", figure::flow(self.need.solution()).into()),
            ("solution given", figure::flow(self.solution).into()),
            ("area that it covers", figure::area(self.covers).into()),
            (
                "concentrate needed",
                figure::volume(self.need.concentrate()).fine().into(),
            ),
            (
                "concentrate carried",
                figure::volume(self.carried).fine().into(),
            ),
            (
                "first rig runs out after",
                self.lasts.map(figure::time).into(),
            ),
            ("water needed", figure::volume(self.need.water()).into()),
        ]
    }
}
