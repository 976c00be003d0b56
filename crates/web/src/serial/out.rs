//! The inventory as tables to take away.

use super::list::{Search, rows};
use super::row::{Row, outcome};
use crate::fault::Fault;
use crate::reader::Reader;
use crate::tables_out::{form, sent};
use crate::workbench::Workbench;
use axum::extract::{Path, Query, State};
use axum::response::Response;
use paper::tables::{Column, Entry, Table, Tables};
use std::sync::Arc;

/// The columns. The first six are those that a list is brought in by.
const COLUMNS: [&str; 13] = [
    "serial", "kind", "item", "title", "since", "months", "state", "due", "tested", "passed",
    "remark", "retired", "reason",
];

pub(super) async fn tables(
    State(workbench): State<Arc<Workbench>>,
    Path((slug, word)): Path<(String, String)>,
    Query(search): Query<Search>,
    reader: Reader,
) -> Result<Response, Fault> {
    let form = form(&word)?;
    let opened = workbench.open(&slug).await?;
    let all = rows(&workbench, &slug).await?;
    let found = search.found(&all);
    let tables = Tables {
        subject: "Inventory".into(),
        department: opened.book.name.clone(),
        invented: opened.book.about.invented,
        units: reader.system(&opened.book).into(),
        cautions: Vec::new(),
        tables: vec![table(&found)],
    };
    sent(&opened, &tables, form)
}

fn table(rows: &[&Row]) -> Table {
    let column = |name: &str| Column {
        name: name.into(),
        ..Column::default()
    };
    Table {
        title: "Inventory".into(),
        columns: COLUMNS.map(column).to_vec(),
        rows: rows.iter().map(|row| entries(row)).collect(),
    }
}

fn entries(row: &Row) -> Vec<Entry> {
    let text = |text: &str| match text {
        "" => Entry::Nothing,
        text => Entry::Text(text.into()),
    };
    let (new, trial) = (&row.piece.new, row.piece.trial.as_ref());
    let retired = row.piece.retired.as_ref();
    vec![
        text(&new.serial),
        text(new.gear.word()),
        text(&new.item),
        text(&new.title),
        text(&new.since),
        Entry::Number(f64::from(new.months)),
        text(row.state.word()),
        match retired {
            Some(_) => Entry::Nothing,
            None => text(&row.due.to_string()),
        },
        text(trial.map_or("", |trial| &trial.date)),
        text(trial.map_or("", |trial| outcome(trial.passed))),
        text(trial.map_or("", |trial| &trial.remark)),
        text(retired.map_or("", |(date, _)| date)),
        text(retired.map_or("", |(_, why)| why)),
    ]
}
