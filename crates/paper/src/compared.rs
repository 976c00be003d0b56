//! What the report and the tables of a comparison say in the same way.

mod spread;

use book::Which;
use book::comparison::Comparison;
use hydraulics::units::Length;
use study::choose::{OfLine, Said};
use study::figure::{self, Figure, many};

use crate::paper::Units;
use crate::words::capital;

/// Which friction coefficients are meant.
pub(crate) fn coefficient(which: Which) -> &'static str {
    match which {
        Which::Best => "as measured, else as published",
        Which::Published => "as published",
        Which::PublishedLow => "the lowest published",
        Which::PublishedHigh => "the highest published",
        Which::Measured => "as measured",
    }
}

pub(crate) use spread::spread;

/// A sentence in the units of a sheet.
pub(crate) fn sentence(said: &Said, units: Units) -> String {
    full_stop(&phrase(said, units))
}

/// `text` with a capital at its start and a stop at its end.
pub(crate) fn full_stop(text: &str) -> String {
    let text = capital(text.trim());
    match text.ends_with(['.', '?', '!', ':']) || text.is_empty() {
        true => text,
        false => format!("{text}."),
    }
}

/// The same as a part of another.
pub(crate) fn phrase(said: &Said, units: Units) -> String {
    said.text_with(|figure| units.show(figure).text())
}

/// Each of them as a sentence.
pub(crate) fn sentences(all: &[Said], units: Units) -> Vec<String> {
    all.iter().map(|said| sentence(said, units)).collect()
}

/// A figure in one run of text.
pub(crate) fn text(figure: Figure, units: Units) -> String {
    units.show(figure).text()
}

/// A number with no more decimals than it needs, two at most.
pub(crate) fn plain(number: f64) -> String {
    let text = hydraulics::units::decimal(number, 2);
    let text = text.trim_end_matches('0').trim_end_matches('.');
    text.replace('-', "\u{2212}")
}

/// A whole number with its thousands apart: "200 000".
pub(crate) fn count(number: u64) -> String {
    many(number).replace(',', "\u{a0}")
}

/// What is counted as tried.
pub(crate) fn tried(comparison: &Comparison) -> &'static str {
    match comparison.each_line {
        true => "Ways for each line, tried",
        false => "Choices tried",
    }
}

/// "1 person", "3 people".
pub(crate) fn people(number: u8) -> String {
    match number {
        1 => "1 person".into(),
        n => format!("{n} people"),
    }
}

/// "a, b and c".
pub(crate) fn listed<T: AsRef<str>>(words: &[T]) -> String {
    match words {
        [] => String::new(),
        [one] => one.as_ref().into(),
        [first @ .., last] => {
            let first: Vec<&str> = first.iter().map(AsRef::as_ref).collect();
            format!("{} and {}", first.join(", "), last.as_ref())
        }
    }
}

/// Lines that are equipped alike but for the length of their hose.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Alike<'a> {
    /// Their names.
    pub lines: Vec<&'a str>,
    /// What is on the first of them.
    pub on: &'a OfLine,
    /// Each length, with the lines that have it; that of most lines first.
    pub lengths: Vec<(Length, Vec<&'a str>)>,
}

/// What is on the lines of a choice, those equipped alike together.
pub(crate) fn alike(on: &[OfLine]) -> Vec<Alike<'_>> {
    let mut all: Vec<Alike<'_>> = Vec::new();
    for one in on {
        let known = all.iter().position(|other| is_alike(other.on, one));
        let at = known.unwrap_or(all.len());
        if known.is_none() {
            all.push(Alike {
                lines: Vec::new(),
                on: one,
                lengths: Vec::new(),
            });
        }
        if let Some(group) = all.get_mut(at) {
            group.add(one);
        }
    }
    for group in &mut all {
        group
            .lengths
            .sort_by_key(|(_, lines)| std::cmp::Reverse(lines.len()));
    }
    all
}

impl<'a> Alike<'a> {
    fn add(&mut self, one: &'a OfLine) {
        self.lines.push(&one.line);
        let same = |(length, _): &&mut (Length, Vec<&str>)| *length == one.length;
        match self.lengths.iter_mut().find(same) {
            Some((_, lines)) => lines.push(&one.line),
            None => self.lengths.push((one.length, vec![&one.line])),
        }
    }

    /// The lengths after the first: "rear-crosslay 150 ft".
    pub fn other_lengths(&self, units: Units) -> Vec<String> {
        let others = self.lengths.iter().skip(1);
        let text = |length: &Length| units.show(figure::length(*length)).text();
        let others = others.map(|(length, lines)| format!("{} {}", lines.join(", "), text(length)));
        others.collect()
    }

    /// "attack 200 ft (rear-crosslay 150 ft), twin, high".
    pub fn text(&self, units: Units) -> String {
        let lengths = self.lengths.first();
        let length = lengths.map(|(length, _)| units.show(figure::length(*length)).text());
        let others = self.other_lengths(units);
        let others = match others.is_empty() {
            true => String::new(),
            false => format!(" ({})", others.join("; ")),
        };
        match self.on.hose.is_empty() {
            true => self.on.nozzle_called(),
            false => format!(
                "{} {}{others}, {}",
                self.on.hose,
                length.unwrap_or_default(),
                self.on.nozzle_called()
            ),
        }
    }

    /// The same without lengths.
    pub fn text_without_lengths(&self) -> String {
        match self.on.hose.is_empty() {
            true => self.on.nozzle_called(),
            false => format!("{}, {}", self.on.hose, self.on.nozzle_called()),
        }
    }
}

fn is_alike(one: &OfLine, other: &OfLine) -> bool {
    let (line, length) = (one.line.clone(), one.length);
    *one == OfLine {
        line,
        length,
        ..other.clone()
    }
}

/// What a choice has and what is allowed, with a decimal more where they would read the
/// same.
pub(crate) fn has_and_may(has: Figure, may: Figure, units: Units) -> (String, String) {
    let pair = (text(has, units), text(may, units));
    match pair.0 == pair.1 {
        true => (text(has.fine(), units), text(may.fine(), units)),
        false => pair,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_that_differ_in_length_alone_stand_together() {
        let on = |line: &str, hose: &str, feet: f64| OfLine {
            line: line.into(),
            hose: hose.into(),
            length: hydraulics::units::Measure::of_si(0.3048 * feet),
            nozzle: "twin".into(),
            setting: Some("low".into()),
            pump_pressure: hydraulics::units::psi(110.0),
        };
        let all = [
            on("a", "red", 150.0),
            on("b", "red", 200.0),
            on("c", "red", 200.0),
        ];
        let groups = alike(&all);
        assert_eq!(groups.len(), 1);
        assert_eq!(
            groups[0].text(Units::Us),
            "red 200 ft (a 150 ft), twin, low"
        );
        let two = [on("a", "red", 200.0), on("b", "blue", 200.0)];
        assert_eq!(alike(&two).len(), 2);
    }

    #[test]
    fn what_misses_a_limit_by_little_does_not_read_like_it() {
        let force = |lbf: f64| {
            let newton = 4.448_221_6 * lbf;
            figure::force(hydraulics::units::Measure::of_si(newton))
        };
        let said = has_and_may(force(95.3), force(95.0), Units::Us);
        assert_eq!(said, ("95.3 lbf".into(), "95.0 lbf".into()));
    }

    #[test]
    fn numbers_have_no_needless_decimals_and_thousands_stand_apart() {
        assert_eq!(plain(2.0), "2");
        assert_eq!(plain(1249.5), "1249.5");
        assert_eq!(plain(-0.001), "0");
        assert_eq!(count(0), "0");
        assert_eq!(count(200_000), "200\u{a0}000");
        assert_eq!(count(1_234_567), "1\u{a0}234\u{a0}567");
        assert_eq!(listed(&["a", "b", "c"]), "a, b and c");
    }
}
