//! Reducing a flow test: from readings to coefficients with their uncertainty.
//!
//! Inside, everything is SI. A reading is a row of numbers, a column for each thing
//! that was measured; a [`Model`] says how far a row is from its law.

mod automatic;
mod both;
mod budget;
mod diagnose;
mod estimate;
mod fit;
mod gauge;
mod hose;
mod hydrant;
mod joint;
mod law;
mod model;
mod nozzle;
mod part;
mod pitot;
mod polish;
mod profile;
mod pump;
mod reduction;
mod repeats;
mod roughness;
mod service;
mod slopes;
mod sources;
mod spread;
mod suspects;
mod swing;
mod task;
mod verdict;

pub use automatic::AutomaticNozzle;
pub use both::fit_both;
pub use budget::{Budget, Contribution, Kind, LEVEL, coverage_factor};
pub use diagnose::{Diagnosis, diagnose, scatter_chance};
pub use estimate::{Comparison, Estimate};
pub use fit::{Fit, Stopped, fit};
pub use gauge::{Column, Gauge, rectangular};
pub use hose::HoseLoss;
pub use hydrant::HydrantCurve;
pub use joint::GaugeError;
pub use law::{Law, Reading, ReduceError};
pub use model::{FitError, Model, Sigmas};
pub use nozzle::{FixedFactor, SmoothBoreTip};
pub use pitot::{ByPitot, PitotError};
pub use pump::{CapabilityError, PumpCapability};
pub use reduction::{Reduced, Without, reduce, without};
pub use repeats::{lack_of_fit, repeats};
pub use roughness::{HoseRoughness, Roughness};
pub use service::{
    ATTACK_TEST_PSI, HOLD_MINUTES, Held, SUPPLY_TEST_PSI, ServiceTest, judge_service_test,
};
pub use sources::Sources;
pub use suspects::{GaugeCheck, GaugeSuspect, OffGauge, gauge_errors, gauge_suspects};
pub use task::Task;
pub use verdict::{
    ABOVE_RATED, AUTOMATIC_PSI, Judged, Settle, Verdict, judge, judge_automatic, judge_pump,
    judge_rated_flow,
};
