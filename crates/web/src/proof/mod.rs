//! Flow tests: planned, taken on a tablet or brought in, reduced, and put into the book.

mod accept;
mod begin;
mod bring;
mod day;
mod enter;
mod gauge;
mod list;
mod plan;
mod reading;
mod report;
mod result;
mod seen;
mod sheet;
mod stage;
mod step;
mod take;

pub(crate) use day::{Left, Reckoned, Reduced};
pub(crate) use plan::Planned;

use crate::workbench::Workbench;
use axum::Router;
use axum::routing::{get, post};
use std::sync::Arc;

pub(crate) fn routes() -> Router<Arc<Workbench>> {
    Router::new()
        .route("/book/{slug}/tests", get(list::shown))
        .route(
            "/book/{slug}/tests/new",
            get(begin::asked).post(begin::begun),
        )
        .route(
            "/book/{slug}/tests/bring",
            get(bring::asked).post(bring::sent),
        )
        .route("/book/{slug}/tests/plan", get(report::plan))
        .route("/book/{slug}/tests/day/{date}", get(result::of_day))
        .route("/book/{slug}/test/{id}", get(take::shown))
        .route("/book/{slug}/test/{id}/result", get(result::shown))
        .route(
            "/book/{slug}/test/{id}/report",
            get(report::asked).post(enter::sent),
        )
        .route(
            "/book/{slug}/test/{id}/accept",
            get(accept::asked).post(accept::sent),
        )
        // Whoever comes back to a refused form, to change units, sees the sheet.
        .route(
            "/book/{slug}/test/{id}/read",
            post(reading::sent).get(take::shown),
        )
        .route(
            "/book/{slug}/test/{id}/close",
            post(stage::close).get(take::shown),
        )
        .route(
            "/book/{slug}/test/{id}/open",
            post(stage::open).get(take::shown),
        )
}
