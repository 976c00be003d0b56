//! Slopes of residuals in the parameters, by differences where a model gives none.

use super::model::Model;
use nalgebra::DMatrix;

/// Step as a share of a parameter. The five-point formula's error goes with its fourth
/// power, small even where a law turns within a hundredth of a parameter (NIST's
/// Eckerle4); rounding is then near 1e-12.
const STEP: f64 = 1e-4;

/// Least step, as a share of a parameter's scale: for a parameter near zero.
const LEAST: f64 = 1e-6;

/// The slope of each reading's residual in each parameter; not finite where the
/// model gives no number.
pub(super) fn slopes<M: Model>(
    model: &M,
    readings: &[Vec<f64>],
    p: &[f64],
    scales: &[f64],
) -> DMatrix<f64> {
    let mut table = DMatrix::zeros(readings.len(), p.len());
    for (row, reading) in readings.iter().enumerate() {
        let slopes = model
            .slopes(reading, p)
            .unwrap_or_else(|| by_differences(model, reading, p, scales));
        for (column, slope) in slopes.iter().take(p.len()).enumerate() {
            table[(row, column)] = *slope;
        }
    }
    table
}

fn by_differences<M: Model>(model: &M, reading: &[f64], p: &[f64], scales: &[f64]) -> Vec<f64> {
    let mut at = p.to_vec();
    (0..p.len())
        .map(|which| {
            let step = STEP * p[which].abs().max(LEAST * scales[which]);
            let mut shifted = |by: f64| {
                at[which] = p[which] + by * step;
                model.residual(reading, &at)
            };
            let near = shifted(1.0) - shifted(-1.0);
            let far = shifted(2.0) - shifted(-2.0);
            at[which] = p[which];
            (8.0 * near - far) / (12.0 * step)
        })
        .collect()
}
