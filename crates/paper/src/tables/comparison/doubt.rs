//! Rows of what is doubtful, and of what the days give.

use study::choose::{Choice, aim_name, kind_of};
use study::doubt::{Doubted, Held};
use study::figure::{self, Figure};

use super::super::listing::{Listing, Row};
use super::Made;
use crate::compared;
use hydraulics::units::{Measure, Ratio};

/// A share as a figure, to a tenth of a per cent.
fn share(share: f64) -> Figure {
    figure::ratio(Ratio::of_si(share))
}

impl<'a> Made<'a> {
    /// The choices that days were drawn for.
    fn drawn(&self) -> impl Iterator<Item = (&'a Choice, &'a Doubted)> {
        let ranked = self.ranked();
        ranked.filter_map(|(_, choice)| Some((choice, choice.doubted.as_ref()?)))
    }

    /// How sure a choice is.
    pub(super) fn sure(&self, row: Row, choice: &Choice) -> Row {
        let Some(doubted) = &choice.doubted else {
            return row;
        };
        let (holds, half) = doubted.all_hold;
        row.with("holds on days", share(holds))
            .with("holds, give or take", share(half))
            .bare("days drawn", doubted.draws as f64, 0)
            .with("seed", doubted.seed.to_string())
            .bare("days without an answer", doubted.unsolved as f64, 0)
    }

    /// What is doubtful.
    pub(super) fn unsure(&self) -> Listing {
        let mut listing = Listing::new("Doubt");
        for (choice, doubted) in self.drawn() {
            for unsure in &doubted.unsure {
                let row = Row::new()
                    .with("choice", choice.code.as_str())
                    .with("what", unsure.name.as_str())
                    .with("spread", compared::spread(unsure, self.units))
                    .with("what would lessen it", unsure.mend.as_str());
                listing.push(row, &unsure.source);
            }
        }
        listing
    }

    /// Whose doubt it is.
    pub(super) fn shares(&self) -> Listing {
        let mut listing = Listing::new("Whose doubt");
        for (choice, doubted) in self.drawn() {
            for (aim, shares) in &doubted.shares {
                for one in shares {
                    let [low, high] = one.swing;
                    let row = Row::new()
                        .with("choice", choice.code.as_str())
                        .with("aim", aim_name(*aim))
                        .with("what", one.name.as_str())
                        .with("by itself", share(one.first.0))
                        .with("by itself, give or take", share(one.first.1))
                        .with("in all", share(one.total.0))
                        .with("in all, give or take", share(one.total.1))
                        .with("value at its 5 %", low)
                        .with("value at its 95 %", high);
                    listing.push(row, &self.source);
                }
            }
        }
        listing
    }

    /// Values over the days.
    pub(super) fn days(&self) -> Listing {
        let mut listing = Listing::new("Days");
        for (choice, doubted) in self.drawn() {
            for held in &doubted.over_days {
                let [low, middle, high] = held.quantiles;
                let row = Row::new()
                    .with("choice", choice.code.as_str())
                    .with("aim", aim_name(held.aim))
                    .with("mean", held.mean)
                    .with("standard deviation", held.sd)
                    .with("5 % are below", low)
                    .with("half are below", middle)
                    .with("95 % are below", high)
                    .bare("days drawn", doubted.draws as f64, 0);
                listing.push(row, &self.source);
            }
        }
        listing
    }

    /// How often each value came.
    pub(super) fn counts(&self) -> Listing {
        let mut listing = Listing::new("Days counted");
        for (choice, doubted) in self.drawn() {
            for held in &doubted.over_days {
                for (from, to, days) in bins(held) {
                    let row = Row::new()
                        .with("choice", choice.code.as_str())
                        .with("aim", aim_name(held.aim))
                        .with("from", from)
                        .with("to", to)
                        .bare("days", days as f64, 0);
                    listing.push(row, &self.source);
                }
            }
        }
        listing
    }

    /// On how many days each limit holds.
    pub(super) fn holds(&self) -> Listing {
        let mut listing = Listing::new("Limits on the days");
        for (choice, doubted) in self.drawn() {
            let (all, half) = doubted.all_hold;
            let each = doubted.holds.iter();
            let each = each.map(|(limit, holds, half)| (limit.name(), *holds, *half));
            for (limit, holds, half) in each.chain([("all of them", all, half)]) {
                let row = Row::new()
                    .with("choice", choice.code.as_str())
                    .with("limit", limit)
                    .with("holds on days", share(holds))
                    .with("give or take", share(half))
                    .bare("days drawn", doubted.draws as f64, 0);
                listing.push(row, &self.source);
            }
        }
        listing
    }
}

/// The bins of a histogram: from, to, days.
fn bins(held: &Held) -> Vec<(Figure, Figure, u64)> {
    let histogram = &held.histogram;
    let count = histogram.counts.len().max(1) as f64;
    let width = (histogram.high - histogram.low) / count;
    let at = |n: usize| histogram.low + width * n as f64;
    let figure = |n| match kind_of(held.aim) {
        Some(kind) => Figure::new(kind, Ratio::of_si(at(n))).fine(),
        None => Figure::count(at(n), 1),
    };
    let counts = histogram.counts.iter().enumerate();
    counts
        .map(|(n, days)| (figure(n), figure(n + 1), *days))
        .collect()
}
