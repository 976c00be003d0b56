//! Equipment: what a book and the catalogue have, each with its curve, its source,
//! its use, and what it screws on to; and the forms that make and change the
//! department's own.

mod change;
mod entry;
mod fits;
mod form;
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
        .route(
            "/book/{slug}/equipment/{kind}/{name}/edit",
            get(change::shown).post(change::changed),
        )
        .route(
            "/book/{slug}/new/{kind}",
            get(change::asked).post(change::made),
        )
}
