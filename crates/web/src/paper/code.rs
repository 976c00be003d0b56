//! What the code of a sheet says: typed by hand, or read by a telephone.

use super::preview::at;
use super::standing::{Held, held, named};
use crate::address;
use crate::fault::Fault;
use crate::reader::Reader;
use crate::shell::{Place, page};
use crate::tables::{capital, wide};
use crate::workbench::{Opened, Workbench};
use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use maud::{Markup, html};
use paper::{Code, Difference};
use records::{Role, Standing};
use serde::Deserialize;
use std::sync::Arc;

/// Differences that are seen at once.
const FIRST: usize = 6;

#[derive(Deserialize)]
pub(super) struct Typed {
    code: Option<String>,
}

pub(super) async fn asked(Query(typed): Query<Typed>, reader: Reader) -> Response {
    let Some(typed) = typed.code else {
        return framed(
            &reader,
            None,
            "Look up a code",
            &html! {
                h1 { "Look up a code" }
                (form("", None))
            },
        )
        .into_response();
    };
    match typed.parse::<Code>() {
        Ok(code) => Redirect::to(&format!("/paper/{code}")).into_response(),
        Err(why) => mistyped(&reader, &typed, &why.to_string()),
    }
}

fn framed(reader: &Reader, opened: Option<&Opened>, title: &str, content: &Markup) -> Markup {
    let place = opened.map_or_else(Place::default, |opened| Place::of(opened, "Paper"));
    page(title, reader, &place, content)
}

fn mistyped(reader: &Reader, typed: &str, why: &str) -> Response {
    let content = html! {
        h1 { "That is no code" }
        (form(typed, Some(why)))
    };
    let page = framed(reader, None, "That is no code", &content);
    (StatusCode::UNPROCESSABLE_ENTITY, page).into_response()
}

fn form(typed: &str, wrong: Option<&str>) -> Markup {
    html! {
        p { "Every sheet has a short code at its head and at the foot of each page. It says whether the sheet is still right." }
        form.form method="get" action="/paper" {
            div {
                label for="code" { "Code on the sheet" }
                div.beside {
                    input type="text" id="code" name="code" value=(typed) autocapitalize="characters" autocomplete="off"
                        spellcheck="false" aria-invalid=[wrong.map(|_| "true")]
                        aria-describedby=(if wrong.is_some() { "code-wrong code-hint" } else { "code-hint" });
                    button.first { "Look it up" }
                }
                @if let Some(wrong) = wrong { p.wrong id="code-wrong" { (capital(wrong)) "." } }
                p.hint id="code-hint" { "Capitals or not, with hyphens or without." }
            }
        }
    }
}

pub(super) async fn shown(
    State(workbench): State<Arc<Workbench>>,
    Path(typed): Path<String>,
    reader: Reader,
) -> Result<Response, Fault> {
    let code = match typed.parse::<Code>() {
        Ok(code) => code,
        Err(why) => return Ok(mistyped(&reader, &typed, &why.to_string())),
    };
    let mut issues = workbench.records.by_code(&code.to_string()).await?;
    // Of a department that one may not read there is no sheet.
    issues.retain(|issue| reader.who.is(Role::Reader, &issue.slug));
    let Some(newest) = issues.first() else {
        let content = unknown(code);
        let page = framed(&reader, None, "Not in the register", &content);
        return Ok((StatusCode::NOT_FOUND, page).into_response());
    };
    let opened = workbench.open(&newest.slug).await?;
    // The same code in another book is another sheet, by a rare chance.
    let own = issues.iter().filter(|issue| issue.slug == newest.slug);
    let all = held(own.cloned().collect(), &opened).await?;
    let title = all
        .first()
        .map_or_else(String::new, |held| word(held).to_string());
    let content = html! {
        @for (index, held) in all.iter().enumerate() {
            @if index == 0 { (verdict(&opened, held)) } @else { (also(held)) }
        }
        p.actions.no-print { a.button href="/paper" { "Look up another code" } }
    };
    Ok(framed(&reader, Some(&opened), &title, &content).into_response())
}

/// The code is sound, and nobody entered it here.
fn unknown(code: Code) -> Markup {
    let from = match code.revision {
        Some(number) => format!("revision {number} of a book"),
        None => "a file that is in no records".into(),
    };
    html! {
        h1 { "Not in the register" }
        p.verdict.superseded { strong { "Nobody can say whether it is current" } }
        p {
            "The code " b { (code) } " is typed right: a " (code.kind.title().to_lowercase()) " from " (from)
            ". No register here has it. It was printed as a proof, by the command without entering it, or by another workbench."
        }
        p.mend { "Print the sheet anew and enter it, and take this one down." }
        (form("", None))
    }
}

/// The standing in one word, for those who look for one.
fn word(held: &Held) -> &'static str {
    match held.standing {
        Standing::Current if held.is_of_a_test() => "Of its day",
        Standing::Current => "Current",
        Standing::Superseded { .. } => "Superseded: do not use it",
        Standing::Withdrawn => "Withdrawn: do not use it",
    }
}

fn verdict(opened: &Opened, held: &Held) -> Markup {
    said(opened, held, &deeds(opened, held))
}

/// The same for whoever has a link to the sheet, and nothing to do with it.
pub(crate) fn of_link(opened: &Opened, held: &Held) -> Markup {
    said(opened, held, &html! {})
}

fn said(opened: &Opened, held: &Held, deeds: &Markup) -> Markup {
    let issue = &held.issue;
    html! {
        h1 class=(format!("verdict {}", held.standing.word())) { (word(held)) }
        p.which { b { (held.title()) } }
        p { (opened.book.name) }
        (compared(held))
        @if let (true, Some(in_book)) = (held.is_of_a_test(), paper::held(&issue.subject, &opened.book)) {
            p { (in_book.words()) }
        }
        (deeds)
        (rest(held))
        p.quiet {
            "Code " (issue.code) ". Issued " (held.day()) " by " (named(&issue.who)) " from revision " (issue.revision)
            "; the book is at revision " (opened.revision) ". " (held.choice_words()) "."
        }
    }
}

fn deeds(opened: &Opened, held: &Held) -> Markup {
    let issue = &held.issue;
    html! {
        div.actions.no-print {
            @let can = held.can_be_made();
            @if let (Some(kind), Some(choice), true) = (held.kind(), held.choice(), can) {
                a.button.first href=(choice.at(at(&opened.slug, kind, &issue.subject, ""))) { "The sheet as it is now" }
            }
            a.button href=(super::register::place(&opened.slug, held)) { "In the register" }
            @if opened.book.line.contains_key(&issue.subject) {
                a.button href=(address::line(&opened.slug, &issue.subject)) { "The line's page" }
            }
        }
    }
}

/// What the sheet says, beside what the book says now.
fn compared(held: &Held) -> Markup {
    let Standing::Superseded {
        differences,
        gone: false,
    } = &held.standing
    else {
        return held.says();
    };
    let (first, _) = differences.split_at(differences.len().min(FIRST));
    html! {
        (wide("What the sheet says, and what is so now", &rows(first)))
        p.mend { "Take it down, and print the sheet anew." }
    }
}

/// The differences that the page does not begin with.
fn rest(held: &Held) -> Markup {
    let Standing::Superseded { differences, .. } = &held.standing else {
        return html! {};
    };
    let rest = differences.get(FIRST..).unwrap_or_default();
    html! {
        @if !rest.is_empty() {
            details {
                summary { (rest.len()) " more that it has wrong" }
                (wide("The rest of what it has wrong", &rows(rest)))
            }
        }
    }
}

fn rows(differences: &[Difference]) -> Markup {
    html! {
        thead { tr {
            th scope="col" { "What" }
            th scope="col" { "The sheet says" }
            th scope="col" { "Now" }
        } }
        tbody {
            @for one in differences {
                tr {
                    th scope="row" { (capital(&one.name)) }
                    td { (one.said.as_deref().unwrap_or("nothing")) }
                    td { b { (one.now.as_deref().unwrap_or("no longer so")) } }
                }
            }
        }
    }
}

/// Another printing of the same sheet.
fn also(held: &Held) -> Markup {
    html! {
        p.quiet {
            "The same sheet was also issued " (held.day()) " by " (named(&held.issue.who)) ": " (held.standing.word()) "."
        }
    }
}
