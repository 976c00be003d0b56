//! Published tables and worked problems, one value a row, and the reader that
//! puts each row to Handline.
//!
//! A table is a CSV file in `data/`. A column whose name ends in a unit
//! (`flow_gpm`, `length_m`) is a quantity in that unit; every table ends with
//! `expected`, `unit`, `tolerance`, `basis` (why this tolerance), `mark` (was
//! it seen in print, recalled, or worked out), `source`, `year`, `location`
//! and `note`. See the crate's README.

use hydraulics::units::{Kind, Measure, UnitError, parse};
use std::collections::BTreeMap;
use std::fmt;
use std::path::{Path, PathBuf};

pub mod problem;

/// What a value rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Mark {
    /// Read in print.
    Seen,
    /// Recalled, not checked.
    Memory,
    /// Worked out from seen values; the note says how.
    Derived,
}

/// Why a table or a row cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum CheckError {
    /// The file cannot be read as CSV.
    #[error("{file}: {cause}")]
    File {
        /// The file.
        file: String,
        /// What the reader says.
        cause: csv::Error,
    },
    /// A row lacks a value.
    #[error("{place}: no value in column {column}")]
    Missing {
        /// File, line and row.
        place: String,
        /// The column.
        column: String,
    },
    /// A value is not what its column wants.
    #[error("{place}, column {column}: {value:?} is not {wanted}")]
    Wrong {
        /// File, line and row.
        place: String,
        /// The column.
        column: String,
        /// What stands there.
        value: String,
        /// What would do.
        wanted: &'static str,
    },
    /// A quantity cannot be read.
    #[error("{place}, column {column}: {cause}")]
    Unit {
        /// File, line and row.
        place: String,
        /// The column.
        column: String,
        /// What the units say.
        cause: UnitError,
    },
    /// Handline refuses what the row describes.
    #[error("{place}: {cause}")]
    Refused {
        /// File, line and row.
        place: String,
        /// What Handline says.
        cause: String,
    },
}

/// One published value.
#[derive(Debug, Clone)]
pub struct Row {
    /// File, line and id, for messages.
    pub place: String,
    /// Seen, memory or derived.
    pub mark: Mark,
    cells: BTreeMap<String, String>,
}

/// The directory of the tables.
pub fn data() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("data")
}

/// Every row of the table `name`, in the order of the file.
///
/// # Errors
/// [`CheckError`] names file, line and column of what cannot be read.
pub fn table(name: &str) -> Result<Vec<Row>, CheckError> {
    let path = data().join(name).with_extension("csv");
    let file = format!("{name}.csv");
    let unreadable = |cause| CheckError::File {
        file: file.clone(),
        cause,
    };
    let mut reader = csv::Reader::from_path(&path).map_err(unreadable)?;
    let headers = reader.headers().map_err(unreadable)?.clone();
    let mut rows = Vec::new();
    for record in reader.records() {
        let record = record.map_err(unreadable)?;
        let line = record.position().map_or(0, csv::Position::line);
        let cells: BTreeMap<_, _> = headers
            .iter()
            .zip(&record)
            .map(|(h, cell)| (h.to_owned(), cell.trim().to_owned()))
            .collect();
        let id = cells.get("id").map_or("", String::as_str);
        let place = format!("{file}:{line} {id}");
        let mark = mark(&place, cells.get("mark").map_or("", String::as_str))?;
        rows.push(Row { place, mark, cells });
    }
    Ok(rows)
}

fn mark(place: &str, text: &str) -> Result<Mark, CheckError> {
    match text {
        "seen" => Ok(Mark::Seen),
        "memory" => Ok(Mark::Memory),
        "derived" => Ok(Mark::Derived),
        _ => Err(CheckError::Wrong {
            place: place.to_owned(),
            column: "mark".into(),
            value: text.into(),
            wanted: "seen, memory or derived",
        }),
    }
}

/// The unit at the end of a column's name.
const SUFFIXES: [(&str, &str); 15] = [
    ("_l_min", "L/min"),
    ("_ft_s", "ft/s"),
    ("_gpm", "gpm"),
    ("_psi", "psi"),
    ("_kpa", "kPa"),
    ("_bar", "bar"),
    ("_lbf", "lbf"),
    ("_gal", "gal"),
    ("_pa", "Pa"),
    ("_mm", "mm"),
    ("_ft", "ft"),
    ("_in", "in"),
    ("_m", "m"),
    ("_c", "C"),
    ("_deg", "deg"),
];

impl Row {
    /// The cell of `column`; `None` when it is empty or there is no such column.
    pub fn text(&self, column: &str) -> Option<&str> {
        let text = self.cells.get(column)?.as_str();
        (!text.is_empty()).then_some(text)
    }

    fn needed(&self, column: &str) -> Result<&str, CheckError> {
        self.text(column).ok_or_else(|| CheckError::Missing {
            place: self.place.clone(),
            column: column.to_owned(),
        })
    }

    /// The method that the value follows.
    ///
    /// # Errors
    /// [`CheckError::Missing`] when the cell is empty.
    pub fn method(&self) -> Result<&str, CheckError> {
        self.needed("method")
    }

    /// The number in `column`.
    ///
    /// # Errors
    /// [`CheckError`] when it is missing or not a number.
    pub fn number(&self, column: &str) -> Result<f64, CheckError> {
        let text = self.needed(column)?;
        text.parse().map_err(|_| CheckError::Wrong {
            place: self.place.clone(),
            column: column.to_owned(),
            value: text.to_owned(),
            wanted: "a number",
        })
    }

    /// The quantity whose column is `name` followed by a unit, or `name` alone
    /// with the unit in the cell.
    ///
    /// # Errors
    /// [`CheckError`] when there is none, or it cannot be read.
    pub fn quantity<Q: Measure>(&self, kind: Kind, name: &str) -> Result<Q, CheckError> {
        let with_unit = SUFFIXES.iter().find_map(|(suffix, unit)| {
            let column = format!("{name}{suffix}");
            let text = self.text(&column)?;
            Some((column, format!("{text} {unit}")))
        });
        let (column, text) = match with_unit {
            Some(found) => found,
            None => (name.to_owned(), self.needed(name)?.to_owned()),
        };
        parse(kind, &text).map_err(|cause| CheckError::Unit {
            place: self.place.clone(),
            column,
            cause,
        })
    }

    /// Is there a quantity `name` in this row?
    pub fn has(&self, name: &str) -> bool {
        self.text(name).is_some()
            || SUFFIXES
                .iter()
                .any(|(suffix, _)| self.text(&format!("{name}{suffix}")).is_some())
    }

    /// An error of Handline, at this row.
    pub fn refused(&self, cause: impl fmt::Display) -> CheckError {
        CheckError::Refused {
            place: self.place.clone(),
            cause: cause.to_string(),
        }
    }

    /// The method is none that the reader of this table knows.
    pub fn unknown_method(&self) -> CheckError {
        CheckError::Wrong {
            place: self.place.clone(),
            column: "method".into(),
            value: self.text("method").unwrap_or_default().to_owned(),
            wanted: "a method that this table's check knows",
        }
    }

    /// `quantity` in the row's unit.
    ///
    /// # Errors
    /// [`CheckError`] when the row's unit does not measure `kind`.
    pub fn in_unit<Q: Measure>(&self, kind: Kind, quantity: Q) -> Result<f64, CheckError> {
        let symbol = self.text("unit").unwrap_or_default();
        let unit = kind.units().iter().find(|unit| unit.symbol == symbol);
        unit.map(|unit| unit.from_si(quantity.si()))
            .ok_or_else(|| CheckError::Wrong {
                place: self.place.clone(),
                column: "unit".into(),
                value: symbol.to_owned(),
                wanted: "a unit of the computed quantity",
            })
    }

    /// What is wrong with `computed`, if it is not within the row's tolerance
    /// of the printed value.
    ///
    /// # Errors
    /// [`CheckError`] when the row has no number to compare with.
    pub fn miss(&self, computed: f64) -> Result<Option<String>, CheckError> {
        self.miss_within(computed, self.number("tolerance")?)
    }

    /// As [`Row::miss`], with another tolerance.
    ///
    /// # Errors
    /// [`CheckError`] when the row has no number to compare with.
    pub fn miss_within(&self, computed: f64, tolerance: f64) -> Result<Option<String>, CheckError> {
        let expected = self.number("expected")?;
        let unit = self.text("unit").unwrap_or_default();
        // A hair for the decimal fractions of the table.
        let within = (computed - expected).abs() <= tolerance + 1e-9 * expected.abs();
        Ok((!within).then(|| {
            format!(
                "{}: printed {expected} {unit}, computed {computed:.6}, tolerance {tolerance} ({})",
                self.place,
                self.text("basis").unwrap_or("no basis given"),
            )
        }))
    }
}
