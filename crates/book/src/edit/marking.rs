//! Colour and mark by their fields.

use super::fields::{FieldError, some};
use crate::model::{Colour, MARK_MEND, Marking, is_mark};

/// The colour and the mark that two fields say. An empty text is nothing.
///
/// # Errors
/// Each field that cannot be read: `colour`, `mark`.
///
/// ```
/// let marking = book::marking("red", "LEFT").map_err(|wrong| wrong[0].message.clone())?;
/// assert_eq!(marking.mark.as_deref(), Some("LEFT"));
/// let wrong = book::marking("gren", "").unwrap_err();
/// assert_eq!(wrong[0].mend, "did you mean \"green\"?");
/// # Ok::<(), String>(())
/// ```
pub fn marking(colour: &str, mark: &str) -> Result<Marking, Vec<FieldError>> {
    let (text, mark) = (colour.trim(), mark.trim());
    let colour = Colour::read(text);
    let mut wrong = Vec::new();
    if colour.is_none() && !text.is_empty() {
        wrong.push(FieldError {
            key: "colour",
            message: format!("\"{text}\" is no colour"),
            mend: Colour::mend(text),
        });
    }
    if !mark.is_empty() && !is_mark(mark) {
        wrong.push(FieldError {
            key: "mark",
            message: format!("the mark has {} letters", mark.chars().count()),
            mend: MARK_MEND.into(),
        });
    }
    let mark = some(mark);
    match wrong.is_empty() {
        true => Ok(Marking { colour, mark }),
        false => Err(wrong),
    }
}
