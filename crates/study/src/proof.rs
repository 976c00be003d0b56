//! A flow-test day: what to read, what was read, and what it says.
//!
//! A [`Test`] is a set of readings on one [`Subject`]; a [`Day`] is the tests of a day.
//! [`plan`] says beforehand what to read, [`prove`] reduces a day against its book,
//! [`accept`] puts what was found into the book. Inside, everything is SI.

mod found;
mod model;

pub use found::{Bound, Drawn, DrawnPoint, Found, Measured, Proof, Seen, Suspect};
pub use model::{Day, Find, Place, Reading, Subject, Test};
