//! The stream in the air: how far it is good, where the last water lands, and
//! whether it enters a window.

mod building;

use crate::canvas::{Anchor, Canvas, NAME, SMALL, Spot};
use crate::drawing::{Drawing, Table};
use crate::frame::{Axis, Frame, ticks, value};
use crate::labels::{Label, Labels};
use crate::text::shorten;
use building::Building;
use hydraulics::stream::{PathPoint, Stream, Strike};
use hydraulics::units::{Kind, Length, Measure, System, show};

const WIDTH: f64 = 760.0;
const LEFT: f64 = 78.0;
/// The most that the plot may be wide and high.
const MOST: (f64, f64) = (600.0, 360.0);
const TOP: f64 = 56.0;

/// A window in a building's face.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Window {
    /// Level distance of the face from the tip.
    pub distance: Length,
    /// Height of the window's sill above the ground.
    pub sill: Length,
    /// Height of its head above the ground.
    pub head: Length,
}

/// The stream called `name` in the air, to scale in both directions, with its
/// effective reach, its greatest throw and, if asked, a building's face with a
/// window and what the stream does there.
///
/// ```
/// use hydraulics::stream::{Quality, Stream};
/// use hydraulics::units::{parse, psi, Kind, System};
/// let stream = Stream::new(parse(Kind::Size, "1 in")?, psi(50.0), Quality::Solid);
/// let window = picture::Window {
///     distance: parse(Kind::Length, "40 ft")?,
///     sill: parse(Kind::Length, "20 ft")?,
///     head: parse(Kind::Length, "25 ft")?,
/// };
/// let drawing = picture::stream("1 in tip", &stream, Some(&window), System::Us);
/// assert!(drawing.caption.contains("61 ft"));
/// # Ok::<(), hydraulics::units::UnitError>(())
/// ```
pub fn stream(name: &str, stream: &Stream, window: Option<&Window>, system: System) -> Drawing {
    let path = stream.path(81);
    let frame = frame(stream, &path, window, system);
    let (left, _, _, bottom) = frame.sides();
    let mut canvas = Canvas::new(WIDTH, bottom + 62.0);
    let heading = shorten(name, NAME, WIDTH - 32.0);
    canvas.text((16.0, 24.0), Anchor::Start, NAME, &heading);
    frame.draw(&mut canvas);
    let mut labels = Labels::within((left + 4.0, 30.0), (WIDTH - 4.0, bottom - 3.0));
    let at = Drawn {
        stream,
        frame: &frame,
        system,
    };
    let flown = at.path(&mut canvas, &path, window);
    labels.avoid(&flown);
    for (length, _, _) in at.marked(window) {
        labels.avoid_mark(at.on_path(length));
    }
    let struck = window.map(|window| at.face(&mut canvas, &mut labels, window));
    at.marks(&mut canvas, &mut labels, window);
    let (reach, throw) = (stream.effective_reach(), stream.maximum_throw());
    let caption = format!(
        "{name} at {} nozzle pressure, {} up: a good stream to {}, the last water lands at {}, \
         its greatest height is {}.{}",
        show(Kind::Pressure, stream.pressure, system),
        show(Kind::Angle, stream.angle, system),
        show(Kind::Length, reach, system),
        show(Kind::Length, throw.distance, system),
        show(Kind::Length, throw.greatest_height, system),
        struck.map(|s| format!(" {s}.")).unwrap_or_default()
    );
    canvas.finish(&format!("Stream of {name}"), caption, table(&path, system))
}

/// What a stream does at a window, in words with its numbers.
fn words(strike: Strike, window: &Window, good: Length, system: System) -> String {
    let length = |l| show(Kind::Length, l, system);
    let away = length(window.distance);
    let (sill, head) = (length(window.sill), length(window.head));
    match strike {
        Strike::Enters(height) => {
            let far = match window.distance > good {
                true => format!(
                    ", past the good stream at {}: little of it will do any good there",
                    length(good)
                ),
                false => String::new(),
            };
            format!(
                "It enters the window {away} away at {}, between {sill} and {head}{far}",
                length(height)
            )
        }
        Strike::Below(height) => format!(
            "It strikes the wall {away} away at {}, below the sill at {sill}",
            length(height)
        ),
        Strike::Above(height) => format!(
            "It comes to the wall {away} away at {}, above the window's head at {head}",
            length(height)
        ),
        Strike::Short => format!("It falls short of the wall {away} away"),
    }
}

fn brief(strike: Strike) -> &'static str {
    match strike {
        Strike::Enters(_) => "enters the window",
        Strike::Below(_) => "strikes below the sill",
        Strike::Above(_) => "strikes above the window",
        Strike::Short => "falls short of the wall",
    }
}

/// How high the stream comes to the window's wall, if it comes so far.
fn struck_at(stream: &Stream, window: &Window) -> Option<Length> {
    match stream.at_window(window.distance, window.sill, window.head) {
        Strike::Enters(height) | Strike::Below(height) | Strike::Above(height) => Some(height),
        Strike::Short => None,
    }
}

/// The building of `window`, high enough for what the stream does there.
fn building(stream: &Stream, window: &Window) -> Building {
    Building::of(window, struck_at(stream, window).unwrap_or_default())
}

/// A metre beyond what is drawn.
fn spare() -> Length {
    Length::of_si(1.0)
}

/// One pixel is as much along as it is up.
fn frame(stream: &Stream, path: &[PathPoint], window: Option<&Window>, system: System) -> Frame {
    let reader = |length: Length| value(Kind::Length, length, system);
    let far = path.iter().map(|p| reader(p.distance)).fold(0.0, f64::max);
    let face = window.map_or(0.0, |w| reader(w.distance + building::depth()));
    // What lies behind a wall that stops the stream is not looked at.
    let far = match window {
        Some(window) if struck_at(stream, window).is_some() => 0.0,
        _ => far,
    };
    let long = far.max(face).max(reader(spare() * 5.0));
    let high = path.iter().map(|p| reader(p.height)).fold(0.0, f64::max);
    let wall = window.map_or(0.0, |w| reader(building(stream, w).roof + spare()));
    let high = high.max(wall).max(reader(spare() * 3.0));
    let along = |right| {
        let named = ("Distance from the tip", Kind::Length, system);
        Axis::new(named, (0.0, long), (LEFT, right))
    };
    let wide = along(LEFT + MOST.0);
    let each = (MOST.0 / wide.scale.high).min(MOST.1 / high);
    let mut x = along(LEFT + (each * wide.scale.high).max(120.0));
    let each = (x.scale.to - x.scale.from) / x.scale.high;
    let bottom = TOP + each * high;
    let named = ("Height", Kind::Length, system);
    let mut y = Axis::new(named, (0.0, high), (bottom, TOP));
    // Round numbers must not stretch the one direction against the other.
    if y.ticks.iter().filter(|tick| **tick <= high).count() < 3 {
        y.ticks = ticks(0.0, high, 3);
    }
    y.ticks.retain(|tick| *tick <= high * 1.001);
    y.scale.high = high;
    x.ticks.retain(|tick| *tick <= x.scale.high * 1.001);
    Frame { x, y }
}

struct Drawn<'a> {
    stream: &'a Stream,
    frame: &'a Frame,
    system: System,
}

impl Drawn<'_> {
    fn spot(&self, point: &PathPoint) -> Spot {
        self.frame.spot(point.distance, point.height)
    }

    /// The path as far as the stream is good, dashed beyond, and no farther than the
    /// wall in its way.
    fn path(&self, canvas: &mut Canvas, path: &[PathPoint], window: Option<&Window>) -> Vec<Spot> {
        let far = Length::of_si(f64::INFINITY);
        let wall = window.map_or(far, |window| window.distance);
        let reach = self.stream.effective_reach();
        let stretches = [
            ("main", Length::of_si(0.0), reach.min(wall)),
            ("main dash", reach, wall),
        ];
        for (class, from, to) in stretches {
            canvas.stroke(class, &self.between(path, from, to));
        }
        let flown = path.iter().filter(|point| point.distance <= wall);
        flown.map(|point| self.spot(point)).collect()
    }

    /// The points of the path between two distances, both ends on it.
    fn between(&self, path: &[PathPoint], from: Length, to: Length) -> Vec<Spot> {
        if to <= from {
            return Vec::new();
        }
        let end = |distance: Length| {
            let height = self.stream.height_at(distance)?;
            Some(PathPoint { distance, height })
        };
        let inner = path.iter().copied();
        let inner = inner.filter(|p| p.distance > from && p.distance < to);
        let ends = (end(from), end(to).filter(|_| to.value.is_finite()));
        let all = ends.0.into_iter().chain(inner).chain(ends.1);
        all.map(|point| self.spot(&point)).collect()
    }

    /// The spot of the path at a level distance; on the ground past its end.
    fn on_path(&self, distance: Length) -> Spot {
        let height = self.stream.height_at(distance).unwrap_or_default();
        self.frame.spot(distance, height)
    }

    /// Effective reach and throw, with their marks: those before the wall that stops
    /// the stream.
    fn marked(&self, window: Option<&Window>) -> Vec<(Length, &'static str, f64)> {
        let (reach, throw) = (self.stream.effective_reach(), self.stream.maximum_throw());
        let mut marks = vec![
            (reach, "good stream", 5.5),
            (throw.distance, "last water", 4.0),
        ];
        if let Some(window) = window.filter(|w| struck_at(self.stream, w).is_some()) {
            marks.retain(|(length, _, _)| *length < window.distance);
        }
        marks
    }

    /// Effective reach and throw along the ground, and the tip.
    fn marks(&self, canvas: &mut Canvas, labels: &mut Labels, window: Option<&Window>) {
        let ground = self.frame.sides().3;
        let tip = self.frame.spot(Length::of_si(0.0), self.stream.height);
        let pressure = show(Kind::Pressure, self.stream.pressure, self.system);
        let angle = show(Kind::Angle, self.stream.angle, self.system);
        let said = format!("Tip: {pressure} nozzle pressure, {angle} up");
        canvas.point(&said, |canvas| canvas.circle("full", tip, 4.0));
        for (length, what, radius) in self.marked(window) {
            let (x, up) = self.on_path(length);
            let shown = show(Kind::Length, length, self.system);
            canvas.stroke("thin dot", &[(x, up), (x, ground)]);
            canvas.point(&format!("{what} to {shown}"), |canvas| {
                canvas.circle("full", (x, up), radius);
            });
            let lines = [(shown.as_str(), 20.0), (what, SMALL)];
            let at = (x, up);
            labels.write(
                canvas,
                &Label {
                    lines: &lines,
                    at: &[at],
                },
            );
        }
    }

    /// The building's face, and what the stream does there.
    fn face(&self, canvas: &mut Canvas, labels: &mut Labels, window: &Window) -> String {
        let ground = self.frame.sides().3;
        let x = self.frame.x.at(window.distance);
        building(self.stream, window).draw(canvas, labels, self.frame, window);
        let strike = self
            .stream
            .at_window(window.distance, window.sill, window.head);
        let words = words(strike, window, self.stream.effective_reach(), self.system);
        let height = struck_at(self.stream, window);
        let at = height.map_or((x, ground), |h| (x, self.frame.y.at(h)));
        labels.avoid_mark(at);
        canvas.point(&words, |canvas| {
            canvas.circle("spot", at, 6.0);
            canvas.circle("ring", at, 6.0);
        });
        let shown = height.map(|h| format!("{} up", show(Kind::Length, h, self.system)));
        let shown = shown.unwrap_or_default();
        let mut lines = vec![(brief(strike), NAME)];
        if height.is_some() {
            lines.push((shown.as_str(), NAME));
        }
        labels.write(
            canvas,
            &Label {
                lines: &lines,
                at: &[at],
            },
        );
        let length = |l| show(Kind::Length, l, self.system);
        let opening = format!(
            "window, {} to {} up",
            length(window.sill),
            length(window.head)
        );
        let middle = 0.5 * (self.frame.y.at(window.sill) + self.frame.y.at(window.head));
        let lines = [(opening.as_str(), SMALL)];
        let at = [(x + 16.0, middle)];
        labels.write(
            canvas,
            &Label {
                lines: &lines,
                at: &at,
            },
        );
        words
    }
}

fn table(path: &[PathPoint], system: System) -> Table {
    let mut table = Table::new(&["Distance", "Height"]);
    let row = |point: &PathPoint| {
        vec![
            show(Kind::Length, point.distance, system),
            show(Kind::Length, point.height, system),
        ]
    };
    let last = path.len().saturating_sub(1);
    let chosen = path.iter().enumerate();
    let chosen = chosen.filter(|(index, _)| index % 8 == 0 || *index == last);
    table.rows = chosen.map(|(_, point)| row(point)).collect();
    table
}
