//! From SI numbers to what is shown.

use super::found::{Found, Measured};
use super::model::Place;
use crate::fact::{Fact, Said};
use crate::figure::Figure;
use crate::reduce::Estimate;
use hydraulics::units::Measure;
use hydraulics::units::{Kind, Ratio, System, decimal};
use serde_json::{Value, json};

/// An SI value as a figure of `kind`.
pub(super) fn figure(kind: Kind, si: f64) -> Figure {
    // Any quantity will do: a figure keeps its kind and its SI value.
    Figure::new(kind, Ratio::of_si(si))
}

/// An SI value read at `place`.
pub(super) fn of(place: Place, si: f64) -> Figure {
    figure(place.kind(), si)
}

impl Measured {
    /// As a person reads it, with its unit.
    pub fn show(&self, system: System) -> String {
        match self {
            Measured::Figure(figure) => figure.show(system),
            Measured::Number { decimals, .. } => {
                let [us, si] = *decimals;
                let places = if system == System::Us { us } else { si };
                let text = decimal(self.number(system), places);
                match self.unit(system) {
                    "" => text,
                    unit => format!("{text} {unit}"),
                }
            }
        }
    }

    /// The number alone, in the unit of `system`.
    pub fn number(&self, system: System) -> f64 {
        match self {
            Measured::Figure(figure) => figure.value(system),
            Measured::Number { us, si, .. } => match system {
                System::Us => *us,
                System::Si => *si,
            },
        }
    }

    /// The symbol of its unit; empty where it has none.
    pub fn unit(&self, system: System) -> &str {
        match self {
            Measured::Figure(figure) => figure.unit(system),
            Measured::Number {
                us_unit, si_unit, ..
            } => match system {
                System::Us => us_unit,
                System::Si => si_unit,
            },
        }
    }

    /// `{"value": 14.2, "unit": ""}`.
    pub fn json(&self, system: System) -> Value {
        let number = self.number(system);
        // To six figures, so that the same readings give the same bytes.
        let step = 10_f64.powf(5.0 - number.abs().max(1e-12).log10().floor());
        let rounded = (number * step).round() / step;
        json!({ "value": rounded, "unit": self.unit(system) })
    }

    /// A number that is the same in both systems.
    pub(super) fn plain(value: f64, like: f64) -> Self {
        Measured::both(value, value, [like; 2])
    }

    /// A number in US and in metric use, with as many decimals as three figures of
    /// `like` have.
    pub(super) fn both(us: f64, si: f64, like: [f64; 2]) -> Self {
        Measured::Number {
            us,
            us_unit: "",
            si,
            si_unit: "",
            decimals: like.map(|like| {
                let size = like.abs().max(1e-9).log10().floor();
                (2.0 - size).clamp(0.0, 9.0) as usize
            }),
        }
    }
}

impl Found {
    /// What was found, for tables and JSON.
    pub fn facts(&self, system: System) -> Vec<Fact> {
        let show = |value: &Measured| Said::Text(value.show(system));
        let [low, high] = &self.between;
        vec![
            ("name", Said::from(self.name.as_str())),
            ("measured", show(&self.value)),
            ("standard uncertainty", show(&self.standard)),
            ("least", show(low)),
            ("most", show(high)),
            (
                "in the book",
                self.book.as_ref().map_or(Said::Nothing, show),
            ),
            (
                "that is",
                match self.book_is.as_str() {
                    "" => Said::Nothing,
                    words => Said::from(words),
                },
            ),
            ("told apart", Said::from(self.told_apart)),
        ]
    }

    /// In words: "friction coefficient C 14.2, between 13.6 and 14.8 (95 %)".
    pub fn words(&self, system: System) -> String {
        let [low, high] = self.between.map(|end| end.show(system));
        format!(
            "{} {}, between {low} and {high} (95 %)",
            self.name,
            self.value.show(system)
        )
    }
}

/// What `estimate` found, shown by `shown`, beside `book`, which is `book_is`.
pub(super) fn found(
    name: &str,
    estimate: &Estimate,
    shown: impl Fn(f64) -> Measured,
    book: Option<f64>,
    book_is: &str,
) -> Found {
    let told_apart = book.is_some_and(|book| !(estimate.low..=estimate.high).contains(&book));
    Found {
        name: name.into(),
        value: shown(estimate.value),
        standard: shown(estimate.standard),
        between: [shown(estimate.low), shown(estimate.high)],
        degrees: estimate.degrees,
        budget: estimate.budget.clone(),
        book: book.map(shown),
        book_is: book_is.into(),
        told_apart,
    }
}
