//! What the limits leave: choices excluded, limits that contradict each other, and what
//! to relax when nothing is left.

use super::asked::{Asked, Bound, question};
use super::evaluate::{Gives, How, Of, bit};
use super::tried::{Tried, on_lines, together};
use super::words::{called, count_of};
use super::{ChooseError, Excluded, Limit, OfLine, Said};
use crate::figure::{self, Figure, thousands};
use crate::given::reaction_of;
use book::{Book, Conditions, PartKind, Which};
use hydraulics::nozzle::Nozzle;
use hydraulics::units::{Force, Length, Mass, Measure, Pressure, System, VolumeRate};
use std::collections::BTreeMap;

/// Limits that are no numbers.
const FAULTS: [Limit; 3] = [Limit::Couplings, Limit::Eductor, Limit::NoAnswer];

/// The value of a limit as a figure.
pub(super) fn limit_figure(book: &Book, limit: Limit, value: f64) -> Figure {
    match limit {
        Limit::Reaction => figure::force(Force::of_si(value)),
        Limit::PumpPressure
        | Limit::TipPressure
        | Limit::TipPressureAtLowPump
        | Limit::OutletPressure => figure::pressure(Pressure::of_si(value)),
        Limit::Flow | Limit::FlowAtLowPump => figure::flow(VolumeRate::of_si(value)),
        Limit::Reach => figure::length(Length::of_si(value)),
        Limit::Weight => figure::mass(Mass::of_si(value)),
        Limit::ServicePressure => figure::share(Measure::of_si(value)),
        Limit::Price => Figure::price(value, book),
        Limit::Kinds | Limit::Couplings | Limit::Eductor | Limit::NoAnswer => {
            Figure::count(value, 0)
        }
    }
}

/// What `on` has of a limit, and what it may have.
pub(super) fn has_and_may(
    asked: &Asked,
    on: &[OfLine],
    gives: &Gives,
    bound: &Bound,
) -> Option<(Figure, Figure)> {
    let value = gives.get(bound.of);
    if value.is_nan() {
        return None;
    }
    if bound.limit == Limit::ServicePressure {
        let (has, may) = service(asked, on)?;
        return Some(told_apart(figure::pressure(has), figure::pressure(may)));
    }
    let figure = |value| limit_figure(asked.book, bound.limit, value);
    Some(told_apart(figure(value), figure(bound.may)))
}

/// Two figures with one decimal more where they read the same otherwise.
fn told_apart(has: Figure, may: Figure) -> (Figure, Figure) {
    let same = |system| {
        let none = has.less(&may).show_change(system) == "none";
        none || has.show(system) == may.show(system)
    };
    match same(System::Us) || same(System::Si) {
        true => (has.fine(), may.fine()),
        false => (has, may),
    }
}

/// Pressure with the tips shut and service pressure of the hose that comes nearest to
/// its service pressure, or is furthest past it.
fn service(asked: &Asked, on: &[OfLine]) -> Option<(Pressure, Pressure)> {
    let mut worst: Option<(f64, Pressure, Pressure)> = None;
    for (line, on) in asked.lines.iter().zip(on) {
        let conditions = Conditions {
            changes: line.places.changes(asked.book, on),
            ..Conditions::default()
        };
        let layout = book::layout(asked.book, line.name, &conditions).ok()?;
        for laid in layout.parts.iter().filter(|p| p.kind == PartKind::Hose) {
            let Some(service) = laid.service_pressure else {
                continue;
            };
            let (from, to) = layout.lay.ends(laid.part);
            let lowest = layout.lay.height(from).min(layout.lay.height(to));
            let shut = on.pump_pressure - layout.lay.column(lowest);
            let share = shut.value / service.value;
            if worst.is_none_or(|(most, ..)| share > most) {
                worst = Some((share, shut, service));
            }
        }
    }
    worst.map(|(_, shut, service)| (shut, service))
}

/// Choice number `index`, worked out without tables: what is on the lines, and what they
/// give.
pub(super) fn one(asked: &Asked, index: u32, all: bool) -> (Vec<OfLine>, Gives) {
    let steps = asked.steps();
    let (number, step) = (index as usize / steps, index as usize % steps);
    let mut on = on_lines(asked, asked.equipment(number));
    let pressures: Vec<Pressure> = asked.pressures.get(step).copied().into_iter().collect();
    let how = How { reaches: None, all };
    let gives = together(asked, &on, &pressures, how);
    let gives = gives.first().copied().unwrap_or_else(Gives::nothing);
    for (line, on) in on.iter_mut().enumerate() {
        on.pump_pressure = match pressures.first() {
            Some(pressure) => *pressure,
            None => own_pressure(asked, line, on),
        };
    }
    (on, gives)
}

/// The pressure of a line that has its own.
pub(super) fn own_pressure(asked: &Asked, line: usize, on: &OfLine) -> Pressure {
    let how = How {
        reaches: None,
        all: false,
    };
    let gives = super::evaluate::evaluate(asked, line, on, &[], how);
    let pump = gives.first().map_or(f64::NAN, |give| give.get(Of::Pump));
    Pressure::of_si(if pump.is_nan() { 0.0 } else { pump })
}

/// What each limit excluded, the most frequent first.
pub(super) fn excluded(asked: &Asked, tried: &Tried) -> Vec<Excluded> {
    let mut list = Vec::new();
    for limit in Limit::ALL {
        let passes = |past: &&u16| **past & bit(limit) != 0;
        let choices = tried.past.iter().filter(passes).count() as u64;
        if choices == 0 {
            continue;
        }
        let alone = tried
            .past
            .iter()
            .filter(|past| **past == bit(limit))
            .count() as u64;
        let near = tried.nearest[limit as usize];
        let Some((_, index)) = near.alone.or(near.any) else {
            continue;
        };
        let (on, gives) = one(asked, index, false);
        let bound = asked.bounds.iter().find(|bound| bound.limit == limit);
        let figures = bound.and_then(|bound| has_and_may(asked, &on, &gives, bound));
        let nearest = called(asked, &on);
        list.push(Excluded {
            limit,
            choices,
            alone,
            text: excluded_text(limit, (choices, alone), &nearest, (bound, figures)),
            nearest,
            has_and_may: figures,
        });
    }
    list.sort_by_key(|excluded| std::cmp::Reverse(excluded.choices));
    list
}

fn excluded_text(
    limit: Limit,
    (choices, alone): (u64, u64),
    nearest: &Said,
    (bound, figures): (Option<&Bound>, Option<(Figure, Figure)>),
) -> Said {
    let by_itself = match alone {
        0 => String::new(),
        all if all == choices => ", nothing else does".to_string(),
        some => format!(", {} of them by nothing else", thousands(some)),
    };
    let what = match limit {
        Limit::Couplings => "cannot be screwed together",
        Limit::Eductor => "do not match the eductor before them",
        Limit::NoAnswer => "bring no water to a tip, or have no physical answer",
        _ => "",
    };
    let count = count_of(choices, "choice");
    let said = match what {
        "" => Said::new(format!("{} excludes {count}{by_itself}", limit.name())),
        what if choices == 1 => {
            Said::new(format!("{count} is excluded: as one of those that {what}"))
        }
        what => Said::new(format!("{count} {what}")),
    };
    let Some((bound, (has, may))) = bound.zip(figures) else {
        return match what {
            "" => said,
            _ => said.words("; one of them: ").said(nearest.clone()),
        };
    };
    let (allowed, miss, past) = match bound.of.less_is_worse() {
        true => ("at least ", may.less(&has), " too little"),
        false => ("at most ", has.less(&may), " too much"),
    };
    said.words("; the nearest, ")
        .said(nearest.clone())
        .words(", has ")
        .figure(has)
        .words(" where ")
        .words(allowed)
        .figure(may)
        .words(" is allowed: ")
        .figure(miss)
        .words(past)
}

/// Refuses limits that no choice could keep, before anything is solved.
pub(super) fn contradicts_itself(asked: &Asked) -> Result<(), ChooseError> {
    let system = asked.system;
    let pressure = |value| figure::pressure(Pressure::of_si(value)).show(system);
    if let (Some(ceiling), Some(lowest)) = (asked.ceiling, asked.pressures.first())
        && *lowest > ceiling
    {
        return question(
            "vary.pump_pressure",
            format!(
                "every pump pressure to try is above the ceiling of {}: the lowest is {}",
                pressure(ceiling.value),
                pressure(lowest.value)
            ),
            "try lower pump pressures, or raise limits.pump_pressure",
        );
    }
    if let (Some(low), Some(tip)) = (asked.low, asked.bounds_of(Of::LowTip))
        && tip.may > low.value
        && !goes_down(asked)
    {
        return question(
            "limits.tip_pressure_at_low_pump",
            format!(
                "a nozzle pressure of {} cannot be had at {} at the pump",
                pressure(tip.may),
                pressure(low.value)
            ),
            "ask for less nozzle pressure there, or raise cases.low_pump_pressure",
        );
    }
    if let (Some(ceiling), Some(tip)) = (asked.ceiling, asked.bounds_of(Of::Tip))
        && tip.may > ceiling.value
        && !goes_down(asked)
    {
        return Err(ChooseError::Contradiction {
            limits: (Limit::TipPressure, Limit::PumpPressure),
            message: format!(
                "least nozzle pressure {} and pump ceiling {} contradict each other: no hose line gives its nozzle more than the pump gives it",
                pressure(tip.may),
                pressure(ceiling.value)
            ),
            mend: format!(
                "ask for less than {} at the nozzle, or raise the ceiling",
                pressure(ceiling.value)
            ),
        });
    }
    for of in [Of::LeastFlow, Of::Tip] {
        held_back(asked, of)?;
    }
    Ok(())
}

/// Is any tip below the pump, so that it has more pressure than the pump?
fn goes_down(asked: &Asked) -> bool {
    let below = asked.cases.iter().any(|case| case.rise.value < 0.0);
    let tip_below = |line: &super::asked::AskedLine| {
        let layout = book::layout(asked.book, line.name, &Conditions::default());
        layout.is_ok_and(|layout| layout.tips.iter().any(|tip| tip.height.value < 0.0))
    };
    below || asked.lines.iter().any(tip_below)
}

/// Refuses a least flow (or nozzle pressure) at which every nozzle pushes more than is
/// allowed.
fn held_back(asked: &Asked, of: Of) -> Result<(), ChooseError> {
    let (Some(least), Some(most)) = (asked.bounds_of(of), asked.bounds_of(Of::Reaction)) else {
        return Ok(());
    };
    let on_monitor = |line: &super::asked::AskedLine| {
        let layout = book::layout(asked.book, line.name, &Conditions::default());
        layout.is_ok_and(|layout| {
            let mut tips = layout.tips.iter();
            tips.any(|tip| crate::operating::on_monitor(asked.book, &layout, tip))
        })
    };
    if asked.lines.iter().any(on_monitor) {
        return Ok(());
    }
    let pushes = |nozzle: &Nozzle| {
        let (flow, pressure) = match of {
            Of::LeastFlow => {
                let flow = VolumeRate::of_si(least.may);
                (flow, nozzle.pressure(flow).pressure)
            }
            _ => {
                let pressure = Pressure::of_si(least.may);
                (nozzle.flow(pressure), pressure)
            }
        };
        reaction_of(nozzle, flow, pressure).0
    };
    let candidates = candidates(asked);
    let mut best: Option<(Force, String)> = None;
    for (name, nozzle) in &candidates {
        let force = pushes(nozzle);
        if best.as_ref().is_none_or(|(least, _)| force < *least) {
            best = Some((force, name.clone()));
        }
    }
    let Some((force, name)) = best.filter(|(force, _)| most.is_passed(force.value)) else {
        return Ok(());
    };
    let system = asked.system;
    let show = |bound: &Bound| limit_figure(asked.book, bound.limit, bound.may).show(system);
    Err(ChooseError::Contradiction {
        limits: (least.limit, Limit::Reaction),
        message: format!(
            "{} {} and {} {} contradict each other: with that, every nozzle asked about pushes more; the least is {} with {name}",
            least.limit.name(),
            show(least),
            Limit::Reaction.name(),
            show(most),
            figure::force(force).show(system)
        ),
        mend: format!(
            "allow {} of reaction (more people on the nozzle), ask for less, or add a nozzle that pushes less",
            figure::force(force).show(system)
        ),
    })
}

/// The nozzles that may be chosen, or that stay on the lines.
fn candidates(asked: &Asked) -> Vec<(String, Nozzle)> {
    let mut found = Vec::new();
    let mut add = |name: &str, setting: Option<&str>| {
        let item = asked.book.nozzle(name).map(|found| found.item);
        if let Some(Ok(used)) = item.map(|item| item.used(setting, Which::Best)) {
            let called = match setting {
                Some(setting) => format!("{name}, {setting}"),
                None => name.to_string(),
            };
            found.push((called, used.nozzle));
        }
    };
    for nozzle in &asked.nozzles {
        match nozzle {
            Some((name, setting)) => add(name, setting.as_deref()),
            None => {
                for line in &asked.lines {
                    for (_, tip) in &line.places.tips {
                        add(&tip.nozzle, tip.setting.as_deref());
                    }
                }
            }
        }
    }
    found
}

/// Refuses a comparison of which the limits leave nothing: names two that contradict
/// each other, or the one to relax.
pub(super) fn leaves_something(
    asked: &Asked,
    tried: &Tried,
    excluded: &[Excluded],
) -> Result<(), ChooseError> {
    if tried.past.contains(&0) {
        return Ok(());
    }
    let mut sets: BTreeMap<u16, u64> = BTreeMap::new();
    for past in &tried.past {
        *sets.entry(*past).or_default() += 1;
    }
    let faults = FAULTS.iter().fold(0, |set, limit| set | bit(*limit));
    let sound: Vec<u16> = sets
        .keys()
        .copied()
        .filter(|set| set & faults == 0)
        .collect();
    let keeps = |limits: u16| sound.iter().any(|set| set & limits == 0);
    let bounds: Vec<&Bound> = asked.bounds.iter().collect();
    for (place, a) in bounds.iter().enumerate() {
        for b in bounds.iter().skip(place + 1) {
            let (one, other) = (bit(a.limit), bit(b.limit));
            if keeps(one) && keeps(other) && !keeps(one | other) {
                return Err(contradiction(asked, tried, (a, b)));
            }
        }
    }
    Err(nothing(asked, tried, excluded))
}

fn shown(asked: &Asked, figure: Figure) -> String {
    figure.show(asked.system)
}

fn contradiction(asked: &Asked, tried: &Tried, (a, b): (&Bound, &Bound)) -> ChooseError {
    let text = |bound: &Bound| {
        let may = limit_figure(asked.book, bound.limit, bound.may);
        match bound.limit {
            Limit::ServicePressure => bound.limit.name().to_string(),
            _ => format!("{} {}", bound.limit.name(), shown(asked, may)),
        }
    };
    let relaxed: Vec<String> = [a, b]
        .into_iter()
        .filter_map(|bound| relax(asked, tried, bound.limit))
        .collect();
    ChooseError::Contradiction {
        limits: (a.limit, b.limit),
        message: format!(
            "{} and {} contradict each other: each alone leaves some of the choices, both together leave none",
            text(a),
            text(b)
        ),
        mend: match relaxed.is_empty() {
            true => "relax one of the two; other limits exclude choices as well".into(),
            false => relaxed.join("; or "),
        },
    }
}

/// What to relax a limit to, so that a choice that passes nothing else may be used.
fn relax(asked: &Asked, tried: &Tried, limit: Limit) -> Option<String> {
    let (_, index) = tried.nearest[limit as usize].alone?;
    let bound = asked.bounds.iter().find(|bound| bound.limit == limit)?;
    let (on, gives) = one(asked, index, false);
    let (has, may) = has_and_may(asked, &on, &gives, bound)?;
    let by = match bound.of.less_is_worse() {
        true => may.less(&has),
        false => has.less(&may),
    };
    let name = called(asked, &on).text(asked.system);
    let (has, may, by) = (shown(asked, has), shown(asked, may), shown(asked, by));
    Some(match limit {
        Limit::ServicePressure => {
            format!("use hose that may be held at {has} in place of {may}: {by} more leaves {name}")
        }
        _ => format!(
            "relax {} from {may} to {has}, by {by}: that leaves {name}",
            limit.name()
        ),
    })
}

fn nothing(asked: &Asked, tried: &Tried, excluded: &[Excluded]) -> ChooseError {
    let choices = count_of(tried.past.len() as u64, "choice");
    let alone = |limit: &Limit| tried.nearest[*limit as usize].alone;
    let single = Limit::ALL.into_iter().filter(|limit| {
        asked.bounds.iter().any(|bound| bound.limit == *limit) && alone(limit).is_some()
    });
    let miss = |limit: &Limit| alone(limit).map_or(f64::INFINITY, |(miss, _)| miss);
    let easiest = single.min_by(|a, b| miss(a).total_cmp(&miss(b)));
    let mend = easiest.and_then(|limit| relax(asked, tried, limit));
    let mend = mend.unwrap_or_else(|| several(asked, tried));
    let what: Vec<String> = excluded
        .iter()
        .take(3)
        .map(|excluded| excluded.text.text(asked.system))
        .collect();
    ChooseError::Nothing {
        excluded: excluded.to_vec(),
        message: format!(
            "none of the {choices} keeps all the limits: {}",
            what.join(". ")
        ),
        mend,
    }
}

/// What to relax where one limit does not do.
fn several(asked: &Asked, tried: &Tried) -> String {
    let Some((_, index)) = tried.fewest else {
        return "vary more: other hose, other nozzles, other lengths".into();
    };
    let past = tried.past.get(index as usize).copied().unwrap_or(0);
    let (on, gives) = one(asked, index, false);
    let mut parts = Vec::new();
    for bound in asked.bounds.iter().filter(|b| past & bit(b.limit) != 0) {
        if let Some((has, may)) = has_and_may(asked, &on, &gives, bound) {
            parts.push(format!(
                "{} from {} to {}",
                bound.limit.name(),
                shown(asked, may),
                shown(asked, has)
            ));
        }
    }
    let name = called(asked, &on).text(asked.system);
    match parts.is_empty() {
        true => format!(
            "vary other hose and nozzles: none of these can be used on all the lines; one of them is {name}"
        ),
        false => format!(
            "no single limit does it: relax {}; that leaves {name}",
            parts.join(" and ")
        ),
    }
}
