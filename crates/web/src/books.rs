//! The books, and of each its lines, its file and its history.

mod differences;
mod file;
mod history;
mod home;
mod import;
mod lines;
mod new;
mod problems;

pub(crate) use history::your_name;
pub(crate) use problems::problems;

use crate::workbench::Workbench;
use axum::Router;
use axum::routing::{get, post};
use std::sync::Arc;

pub(crate) fn routes() -> Router<Arc<Workbench>> {
    Router::new()
        .route("/", get(home::shown))
        .route("/books", get(home::shown).post(new::made))
        .route("/books/new", get(new::asked))
        .route("/books/import", get(import::asked).post(import::sent))
        .route("/book/{slug}", get(lines::shown))
        .route("/book/{slug}/file", get(file::shown).post(file::sent))
        .route("/book/{slug}/file/download", get(file::download))
        .route("/book/{slug}/history", get(history::shown))
        .route("/book/{slug}/history/{number}", get(history::revision))
        // Whoever comes back to a refused step, to change units, sees the history.
        .route("/book/{slug}/undo", post(history::undo).get(history::shown))
        .route("/book/{slug}/redo", post(history::redo).get(history::shown))
        .route("/book/{slug}/back", post(history::back).get(history::shown))
        .route("/book/{slug}/newest", get(history::newest))
}
