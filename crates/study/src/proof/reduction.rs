//! One reduction of a test, and the slopes of its law.

use crate::reduce::{Column, Law, Reading, ReduceError, Reduced, reduce};

/// A law, its rows and what came out.
pub(super) struct Reduction {
    pub law: Box<dyn Law>,
    pub rows: Vec<Reading>,
    pub reduced: Reduced,
}

impl Reduction {
    /// Reduces `rows` by `law`.
    pub fn of(law: Box<dyn Law>, rows: Vec<Reading>) -> Result<Self, ReduceError> {
        let reduced = reduce(&law, &rows)?;
        Ok(Reduction { law, rows, reduced })
    }

    /// The parameters.
    pub fn parameters(&self) -> &[f64] {
        &self.reduced.fit.parameters
    }

    /// What the law expects at `row`, and what that may be off by at 95 %.
    pub fn expected(&self, row: &[f64]) -> (f64, f64) {
        let expected = self.reduced.expected(&self.law, row);
        (expected.value, expected.high - expected.value)
    }
}

/// The slope of minus the residual in each parameter, by differences.
pub(super) fn slopes(law: &dyn Law, row: &[f64], p: &[f64]) -> Vec<f64> {
    let one = |which: usize| {
        let shifted = |by: f64| {
            let mut at = p.to_vec();
            let step = at.get(which).map_or(0.0, |p| 1e-5 * p.abs().max(1e-9));
            if let Some(value) = at.get_mut(which) {
                *value += by * step;
            }
            (-law.residual(row, &at), step)
        };
        let ((up, step), (down, _)) = (shifted(1.0), shifted(-1.0));
        (up - down) / (2.0 * step)
    };
    (0..p.len()).map(one).collect()
}

/// What the residual of `row` may be off by from reading to reading.
pub(super) fn sigma(law: &dyn Law, row: &[f64], p: &[f64]) -> f64 {
    let one = |(at, column): (usize, &Column)| {
        let by = match law.is_known(row, at) {
            true => 0.0,
            false => column.gauge.random(),
        };
        by * column_slope(law, row, p, at, by.max(1e-9))
    };
    let squares = law.columns().iter().enumerate().map(one).map(|s| s * s);
    squares.sum::<f64>().sqrt()
}

/// The slope of the residual of `row` in its column `at`, by differences of `step`.
pub(super) fn column_slope(law: &dyn Law, row: &[f64], p: &[f64], at: usize, step: f64) -> f64 {
    let shifted = |by: f64| {
        let mut row = row.to_vec();
        if let Some(value) = row.get_mut(at) {
            *value += by;
        }
        law.residual(&row, p)
    };
    let slope = (shifted(step) - shifted(-step)) / (2.0 * step);
    match slope.is_finite() {
        true => slope,
        // Past the end of the law on one side.
        false => (shifted(step) - shifted(0.0)) / step,
    }
}
