//! Books and their revisions.

use crate::audit::tell;
use crate::model::{Entry, Kept, Note, RecordsError, Revision};
use crate::place::Records;
use crate::store::{Done, Row, Write, file};

/// One revision of a book.
const REVISION: &str = "SELECT number, before, again, at, who, why, words, text \
     FROM revision WHERE slug = $1 AND number = $2";

impl Records {
    /// Every book, by name.
    ///
    /// # Errors
    /// [`RecordsError::Database`].
    pub async fn books(&self) -> Done<Vec<Kept>> {
        let sql = "SELECT book.slug, name, book.revision, at FROM book JOIN revision \
             ON revision.slug = book.slug AND number = book.revision ORDER BY name, book.slug";
        let rows = self.store.all(sql, &[]).await?;
        rows.iter().map(kept).collect()
    }

    /// Puts a new book in: revision 1.
    ///
    /// # Errors
    /// [`RecordsError::Taken`] when there is one of that slug.
    pub async fn create(&self, slug: &str, name: &str, text: &str, note: &Note) -> Done<i64> {
        let mut write = self.store.write().await?;
        begin(&mut write, (slug, name), text, note).await?;
        write.commit().await?;
        Ok(1)
    }

    /// The number of the newest revision.
    ///
    /// # Errors
    /// [`RecordsError::NoBook`].
    pub async fn newest(&self, slug: &str) -> Done<i64> {
        let sql = "SELECT revision FROM book WHERE slug = $1";
        let row = self.store.one(sql, &[slug.into()]).await?;
        row.ok_or_else(|| RecordsError::NoBook(slug.into()))?
            .get("revision")
    }

    /// One revision with its text.
    ///
    /// # Errors
    /// [`RecordsError::NoBook`]; [`RecordsError::NoRevision`].
    pub async fn revision(&self, slug: &str, number: i64) -> Done<Revision> {
        match self
            .store
            .one(REVISION, &[slug.into(), number.into()])
            .await?
        {
            Some(row) => revision(&row),
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
        let sql = "SELECT number FROM revision WHERE slug = $1 AND text = $2 LIMIT 1";
        let found = self.store.one(sql, &[slug.into(), file(text)]).await?;
        Ok(found.is_some())
    }

    /// The history, newest first; empty where there is no such book.
    ///
    /// # Errors
    /// [`RecordsError::Database`].
    pub async fn history(&self, slug: &str, at_most: i64) -> Done<Vec<Entry>> {
        self.history_before(slug, i64::MAX, at_most).await
    }

    /// The history before revision `before`, newest first: the next page of one that ended
    /// with that revision.
    ///
    /// # Errors
    /// [`RecordsError::Database`].
    pub async fn history_before(&self, slug: &str, before: i64, at_most: i64) -> Done<Vec<Entry>> {
        let sql = "SELECT number, before, again, at, who, why, words FROM revision \
             WHERE slug = $1 AND number < $2 ORDER BY number DESC LIMIT $3";
        let values = [slug.into(), before.into(), at_most.into()];
        let rows = self.store.all(sql, &values).await?;
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
        let mut write = self.store.write().await?;
        let number = add(&mut write, slug, base, name, text, note).await?;
        write.commit().await?;
        Ok(number)
    }

    /// Goes back by one change: a new revision with the text before it. `name` is
    /// the department's name in that text.
    ///
    /// # Errors
    /// [`RecordsError::Nothing`] when there is none; [`RecordsError::Stale`].
    pub async fn undo(&self, slug: &str, base: i64, name: &str, note: &Note) -> Done<i64> {
        let mut write = self.store.write().await?;
        let (number, now) = newest(&mut write, slug, base).await?;
        let back = now.before.ok_or(RecordsError::Nothing("undo"))?;
        let before = found(&mut write, slug, back).await?;
        let links = (number, before.entry.before, Some(base));
        insert(&mut write, slug, links, note, &before.text).await?;
        point(&mut write, slug, name, number).await?;
        told(&mut write, slug, number, "change undone", note).await?;
        write.commit().await?;
        Ok(number)
    }

    /// Makes the change again that was undone last. `name` is the department's
    /// name in that text.
    ///
    /// # Errors
    /// [`RecordsError::Nothing`] when there is none; [`RecordsError::Stale`].
    pub async fn redo(&self, slug: &str, base: i64, name: &str, note: &Note) -> Done<i64> {
        let mut write = self.store.write().await?;
        let (number, now) = newest(&mut write, slug, base).await?;
        let again = now.again.ok_or(RecordsError::Nothing("make again"))?;
        let undone = found(&mut write, slug, again).await?;
        let links = (number, Some(base), undone.entry.again);
        insert(&mut write, slug, links, note, &undone.text).await?;
        point(&mut write, slug, name, number).await?;
        told(&mut write, slug, number, "change made again", note).await?;
        write.commit().await?;
        Ok(number)
    }
}

/// Puts a new book in, as a part of `write`.
pub(crate) async fn begin(
    write: &mut Write,
    (slug, name): (&str, &str),
    text: &str,
    note: &Note,
) -> Done<()> {
    let sql = "INSERT INTO book (slug, name, revision) VALUES ($1, $2, 1) \
               ON CONFLICT (slug) DO NOTHING";
    if write.run(sql, &[slug.into(), name.into()]).await? == 0 {
        return Err(RecordsError::Taken(slug.into()));
    }
    insert(write, slug, (1, None, None), note, text).await?;
    told(write, slug, 1, "book added", note).await?;
    Ok(())
}

/// Saves `text` as the revision after `base`, which is kept if `write` is.
pub(crate) async fn add(
    write: &mut Write,
    slug: &str,
    base: i64,
    name: &str,
    text: &str,
    note: &Note,
) -> Done<i64> {
    let number = next(write, slug, base).await?;
    insert(write, slug, (number, Some(base), None), note, text).await?;
    point(write, slug, name, number).await?;
    told(write, slug, number, "book saved", note).await?;
    Ok(number)
}

/// The number after `base`, which must be the newest.
async fn next(write: &mut Write, slug: &str, base: i64) -> Done<i64> {
    let sql = "SELECT revision FROM book WHERE slug = $1";
    let row = write.hold(sql, &[slug.into()]).await?;
    let row = row.ok_or_else(|| RecordsError::NoBook(slug.into()))?;
    let current: i64 = row.get("revision")?;
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
async fn newest(write: &mut Write, slug: &str, base: i64) -> Done<(i64, Entry)> {
    let number = next(write, slug, base).await?;
    Ok((number, found(write, slug, base).await?.entry))
}

async fn found(write: &mut Write, slug: &str, number: i64) -> Done<Revision> {
    let row = write.one(REVISION, &[slug.into(), number.into()]).await?;
    revision(&row.ok_or_else(|| no_revision(slug, number))?)
}

fn revision(row: &Row) -> Done<Revision> {
    Ok(Revision {
        entry: entry(row)?,
        text: row.file("text")?,
    })
}

fn no_revision(slug: &str, number: i64) -> RecordsError {
    RecordsError::NoRevision {
        slug: slug.into(),
        number,
    }
}

async fn point(write: &mut Write, slug: &str, name: &str, number: i64) -> Done<()> {
    let sql = "UPDATE book SET name = $1, revision = $2 WHERE slug = $3";
    write
        .run(sql, &[name.into(), number.into(), slug.into()])
        .await?;
    Ok(())
}

async fn insert(
    write: &mut Write,
    slug: &str,
    (number, before, again): (i64, Option<i64>, Option<i64>),
    note: &Note,
    text: &str,
) -> Done<()> {
    let sql = "INSERT INTO revision (slug, number, before, again, at, who, why, words, text) \
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)";
    let values = [
        slug.into(),
        number.into(),
        before.into(),
        again.into(),
        note.at.into(),
        (&note.who).into(),
        (&note.why).into(),
        words(note).into(),
        file(text),
    ];
    write.run(sql, &values).await?;
    Ok(())
}

/// Into the audit trail.
async fn told(write: &mut Write, slug: &str, number: i64, what: &str, note: &Note) -> Done<()> {
    let (by, about) = ((note.who.as_str(), note.at), format!("revision {number}"));
    tell(write, by, Some(slug), what, &about).await
}

/// The sentences of a note, each on a line of its own.
fn words(note: &Note) -> String {
    let one_line = |sentence: &String| sentence.lines().collect::<Vec<_>>().join(" ");
    let sentences = note.words.iter().map(one_line);
    let sentences: Vec<String> = sentences.filter(|s| !s.is_empty()).collect();
    sentences.join("\n")
}

fn kept(row: &Row) -> Done<Kept> {
    Ok(Kept {
        slug: row.get("slug")?,
        name: row.get("name")?,
        revision: row.get("revision")?,
        at: row.get("at")?,
    })
}

fn entry(row: &Row) -> Done<Entry> {
    let words: String = row.get("words")?;
    Ok(Entry {
        number: row.get("number")?,
        before: row.get("before")?,
        again: row.get("again")?,
        note: Note {
            who: row.get("who")?,
            at: row.get("at")?,
            why: row.get("why")?,
            words: words.lines().map(String::from).collect(),
        },
    })
}
