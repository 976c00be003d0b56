//! The uncertainty budget of one value, by the Guide to the Expression of
//! Uncertainty in Measurement (JCGM 100:2008): contributions added as squares,
//! degrees of freedom by Welch and Satterthwaite (G.4), interval by Student's t.

use statrs::distribution::{ContinuousCDF, Normal, StudentsT};

/// The level of every interval and verdict.
pub const LEVEL: f64 = 0.95;

/// Degrees of freedom beyond which t is the normal distribution to all that is shown.
const MANY: f64 = 1e5;

/// How a contribution was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// From the scatter of readings (GUM type A).
    A,
    /// From what is known of the gauge (GUM type B).
    B,
}

/// One source of uncertainty.
#[derive(Debug, Clone, PartialEq)]
pub struct Contribution {
    /// What it comes from.
    pub what: String,
    /// How it was found.
    pub kind: Kind,
    /// What it alone makes the value uncertain by, one standard uncertainty.
    pub standard: f64,
    /// Its degrees of freedom; infinite where it is taken as known.
    pub degrees: f64,
}

/// All sources of uncertainty of one value.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Budget {
    /// The sources.
    pub contributions: Vec<Contribution>,
}

impl Budget {
    /// Combined standard uncertainty.
    pub fn standard(&self) -> f64 {
        let squares = self.contributions.iter().map(|c| c.standard * c.standard);
        squares.sum::<f64>().sqrt()
    }

    /// Effective degrees of freedom, cut to a whole number as the GUM does (G.4.1);
    /// infinite where all is known.
    pub fn degrees(&self) -> f64 {
        let combined = self.standard();
        let part = |c: &Contribution| (c.standard / combined).powi(4) / c.degrees;
        let sum: f64 = self
            .contributions
            .iter()
            .map(part)
            .filter(|p| p.is_finite())
            .sum();
        // What rounding takes from a whole number is given back.
        (1.0 / sum + 1e-6).floor()
    }

    /// What the value may be off by at `level`.
    pub fn expanded(&self, level: f64) -> f64 {
        coverage_factor(level, self.degrees()) * self.standard()
    }

    /// The share of each contribution in the square of the combined uncertainty, in
    /// their order.
    pub fn shares(&self) -> Vec<f64> {
        let whole = self.standard().powi(2).max(f64::MIN_POSITIVE);
        let share = |c: &Contribution| c.standard.powi(2) / whole;
        self.contributions.iter().map(share).collect()
    }
}

/// How many standard uncertainties hold `level` (between 0 and 1) of what may be:
/// the two-sided quantile of Student's t. Not a number for what is no level or no
/// degrees of freedom.
///
/// ```
/// // GUM table G.2: 16 degrees of freedom, 99 %: 2.92.
/// assert!((study::reduce::coverage_factor(0.99, 16.0) - 2.92).abs() < 0.005);
/// ```
pub fn coverage_factor(level: f64, degrees: f64) -> f64 {
    if !(level > 0.0 && level < 1.0) || degrees.is_nan() || degrees <= 0.0 {
        return f64::NAN;
    }
    let below = 0.5 + level / 2.0;
    if degrees > MANY {
        return Normal::standard().inverse_cdf(below);
    }
    StudentsT::new(0.0, 1.0, degrees).map_or(f64::NAN, |t| t.inverse_cdf(below))
}
