//! Branches and legs: dividing a line, adding to it, and joining it again.

use super::EditError;
use super::fit;
use super::place::{Place, row, rows_of};
use crate::catalogue::catalogue;
use crate::model::{
    ApplianceItem, ApplianceKind, AppliancePart, Book, Line, Part, Parts, Path, Stated, Step,
};
use hydraulics::units::Ratio;

/// Appliances of `kind` that join or divide two lines at least: the book's own
/// first.
fn appliances(book: &Book, kind: ApplianceKind) -> impl Iterator<Item = &str> {
    let all = book.appliance.iter().chain(&catalogue().appliance);
    let several = move |item: &ApplianceItem| match kind {
        ApplianceKind::Siamese => item.inlets.len() != 1,
        _ => item.outlets.len() != 1,
    };
    all.filter(move |(_, item)| item.kind == kind && several(item))
        .map(|(name, _)| name.as_str())
}

fn appliance(name: &str) -> Part {
    Part::Appliance(AppliancePart {
        appliance: name.into(),
        ..AppliancePart::default()
    })
}

fn kind_of(book: &Book, part: Option<&Part>) -> Option<ApplianceKind> {
    match part? {
        Part::Appliance(part) => book.appliance(&part.appliance).map(|found| found.item.kind),
        _ => None,
    }
}

/// The gates of the appliance before the part with this index, when they are
/// stated one by one.
pub(super) fn gates(row: &mut Parts, index: usize) -> Option<&mut Vec<Stated<Ratio>>> {
    match row.get_mut(index.checked_sub(1)?)? {
        Part::Appliance(part) if part.gates.len() > 1 => Some(&mut part.gates),
        _ => None,
    }
}

pub(super) fn divide(
    place: &Place<'_>,
    at: &Path,
    named: Option<&str>,
) -> Result<Vec<Line>, EditError> {
    let divided = |name: &str| -> Result<Line, EditError> {
        let mut after = place.line.clone();
        let (row, index) = place.within(&mut after, at)?;
        if index >= row.len() {
            return Err(place.nowhere(at));
        }
        let branch = row.split_off(index);
        row.push(appliance(name));
        row.push(Part::Branches(vec![branch.clone(), branch]));
        Ok(after)
    };
    if let Some(name) = named {
        return Ok(vec![divided(name)?]);
    }
    let names = appliances(place.book, ApplianceKind::Wye);
    let all: Vec<Line> = names.map(divided).collect::<Result<_, _>>()?;
    let fits = |line: &Line| {
        let (line, _) = fit::adapted(place.book, place.name, line.clone());
        fit::errors(place.book, place.name, &line) == 0
    };
    // Where nothing fits although a wye may stand there, that is what to say.
    match all.iter().any(fits) || !only_misfits(place, &all) {
        true => Ok(all),
        false => Err(EditError::NoWye { path: at.clone() }),
    }
}

fn only_misfits(place: &Place<'_>, all: &[Line]) -> bool {
    all.iter().all(|line| {
        let faults = crate::check::line(place.book, place.name, line);
        faults.iter().any(|f| f.code == "misfit")
    })
}

pub(super) fn add(place: &Place<'_>, after: &mut Line, path: &Path) -> Result<(), EditError> {
    let part = place.part(after, path)?;
    let is = part.kind();
    let Some(rows) = rows_of(part) else {
        return Err(EditError::NotThat {
            path: path.clone(),
            is,
            wanted: "branches or legs",
        });
    };
    let last = rows.last().cloned().ok_or_else(|| place.nowhere(path))?;
    rows.push(last);
    Ok(())
}

/// Two legs of the part at `path`. With a wye before them unless the water comes
/// from a pump or from several outlets, and with a siamese behind them unless
/// they are taken in one by one: which of these the line needs shows in what is
/// wrong with it.
pub(super) fn twin(place: &Place<'_>, path: &Path) -> Result<Vec<Line>, EditError> {
    let mut after = place.line.clone();
    let (row, index) = place.within(&mut after, path)?;
    let part = row.get(index).ok_or_else(|| place.nowhere(path))?;
    if !matches!(part, Part::Hose(_)) {
        return Err(EditError::NotThat {
            path: path.clone(),
            is: part.kind(),
            wanted: "hose",
        });
    }
    let wyes: Vec<&str> = match divided_before(place.book, row, index, path) {
        true => Vec::new(),
        false => appliances(place.book, ApplianceKind::Wye).collect(),
    };
    let siameses: Vec<&str> = appliances(place.book, ApplianceKind::Siamese).collect();
    let with = |wye: Option<&str>, siamese: Option<&str>| -> Result<Line, EditError> {
        let mut after = place.line.clone();
        let (row, index) = place.within(&mut after, path)?;
        let leg = row.get(index).cloned().ok_or_else(|| place.nowhere(path))?;
        let legs = Part::Legs(vec![vec![leg.clone()], vec![leg]]);
        let before = wye.map(appliance);
        let behind = siamese.map(appliance);
        let new = before.into_iter().chain([legs]).chain(behind);
        row.splice(index..=index, new);
        Ok(after)
    };
    let optional = |names: &[&str]| -> Vec<Option<String>> {
        let some = names.iter().map(|name| Some((*name).to_string()));
        some.chain([None]).collect()
    };
    // A siamese is asked for by a warning, so that none at all comes first; a
    // missing wye is not warned of, so that none comes last.
    let (wyes, mut siameses) = (optional(&wyes), optional(&siameses));
    siameses.rotate_right(1);
    let mut all = Vec::new();
    for wye in &wyes {
        let lines = siameses.iter().map(|s| with(wye.as_deref(), s.as_deref()));
        let lines = lines.collect::<Result<Vec<Line>, EditError>>()?;
        let sound = lines
            .iter()
            .any(|l| fit::errors(place.book, place.name, l) == 0);
        all.extend(lines);
        if sound {
            break;
        }
    }
    Ok(all)
}

/// `after`, and where the part at `path` stands behind legs the same with each
/// siamese before it: one inlet cannot take several lines.
pub(super) fn with_siamese(
    place: &Place<'_>,
    after: Line,
    path: &Path,
) -> Result<Vec<Line>, EditError> {
    let mut plain = after.clone();
    let (row, index) = place.within(&mut plain, path)?;
    let before = index.checked_sub(1).and_then(|i| row.get(i));
    let names = matches!(before, Some(Part::Legs(_)))
        .then(|| appliances(place.book, ApplianceKind::Siamese));
    let mut all = vec![after.clone()];
    for name in names.into_iter().flatten() {
        let mut joined = after.clone();
        let (row, index) = place.within(&mut joined, path)?;
        row.insert(index, appliance(name));
        all.push(joined);
    }
    Ok(all)
}

/// The siamese at `path`, unless it was asked for.
pub(super) fn siamese_put_in(
    book: &Book,
    line: &Line,
    path: &Path,
    asked: Option<&Part>,
) -> Option<String> {
    let mut line = line.clone();
    let Some(super::place::Spot::Part(steps, index)) = super::place::spot(path) else {
        return None;
    };
    let part = row(&mut line.parts, &steps)?.get(index)?.clone();
    let new = kind_of(book, Some(&part)) == Some(ApplianceKind::Siamese);
    let name = part.name().filter(|_| new && asked != Some(&part))?;
    let next = Path(steps).then(Step::Part(index + 2));
    Some(format!("\"{name}\" put in before {next}"))
}

/// Does the water before this part come out of several outlets?
fn divided_before(book: &Book, row: &Parts, index: usize, path: &Path) -> bool {
    let Some(before) = index.checked_sub(1).and_then(|i| row.get(i)) else {
        // The first part of a line: a pump has several outlets.
        return path.0.len() == 1;
    };
    match before {
        Part::Legs(_) => true,
        Part::Appliance(part) => {
            let found = book.appliance(&part.appliance);
            found.is_some_and(|found| found.item.outlets.len() > 1)
        }
        _ => false,
    }
}

/// Takes one row out of the branches or legs at `index` in the row at `steps`.
pub(super) fn remove(
    place: &Place<'_>,
    path: &Path,
    (steps, index, k): (&[Step], usize, usize),
) -> Result<Vec<Line>, EditError> {
    let nowhere = || place.nowhere(path);
    let mut after = place.line.clone();
    row(&mut after.parts, &path.0).ok_or_else(nowhere)?;
    let outer = row(&mut after.parts, steps).ok_or_else(nowhere)?;
    let all = outer.get_mut(index).and_then(rows_of).ok_or_else(nowhere)?;
    if all.len() == 1 {
        return Err(EditError::Only { path: path.clone() });
    }
    all.remove(k);
    let left = all.clone();
    if let Some(gates) = gates(outer, index).filter(|gates| k < gates.len()) {
        gates.remove(k);
    }
    match left.as_slice() {
        [last] => Ok(joined(place, &after, (steps, index), last)),
        _ => Ok(vec![after]),
    }
}

/// The line with its one row left joined in: without the wye before and the
/// siamese behind it, then with an adapter in their place, then with them.
fn joined(
    place: &Place<'_>,
    line: &Line,
    (steps, index): (&[Step], usize),
    last: &Parts,
) -> Vec<Line> {
    let join = |wye: bool, siamese: bool| {
        let mut after = line.clone();
        let outer = row(&mut after.parts, steps)?;
        let kind = |i: Option<usize>| kind_of(place.book, outer.get(i?));
        let before = kind(index.checked_sub(1)) == Some(ApplianceKind::Wye);
        let behind = kind(Some(index + 1)) == Some(ApplianceKind::Siamese);
        let from = index - usize::from(wye && before);
        let to = index + usize::from(siamese && behind);
        if from == 0 && last.is_empty() && to + 1 >= outer.len() {
            return None;
        }
        outer.splice(from..=to, last.iter().cloned());
        Some(after)
    };
    let plain = [(true, true), (false, true), (true, false), (false, false)];
    let mut all: Vec<Line> = Vec::new();
    for (wye, siamese) in plain {
        let Some(line) = join(wye, siamese) else {
            continue;
        };
        let sound = fit::errors(place.book, place.name, &line) == 0;
        let (adapted, told) = fit::adapted(place.book, place.name, line.clone());
        all.push(line);
        if !sound && !told.is_empty() {
            all.push(adapted);
        }
    }
    all
}
