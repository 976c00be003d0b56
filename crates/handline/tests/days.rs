//! `solve --days`: how sure the flows of a scene are, beside what `solve` says of them,
//! and what is said to questions without an answer.
#![allow(clippy::unwrap_used)]

use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

const DEMO: &str = "books/saltmarsh-bend.toml";
const CROSSLAYS: &str = "books/saltmarsh-bend-crosslays.toml";

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn command(args: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_handline"));
    command.args(args).current_dir(root());
    command
}

fn solve(book: &str, more: &[&str]) -> Output {
    let args = [&["solve", book][..], more].concat();
    command(&args).output().unwrap()
}

fn out(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

fn err(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).unwrap()
}

fn json(book: &str, more: &[&str]) -> Value {
    let answer = solve(book, &[more, &["--json"]].concat());
    assert_eq!(answer.status.code(), Some(0), "{}", err(&answer));
    serde_json::from_str(&out(&answer)).unwrap()
}

fn file(name: &str, text: &str) -> String {
    let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    std::fs::write(&path, text).unwrap();
    path.to_str().unwrap().to_string()
}

fn has(text: &str, words: &[&str]) {
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    for word in words {
        assert!(text.contains(word), "{word} is missing from\n{text}");
    }
}

/// A flow of JSON, in gpm.
fn gpm(value: &Value) -> f64 {
    assert_eq!(value["unit"], "gpm", "{value}");
    value["value"].as_f64().unwrap()
}

/// Each tip's solved flow, and its flow over the days.
fn flows<'a>(solved: &'a Value, days: &'a Value) -> Vec<(f64, &'a Value)> {
    let (solved, days) = (&solved["tips"], &days["tips"]);
    let (solved, days) = (solved.as_array().unwrap(), days.as_array().unwrap());
    assert!(!days.is_empty() && days.len() == solved.len());
    let both = solved.iter().zip(days);
    both.map(|(tip, day)| {
        assert_eq!((&tip["line"], &tip["place"]), (&day["line"], &day["place"]));
        (gpm(&tip["flow"]), &day["flow"])
    })
    .collect()
}

fn names(days: &Value) -> Vec<&str> {
    let unsure = days["unsure"].as_array().unwrap();
    unsure.iter().map(|u| u["name"].as_str().unwrap()).collect()
}

#[test]
fn a_scene_is_told_with_how_sure_each_flow_is() {
    let answer = solve(DEMO, &["mill-street", "--days", "1000"]);
    assert_eq!(answer.status.code(), Some(0), "{}", err(&answer));
    assert!(err(&answer).is_empty());
    let text = out(&answer);
    let said = [
        "At the tips",
        "How sure: 1,000 days drawn",
        "Doubtful: C of",
        "counts as exact",
        "--doubt COMPARISON",
        "Flow of",
        "Mean",
        "5 % below",
        "Half below",
        "95 % below",
        "Aim met on",
        "Every aim is met on",
        "misses it on about half",
        "Whose doubt it is",
        "What was drawn",
        "of the doubt is",
        "To lessen it,",
    ];
    has(&text, &said);
    let at = |word: &str| text.find(word).unwrap();
    assert!(at("At the tips") < at("How sure") && at("How sure") < at("Cautions"));
    let metric = out(&solve(
        DEMO,
        &["mill-street", "--days", "100", "--units", "si"],
    ));
    let days = metric.split("How sure").nth(1).unwrap();
    assert!(days.contains("L/min") && !days.contains("gpm"), "{days}");
    let plain = solve(DEMO, &["mill-street"]);
    assert!(!out(&plain).contains("How sure"));
    // What stands above is the usual answer, to the letter.
    let usual = out(&plain).split("\nCautions").next().unwrap().to_string();
    assert!(text.starts_with(&usual));
}

#[test]
fn law_the_same_days_give_the_same_bytes() {
    let asked = ["mill-street", "--days", "2000", "--doubt", CROSSLAYS];
    for more in [&[][..], &["--json"]] {
        let more = [&asked[..], more].concat();
        let [first, second] = [1, 2].map(|_| solve(DEMO, &more));
        assert_eq!(first.status.code(), Some(0), "{}", err(&first));
        assert_eq!(out(&first), out(&second));
        let one = command(&[&["solve", DEMO][..], &more].concat())
            .env("RAYON_NUM_THREADS", "1")
            .output()
            .unwrap();
        assert_eq!(out(&first), out(&one));
    }
}

/// A scene in which nothing moves the flow of its line but a measured C, whose spread is
/// normal; C, and its half-width of 95 %.
fn measured(c: f64, half: f64) -> String {
    format!(
        r#"
[book]
name = "Example"
[hose.attack]
size = "1.75 in"
measured = {{ coefficient = {c}, uncertainty = {half}, date = "2026-05-11" }}
[nozzle.solid]
kind = "smooth-bore"
bore = "15/16 in"
[rig.pumper]
pump = "1250 gpm"
[hydrant.corner]
static = "70 psi"
residual = "50 psi"
flow = "1000 gpm"
[line.attack]
parts = [{{ hose = "attack", length = "200 ft" }}, {{ nozzle = "solid" }}]
[scene.corner.rig.pumper]
intake = [{{ hydrant = "corner", parts = [{{ hose = "5 in", length = "50 ft" }}] }}]
lines = [{{ line = "attack" }}]
"#
    )
}

/// What a share of the days stays below is what `solve` gives for the C that the same
/// share stays above: 1.645 standard deviations, of which 1.96 are the half-width.
#[test]
fn law_the_days_follow_the_measured_c() {
    let pump = ["corner", "--pump", "pumper = 130 psi"];
    let (c, half) = (14.2, 1.4);
    let book = file("days-measured.toml", &measured(c, half));
    let drawn = json(&book, &[&pump[..], &["--days", "20000"]].concat());
    let flow = &drawn["days"]["tips"][0]["flow"];
    let sd = gpm(&flow["sd"]);
    assert!(sd > 1.0, "{sd}");
    for (key, off) in [
        ("five_percent_below", 1.0),
        ("half_below", 0.0),
        ("ninety_five_percent_below", -1.0),
    ] {
        let c = c + off * half * 1.644_854 / 1.959_964;
        let book = file(&format!("days-{key}.toml"), &measured(c, half));
        let solved = gpm(&json(&book, &pump)["after"]["tips"][0]["flow"]);
        // Four standard errors of a quantile from 20,000 days, and the last digit shown.
        let close = 4.0 * 2.2 * sd / 20_000_f64.sqrt() + 0.06;
        let days = gpm(&flow[key]);
        assert!(
            (days - solved).abs() < close,
            "{key}: {days} {solved} {close}"
        );
    }
    // And whose doubt it is, is no question.
    let shares = drawn["days"]["tips"][0]["shares"].as_array().unwrap();
    assert_eq!(shares[0]["name"], "C of attack");
    assert!(shares[0]["total"]["share"].as_f64().unwrap() > 0.9);
}

#[test]
fn law_the_mean_lies_near_the_solved_flow() {
    // Doubts that favour one side move the mean, but not far; the usual answer is a day
    // like another.
    for scene in ["mill-street", "harbour-tower", "county-road"] {
        let answer = json(DEMO, &[scene, "--days", "2000"]);
        assert_eq!(answer["days"]["draws"], 2000);
        assert_eq!(answer["days"]["scene"], scene);
        for (solved, flow) in flows(&answer, &answer["days"]) {
            let (mean, sd) = (gpm(&flow["mean"]), gpm(&flow["sd"]));
            assert!(
                (mean / solved - 1.0).abs() < 0.1,
                "{scene}: {mean} {solved}"
            );
            assert!(
                (mean - solved).abs() < 2.0 * sd + 0.1,
                "{scene}: {mean} {solved} {sd}"
            );
            let [low, middle, high] = [
                "five_percent_below",
                "half_below",
                "ninety_five_percent_below",
            ]
            .map(|key| gpm(&flow[key]));
            assert!(low <= middle && middle <= high, "{low} {middle} {high}");
            // Counts keep three digits, which shows where hardly anything moves the flow.
            assert!((0.999 * low..=1.001 * high).contains(&mean));
        }
    }
}

#[test]
fn the_comparisons_doubts_come_to_the_books_own() {
    let own = json(DEMO, &["mill-street", "--days", "2000"]);
    let more = json(
        DEMO,
        &["mill-street", "--days", "2000", "--doubt", CROSSLAYS],
    );
    let (own, more) = (&own["days"], &more["days"]);
    let (fewer, all) = (names(own), names(more));
    assert!(
        fewer.iter().all(|name| all.contains(name)),
        "{fewer:?} {all:?}"
    );
    for word in [
        "pump gauge and governor of",
        "length of the hose",
        "height of the tip",
        "how far the shut-off is open",
        "a kink",
    ] {
        assert!(
            all.iter().any(|name| name.starts_with(word)),
            "{word}: {all:?}"
        );
        assert!(
            !fewer.iter().any(|name| name.starts_with(word)),
            "{word}: {fewer:?}"
        );
    }
    let sum = |days: &Value| -> f64 {
        let tips = days["tips"].as_array().unwrap();
        tips.iter().map(|tip| gpm(&tip["flow"]["sd"])).sum()
    };
    assert!(sum(more) > sum(own), "{} {}", sum(more), sum(own));
    let text = out(&solve(
        DEMO,
        &["mill-street", "--days", "200", "--doubt", CROSSLAYS],
    ));
    has(&text, &["pump gauge and governor of pumper-1"]);
    assert!(!text.contains("--doubt COMPARISON"));
}

#[test]
fn with_a_change_the_days_are_of_the_changed_scene() {
    let change = ["--gate", "left-crosslay = 30 %"];
    let more = [&["mill-street", "--days", "1000"][..], &change].concat();
    let answer = json(DEMO, &more);
    let after = flows(&answer["after"], &answer["days"]);
    let before = flows(&answer["before"], &answer["days"]);
    // The gated line; the others stay as they were.
    let of = |line: &str| {
        let tips = answer["days"]["tips"].as_array().unwrap();
        tips.iter().position(|tip| tip["line"] == line).unwrap()
    };
    let at = of("left-crosslay");
    let mean = gpm(&after[at].1["mean"]);
    assert!((mean - after[at].0).abs() < (mean - before[at].0).abs());
    for (solved, flow) in &after {
        assert!((gpm(&flow["mean"]) / solved - 1.0).abs() < 0.1);
    }
    has(&out(&solve(DEMO, &more)), &["days drawn, with the change"]);
}

#[test]
fn a_number_of_days_that_cannot_be_drawn_is_refused_with_what_would_do() {
    for days in ["0", "many", "1.5", "10000001", "-3"] {
        let answer = solve(DEMO, &["mill-street", &format!("--days={days}")]);
        assert_eq!(answer.status.code(), Some(2), "{days}");
        has(
            &err(&answer),
            &["--days", days, "a whole number of days from 1 to 10000000"],
        );
        assert!(out(&answer).is_empty());
    }
}

#[test]
fn days_are_drawn_of_a_scene() {
    for (more, words) in [
        (
            &["left-crosslay", "--days", "100"][..],
            &[
                "\"left-crosslay\" is a line",
                "mill-street",
                "handline compare BOOK COMPARISON",
            ][..],
        ),
        (&["--days", "100"], &["no scene is named", "harbour-tower"]),
        (
            &["mill-street", "--days", "100", "--coefficient", "low"],
            &["--coefficient", "leave it out, or give published"],
        ),
        (&["mill-street", "--doubt", CROSSLAYS], &["--days <NUMBER>"]),
    ] {
        let answer = solve(DEMO, more);
        assert_eq!(answer.status.code(), Some(2), "{more:?}: {}", err(&answer));
        has(&err(&answer), words);
        assert!(out(&answer).is_empty());
    }
    // A name that is neither is refused for that.
    let lost = solve(DEMO, &["mil-street", "--days", "100"]);
    assert_eq!(lost.status.code(), Some(3));
    has(&err(&lost), &["mill-street"]);
    let published = solve(
        DEMO,
        &["mill-street", "--days", "100", "--coefficient", "published"],
    );
    has(
        &out(&published),
        &["taken as published, even where measured"],
    );
}

#[test]
fn a_file_of_doubts_that_is_wrong_is_named() {
    let wrong = file(
        "days-wrong.toml",
        "[comparison]\nlines = [\"left-crosslay\"]\n[aims]\nflow = 1\n[doubt]\npump_gage = \"5 psi\"\n",
    );
    for (place, words) in [
        (wrong.as_str(), &["days-wrong.toml:6", "pump_gauge"][..]),
        (
            "no/such.toml",
            &["no/such.toml cannot be read", "file of a comparison"],
        ),
        (DEMO, &["[comparison]"]),
    ] {
        let answer = solve(DEMO, &["mill-street", "--days", "100", "--doubt", place]);
        assert_eq!(answer.status.code(), Some(1), "{place}: {}", err(&answer));
        has(&err(&answer), words);
        assert!(out(&answer).is_empty());
    }
}

/// Stopped by Ctrl-C it answers nothing and says so.
#[cfg(unix)]
#[test]
fn ctrl_c_stops_it_cleanly() {
    use std::io::Read;
    let mut child = command(&["solve", DEMO, "mill-street", "--days", "10000000"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    // It says how long it takes before it starts; then it is at work.
    let mut told = child.stderr.take().unwrap();
    let mut first = [0_u8; 16];
    told.read_exact(&mut first).unwrap();
    std::thread::sleep(std::time::Duration::from_millis(1500));
    let killed = Command::new("kill")
        .args(["-INT", &child.id().to_string()])
        .status()
        .unwrap();
    assert!(killed.success());
    let done = child.wait_with_output().unwrap();
    let mut rest = String::new();
    told.read_to_string(&mut rest).unwrap();
    assert_eq!(done.status.code(), Some(3), "{rest}");
    assert!(rest.contains("stopped; nothing was kept"), "{rest}");
    assert!(done.stdout.is_empty());
}
