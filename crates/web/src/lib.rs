#![doc = include_str!("../README.md")]

pub mod access;
mod address;
mod api;
mod assets;
mod books;
mod carry;
mod cautions;
mod compare;
mod conflict;
mod door;
mod equipment;
mod fault;
mod fields;
mod form;
mod guard;
mod line;
mod look;
mod offer;
mod paper;
pub mod password;
mod people;
mod proof;
mod reader;
mod saving;
mod scene;
mod secret;
mod serial;
mod served;
mod settings;
mod shell;
mod tables;
mod tables_out;
mod told;
mod when;
mod who;
mod words;
mod workbench;

pub use door::{DoorError, Tls, serve_people};
pub use fault::Fault;
pub use served::Served;
pub use workbench::{Arrived, Workbench, slug};

use axum::Router;
use std::future::Future;
use std::sync::Arc;
use tokio::net::TcpListener;

/// Every page and question of the workbench for the reader at this computer, without a
/// server around it: who asks may do everything, and no other host is answered.
pub fn router(workbench: Arc<Workbench>) -> Router {
    let pages = pages().fallback(fault::no_page);
    guard::around(pages).with_state(workbench)
}

/// The same for people who are elsewhere: each signs in, and may do what the department's
/// keeper says. What each address takes is in [`access::ACCESS`].
pub fn router_for(workbench: Arc<Workbench>, served: Served) -> Router {
    password::ready();
    let pages = pages().merge(people::routes()).fallback(fault::no_page);
    guard::around_people(pages, &workbench, served).with_state(workbench)
}

fn pages() -> Router<Arc<Workbench>> {
    Router::new()
        .merge(books::routes())
        .merge(cautions::routes())
        .merge(line::routes())
        .merge(scene::routes())
        .merge(equipment::routes())
        .merge(serial::routes())
        .merge(proof::routes())
        .merge(compare::routes())
        .merge(paper::routes())
        .merge(tables_out::routes())
        .merge(settings::routes())
        .merge(api::routes())
        .merge(assets::routes())
        .merge(people::everywhere())
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
