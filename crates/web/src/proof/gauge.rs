//! What is said of a gauge beside its readings.

use super::step::Step;
use crate::when::plain_day;
use book::{Book, GaugeItem};
use hydraulics::units::{Kind, System, decimal};
use jiff::civil::Date;
use study::proof::Place;

/// Months after which a gauge's calibration is called old: yearly is common practice, no
/// source.
const OLD: i32 = 12;

/// The book's gauges that can be read at `place`, by name.
pub(super) fn fitting(book: &Book, place: Place) -> Vec<(&String, &GaugeItem)> {
    let fits = |gauge: &GaugeItem| match place.kind() {
        Kind::Flow => gauge.is_flow(),
        Kind::Pressure => !gauge.is_flow(),
        _ => false,
    };
    book.gauge.iter().filter(|(_, gauge)| fits(gauge)).collect()
}

/// The step of a gauge's scale in SI, where the book says it.
pub(super) fn step(gauge: Option<&GaugeItem>) -> Option<f64> {
    let [step, ..] = gauge?.si();
    step
}

/// "Step 1 psi. Calibrated 2 March 2026."
pub(super) fn words(gauge: Option<&GaugeItem>, kind: Kind, day: &str, system: System) -> String {
    let Some(gauge) = gauge else {
        return "No gauge chosen: its uncertainty is then not known.".into();
    };
    let unit = kind.unit(system);
    let step = match step(Some(gauge)) {
        Some(si) => {
            let value = unit.from_si(si);
            let decimals = if value < 1.0 { 2 } else { 0 };
            format!("Step {} {}.", decimal(value, decimals), unit.symbol)
        }
        None => "Its step is not in the book.".into(),
    };
    let calibrated = match &gauge.calibrated {
        None => "No calibration is in the book.".into(),
        Some(date) => format!("Calibrated {}{}.", plain_day(date), age(date, day)),
    };
    format!("{step} {calibrated}")
}

/// Says how old a calibration is on `day`, where it is old.
fn age(date: &str, day: &str) -> String {
    let days: Option<(Date, Date)> = date.parse().ok().zip(day.parse().ok());
    let months = days.map(|(then, now)| {
        i32::from(now.year() - then.year()) * 12 + i32::from(now.month() - then.month())
            - i32::from(now.day() < then.day())
    });
    match months {
        Some(months) if months >= OLD => format!(", {months} months before: check it"),
        _ => String::new(),
    }
}

/// The steps of a place's values, read with `gauge`.
pub(super) fn steps(place: Place, gauge: Option<&GaugeItem>, system: System) -> Step {
    Step::of(place.kind(), step(gauge), system)
}
