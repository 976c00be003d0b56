//! How long the demo's whole set and its register take: made, printed into one ZIP
//! file, entered, and judged after a change.
//!
//! `cargo run --release -p records --example register`
#![allow(clippy::print_stdout)]

use paper::{Paper, Size, Units};
use records::{NewIssue, Note, Records, standings};
use std::error::Error;
use std::time::Instant;

#[tokio::main(flavor = "current_thread")]
async fn main() -> Result<(), Box<dyn Error>> {
    let path = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../../books/saltmarsh-bend.toml"
    );
    let text = std::fs::read_to_string(path)?;
    let book = book::read(text.as_bytes(), path)?;
    let paper = Paper {
        size: Size::Letter,
        date: "2026-05-11".into(),
        revision: Some(1),
        ..Paper::default()
    };
    for round in ["cold", "warm"] {
        let start = Instant::now();
        let sheets = paper::whole_set(&book, Units::Us)?;
        let made = start.elapsed();
        let pairs: Vec<_> = sheets.into_iter().map(|s| (s, paper.clone())).collect();
        let printed = paper::print(&pairs)?;
        let pages: usize = printed.iter().map(|p| p.pressed.pages).sum();
        let zip = paper::pack(&printed, &paper.date)?;
        println!(
            "{round}: {} sheets made in {made:.0?}; {pages} pages, {} kB of ZIP in {:.0?}",
            printed.len(),
            zip.len() / 1024,
            start.elapsed()
        );
    }

    let file = std::env::temp_dir().join(format!("handline-measure-{}.db", std::process::id()));
    let records = Records::open(&file).await?;
    let note = Note::default();
    let first = records.create("bend", "Bend", &text, &note).await?;
    let sheets = paper::whole_set(&book, Units::Us)?;
    let new = sheets
        .iter()
        .filter_map(|sheet| NewIssue::of(sheet, &paper));
    let new: Vec<NewIssue> = new.collect();
    let start = Instant::now();
    for _ in 0..20 {
        records.issue("bend", &new, 0, "").await?;
    }
    println!(
        "{} sheets entered in {:.0?}",
        20 * new.len(),
        start.elapsed()
    );

    let changed = text.replace("coefficient = 14.2", "coefficient = 16");
    records.save("bend", first, "Bend", &changed, &note).await?;
    let start = Instant::now();
    let issues = records.issued("bend").await?;
    let read = start.elapsed();
    let after = book::read(changed.as_bytes(), path)?;
    let wrong = standings(&issues, &after);
    let wrong = wrong.iter().filter(|s| s.word() == "superseded").count();
    println!(
        "{} issued sheets read in {read:.0?} and judged in {:.0?}: {wrong} superseded",
        issues.len(),
        start.elapsed() - read
    );
    drop(records);
    for end in ["", "-wal", "-shm"] {
        let _ = std::fs::remove_file(format!("{}{end}", file.display()));
    }
    Ok(())
}
