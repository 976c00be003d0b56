//! Adapters: put in where two couplings do not fit, taken out where they do.

use super::place::row;
use crate::check::{self, Fault};
use crate::model::{ApplianceKind, AppliancePart, Book, Line, Part, Path, Step};

/// Adapters put in or taken out for one change at most.
const ADAPTERS: usize = 32;

/// How many things forbid laying `line`.
pub(super) fn errors(book: &Book, name: &str, line: &Line) -> usize {
    let faults = check::line(book, name, line);
    faults.iter().filter(|fault| fault.forbids()).count()
}

/// `line` with adapters where its couplings ask for them, and what was done in
/// words.
pub(super) fn adapted(book: &Book, name: &str, line: Line) -> (Line, Vec<String>) {
    let (mut line, mut told) = (line, Vec::new());
    for _ in 0..ADAPTERS {
        let faults = check::line(book, name, &line);
        let misfits = faults.iter().filter(|f| f.code == "misfit");
        let before = errors(book, name, &line);
        let better = |(after, _): &(Line, String)| errors(book, name, after) < before;
        let mended = misfits
            .flat_map(|fault| mends(book, &line, fault))
            .find(better);
        match mended {
            Some((after, word)) => {
                line = after;
                told.push(word);
            }
            None => break,
        }
    }
    (line, told)
}

/// Ways to mend a joint: without the adapter that is there, or with one more.
fn mends(book: &Book, line: &Line, fault: &Fault) -> Vec<(Line, String)> {
    let Some((Step::Part(n), steps)) = fault.path.0.split_last() else {
        return Vec::new();
    };
    let Some(index) = n.checked_sub(1) else {
        return Vec::new();
    };
    let without = |i: usize| {
        let mut after = line.clone();
        let row = row(&mut after.parts, steps)?;
        let adapter = row.get(i).filter(|part| is_adapter(book, part))?;
        let name = adapter.name().unwrap_or_default().to_string();
        row.remove(i);
        let path = Path(steps.to_vec()).then(Step::Part(i + 1));
        Some((after, format!("\"{name}\" taken out, {path}")))
    };
    let with = || {
        let adapter = fault.adapter.clone()?;
        let mut after = line.clone();
        let row = row(&mut after.parts, steps)?;
        let part = Part::Appliance(AppliancePart {
            appliance: adapter.clone(),
            ..AppliancePart::default()
        });
        let before = index.checked_sub(1).and_then(|i| row.get_mut(i));
        // An adapter behind legs would join them: each leg gets its own.
        if let Some(Part::Legs(legs)) = before {
            legs.iter_mut().for_each(|leg| leg.push(part.clone()));
            let legs = Path(steps.to_vec()).then(Step::Part(index));
            return Some((
                after,
                format!("\"{adapter}\" put in at the end of each leg of {legs}"),
            ));
        }
        row.insert(index.min(row.len()), part);
        Some((after, format!("\"{adapter}\" put in before {}", fault.path)))
    };
    let ways = [
        index.checked_sub(1).and_then(without),
        without(index),
        with(),
    ];
    ways.into_iter().flatten().collect()
}

fn is_adapter(book: &Book, part: &Part) -> bool {
    match part {
        Part::Appliance(part) => book
            .appliance(&part.appliance)
            .is_some_and(|found| found.item.kind == ApplianceKind::Adapter),
        _ => false,
    }
}
