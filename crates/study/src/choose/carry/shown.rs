//! What was found, ranked, measured anew and explained.

use super::super::asked::{Asked, AskedAim};
use super::super::evaluate::{Gives, How, evaluate};
use super::super::shown::{
    closest, disagrees, larger, measured, notices, results, set_against, shared, today,
};
use super::super::tried::{of_all_lines, value_of};
use super::super::verdict::own_pressure;
use super::super::words::{self, Best};
use super::super::{Choice, ChooseError, Chosen, Excluded, OfLine, Size, Watch};
use super::changes;
use super::measure::{Lines, counted};
use super::search::{Bounded, Found, Sought, each_best, picked};
use crate::notice::{Notice, Weight};
use hydraulics::units::{Measure, Pressure, VolumeRate};
use lay::Residual;
use rayon::prelude::*;

/// Combinations beyond this are not counted any more: numbers of JSON stay exact.
const MOST_TOLD: u64 = 9_000_000_000_000_000;

/// A choice that no other beats, by its place among what was found.
struct Ranked {
    found: usize,
    score: f64,
}

/// A choice with what it gives.
struct Judged {
    choice: Choice,
    gives: Gives,
    values: Vec<f64>,
    residual: Residual,
    agree: bool,
}

pub(super) fn chosen(
    asked: &Asked,
    lines: &Lines,
    sought: &Sought,
    (size, excluded): (Size, Vec<Excluded>),
    watch: &dyn Watch,
) -> Result<Chosen, ChooseError> {
    let scales = scales(&sought.found);
    let ranked = ranked(asked, &sought.found, &scales);
    let wanted = wanted(&ranked, &sought.found);
    let made: Result<Vec<Judged>, ChooseError> = wanted
        .par_iter()
        .map(|(rank, found)| match watch.is_stopped() {
            true => Err(ChooseError::Stopped),
            false => judge(asked, lines, found, *rank).ok_or(ChooseError::Stopped),
        })
        .collect();
    let mut made = made?;
    let scales = all_scales(asked, &made, &scales);
    set_good(asked, &mut made, &scales);
    for (judged, (rank, _)) in made.iter_mut().zip(&wanted) {
        judged.choice.score = ranked.get(*rank).map_or(0.0, |ranked| ranked.score);
    }
    explain(asked, &mut made);
    let mut residual = Residual {
        flow: VolumeRate::of_si(0.0),
        pressure: Pressure::of_si(0.0),
    };
    let agree = made.iter().all(|judged| judged.agree);
    for judged in &made {
        residual = larger(residual, judged.residual);
    }
    let mut choices: Vec<Choice> = made
        .into_iter()
        .zip(&wanted)
        .filter(|(_, (rank, _))| *rank < Chosen::SHOWN)
        .map(|(judged, _)| judged.choice)
        .collect();
    set_against(asked, &mut choices);
    let today = today(asked, &scales);
    if let Some(today) = &today {
        changes::set(asked, today, &mut choices, &scales);
    }
    let unbeaten = sought.found.len() as u64;
    let mut notices = notices(asked, unbeaten, choices.first());
    notices.extend(sought.bounded.map(bounded));
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
        beaten: lines.combinations.min(MOST_TOLD).saturating_sub(unbeaten),
        excluded,
        today,
        robust: None,
        notices,
        residual,
    })
}

/// Least and most cost of each aim that counts.
fn scales(found: &[Found]) -> Vec<(f64, f64)> {
    let aims = found.first().map_or(0, |found| found.costs.len());
    let of = |aim: usize| {
        let costs = found.iter().filter_map(|found| found.costs.get(aim));
        let costs = costs.filter(|cost| cost.is_finite());
        costs.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), cost| {
            (low.min(*cost), high.max(*cost))
        })
    };
    (0..aims).map(of).collect()
}

/// How good a cost is: 1 the least of the unbeaten, 0 the most.
fn good(cost: f64, (low, high): (f64, f64)) -> f64 {
    match () {
        () if !cost.is_finite() => 0.0,
        () if high - low <= 1e-9 * high.abs().max(low.abs()) => 1.0,
        () => (1.0 - (cost - low) / (high - low)).clamp(0.0, 1.0),
    }
}

/// Best first; of equal ones the first that was found.
fn ranked(asked: &Asked, found: &[Found], scales: &[(f64, f64)]) -> Vec<Ranked> {
    let all: f64 = counted(asked).map(|aim| aim.weight).sum();
    let score = |found: &Found| {
        let each = counted(asked).zip(&found.costs).zip(scales);
        let each = each.map(|((aim, cost), scale)| aim.weight * good(*cost, *scale));
        each.sum::<f64>() / all
    };
    let mut ranked: Vec<Ranked> = found
        .iter()
        .enumerate()
        .map(|(place, found)| Ranked {
            found: place,
            score: score(found),
        })
        .collect();
    ranked.sort_by(|a, b| b.score.total_cmp(&a.score).then(a.found.cmp(&b.found)));
    ranked
}

/// The first ones, and further down those that are best in an aim; by their ranks.
fn wanted<'f>(ranked: &[Ranked], found: &'f [Found]) -> Vec<(usize, &'f Found)> {
    let aims = found.first().map_or(0, |found| found.costs.len());
    let at = |rank: usize| ranked.get(rank).and_then(|ranked| found.get(ranked.found));
    let cost = |rank: usize, aim: usize| {
        let cost = at(rank).and_then(|found| found.costs.get(aim));
        cost.copied().unwrap_or(f64::INFINITY)
    };
    let mut ranks: Vec<usize> = (0..ranked.len().min(Chosen::SHOWN)).collect();
    for aim in 0..aims {
        let best = (0..ranked.len()).min_by(|a, b| cost(*a, aim).total_cmp(&cost(*b, aim)));
        ranks.extend(best.filter(|best| *best >= Chosen::SHOWN));
    }
    ranks.sort_unstable();
    ranks.dedup();
    let each = ranks.into_iter();
    each.filter_map(|rank| Some((rank, at(rank)?))).collect()
}

/// What a choice puts on the lines, and what they give.
fn judge(asked: &Asked, lines: &Lines, found: &Found, rank: usize) -> Option<Judged> {
    let best = each_best(&lines.table, found);
    let on = on_lines(asked, lines, &best)?;
    let how = How {
        reaches: None,
        all: false,
    };
    let mut gives = Gives::nothing();
    for (number, on) in on.iter().enumerate() {
        let all = evaluate(asked, number, on, &[on.pump_pressure], how);
        gives.join(all.first()?);
    }
    of_all_lines(asked, &on, std::slice::from_mut(&mut gives));
    let (results, residual, agree) = results(asked, &on);
    let values = asked.aims.iter().map(|aim| value_of(aim, &gives).0);
    Some(Judged {
        values: values.collect(),
        choice: Choice {
            code: format!("C{}", rank + 1),
            pump_pressure: shared(&on),
            measured: Vec::new(),
            score: 0.0,
            past: Vec::new(),
            why: Vec::new(),
            against: Vec::new(),
            to_change: Vec::new(),
            results,
            doubted: None,
            on,
        },
        gives,
        residual,
        agree,
    })
}

fn on_lines(asked: &Asked, lines: &Lines, found: &Found) -> Option<Vec<OfLine>> {
    let ways = picked(&lines.table, found.pump, &found.picks)?;
    let pressure = asked.pressures.get(found.pump);
    let each = asked.lines.iter().zip(ways).enumerate();
    let on = each.map(|(number, (line, way))| {
        let mut on = asked.on(line, asked.equipment(way.id as usize));
        on.pump_pressure = match pressure {
            Some(pressure) => *pressure,
            None => own_pressure(asked, number, &on),
        };
        on
    });
    Some(on.collect())
}

/// The scales of all aims: those that are only shown by what is shown.
fn all_scales(asked: &Asked, made: &[Judged], scales: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let mut counted = scales.iter();
    let of = |(place, aim): (usize, &AskedAim)| {
        if aim.weight > 0.0
            && let Some(scale) = counted.next()
        {
            return *scale;
        }
        let costs = made.iter().filter_map(|judged| judged.values.get(place));
        let costs = costs.map(|value| aim.cost(*value));
        costs
            .filter(|cost| cost.is_finite())
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), cost| {
                (low.min(cost), high.max(cost))
            })
    };
    asked.aims.iter().enumerate().map(of).collect()
}

/// Closer to an end than the values were told apart is at that end.
fn set_good(asked: &Asked, made: &mut [Judged], scales: &[(f64, f64)]) {
    for judged in made {
        let each = asked.aims.iter().zip(&judged.values).zip(scales);
        let good: Vec<f64> = each
            .map(
                |((aim, value), scale)| match good(aim.cost(*value), *scale) {
                    good if good > 0.9999 => 1.0,
                    good => good,
                },
            )
            .collect();
        judged.choice.measured = measured(asked, &judged.gives, &good);
    }
}

fn explain(asked: &Asked, made: &mut [Judged]) {
    let goods = |judged: &Judged| -> Vec<f64> {
        let measured = judged.choice.measured.iter();
        measured.map(|measured| measured.good).collect()
    };
    let all: Vec<Vec<f64>> = made.iter().map(goods).collect();
    let best: Vec<Best> = (0..asked.aims.len())
        .filter_map(|aim| {
            let good = |place: &usize| {
                let good = all.get(*place).and_then(|goods| goods.get(aim));
                good.copied().unwrap_or_default()
            };
            // Of equal ones the first.
            let place = (0..made.len())
                .rev()
                .max_by(|a, b| good(a).total_cmp(&good(b)))?;
            let judged = made.get(place)?;
            Some(Best {
                code: judged.choice.code.clone(),
                values: judged.values.clone(),
                good: all.get(place)?.clone(),
            })
        })
        .collect();
    for (judged, good) in made.iter_mut().zip(&all) {
        let limits = closest(asked, &judged.choice.on, &judged.gives);
        judged.choice.why =
            words::why(asked, &judged.choice, (&judged.values, good), &best, limits);
    }
}

/// How far was looked where not everything could be.
fn bounded(bounded: Bounded) -> Notice {
    let looked = match bounded.kinds {
        Some(kinds) => format!(
            "{} sets of kinds were looked at, all of up to {kinds} kinds of hose and nozzle among them",
            bounded.sets
        ),
        None => "every set of kinds and every pump pressure was looked at".into(),
    };
    let narrowed = match bounded.narrowed {
        true => {
            ", of very many combinations that nothing beat only the most different ones further"
        }
        false => "",
    };
    Notice::new(
        "not_everything",
        Weight::Caution,
        format!("the search was cut short: {looked}{narrowed}; a better choice may exist"),
    )
    .mend("set tighter limits, vary fewer hoses, nozzles or pump pressures, or take fewer aims or lines")
}
