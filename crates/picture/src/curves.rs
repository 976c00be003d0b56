//! Curves over one pair of axes, each with its name, and the points that are known
//! of them.

use crate::canvas::{Anchor, Canvas, NAME, SMALL, Spot};
use crate::drawing::{Drawing, Table};
use crate::frame::{Axis, Frame};
use crate::labels::{Label, Labels};
use crate::text::shorten;
use hydraulics::units::{Kind, System};

const WIDTH: f64 = 760.0;
const HEIGHT: f64 = 480.0;

/// Points of a curve.
pub const POINTS: u32 = 60;

/// One curve; its points in the reader's units.
pub struct Curve {
    /// How it is drawn.
    pub class: &'static str,
    /// What it is; empty where another piece of it is named.
    pub name: String,
    pub points: Vec<Spot>,
}

/// A point that is known; its place in the reader's units.
pub struct Known {
    pub at: Spot,
    /// What is said when it is asked.
    pub said: String,
    /// What stands beside it.
    pub label: String,
}

/// Everything that is drawn, in the reader's units.
pub struct Plot<'a> {
    pub heading: &'a str,
    pub system: System,
    pub x: (&'static str, Kind),
    pub y: (&'static str, Kind),
    pub curves: Vec<Curve>,
    /// The lower and the upper edge of a shaded band.
    pub band: Option<(Vec<Spot>, Vec<Spot>)>,
    /// Level lines, and what each is.
    pub levels: Vec<(f64, String)>,
    pub known: Vec<Known>,
}

impl Plot<'_> {
    pub fn draw(&self, title: &str, caption: String, table: Table) -> Drawing {
        let frame = self.frame();
        let mut canvas = Canvas::new(WIDTH, HEIGHT);
        let heading = shorten(self.heading, NAME, WIDTH - 32.0);
        canvas.text((16.0, 24.0), Anchor::Start, NAME, &heading);
        self.shade(&mut canvas, &frame);
        frame.draw(&mut canvas);
        let (left, _, top, bottom) = frame.sides();
        let mut labels = Labels::within((left + 4.0, top - 16.0), (WIDTH - 6.0, bottom - 2.0));
        self.strokes(&mut canvas, &mut labels, &frame);
        self.points(&mut canvas, &mut labels, &frame);
        self.names(&mut canvas, &mut labels, &frame);
        canvas.finish(title, caption, table)
    }

    fn frame(&self) -> Frame {
        let edges = self.band.iter().flat_map(|(_, upper)| upper);
        let drawn = self.curves.iter().flat_map(|curve| &curve.points);
        let known = self.known.iter().map(|known| &known.at);
        let all = drawn.chain(edges).chain(known);
        let (x, y) = all.fold((0.0_f64, 0.0_f64), |most, at| {
            (most.0.max(at.0), most.1.max(at.1))
        });
        let level = self.levels.iter().map(|level| level.0);
        let y = level.fold(y, f64::max);
        let axis = |(title, kind), most, pixels| {
            Axis::new((title, kind, self.system), (0.0, most), pixels)
        };
        Frame {
            x: axis(self.x, x, (78.0, 690.0)),
            y: axis(self.y, y, (420.0, 52.0)),
        }
    }

    fn shade(&self, canvas: &mut Canvas, frame: &Frame) {
        let Some((lower, upper)) = &self.band else {
            return;
        };
        let round = lower.iter().chain(upper.iter().rev());
        let round: Vec<Spot> = round.map(|at| place(frame, *at)).collect();
        canvas.shape("soft", &round);
    }

    fn strokes(&self, canvas: &mut Canvas, labels: &mut Labels, frame: &Frame) {
        let (left, right, _, _) = frame.sides();
        for (level, _) in &self.levels {
            let y = frame.y.scale.at(*level);
            canvas.stroke("thin dot", &[(left, y), (right, y)]);
            labels.avoid(&[(left, y), (right, y)]);
        }
        for curve in &self.curves {
            let points = placed(frame, &curve.points);
            canvas.stroke(curve.class, &points);
            labels.avoid(&points);
        }
        for known in &self.known {
            labels.avoid_mark(place(frame, known.at));
        }
    }

    fn points(&self, canvas: &mut Canvas, labels: &mut Labels, frame: &Frame) {
        for known in &self.known {
            let at = place(frame, known.at);
            canvas.point(&known.said, |canvas| {
                canvas.rect("full", (at.0 - 4.5, at.1 - 4.5), 9.0, 9.0);
            });
            write(canvas, labels, (&known.label, NAME), &[at]);
        }
    }

    fn names(&self, canvas: &mut Canvas, labels: &mut Labels, frame: &Frame) {
        for curve in self.curves.iter().filter(|curve| !curve.name.is_empty()) {
            let points = placed(frame, &curve.points);
            let along = [0.85, 0.7, 0.55, 0.95, 0.4].map(|share| spot_along(&points, share));
            write(canvas, labels, (&curve.name, NAME), &along);
        }
        let left = frame.sides().0;
        for (level, words) in &self.levels {
            let at = (left + 4.0, frame.y.scale.at(*level));
            write(canvas, labels, (words, SMALL), &[at]);
        }
    }
}

fn place(frame: &Frame, (x, y): Spot) -> Spot {
    (frame.x.scale.at(x), frame.y.scale.at(y))
}

fn placed(frame: &Frame, points: &[Spot]) -> Vec<Spot> {
    points.iter().map(|at| place(frame, *at)).collect()
}

fn write(canvas: &mut Canvas, labels: &mut Labels, line: (&str, f64), at: &[Spot]) {
    labels.write(canvas, &Label { lines: &[line], at });
}

/// The point that lies `share` of the points along a curve.
fn spot_along(points: &[Spot], share: f64) -> Spot {
    let index = (points.len().saturating_sub(1) as f64 * share).round() as usize;
    points.get(index).copied().unwrap_or((0.0, 0.0))
}
