//! Reducing a flow test: from readings to coefficients with their uncertainty.
//!
//! Inside, everything is SI. A reading is a row of numbers, a column for each thing
//! that was measured; a [`Model`] says how far a row is from its law.

pub mod fit;
mod polish;
mod slopes;
mod spread;

pub use fit::{Fit, FitError, Model, Sigmas, Stopped, Task, fit};
