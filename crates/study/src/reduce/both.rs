//! Gauge errors in every column: each reading counts by its effective variance, the
//! sum over its columns of (slope of the residual times the column's uncertainty)^2.
//!
//! The slopes hang on the parameters; they are taken anew at every trial, so that the
//! fit is the least squares of residual / sigma(parameters). For a straight line that
//! is York's exact answer, where turns of fixed weights stop short of it.

use super::fit::{Fit, fit, fit_near};
use super::model::{FitError, Model, Sigmas};
use super::task::Task;

/// The fit in which every column may be off by its standard uncertainty of `uncertain`,
/// a row for each reading. Where some reading has none at all, or `uncertain` has too
/// few rows, all readings count alike.
///
/// [`Fit::residuals`] are the model's, [`Fit::weighted`] those by their sigma.
///
/// # Errors
/// As [`fit()`].
pub fn fit_both<M: Model>(
    model: &M,
    readings: &[Vec<f64>],
    uncertain: &[Vec<f64>],
    start: Vec<f64>,
) -> Result<Fit, FitError> {
    both(model, readings, uncertain, start, 0.0, false)
}

/// The same from a start that is near, the residuals swinging by one standard deviation of
/// `swing` on top.
pub(super) fn fit_swinging<M: Model>(
    model: &M,
    readings: &[Vec<f64>],
    uncertain: &[Vec<f64>],
    start: Vec<f64>,
    swing: f64,
) -> Result<Fit, FitError> {
    both(model, readings, uncertain, start, swing, true)
}

fn both<M: Model>(
    model: &M,
    readings: &[Vec<f64>],
    uncertain: &[Vec<f64>],
    start: Vec<f64>,
    swing: f64,
    near: bool,
) -> Result<Fit, FitError> {
    let rows: Vec<Vec<f64>> = readings
        .iter()
        .zip(uncertain)
        .map(|(reading, sigmas)| [reading.as_slice(), sigmas.as_slice()].concat())
        .collect();
    let both = Both { model, swing };
    let counts = |row: &Vec<f64>| both.sigma(row, &start) > 0.0;
    if rows.len() < readings.len() || !rows.iter().all(counts) {
        return fit(Task::new(model, readings, start));
    }
    // No reading to spare: the gauges alone say how sure the parameters are.
    let sigmas = match rows.len() > start.len() {
        true => Sigmas::Unknown,
        false => Sigmas::Known(vec![1.0; rows.len()]),
    };
    let task = Task::new(&both, &rows, start).with_sigmas(sigmas);
    let mut found = if near { fit_near(task)? } else { fit(task)? };
    let p = &found.parameters;
    found.residuals = readings.iter().map(|r| model.residual(r, p)).collect();
    Ok(found)
}

/// A model whose readings bring their uncertainties along: a row is the numbers, then
/// the standard uncertainty of each.
struct Both<'a, M> {
    model: &'a M,
    swing: f64,
}

impl<M: Model> Both<'_, M> {
    /// The standard uncertainty of the residual.
    fn sigma(&self, row: &[f64], p: &[f64]) -> f64 {
        let (reading, uncertain) = row.split_at(row.len() / 2);
        self.swing.hypot(sigma(self.model, reading, uncertain, p))
    }
}

/// What the residual of `reading` may be off by, its columns being `uncertain`.
pub(super) fn sigma<M: Model>(model: &M, reading: &[f64], uncertain: &[f64], p: &[f64]) -> f64 {
    let mut at = reading.to_vec();
    let mut off = |column: usize, by: f64| {
        if let (Some(value), Some(read)) = (at.get_mut(column), reading.get(column)) {
            *value = read + by;
            let residual = model.residual(&at, p);
            at.clone_from_slice(reading);
            return residual;
        }
        f64::NAN
    };
    let squares = uncertain.iter().enumerate().map(|(column, by)| match *by {
        0.0 => 0.0,
        by => ((off(column, by) - off(column, -by)) / 2.0).powi(2),
    });
    squares.sum::<f64>().sqrt()
}

impl<M: Model> Model for Both<'_, M> {
    fn names(&self) -> Vec<String> {
        self.model.names()
    }

    fn residual(&self, row: &[f64], p: &[f64]) -> f64 {
        let (reading, _) = row.split_at(row.len() / 2);
        self.model.residual(reading, p) / self.sigma(row, p)
    }

    fn scale(&self, which: usize, start: f64) -> f64 {
        self.model.scale(which, start)
    }
}
