//! Two people change a book: the second is told, and nothing is overwritten.

use crate::address;
use crate::fault::Fault;
use crate::reader::Reader;
use crate::shell::{Place, page};
use crate::when::when;
use crate::workbench::{Opened, Workbench};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use maud::{Markup, html};
use records::{Entry, RecordsError};

/// Somebody saved while somebody else was at work on an older revision.
pub(crate) struct Conflict<'a> {
    /// The book as it now is.
    pub newest: &'a Opened,
    /// The revision that the reader had.
    pub base: i64,
    /// What was saved since, the newest first.
    pub since: &'a [Entry],
}

/// Says who changed what, and keeps what the reader wanted: `kept` says it, and
/// offers what can be done with it.
pub(crate) fn conflict(told: &Conflict<'_>, kept: &Markup) -> Markup {
    let newest = told.newest.revision;
    html! {
        h1 { "Somebody else changed this book" }
        p.caution {
            "You had revision " (told.base) "; the newest is revision " (newest)
            ". Nothing of yours was saved, and nothing of theirs was overwritten."
        }
        section aria-labelledby="since" {
            h2 id="since" { "What changed since" }
            (entries(told.since))
        }
        section aria-labelledby="kept" {
            h2 id="kept" { "What you wanted" }
            (kept)
        }
        p.actions {
            a.button href=(address::book(&told.newest.slug, "")) { "Leave it, and see the book as it is" }
        }
    }
}

/// The page of a conflict, when `fault` is one; any other fault as it is.
pub(crate) async fn told(
    workbench: &Workbench,
    reader: &Reader,
    fault: Fault,
    kept: impl FnOnce(&Opened) -> Markup,
) -> Result<Response, Fault> {
    let Fault::Records(RecordsError::Stale { slug, base, .. }) = fault else {
        return Err(fault);
    };
    let newest = workbench.open(&slug).await?;
    let history = workbench.records.history(&slug, 200).await?;
    let since: Vec<Entry> = history.into_iter().filter(|e| e.number > base).collect();
    let told = Conflict {
        newest: &newest,
        base,
        since: &since,
    };
    let content = conflict(&told, &kept(&newest));
    let whole = page(
        "Somebody else changed this book",
        reader,
        &Place::of(&newest, ""),
        &content,
    );
    Ok((StatusCode::CONFLICT, whole).into_response())
}

/// Revisions as a list: number, when, who, deed, words.
pub(crate) fn entries(entries: &[Entry]) -> Markup {
    html! {
        ol.history {
            @for entry in entries { li { (said(entry)) } }
        }
    }
}

/// One revision in words.
pub(crate) fn said(entry: &Entry) -> Markup {
    html! {
        p {
            b { "Revision " (entry.number) } " · " (when(entry.note.at)) " · " (who(entry))
            @if !entry.note.why.is_empty() { " · " (entry.note.why) }
        }
        @if !entry.note.words.is_empty() {
            ul { @for words in &entry.note.words { li { (words) } } }
        }
    }
}

/// Who made a revision.
pub(crate) fn who(entry: &Entry) -> &str {
    match entry.note.who.as_str() {
        "" => "no name given",
        who => who,
    }
}
