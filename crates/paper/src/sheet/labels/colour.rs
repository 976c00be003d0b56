//! A colour as it is printed, and what can be read upon it.

use book::Colour;
use serde_json::{Value, json};

/// The least contrast of text with what lies under it (WCAG 2.2, 1.4.3).
const LEAST: f64 = 4.5;

/// A patch of `colour`: its fill, its word, and the ink in which a mark can be read upon
/// it.
pub(super) fn patch(colour: Colour) -> Value {
    json!({
        "fill": colour.code(),
        "word": colour.word().to_uppercase(),
        "ink": ink(colour).map(Colour::code),
    })
}

/// Black or white, what is read better upon `under`; `None` where neither is read well.
fn ink(under: Colour) -> Option<Colour> {
    let inks = [Colour::BLACK, Colour::WHITE].into_iter();
    let best = inks.max_by(|a, b| a.contrast(under).total_cmp(&b.contrast(under)));
    best.filter(|ink| ink.contrast(under) >= LEAST)
}
