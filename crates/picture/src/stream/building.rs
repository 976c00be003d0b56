//! A building cut open along the stream: its face with a window on every storey,
//! its floors and its roof.

use super::Window;
use crate::canvas::Canvas;
use crate::frame::Frame;
use crate::labels::Labels;
use hydraulics::units::{Length, Measure};

/// Storey, floor to floor: 3 m (common practice, no source).
const STOREY: f64 = 3.0;
/// A sill's height above its floor: 0.9 m (common practice, no source).
const SILL: f64 = 0.9;
/// Thickness of walls, floors and roof, in pixels.
const THICK: f64 = 5.0;

/// How far behind its face a building is drawn.
pub(super) fn depth() -> Length {
    Length::of_si(7.0)
}

/// The storeys of a building, by the window that is aimed at.
pub(super) struct Building {
    /// Floors above the ground, from below.
    floors: Vec<Length>,
    /// Sill and head of the windows of the other storeys.
    windows: Vec<(Length, Length)>,
    /// Its top.
    pub roof: Length,
}

impl Building {
    /// The building with `window` on one of its storeys, one storey above it, and as
    /// many more as a stream asks that comes to its face at `struck`.
    pub fn of(window: &Window, struck: Length) -> Self {
        let (sill, head) = (window.sill.value, window.head.value);
        let sill_up = SILL.min(sill);
        let floor = sill - sill_up;
        let storey = STOREY.max(head - floor + 0.5);
        let below = ((floor / storey).floor() as i32).min(60);
        let above = ((struck.value - floor) / storey).floor().clamp(1.0, 60.0) as i32;
        let levels = (-below..=above).map(|n| floor + f64::from(n) * storey);
        let levels: Vec<f64> = levels.collect();
        // A lowest floor close to the ground stands on it.
        let floors = levels.iter().copied().filter(|level| *level > 1.0);
        let others = levels.iter().filter(|level| **level != floor);
        let openings = others.map(|level| (level + sill_up, level + sill_up + head - sill));
        Building {
            floors: floors.map(Length::of_si).collect(),
            windows: openings
                .map(|(sill, head)| (Length::of_si(sill), Length::of_si(head)))
                .collect(),
            roof: Length::of_si(floor + f64::from(above + 1) * storey),
        }
    }

    /// Draws it behind the face at `window`, and keeps texts off it.
    pub fn draw(&self, canvas: &mut Canvas, labels: &mut Labels, frame: &Frame, window: &Window) {
        let ground = frame.sides().3;
        let x = frame.x.at(window.distance);
        let back = frame.x.at(window.distance + depth());
        let up = |height: Length| frame.y.at(height);
        let roof = up(self.roof);
        canvas.rect("soft", (x, roof), back - x, ground - roof);
        for floor in &self.floors {
            canvas.stroke("thin", &[(x, up(*floor)), (back, up(*floor))]);
        }
        canvas.rect("full", (x - 6.0, roof - THICK), back - x + 12.0, THICK);
        canvas.stroke("thin", &[(back, roof), (back, ground)]);
        self.face(canvas, (x, roof, ground), &up, window);
        labels.avoid(&[(x, ground), (x, roof)]);
        for y in [up(window.sill), up(window.head)] {
            labels.avoid(&[(x - 9.0, y), (x + THICK + 9.0, y)]);
        }
        labels.avoid(&[(x, roof), (back, roof)]);
        for floor in &self.floors {
            labels.avoid(&[(x, up(*floor)), (back, up(*floor))]);
        }
    }

    /// The wall between the openings, glass in those that are not aimed at, and
    /// the sill and head of the one that is.
    fn face(
        &self,
        canvas: &mut Canvas,
        (x, roof, ground): (f64, f64, f64),
        up: &dyn Fn(Length) -> f64,
        window: &Window,
    ) {
        let aimed = (window.sill, window.head);
        let mut openings: Vec<_> = self.windows.iter().copied().chain([aimed]).collect();
        openings.sort_by(|a, b| a.0.value.total_cmp(&b.0.value));
        let mut from = ground;
        for (sill, head) in openings {
            canvas.rect("full", (x, up(sill)), THICK, from - up(sill));
            from = up(head);
            if (sill, head) != aimed {
                canvas.rect("box", (x + 1.0, up(head)), THICK - 2.0, up(sill) - up(head));
            }
        }
        canvas.rect("full", (x, roof), THICK, from - roof);
        for y in [up(window.sill), up(window.head)] {
            canvas.stroke("hot", &[(x - 9.0, y), (x + THICK + 9.0, y)]);
        }
    }
}
