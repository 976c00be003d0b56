//! How much of a value's variance each doubtful thing brings: first-order and total
//! indices.
//!
//! Saltelli's sampling: two rows A and B of draws, and for each doubtful thing A with its
//! value taken from B. Jansen's estimators: total T = mean((f(A) - f(AB))^2) / 2V,
//! first-order S = 1 - mean((f(B) - f(AB))^2) / 2V, V the variance over both rows. The
//! intervals are asymptotic (delta method), from sums over the rows.

use super::days::{Evenly, For, Halted, Meter, Model, in_chunks};
use super::model::Spread;
use super::spread::Ready;
use super::tally::Z95;
use crate::choose::Quiet;

/// Indices of one doubtful thing for one value, each with half of its 95 % interval. An
/// estimate can lie a little outside 0 and 1.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Index {
    /// Share of the variance that it brings by itself.
    pub first: (f64, f64),
    /// Share of the variance that is gone only when it is known.
    pub total: (f64, f64),
}

/// The indices of each of `spreads` for the value `model` gives, from `base` rows, which
/// take `base` times (2 + spreads) values of the model. Empty when the value never
/// changes or a row is no number.
///
/// ```
/// use study::doubt::{Spread, indices};
/// // Of x + 2 y the second brings four fifths, and nothing comes of both together.
/// let even = [Spread::Even(0.0, 1.0), Spread::Even(0.0, 1.0)];
/// let found = indices(|x| x[0] + 2.0 * x[1], &even, 2000, 1);
/// assert!((found[1].first.0 - 0.8).abs() < found[1].first.1 + 0.03);
/// assert!((found[0].total.0 - 0.2).abs() < found[0].total.1 + 0.03);
/// ```
pub fn indices(
    model: impl Fn(&[f64]) -> f64 + Sync,
    spreads: &[Spread],
    base: u64,
    seed: u64,
) -> Vec<Index> {
    let ready: Vec<Ready> = spreads.iter().map(|s| Ready::new(*s)).collect();
    let meter = Meter::new(&Quiet, base);
    let found = shares(&Plain(model), &ready, base, seed, &meter);
    found.ok().and_then(|mut all| all.pop()).unwrap_or_default()
}

/// A function as a model of one measure and no limits.
struct Plain<F>(F);

impl<F: Fn(&[f64]) -> f64 + Sync> Model for Plain<F> {
    type Kept = ();

    fn start(&self) {}

    fn steps(&self) -> Vec<f64> {
        vec![0.0]
    }

    fn limits(&self) -> usize {
        0
    }

    fn day(&self, (): &mut (), values: &[f64], measures: &mut [f64], _: &mut [bool]) -> bool {
        let value = (self.0)(values);
        measures.iter_mut().for_each(|m| *m = value);
        value.is_finite()
    }
}

/// Sums over the rows of one measure.
#[derive(Clone)]
struct Sums {
    rows: f64,
    /// Of s, half of A and B, and q, half of their squares, all less the middle value:
    /// s, q, s s, s q, q q.
    both: [f64; 5],
    /// For each doubtful thing of d, half of the square of a difference: d, d d, d s,
    /// d q; first for B less AB, then for A less AB.
    each: Vec<[[f64; 4]; 2]>,
}

impl Sums {
    fn new(things: usize) -> Self {
        Sums {
            rows: 0.0,
            both: [0.0; 5],
            each: vec![[[0.0; 4]; 2]; things],
        }
    }

    fn row(&mut self, a: f64, b: f64, mixed: impl Iterator<Item = f64>) {
        let (s, q) = (0.5 * (a + b), 0.5 * (a * a + b * b));
        self.rows += 1.0;
        add(&mut self.both, [s, q, s * s, s * q, q * q]);
        for (each, ab) in self.each.iter_mut().zip(mixed) {
            for (sums, off) in each.iter_mut().zip([b - ab, a - ab]) {
                let d = 0.5 * off * off;
                add(sums, [d, d * d, d * s, d * q]);
            }
        }
    }

    fn merge(&mut self, other: &Sums) {
        self.rows += other.rows;
        add(&mut self.both, other.both);
        for (each, more) in self.each.iter_mut().zip(&other.each) {
            for (sums, more) in each.iter_mut().zip(more) {
                add(sums, *more);
            }
        }
    }

    /// The indices; empty when there is no variance to share out beside `size`, or none
    /// that makes a step of difference.
    fn indices(&self, size: f64, step: f64) -> Vec<Index> {
        let n = self.rows;
        let [s, q, ss, sq, qq] = self.both.map(|sum| sum / n);
        let variance = q - s * s;
        let nothing = 1e-18 * size * size + step * step + f64::MIN_POSITIVE;
        if n < 2.0 || variance.is_nan() || variance <= nothing {
            return Vec::new();
        }
        // The variance of u = q - 2 mean(s) s, by which V moves with a row.
        let uu = (qq - q * q) - 4.0 * s * (sq - s * q) + 4.0 * s * s * (ss - s * s);
        let ratio = |sums: &[f64; 4]| {
            let [d, dd, ds, dq] = sums.map(|sum| sum / n);
            let ratio = d / variance;
            let du = (dq - d * q) - 2.0 * s * (ds - d * s);
            let moved = (dd - d * d) - 2.0 * ratio * du + ratio * ratio * uu;
            (ratio, Z95 * (moved.max(0.0) / n).sqrt() / variance)
        };
        let index = |[by_itself, with_all]: &[[f64; 4]; 2]| {
            let (rest, half) = ratio(by_itself);
            Index {
                first: (1.0 - rest, half),
                total: ratio(with_all),
            }
        };
        self.each.iter().map(index).collect()
    }
}

fn add<const N: usize>(sums: &mut [f64; N], more: [f64; N]) {
    for (sum, more) in sums.iter_mut().zip(more) {
        *sum += more;
    }
}

/// Rows for the shares of `draws` days, with so many `things` doubtful: as many solutions
/// as for the days, from 512 to 8,192 rows.
pub(super) fn base_of(draws: u64, things: usize) -> u64 {
    match (draws, things) {
        (0, _) | (_, 0) => 0,
        (draws, things) => (draws / (things as u64 + 2)).clamp(512, 8192),
    }
}

/// Times that a line or a scene is solved for `draws` days with so many `things` doubtful:
/// once a day, and again to tell whose doubt it is.
///
/// ```
/// assert_eq!(study::doubt::solutions(10_000, 0), 10_000);
/// assert_eq!(study::doubt::solutions(10_000, 8), 20_000);
/// ```
pub fn solutions(draws: u64, things: usize) -> u64 {
    let rows = base_of(draws, things);
    draws.saturating_add(rows.saturating_mul(things as u64 + 2))
}

/// The indices of every spread for every measure of `model`.
pub(super) fn shares<M: Model>(
    model: &M,
    spreads: &[Ready],
    base: u64,
    seed: u64,
    meter: &Meter<'_>,
) -> Result<Vec<Vec<Index>>, Halted> {
    let things = spreads.len();
    let steps = model.steps();
    let measures = steps.len();
    let middle = middle(model, spreads, measures);
    let mut sums = vec![Sums::new(things); measures];
    let work = |chunk, rows| {
        let mut evenly = Evenly::new(seed, For::Shares, chunk);
        let mut rows_of = Rows::new(model, things, measures);
        let mut sums = vec![Sums::new(things); measures];
        for _ in 0..rows {
            evenly.values(spreads, &mut rows_of.a);
            evenly.values(spreads, &mut rows_of.b);
            rows_of.add(&middle, &mut sums);
        }
        sums
    };
    let put = |more: Vec<Sums>| {
        for (sums, more) in sums.iter_mut().zip(&more) {
            sums.merge(more);
        }
    };
    in_chunks(base, meter, things as u64 + 2, work, put)?;
    let found = sums.iter().zip(middle.iter().zip(&steps));
    let found = found.map(|(sums, (size, step))| sums.indices(*size, *step));
    Ok(found.collect())
}

/// The measures with everything at its middle.
fn middle<M: Model>(model: &M, spreads: &[Ready], measures: usize) -> Vec<f64> {
    let values: Vec<f64> = spreads.iter().map(|s| s.at(0.5)).collect();
    let mut measured = vec![0.0; measures];
    let mut holds = vec![false; model.limits()];
    model.day(&mut model.start(), &values, &mut measured, &mut holds);
    let finite = measured
        .into_iter()
        .map(|m| if m.is_finite() { m } else { 0.0 });
    finite.collect()
}

/// A row A, a row B, and what they give.
struct Rows<'m, M: Model> {
    model: &'m M,
    kept: M::Kept,
    a: Vec<f64>,
    b: Vec<f64>,
    mixed: Vec<f64>,
    /// Measures of A, of B, and of each AB, one after the other.
    measured: Vec<f64>,
    holds: Vec<bool>,
}

impl<'m, M: Model> Rows<'m, M> {
    fn new(model: &'m M, things: usize, measures: usize) -> Self {
        Rows {
            model,
            kept: model.start(),
            a: vec![0.0; things],
            b: vec![0.0; things],
            mixed: vec![0.0; things],
            measured: vec![0.0; measures * (things + 2)],
            holds: vec![false; model.limits()],
        }
    }

    /// Adds this row; one with a day that has no answer is left out.
    fn add(&mut self, middle: &[f64], sums: &mut [Sums]) {
        let measures = middle.len();
        if measures == 0 {
            return;
        }
        for (which, into) in self.measured.chunks_mut(measures).enumerate() {
            let values: &[f64] = match which {
                0 => &self.a,
                1 => &self.b,
                mixed => {
                    self.mixed.copy_from_slice(&self.a);
                    if let (Some(to), Some(from)) =
                        (self.mixed.get_mut(mixed - 2), self.b.get(mixed - 2))
                    {
                        *to = *from;
                    }
                    &self.mixed
                }
            };
            if !self
                .model
                .day(&mut self.kept, values, into, &mut self.holds)
            {
                return;
            }
        }
        for (at, (sums, middle)) in sums.iter_mut().zip(middle).enumerate() {
            let mut values = self.measured.iter().skip(at).step_by(measures);
            let mut next = || values.next().copied().unwrap_or_default() - middle;
            let (a, b) = (next(), next());
            let mixed = values.map(|value| value - middle);
            sums.row(a, b, mixed);
        }
    }
}
