//! Reducing a flow test: from readings to coefficients with their uncertainty.
//!
//! Inside, everything is SI. A reading is a row of numbers, a column for each thing
//! that was measured; a [`Model`] says how far a row is from its law.

mod automatic;
mod both;
mod budget;
mod diagnose;
mod fit;
mod gauge;
mod hose;
mod hydrant;
mod nozzle;
mod polish;
mod reduction;
mod slopes;
mod spread;
mod verdict;

pub use automatic::AutomaticNozzle;
pub use both::fit_both;
pub use budget::{Budget, Contribution, Kind, LEVEL, coverage_factor};
pub use diagnose::{Diagnosis, diagnose, scatter_chance};
pub use fit::{Fit, FitError, Model, Sigmas, Stopped, Task, fit};
pub use gauge::{Column, Gauge, rectangular};
pub use hose::HoseLoss;
pub use hydrant::HydrantCurve;
pub use nozzle::{FixedFactor, SmoothBoreTip};
pub use reduction::{
    Comparison, Estimate, Law, Reading, ReduceError, Reduced, Without, reduce, without,
};
pub use verdict::{
    ABOVE_RATED, AUTOMATIC_PSI, Judged, Settle, Verdict, judge, judge_automatic, judge_rated_flow,
};
