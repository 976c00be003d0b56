//! Marks of choices, told apart by shape.

use crate::canvas::{Canvas, Spot};

/// A choice that no other beats.
pub fn dot(canvas: &mut Canvas, at: Spot) {
    canvas.circle("full", at, 4.2);
}

/// The one ranked first.
pub fn first(canvas: &mut Canvas, at: Spot) {
    canvas.circle("full", at, 4.2);
    canvas.circle("ring", at, 8.5);
}

/// The best that holds on enough days.
pub fn square(canvas: &mut Canvas, (x, y): Spot) {
    canvas.circle("full", (x, y), 4.2);
    canvas.rect("ring", (x - 11.0, y - 11.0), 22.0, 22.0);
}
