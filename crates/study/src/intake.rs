//! Tables that somebody else made, CSV or XLSX, as rows of text.
//!
//! A file is guarded by its size before it is opened, every cell keeps the row that a
//! spreadsheet shows for it, and no bytes make it panic.

mod csv;
mod problem;
mod together;
mod xlsx;

pub use problem::RowProblem;
pub use together::{Together, together};

/// Largest CSV file, bytes.
pub const CSV_LIMIT: usize = 8 << 20;

/// Largest XLSX file, bytes: it is packed, and holds much more than its size.
pub const XLSX_LIMIT: usize = 2 << 20;

/// Most rows.
pub const ROW_LIMIT: usize = 20_000;

/// Most columns.
pub const COLUMN_LIMIT: usize = 200;

/// Most characters of a cell.
pub const CELL_LIMIT: usize = 2_000;

/// Rows in which the head is looked for: titles and notes may stand above it.
const HEAD_WITHIN: usize = 30;

/// A table: a head, and the rows under it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Table {
    /// The file's name.
    pub file: String,
    /// The sheet, of a workbook.
    pub sheet: Option<String>,
    /// What stands over each column; may be empty.
    pub head: Vec<String>,
    /// The row of the head, as a spreadsheet counts them.
    pub head_row: usize,
    /// The rows that hold anything.
    pub rows: Vec<Row>,
    /// Numbers are written with a comma: 10,3 is ten and three tenths.
    pub decimal_comma: bool,
}

/// A row of a table.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Row {
    /// Which, as a spreadsheet or an editor counts them, from 1.
    pub number: usize,
    /// Its cells, without blanks at their ends.
    pub cells: Vec<String>,
}

impl Row {
    /// The text of a cell; empty where there is none.
    pub fn cell(&self, column: usize) -> &str {
        self.cells.get(column).map_or("", String::as_str)
    }
}

impl Table {
    /// What to call a column in a message: its head, else its letter.
    ///
    /// ```
    /// let table = study::intake::read(b"hose,\nattack,2\n", "hose.csv", &|_| true)?;
    /// assert_eq!((table.column(0), table.column(1)), ("hose".into(), "column B".into()));
    /// # Ok::<(), study::intake::RowProblem>(())
    /// ```
    pub fn column(&self, column: usize) -> String {
        match self.head.get(column).map(String::as_str) {
            None | Some("") => format!("column {}", letter(column)),
            Some(head) => head.to_string(),
        }
    }

    /// A problem in one of its cells.
    pub fn problem(
        &self,
        row: &Row,
        column: usize,
        message: impl Into<String>,
        mend: impl Into<String>,
    ) -> RowProblem {
        RowProblem {
            file: self.file.clone(),
            row: Some(row.number),
            column: self.column(column),
            text: row.cell(column).into(),
            message: message.into(),
            mend: mend.into(),
        }
    }

    /// The text of a cell as a number is read from it: a decimal comma, where the file
    /// writes so, as a point.
    pub fn figure(&self, text: &str) -> String {
        match self.decimal_comma && is_comma_number(text) {
            true => text.replacen(',', ".", 1),
            false => text.to_string(),
        }
    }
}

/// The letter of a column, as a spreadsheet names it: A, B, ... Z, AA.
fn letter(column: usize) -> String {
    let mut left = column + 1;
    let mut letters = Vec::new();
    while left > 0 {
        let digit = u8::try_from((left - 1) % 26).unwrap_or_default();
        letters.push(char::from(b'A' + digit));
        left = (left - 1) / 26;
    }
    letters.into_iter().rev().collect()
}

/// Does `text` begin with a number that has one comma in it and no point?
fn is_comma_number(text: &str) -> bool {
    let number = text.trim_start_matches(['-', '+']);
    let end = number.find(|c: char| !c.is_ascii_digit() && c != ',');
    let number = end.map_or(number, |end| number.get(..end).unwrap_or_default());
    let digits = |part: &str| !part.is_empty() && part.bytes().all(|b| b.is_ascii_digit());
    let whole = number.split_once(',');
    whole.is_some_and(|(a, b)| digits(a) && digits(b)) && !text.contains('.')
}

/// Reads a table from the bytes of a CSV or XLSX file; which, its bytes tell. The head
/// is the row, among the first thirty, in which `is_head` knows the most cells; where
/// it knows none, the first row.
///
/// CSV may be separated by comma, semicolon or tab, in UTF-8, UTF-16 or Latin-1. Of a
/// workbook the first sheet that holds a table is read.
///
/// # Errors
/// [`RowProblem`] when the file is too large, is neither CSV nor XLSX, or holds no row
/// under a head.
///
/// ```
/// let bytes = b"Hose list 2026\n\nname;size\nattack;1.75 in\n";
/// let is_head = |text: &str| matches!(text, "name" | "size");
/// let table = study::intake::read(bytes, "hose.csv", &is_head)?;
/// assert_eq!(table.head, ["name", "size"]);
/// assert_eq!((table.rows[0].number, table.rows[0].cell(1)), (4, "1.75 in"));
/// # Ok::<(), study::intake::RowProblem>(())
/// ```
pub fn read(bytes: &[u8], name: &str, is_head: &dyn Fn(&str) -> bool) -> Result<Table, RowProblem> {
    if bytes.starts_with(b"PK\x03\x04") {
        return xlsx::read(bytes, name, is_head);
    }
    if bytes.starts_with(&[0xd0, 0xcf, 0x11, 0xe0]) {
        return Err(RowProblem::file(
            name,
            "this is a workbook of the old kind (.xls)",
            "save it as .xlsx or .csv",
        ));
    }
    csv::read(bytes, name, is_head)
}

/// The table in `rows`.
fn table(
    file: &str,
    sheet: Option<String>,
    rows: Vec<Row>,
    is_head: &dyn Fn(&str) -> bool,
) -> Result<Table, RowProblem> {
    let known = |row: &Row| row.cells.iter().filter(|cell| is_head(cell)).count();
    let first = rows.iter().take(HEAD_WITHIN).enumerate();
    // The first of those that know as many.
    let most = first.max_by_key(|(at, row)| (known(row), std::cmp::Reverse(*at)));
    let at = most.map_or(0, |(at, _)| at);
    let mut under = rows.into_iter().skip(at);
    let head = under.next().unwrap_or_default();
    let rows: Vec<Row> = under.collect();
    if rows.is_empty() {
        return Err(RowProblem::file(
            file,
            "there is no row under a head",
            "give a table whose first row names its columns, with a row for each entry",
        ));
    }
    Ok(Table {
        file: file.into(),
        sheet,
        head: head.cells,
        head_row: head.number,
        rows,
        decimal_comma: false,
    })
}

/// A row of cells, if any holds something; refused where it is too wide or a cell too
/// long.
fn row(file: &str, number: usize, cells: Vec<String>) -> Result<Option<Row>, RowProblem> {
    if cells.len() > COLUMN_LIMIT {
        let message = format!("there are more than {COLUMN_LIMIT} columns");
        let problem = RowProblem::file(file, message, "take out what is not needed");
        return Err(problem.in_row(number));
    }
    let long = cells
        .iter()
        .position(|cell| cell.chars().count() > CELL_LIMIT);
    if let Some(column) = long {
        let message = format!("a cell has more than {CELL_LIMIT} characters");
        let problem = RowProblem::file(file, message, "shorten it").in_row(number);
        return Err(RowProblem {
            column: format!("column {}", letter(column)),
            ..problem
        });
    }
    let cells: Vec<String> = cells.into_iter().map(|c| c.trim().to_string()).collect();
    let holds = cells.iter().any(|cell| !cell.is_empty());
    Ok(holds.then_some(Row { number, cells }))
}

fn too_many(file: &str) -> RowProblem {
    RowProblem::file(
        file,
        format!("there are more than {ROW_LIMIT} rows"),
        "split the file",
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_are_called_as_in_a_spreadsheet() {
        assert_eq!(letter(0), "A");
        assert_eq!(letter(25), "Z");
        assert_eq!(letter(26), "AA");
        assert_eq!(letter(701), "ZZ");
        assert_eq!(letter(702), "AAA");
    }

    #[test]
    fn a_decimal_comma_is_told_from_words() {
        assert!(is_comma_number("10,3"));
        assert!(is_comma_number("-10,3 bar"));
        assert!(!is_comma_number("1,250.5"));
        assert!(!is_comma_number("a, b"));
        assert!(!is_comma_number("1,2,3"));
    }
}
