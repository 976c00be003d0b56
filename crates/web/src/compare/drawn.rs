//! The drawings of a comparison.

use super::axes::Axes;
use crate::look;
use crate::tables::capital;
use book::Book;
use book::comparison::{AimKind, Comparison};
use hydraulics::units::{Pressure, System};
use maud::{Markup, html};
use picture::{overlaid, side_by_side, trade_off};
use study::choose::{Bound, Choice, Chosen, Curve, OfLine, aim_name, bounds, curves};

/// Choices whose curves are drawn, beside today's.
const CURVES: usize = 4;

/// What is drawn: trade-off, all aims side by side, curves.
pub(super) struct Drawn<'a> {
    pub book: &'a Book,
    pub comparison: &'a Comparison,
    pub chosen: &'a Chosen,
    pub axes: &'a Axes,
    pub system: System,
}

impl Drawn<'_> {
    /// The region that follows weights and axes.
    pub fn shown(&self) -> Markup {
        let bounds = bounds(self.book, self.comparison);
        html! {
            div #drawn {
                @if let Some((x, y)) = self.axes.plane {
                    h2 { "What is gained and what is given up" }
                    (look::drawing("trade-off", &format!("{} against {}", capital(aim_name(y)), aim_name(x)), &trade_off(self.chosen, &bounds, (x, y), self.system)))
                    (look::drawing("side-by-side", "All aims side by side", &side_by_side(self.chosen, &[], self.system)))
                }
                (self.curves(&bounds))
            }
        }
    }

    fn curves(&self, bounds: &[Bound]) -> Markup {
        let line = &self.axes.line;
        let picked: Vec<&Choice> = self.picked();
        let on: Vec<&OfLine> = picked.iter().filter_map(|one| on(one, line)).collect();
        let codes = picked.iter().filter(|one| on_line(one, line));
        let codes: Vec<&str> = codes.map(|one| one.code.as_str()).collect();
        match curves(self.book, line, &on, self.range(&on)) {
            Ok(found) => {
                let pairs: Vec<(&str, &Curve)> = codes.into_iter().zip(&found).collect();
                let low = self.comparison.cases.low_pump_pressure.as_ref();
                let low = low.map(|low| low.get());
                let drawing = overlaid(line, &pairs, self.axes.over, (bounds, low), self.system);
                look::drawing("curves", &format!("Over pump pressure, {line}"), &drawing)
            }
            Err(error) => html! { p.wrong { (error) } },
        }
    }

    /// The first few, the robust one, and what is carried today.
    fn picked(&self) -> Vec<&Choice> {
        let mut picked: Vec<&Choice> = self.chosen.choices.iter().take(CURVES - 1).collect();
        let robust = self
            .chosen
            .robust
            .and_then(|at| self.chosen.choices.get(at));
        for more in robust.into_iter().chain(&self.chosen.today) {
            if !picked.iter().any(|one| one.code == more.code) {
                picked.push(more);
            }
        }
        picked
    }

    /// From the lowest to the highest pump pressure that the comparison speaks of.
    fn range(&self, on: &[&OfLine]) -> (Pressure, Pressure) {
        let own = on.iter().map(|on| on.pump_pressure);
        let asked = [
            self.comparison.cases.low_pump_pressure.as_ref(),
            self.comparison.limits.pump_pressure.as_ref(),
        ];
        let asked = asked.into_iter().flatten().map(|stated| stated.get());
        let all: Vec<f64> = own.chain(asked).map(|p| p.value).collect();
        let least = all.iter().copied().fold(f64::INFINITY, f64::min);
        let most = all.iter().copied().fold(0.0, f64::max);
        let (least, most) = match least.is_finite() {
            true => (0.7 * least, 1.1 * most),
            false => (0.0, 1e6),
        };
        (
            hydraulics::units::Measure::of_si(least),
            hydraulics::units::Measure::of_si(most),
        )
    }
}

fn on<'a>(choice: &'a Choice, line: &str) -> Option<&'a OfLine> {
    choice.on.iter().find(|on| on.line == line)
}

fn on_line(choice: &Choice, line: &str) -> bool {
    on(choice, line).is_some()
}

/// What a drawing of days and of doubt is of.
pub(super) fn titled(aim: AimKind) -> String {
    capital(aim_name(aim))
}
