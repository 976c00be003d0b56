//! The command `compare`: the demo's question answered, its numbers against `solve`, and
//! what it says to questions without an answer.
#![allow(clippy::unwrap_used)]

use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

const DEMO: &str = "books/saltmarsh-bend.toml";
const CROSSLAYS: &str = "books/saltmarsh-bend-crosslays.toml";
const CARRY: &str = "books/saltmarsh-bend-whole-carry.toml";

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn command(args: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_handline"));
    command.args(args).current_dir(root());
    command
}

fn handline(args: &[&str]) -> Output {
    command(args).output().unwrap()
}

fn compare(comparison: &str, more: &[&str]) -> Output {
    let mut args = vec!["compare", DEMO, comparison];
    args.extend(more);
    handline(&args)
}

fn out(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

fn err(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).unwrap()
}

fn json(output: &Output) -> Value {
    assert_eq!(output.status.code(), Some(0), "{}", err(output));
    serde_json::from_str(&out(output)).unwrap()
}

fn temporary(name: &str) -> PathBuf {
    Path::new(env!("CARGO_TARGET_TMPDIR")).join(name)
}

/// Writes a comparison of this test's own and returns its path.
fn file(name: &str, text: &str) -> String {
    let path = temporary(name);
    std::fs::write(&path, text).unwrap();
    path.to_str().unwrap().to_string()
}

/// The shipped comparison with `from` written as `to`.
fn changed(name: &str, changes: &[(&str, &str)]) -> String {
    let mut text = std::fs::read_to_string(root().join(CROSSLAYS)).unwrap();
    for (from, to) in changes {
        assert!(text.contains(from), "{from}");
        text = text.replace(from, to);
    }
    file(name, &text)
}

fn has(text: &str, words: &[&str]) {
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    for word in words {
        assert!(text.contains(word), "{word} is missing from\n{text}");
    }
}

/// A figure of JSON: its value; its unit must be this one.
fn figure(value: &Value, unit: &str) -> f64 {
    assert_eq!(value["unit"], unit, "{value}");
    value["value"].as_f64().unwrap()
}

/// A line of a shell, as its words; quotes are taken off.
fn words(line: &str) -> Vec<String> {
    let mut words = vec![String::new()];
    let mut quote = None;
    for c in line.chars() {
        match (quote, c) {
            (Some(open), c) if c == open => quote = None,
            (None, '"' | '\'') => quote = Some(c),
            (None, ' ') => words.push(String::new()),
            (_, c) => words.last_mut().unwrap().push(c),
        }
    }
    words
}

#[test]
fn the_demos_question_is_answered_so_that_a_chief_can_judge_it() {
    let answer = compare(CROSSLAYS, &["--days", "500"]);
    assert_eq!(answer.status.code(), Some(0), "{}", err(&answer));
    let text = out(&answer);
    let said = [
        "Nozzle and hose for the crosslays, crew of three",
        "(invented)",
        "Answer:",
        "Why",
        "ranked second, lost on",
        "As carried today",
        "No other choice beats these in everything",
        "Left out",
        "pump ceiling",
        "How sure:",
        "days drawn",
        "Whose doubt it is",
        "handline solve books/saltmarsh-bend.toml left-crosslay",
        "Cautions",
    ];
    has(&text, &said);
    // The answer comes first.
    assert!(text.find("Answer:").unwrap() < text.find("Left out").unwrap());
    let metric = out(&compare(CROSSLAYS, &["--days", "0", "--units", "si"]));
    has(&metric, &["L/min", "bar", "Answer:"]);
    assert!(!metric.contains(" psi"), "{metric}");
    assert!(!metric.contains("How sure"), "{metric}");
}

#[test]
fn the_winners_limits_hold() {
    let answer = json(&compare(CROSSLAYS, &["--days", "0", "--json"]));
    let first = &answer["choices"][0];
    assert_eq!(answer["answer"], first["code"]);
    assert_eq!(first["past"].as_array().unwrap().len(), 0);
    assert!(figure(&first["pump_pressure"], "psi") <= 175.0);
    for result in first["results"].as_array().unwrap() {
        assert!(figure(&result["reaction"], "lbf") <= 95.0, "{result}");
        assert!(
            figure(&result["at_low_pump"]["flow"], "gpm") >= 100.0,
            "{result}"
        );
    }
    let counts = ["unbeaten", "beaten"].map(|key| answer[key].as_u64().unwrap());
    let all = answer["size"]["choices"].as_u64().unwrap();
    assert_eq!(all, 2 * 6 * 21);
    assert!(counts[0] >= 2 && counts[0] + counts[1] < all, "{counts:?}");
}

/// Every number of the answer is that of `solve` with the changes that it names.
#[test]
fn law_the_winner_gives_what_solve_gives() {
    let answer = json(&compare(CROSSLAYS, &["--days", "0", "--json"]));
    let results = answer["choices"][0]["results"].as_array().unwrap();
    let commands = answer["solve"].as_array().unwrap();
    assert_eq!(commands.len(), 3);
    for (line, result) in commands.iter().zip(results) {
        let words = words(line.as_str().unwrap());
        assert_eq!(words[..2], ["handline", "solve"]);
        let mut args: Vec<&str> = words[1..].iter().map(String::as_str).collect();
        args.push("--json");
        let solved = json(&handline(&args));
        let after = if solved["after"].is_null() {
            &solved
        } else {
            &solved["after"]
        };
        let tip = &after["tips"][0];
        for (ours, theirs, unit) in [
            ("flow", &tip["flow"], "gpm"),
            ("tip_pressure", &tip["tip_pressure"], "psi"),
            ("reaction", &tip["reaction"], "lbf"),
            ("effective_reach", &tip["effective_reach"], "ft"),
        ] {
            let (ours, theirs) = (figure(&result[ours], unit), figure(theirs, unit));
            assert!((ours - theirs).abs() < 0.051, "{line}: {ours} {theirs}");
        }
        // And at the low pump pressure.
        let pump = args.iter().position(|word| *word == "--pump").unwrap();
        args[pump + 1] = "100 psi";
        let solved = json(&handline(&args));
        let after = if solved["after"].is_null() {
            &solved
        } else {
            &solved["after"]
        };
        let theirs = figure(&after["tips"][0]["flow"], "gpm");
        let ours = figure(&result["at_low_pump"]["flow"], "gpm");
        assert!(ours <= theirs + 0.051, "{line}: {ours} {theirs}");
    }
}

#[test]
fn law_the_same_question_gives_the_same_bytes() {
    for more in [&["--days", "300", "--json"][..], &["--days", "300"]] {
        let [first, second] = [1, 2].map(|_| compare(CROSSLAYS, more));
        assert_eq!(first.status.code(), Some(0));
        assert_eq!(out(&first), out(&second));
    }
    let one = command(&["compare", DEMO, CROSSLAYS, "--days", "300", "--json"])
        .env("RAYON_NUM_THREADS", "1")
        .output()
        .unwrap();
    let many = compare(CROSSLAYS, &["--days", "300", "--json"]);
    assert_eq!(out(&one), out(&many));
}

#[test]
fn each_line_may_get_its_own_and_one_pump_pressure_serves() {
    let answer = json(&compare(CARRY, &["--days", "0", "--json"]));
    let first = &answer["choices"][0];
    let on = first["on"].as_array().unwrap();
    assert_eq!(on.len(), 4);
    let kinds: std::collections::BTreeSet<String> = on
        .iter()
        .flat_map(|on| [on["hose"].to_string(), on["nozzle"].to_string()])
        .collect();
    assert!(kinds.len() <= 3, "{kinds:?}");
    let pressures: Vec<f64> = on
        .iter()
        .map(|on| figure(&on["pump_pressure"], "psi"))
        .collect();
    assert!(
        pressures.iter().all(|p| (p - pressures[0]).abs() < 1e-9),
        "{pressures:?}"
    );
    has(
        &out(&compare(CARRY, &["--days", "200"])),
        &["Answer:", "bumper"],
    );
}

#[test]
fn tables_and_a_report_are_written_beside_it() {
    let day = ["--days", "200", "--date", "2026-05-11"];
    for (name, head) in [
        ("compare.xlsx", &b"PK"[..]),
        ("compare.zip", b"PK"),
        ("compare.parquet", b"PAR1"),
        ("compare.csv", b""),
    ] {
        let place = temporary(name);
        let _ = std::fs::remove_file(&place);
        let more = [&day[..], &["--out", place.to_str().unwrap()]].concat();
        let answer = compare(CROSSLAYS, &more);
        assert_eq!(answer.status.code(), Some(0), "{name}: {}", err(&answer));
        has(&out(&answer), &[name]);
        let bytes = std::fs::read(&place).unwrap();
        assert!(bytes.starts_with(head) && bytes.len() > 200, "{name}");
    }
    let report = temporary("compare.pdf");
    let _ = std::fs::remove_file(&report);
    let more = [&day[..], &["--report", report.to_str().unwrap()]].concat();
    let answer = compare(CROSSLAYS, &more);
    assert_eq!(answer.status.code(), Some(0), "{}", err(&answer));
    assert!(std::fs::read(&report).unwrap().starts_with(b"%PDF"));
    let nowhere = compare(
        CROSSLAYS,
        &["--days", "0", "--out", "/no/such/place/x.xlsx"],
    );
    assert_eq!(nowhere.status.code(), Some(2));
    has(&err(&nowhere), &["--out", "cannot be written"]);
}

#[test]
fn a_file_that_is_wrong_is_named_with_line_column_and_mend() {
    for (name, changes, words) in [
        (
            "names.toml",
            &[
                ("\"two-inch\"", "\"two-inc\""),
                ("\"rear-crosslay\"", "\"rear-croslay\""),
            ][..],
            &[
                "names.toml:8",
                "no line \"rear-croslay\"",
                "did you mean \"two-inch\"?",
            ][..],
        ),
        (
            "low.toml",
            &[(
                "low_pump_pressure = \"100 psi\"",
                "low_pump_pressure = \"180 psi\"",
            )],
            &[
                "180 psi, above the highest pump pressure of",
                "lower cases.low_pump_pressure",
            ],
        ),
        (
            "range.toml",
            &[("from = \"100 psi\", to", "from = \"300 psi\", to")],
            &["from 300 psi to 200 psi", "write the lower one as from"],
        ),
        ("half.toml", &[("[aims]", "[aims")], &["half.toml:31"]),
    ] {
        let answer = compare(&changed(name, changes), &[]);
        assert_eq!(answer.status.code(), Some(1), "{name}: {}", err(&answer));
        has(&err(&answer), words);
        assert!(out(&answer).is_empty());
    }
    let missing = compare("no/such.toml", &[]);
    assert_eq!(missing.status.code(), Some(1));
    has(
        &err(&missing),
        &["no/such.toml cannot be read", "file of a comparison"],
    );
    let book = compare(DEMO, &[]);
    assert_eq!(book.status.code(), Some(1));
    has(&err(&book), &["the file has no comparison", "[comparison]"]);
    let solved = handline(&["solve", CROSSLAYS]);
    assert_eq!(solved.status.code(), Some(1));
}

#[test]
fn limits_that_leave_nothing_say_which_to_relax() {
    let none = changed(
        "nothing.toml",
        &[(
            "flow_at_low_pump = \"100 gpm\"",
            "flow_at_low_pump = \"240 gpm\"",
        )],
    );
    let answer = compare(&none, &[]);
    assert_eq!(answer.status.code(), Some(3), "{}", err(&answer));
    has(&err(&answer), &["To do:", "gpm", "Limit", "Pass only it"]);
    assert!(out(&answer).is_empty());
    let told: Value = serde_json::from_str(&out(&compare(&none, &["--json"]))).unwrap();
    assert!(!told["error"]["excluded"].as_array().unwrap().is_empty());
    assert!(!told["error"]["mend"].as_str().unwrap().is_empty());
}

#[test]
fn a_question_too_large_is_refused_with_its_size() {
    let lengths: Vec<String> = (1..=120).map(|n| format!("\"{n} ft\"")).collect();
    let vary = format!("[vary]\nlength = [{}]", lengths.join(", "));
    let large = changed(
        "large.toml",
        &[
            ("step = \"5 psi\"", "step = \"0.125 psi\""),
            ("[vary]", &vary),
        ],
    );
    let answer = compare(&large, &[]);
    assert_eq!(answer.status.code(), Some(3), "{}", err(&answer));
    has(&err(&answer), &["1,153,440 choices", "To do:"]);
    // Ten million days of twelve choices take longer than ten minutes.
    let days = compare(CROSSLAYS, &["--days", "10000000"]);
    assert_eq!(days.status.code(), Some(3), "{}", err(&days));
    has(
        &err(&days),
        &[
            "252 choices",
            "days drawn: about",
            "minutes",
            "--yes",
            "--days",
        ],
    );
    let more = compare(CROSSLAYS, &["--days", "10000001"]);
    assert_eq!(more.status.code(), Some(2));
    has(&err(&more), &["at most 10000000"]);
}

#[test]
fn strict_ends_with_4_when_no_choice_holds_on_enough_days() {
    let doubtful = changed(
        "doubtful.toml",
        &[(
            "gate = [\"90 %\", \"100 %\"]",
            "gate = [\"20 %\", \"100 %\"]",
        )],
    );
    let answer = compare(&doubtful, &["--days", "500", "--strict"]);
    assert_eq!(answer.status.code(), Some(4), "{}", out(&answer));
    has(&out(&answer), &["less than is asked"]);
    let plain = compare(&doubtful, &["--days", "500"]);
    assert_eq!(plain.status.code(), Some(0));
}

/// Stopped by Ctrl-C it keeps nothing and says so.
#[cfg(unix)]
#[test]
fn ctrl_c_stops_it_cleanly() {
    use std::io::Read;
    let place = temporary("stopped.xlsx");
    let _ = std::fs::remove_file(&place);
    let days = [
        "--days",
        "10000000",
        "--yes",
        "--out",
        place.to_str().unwrap(),
    ];
    let mut args = vec!["compare", DEMO, CROSSLAYS];
    args.extend(days);
    let mut child = command(&args)
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    // It says its size before it starts; then it is at work.
    let mut told = child.stderr.take().unwrap();
    let mut first = [0_u8; 16];
    told.read_exact(&mut first).unwrap();
    std::thread::sleep(std::time::Duration::from_millis(1500));
    let killed = Command::new("kill")
        .args(["-INT", &child.id().to_string()])
        .status()
        .unwrap();
    assert!(killed.success());
    let done = child.wait().unwrap();
    let mut rest = String::new();
    told.read_to_string(&mut rest).unwrap();
    assert_eq!(done.code(), Some(3), "{rest}");
    assert!(rest.contains("stopped; nothing was kept"), "{rest}");
    assert!(!place.exists());
}

#[test]
fn the_schema_of_comparisons_is_the_one_that_is_shipped() {
    let path = root().join("books/handline-comparison.schema.json");
    let shipped: Value = serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
    assert_eq!(json(&handline(&["schema", "--comparison"])), shipped);
}

#[test]
fn solve_takes_a_hose_of_another_length() {
    let same = json(&handline(&[
        "solve",
        DEMO,
        "left-crosslay",
        "--pump",
        "150 psi",
        "--json",
    ]));
    let longer = |length: &str| {
        let length = format!("part 1 = {length}");
        let args = [
            "solve",
            DEMO,
            "left-crosslay",
            "--pump",
            "150 psi",
            "--length",
            &length,
            "--json",
        ];
        let answer = json(&handline(&args));
        figure(&answer["after"]["tips"][0]["flow"], "gpm")
    };
    let own = figure(&same["tips"][0]["flow"], "gpm");
    assert!((longer("200 ft") - own).abs() < 0.051);
    assert!(longer("150 ft") > own && longer("60.96 m") < longer("150 ft"));
    let wrong = handline(&["solve", DEMO, "left-crosslay", "--length", "part 2 = 50 ft"]);
    assert_eq!(wrong.status.code(), Some(2));
    has(&err(&wrong), &["--length", "is no hose"]);
}
