//! Whether a book still has what the report of a test found.

use book::Book;
use study::proof::Subject;

/// What became in a book of what a test found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum InBook {
    /// The book has what was found that day.
    Has,
    /// The book has what was found on another day, as "2027-04-30".
    Another(String),
    /// The book has no measured value of it.
    Not,
    /// The book no longer has what was tested.
    Gone,
    /// A book keeps no value of such a test: a pressure was held or was not.
    KeepsNone,
}

impl InBook {
    /// A sentence for it.
    pub fn words(&self) -> String {
        match self {
            InBook::Has => "The book has what was found that day.".into(),
            InBook::Another(date) => {
                format!("The book has what was found on another day, {date}.")
            }
            InBook::Not => "The book has no measured value of it, or one without a date.".into(),
            InBook::Gone => "What was tested is no longer in the book.".into(),
            InBook::KeepsNone => "The book keeps no value of such a test.".into(),
        }
    }
}

/// Does `book` have what the report about `subject` found? A report itself does not get
/// wrong when the book changes. `None` when `subject` is not that of a report.
///
/// ```
/// let text = b"[book]\nname = 'Example'\n[hose.red]\nsize = '1.75 in'\ncoefficient = 15.5\n\
///     measured = { coefficient = 13.6, date = '2026-05-09' }\n";
/// let book = book::read(text, "example.toml")?;
/// let held = |subject| paper::held(subject, &book);
/// assert_eq!(held("hose: red, 2026-05-09"), Some(paper::InBook::Has));
/// assert_eq!(
///     held("hose: red, 2025-05-09"),
///     Some(paper::InBook::Another("2026-05-09".into()))
/// );
/// assert_eq!(held("hose: blue, 2026-05-09"), Some(paper::InBook::Gone));
/// assert_eq!(held("red"), None);
/// # Ok::<(), book::Problems>(())
/// ```
pub fn held(subject: &str, book: &Book) -> Option<InBook> {
    let (about, date) = subject.rsplit_once(", ")?;
    let (kind, about) = about.split_once(": ")?;
    let subject = Subject::called(kind, about)?;
    if matches!(subject, Subject::Service { .. }) {
        return Some(InBook::KeepsNone);
    }
    Some(match measured_on(&subject, book) {
        None => InBook::Gone,
        Some(None) => InBook::Not,
        Some(Some(day)) if day == date => InBook::Has,
        Some(Some(day)) => InBook::Another(day.into()),
    })
}

/// The day on which what the book has of `subject` was measured; `None` when the book
/// does not have the thing itself.
fn measured_on<'a>(subject: &Subject, book: &'a Book) -> Option<Option<&'a str>> {
    Some(match subject {
        Subject::Hose { hose, .. } => {
            let measured = book.hose(hose)?.item.measured.as_ref();
            measured.and_then(|measured| measured.date.as_deref())
        }
        Subject::Nozzle { nozzle, setting } => {
            let item = book.nozzle(nozzle)?.item;
            let measured = item.measured.get(setting.as_deref().unwrap_or_default());
            measured.and_then(|measured| measured.date.as_deref())
        }
        Subject::Pump { rig } => book.rig.get(rig)?.pump_tested.as_deref(),
        Subject::Hydrant { hydrant } => book.hydrant.get(hydrant)?.date.as_deref(),
        Subject::Service { .. } => None,
    })
}
