//! PostgreSQL stopped, killed and started under load: what was answered stays, nothing is
//! there in part, and the records find their way back by themselves. And the way to it
//! encrypted.
#![cfg(target_os = "linux")]
#![allow(clippy::unwrap_used)]

#[path = "common/cluster.rs"]
mod cluster;

use cluster::Cluster;
use records::{By, NewReading, NewTest, Note, Records, RecordsError};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

const BOOKS: [&str; 4] = ["arbour", "bend", "creek", "dune"];

fn text(slug: &str, by: &str, number: i64) -> String {
    format!("# {slug}, {by}, on top of {number}\r\n").repeat(300)
}

/// Saves until `over`; gives each save that was answered, with its text.
async fn saves(records: Records, slug: &'static str, over: Arc<AtomicBool>) -> Vec<(i64, String)> {
    let note = Note::default();
    let mut answered = Vec::new();
    let mut refused = 0;
    while !over.load(Ordering::Relaxed) {
        let Ok(base) = records.newest(slug).await else {
            continue;
        };
        let next = text(slug, &format!("try {refused}"), base);
        match records.save(slug, base, slug, &next, &note).await {
            Ok(number) => answered.push((number, next)),
            // The one before was saved after all, and its answer lost.
            Err(RecordsError::Stale { .. }) => {}
            Err(error) => {
                assert!(error.is_away(), "{error:?}");
                refused += 1;
            }
        }
    }
    answered
}

/// Enters readings until `over`, each until it is answered, under the same token; gives
/// their numbers with their tokens.
async fn readings(records: Records, test: i64, over: Arc<AtomicBool>) -> Vec<(i64, String)> {
    let by = By::new("Tester", 1_790_000_000);
    let mut answered = Vec::new();
    for n in 0.. {
        let token = format!("form {n}");
        let new = NewReading {
            token: token.clone(),
            point: n,
            value: Some(6_894.757),
            written: "1 psi".into(),
            ..NewReading::default()
        };
        loop {
            match records.read("bend", test, &new, &by).await {
                Ok(id) => break answered.push((id, token)),
                Err(error) => assert!(error.is_away(), "{error:?}"),
            }
        }
        if over.load(Ordering::Relaxed) {
            break;
        }
    }
    answered
}

/// Works on the records while `happens` to PostgreSQL, and looks whether all is there.
async fn nothing_is_lost_while(happens: fn(&mut Cluster)) {
    let mut cluster = Cluster::start();
    let records = Records::at(&cluster.address()).await.unwrap();
    let (note, by) = (Note::default(), By::new("Tester", 1_790_000_000));
    for slug in BOOKS {
        records.create(slug, slug, "first", &note).await.unwrap();
    }
    let test = records.begin_test("bend", &NewTest::default(), &by).await;
    let test = test.unwrap();
    let over = Arc::new(AtomicBool::new(false));
    let work = BOOKS.map(|slug| tokio::spawn(saves(records.clone(), slug, over.clone())));
    let tester = tokio::spawn(readings(records.clone(), test, over.clone()));
    let cluster = tokio::task::spawn_blocking(move || {
        for _ in 0..3 {
            std::thread::sleep(Duration::from_millis(400));
            happens(&mut cluster);
        }
        std::thread::sleep(Duration::from_millis(400));
        cluster
    });
    let cluster = cluster.await.unwrap();
    // It is there again, and the records that were open all the while answer soon.
    let start = Instant::now();
    while records.books().await.is_err() {
        assert!(start.elapsed() < Duration::from_secs(10), "they stay away");
    }
    over.store(true, Ordering::Relaxed);
    for (slug, done) in BOOKS.iter().zip(work) {
        every_answered_save_is_there(&records, slug, &done.await.unwrap()).await;
    }
    let sent = tester.await.unwrap();
    assert!(sent.len() > 20, "{} readings", sent.len());
    let kept = records.readings("bend", test).await.unwrap();
    let kept: Vec<_> = kept.into_iter().map(|r| (r.id, r.new.token)).collect();
    assert_eq!(kept, sent, "each is there once");
    drop(cluster);
}

async fn every_answered_save_is_there(records: &Records, slug: &str, answered: &[(i64, String)]) {
    assert!(answered.len() > 5, "{slug}: {} saves", answered.len());
    for (number, text) in answered {
        let kept = records.revision(slug, *number).await.unwrap();
        assert!(kept.text == *text, "{slug}: revision {number}");
    }
    // None is there in part: each revision has its line in the trail, and none is skipped.
    let history = records.history(slug, i64::MAX).await.unwrap();
    let numbers: Vec<i64> = history.iter().rev().map(|entry| entry.number).collect();
    let newest = records.newest(slug).await.unwrap();
    assert_eq!(numbers, (1..=newest).collect::<Vec<_>>());
    let trail = records.audit(slug, i64::MAX).await.unwrap();
    let saved = trail.iter().filter(|deed| deed.what.starts_with("book"));
    assert_eq!(saved.count(), numbers.len());
}

#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn the_server_is_killed_with_9_amid_saves_and_readings() {
    nothing_is_lost_while(|cluster| {
        cluster.tell("kill");
        cluster.tell("start");
    })
    .await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn the_workers_of_the_server_are_killed_with_9_amid_saves_and_readings() {
    nothing_is_lost_while(|cluster| cluster.tell("backend")).await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn the_server_is_restarted_amid_saves_and_readings() {
    nothing_is_lost_while(|cluster| {
        cluster.tell("stop");
        std::thread::sleep(Duration::from_millis(300));
        cluster.tell("start");
    })
    .await;
}

#[tokio::test]
async fn the_way_to_the_server_is_encrypted_and_the_server_proves_its_name() {
    let cluster = Cluster::start();
    let Cluster { folder, port, .. } = &cluster;
    let named = |host: &str, more: &str| {
        format!("postgres://handline@{host}:{port}/handline?sslmode=verify-full{more}")
    };
    let vouched = format!("&sslrootcert={folder}/root.pem");
    // Vouched for by nobody whom we know; and another name than the one vouched for.
    for address in [named("localhost", ""), named("127.0.0.1", &vouched)] {
        let told = Records::at(&address).await.unwrap_err();
        assert!(matches!(told, RecordsError::Encryption(_)), "{told:?}");
    }
    let records = Records::at(&named("localhost", &vouched)).await.unwrap();
    let note = Note::default();
    records.create("bend", "Bend", "text", &note).await.unwrap();
    let open = "SELECT count(*) > 0 AND bool_and(ssl) FROM pg_stat_ssl \
                JOIN pg_stat_activity USING (pid) WHERE application_name = 'handline'";
    assert_eq!(cluster.ask(open), "t");
}
