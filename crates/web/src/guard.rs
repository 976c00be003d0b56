//! What stands before every page: whose address it is, where a form comes from,
//! how large it may be, what the browser may load.

use crate::fault::{self, Fault};
use crate::served::{self, Served};
use crate::workbench::Workbench;
use axum::Router;
use axum::body::{Body, HttpBody};
use axum::extract::{DefaultBodyLimit, Request, State};
use axum::http::StatusCode;
use axum::http::header::{
    CONTENT_LENGTH, CONTENT_SECURITY_POLICY, HOST, HeaderName, HeaderValue, REFERRER_POLICY,
    STRICT_TRANSPORT_SECURITY, X_CONTENT_TYPE_OPTIONS, X_FRAME_OPTIONS,
};
use axum::middleware::{self, Next};
use axum::response::{IntoResponse, Response};
use std::future::poll_fn;
use std::pin::Pin;
use std::sync::Arc;
use tower_http::catch_panic::CatchPanicLayer;
use tower_http::compression::CompressionLayer;
use tower_http::csrf::CsrfLayer;
use tower_http::set_header::SetResponseHeaderLayer;
use tower_http::timeout::TimeoutLayer;

/// A file may be so large; the reader of books refuses what is over 1 MB and says so.
const LARGEST: usize = 2_000_000;

/// So much of a larger one is taken in for the sake of an answer.
const THROWN_AWAY: usize = 200_000_000;

/// Drawings carry a style of their own.
const POLICY: &str = "default-src 'self'; style-src 'self' 'unsafe-inline'; img-src 'self' data:; \
                      base-uri 'none'; form-action 'self'; frame-ancestors 'none'; object-src 'none'";

/// Once seen encrypted, this host and those below it are not asked otherwise for a year.
const ENCRYPTED: &str = "max-age=31536000; includeSubDomains";

/// The names of this computer for itself.
const HERE: [&str; 3] = ["127.0.0.1", "localhost", "[::1]"];

type Pages = Router<Arc<Workbench>>;

/// For the reader at this computer.
pub(crate) fn around(pages: Pages) -> Pages {
    let pages = pages
        .layer(middleware::from_fn(small_enough))
        .layer(middleware::from_fn(fault::shown));
    outermost(pages, HERE.map(String::from).into())
}

/// For people who are elsewhere.
pub(crate) fn around_people(pages: Pages, workbench: &Arc<Workbench>, served: Served) -> Pages {
    let served = Arc::new(served);
    let who = (workbench.clone(), served.clone());
    let late = StatusCode::REQUEST_TIMEOUT;
    let pages = pages
        .layer(middleware::from_fn(small_enough))
        .layer(middleware::from_fn_with_state(
            workbench.clone(),
            served::admitted,
        ))
        .layer(middleware::from_fn(fault::shown))
        .layer(middleware::from_fn_with_state(who, served::identified))
        .layer(TimeoutLayer::with_status_code(late, served.patience));
    let names = served.names.clone();
    outermost(pages, names)
        .layer(middleware::from_fn_with_state(served, served::encrypted))
        .layer(always(STRICT_TRANSPORT_SECURITY, ENCRYPTED))
}

fn always(name: HeaderName, value: &'static str) -> SetResponseHeaderLayer<HeaderValue> {
    SetResponseHeaderLayer::overriding(name, HeaderValue::from_static(value))
}

fn outermost(pages: Pages, names: Vec<String>) -> Pages {
    pages
        .layer(DefaultBodyLimit::max(LARGEST))
        .layer(CsrfLayer::new())
        .layer(middleware::from_fn_with_state(Arc::new(names), only_here))
        .layer(CatchPanicLayer::new())
        .layer(always(CONTENT_SECURITY_POLICY, POLICY))
        .layer(always(X_CONTENT_TYPE_OPTIONS, "nosniff"))
        .layer(always(X_FRAME_OPTIONS, "DENY"))
        .layer(always(REFERRER_POLICY, "same-origin"))
        .layer(CompressionLayer::new())
}

/// Refuses a request that names another host: a page elsewhere could otherwise have
/// its own name point here and read along.
async fn only_here(
    State(names): State<Arc<Vec<String>>>,
    request: Request,
    next: Next,
) -> Response {
    let host = request.headers().get(HOST).and_then(|h| h.to_str().ok());
    let name = host.map(|host| match host.rsplit_once(':') {
        Some((name, port)) if port.bytes().all(|b| b.is_ascii_digit()) => name,
        _ => host,
    });
    match name {
        Some(name) if names.iter().any(|own| own.eq_ignore_ascii_case(name)) => {
            next.run(request).await
        }
        _ => {
            let text = match names.iter().any(|own| own == "localhost") {
                true => "Open Handline at the address it printed, on this computer.",
                false => "Open Handline at the address that it has been given.",
            };
            (StatusCode::MISDIRECTED_REQUEST, text).into_response()
        }
    }
}

/// Refuses what is too large before any of it is kept.
async fn small_enough(request: Request, next: Next) -> Response {
    let length = request.headers().get(CONTENT_LENGTH);
    let length: Option<usize> = length.and_then(|l| l.to_str().ok()?.parse().ok());
    if length.is_none_or(|length| length <= LARGEST) {
        return next.run(request).await;
    }
    throw_away(request.into_body()).await;
    Fault::too_large().into_response()
}

/// Takes a body in and forgets it: a browser reads no answer before it has sent all.
async fn throw_away(mut body: Body) {
    let mut taken = 0;
    while let Some(Ok(frame)) = poll_fn(|cx| Pin::new(&mut body).poll_frame(cx)).await {
        taken += frame.data_ref().map_or(0, |data| data.len());
        if taken > THROWN_AWAY {
            return;
        }
    }
}
