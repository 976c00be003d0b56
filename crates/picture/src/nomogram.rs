//! An alignment chart of one hose: a straight edge across length and flow reads the
//! friction loss. Loss is length times f(flow), so log loss = log length + log f: three
//! parallel scales, the loss between the others. Flow stands at log f of itself, so that
//! the chart holds for every friction law. Beside it, ladders of nozzle pressure.

mod ladder;

use crate::canvas::{Anchor, Spot};
use crate::drawing::{Drawing, Table};
use crate::ruler::{Mark, uneven};
use crate::to_scale::{ToScale, number};
use book::{Book, Which};
use hydraulics::element::Element;
use hydraulics::hose::Run;
use hydraulics::units::{Kind, Length, Measure, Pressure, Ratio, System, VolumeRate, psi, show};
use study::NozzleOn;

pub use ladder::Ladder;

/// An alignment chart, drawn to scale.
#[derive(Debug, Clone, PartialEq)]
pub struct Nomogram {
    /// The drawing; prints [`Nomogram::mm`] wide.
    pub drawing: Drawing,
    /// Width at which it is to scale, mm.
    pub mm: f64,
    /// The nozzles that have a ladder.
    pub ladders: Vec<Ladder>,
    /// Names of the nozzles for which there was no room.
    pub left_out: Vec<String>,
    /// The dashed line: length, flow and the loss that it reads.
    pub example: (Length, VolumeRate, Pressure),
    /// The lowest and the highest length.
    pub lengths: (Length, Length),
    /// The lowest and the highest flow.
    pub flows: (VolumeRate, VolumeRate),
    /// The share of the loss that half a millimetre on its scale stands for.
    pub half_millimetre: Ratio,
}

// Millimetres.
const WIDTH: f64 = 184.0;
const TOP: f64 = 14.0;
const BOTTOM: f64 = 164.0;
const HIGH: f64 = BOTTOM - TOP;
const LENGTH_X: f64 = 16.0;
const FLOW_X: f64 = 104.0;
const FIGURE: f64 = 3.0;
/// Losses that nobody reads: 0.3 psi and less, 400 psi and more.
const SEEN: (f64, f64) = (0.3, 400.0);
/// Loss in 100 ft between which flows lie when no nozzle says it: 1 and 60 psi.
const USUAL: (f64, f64) = (1.0, 60.0);

/// The alignment chart of the hose called `name` with the nozzles that lines use on it,
/// at most four of them with a ladder, in the units of `first` and, on the other side of
/// each scale, of `second`. `None` when the hose is not known or has no friction.
///
/// ```
/// use hydraulics::units::System;
/// let text = b"[book]\nname = 'Example'\n[line.left]\n\
///     parts = [{ hose = '2.5 in', length = '200 ft' }, { nozzle = '1-1/8 in smooth bore' }]\n";
/// let book = book::read(text, "example.toml")?;
/// let nozzles = study::nozzles_on(&book, "2.5 in");
/// let chart = picture::nomogram(&book, "2.5 in", &nozzles, System::Us, None).ok_or("no chart")?;
/// assert_eq!(chart.ladders.len(), 1);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn nomogram(
    book: &Book,
    name: &str,
    nozzles: &[NozzleOn],
    first: System,
    second: Option<System>,
) -> Option<Nomogram> {
    let chart = Chart::of(book, name, nozzles, first, second)?;
    let mut sheet = ToScale::new(WIDTH, BOTTOM + 16.0);
    chart.scales(&mut sheet);
    let shown = nozzles.iter().take(ladder::MOST);
    let ladders: Vec<Ladder> = shown
        .zip(ladder::LETTERS)
        .map(|(on, letter)| Ladder::of(on, letter))
        .collect();
    if !ladders.is_empty() {
        sheet.text((FLOW_X + 13.0, 3.0), Anchor::Start, 3.4, "Nozzle pressure");
    }
    for (place, ladder) in ladders.iter().enumerate() {
        ladder.draw(&mut sheet, &chart, place);
    }
    let example = chart.example(nozzles);
    chart.dashed(&mut sheet, example);
    let (length, flow, loss) = example;
    let text = |kind, si| show(kind, Plain(si), first);
    let caption = format!(
        "Alignment chart of hose {name}: a straight edge from the length to the flow crosses the friction loss. Dashed: {} at {} lose {}.",
        text(Kind::Length, length.value),
        text(Kind::Flow, flow.value),
        text(Kind::Pressure, loss.value),
    );
    let table = chart.table();
    Some(Nomogram {
        drawing: sheet.finish(&format!("Alignment chart of hose {name}"), caption, table),
        mm: WIDTH + 1.0,
        left_out: nozzles
            .iter()
            .skip(ladder::MOST)
            .map(NozzleOn::called)
            .collect(),
        ladders,
        example,
        lengths: (
            Length::of_si(chart.lengths.0),
            Length::of_si(chart.lengths.1),
        ),
        flows: (
            VolumeRate::of_si(chart.flows.0),
            VolumeRate::of_si(chart.flows.1),
        ),
        half_millimetre: Ratio::of_si(10.0_f64.powf(0.5 / chart.loss_decade()) - 1.0),
    })
}

/// Where a value in SI lies, in millimetres from the top.
type Place<'a> = &'a dyn Fn(f64) -> f64;

/// The scales, in SI.
struct Chart {
    /// One metre of the hose.
    metre: Run,
    lengths: (f64, f64),
    flows: (f64, f64),
    first: System,
    second: Option<System>,
}

impl Chart {
    fn of(
        book: &Book,
        name: &str,
        nozzles: &[NozzleOn],
        first: System,
        second: Option<System>,
    ) -> Option<Self> {
        let used = book.friction(name, Which::Best)?;
        let metre = Run::new(used.friction, Length::of_si(1.0), book.water()).ok()?;
        let longest = nozzles
            .iter()
            .fold(0.0_f64, |most, on| most.max(on.length.value));
        let unit = Kind::Length.unit(first);
        let (low, high) = match first {
            System::Us => (50.0, 1000.0),
            System::Si => (15.0, 300.0),
        };
        let times = if unit.from_si(longest) > 0.6 * high {
            5.0
        } else {
            1.0
        };
        let lengths = (unit.to_si(low * times), unit.to_si(high * times));
        let shown = nozzles.iter().take(ladder::MOST).map(ladder::flows);
        let (least, most) = shown.fold((f64::INFINITY, 0.0_f64), |(a, b), (low, high)| {
            (a.min(low), b.max(high))
        });
        let flows = match most > 0.0 && least.is_finite() && least > 0.0 {
            true => (least.min(most / 3.0) * 0.85, most * 1.1),
            false => usual(&metre),
        };
        Some(Chart {
            metre,
            lengths,
            flows,
            first,
            second,
        })
        .filter(|chart| {
            let (low, high) = (chart.per_metre(flows.0), chart.per_metre(flows.1));
            low > 0.0 && high > 1.5 * low && high.is_finite()
        })
    }

    /// Loss of a metre at a flow, Pa.
    fn per_metre(&self, flow: f64) -> f64 {
        self.metre.loss(VolumeRate::of_si(flow)).pressure.value
    }

    fn length_decade(&self) -> f64 {
        HIGH / (self.lengths.1 / self.lengths.0).log10()
    }

    fn flow_decade(&self) -> f64 {
        HIGH / (self.per_metre(self.flows.1) / self.per_metre(self.flows.0)).log10()
    }

    /// Millimetres of a decade of loss.
    fn loss_decade(&self) -> f64 {
        let (length, flow) = (self.length_decade(), self.flow_decade());
        length * flow / (length + flow)
    }

    fn loss_x(&self) -> f64 {
        let (length, flow) = (self.length_decade(), self.flow_decade());
        LENGTH_X + (FLOW_X - LENGTH_X) * length / (length + flow)
    }

    fn length_y(&self, length: f64) -> f64 {
        BOTTOM - self.length_decade() * (length / self.lengths.0).log10()
    }

    fn flow_y(&self, flow: f64) -> f64 {
        let share = self.per_metre(flow) / self.per_metre(self.flows.0);
        BOTTOM - self.flow_decade() * share.log10()
    }

    fn loss_y(&self, loss: f64) -> f64 {
        let least = self.lengths.0 * self.per_metre(self.flows.0);
        BOTTOM - self.loss_decade() * (loss / least).log10()
    }

    /// The losses that are drawn, Pa.
    fn losses(&self) -> (f64, f64) {
        let least = self.lengths.0 * self.per_metre(self.flows.0);
        let most = self.lengths.1 * self.per_metre(self.flows.1);
        let (low, high) = (psi(SEEN.0).value.max(least), psi(SEEN.1).value.min(most));
        if low < high {
            (low, high)
        } else {
            (least, most)
        }
    }

    fn scales(&self, sheet: &mut ToScale) {
        let losses = self.losses();
        let length: Place<'_> = &|v| self.length_y(v);
        self.scale(
            sheet,
            ("Length", Kind::Length),
            LENGTH_X,
            (self.lengths, length),
        );
        let loss: Place<'_> = &|v| self.loss_y(v);
        let named = ("Friction loss", Kind::Pressure);
        self.scale(sheet, named, self.loss_x(), (losses, loss));
        let flow: Place<'_> = &|v| self.flow_y(v);
        self.scale(sheet, ("Flow", Kind::Flow), FLOW_X, (self.flows, flow));
    }

    /// One upright scale at `x`, in both systems where two are asked for.
    fn scale(
        &self,
        sheet: &mut ToScale,
        (name, kind): (&str, Kind),
        x: f64,
        (ends, at): ((f64, f64), Place<'_>),
    ) {
        sheet.line("axis", (x, at(ends.0)), (x, at(ends.1)));
        sheet.text((x, 7.0), Anchor::Middle, 3.8, name);
        one_side(sheet, (kind, self.first), (x, -1.0), ends, at);
        if let Some(second) = self.second {
            one_side(sheet, (kind, second), (x, 1.0), ends, at);
        }
    }

    /// The line that is drawn as an example.
    fn example(&self, nozzles: &[NozzleOn]) -> (Length, VolumeRate, Pressure) {
        let unit = Kind::Length.unit(self.first);
        let usual = match self.first {
            System::Us => unit.to_si(200.0),
            System::Si => unit.to_si(60.0),
        };
        let within = |v: f64, ends: (f64, f64)| v >= ends.0 && v <= ends.1;
        let first = nozzles.first();
        let length = first
            .map(|on| on.length.value)
            .filter(|l| within(*l, self.lengths));
        let length = length.unwrap_or(usual.clamp(self.lengths.0, self.lengths.1));
        let flow = first
            .map(|on| on.flow.value)
            .filter(|f| within(*f, self.flows));
        let flow = flow.unwrap_or_else(|| self.middle_flow());
        let loss = length * self.per_metre(flow);
        (
            Length::of_si(length),
            VolumeRate::of_si(flow),
            Pressure::of_si(loss),
        )
    }

    /// A flow with a figure, near the middle of the scale.
    fn middle_flow(&self) -> f64 {
        let figures = self.flow_figures();
        let middle = figures.get(figures.len() / 2).copied();
        middle.unwrap_or((self.flows.0 * self.flows.1).sqrt())
    }

    /// Round flows along the scale.
    fn flow_figures(&self) -> Vec<f64> {
        let unit = Kind::Flow.unit(self.first);
        let ends = (unit.from_si(self.flows.0), unit.from_si(self.flows.1));
        let marks = uneven(ends, |v| self.flow_y(unit.to_si(v)), (1.2, 12.0));
        let figures = marks.iter().filter(|mark| mark.rank == 2);
        figures.map(|mark| unit.to_si(mark.value)).collect()
    }

    fn dashed(&self, sheet: &mut ToScale, (length, flow, loss): (Length, VolumeRate, Pressure)) {
        let ends = [
            (LENGTH_X, self.length_y(length.value)),
            (self.loss_x(), self.loss_y(loss.value)),
            (FLOW_X, self.flow_y(flow.value)),
        ];
        let [from, middle, to] = ends;
        sheet.group(&[("example", "")], |sheet| {
            sheet.line("thin dash", from, to)
        });
        for at in [from, middle, to] {
            sheet.circle("ring", at, 1.3);
        }
    }

    /// Losses of a round length at round flows.
    fn table(&self) -> Table {
        let unit = Kind::Length.unit(self.first);
        let length = unit.to_si(if self.first == System::Us {
            100.0
        } else {
            30.0
        });
        let said = show(Kind::Length, Plain(length), self.first);
        let mut table = Table::new(&["Flow", &format!("Friction loss in {said}")]);
        for flow in self.flow_figures() {
            table.rows.push(vec![
                show(Kind::Flow, Plain(flow), self.first),
                show(
                    Kind::Pressure,
                    Plain(length * self.per_metre(flow)),
                    self.first,
                ),
            ]);
        }
        table
    }
}

/// Flows between which a hose is used when no nozzle says it.
fn usual(metre: &Run) -> (f64, f64) {
    let per_metre = |loss: f64| psi(loss).value / 30.48;
    let at = |loss: f64| {
        let (mut low, mut high) = (0.0, 1.0);
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            match metre.loss(VolumeRate::of_si(middle)).pressure.value > per_metre(loss) {
                true => high = middle,
                false => low = middle,
            }
        }
        high
    };
    (at(USUAL.0), at(USUAL.1))
}

/// A scale in one system of units at the left (-1) or the right (1) of its line.
fn one_side(
    sheet: &mut ToScale,
    (kind, system): (Kind, System),
    (x, side): Spot,
    ends: (f64, f64),
    at: Place<'_>,
) {
    let unit = kind.unit(system);
    let y = |value: f64| at(unit.to_si(value));
    let ends = (unit.from_si(ends.0), unit.from_si(ends.1));
    let marks = uneven(ends, y, (1.2, 3.9));
    let name = kind.name();
    let data = [("scale", name), ("unit", unit.symbol)];
    sheet.group(&data, |sheet| written(sheet, &marks, (x, side), y));
    let anchor = if side < 0.0 {
        Anchor::End
    } else {
        Anchor::Start
    };
    sheet.text((x + side * 2.0, 11.4), anchor, FIGURE, unit.symbol);
}

/// Marks with their figures at one side of a line.
fn written(sheet: &mut ToScale, marks: &[Mark], (x, side): Spot, y: impl Fn(f64) -> f64) {
    let anchor = if side < 0.0 {
        Anchor::End
    } else {
        Anchor::Start
    };
    let small = marks.iter().filter(|mark| mark.rank < 2);
    let small = small.map(|m| [(x, y(m.value)), (x + side * 1.4, y(m.value))]);
    sheet.lines("lead", &small.collect::<Vec<_>>());
    for mark in marks.iter().filter(|mark| mark.rank == 2) {
        let at = y(mark.value);
        let data = format!("{}", (mark.value * 1e6).round() / 1e6);
        sheet.group(&[("value", &data)], |sheet| {
            sheet.line("axis", (x, at), (x + side * 2.4, at));
            let figure = number(mark.value, mark.value * 0.01);
            sheet.text((x + side * 3.0, at + 1.05), anchor, FIGURE, &figure);
        });
    }
}

/// A bare SI value on its way to [`show`].
#[derive(Clone, Copy)]
struct Plain(f64);

impl Measure for Plain {
    fn of_si(value: f64) -> Self {
        Plain(value)
    }

    fn si(self) -> f64 {
        self.0
    }
}
