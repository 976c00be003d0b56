//! From the text of a file to a book, with every problem that is met.

mod gauges;
mod items;
mod lines;
mod scenes;
mod tests;
mod walk;
mod water;

use crate::check;
use crate::model::Book;
use crate::problem::{Problem, Problems, Severity};
use miette::NamedSource;
use std::ops::Range;
use std::sync::Arc;
use toml::de::DeTable;
pub(crate) use walk::nameable;
pub(crate) use walk::{NAME_LIMIT, Reader, Sort, Span, Table, Value, short, words};

/// Bytes that a file may have at most: 1 MB.
pub const SIZE_LIMIT: usize = 1_000_000;

/// Rows of parts that may lie within each other at most.
pub const DEPTH_LIMIT: usize = 8;

/// What reading a file gave: the book, unless an error stands in its way, and
/// every problem.
#[derive(Debug, Clone)]
pub struct Reading {
    /// The book, when there is no error.
    pub book: Option<Book>,
    /// Errors and warnings.
    pub problems: Problems,
}

/// Reads a book. `file` is its name, for messages.
///
/// # Errors
/// [`Problems`]: every problem met, each with its line, its column and what
/// would mend it.
///
/// ```
/// let problems = book::read(b"[book]\nname = \"Example\"\nunits = \"uz\"\n", "example.toml");
/// let problems = problems.err().ok_or("units are us or si")?;
/// let first = problems.list().first().ok_or("no problem")?;
/// assert_eq!((first.line, first.column), (3, 9));
/// assert_eq!(first.mend, "did you mean \"us\"?");
/// # Ok::<(), &str>(())
/// ```
pub fn read(bytes: &[u8], file: &str) -> Result<Book, Problems> {
    let reading = examine(bytes, file);
    reading.book.ok_or(reading.problems)
}

/// Reads a book and gives its warnings beside it.
///
/// ```
/// let reading = book::examine(b"[book]\nname = \"Example\"\n", "example.toml");
/// assert!(reading.book.is_some());
/// assert!(reading.problems.list().is_empty());
/// ```
pub fn examine(bytes: &[u8], file: &str) -> Reading {
    let (book, problems) = of_file(bytes, file, &BOOK, items::book);
    Reading {
        book: (!problems.is_error()).then_some(book),
        problems,
    }
}

/// A book's file.
static BOOK: Sort = Sort {
    what: "book",
    limit: SIZE_LIMIT,
    flat: "rows of parts may lie 8 deep; divide the line",
};

/// What `walk` makes of a file's tree, and every problem; nothing where there is no tree.
pub(crate) fn of_file<T: Default>(
    bytes: &[u8],
    file: &str,
    sort: &'static Sort,
    walk: impl FnOnce(&mut Reader, &DeTable<'_>) -> T,
) -> (T, Problems) {
    let (found, problems) = match text(bytes, file, sort) {
        Ok(text) => read_text(text, file, sort, walk),
        Err(problem) => (T::default(), vec![*problem]),
    };
    (found, Problems::new(file, problems))
}

/// The text of a file: not too long, UTF-8, without its byte order mark.
fn text<'a>(bytes: &'a [u8], file: &str, sort: &Sort) -> Result<&'a str, Box<Problem>> {
    let refuse = |source: String, code, span: Range<usize>, message: String, mend: &str| {
        let source = Arc::new(NamedSource::new(file, source));
        let problem = Problem::new(&source, Severity::Error, code, span, message, mend);
        Err(Box::new(problem))
    };
    if bytes.len() > sort.limit {
        let what = sort.what;
        let message = format!(
            "the file has {} kB; a {what} has at most {} kB",
            bytes.len().div_ceil(1000),
            sort.limit / 1000
        );
        let mend = format!("check that this is a {what}; divide it if it is");
        return refuse(String::new(), "too_large", 0..0, message, &mend);
    }
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    std::str::from_utf8(bytes).or_else(|error| {
        let at = error.valid_up_to();
        let byte = bytes.get(at).copied().unwrap_or_default();
        let message = format!("the byte 0x{byte:02X} here is not UTF-8 text");
        let shown = String::from_utf8_lossy(bytes).into_owned();
        refuse(
            shown,
            "not_utf8",
            at..at + 1,
            message,
            "save the file as UTF-8 text",
        )
    })
}

fn read_text<T: Default>(
    text: &str,
    file: &str,
    sort: &'static Sort,
    walk: impl FnOnce(&mut Reader, &DeTable<'_>) -> T,
) -> (T, Vec<Problem>) {
    let source = Arc::new(NamedSource::new(file, text.to_string()));
    let (tree, errors) = DeTable::parse_recoverable(text);
    let mut reader = Reader::new(source, sort);
    let mut broken = false;
    for error in &errors {
        broken |= error.message() != DUPLICATE;
        reader.syntax(error, text);
    }
    // A tree put together after an error would give problems that are not there.
    if broken {
        return (T::default(), reader.problems);
    }
    let found = walk(&mut reader, tree.get_ref());
    (found, reader.problems)
}

/// The parser's words for a key that is there twice, and for nesting too deep.
const DUPLICATE: &str = "duplicate key";
const TOO_DEEP: &str = "recursion";

impl Reader {
    fn syntax(&mut self, error: &toml::de::Error, text: &str) {
        let span = error.span().unwrap_or(0..0);
        let at = text.get(span.clone()).unwrap_or("").trim();
        match error.message() {
            DUPLICATE => self.error(
                "duplicate_key",
                span.clone(),
                format!("{} is there twice", quoted(at)),
                "keep one of the two, or give one another name",
            ),
            message if message.contains(TOO_DEEP) => {
                if !self.problems.iter().any(|p| p.code == "too_deep") {
                    let depth = brackets(text);
                    self.error(
                        "too_deep",
                        span,
                        format!("brackets lie {depth} deep within each other"),
                        self.sort.flat,
                    );
                }
            }
            message => {
                let message = message.to_string();
                let mend = toml_mend(&message);
                self.error("not_toml", span, message, mend);
            }
        }
    }

    pub(crate) fn faults(
        &mut self,
        faults: Vec<check::Fault>,
        span: impl Fn(&check::Fault) -> Range<usize>,
    ) {
        for fault in faults {
            let span = span(&fault);
            self.report(fault.severity, fault.code, span, fault.message, fault.mend);
        }
    }
}

/// What mends a file that is no TOML, by what its reader says.
fn toml_mend(said: &str) -> &'static str {
    match said.contains("unquoted key") {
        true => NAME_MEND,
        false => TOML_MEND,
    }
}

const NAME_MEND: &str =
    "a name with a space or a letter beyond a to z stands in quotes, as [nozzle.\"fog tip\"]";

const TOML_MEND: &str =
    "write key = \"text\" or key = number, a list in [ ] and a part in { }, with commas between";

/// `text` in quotation marks, unless it has them.
fn quoted(text: &str) -> String {
    match text.starts_with(['"', '\'']) {
        true => text.into(),
        false => format!("\"{text}\""),
    }
}

/// How deep brackets lie within each other, texts and comments left out.
fn brackets(text: &str) -> usize {
    let (mut depth, mut deepest) = (0_usize, 0);
    let mut inside: Option<char> = None;
    for c in text.chars() {
        match (inside, c) {
            (Some('#'), '\n') => inside = None,
            (Some(open), c) if open == c => inside = None,
            (Some(_), _) => {}
            (None, '"' | '\'' | '#') => inside = Some(c),
            (None, '[' | '{') => depth += 1,
            (None, ']' | '}') => depth = depth.saturating_sub(1),
            _ => {}
        }
        deepest = deepest.max(depth);
    }
    deepest
}
