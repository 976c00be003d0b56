//! Every table as a file: workbooks (XLSX), CSV and Parquet, numbers with the unit in the
//! head of their column, and in each row where it comes from.
//!
//! ```
//! use paper::Units;
//! use paper::tables::{self, Entry, Stamp};
//! let text = b"[book]\nname = 'Example'\n[line.left]\n\
//!     parts = [{ hose = '2.5 in', length = '200 ft' }, { nozzle = '1-1/8 in smooth bore' }]\n\
//!     aim = { tip_pressure = '50 psi' }\n";
//! let book = book::read(text, "example.toml")?;
//! let tables = tables::of_line(&book, "left", &Default::default(), Units::Us)?;
//! let tips = tables.table("Tips").ok_or("no tips")?;
//! let flow = tips.column("flow").ok_or("no flow")?;
//! assert_eq!(tips.columns[flow].head(), "flow (gpm)");
//! let Entry::Number(gpm) = tips.rows[0][flow] else { return Err("no number".into()) };
//! assert_eq!(gpm.round(), 266.0);
//! let stamp = Stamp { date: "2026-05-11".into(), revision: None };
//! assert!(tables.workbook(&stamp)?.starts_with(b"PK"));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod about;
mod comparison;
mod csv;
mod drawing;
mod equipment;
mod line;
mod listing;
mod names;
mod parquet;
mod scene;
mod whole;
mod workbook;
mod written;

pub use comparison::of_comparison;
pub(crate) use equipment::listed;
pub use equipment::{Equipment, of_equipment, of_item};
pub use line::of_line;
pub use scene::of_scene;
pub use whole::of_book;
pub(crate) use written::agrees;

use zip::CompressionMethod;

use crate::paper::{PaperError, Units};
use crate::set::packed;

/// One table.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Table {
    /// What it is about: "Tips".
    pub title: String,
    /// Its columns; the last says where each row comes from.
    pub columns: Vec<Column>,
    /// Its rows, each as long as `columns`.
    pub rows: Vec<Vec<Entry>>,
}

/// A column of a table.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Column {
    /// What it says: "pump pressure".
    pub name: String,
    /// The unit of its numbers: "psi"; `None` for texts and bare numbers.
    pub unit: Option<String>,
    /// Decimals worth reading; the numbers themselves have more.
    pub decimals: usize,
}

/// What stands in one place of a table.
#[derive(Debug, Clone, PartialEq)]
pub enum Entry {
    /// A word, a name, a sentence.
    Text(String),
    /// A number in the unit of its column.
    Number(f64),
    /// There is nothing to say.
    Nothing,
}

/// Tables that belong together.
#[derive(Debug, Clone, PartialEq)]
pub struct Tables {
    /// What they are about: "Line left-crosslay".
    pub subject: String,
    /// The department.
    pub department: String,
    /// The book is made up, for a demonstration.
    pub invented: bool,
    /// The units of their numbers.
    pub units: Units,
    /// What to mind.
    pub cautions: Vec<&'static str>,
    /// The tables; none is without rows.
    pub tables: Vec<Table>,
}

/// When tables were made, and from what.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Stamp {
    /// The day, as "2026-05-11".
    pub date: String,
    /// The book's revision; `None` for a book that is in no records.
    pub revision: Option<u32>,
}

/// A file in a folder of tables.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct File {
    /// Its name, that every system takes: "01-tips.csv".
    pub name: String,
    /// What is in it.
    pub bytes: Vec<u8>,
}

impl Column {
    /// As the head of the column: "pump pressure (psi)".
    pub fn head(&self) -> String {
        match &self.unit {
            Some(unit) => format!("{} ({unit})", self.name),
            None => self.name.clone(),
        }
    }
}

impl Table {
    /// The first column of this name.
    pub fn column(&self, name: &str) -> Option<usize> {
        self.columns.iter().position(|column| column.name == name)
    }

    /// This table as CSV (RFC 4180, UTF-8 with its mark). Texts that a spreadsheet would
    /// take for a formula have an apostrophe before them.
    ///
    /// # Errors
    /// [`PaperError::Workbook`] when there is too much.
    pub fn csv(&self) -> Result<Vec<u8>, PaperError> {
        csv::of(self)
    }
}

impl Tables {
    /// The table of this title.
    pub fn table(&self, title: &str) -> Option<&Table> {
        self.tables.iter().find(|table| table.title == title)
    }

    /// All tables as one workbook (XLSX), a worksheet each, after one about where they
    /// come from. The same tables and stamp give the same bytes.
    ///
    /// # Errors
    /// [`PaperError::Date`] for a date that is none; [`PaperError::Workbook`] when a table
    /// is larger than a worksheet can be.
    pub fn workbook(&self, stamp: &Stamp) -> Result<Vec<u8>, PaperError> {
        workbook::of(self, stamp)
    }

    /// A CSV file for each table, after one about where they come from.
    ///
    /// # Errors
    /// [`PaperError::Date`] for a date that is none.
    pub fn files(&self, stamp: &Stamp) -> Result<Vec<File>, PaperError> {
        let about = about::table(self, stamp)?;
        let all: Vec<&Table> = std::iter::once(&about).chain(&self.tables).collect();
        let names = names::files(&all);
        let named = names.into_iter().zip(all);
        named
            .map(|(name, table)| {
                let bytes = table.csv()?;
                Ok(File { name, bytes })
            })
            .collect()
    }

    /// [`Tables::files`] in one ZIP. The same tables and stamp give the same bytes.
    ///
    /// # Errors
    /// As [`Tables::files`]; [`PaperError::Packing`] when there is too much.
    pub fn zip(&self, stamp: &Stamp) -> Result<Vec<u8>, PaperError> {
        let files = self.files(stamp)?;
        let files = files.iter().map(|f| (f.name.as_str(), f.bytes.as_slice()));
        packed(files, &stamp.date, CompressionMethod::Deflated)
    }
    /// The table of this title as Parquet: a column each, its name with its unit in small
    /// letters ("flow_gpm"), units and what stands about the tables in the file's
    /// metadata. Nothing is compressed. The same table and stamp give the same bytes.
    ///
    /// # Errors
    /// [`PaperError::Workbook`] when there is no such table, [`PaperError::Date`] for a
    /// date that is none.
    pub fn parquet(&self, title: &str, stamp: &Stamp) -> Result<Vec<u8>, PaperError> {
        let Some(table) = self.table(title) else {
            let there: Vec<&str> = self.tables.iter().map(|t| t.title.as_str()).collect();
            let there = there.join("\", \"");
            return Err(PaperError::Workbook(format!(
                "there is no table \"{title}\"; there are \"{there}\""
            )));
        };
        parquet::of(self, table, stamp)
    }
}
