//! What several choices give on one line, over pump pressure.

use crate::canvas::{Anchor, Canvas, NAME, SMALL, Spot};
use crate::choices::{bound_words, bounds_of, capital, extent};
use crate::drawing::{Drawing, Table};
use crate::frame::{Axis, Frame, value};
use crate::labels::{Label, Labels};
use crate::side_by_side::keep_apart;
use crate::text::shorten;
use book::comparison::AimKind;
use hydraulics::units::{Kind, Pressure, System, show};
use study::choose::{Bound, Curve, CurvePoint};

const WIDTH: f64 = 760.0;
const HEIGHT: f64 = 480.0;

/// Line styles, told apart without colour.
const STYLES: [&str; 8] = [
    "main whole",
    "main dash",
    "main dot",
    "main dashdot",
    "main far",
    "thin whole",
    "thin dash",
    "thin dashdot",
];

/// What is drawn over pump pressure.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Over {
    /// Flow.
    Flow,
    /// Nozzle pressure.
    TipPressure,
    /// Reaction, a formula value.
    Reaction,
}

impl Over {
    fn name(self) -> &'static str {
        match self {
            Over::Flow => "flow",
            Over::TipPressure => "nozzle pressure",
            Over::Reaction => "reaction",
        }
    }

    fn kind(self) -> Kind {
        match self {
            Over::Flow => Kind::Flow,
            Over::TipPressure => Kind::Pressure,
            Over::Reaction => Kind::Force,
        }
    }

    fn aim(self) -> Option<AimKind> {
        match self {
            Over::Flow => Some(AimKind::Flow),
            Over::TipPressure => None,
            Over::Reaction => Some(AimKind::Reaction),
        }
    }

    fn at(self, point: &CurvePoint, system: System) -> f64 {
        match self {
            Over::Flow => value(Kind::Flow, point.flow, system),
            Over::TipPressure => value(Kind::Pressure, point.tip_pressure, system),
            Over::Reaction => value(Kind::Force, point.reaction, system),
        }
    }

    fn said(self, point: &CurvePoint, system: System) -> String {
        match self {
            Over::Flow => show(Kind::Flow, point.flow, system),
            Over::TipPressure => show(Kind::Pressure, point.tip_pressure, system),
            Over::Reaction => show(Kind::Force, point.reaction, system),
        }
    }
}

/// One value of one line over pump pressure for several choices (each with its code; the
/// first eight ways to equip it are drawn): a line style for each way and the codes at the
/// curve's end, a ring with its code at each choice's own pump pressure. The limits on pump pressure and on the value, and `low`, the
/// low pump pressure, are dashed lines.
///
/// ```
/// use hydraulics::units::{Kind, System, parse, psi};
/// use picture::{Over, overlaid};
/// use study::choose::{OfLine, curves};
/// let text = br#"
/// [book]
/// name = "Example"
/// [line.left]
/// parts = [{ hose = "2.5 in", length = "200 ft" }, { nozzle = "1-1/8 in smooth bore" }]
/// "#;
/// let book = book::read(text, "example.toml")?;
/// let on = OfLine {
///     line: "left".into(), hose: "2.5 in".into(), length: parse(Kind::Length, "200 ft")?,
///     nozzle: "1-1/8 in smooth bore".into(), setting: None, pump_pressure: psi(78.3),
/// };
/// let found = curves(&book, "left", &[&on], (psi(50.0), psi(150.0)))?;
/// let low = Some(psi(60.0));
/// let drawing = overlaid("left", &[("C1", &found[0])], Over::Flow, (&[], low), System::Us);
/// assert!(drawing.caption.contains("C1 (2.5 in, 1-1/8 in smooth bore): 266 gpm at 78 psi"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn overlaid(
    line: &str,
    curves: &[(&str, &Curve)],
    over: Over,
    (bounds, low): (&[Bound], Option<Pressure>),
    system: System,
) -> Drawing {
    let sheet = Sheet {
        groups: groups(curves),
        over,
        system,
    };
    let (upright, level) = sheet.limits(bounds, low);
    let frame = sheet.frame(&upright, &level);
    let mut canvas = Canvas::new(WIDTH, HEIGHT);
    let heading = format!("Line {line}: {} over pump pressure", over.name());
    let heading = shorten(&heading, NAME, WIDTH - 32.0);
    canvas.text((16.0, 24.0), Anchor::Start, NAME, &heading);
    frame.draw(&mut canvas);
    sheet.draw(&mut canvas, &frame, (&upright, &level));
    let title = format!("{} of line {line} over pump pressure", capital(over.name()));
    let caption = sheet.caption(line, curves.len(), (&upright, &level));
    canvas.finish(&title, caption, sheet.table())
}

/// A choice's code and its curve.
type Named<'a> = (&'a str, &'a Curve);

/// Choices that put the same on the line share a curve; as many of these as there are
/// styles.
fn groups<'a>(curves: &[Named<'a>]) -> Vec<Vec<Named<'a>>> {
    let same = |a: &Curve, b: &Curve| {
        let (a, b) = (&a.of, &b.of);
        (&a.hose, a.length, &a.nozzle, &a.setting) == (&b.hose, b.length, &b.nozzle, &b.setting)
    };
    let mut groups: Vec<Vec<Named<'a>>> = Vec::new();
    for named in curves {
        let of = |group: &&mut Vec<Named<'a>>| group.iter().any(|other| same(other.1, named.1));
        match groups.iter_mut().find(of) {
            Some(group) => group.push(*named),
            None => groups.push(vec![*named]),
        }
    }
    groups.truncate(STYLES.len());
    groups
}

/// A limit: its place in the reader's units, and its words.
type Line = (f64, String);

struct Sheet<'a> {
    groups: Vec<Vec<Named<'a>>>,
    over: Over,
    system: System,
}

impl<'a> Sheet<'a> {
    fn curves(&self) -> impl Iterator<Item = &Named<'a>> {
        self.groups.iter().flatten()
    }

    fn limits(&self, bounds: &[Bound], low: Option<Pressure>) -> (Vec<Line>, Vec<Line>) {
        let system = self.system;
        let pump = bounds_of(bounds, AimKind::PumpPressure, system).into_iter();
        let pump = pump.map(|(at, bound)| {
            let words = bound_words(bound, system);
            (at, format!("ceiling: {words}"))
        });
        let low = low.map(|low| {
            let words = format!("low pump: {}", show(Kind::Pressure, low, system));
            (value(Kind::Pressure, low, system), words)
        });
        let of_value = self.over.aim().map(|aim| bounds_of(bounds, aim, system));
        let level = of_value.into_iter().flatten();
        let level = level.map(|(at, bound)| (at, bound_words(bound, system)));
        (pump.chain(low).collect(), level.collect())
    }

    fn x(&self, point: &CurvePoint) -> f64 {
        value(Kind::Pressure, point.pump_pressure, self.system)
    }

    fn frame(&self, upright: &[Line], level: &[Line]) -> Frame {
        let points = self
            .curves()
            .flat_map(|(_, curve)| curve.points.iter().chain(std::iter::once(&curve.present)));
        let points: Vec<&CurvePoint> = points.collect();
        let most = points.iter().map(|point| self.over.at(point, self.system));
        let most = most.fold(0.0, f64::max);
        let along = points.iter().map(|point| self.x(point));
        let (from, to) = extent(along.chain(upright.iter().map(|line| line.0)));
        let lines = level.iter().map(|line| line.0);
        let most = lines.filter(|y| *y < 2.0 * most).fold(most, f64::max);
        let most = if most > 0.0 { most } else { 1.0 };
        let name = capital(self.over.name());
        let (kind, system) = (self.over.kind(), self.system);
        let note = match self.over {
            Over::Reaction => "formula value",
            Over::Flow | Over::TipPressure => "",
        };
        Frame {
            x: Axis::new(
                ("Pump pressure", Kind::Pressure, system),
                (from, to),
                (96.0, 600.0),
            ),
            y: Axis::new((&name, kind, system), (0.0, most), (420.0, 52.0)).noted(note),
        }
    }

    fn draw(&self, canvas: &mut Canvas, frame: &Frame, (upright, level): (&[Line], &[Line])) {
        let (left, right, top, bottom) = frame.sides();
        let mut labels = Labels::within((left + 4.0, top - 14.0), (right - 2.0, bottom - 2.0));
        let place = |point: &CurvePoint| {
            let y = self.over.at(point, self.system);
            (frame.x.scale.at(self.x(point)), frame.y.scale.at(y))
        };
        let mut lines: Vec<([Spot; 2], &str)> = Vec::new();
        for (at, words) in upright {
            let x = frame.x.scale.at(*at);
            lines.push(([(x, bottom), (x, top)], words));
        }
        for (at, words) in level {
            let y = frame.y.scale.at(*at);
            if (top..=bottom).contains(&y) {
                lines.push(([(left, y), (right, y)], words));
            }
        }
        for (way, _) in &lines {
            canvas.stroke("hot dash", way);
            labels.avoid(way);
        }
        let ways = self.groups.iter().filter_map(|group| group.first());
        let ways = ways.map(|(_, curve)| curve.points.iter().map(place).collect());
        let ways: Vec<Vec<Spot>> = ways.collect();
        for (way, style) in ways.iter().zip(STYLES) {
            canvas.stroke(style, way);
            labels.avoid(way);
        }
        let present: Vec<(Spot, &Named<'_>)> = self
            .curves()
            .map(|named| (place(&named.1.present), named))
            .collect();
        for (at, (code, curve)) in &present {
            labels.avoid_mark(*at);
            canvas.point_of(&self.says(code, curve), &[("choice", code)], |canvas| {
                canvas.circle("hit", *at, 1.0);
                canvas.circle("full", *at, 3.0);
                canvas.circle("ring", *at, 7.0);
            });
        }
        self.codes(canvas, frame, &ways);
        for ([a, b], words) in lines {
            let spots = [0.02, 0.96, 0.5, 0.25, 0.75];
            let spots = spots.map(|s| (a.0 + s * (b.0 - a.0), a.1 + s * (b.1 - a.1)));
            labels.write(
                canvas,
                &Label {
                    lines: &[(words, SMALL)],
                    at: &spots,
                },
            );
        }
        for (at, (code, _)) in &present {
            let lines = [(*code, SMALL)];
            labels.write_if_free(
                canvas,
                &Label {
                    lines: &lines,
                    at: &[*at],
                },
            );
        }
    }

    /// The code of each curve, right of its end.
    fn codes(&self, canvas: &mut Canvas, frame: &Frame, ways: &[Vec<Spot>]) {
        let (_, right, top, bottom) = frame.sides();
        let end = |way: &Vec<Spot>| way.last().copied().unwrap_or((right, bottom));
        let ends: Vec<Spot> = ways.iter().map(end).collect();
        let wanted: Vec<f64> = ends.iter().map(|end| end.1).collect();
        let places = keep_apart(&wanted, 19.0, (top, bottom));
        for ((group, end), y) in self.groups.iter().zip(ends).zip(places) {
            canvas.stroke("lead", &[(end.0 + 2.0, end.1), (right + 18.0, y)]);
            let codes: Vec<&str> = group.iter().map(|named| named.0).collect();
            let code = match codes.as_slice() {
                [first, _, _, ..] => format!("{first} and {} more", codes.len() - 1),
                few => few.join(", "),
            };
            let code = shorten(&code, NAME, WIDTH - right - 26.0);
            canvas.text((right + 22.0, y + 5.0), Anchor::Start, NAME, &code);
        }
    }

    /// "C12 (attack, twin, high): 152 gpm at 150 psi".
    fn says(&self, code: &str, curve: &Curve) -> String {
        format!(
            "{code} ({}, {}): {} at {} pump pressure",
            curve.of.hose,
            curve.of.nozzle_called(),
            self.over.said(&curve.present, self.system),
            show(Kind::Pressure, curve.present.pump_pressure, self.system)
        )
    }

    fn caption(&self, line: &str, all: usize, (upright, level): (&[Line], &[Line])) -> String {
        let present: Vec<String> = self.curves().map(|(code, c)| self.says(code, c)).collect();
        let lines: Vec<&str> = upright
            .iter()
            .chain(level)
            .map(|line| line.1.as_str())
            .collect();
        let mut text = format!(
            "{} of line {line} over pump pressure",
            capital(self.over.name())
        );
        match present.is_empty() {
            true => text.push_str(": nothing to draw."),
            false => text.push_str(&format!(". {}.", present.join("; "))),
        }
        if !lines.is_empty() {
            text.push_str(&format!(" Limits: {}.", lines.join("; ")));
        }
        let drawn = self.curves().count();
        if all > drawn {
            text.push_str(&format!(" Only {drawn} of {all} are drawn."));
        }
        if self.over == Over::Reaction {
            text.push_str(" Reaction is a formula value.");
        }
        text
    }

    fn table(&self) -> Table {
        let name = capital(self.over.name());
        let mut table = Table::new(&["Choice", "Pump pressure", &name, "Mark"]);
        for (code, curve) in self.curves() {
            let row = |point: &CurvePoint, mark: &str| {
                vec![
                    (*code).to_string(),
                    show(Kind::Pressure, point.pump_pressure, self.system),
                    self.over.said(point, self.system),
                    mark.to_string(),
                ]
            };
            let every = curve.points.len().div_ceil(9).max(1);
            let some = curve.points.iter().step_by(every);
            let present = curve.present.pump_pressure;
            let some = some.filter(|point| point.pump_pressure != present);
            let (before, after): (Vec<_>, Vec<_>) = some.partition(|p| p.pump_pressure < present);
            table
                .rows
                .extend(before.into_iter().map(|point| row(point, "")));
            table.rows.push(row(&curve.present, "as chosen"));
            table
                .rows
                .extend(after.into_iter().map(|point| row(point, "")));
        }
        table
    }
}
