//! A value with its uncertainty, and beside the book's.

use super::budget::{Budget, Contribution, Kind, LEVEL, coverage_factor};

/// A value with its uncertainty.
#[derive(Debug, Clone, PartialEq)]
pub struct Estimate {
    /// What it is.
    pub name: String,
    /// The value.
    pub value: f64,
    /// Combined standard uncertainty.
    pub standard: f64,
    /// Effective degrees of freedom.
    pub degrees: f64,
    /// Lower end of the 95 % interval.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// What the uncertainty is made of.
    pub budget: Budget,
}

impl Estimate {
    pub(super) fn of(name: &str, value: f64, budget: Budget) -> Self {
        let expanded = budget.expanded(LEVEL);
        // Without any uncertainty the degrees of freedom mean nothing.
        let expanded = if budget.standard() == 0.0 {
            0.0
        } else {
            expanded
        };
        Estimate {
            name: name.into(),
            value,
            standard: budget.standard(),
            degrees: budget.degrees(),
            low: value - expanded,
            high: value + expanded,
            budget,
        }
    }

    /// The same in a unit of which `factor` make one: multiplied by it.
    pub fn times(&self, factor: f64) -> Self {
        let larger = |c: &Contribution| Contribution {
            standard: c.standard * factor.abs(),
            ..c.clone()
        };
        let contributions = self.budget.contributions.iter().map(larger).collect();
        let (one, other) = (self.low * factor, self.high * factor);
        Estimate {
            name: self.name.clone(),
            value: self.value * factor,
            standard: self.standard * factor.abs(),
            degrees: self.degrees,
            low: one.min(other),
            high: one.max(other),
            budget: Budget { contributions },
        }
    }

    /// The same under another name.
    pub fn named(self, name: &str) -> Self {
        Estimate {
            name: name.into(),
            ..self
        }
    }

    /// The same, its interval made anew: scatter alone reaches as far as `reach`, below
    /// and above, each in standard uncertainties of its side.
    pub(super) fn reaching(self, [below, above]: [f64; 2]) -> Self {
        let others = self.budget.contributions.iter();
        let others = others.filter(|c| c.kind == Kind::B);
        let square: f64 = others.map(|c| c.standard * c.standard).sum();
        let factor = coverage_factor(LEVEL, self.degrees);
        let side = |scatter: f64| factor * (scatter * scatter + square).sqrt();
        Estimate {
            low: self.value - side(below),
            high: self.value + side(above),
            ..self
        }
    }

    /// Beside the value `book` that was used so far.
    pub fn beside(&self, book: f64) -> Comparison {
        Comparison {
            book,
            difference: self.value - book,
            share: (self.value - book) / book,
            told_apart: !(self.low..=self.high).contains(&book),
        }
    }
}

/// A measured value beside the book's.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Comparison {
    /// The book's value.
    pub book: f64,
    /// Measured less the book's.
    pub difference: f64,
    /// The same as a share of the book's.
    pub share: f64,
    /// Does the 95 % interval leave the book's value out?
    pub told_apart: bool,
}
