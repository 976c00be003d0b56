//! A paper slide rule for one line: a sleeve with a window for each flow, and a slide
//! with the lengths of hose. The pump pressure is an even scale on the sleeve; a length
//! stands at the pressure that it takes with the tip level, and moving the slide adds
//! the rise, which takes the same pressure at every flow and length.

mod sleeve;
mod slide;

use crate::drawing::{Drawing, Table};
use crate::frame::{Scale, step};
use crate::ruler::{Even, even};
use hydraulics::units::{Kind, Length, Measure, Pressure, System, show};
use study::SlideChart;

/// Both parts of a slide rule, drawn to scale.
#[derive(Debug, Clone, PartialEq)]
pub struct SlideRule {
    /// The front of the sleeve with its flaps; prints [`SlideRule::sleeve_mm`] wide.
    pub sleeve: Drawing,
    /// The slide; prints [`SlideRule::slide_mm`] wide.
    pub slide: Drawing,
    /// Width at which the sleeve's drawing is to scale, mm.
    pub sleeve_mm: f64,
    /// Width at which the slide's drawing is to scale, mm.
    pub slide_mm: f64,
    /// Width and height of the front panel of the sleeve, and so of its back, mm.
    pub panel_mm: (f64, f64),
    /// Where the sleeve's drawing has room for a code: left, top, mm.
    pub sleeve_code: (f64, f64),
    /// Where the slide's drawing has room for a code that runs upward: left, bottom, mm.
    pub slide_code: (f64, f64),
    /// The pressure that half a millimetre stands for.
    pub half_millimetre: Pressure,
    /// The lowest and the highest rise that can be set.
    pub rises: (Length, Length),
}

/// The most rows that fit on a page, where one system of units is shown and where both.
pub const ROWS: (usize, usize) = (8, 6);

/// The slide rule of `chart`, called `title`, in the units of `first`; with `second`, a
/// second pressure scale runs below each window.
///
/// ```
/// use hydraulics::units::System;
/// let text = b"[book]\nname = 'Example'\n[line.left]\n\
///     parts = [{ hose = '2.5 in', length = '200 ft' }, { nozzle = '1-1/8 in smooth bore' }]\n";
/// let book = book::read(text, "example.toml")?;
/// let chart = study::slide_chart(&book, "left", System::Us, picture::ROWS.0)?;
/// let rule = picture::slide_rule(&chart, "Left line", System::Us, None);
/// assert!(rule.slide_mm > rule.sleeve_mm);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn slide_rule(
    chart: &SlideChart,
    title: &str,
    first: System,
    second: Option<System>,
) -> SlideRule {
    let rule = Rule::new(chart, title, first, second);
    SlideRule {
        sleeve: sleeve::draw(&rule),
        slide: slide::draw(&rule),
        sleeve_mm: SLEEVE + 1.0,
        slide_mm: SLIDE + 1.0,
        panel_mm: (SLEEVE, rule.panel()),
        sleeve_code: (150.0, FLAP + 2.2),
        slide_code: (OVERHANG + SLEEVE + 10.5, 0.5 * rule.panel() + 26.0),
        half_millimetre: Pressure::of_si(0.5 / rule.per_pascal()),
        rises: rule.rises,
    }
}

// All in millimetres; the sleeve's left edge is zero for both parts, with the slide set to
// level.
const SLEEVE: f64 = 214.0;
/// How far the slide stands out at either side.
const OVERHANG: f64 = 18.0;
const SLIDE: f64 = SLEEVE + 2.0 * OVERHANG;
/// A flap that is folded back.
const FLAP: f64 = 9.0;
/// Left and right edge of the windows.
const WINDOW: (f64, f64) = (34.0, 209.0);
/// The lowest and the highest pressure of the scale.
const ENDS: (f64, f64) = (36.0, 207.0);
/// Where the rise is set.
const ARROW: f64 = 110.0;
/// Half the width of the window at the arrow.
const ARROW_WINDOW: f64 = 36.0;
/// How far the slide moves for the greatest rise and the deepest fall.
const TRAVEL: (f64, f64) = (46.0, 14.0);
/// Rises that nobody passes with one line: 100 ft, 30 m.
const HIGHEST: f64 = 30.48;
/// The head of the panel, above the window of the rise.
const HEAD: f64 = 13.0;
/// A scale beside a window: figures and marks.
const ZONE: f64 = 5.8;

/// Everything that both parts need.
struct Rule<'a> {
    chart: &'a SlideChart,
    title: &'a str,
    first: System,
    second: Option<System>,
    /// Pressure in the units of `first` to millimetres.
    scale: Scale,
    rises: (Length, Length),
}

/// Where a row lies, in millimetres below the top of the panel.
struct Slot {
    /// The scale above the window.
    zone: f64,
    /// The window.
    top: f64,
    bottom: f64,
}

impl<'a> Rule<'a> {
    fn new(chart: &'a SlideChart, title: &'a str, first: System, second: Option<System>) -> Self {
        let unit = Kind::Pressure.unit(first);
        let (low, high) = range(chart);
        let (low, high) = (unit.from_si(low), unit.from_si(high));
        let round = step((high - low) / 25.0);
        let scale = Scale {
            low: ((low / round + 1e-9).floor() * round).max(0.0),
            high: (high / round - 1e-9).ceil() * round,
            from: ENDS.0,
            to: ENDS.1,
        };
        let mut rule = Rule {
            chart,
            title,
            first,
            second,
            scale,
            rises: Default::default(),
        };
        let per_metre = rule.travel(Length::of_si(1.0));
        let most = |travel: f64| Length::of_si((travel / per_metre).min(HIGHEST));
        rule.rises = (-most(TRAVEL.1), most(TRAVEL.0));
        rule
    }

    /// Millimetres for a pascal.
    fn per_pascal(&self) -> f64 {
        let unit = Kind::Pressure.unit(self.first);
        (self.x(unit.to_si(1.0)) - self.x(0.0)) / unit.to_si(1.0)
    }

    /// Where a pressure, in pascals, stands.
    fn x(&self, pressure: f64) -> f64 {
        self.scale
            .at(Kind::Pressure.unit(self.first).from_si(pressure))
    }

    /// How far the slide moves for a rise.
    fn travel(&self, rise: Length) -> f64 {
        self.chart.head.value * rise.value * self.per_pascal()
    }

    /// The marks of the pressure scale in the units of `system`.
    fn pressures(&self, system: System) -> Even {
        let unit = Kind::Pressure.unit(system);
        let own = Kind::Pressure.unit(self.first);
        let ends = [self.scale.low, self.scale.high].map(|end| unit.from_si(own.to_si(end)));
        let per = unit.to_si(1.0) * self.per_pascal();
        even((ends[0], ends[1]), per, (1.1, 7.6))
    }

    /// The marks of the rise, in the units of `system`.
    fn rise_marks(&self, system: System) -> Even {
        let unit = Kind::Length.unit(system);
        let ends = (
            unit.from_si(self.rises.0.value),
            unit.from_si(self.rises.1.value),
        );
        let per = self.travel(Length::of_si(unit.to_si(1.0)));
        even(ends, per, (1.1, 8.0))
    }

    fn arrow_slot(&self) -> Slot {
        let height = if self.second.is_some() { 10.5 } else { 8.0 };
        Slot {
            zone: 8.5,
            top: HEAD,
            bottom: HEAD + height,
        }
    }

    fn slot(&self, row: usize) -> Slot {
        let (height, pitch) = match self.second {
            Some(_) => (9.0, ZONE + 9.0 + 6.0),
            None => (8.0, ZONE + 8.0 + 1.0),
        };
        let zone = self.arrow_slot().bottom + 3.0 + pitch * row as f64;
        Slot {
            zone,
            top: zone + ZONE,
            bottom: zone + ZONE + height,
        }
    }

    /// Height of the panel.
    fn panel(&self) -> f64 {
        let last = self.slot(self.chart.rows.len().max(1) - 1);
        last.bottom + if self.second.is_some() { 7.5 } else { 2.5 }
    }

    fn unit(kind: Kind, system: System) -> &'static str {
        kind.unit(system).symbol
    }

    /// Lengths against flows, for those who read and do not look.
    fn table(&self) -> Table {
        let flows = self.chart.rows.iter();
        let flows = flows.map(|row| show(Kind::Flow, row.flow, self.first));
        let mut table = Table::new(&["Length"]);
        table.head.extend(flows);
        table.rows = self
            .chart
            .lengths
            .iter()
            .enumerate()
            .map(|(n, length)| {
                let cell = |row: &study::SlideRow| match row.level.get(n).copied().flatten() {
                    Some(pressure) => show(Kind::Pressure, pressure, self.first),
                    None => "none".into(),
                };
                let cells = self.chart.rows.iter().map(cell);
                std::iter::once(show(Kind::Length, *length, self.first))
                    .chain(cells)
                    .collect()
            })
            .collect();
        table
    }
}

/// The lowest and the highest pressure that the scale must have, in pascals.
fn range(chart: &SlideChart) -> (f64, f64) {
    let all = chart.rows.iter().flat_map(|row| row.level.iter().flatten());
    let (least, most) = all.fold((f64::INFINITY, 0.0_f64), |(least, most), p| {
        (least.min(p.value), most.max(p.value))
    });
    let least = if least.is_finite() { least } else { 0.0 };
    let carried = chart.lengths.iter().position(|l| *l == chart.carried);
    let as_carried = chart
        .rows
        .iter()
        .filter_map(|row| *row.level.get(carried?)?);
    let as_carried = as_carried.fold(0.0_f64, |most, p| most.max(p.value));
    // Room for three metres down, and for ten up.
    let low = (least - 3.0 * chart.head.value).max(0.0);
    let cap = match &chart.stop {
        Some((stop, _)) => stop.value * 1.08,
        None => as_carried * 1.4,
    };
    let high = (most + 10.0 * chart.head.value).min(cap);
    (low, high.max(low + 2e5))
}
