//! Gauges and flow meters.

use super::walk::{Reader, Table, Value, words};
use crate::keys::{self, Range};
use crate::model::{GaugeItem, Scale, Stated, Steps, number};
use hydraulics::units::{Kind, Measure, Ratio, System};

pub(super) fn gauge(reader: &mut Reader, table: &Table<'_>) -> GaugeItem {
    let (scale, accuracy_share) = match reader.word(table, "measures") {
        Some("flow") => {
            let (steps, share) = steps(reader, table, Kind::Flow);
            (Scale::Flow(steps), share)
        }
        Some(_) => {
            let (steps, share) = steps(reader, table, Kind::Pressure);
            (Scale::Pressure(steps), share)
        }
        // Which unit its values should have is not known.
        None => (Scale::Pressure(Steps::default()), None),
    };
    GaugeItem {
        scale,
        accuracy_share,
        serial: reader.name_of(table, "serial"),
        calibrated: reader.date(table, "calibrated"),
        about: reader.about(table),
    }
}

fn steps<Q: Measure>(
    reader: &mut Reader,
    table: &Table<'_>,
    kind: Kind,
) -> (Steps<Q>, Option<Stated<Ratio>>) {
    let (accuracy, share) = accuracy(reader, table, kind);
    let steps = Steps {
        step: reader.quantity_of(table, "step", kind),
        accuracy,
        swing: reader.quantity_of(table, "swing", kind),
        highest: reader.quantity_of(table, "highest", kind),
    };
    above_nought(reader, table, "step", steps.step.as_ref());
    above_nought(reader, table, "accuracy", steps.accuracy.as_ref());
    above_nought(reader, table, "accuracy", share.as_ref());
    above_nought(reader, table, "highest", steps.highest.as_ref());
    within_scale(reader, table, &steps);
    (steps, share)
}

/// What the gauge may be off by, anywhere on its scale and of the reading.
fn accuracy<Q: Measure>(
    reader: &mut Reader,
    table: &Table<'_>,
    kind: Kind,
) -> (Option<Stated<Q>>, Option<Stated<Ratio>>) {
    let (mut whole, mut share) = (None, None);
    for value in reader.several(table, "accuracy") {
        let twice = match is_share(value) {
            true => {
                let read = measured(reader, table, value, Kind::Share);
                read.is_some_and(|read| share.replace(read).is_some())
            }
            false => {
                let read = measured(reader, table, value, kind);
                read.is_some_and(|read| whole.replace(read).is_some())
            }
        };
        if twice {
            reader.error(
                "one_of_two",
                value.span(),
                format!("the accuracy of {} is there twice", table.what),
                "keep one quantity and one share of the reading, as [\"3 psi\", \"1 %\"]",
            );
        }
    }
    (whole, share)
}

fn measured<Q: Measure>(
    reader: &mut Reader,
    table: &Table<'_>,
    value: Value<'_>,
    kind: Kind,
) -> Option<Stated<Q>> {
    let bounds: &Range = keys::bounds(table.keys, "accuracy", kind)?;
    reader.measure(value, &table.what("accuracy"), bounds)
}

/// "1 %", but no bare number.
fn is_share(value: Value<'_>) -> bool {
    let Some(text) = words(value.get_ref()).filter(|text| number(text).is_none()) else {
        return false;
    };
    Stated::<Ratio>::read(Kind::Share, &text, System::Us).is_ok()
}

fn above_nought<Q: Measure>(
    reader: &mut Reader,
    table: &Table<'_>,
    key: &str,
    stated: Option<&Stated<Q>>,
) {
    if let Some(stated) = stated.filter(|s| s.get().si() <= 0.0) {
        reader.error(
            "zero",
            table.at(key),
            format!(
                "the {} is {}, but must be above nought",
                table.what(key),
                stated.text()
            ),
            format!("write what is on it or on its certificate, or leave {key} out"),
        );
    }
}

/// Refuses a step, an accuracy or a swing as wide as the scale.
fn within_scale<Q: Measure>(reader: &mut Reader, table: &Table<'_>, steps: &Steps<Q>) {
    let Some(highest) = &steps.highest else {
        return;
    };
    let parts = [
        ("step", &steps.step),
        ("accuracy", &steps.accuracy),
        ("swing", &steps.swing),
    ];
    for (key, part) in parts {
        let Some(part) = part else { continue };
        if part.get().si() >= highest.get().si() && highest.get().si() > 0.0 {
            reader.error(
                "bad_range",
                table.at(key),
                format!(
                    "the {} is {}, as much as its whole scale of {}",
                    table.what(key),
                    part.text(),
                    highest.text()
                ),
                "check both numbers and their units",
            );
        }
    }
}
