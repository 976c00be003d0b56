//! Where the workbench is reached, for the codes on paper.

use super::choice::{Asked, Choice};
use super::list;
use crate::address;
use crate::fault::Fault;
use crate::form::{Filled, Pairs, Sent};
use crate::reader::Reader;
use crate::settings::text_cookie;
use crate::workbench::{Opened, Workbench};
use axum::extract::{Path, State};
use axum::http::header::SET_COOKIE;
use axum::http::{StatusCode, Uri};
use axum::response::{AppendHeaders, IntoResponse, Redirect, Response};
use maud::{Markup, html};
use std::sync::Arc;

/// The longest that is kept; a QR code takes no more.
const LONGEST: usize = 100;

/// An address as it is kept, or why it goes on no paper.
pub(crate) fn sound(text: &str) -> Result<String, String> {
    let plain = text.trim().trim_end_matches('/');
    let letters = plain.chars().count();
    if letters > LONGEST {
        return Err(format!(
            "it has {letters} letters; {LONGEST} go into a code that a telephone reads"
        ));
    }
    if !plain.bytes().all(|byte| byte.is_ascii_graphic())
        || plain.contains(['"', '<', '>', '?', '#'])
    {
        return Err("leave out spaces, ? and #, and letters beyond a to z".into());
    }
    let uri = plain.parse::<Uri>().ok();
    let uri = uri.filter(|uri| matches!(uri.scheme_str(), Some("http" | "https")));
    match uri.as_ref().and_then(Uri::host) {
        None | Some("") => {
            Err("write it with https:// before it, as https://handline.example".into())
        }
        Some("localhost" | "[::1]" | "[::]" | "0.0.0.0") => Err(own_only()),
        Some(host) if host.starts_with("127.") => Err(own_only()),
        Some(_) => Ok(plain.into()),
    }
}

fn own_only() -> String {
    "it leads to this computer only; a telephone that reads the code looks elsewhere. Leave it empty".into()
}

/// What the QR codes lead to.
pub(crate) fn of_codes(address: &str) -> String {
    format!("{address}/paper/...")
}

pub(super) async fn set(
    State(workbench): State<Arc<Workbench>>,
    Path(slug): Path<String>,
    reader: Reader,
    Filled(pairs): Filled<Pairs>,
) -> Result<Response, Fault> {
    let text = Sent(pairs).own("address");
    let kept = match text.as_str() {
        "" => Ok(String::new()),
        text => sound(text),
    };
    match kept {
        Ok(kept) => {
            let set = AppendHeaders([(SET_COOKIE, text_cookie("address", &kept, LONGEST))]);
            let back = Redirect::to(&address::book(&slug, "/paper"));
            Ok((set, back).into_response())
        }
        Err(why) => {
            let opened = workbench.open(&slug).await?;
            let choice = Choice::of(&Asked::default(), &reader, &opened.book)?;
            let wrong = Some((text.as_str(), why.as_str()));
            let content = list::content(&workbench, &opened, &reader, choice, wrong).await?;
            let page = list::framed(&opened, &reader, &content);
            Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response())
        }
    }
}

/// The form; `wrong` is what was typed, and why it cannot be kept.
pub(super) fn form(opened: &Opened, reader: &Reader, wrong: Option<(&str, &str)>) -> Markup {
    let value = match wrong {
        Some((typed, _)) => typed,
        None => reader.address.as_deref().unwrap_or(""),
    };
    html! {
        form.form.name method="post" action=(address::book(&opened.slug, "/paper/address")) {
            label for="address" { "Address of this workbench, for the codes on paper" }
            div.beside {
                input type="text" id="address" name="address" value=(value) inputmode="url" autocomplete="off"
                    aria-invalid=[wrong.map(|_| "true")]
                    aria-describedby=(if wrong.is_some() { "address-wrong address-hint" } else { "address-hint" });
                button { "Keep the address" }
            }
            @if let Some((typed, why)) = wrong { p.wrong id="address-wrong" { "\"" (typed) "\": " (why) "." } }
            p.hint id="address-hint" {
                "Kept in this browser. Handline answers on this computer only: write an address only where your own \
                 network passes it on to here, as https://handline.example. Left empty, the QR code holds the short \
                 code alone, to be typed at \"Look up a code\"."
            }
        }
    }
}
