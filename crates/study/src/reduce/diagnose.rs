//! Which reading does not belong, and whether the law fits at all.

use super::fit::Fit;
use statrs::distribution::{ChiSquared, ContinuousCDF, StudentsT};

/// A reading as the fit of the others sees it.
#[derive(Debug, Clone, PartialEq)]
pub struct Diagnosis {
    /// Which reading.
    pub reading: String,
    /// Measured minus expected, in the unit of the residual.
    pub residual: f64,
    /// The same in standard deviations, those of the fit without it (externally
    /// studentised); not a number where too few others are left.
    pub studentised: f64,
    /// How likely the worst of so many sound readings is this far off (Bonferroni),
    /// at most 1.
    pub chance: f64,
}

impl Diagnosis {
    /// Does it stand out at 5 %? Look for its cause before it is left out.
    pub fn stands_out(&self) -> bool {
        self.chance < 0.05
    }
}

/// Each reading of `fit`, named in their order by `names`.
pub fn diagnose(fit: &Fit, names: &[String]) -> Vec<Diagnosis> {
    let rows = fit.residuals.iter().zip(&fit.weighted).zip(&fit.leverages);
    let one = |(name, ((residual, weighted), leverage)): (&String, ((&f64, &f64), &f64))| {
        let studentised = studentised(fit, *weighted, *leverage);
        Diagnosis {
            reading: name.clone(),
            residual: *residual,
            studentised,
            chance: chance(studentised, fit.degrees, fit.residuals.len()),
        }
    };
    names.iter().zip(rows).map(one).collect()
}

/// A residual by its standard deviation when the reading itself is left out.
fn studentised(fit: &Fit, weighted: f64, leverage: f64) -> f64 {
    let free = 1.0 - leverage;
    if fit.degrees < 2 || free < 1e-9 {
        return f64::NAN;
    }
    let others = (fit.sum_of_squares - weighted * weighted / free).max(0.0);
    weighted / (others / (fit.degrees - 1) as f64 * free).sqrt()
}

fn chance(studentised: f64, degrees: usize, readings: usize) -> f64 {
    if studentised.is_nan() || degrees < 2 {
        return 1.0;
    }
    let t = StudentsT::new(0.0, 1.0, (degrees - 1) as f64);
    let one = t.map_or(1.0, |t| 2.0 * t.sf(studentised.abs()));
    (one * readings as f64).min(1.0)
}

/// How likely scatter as large as that of `fit` is, did the law hold and the gauges'
/// own uncertainty tell all: below 5 % the law does not fit, a reading is wrong, or
/// the needle swung more than the gauges say. None without degrees of freedom. Means
/// something only where the sigmas are those of the gauges.
pub fn scatter_chance(fit: &Fit) -> Option<f64> {
    let chi = ChiSquared::new(fit.degrees as f64).ok()?;
    Some(chi.sf(fit.sum_of_squares))
}
