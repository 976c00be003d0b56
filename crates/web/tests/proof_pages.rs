//! A test day on pages: planned, taken reading by reading, brought in, reduced, and put
//! into the book.
#![allow(clippy::unwrap_used)]

mod common;

use axum::body::Body;
use axum::http::{Request, StatusCode};
use common::{Answer, DEMO, DEMO_SLUG, House};
use std::path::Path;

fn at(path: &str) -> String {
    format!("/book/{DEMO_SLUG}{path}")
}

const CHOSEN: [(&str, &str); 7] = [
    ("test", "hose/attack"),
    ("gauge", "line-gauge-1"),
    ("gauge", "line-gauge-2"),
    ("gauge", "flow-meter"),
    ("within", "5"),
    ("date", "2026-09-19"),
    ("find", "c"),
];

/// A sheet for the friction of the attack hose; its number is 1.
async fn begun() -> House {
    let house = House::with(DEMO).await;
    let begun = house.post(&at("/tests/new"), &CHOSEN).await;
    assert_eq!(begun.to(), at("/test/1?told=begun"));
    house
}

fn reading<'a>(token: &'a str, place: &'a str, value: &'a str) -> Vec<(&'a str, &'a str)> {
    vec![
        ("token", token),
        ("point", "1"),
        ("place", place),
        ("units", "us"),
        ("value", value),
        ("time", "8:01"),
        ("remark", "first"),
        ("do", "enter"),
    ]
}

async fn readings(house: &House) -> Vec<records::Reading> {
    house
        .workbench
        .records
        .readings(DEMO_SLUG, 1)
        .await
        .unwrap()
}

/// What the sheet's script sends, and what it gets.
async fn by_script(house: &House, pairs: &[(&str, &str)]) -> (StatusCode, serde_json::Value) {
    let body: Vec<String> = pairs
        .iter()
        .map(|(key, value)| format!("{key}={}", value.replace(' ', "%20")))
        .collect();
    let request = Request::post(at("/test/1/read"))
        .header("host", "localhost:8275")
        .header("accept", "application/json")
        .header("content-type", "application/x-www-form-urlencoded");
    let answer: Answer = house
        .ask(request.body(Body::from(body.join("&"))).unwrap())
        .await;
    (
        answer.status,
        serde_json::from_slice(&answer.bytes).unwrap(),
    )
}

#[tokio::test]
async fn a_plan_says_what_to_read_with_which_gauges_and_how_sure_it_will_be() {
    let house = House::with(DEMO).await;
    let empty = house.get(&at("/tests/new")).await.text();
    assert!(
        empty.contains("value=\"hose/attack\"") && empty.contains("line-gauge-1"),
        "{empty}"
    );
    let query: Vec<String> = CHOSEN.iter().map(|(k, v)| format!("{k}={v}")).collect();
    let query = query.join("&");
    let page = house.get(&at(&format!("/tests/new?{query}"))).await.text();
    for words in [
        "The plan",
        "Set-up",
        "to be known within",
        "What to read",
        "Begin the sheet",
    ] {
        assert!(page.contains(words), "{words} in {page}");
    }
    let sheet = house.get(&at(&format!("/tests/plan?{query}"))).await;
    assert_eq!(sheet.header("content-type"), "application/pdf");
    assert!(sheet.bytes.starts_with(b"%PDF-"));
    let none = house
        .post(&at("/tests/new"), &[("date", "2026-09-19")])
        .await;
    assert_eq!(none.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(none.text().contains("Choose what is to be tested"));
    // The hose and the nozzle of a line.
    let line = house.get(&at("/tests/new?line=left-crosslay")).await.text();
    assert!(line.contains("Begin the 2 sheets"), "{line}");
}

#[tokio::test]
async fn a_reading_is_entered_corrected_and_struck_out_and_all_of_it_stays() {
    let house = begun().await;
    let sheet = house.get(&at("/test/1?point=1")).await.text();
    assert!(
        sheet.contains("Expected") && sheet.contains("Not entered yet"),
        "{sheet}"
    );
    let mut sent = reading("a", "inlet pressure", "152");
    sent.push(("gauge", "line-gauge-1"));
    let entered = house.post(&at("/test/1/read"), &sent).await;
    assert_eq!(entered.to(), at("/test/1?point=1&told=entered"));
    let first = readings(&house).await.remove(0);
    assert_eq!(first.new.written, "152 psi");
    assert_eq!(first.new.time, "08:01");
    assert_eq!(first.by.who, "René");
    // The gauge's step and calibration stay with the reading.
    assert!(first.new.resolution.is_some() && first.new.calibrated.is_some());
    let page = house.get(entered.to()).await.text();
    assert!(
        page.contains("152 psi at 08:01, by René, gauge line-gauge-1"),
        "{page}"
    );
    // Sent twice, it is entered once.
    house.post(&at("/test/1/read"), &sent).await.to();
    assert_eq!(readings(&house).await.len(), 1);
    // The next point begins with the last value of the place.
    let next = house.get(&at("/test/1?point=2")).await.text();
    assert!(
        next.contains("value=\"152\"") && next.contains("the last value read here"),
        "{next}"
    );
    let mut better = reading("b", "inlet pressure", "154");
    better.push(("corrects", "1"));
    house.post(&at("/test/1/read"), &better).await.to();
    let second = readings(&house).await.last().unwrap().id.to_string();
    let mut out = reading("c", "inlet pressure", "");
    out.retain(|(key, _)| *key != "do");
    out.extend([("corrects", second.as_str()), ("do", "strike")]);
    house.post(&at("/test/1/read"), &out).await.to();
    assert_eq!(readings(&house).await.len(), 3);
    let page = house.get(&at("/test/1?point=1")).await.text();
    assert!(
        page.contains("Corrected and struck out: 2") && page.contains("Not entered yet"),
        "{page}"
    );
}

#[tokio::test]
async fn the_second_of_two_testers_is_told_and_nothing_is_overwritten() {
    let house = begun().await;
    house
        .post(&at("/test/1/read"), &reading("a", "inlet pressure", "152"))
        .await
        .to();
    let mine = reading("b", "inlet pressure", "150");
    let page = house.post(&at("/test/1/read"), &mine).await;
    assert_eq!(page.status, StatusCode::CONFLICT);
    let text = page.text();
    assert!(
        text.contains("152 psi at 08:01, by René is there already"),
        "{text}"
    );
    assert!(
        text.contains("value=\"150\""),
        "what was typed is kept: {text}"
    );
    let (status, said) = by_script(&house, &mine).await;
    assert_eq!(status, StatusCode::CONFLICT);
    assert_eq!(said["instead"], 1);
    let mut better = mine.clone();
    better.push(("corrects", "1"));
    let (status, said) = by_script(&house, &better).await;
    assert_eq!((status, &said["reading"]), (StatusCode::OK, &2.into()));
    // Somebody else corrects the first one too.
    let mut late = reading("c", "inlet pressure", "149");
    late.push(("corrects", "1"));
    let (status, said) = by_script(&house, &late).await;
    assert_eq!(status, StatusCode::CONFLICT);
    let words = said["detail"].as_str().unwrap();
    assert!(
        words.contains("corrected that one before you: 150 psi"),
        "{words}"
    );
    assert_eq!(readings(&house).await.len(), 2);
}

#[tokio::test]
async fn a_reading_that_cannot_be_is_refused_beside_its_field_with_what_would_mend_it() {
    let house = begun().await;
    for (place, value, gauge, words) in [
        ("inlet pressure", "a lot", "", "&quot;a lot&quot;"),
        ("inlet pressure", "152 gpm", "", "gpm"),
        ("inlet pressure", "-3", "", "below nought"),
        (
            "inlet pressure",
            "9000",
            "line-gauge-1",
            "past the end of the scale",
        ),
        (
            "inlet pressure",
            "152",
            "flow-meter",
            "does not read pressure",
        ),
        ("inlet pressure", "152", "lost", "no gauge &quot;lost&quot;"),
        ("held pressure", "152", "", "is not read in this test"),
    ] {
        let mut sent = reading("t", place, value);
        sent.push(("gauge", gauge));
        let answer = house.post(&at("/test/1/read"), &sent).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{value}");
        assert!(
            answer.text().contains(words),
            "{words} in {}",
            answer.text()
        );
    }
    assert!(readings(&house).await.is_empty());
    house.post(&at("/test/1/close"), &[]).await.to();
    let late = house
        .post(&at("/test/1/read"), &reading("z", "inlet pressure", "152"))
        .await;
    assert_eq!(late.status, StatusCode::CONFLICT);
    assert!(late.text().contains("test 1 is closed"), "{}", late.text());
    assert_eq!(
        house.get(&at("/test/99")).await.status,
        StatusCode::NOT_FOUND
    );
}

/// The shipped readings: invented, with noise and one bad gauge.
fn shipped() -> Vec<u8> {
    let books = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../books");
    std::fs::read(books.join("saltmarsh-bend-test-day.csv")).unwrap()
}

fn to_hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

/// The file, looked at and entered.
async fn brought_in(house: &House) -> Answer {
    let bytes = shipped();
    let file = [("file", "day.csv", bytes.as_slice())];
    let look = house.send(&at("/tests/bring"), &file).await;
    assert_eq!(look.status, StatusCode::OK, "{}", look.text());
    assert!(
        look.text().contains("Nothing is entered yet"),
        "{}",
        look.text()
    );
    let none = house.workbench.records.tests(DEMO_SLUG, 9).await.unwrap();
    assert!(none.is_empty());
    let hex = to_hex(&shipped());
    let enter = [
        ("carried", "", hex.as_bytes()),
        ("name", "", b"day.csv".as_slice()),
        ("do", "", b"enter".as_slice()),
    ];
    house.send(&at("/tests/bring"), &enter).await
}

#[tokio::test]
async fn a_file_is_looked_at_entered_once_and_known_again() {
    let house = House::with(DEMO).await;
    let entered = brought_in(&house).await;
    let day = house.get(entered.to()).await;
    assert_eq!(day.status, StatusCode::OK, "{}", day.text());
    let count = house
        .workbench
        .records
        .tests(DEMO_SLUG, 99)
        .await
        .unwrap()
        .len();
    assert!(count > 1);
    let bytes = shipped();
    let file = [("file", "again.csv", bytes.as_slice())];
    let again = house.send(&at("/tests/bring"), &file).await.text();
    assert!(again.contains("in the records already"), "{again}");
    assert!(!again.contains("value=\"enter\""));
    assert_eq!(
        house
            .workbench
            .records
            .tests(DEMO_SLUG, 99)
            .await
            .unwrap()
            .len(),
        count
    );
}

#[tokio::test]
async fn rows_that_cannot_be_used_are_named_and_columns_can_be_matched() {
    let house = House::with(DEMO).await;
    let csv = "test,date,flow (gpm),P1 (psi),outlet (psi),length (ft)\n\
               hose attack,2026-09-19,161,99,50,200\n\
               hose attack,2026-09-19,180,120,fifty,200\n";
    let look = house
        .send(&at("/tests/bring"), &[("file", "day.csv", csv.as_bytes())])
        .await
        .text();
    assert!(
        look.contains("0 can be entered") && look.contains("fifty"),
        "{look}"
    );
    let hex = to_hex(csv.as_bytes());
    let mut fields: Vec<(String, Vec<u8>)> = vec![
        ("carried".into(), hex.into_bytes()),
        ("name".into(), b"day.csv".to_vec()),
        ("columns".into(), b"6".to_vec()),
        ("do".into(), b"look".to_vec()),
    ];
    let columns = [
        ("test", "kind of test"),
        ("date", "date"),
        ("flow (gpm)", "flow"),
        ("P1 (psi)", "inlet pressure"),
        ("outlet (psi)", "outlet pressure"),
        ("length (ft)", "length"),
    ];
    for (index, (head, role)) in columns.into_iter().enumerate() {
        fields.push((format!("head-{index}"), head.into()));
        fields.push((format!("role-{index}"), role.into()));
    }
    let sent: Vec<(&str, &str, &[u8])> = fields
        .iter()
        .map(|(key, value)| (key.as_str(), "", value.as_slice()))
        .collect();
    let look = house.send(&at("/tests/bring"), &sent).await.text();
    assert!(look.contains("Enter 1 row"), "{look}");
    assert!(
        look.contains("<th scope=\"row\">3</th>") && look.contains("outlet (psi)"),
        "{look}"
    );
    let picture = house
        .send(
            &at("/tests/bring"),
            &[("file", "a.png", b"\x89PNG\r\n\x1a\n\0\0")],
        )
        .await;
    assert_eq!(picture.status, StatusCode::UNPROCESSABLE_ENTITY);
}

#[tokio::test]
async fn a_shipped_day_leads_from_readings_to_a_bad_gauge_a_report_and_changed_lines() {
    let house = House::with(DEMO).await;
    // A card is out there before.
    let card = [("size", "pocket"), ("units", "us"), ("base", "1")];
    let printed = house
        .post(&at("/paper/line-card/left-crosslay"), &card)
        .await;
    assert_eq!(printed.status, StatusCode::OK);
    let entered = brought_in(&house).await;
    let day = house.get(entered.to()).await.text();
    assert!(day.contains("does not agree with the others"), "{day}");
    let tests = house.workbench.records.tests(DEMO_SLUG, 99).await.unwrap();
    let hose = tests
        .iter()
        .find(|t| (t.new.kind.as_str(), t.new.subject.as_str()) == ("hose", "attack"))
        .unwrap();
    let to = |rest: &str| at(&format!("/test/{}{rest}", hose.id));
    let result = house.get(&to("/result")).await.text();
    for words in [
        "(95 %)",
        "What the uncertainty is made of",
        "Readings and fit",
        "Measured less expected",
        "Leave out",
    ] {
        assert!(result.contains(words), "{words} in {result}");
    }
    // A point left out by choice stays shown, with its reason.
    let without = house
        .get(&to("/result?leave=3&why-3=air%20in%20the%20line"))
        .await
        .text();
    assert!(
        without.contains("<b>Left out: </b>air in the line"),
        "{without}"
    );
    let si = house.get(&to("/result?units=si")).await.text();
    assert!(si.contains(" bar") && si.contains("L/min"));
    let report = house.get(&to("/report")).await;
    assert!(report.bytes.starts_with(b"%PDF-"), "{}", report.status);
    // Open, it is not accepted.
    house.post(&to("/close"), &[]).await.to();
    let asked = house.get(&to("/accept")).await;
    let (asked, go_on) = match asked.status {
        StatusCode::OK => (asked.text(), false),
        _ => {
            assert!(asked.text().contains("may be off"), "{}", asked.text());
            (house.get(&to("/accept?go_on=yes")).await.text(), true)
        }
    };
    for words in [
        "Lines that change",
        "Issued sheets that become wrong",
        "Line card: ",
        "Save as revision 2",
    ] {
        assert!(asked.contains(words), "{words} in {asked}");
    }
    let mut sent = vec![("base", "1"), ("source", "own flow test")];
    if go_on {
        sent.push(("go_on", "yes"));
    }
    let accepted = house.post(&to("/accept"), &sent).await;
    let page = house.get(accepted.to()).await.text();
    assert!(
        page.contains("Saved as revision 2") && page.contains("1 issued sheet is now wrong"),
        "{page}"
    );
    assert!(page.contains("In the book since revision 2"), "{page}");
    // The register shows it superseded; the old value stays in the book.
    let register = house.get(&at("/issued")).await.text();
    assert!(register.contains("Superseded"), "{register}");
    let report = house.get(&to("/report")).await;
    assert!(report.bytes.starts_with(b"%PDF-"));
    // A form from before is refused, and says what to do.
    let stale = house.post(&to("/accept"), &sent).await;
    assert_eq!(stale.status, StatusCode::CONFLICT);
    assert!(
        stale.text().contains("See what it changes now"),
        "{}",
        stale.text()
    );
}

/// The shipped day brought in; the number of its test of the attack hose.
async fn hose_of_the_day(house: &House) -> i64 {
    brought_in(house).await.to();
    let tests = house.workbench.records.tests(DEMO_SLUG, 99).await.unwrap();
    let hose =
        |t: &&records::Test| (t.new.kind.as_str(), t.new.subject.as_str()) == ("hose", "attack");
    tests.iter().find(hose).unwrap().id
}

#[tokio::test]
async fn a_report_is_entered_in_the_register_and_its_code_is_found() {
    let house = House::with(DEMO).await;
    let id = hose_of_the_day(&house).await;
    let to = |rest: &str| at(&format!("/test/{id}{rest}"));
    let issued = async || house.workbench.records.issued(DEMO_SLUG).await.unwrap();
    let sent = [
        ("base", "1"),
        ("size", "a4"),
        ("units", "both"),
        ("correct", "line-gauge-1"),
    ];
    // Not while a reading can make it another.
    let open = house.get(&to("/result")).await.text();
    assert!(!open.contains("Enter the report in the register"), "{open}");
    let early = house.post(&to("/report"), &sent).await;
    assert_eq!(early.status, StatusCode::CONFLICT);
    let early = early.text();
    assert!(early.contains("still takes readings"), "{early}");
    assert!(issued().await.is_empty());
    house.post(&to("/close"), &[]).await.to();
    let page = house.get(&to("/result?correct=line-gauge-1")).await.text();
    for words in [
        "Enter the report in the register",
        "No report of this test is in the register",
        "name=\"correct\" value=\"line-gauge-1\"",
    ] {
        assert!(page.contains(words), "{words} in {page}");
    }
    // A proof is in no register.
    house.get(&to("/report")).await;
    assert!(issued().await.is_empty());
    let printed = house.post(&to("/report"), &sent).await;
    assert_eq!(printed.status, StatusCode::OK, "{}", printed.text());
    assert!(printed.bytes.starts_with(b"%PDF-"));
    let first = issued().await.remove(0);
    let said = [&first.kind, &first.subject, &first.size, &first.units];
    let expected = ["test-report", "hose: attack, 2026-09-19", "a4", "both"];
    assert_eq!(said, expected);
    assert_eq!((first.revision, first.who.as_str()), (1, "René"));
    // As somebody types it who has the paper in hand.
    let typed = first.code.replace('-', "").to_lowercase();
    let known = house.get(&format!("/paper?code={typed}")).await;
    let found = house.get(known.to()).await.text();
    assert!(found.contains("Of its day"), "{found}");
    assert!(
        found.contains("what was found on another day, 2026-05-11"),
        "{found}"
    );
    let page = house.get(&to("/result")).await.text();
    assert!(page.contains(&first.code), "{page}");
    // The result goes into the book: the report of the day stays what it was.
    let mut take = sent.to_vec();
    take.push(("source", "own flow test"));
    house.post(&to("/accept"), &take).await.to();
    let found = house.get(&format!("/paper/{}", first.code)).await.text();
    assert!(
        found.contains("Of its day") && found.contains("The book has what was found that day."),
        "{found}"
    );
    // The next print tells what became of it, and has another code. That the page is older
    // than the book makes no difference to what was found.
    let again = house.post(&to("/report"), &sent).await;
    assert_eq!(again.status, StatusCode::OK, "{}", again.text());
    let second = issued().await.remove(0);
    assert_eq!((second.revision, &second.subject), (2, &first.subject));
    assert_ne!((second.code, second.digest), (first.code, first.digest));
    let register = house.get(&at("/issued?kind=test-report")).await.text();
    assert!(
        register.contains("2 issued sheets: 2 current"),
        "{register}"
    );
}

#[tokio::test]
async fn a_report_looked_at_before_the_book_was_changed_is_not_entered() {
    let house = House::with(DEMO).await;
    let id = hose_of_the_day(&house).await;
    let to = |rest: &str| at(&format!("/test/{id}{rest}"));
    house.post(&to("/close"), &[]).await.to();
    let sent = [("base", "9"), ("size", "pocket")];
    let stale = house.post(&to("/report"), &sent).await;
    assert_eq!(stale.status, StatusCode::CONFLICT);
    let issued = async || house.workbench.records.issued(DEMO_SLUG).await.unwrap();
    assert!(issued().await.is_empty());
    let odd = house.post(&to("/report"), &[("size", "huge")]).await;
    assert!(odd.status.is_client_error() && odd.text().contains("huge"));
    assert!(issued().await.is_empty());
    // A report takes a full page.
    let small = house.post(&to("/report"), &[("size", "pocket")]).await;
    assert_eq!(small.status, StatusCode::OK, "{}", small.text());
    assert_eq!(issued().await.remove(0).size, "letter");
}

#[tokio::test]
async fn a_test_is_not_accepted_while_its_sheet_takes_readings() {
    let house = House::with(DEMO).await;
    let csv = "test,date,flow (gpm),inlet (psi),outlet (psi),length (ft)\n\
               hose attack,2026-09-19,100,70,42,200\n\
               hose attack,2026-09-19,161,120,48,200\n\
               hose attack,2026-09-19,200,160,48,200\n";
    let hex = to_hex(csv.as_bytes());
    let enter = [
        ("carried", "", hex.as_bytes()),
        ("name", "", b"day.csv".as_slice()),
        ("do", "", b"enter".as_slice()),
    ];
    house.send(&at("/tests/bring"), &enter).await.to();
    let asked = house.get(&at("/test/1/accept")).await.text();
    assert!(asked.contains("Close it first"), "{asked}");
    let open = house.post(&at("/test/1/accept"), &[("base", "1")]).await;
    assert_eq!(open.status, StatusCode::CONFLICT);
    assert_eq!(house.workbench.records.newest(DEMO_SLUG).await.unwrap(), 1);
}
