//! What makes the parameters of a fit uncertain, and what follows from them.

use super::budget::{Budget, Contribution, Kind};
use super::estimate::Estimate;
use super::fit::Fit;

/// What makes the parameters uncertain, beside the covariance of their fit.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Sources {
    /// Do the gauges tell how far a single reading may be off?
    pub gauges_tell: bool,
    /// Each gauge that may be off as a whole, and what the parameters would be were it
    /// off by its standard uncertainty.
    pub off: Vec<(String, Vec<f64>)>,
}

/// `value` of the parameters of `fit`, with its uncertainty.
pub(super) fn estimate(
    fit: &Fit,
    sources: &Sources,
    name: &str,
    value: impl Fn(&[f64]) -> f64,
) -> Estimate {
    let here = value(&fit.parameters);
    let slopes = slopes(fit, &value);
    let mut contributions = scatter(fit, sources.gauges_tell, &slopes);
    for (gauge, parameters) in &sources.off {
        contributions.push(Contribution {
            what: format!("accuracy of {gauge}"),
            kind: Kind::B,
            standard: (value(parameters) - here).abs(),
            degrees: f64::INFINITY,
        });
    }
    Estimate::of(name, here, Budget { contributions })
}

/// The slope of `value` in each parameter, by differences of a hundredth of what the
/// parameter may be off by.
fn slopes(fit: &Fit, value: &impl Fn(&[f64]) -> f64) -> Vec<f64> {
    let mut at = fit.parameters.clone();
    let spread = fit.standard_errors();
    let one = |(which, (p, spread)): (usize, (&f64, &f64))| {
        let step = (0.01 * spread).max(1e-7 * p.abs()).max(1e-300);
        let mut shifted = |by: f64| {
            if let Some(place) = at.get_mut(which) {
                *place = p + by;
            }
            let shifted = value(&at);
            if let Some(place) = at.get_mut(which) {
                *place = *p;
            }
            shifted
        };
        (shifted(step) - shifted(-step)) / (2.0 * step)
    };
    let both = fit.parameters.iter().zip(&spread).enumerate();
    both.map(one).collect()
}

/// What the readings' scatter makes of a value with these slopes; where they scatter less
/// than the gauges' own resolution and swing allow, that stays as a contribution.
fn scatter(fit: &Fit, known: bool, slopes: &[f64]) -> Vec<Contribution> {
    let less = match (known, fit.degrees) {
        (true, 0) => 1.0,
        (true, _) => (1.0 - fit.reduced_chi_square()).max(0.0).sqrt(),
        (false, _) => 0.0,
    };
    let a = (fit.degrees > 0).then(|| Contribution {
        what: "scatter of the readings".into(),
        kind: Kind::A,
        standard: spread(&fit.covariance, slopes),
        degrees: fit.degrees as f64,
    });
    let b = (less > 0.0).then(|| Contribution {
        what: "resolution and swing of the gauges".into(),
        kind: Kind::B,
        standard: less * spread(&fit.unit_covariance, slopes),
        degrees: f64::INFINITY,
    });
    a.into_iter().chain(b).collect()
}

/// The standard uncertainty of a value with these slopes.
fn spread(covariance: &[Vec<f64>], slopes: &[f64]) -> f64 {
    let row = |(row, slope): (&Vec<f64>, &f64)| {
        let along = row.iter().zip(slopes).map(|(c, s)| c * s);
        slope * along.sum::<f64>()
    };
    let square: f64 = covariance.iter().zip(slopes).map(row).sum();
    square.max(0.0).sqrt()
}
