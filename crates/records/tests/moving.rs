//! From one database to another, and back.
#![allow(clippy::unwrap_used)]

mod common;

use common::Place;
use records::{Counted, NewIssue, Note, Records, RecordsError};

/// Two books with a history, undone in part; odd texts; sheets, one of them withdrawn.
async fn filled(records: &Records) {
    let note = Note {
        who: "Captain".into(),
        at: 1_790_000_000,
        why: "changed".into(),
        words: vec!["left crosslay: 150 to 200 ft".into()],
    };
    records.create("bend", "Bend", "one", &note).await.unwrap();
    let odd = "before\0after\r\n 消防 \u{feff}";
    records.save("bend", 1, "Bend", odd, &note).await.unwrap();
    records.undo("bend", 2, "Bend", &note).await.unwrap();
    records.create("arbour", "Arbour", "", &note).await.unwrap();
    let ids = records
        .issue("bend", &[sheet(1), sheet(2)], 1_790_000_100, "Captain")
        .await
        .unwrap();
    records
        .withdraw(ids[0], 1_790_000_200, "Chief", "burnt")
        .await
        .unwrap();
}

fn sheet(revision: i64) -> NewIssue {
    NewIssue {
        kind: "line-card".into(),
        subject: "left-crosslay".into(),
        title: "Left crosslay".into(),
        units: "us".into(),
        size: "pocket".into(),
        date: "2026-05-11".into(),
        code: format!("invented {revision}"),
        digest: "invented".into(),
        revision,
        told: Vec::new(),
    }
}

/// All that can be read of them.
async fn all(records: &Records) -> String {
    let mut read = format!("{:?}", records.books().await.unwrap());
    for book in records.books().await.unwrap() {
        let history = records.history(&book.slug, 1_000).await.unwrap();
        for entry in &history {
            let revision = records.revision(&book.slug, entry.number).await.unwrap();
            read += &format!("{revision:?}");
        }
        read += &format!("{:?}", records.issued(&book.slug).await.unwrap());
    }
    read
}

fn rows(counted: &[Counted], table: &str) -> i64 {
    counted.iter().find(|c| c.table == table).unwrap().rows
}

async fn everything_moves_to_the_other_database_and_back(place: Place) {
    let here = place.records().await;
    filled(&here).await;
    let before = all(&here).await;
    let there = place.other_kind().records().await;
    let counted = here.move_to(&there).await.unwrap();
    assert_eq!(
        ["book", "revision", "issued"].map(|table| rows(&counted, table)),
        [2, 4, 2]
    );
    assert_eq!(all(&there).await, before);
    assert_eq!(there.counts().await.unwrap(), counted);
    let back = place.another().records().await;
    assert_eq!(there.move_to(&back).await.unwrap(), counted);
    assert_eq!(all(&back).await, before);
}

async fn moved_records_go_on_where_the_old_ones_stopped(place: Place) {
    let here = place.records().await;
    filled(&here).await;
    let there = place.other_kind().records().await;
    here.move_to(&there).await.unwrap();
    let note = Note::default();
    let ids = there.issue("bend", &[sheet(3)], 0, "").await.unwrap();
    let before = here.issued("bend").await.unwrap();
    assert_eq!(ids, [before[0].id + 1]);
    assert_eq!(there.redo("bend", 3, "Bend", &note).await.unwrap(), 4);
    // The old ones are as they were.
    assert_eq!(here.newest("bend").await.unwrap(), 3);
    assert_eq!(here.issued("bend").await.unwrap(), before);
}

async fn records_with_something_in_them_are_not_moved_into(place: Place) {
    let here = place.records().await;
    filled(&here).await;
    let there = place.other_kind().records().await;
    let note = Note::default();
    there.create("own", "Own", "own", &note).await.unwrap();
    let before = all(&there).await;
    let told = here.move_to(&there).await.unwrap_err();
    assert!(matches!(told, RecordsError::NotEmpty("book")), "{told}");
    assert_eq!(all(&there).await, before);
}

async fn a_backup_is_one_file_from_which_everything_comes_back(place: Place) {
    let here = place.records().await;
    filled(&here).await;
    let before = all(&here).await;
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("backup of 'May'.sqlite");
    let counted = here.backup(&file).await.unwrap();
    assert_eq!(counted, here.counts().await.unwrap());
    let files = std::fs::read_dir(folder.path()).unwrap().count();
    assert_eq!(files, 1, "it needs no second file");
    let told = here.backup(&file).await.unwrap_err().to_string();
    assert!(told.contains("there already"), "{told}");
    // What is saved later is not in it.
    let note = Note::default();
    here.save("bend", 3, "Bend", "later", &note).await.unwrap();
    let bytes = std::fs::read(&file).unwrap();
    for place in [place.another(), place.other_kind()] {
        let anew = place.records().await;
        assert_eq!(anew.restore(&file).await.unwrap(), counted);
        assert_eq!(all(&anew).await, before);
        let again = anew.restore(&file).await;
        assert!(matches!(again, Err(RecordsError::NotEmpty(_))));
    }
    assert_eq!(std::fs::read(&file).unwrap(), bytes, "it was changed");
}

async fn what_is_no_backup_is_not_restored(place: Place) {
    let records = place.records().await;
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("backup.sqlite");
    let told = records.restore(&file).await.unwrap_err();
    assert!(matches!(told, RecordsError::File { .. }), "{told}");
    std::fs::write(&file, "").unwrap();
    let told = records.restore(&file).await.unwrap_err().to_string();
    assert!(told.contains("nothing in it"), "{told}");
    std::fs::write(&file, "a letter to the chief, ".repeat(100)).unwrap();
    assert!(records.restore(&file).await.is_err());
    assert!(records.counts().await.unwrap().iter().all(|c| c.rows == 0));
}

on_both!(
    everything_moves_to_the_other_database_and_back,
    moved_records_go_on_where_the_old_ones_stopped,
    records_with_something_in_them_are_not_moved_into,
    a_backup_is_one_file_from_which_everything_comes_back,
    what_is_no_backup_is_not_restored,
);
