//! One's own account: what one may do where, the password, and where one is signed in.

use super::sign_in::{led, signed_in, tried};
use super::{PASSWORD_HINT, said, secret};
use crate::address;
use crate::fault::Fault;
use crate::form::Filled;
use crate::password;
use crate::reader::Reader;
use crate::served::{From, IDLE, no_cookie};
use crate::shell::{Place, page};
use crate::when::when;
use crate::who::SignedIn;
use crate::workbench::{Workbench, now};
use axum::extract::{Extension, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use maud::{Markup, html};
use records::{By, Kept, Session};
use serde::Deserialize;
use std::sync::Arc;

#[derive(Deserialize)]
pub(super) struct Told {
    told: Option<String>,
}

/// Which field of a form was wrong, and why.
type Wrong<'a> = Option<(&'static str, &'a str)>;

pub(super) async fn shown(
    State(workbench): State<Arc<Workbench>>,
    Query(Told { told }): Query<Told>,
    reader: Reader,
) -> Result<Markup, Fault> {
    let person = reader.who.person().ok_or(Fault::SignIn)?;
    let told = match told.as_deref() {
        Some("changed") => "Your password is changed. Everywhere else you are signed out.",
        Some("elsewhere") => "Everywhere else you are signed out.",
        _ => "",
    };
    account(&workbench, &reader, person, told, None).await
}

async fn account(
    workbench: &Workbench,
    reader: &Reader,
    person: &SignedIn,
    told: &str,
    wrong: Wrong<'_>,
) -> Result<Markup, Fault> {
    let records = &workbench.records;
    let sessions = records.sessions(&person.name, &person.token, now(), IDLE);
    let sessions = sessions.await?;
    let books = records.books().await?;
    let of = |field| wrong.filter(|(name, _)| *name == field).map(|(_, why)| why);
    let content = html! {
        @if !told.is_empty() { p.told role="status" { (told) } }
        h1 { (person.name) }
        (may(person, &books))
        h2 { "Change the password" }
        form.form method="post" action="/account/password" {
            input type="text" name="username" value=(person.name) autocomplete="username" hidden;
            (secret("current", "The password that you have", "current-password", of("current"), ""))
            (secret("password", "The new one", "new-password", of("password"), PASSWORD_HINT))
            div.actions { button.first { "Change it" } }
        }
        h2 { "Where you are signed in" }
        (list(&sessions))
        @if sessions.len() > 1 {
            form.form method="post" action="/account/elsewhere" {
                (secret("own", "Your password", "current-password", of("own"), ""))
                div.actions { button { "Sign out everywhere else" } }
            }
        }
    };
    Ok(page("Your account", reader, &Place::default(), &content))
}

fn may(person: &SignedIn, books: &[Kept]) -> Markup {
    let own = books.iter();
    let own = own.filter_map(|kept| Some((kept, person.posts.get(&kept.slug)?)));
    html! {
        @if person.posts.is_empty() {
            p { "You belong to no department yet. A keeper can add you by your name, as it is written here." }
        } @else {
            ul {
                @for (kept, role) in own {
                    li { a.reach href=(address::book(&kept.slug, "")) { (kept.name) } ": " (role.word()) }
                }
            }
        }
    }
}

fn list(sessions: &[Session]) -> Markup {
    html! {
        ul {
            @for session in sessions {
                li {
                    "Since " (when(session.made)) ", last seen " (when(session.seen))
                    @if session.own { b { " (here)" } }
                }
            }
        }
    }
}

#[derive(Deserialize)]
pub(super) struct Change {
    current: String,
    password: String,
}

pub(super) async fn password(
    State(workbench): State<Arc<Workbench>>,
    Extension(From(from)): Extension<From>,
    reader: Reader,
    Filled(sent): Filled<Change>,
) -> Result<Response, Fault> {
    let person = reader.who.person().ok_or(Fault::SignIn)?.clone();
    let why = if tried(&workbench, &person.name, &sent.current, &from)
        .await?
        .is_none()
    {
        (
            "current",
            "That is not the password that you have.".to_string(),
        )
    } else if let Err(why) = password::sound(&sent.password, &person.name) {
        ("password", said(&why))
    } else {
        let hash = password::hashed(sent.password).await?;
        let by = By::new(&person.name, now());
        let records = &workbench.records;
        records.set_person(&person.name, Some(&hash), &by).await?;
        let back = "/account?told=changed";
        return signed_in(&workbench, &person.name, &hash, (None, &from), back).await;
    };
    let wrong = Some((why.0, why.1.as_str()));
    let page = account(&workbench, &reader, &person, "", wrong).await?;
    Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response())
}

#[derive(Deserialize)]
pub(super) struct Elsewhere {
    own: String,
}

pub(super) async fn elsewhere(
    State(workbench): State<Arc<Workbench>>,
    Extension(From(from)): Extension<From>,
    reader: Reader,
    Filled(sent): Filled<Elsewhere>,
) -> Result<Response, Fault> {
    let Some(person) = reader.who.person().cloned() else {
        return Ok(led("/sign-in", no_cookie()));
    };
    if tried(&workbench, &person.name, &sent.own, &from)
        .await?
        .is_none()
    {
        let wrong = Some(("own", "That is not your password."));
        let page = account(&workbench, &reader, &person, "", wrong).await?;
        return Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response());
    }
    let by = By::new(&person.name, now());
    let records = &workbench.records;
    records.sign_out_elsewhere(&person.token, &by).await?;
    Ok(Redirect::to("/account?told=elsewhere").into_response())
}
