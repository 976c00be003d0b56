//! The command `prove`: from a plan to readings to a changed book.
#![allow(clippy::unwrap_used)]

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

const DEMO: &str = "books/saltmarsh-bend.toml";
const DAY: &str = "books/saltmarsh-bend-test-day.csv";

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn prove(args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_handline"))
        .args(["prove", DEMO])
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

fn temporary(name: &str) -> PathBuf {
    Path::new(env!("CARGO_TARGET_TMPDIR")).join(name)
}

fn has(text: &str, words: &[&str]) {
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    for word in words {
        assert!(text.contains(word), "{word} is missing from\n{text}");
    }
}

#[test]
fn a_plan_says_what_to_read() {
    let answer = prove(&["--plan", "left-crosslay"]);
    assert_eq!(answer.status.code(), Some(0), "{}", err(&answer));
    let words = [
        "Friction of hose attack",
        "Nozzle twin, high",
        "line-gauge-1",
        "flow-meter",
        "Read every point",
        "Cautions",
    ];
    has(&out(&answer), &words);
    let metric = out(&prove(&["--plan", "hose attack", "--units", "si"]));
    has(&metric, &["L/min", "bar"]);
    let wrong = prove(&["--plan", "hose atack"]);
    assert_eq!(wrong.status.code(), Some(3));
    assert!(err(&wrong).contains("hose atack"), "{}", err(&wrong));
}

#[test]
fn the_shipped_day_names_its_bad_gauge_and_changes_lines() {
    let plain = prove(&["--readings", DAY, "--strict"]);
    assert_eq!(plain.status.code(), Some(4));
    has(
        &out(&plain),
        &["GAUGE IN DOUBT: line-gauge-1", "friction coefficient C"],
    );
    let refused = out(&prove(&["--readings", DAY, "--accept"]));
    has(
        &refused,
        &[
            "not taken: hose attack: it was read with line-gauge-1",
            "taken: hose large",
        ],
    );
    let new = temporary("tested.toml");
    let answer = prove(&[
        "--readings",
        DAY,
        "--correct",
        "line-gauge-1",
        "--accept",
        "--out",
        new.to_str().unwrap(),
        "--source",
        "own flow test (invented)",
    ]);
    assert_eq!(answer.status.code(), Some(0), "{}", err(&answer));
    has(
        &out(&answer),
        &["taken: hose attack", "right-crosslay: pump pressure"],
    );
    let text = std::fs::read_to_string(&new).unwrap();
    // Comments stay, the published value stays, the measured one stands beside it.
    has(
        &text,
        &[
            "# Saltmarsh Bend Fire and Rescue does not exist.",
            "coefficient = 15.5",
            "date = \"2026-09-19\"",
        ],
    );
    let check = Command::new(env!("CARGO_BIN_EXE_handline"))
        .args(["check", new.to_str().unwrap()])
        .output()
        .unwrap();
    assert_eq!(check.status.code(), Some(0), "{}", err(&check));
}

#[test]
fn points_are_left_out_by_name_and_stay_in_sight() {
    let answer = prove(&[
        "--readings",
        DAY,
        "--plan",
        "hose attack",
        "--without",
        "hose attack: 3",
        "--points",
    ]);
    assert_eq!(answer.status.code(), Some(0), "{}", err(&answer));
    has(&out(&answer), &["left out: left out on the command line"]);
    let wrong = prove(&["--readings", DAY, "--without", "hose attack: 99"]);
    assert_eq!(wrong.status.code(), Some(2));
    assert!(err(&wrong).contains("names no point"), "{}", err(&wrong));
}

#[test]
fn json_says_the_same() {
    let answer = prove(&["--readings", DAY, "--json"]);
    let json: serde_json::Value = serde_json::from_str(&out(&answer)).unwrap();
    assert_eq!(json["suspects"][0]["gauges"][0], "line-gauge-1");
    assert_eq!(json["proofs"][0]["subject"], "attack");
    assert_eq!(
        json["proofs"][0]["points"][0]["read"]["inlet_pressure"]["unit"],
        "psi"
    );
    assert_eq!(json["rows"], json["rows_used"]);
}

#[test]
fn a_file_that_is_no_table_is_refused_with_its_name() {
    let path = temporary("no-table.csv");
    std::fs::write(&path, "weather,mood\nfine,good\n").unwrap();
    let answer = prove(&["--readings", path.to_str().unwrap()]);
    assert_eq!(answer.status.code(), Some(1));
    has(
        &err(&answer),
        &[
            "no-table.csv",
            "no column is one of readings",
            "weather, mood",
        ],
    );
    std::fs::write(&path, "test,flow (gpm),inlet (psi)\nhose attack,100,x\n").unwrap();
    let answer = prove(&["--readings", path.to_str().unwrap(), "--date", "2026-05-11"]);
    assert_eq!(answer.status.code(), Some(3));
    has(&err(&answer), &["row 2, inlet (psi), \"x\""]);
}

#[test]
fn rows_with_the_same_trouble_are_told_together_with_the_columns_not_used() {
    let day = std::fs::read_to_string(root().join(DAY)).unwrap();
    let path = temporary("columns.csv");
    std::fs::write(&path, day.replace("inlet (psi)", "front (psi)")).unwrap();
    let answer = prove(&["--readings", path.to_str().unwrap()]);
    let said = err(&answer);
    has(
        &said,
        &[
            "rows 3 to 14, test, \"hose attack\": the inlet pressure is missing",
            "Columns that were not used: \"front (psi)\"",
        ],
    );
    assert!(said.lines().count() <= 6, "{said}");
    std::fs::write(&path, day.replace("line-gauge-2", "gauge-x")).unwrap();
    let said = err(&prove(&["--readings", path.to_str().unwrap()]));
    let line = said.lines().next().unwrap();
    has(line, &["rows 3", "gauge-x", "its gauges are: line-gauge-1"]);
    let absent = err(&prove(&["--readings", "not-there.csv"]));
    has(
        &absent,
        &["not-there.csv cannot be read", "the readings, CSV or XLSX"],
    );
}
