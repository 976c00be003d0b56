#![doc = include_str!("../README.md")]

mod books;
mod issue;
mod issued;
mod model;
mod moving;
mod place;
mod standing;
mod store;
mod tables;

pub use issue::{Issue, NewIssue, Withdrawn};
pub use model::{Entry, Kept, Note, RecordsError, Revision};
pub use moving::Counted;
pub use place::{Address, Records};
pub use standing::{Standing, reprints, standing, standings, to_reprint};
