//! Why a question got no answer, as problem details (RFC 9457).

use super::shapes::Problem;
use crate::fault::{Fault, Inside};
use axum::Json;
use axum::http::header::CONTENT_TYPE;
use axum::http::{HeaderValue, StatusCode};
use axum::response::{IntoResponse, Response};
use serde::Serialize;
use serde_json::{Value, json};
use study::ask::AskError;
use utoipa::{IntoResponses, ToSchema};

/// The media type of problem details.
const KIND: &str = "application/problem+json";

/// Why a question got no answer.
#[derive(ToSchema, Serialize)]
#[schema(example = json!({
    "type": "about:blank", "title": "Bad Request", "status": 400,
    "detail": "gate: 150 % is not a share between 0 % and 100 %"
}))]
pub(super) struct Refusal {
    /// Always "about:blank": the status says what kind it is.
    #[serde(rename = "type")]
    kind: String,
    title: String,
    /// As in the answer's first line.
    status: u16,
    /// The thing, the number, and what would mend it.
    detail: String,
    /// Of a book's file: its name.
    file: Option<String>,
    /// Of a book's file: everything that is wrong with it.
    problems: Option<Vec<Problem>>,
    /// Of a book's file: how many more problems there are.
    left_off: Option<usize>,
}

/// The refusals that every question about a book can get.
#[derive(IntoResponses)]
#[expect(dead_code, reason = "describes what `Told` writes")]
pub(super) enum Refusals {
    /// The question is not written right.
    #[response(status = 400, content_type = "application/problem+json")]
    Misread(#[to_schema] Refusal),
    /// There is no such book, line or scene.
    #[response(status = 404, content_type = "application/problem+json")]
    Missing(#[to_schema] Refusal),
    /// The question is understood and has no answer.
    #[response(status = 422, content_type = "application/problem+json")]
    NoAnswer(#[to_schema] Refusal),
}

/// A refusal on its way out.
pub(super) struct Told {
    status: StatusCode,
    detail: String,
    problems: Option<Value>,
}

impl Told {
    pub fn new(status: StatusCode, detail: impl Into<String>) -> Self {
        Told {
            status,
            detail: detail.into(),
            problems: None,
        }
    }
}

impl<E: Into<Fault>> From<E> for Told {
    fn from(error: E) -> Self {
        let fault = error.into();
        let problems = match &fault {
            Fault::Book(problems) => Some(problems.json()),
            _ => None,
        };
        Told {
            problems,
            ..Told::new(fault.status(), fault.to_string())
        }
    }
}

impl From<AskError> for Fault {
    fn from(error: AskError) -> Self {
        match error {
            AskError::Misread(text) => Fault::Misread(text),
            AskError::NoAnswer(error) => Fault::Study(error),
        }
    }
}

impl IntoResponse for Told {
    fn into_response(self) -> Response {
        let mut body = json!({
            "type": "about:blank",
            "title": self.status.canonical_reason().unwrap_or("No answer"),
            "status": self.status.as_u16(),
            "detail": &self.detail,
        });
        let members = (body.as_object_mut(), self.problems);
        if let (Some(body), Some(Value::Object(problems))) = members {
            body.extend(problems);
        }
        let kind = [(CONTENT_TYPE, HeaderValue::from_static(KIND))];
        let mut answer = (self.status, kind, Json(body)).into_response();
        if self.status == StatusCode::INTERNAL_SERVER_ERROR {
            answer.extensions_mut().insert(Inside(self.detail));
        }
        answer
    }
}

/// A question asked with the wrong method.
pub(super) async fn wrong_method() -> Told {
    Told::new(
        StatusCode::METHOD_NOT_ALLOWED,
        "questions are asked with GET, and /api/check and comparisons by their text with POST; /api lists them",
    )
}
