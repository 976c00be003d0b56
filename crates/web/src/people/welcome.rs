//! The link by which somebody sets a password of their own, once.

use super::{PASSWORD_HINT, said, secret};
use crate::fault::Fault;
use crate::form::Filled;
use crate::password;
use crate::reader::Reader;
use crate::served::From;
use crate::shell::{Place, page};
use crate::workbench::{Workbench, now};
use axum::extract::{Extension, Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use maud::{Markup, html};
use serde::Deserialize;
use std::sync::Arc;

fn over() -> Fault {
    Fault::Missing(
        "This link was used, or is over, or is not whole. Ask the keeper of your department for \
         another."
            .into(),
    )
}

pub(super) async fn asked(
    State(workbench): State<Arc<Workbench>>,
    Path(token): Path<String>,
    reader: Reader,
) -> Result<Markup, Fault> {
    let name = workbench.records.welcome(&token, now()).await?;
    Ok(shown(&reader, &name.ok_or_else(over)?, None))
}

fn shown(reader: &Reader, name: &str, wrong: Option<&str>) -> Markup {
    let content = html! {
        h1 { "Set your password" }
        p { "You sign in with the name " b { (name) } ", and with the password that you set here. Nobody else sees it." }
        form.form method="post" {
            input type="text" name="username" value=(name) autocomplete="username" hidden;
            (secret("password", "Your password", "new-password", wrong, PASSWORD_HINT))
            div.actions { button.first { "Set it" } }
        }
    };
    page("Set your password", reader, &Place::default(), &content)
}

#[derive(Deserialize)]
pub(super) struct Sent {
    password: String,
}

pub(super) async fn sent(
    State(workbench): State<Arc<Workbench>>,
    Extension(From(from)): Extension<From>,
    Path(token): Path<String>,
    reader: Reader,
    Filled(sent): Filled<Sent>,
) -> Result<Response, Fault> {
    let records = &workbench.records;
    let name = records.welcome(&token, now()).await?.ok_or_else(over)?;
    if let Err(why) = password::sound(&sent.password, &name) {
        let page = shown(&reader, &name, Some(&said(&why)));
        return Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response());
    }
    let hash = password::hashed(sent.password).await?;
    let used = records.use_welcome(&token, &hash, (&from, now())).await?;
    used.ok_or_else(over)?;
    Ok(Redirect::to("/sign-in?told=set").into_response())
}
