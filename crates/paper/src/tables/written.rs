//! What several tables say in the same way: sources, notices, values of the book.

use book::{About, Book, LossWritten, Origin, Stated};
use hydraulics::coupling::Coupling;
use hydraulics::units::System;
use study::answer::{CoefficientUsed, ItemUsed};
use study::figure::{self, Figure};
use study::notice::Notice;

use super::about::JOINT;
use super::listing::Row;
use crate::paper::Units;
use crate::sheet;

/// The sources of a row in one text.
pub(super) fn joined(sources: impl IntoIterator<Item = String>) -> String {
    let mut all: Vec<String> = Vec::new();
    for source in sources {
        if !all.contains(&source) {
            all.push(source);
        }
    }
    all.join(JOINT)
}

/// Where the coefficients of hose come from, and which value was used of a nozzle or a
/// pump of which the book has two.
pub(super) fn coefficients(used: &[CoefficientUsed], items: &[ItemUsed], units: Units) -> String {
    let hose = used.iter().map(|used| sheet::source(used, units));
    let two = items.iter().filter(|item| item.both());
    let all: Vec<String> = hose
        .chain(two.map(|item| sheet::item_source(item, units)))
        .collect();
    match all.is_empty() {
        true => "No hose is in it.".into(),
        false => joined(all),
    }
}

/// Where the values of a part come from: of hose its coefficient, of other equipment its
/// entry.
pub(super) fn of_part(
    book: &Book,
    (kind, name): (&str, &str),
    used: &[CoefficientUsed],
    units: Units,
) -> String {
    let entry = match kind {
        "hose" => {
            let hose = used.iter().find(|used| used.hose == name);
            return hose.map_or_else(
                || format!("Hose {name}: no source stated."),
                |used| sheet::source(used, units),
            );
        }
        "nozzle" | "shut-off" => book.nozzle(name).map(|f| (&f.item.about, f.origin)),
        "riser" => book.standpipe.get(name).map(|s| (&s.about, Origin::Own)),
        _ => book.appliance(name).map(|f| (&f.item.about, f.origin)),
    };
    let stated = entry.map_or_else(
        || "no source stated".into(),
        |(about, origin)| stated(about, origin),
    );
    format!("{} {name}: {stated}.", crate::words::capital(kind))
}

/// What an entry says of where its values come from.
pub(super) fn stated(about: &About, origin: Origin) -> String {
    let whose = match origin {
        Origin::Own => "own entry",
        Origin::Catalogue => "generic catalogue",
    };
    let source = about.source.as_deref().unwrap_or("no source stated");
    let invented = if about.invented { ", invented" } else { "" };
    format!("{}, {whose}{invented}", source.trim_end_matches('.'))
}

/// What an entry of the book's own says of where its values come from.
pub(super) fn own(kind: &str, name: &str, about: &About) -> String {
    format!("{kind} {name}: {}.", stated(about, Origin::Own))
}

/// How far an answer closes; a difference of nothing is no "0e0".
pub(crate) fn agrees(figure: Figure, system: System) -> String {
    match figure.value(system) == 0.0 && figure.exponent(system).starts_with("0e0") {
        true => "exactly".into(),
        false => figure.exponent(system),
    }
}

/// A notice, a row.
pub(super) fn notice(row: Row, notice: &Notice, units: Units) -> Row {
    let numbers = notice.numbers.iter();
    let numbers = numbers.map(|(name, figure)| format!("{name} {}", units.show(*figure).text()));
    let numbers: Vec<String> = numbers.collect();
    row.with("weight", notice.weight.word())
        .with("place", notice.place.as_str())
        .with("notice", notice.text.as_str())
        .with("numbers", numbers.join("; "))
        .with("what to do", notice.mend.as_str())
}

/// How pressure is lost, where that is written.
pub(super) fn loss(row: Row, name: &str, loss: Option<&LossWritten>) -> Row {
    match loss {
        None => row,
        Some(LossWritten::Rated { pressure, flow }) => row
            .with(name, figure::pressure(pressure.get()))
            .with(format!("{name} at"), figure::flow(flow.get())),
        Some(LossWritten::Allowance {
            allowance,
            from_flow,
        }) => row
            .with(name, figure::pressure(allowance.get()))
            .maybe(
                format!("{name} from"),
                from_flow.as_ref().map(|flow| figure::flow(flow.get())),
            )
            .with(format!("{name} is"), "a flat allowance"),
    }
}

/// A coupling in words.
pub(super) fn coupling(stated: Option<&Stated<Coupling>>) -> Option<String> {
    stated.map(|coupling| coupling.get().describe())
}
