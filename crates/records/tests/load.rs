//! What pages ask of the records of many departments, and how long it takes.
//!
//! In a normal run only a little is made, to see that it can be read. `bench/records/run`
//! makes a hundred departments with ten years each and prints the times.
#![cfg(unix)]
#![allow(clippy::unwrap_used, clippy::print_stdout)]

mod common;
#[path = "common/seeded.rs"]
mod seeded;

use common::Place;
use records::{By, NewReading, Note, Records};
use seeded::{DEMO, FEW, MANY, READINGS, Sizes};
use std::future::Future;
use std::time::{Duration, Instant};

/// The longest that one question of a page may take at the middle of its rounds.
const ENOUGH: Duration = Duration::from_millis(50);

const TODAY: &str = "2026-05-11";

async fn seeded(place: &Place, sizes: &Sizes) -> Records {
    let records = place.records().await;
    seeded::fill(&place.address, sizes).await;
    records
}

fn department(sizes: &Sizes, round: u32) -> String {
    format!("department-{}", 100 + round * 37 % sizes.departments)
}

async fn what_was_made_is_read_page_by_page(place: Place) {
    let records = seeded(&place, &FEW).await;
    assert_eq!(records.books().await.unwrap().len(), 3);
    let slug = department(&FEW, 1);
    let tests = records.tests(&slug, 4).await.unwrap();
    let last = tests.last().unwrap().id;
    let rest = records.tests_before(&slug, last, 100).await.unwrap();
    assert_eq!((tests.len(), rest.len()), (4, 2));
    let readings = records.readings(&slug, last).await.unwrap();
    assert_eq!(readings.len(), usize::try_from(READINGS).unwrap());
    assert_eq!(records::in_force(&readings).len(), readings.len() - 1);
    records::proof::to_day(&tests, &readings).unwrap();
    let history = records.history(&slug, 2).await.unwrap();
    let before = records.history_before(&slug, history[1].number, 9).await;
    assert_eq!(before.unwrap().len(), 2);
    let all = records.equipment(&slug).await.unwrap();
    assert_eq!(all.len(), 20);
    let page = records.equipment_after(&slug, &all[4].new.serial, 5).await;
    assert_eq!(page.unwrap(), all[5..10]);
    let piece = records.piece(&slug, &all[7].new.serial).await.unwrap();
    assert_eq!(piece, all[7]);
    let trials = records.trials(&slug, &piece.new.serial).await.unwrap();
    assert_eq!((trials.len(), Some(&trials[0])), (10, piece.trial.as_ref()));
    let register = records.issued(&slug).await.unwrap();
    let sheet = &register[0];
    let prints = records.issued_of(&slug, &sheet.kind, &sheet.subject).await;
    assert!(prints.unwrap().contains(sheet));
    let page = records
        .issued_before(&slug, register[2].id, 3)
        .await
        .unwrap();
    assert_eq!(page, register[3..6]);
    // The numbers go on.
    let by = By::new("Tester", 1);
    let new = NewReading {
        token: "next".into(),
        value: Some(1.0),
        ..NewReading::default()
    };
    records.reopen_test(&slug, last, &by).await.unwrap();
    let id = records.read(&slug, last, &new, &by).await.unwrap();
    assert_eq!(id, i64::from(3 * 6 * READINGS) + 1);
}

/// More than goes over at once, and long texts between short ones.
async fn many_rows_move_and_each_is_as_it_was(place: Place) {
    let here = seeded(&place, &FEW).await;
    let other = place.other_kind();
    let there = other.records().await;
    let counted = here.move_to(&there).await.unwrap();
    assert_eq!(counted, here.counts().await.unwrap());
    for round in 0..FEW.departments {
        let slug = department(&FEW, round);
        assert_eq!(
            there.equipment(&slug).await.unwrap(),
            here.equipment(&slug).await.unwrap()
        );
        assert_eq!(
            there.issued(&slug).await.unwrap(),
            here.issued(&slug).await.unwrap()
        );
        for test in here.tests(&slug, 100).await.unwrap() {
            let readings = here.readings(&slug, test.id).await.unwrap();
            assert_eq!(there.readings(&slug, test.id).await.unwrap(), readings);
        }
        let trail = here.audit(&slug, 1_000).await.unwrap();
        assert_eq!(there.audit(&slug, 1_000).await.unwrap(), trail);
    }
}

on_both!(
    what_was_made_is_read_page_by_page,
    many_rows_move_and_each_is_as_it_was
);

/// The middle and the longest of some rounds, and what there was in the last.
async fn timed<F: Future<Output = usize>>(
    rounds: u32,
    ask: impl Fn(u32) -> F,
) -> (Duration, Duration, usize) {
    let (mut took, mut seen) = (Vec::new(), 0);
    for round in 0..rounds {
        let start = Instant::now();
        seen = ask(round).await;
        took.push(start.elapsed());
    }
    took.sort();
    (took[took.len() / 2], *took.last().unwrap(), seen)
}

/// Asks each question of each page, prints how long it took, and gives those that took too
/// long.
async fn measured(records: &Records, sizes: &Sizes) -> Vec<String> {
    let mut slow = Vec::new();
    macro_rules! measure {
        ($name:literal, |$slug:ident, $n:ident| $ask:expr) => {
            let (middle, longest, seen) = timed(31, |$n| async move {
                let $slug = department(sizes, $n);
                $ask
            })
            .await;
            let ms = |time: Duration| time.as_secs_f64() * 1_000.0;
            println!(
                "{:34} {:7} {:9.2} {:9.2}",
                $name,
                seen,
                ms(middle),
                ms(longest)
            );
            if middle > ENOUGH {
                slow.push($name.to_string());
            }
        };
    }
    let tests = i64::from(sizes.tests);
    // Every department's are in a row.
    let test = |n: u32| i64::from(n * 37 % sizes.departments) * tests + tests / 2;
    println!(
        "{:34} {:>7} {:>9} {:>9}",
        "question", "rows", "middle ms", "longest"
    );
    measure!("books", |_slug, _n| records.books().await.unwrap().len());
    measure!("a person's departments", |_slug, n| {
        let name = format!("Person {n}");
        records.posts(&name).await.unwrap().len()
    });
    measure!("a book's newest revision", |slug, _n| {
        let newest = records.newest(&slug).await.unwrap();
        records.revision(&slug, newest).await.unwrap().text.len()
    });
    measure!("has it had this text", |slug, _n| usize::from(
        records.has(&slug, "never").await.unwrap()
    ));
    measure!("history, first page", |slug, _n| records
        .history(&slug, 50)
        .await
        .unwrap()
        .len());
    measure!("tests, first page", |slug, _n| records
        .tests(&slug, 50)
        .await
        .unwrap()
        .len());
    measure!("tests, a later page", |slug, n| records
        .tests_before(&slug, test(n), 50)
        .await
        .unwrap()
        .len());
    measure!("tests of a day", |slug, n| {
        let date = records.test(&slug, test(n)).await.unwrap().new.date;
        records.tests_of_day(&slug, &date).await.unwrap().len()
    });
    measure!("a test with its readings", |slug, n| records
        .readings(&slug, test(n))
        .await
        .unwrap()
        .len());
    measure!("equipment, all", |slug, _n| records
        .equipment(&slug)
        .await
        .unwrap()
        .len());
    measure!("equipment, a page", |slug, _n| records
        .equipment_after(&slug, "H-1100", 50)
        .await
        .unwrap()
        .len());
    measure!("a piece with its tests", |slug, _n| {
        records.piece(&slug, "H-1107").await.unwrap();
        records.trials(&slug, "H-1107").await.unwrap().len()
    });
    measure!("what is due", |slug, _n| records
        .due(&slug, TODAY)
        .await
        .unwrap()
        .len());
    measure!("register, all", |slug, _n| records
        .issued(&slug)
        .await
        .unwrap()
        .len());
    measure!("register, a page", |slug, _n| records
        .issued_before(&slug, i64::MAX, 50)
        .await
        .unwrap()
        .len());
    measure!("register, one sheet", |slug, _n| records
        .issued_of(&slug, "line-card", "left-crosslay")
        .await
        .unwrap()
        .len());
    measure!("trail, first page", |slug, _n| records
        .trail(&slug, None, 100)
        .await
        .unwrap()
        .len());
    measure!("trail, a later page", |slug, _n| records
        .trail(&slug, Some(1_000), 100)
        .await
        .unwrap()
        .len());
    measure!("who may do what", |slug, _n| records
        .roles(&slug)
        .await
        .unwrap()
        .len());
    measure!("a reading is entered", |slug, n| {
        let (id, by) = (test(n), By::new("Tester", 1));
        records.reopen_test(&slug, id, &by).await.unwrap();
        let new = NewReading {
            token: format!("measured {n}"),
            value: Some(1.0),
            ..NewReading::default()
        };
        records.read(&slug, id, &new, &by).await.unwrap();
        1
    });
    measure!("a book is saved", |slug, _n| {
        let newest = records.newest(&slug).await.unwrap();
        let note = Note::default();
        records
            .save(&slug, newest, "Dept", DEMO, &note)
            .await
            .unwrap();
        1
    });
    slow
}

async fn every_question_of_a_page_is_quick(place: Place) {
    let start = Instant::now();
    let records = seeded(&place, &MANY).await;
    let made = start.elapsed();
    let kind = place.address.split(':').next().unwrap();
    println!("\n{kind}: made in {:.0} s", made.as_secs_f64());
    for counted in records.counts().await.unwrap() {
        println!("{:34} {:9}", counted.table, counted.rows);
    }
    let slow = measured(&records, &MANY).await;
    let other = place.other_kind();
    let there = other.records().await;
    let start = Instant::now();
    records.move_to(&there).await.unwrap();
    println!(
        "moved to the other database in {:.0} s",
        start.elapsed().as_secs_f64()
    );
    assert!(slow.is_empty(), "took longer than {ENOUGH:?}: {slow:?}");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
#[ignore = "takes minutes; bench/records/run"]
async fn many_on_sqlite() {
    every_question_of_a_page_is_quick(Place::sqlite()).await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
#[ignore = "takes minutes; bench/records/run"]
async fn many_on_postgres() {
    every_question_of_a_page_is_quick(Place::postgres()).await;
}
