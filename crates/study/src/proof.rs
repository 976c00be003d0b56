//! A flow-test day: what to read, what was read, and what it says.
//!
//! A [`Test`] is a set of readings on one [`Subject`]; a [`Day`] is the tests of a day.
//! [`read_day`] takes them from a table. Inside, everything is SI.

mod cells;
mod columns;
mod found;
mod model;
mod named;
mod points;
mod take;

pub use columns::{Matched, Matching, Role, match_columns};
pub use found::{Bound, Drawn, DrawnPoint, Found, Measured, Proof, Seen, Suspect};
pub use model::{Day, Find, Place, Reading, Subject, Test};
pub use take::{Taken, read_day, take};
