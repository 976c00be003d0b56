//! What the pump side gives against what the nozzle takes.

use crate::canvas::{Anchor, Canvas, NAME, SMALL, Spot};
use crate::drawing::{Drawing, Table};
use crate::frame::{Axis, Frame, value};
use crate::labels::{Label, Labels};
use crate::text::shorten;
use book::{LaidTip, Layout};
use hydraulics::nozzle::{Nozzle, Regime};
use hydraulics::units::{Kind, Measure, Pressure, System, VolumeRate, psi, show};
use study::answer::{LineAnswer, TipAnswer, regime_word};
use study::at_tip;

const WIDTH: f64 = 760.0;
const HEIGHT: f64 = 480.0;

/// Points of a curve.
const POINTS: u32 = 48;

/// A point of both curves: flow, what reaches the tip, what it takes.
type Both = (VolumeRate, Pressure, Pressure);

/// What the pump side gives at the nozzle's inlet as flow grows, against what the
/// nozzle takes, and where the two meet. `layout` and `answer` must be of the same
/// line under the same conditions. `None` unless the line has one open tip without
/// an eductor or a regulating valve before it, and water flows.
///
/// ```
/// use hydraulics::units::System;
/// let text = br#"
/// [book]
/// name = "Example"
/// [line.left]
/// parts = [{ hose = "2.5 in", length = "200 ft" }, { nozzle = "1-1/8 in smooth bore" }]
/// aim = { tip_pressure = "50 psi" }
/// "#;
/// let book = book::read(text, "example.toml")?;
/// let conditions = Default::default();
/// let layout = book::layout(&book, "left", &conditions)?;
/// let answer = study::solve(&book, "left", &conditions)?;
/// let drawing = picture::operating(&layout, &answer, System::Us).unwrap();
/// assert!(drawing.caption.contains("266 gpm"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn operating(layout: &Layout, answer: &LineAnswer, system: System) -> Option<Drawing> {
    let ([laid], [tip]) = (layout.tips.as_slice(), answer.tips.as_slice()) else {
        return None;
    };
    if tip.flow.value <= 0.0 {
        return None;
    }
    let (_, works) = at_tip(layout, answer.pump_pressure, tip.flow)?;
    let curve = curve(layout, laid, answer.pump_pressure, tip.flow);
    let frame = frame(answer, &curve, system);
    let mut canvas = Canvas::new(WIDTH, HEIGHT);
    let name = answer.title.as_deref().unwrap_or(&answer.line);
    let name = shorten(name, NAME, WIDTH - 32.0);
    canvas.text((16.0, 24.0), Anchor::Start, NAME, &name);
    frame.draw(&mut canvas);
    let (left, _, top, bottom) = frame.sides();
    let mut labels = Labels::within((left + 4.0, top - 14.0), (WIDTH - 6.0, bottom - 2.0));
    let at = frame.spot(tip.flow, works);
    canvas.stroke("thin dot", &[(left, at.1), at, (at.0, bottom)]);
    labels.avoid(&[(left, at.1), at, (at.0, bottom)]);
    let given = given(&curve);
    let given: Vec<Spot> = given.iter().map(|&(q, p)| frame.spot(q, p)).collect();
    canvas.stroke("main", &given);
    labels.avoid(&given);
    labels.avoid_mark(at);
    let stretches = stretches(laid, &curve, &frame);
    for (class, _, points) in &stretches {
        canvas.stroke(&format!("hot {class}"), points);
        labels.avoid(points);
    }
    point(&mut canvas, &mut labels, at, (tip, works, system));
    let pump = show(Kind::Pressure, answer.pump_pressure, system);
    let words = [("what the pump side gives", NAME)];
    let along = [0.2, 0.3, 0.8, 0.7].map(|share| spot_along(&given, share));
    write(&mut canvas, &mut labels, &words, &along);
    for (_, words, points) in &stretches {
        let words = [(*words, NAME)];
        let along = [0.5, 0.6, 0.4, 0.8].map(|share| spot_along(points, share));
        write(&mut canvas, &mut labels, &words, &along);
    }
    let regime = tip.regime.map(regime_word);
    let regime = regime.map(|word| format!(" The nozzle is {word} its range."));
    let caption = format!(
        "Line {}: with {pump} at the pump, what the hose leaves and what {} takes meet at {} and \
         {} at the nozzle's inlet.{}",
        answer.line,
        tip.nozzle,
        show(Kind::Flow, tip.flow, system),
        show(Kind::Pressure, works, system),
        regime.unwrap_or_default()
    );
    let title = format!("Operating point of line {}", answer.line);
    let table = table(laid, &curve, (tip.flow, works), system);
    Some(canvas.finish(&title, caption, table))
}

fn write(canvas: &mut Canvas, labels: &mut Labels, lines: &[(&str, f64)], at: &[Spot]) {
    labels.write(canvas, &Label { lines, at });
}

/// The point that lies `share` of the points along a curve.
fn spot_along(points: &[Spot], share: f64) -> Spot {
    let index = (points.len().saturating_sub(1) as f64 * share).round() as usize;
    points.get(index).copied().unwrap_or((0.0, 0.0))
}

/// Both curves from no flow to past the operating point and the nozzle's range.
fn curve(layout: &Layout, tip: &LaidTip, pump: Pressure, works: VolumeRate) -> Vec<Both> {
    let range = match &tip.tip.nozzle {
        Nozzle::Automatic(nozzle) => nozzle.flows().1,
        _ => works,
    };
    let most = 1.3 * works.max(range);
    let mut flows: Vec<VolumeRate> = (0..=POINTS)
        .map(|n| most * (f64::from(n) / f64::from(POINTS)))
        .collect();
    // The corners of the nozzle's curve, so that none is cut off.
    if let Nozzle::Automatic(nozzle) = &tip.tip.nozzle {
        flows.extend([nozzle.flows().0, nozzle.flows().1]);
    }
    flows.sort_by(|a, b| a.value.total_cmp(&b.value));
    let both = |flow| at_tip(layout, pump, flow).map(|(given, taken)| (flow, given, taken));
    flows.into_iter().filter_map(both).collect()
}

/// The falling curve as far as it is above zero.
fn given(curve: &[Both]) -> Vec<(VolumeRate, Pressure)> {
    let mut points = Vec::new();
    for &(flow, pressure, _) in curve {
        if pressure.value > 0.0 {
            points.push((flow, pressure));
            continue;
        }
        if let Some(&(before, above)) = points.last() {
            let share = (above / (above - pressure)).value;
            points.push((before + (flow - before) * share, Pressure::of_si(0.0)));
        }
        break;
    }
    if starts_with_a_step(&points) {
        points.remove(0);
    }
    points
}

/// Does the curve fall at once as soon as water flows? A flat allowance does that;
/// drawn, it would look like a spike.
fn starts_with_a_step(points: &[(VolumeRate, Pressure)]) -> bool {
    let [(_, still), (_, first), (_, second), ..] = points else {
        return false;
    };
    (*still - *first).value > 10.0 * (*first - *second).value.abs() + 1_000.0
}

/// The rising curve in stretches: line style, words, points within the frame.
fn stretches(
    tip: &LaidTip,
    curve: &[Both],
    frame: &Frame,
) -> Vec<(&'static str, &'static str, Vec<Spot>)> {
    let nozzle = &tip.tip.nozzle;
    let top = frame.y.scale.high;
    let inside = |both: &&Both| frame.y.value(both.2) <= top;
    let mut all: Vec<(&'static str, &'static str, Vec<Spot>)> = Vec::new();
    for &(flow, _, taken) in curve.iter().filter(inside) {
        let (style, words) = manner(nozzle.regime(flow));
        let spot = frame.spot(flow, taken);
        match all.last_mut() {
            Some((last, _, points)) if *last == style => points.push(spot),
            Some((_, _, points)) => {
                // Both ends of the range belong to it.
                if nozzle.regime(flow) == Some(Regime::In) {
                    points.push(spot);
                }
                let joint = points.last().copied();
                let points = joint.into_iter().chain([spot]).collect();
                all.push((style, words, points));
            }
            None => all.push((style, words, vec![spot])),
        }
    }
    all.retain(|(_, _, points)| points.len() > 1);
    all
}

fn manner(regime: Option<Regime>) -> (&'static str, &'static str) {
    match regime {
        None => ("whole", "what the nozzle takes"),
        Some(Regime::Below) => ("dash", "nozzle below its range"),
        Some(Regime::In) => ("whole", "nozzle in its range"),
        Some(Regime::Above) => ("dashdot", "nozzle above its range"),
    }
}

fn frame(answer: &LineAnswer, curve: &[Both], system: System) -> Frame {
    let flow = |q: VolumeRate| value(Kind::Flow, q, system);
    let pressure = |p: Pressure| value(Kind::Pressure, p, system);
    let most = curve.iter().map(|both| flow(both.0)).fold(1.0, f64::max);
    let highest = curve.iter().map(|both| pressure(both.1));
    let least = pressure(answer.pump_pressure.max(psi(10.0)));
    let highest = highest.fold(least, f64::max);
    Frame {
        x: Axis::new(("Flow", Kind::Flow, system), (0.0, most), (78.0, 690.0)),
        y: Axis::new(
            ("Pressure at the nozzle's inlet", Kind::Pressure, system),
            (0.0, highest),
            (420.0, 52.0),
        ),
    }
}

fn point(
    canvas: &mut Canvas,
    labels: &mut Labels,
    at: Spot,
    (tip, works, system): (&TipAnswer, Pressure, System),
) {
    let flow = show(Kind::Flow, tip.flow, system);
    let pressure = show(Kind::Pressure, works, system);
    let inside = show(Kind::Pressure, tip.tip_pressure, system);
    let said = format!(
        "Operating point: {flow}, {pressure} at the nozzle's inlet, {inside} nozzle pressure"
    );
    canvas.point(&said, |canvas| {
        canvas.circle("spot", at, 6.0);
        canvas.circle("ring", at, 6.0);
    });
    let both = format!("{flow}, {pressure}");
    let lines = [(both.as_str(), 20.0), ("where the line works", SMALL)];
    labels.write(
        canvas,
        &Label {
            lines: &lines,
            at: &[at],
        },
    );
}

fn table(
    tip: &LaidTip,
    curve: &[Both],
    (works, at): (VolumeRate, Pressure),
    system: System,
) -> Table {
    let mut table = Table::new(&["Flow", "Pump side gives", "Nozzle takes", "Nozzle"]);
    let word = |flow| match tip.tip.nozzle.regime(flow) {
        Some(regime) => format!("{} its range", regime_word(regime)),
        None => String::new(),
    };
    let row = |&(flow, given, taken): &Both| {
        vec![
            show(Kind::Flow, flow, system),
            show(Kind::Pressure, given, system),
            show(Kind::Pressure, taken, system),
            word(flow),
        ]
    };
    let mut rows: Vec<Both> = curve.iter().step_by(6).copied().collect();
    let here = rows.iter().position(|both| both.0 > works);
    rows.insert(here.unwrap_or(rows.len()), (works, at, at));
    table.rows = rows.iter().map(row).collect();
    table
}
