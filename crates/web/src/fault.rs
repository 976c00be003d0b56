//! What a page says when it cannot do what was asked.

use crate::look;
use crate::reader::Reader;
use crate::shell::{Place, page};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use maud::html;
use records::RecordsError;

/// Why a page or a question has no answer.
#[derive(Debug, thiserror::Error)]
pub enum Fault {
    /// There is nothing at this address.
    #[error("{0}")]
    Missing(String),
    /// What was sent cannot be understood.
    #[error("{0}")]
    Misread(String),
    /// A file is no book.
    #[error("{0}")]
    Book(book::Problems),
    /// The question has no answer.
    #[error(transparent)]
    Study(#[from] study::StudyError),
    /// The records refuse.
    #[error(transparent)]
    Records(#[from] RecordsError),
}

impl Fault {
    /// The status that goes with it.
    pub fn status(&self) -> StatusCode {
        match self {
            Fault::Missing(_) => StatusCode::NOT_FOUND,
            Fault::Misread(_) => StatusCode::BAD_REQUEST,
            Fault::Book(_) => StatusCode::UNPROCESSABLE_ENTITY,
            Fault::Study(study::StudyError::Layout(
                book::LayoutError::NoLine { .. } | book::LayoutError::NoScene { .. },
            )) => StatusCode::NOT_FOUND,
            Fault::Study(_) => StatusCode::UNPROCESSABLE_ENTITY,
            Fault::Records(RecordsError::NoBook(_) | RecordsError::NoRevision { .. }) => {
                StatusCode::NOT_FOUND
            }
            Fault::Records(
                RecordsError::Stale { .. } | RecordsError::Taken(_) | RecordsError::Nothing(_),
            ) => StatusCode::CONFLICT,
            Fault::Records(_) => StatusCode::INTERNAL_SERVER_ERROR,
        }
    }
}

impl IntoResponse for Fault {
    fn into_response(self) -> Response {
        let content = html! {
            h1 { "That did not work" }
            @match &self {
                Fault::Book(problems) => (look::problems(problems)),
                other => p.caution { (other.to_string()) },
            }
            p { a href="/" { "To the books" } }
        };
        let whole = page(
            "That did not work",
            &Reader::default(),
            &Place::default(),
            &content,
        );
        (self.status(), whole).into_response()
    }
}

/// The page for an address that is none.
pub(crate) async fn no_page() -> Fault {
    Fault::Missing("There is no page at this address.".into())
}
