//! XLSX, cell by cell: a sheet is never unfolded to its full width and height, which a
//! single stray cell can make larger than any memory.

use super::{
    CELL_LIMIT, COLUMN_LIMIT, ROW_LIMIT, Row, RowProblem, Table, XLSX_LIMIT, row, table, too_many,
};
use calamine::{DataRef, Reader, Xlsx};
use std::collections::BTreeMap;
use std::io::Cursor;
use std::panic::{AssertUnwindSafe, catch_unwind};

/// Most bytes that a workbook may say it unpacks to.
const UNPACKED_LIMIT: u64 = 64 << 20;

/// Most cells that are looked at.
const CELLS_LIMIT: usize = 1_000_000;

pub(super) fn read(
    bytes: &[u8],
    name: &str,
    is_head: &dyn Fn(&str) -> bool,
) -> Result<Table, RowProblem> {
    if bytes.len() > XLSX_LIMIT {
        return Err(RowProblem::file(
            name,
            format!(
                "the workbook has {} bytes, and {XLSX_LIMIT} are the most",
                bytes.len()
            ),
            "save the one sheet as CSV",
        ));
    }
    if unpacked(bytes).is_none_or(|size| size > UNPACKED_LIMIT) {
        return Err(RowProblem::file(
            name,
            "the workbook unpacks to more than can be read",
            "save the one sheet as CSV",
        ));
    }
    // The reader meets whatever was sent; should it trip, the file is refused.
    let sheets = catch_unwind(AssertUnwindSafe(|| sheets(bytes, name)));
    let sheets = sheets.unwrap_or_else(|_| Err(unreadable(name, "its parts do not fit together")));
    let mut refused = None;
    for (sheet, rows) in sheets? {
        match table(name, Some(sheet), rows, is_head) {
            Ok(table) => return Ok(table),
            Err(problem) => refused = refused.or(Some(problem)),
        }
    }
    Err(refused.unwrap_or_else(|| unreadable(name, "it has no sheet")))
}

fn unreadable(name: &str, why: &str) -> RowProblem {
    RowProblem::file(
        name,
        format!("the workbook cannot be read: {why}"),
        "open it in a spreadsheet and save it anew, or save the sheet as CSV",
    )
}

fn sheets(bytes: &[u8], name: &str) -> Result<Vec<(String, Vec<Row>)>, RowProblem> {
    let failed = |error: calamine::XlsxError| unreadable(name, &error.to_string());
    let mut book = Xlsx::new(Cursor::new(bytes)).map_err(failed)?;
    let mut sheets = Vec::new();
    for sheet in book.sheet_names().into_iter().take(20) {
        // A sheet of drawings has no cells to read.
        let Ok(mut cells) = book.worksheet_cells_reader(&sheet) else {
            continue;
        };
        let mut found: BTreeMap<u32, BTreeMap<u32, String>> = BTreeMap::new();
        let mut count = 0;
        while let Some(cell) = cells.next_cell().map_err(failed)? {
            let (at, column) = cell.get_position();
            let text = shown(cell.get_value());
            count += 1;
            if count > CELLS_LIMIT || found.len() > ROW_LIMIT {
                return Err(too_many(name));
            }
            if !text.trim().is_empty() {
                found.entry(at).or_default().insert(column, text);
            }
        }
        sheets.push((sheet, rows(name, found)?));
    }
    Ok(sheets)
}

fn rows(name: &str, found: BTreeMap<u32, BTreeMap<u32, String>>) -> Result<Vec<Row>, RowProblem> {
    let mut rows = Vec::new();
    for (at, cells) in found {
        let number = usize::try_from(at).unwrap_or_default() + 1;
        let width = cells
            .keys()
            .next_back()
            .map_or(0, |last| *last as usize + 1);
        // One more than the most is refused with its row.
        let mut wide = vec![String::new(); width.min(COLUMN_LIMIT + 1)];
        for (column, text) in cells {
            if let Some(cell) = wide.get_mut(column as usize) {
                *cell = text;
            }
        }
        rows.extend(row(name, number, wide)?);
    }
    Ok(rows)
}

/// A cell as a person reads it.
fn shown(value: &DataRef<'_>) -> String {
    match value {
        DataRef::Int(value) => value.to_string(),
        DataRef::Float(value) => number(*value),
        DataRef::String(text) | DataRef::DateTimeIso(text) | DataRef::DurationIso(text) => {
            short(text)
        }
        DataRef::SharedString(text) => short(text),
        DataRef::Bool(true) => "yes".into(),
        DataRef::Bool(false) => "no".into(),
        DataRef::DateTime(moment) => {
            let (year, month, day, hour, minute, ..) = moment.to_ymd_hms_milli();
            let days = moment.as_f64();
            match (days.fract() == 0.0, days < 1.0) {
                (true, _) => format!("{year:04}-{month:02}-{day:02}"),
                (false, true) => format!("{hour:02}:{minute:02}"),
                (false, false) => {
                    format!("{year:04}-{month:02}-{day:02} {hour:02}:{minute:02}")
                }
            }
        }
        DataRef::Error(error) => error.to_string(),
        DataRef::Empty => String::new(),
    }
}

/// Cut so far that it is still told to be too long.
fn short(text: &str) -> String {
    text.chars().take(CELL_LIMIT + 1).collect()
}

/// A number without what binary arithmetic left at its end.
fn number(value: f64) -> String {
    if value == 0.0 || !value.is_finite() {
        return value.to_string();
    }
    let size = value.abs().log10().floor();
    let step = 10_f64.powf(11.0 - size);
    let rounded = (value * step).round() / step;
    match rounded.is_finite() {
        true => rounded.to_string(),
        false => value.to_string(),
    }
}

/// What the packed parts say that they unpack to, by the directory at the file's end;
/// none where it is written in the large form.
fn unpacked(bytes: &[u8]) -> Option<u64> {
    let mut sum = 0_u64;
    let mut left = bytes;
    while let Some(at) = left.windows(4).position(|four| four == b"PK\x01\x02") {
        left = left.get(at + 4..)?;
        // The size stands twenty bytes past the mark.
        if let Some([a, b, c, d]) = left.get(20..24) {
            let size = u32::from_le_bytes([*a, *b, *c, *d]);
            if size == u32::MAX {
                return None;
            }
            sum = sum.saturating_add(u64::from(size));
        }
    }
    Some(sum)
}
