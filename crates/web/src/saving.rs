//! The way of a form's change into the records.

use crate::address;
use crate::conflict;
use crate::fault::Fault;
use crate::form::Sent;
use crate::reader::Reader;
use crate::workbench::{Opened, Workbench};
use axum::response::{IntoResponse, Redirect, Response};
use book::Book;
use maud::{Markup, html};
use std::sync::Arc;

/// The revision that a form was made from.
pub(crate) async fn opened_for(
    workbench: &Workbench,
    slug: &str,
    sent: &Sent,
) -> Result<Arc<Opened>, Fault> {
    match sent.base() {
        Some(base) => workbench.open_at(slug, base).await,
        None => Err(Fault::Misread(
            "The form does not say which revision it changes. Open the page again.".into(),
        )),
    }
}

/// A change that is ready to be saved.
pub(crate) struct Saving<'a> {
    pub after: &'a Book,
    /// The deed, for the history.
    pub why: &'a str,
    /// Where it leads.
    pub page: String,
    /// That page tells what was saved.
    pub tells: bool,
}

impl Saving<'_> {
    /// Saves it, or tells who was first.
    pub async fn save(
        self,
        workbench: &Workbench,
        opened: &Opened,
        reader: &Reader,
        sent: &Sent,
    ) -> Result<Response, Fault> {
        let text = book::amend(&opened.text, &opened.book, self.after);
        let (slug, base) = (&opened.slug, opened.revision);
        let said = workbench.save(slug, base, &text, self.why, &reader.name);
        let number = match said.await {
            Ok(number) => number,
            Err(fault) => {
                return conflict::told(workbench, reader, fault, |newest| {
                    let system = reader.system(&opened.book);
                    let words = study::changes(&opened.book, self.after, system);
                    again(newest, reader, sent, &words)
                })
                .await;
            }
        };
        let told = match number == base {
            true => "same".to_string(),
            false => number.to_string(),
        };
        let page = match self.tells {
            true => address::asked(self.page, [("told", told.as_str())]),
            false => self.page,
        };
        Ok(Redirect::to(&page).into_response())
    }
}

/// What was wanted, in `words`, and a way to have it on the newest revision.
fn again(newest: &Opened, reader: &Reader, sent: &Sent, words: &[String]) -> Markup {
    let fields = sent.on(newest.revision);
    if words.is_empty() {
        return html! { p { "Nothing: what you sent changes nothing on the revision that you had." } };
    }
    html! {
        @if let Some(base) = sent.base() { p { "Your change of revision " (base) ":" } }
        ul { @for words in words { li { (words) } } }
        form method="post" action=(reader.here) {
            @for (key, value) in &fields.0 { input type="hidden" name=(key) value=(value); }
            button.first { "Make my change on revision " (newest.revision) }
        }
    }
}
