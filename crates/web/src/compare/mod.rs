//! Comparisons: asked by a form or by a file, worked out beside other pages, shown, kept.

mod answer;
mod asked;
mod axes;
mod drawn;
mod fields;
mod figures;
mod file;
mod form;
mod keep;
mod left_out;
mod list;
mod on_line;
mod progress;
mod refused;
mod run;
mod shown;
mod start;
mod sure;
mod take;
mod unbeaten;
mod weights;

pub(crate) use asked::for_line;
pub(crate) use refused::in_a_sentence;
pub(crate) use run::{Compared, Comparing, Unfinished};
pub(crate) use take::Worked;

use crate::workbench::Workbench;
use axum::Router;
use axum::routing::{get, post};
use std::sync::Arc;

pub(crate) fn routes() -> Router<Arc<Workbench>> {
    Router::new()
        .route(
            "/book/{slug}/comparisons",
            get(list::shown).post(keep::saved),
        )
        .route("/book/{slug}/comparisons/new", get(form::asked))
        .route("/book/{slug}/comparison", get(shown::shown))
        .route("/book/{slug}/comparison/progress", get(progress::streamed))
        .route("/book/{slug}/comparison/file", get(file::shown))
        .route("/book/{slug}/comparison/download", get(file::download))
        .route("/book/{slug}/comparison/tables/{form}", get(take::tables))
        // Whoever comes back to a refused step, to change units, sees the list.
        .route(
            "/book/{slug}/comparison/report",
            get(take::report).post(take::entered),
        )
        .route(
            "/book/{slug}/comparison/withdraw",
            post(keep::withdrawn).get(list::shown),
        )
        .route(
            "/book/{slug}/comparison/bring-back",
            post(keep::brought_back).get(list::shown),
        )
}
