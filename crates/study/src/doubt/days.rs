//! Days drawn, by the chunk and in order.

use super::spread::Ready;
use super::tally::{Counted, Moments};
use crate::choose::Watch;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{RngCore, SeedableRng};
use rayon::prelude::*;
use std::sync::atomic::{AtomicU64, Ordering};

/// Days of a chunk. The draws depend on it.
pub(super) const CHUNK: u64 = 512;

/// Chunks that are worked on before they are put together: what memory there is use of.
const WAVE: u64 = 32;

/// The reader does not want it any more.
pub(super) struct Halted;

/// Tells the reader how far it is, over several rounds of work.
pub(super) struct Meter<'a> {
    watch: &'a dyn Watch,
    done: AtomicU64,
    all: u64,
}

impl<'a> Meter<'a> {
    pub(super) fn new(watch: &'a dyn Watch, all: u64) -> Self {
        Meter {
            watch,
            done: AtomicU64::new(0),
            all,
        }
    }

    fn tell(&self, more: u64) {
        let done = self.done.fetch_add(more, Ordering::Relaxed) + more;
        self.watch
            .progress("days drawn", done.min(self.all), self.all);
    }
}

/// Which draws a stream is for: plain days and those that tell whose doubt it is are
/// never the same.
#[derive(Clone, Copy)]
pub(super) enum For {
    Days,
    Shares,
}

/// Even numbers between 0 and 1, neither of them, for one chunk.
pub(super) struct Evenly(ChaCha8Rng);

impl Evenly {
    pub(super) fn new(seed: u64, what: For, chunk: u64) -> Self {
        let mut generator = ChaCha8Rng::seed_from_u64(seed);
        generator.set_stream(match what {
            For::Days => chunk,
            For::Shares => chunk | (1 << 63),
        });
        Evenly(generator)
    }

    fn next(&mut self) -> f64 {
        ((self.0.next_u64() >> 11) as f64 + 0.5) * (1.0 / (1u64 << 53) as f64)
    }

    /// One value of each spread.
    pub(super) fn values(&mut self, spreads: &[Ready], into: &mut [f64]) {
        for (spread, value) in spreads.iter().zip(into) {
            *value = spread.at(self.next());
        }
    }
}

/// Works through `count` days, `work` on each chunk (its number and how many days), and
/// puts the chunks together in their order.
pub(super) fn in_chunks<T: Send>(
    count: u64,
    meter: &Meter<'_>,
    weight: u64,
    work: impl Fn(u64, u64) -> T + Sync,
    mut put: impl FnMut(T),
) -> Result<(), Halted> {
    let chunks = count.div_ceil(CHUNK);
    let mut from = 0;
    while from < chunks {
        let to = (from + WAVE).min(chunks);
        let done: Vec<Option<T>> = (from..to)
            .into_par_iter()
            .map(|chunk| {
                if meter.watch.is_stopped() {
                    return None;
                }
                let days = CHUNK.min(count - chunk * CHUNK);
                let worked = work(chunk, days);
                meter.tell(days * weight);
                Some(worked)
            })
            .collect();
        for worked in done {
            put(worked.ok_or(Halted)?);
        }
        from = to;
    }
    Ok(())
}

/// What is asked of every day.
pub(super) trait Model: Sync {
    /// What a chunk keeps from day to day; no answer depends on it but within a chunk.
    type Kept;

    /// What a chunk starts with.
    fn start(&self) -> Self::Kept;

    /// For each measure the finest difference that counts, in SI.
    fn steps(&self) -> Vec<f64>;

    /// How many limits there are.
    fn limits(&self) -> usize;

    /// One day: measures and limits by the values drawn. `false` when there is no
    /// physical answer.
    fn day(
        &self,
        kept: &mut Self::Kept,
        values: &[f64],
        measures: &mut [f64],
        holds: &mut [bool],
    ) -> bool;
}

/// What is kept of all the days.
pub(super) struct Tally {
    pub days: u64,
    pub unsolved: u64,
    pub values: Vec<Counted>,
    pub holds: Vec<u64>,
    pub all_hold: u64,
}

/// What comes of one chunk.
struct Worked {
    days: u64,
    unsolved: u64,
    /// The measures of one day after the other.
    values: Vec<f64>,
    moments: Vec<Moments>,
    holds: Vec<u64>,
    all_hold: u64,
}

/// Draws `days` days.
pub(super) fn draw<M: Model>(
    model: &M,
    spreads: &[Ready],
    days: u64,
    seed: u64,
    meter: &Meter<'_>,
) -> Result<Tally, Halted> {
    let steps = model.steps();
    let mut tally = Tally {
        days: 0,
        unsolved: 0,
        values: steps.iter().map(|step| Counted::new(*step)).collect(),
        holds: vec![0; model.limits()],
        all_hold: 0,
    };
    let work = |chunk, days| worked(model, spreads, (seed, chunk, days), steps.len());
    in_chunks(days, meter, 1, work, |worked| tally.put(&worked))?;
    Ok(tally)
}

fn worked<M: Model>(
    model: &M,
    spreads: &[Ready],
    (seed, chunk, days): (u64, u64, u64),
    measures: usize,
) -> Worked {
    let mut evenly = Evenly::new(seed, For::Days, chunk);
    let mut kept = model.start();
    let mut drawn = vec![0.0; spreads.len()];
    let mut measured = vec![0.0; measures];
    let mut holds = vec![false; model.limits()];
    let mut worked = Worked {
        days,
        unsolved: 0,
        values: Vec::with_capacity(days as usize * measures),
        moments: vec![Moments::default(); measures],
        holds: vec![0; holds.len()],
        all_hold: 0,
    };
    for _ in 0..days {
        evenly.values(spreads, &mut drawn);
        if !model.day(&mut kept, &drawn, &mut measured, &mut holds) {
            worked.unsolved += 1;
            continue;
        }
        for (moments, value) in worked.moments.iter_mut().zip(&measured) {
            moments.add(*value);
        }
        worked.values.extend_from_slice(&measured);
        for (count, held) in worked.holds.iter_mut().zip(&holds) {
            *count += u64::from(*held);
        }
        worked.all_hold += u64::from(holds.iter().all(|held| *held));
    }
    worked
}

impl Tally {
    fn put(&mut self, worked: &Worked) {
        self.days += worked.days;
        self.unsolved += worked.unsolved;
        self.all_hold += worked.all_hold;
        for (all, more) in self.holds.iter_mut().zip(&worked.holds) {
            *all += more;
        }
        for (counted, moments) in self.values.iter_mut().zip(&worked.moments) {
            counted.moments.merge(moments);
        }
        for day in worked.values.chunks(self.values.len().max(1)) {
            for (counted, value) in self.values.iter_mut().zip(day) {
                counted.count(*value);
            }
        }
    }
}
