//! The register: what was issued, what of it is wrong now, and by how much.
#![allow(clippy::unwrap_used, clippy::panic)]

mod common;

use book::{Book, Part, Parts};
use common::Place;
use paper::{Kind, Paper, Size, Units};
use records::{
    Issue, NewIssue, Note, Records, RecordsError, Standing, standing, standings, to_reprint,
};
use std::collections::BTreeSet;

const BEND: &str = "bend";
const MAY: i64 = 1_778_500_000;

fn demo() -> String {
    let path = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../../books/saltmarsh-bend.toml"
    );
    std::fs::read_to_string(path).unwrap()
}

fn read(text: &str) -> Book {
    book::read(text.as_bytes(), "bend.toml").unwrap()
}

/// `text` with another coefficient of a hose.
fn with_coefficient(text: &str, hose: &str, value: &str) -> String {
    let mut file: toml_edit::DocumentMut = text.parse().unwrap();
    let hose = &mut file["hose"][hose];
    let value: f64 = value.parse().unwrap();
    match hose.get("measured").is_some() {
        true => hose["measured"]["coefficient"] = toml_edit::value(value),
        false => hose["coefficient"] = toml_edit::value(value),
    }
    file.to_string()
}

struct Kept {
    records: Records,
    revision: i64,
}

impl Kept {
    async fn with_demo(place: &Place) -> Self {
        let records = place.records().await;
        let revision = records
            .create(BEND, "Bend", &demo(), &Note::default())
            .await
            .unwrap();
        Kept { records, revision }
    }

    async fn save(&mut self, text: &str) -> Book {
        let (at, note) = (self.revision, Note::default());
        let saved = self.records.save(BEND, at, "Bend", text, &note);
        self.revision = saved.await.unwrap();
        read(text)
    }

    async fn newest(&self) -> Book {
        let newest = self.records.newest(BEND).await.unwrap();
        read(&self.records.revision(BEND, newest).await.unwrap().text)
    }

    async fn issue(&self, sheets: &[paper::Sheet]) -> Vec<i64> {
        let paper = Paper {
            size: Size::Pocket,
            date: "2026-05-11".into(),
            address: None,
            revision: Some(u32::try_from(self.revision).unwrap()),
        };
        let new = sheets.iter().map(|s| NewIssue::of(s, &paper).unwrap());
        let new: Vec<NewIssue> = new.collect();
        let entered = self.records.issue(BEND, &new, MAY, "Captain");
        entered.await.unwrap()
    }

    async fn issued(&self) -> Vec<Issue> {
        self.records.issued(BEND).await.unwrap()
    }

    async fn test_report(&self) -> Issue {
        let mut issued = self.issued().await.into_iter();
        issued.find(|issue| issue.kind == "test-report").unwrap()
    }

    /// Kind and subject of every sheet that is superseded.
    async fn superseded(&self) -> BTreeSet<(String, String)> {
        let (issues, book) = (self.issued().await, self.newest().await);
        let stood = standings(&issues, &book);
        for (issue, stands) in issues.iter().zip(&stood) {
            assert_eq!(standing(issue, &book), *stands);
        }
        let pairs = issues.into_iter().zip(stood);
        pairs
            .filter(|(_, stands)| matches!(stands, Standing::Superseded { .. }))
            .map(|(issue, _)| (issue.kind, issue.subject))
            .collect()
    }
}

fn uses(parts: &Parts, hose: &str) -> bool {
    parts.iter().any(|part| match part {
        Part::Hose(part) => part.hose == hose,
        Part::Branches(rows) | Part::Legs(rows) => rows.iter().any(|row| uses(row, hose)),
        Part::Nozzle(_) | Part::Appliance(_) => false,
    })
}

/// Lines of the demo that no slide chart can be made of: several tips, or an eductor.
const NO_SLIDE: [&str; 4] = ["foam", "foam-too-long", "apartment", "monitor"];

/// Kind and subject of the sheets that rest on `hose`, by a walk of the book's lines.
fn resting_on(book: &Book, hose: &str) -> BTreeSet<(String, String)> {
    let mut found = BTreeSet::new();
    let mut add = |kind: Kind, subject: &str| {
        found.insert((kind.word().to_string(), subject.to_string()));
    };
    if Kind::Nomogram.subjects(book).contains(&hose) {
        add(Kind::Nomogram, hose);
    }
    for (name, line) in book.line.iter().filter(|(_, line)| uses(&line.parts, hose)) {
        add(Kind::LineCard, name);
        add(Kind::Handout, name);
        if !NO_SLIDE.contains(&name.as_str()) {
            add(Kind::SlideChart, name);
        }
        if let Some(rig) = &line.rig {
            add(Kind::PumpChart, rig);
            add(Kind::Labels, rig);
        }
    }
    found
}

/// Charts and cards: the sheets whose subjects a walk of the lines tells.
fn charts_and_cards(book: &Book) -> Vec<paper::Sheet> {
    let mut sheets = paper::whole_set(book, Units::Us).unwrap();
    sheets.retain(|sheet| matches!(sheet.kind, Kind::PumpChart | Kind::LineCard));
    sheets
}

async fn a_change_of_one_hose_supersedes_exactly_the_sheets_that_rest_on_it(place: Place) {
    let book = read(&demo());
    for (hose, value) in [
        ("attack", "16"),
        ("large", "2.3"),
        ("supply", "0.9"),
        ("neighbour", "26"),
        ("main-supply", "0.1"),
    ] {
        let place = place.another();
        let mut kept = Kept::with_demo(&place).await;
        let set = paper::whole_set(&book, Units::Us).unwrap();
        kept.issue(&set).await;
        assert!(kept.superseded().await.is_empty());
        kept.save(&with_coefficient(&demo(), hose, value)).await;
        let expected = resting_on(&book, hose);
        assert_eq!(kept.superseded().await, expected, "hose {hose}");
        assert!(!expected.is_empty());
        assert!(expected.len() < kept.issued().await.len());
        let note = Note::default();
        let back = kept.records.undo(BEND, kept.revision, "Bend", &note);
        kept.revision = back.await.unwrap();
        assert!(kept.superseded().await.is_empty(), "undone, hose {hose}");
    }
}

async fn what_is_wrong_is_told_in_figures(place: Place) {
    let mut kept = Kept::with_demo(&place).await;
    let card = paper::line_card(&kept.newest().await, "left-crosslay", Units::Us).unwrap();
    kept.issue(&[card]).await;
    let changed = kept.save(&with_coefficient(&demo(), "attack", "16")).await;
    let issues = kept.issued().await;
    let Standing::Superseded { differences, gone } = standing(&issues[0], &changed) else {
        panic!("not superseded");
    };
    assert!(!gone);
    // C 14.2 and 16 at 150 gpm through 200 ft: 63.9 and 72 psi, and 101.5 psi at the tip.
    let words: Vec<String> = differences.iter().map(paper::in_words).collect();
    let pump = "pump pressure: says 165 psi, now 174 psi".to_string();
    assert_eq!(words.first(), Some(&pump), "{words:?}");
    assert!(words.iter().any(|w| w.starts_with("sources: says")));
    let flow = |words: &String| words.starts_with("flow:");
    assert!(!words.iter().any(flow), "the aim is the same: {words:?}");
}

async fn what_leaves_the_book_supersedes_its_sheet(place: Place) {
    let mut kept = Kept::with_demo(&place).await;
    let book = kept.newest().await;
    kept.issue(&charts_and_cards(&book)).await;
    let mut file: toml_edit::DocumentMut = demo().parse().unwrap();
    file["line"].as_table_mut().unwrap().remove("bumper");
    let after = kept.save(&file.to_string()).await;
    let expected: BTreeSet<(String, String)> = [
        ("line-card".to_string(), "bumper".to_string()),
        ("pump-chart".into(), "pumper-1".into()),
    ]
    .into();
    assert_eq!(kept.superseded().await, expected);
    let issues = kept.issued().await;
    let stand = standings(&issues, &after);
    let gone: Vec<&str> = issues
        .iter()
        .zip(&stand)
        .filter(|(_, s)| matches!(s, Standing::Superseded { gone: true, .. }))
        .map(|(issue, _)| issue.subject.as_str())
        .collect();
    assert_eq!(gone, ["bumper"]);
    let due = to_reprint(&issues, &stand);
    assert_eq!(due.len(), 1);
    assert_eq!(due[0].subject, "pumper-1");
}

async fn a_reprint_that_says_the_same_leaves_the_older_print_current(place: Place) {
    let mut kept = Kept::with_demo(&place).await;
    let card = |book: &Book| paper::line_card(book, "large", Units::Us).unwrap();
    kept.issue(&[card(&kept.newest().await)]).await;
    let attack = with_coefficient(&demo(), "attack", "16");
    let book = kept.save(&attack).await;
    kept.issue(&[card(&book)]).await;
    let issues = kept.issued().await;
    assert_eq!(
        issues.iter().map(|i| i.revision).collect::<Vec<_>>(),
        [2, 1]
    );
    assert_ne!(issues[0].code, issues[1].code);
    assert_eq!(
        standings(&issues, &book),
        [Standing::Current, Standing::Current]
    );
}

async fn what_is_printed_anew_is_not_due_again_and_the_old_print_stays_superseded(place: Place) {
    let mut kept = Kept::with_demo(&place).await;
    let book = kept.newest().await;
    let card = |book: &Book, units| paper::line_card(book, "left-crosslay", units).unwrap();
    // Two copies of one, and one in other units.
    let us = card(&book, Units::Us);
    kept.issue(&[us.clone(), us, card(&book, Units::Si)]).await;
    let after = kept.save(&with_coefficient(&demo(), "attack", "16")).await;
    let issues = kept.issued().await;
    let stand = standings(&issues, &after);
    let due = to_reprint(&issues, &stand);
    let units: Vec<&str> = due.iter().map(|issue| issue.units.as_str()).collect();
    assert_eq!(units, ["si", "us"]);
    kept.issue(&[card(&after, Units::Us), card(&after, Units::Si)])
        .await;
    let issues = kept.issued().await;
    let stand = standings(&issues, &after);
    assert!(to_reprint(&issues, &stand).is_empty());
    let words: Vec<&str> = stand.iter().map(Standing::word).collect();
    assert_eq!(
        words,
        [
            "current",
            "current",
            "superseded",
            "superseded",
            "superseded"
        ]
    );
}

async fn a_sheet_is_found_by_its_code_as_people_type_it(place: Place) {
    let kept = Kept::with_demo(&place).await;
    let book = kept.newest().await;
    let ids = kept.issue(&charts_and_cards(&book)).await;
    let issues = kept.issued().await;
    assert_eq!(ids.len(), issues.len());
    let large = issues.iter().find(|i| i.subject == "large").unwrap();
    let typed = large.code.to_lowercase().replace('-', " ");
    let found = kept.records.by_code(&typed).await.unwrap();
    assert_eq!(found, std::slice::from_ref(large));
    assert_eq!(found[0].who, "Captain");
    assert_eq!((found[0].at, found[0].date.as_str()), (MAY, "2026-05-11"));
    assert_eq!(
        (found[0].size.as_str(), found[0].units.as_str()),
        ("pocket", "us")
    );
}

async fn a_code_that_was_never_issued_finds_nothing_and_a_mistyped_one_says_so(place: Place) {
    let kept = Kept::with_demo(&place).await;
    let card = paper::line_card(&kept.newest().await, "large", Units::Us).unwrap();
    let never = paper::Code::of(&card, Some(1)).to_string();
    assert!(kept.records.by_code(&never).await.unwrap().is_empty());
    kept.issue(&[card]).await;
    let (start, end) = never.split_at(1);
    let (second, end) = end.split_at(1);
    let other = if second == "7" { "9" } else { "7" };
    let mistyped = format!("{start}{other}{end}");
    let told = kept.records.by_code(&mistyped).await.unwrap_err();
    assert!(matches!(told, RecordsError::Code { .. }));
    let words = told.to_string();
    assert!(
        words.contains(&mistyped) && words.contains("compare with the sheet"),
        "{words}"
    );
    assert!(kept.records.by_code("").await.is_err());
}

async fn a_withdrawn_sheet_stays_in_the_register_and_is_withdrawn_once(place: Place) {
    let kept = Kept::with_demo(&place).await;
    let book = kept.newest().await;
    let card = paper::line_card(&book, "large", Units::Us).unwrap();
    let ids = kept.issue(&[card]).await;
    let why = "card burnt";
    kept.records
        .withdraw(ids[0], MAY + 60, "Chief", why)
        .await
        .unwrap();
    let issue = &kept.issued().await[0];
    let withdrawn = issue.withdrawn.as_ref().unwrap();
    assert_eq!(
        (withdrawn.at, withdrawn.who.as_str(), withdrawn.why.as_str()),
        (MAY + 60, "Chief", why)
    );
    assert_eq!(standing(issue, &book), Standing::Withdrawn);
    let again = kept
        .records
        .withdraw(ids[0], MAY, "", "")
        .await
        .unwrap_err();
    assert!(matches!(&again, RecordsError::Withdrawn { code } if *code == issue.code));
    let unknown = kept.records.withdraw(ids[0] + 1, MAY, "", "").await;
    assert!(matches!(unknown, Err(RecordsError::NoIssue(_))));
    assert_eq!(kept.issued().await[0].withdrawn.as_ref().unwrap().why, why);
}

async fn all_of_a_printing_is_entered_or_none_of_it(place: Place) {
    let kept = Kept::with_demo(&place).await;
    let card = paper::line_card(&kept.newest().await, "large", Units::Us).unwrap();
    let paper = |revision| Paper {
        date: "2026-05-11".into(),
        revision,
        ..Paper::default()
    };
    assert_eq!(NewIssue::of(&card, &paper(None)), None);
    let new = [1, 9].map(|number| NewIssue::of(&card, &paper(Some(number))).unwrap());
    let told = kept.records.issue(BEND, &new, MAY, "").await.unwrap_err();
    assert!(
        matches!(told, RecordsError::NoRevision { number: 9, .. }),
        "{told}"
    );
    assert!(kept.issued().await.is_empty());
    let nowhere = kept.records.issue("nowhere", &new, MAY, "").await;
    assert!(matches!(nowhere, Err(RecordsError::NoBook(_))));
    assert!(matches!(
        kept.records.issued("nowhere").await,
        Err(RecordsError::NoBook(_))
    ));
}

/// The report of a test of the attack hose, of three readings by C 14.2.
fn report(book: &Book) -> paper::Sheet {
    let csv = b"test,date,flow (gpm),inlet (psi),outlet (psi),length (ft)\n\
        hose attack,2026-05-11,100,78,50,200\n\
        hose attack,2026-05-11,150,114,50,200\n\
        hose attack,2026-05-11,200,164,50,200\n";
    let day = study::proof::read_day(csv, "day.csv", book, None)
        .unwrap()
        .day;
    let proved = study::proof::prove(book, &day);
    let tested = paper::Tested {
        test: &day.tests[0],
        proof: &proved.proofs[0],
        suspects: &proved.suspects,
        after: None,
        day: &[],
    };
    paper::test_report(book, &tested, Units::Us)
}

async fn a_report_stays_right_and_says_whether_the_book_has_what_it_found(place: Place) {
    let mut kept = Kept::with_demo(&place).await;
    let book = kept.newest().await;
    let card = paper::line_card(&book, "left-crosslay", Units::Us).unwrap();
    let sheets = [report(&book), card];
    kept.issue(&sheets).await;
    let issue = &kept.test_report().await;
    assert_eq!(
        (issue.kind.as_str(), issue.subject.as_str()),
        ("test-report", "hose: attack, 2026-05-11")
    );
    // The demo's measured C has that date.
    assert_eq!(paper::held(&issue.subject, &book), Some(paper::InBook::Has));
    let other = demo().replace(
        "coefficient = 14.2, date = \"2026-05-11\"",
        "coefficient = 16, date = \"2027-05-11\"",
    );
    let changed = kept.save(&other).await;
    let cards = BTreeSet::from([("line-card".to_string(), "left-crosslay".to_string())]);
    assert_eq!(kept.superseded().await, cards, "the report is not");
    let issue = &kept.test_report().await;
    assert_eq!(standing(issue, &changed), Standing::Current);
    let another = paper::InBook::Another("2027-05-11".into());
    assert_eq!(paper::held(&issue.subject, &changed), Some(another));
    let issues = kept.issued().await;
    let stood = standings(&issues, &changed);
    let due: Vec<&str> = to_reprint(&issues, &stood)
        .iter()
        .map(|i| i.kind.as_str())
        .collect();
    assert_eq!(due, ["line-card"]);
}

/// The report of a comparison that found no choice on the crosslays.
fn compared(book: &Book) -> paper::Sheet {
    let solved = study::solve(book, "left-crosslay", &book::Conditions::default()).unwrap();
    let asked = book::comparison::Comparison {
        lines: vec!["left-crosslay".into(), "right-crosslay".into()],
        ..Default::default()
    };
    let found = study::choose::Chosen {
        title: None,
        lines: asked.lines.clone(),
        aims: Vec::new(),
        size: study::choose::Size {
            choices: 0,
            points: 0,
            draws: 0,
        },
        choices: Vec::new(),
        unbeaten: 0,
        beaten: 0,
        excluded: Vec::new(),
        today: None,
        robust: None,
        notices: Vec::new(),
        residual: solved.residual,
    };
    paper::comparison_report(book, "crosslays", &asked, &found, Units::Us)
}

async fn the_report_of_a_comparison_is_superseded_when_what_it_rests_on_changes(place: Place) {
    let mut kept = Kept::with_demo(&place).await;
    let book = kept.newest().await;
    kept.issue(&[compared(&book)]).await;
    assert_eq!(kept.superseded().await, BTreeSet::new());
    // Hose of other lines is no part of it.
    let large = with_coefficient(&demo(), "large", "3");
    kept.save(&large).await;
    assert_eq!(kept.superseded().await, BTreeSet::new());
    let attack = demo().replace("coefficient = 14.2", "coefficient = 13.6");
    let changed = kept.save(&attack).await;
    let report = BTreeSet::from([("comparison-report".to_string(), "crosslays".to_string())]);
    assert_eq!(kept.superseded().await, report);
    let issues = kept.issued().await;
    let stood = standings(&issues, &changed);
    assert_eq!(stood, [standing(&issues[0], &changed)]);
    let Standing::Superseded { differences, .. } = &stood[0] else {
        panic!("{stood:?}")
    };
    let words: Vec<String> = differences.iter().map(paper::in_words).collect();
    let c = "rests on hose attack: measured C: says 14.2";
    assert!(words.iter().any(|text| text.starts_with(c)), "{words:?}");
    // No book alone makes it anew.
    assert!(to_reprint(&issues, &stood).is_empty());
}

on_both!(
    the_report_of_a_comparison_is_superseded_when_what_it_rests_on_changes,
    a_report_stays_right_and_says_whether_the_book_has_what_it_found,
    a_change_of_one_hose_supersedes_exactly_the_sheets_that_rest_on_it,
    what_is_wrong_is_told_in_figures,
    what_leaves_the_book_supersedes_its_sheet,
    a_reprint_that_says_the_same_leaves_the_older_print_current,
    what_is_printed_anew_is_not_due_again_and_the_old_print_stays_superseded,
    a_sheet_is_found_by_its_code_as_people_type_it,
    a_code_that_was_never_issued_finds_nothing_and_a_mistyped_one_says_so,
    a_withdrawn_sheet_stays_in_the_register_and_is_withdrawn_once,
    all_of_a_printing_is_entered_or_none_of_it,
);
