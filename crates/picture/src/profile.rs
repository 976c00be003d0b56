//! A line from pump to tip: pressure over distance, and the ground under it.

use crate::canvas::{Anchor, Canvas, DASHES, NAME, SMALL, Spot};
use crate::drawing::{Drawing, Table};
use crate::frame::{Axis, Frame, value};
use crate::labels::{Label, Labels};
use crate::text::shorten;
use book::{LaidPart, Layout, PartKind, Step};
use hydraulics::units::{Kind, Length, Measure, Pressure, System, psi, show};
use lay::PlaceId;
use std::collections::BTreeMap;
use study::answer::{LineAnswer, PartAnswer, TipAnswer, regime_word};

const WIDTH: f64 = 760.0;
const HEIGHT: f64 = 520.0;
const LEFT: f64 = 78.0;
const RIGHT: f64 = 590.0;

/// A part of the way, placed.
struct Piece<'a> {
    laid: &'a LaidPart,
    answer: &'a PartAnswer,
    /// Distance from the pump.
    begins: Length,
    ends: Length,
    low: Length,
    high: Length,
    style: &'static str,
}

impl Piece<'_> {
    fn pressures(&self) -> Option<(Pressure, Pressure)> {
        Some((self.answer.pressure_in?, self.answer.pressure_out?))
    }

    /// Its place, and its line where that is not `line`, for the page.
    fn data(&self, line: &str) -> Vec<(&'static str, &str)> {
        let own = self.laid.line.as_str();
        let other = (own != line).then_some(("line", own));
        let place = ("place", self.answer.place.as_str());
        [place].into_iter().chain(other).collect()
    }

    fn is_tip(&self) -> bool {
        self.laid.kind == PartKind::Nozzle
    }

    /// The way to the first tip, past no second leg or branch.
    fn is_first(&self) -> bool {
        let other = |step: &Step| matches!(step, Step::Branch(n) | Step::Leg(n) if *n > 1);
        !self.laid.path.0.iter().any(other)
    }

    /// Which leg it is on, if it is on one.
    fn leg(&self) -> Option<usize> {
        self.laid.path.0.iter().find_map(|step| match step {
            Step::Leg(n) => Some(*n),
            _ => None,
        })
    }
}

/// A line as pressure against distance from pump to tip, with the ground under it.
/// `layout` and `answer` must be of the same line under the same conditions. Parts
/// that no pressure reaches are in the table and not in the picture.
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
/// let drawing = picture::profile(&layout, &answer, System::Us);
/// assert!(drawing.caption.contains("78 psi at the pump"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn profile(layout: &Layout, answer: &LineAnswer, system: System) -> Drawing {
    let pieces = pieces(layout, answer);
    let (frame, ground) = frames(answer, &pieces, system);
    let mut canvas = Canvas::new(WIDTH, HEIGHT);
    let name = answer.title.as_deref().unwrap_or(&answer.line);
    canvas.text(
        (16.0, 24.0),
        Anchor::Start,
        NAME,
        &shorten(name, NAME, WIDTH - 32.0),
    );
    frame.draw_up(&mut canvas);
    ground.draw(&mut canvas);
    let bottom = frame.sides().3;
    canvas.stroke("axis", &[(LEFT, bottom), (RIGHT, bottom)]);
    draw_ground(&mut canvas, &ground, &pieces);
    let mut labels = Labels::within((LEFT + 4.0, 34.0), (WIDTH - 4.0, bottom - 2.0));
    for piece in &pieces {
        draw_piece(&mut canvas, &frame, piece, (answer, system));
        labels.avoid(&stroke(&frame, piece));
    }
    let mut write = Writer {
        canvas,
        labels,
        frame,
        system,
    };
    write.pump(answer);
    let tips = || pieces.iter().filter(|piece| piece.is_tip());
    for (piece, tip) in tips().zip(&answer.tips) {
        let at = write.frame.spot(piece.ends, tip.tip_pressure);
        write.labels.avoid_mark(at);
    }
    for (piece, tip) in tips().zip(&answer.tips) {
        write.tip(piece, tip, &answer.line);
    }
    for piece in pieces.iter().filter(|piece| !piece.is_tip()) {
        write.part(piece);
    }
    let caption = caption(answer, &pieces, system);
    let title = format!("Pressure along line {}", answer.line);
    write
        .canvas
        .finish(&title, caption, table(answer, &pieces, system))
}

/// Distance from the pump of every place: the longer way where two meet.
fn distances(layout: &Layout) -> BTreeMap<PlaceId, f64> {
    let lengths: BTreeMap<_, f64> = layout
        .parts
        .iter()
        .map(|laid| (laid.part, laid.length.map_or(0.0, |length| length.value)))
        .collect();
    let mut distances = BTreeMap::from([(layout.supply, 0.0)]);
    // Parts are laid from the pump on, so that one pass sees each inlet first.
    for part in layout.lay.parts() {
        let (from, to) = layout.lay.ends(part);
        let Some(begins) = distances.get(&from) else {
            continue;
        };
        let ends = begins + lengths.get(&part).copied().unwrap_or(0.0);
        let farthest = distances.entry(to).or_insert(ends);
        *farthest = farthest.max(ends);
    }
    distances
}

fn pieces<'a>(layout: &'a Layout, answer: &'a LineAnswer) -> Vec<Piece<'a>> {
    let distances = distances(layout);
    let mut ways: Vec<(&str, Vec<usize>)> = Vec::new();
    let mut pieces = Vec::new();
    for (laid, answer) in layout.parts.iter().zip(&answer.parts) {
        let (from, to) = layout.lay.ends(laid.part);
        let begins = distances.get(&from).copied().unwrap_or(0.0);
        let way = (laid.line.as_str(), branches(laid));
        let order = ways.iter().position(|other| *other == way);
        let order = order.unwrap_or(ways.len());
        if order == ways.len() {
            ways.push(way);
        }
        let style = DASHES.get(order % DASHES.len()).copied();
        pieces.push(Piece {
            laid,
            answer,
            begins: Length::of_si(begins),
            ends: Length::of_si(begins) + laid.length.unwrap_or_default(),
            low: layout.lay.height(from),
            high: layout.lay.height(to),
            style: style.unwrap_or("whole"),
        });
    }
    pieces
}

/// The branches that lead to a part.
fn branches(laid: &LaidPart) -> Vec<usize> {
    let branch = |step: &Step| match step {
        Step::Branch(n) => Some(*n),
        _ => None,
    };
    laid.path.0.iter().filter_map(branch).collect()
}

fn frames(answer: &LineAnswer, pieces: &[Piece<'_>], system: System) -> (Frame, Frame) {
    let reader = |length: Length| value(Kind::Length, length, system);
    let longest = pieces.iter().map(|p| reader(p.ends)).fold(1.0, f64::max);
    let heights = || pieces.iter().flat_map(|p| [reader(p.low), reader(p.high)]);
    let lowest = heights().fold(0.0, f64::min);
    let highest = heights().fold(lowest + reader(Length::of_si(3.0)), f64::max);
    let pressures = pieces.iter().filter_map(Piece::pressures);
    let pressures = pressures.flat_map(|(a, b)| [a, b]);
    let pressure = |p: Pressure| value(Kind::Pressure, p, system);
    let top = pressures.chain([answer.pump_pressure]).map(pressure);
    let top = top.fold(pressure(psi(10.0)), f64::max);
    let along = Axis::new(
        ("Distance from the pump", Kind::Length, system),
        (0.0, longest),
        (LEFT, RIGHT),
    );
    let up = |title, kind, range, pixels| Axis::new((title, kind, system), range, pixels);
    let above = Frame {
        x: along.clone(),
        y: up("Pressure", Kind::Pressure, (0.0, top), (352.0, 52.0)),
    };
    let below = Frame {
        x: along,
        y: up("Height", Kind::Length, (lowest, highest), (464.0, 386.0)),
    };
    (above, below)
}

/// The stroke of a piece; a tip's ends at its nozzle pressure and not in the air.
fn stroke(frame: &Frame, piece: &Piece<'_>) -> Vec<Spot> {
    match piece.pressures() {
        Some((inlet, outlet)) if !piece.is_tip() => vec![
            frame.spot(piece.begins, inlet),
            frame.spot(piece.ends, outlet),
        ],
        _ => Vec::new(),
    }
}

fn draw_ground(canvas: &mut Canvas, ground: &Frame, pieces: &[Piece<'_>]) {
    let (left, right, _, floor) = ground.sides();
    let flat = Length::of_si(0.0);
    if pieces.iter().all(|piece| piece.high == flat) {
        let at = (0.5 * (left + right), floor - 10.0);
        canvas.text(at, Anchor::Middle, SMALL, "level ground");
    }
    for piece in pieces.iter().filter(|piece| !piece.is_tip()) {
        let (a, b) = (
            ground.spot(piece.begins, piece.low),
            ground.spot(piece.ends, piece.high),
        );
        if piece.is_first() {
            canvas.shape("soft", &[a, b, (b.0, floor), (a.0, floor)]);
        }
        canvas.stroke(&format!("main {}", piece.style), &[a, b]);
    }
}

fn draw_piece(
    canvas: &mut Canvas,
    frame: &Frame,
    piece: &Piece<'_>,
    (answer, system): (&LineAnswer, System),
) {
    let stroke = stroke(frame, piece);
    let [a, b] = stroke.as_slice() else { return };
    canvas.point_of(
        &said(piece, answer, system),
        &piece.data(&answer.line),
        |canvas| {
            if a == b {
                canvas.circle("hit", *a, 12.0);
                canvas.circle("full", *a, 3.0);
            } else {
                canvas.stroke("hit", &[*a, *b]);
                canvas.stroke(&format!("main {}", piece.style), &[*a, *b]);
            }
        },
    );
}

/// A part and its values in words.
fn said(piece: &Piece<'_>, answer: &LineAnswer, system: System) -> String {
    let mut words = format!("{}: {}", place(piece, answer), what(piece, system));
    words.push_str(&format!(
        "; {}",
        show(Kind::Flow, piece.answer.flow, system)
    ));
    if let Some((inlet, outlet)) = piece.pressures() {
        let (inlet, outlet) = (
            show(Kind::Pressure, inlet, system),
            show(Kind::Pressure, outlet, system),
        );
        words.push_str(&format!("; {inlet} at its inlet, {outlet} at its outlet"));
    }
    words
}

fn place(piece: &Piece<'_>, answer: &LineAnswer) -> String {
    match piece.laid.line == answer.line {
        true => piece.answer.place.clone(),
        false => format!("{}, {}", piece.laid.line, piece.answer.place),
    }
}

fn what(piece: &Piece<'_>, system: System) -> String {
    let length = piece.laid.length.map(|l| show(Kind::Length, l, system));
    let leg = if piece.leg().is_some() { ", a leg" } else { "" };
    match length {
        Some(length) => format!("{} {}, {length}{leg}", piece.answer.kind, piece.answer.name),
        None if piece.answer.name.is_empty() => piece.answer.kind.to_string(),
        None => format!("{} {}{leg}", piece.answer.kind, piece.answer.name),
    }
}

/// Writes labels into the picture.
struct Writer {
    canvas: Canvas,
    labels: Labels,
    frame: Frame,
    system: System,
}

impl Writer {
    fn pump(&mut self, answer: &LineAnswer) {
        let at = self.frame.spot(Length::of_si(0.0), answer.pump_pressure);
        let pressure = show(Kind::Pressure, answer.pump_pressure, self.system);
        let flow = show(Kind::Flow, answer.flow, self.system);
        let said = format!("Pump: {pressure}, {flow}");
        let data = [("place", "pump outlet")];
        self.canvas.point_of(&said, &data, |canvas| {
            canvas.circle("hit", at, 14.0);
            canvas.circle("full", at, 4.5);
        });
        let lines = [(pressure.as_str(), 20.0), ("at the pump", SMALL)];
        self.labels.write(
            &mut self.canvas,
            &Label {
                lines: &lines,
                at: &[at],
            },
        );
    }

    fn tip(&mut self, piece: &Piece<'_>, tip: &TipAnswer, line: &str) {
        let Some(inlet) = piece.answer.pressure_in else {
            return;
        };
        let system = self.system;
        let from = self.frame.spot(piece.ends, inlet);
        let at = self.frame.spot(piece.ends, tip.tip_pressure);
        let flow = show(Kind::Flow, tip.flow, system);
        let pressure = show(Kind::Pressure, tip.tip_pressure, system);
        let regime = tip
            .regime
            .map(|r| format!(", {} its range", regime_word(r)));
        let regime = regime.unwrap_or_default();
        let said = format!(
            "{}, {}: {flow} at {pressure}{regime}",
            tip.place, tip.nozzle
        );
        self.canvas.point_of(&said, &piece.data(line), |canvas| {
            canvas.circle("hit", at, 14.0);
            canvas.stroke(&format!("main {}", piece.style), &[from, at]);
            canvas.circle("spot", at, 5.5);
            canvas.circle("ring", at, 5.5);
        });
        let pressure = format!("{pressure} at the tip");
        let name = shorten(&format!("{}{regime}", tip.nozzle), SMALL, 165.0);
        let lines = [
            (flow.as_str(), 20.0),
            (pressure.as_str(), NAME),
            (name.as_str(), SMALL),
        ];
        self.labels.write(
            &mut self.canvas,
            &Label {
                lines: &lines,
                at: &[at],
            },
        );
    }

    fn part(&mut self, piece: &Piece<'_>) {
        let stroke = stroke(&self.frame, piece);
        let ([a, b], Some((inlet, outlet))) = (stroke.as_slice(), piece.pressures()) else {
            return;
        };
        let drop = inlet - outlet;
        let other_leg = piece.leg().is_some_and(|leg| leg > 1);
        if other_leg || (piece.laid.kind != PartKind::Hose && drop < psi(1.0)) {
            return;
        }
        let each = if piece.leg().is_some() {
            "each leg: "
        } else {
            ""
        };
        let name = match piece.laid.length {
            Some(length) => format!(
                "{each}{} {}",
                show(Kind::Length, length, self.system),
                piece.answer.name
            ),
            None => format!("{each}{}", piece.answer.name),
        };
        let name = shorten(&name, SMALL, 190.0);
        let word = if drop.value < 0.0 { "gains" } else { "takes" };
        let drop = format!("{word} {}", show(Kind::Pressure, drop.abs(), self.system));
        let along = |share: f64| (a.0 + share * (b.0 - a.0), a.1 + share * (b.1 - a.1));
        let at = [0.5, 0.62, 0.38, 0.75, 0.25].map(along);
        let lines = [(name.as_str(), SMALL), (drop.as_str(), SMALL)];
        self.labels.write(
            &mut self.canvas,
            &Label {
                lines: &lines,
                at: &at,
            },
        );
    }
}

fn caption(answer: &LineAnswer, pieces: &[Piece<'_>], system: System) -> String {
    let tips: Vec<String> = answer
        .tips
        .iter()
        .map(|tip| {
            format!(
                "{} at {} from {}",
                show(Kind::Flow, tip.flow, system),
                show(Kind::Pressure, tip.tip_pressure, system),
                tip.nozzle
            )
        })
        .collect();
    let longest = pieces.iter().map(|p| p.ends.value).fold(0.0, f64::max);
    format!(
        "Line {}: {} at the pump gives {}. The farthest tip is {} of hose away.",
        answer.line,
        show(Kind::Pressure, answer.pump_pressure, system),
        match tips.is_empty() {
            true => "no water".to_string(),
            false => tips.join("; "),
        },
        show(Kind::Length, Length::of_si(longest), system),
    )
}

fn table(answer: &LineAnswer, pieces: &[Piece<'_>], system: System) -> Table {
    let mut table = Table::new(&[
        "Place",
        "Part",
        "Begins at",
        "Ends at",
        "Height at its end",
        "Flow",
        "Pressure in",
        "Pressure out",
    ]);
    let pressure = |p: Option<Pressure>| match p {
        Some(p) => show(Kind::Pressure, p, system),
        None => "none".to_string(),
    };
    table.rows = pieces
        .iter()
        .map(|piece| {
            vec![
                place(piece, answer),
                what(piece, system),
                show(Kind::Length, piece.begins, system),
                show(Kind::Length, piece.ends, system),
                show(Kind::Length, piece.high, system),
                show(Kind::Flow, piece.answer.flow, system),
                pressure(piece.answer.pressure_in),
                pressure(piece.answer.pressure_out),
            ]
        })
        .collect();
    table
}
