//! Finding the way to a part, and the changes of one part or row.

use super::rows;
use super::{Edit, EditError};
use crate::model::{Book, Line, Part, Parts, Path, Step};

/// What the last step of a way leads to.
pub(super) enum Spot {
    /// The part with this index, in the row at this way.
    Part(Vec<Step>, usize),
    /// The row with this index, of the branches or legs at the index in the row
    /// at this way.
    Row(Vec<Step>, usize, usize),
}

/// Takes a way apart; indexes count from nought.
pub(super) fn spot(path: &Path) -> Option<Spot> {
    let index = |n: &usize| n.checked_sub(1);
    match path.0.as_slice() {
        [row @ .., Step::Part(n)] => Some(Spot::Part(row.to_vec(), index(n)?)),
        [row @ .., Step::Part(n), Step::Branch(k) | Step::Leg(k)] => {
            Some(Spot::Row(row.to_vec(), index(n)?, index(k)?))
        }
        _ => None,
    }
}

/// The row at the end of `steps`.
pub(super) fn row<'a>(parts: &'a mut Parts, steps: &[Step]) -> Option<&'a mut Parts> {
    let (part, step, rest) = match steps {
        [] => return Some(parts),
        [Step::Part(part), step, rest @ ..] => (part.checked_sub(1)?, step, rest),
        _ => return None,
    };
    let inner = match (parts.get_mut(part)?, step) {
        (Part::Branches(rows), Step::Branch(k)) => rows.get_mut(k.checked_sub(1)?)?,
        (Part::Legs(rows), Step::Leg(k)) => rows.get_mut(k.checked_sub(1)?)?,
        _ => return None,
    };
    row(inner, rest)
}

/// Rows of branches or legs.
pub(super) fn rows_of(part: &mut Part) -> Option<&mut Vec<Parts>> {
    match part {
        Part::Branches(rows) | Part::Legs(rows) => Some(rows),
        _ => None,
    }
}

/// The line after `edit`, in every way in which that can be done, the plainest
/// first.
pub(super) fn changed(
    book: &Book,
    name: &str,
    line: &Line,
    edit: &Edit,
) -> Result<Vec<Line>, EditError> {
    let place = Place { book, name, line };
    let mut after = line.clone();
    match edit {
        Edit::Put(path, part) => {
            *place.part(&mut after, path)? = part.clone();
            return rows::with_siamese(&place, after, path);
        }
        Edit::Insert(path, parts) => {
            place.insert(&mut after, path, parts)?;
            return rows::with_siamese(&place, after, path);
        }
        Edit::Remove(path) => return place.remove(path),
        Edit::Earlier(path) => place.swap(&mut after, path, true)?,
        Edit::Later(path) => place.swap(&mut after, path, false)?,
        Edit::Divide { at, appliance } => {
            return rows::divide(&place, at, appliance.as_deref());
        }
        Edit::AddRow(path) => rows::add(&place, &mut after, path)?,
        Edit::Twin(path) => return rows::twin(&place, path),
        Edit::Title(title) => after.title = spoken(title),
        Edit::Rig(rig) => after.rig = spoken(rig),
        Edit::PumpPressure(pressure) => after.pump_pressure = pressure.clone(),
        Edit::Aim(aim) => after.aim = aim.clone(),
        Edit::Marking(marking) => after.marking = marking.clone(),
        Edit::Note(note) => after.about.note = spoken(note),
        // Changes of the book, and not of one line.
        Edit::New(_) | Edit::Copy(_) | Edit::Rename(_) | Edit::Delete => {}
    }
    Ok(vec![after])
}

fn spoken(text: &Option<String>) -> Option<String> {
    let text = text.as_deref().map(str::trim);
    text.filter(|t| !t.is_empty()).map(String::from)
}

/// The line that is being changed.
pub(super) struct Place<'a> {
    pub book: &'a Book,
    pub name: &'a str,
    pub line: &'a Line,
}

impl Place<'_> {
    pub fn nowhere(&self, path: &Path) -> EditError {
        EditError::NoPart {
            line: self.name.into(),
            path: path.clone(),
        }
    }

    /// The row that holds the part at `path`, and its index there; the part may
    /// be missing.
    pub fn within<'b>(
        &self,
        line: &'b mut Line,
        path: &Path,
    ) -> Result<(&'b mut Parts, usize), EditError> {
        match spot(path) {
            Some(Spot::Part(steps, index)) => {
                let row = row(&mut line.parts, &steps).ok_or_else(|| self.nowhere(path))?;
                Ok((row, index))
            }
            _ => Err(self.nowhere(path)),
        }
    }

    pub fn part<'b>(&self, line: &'b mut Line, path: &Path) -> Result<&'b mut Part, EditError> {
        let (row, index) = self.within(line, path)?;
        row.get_mut(index).ok_or_else(|| self.nowhere(path))
    }

    fn insert(&self, line: &mut Line, path: &Path, parts: &[Part]) -> Result<(), EditError> {
        let (row, index) = self.within(line, path)?;
        if index > row.len() {
            return Err(self.nowhere(path));
        }
        row.splice(index..index, parts.iter().cloned());
        Ok(())
    }

    fn remove(&self, path: &Path) -> Result<Vec<Line>, EditError> {
        let mut after = self.line.clone();
        match spot(path) {
            Some(Spot::Part(..)) => {
                let (row, index) = self.within(&mut after, path)?;
                if index >= row.len() {
                    return Err(self.nowhere(path));
                }
                if row.len() == 1 {
                    return Err(EditError::Only { path: path.clone() });
                }
                row.remove(index);
                Ok(vec![after])
            }
            Some(Spot::Row(steps, index, k)) => rows::remove(self, path, (&steps, index, k)),
            None => Err(self.nowhere(path)),
        }
    }

    fn swap(&self, line: &mut Line, path: &Path, earlier: bool) -> Result<(), EditError> {
        let nowhere = || self.nowhere(path);
        match spot(path).ok_or_else(nowhere)? {
            Spot::Part(steps, index) => {
                let row = row(&mut line.parts, &steps).ok_or_else(nowhere)?;
                swapped(row, index, earlier, path).ok_or_else(nowhere)?
            }
            Spot::Row(steps, index, k) => {
                // The way must also say what it is: a branch or a leg.
                row(&mut line.parts, &path.0).ok_or_else(nowhere)?;
                let row = row(&mut line.parts, &steps).ok_or_else(nowhere)?;
                let part = row.get_mut(index).ok_or_else(nowhere)?;
                let rows = rows_of(part).ok_or_else(nowhere)?;
                let all = rows.len();
                swapped(rows, k, earlier, path).ok_or_else(nowhere)??;
                if let Some(gates) = rows::gates(row, index).filter(|g| g.len() == all) {
                    return swapped(gates, k, earlier, path).ok_or_else(nowhere)?;
                }
                Ok(())
            }
        }
    }
}

/// Swaps an entry with the one before or behind it; `None` when there is no
/// such entry.
fn swapped<T>(
    all: &mut [T],
    index: usize,
    earlier: bool,
    path: &Path,
) -> Option<Result<(), EditError>> {
    all.get(index)?;
    let (other, end) = match earlier {
        true => (index.checked_sub(1), "first"),
        false => (Some(index + 1).filter(|&i| i < all.len()), "last"),
    };
    let Some(other) = other else {
        let path = path.clone();
        return Some(Err(EditError::AtEnd { path, end }));
    };
    all.swap(index, other);
    Some(Ok(()))
}
