//! What is wrong in a table, and where.

use serde_json::{Value, json};
use std::fmt;

/// Something in a table that cannot be used: where it stands, and what would mend it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RowProblem {
    /// The file.
    pub file: String,
    /// The row, as a spreadsheet counts them; none where the whole file is meant.
    pub row: Option<usize>,
    /// The column, by its head; empty where none is meant.
    pub column: String,
    /// What is written there.
    pub text: String,
    /// What is wrong.
    pub message: String,
    /// What would mend it.
    pub mend: String,
}

impl RowProblem {
    /// A problem with the whole file.
    pub fn file(file: &str, message: impl Into<String>, mend: impl Into<String>) -> Self {
        RowProblem {
            file: file.into(),
            row: None,
            column: String::new(),
            text: String::new(),
            message: message.into(),
            mend: mend.into(),
        }
    }

    /// The same, in a row.
    pub fn in_row(self, row: usize) -> Self {
        RowProblem {
            row: Some(row),
            ..self
        }
    }

    /// As JSON, in snake_case.
    pub fn json(&self) -> Value {
        json!({
            "file": self.file,
            "row": self.row,
            "column": self.column,
            "text": self.text,
            "message": self.message,
            "mend": self.mend,
        })
    }
}

impl fmt::Display for RowProblem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.file)?;
        if let Some(row) = self.row {
            write!(f, ", row {row}")?;
        }
        if !self.column.is_empty() {
            write!(f, ", {}", self.column)?;
        }
        if !self.text.is_empty() {
            write!(f, ", \"{}\"", self.text)?;
        }
        write!(f, ": {}", self.message)?;
        match self.mend.as_str() {
            "" => Ok(()),
            mend => write!(f, "; {mend}"),
        }
    }
}

impl std::error::Error for RowProblem {}
