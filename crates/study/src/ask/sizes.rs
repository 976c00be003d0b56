//! What is asked about lengths of hose: charts, hose added, what a ceiling allows.

use super::{AskError, known, misread, place, pressure, quantity};
use crate::chart::{Chart, chart};
use crate::extend::{Extended, extend};
use crate::sizing::varied_length;
use book::{Book, Conditions, PartKind, Stated, Which};
use hydraulics::units::{Kind, Length, Measure, Pressure, System, show};

/// A question for a pump chart, as it was written.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct ChartAsked {
    /// What stands before the name of an option in messages.
    pub mark: &'static str,
    /// Which hose coefficients to use.
    pub which: Which,
    /// Lengths of the line's last hose, set apart by commas.
    pub lengths: Option<String>,
    /// Heights of the tip above the pump, set apart by commas.
    pub rises: Option<String>,
}

impl ChartAsked {
    /// The chart; without lengths and rises those that are usual in `system`.
    ///
    /// # Errors
    /// [`AskError`] when a length cannot be read, or the line has no chart.
    pub fn of(&self, book: &Book, line: &str, system: System) -> Result<Chart, AskError> {
        known(book, line)?;
        let lengths = match &self.lengths {
            Some(text) => list(&format!("{}lengths", self.mark), text)?,
            None => usual_lengths(book, line, system)?,
        };
        if let Some(wrong) = lengths.iter().find(|l| l.value <= 0.0) {
            let text = show(Kind::Length, *wrong, system);
            return misread(format!(
                "{}lengths: a hose of {text} is no hose; give more than none",
                self.mark
            ));
        }
        let rises = match &self.rises {
            Some(text) => list(&format!("{}rises", self.mark), text)?,
            None => usual_rises(system),
        };
        Ok(chart(book, line, &with(self.which), &lengths, &rises)?)
    }
}

/// A question about hose added at a tip, as it was written.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct ExtendAsked {
    /// What stands before the name of an option in messages.
    pub mark: &'static str,
    /// Which hose coefficients to use.
    pub which: Which,
    /// How much hose.
    pub by: String,
    /// Which hose; the line's last when left out.
    pub hose: Option<String>,
    /// At which tip; the line's only one when left out.
    pub at: Option<String>,
}

impl ExtendAsked {
    /// What adding the hose changes.
    ///
    /// # Errors
    /// [`AskError`] when the length or the place cannot be read, or the line, the
    /// tip or the hose is not there.
    pub fn of(&self, book: &Book, line: &str) -> Result<Extended, AskError> {
        known(book, line)?;
        let length = added(&format!("{}by", self.mark), &self.by)?;
        let at = self.at.as_deref();
        let at = at.map(|text| place(&format!("{}at", self.mark), text));
        let hose = match &self.hose {
            Some(name) => name.clone(),
            None => last_hose(&format!("{}hose", self.mark), book, line)?,
        };
        let hose = (hose.as_str(), length);
        Ok(extend(
            book,
            line,
            at.transpose()?.as_ref(),
            hose,
            &with(self.which),
        )?)
    }
}

/// The pump-pressure ceiling asked for, or the book's.
///
/// # Errors
/// [`AskError::Misread`] when it cannot be read, or there is none.
pub fn ceiling(option: &str, book: &Book, asked: Option<&str>) -> Result<Pressure, AskError> {
    match (asked, &book.pump_ceiling) {
        (Some(text), _) => pressure(option, text),
        (None, Some(own)) => Ok(Stated::get(own)),
        (None, None) => misread(format!(
            "the book has no pump_ceiling; give one with {option}"
        )),
    }
}

fn with(which: Which) -> Conditions {
    Conditions {
        which,
        ..Default::default()
    }
}

/// Lengths set apart by commas or semicolons.
fn list(option: &str, text: &str) -> Result<Vec<Length>, AskError> {
    let items = text
        .split([',', ';'])
        .map(str::trim)
        .filter(|t| !t.is_empty());
    let lengths: Vec<Length> = items
        .map(|t| quantity(option, Kind::Length, t))
        .collect::<Result<_, _>>()?;
    match lengths.len() {
        0 => misread(format!("{option}: there is no length in \"{text}\"")),
        1..=40 => Ok(lengths),
        many => misread(format!(
            "{option}: {many} lengths are too many for a chart; 40 fit"
        )),
    }
}

/// The book's length and three more, 50 ft or 15 m apart.
fn usual_lengths(book: &Book, line: &str, system: System) -> Result<Vec<Length>, AskError> {
    let now = varied_length(book, line)?;
    let step = in_system(system, 50.0, 15.0);
    let all = (-1..=3).map(|n| now + step * f64::from(n));
    Ok(all.filter(|l| l.value > 0.0).collect())
}

/// The ground and four heights, 10 ft or 3 m apart.
fn usual_rises(system: System) -> Vec<Length> {
    let step = in_system(system, 10.0, 3.0);
    (0..5).map(|n| step * f64::from(n)).collect()
}

fn in_system(system: System, feet: f64, metres: f64) -> Length {
    let value = match system {
        System::Us => feet,
        System::Si => metres,
    };
    Length::of_si(Kind::Length.unit(system).to_si(value))
}

fn added(option: &str, text: &str) -> Result<Length, AskError> {
    let length: Length = quantity(option, Kind::Length, text)?;
    if length.value > 0.0 && length.value <= 5000.0 {
        return Ok(length);
    }
    misread(format!(
        "{option}: {text} of hose cannot be added; give more than none and at most 5000 m"
    ))
}

fn last_hose(option: &str, book: &Book, line: &str) -> Result<String, AskError> {
    let layout = book::layout(book, line, &Conditions::default())?;
    let mut back = layout.parts.iter().rev();
    match back.find(|p| p.kind == PartKind::Hose) {
        Some(last) => Ok(last.name.clone()),
        None => misread(format!("the line has no hose; say which with {option}")),
    }
}
