//! How much of every limit is used, and which binds first.

use super::{RigAnswer, SceneAnswer, SetBy, Solved};
use crate::demand::least_residual;
use crate::fact::{Fact, Said};
use crate::figure::{self, Figure};
use crate::need;
use book::{LaidSource, PartKind, SourceKind, Stated};
use hydraulics::pump::least_intake;
use hydraulics::units::{Measure, Pressure, Ratio, psi};
use std::collections::BTreeMap;

/// One limit of a scene.
#[derive(Debug, Clone, PartialEq)]
pub struct Limit {
    /// A fixed name for programs, in snake_case.
    pub code: &'static str,
    /// What it is about.
    pub what: &'static str,
    /// Where.
    pub place: String,
    /// What it is now.
    pub value: Figure,
    /// What it must not pass.
    pub limit: Figure,
    /// The limit is a least, not a most.
    pub at_least: bool,
    /// Share of the limit that is used: 1 at the limit.
    pub used: f64,
}

impl Limit {
    /// What is left, as a share of the limit; below zero when it is passed.
    pub fn margin(&self) -> Ratio {
        Ratio::of_si(1.0 - self.used)
    }

    /// Is it passed, by more than a rounding?
    pub fn passed(&self) -> bool {
        self.used > 1.005
    }

    /// What is said about it.
    pub fn facts(&self) -> Vec<Fact> {
        vec![
            ("limit", self.what.into()),
            ("code", self.code.into()),
            ("place", self.place.clone().into()),
            ("now", self.value.into()),
            (
                if self.at_least { "at least" } else { "at most" },
                self.limit.into(),
            ),
            ("used", figure::share(Ratio::of_si(self.used)).into()),
            ("margin", figure::share(self.margin()).into()),
            ("passed", Said::Flag(self.passed())),
        ]
    }
}

fn most(
    code: &'static str,
    what: &'static str,
    place: impl Into<String>,
    (value, limit): (Figure, Figure),
    used: f64,
) -> Limit {
    Limit {
        code,
        what,
        place: place.into(),
        value,
        limit,
        at_least: false,
        used: if used.is_finite() {
            used.max(0.0)
        } else {
            9.99
        },
    }
}

fn least(
    code: &'static str,
    what: &'static str,
    place: impl Into<String>,
    pair: (Figure, Figure),
    used: f64,
) -> Limit {
    let used = if used < 0.0 { f64::INFINITY } else { used };
    Limit {
        at_least: true,
        ..most(code, what, place, pair, used)
    }
}

/// Highest pressure at a standpipe's hose outlet: 175 psi (case LIM-10, seen).
const HIGHEST_OUTLET: f64 = 175.0;

/// What is past its limit: the cause before what follows from it, from the water to
/// the tips.
fn nearness(code: &str) -> u8 {
    match code {
        "main_flow" | "suction" | "draft_flow" | "shuttle_rate" | "tank_pipe" => 0,
        "supply_intake" | "relay_intake" | "pump_capability" | "pump_flow" | "pump_ceiling" => 1,
        "service_pressure" | "standpipe_rated" | "standpipe_outlet" | "standpipe_outlet_high" => 2,
        "eductor_back_pressure" | "proportioner" => 3,
        "spill_rate" | "concentrate" | "foam_lasts" => 4,
        _ => 5,
    }
}

fn pressures(value: Pressure, limit: Pressure) -> (Figure, Figure) {
    (figure::pressure(value), figure::pressure(limit))
}

/// Every limit, the one of which most is used first.
pub(super) fn of(solved: &Solved<'_>, answer: &SceneAnswer) -> Vec<Limit> {
    let mut limits = Vec::new();
    pumps(solved, answer, &mut limits);
    sources(solved, answer, &mut limits);
    hose(solved, &mut limits);
    standpipes(answer, &mut limits);
    foam(answer, &mut limits);
    tips(solved, answer, &mut limits);
    limits.sort_by(|a, b| {
        let past = |l: &Limit| {
            if l.passed() {
                nearness(l.code)
            } else {
                u8::MAX
            }
        };
        past(a).cmp(&past(b)).then(b.used.total_cmp(&a.used))
    });
    limits
}

fn pumps(solved: &Solved<'_>, answer: &SceneAnswer, limits: &mut Vec<Limit>) {
    let ceiling = solved.book.pump_ceiling.as_ref().map(Stated::get);
    for (rig, laid) in answer.rigs.iter().zip(&solved.laid.rigs) {
        if rig.flow.value <= 1e-6 {
            continue;
        }
        // A pump that has run out stands at its capability and holds less than it
        // should: what it should give is what counts.
        let wanted = rig.setting.unwrap_or(rig.discharge).max(rig.discharge) - rig.intake;
        limits.push(most(
            "pump_capability",
            "pump, net pressure at this flow",
            &rig.name,
            pressures(wanted, rig.capability),
            (wanted / rig.capability).value,
        ));
        limits.push(most(
            "pump_flow",
            "pump, rated flow",
            &rig.name,
            (figure::flow(rig.flow), figure::flow(rig.rated)),
            (rig.flow / rig.rated).value,
        ));
        let hydrant =
            |s: &&LaidSource| s.rig == rig.name && matches!(s.kind, SourceKind::Hydrant(_));
        if solved.laid.sources.iter().any(|s| hydrant(&s)) {
            limits.push(least(
                "supply_intake",
                "intake, least residual",
                &rig.name,
                pressures(rig.intake, least_residual()),
                (least_residual() / rig.intake).value,
            ));
        }
        if let Some(ceiling) = ceiling {
            // Water that runs through can be above what the pump is set to.
            let held = rig.setting.unwrap_or(rig.discharge).max(rig.discharge);
            limits.push(most(
                "pump_ceiling",
                "pump, department's ceiling",
                &rig.name,
                pressures(held, ceiling),
                (held / ceiling).value,
            ));
        }
        let cut = solved.laid.layout.cuts.get(laid.cut);
        let feeder = cut.and_then(|cut| cut.after);
        let feeder = feeder.and_then(|f| solved.laid.rigs.iter().position(|r| r.cut == f));
        let feeder = feeder.and_then(|f| answer.rigs.get(f));
        // A rig that is set for this intake gives it just what it needs: only a
        // missed one is a limit then.
        let set_for_it = |f: &RigAnswer| matches!(f.set_by, SetBy::Demand(_));
        let short = rig.intake < least_residual() * 0.995;
        if feeder.is_some_and(|f| short || !set_for_it(f)) {
            limits.push(least(
                "relay_intake",
                "relay, residual at the intake",
                &rig.name,
                pressures(rig.intake, least_residual()),
                (least_residual() / rig.intake).value,
            ));
        }
    }
}

fn sources(solved: &Solved<'_>, answer: &SceneAnswer, limits: &mut Vec<Limit>) {
    let mut mains: Vec<&str> = Vec::new();
    for (source, laid) in answer.sources.iter().zip(&solved.laid.sources) {
        if let Some(main) = &source.main
            && !mains.contains(&main.name.as_str())
        {
            mains.push(&main.name);
            limits.push(most(
                "main_flow",
                "main, flow at the least residual",
                format!("main at {}", main.name),
                (figure::flow(main.flow), figure::flow(main.available)),
                (main.flow / main.available).value,
            ));
        }
        match laid.kind {
            SourceKind::Tank(_, pipe) => limits.push(most(
                "tank_pipe",
                "pipe from tank to pump",
                &source.name,
                (figure::flow(source.flow), figure::flow(pipe)),
                (source.flow / pipe).value,
            )),
            SourceKind::Draft | SourceKind::Shuttle => {
                let rig = solved.laid.rigs.iter().find(|rig| rig.name == laid.rig);
                let bound = rig.map_or_else(least_intake, |rig| rig.starves_at);
                limits.push(least(
                    "suction",
                    "suction of the pump",
                    &source.rig,
                    (
                        figure::pressure(source.pressure).fine(),
                        figure::pressure(bound).fine(),
                    ),
                    (source.pressure / bound).value.max(0.0),
                ));
            }
            SourceKind::Hydrant(_) => {}
        }
        if let Some(by_table) = source.draft.as_ref().and_then(|d| d.by_table) {
            limits.push(most(
                "draft_flow",
                "draft, rated flow at this lift",
                &source.rig,
                (figure::flow(source.flow), figure::flow(by_table)),
                (source.flow / by_table).value,
            ));
        }
        if let Some(stored) = source.stored.as_ref().filter(|s| s.tankers.is_some()) {
            limits.push(most(
                "shuttle_rate",
                "shuttle, what the tankers bring",
                &source.name,
                (figure::flow(source.flow), figure::flow(stored.refill)),
                (source.flow / stored.refill).value,
            ));
        }
    }
}

/// For each kind of hose in each line, the piece that bears most.
fn hose(solved: &Solved<'_>, limits: &mut Vec<Limit>) {
    let layout = &solved.laid.layout;
    let mut worst: BTreeMap<(&str, &str), (Pressure, Pressure)> = BTreeMap::new();
    for laid in layout.parts.iter().filter(|p| p.kind == PartKind::Hose) {
        let Some(service) = laid.service_pressure else {
            continue;
        };
        let (from, to) = layout.lay.ends(laid.part);
        let highest = solved.pressure(from).max(solved.pressure(to));
        let entry = worst
            .entry((&laid.line, &laid.name))
            .or_insert((highest, service));
        if highest > entry.0 {
            entry.0 = highest;
        }
    }
    for ((line, name), (highest, service)) in worst {
        limits.push(most(
            "service_pressure",
            "hose, service pressure",
            format!("{line}, hose {name}"),
            pressures(highest, service),
            (highest / service).value,
        ));
    }
}

fn standpipes(answer: &SceneAnswer, limits: &mut Vec<Limit>) {
    for pipe in &answer.standpipes {
        let rig = answer.rigs.iter().find(|rig| rig.name == pipe.rig);
        let set_for_it = rig.is_some_and(|rig| matches!(rig.set_by, SetBy::Demand(_)));
        if let Some(rated) = pipe.rated {
            limits.push(most(
                "standpipe_rated",
                "standpipe, rated pressure",
                &pipe.name,
                pressures(pipe.inlet, rated),
                (pipe.inlet / rated).value,
            ));
        }
        for floor in &pipe.floors {
            // An outlet set below what is required cannot be at fault for it.
            let required = floor
                .setting
                .map_or(pipe.required, |s| s.min(pipe.required));
            let usable = psi(HIGHEST_OUTLET);
            limits.push(most(
                "standpipe_outlet_high",
                "standpipe, highest at an outlet",
                format!("{}, floor {}", pipe.name, floor.floor),
                pressures(floor.pressure, usable),
                (floor.pressure / usable).value,
            ));
            // As with aims: a pump that is set for it gives just this.
            if set_for_it && floor.pressure >= required * 0.995 {
                continue;
            }
            limits.push(least(
                "standpipe_outlet",
                "standpipe, required at the outlet",
                format!("{}, floor {}", pipe.name, floor.floor),
                pressures(floor.pressure, required),
                (required / floor.pressure).value,
            ));
        }
    }
}

fn foam(answer: &SceneAnswer, limits: &mut Vec<Limit>) {
    for eductor in &answer.eductors {
        limits.push(most(
            "eductor_back_pressure",
            "eductor, back-pressure",
            format!("{}, {}", eductor.line, eductor.place),
            pressures(eductor.outlet, eductor.highest_outlet),
            (eductor.outlet / eductor.highest_outlet).value,
        ));
    }
    let mut seen: Vec<&str> = Vec::new();
    for line in &answer.foam {
        let Some(added) = line.most.filter(|_| !seen.contains(&line.rig.as_str())) else {
            continue;
        };
        seen.push(&line.rig);
        let rig = answer.foam.iter().filter(|l| l.rig == line.rig);
        let all = rig.filter_map(|l| Some(l.solution * l.asked.filter(|_| l.most.is_some())?));
        let all = all.reduce(|a, b| a + b).unwrap_or_default();
        limits.push(most(
            "proportioner",
            "proportioner, concentrate",
            &line.rig,
            (figure::small_flow(all), figure::small_flow(added)),
            (all / added).value,
        ));
    }
    if let Some(spill) = &answer.spill {
        limits.push(least(
            "spill_rate",
            "foam solution for the spill",
            "spill",
            (
                figure::flow(spill.solution),
                figure::flow(spill.need.solution()),
            ),
            (spill.need.solution() / spill.solution).value,
        ));
        let carried = figure::volume(spill.carried).fine();
        let needed = figure::volume(spill.need.concentrate()).fine();
        limits.push(least(
            "concentrate",
            "foam concentrate carried",
            "spill",
            (carried, needed),
            (spill.need.concentrate() / spill.carried).value,
        ));
        if let Some(lasts) = spill.lasts {
            let wanted = spill.need.duration;
            limits.push(least(
                "foam_lasts",
                "foam concentrate, time as the lines flow",
                "spill",
                (figure::time(lasts), figure::time(wanted)),
                (wanted / lasts).value,
            ));
        }
    }
}

fn tips(solved: &Solved<'_>, answer: &SceneAnswer, limits: &mut Vec<Limit>) {
    let three = solved.book.crew_limits()[2];
    for (tip, got) in solved.laid.layout.tips.iter().zip(&answer.tips) {
        let place = || format!("{}, {}", got.line, got.place);
        if !got.on_monitor {
            limits.push(most(
                "reaction",
                "reaction, three people",
                place(),
                (figure::force(got.reaction), figure::force(three)),
                (got.reaction / three).value,
            ));
        }
        // Pumps are set so that aims are just met: only a missed one is a limit.
        let wanted = need::flow(tip).filter(|_| got.aim_met == Some(false));
        if let Some(wanted) = wanted.filter(|wanted| *wanted > got.flow * 1.005) {
            limits.push(least(
                "aim",
                "aim of the tip",
                place(),
                (figure::flow(got.flow), figure::flow(wanted)),
                (wanted / got.flow).value,
            ));
        }
    }
}
