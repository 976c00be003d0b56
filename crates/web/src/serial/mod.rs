//! The inventory: equipment by the number that stands on it, what each piece was tested
//! for, and when it is due.

mod bring;
mod calendar;
mod due;
mod list;
mod new;
mod out;
mod piece;
mod row;

use crate::workbench::Workbench;
use axum::Router;
use axum::routing::{get, post};
use std::sync::Arc;

pub(crate) fn routes() -> Router<Arc<Workbench>> {
    Router::new()
        .route("/book/{slug}/inventory", get(list::shown))
        .route(
            "/book/{slug}/inventory/new",
            get(new::asked).post(new::made),
        )
        .route(
            "/book/{slug}/inventory/bring",
            get(bring::asked).post(bring::sent),
        )
        .route("/book/{slug}/inventory/due", get(due::shown))
        .route("/book/{slug}/inventory/due.ics", get(calendar::file))
        .route("/book/{slug}/inventory/tables/{form}", get(out::tables))
        .route("/book/{slug}/piece/{serial}", get(piece::shown))
        // Whoever comes back to a refused form, to change units, sees the piece.
        .route(
            "/book/{slug}/piece/{serial}/tested",
            post(piece::tested).get(piece::shown),
        )
        .route(
            "/book/{slug}/piece/{serial}/retire",
            post(piece::retired).get(piece::shown),
        )
}
