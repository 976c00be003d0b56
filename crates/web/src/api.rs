//! The workbench's questions for programs: JSON, described by OpenAPI from the
//! code that answers. Nothing here changes a book.

mod answers;
mod compare;
mod directory;
mod named;
mod paper;
mod proof;
mod questions;
mod shapes;
mod told;

use crate::fault::Fault;
use crate::workbench::Workbench;
use axum::Router;
use axum::response::{IntoResponse, Response};
use axum::routing::{any, get};
use std::sync::{Arc, LazyLock};
use told::Told;
use utoipa::OpenApi;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

#[derive(OpenApi)]
#[openapi(
    info(
        title = "Handline",
        description = "The questions of the workbench, for programs. Every quantity is \
        {\"value\": 151.9, \"unit\": \"gpm\"}. A question only reads; books are changed on the \
        pages. For planning, training and testing; never the only basis of a decision at an \
        incident. Figures are formula or test values: show the notices of an answer with it. \
        The authority having jurisdiction, the maker's instructions and qualified instructors \
        decide.",
        contact()
    ),
    components(schemas(told::Refusal))
)]
struct Described;

/// The routes, and their description.
fn parts() -> (Router<Arc<Workbench>>, utoipa::openapi::OpenApi) {
    OpenApiRouter::with_openapi(Described::openapi())
        .routes(routes!(answers::books))
        .routes(routes!(answers::book))
        .routes(routes!(answers::file))
        .routes(routes!(answers::line))
        .routes(routes!(answers::chart))
        .routes(routes!(answers::extend))
        .routes(routes!(answers::scene))
        .routes(routes!(compare::comparisons))
        .routes(routes!(compare::kept))
        .routes(routes!(compare::sent))
        .routes(routes!(proof::tests))
        .routes(routes!(proof::test))
        .routes(routes!(proof::result))
        .routes(routes!(paper::sheets))
        .routes(routes!(paper::sheet))
        .routes(routes!(paper::issued))
        .routes(routes!(paper::code))
        .routes(routes!(answers::check))
        .split_for_parts()
}

/// The description, which is the same for as long as the program runs.
static DESCRIPTION: LazyLock<serde_json::Value> =
    LazyLock::new(|| serde_json::to_value(parts().1).unwrap_or_default());

pub(crate) fn routes() -> Router<Arc<Workbench>> {
    let (questions, _) = parts();
    questions
        .route(
            "/api/openapi.json",
            get(|| async { axum::Json(&*DESCRIPTION) }),
        )
        .route("/api", get(directory::page))
        .route("/api/{*rest}", any(no_question))
        .method_not_allowed_fallback(told::wrong_method)
}

/// A refusal, as questions get it.
pub(crate) fn refused(fault: Fault) -> Response {
    Told::from(fault).into_response()
}

async fn no_question() -> Told {
    Fault::Missing("there is no such question; /api lists those that there are".into()).into()
}
