//! The needle's swing, where nobody told it: what the readings scatter by beyond the
//! gauges' resolution.
//!
//! Swing adds to every residual alike, while resolution counts by the slope of the law.
//! Blown up in proportion, the readings where resolution counts most would be mistrusted
//! for a swing that all share. So the swing is that which makes the sum of squares equal
//! to the degrees of freedom (R. C. Paule and J. Mandel, J. Res. NBS 87, 377, 1982; from
//! memory).

use super::both::{fit_both, fit_swinging, sigma};
use super::fit::Fit;
use super::law::{Law, gauges_tell, random};
use super::model::FitError;

/// Most turns of fit and swing.
const TURNS: usize = 20;

/// A fit, and the swing in the unit of the residual.
pub(super) struct Swung {
    /// The fit with the swing.
    pub fit: Fit,
    /// The fit by what the gauges tell.
    pub by_gauges: Fit,
    /// The swing, one standard deviation; nought where the gauges explain the scatter.
    pub swing: f64,
}

/// The fit of `law` with gauge errors in all columns, and with a swing where no gauge
/// tells any.
pub(super) fn fit_and_swing<L: Law>(
    law: &L,
    rows: &[Vec<f64>],
    start: Vec<f64>,
) -> Result<Swung, FitError> {
    let uncertain = random(law, rows);
    let by_gauges = fit_both(law, rows, &uncertain, start)?;
    let told = law.columns().iter().any(|c| c.gauge.swing > 0.0);
    let mut swung = Swung {
        fit: by_gauges.clone(),
        by_gauges,
        swing: 0.0,
    };
    let quiet = swung.fit.sum_of_squares <= swung.fit.degrees as f64;
    if told || quiet || !gauges_tell(law) {
        return Ok(swung);
    }
    for _ in 0..TURNS {
        let p = &swung.fit.parameters;
        let by_gauge = rows.iter().zip(&uncertain);
        let squares: Vec<(f64, f64)> = by_gauge
            .map(|(row, uncertain)| sigma(law, row, uncertain, p).powi(2))
            .zip(&swung.fit.residuals)
            .map(|(known, residual)| (known, residual * residual))
            .collect();
        let swing = swing_of(&squares, swung.fit.degrees as f64);
        let done = (swing - swung.swing).abs() <= 1e-8 * swing;
        swung.swing = swing;
        if done {
            break;
        }
        swung.fit = fit_swinging(law, rows, &uncertain, p.clone(), swing)?;
    }
    Ok(swung)
}

/// The swing for which squares of residuals by (known variance + swing^2) add up to
/// `degrees`; nought where they are less without any.
pub(super) fn swing_of(squares: &[(f64, f64)], degrees: f64) -> f64 {
    let sum = |swing: f64| {
        let part = |(known, residual): &(f64, f64)| residual / (known + swing * swing);
        squares.iter().map(part).sum::<f64>()
    };
    // With this swing the sum is at most the degrees.
    let all: f64 = squares.iter().map(|(_, residual)| residual).sum();
    let (mut low, mut high) = (0.0, (all / degrees).sqrt());
    if !(sum(0.0) > degrees && high.is_finite()) || all == 0.0 {
        return 0.0;
    }
    for _ in 0..80 {
        let middle = 0.5 * (low + high);
        if sum(middle) > degrees {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}
