//! What the marks of a drawing mean, in rows above it.

use crate::canvas::{Anchor, Canvas, SMALL, Spot};
use crate::text;

/// Room for the mark before its words.
const MARK: f64 = 38.0;
/// From one row to the next.
const ROW: f64 = 25.0;

/// Draws a mark about the middle of its place.
pub(crate) type Draw<'a> = &'a dyn Fn(&mut Canvas, Spot);

/// One mark: how it is drawn about the middle of its place, and what it means.
pub(crate) struct Item<'a> {
    pub mark: Draw<'a>,
    pub words: &'a str,
}

/// Writes the items in rows from `left` to `right`, the first at `top`. The pixel below
/// the last row.
pub(crate) fn write(
    canvas: &mut Canvas,
    (left, right): (f64, f64),
    top: f64,
    items: &[Item<'_>],
) -> f64 {
    let (mut x, mut y) = (left, top);
    for item in items {
        let words = text::shorten(item.words, SMALL, right - left - MARK);
        let wide = MARK + text::width(&words, SMALL);
        if x > left && x + wide > right {
            (x, y) = (left, y + ROW);
        }
        (item.mark)(canvas, (x + 0.5 * (MARK - 8.0), y));
        canvas.text((x + MARK, y + 5.0), Anchor::Start, SMALL, &words);
        x += wide + 24.0;
    }
    y + 0.5 * ROW
}

/// A short stroke as a mark.
pub(crate) fn stroke(class: &'static str) -> impl Fn(&mut Canvas, Spot) {
    move |canvas, (x, y)| canvas.stroke(class, &[(x - 15.0, y), (x + 15.0, y)])
}

/// A bar as a mark.
pub(crate) fn bar(class: &'static str) -> impl Fn(&mut Canvas, Spot) {
    move |canvas, (x, y)| canvas.rect(class, (x - 12.0, y - 6.0), 24.0, 12.0)
}

/// An open diamond.
pub(crate) fn diamond(canvas: &mut Canvas, (x, y): Spot) {
    let four = [(x - 8.0, y), (x, y - 8.0), (x + 8.0, y), (x, y + 8.0)];
    canvas.shape("hot", &four);
}
