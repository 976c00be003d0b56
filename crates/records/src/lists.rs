//! Lists of equipment that a department has already: brought in from a CSV or XLSX file,
//! and written as CSV.
//!
//! Nothing is entered here but by [`Records::bring_in`](crate::Records::bring_in): a
//! [`List`] says what would be, and what stands in the way, row by row.

mod cells;
mod date;
mod enter;
mod matching;
mod out;

pub use date::DateOrder;
pub use matching::{Field, Matching};
pub use out::{csv, table};

use crate::equipment::{Equipment, Gear, NewEquipment};
use book::Book;
use cells::Cells;
use std::collections::BTreeMap;
use study::intake::{self, Row, RowProblem, Table};

/// How a list is to be read, where its cells do not say it themselves.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Ways {
    /// Which comes first in dates such as 5/11/2026 and 11.5.2026.
    pub order: DateOrder,
    /// What the pieces are, where no column says it.
    pub gear: Option<Gear>,
    /// In service since this day, as "2026-05-11", where a row says neither that nor
    /// when it was tested.
    pub since: Option<String>,
    /// A test without a result was passed.
    pub passed: bool,
    /// The day on which the list is read, as "2026-05-11": nothing was tested after it.
    pub today: String,
}

/// A row of a list that can be entered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Listed {
    /// The row, as a spreadsheet counts them.
    pub row: usize,
    /// The piece of equipment.
    pub new: NewEquipment,
    /// Its latest test.
    pub tested: Option<Tested>,
    /// The day when it was taken out of service for good, and why.
    pub retired: Option<(String, String)>,
}

/// A test as a list tells it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tested {
    /// The day of it, as "2026-05-11".
    pub date: String,
    /// It passed.
    pub passed: bool,
    /// What there is to say.
    pub remark: String,
}

/// What a list says.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct List {
    /// The rows that can be entered.
    pub rows: Vec<Listed>,
    /// What stands in the way of the others, or of all.
    pub problems: Vec<RowProblem>,
}

/// The table in a CSV or XLSX file; its head is the row that names the most columns of a
/// list of equipment.
///
/// # Errors
/// As [`study::intake::read`].
pub fn read(bytes: &[u8], name: &str) -> Result<Table, RowProblem> {
    intake::read(bytes, name, &|head| Field::of_head(head).is_some())
}

/// What `table` says, its columns taken as `matching` has them. The names of items are
/// looked up in `book`; `have` is what the records hold already.
///
/// ```
/// use records::lists::{self, DateOrder, Matching, Ways};
/// let bytes = b"Serial No.,Type,Last tested,Result\nH-1,hose,5/11/2026,pass\n";
/// let table = lists::read(bytes, "hose.csv")?;
/// let matching = Matching::of(&table);
/// let book = book::Book::default();
/// let ways = Ways { today: "2026-06-01".into(), ..Ways::default() };
/// let list = lists::list(&table, &matching, &ways, &book, &[]);
/// assert!(list.problems[0].mend.contains("say whether month or day comes first"));
/// let ways = Ways { order: DateOrder::MonthFirst, ..ways };
/// let list = lists::list(&table, &matching, &ways, &book, &[]);
/// assert_eq!(list.rows[0].tested.as_ref().map(|t| t.date.as_str()), Some("2026-05-11"));
/// # Ok::<(), study::intake::RowProblem>(())
/// ```
pub fn list(
    table: &Table,
    matching: &Matching,
    ways: &Ways,
    book: &Book,
    have: &[Equipment],
) -> List {
    let mut list = List {
        problems: matching.problems(table, ways),
        ..List::default()
    };
    if !list.problems.is_empty() {
        return list;
    }
    let mut cells = Cells {
        table,
        matching,
        ways,
        book,
        problems: Vec::new(),
    };
    let known = have.iter().map(|piece| same(&piece.new.serial));
    let mut seen: BTreeMap<String, Seen> = known.map(|serial| (serial, Seen::Entered)).collect();
    for row in &table.rows {
        let told = cells.problems.len();
        let read = cells.row(row);
        unique(&mut cells, row, &mut seen);
        // A row with anything wrong is not entered in part.
        if told == cells.problems.len() {
            list.rows.extend(read);
        }
    }
    list.problems = cells.problems;
    list
}

/// Where a number was met before.
enum Seen {
    Entered,
    InRow(usize),
}

/// Numbers that differ in capitals or blanks only are the same to a person.
fn same(serial: &str) -> String {
    let letters = serial.chars().filter(|c| !c.is_whitespace());
    letters.flat_map(char::to_lowercase).collect()
}

fn unique(cells: &mut Cells<'_>, row: &Row, seen: &mut BTreeMap<String, Seen>) {
    let serial = same(cells.text(row, Field::Serial));
    if serial.is_empty() {
        return;
    }
    let (message, mend) = match seen.get(&serial) {
        None => {
            seen.insert(serial, Seen::InRow(row.number));
            return;
        }
        Some(Seen::Entered) => (
            "the records have a piece of this number already".to_string(),
            "leave the row out, or correct the number",
        ),
        Some(Seen::InRow(other)) => (
            format!("this number stands in row {other} too"),
            "keep one of the two rows, or correct the number",
        ),
    };
    cells.problem(row, Field::Serial, message, mend);
}
