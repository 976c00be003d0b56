//! The books that come with Handline: they read, they are written back as they
//! were, every line of them can be solved, and the schema knows them.

#![allow(clippy::unwrap_used, clippy::panic)]

use book::{Book, Conditions, Part, catalogue, examine, layout, read, schema, write};
use std::path::PathBuf;

fn folder() -> PathBuf {
    PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/../../books"))
}

fn texts() -> Vec<(String, String)> {
    let entries = std::fs::read_dir(folder()).unwrap();
    let mut texts: Vec<(String, String)> = entries
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|e| e == "toml"))
        .map(|path| {
            let name = path.file_name().unwrap().to_string_lossy().into_owned();
            (name, std::fs::read_to_string(&path).unwrap())
        })
        .collect();
    texts.sort();
    assert!(texts.len() >= 4);
    texts
}

fn books() -> Vec<(String, Book)> {
    texts()
        .into_iter()
        .map(|(name, text)| {
            let book = read(text.as_bytes(), &name).unwrap();
            (name, book)
        })
        .collect()
}

#[test]
fn the_books_have_no_problem() {
    for (name, text) in texts() {
        let problems = examine(text.as_bytes(), &name).problems;
        assert!(problems.list().is_empty(), "{problems:?}");
    }
}

#[test]
fn law_a_written_book_reads_as_it_was() {
    let generic = ("catalogue".to_string(), catalogue().clone());
    for (name, book) in books().into_iter().chain([generic]) {
        let text = write(&book);
        let back = read(text.as_bytes(), &name).unwrap();
        assert_eq!(back, book, "{text}");
        assert_eq!(write(&back), text);
    }
}

#[test]
fn every_line_can_be_solved_and_every_tip_flows() {
    let conditions = Conditions {
        pump_pressure: Some(
            hydraulics::units::parse(hydraulics::units::Kind::Pressure, "150 psi").unwrap(),
        ),
        ..Conditions::default()
    };
    for (name, book) in books() {
        for line in book.line.keys() {
            let layout = layout(&book, line, &conditions).unwrap();
            let answer = lay::solve(&layout.lay);
            assert_eq!(answer.stopped, lay::Stopped::Converged, "{name} {line}");
            assert!(!layout.tips.is_empty(), "{name} {line}");
            for tip in &layout.tips {
                assert!(
                    answer.flow(tip.part).value > 0.0,
                    "{name} {line} {}",
                    tip.path
                );
                assert!(tip.aim.is_some(), "{name} {line} {}", tip.path);
            }
        }
    }
}

#[test]
fn the_demo_is_marked_as_invented() {
    for (name, book) in books() {
        assert!(book.about.invented, "{name}");
    }
}

#[test]
fn the_demo_shows_what_a_book_can_say() {
    let (_, demo) = books()
        .into_iter()
        .find(|(n, _)| n == "saltmarsh-bend.toml")
        .unwrap();
    let has = |find: fn(&Part) -> bool| demo.line.values().any(|l| l.parts.iter().any(find));
    assert!(demo.rig.len() == 2 && demo.line.len() >= 9);
    assert!(has(|p| matches!(p, Part::Branches(_))));
    assert!(has(|p| matches!(p, Part::Legs(_))));
    assert!(
        demo.line
            .values()
            .all(|line| line.aim.is_some() && line.rig.is_some())
    );
    assert!(demo.nozzle.values().any(|n| n.breaks_at.is_some()));
    assert!(demo.nozzle.values().any(|n| n.foam));
    assert!(demo.hose.values().any(|h| h.measured.is_some()));
}

/// Write it anew with `UPDATE_SCHEMA=1 cargo test -p book`.
#[test]
fn the_schema_file_is_up_to_date() {
    let path = folder().join("handline-book.schema.json");
    let now = serde_json::to_string_pretty(&schema()).unwrap() + "\n";
    if std::env::var_os("UPDATE_SCHEMA").is_some() {
        std::fs::write(&path, &now).unwrap();
    }
    let file = std::fs::read_to_string(&path).unwrap_or_default();
    assert!(file == now, "the schema has changed; write its file anew");
}

/// A book's text as the values that a schema is about.
fn values(text: &str) -> serde_json::Value {
    serde_json::to_value(toml::from_str::<toml::Table>(text).unwrap()).unwrap()
}

#[test]
fn the_schema_accepts_every_book_and_what_is_written() {
    let validator = jsonschema::validator_for(&schema()).unwrap();
    let generic = ("catalogue".to_string(), write(catalogue()));
    let written = books().into_iter().map(|(name, book)| (name, write(&book)));
    for (name, text) in texts().into_iter().chain(written).chain([generic]) {
        let values = values(&text);
        let errors: Vec<String> = validator
            .iter_errors(&values)
            .map(|e| format!("{} at {}", e, e.instance_path()))
            .collect();
        assert!(errors.is_empty(), "{name}: {errors:?}");
    }
}

#[test]
fn the_schema_refuses_what_the_reader_refuses() {
    let validator = jsonschema::validator_for(&schema()).unwrap();
    let line = "[line.a]\nparts = [{ hose = \"1.75 in\", length = LENGTH }, { nozzle = \"150 gpm at 50 psi\" }]";
    for (length, good) in [
        ("\"200 ft\"", true),
        ("200", true),
        ("\"60 M\"", true),
        ("\"200 psi\"", false),
        ("\"200 fet\"", false),
        ("\"long\"", false),
        ("true", false),
    ] {
        let text = format!("[book]\nname = \"x\"\n{}", line.replace("LENGTH", length));
        assert_eq!(read(text.as_bytes(), "x").is_ok(), good, "{length}");
        assert_eq!(validator.is_valid(&values(&text)), good, "{length}");
    }
    for text in [
        "[book]\nnam = \"x\"",
        "[book]\nname = \"x\"\nunits = \"uk\"",
        "[book]\nname = \"x\"\n[hose.a]\nsize = \"1.75 in\"\ncoefficient = -1",
        "[book]\nname = \"x\"\n[hose.a]\ncoefficient = 15.5\nsize = \"1.75 in\"\ncoupling = \"1.5 in\"",
    ] {
        assert!(read(text.as_bytes(), "x").is_err(), "{text}");
        assert!(!validator.is_valid(&values(text)), "{text}");
    }
}
