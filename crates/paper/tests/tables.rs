//! Tables as files, read back by other libraries, hold what `study` answers.
#![allow(clippy::unwrap_used, clippy::panic)]

mod common;

use std::io::{Cursor, Read};

use book::{Book, Conditions, SceneConditions};
use calamine::{Data, Reader, Xlsx};
use common::demo;
use hydraulics::units::System;
use paper::tables::{self, Column, Entry, Equipment, Stamp, Table, Tables};
use paper::{PaperError, Units};
use serde_json::Value;

fn stamp() -> Stamp {
    Stamp {
        date: "2026-05-11".into(),
        revision: Some(7),
    }
}

fn opened(bytes: &[u8]) -> Xlsx<Cursor<Vec<u8>>> {
    Xlsx::new(Cursor::new(bytes.to_vec())).unwrap()
}

/// Holds every cell of `sheet` against `table`.
fn same(sheet: &calamine::Range<Data>, table: &Table) {
    let cell = |row: usize, at: usize| {
        let found = sheet.get_value((row as u32, at as u32));
        found.cloned().unwrap_or(Data::Empty)
    };
    for (at, column) in table.columns.iter().enumerate() {
        assert_eq!(cell(0, at), Data::String(column.head()), "{}", table.title);
    }
    for (row, entries) in table.rows.iter().enumerate() {
        assert_eq!(entries.len(), table.columns.len(), "{}", table.title);
        for (at, entry) in entries.iter().enumerate() {
            let read = cell(row + 1, at);
            match entry {
                Entry::Number(value) => assert_eq!(read, Data::Float(*value), "{}", table.title),
                Entry::Text(text) => assert_eq!(read, Data::String(text.clone())),
                Entry::Nothing => assert_eq!(read, Data::Empty, "{}", table.title),
            }
        }
    }
}

fn heads(table: &Table) -> Vec<String> {
    table.columns.iter().map(Column::head).collect()
}

fn entry<'a>(table: &'a Table, row: usize, head: &str) -> &'a Entry {
    let at = heads(table).iter().position(|h| h == head);
    let at = at.unwrap_or_else(|| panic!("no {head} in {:?}", heads(table)));
    &table.rows[row][at]
}

fn number(table: &Table, row: usize, head: &str) -> f64 {
    match entry(table, row, head) {
        Entry::Number(value) => *value,
        other => panic!("{head} is {other:?}"),
    }
}

fn text<'a>(table: &'a Table, row: usize, head: &str) -> &'a str {
    match entry(table, row, head) {
        Entry::Text(text) => text,
        Entry::Nothing => "",
        Entry::Number(value) => panic!("{head} is {value}"),
    }
}

/// Holds the figure of an answer in JSON against the number under its name and unit.
fn says(table: &Table, row: usize, name: &str, figure: &Value) {
    if figure.is_null() {
        return;
    }
    let head = format!("{name} ({})", figure["unit"].as_str().unwrap());
    let value = figure["value"].as_f64().unwrap();
    assert_eq!(number(table, row, &head), value, "{head}");
}

#[test]
fn every_cell_of_the_whole_book_is_read_back_from_its_workbook() {
    let book = demo();
    for units in Units::ALL {
        let all = tables::of_book(&book, units);
        let mut workbook = opened(&all.workbook(&stamp()).unwrap());
        let names = workbook.sheet_names();
        assert_eq!(names.len(), all.tables.len() + 1, "{names:?}");
        assert_eq!(names[0], "About");
        for (name, table) in names[1..].iter().zip(&all.tables) {
            assert_eq!(*name, table.title);
            assert!(!table.rows.is_empty(), "{name}");
            same(&workbook.worksheet_range(name).unwrap(), table);
        }
    }
}

#[test]
fn the_tables_of_every_line_say_what_solve_answers() {
    let book = demo();
    let plain = Conditions::default();
    for line in book.line.keys() {
        for (units, system) in [(Units::Us, System::Us), (Units::Si, System::Si)] {
            let all = tables::of_line(&book, line, &plain, units).unwrap();
            let answer = study::solve(&book, line, &plain).unwrap().json(system);
            let pump = all.table("Lines").unwrap();
            says(pump, 0, "pump pressure", &answer["pump_pressure"]);
            says(pump, 0, "flow", &answer["flow"]);
            let tips = all.table("Tips").unwrap();
            let told = answer["tips"].as_array().unwrap();
            assert_eq!(tips.rows.len(), told.len());
            for (row, tip) in told.iter().enumerate() {
                says(tips, row, "flow", &tip["flow"]);
                says(tips, row, "tip pressure", &tip["tip_pressure"]);
                says(tips, row, "reaction, formula value", &tip["reaction"]);
                says(tips, row, "reaction by momentum", &tip["reaction_momentum"]);
                says(tips, row, "effective reach", &tip["effective_reach"]);
                says(tips, row, "maximum throw", &tip["maximum_throw"]);
            }
            let parts = all.table("Parts").unwrap();
            let told = answer["parts"].as_array().unwrap();
            assert_eq!(parts.rows.len(), told.len());
            for (row, part) in told.iter().enumerate() {
                says(parts, row, "flow", &part["flow"]);
                says(parts, row, "length", &part["length"]);
                says(parts, row, "pressure in", &part["pressure_in"]);
                says(parts, row, "pressure out", &part["pressure_out"]);
            }
            let notices = answer["notices"].as_array().unwrap().len();
            assert_eq!(all.table("Notices").map_or(0, |t| t.rows.len()), notices);
        }
    }
}

#[test]
fn a_moved_gate_moves_the_tables() {
    let book = demo();
    let mut conditions = Conditions::default();
    let tip = "part 2".parse().unwrap();
    let change: &mut book::Change = conditions.changes.entry(tip).or_default();
    change.gate = Some(hydraulics::units::Measure::of_si(0.4));
    let answer = study::solve(&book, "left-crosslay", &conditions).unwrap();
    let all = tables::of_line(&book, "left-crosslay", &conditions, Units::Us).unwrap();
    let pump = all.table("Lines").unwrap();
    let told = answer.json(System::Us);
    says(pump, 0, "pump pressure", &told["pump_pressure"]);
    let plain = study::solve(&book, "left-crosslay", &Conditions::default()).unwrap();
    assert_ne!(
        told["pump_pressure"],
        plain.json(System::Us)["pump_pressure"]
    );
}

#[test]
fn the_chart_of_a_line_says_what_study_charts() {
    let book = demo();
    for (units, system) in [(Units::Us, System::Us), (Units::Si, System::Si)] {
        let asked = study::ask::ChartAsked::default();
        let chart = asked.of(&book, "left-crosslay", system).unwrap();
        let told = chart.json(system);
        let plain = Conditions::default();
        let all = tables::of_line(&book, "left-crosslay", &plain, units).unwrap();
        let table = all.table("Pump chart").unwrap();
        let mut row = 0;
        for part in told["tables"].as_array().unwrap() {
            for (cells, length) in part["rows"]
                .as_array()
                .unwrap()
                .iter()
                .zip(told["lengths"].as_array().unwrap())
            {
                for (cell, rise) in cells
                    .as_array()
                    .unwrap()
                    .iter()
                    .zip(told["rises"].as_array().unwrap())
                {
                    says(table, row, "length", length);
                    says(table, row, "rise", rise);
                    says(table, row, "pump pressure", &cell["pump_pressure"]);
                    assert_eq!(text(table, row, "setting"), part["setting"]);
                    let over = if cell["over_limit"] == true {
                        "yes"
                    } else {
                        "no"
                    };
                    assert_eq!(text(table, row, "over the limit"), over);
                    row += 1;
                }
            }
        }
        assert_eq!(row, table.rows.len());
        assert!(row > 20);
    }
}

#[test]
fn the_tables_of_every_scene_say_what_solve_answers() {
    let book = demo();
    for scene in book.scene.keys() {
        let answer = study::solve_scene(&book, scene, &SceneConditions::default()).unwrap();
        let layout = book::scene(&book, scene, &SceneConditions::default()).unwrap();
        for (units, system) in [(Units::Us, System::Us), (Units::Si, System::Si)] {
            let all = tables::of_scene(&book, &answer, &layout, units);
            let told = answer.json(system);
            let rigs = all.table("Scene pumps").unwrap();
            for (row, rig) in told["rigs"].as_array().unwrap().iter().enumerate() {
                says(rigs, row, "pump pressure", &rig["pump_pressure"]);
                says(rigs, row, "intake", &rig["intake"]);
                says(rigs, row, "flow", &rig["flow"]);
            }
            let tips = all.table("Scene tips").unwrap();
            for (row, tip) in told["tips"].as_array().unwrap().iter().enumerate() {
                says(tips, row, "flow", &tip["flow"]);
                says(tips, row, "tip pressure", &tip["tip_pressure"]);
            }
            let limits = all.table("Scene limits").unwrap();
            assert_eq!(limits.rows.len(), answer.limits.len());
            for (row, limit) in told["limits"].as_array().unwrap().iter().enumerate() {
                let bound = match limit["at_least"].is_null() {
                    true => &limit["at_most"],
                    false => &limit["at_least"],
                };
                assert_eq!(number(limits, row, "now"), limit["now"]["value"]);
                assert_eq!(number(limits, row, "limit is"), bound["value"]);
                assert_eq!(text(limits, row, "unit"), bound["unit"].as_str().unwrap());
                says(limits, row, "used", &limit["used"]);
                says(limits, row, "margin", &limit["margin"]);
            }
            for source in &answer.sources {
                let drawn = source.main.as_ref().map(|m| format!("Main at {}", m.name));
                assert!(drawn.is_none_or(|title| all.table(&title).is_some()));
            }
        }
    }
}

#[test]
fn every_row_says_where_it_comes_from() {
    let book = demo();
    let mut all = tables::of_book(&book, Units::Us).tables;
    let plain = Conditions::default();
    all.extend(
        tables::of_line(&book, "apartment", &plain, Units::Us)
            .unwrap()
            .tables,
    );
    for table in &all {
        assert_eq!(
            table.columns.last().unwrap().name,
            "source",
            "{}",
            table.title
        );
        for row in &table.rows {
            let Some(Entry::Text(source)) = row.last() else {
                panic!("{}: a row without source: {row:?}", table.title)
            };
            assert!(source.len() > 5, "{}: {source}", table.title);
        }
    }
    let line = tables::of_line(&book, "left-crosslay", &plain, Units::Us).unwrap();
    let measured = "Hose attack: C 14.2, measured: own flow test (invented), 2026-05-11.";
    let tips = line.table("Tips").unwrap();
    assert!(text(tips, 0, "source").contains(measured));
    let parts = line.table("Parts").unwrap();
    assert_eq!(text(parts, 0, "source"), measured);
    let scene = tables::of_book(&book, Units::Us);
    let water = scene.table("Scene water").unwrap();
    assert_eq!(text(water, 0, "water"), "mill-street");
    let test = "Hydrant mill-street: own flow test (invented), own entry, invented.";
    assert!(text(water, 0, "source").starts_with(test));
    let hose = line.table("Hose coefficients").unwrap();
    assert_eq!(number(hose, 0, "C (psi, gpm, ft)"), 14.2);
    assert!(text(hose, 0, "source").starts_with("Measured: own flow test"));
}

#[test]
fn both_units_stand_in_columns_of_their_own() {
    let book = demo();
    let plain = Conditions::default();
    let us = tables::of_line(&book, "left-crosslay", &plain, Units::Us).unwrap();
    let si = tables::of_line(&book, "left-crosslay", &plain, Units::Si).unwrap();
    let both = tables::of_line(&book, "left-crosslay", &plain, Units::Both).unwrap();
    for title in ["Lines", "Tips", "Parts"] {
        let both = both.table(title).unwrap();
        for one in [us.table(title).unwrap(), si.table(title).unwrap()] {
            for (at, column) in one.columns.iter().enumerate() {
                if column.unit.is_some() {
                    let head = column.head();
                    assert_eq!(entry(both, 0, &head), &one.rows[0][at], "{head}");
                }
            }
        }
    }
    let profile = both.table("Pressure along the line").unwrap();
    let units: Vec<&str> = profile
        .columns
        .iter()
        .filter_map(|c| c.unit.as_deref())
        .collect();
    for unit in ["psi", "bar"] {
        assert!(units.contains(&unit), "{units:?}");
    }
}

#[test]
fn equipment_has_its_values_and_its_curve() {
    let book = demo();
    let all = tables::of_equipment(&book, Units::Us);
    for kind in Equipment::ALL {
        let table = all.table(kind.title()).unwrap();
        assert!(table.column("name").is_some());
    }
    let hydrants = all.table("Hydrants").unwrap();
    assert_eq!(text(hydrants, 0, "name"), "mill-street");
    let item = &book.hydrant["mill-street"];
    let test = item.test().unwrap().unwrap();
    let least = hydraulics::units::psi(20.0);
    let figure = study::figure::flow(test.available(least)).json(System::Us);
    says(hydrants, 0, "available at 20 psi", &figure);
    for (kind, name, curve) in [
        (Equipment::Hose, "attack", "Friction loss"),
        (Equipment::Nozzle, "twin", "Reaction"),
        (Equipment::Rig, "pumper-1", "Pump"),
        (Equipment::Hydrant, "mill-street", "Supply"),
    ] {
        let one = tables::of_item(&book, kind, name, Units::Both).unwrap();
        assert!(one.tables[0].rows.len() <= 2, "{name}");
        assert!(one.table(curve).is_some(), "{name}");
    }
    let twin = tables::of_item(&book, Equipment::Nozzle, "twin", Units::Us).unwrap();
    let table = &twin.tables[0];
    assert_eq!(text(table, 1, "setting"), "low");
    assert_eq!(number(table, 1, "pressure there (psi)"), 46.0);
    assert!(tables::of_item(&book, Equipment::Hose, "none such", Units::Us).is_none());
}

fn odd() -> Tables {
    let texts = [
        "=1+1",
        "+49",
        "-5",
        "@here",
        "a \"quoted\" name",
        "two\nlines, and a comma",
        "\u{7121}\u{53cd}\u{52d5} \u{0416}\u{e9}",
        "_x0041_",
        "'=1",
        &"long ".repeat(60),
    ];
    let table = |title: &str| Table {
        title: title.into(),
        columns: vec![
            Column {
                name: "=name".into(),
                ..Column::default()
            },
            Column {
                name: "flow".into(),
                unit: Some("gpm".into()),
                decimals: 0,
            },
        ],
        rows: texts
            .iter()
            .map(|text| vec![Entry::Text(text.to_string()), Entry::Number(-0.25)])
            .collect(),
    };
    Tables {
        subject: "Line =1".into(),
        department: "\u{6d88}\u{9632} \"Nord\" & <S\u{fc}d>".into(),
        invented: true,
        units: Units::Us,
        cautions: vec!["Mind."],
        tables: [
            "Tips",
            "tips",
            "a/b:c",
            "a*b?c",
            &"x".repeat(50),
            &"x".repeat(51),
        ]
        .map(table)
        .into(),
    }
}

#[test]
fn odd_names_come_back_from_a_workbook_as_they_are() {
    let odd = odd();
    let mut workbook = opened(&odd.workbook(&stamp()).unwrap());
    let names = workbook.sheet_names();
    let small: std::collections::BTreeSet<String> =
        names.iter().map(|name| name.to_lowercase()).collect();
    assert_eq!(small.len(), 7, "{names:?}");
    for (name, table) in names[1..].iter().zip(&odd.tables) {
        assert!(name.chars().count() <= 31);
        same(&workbook.worksheet_range(name).unwrap(), table);
    }
    let about = workbook.worksheet_range("About").unwrap();
    let is = |what: &str| -> Vec<String> {
        let rows = about.rows().filter(|row| row[0] == what);
        rows.map(|row| row[1].to_string()).collect()
    };
    assert_eq!(is("Department"), [odd.department]);
    assert_eq!(is("Revision of the book"), ["7"]);
    assert_eq!(is("Date"), ["2026-05-11"]);
    assert_eq!(is("Caution"), ["Mind."]);
    assert_eq!(is("Invented").len(), 1);
}

#[test]
fn no_text_of_a_csv_is_a_formula_and_all_else_comes_back() {
    let table = odd().tables.remove(0);
    let bytes = table.csv().unwrap();
    assert!(bytes.starts_with("\u{feff}'=name,flow (gpm)\r\n".as_bytes()));
    let mut reader = csv::Reader::from_reader(bytes.as_slice());
    let heads: Vec<String> = reader.headers().unwrap().iter().map(String::from).collect();
    assert_eq!(heads.len(), 2);
    let records: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    assert_eq!(records.len(), table.rows.len());
    for (record, row) in records.iter().zip(&table.rows) {
        let Entry::Text(text) = &row[0] else { panic!() };
        let formula = text.starts_with(['=', '+', '-', '@']);
        let wanted = if formula {
            format!("'{text}")
        } else {
            text.clone()
        };
        assert_eq!(record[0], wanted);
        assert_eq!(record[1].parse::<f64>().unwrap(), -0.25);
    }
}

#[test]
fn every_number_of_the_book_comes_back_from_its_csv_files() {
    let all = tables::of_book(&demo(), Units::Si);
    let bytes = all.zip(&stamp()).unwrap();
    let mut archive = zip::ZipArchive::new(Cursor::new(bytes)).unwrap();
    assert_eq!(archive.len(), all.tables.len() + 1);
    assert_eq!(archive.by_index(0).unwrap().name().unwrap(), "00-about.csv");
    for (at, table) in all.tables.iter().enumerate() {
        let mut text = Vec::new();
        let mut file = archive.by_index(at + 1).unwrap();
        assert!(file.name().unwrap().ends_with(".csv"));
        file.read_to_end(&mut text).unwrap();
        let mut reader = csv::Reader::from_reader(text.as_slice());
        assert_eq!(
            reader.headers().unwrap().iter().collect::<Vec<_>>(),
            heads(table)
        );
        for (record, row) in reader.records().map(Result::unwrap).zip(&table.rows) {
            for (field, entry) in record.iter().zip(row) {
                match entry {
                    Entry::Number(value) => assert_eq!(field.parse::<f64>().unwrap(), *value),
                    Entry::Nothing => assert_eq!(field, ""),
                    Entry::Text(_) => assert_ne!(field, ""),
                }
            }
        }
    }
}

#[test]
fn the_same_tables_and_stamp_give_the_same_bytes() {
    let book = demo();
    let plain = Conditions::default();
    let made = || tables::of_line(&book, "apartment", &plain, Units::Both).unwrap();
    assert!(made().workbook(&stamp()).unwrap() == made().workbook(&stamp()).unwrap());
    assert!(made().zip(&stamp()).unwrap() == made().zip(&stamp()).unwrap());
    let later = Stamp {
        date: "2026-05-12".into(),
        ..stamp()
    };
    assert!(made().workbook(&later).unwrap() != made().workbook(&stamp()).unwrap());
}

#[test]
fn a_line_without_an_answer_has_its_notice_and_no_figures() {
    let text = b"[book]\nname = 'Example'\n[line.shut]\n\
        parts = [{ hose = '1.75 in', length = '200 ft' }, { nozzle = '150 gpm at 50 psi', gate = '0 %' }]\n\
        aim = { flow = '150 gpm' }\n";
    let book: Book = book::read(text, "example.toml").unwrap();
    let all = tables::of_line(&book, "shut", &Conditions::default(), Units::Us).unwrap();
    let lines = all.table("Lines").unwrap();
    let answer = self::text(lines, 0, "answer");
    assert!(answer.starts_with("none: "), "{answer}");
    assert!(all.table("Notices").is_some());
    for title in ["Tips", "Parts", "What next"] {
        assert!(all.table(title).is_none(), "{title}");
    }
    let numbers = lines.rows.iter().flatten();
    assert!(
        !numbers
            .clone()
            .any(|entry| matches!(entry, Entry::Number(_)))
    );
    let whole = tables::of_book(&book, Units::Us);
    let lines = whole.table("Lines").unwrap();
    assert!(self::text(lines, 0, "answer").starts_with("none: "));
}

#[test]
fn a_line_that_is_not_there_and_a_date_that_is_none_are_refused() {
    let book = demo();
    let plain = Conditions::default();
    let error = tables::of_line(&book, "none", &plain, Units::Us).unwrap_err();
    assert!(error.to_string().contains("\"none\""), "{error}");
    let all = tables::of_equipment(&book, Units::Us);
    for date in ["", "2026-02-30", "today"] {
        let stamp = Stamp {
            date: date.into(),
            revision: None,
        };
        assert!(matches!(all.workbook(&stamp), Err(PaperError::Date(_))));
        assert!(matches!(all.zip(&stamp), Err(PaperError::Date(_))));
    }
}
