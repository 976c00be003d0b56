//! Killing the process with -9 in the middle of 200 saves loses no save that was
//! answered. The test starts itself a second time as the process that is killed.
#![cfg(unix)]
#![allow(clippy::unwrap_used)]

use records::{Note, Records};
use std::io::{BufRead, BufReader, Write};
use std::os::unix::process::ExitStatusExt;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Duration;

const SAVES: i64 = 200;
const SLUG: &str = "bend";
const FILE: &str = "HANDLINE_TEST_KILLED_FILE";
const NAME: &str = "killed_with_9_amid_200_saves_no_answered_save_is_lost";

/// The text of a revision: some 20 kB, so that a save is several pages.
fn text(number: i64) -> String {
    format!("# revision {number}\r\n").repeat(1_000)
}

#[tokio::test]
async fn killed_with_9_amid_200_saves_no_answered_save_is_lost() {
    if let Some(file) = std::env::var_os(FILE) {
        return save_and_answer(Path::new(&file)).await;
    }
    let mut seed = 4_u64;
    for after in [1, 7, 30, 64, 99, 131, 170, 190] {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("books.db");
        let answered = kill_amid_saves(&file, after, Duration::from_micros(seed >> 52));
        assert!(
            answered >= after,
            "killed after {after}, answered {answered}"
        );
        assert!(answered < SAVES, "all saves were done before the kill");
        nothing_is_lost(&file, answered).await;
    }
}

/// The process that is killed: says each number once its save has returned.
async fn save_and_answer(file: &Path) {
    let records = Records::open(file).await.unwrap();
    let note = Note::default();
    let mut number = records.create(SLUG, "Bend", &text(1), &note).await.unwrap();
    answer(number);
    while number < SAVES {
        let next = text(number + 1);
        number = records
            .save(SLUG, number, "Bend", &next, &note)
            .await
            .unwrap();
        answer(number);
    }
}

fn answer(number: i64) {
    let mut out = std::io::stdout();
    writeln!(out, "\nsaved {number}.").unwrap();
    out.flush().unwrap();
}

/// Starts the saves, kills `wait` after the answer to save `after`, and gives the
/// last number answered.
fn kill_amid_saves(file: &Path, after: i64, wait: Duration) -> i64 {
    let mut child = Command::new(std::env::current_exe().unwrap())
        .args(["--exact", NAME, "--nocapture"])
        .env(FILE, file)
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let lines = BufReader::new(child.stdout.take().unwrap()).lines();
    let mut answered = lines.filter_map(|line| {
        let line = line.unwrap();
        line.strip_prefix("saved ")?.strip_suffix('.')?.parse().ok()
    });
    let seen: Option<i64> = answered.find(|number| *number == after);
    std::thread::sleep(wait);
    child.kill().unwrap();
    let last = answered.last().or(seen);
    assert_eq!(child.wait().unwrap().signal(), Some(9), "it was not killed");
    last.unwrap()
}

async fn nothing_is_lost(file: &Path, answered: i64) {
    let records = Records::open(file).await.unwrap();
    let newest = records.newest(SLUG).await.unwrap();
    assert!(
        newest == answered || newest == answered + 1,
        "{newest}, {answered} answered"
    );
    for number in 1..=newest {
        let kept = records.revision(SLUG, number).await.unwrap();
        assert!(
            kept.text == text(number),
            "revision {number} has another text"
        );
    }
    let numbers = records.history(SLUG, SAVES).await.unwrap();
    assert_eq!(i64::try_from(numbers.len()).unwrap(), newest);
    assert_eq!(integrity(file).await, "ok");
    let note = Note::default();
    let next = records
        .save(SLUG, newest, "Bend", "goes on", &note)
        .await
        .unwrap();
    assert_eq!(next, newest + 1);
}

/// SQLite's own look over the whole file.
async fn integrity(file: &Path) -> String {
    let options = sqlx::sqlite::SqliteConnectOptions::new().filename(file);
    let pool = sqlx::SqlitePool::connect_with(options).await.unwrap();
    let found = sqlx::query_scalar("PRAGMA integrity_check");
    found.fetch_one(&pool).await.unwrap()
}
