//! Which gauge does not agree with the others of the day.
//!
//! Every test is taken straight near its fit: residuals = slopes in the law's
//! parameters + what each gauge is off by + what differs from reading to reading. The
//! parameters are free, each gauge is off by nought give or take its stated accuracy.
//! What is then left for one gauge alone, its own accuracy not used, is compared with
//! that accuracy: z = off / sqrt(variance of it + accuracy squared). Sound gauges give
//! z like a normal variable; the chance is that of the largest of so many.
//!
//! A pressure gauge is off by the same everywhere, a flow meter by a share. An error
//! that a law's parameter takes up leaves no trace: a flow meter's share goes into C and
//! K. A reading with the water shut off tells most: both gauges must then agree.

use super::figures::figure;
use super::found::Suspect;
use super::gauges::Corrected;
use super::reduction::{Reduction, column_slope, sigma, slopes};
use crate::reduce::coverage_factor;
use hydraulics::units::Kind;
use nalgebra::{DMatrix, DVector};
use statrs::distribution::{ContinuousCDF, Normal};

/// Chance below which a gauge is named.
const LEVEL: f64 = 0.01;

/// Gauges of which the readings make one this many times likelier than another are told
/// apart: twice the logarithm of 20.
const APART: f64 = 5.99;

/// Most gauges that are named one after another.
const MOST: usize = 3;

/// The day's tests, taken straight, the laws' parameters taken out.
pub(super) struct Straight {
    gauges: Vec<Known>,
    /// D'D over all tests, one row and column a gauge.
    squares: DMatrix<f64>,
    /// D'r over all tests.
    along: DVector<f64>,
}

/// A gauge of the book that was read on the day.
struct Known {
    name: String,
    /// Of a flow meter, what it is off by is a share of the reading.
    is_flow: bool,
    /// Its stated accuracy, one standard uncertainty: Pa, or a share.
    accuracy: f64,
    /// The mean of what it read.
    mean: f64,
}

/// What a gauge is off by, its own accuracy not used.
#[derive(Debug, Clone, Copy)]
struct Off {
    value: f64,
    variance: f64,
    z: f64,
}

impl Straight {
    /// Takes the reductions of a day straight.
    pub fn of(reductions: &[&Reduction]) -> Self {
        // A law with corners is straight on neither side of them, and its parameters
        // take up what a gauge is off by.
        let smooth = reductions.iter().filter(|r| !r.law.has_corners());
        let reductions: Vec<&Reduction> = smooth.copied().collect();
        let reductions = reductions.as_slice();
        let gauges = known(reductions);
        let count = gauges.len();
        let mut straight = Straight {
            squares: DMatrix::zeros(count, count),
            along: DVector::zeros(count),
            gauges,
        };
        for reduction in reductions {
            straight.add(reduction);
        }
        straight
    }

    fn add(&mut self, reduction: &Reduction) {
        let law = reduction.law.as_ref();
        let p = reduction.parameters();
        let scatter = reduction.reduced.fit.reduced_chi_square();
        let rows = &reduction.rows;
        let weight = |row: &[f64], weighted: f64, residual: f64| {
            // Where gauges tell nothing, the scatter about the law does.
            match sigma(law, row, p).hypot(reduction.reduced.swing) {
                s if s > 0.0 && s.is_finite() => 1.0 / s,
                _ if scatter > 0.0 && residual != 0.0 => {
                    (weighted / residual).abs() / scatter.sqrt()
                }
                _ => 0.0,
            }
        };
        let fit = &reduction.reduced.fit;
        let of_fit = fit.weighted.iter().zip(&fit.residuals);
        let weights: Vec<f64> = rows
            .iter()
            .zip(of_fit)
            .map(|(row, (weighted, residual))| weight(&row.values, *weighted, *residual))
            .collect();
        let mut j = DMatrix::zeros(rows.len(), p.len());
        let mut d = DMatrix::zeros(rows.len(), self.gauges.len());
        let mut r = DVector::zeros(rows.len());
        for (at, (row, w)) in rows.iter().zip(&weights).enumerate() {
            let values = &row.values;
            for (which, slope) in slopes(law, values, p).into_iter().enumerate() {
                j[(at, which)] = slope * w;
            }
            r[at] = law.residual(values, p) * w;
            for (column, what) in law.columns().iter().enumerate() {
                let Some(which) = self.gauges.iter().position(|g| g.name == what.gauge.name) else {
                    continue;
                };
                let value = values.get(column).copied().unwrap_or_default();
                let is_flow = self.gauges.get(which).is_some_and(|g| g.is_flow);
                let step = 1e-4 * value.abs().max(if is_flow { 1e-6 } else { 1e3 });
                let slope = column_slope(law, values, p, column, step);
                // The share is of what the law expects there: a share of the reading would
                // go with the reading's own scatter.
                let follows = law.responses().contains(&column) && slope != 0.0;
                let expected = match follows {
                    true => value - fit.residuals.get(at).copied().unwrap_or(0.0) / slope,
                    false => value,
                };
                let per = if is_flow { expected } else { 1.0 };
                d[(at, which)] += slope * per * w;
            }
        }
        if r.iter()
            .chain(j.iter())
            .chain(d.iter())
            .any(|v| !v.is_finite())
        {
            return;
        }
        for mut column in j.column_iter_mut() {
            let length = column.norm();
            if length > 0.0 {
                column /= length;
            }
        }
        let q = j.qr().q();
        let out = |m: &DMatrix<f64>| m - &q * (q.transpose() * m);
        let d = out(&d);
        self.along += d.transpose() * &r;
        self.squares += d.transpose() * &d;
    }

    /// What gauge `which` is off by, the gauges of `free` off by anything.
    fn off(&self, which: usize, free: &[usize]) -> Option<Off> {
        let mut normal = self.squares.clone();
        let mut accuracy = 0.0;
        for (at, gauge) in self.gauges.iter().enumerate() {
            let own = 1.0 / gauge.accuracy.powi(2);
            if at == which {
                accuracy = gauge.accuracy;
            }
            // A trace of it stays, so that what no reading tells has an answer.
            normal[(at, at)] += match at == which || free.contains(&at) {
                true => own * 1e-6,
                false => own,
            };
        }
        let inverse = normal.try_inverse()?;
        let value = (&inverse * &self.along)[which];
        let variance = inverse[(which, which)].max(0.0);
        let z = value / (variance + accuracy * accuracy).sqrt();
        z.is_finite().then_some(Off { value, variance, z })
    }

    /// The gauges that do not agree with the others, the surest first.
    pub fn suspects(&self) -> Vec<Suspect> {
        let mut found = Vec::new();
        let mut free: Vec<usize> = Vec::new();
        while found.len() < MOST {
            let all = (0..self.gauges.len()).filter(|at| !free.contains(at));
            let offs: Vec<(usize, Off)> = all
                .filter_map(|at| Some((at, self.off(at, &free)?)))
                .collect();
            let worst = offs
                .iter()
                .max_by(|a, b| a.1.z.abs().total_cmp(&b.1.z.abs()));
            let Some((worst, off)) = worst.copied() else {
                break;
            };
            let one = 2.0 * Normal::standard().sf(off.z.abs());
            let chance = (one * self.gauges.len() as f64).min(1.0);
            if chance >= LEVEL {
                break;
            }
            let near = |(_, other): &&(usize, Off)| other.z.powi(2) > off.z.powi(2) - APART;
            let mut any: Vec<(usize, Off)> = offs.iter().filter(near).copied().collect();
            any.sort_by(|a, b| b.1.z.abs().total_cmp(&a.1.z.abs()));
            found.push(self.suspect(&any, worst, off, chance));
            free.push(worst);
        }
        found
    }

    fn suspect(&self, any: &[(usize, Off)], worst: usize, off: Off, chance: f64) -> Suspect {
        let names = any.iter().filter_map(|(at, _)| self.gauges.get(*at));
        let gauges: Vec<String> = names.map(|g| g.name.clone()).collect();
        let half = coverage_factor(crate::reduce::LEVEL, f64::INFINITY) * off.variance.sqrt();
        let (kind, size) = match self.gauges.get(worst) {
            Some(gauge) if gauge.is_flow => (Kind::Flow, gauge.mean),
            _ => (Kind::Pressure, 1.0),
        };
        let shown = |v: f64| figure(kind, v * size);
        let direction = match off.value > 0.0 {
            true => "reads too high",
            false => "reads too low",
        };
        let words = match gauges.as_slice() {
            [one] => format!(
                "{one} {direction}: it does not agree with the other gauges of the day. What \
                 was read with it is not to be used before it has been calibrated, or corrected \
                 by what it is off"
            ),
            several => format!(
                "one of {} is off, and these readings do not tell which: with the water shut \
                 off, read them side by side with a third gauge",
                several.join(", ")
            ),
        };
        Suspect {
            gauges,
            off: [off.value, off.value - half, off.value + half].map(shown),
            chance,
            words,
        }
    }

    /// What each of `names` is off by, all of them off by anything.
    pub fn corrections(&self, names: &[String]) -> Vec<Corrected> {
        let at = |name: &String| self.gauges.iter().position(|g| g.name == *name);
        let free: Vec<usize> = names.iter().filter_map(at).collect();
        let correction = |at: &usize| {
            let off = self.off(*at, &free)?;
            let gauge = self.gauges.get(*at)?;
            // What readings do not tell cannot be corrected.
            (off.variance.sqrt() < 3.0 * gauge.accuracy).then(|| Corrected {
                gauge: gauge.name.clone(),
                off: off.value,
                standard: off.variance.sqrt(),
            })
        };
        free.iter().filter_map(correction).collect()
    }
}

/// The gauges whose accuracy is stated.
fn known(reductions: &[&Reduction]) -> Vec<Known> {
    let mut gauges: Vec<(Known, f64)> = Vec::new();
    for reduction in reductions {
        for (at, column) in reduction.law.columns().iter().enumerate() {
            let values = reduction.rows.iter().filter_map(|row| row.values.get(at));
            let (sum, count) = values.fold((0.0, 0.0), |(s, n), v| (s + v.abs(), n + 1.0));
            let name = &column.gauge.name;
            match gauges.iter_mut().find(|(known, _)| known.name == *name) {
                Some((known, n)) => {
                    known.mean += sum;
                    *n += count;
                }
                None => {
                    let is_flow = column.what == "flow";
                    let known = Known {
                        name: name.clone(),
                        is_flow,
                        accuracy: 0.0,
                        mean: sum,
                    };
                    gauges.push((known, count));
                }
            }
        }
    }
    let of = |reduction: &&Reduction, name: &str| {
        let columns = reduction.law.columns().iter();
        let mut columns = columns
            .filter(|c| c.gauge.name == name)
            .map(|c| c.gauge.clone());
        columns.next()
    };
    let finished = gauges.into_iter().filter_map(|(mut known, count)| {
        known.mean /= f64::max(count, 1.0);
        let gauge = reductions.iter().find_map(|r| of(r, &known.name))?;
        let shared = gauge.shared(known.mean);
        known.accuracy = match known.is_flow {
            true => shared / known.mean.max(1e-9),
            false => shared,
        };
        (known.accuracy > 0.0 && known.accuracy.is_finite()).then_some(known)
    });
    finished.collect()
}
