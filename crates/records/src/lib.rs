#![doc = include_str!("../README.md")]

mod audit;
mod books;
mod calendar;
mod equipment;
mod issue;
mod issued;
pub mod lists;
mod model;
mod moving;
mod people;
mod place;
mod standing;
mod store;
mod tables;
mod test;

pub use audit::{By, Deed};
pub use calendar::{Each, calendar};
pub use equipment::{Equipment, Gear, NewEquipment, State, Trial};
pub use issue::{Issue, NewIssue, Withdrawn};
pub use model::{Entry, Kept, Note, RecordsError, Revision};
pub use moving::Counted;
pub use people::{Person, Role};
pub use place::{Address, Records};
pub use standing::{Standing, reprints, standing, standings, to_reprint};
pub use test::{NewReading, NewTest, Reading, Test, in_force};
