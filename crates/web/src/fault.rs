//! What a page says when it cannot do what was asked.

use crate::look;
use crate::reader::Reader;
use crate::shell::{Place, page};
use axum::Extension;
use axum::extract::Request;
use axum::http::StatusCode;
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use maud::{Markup, html};
use paper::PaperError;
use records::RecordsError;
use std::sync::Arc;

/// Why a page or a question has no answer.
#[derive(Debug, thiserror::Error)]
pub enum Fault {
    /// There is nothing at this address.
    #[error("{0}")]
    Missing(String),
    /// What was sent cannot be understood.
    #[error("{0}")]
    Misread(String),
    /// What was sent is more than a book can be.
    #[error("{0}")]
    TooLarge(String),
    /// A file is no book.
    #[error("{0}")]
    Book(book::Problems),
    /// The question has no answer.
    #[error(transparent)]
    Study(#[from] study::StudyError),
    /// The records refuse.
    #[error("{}", in_words(.0))]
    Records(#[from] RecordsError),
    /// There is no such sheet, or it cannot be printed.
    #[error(transparent)]
    Paper(#[from] PaperError),
    /// The work came to no end.
    #[error("the work was not finished: {0}; ask again")]
    Stopped(String),
}

impl Fault {
    pub(crate) fn too_large() -> Self {
        let text = "That is too large to be a book, and was not read: a book has at most 1 MB. \
                    Check that it is the book's file.";
        Fault::TooLarge(text.into())
    }

    /// The status that goes with it.
    pub fn status(&self) -> StatusCode {
        match self {
            Fault::Missing(_) => StatusCode::NOT_FOUND,
            Fault::Misread(_) => StatusCode::BAD_REQUEST,
            Fault::TooLarge(_) => StatusCode::PAYLOAD_TOO_LARGE,
            Fault::Book(_) => StatusCode::UNPROCESSABLE_ENTITY,
            Fault::Study(study::StudyError::Layout(
                book::LayoutError::NoLine { .. } | book::LayoutError::NoScene { .. },
            )) => StatusCode::NOT_FOUND,
            Fault::Study(_) => StatusCode::UNPROCESSABLE_ENTITY,
            Fault::Records(error) => of_records(error),
            Fault::Paper(PaperError::Unknown { .. }) => StatusCode::NOT_FOUND,
            Fault::Paper(PaperError::Date(_) | PaperError::Address { .. }) => {
                StatusCode::BAD_REQUEST
            }
            Fault::Paper(_) | Fault::Stopped(_) => StatusCode::INTERNAL_SERVER_ERROR,
        }
    }
}

/// The status that goes with what the records say.
fn of_records(error: &RecordsError) -> StatusCode {
    match error {
        RecordsError::Code { .. } | RecordsError::Address(_) => StatusCode::BAD_REQUEST,
        RecordsError::NoBook(_)
        | RecordsError::NoRevision { .. }
        | RecordsError::NoIssue(_)
        | RecordsError::NoTest(_)
        | RecordsError::NoReading(_)
        | RecordsError::NoSerial(_)
        | RecordsError::NoPerson(_) => StatusCode::NOT_FOUND,
        RecordsError::Stale { .. }
        | RecordsError::Taken(_)
        | RecordsError::Nothing(_)
        | RecordsError::Withdrawn { .. }
        | RecordsError::Corrected { .. }
        | RecordsError::Token(_)
        | RecordsError::Closed(_)
        | RecordsError::Open(_)
        | RecordsError::Accepted { .. }
        | RecordsError::Serial(_)
        | RecordsError::Retired { .. }
        | RecordsError::LastKeeper { .. }
        | RecordsError::NotEmpty(_) => StatusCode::CONFLICT,
        RecordsError::Reading(_)
        | RecordsError::Day(_)
        | RecordsError::Unnamed(_)
        | RecordsError::Word(_)
        | RecordsError::Hash => StatusCode::UNPROCESSABLE_ENTITY,
        away if away.is_away() => StatusCode::SERVICE_UNAVAILABLE,
        _ => StatusCode::INTERNAL_SERVER_ERROR,
    }
}

/// What the records say. What a database says of itself, as its address, is for no page.
fn in_words(error: &RecordsError) -> String {
    match error {
        away if away.is_away() => "The records cannot be reached at this moment. If you were \
            saving something, look whether it is there before you send it again. Ask again in a \
            minute; if it stays so, tell the person who runs this workbench."
            .into(),
        RecordsError::Database(_) | RecordsError::Migration(_) | RecordsError::File { .. } => {
            "The records could not do that, and nothing was saved. Tell the person who runs this \
             workbench what you did."
                .into()
        }
        other => other.to_string(),
    }
}

impl Fault {
    fn page(&self, reader: &Reader) -> Markup {
        let content = html! {
            h1 { "That did not work" }
            @match self {
                Fault::Book(problems) => (look::problems(problems)),
                other => p.caution { (other.to_string()) },
            }
            p { a href="/" { "To the books" } }
        };
        page("That did not work", reader, &Place::default(), &content)
    }
}

impl IntoResponse for Fault {
    fn into_response(self) -> Response {
        let status = self.status();
        (status, Extension(Arc::new(self))).into_response()
    }
}

/// Shows a fault as a page, in the reader's own light and units.
pub(crate) async fn shown(reader: Reader, request: Request, next: Next) -> Response {
    let answer = next.run(request).await;
    match answer.extensions().get::<Arc<Fault>>() {
        Some(fault) => (answer.status(), fault.page(&reader)).into_response(),
        None => answer,
    }
}

/// The page for an address that is none.
pub(crate) async fn no_page() -> Fault {
    Fault::Missing("There is no page at this address.".into())
}
