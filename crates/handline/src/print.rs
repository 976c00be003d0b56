//! Printing sheets, and entering them in the register.

use crate::args::Print;
use crate::commands::{self, Answered, Failure};
use crate::kept::{self, Kept, Place};
use crate::show;
use book::Book;
use hydraulics::units::System;
use paper::{Kind, Paper, PaperError, Printed, Sheet, Size};
use records::{NewIssue, Records};
use std::path::{Path, PathBuf};
use web::Workbench;

/// What was printed, for the answer.
pub struct Done {
    /// The department.
    pub name: String,
    /// From which revision; `None` from a file.
    pub revision: Option<u32>,
    /// The sheets with their files.
    pub sheets: Vec<(Sheet, Paper, Printed)>,
    /// Where they were written.
    pub out: Out,
}

/// Where sheets are written.
pub enum Out {
    /// A file each, in this folder.
    Folder(PathBuf),
    /// The only one.
    Pdf(PathBuf),
    /// All in one.
    Zip(PathBuf),
}

impl Out {
    /// By the end of its name.
    pub fn of(path: &Path) -> Self {
        let end = path.extension().map(|end| end.to_ascii_lowercase());
        match end.as_ref().and_then(|end| end.to_str()) {
            Some("pdf") => Out::Pdf(path.into()),
            Some("zip") => Out::Zip(path.into()),
            _ => Out::Folder(path.into()),
        }
    }

    /// The file in which a sheet lies.
    pub fn file(&self, printed: &Printed) -> PathBuf {
        match self {
            Out::Folder(folder) => folder.join(&printed.file),
            Out::Pdf(file) | Out::Zip(file) => file.clone(),
        }
    }

    fn takes(&self, sheets: usize) -> Result<(), Failure> {
        let text = match (self, sheets) {
            (Out::Pdf(file), 2..) => format!(
                "{sheets} sheets do not go into {}: give a folder or a file that ends in .zip, \
                 or ask for one sheet alone",
                file.display()
            ),
            _ => return Ok(()),
        };
        Err(Failure::Misread(text))
    }
}

impl From<PaperError> for Failure {
    fn from(error: PaperError) -> Self {
        match error {
            PaperError::Date(_) | PaperError::Address { .. } => Failure::Misread(error.to_string()),
            other => Failure::NoAnswer(other.to_string()),
        }
    }
}

/// `handline paper`.
pub fn paper(ask: &Print) -> Answered {
    if !ask.keep {
        let book = commands::load(&ask.book)?;
        let done = printed(ask, &book, None)?;
        return Ok(show::printed(&done, ask.json));
    }
    let done = kept::wait(async {
        let records = kept::records(&Place::of(ask.data.as_deref())?).await?;
        let kept = brought(&records, &ask.book).await?;
        let done = printed(ask, &kept.book, u32::try_from(kept.revision).ok())?;
        entered(&records, &kept.slug, &done, ask.who.as_deref()).await?;
        Ok(done)
    })?;
    Ok(show::printed(&done, ask.json))
}

/// The newest revision of a book that is a file, brought in here, or the name of one in
/// the records. A file that the records have moved on from is refused.
async fn brought(records: &Records, name: &Path) -> Result<Kept, Failure> {
    if !name.is_file() {
        return kept::newest(records, &web::slug(&name.display().to_string())).await;
    }
    let bytes = commands::bytes(name).map_err(Failure::Book)?;
    let workbench = Workbench::new(records.clone());
    let slug = kept::bring(&workbench, &bytes, name)
        .await?
        .slug()
        .to_string();
    let kept = kept::newest(records, &slug).await?;
    match kept.text.as_bytes() == bytes {
        true => Ok(kept),
        false => Err(Failure::NoAnswer(format!(
            "{} is not what the records have as revision {} of this book; nothing was printed.\n\
             To print what the records have: handline paper {slug} --keep\n\
             To have the file as the next revision, bring it in on the page \"Bring a file in\" \
             of the workbench",
            name.display(),
            kept.revision
        ))),
    }
}

fn printed(ask: &Print, book: &Book, revision: Option<u32>) -> Result<Done, Failure> {
    let paper = Paper {
        size: ask.size.unwrap_or(match book.units {
            System::Us => Size::Letter,
            System::Si => Size::A4,
        }),
        date: ask.date.clone().unwrap_or_else(kept::today),
        address: ask.address.clone(),
        revision,
    };
    let units = ask.units.unwrap_or(book.units.into());
    let kinds = match ask.kind.as_slice() {
        [] => Kind::ALL.to_vec(),
        some => some.to_vec(),
    };
    let sheets = paper::chosen(book, &kinds, ask.of.as_deref(), units)?;
    if sheets.is_empty() {
        let text = "the book has nothing to print such a sheet of; give it a rig and a line, \
                    or ask for another kind";
        return Err(Failure::NoAnswer(text.into()));
    }
    let pairs = sheets.into_iter().map(|sheet| (sheet, paper.clone()));
    write(book, pairs.collect(), &ask.out)
}

/// Makes the files and writes them.
pub fn write(book: &Book, pairs: Vec<(Sheet, Paper)>, out: &Path) -> Result<Done, Failure> {
    let out = Out::of(out);
    out.takes(pairs.len())?;
    let printed = paper::print(&pairs)?;
    let date = pairs.first().map_or("", |(_, paper)| paper.date.as_str());
    match &out {
        Out::Zip(file) => put(file, &paper::pack(&printed, date)?)?,
        _ => printed
            .iter()
            .try_for_each(|sheet| put(&out.file(sheet), &sheet.pressed.pdf))?,
    }
    Ok(Done {
        name: book.name.clone(),
        revision: pairs.first().and_then(|(_, paper)| paper.revision),
        sheets: pairs
            .into_iter()
            .zip(printed)
            .map(|((sheet, paper), file)| (sheet, paper, file))
            .collect(),
        out,
    })
}

fn put(file: &Path, bytes: &[u8]) -> Result<(), Failure> {
    let folder = file.parent().unwrap_or(Path::new("."));
    let made = std::fs::create_dir_all(folder).and_then(|()| std::fs::write(file, bytes));
    made.map_err(|error| {
        Failure::Misread(format!(
            "{} cannot be written: {error}; give another place with --out (a report: with --report)",
            file.display()
        ))
    })
}

/// Enters what was printed in the register.
pub async fn entered(
    records: &Records,
    slug: &str,
    done: &Done,
    who: Option<&str>,
) -> Result<(), Failure> {
    let sheets = done.sheets.iter();
    let new = sheets.filter_map(|(sheet, paper, _)| NewIssue::of(sheet, paper));
    let new: Vec<NewIssue> = new.collect();
    let who = who.unwrap_or_default();
    let entered = records.issue(slug, &new, kept::now(), who).await;
    entered.map(drop).map_err(|error| {
        Failure::Misread(format!(
            "the sheets were printed but could not be entered in the register: {error}; \
             print them again before you hand them out"
        ))
    })
}
