//! Every equipment on every line at every pump pressure, measured: the table that is
//! searched, and what the limits of a line left out.

use super::super::asked::{Asked, AskedAim, AskedLine};
use super::super::evaluate::{Fits, Gives, How, Of, bit as limit_bit, evaluate};
use super::super::reach::Reaches;
use super::super::stock::{Goods, in_store, needed, price_of};
use super::super::tried::{past, value_of};
use super::super::{ChooseError, Limit, OfLine, Watch};
use super::front::front;
use super::table::{COLUMNS, Joined, Kind, NOTHING, Table, Taken, Way, bit, in_order, no_worse};
use book::comparison::AimKind;
use rayon::prelude::*;
use std::collections::BTreeMap;
use std::sync::atomic::{AtomicU64, Ordering};

/// What a missing price counts as: dearer than anything that has one.
pub(super) const UNPRICED: f64 = 1e12;

/// What was measured.
pub(super) struct Lines {
    /// The ways that pass no limit of a line.
    pub table: Table,
    /// What the limits left out, by line.
    pub left_out: Vec<LeftOut>,
    /// Combinations of the ways that pass no limit of a line.
    pub combinations: u64,
}

/// One way of one line that passes limits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Miss {
    /// By how much, as a share of the limit; of several limits in sum.
    pub by: f64,
    pub equipment: usize,
    pub step: usize,
}

/// What the limits left out of one line.
#[derive(Debug, Clone, Default)]
pub(super) struct LeftOut {
    /// How many ways pass each limit.
    pub count: [u64; Limit::ALL.len()],
    /// How many pass it alone.
    pub alone: [u64; Limit::ALL.len()],
    /// Of those that pass it alone the one that misses it by least.
    pub nearest_alone: [Option<Miss>; Limit::ALL.len()],
    /// Of all that pass it.
    pub nearest: [Option<Miss>; Limit::ALL.len()],
}

impl LeftOut {
    /// Counts a way that passes limits.
    fn note(&mut self, asked: &Asked, give: &Gives, past: u16, at: (usize, usize)) {
        let alone = past.count_ones() == 1;
        let (equipment, step) = at;
        for (place, limit) in Limit::ALL.into_iter().enumerate() {
            if past & limit_bit(limit) == 0 {
                continue;
            }
            let bound = asked.bounds.iter().find(|bound| bound.limit == limit);
            let by = bound.map_or(f64::INFINITY, |bound| bound.miss(give.get(bound.of)));
            let miss = Miss {
                by: if by.is_nan() { f64::INFINITY } else { by },
                equipment,
                step,
            };
            nearer(&mut self.count, &mut self.nearest, (place, 1, Some(miss)));
            if alone {
                nearer(
                    &mut self.alone,
                    &mut self.nearest_alone,
                    (place, 1, Some(miss)),
                );
            }
        }
    }

    fn join(&mut self, other: &LeftOut) {
        for (place, (count, miss)) in other.count.iter().zip(&other.nearest).enumerate() {
            nearer(&mut self.count, &mut self.nearest, (place, *count, *miss));
        }
        for (place, (count, miss)) in other.alone.iter().zip(&other.nearest_alone).enumerate() {
            let own = &mut self.nearest_alone;
            nearer(&mut self.alone, own, (place, *count, *miss));
        }
    }
}

/// Adds to a count, and keeps the nearer of two; of equally near ones the first.
fn nearer(
    counts: &mut [u64],
    nearest: &mut [Option<Miss>],
    (place, count, miss): (usize, u64, Option<Miss>),
) {
    if let Some(own) = counts.get_mut(place) {
        *own += count;
    }
    if let (Some(own), Some(miss)) = (nearest.get_mut(place), miss)
        && own.is_none_or(|own| miss.by < own.by)
    {
        *own = Some(miss);
    }
}

/// Where an aim stands among the columns.
fn column(aim: AimKind) -> Option<usize> {
    match aim {
        AimKind::Flow => Some(0),
        AimKind::FlowAtLowPump => Some(1),
        AimKind::Reach => Some(2),
        AimKind::Reaction => Some(3),
        AimKind::SteadyWhenGated => Some(4),
        AimKind::Weight => Some(5),
        AimKind::PumpPressure => Some(8),
        AimKind::OnePumpPressure | AimKind::Kinds | AimKind::Price => None,
    }
}

/// The columns of the highest and of the lowest pump pressure that a line asks.
const ASKS: (usize, usize) = (6, 7);

/// What values of an aim must differ by to be told apart, in SI: less than any gauge
/// shows (0.002 gpm, 0.0015 psi, 1 mm, 0.002 lbf, 0.2 g).
fn grain(aim: AimKind) -> f64 {
    match aim {
        AimKind::Flow | AimKind::FlowAtLowPump => 1e-7,
        AimKind::Reach => 1e-3,
        AimKind::Reaction => 1e-2,
        AimKind::SteadyWhenGated => 1e-5,
        AimKind::Weight => 1e-4,
        AimKind::PumpPressure | AimKind::OnePumpPressure => 10.0,
        AimKind::Kinds | AimKind::Price => 1e-6,
    }
}

fn grained(aim: AimKind, cost: f64) -> f64 {
    match cost.is_nan() {
        true => f64::INFINITY,
        false => (cost / grain(aim)).round() * grain(aim),
    }
}

/// The aims that count.
pub(super) fn counted<'a>(asked: &'a Asked) -> impl Iterator<Item = &'a AskedAim> {
    asked.aims.iter().filter(|aim| aim.weight > 0.0)
}

fn joined(asked: &Asked, aim: AimKind) -> Joined {
    match (aim, column(aim)) {
        (AimKind::PumpPressure, _) if !asked.pressures.is_empty() => Joined::Pump,
        (_, Some(column)) => Joined::Worst(column),
        (AimKind::Kinds, None) => Joined::Kinds,
        (AimKind::Price, None) => Joined::Price,
        (_, None) => Joined::Spread(ASKS.0, ASKS.1),
    }
}

/// Equipment that one thread tries before it looks for more.
const PIECE: usize = 32;

/// What some of the equipment gives on a line.
struct Piece {
    line: usize,
    /// By pump pressure.
    ways: Vec<Vec<Way>>,
    ends: Ends,
    left_out: LeftOut,
}

impl Piece {
    fn new(line: usize, steps: usize) -> Self {
        Piece {
            line,
            ways: vec![Vec::new(); steps],
            ends: NO_ENDS,
            left_out: LeftOut::default(),
        }
    }

    /// Takes what an equipment gives at each pump pressure.
    fn take(&mut self, asked: &Asked, equipment: usize, gives: &[Gives]) {
        let number = self.line * asked.equipment_count() + equipment;
        for (step, give) in gives.iter().enumerate() {
            match past(asked, give) {
                0 => {
                    let way = Way {
                        id: equipment as u32,
                        taken: number as u32,
                        worst: worst(asked, give),
                        own: 0.0,
                    };
                    widen(&mut self.ends, &way.worst.map(|value| (value, value)));
                    if let Some(of) = self.ways.get_mut(step) {
                        of.push(way);
                    }
                }
                past => self.left_out.note(asked, give, past, (equipment, step)),
            }
        }
    }
}

/// Measures all of it, without the ways that no other lines could make unbeaten.
pub(super) fn measure(asked: &Asked, watch: &dyn Watch) -> Result<Lines, ChooseError> {
    let mut lines = every_way(asked, watch)?;
    thin(&mut lines.table);
    Ok(lines)
}

/// Measures all of it.
pub(super) fn every_way(asked: &Asked, watch: &dyn Watch) -> Result<Lines, ChooseError> {
    let (lines, equipment, steps) = (asked.lines.len(), asked.equipment_count(), asked.steps());
    let mut table = empty(asked);
    let (fits, reaches) = (Fits::of(asked), Reaches::default());
    let how = How {
        reaches: Some(&reaches),
        all: false,
    };
    let (done, all) = (AtomicU64::new(0), (lines * equipment) as u64);
    let pieces: Vec<(usize, usize)> = (0..lines)
        .flat_map(|line| (0..equipment).step_by(PIECE).map(move |from| (line, from)))
        .collect();
    let pieces: Option<Vec<Piece>> = pieces
        .into_par_iter()
        .map(|(line, from)| {
            let of = from..(from + PIECE).min(equipment);
            let done = done.fetch_add(of.len() as u64, Ordering::Relaxed);
            watch.progress("choices tried", done, all);
            let mut piece = Piece::new(line, steps);
            for number in of.take_while(|_| !watch.is_stopped()) {
                let fit = fits.get(line, asked.equipment(number));
                let gives = tried(asked, line, number, (fit, how));
                piece.take(asked, number, &gives);
            }
            (!watch.is_stopped()).then_some(piece)
        })
        .collect();
    let pieces = pieces.ok_or(ChooseError::Stopped)?;
    let mut left_out = vec![LeftOut::default(); lines];
    let mut alone = Alone::new(asked);
    for piece in &pieces {
        if let Some(of) = left_out.get_mut(piece.line) {
            of.join(&piece.left_out);
        }
        if let Some(of) = alone.ends.get_mut(piece.line) {
            widen(of, &piece.ends);
        }
    }
    let at = |step: usize| {
        let mut ways = vec![Vec::new(); lines];
        for piece in &pieces {
            if let (Some(of), Some(own)) = (ways.get_mut(piece.line), piece.ways.get(step)) {
                of.extend(own.iter().map(|way| Way {
                    own: alone.bad(piece.line, way),
                    ..*way
                }));
            }
        }
        ways
    };
    table.ways = (0..steps).into_par_iter().map(at).collect();
    Ok(Lines {
        combinations: table.combinations(),
        table,
        left_out,
    })
}

fn tried(asked: &Asked, line: usize, equipment: usize, (fit, how): (bool, How)) -> Vec<Gives> {
    let Some(of) = asked.lines.get(line) else {
        return Vec::new();
    };
    let on = asked.on(of, asked.equipment(equipment));
    let mut gives = match fit {
        true => evaluate(asked, line, &on, &asked.pressures, how),
        false => vec![Gives::fault(Limit::Couplings); asked.steps()],
    };
    // What one line has of them; all lines are asked about later.
    let kinds = of.places.names(asked.book, &on).len();
    for give in &mut gives {
        give.note(Of::Kinds, kinds as f64, line, 0);
        give.note(Of::Price, 0.0, line, 0);
    }
    gives
}

/// The table without its ways: what there is, and what each equipment takes.
fn empty(asked: &Asked) -> Table {
    let mut names: BTreeMap<String, usize> = BTreeMap::new();
    let mut goods: BTreeMap<(Goods, String), usize> = BTreeMap::new();
    let mut taken = Vec::new();
    for line in &asked.lines {
        for number in 0..asked.equipment_count() {
            let on = asked.on(line, asked.equipment(number));
            let mut takes = Taken::default();
            for name in line.places.names(asked.book, &on) {
                let place = place_of(&mut names, name.to_string());
                takes.kinds |= bit(place.min(Table::KINDS - 1) as u8);
            }
            for ((what, name), pieces) in needed(asked.book, &line.places, &on) {
                let place = place_of(&mut goods, (what, name.to_string()));
                takes.counts.push((place, pieces as u32));
            }
            taken.push(takes);
        }
    }
    let carried = carried(asked);
    let kind = |(what, name): &(Goods, String)| {
        let named = (*what, name.as_str());
        let own = carried.get(&(*what, name.clone())).copied();
        let at_hand = own.unwrap_or_default() + in_store(asked.book, named);
        Kind {
            price: price_of(asked.book, named).unwrap_or(UNPRICED),
            at_hand: at_hand.min(u64::from(u32::MAX)) as u32,
        }
    };
    let mut in_place: Vec<_> = goods.iter().collect();
    in_place.sort_by_key(|(_, place)| **place);
    let kinds = in_place.into_iter().map(|(named, _)| kind(named)).collect();
    let value = |of: Of| asked.bounds_of(of).map(|bound| bound.may);
    Table {
        names: names.len(),
        kinds,
        pumps: match asked.pressures.as_slice() {
            [] => vec![0.0],
            all => all.iter().map(|pressure| pressure.value).collect(),
        },
        taken,
        ways: Vec::new(),
        aims: counted(asked).map(|aim| joined(asked, aim.aim)).collect(),
        most_kinds: value(Of::Kinds).map(|most| most.max(0.0) as u32),
        highest_price: value(Of::Price),
    }
}

fn place_of<K: Ord>(all: &mut BTreeMap<K, usize>, key: K) -> usize {
    let next = all.len();
    *all.entry(key).or_insert(next)
}

/// What the lines carry today.
fn carried(asked: &Asked) -> BTreeMap<(Goods, String), u64> {
    let mut all = BTreeMap::new();
    for line in &asked.lines {
        for ((what, name), pieces) in needed(asked.book, &line.places, &line.as_is) {
            *all.entry((what, name.to_string())).or_default() += pieces;
        }
    }
    all
}

fn worst(asked: &Asked, give: &Gives) -> [f64; COLUMNS] {
    let mut worst = NOTHING;
    for aim in counted(asked) {
        let pump = aim.aim == AimKind::PumpPressure && !asked.pressures.is_empty();
        match column(aim.aim).filter(|_| !pump) {
            Some(column) => {
                let cost = aim.cost(value_of(aim, give).0);
                set(&mut worst, column, grained(aim.aim, cost));
            }
            None if aim.aim == AimKind::OnePumpPressure => {
                for (column, asks, sign) in
                    [(ASKS.0, Of::AsksMost, 1.0), (ASKS.1, Of::AsksLeast, -1.0)]
                {
                    let asks = give.get(asks);
                    if asks.is_finite() {
                        set(&mut worst, column, sign * grained(aim.aim, asks));
                    }
                }
            }
            None => {}
        }
    }
    worst
}

fn set(worst: &mut [f64; COLUMNS], column: usize, value: f64) {
    if let Some(of) = worst.get_mut(column) {
        *of = value;
    }
}

/// Least and most of each column.
type Ends = [(f64, f64); COLUMNS];

const NO_ENDS: Ends = [(f64::INFINITY, f64::NEG_INFINITY); COLUMNS];

/// Takes finite values in.
fn widen(ends: &mut Ends, by: &Ends) {
    for ((low, high), (less, more)) in ends.iter_mut().zip(by) {
        if less.is_finite() && more.is_finite() {
            *low = low.min(*less);
            *high = high.max(*more);
        }
    }
}

/// How bad each way is for its own line alone, between the best and the worst that the
/// line can have; of equal ways the one that changes least comes first.
struct Alone {
    weights: Vec<(usize, f64)>,
    all: f64,
    /// By line.
    ends: Vec<Ends>,
    /// How many things an equipment changes, by line.
    changes: Vec<Vec<f64>>,
}

impl Alone {
    fn new(asked: &Asked) -> Self {
        let weights: Vec<(usize, f64)> = counted(asked)
            .filter_map(|aim| match joined(asked, aim.aim) {
                Joined::Worst(column) => Some((column, aim.weight)),
                _ => None,
            })
            .collect();
        let of_line = |line: &AskedLine| -> Vec<f64> {
            let all = 0..asked.equipment_count();
            all.map(|of| changes(&asked.on(line, asked.equipment(of)), &line.as_is))
                .collect()
        };
        Alone {
            all: weights.iter().map(|(_, weight)| weight).sum(),
            weights,
            ends: vec![NO_ENDS; asked.lines.len()],
            changes: asked.lines.iter().map(of_line).collect(),
        }
    }

    fn bad(&self, line: usize, way: &Way) -> f64 {
        let ends = self.ends.get(line).copied().unwrap_or(NO_ENDS);
        let each = self.weights.iter().map(|(column, weight)| {
            let value = way.worst.get(*column).copied().unwrap_or_default();
            let (low, high) = ends.get(*column).copied().unwrap_or_default();
            match high > low {
                true => weight * ((value - low) / (high - low)).clamp(0.0, 1.0),
                false => 0.0,
            }
        });
        let changes = self
            .changes
            .get(line)
            .and_then(|of| of.get(way.id as usize));
        each.sum::<f64>() / self.all.max(1e-9) + 1e-6 * changes.copied().unwrap_or_default()
    }
}

/// How many things differ.
fn changes(on: &OfLine, own: &OfLine) -> f64 {
    let different = [
        on.hose != own.hose,
        (on.length - own.length).value.abs() > 1e-9,
        on.nozzle != own.nozzle,
        on.setting != own.setting,
    ];
    different.iter().filter(|different| **different).count() as f64
}

/// Leaves out ways that another of the same line at the same pump pressure beats,
/// whatever the other lines carry and whichever kinds may be used: where kinds or the
/// price matter, another that takes the same kinds.
fn thin(table: &mut Table) {
    let alike = table.counts_kinds() || table.counts_price();
    let lent = std::mem::take(&mut table.ways);
    let most = most_over(table, &lent);
    let group = |way: &Way| -> (u128, Vec<usize>) {
        let taken = table.taken(way).filter(|_| alike);
        taken.map_or((0, Vec::new()), |taken| {
            let goods = taken.counts.iter().map(|(kind, _)| *kind);
            (taken.kinds, goods.collect())
        })
    };
    let thinned = lent.into_par_iter().map(|lines| {
        let of_line = |ways: Vec<Way>| {
            let mut groups: BTreeMap<(u128, Vec<usize>), Vec<Way>> = BTreeMap::new();
            for way in ways {
                groups.entry(group(&way)).or_default().push(way);
            }
            let sifted = groups
                .into_values()
                .flat_map(|ways| sifted(table, ways, &most));
            sifted.collect()
        };
        lines.into_iter().map(of_line).collect()
    });
    table.ways = thinned.collect();
}

/// Of ways that take the same kinds those that no other beats.
fn sifted(table: &Table, mut ways: Vec<Way>, most: &[u32]) -> Vec<Way> {
    ways.sort_by(|one, other| {
        in_order(&one.worst, &other.worst)
            .then_with(|| one.own.total_cmp(&other.own))
            .then_with(|| one.id.cmp(&other.id))
    });
    if !table.counts_price() {
        return front(ways, |way| &way.worst);
    }
    let mut kept: Vec<Way> = Vec::new();
    for way in ways {
        let beats = |other: &Way| {
            no_worse(&other.worst, &way.worst) && table.never_adds_more(most, other, &way)
        };
        if !kept.iter().any(beats) {
            kept.push(way);
        }
    }
    kept
}

/// The most of each kind that all the lines can take together.
fn most_over(table: &Table, ways: &[Vec<Vec<Way>>]) -> Vec<u32> {
    let lines = ways.first().map_or(0, Vec::len);
    let mut sum = vec![0_u32; table.kinds.len()];
    for line in 0..lines {
        let mut most = vec![0_u32; table.kinds.len()];
        let own = ways.iter().filter_map(|lines| lines.get(line)).flatten();
        for (kind, count) in own
            .filter_map(|way| table.taken(way))
            .flat_map(|t| &t.counts)
        {
            if let Some(most) = most.get_mut(*kind) {
                *most = (*most).max(*count);
            }
        }
        for (sum, most) in sum.iter_mut().zip(most) {
            *sum = sum.saturating_add(most);
        }
    }
    sum
}
