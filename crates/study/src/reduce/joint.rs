//! Several tests of one day, fitted together: their gauges are the same, and off by the
//! same in all of them.
//!
//! Unknown are the parameters of every test and, for every gauge whose accuracy is
//! told, what it is off by, held near nought by one more row: off / accuracy. A gauge
//! that is suspected has an error besides, which nothing holds.

use super::fit::{Fit, fit_straight};
use super::gauge::{Column, Gauge};
use super::law::{Law, Reading};
use super::model::{FitError, Model, Sigmas};
use super::part::{Error, Part, part};
use super::spread::Parts;
use super::task::Task;

/// How a gauge may be off.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum GaugeError {
    /// By the same everywhere.
    Offset,
    /// By the same share of the reading.
    Share,
}

/// An error of one gauge that nothing holds.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Free {
    pub gauge: String,
    pub error: GaugeError,
    /// The size of one unit of its parameter.
    pub unit: f64,
}

/// The tests of a day.
#[derive(Clone)]
pub(super) struct Joint<'a> {
    parts: Vec<Part<'a>>,
    /// Gauges whose accuracy is told; each has a parameter after those of the tests.
    held: Vec<String>,
    free: Vec<Free>,
    /// What the gauges are off by as far as is known, those held and then those free.
    errors: Vec<f64>,
}

/// What the tests say together.
pub(super) struct Together {
    /// The fit; its last parameters are those of the free errors.
    pub fit: Fit,
    /// Twice the logarithm by which this explanation is less likely, up to a constant: the
    /// sum of squares, and what larger swings cost.
    pub deviance: f64,
}

/// For gauges the step of a slope, in their units, and for other parameters their share.
const STEP: (f64, f64) = (0.01, 1e-5);

/// How loosely a free error is held, in its units: not at all, but for one that the tests
/// say nothing of, which else would have no end.
const LOOSE: f64 = 1e3;

/// By how much less the sum of squares may fall at the last step of a fit.
const NOTHING: f64 = 1e-5;

/// Turns of fit and swing.
const TURNS: usize = 4;

impl<'a> Joint<'a> {
    /// The day of `tests`; a test that cannot be reduced by itself takes no part.
    pub fn of(tests: &[(&'a dyn Law, &'a [Reading])]) -> Self {
        let mut parts: Vec<Part> = Vec::new();
        let mut first = 0;
        for (law, readings) in tests {
            if let Some(mut part) = part(*law, readings) {
                part.first = first;
                first += part.parameters.len();
                parts.push(part);
            }
        }
        let told = |gauge: &Gauge| gauge.accuracy > 0.0 || gauge.accuracy_share > 0.0;
        let held = named(&parts, told);
        Joint {
            parts,
            errors: vec![0.0; held.len()],
            held,
            free: Vec::new(),
        }
        .linked()
    }

    /// Gauges that may be wrong: those held to their accuracy.
    pub fn gauges(&self) -> Vec<String> {
        self.held.clone()
    }

    /// The same with one more error free.
    pub fn with(&self, free: &Free) -> Self {
        let mut joint = self.clone();
        let mut begin = 0.0;
        if let Some(at) = joint.held.iter().position(|gauge| *gauge == free.gauge) {
            joint.held.remove(at);
            begin = joint.errors.remove(at) * self.accuracy(free) / free.unit;
        }
        joint.errors.push(begin);
        joint.free.push(free.clone());
        joint.linked()
    }

    /// The errors that are free.
    pub fn freed(&self) -> &[Free] {
        &self.free
    }

    /// The error of this gauge that is the plain one: a needle is bent and reads as much
    /// too high everywhere; a flow meter's wheel turns too slowly, by a share. Common
    /// practice, no source.
    pub fn plain(&self, gauge: &str) -> GaugeError {
        let mut columns = self.parts.iter().flat_map(|part| part.law.columns());
        match columns.any(|column| column.gauge.name == gauge && column.is_flow()) {
            true => GaugeError::Share,
            false => GaugeError::Offset,
        }
    }

    /// Is the swing of any test found from its readings?
    pub fn finds_swing(&self) -> bool {
        self.parts.iter().any(|part| part.wants_swing)
    }

    /// The error `error` of `gauge`, its unit of the size of what it may be off by;
    /// none where nothing was read from it.
    pub fn free(&self, gauge: &str, error: GaugeError) -> Option<Free> {
        let sizes = self.read(gauge);
        let root = |sum: f64| (sum / sizes.len() as f64).sqrt();
        let mean = root(sizes.iter().map(|(_, value)| value * value).sum());
        let may = root(
            sizes
                .iter()
                .map(|(g, v)| g.random().hypot(g.shared(*v)).powi(2))
                .sum(),
        );
        let unit = may.max(1e-4 * mean);
        let unit = match error {
            GaugeError::Offset => unit,
            GaugeError::Share => unit / mean,
        };
        (unit > 0.0 && unit.is_finite()).then(|| Free {
            gauge: gauge.into(),
            error,
            unit,
        })
    }

    /// What a sound gauge's error of this kind may be: one standard uncertainty.
    pub fn accuracy(&self, free: &Free) -> f64 {
        let sizes = self.read(&free.gauge);
        let one = |(gauge, value): &(&Gauge, f64)| match free.error {
            GaugeError::Offset => gauge.shared(*value).powi(2),
            GaugeError::Share if *value != 0.0 => (gauge.shared(*value) / value).powi(2),
            GaugeError::Share => 0.0,
        };
        (sizes.iter().map(one).sum::<f64>() / sizes.len() as f64).sqrt()
    }

    /// All that was read from `gauge`.
    fn read(&self, gauge: &str) -> Vec<(&Gauge, f64)> {
        let read = self.parts.iter().flat_map(Part::read);
        read.filter(|(of, _)| of.name == gauge).collect()
    }

    /// The fit of all, the swing of each test found on the way.
    pub fn settle(&mut self) -> Result<Together, FitError> {
        let mut together = self.fit()?;
        for _ in 0..TURNS {
            let mut at = 0;
            let mut moved = false;
            for part in &mut self.parts {
                let end = at + part.rows.len();
                let residuals = together.fit.residuals.get(at..end).unwrap_or_default();
                at = end;
                let own = part.first..part.first + part.parameters.len();
                if let Some(own) = together.fit.parameters.get(own) {
                    part.parameters = own.to_vec();
                }
                let swing = part.swing_by(residuals);
                moved |= (swing - part.swing).abs() > 1e-3 * part.swing.max(swing);
                part.swing = swing;
            }
            if !moved {
                break;
            }
            together = self.fit()?;
        }
        let errors = together.fit.parameters.get(self.own()..);
        self.errors = errors.unwrap_or_default().to_vec();
        Ok(together)
    }

    /// What one step from here makes of the error that was freed last, and its standard
    /// uncertainty; by the swings as they are.
    pub fn glimpse(&self) -> Option<[f64; 2]> {
        let (rows, sigmas) = self.rows();
        let task = self.task(&rows, sigmas);
        let parts = Parts::of(task.weighted_slopes(&task.start), &self.names()).ok()?;
        let step = parts.step(&task.weighted(&task.start));
        let unit = self.free.last()?.unit;
        let value = task.start.last()? + step.iter().next_back()?;
        let variance = *parts.covariance().iter().next_back()?;
        Some([value * unit, variance.sqrt() * unit])
    }

    /// The fit of all by the swings as they are.
    fn fit(&self) -> Result<Together, FitError> {
        let (rows, sigmas) = self.rows();
        let cost: f64 = sigmas.iter().map(|sigma| 2.0 * sigma.ln()).sum();
        let fit = fit_straight(self.task(&rows, sigmas), NOTHING)?;
        Ok(Together {
            deviance: fit.sum_of_squares + cost,
            fit,
        })
    }

    /// The rows of all, and their sigmas.
    fn rows(&self) -> (Vec<Vec<f64>>, Vec<f64>) {
        let mut rows = Vec::new();
        let mut sigmas = Vec::new();
        for (which, part) in self.parts.iter().enumerate() {
            for (at, sigma) in part.sigmas.iter().enumerate() {
                rows.push(vec![which as f64, at as f64]);
                sigmas.push(sigma.hypot(part.swing));
            }
        }
        let held = self.held.iter().map(|_| 1.0);
        let loose = self.free.iter().map(|_| LOOSE);
        for (which, sigma) in held.chain(loose).enumerate() {
            rows.push(vec![self.parts.len() as f64, which as f64]);
            sigmas.push(sigma);
        }
        (rows, sigmas)
    }

    fn task<'t>(&'t self, rows: &'t [Vec<f64>], sigmas: Vec<f64>) -> Task<'t, Self> {
        let own = self.parts.iter().flat_map(|p| p.parameters.iter());
        let start = own.chain(&self.errors).copied().collect();
        let mut task = Task::new(self, rows, start).with_sigmas(Sigmas::Known(sigmas));
        // Errors are in units of what they may be; near nought they count as such.
        for scale in task.scales.iter_mut().skip(self.own()) {
            *scale = 1e6;
        }
        task
    }

    fn own(&self) -> usize {
        self.parts.iter().map(|part| part.parameters.len()).sum()
    }

    /// Tells every part which parameters its columns' errors have.
    fn linked(mut self) -> Self {
        let own = self.own();
        let of_free = own + self.held.len();
        let (held, free) = (&self.held, &self.free);
        for part in &mut self.parts {
            let errors = |column: &Column| {
                let name = &column.gauge.name;
                let held = held.iter().position(|gauge| gauge == name);
                let held = held.map(|at| (own + at, Error::Held));
                let free = free.iter().enumerate();
                let free = free.filter(|(_, free)| free.gauge == *name);
                let free = free.map(|(at, free)| match free.error {
                    GaugeError::Offset => (of_free + at, Error::Offset(free.unit)),
                    GaugeError::Share => (of_free + at, Error::Share(free.unit)),
                });
                held.into_iter().chain(free).collect()
            };
            part.errors = part.law.columns().iter().map(errors).collect();
        }
        self
    }
}

/// The gauges of which `wanted` holds, in the order in which they are met.
fn named(parts: &[Part], wanted: impl Fn(&Gauge) -> bool) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    let columns = parts.iter().flat_map(|part| part.law.columns());
    for gauge in columns.map(|column| &column.gauge) {
        if wanted(gauge) && !gauge.name.is_empty() && !names.contains(&gauge.name) {
            names.push(gauge.name.clone());
        }
    }
    names
}

impl Model for Joint<'_> {
    fn names(&self) -> Vec<String> {
        let mut names: Vec<String> = self.parts.iter().flat_map(|p| p.law.names()).collect();
        names.extend(self.held.iter().cloned());
        names.extend(self.free.iter().map(|free| free.gauge.clone()));
        names
    }

    /// `row` says which test and which of its readings; past the tests, which gauge.
    fn residual(&self, row: &[f64], p: &[f64]) -> f64 {
        let [which, at] = row else { return f64::NAN };
        let (which, at) = (*which as usize, *at as usize);
        let Some(part) = self.parts.get(which) else {
            return p.get(self.own() + at).copied().unwrap_or(f64::NAN);
        };
        let own = p.get(part.first..part.first + part.parameters.len());
        match (part.rows.get(at), own) {
            (Some(row), Some(own)) => part.law.residual(&part.righted(at, row, p), own),
            _ => f64::NAN,
        }
    }

    /// A test has nothing to do with the parameters of the others.
    fn slopes(&self, row: &[f64], p: &[f64]) -> Option<Vec<f64>> {
        let which = *row.first()? as usize;
        let Some(part) = self.parts.get(which) else {
            let at = self.own() + *row.get(1)? as usize;
            return Some((0..p.len()).map(|p| f64::from(u8::from(p == at))).collect());
        };
        let mut shifted = p.to_vec();
        let own = self.own();
        let mut slope = |at: usize| {
            let here = p.get(at).copied().unwrap_or(f64::NAN);
            let step = if at < own {
                STEP.1 * here.abs()
            } else {
                STEP.0
            };
            let mut off = |by: f64| {
                if let Some(place) = shifted.get_mut(at) {
                    *place = here + by;
                }
                self.residual(row, &shifted)
            };
            let slope = (off(step) - off(-step)) / (2.0 * step);
            if let Some(place) = shifted.get_mut(at) {
                *place = here;
            }
            slope
        };
        let mut slopes = vec![0.0; p.len()];
        for at in part.concerns() {
            if let Some(place) = slopes.get_mut(at) {
                *place = slope(at);
            }
        }
        Some(slopes)
    }
}
