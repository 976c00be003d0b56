//! Gauge errors in every column: each reading counts by its effective variance, the
//! sum over its columns of (slope of the residual times the column's uncertainty)^2.
//!
//! The slopes hang on the parameters; they are taken anew at every trial, so that the
//! fit is the least squares of residual / sigma(parameters). For a straight line that
//! is York's exact answer, where turns of fixed weights stop short of it.

use super::fit::{Fit, FitError, Model, Sigmas, Task, fit};
use super::gauge::Column;

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
    let rows: Vec<Vec<f64>> = readings
        .iter()
        .zip(uncertain)
        .map(|(reading, sigmas)| [reading.as_slice(), sigmas.as_slice()].concat())
        .collect();
    let both = Both { model };
    let counts = |row: &Vec<f64>| both.sigma(row, &start) > 0.0;
    if rows.len() < readings.len() || !rows.iter().all(counts) {
        return fit(Task::new(model, readings, start));
    }
    // No reading to spare: the gauges alone say how sure the parameters are.
    let sigmas = match rows.len() > start.len() {
        true => Sigmas::Unknown,
        false => Sigmas::Known(vec![1.0; rows.len()]),
    };
    let mut found = fit(Task::new(&both, &rows, start).with_sigmas(sigmas))?;
    let p = &found.parameters;
    found.residuals = readings.iter().map(|r| model.residual(r, p)).collect();
    Ok(found)
}

/// A model whose readings bring their uncertainties along: a row is the numbers, then
/// the standard uncertainty of each.
struct Both<'a, M> {
    model: &'a M,
}

impl<M: Model> Both<'_, M> {
    /// The standard uncertainty of the residual.
    fn sigma(&self, row: &[f64], p: &[f64]) -> f64 {
        let (reading, uncertain) = row.split_at(row.len() / 2);
        let mut at = reading.to_vec();
        let mut off = |column: usize, by: f64| {
            if let (Some(value), Some(read)) = (at.get_mut(column), reading.get(column)) {
                *value = read + by;
                let residual = self.model.residual(&at, p);
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
}

impl<M: Model> Model for Both<'_, M> {
    fn names(&self) -> Vec<String> {
        self.model.names()
    }

    fn residual(&self, row: &[f64], p: &[f64]) -> f64 {
        let (reading, _) = row.split_at(row.len() / 2);
        self.model.residual(reading, p) / self.sigma(row, p)
    }
}

/// The random uncertainty of every figure, by its gauge.
pub(super) fn uncertain(columns: &[Column], readings: usize) -> Vec<Vec<f64>> {
    let row: Vec<f64> = columns.iter().map(|column| column.gauge.random()).collect();
    vec![row; readings]
}

/// The readings with every column of the gauge `name` off by one shared standard
/// uncertainty.
pub(super) fn gauge_off(columns: &[Column], readings: &[Vec<f64>], name: &str) -> Vec<Vec<f64>> {
    let shift = |(column, value): (&Column, &f64)| match column.gauge.name == name {
        true => value + column.gauge.shared(*value),
        false => *value,
    };
    let row = |reading: &Vec<f64>| columns.iter().zip(reading).map(shift).collect();
    readings.iter().map(row).collect()
}
