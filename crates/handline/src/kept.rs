//! The records on this computer, and its clock.

use crate::commands::Failure;
use crate::show;
use book::Book;
use directories::ProjectDirs;
use jiff::{Timestamp, Zoned};
use records::{Address, Records, RecordsError};
use std::fmt;
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

/// Says where the records are when `--data` does not. An address with a password in it
/// belongs here rather than on the command line, which others on the computer can read.
pub const DATA: &str = "HANDLINE_DATA";

/// Where records are. Written out, it tells no password.
pub enum Place {
    /// In a folder, under our name for them.
    Folder(PathBuf),
    /// In a SQLite file, or on a server.
    At(Address),
}

impl Place {
    /// What `--data` says, else [`DATA`], else this user's own folder.
    pub fn of(data: Option<&Path>) -> Result<Self, Failure> {
        let said = || std::env::var_os(DATA).filter(|said| !said.is_empty());
        if let Some(said) = data
            .map(PathBuf::from)
            .or_else(|| said().map(PathBuf::from))
        {
            return Place::called(said);
        }
        let own = ProjectDirs::from("", "", "handline");
        let own = own.map(|own| Place::Folder(own.data_dir().to_path_buf()));
        own.ok_or_else(|| {
            let text = "this user has no folder for data; say where with --data FOLDER";
            Failure::Misread(text.into())
        })
    }

    /// A folder, unless it begins as an address does.
    pub fn called(said: PathBuf) -> Result<Self, Failure> {
        match said.to_str() {
            Some(text) if text.contains("://") || text.starts_with("sqlite:") => {
                Ok(Place::At(text.parse()?))
            }
            _ => Ok(Place::Folder(said)),
        }
    }

    fn file(&self) -> Option<PathBuf> {
        match self {
            Place::Folder(folder) => Some(folder.join(FILE)),
            Place::At(Address::File(file)) => Some(file.clone()),
            Place::At(_) => None,
        }
    }
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Place::Folder(folder) => folder.display().fmt(f),
            Place::At(address) => address.fmt(f),
        }
    }
}

/// The records in a place: made if they are not there, but for a database on a server.
pub async fn records(place: &Place) -> Result<Records, Failure> {
    let refused = |why: String| {
        Failure::Misread(format!(
            "books cannot be kept in {place}: {why}; give another place with --data"
        ))
    };
    let Some(file) = place.file() else {
        return on_server(place).await;
    };
    let folder = file.parent().unwrap_or(Path::new("."));
    std::fs::create_dir_all(folder).map_err(|error| refused(error.to_string()))?;
    let records = Records::open(&file).await;
    records.map_err(|error| refused(error.to_string()))
}

async fn on_server(place: &Place) -> Result<Records, Failure> {
    let Place::At(address) = place else {
        return Err(Failure::Misread(format!("{place} is no address")));
    };
    Records::in_place(address).await.map_err(|error| {
        Failure::NoAnswer(format!(
            "the records at {place} cannot be opened: {error}. Check the address, that the \
             server runs, and that the database and the user are there"
        ))
    })
}

/// The records in a place, which must be there.
pub async fn records_there(place: &Place) -> Result<Records, Failure> {
    match place.file() {
        Some(file) if !file.is_file() => Err(Failure::NoAnswer(format!(
            "no books are kept in {place}; give the place in which they are with --data, \
             or print with --keep first"
        ))),
        _ => records(place).await,
    }
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
         give one of those, the path of a book's file, or another place with --data"
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
            RecordsError::Code { .. }
            | RecordsError::Address(_)
            | RecordsError::Day(_)
            | RecordsError::Unnamed(_)
            | RecordsError::Reading(_)
            | RecordsError::Hash => Failure::Misread(error.to_string()),
            other => Failure::NoAnswer(other.to_string()),
        }
    }
}
