//! Several sheets at once, as files and as one ZIP file.

use std::collections::BTreeSet;
use std::io::{Cursor, Write};

use book::Book;
use zip::result::ZipError;
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, DateTime, ZipWriter};

use crate::code::Code;
use crate::paper::{Paper, PaperError, Units};
use crate::press::{self, Pressed, press};
use crate::sheet::{Kind, Sheet, unknown};

/// The most letters of a file's name.
const NAME: usize = 80;

/// A sheet as a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Printed {
    /// The name of its file, as "line-card-left-crosslay.pdf".
    pub file: String,
    /// The code that stands on it.
    pub code: Code,
    /// The file.
    pub pressed: Pressed,
}

/// Every sheet of `book`: each kind about each rig or line that has one, in order.
///
/// # Errors
/// [`PaperError`] when a sheet cannot be made. A line without an answer has a sheet that
/// says so.
pub fn whole_set(book: &Book, units: Units) -> Result<Vec<Sheet>, PaperError> {
    chosen(book, &Kind::ALL, None, units)
}

/// The sheets of `book` of some `kinds`, all of them or those about `of`, in order.
///
/// # Errors
/// [`PaperError::Unknown`] when none of these kinds has a sheet about `of`.
///
/// ```
/// let text = b"[book]\nname = 'Example'\n[rig.pumper]\npump = '1250 gpm'\n";
/// let book = book::read(text, "example.toml")?;
/// let sheets = paper::chosen(&book, &paper::Kind::ALL, Some("pumper"), paper::Units::Us)?;
/// assert!(sheets.iter().all(|sheet| sheet.subject == "pumper"));
/// let error = paper::chosen(&book, &paper::Kind::ALL, Some("pomper"), paper::Units::Us);
/// assert!(error.unwrap_err().to_string().contains("it has \"pumper\""));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn chosen(
    book: &Book,
    kinds: &[Kind],
    of: Option<&str>,
    units: Units,
) -> Result<Vec<Sheet>, PaperError> {
    let all = kinds.iter().flat_map(|kind| {
        let subjects = kind.subjects(book).into_iter();
        subjects.map(move |subject| (*kind, subject))
    });
    let all: Vec<(Kind, &str)> = all.collect();
    let meant = |subject: &str| of.is_none_or(|of| of == subject);
    let sheets = all.iter().filter(|(_, subject)| meant(subject));
    let sheets = sheets.map(|(kind, subject)| kind.sheet(book, subject, units));
    let sheets = sheets.collect::<Result<Vec<Sheet>, _>>()?;
    match (of, sheets.is_empty()) {
        (Some(of), true) => Err(nothing_about(of, &all)),
        _ => Ok(sheets),
    }
}

/// The refusal, which lists the names there are, those first that look most like `name`.
fn nothing_about(name: &str, all: &[(Kind, &str)]) -> PaperError {
    let there: BTreeSet<String> = all.iter().map(|(_, s)| (*s).to_string()).collect();
    let mut there: Vec<String> = there.into_iter().collect();
    let alike = |other: &String| strsim::jaro_winkler(name, other);
    there.sort_by(|a, b| alike(b).total_cmp(&alike(a)));
    unknown("sheet of", name, there.iter())
}

/// The name of a file for `sheet`: its kind and what it is about, in lower-case letters
/// and digits of any script with hyphens between. [`print()`] sees to it that no two
/// sheets printed together have the same.
///
/// ```
/// let text = b"[book]\nname = 'Example'\n[rig.'Pumper 1']\npump = '1250 gpm'\n";
/// let book = book::read(text, "example.toml")?;
/// let chart = paper::pump_chart(&book, "Pumper 1", paper::Units::Us)?;
/// assert_eq!(paper::file_name(&chart), "pump-chart-pumper-1.pdf");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn file_name(sheet: &Sheet) -> String {
    format!("{}.pdf", stem(sheet))
}

fn stem(sheet: &Sheet) -> String {
    let subject = sheet.subject.to_lowercase();
    let words = subject.split(|c: char| !c.is_alphanumeric());
    let words = words.filter(|word| !word.is_empty());
    let words: Vec<&str> = std::iter::once(sheet.kind.word()).chain(words).collect();
    let stem: String = words.join("-").chars().take(NAME).collect();
    stem.trim_end_matches('-').into()
}

/// Each sheet on its paper as a file; no two have the same name. Sheets of one name are
/// told apart by size and units, and where that is not enough by a number.
///
/// # Errors
/// As [`press`].
pub fn print(sheets: &[(Sheet, Paper)]) -> Result<Vec<Printed>, PaperError> {
    let mut taken = BTreeSet::new();
    let printed = sheets.iter().map(|(sheet, paper)| {
        Ok(Printed {
            file: free_name(sheet, paper, &mut taken),
            code: Code::of(sheet, paper.revision),
            pressed: press(sheet, paper)?,
        })
    });
    printed.collect()
}

fn free_name(sheet: &Sheet, paper: &Paper, taken: &mut BTreeSet<String>) -> String {
    let stem = stem(sheet);
    let plain = std::iter::once(format!("{stem}.pdf"));
    let told = format!("{stem}-{}-{}", paper.size.word(), sheet.units.word());
    let numbered = (2_u32..).map(|number| format!("{told}-{number}.pdf"));
    let mut names = plain.chain([format!("{told}.pdf")]).chain(numbered);
    let free = names.find(|name| taken.insert(name.clone()));
    free.unwrap_or(told)
}

/// `printed` as one ZIP file. Every file has `date`, the day of printing, as its time,
/// so that the same sheets give the same bytes.
///
/// # Errors
/// [`PaperError::Date`]; [`PaperError::Packing`] when there is too much.
pub fn pack(printed: &[Printed], date: &str) -> Result<Vec<u8>, PaperError> {
    let files = printed
        .iter()
        .map(|p| (p.file.as_str(), p.pressed.pdf.as_slice()));
    // A PDF is packed already.
    packed(files, date, CompressionMethod::Stored)
}

/// Files, each with its name, as one ZIP file that has `date` as the time of each.
pub(crate) fn packed<'a>(
    files: impl Iterator<Item = (&'a str, &'a [u8])>,
    date: &str,
    method: CompressionMethod,
) -> Result<Vec<u8>, PaperError> {
    let options = SimpleFileOptions::default()
        .compression_method(method)
        .last_modified_time(midnight(date)?)
        .unix_permissions(0o644);
    let refused = |error: ZipError| PaperError::Packing(error.to_string());
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    for (name, bytes) in files {
        zip.start_file(name, options).map_err(refused)?;
        let written = zip.write_all(bytes);
        written.map_err(|error| PaperError::Packing(error.to_string()))?;
    }
    Ok(zip.finish().map_err(refused)?.into_inner())
}

/// The start of a day; that of 1980 for the years that a ZIP file cannot tell.
fn midnight(date: &str) -> Result<DateTime, PaperError> {
    let [year, month, day] = press::date(date)?;
    let small = |number: i32| u8::try_from(number).unwrap_or_default();
    let year = u16::try_from(year).unwrap_or_default();
    let time = DateTime::from_date_and_time(year, small(month), small(day), 0, 0, 0);
    Ok(time.unwrap_or_default())
}

/// `sheets` on `paper` as one ZIP file, a PDF each. The same sheets and paper give the
/// same bytes.
///
/// # Errors
/// As [`print()`] and [`pack`].
///
/// ```
/// let text = b"[book]\nname = 'Example'\n[rig.pumper]\npump = '1250 gpm'\n";
/// let book = book::read(text, "example.toml")?;
/// let sheets = paper::whole_set(&book, paper::Units::Us)?;
/// let paper = paper::Paper { date: "2026-05-11".into(), ..Default::default() };
/// assert!(paper::zip(&sheets, &paper)?.starts_with(b"PK"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn zip(sheets: &[Sheet], paper: &Paper) -> Result<Vec<u8>, PaperError> {
    let sheets: Vec<(Sheet, Paper)> = sheets
        .iter()
        .map(|sheet| (sheet.clone(), paper.clone()))
        .collect();
    pack(&print(&sheets)?, &paper.date)
}
