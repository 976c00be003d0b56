//! The search against trying everything.

use super::measure::{every_way, measure};
use super::search::{Found, each_best, judged, picked, search};
use super::table::{Joined, Kind, NOTHING, Table, Taken, Way, no_worse};
use crate::choose::Quiet;
use crate::choose::asked::Asked;
use crate::choose::unbeaten::unbeaten;
use proptest::collection::vec;
use proptest::prelude::*;

/// Every combination, and those of them that no other beats, by their costs.
fn plainly(table: &Table) -> Vec<Vec<f64>> {
    let mut all: Vec<Found> = Vec::new();
    for (pump, lines) in table.ways.iter().enumerate() {
        let mut picks: Vec<Vec<u32>> = vec![Vec::new()];
        for ways in lines {
            let longer = picks.iter().flat_map(|picks| {
                (0..ways.len() as u32).map(|way| {
                    let mut picks = picks.clone();
                    picks.push(way);
                    picks
                })
            });
            picks = longer.collect();
        }
        all.extend(picks.into_iter().filter_map(|p| judged(table, pump, p)));
    }
    let beaten = |one: &Found| {
        let by = |other: &&Found| no_worse(&other.costs, &one.costs) && other.costs != one.costs;
        all.iter().any(|other| by(&other))
    };
    let stays = all.iter().filter(|one| !beaten(one));
    let mut costs: Vec<Vec<f64>> = stays.map(|one| one.costs.clone()).collect();
    costs.sort_by(|a, b| super::table::in_order(a, b));
    costs.dedup();
    costs
}

/// What can be on a line: a hose of the first three kinds and a nozzle of the last four.
fn taken() -> impl Strategy<Value = Taken> {
    (0..3_usize, 1..4_u32, 3..7_usize).prop_map(|(hose, sections, nozzle)| Taken {
        kinds: (1 << hose) | (1 << nozzle),
        counts: vec![(hose, sections), (nozzle, 1)],
    })
}

fn way() -> impl Strategy<Value = Way> {
    // Few different values, so that many tie.
    (vec(0..5_i32, 4), 0..6_u32, 0..4_i32).prop_map(|(values, taken, own)| {
        let mut worst = NOTHING;
        for (into, value) in worst.iter_mut().zip(&values) {
            *into = f64::from(*value);
        }
        // The last is the one before it with its sign changed, as for a spread.
        worst[3] = -worst[2];
        Way {
            id: 0,
            taken,
            worst,
            own: f64::from(own),
        }
    })
}

fn aims() -> impl Strategy<Value = Vec<Joined>> {
    let all = vec![
        Joined::Worst(0),
        Joined::Worst(1),
        Joined::Spread(2, 3),
        Joined::Pump,
        Joined::Kinds,
        Joined::Price,
    ];
    proptest::sample::subsequence(all, 1..=6)
}

fn table() -> impl Strategy<Value = Table> {
    let kind = (0..4_i32, 0..4_u32).prop_map(|(price, at_hand)| Kind {
        price: f64::from(price),
        at_hand,
    });
    (
        vec(kind, 7),
        vec(taken(), 6),
        (1..=2_usize, 1..=4_usize),
        aims(),
        proptest::option::of(2..6_u32),
        proptest::option::of(0..12_i32),
    )
        .prop_flat_map(|(kinds, taken, (pumps, lines), aims, most_kinds, price)| {
            let ways = vec(vec(vec(way(), 0..6), lines), pumps);
            ways.prop_map(move |ways| Table {
                names: 7,
                kinds: kinds.clone(),
                pumps: (0..ways.len()).map(|n| n as f64).collect(),
                taken: taken.clone(),
                ways,
                aims: aims.clone(),
                most_kinds,
                highest_price: price.map(f64::from),
            })
        })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1500))]

    #[test]
    fn law_the_search_finds_what_trying_everything_finds(table in table()) {
        let sought = search(&table, &Quiet).unwrap();
        prop_assert!(sought.bounded.is_none());
        let costs: Vec<Vec<f64>> = sought.found.iter().map(|f| f.costs.clone()).collect();
        prop_assert_eq!(costs, plainly(&table));
        for found in &sought.found {
            let again = judged(&table, found.pump, found.picks.clone()).unwrap();
            prop_assert_eq!(&again, found);
        }
    }

    #[test]
    fn law_each_lines_own_best_leaves_all_together_as_they_are(table in table()) {
        let own = |found: &Found| -> f64 {
            let ways = picked(&table, found.pump, &found.picks).unwrap();
            ways.iter().map(|way| way.own).sum()
        };
        for found in search(&table, &Quiet).unwrap().found {
            let best = each_best(&table, &found);
            prop_assert_eq!(&best.costs, &found.costs);
            prop_assert!(own(&best) <= own(&found));
        }
    }
}

/// The demo's whole carry: every combination of its lines' ways, one after the other.
#[test]
fn law_the_demos_lines_have_nothing_better_among_all_combinations() {
    let book = include_bytes!("../../../../../books/saltmarsh-bend.toml");
    let book = book::read(book, "saltmarsh-bend.toml").unwrap();
    let file = include_bytes!("../../../../../books/saltmarsh-bend-whole-carry.toml");
    let asked = book::comparison::read_for(file, "whole-carry.toml", &book).unwrap();
    let asked = Asked::new(&book, &asked).unwrap();
    let table = every_way(&asked, &Quiet).unwrap().table;
    let mut columns: Vec<Vec<f64>> = vec![Vec::new(); table.aims.len()];
    for (pump, lines) in table.ways.iter().enumerate() {
        let [a, b, c, d] = lines.as_slice() else {
            panic!("four lines");
        };
        for a in a {
            for b in b {
                for (c, d) in c.iter().flat_map(|c| d.iter().map(move |d| (c, d))) {
                    let costs = table.costs(table.pumps[pump], &[a, b, c, d]);
                    for (column, cost) in columns.iter_mut().zip(costs.into_iter().flatten()) {
                        column.push(cost);
                    }
                }
            }
        }
    }
    let left = unbeaten(&columns);
    let mut best: Vec<Vec<f64>> = left
        .iter()
        .map(|row| columns.iter().map(|column| column[*row]).collect())
        .collect();
    best.sort_by(|a, b| super::table::in_order(a, b));
    best.dedup();
    let sought = search(&measure(&asked, &Quiet).unwrap().table, &Quiet).unwrap();
    assert!(sought.bounded.is_none());
    let found: Vec<Vec<f64>> = sought.found.into_iter().map(|f| f.costs).collect();
    assert!(
        found.len() > 3 && columns[0].len() > 1000,
        "{}",
        columns[0].len()
    );
    assert_eq!(found, best);
}

/// Eight lines with many ways each at many pressures.
fn large(kinds_matter: bool) -> Table {
    let spread = |n: usize, of: usize| ((n * 7919 + of * 104_729) % 1009) as f64 / 1009.0;
    let taken = |n: usize| Taken {
        kinds: (1 << (n % 5)) | (1 << (5 + n % 7)),
        counts: vec![(n % 5, 3 + (n % 3) as u32), (5 + n % 7, 1)],
    };
    let way = |pump: usize, line: usize, n: usize| {
        let mut worst = NOTHING;
        for (column, value) in worst.iter_mut().take(4).enumerate() {
            *value = (spread(n, column) + 0.3 * spread(line, column) + 0.1 * pump as f64).round();
        }
        Way {
            id: n as u32,
            taken: n as u32,
            worst,
            own: spread(n, 9),
        }
    };
    let line = |pump: usize, line: usize| (0..105).map(|n| way(pump, line, n)).collect();
    Table {
        names: 12,
        kinds: vec![
            Kind {
                price: 10.0,
                at_hand: 2
            };
            12
        ],
        pumps: (0..20).map(f64::from).collect(),
        taken: (0..105).map(taken).collect(),
        ways: (0..20)
            .map(|p| (0..8).map(|l| line(p, l)).collect())
            .collect(),
        aims: vec![
            Joined::Worst(0),
            Joined::Worst(1),
            Joined::Worst(2),
            Joined::Worst(3),
            if kinds_matter {
                Joined::Kinds
            } else {
                Joined::Pump
            },
        ],
        most_kinds: None,
        highest_price: None,
    }
}

#[test]
fn law_the_same_on_one_thread_and_on_several() {
    let table = large(true);
    let on = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build();
        pool.unwrap().install(|| search(&table, &Quiet).unwrap())
    };
    let (one, three) = (on(1), on(3));
    assert_eq!(one.found, three.found);
    assert_eq!(one.bounded, three.bounded);
    assert!(!one.found.is_empty());
}

#[test]
fn what_is_too_large_says_how_far_was_looked() {
    let mut table = large(true);
    table.names = 60;
    for (n, taken) in table.taken.iter_mut().enumerate() {
        taken.kinds = (1 << (n % 30)) | (1 << (30 + n % 29));
    }
    let sought = search(&table, &Quiet).unwrap();
    let bounded = sought.bounded.unwrap();
    assert!(bounded.kinds.is_some_and(|kinds| kinds < 60), "{bounded:?}");
    assert!(!sought.found.is_empty());
}
