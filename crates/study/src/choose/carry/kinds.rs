//! The sets of kinds of hose and nozzle that all the lines can be equipped from.

use super::table::{Table, bit};

/// The sets to look at.
pub(super) struct Sets {
    /// Each as a mask of kinds, the smallest first.
    pub all: Vec<u128>,
    /// Sets of more kinds than this are left out, but for the one of all kinds; `None`
    /// when no set that matters is.
    pub up_to: Option<u32>,
}

/// Sets that are tried for being of use, at most.
const TRIED: usize = 300_000;

/// The sets of kinds of `table`, at most `room` of them.
///
/// Where the number of kinds matters, a combination that takes some kinds is found in the
/// set of just these. Where only a limit stands, the sets of as many kinds as the limit
/// allows hold all the smaller ones. Otherwise one set of all kinds is enough.
pub(super) fn sets(table: &Table, room: usize) -> Sets {
    let kinds = table.names.min(Table::KINDS);
    let every = (0..kinds as u8).fold(0, |set, kind| set | bit(kind));
    let masks = masks(table);
    let counts = |masks: &Vec<u128>| masks.iter().map(|mask| mask.count_ones()).max();
    let together: u32 = masks.iter().filter_map(counts).sum();
    let useful = together.min(kinds as u32);
    let most = table.most_kinds.map_or(useful, |most| most.min(useful));
    let aimed = table.aims.contains(&super::table::Joined::Kinds);
    if !aimed && most == useful {
        return Sets {
            all: vec![every],
            up_to: None,
        };
    }
    let first = if aimed { 1.min(most) } else { most };
    let mut sets = Sets {
        all: Vec::new(),
        up_to: None,
    };
    let mut tried = 0;
    for size in first..=most {
        let mut of_size = Vec::new();
        let whole = choose(kinds, size, &mut |set| {
            tried += 1;
            if of_use(set, &masks) {
                of_size.push(set);
            }
            tried < TRIED && sets.all.len() + of_size.len() < room.max(1)
        });
        sets.all.append(&mut of_size);
        if !whole {
            sets.up_to = Some(size.saturating_sub(1));
            break;
        }
    }
    // Something of many kinds is better than nothing.
    let limited = table.most_kinds.is_some_and(|most| (most as usize) < kinds);
    if sets.up_to.is_some() && !limited {
        sets.all.push(every);
    }
    sets
}

/// For each line, what one of its ways takes, at any pump pressure.
fn masks(table: &Table) -> Vec<Vec<u128>> {
    let lines = table.ways.first().map_or(0, Vec::len);
    let of = |line: usize| {
        let ways = table.ways.iter().filter_map(|lines| lines.get(line));
        let mut masks: Vec<u128> = ways.flatten().map(|way| table.mask(way)).collect();
        masks.sort_unstable();
        masks.dedup();
        masks
    };
    (0..lines).map(of).collect()
}

/// Can every line be equipped from `set`?
fn of_use(set: u128, lines: &[Vec<u128>]) -> bool {
    let line = |masks: &Vec<u128>| masks.iter().any(|mask| mask & !set == 0);
    lines.iter().all(line)
}

/// Gives every set of `size` of the first `kinds` kinds to `take`, until it says that it
/// is enough. Was it all of them?
fn choose(kinds: usize, size: u32, take: &mut dyn FnMut(u128) -> bool) -> bool {
    let size = size as usize;
    let mut places: Vec<usize> = (0..size).collect();
    if size > kinds {
        return true;
    }
    loop {
        let set = places.iter().fold(0, |set, at| set | bit(*at as u8));
        let more = next(&mut places, kinds);
        if !take(set) {
            return !more;
        }
        if !more {
            return true;
        }
    }
}

/// The next places in order; false when there are none.
fn next(places: &mut [usize], kinds: usize) -> bool {
    let size = places.len();
    let movable = (0..size).rev().find(|at| {
        let highest = kinds - size + at;
        places.get(*at).is_some_and(|place| *place < highest)
    });
    let Some(at) = movable else { return false };
    let from = places.get(at).map_or(0, |place| place + 1);
    for (offset, place) in places.iter_mut().skip(at).enumerate() {
        *place = from + offset;
    }
    true
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn law_all_sets_of_a_size_come_once() {
        let mut all = Vec::new();
        assert!(choose(6, 3, &mut |set| {
            all.push(set);
            true
        }));
        assert_eq!(all.len(), 20);
        assert!(all.iter().all(|set| set.count_ones() == 3));
        all.sort_unstable();
        all.dedup();
        assert_eq!(all.len(), 20);
    }
}
