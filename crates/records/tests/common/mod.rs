//! Empty records for a test, in either database.
#![allow(dead_code, clippy::unwrap_used, clippy::panic)]

use records::Records;
use std::io::{BufRead, BufReader};
use std::os::unix::fs::MetadataExt;
use std::process::{Child, Command, Stdio};
use std::sync::OnceLock;
use std::sync::atomic::{AtomicUsize, Ordering};
use tempfile::TempDir;

/// Tells each story on both databases: `on_both!(one, other)`. A story that is left out
/// is code that nobody calls, and the compiler says so.
#[macro_export]
macro_rules! on_both {
    ($($story:ident),* $(,)?) => {$(
        mod $story {
            #[tokio::test(flavor = "multi_thread", worker_threads = 4)]
            async fn on_sqlite() {
                super::$story($crate::common::Place::sqlite()).await;
            }

            #[tokio::test(flavor = "multi_thread", worker_threads = 4)]
            async fn on_postgres() {
                super::$story($crate::common::Place::postgres()).await;
            }
        }
    )*};
}

/// Where the records of one test are.
pub struct Place {
    pub address: String,
    /// Of a SQLite file.
    folder: Option<TempDir>,
}

impl Place {
    pub fn sqlite() -> Place {
        let folder = tempfile::tempdir().unwrap();
        Place {
            address: format!("sqlite:{}", folder.path().join("books.db").display()),
            folder: Some(folder),
        }
    }

    /// A database that no other test has, on the server of this test program.
    pub fn postgres() -> Place {
        static NEXT: AtomicUsize = AtomicUsize::new(1);
        let base = format!("test_{}", NEXT.fetch_add(1, Ordering::Relaxed));
        let socket = &server().socket;
        let made = Command::new("psql")
            .args(["-q", "-h", socket, "-U", "handline", "-d", "postgres", "-c"])
            .arg(format!("CREATE DATABASE {base}"))
            .output()
            .unwrap();
        assert!(made.status.success(), "{made:?}");
        Place {
            address: format!("postgres://handline@localhost/{base}?host={socket}"),
            folder: None,
        }
    }

    /// Another one, empty, in the same kind of database.
    pub fn another(&self) -> Place {
        match self.folder {
            Some(_) => Place::sqlite(),
            None => Place::postgres(),
        }
    }

    /// A place in the other kind of database.
    pub fn other_kind(&self) -> Place {
        match self.folder {
            Some(_) => Place::postgres(),
            None => Place::sqlite(),
        }
    }

    pub async fn records(&self) -> Records {
        Records::at(&self.address).await.unwrap()
    }

    /// What the database says to a statement past the records.
    pub async fn refuses(&self, statement: &'static str) -> String {
        let done = match self.address.strip_prefix("sqlite:") {
            Some(file) => {
                let options = sqlx::sqlite::SqliteConnectOptions::new().filename(file);
                let pool = sqlx::SqlitePool::connect_with(options).await.unwrap();
                sqlx::query(statement).execute(&pool).await.map(drop)
            }
            None => {
                let pool = sqlx::PgPool::connect(&self.address).await.unwrap();
                sqlx::query(statement).execute(&pool).await.map(drop)
            }
        };
        done.unwrap_err().to_string()
    }

    /// Past the records, as another program might.
    pub async fn meddle(&self, statements: &[&'static str]) {
        for statement in statements {
            match self.address.strip_prefix("sqlite:") {
                Some(file) => {
                    let options = sqlx::sqlite::SqliteConnectOptions::new().filename(file);
                    let pool = sqlx::SqlitePool::connect_with(options).await.unwrap();
                    sqlx::query(*statement).execute(&pool).await.unwrap();
                    pool.close().await;
                }
                None => {
                    let pool = sqlx::PgPool::connect(&self.address).await.unwrap();
                    sqlx::query(*statement).execute(&pool).await.unwrap();
                    pool.close().await;
                }
            }
        }
    }
}

/// A PostgreSQL that lasts as long as this test program holds its input open.
struct Server {
    socket: String,
    _held: Child,
}

fn server() -> &'static Server {
    static SERVER: OnceLock<Server> = OnceLock::new();
    SERVER.get_or_init(|| {
        let mut held = script()
            .current_dir("/tmp")
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(log())
            .spawn()
            .unwrap();
        let mut socket = String::new();
        let out = held.stdout.take().unwrap();
        BufReader::new(out).read_line(&mut socket).unwrap();
        let socket = socket.trim().to_string();
        assert!(
            !socket.is_empty(),
            "no PostgreSQL could be started; these tests need Debian's package postgresql"
        );
        Server {
            socket,
            _held: held,
        }
    })
}

/// PostgreSQL refuses to run as root, and does as the user that Debian made for it.
fn script() -> Command {
    let text = include_str!("postgres.sh");
    let root = std::fs::metadata("/proc/self").unwrap().uid() == 0;
    let mut command = Command::new(if root { "runuser" } else { "sh" });
    if root {
        command.args(["-u", "postgres", "--", "sh"]);
    }
    command.args(["-c", text]);
    command
}

fn log() -> Stdio {
    match std::env::var_os("HANDLINE_TEST_POSTGRES_LOG") {
        Some(path) => std::fs::File::create(path).unwrap().into(),
        None => Stdio::null(),
    }
}
