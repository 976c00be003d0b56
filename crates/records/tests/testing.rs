//! Test sheets and their readings.
#![allow(clippy::unwrap_used)]

mod common;

use common::Place;
use records::{By, NewReading, NewTest, Note, Records, RecordsError, in_force};

const BEND: &str = "bend";

async fn begun(place: &Place) -> (Records, i64) {
    let records = place.records().await;
    let note = Note::default();
    for slug in [BEND, "arbour"] {
        records.create(slug, slug, "text", &note).await.unwrap();
    }
    let new = NewTest {
        kind: "hose".into(),
        subject: "attack".into(),
        title: "Attack hose".into(),
        date: "2026-05-11".into(),
        pitot_tip: Some("fifteen-sixteenths".into()),
    };
    let by = By::new("Captain", 1_790_000_000);
    let id = records.begin_test(BEND, &new, &by).await.unwrap();
    let test = records.test(BEND, id).await.unwrap();
    assert_eq!((test.new, test.by, test.revision), (new, by, 1));
    (records, id)
}

fn reading(token: &str, kilopascal: f64) -> NewReading {
    NewReading {
        token: token.into(),
        point: 1,
        place: "pump outlet".into(),
        quantity: "pressure".into(),
        value: Some(kilopascal * 1_000.0),
        written: format!("{kilopascal} kPa"),
        gauge: "G-7".into(),
        resolution: Some(6_894.757),
        calibrated: Some("2026-01-15".into()),
        time: "10:32".into(),
        remark: "needle 'shook'".into(),
    }
}

async fn a_reading_is_given_back_with_all_that_was_said(place: Place) {
    let (records, test) = begun(&place).await;
    let bare = NewReading {
        resolution: None,
        calibrated: None,
        value: Some(0.1 + 0.2),
        ..reading("bare", 690.0)
    };
    let by = By::new("Tester", 1_790_000_060);
    let mut ids = Vec::new();
    for new in [&reading("full", 690.0), &bare] {
        ids.push(records.read(BEND, test, new, &by).await.unwrap());
    }
    let kept = records.readings(BEND, test).await.unwrap();
    let seen: Vec<_> = kept.iter().map(|r| (r.id, &r.new, &r.by)).collect();
    let full = reading("full", 690.0);
    assert_eq!(seen, [(ids[0], &full, &by), (ids[1], &bare, &by)]);
    assert_eq!(in_force(&kept).len(), 2);
}

async fn a_correction_leaves_the_wrong_reading_in_the_records(place: Place) {
    let (records, test) = begun(&place).await;
    let by = By::new("Tester", 1_790_000_060);
    let first = records.read(BEND, test, &reading("a", 69.0), &by).await;
    let (first, right) = (first.unwrap(), reading("b", 690.0));
    let second = records.correct(BEND, test, first, &right, &by).await;
    let second = second.unwrap();
    let kept = records.readings(BEND, test).await.unwrap();
    assert_eq!(kept[0].new, reading("a", 69.0));
    assert_eq!(kept[1].corrects, Some(first));
    assert_eq!(in_force(&kept), [&kept[1]]);
    // Struck out: the correction has no value.
    let out = NewReading {
        value: None,
        written: String::new(),
        ..reading("c", 0.0)
    };
    records
        .correct(BEND, test, second, &out, &by)
        .await
        .unwrap();
    let kept = records.readings(BEND, test).await.unwrap();
    assert_eq!(kept.len(), 3);
    assert!(in_force(&kept).is_empty());
    let trail = records.audit(BEND, 10).await.unwrap();
    let what: Vec<&str> = trail.iter().map(|deed| deed.what.as_str()).collect();
    assert_eq!(
        what,
        [
            "reading corrected",
            "reading corrected",
            "test begun",
            "book added"
        ]
    );
}

async fn a_form_that_is_sent_twice_is_entered_once(place: Place) {
    let (records, test) = begun(&place).await;
    let by = By::new("Tester", 1);
    let mut sent = Vec::new();
    for _ in 0..8 {
        let (records, by) = (records.clone(), by.clone());
        sent.push(tokio::spawn(async move {
            records.read(BEND, test, &reading("same", 690.0), &by).await
        }));
    }
    let mut ids = Vec::new();
    for sent in sent {
        ids.push(sent.await.unwrap().unwrap());
    }
    ids.dedup();
    assert_eq!(ids.len(), 1);
    assert_eq!(records.readings(BEND, test).await.unwrap().len(), 1);
    // Another value under the same token is not swallowed.
    let other = records.read(BEND, test, &reading("same", 700.0), &by).await;
    assert!(matches!(other, Err(RecordsError::Token(id)) if id == ids[0]));
}

async fn of_two_testers_who_correct_one_reading_the_second_is_told(place: Place) {
    let (records, test) = begun(&place).await;
    let by = By::new("Tester", 1);
    let wrong = records.read(BEND, test, &reading("a", 69.0), &by).await;
    let wrong = wrong.unwrap();
    let tries: Vec<_> = (0..6)
        .map(|n| {
            let (records, by) = (records.clone(), by.clone());
            let new = reading(&format!("try {n}"), 690.0 + f64::from(n));
            tokio::spawn(async move { records.correct(BEND, test, wrong, &new, &by).await })
        })
        .collect();
    let (mut done, mut told) = (Vec::new(), Vec::new());
    for tried in tries {
        match tried.await.unwrap() {
            Ok(id) => done.push(id),
            Err(RecordsError::Corrected { by, .. }) => told.push(by),
            Err(other) => assert!(other.to_string().is_empty(), "{other}"),
        }
    }
    assert_eq!(done.len(), 1);
    assert_eq!(told, [done[0]; 5]);
    assert_eq!(records.readings(BEND, test).await.unwrap().len(), 2);
}

/// Two tablets at two workbenches: each enters its own, some forms reach both, and one closes
/// the sheet in the midst.
async fn two_testers_on_one_sheet_lose_no_reading_and_enter_none_twice(place: Place) {
    let (first, test) = begun(&place).await;
    let second = place.records().await;
    let work = [(first.clone(), "one"), (second.clone(), "other")].map(|(records, who)| {
        tokio::spawn(async move {
            let by = By::new(who, 1);
            let mut answered = Vec::new();
            for n in 0_i32..40 {
                // Every fourth form was sent at both.
                let token = match n % 4 {
                    0 => format!("both {n}"),
                    _ => format!("{who} {n}"),
                };
                let new = reading(&token, 690.0 + f64::from(n));
                match records.read(BEND, test, &new, &by).await {
                    Ok(id) => answered.push((id, token)),
                    Err(RecordsError::Closed(_)) => {}
                    Err(other) => assert!(other.to_string().is_empty(), "{other}"),
                }
            }
            answered
        })
    });
    tokio::time::sleep(std::time::Duration::from_millis(40)).await;
    second.close_test(BEND, test, &By::default()).await.unwrap();
    let at_closing = second.readings(BEND, test).await.unwrap();
    let mut answered = Vec::new();
    for work in work {
        answered.extend(work.await.unwrap());
    }
    answered.sort();
    answered.dedup();
    let kept = first.readings(BEND, test).await.unwrap();
    assert_eq!(kept, at_closing, "none came in once it was closed");
    let mut kept: Vec<_> = kept.into_iter().map(|r| (r.id, r.new.token)).collect();
    kept.sort();
    assert_eq!(kept, answered);
    let mut tokens: Vec<_> = kept.iter().map(|(_, token)| token).collect();
    tokens.sort();
    tokens.dedup();
    assert_eq!(tokens.len(), kept.len());
}

async fn what_is_no_reading_is_refused(place: Place) {
    let (records, test) = begun(&place).await;
    let by = By::default();
    for value in [None, Some(f64::NAN), Some(f64::INFINITY)] {
        let new = NewReading {
            value,
            ..reading("a", 1.0)
        };
        let told = records.read(BEND, test, &new, &by).await.unwrap_err();
        assert!(matches!(told, RecordsError::Reading(_)), "{told}");
    }
    let new = reading("a", 1.0);
    let missing = records.correct(BEND, test, 99, &new, &by);
    assert!(matches!(missing.await, Err(RecordsError::NoReading(99))));
    // A test of one department is none of another's.
    let elsewhere = records.read("arbour", test, &reading("a", 1.0), &by).await;
    assert!(matches!(elsewhere, Err(RecordsError::NoTest(_))));
    assert!(records.readings("arbour", test).await.is_err());
    assert!(records.tests("arbour", 10).await.unwrap().is_empty());
    assert_eq!(records.tests(BEND, 10).await.unwrap().len(), 1);
    assert!(records.readings(BEND, test).await.unwrap().is_empty());
}

on_both!(
    a_reading_is_given_back_with_all_that_was_said,
    a_correction_leaves_the_wrong_reading_in_the_records,
    a_form_that_is_sent_twice_is_entered_once,
    of_two_testers_who_correct_one_reading_the_second_is_told,
    two_testers_on_one_sheet_lose_no_reading_and_enter_none_twice,
    what_is_no_reading_is_refused,
);
