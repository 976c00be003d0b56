use crate::workbench::Workbench;
use axum::Router;
use std::sync::Arc;

pub(crate) fn routes() -> Router<Arc<Workbench>> {
    Router::new()
}
