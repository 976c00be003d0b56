//! People: signing in and out, who may do what in a department, who did what, and links
//! that show one sheet to whoever has them.

mod account;
mod links;
mod posts;
mod sheet;
mod sign_in;
mod trail;
mod welcome;

use crate::workbench::Workbench;
use axum::Router;
use axum::routing::{get, post};
use std::sync::Arc;

/// What there is where people sign in.
pub(crate) fn routes() -> Router<Arc<Workbench>> {
    Router::new()
        .route("/sign-in", get(sign_in::asked).post(sign_in::sent))
        .route("/sign-out", post(sign_in::out))
        .route("/account", get(account::shown))
        // Whoever comes back to a refused step, to change units, sees the account.
        .route(
            "/account/password",
            post(account::password).get(account::shown),
        )
        .route(
            "/account/elsewhere",
            post(account::elsewhere).get(account::shown),
        )
        .route(
            "/new-password/{token}",
            get(welcome::asked).post(welcome::sent),
        )
        .route("/book/{slug}/people", get(posts::shown).post(posts::added))
        .route(
            "/book/{slug}/people/role",
            post(posts::role).get(posts::shown),
        )
        .route(
            "/book/{slug}/people/password",
            post(posts::password).get(posts::shown),
        )
        .route("/book/{slug}/links", get(links::shown).post(links::made))
        .route(
            "/book/{slug}/links/{id}/withdraw",
            post(links::withdrawn).get(links::back),
        )
        .route("/sheet/{token}", get(sheet::shown))
        .route("/sheet/{token}/page/{number}", get(sheet::picture))
        .route("/sheet/{token}/pdf", get(sheet::pdf))
}

/// What there is on everybody's workbench.
pub(crate) fn everywhere() -> Router<Arc<Workbench>> {
    Router::new().route("/book/{slug}/trail", get(trail::shown))
}

/// A form's field for a password. `again` is what a browser is told that it is.
fn secret(name: &str, label: &str, again: &str, wrong: Option<&str>, hint: &str) -> maud::Markup {
    let (told, hinted) = (format!("{name}-w"), format!("{name}-hint"));
    let described = match (wrong, hint) {
        (None, "") => None,
        (None, _) => Some(hinted.clone()),
        (Some(_), "") => Some(told.clone()),
        (Some(_), _) => Some(format!("{told} {hinted}")),
    };
    maud::html! {
        div {
            label for=(name) { (label) }
            // The script puts a button beside it that shows what is typed.
            div.beside.secret {
                input type="password" id=(name) name=(name) required maxlength="512" autocomplete=(again)
                    aria-invalid=[wrong.map(|_| "true")] aria-describedby=[described];
            }
            @if let Some(wrong) = wrong { p.wrong id=(told) { (wrong) } }
            @if !hint.is_empty() { p.hint id=(hinted) { (hint) } }
        }
    }
}

/// What a new password takes.
const PASSWORD_HINT: &str = "12 to 128 characters, any you like. Three or four words that belong to \
    nobody are easily remembered and hard to guess. A password manager may fill it in.";

/// The first letter a capital, a full stop at the end.
fn said(why: &impl std::fmt::Display) -> String {
    format!("{}.", crate::tables::capital(&why.to_string()))
}
