//! What stands before the tables: whose they are, from when, what to mind, and what they
//! rest on.

use super::listing::SOURCE;
use super::{Column, Entry, Stamp, Table, Tables};
use crate::paper::{PaperError, Units};
use crate::press;

/// The first table of `tables`.
pub(super) fn table(tables: &Tables, stamp: &Stamp) -> Result<Table, PaperError> {
    press::date(&stamp.date)?;
    let revision = match stamp.revision {
        Some(number) => number.to_string(),
        None => "none: the book is in no records".into(),
    };
    let mut rows = vec![
        ("Department", tables.department.clone()),
        ("About", tables.subject.clone()),
        ("Revision of the book", revision),
        ("Date", stamp.date.clone()),
        ("Units", units(tables.units).into()),
    ];
    if tables.invented {
        let text = "This department and its equipment are invented, for a demonstration.";
        rows.push(("Invented", text.into()));
    }
    let titles = tables.tables.iter().map(|table| table.title.clone());
    rows.extend(titles.map(|title| ("Table", title)));
    rows.extend(tables.cautions.iter().map(|c| ("Caution", (*c).into())));
    rows.extend(sources(tables).into_iter().map(|s| ("Source", s)));
    let column = |name: &str| Column {
        name: name.into(),
        ..Column::default()
    };
    let row = |(what, is): (&str, String)| vec![Entry::Text(what.into()), Entry::Text(is)];
    Ok(Table {
        title: "About".into(),
        columns: vec![column("what"), column("is")],
        rows: rows.into_iter().map(row).collect(),
    })
}

fn units(units: Units) -> &'static str {
    match units {
        Units::Us => "US: psi, gpm, ft; in the head of each column",
        Units::Si => "metric: bar, L/min, m; in the head of each column",
        Units::Both => "US, and metric beside it; in the head of each column",
    }
}

/// Everything that the rows rest on, once, in the order in which it comes up.
fn sources(tables: &Tables) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    for table in &tables.tables {
        let Some(column) = table.column(SOURCE) else {
            continue;
        };
        for entry in table.rows.iter().filter_map(|row| row.get(column)) {
            let Entry::Text(text) = entry else { continue };
            for source in text.split(JOINT) {
                if !all.iter().any(|known| known == source) {
                    all.push(source.into());
                }
            }
        }
    }
    all
}

/// Stands between the sources of one row.
pub(super) const JOINT: &str = " | ";
