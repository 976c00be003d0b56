//! What a main has left as more is drawn from it.

use crate::canvas::{Anchor, Canvas, NAME, SMALL, Spot};
use crate::drawing::{Drawing, Table};
use crate::frame::{Axis, Frame, value};
use crate::labels::{Label, Labels};
use crate::text::shorten;
use hydraulics::hydrant::{FlowTest, LEAST_RESIDUAL_PSI};
use hydraulics::units::{Kind, Measure, Pressure, System, VolumeRate, psi, show};
use study::scene::MainAnswer;

const WIDTH: f64 = 760.0;
const HEIGHT: f64 = 480.0;
const POINTS: u32 = 60;

/// A main's residual over flow: its test, the least residual of 20 psi, what is
/// drawn now, and what one more line would leave.
pub fn supply_curve(main: &MainAnswer, system: System) -> Drawing {
    let more = main.flow + main.next_flow;
    let now = Mark {
        what: "now",
        flow: main.flow,
        residual: main.residual,
        shape: Shape::Now,
    };
    let next = Mark {
        what: "with one more line",
        flow: more,
        residual: main.next_residual,
        shape: Shape::Next,
    };
    draw(&main.name, &main.test, vec![now, next], system)
}

/// A hydrant's residual over flow from its test alone.
///
/// ```
/// use hydraulics::hydrant::FlowTest;
/// use hydraulics::units::{gpm, psi, System};
/// let test = FlowTest::new(psi(70.0), psi(50.0), gpm(1000.0))?;
/// let drawing = picture::tested("corner", &test, System::Us);
/// assert!(drawing.caption.contains("1640 gpm"));
/// # Ok::<(), hydraulics::hydrant::TestError>(())
/// ```
pub fn tested(name: &str, test: &FlowTest, system: System) -> Drawing {
    draw(name, test, Vec::new(), system)
}

#[derive(Clone, Copy, PartialEq)]
enum Shape {
    Test,
    Least,
    Now,
    Next,
}

struct Mark {
    what: &'static str,
    flow: VolumeRate,
    residual: Pressure,
    shape: Shape,
}

impl Mark {
    fn said(&self, system: System) -> String {
        format!(
            "{}: {} residual at {}",
            self.what,
            show(Kind::Pressure, self.residual, system),
            show(Kind::Flow, self.flow, system)
        )
    }

    fn draw(&self, canvas: &mut Canvas, (x, y): Spot) {
        match self.shape {
            Shape::Test => canvas.rect("full", (x - 5.0, y - 5.0), 10.0, 10.0),
            Shape::Least => {
                let four = [(x - 7.0, y), (x, y - 7.0), (x + 7.0, y), (x, y + 7.0)];
                canvas.shape("full", &four);
            }
            Shape::Now => {
                canvas.circle("spot", (x, y), 6.5);
                canvas.circle("ring", (x, y), 6.5);
            }
            Shape::Next => {
                let three = [(x - 7.0, y + 5.0), (x, y - 8.0), (x + 7.0, y + 5.0)];
                canvas.shape("hot", &three);
            }
        }
    }
}

fn marks(test: &FlowTest, mut asked: Vec<Mark>) -> Vec<Mark> {
    let least = psi(LEAST_RESIDUAL_PSI);
    asked.push(Mark {
        what: "flow test",
        flow: test.flow(),
        residual: test.residual(),
        shape: Shape::Test,
    });
    if test.still() > least {
        asked.push(Mark {
            what: "most at the least residual",
            flow: test.available(least),
            residual: least,
            shape: Shape::Least,
        });
    }
    asked
}

fn draw(name: &str, test: &FlowTest, asked: Vec<Mark>, system: System) -> Drawing {
    let marks = marks(test, asked);
    let zero = Pressure::of_si(0.0);
    let farthest = marks.iter().map(|mark| mark.flow);
    let farthest = farthest.fold(test.available(zero), VolumeRate::max);
    let frame = frame(test, &marks, farthest, system);
    let mut canvas = Canvas::new(WIDTH, HEIGHT);
    let heading = shorten(name, NAME, WIDTH - 32.0);
    canvas.text((16.0, 24.0), Anchor::Start, NAME, &heading);
    frame.draw(&mut canvas);
    let (left, right, top, bottom) = frame.sides();
    let mut labels = Labels::within((left + 4.0, top - 16.0), (WIDTH - 6.0, bottom - 2.0));
    curves(&mut canvas, &mut labels, &frame, test);
    let at = |mark: &Mark| frame.spot(mark.flow, mark.residual);
    for mark in &marks {
        canvas.point(&mark.said(system), |canvas| mark.draw(canvas, at(mark)));
        let (x, y) = at(mark);
        labels.avoid_mark((x, y));
    }
    for mark in &marks {
        let both = format!(
            "{}, {}",
            show(Kind::Flow, mark.flow, system),
            show(Kind::Pressure, mark.residual, system)
        );
        let size = if mark.shape == Shape::Now { 20.0 } else { NAME };
        let lines = [(both.as_str(), size), (mark.what, SMALL)];
        let at = at(mark);
        labels.write(
            &mut canvas,
            &Label {
                lines: &lines,
                at: &[at],
            },
        );
    }
    least_mark(&mut canvas, &mut labels, &frame, (left, right), system);
    let title = format!("Supply curve of {name}");
    let caption = caption(name, test, &marks, system);
    canvas.finish(&title, caption, table(test, &marks, system))
}

/// The curve down to the least residual, dashed below it.
fn curves(canvas: &mut Canvas, labels: &mut Labels, frame: &Frame, test: &FlowTest) {
    let zero = Pressure::of_si(0.0);
    let least = psi(LEAST_RESIDUAL_PSI);
    let ends = (test.available(least), test.available(zero));
    for (class, from, to) in [
        ("main", VolumeRate::of_si(0.0), ends.0),
        ("main dash", ends.0, ends.1),
    ] {
        let points: Vec<Spot> = (0..=POINTS)
            .map(|n| from + (to - from) * (f64::from(n) / f64::from(POINTS)))
            .map(|flow| frame.spot(flow, test.residual_at(flow)))
            .collect();
        canvas.stroke(class, &points);
        labels.avoid(&points);
    }
}

fn least_mark(
    canvas: &mut Canvas,
    labels: &mut Labels,
    frame: &Frame,
    (left, right): (f64, f64),
    system: System,
) {
    let least = psi(LEAST_RESIDUAL_PSI);
    let y = frame.y.at(least);
    canvas.stroke("thin dot", &[(left, y), (right, y)]);
    labels.avoid(&[(left, y), (right, y)]);
    let words = format!("least residual {}", show(Kind::Pressure, least, system));
    let lines = [(words.as_str(), SMALL)];
    let at = (left + 4.0, y);
    labels.write(
        canvas,
        &Label {
            lines: &lines,
            at: &[at],
        },
    );
}

fn frame(test: &FlowTest, marks: &[Mark], farthest: VolumeRate, system: System) -> Frame {
    let pressure = |p: Pressure| value(Kind::Pressure, p, system);
    let most = value(Kind::Flow, farthest, system);
    let lowest = marks.iter().map(|mark| pressure(mark.residual));
    let lowest = lowest.fold(0.0, f64::min).max(-pressure(test.still()));
    let highest = pressure(test.still().max(psi(LEAST_RESIDUAL_PSI + 5.0)));
    Frame {
        x: Axis::new(
            ("Flow from the main", Kind::Flow, system),
            (0.0, most),
            (78.0, 690.0),
        ),
        y: Axis::new(
            ("Residual pressure", Kind::Pressure, system),
            (lowest, highest),
            (420.0, 52.0),
        ),
    }
}

fn caption(name: &str, test: &FlowTest, marks: &[Mark], system: System) -> String {
    let mut caption = format!(
        "{name}: {} without flow.",
        show(Kind::Pressure, test.still(), system)
    );
    for mark in marks {
        let said = mark.said(system);
        let mut letters = said.chars();
        let first = letters.next().map(|l| l.to_uppercase().collect::<String>());
        caption.push_str(&format!(
            " {}{}.",
            first.unwrap_or_default(),
            letters.as_str()
        ));
    }
    let least = psi(LEAST_RESIDUAL_PSI);
    let low = |mark: &&Mark| mark.residual < least;
    if let Some(mark) = marks.iter().find(low) {
        caption.push_str(&format!(
            " {} is below {}, which no supply should be drawn to.",
            show(Kind::Pressure, mark.residual, system),
            show(Kind::Pressure, least, system)
        ));
    }
    caption
}

fn table(test: &FlowTest, marks: &[Mark], system: System) -> Table {
    let mut table = Table::new(&["Point", "Flow", "Residual"]);
    let row = |what: &str, flow, residual| {
        vec![
            what.to_string(),
            show(Kind::Flow, flow, system),
            show(Kind::Pressure, residual, system),
        ]
    };
    table.rows = std::iter::once(row("static", VolumeRate::of_si(0.0), test.still()))
        .chain(marks.iter().map(|m| row(m.what, m.flow, m.residual)))
        .collect();
    table
}
