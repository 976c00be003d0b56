//! What the pages share: the records, and the books read from them.

use crate::compare::{Compared, Comparing};
use crate::fault::Fault;
use crate::proof::{Planned, Reckoned};
use crate::reader::Reader;
use book::Book;
use records::{Note, Records, RecordsError};
use std::collections::VecDeque;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{SystemTime, UNIX_EPOCH};

/// The records, and the books last read from them. A revision never changes, so
/// that what was read stays true.
#[derive(Debug)]
pub struct Workbench {
    /// Where books are kept.
    pub records: Records,
    /// The one asked for last at the end.
    read: Mutex<VecDeque<Arc<Opened>>>,
    /// Comparisons that are worked out at this moment.
    pub(crate) comparing: Comparing,
}

/// One revision of a book, read.
#[derive(Debug)]
pub(crate) struct Opened {
    pub slug: String,
    pub revision: i64,
    pub text: String,
    pub book: Book,
    /// What tests of it are expected to read.
    pub planned: Planned,
    /// What test days say by it.
    pub reckoned: Reckoned,
    /// What comparisons found by it.
    pub compared: Compared,
}

/// What came of bringing a file in.
#[derive(Debug, PartialEq, Eq)]
pub enum Arrived {
    /// It is a new book.
    New(String),
    /// It is what the records have, now or at an earlier revision.
    Known(String),
    /// It changed, and the records did not: it is the next revision.
    Next(String),
    /// It changed, and so did the book in the workbench: nothing was done.
    Apart(String),
}

impl Arrived {
    /// The book's name in addresses.
    pub fn slug(&self) -> &str {
        match self {
            Arrived::New(slug)
            | Arrived::Known(slug)
            | Arrived::Next(slug)
            | Arrived::Apart(slug) => slug,
        }
    }
}

/// How the history names a file's arrival.
pub(crate) fn brought_in(file: &str) -> String {
    format!("file {file}{BROUGHT_IN}")
}

const BROUGHT_IN: &str = " brought in";

/// Books that are kept read.
const READ: usize = 16;

impl Workbench {
    /// A workbench on `records`.
    pub fn new(records: Records) -> Self {
        Workbench {
            records,
            read: Mutex::default(),
            comparing: Comparing::default(),
        }
    }

    /// Brings a book's file in, unless the records have it.
    ///
    /// # Errors
    /// [`Fault`] when the file is no book or the records refuse.
    pub async fn bring(&self, bytes: &[u8], file: &str) -> Result<Arrived, Fault> {
        let book = book::read(bytes, file).map_err(Fault::Book)?;
        let text = String::from_utf8_lossy(bytes).into_owned();
        let slug = slug(&book.name);
        let note = Note {
            at: now(),
            why: brought_in(file),
            ..Note::default()
        };
        let base = match self.records.newest(&slug).await {
            Err(RecordsError::NoBook(_)) => {
                match self.records.create(&slug, &book.name, &text, &note).await {
                    // Another program on the same records was quicker.
                    Err(RecordsError::Taken(_)) => self.records.newest(&slug).await?,
                    made => return made.map(|_| Arrived::New(slug)).map_err(Fault::from),
                }
            }
            newest => newest?,
        };
        if self.records.has(&slug, &text).await? {
            return Ok(Arrived::Known(slug));
        }
        let newest = self.records.revision(&slug, base).await?.entry;
        // What was made here would be passed over unseen.
        if !(newest.note.why.starts_with("file ") && newest.note.why.ends_with(BROUGHT_IN)) {
            return Ok(Arrived::Apart(slug));
        }
        self.save(&slug, base, &text, &note.why, "").await?;
        Ok(Arrived::Next(slug))
    }

    /// Puts a new book in; who is signed in becomes its keeper.
    ///
    /// # Errors
    /// [`RecordsError::Taken`] when there is one of that slug.
    pub(crate) async fn create(
        &self,
        reader: &Reader,
        book: (&str, &str),
        text: &str,
        note: &Note,
    ) -> Result<i64, RecordsError> {
        match reader.who.person() {
            Some(person) => {
                let records = &self.records;
                records.create_for(&person.name, book, text, note).await
            }
            None => self.records.create(book.0, book.1, text, note).await,
        }
    }

    /// The newest revision of a book, read.
    pub(crate) async fn open(&self, slug: &str) -> Result<Arc<Opened>, Fault> {
        let newest = self.records.newest(slug).await?;
        self.open_at(slug, newest).await
    }

    /// One revision of a book, read.
    pub(crate) async fn open_at(&self, slug: &str, revision: i64) -> Result<Arc<Opened>, Fault> {
        if let Some(opened) = self.kept(slug, revision) {
            return Ok(opened);
        }
        let text = self.records.revision(slug, revision).await?.text;
        let book = book::read(text.as_bytes(), slug).map_err(Fault::Book)?;
        let opened = Arc::new(Opened {
            slug: slug.into(),
            revision,
            text,
            book,
            planned: Planned::default(),
            reckoned: Reckoned::default(),
            compared: Compared::default(),
        });
        let mut read = self.lock();
        if read.len() >= READ {
            read.pop_front();
        }
        read.push_back(opened.clone());
        Ok(opened)
    }

    /// A book that is read already; it counts as the last one asked for.
    fn kept(&self, slug: &str, revision: i64) -> Option<Arc<Opened>> {
        let mut read = self.lock();
        let same = |opened: &Arc<Opened>| opened.slug == slug && opened.revision == revision;
        let at = read.iter().position(same)?;
        let opened = read.remove(at)?;
        read.push_back(opened.clone());
        Some(opened)
    }

    /// Saves `text` as the revision after `base`; its history says `why`, `who`, and
    /// what changed. Where `base` is the newest and has this very text, nothing is
    /// saved, and `base` is the answer.
    ///
    /// # Errors
    /// [`Fault::Book`] when the text is no book; [`RecordsError::Stale`] when somebody
    /// saved since, and then nothing is written.
    pub(crate) async fn save(
        &self,
        slug: &str,
        base: i64,
        text: &str,
        why: &str,
        who: &str,
    ) -> Result<i64, Fault> {
        let after = book::read(text.as_bytes(), slug).map_err(Fault::Book)?;
        if self.records.newest(slug).await? == base
            && self.records.revision(slug, base).await?.text == text
        {
            return Ok(base);
        }
        let note = self.note(slug, base, &after, why, who).await;
        let saved = self.records.save(slug, base, &after.name, text, &note);
        Ok(saved.await?)
    }

    /// Saves `text`, with what `tests` found in it, as the revision after `opened`, and
    /// notes on each test that this revision took it in.
    ///
    /// # Errors
    /// As [`Workbench::save`]; [`RecordsError::Open`] when a test still takes readings.
    pub(crate) async fn accept(
        &self,
        opened: &Opened,
        text: &str,
        why: &str,
        who: &str,
        tests: &[i64],
    ) -> Result<i64, Fault> {
        let (slug, base) = (opened.slug.as_str(), opened.revision);
        let after = book::read(text.as_bytes(), slug).map_err(Fault::Book)?;
        let note = self.note(slug, base, &after, why, who).await;
        let saved = self
            .records
            .accept(slug, base, &after.name, text, &note, tests);
        Ok(saved.await?)
    }

    /// Takes the change that made revision `base` back.
    ///
    /// # Errors
    /// As [`Workbench::save`], and [`RecordsError::Nothing`].
    pub(crate) async fn undo(&self, slug: &str, base: i64, who: &str) -> Result<i64, Fault> {
        let entry = self.records.revision(slug, base).await?.entry;
        let back = entry.before.ok_or(RecordsError::Nothing("undo"))?;
        let after = self.open_at(slug, back).await?;
        let why = format!("revision {base} undone");
        let note = self.note(slug, base, &after.book, &why, who).await;
        let done = self.records.undo(slug, base, &after.book.name, &note);
        Ok(done.await?)
    }

    /// Makes the change again that revision `base` took back.
    ///
    /// # Errors
    /// As [`Workbench::undo`].
    pub(crate) async fn redo(&self, slug: &str, base: i64, who: &str) -> Result<i64, Fault> {
        let entry = self.records.revision(slug, base).await?.entry;
        let again = entry.again.ok_or(RecordsError::Nothing("make again"))?;
        let after = self.open_at(slug, again).await?;
        let why = format!("revision {again} made again");
        let note = self.note(slug, base, &after.book, &why, who).await;
        let done = self.records.redo(slug, base, &after.book.name, &note);
        Ok(done.await?)
    }

    async fn note(&self, slug: &str, base: i64, after: &Book, why: &str, who: &str) -> Note {
        // A revision that cannot be read has nothing to compare with; one that is
        // not there is refused by the records.
        let before = self.open_at(slug, base).await.ok();
        Note {
            who: who.into(),
            at: now(),
            why: why.into(),
            words: before.map_or_else(Vec::new, |before| words(&before.book, after)),
        }
    }

    fn lock(&self) -> std::sync::MutexGuard<'_, VecDeque<Arc<Opened>>> {
        self.read.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// What changed between two revisions, a sentence each.
pub(crate) fn words(before: &Book, after: &Book) -> Vec<String> {
    if before == after {
        return vec!["comments or the layout of the file only".into()];
    }
    study::changes(before, after, after.units)
}

/// Seconds since 1970.
pub(crate) fn now() -> i64 {
    let since = SystemTime::now().duration_since(UNIX_EPOCH);
    since.map_or(0, |since| i64::try_from(since.as_secs()).unwrap_or(0))
}

/// A name as it stands in addresses: letters and digits of any script, lower
/// case, with hyphens between.
///
/// ```
/// assert_eq!(web::slug("Saltmarsh Bend Fire & Rescue"), "saltmarsh-bend-fire-rescue");
/// assert_eq!(web::slug("../.."), "book");
/// ```
pub fn slug(name: &str) -> String {
    let words = name.split(|c: char| !c.is_alphanumeric());
    let words: Vec<String> = words
        .filter(|word| !word.is_empty())
        .map(str::to_lowercase)
        .collect();
    let slug: String = words.join("-").chars().take(60).collect();
    match slug.trim_matches('-') {
        "" => "book".into(),
        slug => slug.into(),
    }
}
