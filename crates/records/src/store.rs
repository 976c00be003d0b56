//! The two databases, and the one way of asking both.

use crate::model::RecordsError;
use futures_util::stream::{BoxStream, StreamExt, TryStreamExt};
use sqlx::postgres::{PgArguments, PgPool, PgRow};
use sqlx::query::Query;
use sqlx::sqlite::{SqliteArguments, SqlitePool, SqliteRow};
use sqlx::{AssertSqlSafe, Decode, Postgres, Row as _, SqlSafeStr, Sqlite, Transaction, Type};
use std::borrow::Cow;

pub(crate) type Done<T> = Result<T, RecordsError>;

/// The database that holds the records.
#[derive(Debug, Clone)]
pub(crate) enum Store {
    Sqlite(SqlitePool),
    Postgres(PgPool),
}

/// A change under way: all of it is kept when it is [committed](Write::commit), else none.
pub(crate) enum Write {
    Sqlite(Transaction<'static, Sqlite>),
    Postgres(Transaction<'static, Postgres>),
}

/// A row that was found.
pub(crate) enum Row {
    Sqlite(SqliteRow),
    Postgres(PgRow),
}

/// What a question is asked with.
#[derive(Debug, Clone)]
pub(crate) enum Value<'a> {
    Whole(Option<i64>),
    Real(Option<f64>),
    Text(Option<Cow<'a, str>>),
    /// A book's file, kept to the byte.
    File(Cow<'a, str>),
}

/// Asks either database, in its own words for a question with values.
macro_rules! ask {
    ($on:expr, $kind:ident, $at:ident => $with:expr, $sql:expr, $values:expr) => {
        match $on {
            $kind::Sqlite($at) => {
                let rows = in_sqlite($sql, $values).fetch_all($with).await?;
                rows.into_iter().map(Row::Sqlite).collect()
            }
            $kind::Postgres($at) => {
                let rows = in_postgres($sql, $values).fetch_all($with).await?;
                rows.into_iter().map(Row::Postgres).collect()
            }
        }
    };
}

impl Store {
    /// Every row.
    pub async fn all(&self, sql: &'static str, values: &[Value<'_>]) -> Done<Vec<Row>> {
        Ok(ask!(self, Store, pool => pool, sql, values))
    }

    /// The first row, if there is one.
    pub async fn one(&self, sql: &'static str, values: &[Value<'_>]) -> Done<Option<Row>> {
        Ok(self.all(sql, values).await?.into_iter().next())
    }

    /// Begins a change. SQLite takes its lock at once, so that what is read stays true;
    /// in PostgreSQL what must stay true is [held](Write::hold).
    pub async fn write(&self) -> Done<Write> {
        Ok(match self {
            Store::Sqlite(pool) => Write::Sqlite(pool.begin_with("BEGIN IMMEDIATE").await?),
            Store::Postgres(pool) => Write::Postgres(pool.begin().await?),
        })
    }

    /// A look at everything as it is at one moment, while others go on writing.
    pub async fn read(&self) -> Done<Write> {
        const ONE_MOMENT: &str = "BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY";
        Ok(match self {
            Store::Sqlite(pool) => Write::Sqlite(pool.begin().await?),
            Store::Postgres(pool) => Write::Postgres(pool.begin_with(ONE_MOMENT).await?),
        })
    }
}

impl Write {
    /// Every row.
    pub async fn all(&mut self, sql: impl SqlSafeStr, values: &[Value<'_>]) -> Done<Vec<Row>> {
        Ok(ask!(self, Write, at => &mut **at, sql, values))
    }

    /// The first row, if there is one.
    pub async fn one(&mut self, sql: impl SqlSafeStr, values: &[Value<'_>]) -> Done<Option<Row>> {
        Ok(self.all(sql, values).await?.into_iter().next())
    }

    /// Row after row, for more than there is room for.
    pub fn each(&mut self, sql: impl SqlSafeStr) -> BoxStream<'_, Result<Row, sqlx::Error>> {
        match self {
            Write::Sqlite(at) => in_sqlite(sql, &[])
                .fetch(&mut **at)
                .map_ok(Row::Sqlite)
                .boxed(),
            Write::Postgres(at) => in_postgres(sql, &[])
                .fetch(&mut **at)
                .map_ok(Row::Postgres)
                .boxed(),
        }
    }

    /// The first row, as the last change left it, and as it stays until this one is done.
    /// Who comes second waits here.
    pub async fn hold(&mut self, sql: &'static str, values: &[Value<'_>]) -> Done<Option<Row>> {
        match self {
            Write::Sqlite(_) => self.one(sql, values).await,
            Write::Postgres(_) => {
                let held = AssertSqlSafe(format!("{sql} FOR NO KEY UPDATE"));
                self.one(held, values).await
            }
        }
    }

    /// Changes rows; gives how many.
    pub async fn run(&mut self, sql: impl SqlSafeStr, values: &[Value<'_>]) -> Done<u64> {
        Ok(match self {
            Write::Sqlite(at) => {
                let done = in_sqlite(sql, values).execute(&mut **at).await?;
                done.rows_affected()
            }
            Write::Postgres(at) => {
                let done = in_postgres(sql, values).execute(&mut **at).await?;
                done.rows_affected()
            }
        })
    }

    /// Puts a row in; gives the number that it got, by `RETURNING id`.
    pub async fn id(&mut self, sql: &'static str, values: &[Value<'_>]) -> Done<i64> {
        let row = self.one(sql, values).await?;
        row.ok_or(sqlx::Error::RowNotFound)?.get("id")
    }

    /// Keeps the change. Once this returns it outlives the program and a power cut.
    pub async fn commit(self) -> Done<()> {
        Ok(match self {
            Write::Sqlite(at) => at.commit().await?,
            Write::Postgres(at) => at.commit().await?,
        })
    }
}

impl Row {
    /// What stands in a column.
    pub fn get<T>(&self, column: &str) -> Done<T>
    where
        T: for<'r> Decode<'r, Sqlite> + Type<Sqlite>,
        T: for<'r> Decode<'r, Postgres> + Type<Postgres>,
    {
        Ok(match self {
            Row::Sqlite(row) => row.try_get(column)?,
            Row::Postgres(row) => row.try_get(column)?,
        })
    }

    /// A book's file.
    pub fn file(&self, column: &str) -> Done<String> {
        match self {
            Row::Sqlite(row) => Ok(row.try_get(column)?),
            Row::Postgres(row) => {
                let bytes: Vec<u8> = row.try_get(column)?;
                String::from_utf8(bytes)
                    .map_err(|error| sqlx::Error::Decode(Box::new(error)).into())
            }
        }
    }
}

fn in_sqlite<'q>(sql: impl SqlSafeStr, values: &[Value<'_>]) -> Query<'q, Sqlite, SqliteArguments> {
    values
        .iter()
        .fold(sqlx::query(sql), |query, value| match value {
            Value::Whole(number) => query.bind(*number),
            Value::Real(number) => query.bind(*number),
            Value::Text(text) => query.bind(text.as_deref()),
            Value::File(text) => query.bind(&**text),
        })
}

fn in_postgres<'q>(sql: impl SqlSafeStr, values: &[Value<'_>]) -> Query<'q, Postgres, PgArguments> {
    values
        .iter()
        .fold(sqlx::query(sql), |query, value| match value {
            Value::Whole(number) => query.bind(*number),
            Value::Real(number) => query.bind(*number),
            // Its TEXT takes no byte of zero, which says nothing in a name or a remark.
            Value::Text(text) => query.bind(text.as_ref().map(|text| text.replace('\0', ""))),
            Value::File(text) => query.bind(text.as_bytes()),
        })
}

impl Value<'_> {
    /// Its length, where it has one to speak of.
    pub fn bytes(&self) -> usize {
        match self {
            Value::Text(Some(text)) | Value::File(text) => text.len(),
            _ => 0,
        }
    }
}

impl From<i64> for Value<'_> {
    fn from(number: i64) -> Self {
        Value::Whole(Some(number))
    }
}

impl From<Option<i64>> for Value<'_> {
    fn from(number: Option<i64>) -> Self {
        Value::Whole(number)
    }
}

impl From<f64> for Value<'_> {
    fn from(number: f64) -> Self {
        Value::Real(Some(number))
    }
}

impl From<Option<f64>> for Value<'_> {
    fn from(number: Option<f64>) -> Self {
        Value::Real(number)
    }
}

impl<'a> From<&'a str> for Value<'a> {
    fn from(text: &'a str) -> Self {
        Value::Text(Some(text.into()))
    }
}

impl<'a> From<&'a String> for Value<'a> {
    fn from(text: &'a String) -> Self {
        text.as_str().into()
    }
}

impl From<String> for Value<'_> {
    fn from(text: String) -> Self {
        Value::Text(Some(text.into()))
    }
}

impl<'a> From<Option<&'a str>> for Value<'a> {
    fn from(text: Option<&'a str>) -> Self {
        Value::Text(text.map(Cow::from))
    }
}

/// A book's file as a value.
pub(crate) fn file(text: &str) -> Value<'_> {
    Value::File(text.into())
}
