//! What sheets about one line begin with.

use book::{Book, Conditions, Line};
use serde_json::json;
use study::answer::LineAnswer;

use super::common::{cautions, makes_foam, no_answer, refused, refused_because};
use super::{Kind, Sheet, unknown};
use crate::paper::{PaperError, Units};

/// A sheet about `line` with its head, and the line.
pub(crate) fn begun<'a>(
    kind: Kind,
    book: &'a Book,
    line: &str,
    units: Units,
) -> Result<(Sheet, &'a Line), PaperError> {
    let Some(entry) = book.line.get(line) else {
        return Err(unknown("line", line, book.line.keys()));
    };
    let title = entry.title.as_deref().unwrap_or(line);
    let mut sheet = Sheet::new(kind, book, (line, title), units);
    sheet.head.push(("Line", line.into()));
    if let Some(rig) = &entry.rig {
        sheet.head.push(("Rig", rig.clone()));
        sheet.tell("rig", rig.as_str());
    }
    sheet.cautions = cautions(false);
    sheet.body = json!({});
    Ok((sheet, entry))
}

/// The answer of the sheet's line; where there is none, the sheet says why in its place.
pub(crate) fn answered(sheet: &mut Sheet, book: &Book) -> Option<LineAnswer> {
    let answer = match study::solve(book, &sheet.subject, &Conditions::default()) {
        Ok(answer) => answer,
        Err(error) => {
            sheet.tell("no answer", error.to_string());
            sheet.body["refused"] = refused_because(&error);
            return None;
        }
    };
    sheet.cautions = cautions(makes_foam(&answer));
    if let Some(notice) = no_answer(&answer) {
        sheet.tell("no answer", notice.text.clone());
        sheet.body["refused"] = refused(notice, sheet.units);
        return None;
    }
    sheet.rests_on(&answer.coefficients, answer.spread.as_ref());
    sheet.rests_on_items(&answer.items);
    Some(answer)
}
