//! From one database to another: moving, backing up, restoring.

use crate::model::RecordsError;
use crate::place::Records;
use crate::store::{Done, Store, Value, Write};
use crate::tables::{TABLES, Table};
use futures_util::TryStreamExt;
use sqlx::AssertSqlSafe;
use std::path::Path;

/// How many rows a table has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Counted {
    /// The table.
    pub table: &'static str,
    /// Its rows.
    pub rows: i64,
}

impl Records {
    /// Copies everything into `other`, which must be empty: all of it or nothing. What is
    /// copied is what was here at one moment; whoever goes on saving here afterwards saves
    /// into the old records. Gives what was copied, counted on both sides.
    ///
    /// # Errors
    /// [`RecordsError::NotEmpty`]; [`RecordsError::Miscounted`] when a table came out with
    /// another number of rows, and then nothing is kept there.
    pub async fn move_to(&self, other: &Records) -> Done<Vec<Counted>> {
        let mut from = self.store.read().await?;
        let mut to = other.store.write().await?;
        for table in TABLES {
            if count(&mut to, table).await?.rows > 0 {
                return Err(RecordsError::NotEmpty(table.name));
            }
        }
        let mut counted = Vec::new();
        for table in TABLES {
            copy(&mut from, &mut to, table).await?;
            counted.push(same_count(&mut from, &mut to, table).await?);
        }
        to.commit().await?;
        Ok(counted)
    }

    /// How many rows each table has.
    ///
    /// # Errors
    /// [`RecordsError::Database`].
    pub async fn counts(&self) -> Done<Vec<Counted>> {
        let mut read = self.store.read().await?;
        let mut counted = Vec::new();
        for table in TABLES {
            counted.push(count(&mut read, table).await?);
        }
        Ok(counted)
    }

    /// Writes everything into a new SQLite `file`, whole and at rest: it can be carried
    /// off, [restored](Records::restore), or opened as records. Others may go on saving.
    ///
    /// # Errors
    /// [`RecordsError::File`] when the file is there already, or damaged.
    pub async fn backup(&self, file: &Path) -> Done<Vec<Counted>> {
        if file.exists() {
            return Err(in_file(file, "it is there already; give another name"));
        }
        let written = self.written(file).await;
        if written.is_err() {
            // What is half written would pass for a backup.
            let _ = std::fs::remove_file(file);
        }
        written
    }

    async fn written(&self, file: &Path) -> Done<Vec<Counted>> {
        if let Store::Sqlite(pool) = &self.store {
            let vacuum = sqlx::query("VACUUM INTO $1").bind(file.display().to_string());
            vacuum.execute(pool).await?;
        }
        let copy = Records::open(file).await?;
        if let Store::Postgres(_) = &self.store {
            self.move_to(&copy).await?;
        }
        let counted = copy.counts().await?;
        copy.sound(file).await?;
        copy.close().await;
        Ok(counted)
    }

    /// Copies everything out of a [backup](Records::backup) into these records, which must
    /// be empty. The backup itself is not touched; it may be of an earlier version.
    ///
    /// # Errors
    /// [`RecordsError::File`] when it cannot be read or there is nothing in it;
    /// [`RecordsError::NotEmpty`].
    pub async fn restore(&self, file: &Path) -> Done<Vec<Counted>> {
        let unread = |error: std::io::Error| in_file(file, &error.to_string());
        let folder = tempfile::tempdir().map_err(unread)?;
        let copy = folder.path().join("backup.sqlite");
        std::fs::copy(file, &copy).map_err(unread)?;
        let backup = Records::open(&copy).await?;
        backup.sound(file).await?;
        if backup.counts().await?.iter().all(|table| table.rows == 0) {
            return Err(in_file(file, "there is nothing in it"));
        }
        let counted = backup.move_to(self).await?;
        backup.close().await;
        Ok(counted)
    }

    /// SQLite's own look over the whole of `file`.
    async fn sound(&self, file: &Path) -> Done<()> {
        let Store::Sqlite(pool) = &self.store else {
            return Ok(());
        };
        let found: String = sqlx::query_scalar("PRAGMA integrity_check")
            .fetch_one(pool)
            .await?;
        match found.as_str() {
            "ok" => Ok(()),
            wrong => Err(in_file(file, &format!("it is damaged: {wrong}"))),
        }
    }

    /// Lets go of the database once what is under way is done. A SQLite file is then whole
    /// by itself.
    pub async fn close(&self) {
        match &self.store {
            Store::Sqlite(pool) => pool.close().await,
            Store::Postgres(pool) => pool.close().await,
        }
    }
}

fn in_file(file: &Path, why: &str) -> RecordsError {
    RecordsError::File {
        file: file.into(),
        why: why.into(),
    }
}

async fn count(at: &mut Write, table: &Table) -> Done<Counted> {
    let row = at.one(AssertSqlSafe(table.count()), &[]).await?;
    let rows = row.ok_or(sqlx::Error::RowNotFound)?.get("rows")?;
    let table = table.name;
    Ok(Counted { table, rows })
}

/// So many rows go over at once, unless they are long. Both databases take several
/// thousand values in a question, and no table has more than twenty columns.
const AT_ONCE: usize = 200;

/// As many bytes of text are held at once, and a row more.
const LONG: usize = 1_000_000;

async fn copy(from: &mut Write, to: &mut Write, table: &Table) -> Done<()> {
    let whole = table.insert(AT_ONCE);
    let (mut values, mut held, mut long) = (Vec::new(), 0, 0);
    let mut rows = from.each(AssertSqlSafe(table.select()));
    while let Some(row) = rows.try_next().await? {
        let row = table.values(&row)?;
        long += row.iter().map(Value::bytes).sum::<usize>();
        values.extend(row);
        held += 1;
        if held == AT_ONCE {
            to.run(AssertSqlSafe(whole.as_str()), &values).await?;
        } else if long > LONG {
            to.run(AssertSqlSafe(table.insert(held)), &values).await?;
        } else {
            continue;
        }
        values.clear();
        (held, long) = (0, 0);
    }
    if held > 0 {
        to.run(AssertSqlSafe(table.insert(held)), &values).await?;
    }
    if let (Write::Postgres(_), Some(sql)) = (&*to, table.go_on_counting()) {
        to.all(AssertSqlSafe(sql), &[]).await?;
    }
    Ok(())
}

async fn same_count(from: &mut Write, to: &mut Write, table: &Table) -> Done<Counted> {
    let (here, there) = (count(from, table).await?, count(to, table).await?);
    match here == there {
        true => Ok(there),
        false => Err(RecordsError::Miscounted {
            table: table.name,
            here: here.rows,
            there: there.rows,
        }),
    }
}
