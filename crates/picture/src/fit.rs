//! A test's readings, what was fitted to them, and how far off each lies.

mod readings;
mod residuals;
mod words;

use crate::canvas::{Anchor, Canvas, NAME, SMALL, Spot};
use crate::drawing::Drawing;
use crate::frame::{Axis, Frame};
use crate::labels::{Label, Labels};
use hydraulics::units::{Kind, System};
use study::proof::{Drawn, DrawnPoint};

const WIDTH: f64 = 760.0;
const HEIGHT: f64 = 660.0;
const LEFT: f64 = 82.0;
const RIGHT: f64 = 690.0;
/// Top and bottom of the readings and of the residuals below them.
const READINGS: (f64, f64) = (92.0, 416.0);
const RESIDUALS: (f64, f64) = (462.0, 602.0);

/// The readings of a test with bars of 95 % in both directions, the fit with its 95 %
/// band, and the book's curve, dashed; below, along the same scale, what was measured
/// less what the fit expects. A point that stands out or was left out is an open
/// diamond with its number beside it; any other is a dot.
///
/// ```
/// use hydraulics::units::{Kind, System};
/// use study::proof::{Drawn, DrawnPoint};
/// let point = |point, x: f64, y| DrawnPoint {
///     point, x: [x, 0.0002], y: [y, 9000.0], residual: 1000.0, stands_out: false,
/// };
/// let drawn = Drawn {
///     x: ("flow", Kind::Flow),
///     y: ("friction loss", Kind::Pressure),
///     points: vec![point(1, 0.005, 1.0e5), point(2, 0.010, 4.0e5)],
///     fit: vec![[0.0, 0.0, 0.0, 0.0], [0.010, 3.99e5, 3.9e5, 4.1e5]],
///     book: Vec::new(),
/// };
/// let drawing = picture::fit(&drawn, System::Us);
/// assert_eq!(drawing.table.rows.len(), 2);
/// assert!(drawing.caption.starts_with("Friction loss over flow: 2 points"));
/// ```
pub fn fit(drawn: &Drawn, system: System) -> Drawing {
    let shown = Shown::of(drawn, system);
    let mut canvas = Canvas::new(WIDTH, HEIGHT);
    canvas.text((16.0, 24.0), Anchor::Start, NAME, &shown.heading());
    legend(&mut canvas, &shown);
    let upper = shown.upper();
    readings::draw(&mut canvas, &shown, &upper);
    let lower = shown.lower(upper.x.clone());
    residuals::draw(&mut canvas, &shown, &lower);
    let title = format!("Readings and fit: {}", shown.heading().to_lowercase());
    canvas.finish(&title, words::caption(&shown), words::table(&shown))
}

/// A test in the reader's units, without what is no number.
struct Shown<'a> {
    drawn: &'a Drawn,
    system: System,
    points: Vec<At<'a>>,
    /// x, y, lower and upper end of the band.
    fit: Vec<[f64; 4]>,
    book: Vec<Spot>,
}

/// One point: its place, and the half-lengths of its bars.
struct At<'a> {
    point: &'a DrawnPoint,
    at: Spot,
    bars: Spot,
    residual: f64,
    /// Half-length of the bar of the residual: both bars, as the fit joins them.
    residual_bar: f64,
}

impl<'a> Shown<'a> {
    fn of(drawn: &'a Drawn, system: System) -> Self {
        let x = |si: f64| drawn.x.1.unit(system).from_si(si);
        let y = |si: f64| drawn.y.1.unit(system).from_si(si);
        let width = |read: &dyn Fn(f64) -> f64, half: f64| (read(half) - read(0.0)).abs();
        let fit = drawn
            .fit
            .iter()
            .map(|f| [x(f[0]), y(f[1]), y(f[2]), y(f[3])]);
        let fit: Vec<[f64; 4]> = fit
            .filter(|f| f[0].is_finite() && f[1].is_finite())
            .collect();
        let at = |point: &'a DrawnPoint| {
            let bars = (width(&x, point.x[1]), width(&y, point.y[1]));
            let at = (x(point.x[0]), y(point.y[0]));
            let steep = slope(&fit, at.0);
            At {
                point,
                at,
                bars: (finite(bars.0), finite(bars.1)),
                residual: y(point.residual) - y(0.0),
                residual_bar: finite((steep * bars.0).hypot(bars.1)),
            }
        };
        let points = drawn.points.iter().map(at);
        let book = drawn.book.iter().map(|b| (x(b[0]), y(b[1])));
        Shown {
            drawn,
            system,
            points: points.filter(|p| number(p.at)).collect(),
            book: book.filter(|b| number(*b)).collect(),
            fit,
        }
    }

    fn heading(&self) -> String {
        format!("{} over {}", capital(self.drawn.y.0), self.drawn.x.0)
    }

    fn axis(&self, (name, kind): (&str, Kind), ends: Spot, pixels: Spot) -> Axis {
        Axis::new((&capital(name), kind, self.system), ends, pixels)
    }

    fn upper(&self) -> Frame {
        let bars = |p: &At<'_>| reach(p.at.0, p.bars.0);
        let x = self.points.iter().flat_map(bars);
        let x = x.chain(self.fit.iter().map(|f| f[0]));
        let bars = |p: &At<'_>| reach(p.at.1, p.bars.1);
        let y = self.points.iter().flat_map(bars);
        let y = y.chain(self.fit.iter().map(|f| f[1]));
        let y = y.chain(self.book.iter().map(|b| b.1));
        Frame {
            x: self.axis(self.drawn.x, ends(x), (LEFT, RIGHT)),
            y: self.axis(self.drawn.y, ends(y), (READINGS.1, READINGS.0)),
        }
    }

    fn lower(&self, x: Axis) -> Frame {
        let furthest = |p: &At<'_>| finite(p.residual.abs()) + p.residual_bar;
        let most = self.points.iter().map(furthest).fold(0.0_f64, f64::max);
        let most = if most > 0.0 { most } else { 1.0 };
        let kind = self.drawn.y.1;
        let pixels = (RESIDUALS.1, RESIDUALS.0);
        Frame {
            x,
            y: self.axis(("residual", kind), (-most, most), pixels),
        }
    }
}

/// The ends of a bar; none goes below nought where its point does not: there is no flow
/// below it.
fn reach(at: f64, bar: f64) -> [f64; 2] {
    [(at - bar).max(at.min(0.0)), at + bar]
}

/// How steep the fit is at `x`.
fn slope(fit: &[[f64; 4]], x: f64) -> f64 {
    let pairs = fit.iter().zip(fit.iter().skip(1));
    let holds = |(a, b): &(&[f64; 4], &[f64; 4])| a[0] <= x && x <= b[0] && a[0] < b[0];
    let last = pairs.clone().rfind(|(a, b)| a[0] < b[0] && b[0] <= x);
    let found = pairs.clone().find(holds).or(last);
    found.map_or(0.0, |(a, b)| (b[1] - a[1]) / (b[0] - a[0]))
}

/// The ends of a scale for `values`: from nought, unless that would press all of them
/// into a corner.
fn ends(values: impl Iterator<Item = f64>) -> Spot {
    let values = values.filter(|value| value.is_finite());
    let none = (f64::INFINITY, f64::NEG_INFINITY);
    let (low, high) = values.fold(none, |(low, high), v| (low.min(v), high.max(v)));
    match low <= high {
        false => (0.0, 1.0),
        true if low > 0.4 * high && high > low => (low, high),
        true => (low.min(0.0), high.max(0.0)),
    }
}

fn finite(value: f64) -> f64 {
    if value.is_finite() { value } else { 0.0 }
}

fn number((x, y): Spot) -> bool {
    x.is_finite() && y.is_finite()
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    let first = letters.next().into_iter().flat_map(char::to_uppercase);
    first.chain(letters).collect()
}

/// What the marks mean, above the readings.
fn legend(canvas: &mut Canvas, shown: &Shown<'_>) {
    mark(canvas, (90.0, 47.0), false);
    canvas.stroke("thin", &[(80.0, 47.0), (100.0, 47.0)]);
    canvas.stroke("thin", &[(90.0, 39.0), (90.0, 55.0)]);
    let text = |canvas: &mut Canvas, x, y, words| {
        canvas.text((x, y + 5.0), Anchor::Start, SMALL, words);
    };
    text(canvas, 108.0, 47.0, "point, bars of 95 %");
    mark(canvas, (320.0, 47.0), true);
    text(canvas, 336.0, 47.0, "stands out, or was left out");
    if !shown.fit.is_empty() {
        canvas.rect("soft", (80.0, 61.0), 20.0, 16.0);
        canvas.stroke("main", &[(80.0, 69.0), (100.0, 69.0)]);
        text(canvas, 108.0, 69.0, "fit, with its band of 95 %");
    }
    if !shown.book.is_empty() {
        canvas.stroke("hot dash", &[(300.0, 69.0), (330.0, 69.0)]);
        text(canvas, 336.0, 69.0, "what the book says");
    }
}

/// The mark of a point.
fn mark(canvas: &mut Canvas, (x, y): Spot, apart: bool) {
    match apart {
        false => canvas.circle("full", (x, y), 3.8),
        true => {
            let four = [(x - 7.0, y), (x, y - 7.0), (x + 7.0, y), (x, y + 7.0)];
            canvas.shape("hot", &four);
        }
    }
}

fn write(canvas: &mut Canvas, labels: &mut Labels, line: (&str, f64), at: &[Spot]) {
    labels.write(canvas, &Label { lines: &[line], at });
}
