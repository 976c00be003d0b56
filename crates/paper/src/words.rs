//! Figures as they stand on paper.

use hydraulics::units::System;
use serde::Serialize;
use study::fact::Said;
use study::figure::Figure;
use study::notice::Notice;

use crate::paper::Units;

/// A figure in the units of a sheet. Templates set `value` large and the rest small.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Shown {
    /// The number: "150".
    pub value: String,
    /// Its unit: "psi".
    pub unit: String,
    /// In the other system, where the sheet shows both: "10.3 bar".
    pub also: Option<String>,
}

impl Shown {
    pub(crate) fn new(figure: &Figure, units: Units) -> Self {
        let text = plain(figure, units.first());
        // What is no number ("not known") has no unit.
        let number = !text.starts_with(char::is_alphabetic);
        let parted = text.split_once(' ').filter(|_| number);
        let (value, unit) = parted.unwrap_or((&text, ""));
        Shown {
            value: value.into(),
            unit: unit.into(),
            also: units
                .second()
                .map(|system| plain(figure, system))
                .filter(|also| *also != text),
        }
    }

    /// In one run of text: "150 psi (10.3 bar)".
    pub fn text(&self) -> String {
        let first = format!("{} {}", self.value, self.unit);
        let first = first.trim_end();
        match &self.also {
            Some(also) => format!("{first} ({also})"),
            None => first.into(),
        }
    }
}

/// As a person reads it, with a true minus.
fn plain(figure: &Figure, system: System) -> String {
    figure.show(system).replace('-', "\u{2212}")
}

/// One thing said, in the units of a sheet; `None` where there is nothing to say.
pub(crate) fn said(said: &Said, units: Units) -> Option<String> {
    match said {
        Said::Figure(figure) => Some(units.show(*figure).text()),
        other => other.show(units.first()),
    }
}

/// A notice as a sheet prints it.
pub(crate) fn notice(notice: &Notice, units: Units) -> serde_json::Value {
    let numbers = notice.numbers.iter();
    let numbers = numbers.map(|(name, figure)| format!("{name} {}", units.show(*figure).text()));
    let numbers: Vec<String> = numbers.collect();
    let place = match notice.place.as_str() {
        "" => String::new(),
        place => format!("{}: ", capital(place)),
    };
    let text = match numbers.is_empty() {
        true => format!("{place}{}.", notice.text),
        false => format!("{place}{} ({}).", notice.text, numbers.join(", ")),
    };
    serde_json::json!({
        "weight": capital(notice.weight.word()),
        "text": capital(&text),
        "mend": match notice.mend.as_str() {
            "" => String::new(),
            mend => format!("{}.", capital(mend)),
        },
    })
}

/// `text` with a capital at its start.
pub(crate) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    match letters.next() {
        Some(first) => first.to_uppercase().chain(letters).collect(),
        None => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_no_number_has_no_unit() {
        let unpriced = Units::Us.show(Figure::count(f64::NAN, 0));
        assert_eq!(
            (unpriced.value.as_str(), unpriced.unit.as_str()),
            ("not known", "")
        );
        let counted = Units::Us.show(Figure::count(3.0, 0));
        assert_eq!((counted.value.as_str(), counted.unit.as_str()), ("3", ""));
        let book = book::Book {
            money: Some("USD".into()),
            ..book::Book::default()
        };
        let priced = Units::Both.show(Figure::price(1250.0, &book));
        assert_eq!(
            (priced.value.as_str(), priced.unit.as_str(), priced.also),
            ("1,250", "USD", None)
        );
    }
}
