//! A flow-test day: what to read, what was read, and what it says.
//!
//! A [`Test`] is a set of readings on one [`Subject`]; a [`Day`] is the tests of a day.
//! [`plan`] says beforehand what to read, [`read_day`] takes readings from a table,
//! [`prove`] reduces a day against its book, [`accept`] puts what was found into the
//! book, [`effects`] says which lines change. Inside, everything is SI.

mod accept;
mod case;
mod cells;
mod columns;
mod drawn;
mod effects;
mod figures;
mod found;
mod gauges;
mod model;
mod named;
mod object;
mod of_hose;
mod of_hydrant;
mod of_nozzle;
mod of_pump;
mod of_service;
mod plan;
mod planned;
mod points;
mod prove;
mod reduction;
mod suspects;
mod take;
mod verdicts;

pub use accept::{AcceptError, Accepting, accept};
pub use columns::{Matched, Matching, Role, match_columns};
pub use effects::{Effect, effects};
pub use found::{Bound, Drawn, DrawnPoint, Found, Measured, Proof, Seen, Suspect};
pub use model::{Day, Find, Place, Reading, Subject, Test};
pub use plan::{Expected, GaugeAt, Plan, PlanItem, PlanPoint, ProofError, Wish, plan, subjects_of};
pub use prove::{Leave, LeftOut, Proved, prove, prove_with};
pub use take::{Taken, read_day, take};
