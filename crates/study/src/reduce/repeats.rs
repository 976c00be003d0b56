//! Does the law fit, by readings that were repeated at the same point?
//!
//! The scatter of repeats is pure error; what the means of the points depart from the
//! law by beyond it is lack of fit. F test of the two (Draper and Smith, Applied
//! Regression Analysis, section 2.1; from memory).

use super::fit::Fit;
use super::law::Law;
use statrs::distribution::{ContinuousCDF, FisherSnedecor};
use std::collections::BTreeMap;

/// Which point each reading belongs to: readings whose set columns agree to the
/// resolution of their gauges are repeats of one point.
pub fn repeats<L: Law>(law: &L, readings: &[Vec<f64>]) -> Vec<usize> {
    let responses = law.responses();
    let same = |a: &[f64], b: &[f64]| {
        let columns = law.columns().iter().enumerate();
        let mut set = columns.filter(|(at, _)| !responses.contains(at));
        set.all(|(at, column)| match (a.get(at), b.get(at)) {
            (Some(a), Some(b)) => {
                let step = column.gauge.resolution;
                (a - b).abs() <= 1.001 * step + 1e-12 * a.abs()
            }
            _ => false,
        })
    };
    let mut points: Vec<&[f64]> = Vec::new();
    let mut of = Vec::new();
    for reading in readings {
        let known = points.iter().position(|point| same(point, reading));
        of.push(known.unwrap_or_else(|| {
            points.push(reading);
            points.len() - 1
        }));
    }
    of
}

/// How likely readings about a law that holds depart from it as far as those of `fit`,
/// by the scatter of repeats: below 5 % the law does not fit. `points` says which point
/// each reading belongs to, in the order of the readings. None where no reading was
/// repeated, or where no point is left to depart.
pub fn lack_of_fit(fit: &Fit, points: &[usize]) -> Option<f64> {
    if points.len() != fit.weighted.len() {
        return None;
    }
    let mut by_point: BTreeMap<usize, Vec<f64>> = BTreeMap::new();
    for (point, residual) in points.iter().zip(&fit.weighted) {
        by_point.entry(*point).or_default().push(*residual);
    }
    let mean = |of: &[f64]| of.iter().sum::<f64>() / of.len() as f64;
    let about = |of: &Vec<f64>| {
        let mean = mean(of);
        of.iter().map(|r| (r - mean).powi(2)).sum::<f64>()
    };
    let pure: f64 = by_point.values().map(about).sum();
    let pure_degrees = points.len() - by_point.len();
    let lack_degrees = by_point.len().checked_sub(fit.parameters.len())?;
    if pure_degrees == 0 || lack_degrees == 0 || pure <= 0.0 {
        return None;
    }
    let (pure_degrees, lack_degrees) = (pure_degrees as f64, lack_degrees as f64);
    let lack = (fit.sum_of_squares - pure).max(0.0);
    let ratio = (lack / lack_degrees) / (pure / pure_degrees);
    let f = FisherSnedecor::new(lack_degrees, pure_degrees).ok()?;
    Some(f.sf(ratio))
}
