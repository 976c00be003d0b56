//! The records on this computer, and its clock.

use crate::commands::Failure;
use crate::show;
use book::Book;
use directories::ProjectDirs;
use jiff::{Timestamp, Zoned};
use records::{Records, RecordsError};
use std::future::Future;
use std::path::{Path, PathBuf};
use web::{Arrived, Fault, Workbench};

const FILE: &str = "records.sqlite";

/// The newest revision of a book.
pub struct Kept {
    /// Its name in the records.
    pub slug: String,
    /// Its number.
    pub revision: i64,
    /// Its file, to the byte.
    pub text: String,
    /// The same, read.
    pub book: Book,
}

/// Seconds since 1970.
pub fn now() -> i64 {
    Timestamp::now().as_second()
}

/// The day here, as "2026-05-11".
pub fn today() -> String {
    Zoned::now().date().to_string()
}

/// Does what needs the records.
pub fn wait<T>(work: impl Future<Output = Result<T, Failure>>) -> Result<T, Failure> {
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build();
    let runtime = runtime
        .map_err(|error| Failure::Misread(format!("the records cannot be opened: {error}")))?;
    runtime.block_on(work)
}

/// The folder in which books are kept.
pub fn folder(data: Option<&Path>) -> Result<PathBuf, Failure> {
    if let Some(folder) = data {
        return Ok(folder.to_path_buf());
    }
    let own = ProjectDirs::from("", "", "handline");
    let own = own.map(|own| own.data_dir().to_path_buf());
    own.ok_or_else(|| {
        let text = "this user has no folder for data; say where with --data FOLDER";
        Failure::Misread(text.into())
    })
}

/// The records in `folder`, which is made if it is not there.
pub async fn records(folder: &Path) -> Result<Records, Failure> {
    let refused = |why: String| {
        let name = folder.display();
        Failure::Misread(format!(
            "books cannot be kept in {name}: {why}; give another folder with --data"
        ))
    };
    std::fs::create_dir_all(folder).map_err(|error| refused(error.to_string()))?;
    let records = Records::open(&folder.join(FILE)).await;
    records.map_err(|error| refused(error.to_string()))
}

/// The records in `folder`, which must be there.
pub async fn records_there(folder: &Path) -> Result<Records, Failure> {
    if !folder.join(FILE).is_file() {
        let name = folder.display();
        return Err(Failure::NoAnswer(format!(
            "no books are kept in {name}; give the folder in which they are with --data, \
             or print with --keep first"
        )));
    }
    records(folder).await
}

/// Brings a book's file in, unless the records have it.
pub async fn bring(workbench: &Workbench, bytes: &[u8], file: &Path) -> Result<Arrived, Failure> {
    let path = file.display().to_string();
    // A message shows the path; the history only the file's name.
    book::read(bytes, &path).map_err(|problems| Failure::Book(show::problems(&problems)))?;
    let name = file
        .file_name()
        .map_or(path, |name| name.to_string_lossy().into_owned());
    Ok(workbench.bring(bytes, &name).await?)
}

/// The newest revision of the book called `slug`.
pub async fn newest(records: &Records, slug: &str) -> Result<Kept, Failure> {
    let revision = match records.newest(slug).await {
        Err(RecordsError::NoBook(_)) => return Err(no_book(records, slug).await),
        found => found?,
    };
    let text = records.revision(slug, revision).await?.text;
    let book = book::read(text.as_bytes(), slug);
    Ok(Kept {
        slug: slug.into(),
        revision,
        book: book.map_err(|problems| Failure::Book(show::problems(&problems)))?,
        text,
    })
}

async fn no_book(records: &Records, slug: &str) -> Failure {
    let there = records.books().await.unwrap_or_default();
    let there: Vec<String> = there.iter().map(|b| format!("\"{}\"", b.slug)).collect();
    let there = match there.is_empty() {
        true => "no book".into(),
        false => there.join(", "),
    };
    Failure::NoAnswer(format!(
        "there is no book \"{slug}\" in the records, which have {there}; \
         give one of those, the path of a book's file, or another folder with --data"
    ))
}

impl From<Fault> for Failure {
    fn from(fault: Fault) -> Self {
        match fault {
            Fault::Book(problems) => Failure::Book(show::problems(&problems)),
            Fault::Records(error) => error.into(),
            other => Failure::Misread(other.to_string()),
        }
    }
}

impl From<RecordsError> for Failure {
    fn from(error: RecordsError) -> Self {
        match error {
            RecordsError::NoBook(_)
            | RecordsError::NoRevision { .. }
            | RecordsError::NoIssue(_)
            | RecordsError::Withdrawn { .. } => Failure::NoAnswer(error.to_string()),
            other => Failure::Misread(other.to_string()),
        }
    }
}
