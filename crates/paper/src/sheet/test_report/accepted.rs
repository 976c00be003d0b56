//! What accepting a result did to the book and to its lines.

use book::Book;
use serde_json::{Value, json};

use crate::paper::Units;

/// What changed from `before` to `after`, and each line that gives something else.
pub(super) fn words(before: &Book, after: &Book, units: Units) -> Value {
    json!({
        "said": study::changes(before, after, units.first()),
        "lines": Vec::<Value>::new(),
    })
}
