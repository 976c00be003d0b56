//! The report of a test: what was read, what it says, what follows.

mod accepted;
mod outcome;
mod readings;

use book::Book;
use serde_json::{Value, json};
use study::proof::{Place, Proof, Suspect, Test};

use super::gauges::{self, Used, is_of_a_gauge};
use super::{Kind, Sheet};
use crate::cautions::TEST;
use crate::paper::Units;
use crate::words;

/// A test with what was made of it.
#[derive(Debug, Clone, Copy)]
pub struct Tested<'a> {
    /// What was read.
    pub test: &'a Test,
    /// What that says.
    pub proof: &'a Proof,
    /// Gauges of the day that do not agree with the others.
    pub suspects: &'a [Suspect],
    /// The book in which the results were accepted; `None` before that.
    pub after: Option<&'a Book>,
    /// What else is known of the day, as "Weather" and "dry, 12 C": who read, wind, rain.
    /// An empty text leaves room to write.
    pub day: &'a [(&'a str, &'a str)],
}

/// The report of a test on equipment of `book`, the book as it was when the test was
/// reduced. It says what was found that day, and stays right when the book changes.
///
/// A test that could not be reduced has its reasons and its readings, and no result.
pub fn test_report(book: &Book, tested: &Tested<'_>, units: Units) -> Sheet {
    let proof = tested.proof;
    let subject = report_subject(proof);
    let title = format!(
        "{}, {}",
        words::capital(&proof.subject.to_string()),
        proof.date
    );
    let mut sheet = Sheet::new(Kind::TestReport, book, (&subject, &title), units);
    sheet.head = vec![
        ("Date of the test", proof.date.clone()),
        ("Points", proof.points.len().to_string()),
    ];
    sheet.cautions = TEST.to_vec();
    draw(&mut sheet, tested);
    outcome::tell(&mut sheet, proof);
    readings::tell(&mut sheet, proof);
    let used = used(tested.test);
    sheet.body = json!({
        "law": proof.law,
        "facts": facts(tested, units),
        "fields": tested.day,
        "gauges": gauges::rows(book, &used, Some(&proof.date), units),
        "results": outcome::results(proof, units),
        "verdicts": outcome::verdicts(proof, units),
        "stands_out": outcome::stands_out(tested, units),
        "fit_words": outcome::fit_words(proof),
        "notices": notices(proof, units),
        "budgets": outcome::budgets(proof, units),
        "readings": readings::table(proof, units),
        "has_fit": proof.drawn.is_some(),
        "accepted": tested.after.map(|after| accepted::words(book, after, units)),
    });
    sheet
}

/// What the report of a test is about, as the register has it: "hose: attack, 2026-05-11".
pub fn report_subject(proof: &Proof) -> String {
    let (kind, about) = proof.subject.words();
    format!("{kind}: {about}, {}", proof.date)
}

/// Set-up, fit, and what the uncertainty of the first value is made of.
fn draw(sheet: &mut Sheet, tested: &Tested<'_>) {
    let system = sheet.units.first();
    let proof = tested.proof;
    let gauges: Vec<(Place, String)> = used(tested.test)
        .into_iter()
        .flat_map(|used| {
            let name = used.name;
            used.places
                .into_iter()
                .map(move |place| (place, name.clone()))
        })
        .collect();
    let set_up = picture::set_up(&proof.subject, &gauges);
    let fit = proof
        .drawn
        .as_ref()
        .map(|drawn| picture::fit(drawn, system));
    let first = proof.found.first();
    let budgets = first.map(|found| picture::budget(found, system));
    let all = std::iter::once(set_up).chain(fit).chain(budgets);
    sheet.drawings.extend(all.map(Into::into));
}

/// The gauges of a test in the order in which they were first read.
fn used(test: &Test) -> Vec<Used> {
    let mut all: Vec<Used> = Vec::new();
    for reading in test.readings.iter().filter(|r| is_of_a_gauge(r.place)) {
        let known = all.iter_mut().find(|used| used.name == reading.gauge);
        let used = match known {
            Some(used) => used,
            None => {
                all.push(Used {
                    name: reading.gauge.clone(),
                    places: Vec::new(),
                    calibrated: None,
                    step: None,
                });
                match all.last_mut() {
                    Some(used) => used,
                    None => continue,
                }
            }
        };
        if !used.places.contains(&reading.place) {
            used.places.push(reading.place);
        }
        used.calibrated = reading.calibrated.clone().or(used.calibrated.take());
        used.step = reading.resolution.or(used.step);
    }
    all
}

fn facts(tested: &Tested<'_>, units: Units) -> Vec<(String, String)> {
    let tip = tested.test.pitot_tip.iter();
    let tip = tip.map(|tip| ("Solid tip for the pitot".to_string(), tip.clone()));
    // The gauges have a table of their own.
    let facts = tested.proof.facts.iter();
    let all = facts
        .filter(|(name, _)| *name != "gauges")
        .filter_map(|(name, said)| Some((words::capital(name), words::said(said, units)?)));
    tip.chain(all).collect()
}

fn notices(proof: &Proof, units: Units) -> Vec<Value> {
    let all = proof.notices.iter();
    all.map(|notice| words::notice(notice, units)).collect()
}
