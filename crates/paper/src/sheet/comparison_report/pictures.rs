//! The drawings of a report.

use book::comparison::AimKind;
use hydraulics::units::Pressure;
use picture::{Drawing, Over};
use study::choose::{Bound, Choice, Curve, OfLine, bounds, curves};

use super::Report;
use super::answer::pump;

/// Choices that are drawn strongly, beside today's.
const PICKED: usize = 3;

/// Aims whose doubt is drawn.
const DOUBTED: usize = 1;

/// The drawings of a report.
#[derive(Debug, Default)]
pub(super) struct Pictures {
    /// Of the choices.
    pub choices: Vec<Drawing>,
    /// Of how sure the answer is.
    pub doubt: Vec<Drawing>,
}

impl Report<'_> {
    pub(super) fn pictures(&self) -> Pictures {
        if self.answer().is_none() {
            return Pictures::default();
        }
        let bounds = bounds(self.book, self.comparison);
        Pictures {
            choices: self.of_choices(&bounds),
            doubt: self.of_doubt(&bounds),
        }
    }

    /// The aims, those that count most first.
    fn by_weight(&self) -> Vec<AimKind> {
        let mut aims = self.chosen.aims.clone();
        aims.sort_by(|a, b| b.1.total_cmp(&a.1));
        aims.into_iter().map(|(aim, _)| aim).collect()
    }

    /// The two that count most against each other, all aims side by side, and the curves
    /// of the first line. One choice alone has nothing to be held against.
    fn of_choices(&self, bounds: &[Bound]) -> Vec<Drawing> {
        let system = self.units.first();
        let aims = self.by_weight();
        let several = self.chosen.choices.len() + usize::from(self.chosen.today.is_some()) > 1;
        let trade_off = match aims.as_slice() {
            [first, second, ..] if several => Some(picture::trade_off(
                self.chosen,
                bounds,
                (*first, *second),
                system,
            )),
            _ => None,
        };
        let picked = self.picked();
        let codes: Vec<&str> = picked.iter().map(|choice| choice.code.as_str()).collect();
        let abreast = several && aims.len() > 1;
        let side_by_side = abreast.then(|| picture::side_by_side(self.chosen, &codes, system));
        let drawings = trade_off.into_iter().chain(side_by_side);
        drawings.chain(self.overlaid(&picked, bounds)).collect()
    }

    /// The answer and the first of the others, no two with the same equipment.
    fn picked(&self) -> Vec<&Choice> {
        let answer = self.answer().map(|(_, answer)| answer);
        let mut picked: Vec<&Choice> = Vec::new();
        for choice in answer.into_iter().chain(&self.chosen.choices) {
            let known = picked.iter().any(|other| is_equipped_alike(other, choice));
            if !known && picked.len() < PICKED {
                picked.push(choice);
            }
        }
        picked
    }

    /// What the codes in the drawings stand for: "C12: attack, twin, low at 120 psi".
    pub(super) fn pictured(&self) -> Vec<String> {
        let picked = self.picked();
        let all = picked.iter().copied().chain(&self.chosen.today);
        let text = all.map(|choice| {
            let on = self.among_others(choice).join("; ");
            format!("{}: {on} at {}", choice.code, pump(choice, self.units))
        });
        text.collect()
    }

    /// Flow and reaction of the first line over pump pressure. Choices that differ in
    /// their pump pressure alone have one curve.
    fn overlaid(&self, picked: &[&Choice], bounds: &[Bound]) -> Vec<Drawing> {
        let Some(line) = self.chosen.lines.first() else {
            return Vec::new();
        };
        let mut ways: Vec<(&str, &OfLine)> = Vec::new();
        for choice in picked.iter().copied().chain(&self.chosen.today) {
            let Some(on) = choice.on.iter().find(|on| on.line == *line) else {
                continue;
            };
            let same = |(_, other): &(&str, &OfLine)| differs_in_pressure_alone(other, on);
            if !ways.iter().any(same) {
                ways.push((&choice.code, on));
            }
        }
        let on: Vec<&OfLine> = ways.iter().map(|(_, on)| *on).collect();
        let low = self.comparison.cases.low_pump_pressure.as_ref();
        let low: Option<Pressure> = low.map(|low| low.get());
        let Ok(found) = curves(self.book, line, &on, self.range(&on, low)) else {
            return Vec::new();
        };
        let codes = ways.iter().map(|(code, _)| *code);
        let named: Vec<(&str, &Curve)> = codes.zip(&found).collect();
        let draw = |over| picture::overlaid(line, &named, over, (bounds, low), self.units.first());
        [Over::Flow, Over::Reaction].map(draw).into()
    }

    /// From below the lowest pump pressure to above the highest.
    fn range(&self, on: &[&OfLine], low: Option<Pressure>) -> (Pressure, Pressure) {
        let ceiling = self.comparison.limits.pump_pressure.as_ref();
        let ceiling = ceiling.map(|most| most.get());
        let all = on.iter().map(|on| on.pump_pressure);
        let all: Vec<Pressure> = all.chain(low).chain(ceiling).collect();
        let pick = |a: Pressure, b: Pressure, first: bool| if (a < b) == first { a } else { b };
        let least = all.iter().copied().reduce(|a, b| pick(a, b, true));
        let most = all.iter().copied().reduce(|a, b| pick(a, b, false));
        (
            least.unwrap_or_default() * 0.6,
            most.unwrap_or_default() * 1.1,
        )
    }

    /// Whose doubt it is, and how often each value came, for the aims that count most.
    fn of_doubt(&self, bounds: &[Bound]) -> Vec<Drawing> {
        let system = self.units.first();
        let answer = self.answer().map(|(_, answer)| answer);
        let Some(doubted) = answer.and_then(|answer| answer.doubted.as_ref()) else {
            return Vec::new();
        };
        let is_doubted = |aim: &AimKind| {
            doubted
                .shares
                .iter()
                .any(|(of, shares)| of == aim && !shares.is_empty())
        };
        let aims = self.by_weight().into_iter().filter(is_doubted);
        let drawn = aims.take(DOUBTED).flat_map(|aim| {
            let whose = picture::whose_doubt(doubted, aim, system);
            let days = picture::days(doubted, aim, bounds, system);
            std::iter::once(whose).chain(days)
        });
        drawn.collect()
    }
}

/// Have both the same on their lines, whatever the pump pressure?
fn is_equipped_alike(one: &Choice, other: &Choice) -> bool {
    let mut pairs = one.on.iter().zip(&other.on);
    one.on.len() == other.on.len() && pairs.all(|(a, b)| differs_in_pressure_alone(a, b))
}

fn differs_in_pressure_alone(one: &OfLine, other: &OfLine) -> bool {
    let pump_pressure = one.pump_pressure;
    *one == OfLine {
        pump_pressure,
        ..other.clone()
    }
}
