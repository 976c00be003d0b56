//! The gauges of a test, as a plan and a report list them.

use book::{Book, GaugeItem};
use hydraulics::units::{Kind, Measure, Ratio};
use serde_json::{Value, json};
use study::figure::Figure;
use study::proof::Place;

use crate::paper::Units;

/// A gauge, what is read on it, and what the readings say of it beside the book.
pub(crate) struct Used {
    /// Its name; empty where none is chosen.
    pub name: String,
    /// What is read on it.
    pub places: Vec<Place>,
    /// Day of its calibration, where it is not the book's.
    pub calibrated: Option<String>,
    /// Its step, SI, where it is not the book's.
    pub step: Option<f64>,
}

/// A row for each gauge; what is not known stays empty.
pub(crate) fn rows(book: &Book, used: &[Used], date: Option<&str>, units: Units) -> Vec<Value> {
    let rows = used.iter();
    rows.map(|used| row(book, used, date, units)).collect()
}

fn row(book: &Book, used: &Used, date: Option<&str>, units: Units) -> Value {
    let item = book.gauge.get(&used.name);
    let places: Vec<&str> = used.places.iter().map(|place| place.word()).collect();
    let kind = used
        .places
        .first()
        .map_or(Kind::Pressure, |place| place.kind());
    let [step, accuracy, _, highest] = item.map_or([None; 4], GaugeItem::si);
    let text = |si: Option<f64>| si.map(|si| figure(kind, si, units));
    let share = item.and_then(|item| item.accuracy_share.as_ref());
    let share = share.map(|s| units.show(Figure::new(Kind::Share, s.get()).fine()).text());
    let accuracy: Vec<String> = text(accuracy)
        .into_iter()
        .chain(share.map(|share| format!("{share} of reading")))
        .collect();
    let calibrated = used.calibrated.clone();
    let calibrated = calibrated.or_else(|| item.and_then(|item| item.calibrated.clone()));
    json!({
        "name": used.name,
        "reads": places.join(", "),
        "serial": item.and_then(|item| item.serial.clone()),
        "step": text(used.step.or(step)),
        "accuracy": (!accuracy.is_empty()).then(|| accuracy.join(", ")),
        "highest": text(highest),
        "old": calibrated.as_deref().zip(date).is_some_and(|(day, date)| is_old(day, date)),
        "calibrated": calibrated,
    })
}

/// To as many decimals as it has, up to two more than its kind usually has.
fn figure(kind: Kind, si: f64, units: Units) -> String {
    units
        .show(Figure::new(kind, Ratio::of_si(si)).fine())
        .text()
}

/// Was it calibrated more than a year before the test? (Common practice, no source: a
/// gauge is calibrated every year.)
fn is_old(calibrated: &str, date: &str) -> bool {
    let year = date.get(..4).and_then(|year| year.parse::<u32>().ok());
    let (Some(year), Some(day)) = (year, date.get(4..)) else {
        return false;
    };
    calibrated.len() == date.len() && *calibrated < *format!("{:04}{day}", year.saturating_sub(1))
}

/// Rise, length and time are read on no gauge.
pub(crate) fn is_of_a_gauge(place: Place) -> bool {
    !matches!(place, Place::Rise | Place::Length | Place::Minutes)
}
