//! An issued sheet is taken back.

use super::register::List;
use super::standing::{Held, register};
use crate::address;
use crate::fault::Fault;
use crate::form::{Filled, Pairs, Sent};
use crate::reader::Reader;
use crate::workbench::{Workbench, now};
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use maud::{Markup, html};
use std::sync::Arc;

/// The longest reason, in letters.
const LONGEST: usize = 300;

pub(super) async fn withdraw(
    State(workbench): State<Arc<Workbench>>,
    Path((slug, number)): Path<(String, String)>,
    reader: Reader,
    Filled(pairs): Filled<Pairs>,
) -> Result<Response, Fault> {
    let why = Sent(pairs).own("why");
    let opened = workbench.open(&slug).await?;
    let held = register(&workbench, &opened).await?;
    let id = held
        .iter()
        .map(|held| held.issue.id)
        .find(|id| id.to_string() == number)
        .ok_or_else(|| {
            Fault::Missing(format!(
                "The register of this book has no sheet number {number}."
            ))
        })?;
    let letters = why.chars().count();
    let wrong = match letters {
        0 => "Say why, as \"torn down\" or \"the hose is sold\".".to_string(),
        1..=LONGEST => {
            workbench
                .records
                .withdraw(id, now(), &reader.name, &why)
                .await?;
            let page = format!("/issued?told=withdrawn#sheet-{id}");
            return Ok(Redirect::to(&address::book(&slug, &page)).into_response());
        }
        _ => {
            format!("The reason has {letters} letters; at most {LONGEST} are kept. Say it shorter.")
        }
    };
    let list = List {
        opened: &opened,
        reader: &reader,
        held: &held,
        search: &Default::default(),
        wrong: Some((id, &wrong)),
    };
    Ok((StatusCode::UNPROCESSABLE_ENTITY, list.page()).into_response())
}

/// The form at a sheet of the register; `wrong` is a sheet whose reason was no good.
pub(super) fn form(slug: &str, held: &Held, wrong: Option<(i64, &str)>) -> Markup {
    let id = held.issue.id;
    let action = address::book(slug, &format!("/issued/{id}/withdraw"));
    let wrong = wrong.filter(|(of, _)| *of == id).map(|(_, why)| why);
    let field = format!("why-{id}");
    html! {
        details.no-print open[wrong.is_some()] {
            summary { "Take it back: withdraw" }
            form.form method="post" action=(action) {
                div {
                    label for=(field) { "Why " (held.title()) " is withdrawn" }
                    div.beside {
                        input type="text" id=(field) name="why" required maxlength=(LONGEST) autocomplete="off"
                            aria-invalid=[wrong.map(|_| "true")] aria-describedby=[wrong.map(|_| format!("{field}-w"))];
                        button { "Withdraw" }
                    }
                    @if let Some(wrong) = wrong { p.wrong id=(format!("{field}-w")) { (wrong) } }
                }
            }
        }
    }
}
