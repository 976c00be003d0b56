//! The file of a comparison: read, refused with line, column and mend, written back.
#![allow(clippy::unwrap_used, clippy::panic)]

use book::comparison::{
    self, AimKind, Comparison, LIST_LIMIT, NozzleChoice, SIZE_LIMIT, Steps, contradictions, read,
    read_for, write,
};
use book::{Book, Problem, Problems, Which};
use hydraulics::units::{Kind, Pressure, System, parse, psi};
use proptest::prelude::*;
use std::path::PathBuf;

const HEAD: &str = "[comparison]\nlines = [\"left\"]\n";
const AIM: &str = "[aims]\nflow = 1\n";

const WHOLE: &str = r#"
[comparison]
title = "Crosslays, \"crew of three\""
note = "ask the chief"
units = "us"
lines = ["left", "right"]
each_line = true
[vary]
hose = ["attack", "2 in"]
nozzle = ["twin, high", "fog", { nozzle = "a, b", setting = "low, lower" }]
length = ["150 ft", 200]
pump_pressure = { from = "100 psi", to = 175, step = "5 psi" }
[cases]
rise = ["0 ft", "-20 ft"]
coefficient = ["best", "published", "published low", "published high", "measured"]
low_pump_pressure = "90 psi"
gated = "50 %"
[limits]
people = 3
reaction = "95 lbf"
pump_pressure = "175 psi"
past_service_pressure = true
flow = "100 gpm"
tip_pressure = "40 psi"
reach = "50 ft"
flow_at_low_pump = "80 gpm"
tip_pressure_at_low_pump = "30 psi"
weight = "300 lb"
outlet_pressure = "100 psi"
price = 12000
kinds = 4
[aims]
reaction = 1
flow = { weight = 3, near = "160 gpm" }
flow_at_low_pump = { weight = 0.5 }
steady_when_gated = 0
[doubt]
draws = 2000
seed = 1000000000
days = "90 %"
pump_gauge = "5 psi"
governor = "3 psi"
length = "3 %"
rise = ["0 ft", "10 ft"]
gate = ["90 %", "100 %"]
kink = ["30 %", "10 %"]
published = true
"#;

fn us(text: &str) -> Result<Comparison, Problems> {
    read(text.as_bytes(), "c.toml", System::Us)
}

fn demo() -> Book {
    let text = include_bytes!("../../../books/saltmarsh-bend.toml");
    book::read(text, "saltmarsh-bend.toml").unwrap()
}

/// The only problem of `text`.
fn problem(text: &str) -> Problem {
    let problems = us(text).unwrap_err();
    assert_eq!(problems.list().len(), 1, "{problems:?}");
    problems.list()[0].clone()
}

fn place(text: &str, of: &str) -> (usize, usize) {
    let at = text.find(of).unwrap();
    let line = text[..at].matches('\n').count() + 1;
    let start = text[..at].rfind('\n').map_or(0, |newline| newline + 1);
    (line, text[start..at].chars().count() + 1)
}

#[test]
fn every_key_is_read() {
    let found = us(WHOLE).unwrap();
    assert_eq!(found.title.as_deref(), Some("Crosslays, \"crew of three\""));
    assert_eq!((found.units, found.each_line), (Some(System::Us), true));
    let nozzle = |nozzle: &str, setting: Option<&str>| NozzleChoice {
        nozzle: nozzle.into(),
        setting: setting.map(String::from),
    };
    assert_eq!(
        found.vary.nozzle,
        [
            nozzle("twin", Some("high")),
            nozzle("fog", None),
            nozzle("a, b", Some("low, lower"))
        ]
    );
    assert_eq!(found.vary.length[1].text(), "200");
    assert_eq!(found.vary.pump_pressure.count(), 16);
    let pressures = found.vary.pump_pressure.values();
    assert!((pressures[15] - psi(175.0)).value.abs() < 1.0);
    assert_eq!(found.cases.coefficient[2], Which::PublishedLow);
    assert_eq!(
        (found.limits.people, found.limits.kinds),
        (Some(3), Some(4))
    );
    assert!(found.limits.past_service_pressure && found.doubt.published);
    let aims: Vec<AimKind> = found.aims.keys().copied().collect();
    assert_eq!(
        aims,
        [
            AimKind::Reaction,
            AimKind::Flow,
            AimKind::FlowAtLowPump,
            AimKind::SteadyWhenGated
        ]
    );
    let near = found.aims[&AimKind::Flow].near.as_ref().unwrap();
    assert_eq!(near.text(), "160 gpm");
    assert_eq!(found.doubt.seed, Some(1_000_000_000));
    let [chance, share] = found.doubt.kink.unwrap();
    assert!(chance.get() > share.get());
}

#[test]
fn law_what_is_written_reads_back_the_same() {
    for text in [WHOLE.to_string(), format!("{HEAD}{AIM}")] {
        let found = us(&text).unwrap();
        let written = write(&found);
        let back = us(&written).unwrap();
        assert_eq!(back, found, "{written}");
        // The order of aims, which equality does not look at.
        assert_eq!(write(&back), written);
    }
}

#[test]
fn bare_numbers_are_in_the_units_of_the_comparison_or_the_book() {
    let bare = format!("{HEAD}[limits]\npump_pressure = 12\n{AIM}");
    let si = read(bare.as_bytes(), "c.toml", System::Si).unwrap();
    let said = format!(
        "[comparison]\nunits = \"si\"\nlines = \"left\"\n[limits]\npump_pressure = 12\n{AIM}"
    );
    for found in [si, us(&said).unwrap()] {
        let ceiling = found.limits.pump_pressure.unwrap().get();
        assert!(
            (ceiling - parse::<Pressure>(Kind::Pressure, "12 bar").unwrap())
                .value
                .abs()
                < 1.0
        );
    }
}

#[test]
fn names_of_any_letters_are_kept() {
    let text = "[comparison]\ntitle = \"Линии для расчёта из трёх человек\"\n\
        lines = [\"левая линия\", \"Schnellangriff Rückseite\"]\n\
        [vary]\nhose = [\"рукав 51 мм\", \"Schläuche für Straße\"]\n\
        nozzle = [\"ствол, высокое\", \"Hohlstrahlrohr, groß\"]\n\
        length = [\"60 m\"]\npump_pressure = [\"7 bar\", \"700 kPa\", \"10 bar\"]\n\
        [aims]\nflow = { weight = 1, near = \"400 L/min\" }\n";
    let problems = read(text.as_bytes(), "сравнение.toml", System::Si).unwrap_err();
    assert_eq!(problems.list().len(), 1, "{problems:?}");
    let one = &problems.list()[0];
    assert_eq!(one.message, "700 kPa is there twice");
    assert_eq!((one.line, one.column), place(text, "\"700 kPa\""));
    assert_eq!(one.file(), "сравнение.toml");
    let mended = text.replace("\"700 kPa\", ", "");
    let found = read(mended.as_bytes(), "c.toml", System::Si).unwrap();
    assert_eq!(found.lines[1], "Schnellangriff Rückseite");
    assert_eq!(found.vary.nozzle[0].setting.as_deref(), Some("высокое"));
    let back = read(write(&found).as_bytes(), "c.toml", System::Si).unwrap();
    assert_eq!(back, found);
}

#[test]
fn each_problem_has_its_place_and_its_mend() {
    let cases = [
        (
            "[vary]\nhoze = \"attack\"",
            "hoze",
            "[vary] has no key \"hoze\"",
            "did you mean \"hose\"?",
        ),
        (
            "[limit]\npeople = 3",
            "limit]",
            "the file has no key \"limit\"",
            "did you mean \"limits\"?",
        ),
        (
            "[limits]\npeople = 4",
            "4",
            "people of [limits] is 4",
            "check the number",
        ),
        (
            "[limits]\npeople = 2.5",
            "2.5",
            "no whole number",
            "without fraction",
        ),
        (
            "[limits]\npump_pressure = \"175 gpm\"",
            "\"175 gpm\"",
            "175 gpm",
            "use one of",
        ),
        (
            "[limits]\nreaction = true",
            "true",
            "true or false",
            "a number and its unit",
        ),
        (
            "[limits]\nkinds = 1",
            "1",
            "kinds of [limits] is 1",
            "check the number",
        ),
        (
            "[cases]\ncoefficient = [\"best\", \"publishd low\"]",
            "\"publishd low\"",
            "publishd low",
            "did you mean \"published low\"?",
        ),
        (
            "[cases]\nrise = [\"0 ft\", [\"10 ft\"]]",
            "[\"10 ft\"]",
            "rise of [cases] is a list",
            "write a number",
        ),
        (
            "[cases]\ngated = \"0 %\"",
            "\"0 %\"",
            "gated of [cases] is 0 %",
            "check the number",
        ),
        (
            "[vary]\nnozzle = [\"twin,\"]",
            "\"twin,\"",
            "\"twin,\"",
            "twin, high",
        ),
        (
            "[vary]\nnozzle = [{ setting = \"high\" }]",
            "{ setting",
            "has no nozzle",
            "add nozzle",
        ),
        (
            "[vary]\nhose = [3.5, true]",
            "true",
            "true or false",
            "a name",
        ),
        (
            "[vary]\nhose = [\"\"]",
            "\"\"",
            "cannot be read aloud",
            "1 to 80",
        ),
        (
            "[vary]\npump_pressure = { from = 100, to = 150, step = -5 }",
            "-5",
            "step of pump pressure of [vary] is -5",
            "check the number",
        ),
        (
            "[vary]\npump_pressure = { from = 100, to = 150 }",
            "{ from",
            "has no step",
            "add step",
        ),
        (
            "[doubt]\nrise = [\"10 ft\", \"0 ft\"]",
            "[\"10 ft\"",
            "falls",
            "low value first",
        ),
        (
            "[doubt]\nrise = [\"10 ft\"]",
            "[\"10 ft\"",
            "has 1 values",
            "write two",
        ),
        (
            "[doubt]\ndraws = 1e9",
            "1e9",
            "draws of [doubt]",
            "check the number",
        ),
        (
            "[doubt]\nseed = -1",
            "-1",
            "seed of [doubt]",
            "check the number",
        ),
        (
            "[doubt]\nkink = [30, 0.1]",
            "30",
            "chance of kink of [doubt]",
            "30 %",
        ),
        (
            "[vary]\nlength = { from = \"100 ft\", to = \"200 ft\" }",
            "{",
            "the length of [vary] is a table",
            "write a number and its unit, as \"200 ft\"",
        ),
    ];
    for (more, at, message, mend) in cases {
        let text = format!("{HEAD}{AIM}{more}\n");
        let one = problem(&text);
        let after = HEAD.len() + AIM.len();
        let (line, column) = place(&text[after..], at);
        assert_eq!(
            (one.line - 4, one.column),
            (line, column),
            "{more}: {one:?}"
        );
        assert!(one.message.contains(message), "{more}: {one:?}");
        assert!(one.mend.contains(mend), "{more}: {one:?}");
        assert!(!one.mend.ends_with(','), "{more}: {one:?}");
    }
}

#[test]
fn every_problem_of_a_file_is_named_at_once() {
    let text = "[comparison]\nunits = \"uz\"\n[vary]\nlength = [\"0 ft\", \"many\"]\n[aims]\nflo = 1\n\
                reach = \"far\"\nflow = { near = \"150 gpm\" }\nreaction = { weight = 1, near = 3 }\n";
    let problems = us(text).unwrap_err();
    let lines: Vec<usize> = problems.list().iter().map(|one| one.line).collect();
    assert_eq!(lines, [1, 2, 4, 4, 6, 7, 8, 9], "{problems:?}");
    assert!(problems.is_error());
}

#[test]
fn what_contradicts_itself_is_refused_without_solving() {
    let cases = [
        (
            "[vary]\npump_pressure = { from = \"150 psi\", to = \"100 psi\", step = \"5 psi\" }",
            "from 150 psi to 100 psi",
            "\"150 psi\"",
        ),
        (
            "[vary]\npump_pressure = { from = 1, to = 600, step = 0.5 }",
            "1199 pump pressures; at most 1000",
            "0.5",
        ),
        (
            "[vary]\npump_pressure = [\"180 psi\", \"200 psi\"]\n[limits]\npump_pressure = \"175 psi\"",
            "from 180 psi on",
            "[\"180 psi\"",
        ),
        (
            "[cases]\nlow_pump_pressure = \"180 psi\"\n[limits]\npump_pressure = \"175 psi\"",
            "180 psi, above the highest pump pressure of the limits, 175 psi",
            "\"180 psi\"",
        ),
        (
            "[limits]\nflow_at_low_pump = \"100 gpm\"",
            "which pump pressure that is",
            "\"100 gpm\"",
        ),
        (
            "[limits]\ntip_pressure_at_low_pump = \"40 psi\"",
            "which pump pressure that is",
            "\"40 psi\"",
        ),
        (
            "[cases]\nrise = [\"10 ft\", \"10 ft\"]",
            "10 ft is there twice",
            "\"10 ft\"]",
        ),
        (
            "[vary]\nhose = [\"attack\", \"attack\"]",
            "\"attack\" is there twice",
            "\"attack\"]",
        ),
        (
            "[vary]\nnozzle = [\"twin, low\", \"twin,low\"]",
            "\"twin, low\" is there twice",
            "\"twin,low\"]",
        ),
    ];
    for (more, message, at) in cases {
        let text = format!("{HEAD}{AIM}{more}\n");
        let one = problem(&text);
        assert!(one.message.contains(message), "{more}: {one:?}");
        assert!(!one.mend.is_empty(), "{more}");
        assert_eq!((one.line, one.column), place(&text, at), "{more}: {one:?}");
    }
    for (aims, message) in [
        ("", "there are no [aims]"),
        ("[aims]\nflow = 0\n", "every weight in [aims] is 0"),
        (
            "[aims]\nflow_at_low_pump = 1\n",
            "which pump pressure that is",
        ),
        (
            "[aims]\nsteady_when_gated = 1\n",
            "how far the shut-off is open",
        ),
        (
            "[aims]\nflow = { weight = 1, near = \"90 gpm\" }\n[limits]\nflow = \"100 gpm\"\n",
            "90 gpm, below the least flow",
        ),
    ] {
        let one = problem(&format!("{HEAD}{aims}"));
        assert!(one.message.contains(message), "{aims}: {one:?}");
    }
    assert_eq!(
        problem(&format!("[comparison]\nlines = []\n{AIM}")).code,
        "no_line"
    );
}

#[test]
fn a_range_ends_on_its_last_value_where_whole_steps_lead_there() {
    for (from, to, step, count) in [
        ("100 psi", "175 psi", "5 psi", 16),
        ("100 psi", "174 psi", "5 psi", 15),
        ("7 bar", "10 bar", "0.1 bar", 31),
        ("0.7 bar", "0.7 bar", "1 bar", 1),
    ] {
        let text = format!(
            "{HEAD}[vary]\npump_pressure = {{ from = \"{from}\", to = \"{to}\", step = \"{step}\" }}\n{AIM}"
        );
        let steps = us(&text).unwrap().vary.pump_pressure;
        assert_eq!(
            (steps.count(), steps.values().len()),
            (count, count),
            "{text}"
        );
    }
    assert_eq!(Steps::<hydraulics::units::Pressure>::default().count(), 0);
}

#[test]
fn limits_hold_on_sizes_and_lengths() {
    let long = "\"1 ft\", ".repeat(LIST_LIMIT + 1);
    let one = problem(&format!("{HEAD}[vary]\nlength = [{long}]\n{AIM}"));
    assert!(one.message.contains("1001 values"), "{one:?}");
    let large = format!("{HEAD}{AIM}#{}", "x".repeat(SIZE_LIMIT));
    let one = problem(&large);
    assert_eq!(one.code, "too_large");
    assert!(
        one.message.contains("a comparison has at most 100 kB"),
        "{one:?}"
    );
    let deep = format!(
        "{HEAD}{AIM}[vary]\nlength = {}1{}",
        "[".repeat(200),
        "]".repeat(200)
    );
    assert!(us(&deep).is_err());
    let name = "x".repeat(81);
    let one = problem(&format!("[comparison]\nlines = \"{name}\"\n{AIM}"));
    assert_eq!(one.code, "bad_name");
}

#[test]
fn what_is_no_comparison_is_refused() {
    for text in [
        &b"\xff\xfe\x00garbage"[..],
        b"lines = [",
        b"\0\0\0",
        b"",
        b"[[comparison]]",
        b"comparison = 3",
        include_bytes!("../../../books/saltmarsh-bend.toml"),
    ] {
        let problems = read(text, "c.toml", System::Us).unwrap_err();
        assert!(problems.is_error());
        for one in problems.list() {
            assert!(!one.message.is_empty() && !one.mend.is_empty(), "{one:?}");
        }
    }
    // And a comparison is no book.
    assert!(book::read(WHOLE.as_bytes(), "c.toml").is_err());
}

#[test]
fn names_are_looked_up_in_the_book_and_the_catalogue() {
    let book = demo();
    let text = "[comparison]\nlines = [\"left-croslay\", \"bumper\"]\n[vary]\n\
        hose = [\"attack\", \"2 in\", \"atack\"]\n\
        nozzle = [\"twin, lo\", \"twin\", \"twn, low\", \"breakaway, high\", \"bumper, 95gpm\"]\n\
        [aims]\nflow = 1\n";
    let problems = read_for(text.as_bytes(), "c.toml", &book).unwrap_err();
    let said: Vec<(usize, usize, &str)> = problems
        .list()
        .iter()
        .map(|one| (one.line, one.column, one.mend.as_str()))
        .collect();
    let at = |of: &str| place(text, of);
    let expected = [
        (at("\"left-croslay\""), "did you mean \"left-crosslay\"?"),
        (at("\"atack\""), "did you mean \"attack\"?"),
        (at("\"twin, lo\""), "did you mean \"twin, low\"?"),
        (at("\"twn, low\""), "did you mean \"twin\"?"),
        (at("\"breakaway, high\""), "write \"breakaway\" alone"),
    ];
    let expected: Vec<_> = expected.into_iter().map(|((l, c), m)| (l, c, m)).collect();
    assert_eq!(said, expected, "{problems:?}");
    assert!(us(text).is_ok(), "names are not known without a book");
}

#[test]
fn a_comparison_made_by_hand_can_be_checked_too() {
    let mut found = us(WHOLE).unwrap();
    assert_eq!(contradictions(&found), []);
    found.lines.push("left".into());
    found.cases.low_pump_pressure = None;
    let codes: Vec<&str> = contradictions(&found).iter().map(|one| one.code).collect();
    assert_eq!(
        codes,
        ["twice", "no_low_pump", "no_low_pump", "no_low_pump"]
    );
    let unknown = comparison::check(&found, &demo());
    assert_eq!(unknown[0].place, "comparison.lines");
    assert_eq!(unknown[0].index, Some(0));
}

fn folder() -> PathBuf {
    PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/../../books"))
}

/// Write it anew with `UPDATE_SCHEMA=1 cargo test -p book`.
#[test]
fn the_schema_file_is_up_to_date() {
    let path = folder().join("handline-comparison.schema.json");
    let now = serde_json::to_string_pretty(&comparison::schema()).unwrap() + "\n";
    if std::env::var_os("UPDATE_SCHEMA").is_some() {
        std::fs::write(&path, &now).unwrap();
    }
    let file = std::fs::read_to_string(&path).unwrap_or_default();
    assert!(file == now, "the schema has changed; write its file anew");
}

/// They read for it, are written back as they were, and the schema knows them.
#[test]
fn the_comparisons_of_the_demo_have_no_problem() {
    let validator = jsonschema::validator_for(&comparison::schema()).unwrap();
    let accepted = |text: &str| {
        let values = toml::from_str::<toml::Table>(text).unwrap();
        let values = serde_json::to_value(values).unwrap();
        let errors: Vec<String> = validator
            .iter_errors(&values)
            .map(|e| format!("{e} at {}", e.instance_path()))
            .collect();
        assert!(errors.is_empty(), "{errors:?}\n{text}");
    };
    for name in [
        "saltmarsh-bend-crosslays.toml",
        "saltmarsh-bend-whole-carry.toml",
    ] {
        let text = std::fs::read_to_string(folder().join(name)).unwrap();
        let found = read_for(text.as_bytes(), name, &demo()).unwrap();
        let written = write(&found);
        assert_eq!(
            read_for(written.as_bytes(), name, &demo()).unwrap(),
            found,
            "{written}"
        );
        accepted(&text);
        accepted(&written);
    }
    accepted(WHOLE);
    accepted(&write(&us(WHOLE).unwrap()));
}

fn written() -> impl Strategy<Value = String> {
    let name = "[\\PC]{1,20}";
    (
        proptest::collection::hash_set(name, 1..4),
        proptest::collection::hash_set((name, proptest::option::of(name)), 0..4),
        proptest::collection::btree_set(1_u16..2000, 0..5),
        proptest::option::of("[\\PC\\n\\t\\\\\"]{0,30}"),
        (0_u32..100, any::<bool>()),
    )
        .prop_map(|(lines, nozzles, lengths, title, (weight, each))| {
            let mut found = us(&format!("{HEAD}{AIM}")).unwrap();
            found.lines = lines.into_iter().filter(|l| !l.trim().is_empty()).collect();
            found.title = title;
            found.each_line = each;
            let choices = nozzles
                .into_iter()
                .map(|(nozzle, setting)| NozzleChoice { nozzle, setting });
            found.vary.nozzle = choices.collect();
            let read = |text: String| {
                book::Stated::read(hydraulics::units::Kind::Length, &text, System::Us).unwrap()
            };
            found.vary.length = lengths
                .into_iter()
                .map(|l| read(format!("{l} ft")))
                .collect();
            found.aims[&AimKind::Flow].weight = book::Stated::read(
                hydraulics::units::Kind::Share,
                &weight.to_string(),
                System::Us,
            )
            .unwrap();
            write(&found)
        })
}

proptest! {
    #[test]
    fn law_any_comparison_that_reads_is_the_same_after_writing(text in written()) {
        if let Ok(found) = us(&text) {
            let again = write(&found);
            prop_assert_eq!(us(&again).unwrap(), found);
        }
    }

    #[test]
    fn law_any_bytes_read_or_are_refused(bytes in proptest::collection::vec(any::<u8>(), 0..200)) {
        let _ = read(&bytes, "c.toml", System::Us);
    }

    /// A short stretch of a whole comparison replaced by anything.
    #[test]
    fn law_any_change_of_a_comparison_reads_or_is_refused(
        at in 0..WHOLE.len(), gone in 0_usize..12, patch in "[\\PC]{0,6}"
    ) {
        let end = (at + gone).min(WHOLE.len());
        let (head, tail) = (WHOLE.get(..at).unwrap_or(""), WHOLE.get(end..).unwrap_or(""));
        let text = format!("{head}{patch}{tail}");
        match us(&text) {
            Ok(found) => prop_assert_eq!(us(&write(&found)).unwrap(), found),
            Err(problems) => {
                for one in problems.list() {
                    prop_assert!(!one.message.is_empty() && !one.mend.is_empty(), "{:?}", one);
                }
            }
        }
    }
}
