//! What a reader's link shows: one sheet and its standing, and nothing beside it.

use crate::fault::Fault;
use crate::paper::{Held, attached, beside, of_link};
use crate::reader::Reader;
use crate::shell::alone;
use crate::workbench::{Opened, Workbench, now};
use axum::extract::{Path, State};
use axum::http::header::CONTENT_TYPE;
use axum::response::{IntoResponse, Response};
use maud::{Markup, html};
use std::sync::Arc;

fn over() -> Fault {
    Fault::Missing(
        "This link is over, or was withdrawn, or is not whole. Ask who gave it to you.".into(),
    )
}

/// The sheet of a link that is good.
async fn held(workbench: &Workbench, token: &str) -> Result<(Arc<Opened>, Held), Fault> {
    let link = workbench.records.link(token).await?;
    let link = link.filter(|link| link.is_good(now())).ok_or_else(over)?;
    let opened = workbench.open(&link.slug).await?;
    let all = crate::paper::register(workbench, &opened).await?;
    let own = all.into_iter().find(|held| held.issue.id == link.issue);
    Ok((opened, own.ok_or_else(over)?))
}

pub(super) async fn shown(
    State(workbench): State<Arc<Workbench>>,
    Path(token): Path<String>,
    reader: Reader,
) -> Result<Markup, Fault> {
    let (opened, held) = held(&workbench, &token).await?;
    let pages = match still_printed(&held) {
        true => pictures(&opened, &held, &reader).await?.len(),
        false => 0,
    };
    let content = html! {
        (of_link(&opened, &held))
        @if pages > 0 {
            h2 { "The sheet as it is now" }
            div.leaves {
                @for number in 1..=pages {
                    img.leaf src=(format!("/sheet/{token}/page/{number}")) loading=[(number > 1).then_some("lazy")]
                        alt=(format!("Page {number} of {pages}. The sheet as PDF, below, can be read aloud."));
                }
            }
            p.actions { a.button.first href=(format!("/sheet/{token}/pdf")) download { "The sheet as PDF" } }
        }
    };
    Ok(alone(&held.title(), &reader, &content))
}

/// It was not taken back, and the book still has what it is about.
fn still_printed(held: &Held) -> bool {
    !held.is_withdrawn() && !held.is_gone() && held.kind().is_some() && held.choice().is_some()
}

async fn pictures(
    opened: &Arc<Opened>,
    held: &Held,
    reader: &Reader,
) -> Result<Vec<String>, Fault> {
    let (proof, kind, subject) = proof(opened, held, reader)?;
    beside(move || {
        let sheet = proof.sheet(kind, &subject)?;
        Ok::<_, Fault>(paper::pages_svg(&sheet, &proof.paper)?)
    })
    .await?
}

fn proof(
    opened: &Arc<Opened>,
    held: &Held,
    reader: &Reader,
) -> Result<(crate::paper::Proof, paper::Kind, String), Fault> {
    let found = held.kind().zip(held.choice());
    let (kind, choice) = found.filter(|_| still_printed(held)).ok_or_else(over)?;
    let proof = crate::paper::Proof::new(opened, reader, choice);
    Ok((proof, kind, held.issue.subject.clone()))
}

pub(super) async fn picture(
    State(workbench): State<Arc<Workbench>>,
    Path((token, number)): Path<(String, String)>,
    reader: Reader,
) -> Result<Response, Fault> {
    let (opened, held) = held(&workbench, &token).await?;
    let pages = pictures(&opened, &held, &reader).await?;
    let index = number.parse::<usize>().ok().and_then(|n| n.checked_sub(1));
    let page = index.and_then(|index| pages.into_iter().nth(index));
    let page = page.ok_or_else(|| Fault::Missing("The sheet has no such page.".into()))?;
    Ok(([(CONTENT_TYPE, "image/svg+xml")], page).into_response())
}

pub(super) async fn pdf(
    State(workbench): State<Arc<Workbench>>,
    Path(token): Path<String>,
    reader: Reader,
) -> Result<Response, Fault> {
    let (opened, held) = held(&workbench, &token).await?;
    let (proof, kind, subject) = proof(&opened, &held, &reader)?;
    let (name, pressed) = beside(move || {
        let sheet = proof.sheet(kind, &subject)?;
        let pressed = paper::press(&sheet, &proof.paper)?;
        Ok::<_, Fault>((paper::file_name(&sheet), pressed))
    })
    .await??;
    Ok(attached(&name, "application/pdf", pressed.pdf))
}
