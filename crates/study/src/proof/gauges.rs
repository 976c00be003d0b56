//! The gauges of a test: what each may be off by.

use super::cells::days_between;
use super::model::{Place, Test};
use super::points::has_gauge;
use crate::notice::{Notice, Weight};
use crate::reduce::{Gauge, GaugeError, rectangular};
use book::{Book, GaugeItem};
use hydraulics::units::{Measure, Ratio, parse};

/// After how many days a gauge is due for calibration: a year (common practice, no
/// source).
const CALIBRATION_DAYS: i64 = 365;

/// A gauge whose readings are corrected by what the others of the day say it is off by.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Corrected {
    /// The gauge.
    pub gauge: String,
    /// How it is off.
    pub error: GaugeError,
    /// What it reads too much, SI, or as a share of the reading.
    pub off: f64,
    /// Standard uncertainty of that.
    pub standard: f64,
}

/// The gauge of the book called `name`, as a reduction needs it.
pub(super) fn of_book(name: &str, item: &GaugeItem) -> Gauge {
    let [step, accuracy, swing, _] = item.si();
    let share = item.accuracy_share.as_ref();
    Gauge {
        name: name.into(),
        resolution: step.unwrap_or(0.0),
        // The needle may be anywhere between the ends of its swing.
        swing: rectangular(swing.unwrap_or(0.0)),
        accuracy: accuracy.unwrap_or(0.0),
        accuracy_share: share.map_or(0.0, |share| share.get().value),
    }
}

/// The gauge that stands at `place` in `test`. Where several took turns, the widest.
pub(super) fn at(book: &Book, test: &Test, place: Place, corrected: &[Corrected]) -> Gauge {
    let read = || test.readings.iter().filter(|r| r.place == place);
    let step = read().filter_map(|r| r.resolution).fold(None, larger);
    let mut gauge = read()
        .filter_map(|reading| {
            let item = book.gauge.get(&reading.gauge)?;
            Some(of_book(&reading.gauge, item))
        })
        .max_by(|a, b| width(a).total_cmp(&width(b)))
        // A name of its own, so that it is off by itself.
        .unwrap_or_else(|| Gauge::exact(&format!("the gauge of {}", place.word())));
    if let Some(step) = step {
        gauge.resolution = step;
    } else if gauge.resolution == 0.0 && has_gauge(place) {
        let steps = read().filter_map(|r| step_written(&r.written, place));
        gauge.resolution = steps.reduce(f64::min).unwrap_or(0.0);
    }
    if let Some(known) = corrected.iter().find(|c| c.gauge == gauge.name) {
        let half_width = known.standard * 3.0_f64.sqrt();
        (gauge.accuracy, gauge.accuracy_share) = match known.error {
            GaugeError::Offset => (half_width, 0.0),
            GaugeError::Share => (0.0, half_width),
        };
    }
    gauge
}

/// The step to which a value was written: "99 psi" is one of psi, "6.9 bar" a tenth of
/// a bar.
fn step_written(text: &str, place: Place) -> Option<f64> {
    let text = text.trim();
    let end = text.find(|c: char| !matches!(c, '0'..='9' | '.' | '-' | '+'));
    let (number, unit) = text.split_at(end?);
    let decimals = number.split_once('.').map_or(0, |(_, rest)| rest.len());
    let one = format!(
        "{:.*}{unit}",
        decimals,
        10_f64.powi(-i32::try_from(decimals).ok()?)
    );
    let step: Ratio = parse(place.kind(), &one).ok()?;
    Some(step.si()).filter(|step| *step > 0.0)
}

fn larger(most: Option<f64>, value: f64) -> Option<f64> {
    Some(most.map_or(value, |most: f64| most.max(value)))
}

/// What a gauge may be off by at a pressure or flow of the usual size.
fn width(gauge: &Gauge) -> f64 {
    // Only gauges of one place are compared: the size serves as a common measure.
    gauge.shared(5e5).hypot(gauge.random())
}

/// `value` read from `gauge`, corrected where that is.
pub(super) fn corrected(value: f64, gauge: &str, known: &[Corrected]) -> f64 {
    match known.iter().find(|c| c.gauge == gauge) {
        None => value,
        Some(known) => match known.error {
            GaugeError::Offset => value - known.off,
            GaugeError::Share => value / (1.0 + known.off),
        },
    }
}

/// The names of the gauges that a test was read with, those of the book.
pub(super) fn names(test: &Test) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for reading in &test.readings {
        if !reading.gauge.is_empty() && !names.contains(&reading.gauge) {
            names.push(reading.gauge.clone());
        }
    }
    names
}

/// What there is to say about the gauges of a test.
pub(super) fn notices(book: &Book, test: &Test) -> Vec<Notice> {
    let mut notices = Vec::new();
    for name in names(test) {
        let item = book.gauge.get(&name);
        let told = test.readings.iter().filter(|r| r.gauge == name);
        let told = told.filter_map(|r| r.calibrated.clone()).max();
        let day = told.or_else(|| item.and_then(|item| item.calibrated.clone()));
        let Some(item) = item else {
            notices.push(not_in_book(&name));
            continue;
        };
        match day.as_deref().map(|day| days_between(day, &test.date)) {
            None => notices.push(
                caution(
                    "calibration_unknown",
                    &name,
                    "no calibration of this gauge is known",
                )
                .mend("have it calibrated, and write the day into the book"),
            ),
            Some(Some(days)) if days > CALIBRATION_DAYS => notices.push(
                caution(
                    "calibration_old",
                    &name,
                    "the last calibration of this gauge was more than a year before the test \
                     (common practice, no source)",
                )
                .mend("have it calibrated, and take readings with it anew"),
            ),
            Some(Some(days)) if days < 0 => notices.push(
                caution(
                    "calibration_after",
                    &name,
                    "the calibration of this gauge was after the test: what it was off by \
                     then may not be what it is now",
                )
                .mend("look whether it was adjusted"),
            ),
            _ => {}
        }
        notices.extend(beyond_scale(&name, item, test));
    }
    for place in test.subject.places() {
        let mut read = test.readings.iter().filter(|r| r.place == *place);
        if has_gauge(*place) && read.clone().any(|r| r.gauge.is_empty()) {
            notices.push(
                caution(
                    "gauge_unknown",
                    place.word(),
                    "no gauge is named here: only the step to which it was written is counted, \
                     and not what the gauge may be off by",
                )
                .mend("write the gauge into the book, and name it with the readings"),
            );
        }
        let first = read.next().map(|r| r.gauge.as_str());
        if has_gauge(*place) && read.any(|r| Some(r.gauge.as_str()) != first) {
            notices.push(
                caution(
                    "gauge_changed",
                    place.word(),
                    "several gauges were read here; the widest of them is taken for all",
                )
                .mend("keep a gauge in its place for a whole test"),
            );
        }
    }
    notices
}

fn not_in_book(name: &str) -> Notice {
    caution(
        "gauge_not_in_book",
        name,
        "the book has no gauge of this name, so that what it may be off by is not counted",
    )
    .mend("write the gauge into the book")
}

/// A reading past the end of the scale.
fn beyond_scale(name: &str, item: &GaugeItem, test: &Test) -> Option<Notice> {
    let [.., highest] = item.si();
    let highest = highest?;
    let past = test
        .readings
        .iter()
        .find(|r| r.gauge == name && r.value > highest)?;
    let text = "a reading lies beyond the end of this gauge's scale";
    Some(
        caution("beyond_scale", name, text)
            .with(
                past.place.word(),
                super::figures::of(past.place, past.value),
            )
            .mend("check the reading, or use a gauge that reaches further"),
    )
}

fn caution(code: &'static str, place: &str, text: &str) -> Notice {
    Notice::new(code, Weight::Caution, text).at(place)
}
