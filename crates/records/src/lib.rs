#![doc = include_str!("../README.md")]

mod model;
mod sqlite;

pub use model::{Entry, Kept, Note, RecordsError, Revision};
pub use sqlite::Records;
