//! Killing the process with -9 in the middle of 200 saves loses no save that was
//! answered, on either database. The test starts itself a second time as the process that
//! is killed.
#![cfg(unix)]
#![allow(clippy::unwrap_used)]

mod common;

use common::Place;
use records::{Note, Records};
use std::io::{BufRead, BufReader, Write};
use std::os::unix::process::ExitStatusExt;
use std::process::{Command, Stdio};
use std::time::Duration;

const SAVES: i64 = 200;
const SLUG: &str = "bend";
const ADDRESS: &str = "HANDLINE_TEST_KILLED_ADDRESS";

/// The text of a revision: some 20 kB, so that a save is several pages.
fn text(number: i64) -> String {
    format!("# revision {number}\r\n").repeat(1_000)
}

async fn killed_with_9_amid_200_saves_no_answered_save_is_lost(place: Place) {
    let mut seed = 4_u64;
    for after in [1, 7, 30, 64, 99, 131, 170, 190] {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
        let place = place.another();
        let answered = kill_amid_saves(&place, after, Duration::from_micros(seed >> 52));
        assert!(
            answered >= after,
            "killed after {after}, answered {answered}"
        );
        assert!(answered < SAVES, "all saves were done before the kill");
        nothing_is_lost(&place, answered).await;
    }
}

on_both!(killed_with_9_amid_200_saves_no_answered_save_is_lost);

/// What the test starts a second time; by itself it does nothing.
#[tokio::test]
async fn the_process_that_is_killed() {
    if let Ok(address) = std::env::var(ADDRESS) {
        save_and_answer(&address).await;
    }
}

/// The process that is killed: says each number once its save has returned.
async fn save_and_answer(address: &str) {
    let records = Records::at(address).await.unwrap();
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
fn kill_amid_saves(place: &Place, after: i64, wait: Duration) -> i64 {
    let mut child = Command::new(std::env::current_exe().unwrap())
        .args(["--exact", "the_process_that_is_killed", "--nocapture"])
        .env(ADDRESS, &place.address)
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

async fn nothing_is_lost(place: &Place, answered: i64) {
    let records = place.records().await;
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
    // What was written together is there together.
    let trail = records.audit(SLUG, SAVES).await.unwrap();
    assert_eq!(i64::try_from(trail.len()).unwrap(), newest);
    if let Some(file) = place.address.strip_prefix("sqlite:") {
        assert_eq!(integrity(file).await, "ok");
    }
    let note = Note::default();
    let next = records
        .save(SLUG, newest, "Bend", "goes on", &note)
        .await
        .unwrap();
    assert_eq!(next, newest + 1);
}

/// SQLite's own look over the whole file.
async fn integrity(file: &str) -> String {
    let options = sqlx::sqlite::SqliteConnectOptions::new().filename(file);
    let pool = sqlx::SqlitePool::connect_with(options).await.unwrap();
    let found = sqlx::query_scalar("PRAGMA integrity_check");
    found.fetch_one(&pool).await.unwrap()
}
