//! The numbers on sheets, read back from the PDF, are those that `study` answers.
#![allow(clippy::unwrap_used)]

mod common;

use book::Conditions;
use common::{demo, on, text, text_of};
use hydraulics::units::System;
use paper::{Kind, Size, Units};
use study::figure;

#[test]
fn every_line_card_of_the_demo_says_what_solve_answers() {
    let book = demo();
    for line in book.line.keys() {
        for (units, system) in [(Units::Us, System::Us), (Units::Si, System::Si)] {
            let card = paper::line_card(&book, line, units).unwrap();
            let read = text(&card, Size::Pocket);
            let answer = study::solve(&book, line, &Conditions::default()).unwrap();
            let pump = figure::pressure(answer.pump_pressure).show(system);
            assert!(
                read.contains(&format!("PUMP PRESSURE {pump}")) || read.contains(&pump),
                "{line}: {pump} in {read}"
            );
            for tip in &answer.tips {
                for figure in [
                    figure::flow(tip.flow),
                    figure::pressure(tip.tip_pressure),
                    figure::force(tip.reaction),
                    figure::length(tip.effective_reach),
                    figure::length(tip.maximum_throw),
                ] {
                    let shown = figure.show(system);
                    assert!(read.contains(&shown), "{line}: {shown} in {read}");
                }
                assert!(read.contains(&tip.takes()), "{line}");
            }
        }
    }
}

#[test]
fn the_chart_as_carried_and_level_is_what_solve_answers() {
    let book = demo();
    let chart = paper::pump_chart(&book, "pumper-1", Units::Us).unwrap();
    let answer = study::solve(&book, "left-crosslay", &Conditions::default()).unwrap();
    let told = |name: &str| {
        let found = chart.told.iter().find(|(told, _)| told == name);
        found.unwrap().1.show(System::Us).unwrap()
    };
    let pump = figure::pressure(answer.pump_pressure).show(System::Us);
    assert_eq!(told("left-crosslay: pump pressure as carried"), pump);
    assert_eq!(told("left-crosslay, setting high, 200 ft, rise 0 ft"), pump);
    let read = text(&chart, Size::Letter);
    assert!(
        read.contains(&format!("As carried: {pump} at the pump")),
        "{read}"
    );
}

#[test]
fn every_cell_of_a_chart_stands_on_the_page() {
    let book = demo();
    let chart = paper::pump_chart(&book, "pumper-2", Units::Us).unwrap();
    let read = text(&chart, Size::A4);
    let words: Vec<&str> = read.split(' ').collect();
    for line in chart.body["lines"].as_array().unwrap() {
        for table in line["tables"].as_array().into_iter().flatten() {
            for row in table["rows"].as_array().unwrap() {
                for cell in row["cells"].as_array().unwrap() {
                    let value = cell["value"].as_str().unwrap();
                    assert!(words.contains(&value), "{value} of {}", line["name"]);
                }
            }
        }
    }
}

#[test]
fn both_units_stand_side_by_side() {
    let book = demo();
    let card = paper::line_card(&book, "left-crosslay", Units::Both).unwrap();
    let answer = study::solve(&book, "left-crosslay", &Conditions::default()).unwrap();
    let read = text(&card, Size::Pocket);
    let pump = figure::pressure(answer.pump_pressure);
    let both = format!("{} ({})", pump.show(System::Us), pump.show(System::Si));
    assert!(read.contains(&both), "{both} in {read}");
}

#[test]
fn a_line_without_an_answer_has_its_notice_and_no_pressure() {
    let text = b"[book]\nname = 'Example'\n[rig.pumper]\npump = '1250 gpm'\n[line.shut]\nrig = 'pumper'\n\
        parts = [{ hose = '1.75 in', length = '200 ft' }, { nozzle = '150 gpm at 50 psi', gate = '0 %' }]\n\
        aim = { flow = '150 gpm' }\n";
    let book = book::read(text, "example.toml").unwrap();
    let card = paper::line_card(&book, "shut", Units::Us).unwrap();
    assert!(card.body["refused"]["text"].is_string(), "{}", card.body);
    let read = common::text(&card, Size::Pocket);
    assert!(
        read.contains("no pump pressure can be worked out"),
        "{read}"
    );
    assert!(
        !read.contains("PUMP PRESSURE") && !read.contains("at the pump"),
        "{read}"
    );
    let chart = paper::pump_chart(&book, "pumper", Units::Us).unwrap();
    let read = common::text(&chart, Size::A4);
    assert!(
        read.contains("no pump pressure can be worked out"),
        "{read}"
    );
    assert!(!read.contains("As carried"), "{read}");
}

#[test]
fn a_rig_without_lines_says_so_and_an_unknown_name_is_refused() {
    let book = demo();
    let chart = paper::pump_chart(&book, "pumper-3", Units::Us).unwrap();
    let read = text(&chart, Size::Letter);
    assert!(
        read.contains("No line in the book comes off pumper-3"),
        "{read}"
    );
    let error = paper::pump_chart(&book, "pumper-9", Units::Us).unwrap_err();
    assert!(error.to_string().contains("\"pumper-9\"") && error.to_string().contains("pumper-1"));
    assert!(paper::line_card(&book, "none", Units::Us).is_err());
}

#[test]
fn the_same_sheet_and_paper_give_the_same_bytes() {
    let book = demo();
    for kind in Kind::ALL {
        let subject = kind.subjects(&book)[0];
        let press = || {
            let sheet = kind.sheet(&book, subject, Units::Both).unwrap();
            paper::press(&sheet, &on(Size::A4)).unwrap()
        };
        assert!(press() == press(), "{subject}");
        let later = paper::Paper {
            date: "2026-05-12".into(),
            ..on(Size::A4)
        };
        let sheet = kind.sheet(&book, subject, Units::Both).unwrap();
        assert!(paper::press(&sheet, &later).unwrap() != press());
    }
}

#[test]
fn every_sheet_says_where_it_comes_from() {
    let book = demo();
    for kind in Kind::ALL {
        for subject in kind.subjects(&book) {
            let sheet = kind.sheet(&book, subject, Units::Us).unwrap();
            let pressed = paper::press(&sheet, &on(Size::Letter)).unwrap();
            let read = text_of(&pressed.pdf);
            let code = paper::Code::of(&sheet, Some(7)).to_string();
            let said = [
                "Saltmarsh Bend Fire and Rescue",
                "2026-05-11",
                "revision 7",
                subject,
                &code,
            ];
            // The reader puts spaces into some words.
            let bare = |text: &str| text.replace(' ', "");
            for text in said {
                assert!(
                    bare(&read).contains(&bare(text)),
                    "{text} on {subject}: {read}"
                );
            }
            let caution = bare("never the only basis of a decision");
            assert!(bare(&read).contains(&caution), "{subject}: {read}");
        }
    }
    let card = paper::line_card(&book, "left-crosslay", Units::Us).unwrap();
    let read = text(&card, Size::Pocket);
    assert!(
        read.contains("Hose attack: C 14.2, measured: own flow test (invented), 2026-05-11."),
        "{read}"
    );
}

#[test]
fn a_wrong_date_or_address_is_named() {
    let book = demo();
    let card = paper::line_card(&book, "large", Units::Us).unwrap();
    for date in ["", "today", "2026-02-30", "2026-5-1", "11-05-2026"] {
        let paper = paper::Paper {
            date: date.into(),
            ..on(Size::A4)
        };
        assert!(
            matches!(paper::press(&card, &paper), Err(paper::PaperError::Date(_))),
            "{date}"
        );
    }
    for address in ["", "two words", &"x".repeat(2000)] {
        let paper = paper::Paper {
            address: Some(address.to_string()),
            ..on(Size::A4)
        };
        let error = paper::press(&card, &paper).unwrap_err();
        assert!(error.to_string().contains("address"), "{address}");
    }
}
