//! What the records hold and why they may refuse.

/// One book of the records.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Kept {
    /// Its name in addresses.
    pub slug: String,
    /// The department's name.
    pub name: String,
    /// The newest revision.
    pub revision: i64,
    /// When that was saved, seconds since 1970.
    pub at: i64,
}

/// Who changes a book, when and how, for its history.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Note {
    /// Who; may be empty.
    pub who: String,
    /// When, seconds since 1970.
    pub at: i64,
    /// The deed in a few words: "length changed", "file brought in".
    pub why: String,
    /// What changed in words, a sentence each.
    pub words: Vec<String>,
}

/// One line of a history: a revision without its text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// Counted from 1.
    pub number: i64,
    /// The revision that undo goes back to.
    pub before: Option<i64>,
    /// The revision that was undone and can be made again.
    pub again: Option<i64>,
    /// Who, when, how.
    pub note: Note,
}

/// A revision with its text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Revision {
    /// Its line of the history.
    pub entry: Entry,
    /// The book's file, to the byte.
    pub text: String,
}

/// Why the records refuse.
#[derive(Debug, thiserror::Error)]
pub enum RecordsError {
    /// There is no such book.
    #[error("there is no book \"{0}\" in the records")]
    NoBook(String),
    /// There is no such revision.
    #[error("book \"{slug}\" has no revision {number}")]
    NoRevision {
        /// The book.
        slug: String,
        /// The revision asked for.
        number: i64,
    },
    /// The name is taken.
    #[error(
        "there is a book \"{0}\" already; bring the file in as its next revision, or give it another name"
    )]
    Taken(String),
    /// Somebody else saved in between; nothing was written.
    #[error(
        "book \"{slug}\" is at revision {current}, not {base}: somebody changed it since; nothing was saved"
    )]
    Stale {
        /// The book.
        slug: String,
        /// The revision that the change was made on.
        base: i64,
        /// The newest.
        current: i64,
    },
    /// There is no such comparison in the department.
    #[error("the department \"{slug}\" keeps no comparison \"{name}\"")]
    NoComparison {
        /// The department's book.
        slug: String,
        /// The comparison asked for.
        name: String,
    },
    /// The comparison has no such version.
    #[error("comparison \"{name}\" has no version {number}")]
    NoVersion {
        /// The comparison.
        name: String,
        /// The version asked for.
        number: i64,
    },
    /// The department keeps another comparison of that name.
    #[error("there is a comparison \"{0}\" already; give this one another name")]
    ComparisonTaken(String),
    /// Somebody else saved the comparison in between; nothing was written.
    #[error(
        "comparison \"{name}\" is at version {current}, not {base}: somebody changed it since; nothing was saved"
    )]
    ComparisonStale {
        /// The comparison.
        name: String,
        /// The version that the change was made on.
        base: i64,
        /// The newest.
        current: i64,
    },
    /// The comparison was withdrawn.
    #[error("comparison \"{0}\" was withdrawn; nothing was saved: bring it back first")]
    ComparisonWithdrawn(String),
    /// There is nothing to undo, or to make again.
    #[error("there is nothing to {0}")]
    Nothing(&'static str),
    /// What was typed is no code of a sheet.
    #[error("\"{typed}\" is no code of a sheet: {why}")]
    Code {
        /// What was typed.
        typed: String,
        /// Why it is none.
        why: paper::CodeError,
    },
    /// The register has no such sheet.
    #[error("the register has no sheet number {0}")]
    NoIssue(i64),
    /// It was withdrawn before.
    #[error("{code} was withdrawn already; nothing was changed")]
    Withdrawn {
        /// Its code.
        code: String,
    },
    /// What the register holds of a sheet cannot be read.
    #[error(
        "what sheet number {id} said cannot be read: {why}; the register file was changed by another program"
    )]
    Told {
        /// Its number in the register.
        id: i64,
        /// What is wrong with it.
        why: String,
    },
    /// There is no such test in the department.
    #[error("the department has no test number {0}")]
    NoTest(i64),
    /// The test takes no more readings.
    #[error("test {0} is closed; nothing was saved: open it again first")]
    Closed(i64),
    /// The test still takes readings.
    #[error(
        "test {0} still takes readings; nothing was saved: close it, look at what it says then, \
         and go on with that"
    )]
    Open(i64),
    /// A revision of the book rests on the test.
    #[error(
        "revision {revision} of the book rests on test {test}, which stays as it is; nothing was \
         saved: begin another test"
    )]
    Accepted {
        /// The test.
        test: i64,
        /// The revision.
        revision: i64,
    },
    /// There is no such reading in the test.
    #[error("the test has no reading number {0}")]
    NoReading(i64),
    /// Somebody corrected the reading before.
    #[error(
        "reading {wrong} was corrected by reading {by} already; nothing was saved: look at that one"
    )]
    Corrected {
        /// The reading that was to be corrected.
        wrong: i64,
        /// The one that corrects it.
        by: i64,
    },
    /// Another reading came under the same token.
    #[error(
        "another reading was sent from the same form already, as number {0}; nothing was saved: load the sheet anew"
    )]
    Token(i64),
    /// It is no reading.
    #[error("that is no reading: {0}")]
    Reading(&'static str),
    /// There is equipment of that number.
    #[error("there is equipment number \"{0}\" already; look at the number that stands on it")]
    Serial(String),
    /// There is no equipment of that number.
    #[error("the department has no equipment number \"{0}\"")]
    NoSerial(String),
    /// The equipment is out of service for good.
    #[error("equipment number \"{serial}\" was retired on {date}; nothing was saved")]
    Retired {
        /// Its number.
        serial: String,
        /// The day.
        date: String,
    },
    /// It is no day, or none that can be reckoned with.
    #[error("\"{0}\" is no day; give year, month and day as 2026-05-11")]
    Day(String),
    /// It has no name.
    #[error("{0} needs a name or a number")]
    Unnamed(&'static str),
    /// The records hold a word that this version does not know.
    #[error("the records hold the word \"{0}\", which this version does not know")]
    Word(String),
    /// Nobody has that name.
    #[error("nobody is called \"{0}\" in the records")]
    NoPerson(String),
    /// Nobody could give roles any more.
    #[error("{name} is the only keeper of \"{slug}\"; make somebody else a keeper first")]
    LastKeeper {
        /// The book.
        slug: String,
        /// The keeper.
        name: String,
    },
    /// It is no hash of a password.
    #[error("a password is kept only as its hash by argon2id; nothing was saved")]
    Hash,
    /// Records can be moved only into empty ones.
    #[error(
        "the records to move into are not empty: there is something in the table {0}; nothing was moved"
    )]
    NotEmpty(&'static str),
    /// A table did not come out whole.
    #[error("of {here} rows in the table {table} {there} came over; nothing was moved")]
    Miscounted {
        /// The table.
        table: &'static str,
        /// Its rows where they were.
        here: i64,
        /// Its rows where they were to go.
        there: i64,
    },
    /// A backup cannot be written or read.
    #[error("{}: {why}", file.display())]
    File {
        /// The backup.
        file: std::path::PathBuf,
        /// What is wrong with it.
        why: String,
    },
    /// It is no address of records.
    #[error(
        "that is no address of records: {0}; give postgres://USER@HOST/DATABASE, or the path of a file"
    )]
    Address(String),
    /// The server does not encrypt, or does not prove its name.
    #[error(
        "the connection to the records is not safe: {0}; give the file of the authority that \
         vouches for the server with ?sslrootcert=FILE, or say otherwise with ?sslmode=... if \
         nobody else is on that network"
    )]
    Encryption(String),
    /// The database refuses.
    #[error("the records cannot be read or written: {0}")]
    Database(#[from] sqlx::Error),
    /// Its tables cannot be brought up to date.
    #[error("the records are of another version: {0}")]
    Migration(#[from] sqlx::migrate::MigrateError),
}

impl RecordsError {
    /// The database is not there, or was gone in the midst of it: what was asked may be asked
    /// again in a while.
    pub fn is_away(&self) -> bool {
        use sqlx::Error;
        let RecordsError::Database(error) = self else {
            return false;
        };
        match error {
            Error::Io(_)
            | Error::Tls(_)
            | Error::Protocol(_)
            | Error::PoolTimedOut
            | Error::PoolClosed
            | Error::WorkerCrashed
            | Error::BeginFailed => true,
            Error::Database(told) => told.code().is_some_and(|code| passes(&code)),
            _ => false,
        }
    }
}

/// PostgreSQL's classes 08 (connection), 53 (no room), 57 (shut down, starting up, cancelled)
/// and 40 and 55 (somebody else holds it); SQLite's 5 and 6 (locked), 10 (input and output)
/// and 13 (disk full).
fn passes(code: &str) -> bool {
    let class = code.get(..2).filter(|_| code.len() == 5);
    match class {
        Some(class) => matches!(class, "08" | "40" | "53" | "55" | "57"),
        None => matches!(of_sqlite(code), Some(5 | 6 | 10 | 13)),
    }
}

/// SQLite's code without what it adds in the higher bytes.
pub(crate) fn of_sqlite(code: &str) -> Option<u32> {
    code.parse::<u32>().ok().map(|code| code & 0xff)
}
