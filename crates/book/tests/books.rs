//! The books that come with Handline: they read, they are written back as they
//! were, every line of them can be solved, and the schema knows them.

#![allow(clippy::unwrap_used, clippy::panic)]

use book::{
    Book, Conditions, HydrantItem, HydrantSupply, IntakeFrom, Part, SceneConditions, catalogue,
    examine, layout, read, scene, schema, write,
};
use std::path::PathBuf;

fn folder() -> PathBuf {
    PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/../../books"))
}

/// The files of books, without those of comparisons.
fn texts() -> Vec<(String, String)> {
    let mut texts = files();
    texts.retain(|(_, text)| !text.contains("\n[comparison]\n"));
    assert!(texts.len() >= 4);
    texts
}

fn files() -> Vec<(String, String)> {
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
fn every_scene_can_be_solved_and_every_tip_flows() {
    let psi = hydraulics::units::psi;
    for (name, book) in books() {
        for (title, at_work) in &book.scene {
            let held = at_work.rig.keys().map(|rig| (rig.clone(), psi(150.0)));
            let conditions = SceneConditions {
                pump_pressure: held.collect(),
                ..SceneConditions::default()
            };
            let laid = scene(&book, title, &conditions).unwrap();
            let answer = lay::solve(&laid.layout.lay);
            assert_eq!(answer.stopped, lay::Stopped::Converged, "{name} {title}");
            assert!(!laid.layout.tips.is_empty(), "{name} {title}");
            for tip in &laid.layout.tips {
                let flow = answer.flow(tip.part).value;
                assert!(flow > 0.0, "{name} {title} {} {}", tip.line, tip.path);
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
    assert!(demo.rig.len() >= 2 && demo.line.len() >= 9);
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
    assert!(!demo.draft.is_empty() && !demo.shuttle.is_empty());
    let tested = |h: &HydrantItem| matches!(h.supply, HydrantSupply::Test { .. });
    assert!(demo.hydrant.values().any(tested) && !demo.hydrant.values().all(tested));
    let rigs = || demo.scene.values().flat_map(|scene| scene.rig.values());
    assert!(rigs().any(|rig| !rig.standpipe.is_empty()));
    assert!(
        rigs()
            .flat_map(|rig| &rig.intake)
            .any(|intake| matches!(intake.from, IntakeFrom::Rig(_)))
    );
    assert!(demo.scene.values().any(|scene| scene.spill.is_some()));
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

/// Every kind of water and of scene, where no book of ours has it.
const SCENES: &str = r#"
[book]
name = "x"
[rig.one]
pump = 2000
pump_rated_at = "10 bar"
tank_flow = "500 gpm"
concentrate = "30 gal"
proportioner = "12 gpm"
[rig.two]
pump_points = [{ flow = 700, pressure = 200 }, { flow = "1000 gpm", pressure = 150 }]
[nozzle.foam]
kind = "fixed"
flow = 95
pressure = 100
attachment.tube = { expansion = 8, reach = "60 ft" }
[appliance.eductor]
kind = "eductor"
flow = 95
inlet_pressure = 200
back_pressure = "70 %"
[appliance.valve]
kind = "regulating-valve"
setting = 100
[hydrant.a]
static = 70
residual = 50
outlets = [{ size = "2.5 in", pitot = 28, shape = "square", count = 2 }, { size = 4, pitot = 9, coefficient = 0.83 }]
date = "2026-05-11"
[hydrant.b]
same_main_as = "a"
loss = { pressure = 3, flow = 1000 }
[draft.pond]
lift = "8 ft"
altitude = "300 ft"
[shuttle.farm]
tankers = 3
tank = 3000
usable = 0.9
distance = "2 mi"
fill = "3 min"
dump = "90 s"
handling = 4
dump_tank = 6000
[standpipe.tower]
floors = 12
floor_height = "10 ft"
riser = "6 in"
hazen_williams = 120
inlet_loss = { pressure = 5, flow = 500 }
regulating = [{ floors = [1, 6], setting = 100 }]
[line.foam]
parts = [{ appliance = "eductor", ratio = 0.03 }, { nozzle = "foam", attachment = "tube" }]
[scene.mill]
duration = "1 h"
open_outlets = true
spill = { area = "3000 ft2", fuel = "polar", rate = "0.20 gpm/ft2", ratio = "3 %" }
fire = { length = 60, width = 40, height = 10, floors = 2, involved = "25 %", exposed_sides = 1, hazard = 5, construction_type = "V", construction = "frame" }
[scene.mill.rig.one]
intake = [{ hydrant = "b", parts = [{ hose = "5 in", length = 100 }] }, { tank = true }]
pump_pressure = "150 psi"
lines = [{ line = "foam" }, { line = "foam", standpipe = "tower", floor = 3, gate = 0.5, foam = "1 %" }]
standpipes = [{ standpipe = "tower", parts = [{ hose = "3 in", length = 50 }] }]
[scene.mill.rig.two]
intake = [{ rig = "one", parts = [{ hose = "5 in", length = 500 }] }, { draft = "pond" }, { shuttle = "farm" }]
speed = "90 %"
height = "-5 ft"
"#;

#[test]
fn the_schema_knows_water_and_scenes_as_the_reader_does() {
    let validator = jsonschema::validator_for(&schema()).unwrap();
    let book = read(SCENES.as_bytes(), "x").unwrap();
    for text in [SCENES, &write(&book)] {
        let values = values(text);
        let errors: Vec<String> = validator
            .iter_errors(&values)
            .map(|e| format!("{} at {}", e, e.instance_path()))
            .collect();
        assert!(errors.is_empty(), "{errors:?}");
    }
    for (good, bad) in [
        ("floor = 3,", "floor = 3.5,"),
        ("tankers = 3", "tankers = 0"),
        ("tank = true", "tank = \"full\""),
        ("fill = \"3 min\"", "fill = \"3 psi\""),
        ("area = \"3000 ft2\"", "area = \"3000 ft\""),
        ("rate = \"0.20 gpm/ft2\"", "rate = \"0.20 gpm\""),
        ("shape = \"square\"", "shape = \"sharp\""),
        ("construction_type = \"V\"", "construction_type = \"6\""),
        ("lift = \"8 ft\"", "lfit = \"8 ft\""),
        ("pitot = 28, ", ""),
        ("floors = [1, 6]", "floors = [1]"),
        ("{ line = \"foam\" }", "{ gate = 0.5 }"),
        (", reach = \"60 ft\"", ""),
    ] {
        let text = SCENES.replacen(good, bad, 1);
        assert_ne!(text, SCENES, "{good}");
        assert!(read(text.as_bytes(), "x").is_err(), "{bad}");
        assert!(!validator.is_valid(&values(&text)), "{bad}");
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
