//! The command as a person meets it: answers, exit codes, and what it says to
//! bad input.
#![allow(clippy::unwrap_used)]

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn handline(args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_handline"))
        .args(args)
        .current_dir(root())
        .output()
        .unwrap()
}

fn out(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

fn err(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).unwrap()
}

const DEMO: &str = "books/saltmarsh-bend.toml";

/// Writes a book of this test's own and returns its path.
fn file(name: &str, bytes: &[u8]) -> String {
    let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    std::fs::write(&path, bytes).unwrap();
    path.to_str().unwrap().to_string()
}

fn json(args: &[&str]) -> serde_json::Value {
    serde_json::from_str(&out(&handline(args))).unwrap()
}

#[test]
fn solve_names_every_line_of_the_demo() {
    let answer = handline(&["solve", DEMO]);
    assert_eq!(answer.status.code(), Some(0));
    let text = out(&answer);
    for word in [
        "left-crosslay",
        "apartment",
        "standpipe",
        "165 psi",
        "150 gpm",
        "Cautions",
    ] {
        assert!(text.contains(word), "{word} is missing from\n{text}");
    }
    let metric = out(&handline(&["solve", DEMO, "--units", "si"]));
    for word in ["11.4 bar", "568 L/min", "340 N"] {
        assert!(metric.contains(word), "{word} is missing from\n{metric}");
    }
}

#[test]
fn json_has_the_words_of_the_trade_and_units() {
    let answer = json(&["solve", DEMO, "left-crosslay", "--json"]);
    assert_eq!(answer["pump_pressure"]["unit"], "psi");
    let tip = &answer["tips"][0];
    assert_eq!(tip["regime"], "in");
    for key in [
        "flow",
        "tip_pressure",
        "reaction",
        "effective_reach",
        "maximum_throw",
    ] {
        assert!(tip[key]["value"].as_f64().unwrap() > 0.0, "{key}");
    }
    assert!(
        answer["coefficients"][0]["used"]
            .as_str()
            .unwrap()
            .starts_with("C 14.2")
    );
    assert!(
        answer["spread"]["pump_pressure"]["low"]["value"]
            .as_f64()
            .unwrap()
            > 0.0
    );
    assert_eq!(answer["residual"]["converged"], true);
}

#[test]
fn law_same_input_same_bytes() {
    for args in [
        vec!["solve", DEMO],
        vec!["solve", DEMO, "--json"],
        vec!["chart", DEMO, "large"],
    ] {
        assert_eq!(out(&handline(&args)), out(&handline(&args)));
    }
}

#[test]
fn what_ifs_are_read_with_and_without_a_place() {
    let gated = json(&["solve", DEMO, "left-crosslay", "--gate", "40 %", "--json"]);
    let flow = |v: &serde_json::Value| v["tips"][0]["flow"]["value"].as_f64().unwrap();
    assert!(flow(&gated["after"]) < flow(&gated["before"]));
    let placed = handline(&[
        "solve",
        DEMO,
        "apartment",
        "--gate",
        "part 2, outlet 1 = 50 %",
    ]);
    assert_eq!(placed.status.code(), Some(0), "{}", err(&placed));
    let vague = handline(&["solve", DEMO, "apartment", "--gate", "50 %"]);
    assert_eq!(vague.status.code(), Some(2));
    assert!(
        err(&vague).contains("part 3, branch 1, part 2"),
        "{}",
        err(&vague)
    );
    for bad in ["150 %", "half", "50 psi"] {
        let answer = handline(&["solve", DEMO, "left-crosslay", "--gate", bad]);
        assert_eq!(answer.status.code(), Some(2), "{bad}");
    }
}

#[test]
fn a_misspelt_line_gets_the_nearest() {
    let answer = handline(&["solve", DEMO, "left-croslay"]);
    assert_eq!(answer.status.code(), Some(3));
    assert!(
        err(&answer).contains("did you mean \"left-crosslay\""),
        "{}",
        err(&answer)
    );
    let setting = handline(&["solve", DEMO, "left-crosslay", "--setting", "hihg"]);
    assert_eq!(setting.status.code(), Some(3));
    assert!(err(&setting).contains("high"), "{}", err(&setting));
}

#[test]
fn strict_ends_with_four_when_a_limit_is_passed() {
    let args = ["solve", DEMO, "left-crosslay", "--pump", "300 psi"];
    assert_eq!(handline(&args).status.code(), Some(0));
    let strict = handline(&[&args[..], &["--strict"]].concat());
    assert_eq!(strict.status.code(), Some(4));
    assert!(out(&strict).contains("service pressure"));
}

#[test]
fn chart_and_extend_answer() {
    let chart = json(&[
        "chart",
        DEMO,
        "left-crosslay",
        "--lengths",
        "150 ft, 200 ft",
        "--rises",
        "0 ft",
        "--json",
    ]);
    assert_eq!(chart["tables"].as_array().unwrap().len(), 2);
    let extended = json(&["extend", DEMO, "rear-crosslay", "--by", "100 ft", "--json"]);
    assert_eq!(extended["leaves_shutoff"], true);
    let longest = json(&["extend", DEMO, "large", "--longest", "--json"]);
    assert_eq!(longest["ceiling"]["value"], 250.0);
    assert_eq!(
        handline(&["extend", DEMO, "large", "--by", "-5 ft"])
            .status
            .code(),
        Some(2)
    );
    assert_eq!(
        handline(&["chart", DEMO, "large", "--lengths", "soon"])
            .status
            .code(),
        Some(2)
    );
}

#[test]
fn several_errors_are_named_at_once_with_line_and_column() {
    let text = "[book]\nname = \"Bad\"\n\n[hose.a]\nsize = \"1.75 psi\"\ncoeficient = 15.5\n\n[line.one]\nparts = [{ hose = \"b\", length = \"-200 ft\" }, { nozzle = \"95 gpm at 100 psy\" }]\n";
    let path = file("bad.toml", text.as_bytes());
    let answer = handline(&["check", &path]);
    assert_eq!(answer.status.code(), Some(1));
    let text = err(&answer);
    for place in [":5:8", ":6:1", ":9:"] {
        assert!(
            text.contains(&format!("bad.toml{place}")),
            "{place} is missing from\n{text}"
        );
    }
    assert!(text.contains("coefficient"), "{text}");
    assert!(text.contains("-200 ft"), "{text}");
}

#[test]
fn hostile_files_are_refused_in_words() {
    let nested = format!(
        "[book]\nname = \"Deep\"\n[line.one]\nparts = {}{}\n",
        "[{ branches = [".repeat(1000),
        "] }]".repeat(1000)
    );
    let cases = [
        ("big.toml", vec![b'#'; 10_000_000], "10000 kB"),
        (
            "latin.toml",
            b"[book]\nname = \"Caf\xe9\"\n".to_vec(),
            "UTF-8",
        ),
        ("deep.toml", nested.into_bytes(), "deep"),
        ("empty.toml", Vec::new(), "book"),
        ("cut.toml", b"[book\nname".to_vec(), "cut.toml:1:"),
    ];
    for (name, bytes, word) in cases {
        let path = file(name, &bytes);
        let answer = handline(&["solve", &path]);
        assert_eq!(answer.status.code(), Some(1), "{name}: {}", err(&answer));
        assert!(err(&answer).contains(word), "{name}: {}", err(&answer));
        assert!(!err(&answer).contains("panicked"));
    }
    let missing = handline(&["solve", "no/such/book.toml"]);
    assert_eq!(missing.status.code(), Some(1));
    assert!(err(&missing).contains("no/such/book.toml"));
}

#[test]
fn schema_is_the_one_that_is_shipped() {
    let shipped = std::fs::read_to_string(root().join("books/handline-book.schema.json")).unwrap();
    let shipped: serde_json::Value = serde_json::from_str(&shipped).unwrap();
    assert_eq!(json(&["schema"]), shipped);
}

#[test]
fn every_demo_scene_is_answered_in_both_systems() {
    let scenes = [
        ("mill-street", "1045 gpm", "3957 L/min"),
        ("harbour-tower", "riser", "bar"),
        ("county-road", "tankers needed", "31.6 min"),
        ("mill-pond", "share of rated flow", "2.7 m"),
        ("spill", "draws concentrate  yes", "3.0 %"),
    ];
    for (scene, us, si) in scenes {
        for (units, word) in [("us", us), ("si", si)] {
            let answer = handline(&["solve", DEMO, scene, "--units", units]);
            assert_eq!(answer.status.code(), Some(0), "{scene}");
            let text = out(&answer);
            assert!(text.contains(word), "{word} is missing from\n{text}");
            assert!(text.contains("binds") && text.contains("Cautions"));
        }
    }
}

#[test]
fn scene_json_has_every_limit_with_its_margin() {
    let answer = json(&["solve", DEMO, "harbour-tower", "--json"]);
    let limits = answer["limits"].as_array().unwrap();
    assert!(limits.len() > 8);
    for limit in limits {
        assert!(limit["used"]["value"].is_number() && limit["margin"]["value"].is_number());
        assert!(limit["code"].is_string() && limit["place"].is_string());
    }
    let pipe = &answer["standpipes"][0];
    assert_eq!(pipe["outlets"].as_array().unwrap().len(), 2);
    assert_eq!(answer["rigs"][0]["pump_pressure"]["unit"], "psi");
    assert_eq!(answer["residual"]["converged"], true);
}

#[test]
fn what_ifs_of_a_scene_name_whose_they_are() {
    let gate = [
        "solve",
        DEMO,
        "mill-street",
        "--gate",
        "left-crosslay = 30 %",
    ];
    let text = out(&handline(&gate));
    assert!(text.contains("What if") && text.contains("flow, left-crosslay, part 2"));
    let weaker = json(&["solve", DEMO, "mill-street", "--weaker", "50 %", "--json"]);
    let intake = |which: &str| {
        weaker[which]["rigs"][0]["intake"]["value"]
            .as_f64()
            .unwrap()
    };
    assert!(intake("after") < intake("before"));
    let pump = ["solve", DEMO, "mill-street", "--pump", "pumper-1 = 140 psi"];
    assert_eq!(handline(&pump).status.code(), Some(0));
    for (args, words) in [
        (["--pump", "140 psi"], "say whose"),
        (["--pump", "pumper-9 = 140 psi"], "pumper-9"),
        (["--gate", "nowhere = 50 %"], "there are"),
        (["--kink", "50 %"], "one line"),
        (["--weaker", "0 %"], "at least 1 %"),
    ] {
        let answer = handline(&["solve", DEMO, "mill-street", args[0], args[1]]);
        assert_ne!(answer.status.code(), Some(0), "{args:?}");
        assert!(err(&answer).contains(words), "{args:?}: {}", err(&answer));
    }
    let line = handline(&["solve", DEMO, "large", "--weaker", "50 %"]);
    assert_eq!(line.status.code(), Some(2));
}

/// A folder of this test's own.
fn folder(name: &str) -> PathBuf {
    let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    let _ = std::fs::remove_dir_all(&path);
    std::fs::create_dir_all(&path).unwrap();
    path
}

#[test]
fn tables_of_a_line_are_written_as_a_workbook_and_as_csv() {
    use calamine::Reader;
    let folder = folder("tables-of-a-line");
    let to = |name: &str| folder.join(name).to_str().unwrap().to_string();
    let (book, csv) = (to("line.xlsx"), to("tips.csv"));
    let line = ["tables", DEMO, "left-crosslay", "--units", "si", "--out"];
    let asked = |more: &[&str]| handline(&[line.as_slice(), more].concat());

    let answer = asked(&[&book]);
    assert_eq!(answer.status.code(), Some(0), "{}", err(&answer));
    assert!(out(&answer).contains("line.xlsx: a workbook of"));
    let mut read: calamine::Xlsx<_> = calamine::open_workbook(&book).unwrap();
    let tips = read.worksheet_range("Tips").unwrap();
    let heads: Vec<String> = tips
        .rows()
        .next()
        .unwrap()
        .iter()
        .map(|h| h.to_string())
        .collect();
    let flow = heads
        .iter()
        .position(|head| head == "flow (L/min)")
        .unwrap();
    let solved = json(&["solve", DEMO, "left-crosslay", "--units", "si", "--json"]);
    let wanted = solved["tips"][0]["flow"]["value"].as_f64().unwrap();
    assert_eq!(
        tips.rows().nth(1).unwrap()[flow],
        calamine::Data::Float(wanted)
    );

    let answer = asked(&[&csv, "--table", "tips"]);
    assert_eq!(answer.status.code(), Some(0), "{}", err(&answer));
    let mut read = csv::Reader::from_path(&csv).unwrap();
    let record = read.records().next().unwrap().unwrap();
    assert_eq!(record[flow].parse::<f64>().unwrap(), wanted);

    let refused = asked(&[&csv]);
    assert_eq!(refused.status.code(), Some(2));
    assert!(err(&refused).contains("say which with --table") && err(&refused).contains("\"Tips\""));
    let refused = asked(&[&csv, "--table", "tops"]);
    assert!(err(&refused).contains("no table \"tops\""));
}

#[test]
fn tables_of_a_book_are_written_into_a_folder_and_of_a_scene_into_a_zip() {
    let folder = folder("tables-of-a-book");
    let all = folder.join("all");
    let answer = handline(&[
        "tables",
        DEMO,
        "--out",
        all.to_str().unwrap(),
        "--date",
        "2026-05-11",
    ]);
    assert_eq!(answer.status.code(), Some(0), "{}", err(&answer));
    let about = std::fs::read_to_string(all.join("00-about.csv")).unwrap();
    assert!(
        about.contains("Saltmarsh Bend") && about.contains("2026-05-11"),
        "{about}"
    );
    assert!(all.join("01-lines.csv").exists());
    let zip = folder.join("scene.zip");
    let answer = handline(&[
        "tables",
        DEMO,
        "mill-street",
        "--out",
        zip.to_str().unwrap(),
    ]);
    assert_eq!(answer.status.code(), Some(0), "{}", err(&answer));
    assert!(std::fs::read(&zip).unwrap().starts_with(b"PK"));

    let wrong = handline(&["tables", DEMO, "left-croslay", "--out", "x.xlsx"]);
    assert_eq!(wrong.status.code(), Some(3));
    assert!(err(&wrong).contains("left-crosslay"), "{}", err(&wrong));
    let wrong = handline(&["tables", DEMO, "--out", "x.xlsx", "--date", "today"]);
    assert_eq!(wrong.status.code(), Some(2));
    assert!(err(&wrong).contains("year-month-day"));
    let nowhere = folder.join("no/such/place.xlsx");
    let wrong = handline(&["tables", DEMO, "--out", nowhere.to_str().unwrap()]);
    assert_eq!(wrong.status.code(), Some(2));
    assert!(err(&wrong).contains("cannot be written"));
}
