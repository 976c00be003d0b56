#![doc = include_str!("../README.md")]

mod address;
mod api;
mod assets;
mod books;
mod cautions;
mod conflict;
mod equipment;
mod fault;
mod fields;
mod form;
mod guard;
mod line;
mod look;
mod paper;
mod proof;
mod reader;
mod saving;
mod scene;
mod serial;
mod settings;
mod shell;
mod tables;
mod tables_out;
mod told;
mod when;
mod words;
mod workbench;

pub use fault::Fault;
pub use workbench::{Arrived, Workbench, slug};

use axum::Router;
use std::future::Future;
use std::sync::Arc;
use tokio::net::TcpListener;

/// Every page and question of the workbench, without a server around it.
pub fn router(workbench: Arc<Workbench>) -> Router {
    let pages = Router::new()
        .merge(books::routes())
        .merge(cautions::routes())
        .merge(line::routes())
        .merge(scene::routes())
        .merge(equipment::routes())
        .merge(serial::routes())
        .merge(proof::routes())
        .merge(paper::routes())
        .merge(tables_out::routes())
        .merge(settings::routes())
        .merge(api::routes())
        .merge(assets::routes())
        .fallback(fault::no_page);
    guard::around(pages).with_state(workbench)
}

/// The page of a book.
///
/// ```
/// assert_eq!(web::address_of("saltmarsh-bend"), "/book/saltmarsh-bend");
/// ```
pub fn address_of(slug: &str) -> String {
    address::book(slug, "")
}

/// Answers on `listener` until `stop` is done.
///
/// # Errors
/// What the network says.
pub async fn serve(
    listener: TcpListener,
    workbench: Arc<Workbench>,
    stop: impl Future<Output = ()> + Send + 'static,
) -> std::io::Result<()> {
    axum::serve(listener, router(workbench))
        .with_graceful_shutdown(stop)
        .await
}
