//! Pages as pictures: QR codes read back, nothing runs over an edge.
#![allow(clippy::unwrap_used)]

mod common;

use common::{demo, keep, on, pixels};
use paper::{Code, Kind, Paper, Sheet, Size, Units};

fn scanned(sheet: &Sheet, paper: &Paper) -> String {
    let document = paper::typeset(sheet, paper).unwrap();
    let (width, height, grey) = pixels(&document, 0, 4.0);
    let mut image =
        rqrr::PreparedImage::prepare_from_greyscale(width, height, |x, y| grey[y * width + x]);
    let grids = image.detect_grids();
    assert_eq!(grids.len(), 1, "one QR code on {}", sheet.subject);
    grids[0].decode().unwrap().1
}

#[test]
fn the_qr_code_holds_the_short_code() {
    let book = demo();
    for size in Size::ALL {
        let card = paper::line_card(&book, "left-crosslay", Units::Us).unwrap();
        let code = Code::of(&card, Some(7));
        assert_eq!(scanned(&card, &on(size)).parse::<Code>().unwrap(), code);
        let paper = Paper {
            address: Some("https://handline.example:8080/".into()),
            ..on(size)
        };
        let expected = format!("https://handline.example:8080/paper/{code}");
        assert_eq!(scanned(&card, &paper), expected);
    }
}

/// Ink within 2 mm of an edge of the page.
fn over_the_edge(sheet: &Sheet, paper: &Paper) -> Vec<usize> {
    let document = paper::typeset(sheet, paper).unwrap();
    keep(
        &document,
        &format!(
            "{}-{}-{}-{}",
            sheet.kind.word(),
            sheet.subject.chars().take(20).collect::<String>(),
            paper.size.word(),
            sheet.units.word()
        ),
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
fn nothing_of_the_demo_runs_over_an_edge() {
    let book = demo();
    for kind in Kind::ALL {
        for subject in kind.subjects(&book) {
            for size in Size::ALL {
                for units in Units::ALL {
                    let sheet = kind.sheet(&book, subject, units).unwrap();
                    let wrong = over_the_edge(&sheet, &on(size));
                    assert!(wrong.is_empty(), "{subject}, {}: {wrong:?}", size.word());
                }
            }
        }
    }
}

/// A rig with `lines` lines, all names long or not Latin.
fn hard(lines: usize) -> book::Book {
    let mut text = String::from(
        "[book]\nname = \"Pompiers volontaires d'Sankt-Mareinsdorf-Östlich, Служба пожаротушения, Πυροσβεστική, 消防\"\npump_ceiling = \"200 psi\"\n\
         [rig.\"pumper-with-a-very-long-name-that-somebody-typed-without-a-single-space-1\"]\npump = \"1250 gpm\"\n\
         [hose.\"donaudampfschifffahrtsgesellschaftsschlauch\"]\nsize = \"45 mm\"\ncoefficient = 14\nservice_pressure = \"270 psi\"\nsource = \"unbekannt\"\n",
    );
    for number in 1..=lines {
        text.push_str(&format!(
            "[line.\"línea-de-ataque-número-{number}-extraordinariamente-larga\"]\n\
             title = \"Vordere Schnellangriffsleitung Nr. {number}, Линия первая, Γραμμή, {}\"\n\
             rig = \"pumper-with-a-very-long-name-that-somebody-typed-without-a-single-space-1\"\n\
             parts = [{{ hose = \"donaudampfschifffahrtsgesellschaftsschlauch\", length = \"{} ft\" }}, {{ nozzle = \"150 gpm at 50 psi\" }}]\n\
             aim = {{ flow = \"150 gpm\" }}\n",
            "W".repeat(60),
            100 + 10 * number,
        ));
    }
    book::read(text.as_bytes(), "hard.toml").unwrap()
}

#[test]
fn long_names_sixty_lines_and_other_alphabets_stay_on_the_page() {
    let book = hard(60);
    let rig = Kind::PumpChart.subjects(&book)[0];
    let line = Kind::LineCard.subjects(&book)[59];
    let hose = Kind::Nomogram.subjects(&book)[0];
    for size in Size::ALL {
        for (kind, subject) in [
            (Kind::PumpChart, rig),
            (Kind::LineCard, line),
            (Kind::SlideChart, line),
            (Kind::Nomogram, hose),
        ] {
            let sheet = kind.sheet(&book, subject, Units::Both).unwrap();
            let wrong = over_the_edge(&sheet, &on(size));
            assert!(
                wrong.is_empty(),
                "{}, {}: {wrong:?}",
                kind.word(),
                size.word()
            );
            let read = common::text(&sheet, size);
            assert!(
                read.contains("Служба") && read.contains("Πυροσβεστική"),
                "{}",
                &read[..400]
            );
            assert!(read.contains("□ stands for a letter"), "{}", &read[..400]);
        }
    }
}

#[test]
fn previews_are_one_svg_for_each_page() {
    let book = demo();
    let chart = paper::pump_chart(&book, "pumper-1", Units::Us).unwrap();
    let pages = paper::pages_svg(&chart, &on(Size::Pocket)).unwrap();
    assert_eq!(
        pages.len(),
        paper::press(&chart, &on(Size::Pocket)).unwrap().pages
    );
    assert!(pages.len() > 1 && pages.iter().all(|page| page.starts_with("<svg")));
}
