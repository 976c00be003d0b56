//! One pump pressure and one set of kinds: the lines taken together one after the other.
//!
//! What some lines come to together is worsened by another line in one way only: column
//! by column, the worse of the two. So what is nowhere better than something else stays
//! nowhere better whatever the other lines carry, and can be left out at once. With a
//! price it is left out only where it would stay no cheaper, too ([`Purse::never_dearer`]).

use super::front::front_with;
use super::table::{COLUMNS, NOTHING, Table, Way, Worst, in_order, join, no_worse};

/// What the lines taken so far come to together.
#[derive(Debug, Clone)]
pub(super) struct Partial {
    pub worst: Worst,
    /// How many of each kind, where the price matters.
    pub counts: Vec<u32>,
    pub bill: f64,
    /// The way of each line, by its place among the line's ways.
    pub picks: Vec<u32>,
}

/// What folding gave.
pub(super) struct Folded {
    pub all: Vec<Partial>,
    /// Some had to be let go although nothing beat them.
    pub bounded: bool,
}

/// What matters about prices while lines are still to come.
struct Purse<'a> {
    table: &'a Table,
    counted: bool,
    /// The most of each kind that the lines still to come can take.
    ahead: Vec<u32>,
    /// The most of each kind that all the lines can take.
    most: &'a [u32],
}

impl Purse<'_> {
    /// Is `one` no dearer than `other`, whatever the lines still to come take?
    ///
    /// Kind by kind, what `one` costs more is greatest when nothing more of it is taken,
    /// if `one` has fewer, and when most is taken, if it has more.
    fn never_dearer(&self, one: &Partial, other: &Partial) -> bool {
        if !self.counted {
            return true;
        }
        let kinds = self.table.kinds.iter().zip(&self.ahead);
        let both = one.counts.iter().zip(&other.counts);
        let more = kinds.zip(both).map(|((kind, ahead), (one, other))| {
            let ahead = if one > other { *ahead } else { 0 };
            let bought = |count: u32| f64::from((count + ahead).saturating_sub(kind.at_hand));
            (bought(*one) - bought(*other)) * kind.price
        });
        more.sum::<f64>() <= 0.0
    }

    /// Does one way never add more to the bill than another?
    fn never_adds_more(&self, one: &Way, other: &Way) -> bool {
        !self.counted || self.table.never_adds_more(self.most, one, other)
    }

    fn beats(&self, one: &Partial, other: &Partial) -> bool {
        no_worse(&one.worst, &other.worst) && self.never_dearer(one, other)
    }
}

/// The most of each kind that one of `ways` takes.
fn most_of(table: &Table, ways: &[(u32, &Way)]) -> Vec<u32> {
    let mut most = vec![0_u32; table.kinds.len()];
    let taken = ways.iter().filter_map(|(_, way)| table.taken(way));
    for (kind, count) in taken.flat_map(|taken| &taken.counts) {
        if let Some(most) = most.get_mut(*kind) {
            *most = (*most).max(*count);
        }
    }
    most
}

fn sum(all: &[Vec<u32>], kinds: usize) -> Vec<u32> {
    let mut sum = vec![0_u32; kinds];
    for one in all {
        for (sum, one) in sum.iter_mut().zip(one) {
            *sum += one;
        }
    }
    sum
}

/// Beyond so many, prices are compared as they are and not as they may become: something
/// cheap that would have been so with what another line gives up may be lost.
const MANY: usize = 1_000;

/// The ways of a line that no other of its ways beats, whatever the others carry; and
/// whether some may be lost.
fn unbeaten<'w>(
    table: &Table,
    ways: &[(u32, &'w Way)],
    most: &[u32],
) -> (Vec<(u32, &'w Way)>, bool) {
    let counted = table.counts_price();
    let mut sorted: Vec<(u32, &Way)> = ways.to_vec();
    let price = |way: &Way| match counted {
        true => table.bill(&table.counts([way])),
        false => 0.0,
    };
    sorted.sort_by(|(a, one), (b, other)| {
        in_order(&one.worst, &other.worst)
            .then_with(|| price(one).total_cmp(&price(other)))
            .then_with(|| one.own.total_cmp(&other.own))
            .then_with(|| a.cmp(b))
    });
    if !counted || sorted.len() > MANY {
        let front = front_with(sorted, |(_, way)| &way.worst, |(_, way)| price(way));
        return (front, counted);
    }
    let mut kept: Vec<(u32, &Way)> = Vec::new();
    for (at, way) in sorted {
        let beaten = kept.iter().any(|(_, other)| {
            no_worse(&other.worst, &way.worst) && table.never_adds_more(most, other, way)
        });
        if !beaten {
            kept.push((at, way));
        }
    }
    (kept, false)
}

/// Every combination of one way a line, out of `ways` (by line, each with its place),
/// that none beats. At most about `budget` pairs are looked at for each line; where that
/// is too few the result is marked as bounded.
pub(super) fn fold(table: &Table, ways: &[Vec<(u32, &Way)>], budget: usize) -> Folded {
    let kinds = table.kinds.len();
    let counted = table.counts_price();
    let most: Vec<Vec<u32>> = ways.iter().map(|ways| most_of(table, ways)).collect();
    let total = sum(&most, kinds);
    let mut folded = Folded {
        all: vec![Partial {
            worst: NOTHING,
            counts: if counted { vec![0; kinds] } else { Vec::new() },
            bill: 0.0,
            picks: Vec::new(),
        }],
        bounded: false,
    };
    let side = (budget as f64).sqrt() as usize;
    for (line, ways) in ways.iter().enumerate() {
        let (mut ways, lost) = unbeaten(table, ways, &total);
        folded.bounded |= lost;
        let purse = Purse {
            table,
            counted,
            ahead: sum(most.get(line + 1..).unwrap_or_default(), kinds),
            most: &total,
        };
        if ways.len() * folded.all.len() > budget {
            let other = folded.all.len().min(side);
            folded.bounded |= narrow(&mut ways, budget / other.max(1), |(_, way)| &way.worst);
        }
        let next = with(&purse, &folded.all, &ways);
        folded.bounded |= counted && next.len() > MANY;
        folded.all = filtered(&purse, next);
        let room = (budget / ways.len().max(1)).max(side);
        folded.bounded |= narrow(&mut folded.all, room, |partial| &partial.worst);
    }
    folded
}

/// Each of `all` with each of `ways` added.
fn with(purse: &Purse<'_>, all: &[Partial], ways: &[(u32, &Way)]) -> Vec<Partial> {
    let mut next = Vec::new();
    let mut kept: Vec<(Worst, &(u32, &Way))> = Vec::new();
    for partial in all {
        // A way that worsens nothing leaves no reason to look at others, unless for
        // their price.
        let free = ways
            .iter()
            .filter(|(_, way)| !purse.counted && no_worse(&way.worst, &partial.worst))
            .min_by(|(_, one), (_, other)| one.own.total_cmp(&other.own));
        if let Some(way) = free {
            next.extend(added(purse, partial, way));
            continue;
        }
        kept.clear();
        for way in ways {
            let worst = join(&partial.worst, &way.1.worst);
            let beats = |(other, of): &(Worst, &(u32, &Way))| {
                no_worse(other, &worst) && purse.never_adds_more(of.1, way.1)
            };
            if !kept.iter().any(beats) {
                kept.push((worst, way));
            }
        }
        next.extend(
            kept.iter()
                .filter_map(|(_, way)| added(purse, partial, way)),
        );
    }
    next
}

/// `None` where the price passes its limit: what is added later only makes it dearer.
fn added(purse: &Purse<'_>, partial: &Partial, (at, way): &(u32, &Way)) -> Option<Partial> {
    let mut counts = partial.counts.clone();
    let mut bill = 0.0;
    if purse.counted {
        purse.table.add(way, &mut counts);
        bill = purse.table.bill(&counts);
    }
    let most = purse.table.highest_price;
    most.is_none_or(|most| bill <= most).then(|| {
        let mut picks = Vec::with_capacity(partial.picks.len() + 1);
        picks.extend(&partial.picks);
        picks.push(*at);
        Partial {
            worst: join(&partial.worst, &way.worst),
            counts,
            bill,
            picks,
        }
    })
}

fn filtered(purse: &Purse<'_>, mut all: Vec<Partial>) -> Vec<Partial> {
    all.sort_by(|one, other| {
        in_order(&one.worst, &other.worst)
            .then_with(|| one.bill.total_cmp(&other.bill))
            .then_with(|| one.picks.cmp(&other.picks))
    });
    if !purse.counted || all.len() > MANY {
        return front_with(all, |partial| &partial.worst, |partial| partial.bill);
    }
    let mut kept: Vec<Partial> = Vec::new();
    for partial in all {
        // The newest is the likeliest to beat it.
        if !kept.iter().rev().any(|other| purse.beats(other, &partial)) {
            kept.push(partial);
        }
    }
    kept
}

/// Keeps about `room` of what stands in order: evenly over the order, and of each column
/// the best. Did any have to go?
fn narrow<T>(all: &mut Vec<T>, room: usize, worst: impl Fn(&T) -> &Worst) -> bool {
    let count = all.len();
    if count <= room {
        return false;
    }
    let mut stays = vec![false; count];
    for column in 0..COLUMNS {
        let value = |at: &usize| {
            let worst = all.get(*at).map(&worst);
            worst.and_then(|worst| worst.get(column)).copied()
        };
        let best = (0..count).min_by(|a, b| {
            let value = |at| value(at).unwrap_or(f64::INFINITY);
            value(a).total_cmp(&value(b))
        });
        if let Some(stays) = best.and_then(|best| stays.get_mut(best)) {
            *stays = true;
        }
    }
    for step in 0..room {
        if let Some(stays) = stays.get_mut(step * count / room) {
            *stays = true;
        }
    }
    let mut stays = stays.into_iter();
    all.retain(|_| stays.next().unwrap_or(false));
    true
}
