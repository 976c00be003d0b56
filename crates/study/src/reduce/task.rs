//! A fit to be made: model, readings, sigmas, start.

use super::model::{FitError, Model, Sigmas};
use super::slopes::slopes;
use nalgebra::{DMatrix, DVector};

/// A fit to be made.
#[derive(Debug, Clone)]
pub struct Task<'a, M> {
    /// The law.
    pub model: &'a M,
    /// A row for each reading.
    pub readings: &'a [Vec<f64>],
    /// How far each may be off.
    pub sigmas: Sigmas,
    /// Where the search starts.
    pub start: Vec<f64>,
    /// The size that each parameter may be expected to have: it sets the step of
    /// differences where a parameter comes near zero.
    pub scales: Vec<f64>,
}

impl<'a, M: Model> Task<'a, M> {
    /// The fit of `model` to `readings` from `start`, all readings counting alike.
    pub fn new(model: &'a M, readings: &'a [Vec<f64>], start: Vec<f64>) -> Self {
        let scale = |(which, p): (usize, &f64)| model.scale(which, *p);
        Task {
            model,
            readings,
            sigmas: Sigmas::Unknown,
            scales: start.iter().enumerate().map(scale).collect(),
            start,
        }
    }

    /// The same, the readings being off by `sigmas`.
    pub fn with_sigmas(self, sigmas: Sigmas) -> Self {
        Task { sigmas, ..self }
    }

    pub(super) fn sigma(&self, reading: usize) -> f64 {
        match &self.sigmas {
            Sigmas::Unknown => 1.0,
            Sigmas::Relative(given) | Sigmas::Known(given) => {
                given.get(reading).copied().unwrap_or(f64::NAN)
            }
        }
    }

    pub(super) fn weighted(&self, p: &[f64]) -> DVector<f64> {
        let one =
            |(at, reading): (usize, &Vec<f64>)| self.model.residual(reading, p) / self.sigma(at);
        DVector::from_iterator(
            self.readings.len(),
            self.readings.iter().enumerate().map(one),
        )
    }

    pub(super) fn weighted_slopes(&self, p: &[f64]) -> DMatrix<f64> {
        let mut table = slopes(self.model, self.readings, p, &self.scales);
        for (at, mut row) in table.row_iter_mut().enumerate() {
            row /= self.sigma(at);
        }
        table
    }

    pub(super) fn check(&self, names: &[String]) -> Result<(), FitError> {
        let (readings, parameters) = (self.readings.len(), names.len());
        let given = self.start.len().min(self.scales.len());
        if given != parameters || parameters == 0 {
            return Err(FitError::Start {
                given,
                wanted: parameters,
            });
        }
        let needed = parameters + usize::from(!matches!(self.sigmas, Sigmas::Known(_)));
        if readings < needed {
            return Err(FitError::TooFew {
                readings,
                parameters,
                needed,
            });
        }
        for at in 0..readings {
            let sigma = self.sigma(at);
            if !(sigma > 0.0 && sigma.is_finite()) {
                return Err(FitError::Sigma {
                    reading: at + 1,
                    sigma,
                });
            }
        }
        match self
            .weighted(&self.start)
            .iter()
            .position(|r| !r.is_finite())
        {
            Some(at) => Err(FitError::NoNumber { reading: at + 1 }),
            None => Ok(()),
        }
    }
}
