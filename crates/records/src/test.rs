//! Tests: sheets of readings, from the day they are begun until the book rests on them.

use crate::audit::{By, tell};
use crate::model::RecordsError;
use crate::place::Records;
use crate::store::{Done, Row, Write};

/// A department's test by its number.
const TEST: &str = "SELECT id, slug, revision, kind, subject, title, date, pitot_tip, state, \
                    accepted, at, who FROM test WHERE id = $1 AND slug = $2";

/// A test to begin.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct NewTest {
    /// What it is to find, by the word of [`study::proof::Subject::words`]: "hose".
    pub kind: String,
    /// The line, hose, nozzle, pump or hydrant, by its name in the book.
    pub subject: String,
    /// What people call that.
    pub title: String,
    /// The day of it, as "2026-05-11".
    pub date: String,
    /// The solid tip on which pitot pressures are read, by its name in the book.
    pub pitot_tip: Option<String>,
}

/// A test.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Test {
    /// Its number.
    pub id: i64,
    /// The book.
    pub slug: String,
    /// The book's newest revision when it was begun.
    pub revision: i64,
    /// What was said when it was begun.
    pub new: NewTest,
    /// How far it has come.
    pub stage: Stage,
    /// Who began it, and when.
    pub by: By,
}

/// How far a test has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stage {
    /// Readings are entered.
    Open,
    /// No more are.
    Closed,
    /// A revision of the book rests on it, and its readings stay as they are.
    Accepted {
        /// The revision that took its result in, last.
        revision: i64,
    },
}

impl Stage {
    /// The word for it.
    pub fn word(self) -> &'static str {
        match self {
            Stage::Open => "open",
            Stage::Closed => "closed",
            Stage::Accepted { .. } => "accepted",
        }
    }

    fn of(row: &Row) -> Done<Self> {
        let (word, accepted): (String, Option<i64>) = (row.get("state")?, row.get("accepted")?);
        match (word.as_str(), accepted) {
            ("open", _) => Ok(Stage::Open),
            ("closed", _) => Ok(Stage::Closed),
            ("accepted", Some(revision)) => Ok(Stage::Accepted { revision }),
            _ => Err(RecordsError::Word(word)),
        }
    }
}

impl Records {
    /// Begins a test on a book's newest revision; gives its number.
    ///
    /// # Errors
    /// [`RecordsError::NoBook`].
    pub async fn begin_test(&self, slug: &str, new: &NewTest, by: &By) -> Done<i64> {
        let mut write = self.store.write().await?;
        let id = begin(&mut write, slug, new, by).await?;
        write.commit().await?;
        Ok(id)
    }

    /// A department's tests, the latest first.
    ///
    /// # Errors
    /// [`RecordsError::Database`].
    pub async fn tests(&self, slug: &str, at_most: i64) -> Done<Vec<Test>> {
        self.tests_before(slug, i64::MAX, at_most).await
    }

    /// A department's tests with a number below `before`, the latest first: the next page
    /// of a list that ended with that number.
    ///
    /// # Errors
    /// [`RecordsError::Database`].
    pub async fn tests_before(&self, slug: &str, before: i64, at_most: i64) -> Done<Vec<Test>> {
        let sql = "SELECT id, slug, revision, kind, subject, title, date, pitot_tip, state, \
                   accepted, at, who FROM test \
                   WHERE slug = $1 AND id < $2 ORDER BY id DESC LIMIT $3";
        let values = [slug.into(), before.into(), at_most.into()];
        let rows = self.store.all(sql, &values).await?;
        rows.iter().map(test).collect()
    }

    /// A department's tests of a day, as "2026-05-11", in the order in which they were begun.
    ///
    /// # Errors
    /// [`RecordsError::Database`].
    pub async fn tests_of_day(&self, slug: &str, date: &str) -> Done<Vec<Test>> {
        let sql = "SELECT id, slug, revision, kind, subject, title, date, pitot_tip, state, \
                   accepted, at, who FROM test WHERE slug = $1 AND date = $2 ORDER BY id";
        let rows = self.store.all(sql, &[slug.into(), date.into()]).await?;
        rows.iter().map(test).collect()
    }

    /// A department's test by its number.
    ///
    /// # Errors
    /// [`RecordsError::NoTest`], for a test of another department too.
    pub async fn test(&self, slug: &str, id: i64) -> Done<Test> {
        let row = self.store.one(TEST, &[id.into(), slug.into()]).await?;
        test(&row.ok_or(RecordsError::NoTest(id))?)
    }

    /// Says the title, the day or the pitot's tip of an open test anew. What it is about
    /// stays: for that, another is begun.
    ///
    /// # Errors
    /// [`RecordsError::NoTest`]; [`RecordsError::Closed`]; [`RecordsError::Accepted`].
    pub async fn amend_test(&self, slug: &str, id: i64, new: &NewTest, by: &By) -> Done<()> {
        let mut write = self.store.write().await?;
        takes_readings(&held(&mut write, slug, id).await?)?;
        let sql = "UPDATE test SET title = $1, date = $2, pitot_tip = $3 WHERE id = $4";
        let tip = new.pitot_tip.as_deref();
        let values = [
            (&new.title).into(),
            (&new.date).into(),
            tip.into(),
            id.into(),
        ];
        write.run(sql, &values).await?;
        let about = format!(
            "test {id}: {}, {}, pitot tip {}",
            new.title,
            new.date,
            tip.unwrap_or("none")
        );
        let by = (by.who.as_str(), by.at);
        tell(&mut write, by, Some(slug), "test amended", &about).await?;
        write.commit().await
    }

    /// Closes a test: it takes no more readings, so that what is reckoned from it stays
    /// true. One that is closed stays so.
    ///
    /// # Errors
    /// [`RecordsError::NoTest`]; [`RecordsError::Accepted`].
    pub async fn close_test(&self, slug: &str, id: i64, by: &By) -> Done<()> {
        self.put(slug, id, Stage::Closed, by).await
    }

    /// Opens a closed test again.
    ///
    /// # Errors
    /// [`RecordsError::NoTest`]; [`RecordsError::Accepted`].
    pub async fn reopen_test(&self, slug: &str, id: i64, by: &By) -> Done<()> {
        self.put(slug, id, Stage::Open, by).await
    }

    async fn put(&self, slug: &str, id: i64, stage: Stage, by: &By) -> Done<()> {
        let mut write = self.store.write().await?;
        let now = held(&mut write, slug, id).await?;
        if let Stage::Accepted { revision } = now.stage {
            return Err(RecordsError::Accepted { test: id, revision });
        }
        if now.stage == stage {
            return Ok(());
        }
        let sql = "UPDATE test SET state = $1 WHERE id = $2";
        write.run(sql, &[stage.word().into(), id.into()]).await?;
        let what = match stage {
            Stage::Open => "test opened again",
            _ => "test closed",
        };
        let about = format!("test {id}: {}", now.new.title);
        let by = (by.who.as_str(), by.at);
        tell(&mut write, by, Some(slug), what, &about).await?;
        write.commit().await
    }
}

/// Begins a test, which is kept if `write` is.
pub(crate) async fn begin(write: &mut Write, slug: &str, new: &NewTest, by: &By) -> Done<i64> {
    let newest = "SELECT revision FROM book WHERE slug = $1";
    let newest = write.one(newest, &[slug.into()]).await?;
    let newest = newest.ok_or_else(|| RecordsError::NoBook(slug.into()))?;
    let sql = "INSERT INTO test (slug, revision, kind, subject, title, date, pitot_tip, at, who) \
               VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9) RETURNING id";
    let values = [
        slug.into(),
        newest.get::<i64>("revision")?.into(),
        (&new.kind).into(),
        (&new.subject).into(),
        (&new.title).into(),
        (&new.date).into(),
        new.pitot_tip.as_deref().into(),
        by.at.into(),
        (&by.who).into(),
    ];
    let id = write.id(sql, &values).await?;
    let about = format!("test {id}: {}", new.title);
    let by = (by.who.as_str(), by.at);
    tell(write, by, Some(slug), "test begun", &about).await?;
    Ok(id)
}

/// A department's test as it stays until `write` is done.
pub(crate) async fn held(write: &mut Write, slug: &str, id: i64) -> Done<Test> {
    let row = write.hold(TEST, &[id.into(), slug.into()]).await?;
    test(&row.ok_or(RecordsError::NoTest(id))?)
}

/// Refuses unless the test is open.
pub(crate) fn takes_readings(test: &Test) -> Done<()> {
    let id = test.id;
    match test.stage {
        Stage::Open => Ok(()),
        Stage::Closed => Err(RecordsError::Closed(id)),
        Stage::Accepted { revision } => Err(RecordsError::Accepted { test: id, revision }),
    }
}

fn test(row: &Row) -> Done<Test> {
    let who: String = row.get("who")?;
    Ok(Test {
        id: row.get("id")?,
        slug: row.get("slug")?,
        revision: row.get("revision")?,
        new: NewTest {
            kind: row.get("kind")?,
            subject: row.get("subject")?,
            title: row.get("title")?,
            date: row.get("date")?,
            pitot_tip: row.get("pitot_tip")?,
        },
        stage: Stage::of(row)?,
        by: By::new(&who, row.get("at")?),
    })
}
