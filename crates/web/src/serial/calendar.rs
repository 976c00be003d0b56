//! When equipment is due, for a calendar program.

use crate::fault::Fault;
use crate::paper::attached;
use crate::when::day;
use crate::workbench::{Workbench, now};
use axum::extract::{Path, Query, State};
use axum::response::Response;
use records::Each;
use serde::Deserialize;
use std::sync::Arc;

/// Days ahead that a calendar reaches.
const AHEAD: i32 = 730;

#[derive(Deserialize)]
pub(super) struct Asked {
    #[serde(default)]
    each: String,
}

pub(super) async fn file(
    State(workbench): State<Arc<Workbench>>,
    Path(slug): Path<String>,
    Query(asked): Query<Asked>,
) -> Result<Response, Fault> {
    let opened = workbench.open(&slug).await?;
    let at = now();
    let by = super::due::later(&day(at), AHEAD)?;
    let due = workbench.records.due(&slug, &by).await?;
    let each = match asked.each.as_str() {
        "piece" => Each::Piece,
        _ => Each::Day,
    };
    let text = records::calendar(&slug, &opened.book.name, &due, each, at);
    let name = format!("{slug}-due.ics");
    Ok(attached(
        &name,
        "text/calendar; charset=utf-8",
        text.into_bytes(),
    ))
}
