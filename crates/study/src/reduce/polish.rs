//! Where the search for the least squares has stopped, a few Gauss-Newton steps
//! take it to the last digits: a sum of squares is flat at its bottom, its slopes
//! are not.

use super::model::{FitError, Model};
use super::spread::Parts;
use super::task::Task;
use nalgebra::DVector;

/// Most steps.
const STEPS: usize = 60;

/// How often a step is halved.
const CUTS: i32 = 8;

/// Moves `p` on while steps grow shorter and the sum of squares does not rise.
/// True when the last step was nothing to the parameters.
///
/// # Errors
/// [`FitError::CannotTell`] where the readings do not tell a parameter.
pub(super) fn polish<M: Model>(
    task: &Task<M>,
    p: &mut DVector<f64>,
    names: &[String],
) -> Result<bool, FitError> {
    let mut before = f64::INFINITY;
    for _ in 0..STEPS {
        let residuals = task.weighted(p.as_slice());
        let step = Parts::of(task.weighted_slopes(p.as_slice()), names)?.step(&residuals);
        let share = share_of(&step, p, &task.scales);
        let next = &*p + &step;
        let after = task.weighted(next.as_slice()).norm();
        let holds = after <= residuals.norm() * (1.0 + 1e-9);
        if !share.is_finite() || !holds || share >= before {
            return Ok(before < 1e-8);
        }
        *p = next;
        if share < 1e-13 {
            return Ok(true);
        }
        before = share;
    }
    Ok(before < 1e-8)
}

/// Moves `p` to the bottom from a start that is not far off, every step cut short until
/// the sum of squares falls. True when it falls by less than `nothing`: a law may have a
/// corner there, where steps do not end.
///
/// # Errors
/// [`FitError::CannotTell`] where the readings do not tell a parameter.
pub(super) fn descend<M: Model>(
    task: &Task<M>,
    p: &mut DVector<f64>,
    names: &[String],
    nothing: f64,
) -> Result<bool, FitError> {
    for _ in 0..STEPS {
        let residuals = task.weighted(p.as_slice());
        let step = Parts::of(task.weighted_slopes(p.as_slice()), names)?.step(&residuals);
        let before = residuals.norm_squared();
        let cuts = (0..CUTS).map(|cut| &*p + &step * 0.5_f64.powi(cut));
        let mut cuts = cuts.map(|next| (task.weighted(next.as_slice()).norm_squared(), next));
        let Some((after, next)) = cuts.find(|(after, _)| *after <= before) else {
            return Ok(true);
        };
        *p = next;
        if before - after < nothing {
            return Ok(true);
        }
    }
    Ok(false)
}

/// The largest part of `step` as a share of its parameter.
fn share_of(step: &DVector<f64>, p: &DVector<f64>, scales: &[f64]) -> f64 {
    step.iter()
        .zip(p.iter())
        .zip(scales)
        .map(|((step, p), scale)| step.abs() / p.abs().max(1e-6 * scale))
        .fold(0.0, f64::max)
}
