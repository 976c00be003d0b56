//! One reduction of a test, and what follows from it: the band of its curve, what each
//! gauge moves.

use crate::reduce::{Column, Law, Reading, ReduceError, Reduced, coverage_factor, reduce, LEVEL};

/// A law, its rows and what came out.
pub(super) struct Reduction {
    pub law: Box<dyn Law>,
    pub rows: Vec<Reading>,
    pub reduced: Reduced,
    /// How far one standard uncertainty of each gauge moves the parameters.
    pub moved: Vec<Vec<f64>>,
}

impl Reduction {
    /// Reduces `rows` by `law`.
    pub fn of(law: Box<dyn Law>, rows: Vec<Reading>) -> Result<Self, ReduceError> {
        let reduced = reduce(&law, &rows)?;
        let mut moved = Vec::new();
        for gauge in gauges(law.columns()) {
            let off = shifted(law.columns(), &rows, &gauge);
            if off != rows
                && let Ok(after) = reduce(&law, &off)
            {
                let by = after.fit.parameters.iter().zip(&reduced.fit.parameters);
                moved.push(by.map(|(after, before)| after - before).collect());
            }
        }
        Ok(Reduction {
            law,
            rows,
            reduced,
            moved,
        })
    }

    /// The parameters.
    pub fn parameters(&self) -> &[f64] {
        &self.reduced.fit.parameters
    }

    /// What the law expects where its response is nought in `row`, and what that may be
    /// off by at 95 %.
    pub fn expected(&self, row: &[f64]) -> (f64, f64) {
        let p = self.parameters();
        let at = |p: &[f64]| -self.law.residual(row, p);
        let slopes = self.slopes(row);
        let gauges = self.moved.iter().map(|by| dot(&slopes, by).powi(2));
        let covariance = &self.reduced.fit.covariance;
        let fit: f64 = covariance
            .iter()
            .zip(&slopes)
            .map(|(row, a)| a * dot(row, &slopes))
            .sum();
        let standard = (fit.max(0.0) + gauges.sum::<f64>()).sqrt();
        let degrees = self.reduced.estimates.iter().map(|e| e.degrees);
        let degrees = degrees.fold(f64::INFINITY, f64::min).max(1.0);
        (at(p), coverage_factor(LEVEL, degrees) * standard)
    }

    /// The slope of what is expected in each parameter.
    pub fn slopes(&self, row: &[f64]) -> Vec<f64> {
        slopes(self.law.as_ref(), row, self.parameters())
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

pub(super) fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// The gauges of `columns`, each once.
pub(super) fn gauges(columns: &[Column]) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for column in columns {
        if !names.contains(&column.gauge.name) {
            names.push(column.gauge.name.clone());
        }
    }
    names
}

/// The rows with every figure of `gauge` off by one shared standard uncertainty.
fn shifted(columns: &[Column], rows: &[Reading], gauge: &str) -> Vec<Reading> {
    let shift = |(column, value): (&Column, &f64)| match column.gauge.name == gauge {
        true => value + column.gauge.shared(*value),
        false => *value,
    };
    let row = |reading: &Reading| Reading {
        name: reading.name.clone(),
        values: columns.iter().zip(&reading.values).map(shift).collect(),
    };
    rows.iter().map(row).collect()
}

/// What the residual of `row` may be off by from reading to reading.
pub(super) fn sigma(law: &dyn Law, row: &[f64], p: &[f64]) -> f64 {
    let one = |(at, column): (usize, &Column)| {
        let by = column.gauge.random();
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
