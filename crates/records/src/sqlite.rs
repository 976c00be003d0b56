//! Records in one SQLite file.

use crate::model::{Entry, Kept, Note, RecordsError, Revision};
use sqlx::migrate::MigrateError;
use sqlx::sqlite::{
    SqliteConnectOptions, SqliteExecutor, SqliteJournalMode, SqlitePool, SqlitePoolOptions,
    SqliteRow, SqliteSynchronous,
};
use sqlx::{Row, Sqlite, Transaction};
use std::path::Path;
use std::time::Duration;

pub(crate) type Done<T> = Result<T, RecordsError>;

/// Books with their revisions.
#[derive(Debug, Clone)]
pub struct Records {
    pub(crate) pool: SqlitePool,
}

impl Records {
    /// Opens the records in `file`, which is made if it is not there.
    ///
    /// # Errors
    /// [`RecordsError`] when the file cannot be opened or is no records file.
    pub async fn open(file: &Path) -> Done<Self> {
        let options = SqliteConnectOptions::new()
            .filename(file)
            .create_if_missing(true)
            .journal_mode(SqliteJournalMode::Wal)
            // A save that was answered outlives a power cut.
            .synchronous(SqliteSynchronous::Full)
            .foreign_keys(true)
            .busy_timeout(Duration::from_secs(10));
        let pool = SqlitePoolOptions::new()
            .max_connections(4)
            .connect_with(options)
            .await?;
        up_to_date(&pool).await?;
        Ok(Records { pool })
    }

    /// Every book, by name.
    ///
    /// # Errors
    /// [`RecordsError::Database`].
    pub async fn books(&self) -> Done<Vec<Kept>> {
        let rows = sqlx::query(
            "SELECT book.slug, name, revision, at FROM book JOIN revision \
             ON revision.slug = book.slug AND number = revision ORDER BY name, book.slug",
        )
        .fetch_all(&self.pool)
        .await?;
        rows.iter().map(kept).collect()
    }

    /// Puts a new book in: revision 1.
    ///
    /// # Errors
    /// [`RecordsError::Taken`] when there is one of that slug.
    pub async fn create(&self, slug: &str, name: &str, text: &str, note: &Note) -> Done<i64> {
        let mut write = self.write().await?;
        let there = sqlx::query("SELECT 1 FROM book WHERE slug = ?").bind(slug);
        if there.fetch_optional(&mut *write).await?.is_some() {
            return Err(RecordsError::Taken(slug.into()));
        }
        sqlx::query("INSERT INTO book (slug, name, revision) VALUES (?, ?, 1)")
            .bind(slug)
            .bind(name)
            .execute(&mut *write)
            .await?;
        insert(&mut write, slug, (1, None, None), note, text).await?;
        write.commit().await?;
        Ok(1)
    }

    /// The number of the newest revision.
    ///
    /// # Errors
    /// [`RecordsError::NoBook`].
    pub async fn newest(&self, slug: &str) -> Done<i64> {
        let row = sqlx::query("SELECT revision FROM book WHERE slug = ?")
            .bind(slug)
            .fetch_optional(&self.pool)
            .await?;
        let row = row.ok_or_else(|| RecordsError::NoBook(slug.into()))?;
        Ok(row.try_get(0)?)
    }

    /// One revision with its text.
    ///
    /// # Errors
    /// [`RecordsError::NoBook`]; [`RecordsError::NoRevision`].
    pub async fn revision(&self, slug: &str, number: i64) -> Done<Revision> {
        match find(&self.pool, slug, number).await? {
            Some(revision) => Ok(revision),
            None => {
                self.newest(slug).await?;
                Err(no_revision(slug, number))
            }
        }
    }

    /// Has the book had this very text, now or at an earlier revision?
    ///
    /// # Errors
    /// [`RecordsError::Database`].
    pub async fn has(&self, slug: &str, text: &str) -> Done<bool> {
        let found = sqlx::query("SELECT 1 FROM revision WHERE slug = ? AND text = ? LIMIT 1")
            .bind(slug)
            .bind(text)
            .fetch_optional(&self.pool)
            .await?;
        Ok(found.is_some())
    }

    /// The history, newest first; empty where there is no such book.
    ///
    /// # Errors
    /// [`RecordsError::Database`].
    pub async fn history(&self, slug: &str, at_most: i64) -> Done<Vec<Entry>> {
        let rows = sqlx::query(
            "SELECT number, before, again, at, who, why, words FROM revision \
             WHERE slug = ? ORDER BY number DESC LIMIT ?",
        )
        .bind(slug)
        .bind(at_most)
        .fetch_all(&self.pool)
        .await?;
        rows.iter().map(entry).collect()
    }

    /// Saves `text` as the revision after `base`, which must be the newest. Once
    /// this returns, the save outlives the program and a power cut.
    ///
    /// # Errors
    /// [`RecordsError::Stale`] when somebody saved since; then nothing is written.
    ///
    /// ```
    /// # let place = tempfile::tempdir()?;
    /// # let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build()?;
    /// # runtime.block_on(async {
    /// use records::{Note, Records, RecordsError};
    /// let records = Records::open(&place.path().join("books.db")).await?;
    /// let note = Note::default();
    /// let first = records.create("bend", "Bend", "first text", &note).await?;
    /// let second = records.save("bend", first, "Bend", "second text", &note).await?;
    /// assert_eq!(records.revision("bend", first).await?.text, "first text");
    /// // Somebody else still has the first on the screen.
    /// let late = records.save("bend", first, "Bend", "third text", &note).await;
    /// assert!(matches!(late, Err(RecordsError::Stale { current, .. }) if current == second));
    /// # Ok::<(), RecordsError>(())
    /// # })?;
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub async fn save(
        &self,
        slug: &str,
        base: i64,
        name: &str,
        text: &str,
        note: &Note,
    ) -> Done<i64> {
        let mut write = self.write().await?;
        let number = next(&mut write, slug, base).await?;
        insert(&mut write, slug, (number, Some(base), None), note, text).await?;
        point(&mut write, slug, name, number).await?;
        write.commit().await?;
        Ok(number)
    }

    /// Goes back by one change: a new revision with the text before it. `name` is
    /// the department's name in that text.
    ///
    /// # Errors
    /// [`RecordsError::Nothing`] when there is none; [`RecordsError::Stale`].
    pub async fn undo(&self, slug: &str, base: i64, name: &str, note: &Note) -> Done<i64> {
        let mut write = self.write().await?;
        let (number, now) = newest(&mut write, slug, base).await?;
        let back = now.before.ok_or(RecordsError::Nothing("undo"))?;
        let before = found(&mut write, slug, back).await?;
        let links = (number, before.entry.before, Some(base));
        insert(&mut write, slug, links, note, &before.text).await?;
        point(&mut write, slug, name, number).await?;
        write.commit().await?;
        Ok(number)
    }

    /// Makes the change again that was undone last. `name` is the department's
    /// name in that text.
    ///
    /// # Errors
    /// [`RecordsError::Nothing`] when there is none; [`RecordsError::Stale`].
    pub async fn redo(&self, slug: &str, base: i64, name: &str, note: &Note) -> Done<i64> {
        let mut write = self.write().await?;
        let (number, now) = newest(&mut write, slug, base).await?;
        let again = now.again.ok_or(RecordsError::Nothing("make again"))?;
        let undone = found(&mut write, slug, again).await?;
        let links = (number, Some(base), undone.entry.again);
        insert(&mut write, slug, links, note, &undone.text).await?;
        point(&mut write, slug, name, number).await?;
        write.commit().await?;
        Ok(number)
    }

    /// A write takes its lock at once, so that what it reads stays true.
    pub(crate) async fn write(&self) -> Done<Transaction<'static, Sqlite>> {
        Ok(self.pool.begin_with("BEGIN IMMEDIATE").await?)
    }
}

/// Several programs may open a new file at once: who comes second finds the tables
/// half made, and looks again.
async fn up_to_date(pool: &SqlitePool) -> Done<()> {
    let migrations = sqlx::migrate!();
    for _ in 0..20 {
        match migrations.run(pool).await {
            Err(MigrateError::Execute(_) | MigrateError::ExecuteMigration(..)) => {
                tokio::time::sleep(Duration::from_millis(50)).await;
            }
            done => return Ok(done?),
        }
    }
    Ok(migrations.run(pool).await?)
}

/// The number after `base`, which must be the newest.
async fn next(write: &mut Transaction<'static, Sqlite>, slug: &str, base: i64) -> Done<i64> {
    let row = sqlx::query("SELECT revision FROM book WHERE slug = ?")
        .bind(slug)
        .fetch_optional(&mut **write)
        .await?;
    let row = row.ok_or_else(|| RecordsError::NoBook(slug.into()))?;
    let current: i64 = row.try_get(0)?;
    if current != base {
        return Err(RecordsError::Stale {
            slug: slug.into(),
            base,
            current,
        });
    }
    Ok(current + 1)
}

/// The number after `base`, and the history's line of `base`.
async fn newest(
    write: &mut Transaction<'static, Sqlite>,
    slug: &str,
    base: i64,
) -> Done<(i64, Entry)> {
    let number = next(write, slug, base).await?;
    Ok((number, found(write, slug, base).await?.entry))
}

async fn found(
    write: &mut Transaction<'static, Sqlite>,
    slug: &str,
    number: i64,
) -> Done<Revision> {
    let found = find(&mut **write, slug, number).await?;
    found.ok_or_else(|| no_revision(slug, number))
}

async fn find<'e>(at: impl SqliteExecutor<'e>, slug: &str, number: i64) -> Done<Option<Revision>> {
    let row = sqlx::query("SELECT * FROM revision WHERE slug = ? AND number = ?")
        .bind(slug)
        .bind(number)
        .fetch_optional(at)
        .await?;
    let read = |row: SqliteRow| {
        Ok(Revision {
            entry: entry(&row)?,
            text: row.try_get("text")?,
        })
    };
    row.map(read).transpose()
}

fn no_revision(slug: &str, number: i64) -> RecordsError {
    RecordsError::NoRevision {
        slug: slug.into(),
        number,
    }
}

async fn point(
    write: &mut Transaction<'static, Sqlite>,
    slug: &str,
    name: &str,
    number: i64,
) -> Done<()> {
    sqlx::query("UPDATE book SET name = ?, revision = ? WHERE slug = ?")
        .bind(name)
        .bind(number)
        .bind(slug)
        .execute(&mut **write)
        .await?;
    Ok(())
}

async fn insert(
    write: &mut Transaction<'static, Sqlite>,
    slug: &str,
    (number, before, again): (i64, Option<i64>, Option<i64>),
    note: &Note,
    text: &str,
) -> Done<()> {
    sqlx::query(
        "INSERT INTO revision (slug, number, before, again, at, who, why, words, text) \
         VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
    )
    .bind(slug)
    .bind(number)
    .bind(before)
    .bind(again)
    .bind(note.at)
    .bind(&note.who)
    .bind(&note.why)
    .bind(words(note))
    .bind(text)
    .execute(&mut **write)
    .await?;
    Ok(())
}

/// The sentences of a note, each on a line of its own.
fn words(note: &Note) -> String {
    let one_line = |sentence: &String| sentence.lines().collect::<Vec<_>>().join(" ");
    let sentences = note.words.iter().map(one_line);
    let sentences: Vec<String> = sentences.filter(|s| !s.is_empty()).collect();
    sentences.join("\n")
}

fn kept(row: &SqliteRow) -> Done<Kept> {
    Ok(Kept {
        slug: row.try_get("slug")?,
        name: row.try_get("name")?,
        revision: row.try_get("revision")?,
        at: row.try_get("at")?,
    })
}

fn entry(row: &SqliteRow) -> Done<Entry> {
    let words: String = row.try_get("words")?;
    Ok(Entry {
        number: row.try_get("number")?,
        before: row.try_get("before")?,
        again: row.try_get("again")?,
        note: Note {
            who: row.try_get("who")?,
            at: row.try_get("at")?,
            why: row.try_get("why")?,
            words: words.lines().map(String::from).collect(),
        },
    })
}
