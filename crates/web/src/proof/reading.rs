//! A reading on its way into the records.

use super::sheet::{POINTS, Sheet};
use super::take;
use crate::address;
use crate::fault::Fault;
use crate::form::{Filled, Pairs, Sent};
use crate::reader::{self, Reader};
use crate::workbench::{Workbench, now};
use axum::Json;
use axum::extract::{Path, State};
use axum::http::header::ACCEPT;
use axum::http::{HeaderMap, StatusCode};
use axum::response::{IntoResponse, Redirect, Response};
use book::Stated;
use hydraulics::units::{Kind, Measure, System};
use records::{By, NewReading, Reading, RecordsError};
use serde_json::json;
use std::sync::Arc;
use study::proof::Place;

/// Why a reading was not entered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Refused {
    /// "value", "gauge", "time"; empty for the whole.
    pub field: &'static str,
    pub words: String,
    /// The reading that stands there instead.
    pub instead: Option<i64>,
    status: StatusCode,
}

impl Refused {
    fn field(field: &'static str, words: impl Into<String>) -> Self {
        Refused {
            field,
            words: words.into(),
            instead: None,
            status: StatusCode::UNPROCESSABLE_ENTITY,
        }
    }

    fn conflict(words: String, instead: Option<i64>) -> Self {
        Refused {
            field: "",
            words,
            instead,
            status: StatusCode::CONFLICT,
        }
    }
}

/// A reading comes in from the sheet: from its form, or from its script, which asks for
/// JSON.
pub(super) async fn sent(
    State(workbench): State<Arc<Workbench>>,
    Path((slug, id)): Path<(String, i64)>,
    headers: HeaderMap,
    reader: Reader,
    Filled(pairs): Filled<Pairs>,
) -> Result<Response, Fault> {
    let sent = Sent(pairs);
    let sheet = Sheet::open(&workbench, &slug, id).await?;
    let accept = headers.get(ACCEPT).and_then(|accept| accept.to_str().ok());
    let by_script = accept.is_some_and(|accept| accept.contains("application/json"));
    let entered = match read(&sheet, &sent, &reader) {
        Ok(new) => enter(&workbench, &sheet, &sent, &new, &reader).await?,
        Err(refused) => Err(refused),
    };
    Ok(match (entered, by_script) {
        (Ok(number), true) => Json(json!({ "reading": number })).into_response(),
        (Ok(_), false) => {
            let page = address::test(&slug, id, "");
            let page = address::asked(page, [("point", sent.get("point")), ("told", "entered")]);
            Redirect::to(&page).into_response()
        }
        (Err(why), true) => {
            let body = json!({ "detail": why.words, "field": why.field, "instead": why.instead });
            (why.status, Json(body)).into_response()
        }
        (Err(why), false) => {
            let page = take::refused(&sheet, &reader, &sent, &why)?;
            (why.status, page).into_response()
        }
    })
}

/// Enters it, unless the place has one that this one does not correct.
async fn enter(
    workbench: &Workbench,
    sheet: &Sheet,
    sent: &Sent,
    new: &NewReading,
    reader: &Reader,
) -> Result<Result<i64, Refused>, Fault> {
    let by = By::new(&reader.name, now());
    let (slug, id) = (&sheet.opened.slug, sheet.test.id);
    let corrects: Option<i64> = sent.get("corrects").parse().ok();
    let known = sheet.readings.iter().any(|r| r.new.token == new.token);
    let done = match corrects {
        Some(wrong) => workbench.records.correct(slug, id, wrong, new, &by).await,
        None => {
            if let (Some(there), false) = (standing(sheet, new), known) {
                let words = format!(
                    "{} is there already. Nothing of yours was saved and nothing was overwritten: \
                     correct that one if yours is right.",
                    said(there)
                );
                return Ok(Err(Refused::conflict(words, Some(there.id))));
            }
            workbench.records.read(slug, id, new, &by).await
        }
    };
    match done {
        Ok(number) => Ok(Ok(number)),
        Err(RecordsError::Corrected { by: later, .. }) => {
            let there = workbench.records.readings(slug, id).await?;
            let there = there.into_iter().find(|r| r.id == later);
            let there = there.map_or_else(String::new, |there| said(&there));
            let words = format!(
                "Somebody corrected that one before you: {there} stands now. Nothing of yours was \
                 saved and nothing was overwritten."
            );
            Ok(Err(Refused::conflict(words, Some(later))))
        }
        Err(
            error @ (RecordsError::Token(_)
            | RecordsError::Closed(_)
            | RecordsError::Accepted { .. }
            | RecordsError::NoReading(_)),
        ) => Ok(Err(Refused::conflict(error.to_string(), None))),
        Err(other) => Err(other.into()),
    }
}

/// What counts already where `new` is to go.
fn standing<'a>(sheet: &'a Sheet, new: &NewReading) -> Option<&'a Reading> {
    let mut counted = sheet.counted().into_iter();
    counted.find(|r| r.new.point == new.point && r.new.place == new.place)
}

/// "152 psi at 10:32, by René".
pub(super) fn said(reading: &Reading) -> String {
    let new = &reading.new;
    let mut words = match new.value {
        Some(_) => new.written.clone(),
        None => "struck out".into(),
    };
    if !new.time.is_empty() {
        words += &format!(" at {}", new.time);
    }
    if !reading.by.who.is_empty() {
        words += &format!(", by {}", reading.by.who);
    }
    words
}

/// What the form says.
fn read(sheet: &Sheet, sent: &Sent, reader: &Reader) -> Result<NewReading, Refused> {
    let place = Place::called(sent.get("place"));
    let place = place.filter(|place| sheet.subject.places().contains(place));
    let place = place.ok_or_else(|| {
        let words = format!("\"{}\" is not read in this test.", sent.get("place"));
        Refused::field("", words)
    })?;
    let point: u32 = sent.get("point").parse().unwrap_or(0);
    if !(1..=POINTS).contains(&point) {
        let words = format!("\"{}\" is no point from 1 to {POINTS}.", sent.get("point"));
        return Err(Refused::field("", words));
    }
    let token = sent.own("token");
    if token.is_empty() || token.len() > 80 {
        return Err(Refused::field(
            "",
            "The form has no token. Load the sheet anew.",
        ));
    }
    let time = time(&sent.own("time"))?;
    let remark: String = sent.own("remark").chars().take(500).collect();
    let new = NewReading {
        token,
        point: point.into(),
        place: place.word().into(),
        quantity: records::proof::quantity(place).into(),
        time,
        remark,
        ..NewReading::default()
    };
    if sent.get("do") == "strike" {
        return match sent.get("corrects") {
            "" => Err(Refused::field("", "There is no reading to strike out.")),
            _ => Ok(new),
        };
    }
    let system = reader::units(sent.get("units"));
    let system = system.unwrap_or_else(|| reader.system(&sheet.opened.book));
    let (value, written) = value(place, &sent.own("value"), system)?;
    let (gauge, resolution, calibrated) = gauge(sheet, sent, place, (value, &written))?;
    Ok(NewReading {
        value: Some(value),
        written,
        gauge,
        resolution,
        calibrated,
        ..new
    })
}

/// A value in SI, and as it was written, with its unit.
fn value(place: Place, text: &str, system: System) -> Result<(f64, String), Refused> {
    let kind = place.kind();
    let stated = Stated::<Plain>::read(kind, text, system);
    let stated = stated.map_err(|error| {
        let mend = format!("write it as {}", kind.example(system));
        Refused::field("value", format!("{error}: {mend}."))
    })?;
    let si = stated.get().si();
    let may_be_below = matches!(place, Place::Rise | Place::Intake);
    if si < 0.0 && !may_be_below {
        let words = format!("\"{text}\" is below nought, and a {} is not.", place.word());
        return Err(Refused::field("value", words));
    }
    let is_bare = text.parse::<f64>().is_ok();
    let written = match is_bare {
        true => format!("{} {}", stated.text(), kind.unit(system).symbol),
        false => stated.text().to_string(),
    };
    Ok((si, written))
}

type Gauge = (String, Option<f64>, Option<String>);

/// The gauge, with its step and its calibration as the book has them now: what was so
/// when it was read stays with the reading.
fn gauge(
    sheet: &Sheet,
    sent: &Sent,
    place: Place,
    (value, written): (f64, &str),
) -> Result<Gauge, Refused> {
    let name = sent.own("gauge");
    if name.is_empty() {
        return Ok((name, None, None));
    }
    let Some(gauge) = sheet.opened.book.gauge.get(&name) else {
        let words = format!("The book has no gauge \"{name}\". Choose one that it has.");
        return Err(Refused::field("gauge", words));
    };
    if gauge.is_flow() != (place.kind() == Kind::Flow) {
        let words = format!("Gauge \"{name}\" does not read {}.", place.kind().name());
        return Err(Refused::field("gauge", words));
    }
    let [step, _, _, highest] = gauge.si();
    if let Some(highest) = highest.filter(|highest| value > highest * 1.000_001) {
        let system = reader::units(sent.get("units")).unwrap_or_default();
        let end = study::figure::Figure::new(place.kind(), Plain(highest)).show(system);
        let words = format!(
            "{written} is past the end of the scale of gauge \"{name}\", {end}: check the value, \
             its unit, and which gauge was read."
        );
        return Err(Refused::field("value", words));
    }
    Ok((name, step, gauge.calibrated.clone()))
}

/// A time of day, or none.
fn time(text: &str) -> Result<String, Refused> {
    if text.is_empty() {
        return Ok(String::new());
    }
    let parts = text.split_once(':').and_then(|(hour, minute)| {
        let minute = minute.get(..2)?;
        Some((hour.parse::<u8>().ok()?, minute.parse::<u8>().ok()?))
    });
    match parts {
        Some((hour, minute)) if hour < 24 && minute < 60 => Ok(format!("{hour:02}:{minute:02}")),
        _ => Err(Refused::field(
            "time",
            format!("\"{text}\" is no time of day: write it as 10:32."),
        )),
    }
}

/// A bare SI value.
#[derive(Debug, Clone, Copy)]
pub(super) struct Plain(pub f64);

impl Measure for Plain {
    fn of_si(value: f64) -> Self {
        Plain(value)
    }

    fn si(self) -> f64 {
        self.0
    }
}

/// A token that no other form has.
pub(super) fn token() -> Result<String, Fault> {
    let mut bytes = [0u8; 16];
    getrandom::fill(&mut bytes).map_err(|error| Fault::Stopped(error.to_string()))?;
    Ok(bytes.iter().map(|byte| format!("{byte:02x}")).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bare_number_is_kept_with_the_unit_of_its_form() {
        let (si, written) = value(Place::Inlet, "152", System::Us).unwrap();
        assert_eq!(written, "152 psi");
        assert!((si - 152.0 * 6_894.757).abs() < 1.0, "{si}");
        let (_, written) = value(Place::Inlet, "10.3 bar", System::Us).unwrap();
        assert_eq!(written, "10.3 bar");
    }

    #[test]
    fn what_cannot_be_is_refused_with_the_number() {
        let below = value(Place::Outlet, "-3", System::Us).unwrap_err();
        assert!(below.words.contains("\"-3\""), "{}", below.words);
        assert!(value(Place::Intake, "-3", System::Us).is_ok());
        let unit = value(Place::Flow, "150 psi", System::Us).unwrap_err();
        assert!(
            unit.words.contains("psi") && unit.field == "value",
            "{}",
            unit.words
        );
    }

    #[test]
    fn a_time_is_one_of_the_day() {
        assert_eq!(time("9:05").unwrap(), "09:05");
        assert_eq!(time("").unwrap(), "");
        assert!(time("25:00").unwrap_err().words.contains("25:00"));
        assert!(time("noon").is_err());
    }
}
