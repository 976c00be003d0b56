//! A gauge or a flow meter by its fields.

use super::sheet::{Sheet, listed};
use super::{Item, ItemFields};
use crate::edit::fields::{field, shown, some};
use crate::keys::{self, Range};
use crate::model::{Book, GaugeItem, Scale, Stated, Steps, number};
use hydraulics::units::{Kind, Measure, Ratio, System};
use indexmap::IndexMap;

impl Item for GaugeItem {
    const KIND: &'static str = "gauge";

    fn all(book: &Book) -> &IndexMap<String, Self> {
        &book.gauge
    }

    fn all_mut(book: &mut Book) -> &mut IndexMap<String, Self> {
        &mut book.gauge
    }

    fn fields(&self, reader: System) -> ItemFields {
        let mut fields = ItemFields::default();
        fields.set("measures", self.scale.word());
        fields.set("serial", self.serial.clone().unwrap_or_default());
        let share = self.accuracy_share.as_ref();
        match &self.scale {
            Scale::Pressure(steps) => steps_shown(&mut fields, Kind::Pressure, steps, reader),
            Scale::Flow(steps) => steps_shown(&mut fields, Kind::Flow, steps, reader),
        }
        let whole = fields.get("accuracy").to_string();
        let share = field(Kind::Share, share, reader);
        let both = [whole, share].into_iter().filter(|text| !text.is_empty());
        fields.set("accuracy", both.collect::<Vec<_>>().join("; "));
        fields.set("calibrated", self.calibrated.clone().unwrap_or_default());
        fields.about(&self.about);
        fields
    }

    fn read(sheet: &mut Sheet<'_>, was: Option<&Self>) -> Option<Self> {
        let words = ["pressure", "flow"];
        let word = sheet.word("measures", words.map(|word| (word, word)));
        let was_share = was.and_then(|w| w.accuracy_share.as_ref());
        let (scale, accuracy_share) = match word? {
            "flow" => {
                let was = match was.map(|w| &w.scale) {
                    Some(Scale::Flow(steps)) => Some(steps),
                    _ => None,
                };
                let (steps, share) = steps(sheet, Kind::Flow, was, was_share);
                (Scale::Flow(steps), share)
            }
            _ => {
                let was = match was.map(|w| &w.scale) {
                    Some(Scale::Pressure(steps)) => Some(steps),
                    _ => None,
                };
                let (steps, share) = steps(sheet, Kind::Pressure, was, was_share);
                (Scale::Pressure(steps), share)
            }
        };
        Some(GaugeItem {
            scale,
            accuracy_share,
            serial: some(sheet.get("serial")),
            calibrated: sheet.date("calibrated"),
            about: sheet.about(was.map(|w| &w.about)),
        })
    }
}

fn steps_shown<Q: Measure>(fields: &mut ItemFields, kind: Kind, steps: &Steps<Q>, reader: System) {
    let all = [
        ("step", &steps.step),
        ("accuracy", &steps.accuracy),
        ("swing", &steps.swing),
        ("highest", &steps.highest),
    ];
    for (key, stated) in all {
        let stated = stated.as_ref();
        fields.set(
            key,
            stated.map_or_else(String::new, |s| fine(kind, s, reader)),
        );
    }
}

/// As [`shown`], but as it is written where that rounds away too much: half a psi
/// is no 0.0 bar.
fn fine<Q: Measure>(kind: Kind, stated: &Stated<Q>, reader: System) -> String {
    let text = shown(kind, stated, reader);
    let again = Stated::<Q>::read(kind, &text, reader).map(|again| again.get().si());
    let si = stated.get().si();
    let near = again.is_ok_and(|again| (again - si).abs() <= 0.02 * si.abs());
    match near || number(stated.text()).is_some() {
        true => text,
        false => stated.text().into(),
    }
}

fn steps<Q: Measure>(
    sheet: &mut Sheet<'_>,
    kind: Kind,
    was: Option<&Steps<Q>>,
    was_share: Option<&Stated<Ratio>>,
) -> (Steps<Q>, Option<Stated<Ratio>>) {
    let before = |get: fn(&Steps<Q>) -> &Option<Stated<Q>>| was.and_then(|w| get(w).as_ref());
    let (accuracy, share) = accuracy(sheet, kind, before(|w| &w.accuracy), was_share);
    let steps = Steps {
        step: one(sheet, ("step", "Step"), kind, before(|w| &w.step)),
        accuracy,
        swing: one(sheet, ("swing", "Swing"), kind, before(|w| &w.swing)),
        highest: one(
            sheet,
            ("highest", "End of its scale"),
            kind,
            before(|w| &w.highest),
        ),
    };
    (steps, share)
}

fn one<Q: Measure>(
    sheet: &mut Sheet<'_>,
    (key, label): (&'static str, &str),
    kind: Kind,
    was: Option<&Stated<Q>>,
) -> Option<Stated<Q>> {
    let range = keys::bounds(keys::GAUGE, key, kind)?;
    let text = sheet.get(key);
    read(sheet, range, (key, label), text, was)
}

/// Reads one value, and refuses nought where no gauge is that fine.
fn read<Q: Measure>(
    sheet: &mut Sheet<'_>,
    range: &Range,
    (key, label): (&'static str, &str),
    text: &str,
    was: Option<&Stated<Q>>,
) -> Option<Stated<Q>> {
    let read = sheet.form.within(range, label, key, text, was)?;
    if key != "swing" && read.get().si() <= 0.0 {
        let message = format!("{label}: {} is not above nought", read.text());
        let mend = "write what is on it or on its certificate, or leave it empty";
        sheet.form.error(key, message, mend);
        return None;
    }
    Some(read)
}

/// "3 psi", "1 %" of the reading, or both with a semicolon between them.
fn accuracy<Q: Measure>(
    sheet: &mut Sheet<'_>,
    kind: Kind,
    was: Option<&Stated<Q>>,
    was_share: Option<&Stated<Ratio>>,
) -> (Option<Stated<Q>>, Option<Stated<Ratio>>) {
    let label = ("accuracy", "It may be off by");
    let (mut whole, mut share) = (None, None);
    for text in listed(sheet.get("accuracy")) {
        let reader = sheet.form.reader;
        let per_cent = was_share.is_some_and(|was| shown(Kind::Share, was, reader) == text)
            || text.to_lowercase().ends_with(['%', 't']);
        let of = if per_cent { Kind::Share } else { kind };
        let Some(range) = keys::bounds(keys::GAUGE, "accuracy", of) else {
            continue;
        };
        let twice = match per_cent {
            true => read(sheet, range, label, text, was_share)
                .is_some_and(|one| share.replace(one).is_some()),
            false => {
                read(sheet, range, label, text, was).is_some_and(|one| whole.replace(one).is_some())
            }
        };
        if twice {
            let example = match (kind, reader) {
                (Kind::Flow, System::Us) => "5 gpm; 2 %",
                (Kind::Flow, System::Si) => "20 L/min; 2 %",
                (_, System::Us) => "3 psi; 1 %",
                (_, System::Si) => "0.2 bar; 1 %",
            };
            let message = format!("It may be off by: \"{text}\" is a second value of its kind");
            let mend = format!("keep one quantity and one share of the reading, as {example}");
            sheet.form.error("accuracy", message, mend);
        }
    }
    (whole, share)
}
