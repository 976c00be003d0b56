//! Slide charts and nomograms: sheets that are drawn to scale.
#![allow(clippy::unwrap_used)]

mod common;

use common::{demo, on, pixels, text};
use hydraulics::units::System;
use paper::{Kind, Sheet, Size, Units};

fn told(sheet: &Sheet, name: &str) -> String {
    let found = sheet.told.iter().find(|(told, _)| told == name);
    found.unwrap().1.show(System::Us).unwrap()
}

#[test]
fn the_example_on_the_back_of_a_slide_chart_is_what_study_answers() {
    let book = demo();
    let sheet = paper::slide_chart(&book, "left-crosslay", Units::Us).unwrap();
    let chart = study::slide_chart(&book, "left-crosslay", System::Us, 8).unwrap();
    let row = chart.rows.iter().find(|row| row.aim).unwrap();
    let asked = (row.flow, row.setting.as_deref());
    let rise = hydraulics::units::parse(hydraulics::units::Kind::Length, "20 ft").unwrap();
    let place = (chart.carried, rise);
    let pump = study::pressure_for(&book, "left-crosslay", asked, place)
        .unwrap()
        .unwrap();
    let pump = study::figure::pressure(pump).show(System::Us);
    assert_eq!(told(&sheet, "example"), pump);
    let carried = study::solve(&book, "left-crosslay", &Default::default()).unwrap();
    let carried = study::figure::pressure(carried.pump_pressure).show(System::Us);
    assert_eq!(told(&sheet, "150 gpm, 200 ft, level"), carried);
    let read = text(&sheet, Size::Letter);
    // Once on the first page, once on the back panel.
    assert_eq!(
        read.matches(&format!("The edge reads {pump};")).count(),
        2,
        "{read}"
    );
    assert!(read.contains("Half a millimetre is 0."), "{read}");
    assert!(
        read.matches("never the only basis of a decision").count() == 2,
        "{read}"
    );
}

#[test]
fn a_slide_chart_is_never_blank() {
    let book = demo();
    for line in ["apartment", "foam", "monitor"] {
        let sheet = paper::slide_chart(&book, line, Units::Us).unwrap();
        let read = text(&sheet, Size::Letter);
        assert!(
            read.contains("There is no slide chart of this line"),
            "{read}"
        );
        assert!(sheet.drawings.is_empty());
    }
}

/// Where the darkest row of a page has its longest run of ink, in mm.
fn longest_run(sheet: &Sheet, page: usize, from: f64) -> f64 {
    let document = paper::typeset(sheet, &on(Size::A4)).unwrap();
    let per_mm = 72.0 / 25.4 * 4.0;
    let (width, height, grey) = pixels(&document, page, 4.0);
    let start = (from * height as f64) as usize;
    let run = |y: usize| {
        let row = &grey[y * width..(y + 1) * width];
        let runs = row.split(|&ink| ink > 128);
        runs.map(<[u8]>::len).max().unwrap_or(0)
    };
    (start..height).map(run).max().unwrap_or(0) as f64 / per_mm
}

#[test]
fn parts_are_printed_to_scale() {
    let sheet = paper::slide_chart(&demo(), "left-crosslay", Units::Us).unwrap();
    // The upper edge of the sleeve, and of the slide.
    for (page, wide) in [(1, 214.0), (2, 250.0)] {
        let run = longest_run(&sheet, page, 0.05);
        assert!((run - wide).abs() < 0.6, "page {}: {run} mm", page + 1);
    }
}

#[test]
fn a_sheet_to_scale_asked_on_a_pocket_says_that_it_needs_a_page() {
    let book = demo();
    for (kind, subject) in [(Kind::SlideChart, "large"), (Kind::Nomogram, "large")] {
        let sheet = kind.sheet(&book, subject, Units::Us).unwrap();
        let read = text(&sheet, Size::Pocket);
        assert!(read.contains("needs a full page"), "{read}");
        let page = paper::typeset(&sheet, &on(Size::Pocket)).unwrap();
        assert!((page.pages()[0].frame.width().to_pt() - 612.0).abs() < 0.1);
    }
}

#[test]
fn a_nomogram_writes_the_sum_out() {
    let book = demo();
    let sheet = paper::nomogram(&book, "attack", Units::Us).unwrap();
    let read = text(&sheet, Size::Letter);
    for name in [
        "example: friction loss",
        "example: pump pressure",
        "rise 20 ft",
        "service pressure",
    ] {
        let figure = told(&sheet, name);
        assert!(read.contains(&figure), "{name}: {figure} in {read}");
    }
    assert!(
        read.contains("Without a ladder, for want of room:"),
        "{read}"
    );
}
