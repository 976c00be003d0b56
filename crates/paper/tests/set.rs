//! A whole set of sheets, as files and as one ZIP file.
#![allow(clippy::unwrap_used)]

mod common;

use common::{demo, on, text_of};
use paper::{Code, Kind, Paper, PaperError, Size, Units};
use std::collections::BTreeSet;
use std::io::{Cursor, Read};

#[test]
fn the_whole_set_has_every_kind_about_every_subject_in_order() {
    let book = demo();
    let sheets = paper::whole_set(&book, Units::Si).unwrap();
    let made: Vec<(Kind, &str)> = sheets
        .iter()
        .map(|s| (s.kind, s.subject.as_str()))
        .collect();
    let mut expected = Vec::new();
    for kind in Kind::ALL {
        expected.extend(kind.subjects(&book).into_iter().map(|of| (kind, of)));
    }
    assert_eq!(made, expected);
    for line in book.line.keys() {
        assert!(made.contains(&(Kind::LineCard, line.as_str())), "{line}");
    }
    for rig in book.rig.keys() {
        assert!(made.contains(&(Kind::PumpChart, rig.as_str())), "{rig}");
    }
    assert!(sheets.iter().all(|sheet| sheet.units == Units::Si));
}

/// Names and contents of a ZIP file.
fn unpacked(bytes: Vec<u8>) -> Vec<(String, zip::DateTime, Vec<u8>)> {
    let mut archive = zip::ZipArchive::new(Cursor::new(bytes)).unwrap();
    let mut files = Vec::new();
    for index in 0..archive.len() {
        let mut file = archive.by_index(index).unwrap();
        let mut bytes = Vec::new();
        file.read_to_end(&mut bytes).unwrap();
        files.push((
            file.name().unwrap().to_string(),
            file.last_modified().unwrap(),
            bytes,
        ));
    }
    files
}

#[test]
fn a_zip_file_is_the_same_twice_and_its_sheets_can_be_read() {
    let mut sheets = paper::whole_set(&demo(), Units::Us).unwrap();
    sheets.retain(|sheet| sheet.subject.ends_with("crosslay") || sheet.subject == "pumper-3");
    let bytes = paper::zip(&sheets, &on(Size::Pocket)).unwrap();
    assert!(bytes == paper::zip(&sheets, &on(Size::Pocket)).unwrap());
    let files = unpacked(bytes);
    assert_eq!(files.len(), sheets.len());
    for ((name, time, pdf), sheet) in files.iter().zip(&sheets) {
        assert_eq!(*name, paper::file_name(sheet));
        assert_eq!(
            (time.year(), time.month(), time.day(), time.hour()),
            (2026, 5, 11, 0)
        );
        let code = Code::of(sheet, Some(7)).to_string();
        let text = text_of(pdf);
        assert!(text.contains(&code), "{name}: {code} in {text}");
    }
}

#[test]
fn names_of_files_are_safe_and_none_stands_twice() {
    let text = "[book]\nname = 'Example'\n\
        [line.'A/../b: \"c\"']\nparts = [{ hose = '2.5 in', length = '200 ft' }, { nozzle = '1-1/8 in smooth bore' }]\n\
        [line.'a b c']\nparts = [{ hose = '2.5 in', length = '200 ft' }, { nozzle = '1-1/8 in smooth bore' }]\n\
        [line.'a-b-c']\nparts = [{ hose = '2.5 in', length = '200 ft' }, { nozzle = '1-1/8 in smooth bore' }]\n\
        [line.'Ligne d’attaque']\nparts = [{ hose = '2.5 in', length = '200 ft' }, { nozzle = '1-1/8 in smooth bore' }]\n";
    let book = book::read(text.as_bytes(), "example.toml").unwrap();
    let cards = paper::whole_set(&book, Units::Us).unwrap().into_iter();
    let pairs: Vec<_> = cards
        .filter(|card| card.kind == Kind::LineCard)
        .map(|card| (card, on(Size::Pocket)))
        .collect();
    let printed = paper::print(&pairs).unwrap();
    let names: Vec<&str> = printed.iter().map(|p| p.file.as_str()).collect();
    assert_eq!(
        names,
        [
            "line-card-a-b-c.pdf",
            "line-card-a-b-c-pocket-us.pdf",
            "line-card-a-b-c-pocket-us-2.pdf",
            "line-card-ligne-d-attaque.pdf",
        ]
    );
    let codes: BTreeSet<String> = printed.iter().map(|p| p.code.to_string()).collect();
    assert_eq!(codes.len(), 4);
}

#[test]
fn a_set_of_nothing_is_an_empty_zip_file_and_a_bad_date_is_refused() {
    let paper = on(Size::A4);
    assert!(unpacked(paper::zip(&[], &paper).unwrap()).is_empty());
    let never = Paper {
        date: "2026-02-30".into(),
        ..paper
    };
    assert_eq!(
        paper::zip(&[], &never),
        Err(PaperError::Date("2026-02-30".into()))
    );
}
