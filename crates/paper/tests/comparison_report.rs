//! Reports of comparisons, read back from the PDF and looked at.
#![allow(clippy::unwrap_used)]

#[path = "common/chosen.rs"]
mod chosen;
mod common;

use book::comparison::{AimKind, Comparison};
use chosen::{NAME, comparison, number};
use common::{demo, keep, on, pixels, text};
use hydraulics::units::System;
use paper::{Code, Kind, Sheet, Size, Units, comparison_report};
use study::choose::Chosen;

const BOTH: [&str; 2] = ["left-crosslay", "right-crosslay"];

/// The reader of PDFs puts spaces into some words.
fn bare(text: &str) -> String {
    text.replace([' ', '\u{200b}', '\u{a0}'], "")
}

#[track_caller]
fn says(read: &str, text: &str) {
    assert!(bare(read).contains(&bare(text)), "\"{text}\" in {read}");
}

#[track_caller]
fn says_not(read: &str, text: &str) {
    assert!(!bare(read).contains(&bare(text)), "\"{text}\" in {read}");
}

fn report(asked: &Comparison, found: &Chosen, units: Units) -> Sheet {
    comparison_report(&demo(), NAME, asked, found, units)
}

/// Ink within 2 mm of an edge of the page, on any page.
fn over_the_edge(sheet: &Sheet, size: Size, name: &str) -> Vec<usize> {
    let document = paper::typeset(sheet, &on(size)).unwrap();
    keep(
        &document,
        &format!("{name}-{}-{}", size.word(), sheet.units.word()),
    );
    let mut wrong = Vec::new();
    for page in 0..document.pages().len() {
        let (width, height, grey) = pixels(&document, page, 1.0);
        let rim = 6;
        let ink = |x: usize, y: usize| grey[y * width + x] < 200;
        let rows = (0..height).any(|y| (0..rim).chain(width - rim..width).any(|x| ink(x, y)));
        let columns = (0..width).any(|x| (0..rim).chain(height - rim..height).any(|y| ink(x, y)));
        if rows || columns {
            wrong.push(page + 1);
        }
    }
    wrong
}

#[test]
fn a_report_says_question_answer_and_how_sure_it_is_in_the_units_asked_for() {
    let asked = comparison(&BOTH);
    let found = chosen::chosen(&demo(), &asked, 6, true);
    for (units, system) in [(Units::Us, System::Us), (Units::Si, System::Si)] {
        let read = text(&report(&asked, &found, units), Size::A4);
        let question = match system {
            System::Us => {
                "Which hose, nozzle and pump pressure for left-crosslay and right-crosslay, with 3 people on the nozzle (reaction at most 95 lbf), at most 175 psi at the pump and still of use down to 100 psi at the pump?"
            }
            System::Si => {
                "at most 12.1 bar at the pump and still of use down to 6.9 bar at the pump?"
            }
        };
        says(&read, question);
        says(&read, "The answer: C12");
        says(&read, "97.3 %");
        let answer = &found.choices[0];
        for result in &answer.results {
            for shown in [
                study::figure::flow(result.flow).show(system),
                study::figure::pressure(result.tip_pressure).show(system),
                study::figure::force(result.reaction).show(system),
                study::figure::length(result.reach).show(system),
            ] {
                says(&read, &shown);
            }
        }
        for said in answer
            .why
            .iter()
            .chain(&answer.against)
            .chain(&answer.to_change)
        {
            says(&read, &said.text(system)[1..]);
        }
        for words in [
            "authority having jurisdiction",
            "What the runner-up lost on",
            "passes limits: reaction for the crew",
            "C of attack",
            "own flow test (invented)",
            "Days drawn for each choice",
            "10 000",
            "seed",
            "thirds of the doubt about flow is your hose attack: test it.",
            "What would lessen it",
        ] {
            says(&read, words);
        }
        let coefficient = match system {
            System::Us => "Hose attack: C 14.2",
            System::Si => "Hose attack: C",
        };
        says(&read, coefficient);
        for excluded in &found.excluded {
            says(&read, &excluded.limit.name()[1..]);
            says(&read, &excluded.choices.to_string());
        }
    }
}

#[test]
fn the_robust_choice_is_the_answer_and_what_ranks_before_it_is_named() {
    let asked = comparison(&BOTH);
    let mut found = chosen::chosen(&demo(), &asked, 4, true);
    found.choices.swap(0, 1);
    found.robust = Some(1);
    let read = text(&report(&asked, &found, Units::Us), Size::A4);
    says(&read, "The answer: C12");
    says(
        &read,
        "Ranked before C12 but holding on fewer than 95 % of the days: C13 on 71.0 %.",
    );
    found.robust = None;
    let read = text(&report(&asked, &found, Units::Us), Size::A4);
    says(&read, "The answer: C13");
    says(
        &read,
        "keeps all limits on 95 % of the days. C12 comes closest, with 97.3 %.",
    );
    says(&read, "It does not hold.");
}

#[test]
fn without_draws_it_says_so_and_speaks_of_no_days() {
    let asked = comparison(&BOTH);
    let found = chosen::chosen(&demo(), &asked, 3, false);
    let read = text(&report(&asked, &found, Units::Us), Size::Letter);
    says(&read, "No days were drawn");
    for absent in [
        "Holds on",
        "seed",
        "What is doubtful",
        "of the days keep all limits",
    ] {
        says_not(&read, absent);
    }
}

#[test]
fn plain_numbers_have_no_per_cent() {
    let aims = [(AimKind::Kinds, 1.0), (AimKind::Price, 1.0)];
    let mut asked = comparison(&BOTH);
    asked.limits.price = Some(number(2000.0));
    let found = chosen::of_aims(&demo(), &asked, &aims, 2, false);
    let read = text(&report(&asked, &found, Units::Both), Size::A4);
    says(&read, "1250");
    says(&read, "price at most 2000");
    says_not(&read, "1250 %");
    says_not(&read, "125000");
}

#[test]
fn reports_stay_on_the_page_and_can_be_looked_at() {
    let book = demo();
    let eight: Vec<String> = (1..9).map(|n| format!("line-{n}")).collect();
    let eight: Vec<&str> = eight.iter().map(String::as_str).collect();
    let all = AimKind::ALL.map(|aim| (aim, 1.0));
    for (name, lines, count, draws, aims) in [
        ("many", BOTH.as_slice(), 60, true, &chosen::AIMS[..]),
        ("one", &BOTH[..1], 1, true, &chosen::AIMS[..]),
        ("none", &BOTH[..], 0, false, &chosen::AIMS[..]),
        ("no-draws", &BOTH[..], 5, false, &chosen::AIMS[..]),
        ("each-line", &eight[..], 12, true, &all[..]),
    ] {
        let mut asked = comparison(lines);
        asked.each_line = name == "each-line";
        let found = chosen::of_aims(&book, &asked, aims, count, draws);
        for units in Units::ALL {
            for size in [Size::A4, Size::Letter] {
                if (size == Size::A4) == (units == Units::Us) && name != "many" {
                    continue;
                }
                let sheet = report(&asked, &found, units);
                let wrong = over_the_edge(&sheet, size, &format!("report-{name}"));
                assert!(wrong.is_empty(), "{name}, {}: {wrong:?}", size.word());
            }
        }
    }
}

#[test]
fn long_names_and_other_alphabets_stay_on_the_page() {
    let long = "Schnellangriffsverteilerschlauchleitung-Östlich";
    let other = "Пожарно-спасательная-линия-первого-хода";
    let mut asked = comparison(&[long, other]);
    asked.title = Some(format!("{long} {other}"));
    let mut found = chosen::chosen(&demo(), &asked, 12, true);
    for choice in &mut found.choices {
        for on in &mut choice.on {
            on.hose = format!("{}-{long}", on.hose);
            on.nozzle = format!("{}-{other}", on.nozzle);
        }
    }
    for size in [Size::A4, Size::Letter] {
        let sheet = report(&asked, &found, Units::Both);
        let wrong = over_the_edge(&sheet, size, "report-names");
        assert!(wrong.is_empty(), "{}: {wrong:?}", size.word());
        says(&text(&sheet, size), "спасательная");
    }
}

#[test]
fn law_the_same_comparison_gives_the_same_bytes_and_another_answer_another_code() {
    let asked = comparison(&BOTH);
    let found = chosen::chosen(&demo(), &asked, 5, true);
    let press = || paper::press(&report(&asked, &found, Units::Both), &on(Size::A4)).unwrap();
    let pressed = press();
    assert!(pressed == press());
    assert!(
        pressed
            .pdf
            .windows(11)
            .any(|w| w == b"/MarkInfo <" || w == b"/MarkInfo<<")
    );
    let mut other = found.clone();
    other.choices[0].results[0].flow = other.choices[1].results[0].flow;
    let code = |found: &Chosen| Code::of(&report(&asked, found, Units::Us), Some(3));
    assert_ne!(code(&found), code(&other));
    let typed: Code = code(&found).to_string().parse().unwrap();
    assert_eq!((typed, typed.kind), (code(&found), Kind::ComparisonReport));
}

#[test]
fn a_report_is_not_made_from_a_book_alone() {
    let kind = Kind::ComparisonReport;
    assert!(kind.is_of_a_comparison() && !kind.is_of_a_test() && !kind.is_of_a_book());
    assert_eq!(Kind::called("comparison-report"), Some(kind));
    let error = kind.sheet(&demo(), NAME, Units::Us).unwrap_err();
    assert!(error.to_string().contains("from a comparison"), "{error}");
}

fn changed(from: &str, to: &str) -> book::Book {
    let path = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../../books/saltmarsh-bend.toml"
    );
    let text = std::fs::read_to_string(path).unwrap();
    let other = text.replace(from, to);
    assert_ne!(text, other);
    book::read(other.as_bytes(), "changed.toml").unwrap()
}

#[test]
fn a_report_is_stale_when_what_it_rests_on_changes_and_only_then() {
    let asked = comparison(&BOTH);
    let found = chosen::chosen(&demo(), &asked, 5, true);
    let told = paper::told(&report(&asked, &found, Units::Us));
    assert_eq!(paper::rests(&told, &demo(), Units::Us), []);
    let words = |book: &book::Book| {
        let changed = paper::rests(&told, book, Units::Us);
        changed.iter().map(paper::in_words).collect::<Vec<_>>()
    };
    let other_c = changed(
        "measured = { coefficient = 14.2",
        "measured = { coefficient = 13.6",
    );
    let stale = words(&other_c);
    let says = |text: &str| stale.iter().any(|words| words.starts_with(text));
    assert!(
        says("rests on hose attack: measured C: says 14.2"),
        "{stale:?}"
    );
    assert!(
        says("rests on line left-crosslay: pump pressure today"),
        "{stale:?}"
    );
    let crew = words(&changed("three = \"95 lbf\"", "three = \"90 lbf\""));
    assert_eq!(
        crew,
        ["rests on crew limits: three people: says 95 lbf, now 90 lbf"]
    );
    // Another rig's pump and another line's hose are no part of it.
    let other = changed("pump = \"1500 gpm\"", "pump = \"1000 gpm\"");
    assert_eq!(words(&other), [""; 0]);
}
