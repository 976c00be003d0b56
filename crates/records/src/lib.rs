#![doc = include_str!("../README.md")]

mod accept;
mod address;
mod attempt;
mod audit;
mod books;
mod equipment;
mod issue;
mod issued;
mod link;
mod model;
mod moving;
mod people;
mod place;
pub mod proof;
mod reading;
mod session;
mod staff;
mod standing;
mod store;
mod tables;
mod test;
mod token;

pub use address::Address;
pub use attempt::Tries;
pub use audit::{By, Deed};
pub use equipment::{Equipment, Gear, NewEquipment, State, Trial};
pub use issue::{Issue, NewIssue, Withdrawn};
pub use link::{Joined, Link, NewLink};
pub use model::{Entry, Kept, Note, RecordsError, Revision};
pub use moving::Counted;
pub use people::{Person, Role};
pub use place::Records;
pub use reading::{NewReading, Reading, in_force};
pub use session::{Session, SigningIn};
pub use standing::{Standing, reprints, standing, standings, to_reprint};
pub use test::{NewTest, Stage, Test};
