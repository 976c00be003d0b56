//! Equipment by serial number on pages: entered, tested, due, found, retired.
#![allow(clippy::unwrap_used)]

mod common;

use axum::http::StatusCode;
use common::{DEMO, DEMO_SLUG, House};
use records::{By, Gear, NewEquipment};

fn at(path: &str) -> String {
    format!("/book/{DEMO_SLUG}{path}")
}

const PIECE: [(&str, &str); 6] = [
    ("serial", "H-0007"),
    ("gear", "hose"),
    ("item", "attack"),
    ("title", "Left crosslay, first length"),
    ("since", "2026-01-10"),
    ("months", "12"),
];

fn with<'a>(key: &'a str, value: &'a str) -> Vec<(&'a str, &'a str)> {
    let all = PIECE.into_iter();
    all.map(|(k, v)| if k == key { (k, value) } else { (k, v) })
        .collect()
}

#[tokio::test]
async fn a_piece_is_entered_tested_and_retired_and_stays_in_the_records() {
    let house = House::with(DEMO).await;
    let made = house.post(&at("/inventory/new"), &PIECE).await;
    assert_eq!(made.to(), at("/piece/H-0007?told=new"));
    let page = house.get(made.to()).await.text();
    assert!(
        page.contains("Left crosslay, first length") && page.contains("January 2027"),
        "{page}"
    );
    let test = [
        ("date", "2026-05-11"),
        ("outcome", "failed"),
        ("pressure", "300"),
        ("remark", "weeps at the coupling"),
    ];
    let tested = house.post(&at("/piece/H-0007/tested"), &test).await;
    let page = house.get(tested.to()).await.text();
    assert!(
        page.contains("held 300 psi; weeps at the coupling"),
        "{page}"
    );
    assert!(page.contains("out of service until it passes"), "{page}");
    // Who entered it stands beside it.
    assert!(page.contains("by René"), "{page}");
    let gone = [("retired", "2026-05-12"), ("why", "cut up for training")];
    let retired = house.post(&at("/piece/H-0007/retire"), &gone).await;
    let page = house.get(retired.to()).await.text();
    assert!(
        page.contains("cut up for training") && page.contains("Retired"),
        "{page}"
    );
    // The form for another test is gone; sent nevertheless, it is refused in words.
    assert!(!page.contains("Enter the test"));
    let late = house.post(&at("/piece/H-0007/tested"), &test).await;
    assert_eq!(late.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(
        late.text().contains("was retired on 2026-05-12"),
        "{}",
        late.text()
    );
}

#[tokio::test]
async fn what_is_wrong_with_a_form_stands_beside_its_field_and_what_was_typed_stays() {
    let house = House::with(DEMO).await;
    house.post(&at("/inventory/new"), &PIECE).await.to();
    for (key, value, words) in [
        (
            "serial",
            "H-0007",
            "there is equipment number &quot;H-0007&quot; already",
        ),
        ("serial", " ", "Write the number that stands on it"),
        ("gear", "ladder", "Choose hose, nozzle or gauge"),
        (
            "months",
            "a year",
            "&quot;a year&quot; is no number of months",
        ),
        ("since", "last spring", "&quot;last spring&quot; is no day"),
    ] {
        let answer = house.post(&at("/inventory/new"), &with(key, value)).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{key}");
        let page = answer.text();
        assert!(page.contains(words), "{key}: {page}");
        assert!(
            page.contains("value=\"Left crosslay, first length\""),
            "{key}"
        );
    }
    let wrong = [
        ("date", "2026-05-11"),
        ("outcome", "passed"),
        ("pressure", "300 gpm"),
    ];
    let answer = house.post(&at("/piece/H-0007/tested"), &wrong).await;
    assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(
        answer.text().contains("value=\"300 gpm\""),
        "{}",
        answer.text()
    );
    let trials = house
        .workbench
        .records
        .trials(DEMO_SLUG, "H-0007")
        .await
        .unwrap();
    assert!(trials.is_empty());
    assert_eq!(
        house.get(&at("/piece/H-9")).await.status,
        StatusCode::NOT_FOUND
    );
}

/// `count` hoses, in service since ten years before the demo's day.
async fn many(house: &House, count: usize) {
    let piece = |number| NewEquipment {
        serial: format!("H-{number:04}"),
        gear: Gear::Hose,
        item: "attack".into(),
        title: String::new(),
        since: "2016-01-10".into(),
        months: 12,
    };
    let all: Vec<NewEquipment> = (1..=count).map(piece).collect();
    let by = By::new("", 0);
    house
        .workbench
        .records
        .add_equipment(DEMO_SLUG, &all, &by)
        .await
        .unwrap();
}

#[tokio::test]
async fn a_thousand_pieces_are_paged_found_and_taken_away() {
    let house = House::with(DEMO).await;
    many(&house, 1_000).await;
    let first = house.get(&at("/inventory")).await.text();
    assert!(first.contains("1 to 50 of 1000 pieces"), "{first}");
    assert!(first.contains("H-0050") && !first.contains("H-0051"));
    assert!(first.contains("/inventory?page=2"), "{first}");
    assert!(first.len() < 60_000, "{}", first.len());
    let last = house.get(&at("/inventory?page=99")).await.text();
    assert!(last.contains("951 to 1000 of 1000 pieces"), "{last}");
    let one = house.get(&at("/inventory?find=h-0777")).await.text();
    assert!(one.contains("1 piece.") && one.contains("H-0777"), "{one}");
    let none = house.get(&at("/inventory?state=tested")).await.text();
    assert!(none.contains("No piece is like that"), "{none}");
    let due = house.get(&at("/inventory/due?days=0")).await.text();
    assert!(
        due.contains("1000 pieces are due or failed, 1000 of them overdue"),
        "{due}"
    );
    let csv = house.get(&at("/inventory/tables/csv?find=H-00")).await;
    assert_eq!(csv.header("content-type"), "text/csv; charset=utf-8");
    // A head and 99 rows: H-0001 to H-0099.
    assert_eq!(csv.text().lines().count(), 100, "{}", csv.text());
    assert!(csv.text().contains("H-0042,hose,attack"), "{}", csv.text());
}

#[tokio::test]
async fn a_list_is_looked_at_matched_and_entered_whole_or_not_at_all() {
    let house = House::with(DEMO).await;
    let csv = "Tag,Type,In service,Last tested,Result\n\
               H-1,hose,2024-03-02,5/11/2026,pass\n\
               H-2,hose,2024-03-02,2026-05-25,fail\n\
               H-2,hose,2024-03-02,,\n";
    let file = [("file", "hose.csv", csv.as_bytes())];
    let look = house.send(&at("/inventory/bring"), &file).await;
    assert_eq!(look.status, StatusCode::OK, "{}", look.text());
    let page = look.text();
    assert!(page.contains("Nothing is entered yet"), "{page}");
    assert!(
        house
            .workbench
            .records
            .equipment(DEMO_SLUG)
            .await
            .unwrap()
            .is_empty()
    );
    let hex: String = csv.bytes().map(|byte| format!("{byte:02x}")).collect();
    let sent = |todo: &'static str| {
        let fields = [
            ("carried", hex.as_str()),
            ("name", "hose.csv"),
            ("columns", "5"),
            ("column-0", "serial"),
            ("column-1", "kind"),
            ("column-2", "since"),
            ("column-3", "tested"),
            ("column-4", "result"),
            ("order", "month"),
            ("do", todo),
        ];
        fields.map(|(key, value)| (key, "", value.as_bytes()))
    };
    let page = house
        .send(&at("/inventory/bring"), &sent("look"))
        .await
        .text();
    // The number that stands on two rows is named with its row.
    assert!(
        page.contains("<th scope=\"row\">4</th>") && page.contains("H-2"),
        "{page}"
    );
    let entered = house.send(&at("/inventory/bring"), &sent("enter")).await;
    assert!(
        entered.to().starts_with(&at("/inventory?told=in-")),
        "{}",
        entered.to()
    );
    let pieces = house.workbench.records.equipment(DEMO_SLUG).await.unwrap();
    let first = pieces
        .iter()
        .find(|piece| piece.new.serial == "H-1")
        .unwrap();
    assert_eq!(
        first.trial.as_ref().map(|t| t.date.as_str()),
        Some("2026-05-11")
    );
    // Sent again, nothing is doubled.
    house.send(&at("/inventory/bring"), &sent("enter")).await;
    let again = house.workbench.records.equipment(DEMO_SLUG).await.unwrap();
    assert_eq!(again, pieces);
    let picture = [("file", "a.png", b"\x89PNG\r\n\x1a\n\0\0".as_slice())];
    let refused = house.send(&at("/inventory/bring"), &picture).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
}

#[tokio::test]
async fn what_is_due_goes_into_a_calendar() {
    let house = House::with(DEMO).await;
    many(&house, 3).await;
    let file = house.get(&at("/inventory/due.ics?each=piece")).await;
    assert_eq!(file.header("content-type"), "text/calendar; charset=utf-8");
    let text = file.text();
    assert!(text.starts_with("BEGIN:VCALENDAR"), "{text}");
    assert_eq!(text.matches("BEGIN:VEVENT").count(), 3, "{text}");
    assert!(text.contains("DTSTART;VALUE=DATE:20170110"), "{text}");
    let day = house.get(&at("/inventory/due.ics")).await.text();
    assert_eq!(day.matches("BEGIN:VEVENT").count(), 1, "{day}");
}
