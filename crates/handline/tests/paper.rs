//! Printing, and the register of what was printed, from the command line.
#![allow(clippy::unwrap_used)]

use serde_json::Value;
use std::io::{Cursor, Read};
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

const DEMO: &str = "books/saltmarsh-bend.toml";
const NAME: &str = "saltmarsh-bend-fire-and-rescue";

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

/// What it says when it ends with `code`: on standard error, for an answer on standard
/// output.
fn said(args: &[&str], code: i32) -> String {
    let output = handline(args);
    let err = String::from_utf8(output.stderr.clone()).unwrap();
    assert_eq!(output.status.code(), Some(code), "{args:?}: {err}");
    if code == 0 { out(&output) } else { err }
}

fn json(args: &[&str]) -> Value {
    serde_json::from_str(&said(&[args, &["--json"]].concat(), 0)).unwrap()
}

/// A folder of this test's own, empty.
fn folder(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).unwrap();
    folder
}

fn path(path: &Path) -> &str {
    path.to_str().unwrap()
}

fn sheets(answer: &Value) -> &Vec<Value> {
    answer["sheets"].as_array().unwrap()
}

#[test]
fn one_card_from_a_file_is_one_pdf_without_a_revision() {
    let folder = folder("paper-one");
    let file = folder.join("cards").join("card.pdf");
    let args = [
        "paper",
        DEMO,
        "--kind",
        "line-card",
        "--of",
        "left-crosslay",
        "--size",
        "pocket",
        "--date",
        "2026-05-11",
        "--out",
        path(&file),
    ];
    let text = said(&args, 0);
    let bytes = std::fs::read(&file).unwrap();
    assert!(bytes.starts_with(b"%PDF-"));
    assert!(
        text.contains("Line card") && text.contains("left-crosslay"),
        "{text}"
    );
    assert!(text.contains("not in the register"), "{text}");
    let answer = json(&args);
    assert_eq!(
        std::fs::read(&file).unwrap(),
        bytes,
        "the same input, the same bytes"
    );
    let sheet = &sheets(&answer)[0];
    let code: paper::Code = sheet["code"].as_str().unwrap().parse().unwrap();
    assert_eq!((code.kind, code.revision), (paper::Kind::LineCard, None));
    assert!(sheet["pages"].as_u64().unwrap() > 0);
    assert_eq!(
        (&answer["revision"], &answer["in_register"]),
        (&Value::Null, &false.into())
    );
}

#[test]
fn every_sheet_about_one_line_or_rig_goes_into_a_folder() {
    let folder = folder("paper-folder");
    let answer = json(&[
        "paper",
        DEMO,
        "--of",
        "pumper-3",
        "--units",
        "both",
        "--size",
        "a4",
        "--out",
        path(&folder),
    ]);
    assert!(!sheets(&answer).is_empty());
    for sheet in sheets(&answer) {
        assert_eq!(
            (&sheet["of"], &sheet["units"]),
            (&"pumper-3".into(), &"both".into())
        );
        let file = sheet["file"].as_str().unwrap();
        assert!(std::fs::read(file).unwrap().starts_with(b"%PDF-"), "{file}");
    }
    assert!(folder.join("pump-chart-pumper-3.pdf").is_file());
}

#[test]
fn several_kinds_go_into_one_zip_file() {
    let file = folder("paper-zip").join("set.zip");
    let answer = json(&[
        "paper",
        DEMO,
        "--kind",
        "line-card",
        "--size",
        "pocket",
        "--out",
        path(&file),
    ]);
    let mut archive = zip::ZipArchive::new(Cursor::new(std::fs::read(&file).unwrap())).unwrap();
    let book = book::read(&std::fs::read(root().join(DEMO)).unwrap(), DEMO).unwrap();
    assert_eq!(archive.len(), book.line.len());
    assert_eq!(sheets(&answer).len(), book.line.len());
    for sheet in sheets(&answer) {
        let mut bytes = Vec::new();
        let mut entry = archive.by_name(sheet["name"].as_str().unwrap()).unwrap();
        entry.read_to_end(&mut bytes).unwrap();
        assert!(bytes.starts_with(b"%PDF-"));
    }
}

#[test]
fn what_cannot_be_printed_says_what_would_mend_it() {
    let folder = folder("paper-refused");
    let to = |name: &str| folder.join(name).to_str().unwrap().to_string();
    let (pdf, place) = (to("all.pdf"), to("sheets"));
    let many = said(&["paper", DEMO, "--kind", "line-card", "--out", &pdf], 2);
    assert!(
        many.contains("13 sheets") && many.contains(".zip"),
        "{many}"
    );
    let unknown = said(&["paper", DEMO, "--of", "left-croslay", "--out", &place], 3);
    assert!(
        unknown.contains("no sheet of \"left-croslay\"; it has \"left-crosslay\""),
        "{unknown}"
    );
    let date = said(
        &[
            "paper",
            DEMO,
            "--of",
            "large",
            "--date",
            "11.5.2026",
            "--out",
            &place,
        ],
        2,
    );
    assert!(date.contains("2026-05-11"), "{date}");
    let address = said(
        &[
            "paper",
            DEMO,
            "--of",
            "large",
            "--address",
            "not one",
            "--out",
            &place,
        ],
        2,
    );
    assert!(address.contains("https://handline.example"), "{address}");
    let kind = said(&["paper", DEMO, "--kind", "poster"], 2);
    assert!(
        kind.contains("pump-chart") && kind.contains("line-card"),
        "{kind}"
    );
    assert!(said(&["paper", "no-such-book.toml"], 1).contains("no-such-book.toml"));
    std::fs::write(folder.join("taken"), "a file").unwrap();
    let inside = to("taken/under");
    let written = said(&["paper", DEMO, "--of", "large", "--out", &inside], 2);
    assert!(written.contains("--out"), "{written}");
    let bare = folder.join("bare.toml");
    std::fs::write(
        &bare,
        "[book]\nname = 'Bare'\n[hose.a]\nsize = '2.5 in'\ncoefficient = 2\n",
    )
    .unwrap();
    let none = said(
        &["paper", path(&bare), "--kind", "line-card", "--out", &place],
        3,
    );
    assert!(none.contains("nothing to print"), "{none}");
    assert!(!Path::new(&place).exists());
}

/// A book of one's own, whose attack hose can be changed, and where it is kept.
struct Kept {
    folder: PathBuf,
    file: PathBuf,
    data: String,
}

impl Kept {
    fn new(name: &str) -> Self {
        let folder = folder(name);
        let file = folder.join("bend.toml");
        std::fs::copy(root().join(DEMO), &file).unwrap();
        let data = folder.join("data").to_str().unwrap().into();
        Kept { folder, file, data }
    }

    fn attack(&self, coefficient: f64) {
        let text = std::fs::read_to_string(&self.file).unwrap();
        let mut text: toml_edit::DocumentMut = text.parse().unwrap();
        text["hose"]["attack"]["measured"]["coefficient"] = toml_edit::value(coefficient);
        std::fs::write(&self.file, text.to_string()).unwrap();
    }

    /// Prints cards and enters them.
    fn print(&self, of: &str) -> Value {
        let file = self.folder.join(format!("{of}.pdf"));
        json(&[
            "paper",
            path(&self.file),
            "--kind",
            "line-card",
            "--of",
            of,
            "--size",
            "pocket",
            "--date",
            "2026-05-11",
            "--keep",
            "--who",
            "Captain",
            "--data",
            &self.data,
            "--out",
            path(&file),
        ])
    }

    fn issued(&self, more: &[&str]) -> Value {
        json(&[&["issued", NAME, "--data", &self.data], more].concat())
    }

    fn issued_text(&self, more: &[&str]) -> String {
        said(&[&["issued", NAME, "--data", &self.data], more].concat(), 0)
    }
}

fn standing_of<'a>(answer: &'a Value, of: &str) -> Vec<&'a str> {
    let those = sheets(answer).iter().filter(|sheet| sheet["of"] == of);
    those
        .map(|sheet| sheet["standing"].as_str().unwrap())
        .collect()
}

#[test]
fn a_changed_hose_is_told_printed_anew_and_told_no_more() {
    let kept = Kept::new("paper-register");
    let crosslay = kept.print("left-crosslay");
    assert_eq!(
        (&crosslay["revision"], &crosslay["in_register"]),
        (&1.into(), &true.into())
    );
    kept.print("large");
    let answer = kept.issued(&[]);
    assert_eq!(standing_of(&answer, "left-crosslay"), ["current"]);
    assert_eq!(sheets(&answer)[0]["entered_by"], "Captain");

    kept.attack(16.0);
    // Printing brings the changed file in as the next revision.
    let large = kept.print("large");
    assert_eq!(large["revision"], 2);
    let answer = kept.issued(&[]);
    assert_eq!(standing_of(&answer, "left-crosslay"), ["superseded"]);
    assert_eq!(standing_of(&answer, "large"), ["current", "current"]);
    let text = kept.issued_text(&[]);
    // C 14.2 and 16 at 150 gpm through 200 ft: 63.9 and 72 psi, and 101.5 psi at the tip.
    for words in [
        "Superseded: take these down (1)",
        "left-crosslay line card of 2026-05-11",
        "pump pressure: says 165 psi, now 174 psi",
        "--reprint",
    ] {
        assert!(text.contains(words), "{words} is missing from\n{text}");
    }

    let file = kept.folder.join("anew.zip");
    let anew = kept.issued(&["--reprint", "--date", "2026-06-01", "--out", path(&file)]);
    assert_eq!(sheets(&anew).len(), 1);
    assert_eq!(
        (&sheets(&anew)[0]["of"], &sheets(&anew)[0]["size"]),
        (&"left-crosslay".into(), &"pocket".into())
    );
    let mut archive = zip::ZipArchive::new(Cursor::new(std::fs::read(&file).unwrap())).unwrap();
    assert_eq!(archive.len(), 1);
    assert_eq!(
        archive.by_index(0).unwrap().name().unwrap(),
        "line-card-left-crosslay.pdf"
    );
    assert_eq!(
        standing_of(&kept.issued(&[]), "left-crosslay"),
        ["current", "superseded"]
    );
    let text = kept.issued_text(&[]);
    assert!(
        text.contains("printed anew on 2026-06-01") && !text.contains("--reprint"),
        "{text}"
    );
    let again = kept.issued(&["--reprint", "--out", path(&file)]);
    assert!(sheets(&again).is_empty());
}

#[test]
fn a_code_says_how_its_sheet_stands_and_withdraws_it() {
    let kept = Kept::new("paper-code");
    let printed = kept.print("large");
    let code = sheets(&printed)[0]["code"].as_str().unwrap().to_string();
    let typed = code.to_lowercase().replace('-', "");
    let ask = |code: &str| said(&["issued", "--code", code, "--data", &kept.data], 0);
    assert!(ask(&typed).starts_with("CURRENT: large line card of 2026-05-11"));
    let by_file = said(
        &[
            "issued",
            path(&kept.file),
            "--code",
            &typed,
            "--data",
            &kept.data,
        ],
        0,
    );
    assert!(by_file.starts_with("CURRENT"), "{by_file}");

    let withdraw = [
        "issued",
        "--withdraw",
        &typed,
        "--why",
        "card burnt",
        "--who",
        "Chief",
        "--data",
        &kept.data,
    ];
    let told = said(&withdraw, 0);
    assert!(
        told.starts_with("WITHDRAWN") && told.contains("by Chief: card burnt"),
        "{told}"
    );
    assert!(ask(&typed).starts_with("WITHDRAWN"));
    assert!(said(&withdraw, 3).contains(&code));
    assert_eq!(standing_of(&kept.issued(&[]), "large"), ["withdrawn"]);
    let bare = ["issued", "--withdraw", &typed, "--data", &kept.data];
    assert!(said(&bare, 2).contains("--why"));

    let file = root().join(DEMO);
    let book = book::read(&std::fs::read(file).unwrap(), DEMO).unwrap();
    let card = paper::line_card(&book, "monitor", paper::Units::Us).unwrap();
    let never = paper::Code::of(&card, Some(1)).to_string();
    let unknown = said(&["issued", "--code", &never, "--data", &kept.data], 3);
    assert!(
        unknown.contains(&never) && unknown.contains("print it anew"),
        "{unknown}"
    );
    let end = if code.ends_with('3') { "4" } else { "3" };
    let mistyped = format!("{}{end}", &code[..code.len() - 1]);
    let told = said(&["issued", "--code", &mistyped, "--data", &kept.data], 2);
    assert!(told.contains("compare with the sheet"), "{told}");
}

#[test]
fn a_register_that_is_not_there_says_where_to_look() {
    let kept = Kept::new("paper-nowhere");
    let told = said(&["issued", NAME, "--data", &kept.data], 3);
    assert!(
        told.contains("--data") && !Path::new(&kept.data).exists(),
        "{told}"
    );
    kept.print("large");
    let other = said(&["issued", "bend", "--data", &kept.data], 3);
    assert!(
        other.contains("\"bend\"") && other.contains(NAME),
        "{other}"
    );
    said(&["issued"], 2);
    let by_file = said(&["issued", path(&kept.file), "--data", &kept.data], 0);
    assert!(by_file.contains("Current (1)"), "{by_file}");
}

#[test]
fn a_file_that_the_records_have_moved_on_from_is_not_printed() {
    let kept = Kept::new("paper-apart");
    kept.print("large");
    let first = std::fs::read(&kept.file).unwrap();
    kept.attack(16.0);
    kept.print("large");
    std::fs::write(&kept.file, first).unwrap();
    let to = kept.folder.join("late.pdf");
    let args = |book: &str| -> Vec<String> {
        [
            "paper",
            book,
            "--kind",
            "line-card",
            "--of",
            "large",
            "--keep",
            "--data",
            &kept.data,
            "--out",
            path(&to),
        ]
        .map(String::from)
        .to_vec()
    };
    let run = |book: &str, code| {
        let args = args(book);
        said(&args.iter().map(String::as_str).collect::<Vec<_>>(), code)
    };
    let told = run(path(&kept.file), 3);
    assert!(told.contains("revision 2") && told.contains(NAME), "{told}");
    assert!(!to.exists());
    // What it advises works.
    let text = run(NAME, 0);
    assert!(text.contains("revision 2") && to.is_file(), "{text}");
    assert!(said(&["issued", path(&kept.file), "--data", &kept.data], 0).contains("revision 2"));
}

#[test]
fn a_test_day_is_planned_and_reported_on_paper() {
    let folder = folder("prove-paper");
    let place = |name: &str| folder.join(name);
    let plan = place("plan.pdf");
    let args = [
        "prove",
        DEMO,
        "--plan",
        "hose attack",
        "--printed",
        "2026-09-18",
    ];
    let answer = json(&[&args[..], &["--report", path(&plan)]].concat());
    assert_eq!(
        answer["sheets"],
        serde_json::json!(["test-plan-hose-attack.pdf"])
    );
    assert!(std::fs::read(&plan).unwrap().starts_with(b"%PDF-"));
    let reports = place("reports");
    let day = "books/saltmarsh-bend-test-day.csv";
    let args = [
        "prove",
        DEMO,
        "--readings",
        day,
        "--printed",
        "2026-09-20",
        "--accept",
    ];
    let answer = json(&[&args[..], &["--report", path(&reports)]].concat());
    let names = sheets(&answer);
    assert_eq!(names.len(), answer["proofs"].as_array().unwrap().len());
    for name in names {
        let file = reports.join(name.as_str().unwrap());
        assert!(
            std::fs::read(&file).unwrap().starts_with(b"%PDF-"),
            "{name}"
        );
    }
    let said = said(
        &[&args[..], &["--report", path(&place("all.zip"))]].concat(),
        0,
    );
    assert!(
        said.contains("Printed: ") && said.contains("test-report-hose-attack-2026-09-19.pdf"),
        "{said}"
    );
    let bytes = std::fs::read(place("all.zip")).unwrap();
    assert_eq!(
        zip::ZipArchive::new(Cursor::new(bytes)).unwrap().len(),
        names.len()
    );
}
