//! Test sheets as test days, from the first reading until the book rests on them.
#![allow(clippy::unwrap_used)]

mod common;

use common::Place;
use records::{By, NewReading, Note, Records, RecordsError, Stage, proof};
use study::proof::{self as day, Day, Find, Reading, Subject};

const BEND: &str = "bend";

/// A day with every subject, and on each a reading at every place of its form.
fn whole_day() -> Day {
    let twin = |setting: Option<&str>| Subject::Nozzle {
        nozzle: "twin".into(),
        setting: setting.map(String::from),
    };
    let hose = |find| Subject::Hose {
        hose: "attack".into(),
        find,
    };
    let subjects = [
        hose(Find::C),
        hose(Find::Exponent),
        hose(Find::Roughness),
        twin(None),
        twin(Some("high")),
        Subject::Pump {
            rig: "pumper-1".into(),
        },
        Subject::Hydrant {
            hydrant: "mill street".into(),
        },
        Subject::Service {
            hose: "attack".into(),
        },
    ];
    let tests = subjects.map(|subject| day::Test {
        readings: readings(&subject),
        date: "2026-05-11".into(),
        pitot_tip: matches!(subject, Subject::Pump { .. }).then(|| "stacked, 1-3/4".into()),
        subject,
    });
    Day {
        tests: tests.into(),
    }
}

fn readings(subject: &Subject) -> Vec<Reading> {
    let places = subject.places().iter().zip(1_u32..);
    let readings = places.map(|(place, n)| Reading {
        point: 1 + n / 4,
        place: *place,
        value: f64::from(n) / 3.0,
        written: format!("{n} thirds"),
        gauge: if n == 1 { String::new() } else { "G-7".into() },
        resolution: (n == 2).then_some(6_894.757),
        calibrated: (n == 3).then(|| "2026-01-15".into()),
        time: if n == 1 {
            String::new()
        } else {
            "10:32".into()
        },
        remark: "needle 'shook'".into(),
    });
    readings.collect()
}

async fn with_book(place: &Place) -> (Records, By) {
    let records = place.records().await;
    let note = Note::default();
    for slug in [BEND, "arbour"] {
        records.create(slug, slug, "text", &note).await.unwrap();
    }
    (records, By::new("Tester", 1_790_000_000))
}

fn one(token: &str) -> NewReading {
    proof::entered(&whole_day().tests[0].readings[0], token)
}

async fn a_day_comes_back_as_it_was_entered(place: Place) {
    let (records, by) = with_book(&place).await;
    let entered = whole_day();
    let titles = ["Attack hose".to_string()];
    let ids = records.add_day(BEND, &entered, &titles, &by).await.unwrap();
    assert_eq!(records.day_of(BEND, &ids).await.unwrap(), entered);
    let sheets = records.tests_of_day(BEND, "2026-05-11").await.unwrap();
    assert_eq!(sheets.iter().map(|s| s.id).collect::<Vec<_>>(), ids);
    let titles: Vec<&str> = sheets.iter().map(|s| s.new.title.as_str()).collect();
    assert_eq!(titles[..2], ["Attack hose", "hose exponent attack"]);
    assert!(
        records
            .tests_of_day(BEND, "2026-05-12")
            .await
            .unwrap()
            .is_empty()
    );
    let elsewhere = records.day_of("arbour", &ids).await;
    assert!(matches!(elsewhere, Err(RecordsError::NoTest(_))));
}

async fn a_day_with_a_value_that_is_no_number_is_not_entered_in_part(place: Place) {
    let (records, by) = with_book(&place).await;
    let mut day = whole_day();
    day.tests.last_mut().unwrap().readings[1].value = f64::NAN;
    let told = records.add_day(BEND, &day, &[], &by).await;
    assert!(matches!(told, Err(RecordsError::Reading(_))));
    assert!(records.tests(BEND, 100).await.unwrap().is_empty());
}

async fn a_day_has_only_the_readings_that_count(place: Place) {
    let (records, by) = with_book(&place).await;
    let mut entered = whole_day();
    entered.tests.truncate(1);
    let ids = records.add_day(BEND, &entered, &[], &by).await.unwrap();
    let sheet = records.readings(BEND, ids[0]).await.unwrap();
    let right = NewReading {
        value: Some(7.0),
        ..sheet[0].new.clone()
    };
    let right = NewReading {
        token: "right".into(),
        ..right
    };
    let out = NewReading {
        token: "out".into(),
        value: None,
        ..sheet[1].new.clone()
    };
    for (wrong, new) in sheet.iter().zip([&right, &out]) {
        let done = records.correct(BEND, ids[0], wrong.id, new, &by);
        done.await.unwrap();
    }
    let wanted = &mut entered.tests[0].readings;
    let mut first = wanted.remove(0);
    wanted.remove(0);
    first.value = 7.0;
    wanted.push(first);
    assert_eq!(records.day_of(BEND, &ids).await.unwrap(), entered);
}

async fn what_this_version_does_not_know_is_named(place: Place) {
    let (records, by) = with_book(&place).await;
    let mut new = proof::begun(&whole_day().tests[0], "Attack hose");
    let id = records.begin_test(BEND, &new, &by).await.unwrap();
    let strange = NewReading {
        place: "moon".into(),
        ..one("a")
    };
    records.read(BEND, id, &strange, &by).await.unwrap();
    let told = records.day_of(BEND, &[id]).await.unwrap_err().to_string();
    assert!(told.contains("\"moon\""), "{told}");
    new.kind = "ladder".into();
    let id = records.begin_test(BEND, &new, &by).await.unwrap();
    let told = records.day_of(BEND, &[id]).await.unwrap_err().to_string();
    assert!(told.contains("\"ladder\""), "{told}");
}

async fn a_closed_test_takes_no_reading_until_it_is_opened_again(place: Place) {
    let (records, by) = with_book(&place).await;
    let new = proof::begun(&whole_day().tests[0], "Attack hose");
    let id = records.begin_test(BEND, &new, &by).await.unwrap();
    let first = records.read(BEND, id, &one("a"), &by).await.unwrap();
    records.close_test(BEND, id, &by).await.unwrap();
    records.close_test(BEND, id, &by).await.unwrap();
    assert_eq!(records.test(BEND, id).await.unwrap().stage, Stage::Closed);
    let told = records.read(BEND, id, &one("b"), &by).await;
    assert!(matches!(told, Err(RecordsError::Closed(closed)) if closed == id));
    let told = records.correct(BEND, id, first, &one("c"), &by).await;
    assert!(matches!(told, Err(RecordsError::Closed(_))));
    let told = records.amend_test(BEND, id, &new, &by).await;
    assert!(matches!(told, Err(RecordsError::Closed(_))));
    // Sent before it was closed, and sent again because no answer was heard.
    assert_eq!(records.read(BEND, id, &one("a"), &by).await.unwrap(), first);
    records.reopen_test(BEND, id, &by).await.unwrap();
    records.read(BEND, id, &one("b"), &by).await.unwrap();
    assert_eq!(records.readings(BEND, id).await.unwrap().len(), 2);
    let trail = records.audit(BEND, 10).await.unwrap();
    let what: Vec<&str> = trail.iter().map(|deed| deed.what.as_str()).collect();
    let wanted = [
        "test opened again",
        "test closed",
        "test begun",
        "book added",
    ];
    assert_eq!(what, wanted);
}

async fn what_an_open_test_is_called_is_said_anew(place: Place) {
    let (records, by) = with_book(&place).await;
    let mut new = proof::begun(&whole_day().tests[0], "Attack hose");
    let id = records.begin_test(BEND, &new, &by).await.unwrap();
    new.pitot_tip = Some("fifteen-sixteenths".into());
    new.date = "2026-05-12".into();
    new.title = "Attack hose, dried".into();
    records.amend_test(BEND, id, &new, &by).await.unwrap();
    assert_eq!(records.test(BEND, id).await.unwrap().new, new);
    let elsewhere = records.amend_test("arbour", id, &new, &by).await;
    assert!(matches!(elsewhere, Err(RecordsError::NoTest(_))));
}

async fn the_revision_and_the_tests_it_rests_on_are_saved_together(place: Place) {
    let (records, by) = with_book(&place).await;
    let mut day = whole_day();
    day.tests.truncate(2);
    let ids = records.add_day(BEND, &day, &[], &by).await.unwrap();
    let note = Note::default();
    records.close_test(BEND, ids[0], &by).await.unwrap();
    // One of them still takes readings: nothing is saved.
    let told = records.accept(BEND, 1, "Bend", "measured", &note, &ids);
    assert!(matches!(told.await, Err(RecordsError::Open(id)) if id == ids[1]));
    assert_eq!(records.newest(BEND).await.unwrap(), 1);
    let stage = records.test(BEND, ids[0]).await.unwrap().stage;
    assert_eq!(stage, Stage::Closed);
    records.close_test(BEND, ids[1], &by).await.unwrap();
    let stale = records.accept(BEND, 7, "Bend", "measured", &note, &ids);
    assert!(matches!(stale.await, Err(RecordsError::Stale { .. })));
    let saved = records.accept(BEND, 1, "Bend", "measured", &note, &ids);
    assert_eq!(saved.await.unwrap(), 2);
    for id in &ids {
        let stage = records.test(BEND, *id).await.unwrap().stage;
        assert_eq!(stage, Stage::Accepted { revision: 2 });
        let told = records.reopen_test(BEND, *id, &by).await;
        assert!(matches!(
            told,
            Err(RecordsError::Accepted { revision: 2, .. })
        ));
        assert!(records.read(BEND, *id, &one("late"), &by).await.is_err());
    }
    // Undone, and accepted again.
    records.undo(BEND, 2, "Bend", &note).await.unwrap();
    let again = records.accept(BEND, 3, "Bend", "measured", &note, &ids[..1]);
    assert_eq!(again.await.unwrap(), 4);
    let stage = records.test(BEND, ids[0]).await.unwrap().stage;
    assert_eq!(stage, Stage::Accepted { revision: 4 });
}

async fn pages_of_tests_follow_each_other_without_a_gap(place: Place) {
    let (records, by) = with_book(&place).await;
    let ids = records.add_day(BEND, &whole_day(), &[], &by).await.unwrap();
    let (mut seen, mut before) = (Vec::new(), i64::MAX);
    loop {
        let page = records.tests_before(BEND, before, 3).await.unwrap();
        let Some(last) = page.last() else { break };
        before = last.id;
        seen.extend(page.iter().map(|test| test.id));
    }
    seen.reverse();
    assert_eq!(seen, ids);
}

on_both!(
    a_day_comes_back_as_it_was_entered,
    a_day_with_a_value_that_is_no_number_is_not_entered_in_part,
    a_day_has_only_the_readings_that_count,
    what_this_version_does_not_know_is_named,
    a_closed_test_takes_no_reading_until_it_is_opened_again,
    what_an_open_test_is_called_is_said_anew,
    the_revision_and_the_tests_it_rests_on_are_saved_together,
    pages_of_tests_follow_each_other_without_a_gap,
);
