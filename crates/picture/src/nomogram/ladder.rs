//! Ladders of nozzle pressure beside the scale of flow.

use super::{BOTTOM, Chart, FIGURE, FLOW_X, written};
use crate::canvas::Anchor;
use crate::ruler::Mark;
use crate::text::shorten;
use crate::to_scale::ToScale;
use hydraulics::nozzle::Nozzle;
use hydraulics::units::{Kind, Measure, Pressure, System};
use study::NozzleOn;

/// The most ladders that have room.
pub(super) const MOST: usize = 4;

/// What they are called in the drawing.
pub(super) const LETTERS: [char; MOST] = ['A', 'B', 'C', 'D'];

/// Millimetres from one ladder to the next.
const APART: f64 = 17.0;

/// One ladder.
#[derive(Debug, Clone, PartialEq)]
pub struct Ladder {
    /// Its letter in the drawing.
    pub letter: char,
    /// The nozzle, and what it is used for.
    pub on: NozzleOn,
}

/// The nozzle pressures of a ladder, Pa: the range of an automatic nozzle, and about the
/// rating of another.
fn pressures(on: &NozzleOn) -> (f64, f64) {
    match &on.law {
        Nozzle::Automatic(nozzle) => {
            let (low, high) = nozzle.pressures();
            (low.value, high.value)
        }
        _ => (0.5 * on.rated.value, 1.6 * on.rated.value),
    }
}

/// The flows at the ends of a ladder.
pub(super) fn flows(on: &NozzleOn) -> (f64, f64) {
    match &on.law {
        Nozzle::Automatic(nozzle) => {
            let (low, high) = nozzle.flows();
            (low.value, high.value)
        }
        law => {
            let (low, high) = pressures(on);
            let flow = |p: f64| law.flow(Pressure::of_si(p)).value;
            (flow(low), flow(high))
        }
    }
}

impl Ladder {
    pub(super) fn of(on: &NozzleOn, letter: char) -> Self {
        Ladder {
            letter,
            on: on.clone(),
        }
    }

    pub(super) fn draw(&self, sheet: &mut ToScale, chart: &Chart, place: usize) {
        let x = FLOW_X + 19.0 + APART * place as f64;
        let (low, high) = flows(&self.on);
        sheet.line("axis", (x, chart.flow_y(low)), (x, chart.flow_y(high)));
        sheet.text((x, 4.6), Anchor::Middle, 3.8, &self.letter.to_string());
        self.side(sheet, chart, (x, -1.0), chart.first);
        if let Some(second) = chart.second {
            self.side(sheet, chart, (x, 1.0), second);
        }
        let used = chart.flow_y(self.on.flow.value);
        if self.on.flow.value >= low && self.on.flow.value <= high {
            sheet.circle("full", (x, used), 0.9);
        }
        // Two in a row below the scales.
        let (column, row) = (place % 2, place / 2);
        let key = format!("{}  {}", self.letter, self.on.called());
        let key = shorten(&key, 3.4, 86.0);
        let at = (4.0 + 92.0 * column as f64, BOTTOM + 7.0 + 5.0 * row as f64);
        sheet.text(at, Anchor::Start, 3.4, &key);
    }

    fn side(&self, sheet: &mut ToScale, chart: &Chart, (x, side): (f64, f64), system: System) {
        let unit = Kind::Pressure.unit(system);
        let y = |value: f64| {
            let pressure = Pressure::of_si(unit.to_si(value));
            chart.flow_y(self.on.law.flow(pressure).value)
        };
        let (low, high) = pressures(&self.on);
        let finest = 10.0_f64.powi(-(Kind::Pressure.decimals(system) as i32));
        let marks = rungs((unit.from_si(low), unit.from_si(high)), finest, y);
        let letter = self.letter.to_string();
        let data = [("ladder", letter.as_str()), ("unit", unit.symbol)];
        sheet.group(&data, |sheet| written(sheet, &marks, (x, side), y));
        let anchor = if side < 0.0 {
            Anchor::End
        } else {
            Anchor::Start
        };
        sheet.text((x + side * 2.0, 10.0), anchor, FIGURE, unit.symbol);
    }
}

/// The pressures that have a mark: the finest steps that keep apart, from `finest` on.
fn rungs((low, high): (f64, f64), finest: f64, y: impl Fn(f64) -> f64) -> Vec<Mark> {
    let steps = [1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0].map(|times| times * finest);
    let values = |step: f64| -> Vec<f64> {
        let (first, last) = ((low / step - 1e-6).ceil(), (high / step + 1e-6).floor());
        let many = (last - first + 1.0).clamp(0.0, 400.0) as usize;
        (0..many).map(|n| (first + n as f64) * step).collect()
    };
    let apart = |values: &[f64]| {
        let gaps = values.iter().zip(values.iter().skip(1));
        gaps.map(|(a, b)| (y(*a) - y(*b)).abs())
            .fold(f64::INFINITY, f64::min)
    };
    let found = steps.into_iter().find(|step| apart(&values(*step)) >= 1.2);
    let step = found.unwrap_or(100.0 * finest);
    let mut marks: Vec<Mark> = values(step)
        .into_iter()
        .map(|value| Mark { value, rank: 0 })
        .collect();
    if marks.is_empty() {
        // A regulator without slope: one pressure over the whole range.
        marks.push(Mark {
            value: low,
            rank: 0,
        });
    }
    let mut taken: Vec<f64> = Vec::new();
    for times in [10.0, 5.0, 2.0, 1.0] {
        let round = times * step;
        for mark in &mut marks {
            let on =
                ((mark.value / round).round() * round - mark.value).abs() < 1e-6 || times == 1.0;
            let place = y(mark.value);
            if on && taken.iter().all(|t| (t - place).abs() >= 3.9) {
                mark.rank = 2;
                taken.push(place);
            }
        }
    }
    marks
}
