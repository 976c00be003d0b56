//! Units, theme, name and address, kept in the reader's own browser.

use crate::workbench::Workbench;
use axum::extract::Form;
use axum::http::HeaderValue;
use axum::http::header::{LOCATION, SET_COOKIE};
use axum::response::{IntoResponse, Response};
use axum::routing::post;
use axum::{Router, http::StatusCode};
use serde::Deserialize;
use std::sync::Arc;

pub(crate) fn routes() -> Router<Arc<Workbench>> {
    Router::new().route("/settings", post(set))
}

#[derive(Deserialize)]
struct Wanted {
    units: Option<String>,
    theme: Option<String>,
    name: Option<String>,
    back: Option<String>,
}

async fn set(Form(wanted): Form<Wanted>) -> Response {
    let mut response = StatusCode::SEE_OTHER.into_response();
    let headers = response.headers_mut();
    let back = HeaderValue::from_str(&way_back(wanted.back.as_deref()));
    headers.insert(LOCATION, back.unwrap_or(HeaderValue::from_static("/")));
    let kept = [
        ("units", wanted.units),
        ("theme", wanted.theme),
        ("name", wanted.name.map(|name| to_cookie(&name, NAME))),
    ];
    for (key, value) in kept {
        let plain = value.filter(|v| v.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'%'));
        let Some(value) = plain else { continue };
        if let Ok(cookie) = HeaderValue::from_str(&cookie(key, &value)) {
            headers.append(SET_COOKIE, cookie);
        }
    }
    response
}

/// What tells a browser to keep a setting.
fn cookie(key: &str, value: &str) -> String {
    format!("{key}={value}; Path=/; Max-Age=31536000; SameSite=Lax; HttpOnly")
}

/// The same for a text of at most `most` characters.
pub(crate) fn text_cookie(key: &str, text: &str, most: usize) -> String {
    cookie(key, &to_cookie(text, most))
}

/// A page of this workbench, never another's. Its units give way to the ones chosen.
pub(crate) fn way_back(asked: Option<&str>) -> String {
    let asked = asked.unwrap_or("/");
    if !asked.starts_with('/') || asked.starts_with("//") || asked.contains(['\\', '\r', '\n']) {
        return "/".into();
    }
    let Some((path, question)) = asked.split_once('?') else {
        return asked.into();
    };
    let kept: Vec<&str> = question
        .split('&')
        .filter(|p| !p.starts_with("units="))
        .collect();
    match kept.is_empty() {
        true => path.into(),
        false => format!("{path}?{}", kept.join("&")),
    }
}

/// The most characters of a name.
const NAME: usize = 60;

/// A text of at most `most` characters, as bytes in hexadecimal after a per cent sign.
fn to_cookie(text: &str, most: usize) -> String {
    let short: String = text.trim().chars().take(most).collect();
    short.bytes().map(|byte| format!("%{byte:02x}")).collect()
}

pub(crate) fn from_cookie(value: &str) -> String {
    let bytes: Option<Vec<u8>> = value
        .split('%')
        .skip(1)
        .map(|pair| u8::from_str_radix(pair, 16).ok())
        .collect();
    let text = bytes.and_then(|bytes| String::from_utf8(bytes).ok());
    text.unwrap_or_default()
        .chars()
        .filter(|c| !c.is_control())
        .collect()
}
