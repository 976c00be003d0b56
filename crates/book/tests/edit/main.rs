//! Changing lines by hand, and the file that holds them.

#![allow(clippy::unwrap_used, clippy::panic)]

mod amending;
mod fields;
mod random;
mod scenes;
mod single;

use book::{Book, Edit, HosePart, NozzlePart, Part, Parts, Path, Stated, Step, read};
use hydraulics::units::{Kind, System};

const DEMO: &str = include_str!("../../../../books/saltmarsh-bend.toml");

/// The books that come with Handline, by name.
const BOOKS: [(&str, &str); 4] = [
    ("saltmarsh-bend", DEMO),
    (
        "teach-1",
        include_str!("../../../../books/teach-1-one-line.toml"),
    ),
    (
        "teach-2",
        include_str!("../../../../books/teach-2-metric-wye.toml"),
    ),
    (
        "teach-3",
        include_str!("../../../../books/teach-3-siamese.toml"),
    ),
];

fn demo() -> Book {
    read(DEMO.as_bytes(), "demo.toml").unwrap()
}

fn path(text: &str) -> Path {
    text.parse().unwrap()
}

fn hose(name: &str, length: &str) -> Part {
    Part::Hose(HosePart {
        hose: name.into(),
        length: Stated::read(Kind::Length, length, System::Us).unwrap(),
        rise: None,
        kink: None,
    })
}

fn nozzle(name: &str, setting: Option<&str>) -> Part {
    Part::Nozzle(NozzlePart {
        nozzle: name.into(),
        setting: setting.map(String::from),
        ..NozzlePart::default()
    })
}

fn apply(book: &Book, line: &str, edit: Edit) -> Book {
    let text = format!("{edit:?}");
    book::edit(book, line, &edit).unwrap_or_else(|e| panic!("{text}: {e} ({})", e.mend()))
}

/// What the parts are, in one line: "hose attack, branches[nozzle x | nozzle y]".
fn told(parts: &Parts) -> String {
    let rows = |rows: &[Parts]| rows.iter().map(told).collect::<Vec<_>>().join(" | ");
    let one = |part: &Part| match part {
        Part::Branches(inner) | Part::Legs(inner) => format!("{}[{}]", part.kind(), rows(inner)),
        part => part.name().unwrap_or_default().to_string(),
    };
    parts.iter().map(one).collect::<Vec<_>>().join(", ")
}

/// The ways to all parts and rows, and to one past the end of each row.
fn ways(parts: &Parts, at: &Path) -> Vec<Path> {
    let mut all = Vec::new();
    for (index, part) in parts.iter().enumerate() {
        let here = at.then(Step::Part(index + 1));
        let (rows, step): (&[Parts], fn(usize) -> Step) = match part {
            Part::Branches(rows) => (rows, Step::Branch),
            Part::Legs(rows) => (rows, Step::Leg),
            _ => (&[], Step::Leg),
        };
        for (k, row) in rows.iter().enumerate() {
            let at = here.then(step(k + 1));
            all.extend(ways(row, &at));
            all.push(at);
        }
        all.push(here);
    }
    all.push(at.then(Step::Part(parts.len() + 1)));
    all
}
