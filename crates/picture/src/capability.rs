//! What a pump can do, and what is asked of it.

use crate::canvas::{Anchor, Canvas, NAME, SMALL, Spot};
use crate::drawing::{Drawing, Table};
use crate::frame::{Axis, Frame, value};
use crate::labels::{Label, Labels};
use crate::text::shorten;
use hydraulics::pump::Pump;
use hydraulics::units::{Kind, Pressure, System, VolumeRate, show};

const WIDTH: f64 = 760.0;
const HEIGHT: f64 = 480.0;
const POINTS: u32 = 40;

/// What is asked of a pump.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Present {
    /// Flow through it.
    pub flow: VolumeRate,
    /// Discharge less intake.
    pub net: Pressure,
}

/// A pump's net pressure over flow through the points of its rating (US, metric, or
/// its own test), and the present point if there is one.
///
/// ```
/// use hydraulics::pump::Pump;
/// use hydraulics::units::{gpm, psi, System};
/// let pump = Pump::rated(gpm(1250.0))?;
/// let present = picture::Present { flow: gpm(900.0), net: psi(160.0) };
/// let drawing = picture::capability("pumper-1", &pump, Some(&present), System::Us);
/// assert!(drawing.caption.contains("160 psi net at 900 gpm"));
/// # Ok::<(), hydraulics::pump::PumpError>(())
/// ```
pub fn capability(name: &str, pump: &Pump, present: Option<&Present>, system: System) -> Drawing {
    let frame = frame(pump, present, system);
    let mut canvas = Canvas::new(WIDTH, HEIGHT);
    let heading = shorten(name, NAME, WIDTH - 32.0);
    canvas.text((16.0, 24.0), Anchor::Start, NAME, &heading);
    frame.draw(&mut canvas);
    let (left, _, top, bottom) = frame.sides();
    let mut labels = Labels::within((left + 4.0, top - 16.0), (WIDTH - 6.0, bottom - 2.0));
    curves(&mut canvas, &mut labels, &frame, pump, present);
    for &(flow, net) in pump.points() {
        labels.avoid_mark(frame.spot(flow, net));
    }
    labels_now(&mut labels, &frame, present);
    points(&mut canvas, &mut labels, &frame, pump, system);
    if let Some(present) = present {
        now(&mut canvas, &mut labels, &frame, (pump, present), system);
    }
    let title = format!("Capability of the pump of {name}");
    let caption = caption(name, pump, present, system);
    canvas.finish(&title, caption, table(pump, present, system))
}

/// Keeps texts off the present point.
fn labels_now(labels: &mut Labels, frame: &Frame, present: Option<&Present>) {
    if let Some(present) = present {
        labels.avoid_mark(frame.spot(present.flow, present.net));
    }
}

fn frame(pump: &Pump, present: Option<&Present>, system: System) -> Frame {
    let flow = pump.rated_flow() * 1.25;
    let flow = present.map_or(flow, |p| flow.max(p.flow * 1.1));
    let net = pump.points().iter().map(|point| point.1);
    let net = net.chain(present.map(|p| p.net));
    let net = net.fold(pump.rated_pressure(), Pressure::max) * 1.1;
    Frame {
        x: Axis::new(
            ("Flow", Kind::Flow, system),
            (0.0, value(Kind::Flow, flow, system)),
            (78.0, 690.0),
        ),
        y: Axis::new(
            ("Net pump pressure", Kind::Pressure, system),
            (0.0, value(Kind::Pressure, net, system)),
            (420.0, 52.0),
        ),
    }
}

/// Whole between the points of the rating, dashed where nothing is rated.
fn curves(
    canvas: &mut Canvas,
    labels: &mut Labels,
    frame: &Frame,
    pump: &Pump,
    present: Option<&Present>,
) {
    let first = pump.points().first().map(|point| point.0);
    let first = first.unwrap_or_default();
    let rated = pump.rated_flow();
    let end = present.map_or(rated * 1.2, |p| (rated * 1.2).max(p.flow * 1.05));
    let stretches = [
        ("main dash", VolumeRate::default(), first),
        ("main", first, rated),
        ("main dash", rated, end),
    ];
    for (class, from, to) in stretches {
        let points: Vec<Spot> = (0..=POINTS)
            .map(|n| from + (to - from) * (f64::from(n) / f64::from(POINTS)))
            .map(|flow| frame.spot(flow, pump.capability(flow)))
            .collect();
        canvas.stroke(class, &points);
        labels.avoid(&points);
    }
    let at = frame.spot(first * 0.5, pump.capability(first));
    let lines = [("not rated", SMALL)];
    labels.write(
        canvas,
        &Label {
            lines: &lines,
            at: &[at],
        },
    );
}

fn point_words(pump: &Pump, (flow, net): (VolumeRate, Pressure), system: System) -> String {
    format!(
        "Rating point: {} at {} net, {:.0} % of rated flow",
        show(Kind::Flow, flow, system),
        show(Kind::Pressure, net, system),
        100.0 * (flow / pump.rated_flow()).value
    )
}

fn points(canvas: &mut Canvas, labels: &mut Labels, frame: &Frame, pump: &Pump, system: System) {
    for &(flow, net) in pump.points() {
        let at = frame.spot(flow, net);
        canvas.point(&point_words(pump, (flow, net), system), |canvas| {
            canvas.rect("full", (at.0 - 4.5, at.1 - 4.5), 9.0, 9.0);
        });
        let both = format!(
            "{}, {}",
            show(Kind::Flow, flow, system),
            show(Kind::Pressure, net, system)
        );
        let lines = [(both.as_str(), NAME)];
        labels.write(
            canvas,
            &Label {
                lines: &lines,
                at: &[at],
            },
        );
    }
}

/// Is the present point within what the pump can do, to half a per cent?
fn is_within(pump: &Pump, present: &Present) -> bool {
    present.net <= pump.capability(present.flow) * 1.005
}

fn now(
    canvas: &mut Canvas,
    labels: &mut Labels,
    frame: &Frame,
    (pump, present): (&Pump, &Present),
    system: System,
) {
    let at = frame.spot(present.flow, present.net);
    let limit = frame.spot(present.flow, pump.capability(present.flow));
    canvas.stroke("hot dot", &[at, limit]);
    labels.avoid(&[at, limit]);
    let both = format!(
        "{}, {}",
        show(Kind::Flow, present.flow, system),
        show(Kind::Pressure, present.net, system)
    );
    let words = match is_within(pump, present) {
        true => "now, within its capability",
        false => "asked, beyond its capability",
    };
    canvas.point(&format!("{both} net: {words}"), |canvas| {
        canvas.circle("spot", at, 6.5);
        canvas.circle("ring", at, 6.5);
    });
    let lines = [(both.as_str(), 20.0), (words, SMALL)];
    labels.write(
        canvas,
        &Label {
            lines: &lines,
            at: &[at],
        },
    );
}

fn caption(name: &str, pump: &Pump, present: Option<&Present>, system: System) -> String {
    let mut caption = format!(
        "{name}: rated {} at {} net.",
        show(Kind::Flow, pump.rated_flow(), system),
        show(Kind::Pressure, pump.rated_pressure(), system)
    );
    if let Some(present) = present {
        let spare = pump.capability(present.flow) - present.net;
        let room = match is_within(pump, present) {
            true => "to spare",
            false => "missing",
        };
        caption.push_str(&format!(
            " It gives {} net at {}, {} {room}.",
            show(Kind::Pressure, present.net, system),
            show(Kind::Flow, present.flow, system),
            show(Kind::Pressure, spare.abs(), system)
        ));
    }
    caption
}

fn table(pump: &Pump, present: Option<&Present>, system: System) -> Table {
    let mut table = Table::new(&["Point", "Flow", "Net pressure", "Share of rated flow"]);
    let row = |what: &str, flow: VolumeRate, net| {
        vec![
            what.to_string(),
            show(Kind::Flow, flow, system),
            show(Kind::Pressure, net, system),
            format!("{:.0} %", 100.0 * (flow / pump.rated_flow()).value),
        ]
    };
    let rating = pump.points().iter();
    table.rows = rating
        .map(|&(flow, net)| row("rating", flow, net))
        .chain(present.map(|p| row("now", p.flow, p.net)))
        .collect();
    table
}
