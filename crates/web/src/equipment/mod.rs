//! Equipment: what a book and the catalogue have, each with its curve, its source,
//! its use, and what it screws on to.

mod entry;
mod fits;
mod item;
mod list;
mod uses;
mod values;

use crate::workbench::Workbench;
use axum::Router;
use axum::routing::get;
use std::sync::Arc;

pub(crate) fn routes() -> Router<Arc<Workbench>> {
    Router::new()
        .route("/book/{slug}/equipment", get(list::page_of))
        .route("/book/{slug}/equipment/{kind}/{name}", get(item::page_of))
}
