//! What a line gives over pump pressure, equipped one way and another.

use super::{OfLine, conditions_of};
use crate::operating::{StudyError, tip_answer};
use book::{Book, Layout};
use hydraulics::units::{Force, Measure, Pressure, VolumeRate};

/// Points of a curve beside the present one.
const POINTS: u32 = 32;

/// What a line gives over pump pressure.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    /// What is on the line.
    pub of: OfLine,
    /// Points, by rising pump pressure; the present one is among them.
    pub points: Vec<CurvePoint>,
    /// The point at the choice's own pump pressure.
    pub present: CurvePoint,
}

/// What the line gives at one pump pressure; of several tips the least flow and nozzle
/// pressure, and the greatest reaction.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct CurvePoint {
    /// At the pump outlet.
    pub pump_pressure: Pressure,
    /// Flow.
    pub flow: VolumeRate,
    /// Nozzle pressure.
    pub tip_pressure: Pressure,
    /// Reaction, a formula value.
    pub reaction: Force,
}

/// What `line` gives at pump pressures from the first to the second of `range`,
/// equipped in each of the ways `on` (those of other lines are passed over), everything
/// else as the book has it.
///
/// # Errors
/// [`StudyError`] when the line cannot be laid out so.
///
/// ```
/// use hydraulics::units::{Kind, System, parse, show};
/// use study::choose::{OfLine, curves};
/// let text = br#"
/// [book]
/// name = "Example"
/// [line.left]
/// parts = [{ hose = "2.5 in", length = "200 ft" }, { nozzle = "1-1/8 in smooth bore" }]
/// "#;
/// let book = book::read(text, "example.toml")?;
/// let psi = |text| parse(Kind::Pressure, text);
/// let on = OfLine {
///     line: "left".into(), hose: "2.5 in".into(), length: parse(Kind::Length, "200 ft")?,
///     nozzle: "1-1/8 in smooth bore".into(), setting: None, pump_pressure: psi("78.3 psi")?,
/// };
/// let found = curves(&book, "left", &[&on], (psi("50 psi")?, psi("150 psi")?))?;
/// // 266 gpm (case NZ-U-21): 2 x 2.66^2 x 2 = 28 psi, and 50 at the tip.
/// assert_eq!(show(Kind::Flow, found[0].present.flow, System::Us), "266 gpm");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn curves(
    book: &Book,
    line: &str,
    on: &[&OfLine],
    range: (Pressure, Pressure),
) -> Result<Vec<Curve>, StudyError> {
    let on = on.iter().filter(|of| of.line == line);
    on.map(|of| curve(book, of, range)).collect()
}

fn curve(book: &Book, of: &OfLine, (from, to): (Pressure, Pressure)) -> Result<Curve, StudyError> {
    let mut layout = book::layout(book, &of.line, &conditions_of(book, of)?)?;
    let step = |n: u32| from + (to - from) * (f64::from(n) / f64::from(POINTS));
    let mut pressures: Vec<Pressure> = (0..=POINTS).map(step).collect();
    pressures.push(of.pump_pressure);
    pressures.retain(|pressure| pressure.value.is_finite() && pressure.value >= 0.0);
    pressures.sort_by(|a, b| a.value.total_cmp(&b.value));
    pressures.dedup();
    let mut at = |pressure| point(book, &mut layout, &of.line, pressure);
    Ok(Curve {
        of: of.clone(),
        points: pressures.into_iter().map(&mut at).collect(),
        present: at(of.pump_pressure),
    })
}

fn point(book: &Book, layout: &mut Layout, line: &str, pressure: Pressure) -> CurvePoint {
    layout.lay.set_pressure(layout.supply, pressure);
    let steady = lay::solve(&layout.lay);
    let tips = layout.tips.iter().filter(|tip| tip.line == line);
    let answers = tips.map(|tip| tip_answer(book, layout, tip, &steady));
    let points = answers.map(|tip| CurvePoint {
        pump_pressure: pressure,
        flow: tip.flow,
        tip_pressure: tip.tip_pressure,
        reaction: tip.reaction,
    });
    let worst = points.reduce(|a, b| CurvePoint {
        pump_pressure: pressure,
        flow: least(a.flow, b.flow),
        tip_pressure: least(a.tip_pressure, b.tip_pressure),
        reaction: if b.reaction > a.reaction {
            b.reaction
        } else {
            a.reaction
        },
    });
    worst.unwrap_or(CurvePoint {
        pump_pressure: pressure,
        ..CurvePoint::default()
    })
}

fn least<Q: Measure + PartialOrd>(a: Q, b: Q) -> Q {
    if b < a { b } else { a }
}
