//! Why a comparison has no answer, in plain words, and what would mend it.

use super::asked::{self, Question};
use super::left_out::{self, relaxed};
use super::start::size_words;
use crate::address;
use crate::form::sentence;
use book::comparison::{self as file, Comparison};
use hydraulics::units::System;
use maud::{Markup, html};
use study::choose::{ChooseError, Excluded};

/// The form with the comparison of a page in it.
pub(super) fn form_of(question: &Question) -> String {
    let pairs = question.pairs();
    let pairs = pairs.iter().map(|(key, value)| (*key, value.as_str()));
    address::asked(asked::all(&question.opened.slug, "/new"), pairs)
}

/// The form with another comparison in it, which still changes the same one.
pub(super) fn form_with(question: &Question, comparison: &Comparison) -> String {
    let page = asked::all(&question.opened.slug, "/new");
    let page = address::asked(page, [("text", file::write(comparison).as_str())]);
    let pairs = question.pairs();
    let changes = pairs.iter().filter(|(key, _)| asked::CHANGES.contains(key));
    let page = changes.fold(page, |page, (key, value)| address::and(page, key, value));
    match &question.kept {
        Some(kept) => {
            let page = address::and(page, "changes", &kept.name);
            address::and(page, "base", &kept.newest.to_string())
        }
        None => page,
    }
}

/// What a refusal says, with the way to mend it.
pub(super) fn refused(
    question: &Question,
    comparison: &Comparison,
    error: &ChooseError,
    system: System,
) -> Markup {
    let (title, mend) = match error {
        ChooseError::Question { mend, .. } => ("It cannot be asked so", mend.as_str()),
        ChooseError::Contradiction { mend, .. } => {
            ("Two limits cannot both be kept", mend.as_str())
        }
        ChooseError::Nothing { mend, .. } => ("No choice keeps all the limits", mend.as_str()),
        ChooseError::TooLarge { mend, .. } => ("It is too large", mend.as_str()),
        ChooseError::Stopped => ("It was stopped", ""),
    };
    html! {
        section aria-labelledby="refused" {
            h2 id="refused" { (title) }
            p.caution role="alert" {
                (error.to_string())
                @if let ChooseError::Question { place, .. } = error { @if !place.is_empty() { " (" (place) ")" } }
                "."
            }
            @if !mend.is_empty() { p.mend { (mend) } }
            @if let ChooseError::TooLarge { size, .. } = error { p { "It would be " (size_words(size)) "." } }
            @if let ChooseError::Nothing { excluded, .. } = error {
                (relax(question, comparison, excluded, system))
            }
        }
    }
}

/// One button for each limit that would let something in.
fn relax(
    question: &Question,
    comparison: &Comparison,
    excluded: &[Excluded],
    system: System,
) -> Markup {
    let book = &question.opened.book;
    let ways = excluded.iter().filter_map(|one| {
        let (comparison, words) = relaxed(book, comparison, one, system)?;
        Some((one, comparison, words))
    });
    html! {
        ul.cards {
            @for (one, comparison, words) in ways {
                li {
                    h3 { a href=(form_with(question, &comparison)) { (words) } }
                    p { (one.text.text(system)) }
                }
            }
        }
        (left_out::table(excluded, system))
    }
}

/// The whole in one sentence, for programs.
pub(crate) fn in_a_sentence(error: &ChooseError) -> String {
    let mend = match error {
        ChooseError::Question { mend, .. }
        | ChooseError::Contradiction { mend, .. }
        | ChooseError::Nothing { mend, .. }
        | ChooseError::TooLarge { mend, .. } => mend,
        ChooseError::Stopped => "",
    };
    sentence(&error.to_string(), mend)
}
