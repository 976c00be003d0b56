//! The command `tables`: tables of a book, a line or a scene as files.

use crate::commands::{Failure, Outcome, load};
use crate::kept::today;
use book::{Book, Conditions, SceneConditions};
use clap::ValueEnum;
use hydraulics::units::System;
use paper::Units;
use paper::tables::{self, Stamp, Tables};
use std::path::{Path, PathBuf};

/// The question of `tables`.
#[derive(Debug, clap::Args)]
pub struct Ask {
    /// The department's file
    pub book: PathBuf,
    /// One line or one scene; the whole book when left out
    #[arg(value_name = "LINE OR SCENE")]
    pub name: Option<String>,
    /// Where to: FILE.xlsx for a workbook, FILE.zip or a folder for a CSV file of each
    /// table, FILE.csv or FILE.parquet for one table
    #[arg(long, value_name = "FILE OR FOLDER")]
    pub out: PathBuf,
    /// Which table goes into FILE.csv or FILE.parquet, by its title
    #[arg(long, value_name = "TITLE")]
    pub table: Option<String>,
    /// Units of the numbers (default: the book's)
    #[arg(long, value_enum)]
    pub units: Option<Shown>,
    /// The day that the files name (default: today)
    #[arg(long, value_name = "YEAR-MONTH-DAY")]
    pub date: Option<String>,
}

/// Units of a table's numbers.
#[derive(Debug, Clone, Copy, ValueEnum)]
pub enum Shown {
    /// psi, gpm, feet, pounds
    Us,
    /// bar, litres a minute, metres, newtons
    Si,
    /// US, and metric beside it
    Both,
}

/// Writes the tables, and says where they are.
pub fn tables(ask: &Ask) -> Result<Outcome, Failure> {
    let book = load(&ask.book)?;
    let tables = asked(&book, ask.name.as_deref(), units(ask, &book))?;
    let stamp = Stamp {
        date: ask.date.clone().unwrap_or_else(today),
        revision: None,
    };
    let written = write(&ask.out, ask.table.as_deref(), &tables, &stamp)?;
    Ok(Outcome {
        out: format!("{}: {written}\n", ask.out.display()),
        ..Outcome::default()
    })
}

fn units(ask: &Ask, book: &Book) -> Units {
    match (ask.units, book.units) {
        (Some(Shown::Us), _) | (None, System::Us) => Units::Us,
        (Some(Shown::Si), _) | (None, System::Si) => Units::Si,
        (Some(Shown::Both), _) => Units::Both,
    }
}

fn asked(book: &Book, name: Option<&str>, units: Units) -> Result<Tables, Failure> {
    let Some(name) = name else {
        return Ok(tables::of_book(book, units));
    };
    if book.scene.contains_key(name) {
        let plain = SceneConditions::default();
        let answer = study::solve_scene(book, name, &plain)?;
        let layout = book::scene(book, name, &plain).map_err(study::StudyError::from)?;
        return Ok(tables::of_scene(book, &answer, &layout, units));
    }
    study::ask::known(book, name)?;
    Ok(tables::of_line(book, name, &Conditions::default(), units)?)
}

/// The table of a comparison that goes into one file.
pub const BY_LINE: &str = "By line";

/// Writes what `--out` asks for, and says what it is. `title` is the table for a file that
/// holds one.
pub fn write(
    out: &Path,
    title: Option<&str>,
    tables: &Tables,
    stamp: &Stamp,
) -> Result<String, Failure> {
    let ending = out.extension().and_then(|ending| ending.to_str());
    let ending = ending.map(str::to_ascii_lowercase);
    let refused = |error: paper::PaperError| Failure::Misread(error.to_string());
    let count = tables.tables.len();
    let (bytes, what) = match ending.as_deref() {
        Some("xlsx") => (
            tables.workbook(stamp).map_err(refused)?,
            format!("a workbook of {count} tables"),
        ),
        Some("zip") => (
            tables.zip(stamp).map_err(refused)?,
            format!("{count} tables as CSV"),
        ),
        Some("csv") => {
            let table = one(tables, title)?;
            (table.csv().map_err(refused)?, table.title.clone())
        }
        Some("parquet") => {
            let table = one(tables, title)?;
            let bytes = tables.parquet(&table.title, stamp).map_err(refused)?;
            (bytes, table.title.clone())
        }
        _ => {
            let files = tables.files(stamp).map_err(refused)?;
            std::fs::create_dir_all(out).map_err(|error| unwritten(out, &error))?;
            for file in &files {
                save(&out.join(&file.name), &file.bytes)?;
            }
            return Ok(format!("{count} tables as CSV"));
        }
    };
    save(out, &bytes)?;
    Ok(what)
}

/// The table that goes into a CSV file.
fn one<'a>(tables: &'a Tables, title: Option<&str>) -> Result<&'a tables::Table, Failure> {
    let list = || {
        let titles = tables.tables.iter().map(|t| format!("\"{}\"", t.title));
        titles.collect::<Vec<_>>().join(", ")
    };
    match (title, tables.tables.as_slice()) {
        (None, [table]) => Ok(table),
        (None, many) => Err(Failure::Misread(format!(
            "--out: a CSV or Parquet file holds one table and there are {}: say which with --table, \
             or give a folder, FILE.zip or FILE.xlsx; they are {}",
            many.len(),
            list()
        ))),
        (Some(title), all) => {
            let found = all.iter().find(|t| t.title.eq_ignore_ascii_case(title));
            found.ok_or_else(|| {
                let text = format!(
                    "--table: there is no table \"{title}\"; there are {}",
                    list()
                );
                Failure::Misread(text)
            })
        }
    }
}

fn save(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    std::fs::write(path, bytes).map_err(|error| unwritten(path, &error))
}

fn unwritten(path: &Path, error: &std::io::Error) -> Failure {
    Failure::Misread(format!(
        "--out: {} cannot be written: {error}; give a file or folder that can be",
        path.display()
    ))
}
