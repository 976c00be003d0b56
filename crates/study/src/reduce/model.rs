//! What is fitted: a law with parameters, what is known of its readings, and why they
//! may give nothing.

/// A law with parameters, and how far readings are from it.
pub trait Model {
    /// What its parameters are called in messages.
    fn names(&self) -> Vec<String>;

    /// Measured minus expected, for one row of numbers. Anything that is no number
    /// means that the law says nothing there.
    fn residual(&self, reading: &[f64], parameters: &[f64]) -> f64;

    /// The slope of the residual in each parameter, where it can be written down;
    /// otherwise differences are taken.
    fn slopes(&self, _reading: &[f64], _parameters: &[f64]) -> Option<Vec<f64>> {
        None
    }

    /// The size that parameter `which` may be expected to have, where that is not the
    /// size of its start value: it sets the step of differences near nought.
    fn scale(&self, _which: usize, start: f64) -> f64 {
        if start == 0.0 { 1.0 } else { start.abs() }
    }
}

macro_rules! model_behind {
    ($($pointer:ty),*) => {$(
        impl<M: Model + ?Sized> Model for $pointer {
            fn names(&self) -> Vec<String> {
                (**self).names()
            }

            fn residual(&self, reading: &[f64], parameters: &[f64]) -> f64 {
                (**self).residual(reading, parameters)
            }

            fn slopes(&self, reading: &[f64], parameters: &[f64]) -> Option<Vec<f64>> {
                (**self).slopes(reading, parameters)
            }

            fn scale(&self, which: usize, start: f64) -> f64 {
                (**self).scale(which, start)
            }
        }
    )*};
}
model_behind!(&M, Box<M>);

/// What is known of how far each reading may be off.
#[derive(Debug, Clone, PartialEq, Default)]
pub enum Sigmas {
    /// Nothing: all readings count alike, and their scatter tells.
    #[default]
    Unknown,
    /// Their proportions; their scatter tells the rest.
    Relative(Vec<f64>),
    /// The standard uncertainty of each residual.
    Known(Vec<f64>),
}

/// Why readings give no parameters.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum FitError {
    /// Too few readings.
    #[error("{readings} readings are too few for {parameters} unknowns: take at least {needed}")]
    TooFew {
        /// How many there are.
        readings: usize,
        /// How many parameters are wanted.
        parameters: usize,
        /// How many readings are needed.
        needed: usize,
    },
    /// A model without parameters, or start values of the wrong number.
    #[error("{given} start values were given where {wanted} are wanted")]
    Start {
        /// How many were given.
        given: usize,
        /// How many parameters there are.
        wanted: usize,
    },
    /// A reading for which the law gives no number.
    #[error(
        "reading {reading} gives no number by this law at the start values: check it for a missing figure, a zero or a wrong sign"
    )]
    NoNumber {
        /// Which reading, counted from 1.
        reading: usize,
    },
    /// A standard uncertainty that is not above zero.
    #[error("the uncertainty of reading {reading} is {sigma}: it must be above zero")]
    Sigma {
        /// Which reading, counted from 1; one past the last where one is missing.
        reading: usize,
        /// What was given.
        sigma: f64,
    },
    /// Parameters that the readings do not tell, or do not tell apart.
    #[error(
        "these readings cannot tell {parameters}: take readings further apart, or fix one of them"
    )]
    CannotTell {
        /// Their names.
        parameters: String,
    },
}
