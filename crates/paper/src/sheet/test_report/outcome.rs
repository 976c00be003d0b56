//! What a test found, what it proves, and what its uncertainty is made of.

use serde_json::{Value, json};
use study::proof::{Bound, Found, Proof};
use study::reduce::Kind as Known;

use super::Tested;
use crate::paper::Units;
use crate::sheet::{Sheet, measured};
use crate::words;

/// Below this chance sound gauges would hardly scatter, or depart, so much.
const UNLIKELY: f64 = 0.05;

/// Notes all that the report says, so that a print can be held against it.
pub(super) fn tell(sheet: &mut Sheet, proof: &Proof) {
    sheet.tell("law", proof.law.as_str());
    for found in &proof.found {
        let [low, high] = &found.between;
        let parts = [("", &found.value), (", at least", low), (", at most", high)];
        for (part, value) in parts {
            sheet.tell(
                format!("found: {}{part}", found.name),
                measured::said(value),
            );
        }
        if let Some(book) = &found.book {
            sheet.tell(format!("book: {}", found.name), measured::said(book));
        }
    }
    for bound in &proof.bounds {
        sheet.tell(format!("verdict: {}", bound.what), bound.verdict.word());
    }
    for notice in &proof.notices {
        sheet.tell(
            format!("{} {}", notice.code, notice.place),
            notice.text.as_str(),
        );
    }
}

pub(super) fn results(proof: &Proof, units: Units) -> Vec<Value> {
    proof
        .found
        .iter()
        .map(|found| result(found, units))
        .collect()
}

fn result(found: &Found, units: Units) -> Value {
    let book = found.book.as_ref();
    let beside = match (book, found.told_apart) {
        (None, _) => "the book has none",
        (Some(_), true) => "differs: the interval leaves it out",
        (Some(_), false) => "agrees: the interval holds it",
    };
    json!({
        "name": words::capital(&found.name),
        "value": measured::shown(&found.value, units),
        "between": measured::between(&found.between, units),
        "standard": measured::text(&found.standard, units),
        "degrees": degrees(found.degrees),
        "book": book.map(|book| measured::text(book, units)),
        "book_is": found.book_is,
        "beside": beside,
    })
}

fn degrees(degrees: f64) -> String {
    match degrees.is_finite() && degrees < 1e5 {
        true => format!("{degrees:.0}"),
        false => "many".into(),
    }
}

pub(super) fn verdicts(proof: &Proof, units: Units) -> Vec<Value> {
    proof
        .bounds
        .iter()
        .map(|bound| verdict(bound, units))
        .collect()
}

fn verdict(bound: &Bound, units: Units) -> Value {
    let [value, low, high] = bound.value.map(|figure| measured::figure(figure, units));
    let limit = |figure: Option<study::figure::Figure>| figure.map(|f| measured::figure(f, units));
    json!({
        "what": words::capital(&bound.what),
        "verdict": bound.verdict.word().to_uppercase(),
        "value": value,
        "between": format!("{low} to {high}"),
        "least": limit(bound.least),
        "most": limit(bound.most),
        "source": bound.source,
        "settle": bound.settle,
    })
}

/// Readings and gauges that look wrong, and what that does.
pub(super) fn stands_out(tested: &Tested<'_>, units: Units) -> Vec<String> {
    let points = tested.proof.points.iter().filter(|point| point.stands_out);
    let points = points.map(|point| {
        let time = match point.time.as_str() {
            "" => String::new(),
            time => format!(" ({time})"),
        };
        format!(
            "Point {}{time} is {} off what the others make expected, {:.1} times what the scatter explains. Look for the cause before it is left out.",
            point.point,
            measured::figure(point.residual, units),
            point.studentised.abs()
        )
    });
    let here = |gauge: &String| tested.proof.gauges.contains(gauge);
    let gauges = tested.suspects.iter();
    let gauges = gauges.filter(|suspect| suspect.gauges.iter().any(here));
    let gauges = gauges.map(|suspect| {
        let [off, low, high] = suspect.off.map(|figure| measured::figure(figure, units));
        format!(
            "Gauge {}: off by {off} (95 %: {low} to {high}); sound gauges would look like that with a chance of {}. {}",
            suspect.gauges.join(" or "),
            chance(suspect.chance),
            sentence(&suspect.words)
        )
    });
    gauges.chain(points).collect()
}

fn sentence(words: &str) -> String {
    format!("{}.", words::capital(words.trim_end_matches('.')))
}

fn chance(chance: f64) -> String {
    match chance {
        chance if chance < 1e-4 => "less than 1 in 10 000".into(),
        chance if chance < 0.01 => format!("{:.2} %", 100.0 * chance),
        chance => format!("{:.0} %", 100.0 * chance),
    }
}

/// How good the fit is, in words.
pub(super) fn fit_words(proof: &Proof) -> Vec<String> {
    let scatter = proof.scatter_chance.map(|likely| {
        let so = match likely < UNLIKELY {
            true => "the readings scatter more than the gauges explain",
            false => "the gauges explain the scatter",
        };
        format!(
            "Scatter like this has a chance of {} from the gauges alone: {so}.",
            chance(likely)
        )
    });
    let lack = proof.lack_of_fit.map(|likely| {
        let so = match likely < UNLIKELY {
            true => "the law does not fit these readings well",
            false => "nothing speaks against the law",
        };
        format!("Such departure from the law has a chance of {} from the scatter of repeats alone: {so}.", chance(likely))
    });
    let stopped = (!proof.stopped.is_empty()).then(|| sentence(&proof.stopped));
    scatter.into_iter().chain(lack).chain(stopped).collect()
}

/// Every source of every uncertainty, in shares.
pub(super) fn budgets(proof: &Proof, units: Units) -> Vec<Value> {
    proof
        .found
        .iter()
        .map(|found| budget(found, units))
        .collect()
}

fn budget(found: &Found, units: Units) -> Value {
    let shares = found.budget.shares().into_iter();
    let rows = found.budget.contributions.iter().zip(shares);
    let rows = rows.map(|(source, share)| {
        let known = match source.kind {
            Known::A => "scatter (type A)",
            Known::B => "gauge (type B)",
        };
        json!([source.what, known, degrees(source.degrees), per_cent(share)])
    });
    json!({
        "name": words::capital(&found.name),
        "rows": rows.collect::<Vec<_>>(),
        "standard": measured::text(&found.standard, units),
        "degrees": degrees(found.degrees),
    })
}

fn per_cent(share: f64) -> String {
    match share.is_finite() {
        true => format!("{:.1} %", 100.0 * share),
        false => "not known".into(),
    }
}
