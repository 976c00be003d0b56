//! Tables of a comparison, read back by other libraries.
#![allow(clippy::unwrap_used, clippy::panic)]

#[path = "common/chosen.rs"]
mod chosen;
mod common;

use std::io::{Cursor, Read};

use calamine::{Data, Reader, Xlsx};
use chosen::{NAME, comparison};
use common::demo;
use hydraulics::units::System;
use paper::Units;
use paper::tables::{self, Column, Entry, Stamp, Table, Tables};
use parquet::basic::Compression;
use parquet::file::reader::{FileReader, SerializedFileReader};
use parquet::record::Field;
use study::choose::Chosen;
use study::figure;

const BOTH: [&str; 2] = ["left-crosslay", "right-crosslay"];

fn stamp() -> Stamp {
    Stamp {
        date: "2026-05-11".into(),
        revision: Some(7),
    }
}

fn found(count: usize, draws: bool) -> Chosen {
    chosen::chosen(&demo(), &comparison(&BOTH), count, draws)
}

fn made(found: &Chosen, units: Units) -> Tables {
    tables::of_comparison(&demo(), NAME, &comparison(&BOTH), found, units)
}

fn at(table: &Table, head: &str) -> usize {
    let heads: Vec<String> = table.columns.iter().map(|c| c.head()).collect();
    let found = heads.iter().position(|h| h == head);
    found.unwrap_or_else(|| panic!("no {head} in {heads:?}"))
}

#[test]
fn every_cell_is_read_back_from_the_workbook() {
    for units in Units::ALL {
        let all = made(&found(5, true), units);
        let bytes = all.workbook(&stamp()).unwrap();
        let mut workbook: Xlsx<_> = Xlsx::new(Cursor::new(bytes)).unwrap();
        let names = workbook.sheet_names();
        assert_eq!(
            names,
            [
                "About",
                "Question",
                "Choices",
                "By line",
                "Excluded",
                "Doubt",
                "Whose doubt",
                "Days",
                "Days counted",
                "Limits on the days",
                "Notices"
            ]
        );
        for (name, table) in names[1..].iter().zip(&all.tables) {
            let sheet = workbook.worksheet_range(name).unwrap();
            for (row, entries) in table.rows.iter().enumerate() {
                for (column, entry) in entries.iter().enumerate() {
                    let read = sheet.get_value((row as u32 + 1, column as u32));
                    match (entry, read.unwrap_or(&Data::Empty)) {
                        (Entry::Number(a), Data::Float(b)) => assert_eq!(a, b),
                        (Entry::Text(a), Data::String(b)) => assert_eq!(a, b),
                        (Entry::Nothing, Data::Empty) => {}
                        (entry, read) => panic!("{name}: {entry:?} is {read:?}"),
                    }
                }
            }
        }
    }
}

#[test]
fn a_row_for_each_choice_and_line_has_what_the_line_gives_and_every_aim() {
    let found = found(5, true);
    for (units, system) in [(Units::Us, System::Us), (Units::Si, System::Si)] {
        let all = made(&found, units);
        let table = all.table("By line").unwrap();
        let choices: Vec<_> = found.choices.iter().chain(&found.today).collect();
        assert_eq!(table.rows.len(), choices.len() * BOTH.len());
        let rows = choices
            .iter()
            .flat_map(|c| c.on.iter().zip(&c.results).map(move |r| (c, r)));
        for (row, (choice, (on, result))) in table.rows.iter().zip(rows) {
            let flow = figure::flow(result.flow);
            let (low, pressure) = result.low.unwrap();
            let (low, pressure) = (figure::flow(low), figure::pressure(pressure));
            let numbers = [
                ("flow", flow),
                ("flow at low pump pressure", low),
                ("nozzle pressure at low pump pressure", pressure),
                ("reaction, formula value", figure::force(result.reaction)),
                ("effective reach", figure::length(result.reach)),
                ("pump pressure", figure::pressure(on.pump_pressure)),
                ("length", figure::length(on.length)),
            ];
            let aims = choice.measured.iter();
            let aims = aims.filter(|m| study::choose::kind_of(m.aim).is_some());
            let aims = aims.map(|m| {
                (
                    format!("overall {}", study::choose::aim_name(m.aim)),
                    m.value,
                )
            });
            let numbers = numbers.map(|(name, figure)| (name.to_string(), figure));
            for (name, figure) in numbers.into_iter().chain(aims) {
                let head = format!("{name} ({})", figure.unit(system));
                assert_eq!(
                    row[at(table, &head)],
                    Entry::Number(figure.value(system)),
                    "{head}"
                );
            }
            for (head, text) in [
                ("choice", &choice.code),
                ("line", &on.line),
                ("hose", &on.hose),
            ] {
                assert_eq!(row[at(table, head)], Entry::Text(text.clone()));
            }
            assert_eq!(
                row[at(table, "overall kinds of hose and nozzle")],
                Entry::Number(2.0)
            );
            assert_eq!(row[at(table, "held by people")], Entry::Number(2.0));
        }
        let today = table.rows.last().unwrap();
        assert_eq!(today[at(table, "rank")], Entry::Nothing);
        assert_eq!(today[at(table, "is")], Entry::Text("carried today".into()));
        assert_eq!(
            table.rows[0][at(table, "is")],
            Entry::Text("first that holds on enough days".into())
        );
    }
}

#[test]
fn what_was_left_out_and_the_days_are_there_with_their_numbers() {
    let all = made(&found(3, true), Units::Us);
    let excluded = all.table("Excluded").unwrap();
    let row = &excluded.rows[0];
    assert_eq!(
        row[at(excluded, "limit")],
        Entry::Text("reaction for the crew".into())
    );
    assert_eq!(row[at(excluded, "choices")], Entry::Number(88.0));
    assert_eq!(row[at(excluded, "by it alone")], Entry::Number(70.0));
    assert_eq!(row[at(excluded, "it has (lbf)")], Entry::Number(96.0));
    assert_eq!(row[at(excluded, "allowed (lbf)")], Entry::Number(95.0));
    let days = all.table("Days").unwrap();
    // Three choices, and today's.
    assert_eq!(days.rows.len(), 4);
    assert_eq!(
        days.rows[0][at(days, "5 % are below (gpm)")],
        Entry::Number(140.0)
    );
    let counted = all.table("Days counted").unwrap();
    assert_eq!(counted.rows.len(), 4 * 9);
    let width = (170.0 - 130.0) / 9.0;
    let Entry::Number(to) = counted.rows[0][at(counted, "to (gpm)")] else {
        panic!("no number")
    };
    assert!((to - (130.0 + width)).abs() < 1e-3, "{to}");
    let holds = all.table("Limits on the days").unwrap();
    assert_eq!(
        holds.rows[1][at(holds, "holds on days (%)")],
        Entry::Number(97.31)
    );
    let none = made(&found(3, false), Units::Us);
    for title in [
        "Doubt",
        "Whose doubt",
        "Days",
        "Days counted",
        "Limits on the days",
    ] {
        assert!(none.table(title).is_none(), "{title}");
    }
}

#[test]
fn csv_files_are_read_back() {
    let all = made(&found(3, true), Units::Both);
    let zip = all.zip(&stamp()).unwrap();
    let mut archive = zip::ZipArchive::new(Cursor::new(zip)).unwrap();
    assert_eq!(archive.len(), all.tables.len() + 1);
    let mut text = String::new();
    archive
        .by_name("03-by-line.csv")
        .unwrap()
        .read_to_string(&mut text)
        .unwrap();
    let mut reader = csv::Reader::from_reader(text.trim_start_matches('\u{feff}').as_bytes());
    let heads = reader.headers().unwrap().clone();
    let table = all.table("By line").unwrap();
    assert_eq!(heads.len(), table.columns.len());
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    assert_eq!(rows.len(), table.rows.len());
    for (head, text) in [("flow (gpm)", "152"), ("flow (L/min)", "575.3826")] {
        let place = heads.iter().position(|h| h == head).unwrap();
        assert_eq!(&rows[0][place], text, "{head}");
    }
}

#[test]
fn parquet_is_read_back_with_units_in_names_and_metadata() {
    let all = made(&found(4, true), Units::Both);
    let table = all.table("By line").unwrap();
    let bytes = all.parquet("By line", &stamp()).unwrap();
    assert_eq!(bytes, all.parquet("By line", &stamp()).unwrap());
    let path = concat!(env!("CARGO_TARGET_TMPDIR"), "/comparison.parquet");
    std::fs::write(path, &bytes).unwrap();
    let reader = SerializedFileReader::new(std::fs::File::open(path).unwrap()).unwrap();
    let metadata = reader.metadata();
    for column in metadata.row_group(0).columns() {
        assert_eq!(column.compression(), Compression::UNCOMPRESSED);
    }
    let told = metadata.file_metadata().key_value_metadata().unwrap();
    let told = |key: &str| {
        let found = told.iter().find(|one| one.key == key);
        found.and_then(|one| one.value.clone())
    };
    assert_eq!(told("unit.flow_gpm").as_deref(), Some("gpm"));
    assert_eq!(told("unit.flow_l_min").as_deref(), Some("L/min"));
    assert_eq!(
        told("department").as_deref(),
        Some("Saltmarsh Bend Fire and Rescue")
    );
    assert_eq!(told("revision_of_the_book").as_deref(), Some("7"));
    assert!(told("invented").is_some());
    let rows: Vec<_> = reader
        .get_row_iter(None)
        .unwrap()
        .map(Result::unwrap)
        .collect();
    assert_eq!(rows.len(), table.rows.len());
    for (row, entries) in rows.iter().zip(&table.rows) {
        let fields: Vec<&Field> = row.get_column_iter().map(|(_, field)| field).collect();
        assert_eq!(fields.len(), entries.len());
        for (field, entry) in fields.iter().zip(entries) {
            match (field, entry) {
                (Field::Str(a), Entry::Text(b)) => assert_eq!(a, b),
                (Field::Double(a), Entry::Number(b)) => assert_eq!(a, b),
                (Field::Long(a), Entry::Number(b)) => assert_eq!(*a as f64, *b),
                (Field::Null, Entry::Nothing) => {}
                (field, entry) => panic!("{field:?} is not {entry:?}"),
            }
        }
    }
    let names: Vec<&String> = rows[0].get_column_iter().map(|(name, _)| name).collect();
    for name in [
        "choice",
        "flow_gpm",
        "overall_flow_gpm",
        "pump_pressure_psi",
        "holds_on_days_percent",
        "rank",
    ] {
        assert!(names.iter().any(|n| *n == name), "{name} in {names:?}");
    }
    let error = all.parquet("Nothing", &stamp()).unwrap_err().to_string();
    assert!(error.contains("\"By line\""), "{error}");
}

#[test]
fn parquet_takes_words_among_numbers_nothing_at_all_and_names_of_any_script() {
    let column = |name: &str, unit: Option<&str>, decimals| Column {
        name: name.into(),
        unit: unit.map(String::from),
        decimals,
    };
    let table = Table {
        title: "Any".into(),
        columns: vec![
            column("расход, Östlich", Some("gpm"), 0),
            column("mixed", None, 0),
            column("half", None, 0),
            column("nothing", Some("psi"), 0),
        ],
        rows: vec![
            vec![
                Entry::Number(150.0),
                Entry::Number(1.0),
                Entry::Number(0.5),
                Entry::Nothing,
            ],
            vec![
                Entry::Nothing,
                Entry::Text("ξ".into()),
                Entry::Number(2.0),
                Entry::Nothing,
            ],
        ],
    };
    let all = Tables {
        tables: vec![table],
        ..made(&found(1, false), Units::Us)
    };
    let path = concat!(env!("CARGO_TARGET_TMPDIR"), "/any.parquet");
    std::fs::write(path, all.parquet("Any", &stamp()).unwrap()).unwrap();
    let reader = SerializedFileReader::new(std::fs::File::open(path).unwrap()).unwrap();
    let rows = reader
        .get_row_iter(None)
        .unwrap()
        .map(|row| row.unwrap().to_string());
    let rows: Vec<String> = rows.collect();
    assert_eq!(
        rows,
        [
            "{расход_östlich_gpm: 150.0, mixed: \"1\", half: 0.5, nothing_psi: null}",
            "{расход_östlich_gpm: null, mixed: \"ξ\", half: 2.0, nothing_psi: null}",
        ]
    );
}

#[test]
fn law_the_same_comparison_gives_the_same_files() {
    let (one, other) = (
        made(&found(4, true), Units::Both),
        made(&found(4, true), Units::Both),
    );
    assert_eq!(
        one.workbook(&stamp()).unwrap(),
        other.workbook(&stamp()).unwrap()
    );
    assert_eq!(one.zip(&stamp()).unwrap(), other.zip(&stamp()).unwrap());
}
