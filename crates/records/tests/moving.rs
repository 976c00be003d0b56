//! From one database to another, and back.
#![cfg(unix)]
#![allow(clippy::unwrap_used)]

mod common;

use common::Place;
use records::{
    By, Counted, Gear, NewComparison, NewEquipment, NewIssue, NewLink, NewReading, NewTest, Note,
    Records, RecordsError, Role, SigningIn, Trial, Tries,
};
use std::os::unix::fs::PermissionsExt;

/// Two books with a history, undone in part; odd texts; sheets, one of them withdrawn; a
/// test with a corrected reading, equipment, people.
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
    tested(records).await;
    records.undo("bend", 3, "Bend", &note).await.unwrap();
    records.create("arbour", "Arbour", "", &note).await.unwrap();
    let ids = records
        .issue("bend", &[sheet(1), sheet(2)], 1_790_000_100, "Captain")
        .await
        .unwrap();
    records
        .withdraw(ids[0], 1_790_000_200, "Chief", "burnt")
        .await
        .unwrap();
    equipped(records).await;
    compared(records).await;
}

async fn compared(records: &Records) {
    let by = By::new("Chief", 1_790_000_500);
    let first = NewComparison {
        name: "crosslays",
        title: "Crosslays",
        text: "before\0after\r\n",
    };
    let second = NewComparison {
        text: "second",
        ..first
    };
    for (base, new) in [(None, &first), (Some(1), &second)] {
        let saved = records.save_comparison("bend", base, new, &by).await;
        saved.unwrap();
    }
    let withdrawn = records.withdraw_comparison("bend", "crosslays", &by).await;
    assert!(withdrawn.unwrap());
}

async fn tested(records: &Records) {
    let by = By::new("Tester", 1_790_000_300);
    let new = NewTest {
        kind: "hose".into(),
        subject: "attack".into(),
        title: "Attack hose".into(),
        date: "2026-05-11".into(),
        pitot_tip: Some("fifteen-sixteenths".into()),
    };
    let test = records.begin_test("bend", &new, &by).await.unwrap();
    let wrong = NewReading {
        token: "a".into(),
        point: 1,
        place: "tip".into(),
        quantity: "pressure".into(),
        value: Some(0.1 + 0.2),
        written: "0.3 Pa".into(),
        gauge: "G-7".into(),
        resolution: Some(5e-324),
        calibrated: Some("2026-01-15".into()),
        time: "10:32".into(),
        remark: String::new(),
    };
    let right = NewReading {
        token: "b".into(),
        value: Some(-1.797e308),
        resolution: None,
        calibrated: None,
        ..wrong.clone()
    };
    let id = records.read("bend", test, &wrong, &by).await.unwrap();
    let corrected = records.correct("bend", test, id, &right, &by);
    corrected.await.unwrap();
    records.close_test("bend", test, &by).await.unwrap();
    let note = Note::default();
    let found = [test];
    let accepted = records.accept("bend", 2, "Bend", "measured", &note, &found);
    accepted.await.unwrap();
    records.begin_test("bend", &new, &by).await.unwrap();
}

async fn equipped(records: &Records) {
    let by = By::new("Keeper", 1_790_000_400);
    let gauge = NewEquipment {
        serial: "G-7".into(),
        gear: Gear::Gauge,
        item: String::new(),
        title: "Line gauge".into(),
        since: "2025-01-01".into(),
        months: 12,
    };
    records.add_equipment("bend", &[gauge], &by).await.unwrap();
    let trial = Trial {
        date: "2026-01-15".into(),
        passed: true,
        remark: "reads 2 psi high".into(),
        by: by.clone(),
    };
    records.add_trial("bend", "G-7", &trial).await.unwrap();
    let day = ("2026-06-01", "dropped");
    records.retire("bend", "G-7", day, &by).await.unwrap();
    let hash = "$argon2id$v=19$m=19456,t=2,p=1$c2FsdHNhbHQ$aW52ZW50ZWQ";
    records.set_person("Ann", Some(hash), &by).await.unwrap();
    let role = records.set_role("bend", "Ann", Some(Role::Keeper), &by);
    role.await.unwrap();
    signed_in(records, hash).await;
}

async fn signed_in(records: &Records, hash: &str) {
    let by = By::new("Ann", 1_790_000_500);
    let new = SigningIn {
        name: "Ann",
        hash,
        token: "a token",
        before: None,
        ends: 1_790_040_000,
        from: "203.0.113.7",
        at: by.at,
    };
    assert!(records.sign_in(&new).await.unwrap());
    let tries = Tries {
        of: "Ann".into(),
        free: 5,
        forgives: true,
    };
    assert_eq!(records.attempt(&[tries], by.at).await.unwrap(), None);
    let issue = records.issued("bend").await.unwrap()[0].id;
    let link = NewLink {
        token: "a link",
        ends: 1_790_040_000,
    };
    let made = records.make_link("bend", issue, &link, &by).await;
    assert!(
        records
            .withdraw_link("bend", made.unwrap(), &by)
            .await
            .unwrap()
    );
    let welcome = records.make_welcome("bend", "Ann", &link, &by);
    assert!(welcome.await.unwrap());
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
        for test in records.tests(&book.slug, 1_000).await.unwrap() {
            let readings = records.readings(&book.slug, test.id).await.unwrap();
            read += &format!("{test:?}{readings:?}");
        }
        read += &format!("{:?}", records.equipment(&book.slug).await.unwrap());
        for entry in records.comparisons(&book.slug, 1_000).await.unwrap() {
            for number in 1..=entry.newest {
                let kept = records.comparison(&book.slug, &entry.name, Some(number));
                read += &format!("{:?}", kept.await.unwrap());
            }
        }
        read += &format!("{:?}", records.roles(&book.slug).await.unwrap());
    }
    let ann = records.person("Ann").await.unwrap();
    let hash = ann.and_then(|ann| ann.hash);
    read + &format!("{hash:?}{:?}", records.audit_of_all(1_000).await.unwrap())
}

/// Every value of every table of a SQLite file, whatever tables there are.
async fn dump(place: &Place) -> Vec<String> {
    let file = place.address.strip_prefix("sqlite:").unwrap();
    let options = sqlx::sqlite::SqliteConnectOptions::new().filename(file);
    let pool = sqlx::SqlitePool::connect_with(options).await.unwrap();
    let tables = "SELECT t.name, group_concat('quote(\"' || c.name || '\")', ' || '','' || ') \
                  FROM sqlite_master t JOIN pragma_table_info(t.name) c \
                  WHERE t.type = 'table' AND t.name NOT IN ('_sqlx_migrations', 'sqlite_sequence') \
                  GROUP BY t.name ORDER BY t.name";
    let tables: Vec<(String, String)> = sqlx::query_as(tables).fetch_all(&pool).await.unwrap();
    let mut values = Vec::new();
    for (table, columns) in tables {
        let sql = sqlx::AssertSqlSafe(format!("SELECT {columns} FROM {table} ORDER BY 1"));
        let rows: Vec<String> = sqlx::query_scalar(sql).fetch_all(&pool).await.unwrap();
        assert!(!rows.is_empty(), "nothing is in {table}");
        values.extend(rows);
    }
    values
}

/// A table or a column that a new migration brings, and the copy leaves out, shows here.
#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn not_a_value_of_any_table_is_lost_on_the_way() {
    let (first, last) = (Place::sqlite(), Place::sqlite());
    let here = first.records().await;
    filled(&here).await;
    let there = Place::postgres().records().await;
    let back = last.records().await;
    here.move_to(&there).await.unwrap();
    there.move_to(&back).await.unwrap();
    assert_eq!(dump(&last).await, dump(&first).await);
}

fn rows(counted: &[Counted], table: &str) -> i64 {
    counted.iter().find(|c| c.table == table).unwrap().rows
}

async fn everything_moves_to_the_other_database_and_back(place: Place) {
    let here = place.records().await;
    filled(&here).await;
    let before = all(&here).await;
    let other = place.other_kind();
    let there = other.records().await;
    let counted = here.move_to(&there).await.unwrap();
    assert_eq!(
        ["book", "revision", "issued"].map(|table| rows(&counted, table)),
        [2, 5, 2]
    );
    assert_eq!(all(&there).await, before);
    assert_eq!(there.counts().await.unwrap(), counted);
    let last = place.another();
    let back = last.records().await;
    assert_eq!(there.move_to(&back).await.unwrap(), counted);
    assert_eq!(all(&back).await, before);
}

async fn moved_records_go_on_where_the_old_ones_stopped(place: Place) {
    let here = place.records().await;
    filled(&here).await;
    let other = place.other_kind();
    let there = other.records().await;
    here.move_to(&there).await.unwrap();
    let note = Note::default();
    let ids = there.issue("bend", &[sheet(3)], 0, "").await.unwrap();
    let before = here.issued("bend").await.unwrap();
    assert_eq!(ids, [before[0].id + 1]);
    assert_eq!(there.redo("bend", 4, "Bend", &note).await.unwrap(), 5);
    // The old ones are as they were.
    assert_eq!(here.newest("bend").await.unwrap(), 4);
    assert_eq!(here.issued("bend").await.unwrap(), before);
}

async fn records_with_something_in_them_are_not_moved_into(place: Place) {
    let here = place.records().await;
    filled(&here).await;
    let other = place.other_kind();
    let there = other.records().await;
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
    // There are hashes of passwords in it.
    let mode = std::fs::metadata(&file).unwrap().permissions().mode();
    assert_eq!(mode & 0o777, 0o600);
    let told = here.backup(&file).await.unwrap_err().to_string();
    assert!(told.contains("there already"), "{told}");
    // What is saved later is not in it.
    let note = Note::default();
    here.save("bend", 4, "Bend", "later", &note).await.unwrap();
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

async fn what_points_to_nothing_is_refused_by_the_database_itself(place: Place) {
    filled(&place.records().await).await;
    for statement in [
        "INSERT INTO revision (slug, number, at, who, why, words, text) \
         VALUES ('nowhere', 1, 0, '', '', '', '')",
        "DELETE FROM book WHERE slug = 'bend'",
        "DELETE FROM revision WHERE slug = 'bend' AND number = 1",
        "UPDATE issued SET revision = 99",
        "DELETE FROM test WHERE id IN (SELECT test FROM reading)",
        "UPDATE reading SET corrects = 99 WHERE corrects IS NOT NULL",
        "UPDATE trial SET serial = 'none'",
        "DELETE FROM equipment",
        "UPDATE post SET name = 'nobody'",
        "DELETE FROM person WHERE name = 'Ann'",
        "DELETE FROM comparison",
        "UPDATE comparison_version SET name = 'none'",
    ] {
        let told = place.refuses(statement).await.to_lowercase();
        assert!(told.contains("foreign key"), "{statement}: {told}");
    }
}

on_both!(
    what_points_to_nothing_is_refused_by_the_database_itself,
    everything_moves_to_the_other_database_and_back,
    moved_records_go_on_where_the_old_ones_stopped,
    records_with_something_in_them_are_not_moved_into,
    a_backup_is_one_file_from_which_everything_comes_back,
    what_is_no_backup_is_not_restored,
);
