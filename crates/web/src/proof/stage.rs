//! A sheet closed, and opened again.

use crate::address;
use crate::fault::Fault;
use crate::reader::Reader;
use crate::workbench::{Workbench, now};
use axum::extract::{Path, State};
use axum::response::Redirect;
use records::By;
use std::sync::Arc;

pub(super) async fn close(
    State(workbench): State<Arc<Workbench>>,
    Path((slug, id)): Path<(String, i64)>,
    reader: Reader,
) -> Result<Redirect, Fault> {
    let by = By::new(&reader.name, now());
    workbench.records.close_test(&slug, id, &by).await?;
    Ok(Redirect::to(&address::test(
        &slug,
        id,
        "/result?told=closed",
    )))
}

pub(super) async fn open(
    State(workbench): State<Arc<Workbench>>,
    Path((slug, id)): Path<(String, i64)>,
    reader: Reader,
) -> Result<Redirect, Fault> {
    let by = By::new(&reader.name, now());
    workbench.records.reopen_test(&slug, id, &by).await?;
    Ok(Redirect::to(&address::test(&slug, id, "?told=opened")))
}
