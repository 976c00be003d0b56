//! How a printed sheet differs from the same made anew.
#![allow(clippy::unwrap_used)]

mod common;

use common::demo;
use paper::{Difference, Kind, Sheet, Told, Units, differences, in_words, told};
use study::fact::Said;
use study::figure;

fn card(units: Units) -> Sheet {
    paper::line_card(&demo(), "left-crosslay", units).unwrap()
}

/// The demo with another measured coefficient of its attack hose.
fn changed(coefficient: &str) -> book::Book {
    let path = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../../books/saltmarsh-bend.toml"
    );
    let text = std::fs::read_to_string(path).unwrap();
    let other = text.replace(
        "measured = { coefficient = 14.2",
        &format!("measured = {{ coefficient = {coefficient}"),
    );
    assert_ne!(text, other);
    book::read(other.as_bytes(), "changed.toml").unwrap()
}

#[test]
fn every_sheet_of_the_demo_agrees_with_itself() {
    let book = demo();
    for units in Units::ALL {
        for sheet in paper::whole_set(&book, units).unwrap() {
            let kept = serde_json::to_string(&told(&sheet)).unwrap();
            let kept: Vec<Told> = serde_json::from_str(&kept).unwrap();
            assert!(!kept.is_empty(), "{}", sheet.subject);
            assert_eq!(differences(&kept, &sheet), [], "{}", sheet.subject);
        }
    }
}

#[test]
fn differences_are_told_in_the_units_of_the_sheet() {
    // The nozzle's K goes from 70/sqrt(94) to 200/sqrt(106): 150 gpm at 101.5 psi. The hose
    // takes C x 1.5^2 x 2: 63.9 psi with C 14.2, 72 psi with 16. So 165.4 and 173.5 psi.
    let after = changed("16");
    let pump = |units| {
        let now = paper::line_card(&after, "left-crosslay", units).unwrap();
        let wrong = differences(&told(&card(units)), &now);
        let found = wrong.iter().find(|d| d.name == "pump pressure");
        in_words(found.unwrap())
    };
    assert_eq!(pump(Units::Us), "pump pressure: says 165 psi, now 174 psi");
    assert_eq!(
        pump(Units::Si),
        "pump pressure: says 11.4 bar, now 12.0 bar"
    );
    assert_eq!(
        pump(Units::Both),
        "pump pressure: says 165 psi (11.4 bar), now 174 psi (12.0 bar)"
    );
}

#[test]
fn another_source_alone_is_a_difference_and_says_so() {
    let mut after = card(Units::Us);
    let before = told(&after);
    after.sources[0] = "Hose attack: C 14.2, measured: own test of 2027.".into();
    let wrong = differences(&before, &after);
    assert_eq!(wrong.len(), 1, "{wrong:?}");
    let words = in_words(&wrong[0]);
    assert!(
        words.starts_with("sources: says Hose attack: C 14.2"),
        "{words}"
    );
    assert!(
        words.ends_with("now Hose attack: C 14.2, measured: own test of 2027"),
        "{words}"
    );
}

#[test]
fn what_comes_what_goes_and_what_stands_twice_under_a_name() {
    let mut sheet = card(Units::Us);
    let pressure = |psi| Said::Figure(figure::pressure(hydraulics::units::psi(psi)));
    sheet.told = vec![
        ("cell".into(), pressure(240.0)),
        ("gone".into(), "as it was".into()),
        ("same".into(), pressure(100.0)),
    ];
    let before = told(&sheet);
    sheet.told = vec![
        ("new".into(), "as it is".into()),
        ("same".into(), pressure(100.2)),
        ("cell".into(), pressure(255.0)),
        ("cell".into(), "over the limit".into()),
    ];
    let wrong = differences(&before, &sheet);
    let words: Vec<String> = wrong.iter().map(in_words).collect();
    assert_eq!(
        words,
        [
            "cell: says 240 psi, now 255 psi; over the limit",
            "gone: says as it was, no longer so",
            "new: not on the sheet, now as it is",
        ]
    );
    sheet.told.push(("cell".into(), "over the limit".into()));
    let before = told(&sheet);
    sheet.told.pop();
    let once_less = Difference {
        name: "cell".into(),
        said: Some("over the limit".into()),
        now: None,
    };
    assert_eq!(differences(&before, &sheet), [once_less]);
}

#[test]
fn a_new_title_is_a_difference() {
    let mut sheet = card(Units::Us);
    let before = told(&sheet);
    sheet.title = "Front crosslay".into();
    assert_eq!(
        differences(&before, &sheet)
            .iter()
            .map(in_words)
            .collect::<Vec<_>>(),
        ["title: says Left crosslay, automatic nozzle, now Front crosslay"]
    );
}

#[test]
fn only_sheets_whose_digest_changed_differ() {
    let (before, after) = (demo(), changed("15"));
    for kind in Kind::ALL {
        for subject in kind.subjects(&before) {
            let old = kind.sheet(&before, subject, Units::Both).unwrap();
            let new = kind.sheet(&after, subject, Units::Both).unwrap();
            let same = old.digest() == new.digest();
            let wrong = differences(&told(&old), &new);
            assert_eq!(wrong.is_empty(), same, "{subject}: {wrong:?}");
        }
    }
}
