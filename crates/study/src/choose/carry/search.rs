//! Every pump pressure and every set of kinds, and what none of their combinations beats.

use super::super::Watch;
use super::super::unbeaten::unbeaten as sifted;
use super::fold::fold;
use super::kinds::{Sets, sets};
use super::table::{Table, Way, in_order, no_worse};
use rayon::prelude::*;
use std::sync::atomic::{AtomicU64, Ordering};

/// One way a line at one pump pressure.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Found {
    /// The pump pressure, by its place.
    pub pump: usize,
    /// The way of each line, by its place among the line's ways at that pressure.
    pub picks: Vec<u32>,
    /// What it comes to under each aim, less being better.
    pub costs: Vec<f64>,
}

/// What the search found.
#[derive(Debug, Clone, Default)]
pub(crate) struct Sought {
    /// What nothing beats, in the order of its costs; one of several that come to the
    /// same.
    pub found: Vec<Found>,
    /// Where it stopped short of looking at everything.
    pub bounded: Option<Bounded>,
}

/// How far a search looked that could not look at everything.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Bounded {
    /// Sets of kinds that were looked at, at each pump pressure.
    pub sets: u64,
    /// All sets up to this many kinds are among them; `None`: all sets.
    pub kinds: Option<u32>,
    /// Combinations were let go although nothing looked at beat them.
    pub narrowed: bool,
}

/// Pairs of a combination and a way that are looked at in all, about: a few seconds.
const PAIRS: usize = 5_000_000;

/// Pairs that are looked at in any case for each pump pressure, set and line.
const LEAST: usize = 2_000;

/// Sets of kinds times pump pressures, at most.
const JOBS: usize = 4_000;

/// Ways that are looked through for all the sets, at most.
const VISITS: usize = 30_000_000;

/// Searches `table`. `None` when `watch` stops it. The same whatever the number of
/// threads: every set has its own share of the work, and their results are put together
/// in order.
pub(crate) fn search(table: &Table, watch: &dyn Watch) -> Option<Sought> {
    let ways: usize = table.ways.iter().flatten().map(Vec::len).sum();
    let room = (JOBS / table.pumps.len().max(1)).min(VISITS / ways.max(1));
    let sets = sets(table, room.max(1));
    let jobs = table.pumps.len() * sets.all.len();
    let share = PAIRS / jobs.max(1);
    let done = AtomicU64::new(0);
    let at = |pump: usize| -> Option<(Vec<Found>, bool)> {
        let each = sets.all.iter().map(|set| {
            let done = done.fetch_add(1, Ordering::Relaxed);
            watch.progress("combinations of lines", done, jobs as u64);
            (!watch.is_stopped()).then(|| of_set(table, pump, *set, share))
        });
        let each: Option<Vec<(Vec<Found>, bool)>> = each.collect();
        let each = each?;
        let narrowed = each.iter().any(|(_, narrowed)| *narrowed);
        let found = each.into_iter().flat_map(|(found, _)| found).collect();
        Some((unbeaten(found), narrowed))
    };
    let pumps: Option<Vec<_>> = (0..table.pumps.len()).into_par_iter().map(at).collect();
    let pumps = pumps?;
    let narrowed = pumps.iter().any(|(_, narrowed)| *narrowed);
    let found = pumps.into_iter().flat_map(|(found, _)| found).collect();
    Some(Sought {
        found: unbeaten(found),
        bounded: bounded(&sets, narrowed),
    })
}

fn bounded(sets: &Sets, narrowed: bool) -> Option<Bounded> {
    (narrowed || sets.up_to.is_some()).then_some(Bounded {
        sets: sets.all.len() as u64,
        kinds: sets.up_to,
        narrowed,
    })
}

/// What nothing beats at a pump pressure with the kinds of `set` alone.
fn of_set(table: &Table, pump: usize, set: u128, share: usize) -> (Vec<Found>, bool) {
    let Some(lines) = table.ways.get(pump) else {
        return (Vec::new(), false);
    };
    let ways: Vec<Vec<(u32, &Way)>> = lines.iter().map(|ways| within(table, ways, set)).collect();
    if ways.iter().any(Vec::is_empty) {
        return (Vec::new(), false);
    }
    let folded = fold(table, &ways, (share / lines.len().max(1)).max(LEAST));
    let found = folded
        .all
        .into_iter()
        .filter_map(|partial| judged(table, pump, partial.picks));
    (found.collect(), folded.bounded)
}

/// The ways that take the kinds of `set` alone, each with its place.
fn within<'w>(table: &Table, ways: &'w [Way], set: u128) -> Vec<(u32, &'w Way)> {
    let all = (0..).zip(ways);
    all.filter(|(_, way)| table.mask(way) & !set == 0).collect()
}

/// What `picks` come to; `None` where they pass a limit over all the lines.
pub(super) fn judged(table: &Table, pump: usize, picks: Vec<u32>) -> Option<Found> {
    let ways = picked(table, pump, &picks)?;
    let pressure = *table.pumps.get(pump)?;
    let costs = table.costs(pressure, &ways)?;
    Some(Found { pump, picks, costs })
}

/// The ways themselves.
pub(crate) fn picked<'t>(table: &'t Table, pump: usize, picks: &[u32]) -> Option<Vec<&'t Way>> {
    let lines = table.ways.get(pump)?.iter().zip(picks);
    lines.map(|(ways, pick)| ways.get(*pick as usize)).collect()
}

/// What nothing among them beats, in order; the first of those that come to the same.
fn unbeaten(mut all: Vec<Found>) -> Vec<Found> {
    all.sort_by(|one, other| {
        in_order(&one.costs, &other.costs)
            .then_with(|| one.pump.cmp(&other.pump))
            .then_with(|| one.picks.cmp(&other.picks))
    });
    all.dedup_by(|next, first| next.costs == first.costs);
    let aims = all.first().map_or(0, |found| found.costs.len());
    let column = |aim: usize| -> Vec<f64> {
        let costs = all.iter().map(|found| found.costs.get(aim).copied());
        costs.map(Option::unwrap_or_default).collect()
    };
    let columns: Vec<Vec<f64>> = (0..aims).map(column).collect();
    let mut rows = sifted(&columns).into_iter().peekable();
    let mut place = 0;
    all.retain(|_| {
        place += 1;
        rows.next_if(|row| row + 1 == place).is_some()
    });
    all
}

/// The same with each line's own best that leaves all the lines together as they are:
/// what only the worst line decides says nothing about the others.
pub(crate) fn each_best(table: &Table, found: &Found) -> Found {
    let mut best = found.clone();
    let Some(lines) = table.ways.get(found.pump) else {
        return best;
    };
    for (line, ways) in lines.iter().enumerate() {
        let own = |pick: Option<&u32>| {
            let way = pick.and_then(|pick| ways.get(*pick as usize));
            way.map_or(f64::INFINITY, |way| way.own)
        };
        let mut others: Vec<u32> = (0..ways.len() as u32).collect();
        others.retain(|other| own(Some(other)) < own(best.picks.get(line)));
        others.sort_by(|a, b| own(Some(a)).total_cmp(&own(Some(b))));
        let with = |other: u32| {
            let mut picks = best.picks.clone();
            *picks.get_mut(line)? = other;
            let next = judged(table, found.pump, picks)?;
            no_worse(&next.costs, &found.costs).then_some(next)
        };
        if let Some(better) = others.into_iter().find_map(with) {
            best = better;
        }
    }
    best
}
