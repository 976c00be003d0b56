//! Signing in, and out.

use super::secret;
use crate::fault::Fault;
use crate::form::Filled;
use crate::password;
use crate::reader::Reader;
use crate::secret::token;
use crate::served::{From, LONGEST, cookie, counted, no_cookie, token as had};
use crate::settings::way_back;
use crate::shell::{Place, page};
use crate::workbench::{Workbench, now};
use axum::extract::{Extension, Query, State};
use axum::http::header::{HeaderMap, SET_COOKIE};
use axum::http::{HeaderValue, StatusCode};
use axum::response::{IntoResponse, Redirect, Response};
use maud::{Markup, html};
use records::{By, SigningIn, Tries};
use serde::Deserialize;
use std::sync::Arc;

/// Tries that may fail before the next has to wait: of a name from one address, of a name
/// from anywhere, of an address with any name. OWASP ASVS 4.0.3, 2.2.1, has at most 100 in
/// an hour for one account.
const FREE: (i64, i64, i64) = (5, 50, 30);

#[derive(Deserialize)]
pub(super) struct Back {
    back: Option<String>,
    told: Option<String>,
}

pub(super) async fn asked(Query(asked): Query<Back>, reader: Reader) -> Response {
    let back = way_back(asked.back.as_deref());
    if reader.who.person().is_some() {
        return Redirect::to(&back).into_response();
    }
    let told = match asked.told.as_deref() {
        Some("out") => "You are signed out.",
        Some("set") => "Your password is set. Sign in with it.",
        Some("changed") => "Your password is changed. Sign in with the new one.",
        _ => "",
    };
    shown(&reader, &back, "", told, None).into_response()
}

fn shown(reader: &Reader, back: &str, name: &str, told: &str, wrong: Option<&str>) -> Markup {
    let content = html! {
        @if !told.is_empty() { p.told role="status" { (told) } }
        h1 { "Sign in" }
        @if let Some(wrong) = wrong { p.wrong #sign-in-w role="alert" { (wrong) } }
        form.form method="post" action="/sign-in" {
            input type="hidden" name="back" value=(back);
            div {
                label for="name" { "Your name" }
                input type="text" id="name" name="name" value=(name) required maxlength="100" autocomplete="username"
                    autocapitalize="none" spellcheck="false" aria-describedby=[wrong.map(|_| "sign-in-w")];
            }
            (secret("password", "Password", "current-password", None, ""))
            div.actions { button.first { "Sign in" } }
        }
        p.hint { "No name yet, or no longer the password? The keeper of your department makes a link by which you set one." }
        p.hint { "After half an hour in which nothing was asked for, and after twelve hours, you are signed out." }
    };
    page("Sign in", reader, &Place::default(), &content)
}

#[derive(Deserialize)]
pub(super) struct Sent {
    name: String,
    password: String,
    back: Option<String>,
}

pub(super) async fn sent(
    State(workbench): State<Arc<Workbench>>,
    Extension(From(from)): Extension<From>,
    headers: HeaderMap,
    reader: Reader,
    Filled(sent): Filled<Sent>,
) -> Result<Response, Fault> {
    let name = sent.name.trim();
    let back = way_back(sent.back.as_deref());
    let Some(hash) = tried(&workbench, name, &sent.password, &from).await? else {
        let wrong = "That name and that password do not go together. Look at both and try again.";
        let page = shown(&reader, &back, name, "", Some(wrong));
        return Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response());
    };
    let before = had(&headers);
    signed_in(&workbench, name, &hash, (before.as_deref(), &from), &back).await
}

/// Tries a password, and gives the hash that it was right for. Wrong tries are counted,
/// and after some the next has to wait.
pub(super) async fn tried(
    workbench: &Workbench,
    name: &str,
    password: &str,
    from: &str,
) -> Result<Option<String>, Fault> {
    let (records, tries) = (&workbench.records, tries(name, from));
    if let Some(seconds) = records.attempt(&tries, now()).await? {
        return Err(Fault::TooMany(seconds));
    }
    let person = records.person(name).await?;
    let known = person.is_some();
    let hash = person.and_then(|person| person.hash);
    if password::verified(password.into(), hash.clone()).await? {
        records.attempt_was_right(&tries).await?;
        return Ok(hash);
    }
    let name = known.then_some(name);
    records.attempt_failed(name, from, now()).await?;
    Ok(None)
}

fn tries(name: &str, from: &str) -> [Tries; 3] {
    let (pair, of_name, of_address) = FREE;
    let from = counted(from);
    let one = |of: String, free, forgives| Tries { of, free, forgives };
    [
        one(format!("name {name} from {from}"), pair, true),
        one(format!("name {name}"), of_name, false),
        one(format!("from {from}"), of_address, false),
    ]
}

/// Keeps a new session and leads to `back`. The token that the browser had before is good
/// no longer.
pub(super) async fn signed_in(
    workbench: &Workbench,
    name: &str,
    hash: &str,
    (before, from): (Option<&str>, &str),
    back: &str,
) -> Result<Response, Fault> {
    let (token, at) = (token()?, now());
    let new = SigningIn {
        name,
        hash,
        token: &token,
        before,
        ends: at + LONGEST,
        from,
        at,
    };
    if !workbench.records.sign_in(&new).await? {
        return Err(Fault::SignIn);
    }
    Ok(led(back, cookie(&token)))
}

/// To `page`, with a cookie.
pub(super) fn led(page: &str, cookie: Option<HeaderValue>) -> Response {
    let mut answer = Redirect::to(page).into_response();
    if let Some(cookie) = cookie {
        answer.headers_mut().append(SET_COOKIE, cookie);
    }
    answer
}

pub(super) async fn out(
    State(workbench): State<Arc<Workbench>>,
    reader: Reader,
) -> Result<Response, Fault> {
    if let Some(person) = reader.who.person() {
        let by = By::new(&person.name, now());
        workbench.records.sign_out(&person.token, &by).await?;
    }
    Ok(led("/sign-in?told=out", no_cookie()))
}
