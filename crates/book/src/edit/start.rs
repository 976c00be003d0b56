//! A new line from the few things that must be known of one.

use super::fields::{AimFields, FieldError, HoseFields, NozzleFields};
use super::{Edit, EditError, edit_and_adapt};
use crate::model::{Book, Line, Part};
use hydraulics::units::System;

/// The fields of a new line, as texts: one hose and one nozzle. An empty text is
/// nothing.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct NewLine {
    /// What crews call it.
    pub title: String,
    /// The rig that it comes off.
    pub rig: String,
    /// The hose, by name.
    pub hose: String,
    /// Length of the hose.
    pub length: String,
    /// The nozzle, by name.
    pub nozzle: String,
    /// One of its settings; its first when nothing is chosen.
    pub setting: String,
    /// What the tip is meant to deliver.
    pub aim: AimFields,
}

/// Why a new line could not be made.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NewLineError {
    /// Fields cannot be read.
    #[error("{}", .0.first().map_or("", |e| e.message.as_str()))]
    Fields(Vec<FieldError>),
    /// The line does not hold together.
    #[error(transparent)]
    Edit(#[from] EditError),
}

/// What came of making a new line.
#[derive(Debug, Clone, PartialEq)]
pub struct Started {
    /// The book with the line.
    pub book: Book,
    /// The line's name.
    pub line: String,
    /// What was done that was not asked for: an adapter put in.
    pub told: Vec<String>,
}

/// `book` with a new line of one hose and one nozzle, and an adapter where their
/// couplings ask for one. A bare number is in the units of `reader`.
///
/// # Errors
/// [`NewLineError`]: each field that cannot be read, or what stands against the
/// line.
///
/// ```
/// use book::{new_line, Book, NewLine};
/// use hydraulics::units::System;
/// let typed = NewLine {
///     title: "Rear crosslay".into(),
///     hose: "1.75 in".into(),
///     length: "200".into(),
///     nozzle: "150 gpm at 50 psi".into(),
///     ..NewLine::default()
/// };
/// let started = new_line(&Book::default(), &typed, System::Us)?;
/// assert_eq!(started.line, "rear-crosslay");
/// assert_eq!(started.book.line["rear-crosslay"].parts.len(), 2);
/// # Ok::<(), book::NewLineError>(())
/// ```
pub fn new_line(book: &Book, fields: &NewLine, reader: System) -> Result<Started, NewLineError> {
    let mut errors = Vec::new();
    let title = fields.title.trim();
    if title.is_empty() {
        errors.push(FieldError {
            key: "title",
            message: "the line has no title".into(),
            mend: "write what crews call it, as \"Left crosslay\"".into(),
        });
    }
    let hose = HoseFields {
        hose: fields.hose.clone(),
        length: fields.length.clone(),
        ..HoseFields::default()
    };
    let nozzle = NozzleFields {
        nozzle: fields.nozzle.clone(),
        setting: setting(book, fields),
        ..NozzleFields::default()
    };
    let hose = hose.read(book, reader, None);
    let nozzle = nozzle.read(book, reader, None);
    let aim = fields.aim.read(reader, None);
    errors.extend(hose.as_ref().err().into_iter().flatten().cloned());
    errors.extend(nozzle.as_ref().err().into_iter().flatten().cloned());
    errors.extend(aim.as_ref().err().into_iter().flatten().cloned());
    let (Ok(hose), Ok(nozzle), Ok(aim), true) = (hose, nozzle, aim, errors.is_empty()) else {
        return Err(NewLineError::Fields(errors));
    };
    let rig = Some(fields.rig.trim().to_string()).filter(|rig| !rig.is_empty());
    let line = Line {
        title: Some(title.into()),
        rig,
        parts: vec![Part::Hose(hose), Part::Nozzle(nozzle)],
        aim,
        ..Line::default()
    };
    let name = free_name(book, title);
    let (after, told) = edit_and_adapt(book, &name, &Edit::New(Box::new(line)))?;
    Ok(Started {
        book: after,
        line: name,
        told,
    })
}

fn setting(book: &Book, fields: &NewLine) -> String {
    let chosen = fields.setting.trim();
    if !chosen.is_empty() {
        return chosen.into();
    }
    let found = book.nozzle(fields.nozzle.trim());
    let first = found.and_then(|f| f.item.settings().first().map(|s| (*s).to_string()));
    first.unwrap_or_default()
}

/// Characters of a name that is made from a title.
const LENGTH: usize = 60;

/// A name for a line made from its title: small letters, digits and hyphens, and
/// no line's or scene's yet.
///
/// ```
/// let mut book = book::Book::default();
/// assert_eq!(book::free_name(&book, "Left crosslay, 200 ft!"), "left-crosslay-200-ft");
/// book.line.insert("left".into(), book::Line::default());
/// assert_eq!(book::free_name(&book, "Left"), "left-2");
/// assert_eq!(book::free_name(&book, "?"), "line");
/// ```
pub fn free_name(book: &Book, title: &str) -> String {
    let words = title.split(|c: char| !c.is_alphanumeric());
    let words: Vec<String> = words
        .filter(|word| !word.is_empty())
        .map(str::to_lowercase)
        .collect();
    let name: String = words.join("-").chars().take(LENGTH).collect();
    let name = match name.trim_end_matches('-') {
        "" => "line",
        name => name,
    };
    let taken = |name: &str| book.line.contains_key(name) || book.scene.contains_key(name);
    if !taken(name) {
        return name.into();
    }
    let numbered = (2..).map(|n: u64| format!("{name}-{n}"));
    let mut free = numbered.filter(|name| !taken(name));
    free.next().unwrap_or_default()
}
