//! Which column of a list says what.

use super::Ways;
use study::intake::{RowProblem, Table};

/// What a column can say of a piece of equipment.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Field {
    /// The number that stands on it.
    Serial,
    /// Hose, nozzle or gauge.
    Kind,
    /// Its size, by which a hose of the book is found.
    Size,
    /// Which of the book's hoses, nozzles or gauges it is.
    Item,
    /// What people call it.
    Title,
    /// In service since.
    Since,
    /// How often it is tested.
    Months,
    /// The day of its latest test.
    Tested,
    /// Passed or failed.
    Result,
    /// What there is to say of that test.
    Remark,
    /// The day when it was taken out of service for good.
    Retired,
    /// Why it was.
    RetiredWhy,
}

impl Field {
    /// All of them, in the order in which a list is written.
    pub const ALL: [Field; 12] = [
        Field::Serial,
        Field::Kind,
        Field::Size,
        Field::Item,
        Field::Title,
        Field::Since,
        Field::Months,
        Field::Tested,
        Field::Result,
        Field::Remark,
        Field::Retired,
        Field::RetiredWhy,
    ];

    /// Its name in forms.
    pub fn key(self) -> &'static str {
        match self {
            Field::Serial => "serial",
            Field::Kind => "kind",
            Field::Size => "size",
            Field::Item => "item",
            Field::Title => "title",
            Field::Since => "since",
            Field::Months => "months",
            Field::Tested => "tested",
            Field::Result => "result",
            Field::Remark => "remark",
            Field::Retired => "retired",
            Field::RetiredWhy => "retired_why",
        }
    }

    /// The field of this [`Field::key`].
    pub fn called(key: &str) -> Option<Self> {
        Field::ALL.into_iter().find(|field| field.key() == key)
    }

    /// What stands over its column when a list is written.
    pub fn head(self) -> &'static str {
        match self {
            Field::Serial => "number",
            Field::Kind => "kind",
            Field::Size => "size",
            Field::Item => "item of the book",
            Field::Title => "called",
            Field::Since => "in service since",
            Field::Months => "tested every (months)",
            Field::Tested => "last tested",
            Field::Result => "result",
            Field::Remark => "remark",
            Field::Retired => "out of service since",
            Field::RetiredWhy => "out of service because",
        }
    }

    /// Other words for it, as people write them over their columns: common practice, no
    /// source.
    fn also(self) -> &'static [&'static str] {
        match self {
            Field::Serial => &[
                "serial",
                "serial no",
                "serial number",
                "serial nr",
                "s n",
                "sn",
                "no",
                "nr",
                "num",
                "id",
                "id no",
                "id number",
                "asset",
                "asset no",
                "asset number",
                "asset tag",
                "tag",
                "tag no",
                "barcode",
                "hose number",
                "hose no",
                "hose id",
                "nozzle number",
                "nozzle no",
                "gauge number",
                "inventory number",
            ],
            Field::Kind => &[
                "type",
                "equipment",
                "equipment type",
                "category",
                "class",
                "gear",
            ],
            Field::Size => &["diameter", "dia", "hose size", "nominal size"],
            Field::Item => &[
                "item",
                "book item",
                "model",
                "which",
                "hose type",
                "nozzle type",
                "entry",
                "item in the book",
            ],
            Field::Title => &["title", "name", "description", "label", "what it is called"],
            Field::Since => &[
                "since",
                "in service",
                "in service date",
                "service date",
                "date in service",
                "placed in service",
                "put in service",
                "purchased",
                "purchase date",
                "date of purchase",
                "bought",
                "new on",
                "start",
            ],
            Field::Months => &[
                "months",
                "interval",
                "interval months",
                "test interval",
                "tested every",
                "every",
                "frequency",
                "test frequency",
                "test every",
                "cycle",
                "period",
            ],
            Field::Tested => &[
                "tested",
                "last test",
                "last test date",
                "latest test",
                "test date",
                "date tested",
                "date of test",
                "tested on",
                "calibrated",
                "last calibrated",
                "calibration date",
                "calibrated on",
                "last service test",
                "service test",
            ],
            Field::Result => &[
                "pass fail",
                "pass or fail",
                "passed",
                "p f",
                "test result",
                "outcome",
                "status",
                "ok",
            ],
            Field::Remark => &[
                "remarks",
                "note",
                "notes",
                "comment",
                "comments",
                "test remark",
                "test notes",
            ],
            Field::Retired => &[
                "retired",
                "retired on",
                "condemned",
                "condemned on",
                "date retired",
                "out of service",
                "removed from service",
            ],
            Field::RetiredWhy => &["retired because", "reason", "reason retired", "why"],
        }
    }

    /// What the text over a column means, in any of its words.
    ///
    /// ```
    /// use records::lists::Field;
    /// assert_eq!(Field::of_head("Serial No."), Some(Field::Serial));
    /// assert_eq!(Field::of_head("Pass/Fail"), Some(Field::Result));
    /// assert_eq!(Field::of_head("Colour"), None);
    /// ```
    pub fn of_head(head: &str) -> Option<Self> {
        let head = words(head);
        let means = |head: &str| {
            let of = |field: &Field| words(field.head()) == head || field.also().contains(&head);
            Field::ALL.into_iter().find(of)
        };
        means(&head).or_else(|| {
            // "Diameter (in)": the unit is about the cells.
            let (before, unit) = head.rsplit_once(' ')?;
            UNITS.contains(&unit).then(|| means(before)).flatten()
        })
    }
}

/// Units that may stand behind the head of a column.
const UNITS: [&str; 5] = ["in", "inch", "inches", "mm", "months"];

/// Small letters and digits, one blank between words.
fn words(text: &str) -> String {
    let text = text.to_lowercase();
    let words = text.split(|c: char| !c.is_alphanumeric());
    words
        .filter(|word| !word.is_empty())
        .collect::<Vec<_>>()
        .join(" ")
}

/// What each column of a table is taken for: a page shows it, and may change it.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Matching {
    /// By column; `None` for one that is not taken.
    pub columns: Vec<Option<Field>>,
}

impl Matching {
    /// What the head of `table` says; the first of two columns that say the same.
    ///
    /// ```
    /// use records::lists::{self, Field, Matching};
    /// let table = lists::read(b"S/N,Colour,Kind\nH-1,red,hose\n", "a.csv")?;
    /// let matching = Matching::of(&table);
    /// assert_eq!(matching.columns, [Some(Field::Serial), None, Some(Field::Kind)]);
    /// # Ok::<(), study::intake::RowProblem>(())
    /// ```
    pub fn of(table: &Table) -> Self {
        let mut matching = Matching::default();
        for head in &table.head {
            let field = Field::of_head(head);
            let field = field.filter(|field| matching.column(*field).is_none());
            matching.columns.push(field);
        }
        matching
    }

    /// The column that is taken for `field`.
    pub fn column(&self, field: Field) -> Option<usize> {
        self.columns.iter().position(|taken| *taken == Some(field))
    }

    /// Takes the column at `index` for `field`, or for nothing.
    pub fn set(&mut self, index: usize, field: Option<Field>) {
        if index >= study::intake::COLUMN_LIMIT {
            return;
        }
        if self.columns.len() <= index {
            self.columns.resize(index + 1, None);
        }
        if let Some(column) = self.columns.get_mut(index) {
            *column = field;
        }
    }

    /// What stands in the way of reading any row.
    pub fn problems(&self, table: &Table, ways: &Ways) -> Vec<RowProblem> {
        let mut problems = Vec::new();
        let mut missing = |field: Field, mend: &str| {
            if self.column(field).is_none() {
                let message = format!("no column is taken for \"{}\"", field.head());
                problems.push(RowProblem::file(&table.file, message, mend));
            }
        };
        missing(
            Field::Serial,
            "say which column has the number that stands on each piece",
        );
        if ways.gear.is_none() {
            missing(
                Field::Kind,
                "say which column has it, or what all the pieces are",
            );
        }
        for field in Field::ALL {
            let taken = self.columns.iter().enumerate();
            let taken = taken.filter(|(_, taken)| **taken == Some(field));
            let columns: Vec<String> = taken.map(|(index, _)| table.column(index)).collect();
            if columns.len() > 1 {
                let message = format!(
                    "several columns are taken for \"{}\": {}",
                    field.head(),
                    columns.join(", ")
                );
                problems.push(RowProblem::file(&table.file, message, "keep one of them"));
            }
        }
        problems
    }
}
