//! CSV as it comes: any of three separators, three encodings.

use super::{CSV_LIMIT, ROW_LIMIT, Row, RowProblem, Table, is_comma_number, row, table, too_many};
use std::borrow::Cow;

pub(super) fn read(
    bytes: &[u8],
    name: &str,
    is_head: &dyn Fn(&str) -> bool,
) -> Result<Table, RowProblem> {
    if bytes.len() > CSV_LIMIT {
        return Err(RowProblem::file(
            name,
            format!(
                "the file has {} bytes, and {CSV_LIMIT} are the most",
                bytes.len()
            ),
            "split it",
        ));
    }
    let text = text(bytes);
    if text.contains('\0') {
        return Err(RowProblem::file(
            name,
            "this is neither a CSV nor an XLSX file",
            "save the table as one of them",
        ));
    }
    let separator = separator(&text);
    let rows = rows(&text, name, separator)?;
    let commas = separator != b',';
    let commas = commas
        && rows
            .iter()
            .any(|r| r.cells.iter().any(|c| is_comma_number(c)));
    Ok(Table {
        decimal_comma: commas,
        ..table(name, None, rows, is_head)?
    })
}

fn rows(text: &str, name: &str, separator: u8) -> Result<Vec<Row>, RowProblem> {
    let mut reader = ::csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(separator)
        .from_reader(text.as_bytes());
    let mut rows = Vec::new();
    for record in reader.records() {
        let record = record.map_err(|error| {
            let mend = "look for a quotation mark that is not closed";
            RowProblem::file(name, error.to_string(), mend)
        })?;
        if rows.len() > ROW_LIMIT {
            return Err(too_many(name));
        }
        let line = record.position().map_or(0, ::csv::Position::line);
        let number = usize::try_from(line).unwrap_or_default();
        let cells = record.iter().map(str::to_string).collect();
        rows.extend(row(name, number, cells)?);
    }
    Ok(rows)
}

/// The separator that stands in most of the first lines. Where commas stand in as many
/// they are decimal, as semicolons and tabs are rare in words and numbers.
fn separator(text: &str) -> u8 {
    let lines = || text.lines().filter(|line| !line.trim().is_empty()).take(20);
    let with = |separator: char| lines().filter(|line| line.contains(separator)).count();
    let rare = [(';', b';'), ('\t', b'\t')];
    let most = rare.into_iter().max_by_key(|(sign, _)| with(*sign));
    match most {
        Some((sign, byte)) if with(sign) > 0 && with(sign) >= with(',') => byte,
        _ => b',',
    }
}

/// The text of `bytes`: UTF-16 where its mark says so, UTF-8 where it is that, else
/// Latin-1, in which every byte is a character.
fn text(bytes: &[u8]) -> Cow<'_, str> {
    let wide = |rest: &[u8], order: fn([u8; 2]) -> u16| {
        let units = rest.chunks_exact(2).map(|two| match two {
            [a, b] => order([*a, *b]),
            _ => 0,
        });
        let read = char::decode_utf16(units);
        let text: String = read
            .map(|c| c.unwrap_or(char::REPLACEMENT_CHARACTER))
            .collect();
        Cow::Owned(text)
    };
    match bytes {
        [0xff, 0xfe, rest @ ..] => wide(rest, u16::from_le_bytes),
        [0xfe, 0xff, rest @ ..] => wide(rest, u16::from_be_bytes),
        [0xef, 0xbb, 0xbf, rest @ ..] => utf8(rest),
        _ => utf8(bytes),
    }
}

fn utf8(bytes: &[u8]) -> Cow<'_, str> {
    match std::str::from_utf8(bytes) {
        Ok(text) => Cow::Borrowed(text),
        Err(_) => Cow::Owned(bytes.iter().map(|b| char::from(*b)).collect()),
    }
}
