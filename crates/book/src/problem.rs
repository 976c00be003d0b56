//! What is wrong with a book's file, where, and what would mend it.

use miette::{Diagnostic, LabeledSpan, NamedSource, SourceCode};
use serde_json::{Value, json};
use std::fmt;
use std::ops::Range;
use std::sync::Arc;

/// How much a problem weighs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// The book can be used, but may not say what was meant.
    Warning,
    /// The book cannot be used.
    Error,
}

impl Severity {
    /// The word on screens.
    pub fn word(self) -> &'static str {
        match self {
            Severity::Warning => "warning",
            Severity::Error => "error",
        }
    }
}

/// One problem in a book's file.
#[derive(Clone)]
pub struct Problem {
    /// How much it weighs.
    pub severity: Severity,
    /// A fixed name for programs, in snake_case.
    pub code: &'static str,
    /// What is wrong: the thing and the number.
    pub message: String,
    /// What would mend it; may be empty.
    pub mend: String,
    /// Bytes of the file's text (a byte order mark left out).
    pub span: Range<usize>,
    /// Line, counted from 1.
    pub line: usize,
    /// Column in characters, counted from 1.
    pub column: usize,
    source: Arc<NamedSource<String>>,
}

impl Problem {
    pub(crate) fn new(
        source: &Arc<NamedSource<String>>,
        severity: Severity,
        code: &'static str,
        span: Range<usize>,
        message: impl Into<String>,
        mend: impl Into<String>,
    ) -> Self {
        let span = within(source.inner(), span);
        let (line, column) = place(source.inner(), span.start);
        Problem {
            severity,
            code,
            message: message.into(),
            mend: mend.into(),
            span,
            line,
            column,
            source: source.clone(),
        }
    }

    /// The file's name.
    pub fn file(&self) -> &str {
        self.source.name()
    }

    fn json(&self) -> Value {
        json!({
            "severity": self.severity.word(),
            "code": self.code,
            "line": self.line,
            "column": self.column,
            "message": self.message,
            "mend": self.mend,
        })
    }
}

/// `span` brought inside `text` and on to characters.
fn within(text: &str, span: Range<usize>) -> Range<usize> {
    let start = text.floor_char_boundary(span.start.min(text.len()));
    let end = text.floor_char_boundary(span.end.min(text.len()));
    start..end.max(start)
}

/// Line and column of a byte in `text`, which must be a character's first.
fn place(text: &str, byte: usize) -> (usize, usize) {
    let before = text.get(..byte).unwrap_or(text);
    let line = before.bytes().filter(|&b| b == b'\n').count() + 1;
    let start = before.rfind('\n').map_or(0, |newline| newline + 1);
    let column = before.get(start..).unwrap_or("").chars().count() + 1;
    (line, column)
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}

impl fmt::Debug for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (file, word) = (self.file(), self.severity.word());
        let (line, column, code) = (self.line, self.column, self.code);
        write!(f, "{file}:{line}:{column}: {word} {code}: {}", self.message)?;
        match self.mend.as_str() {
            "" => Ok(()),
            mend => write!(f, " ({mend})"),
        }
    }
}

impl std::error::Error for Problem {}

impl Diagnostic for Problem {
    fn code<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        Some(Box::new(self.code))
    }

    fn severity(&self) -> Option<miette::Severity> {
        Some(match self.severity {
            Severity::Warning => miette::Severity::Warning,
            Severity::Error => miette::Severity::Error,
        })
    }

    fn help<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        (!self.mend.is_empty()).then(|| Box::new(&self.mend) as Box<dyn fmt::Display>)
    }

    fn source_code(&self) -> Option<&dyn SourceCode> {
        Some(self.source.as_ref())
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        let label = LabeledSpan::new_with_span(Some("here".into()), self.span.clone());
        Some(Box::new(std::iter::once(label)))
    }
}

/// Every problem in one file, in the order of the file.
#[derive(Clone)]
pub struct Problems {
    file: String,
    list: Vec<Problem>,
    left_off: usize,
}

/// Problems shown at most; a file with more has one cause that repeats.
const SHOWN: usize = 100;

impl Problems {
    pub(crate) fn new(file: &str, mut list: Vec<Problem>) -> Self {
        list.sort_by_key(|p| (p.span.start, p.span.end));
        let left_off = list.len().saturating_sub(SHOWN);
        if left_off > 0 {
            // Errors before warnings, so that what refuses the book is shown.
            list.sort_by_key(|p| std::cmp::Reverse(p.severity));
            list.truncate(SHOWN);
            list.sort_by_key(|p| (p.span.start, p.span.end));
        }
        Problems {
            file: file.into(),
            list,
            left_off,
        }
    }

    /// The file's name.
    pub fn file(&self) -> &str {
        &self.file
    }

    /// The problems, at most 100 of them.
    pub fn list(&self) -> &[Problem] {
        &self.list
    }

    /// How many more there are.
    pub fn left_off(&self) -> usize {
        self.left_off
    }

    /// The problems as JSON: `file`, `problems`, and how many were `left_off`.
    pub fn json(&self) -> Value {
        let list: Vec<Value> = self.list.iter().map(Problem::json).collect();
        json!({ "file": self.file, "problems": list, "left_off": self.left_off })
    }

    /// Is any of them an error?
    pub fn is_error(&self) -> bool {
        self.list.iter().any(|p| p.severity == Severity::Error)
    }
}

impl fmt::Display for Problems {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let count = self.list.len() + self.left_off;
        let word = if count == 1 { "problem" } else { "problems" };
        write!(f, "{}: {count} {word}", self.file)?;
        if self.left_off > 0 {
            write!(f, ", {} of them not shown", self.left_off)?;
        }
        Ok(())
    }
}

impl fmt::Debug for Problems {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{self}")?;
        self.list.iter().try_for_each(|p| write!(f, "\n{p:?}"))
    }
}

impl std::error::Error for Problems {}

impl Diagnostic for Problems {
    fn severity(&self) -> Option<miette::Severity> {
        Some(if self.is_error() {
            miette::Severity::Error
        } else {
            miette::Severity::Warning
        })
    }

    fn related<'a>(&'a self) -> Option<Box<dyn Iterator<Item = &'a dyn Diagnostic> + 'a>> {
        Some(Box::new(self.list.iter().map(|p| p as &dyn Diagnostic)))
    }
}

/// The candidate that `word` was most likely meant to be.
///
/// ```
/// assert_eq!(book::nearest("atack", ["supply", "attack"]), Some("attack"));
/// ```
pub fn nearest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    // Comparing takes time with the product of the lengths.
    let short: String = word.chars().take(80).flat_map(char::to_lowercase).collect();
    let distance = |c: &str| strsim::damerau_levenshtein(&c.to_lowercase(), &short);
    let limit = (short.chars().count() / 3).max(2);
    // Names that are as long as that are refused, and a list that is as long as
    // that helps nobody.
    candidates
        .into_iter()
        .filter(|c| c.len() <= 400)
        .take(500)
        .map(|c| (distance(c), c))
        .filter(|(d, c)| *d <= limit && *d < c.chars().count())
        .min_by_key(|(d, _)| *d)
        .map(|(_, c)| c)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn line_and_column_count_characters() {
        let text = "a = 1\r\nbé = 2\n";
        assert_eq!(place(text, 0), (1, 1));
        assert_eq!(place(text, 7), (2, 1));
        assert_eq!(place(text, text.find('=').unwrap()), (1, 3));
        assert_eq!(place(text, text.rfind('=').unwrap()), (2, 4));
        assert_eq!(within("é", 1..9), 0..2);
    }

    #[test]
    fn the_nearest_word_is_near() {
        assert_eq!(nearest("atack", ["supply", "attack"]), Some("attack"));
        assert_eq!(nearest("monitor", ["supply", "attack"]), None);
    }
}
