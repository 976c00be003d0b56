#![doc = include_str!("../README.md")]

mod accept;
mod audit;
mod books;
mod equipment;
mod issue;
mod issued;
mod model;
mod moving;
mod people;
mod place;
pub mod proof;
mod reading;
mod standing;
mod store;
mod tables;
mod test;

pub use audit::{By, Deed};
pub use equipment::{Equipment, Gear, NewEquipment, State, Trial};
pub use issue::{Issue, NewIssue, Withdrawn};
pub use model::{Entry, Kept, Note, RecordsError, Revision};
pub use moving::Counted;
pub use people::{Person, Role};
pub use place::{Address, Records};
pub use reading::{NewReading, Reading, in_force};
pub use standing::{Standing, reprints, standing, standings, to_reprint};
pub use test::{NewTest, Stage, Test};
