//! What a comparison went by: lines, equipment, coefficients with their sources.

use std::collections::BTreeSet;

use book::comparison::Comparison;
use book::{Book, Conditions, Which};
use study::answer::{CoefficientUsed, LineAnswer};
use study::choose::{Choice, Chosen};

use super::choices::printed;
use crate::grounds::{CREW, Thing, Things};
use crate::paper::Units;
use crate::sheet::common;
use crate::sheet::{item_source, source};

/// The choices that the sheet shows, and what is carried today.
fn shown(chosen: &Chosen) -> impl Iterator<Item = &Choice> {
    printed(chosen)
        .chain(chosen.robust.and_then(|place| chosen.choices.get(place)))
        .chain(&chosen.today)
}

fn answers(book: &Book, chosen: &Chosen) -> Vec<LineAnswer> {
    let lines = chosen.lines.iter();
    lines
        .filter_map(|line| study::solve(book, line, &Conditions::default()).ok())
        .collect()
}

/// Is foam made on one of the lines?
pub(crate) fn makes_foam(book: &Book, chosen: &Chosen) -> bool {
    answers(book, chosen).iter().any(common::makes_foam)
}

/// Everything that the answer rests on: the lines, what they carry, and all that could
/// be chosen.
pub(super) fn things(book: &Book, comparison: &Comparison, chosen: &Chosen) -> Things {
    let mut things = Things::new();
    let mut add = |thing, name: &str| {
        things.insert((thing, name.to_string()));
    };
    add(Thing::Crew, CREW);
    for answer in answers(book, chosen) {
        for part in &answer.parts {
            match part.kind {
                "hose" => add(Thing::Hose, &part.name),
                "nozzle" => add(Thing::Nozzle, &part.name),
                "appliance" => add(Thing::Appliance, &part.name),
                _ => {}
            }
        }
        answer
            .tips
            .iter()
            .for_each(|tip| add(Thing::Nozzle, &tip.nozzle));
        answer.rig.iter().for_each(|rig| add(Thing::Rig, rig));
    }
    let lines = comparison.lines.iter().chain(&chosen.lines);
    lines.for_each(|line| add(Thing::Line, line));
    let vary = &comparison.vary;
    vary.hose.iter().for_each(|hose| add(Thing::Hose, hose));
    vary.nozzle
        .iter()
        .for_each(|choice| add(Thing::Nozzle, &choice.nozzle));
    for on in shown(chosen).flat_map(|choice| &choice.on) {
        add(Thing::Hose, &on.hose);
        add(Thing::Nozzle, &on.nozzle);
    }
    things.retain(|(_, name)| !name.is_empty());
    things
}

/// Where every coefficient that was used comes from, in each of the cases, and which of
/// two values of a nozzle.
pub(crate) fn sources(
    book: &Book,
    comparison: &Comparison,
    chosen: &Chosen,
    units: Units,
) -> Vec<String> {
    let which = match comparison.cases.coefficient.as_slice() {
        [] => vec![Which::Best],
        some => some.to_vec(),
    };
    let answers = answers(book, chosen);
    let along = answers.iter().flat_map(|answer| &answer.coefficients);
    let along = along.map(|used| used.hose.clone());
    let varied = shown(chosen).flat_map(|choice| choice.on.iter().map(|on| on.hose.clone()));
    let hoses: BTreeSet<String> = along.chain(varied).collect();
    let mut all: Vec<String> = Vec::new();
    let mut add = |line: String| {
        if !all.contains(&line) {
            all.push(line);
        }
    };
    for hose in &hoses {
        let used = which.iter().filter_map(|which| book.friction(hose, *which));
        for used in used {
            let used = CoefficientUsed {
                hose: hose.clone(),
                used,
                spread: book.spread(hose),
            };
            add(source(&used, units));
        }
    }
    let items = answers.iter().flat_map(|answer| &answer.items);
    items
        .filter(|item| item.both())
        .for_each(|item| add(item_source(item, units)));
    all
}
