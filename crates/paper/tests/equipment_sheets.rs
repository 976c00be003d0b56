//! Labels, nozzle sheets and purchase statements, read back.
#![allow(clippy::unwrap_used, clippy::panic)]

mod common;

use book::Conditions;
use common::{demo, text};
use hydraulics::nozzle::Nozzle;
use hydraulics::reaction::{solid_stream, spray};
use hydraulics::units::{System, gpm, psi};
use paper::{Kind, Sheet, Size, Units};
use proptest::prelude::*;
use study::figure;

/// The reader of PDFs puts spaces into some words.
fn bare(text: &str) -> String {
    text.replace([' ', '\u{200b}'], "")
}

#[track_caller]
fn says(read: &str, text: &str) {
    assert!(bare(read).contains(&bare(text)), "\"{text}\" in {read}");
}

fn told<'a>(sheet: &'a Sheet, name: &str) -> &'a study::fact::Said {
    let found = sheet.told.iter().find(|(told, _)| told == name);
    &found
        .unwrap_or_else(|| panic!("{name} in {:?}", sheet.told))
        .1
}

#[test]
fn every_outlet_label_has_the_pump_pressure_that_solve_answers() {
    let book = demo();
    for rig in ["pumper-1", "pumper-2"] {
        for (units, system) in [(Units::Us, System::Us), (Units::Si, System::Si)] {
            let sheet = paper::labels(&book, rig, units).unwrap();
            let read = text(&sheet, Size::A4);
            let lines = book
                .line
                .iter()
                .filter(|(_, l)| l.rig.as_deref() == Some(rig));
            for (name, line) in lines {
                let answer = study::solve(&book, name, &Conditions::default()).unwrap();
                let pump = figure::pressure(answer.pump_pressure).show(system);
                says(&read, &pump);
                says(&read, line.title.as_deref().unwrap());
                let said = told(&sheet, &format!("{name}: pump pressure"));
                assert_eq!(said.show(system).unwrap(), pump, "{name}");
            }
        }
    }
}

#[test]
fn a_colour_has_its_word_and_mark_and_a_missing_one_is_said() {
    let book = demo();
    let sheet = paper::labels(&book, "pumper-1", Units::Us).unwrap();
    let read = text(&sheet, Size::Letter);
    for words in [
        "RED · LEFT",
        "BLUE · RIGHT",
        "WHITE · FOAM",
        "RED · A",
        "ORANGE",
    ] {
        says(&read, words);
    }
    let own = |name: &str| book.line[name].marking.colour.is_none();
    let missing = sheet.body["missing"].as_array().unwrap();
    let missing: Vec<&str> = missing.iter().filter_map(|m| m.as_str()).collect();
    let lines = book
        .line
        .iter()
        .filter(|(_, l)| l.rig.as_deref() == Some("pumper-1"));
    for (name, _) in lines {
        assert_eq!(
            missing.contains(&format!("line {name}").as_str()),
            own(name),
            "{name}"
        );
    }
    assert!(missing.contains(&"nozzle foam") && !missing.contains(&"nozzle twin"));
    says(&read, "no colour in the book: line rear-crosslay-extended");
    says(&read, "Outlets: label 90 x 45 mm");
    says(&read, "This bar must measure 100 mm");
}

#[test]
fn a_line_without_an_answer_has_a_label_without_a_number() {
    let text_of_book = b"[book]\nname = 'Example'\n[rig.pumper]\npump = '1250 gpm'\n[line.shut]\nrig = 'pumper'\n\
        parts = [{ hose = '1.75 in', length = '200 ft' }, { nozzle = '150 gpm at 50 psi', gate = '0 %' }]\n\
        aim = { flow = '150 gpm' }\n";
    let book = book::read(text_of_book, "example.toml").unwrap();
    let sheet = paper::labels(&book, "pumper", Units::Us).unwrap();
    assert!(sheet.body["outlets"][0].get("pump").is_none());
    let read = text(&sheet, Size::A4);
    says(&read, "No pump pressure can be given: see the sheet");
    says(&read, "Line shut: ");
    assert!(!bare(&read).contains("PUMPPRESSURE"), "{read}");
    let handout = paper::handout(&book, "shut", Units::Us).unwrap();
    let read = text(&handout, Size::A4);
    assert!(
        !bare(&read).contains("PUMPPRESSURE") && !bare(&read).contains("Trythis"),
        "{read}"
    );
}

#[test]
fn a_nozzle_sheet_has_the_figures_of_the_trades_forms() {
    let book = demo();
    let sheet = paper::nozzle_sheet(&book, "twin", Units::Us).unwrap();
    let read = text(&sheet, Size::A4);
    // The ends of the range as the book has them, and 0.0505 Q sqrt(NP).
    for (flow, pressure) in [(70.0, 94.0), (200.0, 106.0)] {
        let force = spray(gpm(flow), psi(pressure));
        says(&read, &figure::force(force).show(System::Us));
        let at = format!(
            "high at {}",
            figure::pressure(psi(pressure)).show(System::Us)
        );
        assert_eq!(
            told(&sheet, &format!("{at}: reaction")).show(System::Us),
            Some(figure::force(force).show(System::Us))
        );
        assert_eq!(
            told(&sheet, &format!("{at}: flow")).show(System::Us),
            Some(figure::flow(gpm(flow)).show(System::Us))
        );
    }
    for words in [
        "Below",
        "Above",
        "Shut-off with grip",
        "Slide, waterway 1-3/8 in",
        "can be turned to flush",
    ] {
        says(&read, words);
    }
    says(
        &read,
        "Left crosslay, automatic nozzle (left-crosslay), setting high",
    );
    assert_eq!(sheet.drawings.len(), 2);
    let tip = paper::nozzle_sheet(&book, "master", Units::Us).unwrap();
    let Nozzle::SmoothBore(law) = book.nozzle["master"].at(None).unwrap() else {
        panic!("a smooth bore")
    };
    // Case NR-02 (seen): 1-3/8 in at 80 psi gives 237 lbf.
    let force = figure::force(solid_stream(law.bore(), psi(80.0))).show(System::Us);
    assert_eq!(force, "237 lbf");
    says(&text(&tip, Size::A4), &force);
}

#[test]
fn the_curves_on_paper_are_those_on_the_screen() {
    let book = demo();
    let item = &book.nozzle["bumper"];
    let sheet = paper::nozzle_sheet(&book, "bumper", Units::Si).unwrap();
    let flow = picture::nozzle_curve("bumper", item, System::Si).unwrap();
    let push = picture::reaction_curve("bumper", item, book.crew_limits(), System::Si).unwrap();
    assert_eq!(sheet.drawings[0].svg, flow.svg);
    assert_eq!(sheet.drawings[1].svg, push.svg);
}

#[test]
fn nozzles_of_the_catalogue_that_lines_use_have_a_sheet() {
    let book = demo();
    let subjects = Kind::NozzleSheet.subjects(&book);
    assert!(subjects.contains(&"475 L/min at 7 bar"), "{subjects:?}");
    assert!(!subjects.contains(&"150 gpm at 50 psi"), "{subjects:?}");
    let error = paper::nozzle_sheet(&book, "nothing", Units::Us).unwrap_err();
    assert!(error.to_string().contains("\"nothing\"") && error.to_string().contains("twin"));
}

#[test]
fn a_statement_asks_for_what_the_book_says_with_its_tolerance() {
    let book = demo();
    let automatic = paper::purchase_statement(&book, "twin", Units::Us).unwrap();
    let read = text(&automatic, Size::A4);
    says(&read, "70 to 200 gpm at 94 to 106 psi");
    says(
        &read,
        "nozzle pressure 85 to 115 psi over the whole range (rated 100 psi, ±15 psi)",
    );
    says(&read, "at most 95 lbf, what a crew of 3 can hold, up to");
    says(&read, "1.5 in NH female");
    let fixed = paper::purchase_statement(&book, "breakaway", Units::Us).unwrap();
    let read = text(&fixed, Size::A4);
    says(&read, "150 to 165 gpm at 50 psi (0 to +10 % of the flow) *");
    // 0.0505 x 150 x sqrt(50) = 54 lbf: one person can hold 60.
    says(&read, "at most 60 lbf, what one person can hold");
    says(&read, "by the formula 54 lbf at 50 psi");
    for words in [
        "NFPA 1964",
        "EN 15182",
        "From memory: check against the current edition",
        "The authority having jurisdiction decides",
    ] {
        says(&read, words);
    }
}

/// Letters in place of a name that somebody took from a maker.
#[test]
fn a_statement_never_speaks_the_name_that_the_book_has() {
    let text_of_book = "[book]\nname = 'Example'\n[nozzle.\"Qwxyzzy 3000\"]\nkind = \"automatic\"\nshutoff = \"ball\"\n\
        setting.Plughturbo = { flow = [70, 200], pressure = [94, 106] }\n\
        setting.low = { flow = [70, 200], pressure = [46, 56] }\n\
        attachment.Xyzfoamer = { expansion = 8, reach = \"50 ft\" }\n";
    let book = book::read(text_of_book.as_bytes(), "x.toml").unwrap();
    let sheet = paper::purchase_statement(&book, "Qwxyzzy 3000", Units::Us).unwrap();
    let body = sheet.body.to_string();
    for name in ["Qwxyzzy", "Plughturbo", "Xyzfoamer"] {
        assert!(
            !body.contains(name) && !sheet.title.contains(name),
            "{name}: {body}"
        );
    }
    assert!(
        sheet
            .sources
            .iter()
            .all(|source| !source.contains("Qwxyzzy"))
    );
    let head = &sheet.head[0];
    assert_eq!(
        head,
        &("In the book of the department", "Qwxyzzy 3000".to_string())
    );
}

#[test]
fn a_statement_keeps_more_than_three_people_off_the_nozzle() {
    let book = demo();
    let monitor = paper::purchase_statement(&book, "master", Units::Us).unwrap();
    says(
        &text(&monitor, Size::A4),
        "more than 95 lbf, what a crew of 3 can hold: for a monitor or a fixed mount",
    );
}

/// The ink of the mark on the label of a line whose colour is `colour`.
fn ink(colour: &str) -> book::Colour {
    let text_of_book = format!(
        "[book]\nname = 'Example'\n[rig.pumper]\npump = '1250 gpm'\n[line.a]\nrig = 'pumper'\ncolour = '{colour}'\nmark = 'A'\n\
         parts = [{{ hose = '1.75 in', length = '200 ft' }}, {{ nozzle = '150 gpm at 50 psi' }}]\n"
    );
    let book = book::read(text_of_book.as_bytes(), "x.toml").unwrap();
    let sheet = paper::labels(&book, "pumper", Units::Us).unwrap();
    let patch = &sheet.body["outlets"][0]["colour"];
    let fill = book::Colour::read(colour).unwrap();
    assert_eq!(patch["fill"].as_str().unwrap(), fill.code());
    assert_eq!(patch["word"].as_str().unwrap(), fill.word().to_uppercase());
    book::Colour::read(patch["ink"].as_str().unwrap()).unwrap()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn law_the_mark_is_read_upon_every_colour(code in 0_u32..0x0100_0000) {
        let colour = format!("#{code:06x}");
        let contrast = ink(&colour).contrast(book::Colour::read(&colour).unwrap());
        // WCAG 2.2, 1.4.3.
        prop_assert!(contrast >= 4.5, "{colour}: {contrast}");
    }
}

#[test]
fn dark_marks_stand_on_light_colours_and_light_marks_on_dark() {
    for colour in ["yellow", "white", "orange", "pink"] {
        assert_eq!(ink(colour).code(), "#000000", "{colour}");
    }
    for colour in ["blue", "black", "purple", "brown"] {
        assert_eq!(ink(colour).code(), "#ffffff", "{colour}");
    }
}

#[test]
fn long_names_on_labels_are_shortened_and_said() {
    let long = "Vordere Schnellangriffsleitung, Линия первая, Γραμμή, und noch viel mehr";
    let text_of_book = format!(
        "[book]\nname = 'Example'\n[rig.pumper]\npump = '1250 gpm'\n[line.a]\nrig = 'pumper'\ntitle = '{long}'\nmark = 'ЛЕВЫЙ 1'\n\
         parts = [{{ hose = '1.75 in', length = '200 ft' }}, {{ nozzle = '150 gpm at 50 psi' }}]\n"
    );
    let book = book::read(text_of_book.as_bytes(), "x.toml").unwrap();
    let sheet = paper::labels(&book, "pumper", Units::Both).unwrap();
    assert_eq!(sheet.body["shortened"][0], long);
    let title = sheet.body["outlets"][0]["title"].as_str().unwrap();
    assert!(title.ends_with('…') && long.starts_with(title.trim_end_matches('…')));
    let read = text(&sheet, Size::Pocket);
    says(&read, "ЛЕВЫЙ 1");
    says(&read, &format!("shortened there: {long}"));
    says(&read, "This bar must measure 50 mm");
}

#[test]
fn a_nozzle_sheet_and_a_line_card_say_that_a_nozzle_was_measured() {
    let text = b"[book]\nname = \"x\"\n[nozzle.fog]\nkind = \"fixed\"\nflow = \"150 gpm\"\npressure = \"50 psi\"\nmeasured = { flow = \"143 gpm\", date = \"2026-05-11\", source = \"own test\" }\n[line.a]\nparts = [{ hose = \"1.75 in\", length = \"100 ft\" }, { nozzle = \"fog\" }]\naim = { tip_pressure = \"50 psi\" }\n";
    let book = book::read(text, "x").unwrap();
    let sheet = paper::nozzle_sheet(&book, "fog", Units::Us).unwrap();
    let card = paper::line_card(&book, "a", Units::Us).unwrap();
    for (sheet, before) in [(sheet, "What it gives"), (card, "Nozzle fog")] {
        let wanted = format!("{before}: 143 gpm at 50 psi, measured: own test, 2026-05-11.");
        assert!(sheet.sources.contains(&wanted), "{:?}", sheet.sources);
    }
}
