//! Tables as CSV.

use super::{Entry, Table};
use crate::paper::PaperError;

/// Says that the file is UTF-8, to programs that would guess.
const MARK: &[u8] = "\u{feff}".as_bytes();

/// What begins a formula, and its wide forms.
const FORMULA: [char; 8] = ['=', '+', '-', '@', '＝', '＋', '－', '＠'];

pub(super) fn of(table: &Table) -> Result<Vec<u8>, PaperError> {
    let mut writer = csv::WriterBuilder::new()
        .terminator(csv::Terminator::CRLF)
        .from_writer(MARK.to_vec());
    let failed = |error: csv::Error| PaperError::Workbook(error.to_string());
    let heads = table.columns.iter().map(|column| harmless(&column.head()));
    writer.write_record(heads).map_err(failed)?;
    for row in &table.rows {
        writer.write_record(row.iter().map(field)).map_err(failed)?;
    }
    let done = writer.into_inner();
    done.map_err(|error| PaperError::Workbook(error.to_string()))
}

fn field(entry: &Entry) -> String {
    match entry {
        Entry::Text(text) => harmless(text),
        Entry::Number(number) => number.to_string(),
        Entry::Nothing => String::new(),
    }
}

/// `text`, with an apostrophe before it where a spreadsheet would take it for a formula.
fn harmless(text: &str) -> String {
    match text.trim_start().starts_with(FORMULA) {
        true => format!("'{text}"),
        false => text.into(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_that_looks_like_a_formula_stays_one() {
        for text in ["=1+1", "+1", "-1", "@a", " =1", "\t=1", "\r\n@a", "＝1"] {
            assert_eq!(harmless(text), format!("'{text}"));
        }
        for text in ["attack", "1-3/4 in", "a=b", "'=1", "", "\u{2212}5 psi"] {
            assert_eq!(harmless(text), text);
        }
    }
}
