//! What was printed, and how issued sheets stand.

use super::table::{fold, table, text};
use crate::commands::{self, Outcome};
use crate::issued::Register;
use crate::print::{Done, Out};
use jiff::Timestamp;
use jiff::tz::TimeZone;
use paper::Kind;
use records::{Issue, Standing, Withdrawn};
use serde_json::{Value, json};
use std::fmt::Write;

/// Differences of one sheet that are told as text; JSON has all.
const FIRST: usize = 4;

/// What `paper` printed.
pub fn printed(done: &Done, as_json: bool) -> Outcome {
    commands::printed(match as_json {
        true => super::json(&printed_json(done)),
        false => printed_text(done),
    })
}

fn printed_text(done: &Done) -> String {
    let mut rows = table(&["Sheet", "Of", "Code", "Size", "Pages"], 4);
    for (sheet, paper, file) in &done.sheets {
        rows.add_row(vec![
            sheet.kind.title().to_string(),
            sheet.subject.clone(),
            file.code.to_string(),
            paper.size.word().to_string(),
            file.pressed.pages.to_string(),
        ]);
    }
    let mut out = text(&rows);
    let place = match &done.out {
        Out::Folder(folder) => format!("in the folder {}", folder.display()),
        Out::Pdf(file) | Out::Zip(file) => format!("as {}", file.display()),
    };
    let _ = writeln!(out, "\nWritten {place}.");
    let _ = match done.revision {
        Some(revision) => writeln!(
            out,
            "Printed from revision {revision} of {} and entered in the register.",
            done.name
        ),
        None => writeln!(
            out,
            "Printed from a file: these sheets have no revision and are not in the register,\n\
             so nobody is told when they are out of date. With --keep they are."
        ),
    };
    out
}

fn printed_json(done: &Done) -> Value {
    let sheets = done.sheets.iter().map(|(sheet, paper, file)| {
        json!({
            "kind": sheet.kind.word(),
            "of": sheet.subject,
            "title": sheet.title,
            "units": sheet.units.word(),
            "size": paper.size.word(),
            "date": paper.date,
            "code": file.code.to_string(),
            "pages": file.pressed.pages,
            "name": file.file,
            "file": done.out.file(file).display().to_string(),
        })
    });
    json!({
        "book": done.name,
        "revision": done.revision,
        "in_register": done.revision.is_some(),
        "sheets": sheets.collect::<Vec<_>>(),
    })
}

/// JSON where nothing was to be printed.
pub fn nothing_printed() -> Outcome {
    commands::printed(super::json(&json!({ "sheets": [] })))
}

/// How every issued sheet of a book stands.
pub fn register(register: &Register, as_json: bool) -> Outcome {
    commands::printed(match as_json {
        true => super::json(&register_json(register)),
        false => register_text(register),
    })
}

/// How the sheets with one code stand.
pub fn code(registers: &[Register], as_json: bool) -> Outcome {
    let out = match as_json {
        true => super::json(&registers.iter().map(register_json).collect()),
        false => registers.iter().map(one_code).collect(),
    };
    commands::printed(out)
}

fn one_code(register: &Register) -> String {
    let mut out = String::new();
    for (issue, standing) in register.issues.iter().zip(&register.standings) {
        let word = standing.word().to_uppercase();
        let name = &register.kept.book.name;
        let _ = writeln!(out, "{word}: {}\n  {name}", sheet(issue));
        details(&mut out, register, issue, standing);
    }
    out
}

fn register_text(register: &Register) -> String {
    let kept = &register.kept;
    let mut out = format!("{}, revision {}\n", kept.book.name, kept.revision);
    if register.issues.is_empty() {
        out.push_str(
            "No sheet was issued from this book. Print with: handline paper BOOK --keep\n",
        );
        return out;
    }
    let heads = [
        ("superseded", "Superseded: take these down"),
        ("current", "Current"),
        ("withdrawn", "Withdrawn"),
    ];
    for (word, head) in heads {
        let pairs = register.issues.iter().zip(&register.standings);
        let those: Vec<_> = pairs.filter(|(_, s)| s.word() == word).collect();
        if those.is_empty() {
            continue;
        }
        let _ = writeln!(out, "\n{head} ({})", those.len());
        for (issue, standing) in those {
            let _ = writeln!(out, "  {}", fold(&sheet(issue), "  "));
            details(&mut out, register, issue, standing);
        }
    }
    let due = records::to_reprint(&register.issues, &register.standings).len();
    if due > 0 {
        let sheets = if due == 1 { "sheet is" } else { "sheets are" };
        let _ = write!(
            out,
            "\n{due} superseded {sheets} to be printed anew:\n\
             \x20 handline issued {} --reprint --out anew.zip\n",
            kept.slug
        );
    }
    out
}

/// "left-crosslay line card of 2026-05-11, pocket, code C3D-9KT-M4X".
fn sheet(issue: &Issue) -> String {
    let kind = Kind::called(&issue.kind).map(|kind| kind.title().to_lowercase());
    let kind = kind.as_deref().unwrap_or(&issue.kind);
    format!(
        "{} {kind} of {}, {}, {} units, code {}",
        issue.subject, issue.date, issue.size, issue.units, issue.code
    )
}

/// What is wrong with a sheet, or why it was withdrawn.
fn details(out: &mut String, register: &Register, issue: &Issue, standing: &Standing) {
    let mut line = |words: &str| {
        let _ = writeln!(out, "    {}", fold(words, "      "));
    };
    match (standing, &issue.withdrawn) {
        (_, Some(withdrawn)) => line(&taken_back(withdrawn)),
        (Standing::Superseded { gone: true, .. }, _) => {
            line(&format!("{} is no longer in the book", issue.subject));
        }
        (Standing::Superseded { differences, .. }, _) => {
            let words = differences.iter().map(paper::in_words);
            words.take(FIRST).for_each(|words| line(&words));
            if differences.len() > FIRST {
                let more = differences.len() - FIRST;
                line(&format!("and {more} more (--json has all)"));
            }
            if let Some(anew) = replaced_by(register, issue) {
                line(&format!(
                    "printed anew on {}, code {}",
                    anew.date, anew.code
                ));
            }
        }
        _ => {}
    }
}

/// The newest current print of the same sheet.
fn replaced_by<'a>(register: &'a Register, old: &Issue) -> Option<&'a Issue> {
    let mut pairs = register.issues.iter().zip(&register.standings);
    let same = |new: &Issue| {
        (&new.kind, &new.subject, &new.units, &new.size)
            == (&old.kind, &old.subject, &old.units, &old.size)
    };
    let found = pairs.find(|(new, stands)| **stands == Standing::Current && same(new));
    found.map(|(issue, _)| issue)
}

fn taken_back(withdrawn: &Withdrawn) -> String {
    let day = Timestamp::from_second(withdrawn.at).unwrap_or_default();
    let day = day.to_zoned(TimeZone::system()).date();
    match withdrawn.who.as_str() {
        "" => format!("withdrawn on {day}: {}", withdrawn.why),
        who => format!("withdrawn on {day} by {who}: {}", withdrawn.why),
    }
}

fn register_json(register: &Register) -> Value {
    let pairs = register.issues.iter().zip(&register.standings);
    json!({
        "book": register.kept.book.name,
        "name": register.kept.slug,
        "revision": register.kept.revision,
        "sheets": pairs.map(|(issue, stands)| issue_json(issue, stands)).collect::<Vec<_>>(),
    })
}

fn issue_json(issue: &Issue, standing: &Standing) -> Value {
    let time = |at: i64| Timestamp::from_second(at).ok().map(|at| at.to_string());
    let (differences, gone) = match standing {
        Standing::Superseded { differences, gone } => (differences.as_slice(), *gone),
        _ => (&[][..], false),
    };
    let differences = differences.iter().map(
        |d| json!({ "name": d.name, "said": d.said, "now": d.now, "words": paper::in_words(d) }),
    );
    json!({
        "number": issue.id,
        "kind": issue.kind,
        "of": issue.subject,
        "title": issue.title,
        "units": issue.units,
        "size": issue.size,
        "date": issue.date,
        "code": issue.code,
        "revision": issue.revision,
        "entered_at": time(issue.at),
        "entered_by": issue.who,
        "standing": standing.word(),
        "gone": gone,
        "differences": differences.collect::<Vec<_>>(),
        "withdrawn": issue.withdrawn.as_ref().map(|w| {
            json!({ "at": time(w.at), "by": w.who, "why": w.why })
        }),
    })
}
