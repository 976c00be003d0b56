//! Lists of equipment brought in and written, on both databases.
#![allow(clippy::unwrap_used, clippy::panic)]

mod common;

use book::Book;
use common::Place;
use records::lists::{self, DateOrder, Field, Listed, Matching, Ways};
use records::{By, Equipment, Gear, NewEquipment, Note, Records, RecordsError};

const BEND: &str = "bend";
const TODAY: &str = "2026-06-01";

fn demo() -> Book {
    let text = include_bytes!("../../../books/saltmarsh-bend.toml");
    book::read(text, "saltmarsh-bend.toml").unwrap()
}

fn ways() -> Ways {
    Ways {
        today: TODAY.into(),
        ..Ways::default()
    }
}

fn read(text: &str, ways: &Ways, have: &[Equipment]) -> lists::List {
    let table = lists::read(text.as_bytes(), "list.csv").unwrap();
    lists::list(&table, &Matching::of(&table), ways, &demo(), have)
}

fn captain() -> By {
    By::new("Captain", 1_790_000_000)
}

async fn store(place: &Place) -> Records {
    let records = place.records().await;
    records
        .create(BEND, "Bend", "text", &Note::default())
        .await
        .unwrap();
    records
}

const GOOD: &str = "Hose list of Station 1\n\nS/N,Type,Dia. (in),Book item,Description,Placed in service,Last test,Pass/Fail,Interval,Colour\n\
    H-1,Hose,1.75,,Length 1,2024-05-11,2026-05-01,pass,12,red\n\
    H-2,attack hose,1-3/4,ATTACK,,2024-05-11,2026-05-01,FAILED,1 year,\n\
    H-3,hose,4 in,,,2025-01-02,,,,\n\
    N-1,Nozzle,,twin,,2025-01-02,2026-04-30,ok,annual,\n\
    G-104,flow meter,,flow-meter,,2025-01-02,,,6 months,\n";

#[test]
fn a_list_in_the_words_of_a_station_is_understood() {
    let list = read(GOOD, &ways(), &[]);
    assert!(list.problems.is_empty(), "{:?}", list.problems);
    let told = |row: &Listed| {
        let new = &row.new;
        let tested = row.tested.as_ref().map(|t| (t.date.as_str(), t.passed));
        format!(
            "{} {} {} {} \"{}\" {} {} {tested:?}",
            row.row,
            new.serial,
            new.gear.word(),
            new.item,
            new.title,
            new.since,
            new.months
        )
    };
    let told: Vec<String> = list.rows.iter().map(told).collect();
    assert_eq!(
        told,
        [
            "4 H-1 hose attack \"Length 1\" 2024-05-11 12 Some((\"2026-05-01\", true))",
            "5 H-2 hose attack \"\" 2024-05-11 12 Some((\"2026-05-01\", false))",
            "6 H-3 hose  \"4 in hose\" 2025-01-02 12 None",
            "7 N-1 nozzle twin \"\" 2025-01-02 12 Some((\"2026-04-30\", true))",
            "8 G-104 gauge flow-meter \"\" 2025-01-02 6 None",
        ]
    );
}

#[test]
fn what_is_wrong_is_told_by_file_row_column_and_text() {
    let text = "Number,Kind,Size,Item,In service since,Last tested,Result,Interval\n\
        H-1,hose,1.75 in,attack,2024-05-11,5/6/2026,pass,12\n\
        ,hose,,attack,2024-05-11,,,12\n\
        H-3,ladder,,,2024-05-11,,,12\n\
        H-4,hose,2.5 in,attack,2024-05-11,,,12\n\
        H-5,hose,,atack,2024-05-11,,,12\n\
        H-6,hose,,attack,2024-05-11,2026-07-01,pass,12\n\
        H-7,hose,,attack,2024-05-11,2026-05-01,,12\n\
        H-8,hose,,attack,,,,now and then\n\
        h-3 ,hose,,attack,2024-05-11,,,12\n\
        H-10,hose,,attack,2024-05-11,,passed,12\n\
        H-11,hose,,attack,2024-05-11,,,12\n";
    let have = Equipment {
        new: NewEquipment {
            serial: "H-11".into(),
            gear: Gear::Hose,
            item: String::new(),
            title: String::new(),
            since: "2020-01-01".into(),
            months: 12,
        },
        trial: None,
        retired: None,
    };
    let list = read(text, &ways(), &[have]);
    assert!(list.rows.is_empty(), "{:?}", list.rows);
    let said: Vec<String> = list.problems.iter().map(ToString::to_string).collect();
    let wanted = [
        "list.csv, row 2, Last tested, \"5/6/2026\": \"5/6/2026\" may be 2026-05-06 or 2026-06-05",
        "list.csv, row 3, Number: no number is written",
        "list.csv, row 4, Kind, \"ladder\": \"ladder\" is neither hose, nor nozzle, nor gauge",
        "list.csv, row 5, Size, \"2.5 in\": hose \"attack\" of the book is 1.75 in, and not 2.5 in",
        "list.csv, row 6, Item, \"atack\": the book has no hose \"atack\"",
        "list.csv, row 7, Last tested, \"2026-07-01\": 2026-07-01 is after today, 2026-06-01",
        "list.csv, row 8, Result: it is not said whether it passed",
        "list.csv, row 9, Interval, \"now and then\"",
        "list.csv, row 9, In service since: it is not said since when",
        "list.csv, row 10, Number, \"h-3\": this number stands in row 4 too",
        "list.csv, row 11, Result, \"passed\": a result is written, but no day of the test",
        "list.csv, row 12, Number, \"H-11\": the records have a piece of this number already",
    ];
    assert_eq!(said.len(), wanted.len(), "{said:#?}");
    for (said, wanted) in said.iter().zip(wanted) {
        assert!(said.starts_with(wanted), "{said}\n{wanted}");
    }
    assert!(list.problems.iter().all(|problem| !problem.mend.is_empty()));
}

#[test]
fn a_page_can_say_what_a_column_is_and_what_no_cell_says() {
    let text = "Mark,Tested\nA-1,11.5.2026\nA-2,12.5.2026\n";
    let table = lists::read(text.as_bytes(), "list.csv").unwrap();
    let mut matching = Matching::of(&table);
    assert_eq!(matching.columns, [None, Some(Field::Tested)]);
    let none = lists::list(&table, &matching, &ways(), &demo(), &[]);
    assert!(none.rows.is_empty());
    let said: Vec<&str> = none.problems.iter().map(|p| p.message.as_str()).collect();
    assert_eq!(
        said,
        [
            "no column is taken for \"number\"",
            "no column is taken for \"kind\""
        ]
    );
    matching.set(0, Some(Field::Serial));
    let ways = Ways {
        gear: Some(Gear::Nozzle),
        order: DateOrder::DayFirst,
        passed: true,
        ..ways()
    };
    let list = lists::list(&table, &matching, &ways, &demo(), &[]);
    assert!(list.problems.is_empty(), "{:?}", list.problems);
    assert_eq!(list.rows[1].new.since, "2026-05-12");
    matching.set(1, Some(Field::Serial));
    let twice = lists::list(&table, &matching, &ways, &demo(), &[]);
    assert!(twice.problems[0].message.contains("Mark, Tested"));
    for field in Field::ALL {
        assert_eq!(Field::called(field.key()), Some(field));
        assert_eq!(Field::of_head(field.head()), Some(field));
    }
}

async fn a_list_is_entered_whole_or_not_at_all(place: Place) {
    let records = store(&place).await;
    let rows = read(GOOD, &ways(), &[]).rows;
    let taken = NewEquipment {
        serial: "N-1".into(),
        ..rows[0].new.clone()
    };
    records
        .add_equipment(BEND, &[taken], &captain())
        .await
        .unwrap();
    let refused = records.bring_in(BEND, &rows, &captain()).await;
    assert!(matches!(refused, Err(RecordsError::Serial(serial)) if serial == "N-1"));
    assert_eq!(records.equipment(BEND).await.unwrap().len(), 1);
    // The list is told so beforehand.
    let have = records.equipment(BEND).await.unwrap();
    let list = read(GOOD, &ways(), &have);
    assert_eq!((list.rows.len(), list.problems.len()), (4, 1));
    records
        .bring_in(BEND, &list.rows, &captain())
        .await
        .unwrap();
    let all = records.equipment(BEND).await.unwrap();
    assert_eq!(all.len(), 5);
    let failed = all.iter().find(|piece| piece.new.serial == "H-2").unwrap();
    assert!(!failed.trial.as_ref().unwrap().passed);
    assert_eq!(failed.trial.as_ref().unwrap().by, captain());
    // Again, nothing is new.
    let again = read(GOOD, &ways(), &all);
    assert_eq!((again.rows.len(), again.problems.len()), (0, 5));
}

/// What a list holds of a piece: all but who entered its test.
fn held(all: &[Equipment]) -> Vec<String> {
    let held = |piece: &Equipment| {
        let trial = piece.trial.as_ref().map(|t| (&t.date, t.passed, &t.remark));
        format!("{:?} {trial:?} {:?}", piece.new, piece.retired)
    };
    all.iter().map(held).collect()
}

async fn law_a_list_that_was_written_reads_back_to_the_same(place: Place) {
    let records = store(&place).await;
    records
        .bring_in(BEND, &read(GOOD, &ways(), &[]).rows, &captain())
        .await
        .unwrap();
    let odd = NewEquipment {
        serial: "=7".into(),
        gear: Gear::Hose,
        item: "2.5 in".into(),
        title: "+ \"the\" long, old\none".into(),
        since: "2020-02-29".into(),
        months: 18,
    };
    records
        .add_equipment(BEND, &[odd], &captain())
        .await
        .unwrap();
    records
        .retire(BEND, "H-3", ("2026-05-20", "burst; cut up"), &captain())
        .await
        .unwrap();
    let before = records.equipment(BEND).await.unwrap();
    let bytes = lists::csv(&before).unwrap();
    let table = lists::read(&bytes, "equipment.csv").unwrap();
    let matching = Matching::of(&table);
    assert!(matching.columns.iter().all(Option::is_some));
    let list = lists::list(&table, &matching, &ways(), &demo(), &[]);
    assert!(list.problems.is_empty(), "{:?}", list.problems);
    let elsewhere = place.another();
    let other = store(&elsewhere).await;
    other.bring_in(BEND, &list.rows, &captain()).await.unwrap();
    let after = other.equipment(BEND).await.unwrap();
    assert_eq!(held(&after), held(&before));
    assert_eq!(lists::csv(&after).unwrap(), bytes);
}

on_both!(
    a_list_is_entered_whole_or_not_at_all,
    law_a_list_that_was_written_reads_back_to_the_same,
);
