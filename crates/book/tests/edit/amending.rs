//! The file keeps what did not change.

use crate::{BOOKS, DEMO, apply, demo, hose, nozzle, path};
use book::{Book, Edit, amend, read};

/// The tables of a file, each from its header on: header and text.
pub fn tables(text: &str) -> Vec<(String, String)> {
    let mut all: Vec<(String, String)> = vec![(String::new(), String::new())];
    for line in text.split_inclusive('\n') {
        if line.starts_with('[') {
            all.push((line.trim().into(), String::new()));
        }
        if let Some((_, body)) = all.last_mut() {
            body.push_str(line);
        }
    }
    all
}

/// Amends `text` and checks that only `changed` tables differ in it.
fn amended(text: &str, before: &Book, after: &Book, changed: &[&str]) -> String {
    let amended = amend(text, before, after);
    assert_eq!(&read(amended.as_bytes(), "x").unwrap(), after, "{amended}");
    let (was, is) = (tables(text), tables(&amended));
    let keep = |all: &[(String, String)]| -> Vec<(String, String)> {
        let stays = |(header, _): &&(String, String)| !changed.contains(&header.as_str());
        all.iter().filter(stays).cloned().collect()
    };
    assert_eq!(keep(&was), keep(&is));
    amended
}

fn table(text: &str, header: &str) -> String {
    let found = tables(text).into_iter().find(|(h, _)| h == header);
    found.unwrap().1
}

#[test]
fn a_book_that_did_not_change_keeps_its_text() {
    for (name, text) in BOOKS {
        let book = read(text.as_bytes(), name).unwrap();
        assert_eq!(amend(text, &book, &book), text);
    }
}

#[test]
fn one_length_changes_one_value() {
    let book = demo();
    let after = apply(
        &book,
        "left-crosslay",
        Edit::Put(path("part 1"), hose("attack", "250 ft")),
    );
    let text = amended(DEMO, &book, &after, &["[line.left-crosslay]"]);
    let by_hand = DEMO.replacen(
        "parts = [\n  { hose = \"attack\", length = \"200 ft\" },\n  { nozzle = \"twin\", setting = \"high\" }",
        "parts = [\n  { hose = \"attack\", length = \"250 ft\" },\n  { nozzle = \"twin\", setting = \"high\" }",
        1,
    );
    assert_ne!(by_hand, DEMO);
    assert_eq!(text, by_hand);
}

#[test]
fn a_part_comes_in_on_a_line_of_its_own_and_goes_again() {
    let book = demo();
    let after = apply(
        &book,
        "left-crosslay",
        Edit::Insert(path("part 1"), vec![hose("1.5 in", "50 ft")]),
    );
    let text = amended(DEMO, &book, &after, &["[line.left-crosslay]"]);
    let wanted = "parts = [\n  { hose = \"1.5 in\", length = \"50 ft\" },\n  { hose = \"attack\", length = \"200 ft\" },\n";
    assert!(
        table(&text, "[line.left-crosslay]").contains(wanted),
        "{text}"
    );
    assert_eq!(amend(&text, &after, &book), DEMO);
}

#[test]
fn comments_stay_with_the_part_they_are_about() {
    let head = "[book]\nname = \"x\"\n\n# above the line\n[line.a]\n";
    let text = format!(
        "{head}title = \"A\" # its title\nparts = [\n  # first\n  {{ hose = \"1.75 in\", length = 200 }}, # run one\n  # second\n  {{ hose = \"1.75 in\", length = 100 }}, # run two\n  {{ nozzle = \"150 gpm at 50 psi\" }}, # tip\n]\n# below\n"
    );
    let book = read(text.as_bytes(), "x").unwrap_or_else(|e| panic!("{e:?}"));
    let one = apply(&book, "a", Edit::Remove(path("part 2")));
    assert_eq!(
        amended(&text, &book, &one, &["[line.a]"]),
        format!(
            "{head}title = \"A\" # its title\nparts = [\n  # first\n  {{ hose = \"1.75 in\", length = 200 }}, # run one\n  {{ nozzle = \"150 gpm at 50 psi\" }}, # tip\n]\n# below\n"
        )
    );
    let more = apply(
        &book,
        "a",
        Edit::Insert(path("part 2"), vec![hose("1.5 in", "50 ft")]),
    );
    assert_eq!(
        amended(&text, &book, &more, &["[line.a]"]),
        text.replace(
            "# run one\n",
            "# run one\n  { hose = \"1.5 in\", length = \"50 ft\" },\n"
        )
    );
    let longer = apply(&book, "a", Edit::Title(Some("B".into())));
    assert_eq!(
        amended(&text, &book, &longer, &["[line.a]"]),
        text.replace("\"A\" #", "\"B\" #")
    );
}

#[test]
fn a_list_on_one_line_stays_on_one_line() {
    let text = "[book]\nname = \"x\"\n[line.a]\nparts = [{ hose = \"1.75 in\", length = \"200 ft\" }, { nozzle = \"150 gpm at 50 psi\" }]\n";
    let book = read(text.as_bytes(), "x").unwrap();
    let more = apply(
        &book,
        "a",
        Edit::Insert(path("part 1"), vec![hose("1.75 in", "50 ft")]),
    );
    let wanted = text.replace(
        "[{ hose",
        "[{ hose = \"1.75 in\", length = \"50 ft\" }, { hose",
    );
    assert_eq!(amend(text, &book, &more), wanted);
    assert_eq!(amend(&wanted, &more, &book), text);
    let Some(book::Part::Nozzle(mut tip)) = book.line["a"].parts.last().cloned() else {
        panic!()
    };
    tip.rise = book::HoseFields {
        rise: "10".into(),
        hose: "1.5 in".into(),
        length: "1".into(),
        ..Default::default()
    }
    .read(&book, hydraulics::units::System::Us, None)
    .unwrap()
    .rise;
    let high = apply(
        &book,
        "a",
        Edit::Put(path("part 2"), book::Part::Nozzle(tip)),
    );
    assert_eq!(
        amend(text, &book, &high),
        text.replace("50 psi\" }", "50 psi\", rise = \"10 ft\" }")
    );
}

#[test]
fn a_copy_stands_behind_its_line_and_a_new_one_behind_the_last() {
    let book = demo();
    let copy = apply(&book, "bumper", Edit::Copy("bumper-2".into()));
    let text = amended(DEMO, &book, &copy, &["[line.bumper-2]"]);
    let headers: Vec<String> = tables(&text).into_iter().map(|(h, _)| h).collect();
    let at = headers.iter().position(|h| h == "[line.bumper]").unwrap();
    assert_eq!(headers[at + 1], "[line.bumper-2]");
    assert_eq!(amend(&text, &copy, &book), DEMO);
    let new = Edit::New(Box::new(book.line["large"].clone()));
    let new = apply(&book, "new", new);
    let text = amend(DEMO, &book, &new);
    let headers: Vec<String> = tables(&text).into_iter().map(|(h, _)| h).collect();
    let at = headers
        .iter()
        .position(|h| h == "[line.neighbour]")
        .unwrap();
    assert_eq!(headers[at + 1], "[line.new]");
}

#[test]
fn the_first_line_of_a_book_gets_a_table() {
    let text = "# Ours\n[book]\nname = \"x\" # short\n";
    let book = read(text.as_bytes(), "x").unwrap();
    let line = book::Line {
        parts: vec![hose("1.75 in", "200 ft"), nozzle("150 gpm at 50 psi", None)],
        ..book::Line::default()
    };
    let after = apply(&book, "left", Edit::New(Box::new(line)));
    let amended = amend(text, &book, &after);
    assert!(
        amended.starts_with("# Ours\n[book]\nname = \"x\" # short\n\n[line.left]\nparts = ["),
        "{amended}"
    );
}

#[test]
fn a_line_renamed_keeps_its_place_and_its_comments() {
    let book = demo();
    let after = apply(
        &book,
        "left-crosslay",
        Edit::Rename("Front crosslay".into()),
    );
    let text = amend(DEMO, &book, &after);
    let by_hand = DEMO
        .replace("[line.left-crosslay]", "[line.\"Front crosslay\"]")
        .replace("line = \"left-crosslay\"", "line = \"Front crosslay\"");
    assert_eq!(text, by_hand);
}

#[test]
fn the_comment_over_a_section_outlives_its_first_table() {
    let mut after = demo();
    let book = demo();
    after.scene.shift_remove("mill-street");
    let text = amend(DEMO, &book, &after);
    assert_eq!(read(text.as_bytes(), "x").unwrap(), after);
    assert!(text.contains("# ---- Scenes: rigs, water and lines at work together ---------------------------\n\n[scene.harbour-tower]\n"), "{text}");
}

#[test]
fn other_ends_of_lines_and_a_byte_order_mark_stay() {
    let text = format!("\u{feff}{}", DEMO.replace('\n', "\r\n"));
    let book = read(text.as_bytes(), "x").unwrap();
    let after = apply(
        &book,
        "large",
        Edit::Put(path("part 1"), hose("large", "250 ft")),
    );
    let amended = amend(&text, &book, &after);
    let plain = amend(DEMO, &demo(), &after);
    assert_eq!(amended, format!("\u{feff}{}", plain.replace('\n', "\r\n")));
}

#[test]
fn another_way_of_writing_is_kept_where_it_can_be() {
    let texts = [
        "book.name = \"x\"\nline.a = { parts = [{ hose = \"1.75 in\", length = 200 }, { nozzle = \"150 gpm at 50 psi\" }] } # a\n",
        "[book]\nname = \"x\"\n[line]\na.title = 'one'\na.parts = [{ hose = \"1.75 in\", length = 200 }, { nozzle = \"150 gpm at 50 psi\" }] # a\n",
        "[line.a.aim]\nflow = 150\n[book]\nname = \"x\" # a\n[[line.a.parts]]\nhose = \"1.75 in\"\nlength = 200\n[[line.a.parts]]\nnozzle = \"150 gpm at 50 psi\"\n",
    ];
    for text in texts {
        let book = read(text.as_bytes(), "x").unwrap_or_else(|e| panic!("{e:?}\n{text}"));
        for change in [
            Edit::Put(path("part 1"), hose("1.75 in", "250 ft")),
            Edit::Title(Some("two".into())),
            Edit::Copy("b".into()),
            Edit::Rename("b".into()),
            Edit::Aim(None),
        ] {
            let after = apply(&book, "a", change.clone());
            let amended = amend(text, &book, &after);
            assert_eq!(read(amended.as_bytes(), "x").unwrap(), after, "{amended}");
            assert!(amended.contains("# a"), "{change:?}\n{amended}");
        }
    }
}

#[test]
fn a_text_that_holds_another_book_is_written_anew() {
    let book = demo();
    assert_eq!(amend("not a book", &book, &book), book::write(&book));
}

#[test]
fn what_was_measured_is_put_into_its_table_and_taken_out_again() {
    let book = demo();
    let mut after = book.clone();
    let text = "[book]\nname = \"x\"\n[nozzle.a]\nkind = \"smooth-bore\"\nbore = \"15/16 in\"\nmeasured = { coefficient = 0.97, uncertainty = 0.01, date = \"2026-05-11\", source = \"own test\" }\n";
    let tip = read(text.as_bytes(), "x").unwrap().nozzle["a"].clone();
    let own = after.nozzle.get_mut("fifteen-sixteenths").unwrap();
    own.measured = tip.measured;
    let rig = after.rig.get_mut("pumper-3").unwrap();
    rig.pump_tested = Some("2026-04-02".into());
    let changed = ["[nozzle.fifteen-sixteenths]", "[rig.pumper-3]"];
    let text = amended(DEMO, &book, &after, &changed);
    let table = table(&text, "[nozzle.fifteen-sixteenths]");
    assert!(table.contains("bore = \"15/16 in\"\n"), "{table}");
    assert!(
        table.contains("measured = { coefficient = 0.97, uncertainty = 0.01, date = \"2026-05-11\", source = \"own test\" }"),
        "{table}"
    );
    assert_eq!(amend(&text, &after, &book), DEMO);
}

#[test]
fn a_gauge_that_changes_leaves_all_else_as_it_was() {
    use hydraulics::units::System;
    let book = demo();
    let kind = book::ItemKind::Gauge;
    let mut fields = book::item_fields(&book, kind, "pump-panel", System::Si).unwrap();
    fields.0.insert("calibrated".into(), "2026-06-01".into());
    fields.0.insert("accuracy".into(), "0.2 bar".into());
    let after = book::change_item(&book, kind, "pump-panel", &fields, System::Si).unwrap();
    let text = amended(DEMO, &book, &after, &["[gauge.pump-panel]"]);
    let table = table(&text, "[gauge.pump-panel]");
    for line in [
        "step = \"5 psi\"",
        "accuracy = \"0.2 bar\"",
        "calibrated = \"2026-06-01\"",
    ] {
        assert!(table.contains(line), "{table}");
    }
    let gone = book::remove_item(&book, kind, "pitot").unwrap();
    let text = amended(DEMO, &book, &gone, &["[gauge.pitot]"]);
    assert!(!text.contains("gauge.pitot"));
}
