//! What was done before the reader was sent to a page: one of a few codes in the
//! address, so that an address cannot put words into a page.

use crate::address;
use crate::fault::Fault;
use crate::paper::made_wrong;
use crate::tables::wide;
use crate::workbench::{Opened, Workbench};
use hydraulics::units::System;
use maud::{Markup, html};
use serde::Deserialize;
use std::sync::Arc;
use study::intake::{RowProblem, together};

/// The code in an address.
#[derive(Deserialize)]
pub(crate) struct Told {
    pub told: Option<String>,
}

/// What a code says that needs no book.
pub(crate) fn message(code: Option<&str>) -> Markup {
    let text = match code {
        Some("saved") => "Saved as a new revision.",
        Some("same") => "Nothing changed, so nothing was saved.",
        Some("undone") => "Undone. \"Make again\" on the page History brings it back.",
        Some("redone") => "Made again.",
        Some("back") => "Went back to that revision, as a new one. Nothing in between is lost.",
        Some("new") => "The book is made. Its first line comes next.",
        Some("in") => "The file is in. It is the book's first revision.",
        Some("next") => "The file is in as the book's next revision.",
        Some("known") => "The workbench has this file already; here it is.",
        _ => return html! {},
    };
    html! { p.told role="status" { (text) } }
}

/// The codes of what made a book's newest revision.
const CHANGED: [&str; 5] = ["saved", "undone", "redone", "back", "next"];

/// What a code says, and which issued sheets that made wrong.
pub(crate) async fn message_and_wrong(
    workbench: &Workbench,
    opened: &Arc<Opened>,
    code: Option<&str>,
) -> Result<Markup, Fault> {
    let changed = code.is_some_and(|code| CHANGED.contains(&code));
    Ok(html! {
        (message(code))
        @if changed { (made_wrong(workbench, opened).await?) }
    })
}

/// What a code says: a message, or where it is the newest revision, what that changed
/// in the reader's units. `undo` is the line to whose page its undoing leads, empty for
/// the list of lines; none where it cannot be undone from the page.
pub(crate) async fn told(
    workbench: &Workbench,
    opened: &Arc<Opened>,
    code: Option<&str>,
    undo: Option<&str>,
    system: System,
) -> Result<Markup, Fault> {
    let number = opened.revision;
    if code != Some(number.to_string().as_str()) {
        return message_and_wrong(workbench, opened, code).await;
    }
    let entry = workbench
        .records
        .revision(&opened.slug, number)
        .await?
        .entry;
    let words = match entry.before {
        Some(before) => {
            let before = workbench.open_at(&opened.slug, before).await?;
            study::changes(&before.book, &opened.book, system)
        }
        None => entry.note.words,
    };
    Ok(html! {
        div.told role="status" {
            "Saved as revision " (number) ". " (words.join("; "))
            @if let Some(line) = undo {
                " "
                form method="post" action=(address::book(&opened.slug, "/undo")) {
                    input type="hidden" name="base" value=(number);
                    input type="hidden" name="line" value=(line);
                    button { "Undo" }
                }
            }
        }
        (made_wrong(workbench, opened).await?)
    })
}

/// Problems of a file that are listed.
const LISTED: usize = 100;

/// What cannot be used of a file; rows with the same trouble together.
pub(crate) fn problem_rows(all: &[RowProblem]) -> Markup {
    let told = together(all);
    let rows = html! {
        thead { tr { @for head in ["Rows", "Column", "Written", "What is wrong", "What would mend it"] { th scope="col" { (head) } } } }
        tbody {
            @for (one, rows) in told.iter().take(LISTED).map(|told| (told.problem, told.rows_words())) {
                tr {
                    th scope="row" { @match rows.as_str() { "" => "all", rows => (rows) } }
                    td { (one.column) }
                    td { (one.text) }
                    td { (one.message) }
                    td { (one.mend) }
                }
            }
        }
    };
    html! {
        (wide("What cannot be used, by row", &rows))
        @if told.len() > LISTED { p { "and " (told.len() - LISTED) " more." } }
    }
}
