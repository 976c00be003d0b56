//! Paper: the sheets that a book can print, what was issued, and whether it still holds.

mod address;
mod choice;
mod code;
mod list;
mod preview;
mod print;
mod register;
mod standing;
mod withdraw;

use crate::fault::Fault;
use crate::workbench::Workbench;
use axum::Router;
use axum::routing::{get, post};
use std::sync::Arc;

pub(crate) use address::sound;
pub(crate) use choice::{Asked, Choice};
pub(crate) use code::of_link;
pub(crate) use list::{About, links};
pub(crate) use preview::kind;
pub(crate) use print::{Proof, as_looked_at, attached};
pub(crate) use standing::{Held, differences_words, held, in_register, made_wrong, register};

pub(crate) fn routes() -> Router<Arc<Workbench>> {
    Router::new()
        .route("/book/{slug}/paper", get(list::shown).post(print::several))
        .route(
            "/book/{slug}/paper/address",
            post(address::set).get(list::shown),
        )
        .route(
            "/book/{slug}/paper/{kind}/{subject}",
            get(preview::shown).post(print::one),
        )
        .route(
            "/book/{slug}/paper/{kind}/{subject}/page/{number}",
            get(preview::picture),
        )
        .route("/book/{slug}/paper/{kind}/{subject}/pdf", get(print::proof))
        .route("/book/{slug}/issued", get(register::shown))
        // Whoever comes back to a refused step, to change units, sees the register.
        .route(
            "/book/{slug}/issued/reprint",
            post(print::superseded).get(register::shown),
        )
        .route(
            "/book/{slug}/issued/{id}/withdraw",
            post(withdraw::withdraw).get(register::back),
        )
        .route("/paper", get(code::asked))
        .route("/paper/{code}", get(code::shown))
}

/// Does `work`, which takes long enough for others to wait, beside them.
///
/// # Errors
/// [`Fault::Stopped`] when it came to no end.
pub(crate) async fn beside<T: Send + 'static>(
    work: impl FnOnce() -> T + Send + 'static,
) -> Result<T, Fault> {
    let done = tokio::task::spawn_blocking(work).await;
    done.map_err(|stopped| Fault::Stopped(stopped.to_string()))
}
