//! One test among those of a day.

use super::both::sigma;
use super::gauge::Gauge;
use super::law::{Law, Reading, check, random, start};
use super::swing::{fit_and_swing, swing_of};

/// One test of the day.
#[derive(Clone)]
pub(super) struct Part<'a> {
    pub law: &'a dyn Law,
    pub rows: Vec<Vec<f64>>,
    /// The standard uncertainty of each row by its gauges.
    pub sigmas: Vec<f64>,
    /// What the rows scatter by on top.
    pub swing: f64,
    /// No gauge tells its swing: it is found.
    pub wants_swing: bool,
    /// Its parameters by itself.
    pub parameters: Vec<f64>,
    /// Where its parameters begin among all.
    pub first: usize,
    /// For each figure of each row: is it known without its gauge?
    known: Vec<Vec<bool>>,
    /// For each figure of each row: what the test by itself expects its gauge to read. What
    /// a gauge is off by is a share of that: a share of what was read would go with its
    /// scatter, and the scatter grow less the more a gauge were said to read too high.
    expected: Vec<Vec<f64>>,
    /// For each column the errors of its gauge, by the place of their parameter.
    pub errors: Vec<Vec<(usize, Error)>>,
}

/// The step of a slope, as a share of a figure.
const STEP: f64 = 1e-4;

/// How a parameter moves a figure.
#[derive(Debug, Clone, Copy)]
pub(super) enum Error {
    /// In units of the gauge's accuracy.
    Held,
    /// By so much for one.
    Offset(f64),
    /// By such a share for one.
    Share(f64),
}

impl Part<'_> {
    /// Every figure that was read, with its gauge.
    pub(super) fn read(&self) -> impl Iterator<Item = (&Gauge, f64)> {
        let rows = self.rows.iter().zip(&self.known);
        rows.flat_map(|(row, known)| {
            let figures = self.law.columns().iter().zip(row).zip(known);
            let read = figures.filter(|(_, known)| !**known);
            read.map(|((column, value), _)| (&column.gauge, *value))
        })
    }

    /// The places of the parameters that move its residuals.
    pub(super) fn concerns(&self) -> Vec<usize> {
        let own = self.first..self.first + self.parameters.len();
        let mut all: Vec<usize> = self.errors.iter().flatten().map(|(at, _)| *at).collect();
        all.sort_unstable();
        all.dedup();
        own.chain(all).collect()
    }

    /// Row `at` as it would be, were its gauges right by the parameters `p` of all.
    pub(super) fn righted(&self, at: usize, row: &[f64], p: &[f64]) -> Vec<f64> {
        let mut righted = row.to_vec();
        let known = self.known.get(at).map(Vec::as_slice).unwrap_or_default();
        let expected = self.expected.get(at).map(Vec::as_slice).unwrap_or_default();
        let columns = self.law.columns().iter().zip(&self.errors);
        let columns = columns.zip(known).zip(expected);
        for (value, (((column, errors), known), expected)) in righted.iter_mut().zip(columns) {
            if *known {
                continue;
            }
            for (parameter, error) in errors {
                let by = p.get(*parameter).copied().unwrap_or(f64::NAN);
                *value -= match error {
                    Error::Held => by * column.gauge.shared(*expected),
                    Error::Offset(unit) => by * unit,
                    Error::Share(unit) => expected * by * unit,
                };
            }
        }
        righted
    }

    /// The swing that `residuals` show; the tests by themselves make it too large where
    /// a gauge is wrong.
    pub(super) fn swing_by(&self, residuals: &[f64]) -> f64 {
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
pub(super) fn part<'a>(law: &'a dyn Law, readings: &[Reading]) -> Option<Part<'a>> {
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
    let columns = law.columns().len();
    let known = |row: &Vec<f64>| (0..columns).map(|at| law.is_known(row, at)).collect();
    Some(Part {
        known: rows.iter().map(known).collect(),
        expected: rows
            .iter()
            .map(|row| expected(law, row, &parameters))
            .collect(),
        errors: vec![Vec::new(); columns],
        law,
        rows,
        sigmas,
        swing: if told && !blind { 0.0 } else { swing },
        wants_swing: !told || blind,
        parameters,
        first: 0,
    })
}

/// What the gauges of `row` were to read by the law, each by itself.
fn expected(law: &dyn Law, row: &[f64], p: &[f64]) -> Vec<f64> {
    let (residual, responses) = (law.residual(row, p), law.responses());
    let one = |(at, value): (usize, &f64)| {
        let step = STEP * value.abs();
        let mut off = row.to_vec();
        if let Some(value) = off.get_mut(at) {
            *value += step;
        }
        let slope = (law.residual(&off, p) - residual) / step;
        let by_law = value - residual / slope;
        match responses.contains(&at) && by_law.is_finite() {
            true => by_law,
            false => *value,
        }
    };
    row.iter().enumerate().map(one).collect()
}
