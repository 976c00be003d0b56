//! A comparison kept by the department, as versions of which none is ever changed.

use super::asked::{self, Question};
use super::list::{title, who};
use crate::address;
use crate::fault::Fault;
use crate::form::{Filled, Pairs, Sent};
use crate::reader::Reader;
use crate::shell::{Place, page};
use crate::when::when;
use crate::workbench::{Opened, Workbench, now};
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use book::comparison::{self as file, Comparison};
use maud::{Markup, html};
use records::{By, ComparisonEntry, NewComparison, RecordsError};
use std::sync::Arc;

/// Versions that are listed.
const LISTED: i64 = 50;

/// The longest name.
const NAME: usize = 60;

/// Keeps what a form sends: as a new comparison, or as the next version of one.
pub(super) async fn saved(
    State(workbench): State<Arc<Workbench>>,
    Path(slug): Path<String>,
    reader: Reader,
    Filled(pairs): Filled<Pairs>,
) -> Result<Response, Fault> {
    let sent = Sent(pairs);
    let opened = workbench.open(&slug).await?;
    let text = sent.get("text").replace("\r\n", "\n");
    let read = file::read_for(text.as_bytes(), "comparison", &opened.book).map_err(Fault::Book)?;
    let name: String = crate::slug(&sent.own("name")).chars().take(NAME).collect();
    if sent.own("name").is_empty() {
        let text = "Give the comparison a name, such as \"crosslays\". Nothing was kept.";
        return Err(Fault::Misread(text.into()));
    }
    let new = NewComparison {
        name: &name,
        title: read.title.as_deref().unwrap_or_default(),
        text: &text,
    };
    let by = By::new(&reader.name, now());
    let records = &workbench.records;
    match records.save_comparison(&slug, sent.base(), &new, &by).await {
        Ok(_) => {
            let page = address::and(asked::by_name(&slug, &name), "told", "kept");
            Ok(Redirect::to(&page).into_response())
        }
        Err(RecordsError::ComparisonTaken(_) | RecordsError::ComparisonStale { .. }) => {
            let versions = records.comparison_versions(&slug, &name, LISTED).await?;
            let content = conflict(&opened, &read, &versions, &sent);
            let place = Place::of(&opened, "Comparisons");
            let whole = page("Somebody else kept one", &reader, &place, &content);
            Ok((StatusCode::CONFLICT, whole).into_response())
        }
        Err(error) => Err(error.into()),
    }
}

/// Who was first, and what can be done with one's own.
fn conflict(
    opened: &Opened,
    mine: &Comparison,
    versions: &[ComparisonEntry],
    sent: &Sent,
) -> Markup {
    let slug = &opened.slug;
    let base = sent.base();
    let since = |one: &&ComparisonEntry| base.is_none_or(|base| one.number > base);
    let name = versions.first().map_or("", |one| one.name.as_str());
    let newest = versions.first().map_or(0, |one| one.number);
    html! {
        h1 { @match base { Some(_) => "Somebody else changed this comparison", None => "There is one of that name" } }
        p.caution {
            @match base {
                Some(base) => { "You had version " (base) "; the newest is version " (newest) ". " }
                None => { "The department keeps a comparison \"" (name) "\" already. " }
            }
            "Nothing of yours was kept, and nothing of theirs was overwritten."
        }
        section aria-labelledby="since" {
            h2 id="since" { "Theirs" }
            (entries(slug, versions.iter().filter(since)))
        }
        section aria-labelledby="mine" {
            h2 id="mine" { "Yours" }
            p { a href=(asked::by_text(slug, &file::write(mine))) { "Look at yours" } " beside theirs before you keep it." }
            form method="post" action=(asked::all(slug, "")) {
                input type="hidden" name="text" value=(sent.get("text"));
                input type="hidden" name="name" value=(name);
                input type="hidden" name="base" value=(newest);
                button.first { "Keep mine as version " (newest + 1) " of " (name) }
            }
            form.form method="post" action=(asked::all(slug, "")) {
                input type="hidden" name="text" value=(sent.get("text"));
                label for="other" { "Or under another name" }
                input id="other" name="name" maxlength=(NAME) required autocomplete="off";
                div.actions { button { "Keep it so" } }
            }
        }
    }
}

/// The form that keeps what a page is about.
pub(super) fn form(question: &Question, comparison: &Comparison) -> Markup {
    keeps(question, &file::write(comparison), "Keep it")
}

/// The same for a text; `label` says what is kept.
pub(super) fn keeps(question: &Question, text: &str, label: &str) -> Markup {
    let slug = &question.opened.slug;
    let changes = match &question.kept {
        Some(kept) => Some((kept.name.clone(), kept.newest)),
        None => {
            let base = question.look.base();
            base.map(|base| (question.look.own("changes"), base))
        }
    };
    html! {
        @if let Some((name, base)) = &changes {
            form.keep method="post" action=(asked::all(slug, "")) {
                input type="hidden" name="text" value=(text);
                input type="hidden" name="name" value=(name);
                input type="hidden" name="base" value=(base);
                button.first { (label) " as the next version of " (name) }
            }
        }
        form.form.keep method="post" action=(asked::all(slug, "")) {
            input type="hidden" name="text" value=(text);
            label for="keep-name" { @if changes.is_some() { "Or under another name" } @else { "Name, to keep it under" } }
            div.beside {
                input type="text" id="keep-name" name="name" required maxlength=(NAME) autocomplete="off" placeholder="crosslays";
                button { (label) }
            }
        }
    }
}

/// Which version is looked at, and whether it still counts.
pub(super) fn state(question: &Question) -> Markup {
    let Some(kept) = &question.kept else {
        let changes = question.look.own("changes");
        return html! {
            p.quiet {
                "Not kept. Its address holds all of it and can be shared. "
                @if !changes.is_empty() { "It changes comparison " (changes) "." }
            }
        };
    };
    let slug = &question.opened.slug;
    html! {
        p.quiet {
            (kept.name) ", version " (kept.number) " · " (when(kept.by.at)) " · " (who(&kept.by.who))
        }
        @if kept.number != kept.newest {
            p.caution { "This is an earlier version. " a href=(asked::by_name(slug, &kept.name)) { "See the newest, version " (kept.newest) } }
        }
        @if let Some(by) = &kept.withdrawn {
            div.stale {
                p { strong { "Withdrawn" } " " (when(by.at)) ", " (who(&by.who)) }
                form method="post" action=(asked::of(slug, "/bring-back")) {
                    input type="hidden" name="of" value=(kept.name);
                    button { "Bring it back" }
                }
            }
        }
    }
}

/// What was just done to it.
pub(super) fn told(look: &Sent) -> Markup {
    let text = match look.get("told") {
        "kept" => "Kept. Its address can be shared with everybody who reads this department.",
        "back" => "Brought back.",
        _ => return html! {},
    };
    html! { p.told role="status" { (text) } }
}

/// The versions of a kept comparison, and the way to withdraw it.
pub(super) async fn versions(workbench: &Workbench, question: &Question) -> Result<Markup, Fault> {
    let Some(kept) = &question.kept else {
        return Ok(html! {});
    };
    let slug = &question.opened.slug;
    let all = workbench
        .records
        .comparison_versions(slug, &kept.name, LISTED);
    let all = all.await?;
    Ok(html! {
        h2 { "Versions" }
        (entries(slug, all.iter()))
        @if kept.withdrawn.is_none() {
            form method="post" action=(asked::of(slug, "/withdraw")) {
                input type="hidden" name="of" value=(kept.name);
                div.actions { button { "Withdraw this comparison" } }
            }
        }
    })
}

fn entries<'a>(slug: &str, all: impl Iterator<Item = &'a ComparisonEntry>) -> Markup {
    html! {
        ol.history {
            @for one in all {
                @let page = address::and(asked::by_name(slug, &one.name), "version", &one.number.to_string());
                li { p { a href=(page) { "Version " (one.number) } " · " (when(one.by.at)) " · " (who(&one.by.who)) " · " (title(one)) } }
            }
        }
    }
}

pub(super) async fn withdrawn(
    State(workbench): State<Arc<Workbench>>,
    Path(slug): Path<String>,
    reader: Reader,
    Filled(pairs): Filled<Pairs>,
) -> Result<Redirect, Fault> {
    let by = By::new(&reader.name, now());
    let name = Sent(pairs).own("of");
    workbench
        .records
        .withdraw_comparison(&slug, &name, &by)
        .await?;
    let list = asked::all(&slug, "");
    Ok(Redirect::to(&address::and(list, "told", "withdrawn")))
}

pub(super) async fn brought_back(
    State(workbench): State<Arc<Workbench>>,
    Path(slug): Path<String>,
    reader: Reader,
    Filled(pairs): Filled<Pairs>,
) -> Result<Redirect, Fault> {
    let by = By::new(&reader.name, now());
    let name = Sent(pairs).own("of");
    workbench
        .records
        .bring_back_comparison(&slug, &name, &by)
        .await?;
    let page = asked::by_name(&slug, &name);
    Ok(Redirect::to(&address::and(page, "told", "back")))
}
