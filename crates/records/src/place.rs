//! Where records are kept.

use crate::address::Address;
use crate::model::{RecordsError, of_sqlite};
use crate::store::{Done, Store};
use sqlx::migrate::{MigrateError, Migrator};
use sqlx::postgres::{PgConnectOptions, PgConnection, PgPoolOptions};
use sqlx::sqlite::{
    SqliteConnectOptions, SqliteJournalMode, SqlitePool, SqlitePoolOptions, SqliteSynchronous,
};
use sqlx::{Connection as _, Error};
use std::io::ErrorKind;
use std::path::Path;
use std::time::Duration;
use tokio::time::Instant;

static IN_SQLITE: Migrator = sqlx::migrate!("migrations/sqlite");
static IN_POSTGRES: Migrator = sqlx::migrate!("migrations/postgres");

/// Who comes second waits so long for who is writing.
const PATIENCE: Duration = Duration::from_secs(10);

/// Until it looks again.
const A_MOMENT: Duration = Duration::from_millis(50);

/// The records of departments: books with their revisions, and all that goes with them.
#[derive(Debug, Clone)]
pub struct Records {
    pub(crate) store: Store,
}

impl Records {
    /// Opens the records in a SQLite `file`, which is made if it is not there.
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
            .busy_timeout(PATIENCE);
        let pool = opened(&options).await?;
        Records::up_to_date(Store::Sqlite(pool)).await
    }

    /// Opens the records at an [`Address`]: "postgres://USER@HOST/DATABASE", "sqlite:PATH"
    /// or a path. A SQLite file is made if it is not there; a PostgreSQL database must be
    /// there, and gets its tables.
    ///
    /// # Errors
    /// [`RecordsError::Address`] when it is no address; [`RecordsError`] when nothing
    /// answers there, or what is there are no records.
    pub async fn at(address: &str) -> Done<Self> {
        Records::in_place(&address.parse()?).await
    }

    /// As [`Records::at`].
    ///
    /// # Errors
    /// As [`Records::at`].
    pub async fn in_place(address: &Address) -> Done<Self> {
        match address {
            Address::File(path) => Records::open(path).await,
            Address::Server(options) => Records::on(options).await,
        }
    }

    async fn on(options: &PgConnectOptions) -> Done<Self> {
        let options = options.clone().application_name("handline").options([
            // A save that was answered outlives a power cut.
            ("synchronous_commit", "on"),
            ("lock_timeout", "10s"),
        ]);
        // A pool would try until its time is over, and then not say why.
        let first = PgConnection::connect_with(&options).await;
        first.map_err(refused)?.close().await?;
        let pool = PgPoolOptions::new()
            .max_connections(8)
            .acquire_timeout(PATIENCE)
            .connect_with(options)
            .await?;
        Records::up_to_date(Store::Postgres(pool)).await
    }

    /// Several programs may open new records at once: who comes second finds the tables
    /// half made, and looks again.
    async fn up_to_date(store: Store) -> Done<Self> {
        for _ in 0..20 {
            match migrated(&store).await {
                Err(MigrateError::Execute(_) | MigrateError::ExecuteMigration(..)) => {
                    tokio::time::sleep(A_MOMENT).await;
                }
                done => return Ok(done.map(|()| Records { store })?),
            }
        }
        migrated(&store).await?;
        Ok(Records { store })
    }
}

/// While somebody else writes in a file that is not yet kept with a log of its own (which is
/// so when several open new records at once), SQLite does not wait, but says at once that it
/// is locked. So the waiting is done here.
async fn opened(options: &SqliteConnectOptions) -> Result<SqlitePool, Error> {
    let until = Instant::now() + PATIENCE;
    loop {
        let pool = SqlitePoolOptions::new().max_connections(4);
        match pool.connect_with(options.clone()).await {
            Err(told) if is_locked(&told) && Instant::now() < until => {
                tokio::time::sleep(A_MOMENT).await;
            }
            done => return done,
        }
    }
}

fn is_locked(error: &Error) -> bool {
    let code = error.as_database_error().and_then(|told| told.code());
    code.and_then(|code| of_sqlite(&code)) == Some(5)
}

/// Encryption is asked for by us, or by an address: so say how to go on.
fn refused(error: Error) -> RecordsError {
    match error {
        Error::Tls(why) => RecordsError::Encryption(why.to_string()),
        // What is wrong with a certificate comes this way.
        Error::Io(why) if why.kind() == ErrorKind::InvalidData => {
            RecordsError::Encryption(why.to_string())
        }
        other => other.into(),
    }
}

async fn migrated(store: &Store) -> Result<(), MigrateError> {
    match store {
        Store::Sqlite(pool) => IN_SQLITE.run(pool).await,
        Store::Postgres(pool) => IN_POSTGRES.run(pool).await,
    }
}
