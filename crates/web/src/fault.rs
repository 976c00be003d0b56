//! What a page says when it cannot do what was asked.

use crate::look;
use crate::reader::Reader;
use crate::shell::{Place, page};
use crate::who::Who;
use axum::Extension;
use axum::extract::Request;
use axum::http::StatusCode;
use axum::http::header::{HeaderValue, RETRY_AFTER};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use maud::{Markup, html};
use paper::PaperError;
use records::RecordsError;
use std::io::Write;
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
    /// It takes somebody who is signed in.
    #[error(
        "You are not signed in, or were signed out since nothing was done for half an hour. \
         Nothing was saved. What you typed is kept by your browser: sign in, in a second tab or \
         window, then go back to the page and send it again."
    )]
    SignIn,
    /// It takes another role.
    #[error("{0}")]
    NotAllowed(String),
    /// After so many wrong tries the next has to wait: so many seconds.
    #[error("Too many tries failed. Wait {} and try again.", waiting(*.0))]
    TooMany(i64),
    /// Too many ask for the same at once.
    #[error("Too many are signing in at this moment. Try again in a minute.")]
    Busy,
    /// A comparison has no answer.
    #[error("{}.", crate::compare::in_a_sentence(.0))]
    Choose(Box<study::choose::ChooseError>),
    /// A comparison was given up, since it took too long or waited too long for others.
    #[error("{}", .0.words())]
    Unfinished(crate::compare::Unfinished),
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
            Fault::SignIn => StatusCode::UNAUTHORIZED,
            Fault::NotAllowed(_) => StatusCode::FORBIDDEN,
            Fault::TooMany(_) => StatusCode::TOO_MANY_REQUESTS,
            Fault::Busy => StatusCode::SERVICE_UNAVAILABLE,
            Fault::Misread(_) => StatusCode::BAD_REQUEST,
            Fault::TooLarge(_) => StatusCode::PAYLOAD_TOO_LARGE,
            Fault::Book(_) => StatusCode::UNPROCESSABLE_ENTITY,
            Fault::Study(study::StudyError::Layout(
                book::LayoutError::NoLine { .. } | book::LayoutError::NoScene { .. },
            )) => StatusCode::NOT_FOUND,
            Fault::Study(_) => StatusCode::UNPROCESSABLE_ENTITY,
            Fault::Records(error) => of_records(error),
            Fault::Choose(_) => StatusCode::UNPROCESSABLE_ENTITY,
            Fault::Unfinished(_) => StatusCode::SERVICE_UNAVAILABLE,
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
        | RecordsError::NoComparison { .. }
        | RecordsError::NoVersion { .. }
        | RecordsError::NoPerson(_) => StatusCode::NOT_FOUND,
        RecordsError::Stale { .. }
        | RecordsError::Taken(_)
        | RecordsError::ComparisonTaken(_)
        | RecordsError::ComparisonStale { .. }
        | RecordsError::ComparisonWithdrawn(_)
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
            @match (self, &reader.who) {
                (Fault::SignIn, _) | (_, Who::Nobody) => p { a.button href="/sign-in" { "Sign in" } },
                _ => p { a href="/" { "To the books" } },
            }
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
    let status = answer.status();
    let fault = answer.extensions().get::<Arc<Fault>>().cloned();
    if reader.who != Who::Own && status == StatusCode::INTERNAL_SERVER_ERROR {
        let inside = answer
            .extensions()
            .get::<Inside>()
            .map(|inside| inside.0.clone());
        return kept_inside(&reader, inside.or(fault.map(|fault| fault.to_string())));
    }
    match fault {
        Some(fault) => {
            let mut page = (status, fault.page(&reader)).into_response();
            if let Fault::TooMany(seconds) = *fault {
                page.headers_mut()
                    .insert(RETRY_AFTER, HeaderValue::from(seconds));
            }
            page
        }
        None => answer,
    }
}

/// What went wrong, on an answer that says it in its own way.
#[derive(Debug, Clone)]
pub(crate) struct Inside(pub String);

/// What went wrong inside is written to the log of the program; who asked is told a
/// number by which it is found there.
fn kept_inside(reader: &Reader, inside: Option<String>) -> Response {
    let number = crate::secret::short();
    let why = inside.unwrap_or_else(|| "the answer was not made".into());
    let line = format!(
        "handline: fault {number}: {}\n",
        why.replace(['\n', '\r'], " ")
    );
    let _ = std::io::stderr().write_all(line.as_bytes());
    let content = html! {
        h1 { "That did not work" }
        p.caution {
            "Something went wrong inside. Try again; if it goes wrong again, tell who runs this \
             workbench the number " b { (number) } ", by which it is found in the log."
        }
        p { a href="/" { "To the books" } }
    };
    let page = page("That did not work", reader, &Place::default(), &content);
    (StatusCode::INTERNAL_SERVER_ERROR, page).into_response()
}

/// "30 seconds", "4 minutes".
fn waiting(seconds: i64) -> String {
    match seconds {
        1 => "1 second".into(),
        ..=90 => format!("{seconds} seconds"),
        _ => format!("{} minutes", (seconds + 59) / 60),
    }
}

/// The page for an address that is none.
pub(crate) async fn no_page() -> Fault {
    Fault::Missing("There is no page at this address.".into())
}
