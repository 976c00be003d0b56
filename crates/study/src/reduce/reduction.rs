//! One way for every reduction: fit with gauge errors in all columns, budget,
//! interval, diagnosis.

use super::both::{fit_both, gauge_off, uncertain};
use super::budget::{Budget, Contribution, Kind, LEVEL};
use super::diagnose::{Diagnosis, diagnose, scatter_chance};
use super::fit::{Fit, FitError, Model};
use super::gauge::Column;

/// A law whose parameters are reduced from readings.
pub trait Law: Model {
    /// What the columns of a reading hold, in their order.
    fn columns(&self) -> &[Column];

    /// Where to start, from the readings.
    fn start(&self, readings: &[Vec<f64>]) -> Vec<f64>;
}

/// One reading: a number for each column, in SI.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// Its name in messages: "reading 4, 10:32".
    pub name: String,
    /// The numbers.
    pub values: Vec<f64>,
}

/// Why a test is not reduced.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ReduceError {
    /// A reading has too few or too many figures.
    #[error("{reading} has {given} figures where {wanted} are wanted: {columns}")]
    Columns {
        /// The reading.
        reading: String,
        /// How many figures it has.
        given: usize,
        /// How many are wanted.
        wanted: usize,
        /// Which.
        columns: String,
    },
    /// A figure is not a number.
    #[error("{reading}: the {column} is not a number")]
    NotANumber {
        /// The reading.
        reading: String,
        /// The column.
        column: &'static str,
    },
    /// A reading that the law has no place for.
    #[error(
        "{reading} says nothing by this law: look for a missing figure, a zero or a wrong sign"
    )]
    OutsideTheLaw {
        /// The reading.
        reading: String,
    },
    /// The fit cannot be made.
    #[error(transparent)]
    Fit(FitError),
}

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
    fn of(name: &str, value: f64, budget: Budget) -> Self {
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
        Estimate::of(&self.name, self.value * factor, Budget { contributions })
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

/// What the parameters would be without one reading.
#[derive(Debug, Clone, PartialEq)]
pub struct Without {
    /// The reading left out.
    pub reading: String,
    /// The parameters without it.
    pub parameters: Vec<f64>,
}

/// A test, reduced.
#[derive(Debug, Clone, PartialEq)]
pub struct Reduced {
    /// A value for each parameter of the law.
    pub estimates: Vec<Estimate>,
    /// The fit.
    pub fit: Fit,
    /// Each reading, as the others see it.
    pub diagnoses: Vec<Diagnosis>,
    /// How likely such scatter is from the gauges' resolution and swing alone; none
    /// where those are not known.
    pub scatter_chance: Option<f64>,
}

impl Reduced {
    /// The reading that stands out most, if one does.
    pub fn suspect(&self) -> Option<&Diagnosis> {
        let out = self.diagnoses.iter().filter(|d| d.stands_out());
        out.min_by(|a, b| a.chance.total_cmp(&b.chance))
    }
}

/// Reduces `readings` by `law`.
///
/// # Errors
/// [`ReduceError`] names the reading, the figure and what would mend it.
pub fn reduce<L: Law>(law: &L, readings: &[Reading]) -> Result<Reduced, ReduceError> {
    check(law, readings)?;
    let named = |error: FitError| match error {
        FitError::NoNumber { reading } => match readings.get(reading.wrapping_sub(1)) {
            Some(found) => ReduceError::OutsideTheLaw {
                reading: found.name.clone(),
            },
            None => ReduceError::Fit(error),
        },
        other => ReduceError::Fit(other),
    };
    let rows: Vec<Vec<f64>> = readings.iter().map(|r| r.values.clone()).collect();
    let names: Vec<String> = readings.iter().map(|r| r.name.clone()).collect();
    let found = fit_law(law, &rows, start(law, &rows)?).map_err(named)?;
    let budgets = budgets(law, &rows, &found).map_err(named)?;
    let estimates = found.names.iter().zip(&found.parameters).zip(budgets);
    let known = gauges_tell(law);
    Ok(Reduced {
        estimates: estimates
            .map(|((name, value), budget)| Estimate::of(name, *value, budget))
            .collect(),
        diagnoses: diagnose(&found, &names),
        scatter_chance: scatter_chance(&found).filter(|_| known),
        fit: found,
    })
}

/// Where to start; what has no start value cannot be told from these readings.
fn start<L: Law>(law: &L, rows: &[Vec<f64>]) -> Result<Vec<f64>, ReduceError> {
    let (start, names) = (law.start(rows), law.names());
    let lacks = |(value, name): (&f64, &String)| (!value.is_finite()).then(|| name.clone());
    let lacking: Vec<String> = start.iter().zip(&names).filter_map(lacks).collect();
    if lacking.is_empty() || rows.len() < names.len() {
        return Ok(start);
    }
    Err(ReduceError::Fit(FitError::CannotTell {
        parameters: lacking.join(" and "),
    }))
}

fn check<L: Law>(law: &L, readings: &[Reading]) -> Result<(), ReduceError> {
    let columns = law.columns();
    for reading in readings {
        let (given, wanted) = (reading.values.len(), columns.len());
        if given != wanted {
            let names: Vec<&str> = columns.iter().map(|c| c.what).collect();
            return Err(ReduceError::Columns {
                reading: reading.name.clone(),
                given,
                wanted,
                columns: names.join(", "),
            });
        }
        let wrong = reading
            .values
            .iter()
            .zip(columns)
            .find(|(value, _)| !value.is_finite());
        if let Some((_, column)) = wrong {
            return Err(ReduceError::NotANumber {
                reading: reading.name.clone(),
                column: column.what,
            });
        }
    }
    Ok(())
}

/// The budget of each parameter: scatter, resolution beyond it, and each gauge off by
/// its own uncertainty in all its readings at once.
fn budgets<L: Law>(law: &L, rows: &[Vec<f64>], found: &Fit) -> Result<Vec<Budget>, FitError> {
    let mut budgets = scatter(found, gauges_tell(law));
    for gauge in gauges(law.columns()) {
        let off = gauge_off(law.columns(), rows, &gauge);
        if off == rows {
            continue;
        }
        let shifted = fit_law(law, &off, found.parameters.clone())?;
        let moved = shifted.parameters.iter().zip(&found.parameters);
        for (budget, (after, before)) in budgets.iter_mut().zip(moved) {
            budget.contributions.push(Contribution {
                what: format!("accuracy of {gauge}"),
                kind: Kind::B,
                standard: (after - before).abs(),
                degrees: f64::INFINITY,
            });
        }
    }
    Ok(budgets)
}

/// The fit of `law` with gauge errors in all columns.
fn fit_law<L: Law>(law: &L, rows: &[Vec<f64>], start: Vec<f64>) -> Result<Fit, FitError> {
    fit_both(law, rows, &uncertain(law.columns(), rows.len()), start)
}

/// Is anything known of how far a single reading may be off?
fn gauges_tell<L: Law>(law: &L) -> bool {
    law.columns()
        .iter()
        .any(|column| column.gauge.random() > 0.0)
}

fn gauges(columns: &[Column]) -> Vec<String> {
    let mut names = Vec::new();
    for column in columns {
        if !names.contains(&column.gauge.name) {
            names.push(column.gauge.name.clone());
        }
    }
    names
}

/// What the readings' scatter makes of each parameter; where they scatter less than
/// the gauges' own resolution and swing allow, that stays as a contribution.
fn scatter(found: &Fit, known: bool) -> Vec<Budget> {
    let scatter = |standard: f64| Contribution {
        what: "scatter of the readings".into(),
        kind: Kind::A,
        standard,
        degrees: found.degrees as f64,
    };
    let resolution = |standard: f64| Contribution {
        what: "resolution and swing of the gauges".into(),
        kind: Kind::B,
        standard,
        degrees: f64::INFINITY,
    };
    let less = match (known, found.degrees) {
        (true, 0) => 1.0,
        (true, _) => (1.0 - found.reduced_chi_square()).max(0.0).sqrt(),
        (false, _) => 0.0,
    };
    let both = found.standard_errors().into_iter().zip(&found.by_sigmas);
    let one = |(standard, by_sigmas): (f64, &f64)| {
        let a = (found.degrees > 0).then(|| scatter(standard));
        let b = (less > 0.0).then(|| resolution(by_sigmas * less));
        Budget {
            contributions: a.into_iter().chain(b).collect(),
        }
    };
    both.map(one).collect()
}

/// What the parameters would be without each reading; a reading that cannot be spared
/// is passed over.
pub fn without<L: Law>(law: &L, readings: &[Reading], reduced: &Reduced) -> Vec<Without> {
    let rows: Vec<Vec<f64>> = readings.iter().map(|r| r.values.clone()).collect();
    let left = |(at, reading): (usize, &Reading)| {
        let start = reduced.fit.parameters.clone();
        Some(Without {
            reading: reading.name.clone(),
            parameters: fit_law(law, &but(&rows, at), start).ok()?.parameters,
        })
    };
    readings.iter().enumerate().filter_map(left).collect()
}

fn but<T: Clone>(all: &[T], left_out: usize) -> Vec<T> {
    let kept = |(at, item): (usize, &T)| (at != left_out).then(|| item.clone());
    all.iter().enumerate().filter_map(kept).collect()
}
