//! The choices that are shown: ranked, solved anew, and explained.

use super::asked::{Asked, AskedAim};
use super::carry::changes;
use super::evaluate::{Gives, How, Of, bit, evaluate, fits_on, flows};
use super::tried::{Tried, of_all_lines, past, value_of};
use super::unbeaten::unbeaten;
use super::verdict::{has_and_may, limit_figure, one, own_pressure};
use super::words::{self, Best, aim_figure};
use super::{
    Choice, ChooseError, Chosen, Excluded, Limit, LineResult, Measured, OfLine, Said, Size, Watch,
    Where, conditions_of,
};
use crate::figure::{self, Figure, thousands};
use crate::notice::{Notice, Weight};
use crate::operating::solve;
use book::comparison::AimKind;
use hydraulics::units::{Measure, Pressure, VolumeRate};
use lay::Residual;
use rayon::prelude::*;
use std::collections::BTreeSet;

/// Costs closer than this share of the largest are equal: the solver's own arithmetic.
const GRAIN: f64 = 1e-9;

/// A choice that no other beats.
struct Ranked {
    index: u32,
    /// How good it is in each aim, shown ones too.
    good: Vec<f64>,
    score: f64,
}

pub(super) fn chosen(
    asked: &Asked,
    tried: &Tried,
    (size, excluded): (Size, Vec<Excluded>),
    watch: &dyn Watch,
) -> Result<Chosen, ChooseError> {
    let sound: Vec<u32> = (0..tried.past.len() as u32)
        .filter(|n| tried.past[*n as usize] == 0)
        .collect();
    let ranked = ranked(asked, tried, &sound);
    let best = best(asked, tried, &ranked);
    let unbeaten = ranked.len() as u64;
    let shown: Vec<&Ranked> = ranked.iter().take(Chosen::SHOWN).collect();
    let made: Result<Vec<(Choice, Residual, bool)>, ChooseError> = shown
        .par_iter()
        .map(|ranked| match watch.is_stopped() {
            true => Err(ChooseError::Stopped),
            false => Ok(full(asked, tried, ranked, &best)),
        })
        .collect();
    let mut residual = Residual {
        flow: VolumeRate::of_si(0.0),
        pressure: Pressure::of_si(0.0),
    };
    let (mut choices, mut agree) = (Vec::new(), true);
    for (choice, left, same) in made? {
        residual = larger(residual, left);
        agree &= same;
        choices.push(choice);
    }
    set_against(asked, &mut choices);
    let scales = scales_of(asked, tried, &ranked);
    let today = today(asked, &scales);
    if let Some(today) = &today {
        changes::set(asked, today, &mut choices, &scales);
    }
    let mut notices = notices(asked, unbeaten, choices.first());
    if !agree {
        notices.insert(0, disagrees());
    }
    Ok(Chosen {
        title: asked.comparison.title.clone(),
        lines: asked.comparison.lines.clone(),
        aims: asked.aims.iter().map(|aim| (aim.aim, aim.weight)).collect(),
        size,
        choices,
        unbeaten,
        beaten: sound.len() as u64 - unbeaten,
        excluded,
        today,
        robust: None,
        notices,
        residual,
    })
}

pub(super) fn larger(a: Residual, b: Residual) -> Residual {
    Residual {
        flow: VolumeRate::of_si(a.flow.value.max(b.flow.value)),
        pressure: Pressure::of_si(a.pressure.value.max(b.pressure.value)),
    }
}

/// The unbeaten among `sound`, best first; of equal ones the first.
fn ranked(asked: &Asked, tried: &Tried, sound: &[u32]) -> Vec<Ranked> {
    let counted = |aim: &AskedAim| aim.weight > 0.0;
    let costs = |(place, aim): (usize, &AskedAim)| -> Vec<f64> {
        let column = &tried.values[place];
        let cost = |n: &u32| aim.cost(column[*n as usize]);
        grained(sound.iter().map(cost).collect())
    };
    let aims = || asked.aims.iter().enumerate();
    let columns: Vec<Vec<f64>> = aims().filter(|(_, a)| counted(a)).map(costs).collect();
    let left = unbeaten(&columns);
    let scales: Vec<(f64, f64)> = aims()
        .map(|(place, aim)| {
            let cost = |n: &usize| aim.cost(tried.values[place][sound[*n] as usize]);
            ends(left.iter().map(cost))
        })
        .collect();
    let all: f64 = asked.aims.iter().map(|aim| aim.weight).sum();
    let mut ranked: Vec<Ranked> = left
        .iter()
        .map(|n| {
            let index = sound[*n];
            let values = aims().map(|(place, _)| tried.values[place][index as usize]);
            let good = goods(asked, values, &scales);
            let weighed = asked.aims.iter().zip(&good);
            let sum: f64 = weighed.map(|(aim, good)| aim.weight * good).sum();
            Ranked {
                index,
                good,
                score: sum / all,
            }
        })
        .collect();
    ranked.sort_by(|a, b| b.score.total_cmp(&a.score).then(a.index.cmp(&b.index)));
    ranked
}

/// How good values are between the best and the worst cost of each aim.
fn goods(asked: &Asked, values: impl Iterator<Item = f64>, scales: &[(f64, f64)]) -> Vec<f64> {
    let good = |((value, aim), (low, high)): ((f64, &AskedAim), &(f64, f64))| {
        let cost = aim.cost(value);
        let width = high - low;
        if cost.is_nan() {
            0.0
        } else if width <= GRAIN * high.abs().max(low.abs()) {
            1.0
        } else {
            (1.0 - (cost - low) / width).clamp(0.0, 1.0)
        }
    };
    values.zip(&asked.aims).zip(scales).map(good).collect()
}

/// Least and most of some costs.
fn ends(costs: impl Iterator<Item = f64>) -> (f64, f64) {
    costs
        .filter(|cost| !cost.is_nan())
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), cost| {
            (low.min(cost), high.max(cost))
        })
}

/// Costs rounded to what the solver can tell apart.
fn grained(costs: Vec<f64>) -> Vec<f64> {
    let most = costs.iter().filter(|c| c.is_finite());
    let grain = GRAIN * most.fold(0.0_f64, |most, cost| most.max(cost.abs()));
    match grain > 0.0 {
        true => costs.into_iter().map(|c| (c / grain).round()).collect(),
        false => costs,
    }
}

/// The unbeaten choice that is best in each aim; of equal ones the one ranked first.
fn best(asked: &Asked, tried: &Tried, ranked: &[Ranked]) -> Vec<Best> {
    let of_aim = |place: usize| {
        let mut first: Option<&Ranked> = None;
        for other in ranked {
            if first.is_none_or(|first| other.good[place] > first.good[place]) {
                first = Some(other);
            }
        }
        first.map(|ranked| Best {
            code: code(ranked.index),
            values: values(tried, ranked.index),
            good: ranked.good.clone(),
        })
    };
    (0..asked.aims.len()).filter_map(of_aim).collect()
}

fn code(index: u32) -> String {
    format!("C{}", u64::from(index) + 1)
}

fn values(tried: &Tried, index: u32) -> Vec<f64> {
    let at = |column: &Vec<f64>| column[index as usize];
    tried.values.iter().map(at).collect()
}

/// A choice in full, what is left over in its solutions, and whether they agree with
/// what it was tried with.
fn full(asked: &Asked, tried: &Tried, ranked: &Ranked, best: &[Best]) -> (Choice, Residual, bool) {
    let (on, gives) = one(asked, ranked.index, false);
    let (results, residual, agree) = results(asked, &on);
    let measured = measured(asked, &gives, &ranked.good);
    let mut choice = Choice {
        code: code(ranked.index),
        pump_pressure: shared(&on),
        measured,
        score: ranked.score,
        past: Vec::new(),
        why: Vec::new(),
        against: Vec::new(),
        to_change: Vec::new(),
        results,
        doubted: None,
        on,
    };
    let own = values(tried, ranked.index);
    let limits = closest(asked, &choice.on, &gives);
    choice.why = words::why(asked, &choice, (&own, &ranked.good), best, limits);
    (choice, residual, agree)
}

/// The pump pressure that all lines have.
pub(super) fn shared(on: &[OfLine]) -> Option<Pressure> {
    let first = on.first()?.pump_pressure;
    let same = |on: &OfLine| (on.pump_pressure - first).value.abs() <= 1e-9 * first.value;
    on.iter().all(same).then_some(first)
}

pub(super) fn measured(asked: &Asked, gives: &Gives, good: &[f64]) -> Vec<Measured> {
    let one = |(aim, good): (&AskedAim, &f64)| {
        let (value, at) = value_of(aim, gives);
        let at = at.map(|at| Where {
            line: asked.lines[usize::from(at.line)].name.into(),
            ..asked.cases[usize::from(at.case)].clone()
        });
        Measured {
            aim: aim.aim,
            value: aim_figure(asked.book, aim.aim, value),
            at: at.unwrap_or_default(),
            good: *good,
        }
    };
    asked.aims.iter().zip(good).map(one).collect()
}

/// The limit to which a choice comes closest.
pub(super) fn closest(asked: &Asked, on: &[OfLine], gives: &Gives) -> Option<Said> {
    let bounds = asked.bounds.iter().filter(|bound| {
        let value = gives.get(bound.of);
        // A pump pressure was chosen within its ceiling, and is told anyway.
        value.is_finite() && bound.of != Of::Pump && bound.of != Of::Kinds
    });
    let nearest = bounds.min_by(|a, b| {
        let miss = |bound: &super::asked::Bound| -bound.miss(gives.get(bound.of));
        miss(a).total_cmp(&miss(b))
    })?;
    let (has, may) = has_and_may(asked, on, gives, nearest)?;
    let least = nearest.of.less_is_worse();
    Some(words::closest(nearest.limit, has, may, least))
}

/// What each line gives, by [`solve`]; the largest residual; and whether the least and
/// the most flow of the cases lie on both sides of it.
pub(super) fn results(asked: &Asked, on: &[OfLine]) -> (Vec<LineResult>, Residual, bool) {
    let mut residual = Residual {
        flow: VolumeRate::of_si(0.0),
        pressure: Pressure::of_si(0.0),
    };
    let (mut list, mut agree) = (Vec::new(), true);
    for (number, on) in on.iter().enumerate() {
        if let Some((found, left, same)) = result(asked, number, on) {
            residual = larger(residual, left);
            agree &= same;
            list.push(found);
        }
    }
    (list, residual, agree)
}

/// The same of one line.
pub(super) fn result(
    asked: &Asked,
    number: usize,
    on: &OfLine,
) -> Option<(LineResult, Residual, bool)> {
    let conditions = conditions_of(asked.book, on).ok()?;
    let answer = solve(asked.book, &on.line, &conditions).ok()?;
    let flows = flows(asked, number, on, on.pump_pressure);
    let agree = answer.tips.iter().all(|tip| {
        let flow = tip.flow.value;
        flow >= flows.0 * (1.0 - 1e-6) && flow <= flows.1 * (1.0 + 1e-6)
    });
    let hardest = answer
        .tips
        .iter()
        .max_by(|a, b| a.reaction.value.total_cmp(&b.reaction.value));
    let low = asked.low.and_then(|low| {
        let conditions = book::Conditions {
            pump_pressure: Some(low),
            ..conditions.clone()
        };
        let answer = solve(asked.book, &on.line, &conditions).ok()?;
        Some((answer.flow, least(&answer, |tip| tip.tip_pressure.value)))
    });
    let found = LineResult {
        line: on.line.clone(),
        flow: answer.flow,
        tip_pressure: least(&answer, |tip| tip.tip_pressure.value),
        reaction: hardest.map_or(Measure::of_si(0.0), |tip| tip.reaction),
        people: hardest.and_then(|tip| tip.people),
        reach: least(&answer, |tip| tip.effective_reach.value),
        low,
        flows: (VolumeRate::of_si(flows.0), VolumeRate::of_si(flows.1)),
    };
    Some((found, answer.residual, agree))
}

/// The least of a value over the tips.
fn least<Q: Measure>(
    answer: &crate::answer::LineAnswer,
    value: impl Fn(&crate::answer::TipAnswer) -> f64,
) -> Q {
    let least = answer.tips.iter().map(value).reduce(f64::min);
    Q::of_si(least.unwrap_or(0.0))
}

/// Says of each choice what it lost on against the one before it, and of the first what
/// the second lost on.
pub(super) fn set_against(asked: &Asked, choices: &mut [Choice]) {
    let texts: Vec<Vec<Said>> = (0..choices.len())
        .map(|place| match place {
            0 => match choices {
                [first, second, ..] => words::against(asked, second, first),
                _ => Vec::new(),
            },
            _ => words::against(asked, &choices[place], &choices[place - 1]),
        })
        .collect();
    for (choice, text) in choices.iter_mut().zip(texts) {
        choice.against = text;
    }
}

/// Least and most cost of each aim among the unbeaten.
fn scales_of(asked: &Asked, tried: &Tried, ranked: &[Ranked]) -> Vec<(f64, f64)> {
    let of = |(place, aim): (usize, &AskedAim)| {
        let cost = |r: &Ranked| aim.cost(tried.values[place][r.index as usize]);
        ends(ranked.iter().map(cost))
    };
    asked.aims.iter().enumerate().map(of).collect()
}

/// What is carried today, judged the same way.
pub(super) fn today(asked: &Asked, scales: &[(f64, f64)]) -> Option<Choice> {
    let mut on: Vec<OfLine> = asked.lines.iter().map(|line| line.as_is.clone()).collect();
    let how = How {
        reaches: None,
        all: false,
    };
    let mut all = Gives::nothing();
    let mut misfits = 0;
    for (number, on) in on.iter_mut().enumerate() {
        on.pump_pressure = own_pressure(asked, number, on);
        if !fits_on(asked.book, &asked.lines[number], on) {
            misfits += 1;
        }
        let gives = evaluate(asked, number, on, &[on.pump_pressure], how);
        all.join(gives.first()?);
    }
    of_all_lines(asked, &on, std::slice::from_mut(&mut all));
    let (results, ..) = results(asked, &on);
    let values = asked.aims.iter().map(|aim| value_of(aim, &all).0);
    let good = goods(asked, values, scales);
    let weights: f64 = asked.aims.iter().map(|aim| aim.weight).sum();
    let weighed = asked.aims.iter().zip(&good);
    let sum: f64 = weighed.map(|(aim, good)| aim.weight * good).sum();
    let mut past = past_of(asked, &on, &all);
    if misfits > 0 {
        let counts = (Figure::count(f64::from(misfits), 0), Figure::count(0.0, 0));
        past.insert(0, (Limit::Couplings, counts.0, counts.1));
    }
    Some(Choice {
        code: "today".into(),
        pump_pressure: shared(&on),
        measured: measured(asked, &all, &good),
        score: sum / weights,
        past,
        why: Vec::new(),
        against: Vec::new(),
        to_change: Vec::new(),
        results,
        doubted: None,
        on,
    })
}

/// The limits that are passed, each with what there is and what may be.
fn past_of(asked: &Asked, on: &[OfLine], gives: &Gives) -> Vec<(Limit, Figure, Figure)> {
    let passed = past(asked, gives);
    let mut list = Vec::new();
    for limit in Limit::ALL {
        if passed & bit(limit) == 0 {
            continue;
        }
        let bound = asked.bounds.iter().find(|bound| bound.limit == limit);
        let figures = bound.and_then(|bound| has_and_may(asked, on, gives, bound));
        let bare = |value| limit_figure(asked.book, limit, value);
        let (has, may) = figures.unwrap_or((bare(1.0), bare(0.0)));
        list.push((limit, has, may));
    }
    list
}

pub(super) fn disagrees() -> Notice {
    Notice::new(
        "solutions_differ",
        Weight::Limit,
        "the fast solution and the full one differ; these figures must not be used",
    )
    .mend("report the book and the comparison that led here")
}

/// What must be said about all of it.
pub(super) fn notices(asked: &Asked, unbeaten: u64, first: Option<&Choice>) -> Vec<Notice> {
    let mut notices = Vec::new();
    if unbeaten as usize > Chosen::SHOWN {
        notices.push(
            Notice::new(
                "more_than_shown",
                Weight::Remark,
                format!(
                    "{} choices are beaten by no other; the first {} by the weights are shown",
                    thousands(unbeaten),
                    Chosen::SHOWN
                ),
            )
            .mend("set limits, or take fewer aims, to see fewer"),
        );
    }
    let weighs = asked.wants(AimKind::Weight) || asked.bounds_of(Of::Weight).is_some();
    if weighs {
        notices.extend(without_weight(asked));
    }
    if asked.pays() {
        notices.extend(without_price(asked));
    }
    if let Some(first) = first
        && let Some(worst) = first
            .results
            .iter()
            .max_by(|a, b| a.reaction.value.total_cmp(&b.reaction.value))
    {
        notices.push(
            Notice::new(
                "formula_reaction",
                Weight::Remark,
                "reaction is a formula value; the force on a person is higher, and higher still while the nozzle is opened",
            )
            .at(worst.line.clone())
            .with("reaction", figure::force(worst.reaction))
            .mend("open and shut slowly; try the choice on a drill ground before it is bought"),
        );
    }
    notices
}

/// Hose and nozzles that may be on the lines.
fn names<'n>(asked: &'n Asked) -> (BTreeSet<&'n str>, BTreeSet<&'n str>) {
    let mut hoses: BTreeSet<&str> = asked.hoses.iter().copied().flatten().collect();
    if hoses.is_empty() {
        let own = asked.lines.iter().flat_map(|line| &line.places.hoses);
        hoses.extend(own.map(|(_, part)| part.hose.as_str()));
    }
    let varied = asked.nozzles.iter().flatten();
    let mut nozzles: BTreeSet<&str> = varied.map(|(name, _)| *name).collect();
    if nozzles.is_empty() {
        let own = asked.lines.iter().flat_map(|line| &line.places.tips);
        nozzles.extend(own.map(|(_, part)| part.nozzle.as_str()));
    }
    (hoses, nozzles)
}

fn without_weight(asked: &Asked) -> Option<Notice> {
    let (hoses, _) = names(asked);
    let known = |name: &&str| {
        let found = asked.book.hose(name);
        found.is_some_and(|found| found.item.weight.is_some())
    };
    let without: Vec<&str> = hoses.into_iter().filter(|name| !known(name)).collect();
    (!without.is_empty()).then(|| {
        Notice::new(
            "hose_without_weight",
            Weight::Caution,
            format!(
                "the book gives no dry weight for {}: its water alone is counted",
                without.join(", ")
            ),
        )
        .mend("weigh a section and write its weight into the book")
    })
}

fn without_price(asked: &Asked) -> Option<Notice> {
    let (hoses, nozzles) = names(asked);
    let hose = hoses
        .into_iter()
        .filter(|name| asked.book.hose_price(name).is_none());
    let nozzle = nozzles
        .into_iter()
        .filter(|name| asked.book.nozzle_price(name).is_none());
    let without: Vec<&str> = hose.chain(nozzle).collect();
    (!without.is_empty()).then(|| {
        Notice::new(
            "without_price",
            Weight::Caution,
            format!(
                "the book gives no price for {}: a choice that buys any of it has no price and counts as the dearest",
                without.join(", ")
            ),
        )
        .mend("write prices into the book")
    })
}
