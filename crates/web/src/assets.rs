//! Style, script and mark, carried in the executable.

use crate::workbench::Workbench;
use axum::Router;
use axum::http::header::{CACHE_CONTROL, CONTENT_TYPE};
use axum::response::IntoResponse;
use axum::routing::get;
use std::sync::Arc;

const CSS: &str = include_str!("../assets/handline.css");
const SCRIPT: &str = include_str!("../assets/handline.js");
const TAKE: &str = include_str!("../assets/take.js");
const MARK: &str = include_str!("../assets/mark.svg");

pub(crate) fn routes() -> Router<Arc<Workbench>> {
    Router::new()
        .route("/assets/handline.css", get(|| served("text/css", CSS)))
        .route(
            "/assets/handline.js",
            get(|| served("text/javascript", SCRIPT)),
        )
        .route("/assets/take.js", get(|| served("text/javascript", TAKE)))
        .route("/assets/mark.svg", get(|| served("image/svg+xml", MARK)))
}

async fn served(kind: &'static str, text: &'static str) -> impl IntoResponse {
    let kind = match kind {
        "image/svg+xml" => "image/svg+xml",
        "text/css" => "text/css; charset=utf-8",
        _ => "text/javascript; charset=utf-8",
    };
    ([(CONTENT_TYPE, kind), (CACHE_CONTROL, "no-cache")], text)
}
