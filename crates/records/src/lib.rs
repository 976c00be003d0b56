#![doc = include_str!("../README.md")]

mod issue;
mod issued;
mod model;
mod sqlite;
mod standing;

pub use issue::{Issue, NewIssue, Withdrawn};
pub use model::{Entry, Kept, Note, RecordsError, Revision};
pub use sqlite::Records;
pub use standing::{Standing, reprints, standing, standings, to_reprint};
