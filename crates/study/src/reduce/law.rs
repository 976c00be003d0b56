//! What a law is to a reduction, what a reading is, and what is refused.

use super::gauge::Column;
use super::model::{FitError, Model};

/// A law whose parameters are reduced from readings.
pub trait Law: Model {
    /// What the columns of a reading hold, in their order.
    fn columns(&self) -> &[Column];

    /// Where to start, from the readings.
    fn start(&self, readings: &[Vec<f64>]) -> Vec<f64>;

    /// Which columns follow from the others, by their place; the rest is what a tester
    /// sets. Set to nought they leave what the law expects of them, less than nought,
    /// as the residual.
    fn responses(&self) -> Vec<usize>;

    /// Is this figure known without its gauge, as the flow of a shut outlet is?
    fn is_known(&self, _reading: &[f64], _column: usize) -> bool {
        false
    }

    /// Which figure cannot be below nought, as it is in this reading?
    fn below_nought(&self, _reading: &[f64]) -> Option<usize> {
        None
    }

    /// Does its curve have corners? Its intervals are then found by how fast the fit
    /// gets worse on either side, and not by the covariance.
    fn has_corners(&self) -> bool {
        false
    }
}

macro_rules! law_behind {
    ($($pointer:ty),*) => {$(
        impl<L: Law + ?Sized> Law for $pointer {
            fn columns(&self) -> &[Column] {
                (**self).columns()
            }

            fn start(&self, readings: &[Vec<f64>]) -> Vec<f64> {
                (**self).start(readings)
            }

            fn responses(&self) -> Vec<usize> {
                (**self).responses()
            }

            fn is_known(&self, reading: &[f64], column: usize) -> bool {
                (**self).is_known(reading, column)
            }

            fn below_nought(&self, reading: &[f64]) -> Option<usize> {
                (**self).below_nought(reading)
            }

            fn has_corners(&self) -> bool {
                (**self).has_corners()
            }
        }
    )*};
}
law_behind!(&L, Box<L>);

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
    /// A figure is below nought that cannot be.
    #[error(
        "{reading}: the {column} is below nought: look for a wrong sign, or let the gauge be \
         set to nought and read anew"
    )]
    BelowNought {
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

/// Where to start; what has no start value cannot be told from these readings.
pub(super) fn start<L: Law>(law: &L, rows: &[Vec<f64>]) -> Result<Vec<f64>, ReduceError> {
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

pub(super) fn check<L: Law>(law: &L, readings: &[Reading]) -> Result<(), ReduceError> {
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
        let below = law.below_nought(&reading.values);
        if let Some(column) = below.and_then(|at| columns.get(at)) {
            return Err(ReduceError::BelowNought {
                reading: reading.name.clone(),
                column: column.what,
            });
        }
    }
    Ok(())
}

pub(super) fn gauges(columns: &[Column]) -> Vec<String> {
    let mut names = Vec::new();
    for column in columns {
        if !names.contains(&column.gauge.name) {
            names.push(column.gauge.name.clone());
        }
    }
    names
}

/// What every figure may be off by from reading to reading; nought where it is known.
pub(super) fn random<L: Law>(law: &L, rows: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let row = |row: &Vec<f64>| {
        let figure = |(at, column): (usize, &Column)| match law.is_known(row, at) {
            true => 0.0,
            false => column.gauge.random(),
        };
        law.columns().iter().enumerate().map(figure).collect()
    };
    rows.iter().map(row).collect()
}

/// The readings with every column of the gauge `name` off by one shared standard
/// uncertainty.
pub(super) fn gauge_off<L: Law>(law: &L, rows: &[Vec<f64>], name: &str) -> Vec<Vec<f64>> {
    let row = |row: &Vec<f64>| {
        let shift = |(at, (column, value)): (usize, (&Column, &f64))| match column.gauge.name
            == name
            && !law.is_known(row, at)
        {
            true => value + column.gauge.shared(*value),
            false => *value,
        };
        law.columns()
            .iter()
            .zip(row)
            .enumerate()
            .map(shift)
            .collect()
    };
    rows.iter().map(row).collect()
}

/// Is anything known of how far a single reading may be off?
pub(super) fn gauges_tell<L: Law>(law: &L) -> bool {
    let mut columns = law.columns().iter();
    columns.any(|column| column.gauge.random() > 0.0)
}
