//! The books, and of each its lines, its file and its history.

mod differences;
mod file;
mod history;
mod home;
mod import;
mod lines;
mod new;
mod problems;

use crate::workbench::Workbench;
use axum::Router;
use axum::routing::{get, post};
use maud::{Markup, html};
use serde::Deserialize;
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

/// What was done before the reader was sent here: one of a few codes, so that an
/// address cannot put words into a page.
#[derive(Deserialize)]
pub(crate) struct Done {
    told: Option<String>,
}

impl Done {
    /// The revision just saved, when that is what is told.
    fn revision(&self) -> Option<i64> {
        self.told.as_deref()?.parse().ok()
    }

    fn message(&self) -> Option<Markup> {
        let text = match self.told.as_deref()? {
            "saved" => "Saved as a new revision.",
            "same" => "Nothing changed, so nothing was saved.",
            "undone" => "Undone. \"Make again\" brings it back.",
            "redone" => "Made again.",
            "back" => "Went back to that revision, as a new one. Nothing in between is lost.",
            "new" => "The book is made. Its first line comes next.",
            "in" => "The file is in. It is the book's first revision.",
            "next" => "The file is in as the book's next revision.",
            "known" => "The workbench has this file already; here it is.",
            _ => return None,
        };
        Some(html! { p.told role="status" { (text) } })
    }
}
