//! Where texts can stand without lying on each other or on a stroke.

use crate::canvas::{Anchor, Canvas, Spot};
use crate::text;

/// A box on the sheet.
#[derive(Debug, Clone, Copy)]
struct Patch {
    left: f64,
    right: f64,
    top: f64,
    bottom: f64,
}

impl Patch {
    fn meets(&self, other: &Patch) -> bool {
        self.left < other.right
            && other.left < self.right
            && self.top < other.bottom
            && other.top < self.bottom
    }

    /// Does the stroke from `a` to `b` pass through?
    fn is_crossed(&self, a: Spot, b: Spot) -> bool {
        // Cut the stroke to the box, side by side.
        let (dx, dy) = (b.0 - a.0, b.1 - a.1);
        let sides = [
            (-dx, a.0 - self.left),
            (dx, self.right - a.0),
            (-dy, a.1 - self.top),
            (dy, self.bottom - a.1),
        ];
        let (mut from, mut to) = (0.0_f64, 1.0_f64);
        for (towards, room) in sides {
            if towards == 0.0 && room < 0.0 {
                return false;
            }
            if towards < 0.0 {
                from = from.max(room / towards);
            } else if towards > 0.0 {
                to = to.min(room / towards);
            }
        }
        from <= to
    }
}

/// The sheet's room for texts.
pub struct Labels {
    sheet: Patch,
    taken: Vec<Patch>,
    marks: Vec<Patch>,
    strokes: Vec<(Spot, Spot)>,
}

/// A text with its size, one or more lines.
pub struct Label<'a> {
    pub lines: &'a [(&'a str, f64)],
    /// What it belongs to: any of these spots.
    pub at: &'a [Spot],
}

impl Labels {
    /// Texts may stand from the left top to the right bottom.
    pub fn within((left, top): Spot, (right, bottom): Spot) -> Self {
        Labels {
            sheet: Patch {
                left,
                right,
                top,
                bottom,
            },
            taken: Vec::new(),
            marks: Vec::new(),
            strokes: Vec::new(),
        }
    }

    /// Keeps texts off a stroke.
    pub fn avoid(&mut self, points: &[Spot]) {
        let ends = points.iter().zip(points.iter().skip(1));
        self.strokes.extend(ends.map(|(a, b)| (*a, *b)));
    }

    /// Keeps texts off a mark at a spot.
    pub fn avoid_mark(&mut self, (x, y): Spot) {
        const HALF: f64 = 7.0;
        self.marks.push(Patch {
            left: x - HALF,
            right: x + HALF,
            top: y - HALF,
            bottom: y + HALF,
        });
    }

    /// Writes `label` near its place, where there is most room for it; a thin
    /// stroke leads to it when it stands far off.
    pub fn write(&mut self, canvas: &mut Canvas, label: &Label<'_>) {
        if let Some((_, at, patch)) = self.best(label, usize::MAX) {
            self.put(canvas, label, at, patch);
        }
    }

    /// Writes `label` close to its place, or not at all where it would lie on another
    /// text, on a mark or over the edge. Was it written?
    pub fn write_if_free(&mut self, canvas: &mut Canvas, label: &Label<'_>) -> bool {
        const NEAR: usize = 20;
        match self.best(label, NEAR) {
            Some((fault, at, patch)) if fault < 3.0 => {
                self.put(canvas, label, at, patch);
                true
            }
            _ => false,
        }
    }

    /// The best of the nearest `most` places about each spot, and how bad it is.
    fn best(&self, label: &Label<'_>, most: usize) -> Option<(f64, Spot, Patch)> {
        let (width, height) = extent(label);
        let all = label.at.iter().flat_map(|at| {
            let places = places(*at, width, height).into_iter().enumerate();
            places.take(most).map(|(order, patch)| {
                let fault = self.fault(&patch) + 2.0 * self.between(*at, &patch);
                (fault + order as f64 * 0.01, *at, patch)
            })
        });
        all.reduce(|a, b| if b.0 < a.0 { b } else { a })
    }

    fn put(&mut self, canvas: &mut Canvas, label: &Label<'_>, at: Spot, patch: Patch) {
        self.lead(canvas, at, &patch);
        let anchor = match 0.5 * (patch.left + patch.right) < at.0 - 2.0 {
            true => Anchor::End,
            false => Anchor::Start,
        };
        let x = match anchor {
            Anchor::End => patch.right,
            _ => patch.left,
        };
        let mut y = patch.top;
        for (line, size) in label.lines {
            y += size;
            canvas.text((x, y), anchor, *size, line);
            y += 0.22 * size;
        }
        self.taken.push(patch);
    }

    fn lead(&self, canvas: &mut Canvas, (x, y): Spot, patch: &Patch) {
        let nearest = (
            x.clamp(patch.left, patch.right),
            y.clamp(patch.top, patch.bottom),
        );
        if (nearest.0 - x).hypot(nearest.1 - y) > 24.0 {
            canvas.stroke("lead", &[(x, y), nearest]);
        }
    }

    /// How many strokes lie between a place and the middle of its text, the one on
    /// which it lies aside.
    fn between(&self, at: Spot, patch: &Patch) -> f64 {
        let middle = (
            0.5 * (patch.left + patch.right),
            0.5 * (patch.top + patch.bottom),
        );
        let way = (middle.0 - at.0, middle.1 - at.1);
        let crosses = |(a, b): &&(Spot, Spot)| {
            let along = (b.0 - a.0, b.1 - a.1);
            let across = way.0 * along.1 - way.1 * along.0;
            let from = (a.0 - at.0, a.1 - at.1);
            let on_way = (from.0 * along.1 - from.1 * along.0) / across;
            let on_stroke = (from.0 * way.1 - from.1 * way.0) / across;
            (0.02..=1.0).contains(&on_way) && (0.0..=1.0).contains(&on_stroke)
        };
        (self.strokes.iter().filter(crosses).count() as f64).min(2.0)
    }

    /// How badly a text would stand there.
    fn fault(&self, patch: &Patch) -> f64 {
        let sheet = &self.sheet;
        let outside = patch.left < sheet.left
            || patch.right > sheet.right
            || patch.top < sheet.top
            || patch.bottom > sheet.bottom;
        let texts = self.taken.iter().filter(|other| patch.meets(other)).count();
        let marks = self.marks.iter().filter(|mark| patch.meets(mark)).count();
        let crossed = self.strokes.iter();
        let crossed = crossed.filter(|(a, b)| patch.is_crossed(*a, *b)).count();
        let outside = if outside { 100.0 } else { 0.0 };
        outside + 10.0 * texts as f64 + 3.0 * marks as f64 + (crossed as f64).min(6.0)
    }
}

/// How wide and how high a label is.
fn extent(label: &Label<'_>) -> (f64, f64) {
    let lines = label.lines.iter();
    let width = lines.clone().map(|(line, size)| text::width(line, *size));
    let height = lines.map(|(_, size)| size * 1.22);
    (width.fold(0.0, f64::max), height.sum())
}

/// Boxes round about a place, the nearest first.
fn places((x, y): Spot, width: f64, height: f64) -> Vec<Patch> {
    let mut places = Vec::new();
    for away in [8.0_f64, 20.0, 34.0, 50.0, 70.0, 95.0, 125.0, 160.0, 200.0] {
        let right = x + away.min(40.0);
        let left = x - away.min(40.0) - width;
        let (above, below) = (y - away - height, y + away);
        for (left, top) in [
            (right, above),
            (right, below),
            (right, y - 0.5 * height),
            (left, above),
            (left, below),
            (left, y - 0.5 * height),
            (x - 0.5 * width, above),
            (x - 2.0 * away.min(40.0) - width, y - 6.0 - height),
            (x + 2.0 * away.min(40.0), y - 6.0 - height),
            (x - 0.5 * width, below),
        ] {
            places.push(Patch {
                left,
                right: left + width,
                top,
                bottom: top + height,
            });
        }
    }
    places
}
