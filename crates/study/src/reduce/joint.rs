//! Several tests of one day, fitted together: their gauges are the same, and off by the
//! same in all of them.
//!
//! Unknown are the parameters of every test and, for every gauge whose accuracy is
//! told, what it is off by, held near nought by one more row: off / accuracy. A gauge
//! that is suspected has an error besides, which nothing holds.

use super::both::sigma;
use super::fit::{Fit, fit};
use super::gauge::{Column, Gauge};
use super::law::{Law, Reading, check, random, start};
use super::model::{FitError, Model, Sigmas};
use super::swing::{fit_and_swing, swing_of};
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

/// One test of the day.
#[derive(Clone)]
struct Part<'a> {
    law: &'a dyn Law,
    rows: Vec<Vec<f64>>,
    /// The standard uncertainty of each row by its gauges.
    sigmas: Vec<f64>,
    /// What the rows scatter by on top.
    swing: f64,
    /// No gauge tells its swing: it is found.
    wants_swing: bool,
    /// Its parameters by itself.
    parameters: Vec<f64>,
    /// Where its parameters begin among all.
    first: usize,
}

/// The tests of a day.
#[derive(Clone)]
pub(super) struct Joint<'a> {
    parts: Vec<Part<'a>>,
    /// Gauges whose accuracy is told; each has a parameter after those of the tests.
    held: Vec<String>,
    free: Vec<Free>,
}

/// What the tests say together.
pub(super) struct Together {
    /// The fit; its last parameters are those of the free errors.
    pub fit: Fit,
    /// The sum of squares, gauges' rows and all.
    pub squares: f64,
}

/// For gauges the step of a slope, in their units, and for other parameters their share.
const STEP: (f64, f64) = (0.01, 1e-5);

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
            held,
            free: Vec::new(),
        }
    }

    /// Gauges that may be wrong: those not taken as exact.
    pub fn gauges(&self) -> Vec<String> {
        let may = |g: &Gauge| g.random() > 0.0 || g.accuracy > 0.0 || g.accuracy_share > 0.0;
        named(&self.parts, may)
    }

    /// The same with one more error free.
    pub fn with(&self, free: &Free) -> Self {
        let mut joint = self.clone();
        joint.held.retain(|gauge| *gauge != free.gauge);
        joint.free.push(free.clone());
        joint
    }

    /// The same with `free` in the place of the error freed last.
    pub fn instead(&self, free: &Free) -> Self {
        let mut joint = self.clone();
        if let Some(last) = joint.free.pop()
            && joint.is_held(&last.gauge)
            && !joint.held.contains(&last.gauge)
        {
            joint.held.push(last.gauge);
        }
        joint.with(free)
    }

    /// Is the accuracy of `gauge` told?
    fn is_held(&self, gauge: &str) -> bool {
        let told = |g: &Gauge| g.name == gauge && (g.accuracy > 0.0 || g.accuracy_share > 0.0);
        !named(&self.parts, told).is_empty()
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
        let mut all = Vec::new();
        for part in &self.parts {
            for row in &part.rows {
                for (at, (column, value)) in part.law.columns().iter().zip(row).enumerate() {
                    if column.gauge.name == gauge && !part.law.is_known(row, at) {
                        all.push((&column.gauge, *value));
                    }
                }
            }
        }
        all
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
                let swing = part.swing_by(residuals);
                moved |= (swing - part.swing).abs() > 1e-3 * part.swing.max(swing);
                part.swing = swing;
            }
            if !moved {
                break;
            }
            together = self.fit()?;
        }
        Ok(together)
    }

    /// The fit of all by the swings as they are.
    pub fn fit(&self) -> Result<Together, FitError> {
        let mut rows = Vec::new();
        let mut sigmas = Vec::new();
        for (which, part) in self.parts.iter().enumerate() {
            for (at, sigma) in part.sigmas.iter().enumerate() {
                rows.push(vec![which as f64, at as f64]);
                sigmas.push(sigma.hypot(part.swing));
            }
        }
        for which in 0..self.held.len() {
            rows.push(vec![self.parts.len() as f64, which as f64]);
            sigmas.push(1.0);
        }
        let mut start: Vec<f64> = self
            .parts
            .iter()
            .flat_map(|p| p.parameters.clone())
            .collect();
        start.resize(self.names().len(), 0.0);
        let mut task = Task::new(self, &rows, start).with_sigmas(Sigmas::Known(sigmas));
        // Errors are in units of what they may be; near nought they count as such.
        for scale in task.scales.iter_mut().skip(self.own()) {
            *scale = 1e6;
        }
        let fit = fit(task)?;
        Ok(Together {
            squares: fit.sum_of_squares,
            fit,
        })
    }

    fn own(&self) -> usize {
        self.parts.iter().map(|part| part.parameters.len()).sum()
    }

    /// A row of a test as it would be, were its gauges right.
    fn righted(&self, part: &Part, row: &[f64], p: &[f64]) -> Vec<f64> {
        let own = self.own();
        let parameter = |at: usize| p.get(own + at).copied().unwrap_or(f64::NAN);
        let right = |(at, (column, value)): (usize, (&Column, &f64))| {
            if part.law.is_known(row, at) {
                return *value;
            }
            let (mut off, mut share) = (0.0, 1.0);
            let name = &column.gauge.name;
            if let Some(held) = self.held.iter().position(|gauge| gauge == name) {
                off += parameter(held) * column.gauge.shared(*value);
            }
            for (which, free) in self.free.iter().enumerate() {
                if free.gauge == *name {
                    let by = parameter(self.held.len() + which) * free.unit;
                    match free.error {
                        GaugeError::Offset => off += by,
                        GaugeError::Share => share += by,
                    }
                }
            }
            (value - off) / share
        };
        let columns = part.law.columns().iter().zip(row).enumerate();
        columns.map(right).collect()
    }

    /// Does parameter `which` say anything of the test `part`?
    fn concerns(&self, part: &Part, which: usize) -> bool {
        let own = self.own();
        if which < own {
            return (part.first..part.first + part.parameters.len()).contains(&which);
        }
        let at = which - own;
        let gauge = self.held.get(at);
        let gauge = gauge.or_else(|| Some(&self.free.get(at.checked_sub(self.held.len())?)?.gauge));
        let mut columns = part.law.columns().iter();
        gauge.is_some_and(|gauge| columns.any(|column| column.gauge.name == *gauge))
    }
}

impl Part<'_> {
    /// The swing that `residuals` show; the tests by themselves make it too large where
    /// a gauge is wrong.
    fn swing_by(&self, residuals: &[f64]) -> f64 {
        let degrees = residuals.len().saturating_sub(self.parameters.len());
        if !self.wants_swing || degrees == 0 {
            return self.swing;
        }
        let both = self.sigmas.iter().zip(residuals);
        let squares: Vec<(f64, f64)> = both.map(|(s, r)| (s * s, r * r)).collect();
        let swing = swing_of(&squares, degrees as f64);
        match self.sigmas.iter().all(|sigma| *sigma > 0.0) {
            true => swing,
            // Nothing else tells these readings' sigma.
            false => swing.max(1e-6 * self.swing),
        }
    }
}

/// A test by itself.
fn part<'a>(law: &'a dyn Law, readings: &[Reading]) -> Option<Part<'a>> {
    check(&law, readings).ok()?;
    let rows: Vec<Vec<f64>> = readings.iter().map(|r| r.values.clone()).collect();
    let (parameters, swing) = match law.names().is_empty() {
        true => (Vec::new(), 0.0),
        false => {
            let swung = fit_and_swing(&law, &rows, start(&law, &rows).ok()?).ok()?;
            let alone = swung.fit.degrees > 0 || swung.swing > 0.0;
            let scatter = swung.fit.residuals.iter().map(|r| r * r).sum::<f64>();
            let scatter = (scatter / swung.fit.degrees as f64).sqrt();
            let swing = if swung.swing > 0.0 {
                swung.swing
            } else {
                scatter
            };
            (swung.fit.parameters, if alone { swing } else { 0.0 })
        }
    };
    let uncertain = random(&law, &rows);
    let sigmas: Vec<f64> = rows
        .iter()
        .zip(&uncertain)
        .map(|(row, uncertain)| sigma(&law, row, uncertain, &parameters))
        .collect();
    let told = law.columns().iter().any(|column| column.gauge.swing > 0.0);
    let blind = sigmas.iter().any(|sigma| *sigma <= 0.0);
    if rows.is_empty() || (blind && swing <= 0.0) {
        return None;
    }
    Some(Part {
        law,
        rows,
        sigmas,
        swing: if told && !blind { 0.0 } else { swing },
        wants_swing: !told || blind,
        parameters,
        first: 0,
    })
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
            (Some(row), Some(own)) => part.law.residual(&self.righted(part, row, p), own),
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
        let one = |at: usize| match self.concerns(part, at) {
            true => slope(at),
            false => 0.0,
        };
        Some((0..p.len()).map(one).collect())
    }
}
