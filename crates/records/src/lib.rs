#![doc = include_str!("../README.md")]

mod books;
mod issue;
mod issued;
mod model;
mod place;
mod standing;
mod store;

pub use issue::{Issue, NewIssue, Withdrawn};
pub use model::{Entry, Kept, Note, RecordsError, Revision};
pub use place::{Address, Records};
pub use standing::{Standing, reprints, standing, standings, to_reprint};
