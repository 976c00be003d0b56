//! How issued sheets stand, in words.

use super::beside;
use super::choice::{Choice, size_words, units_words};
use super::print::Wanted;
use crate::address;
use crate::fault::Fault;
use crate::when::day_words;
use crate::workbench::{Opened, Workbench};
use maud::{Markup, html};
use paper::{Difference, Kind, Sheet, Size, Units};
use records::{Issue, Standing};
use std::sync::Arc;

/// Differences that are listed before the rest is folded away.
const LISTED: usize = 6;

/// A sheet of the register, and how it stands.
#[derive(Debug, Clone)]
pub(crate) struct Held {
    pub issue: Issue,
    pub standing: Standing,
    /// It is wrong, and nothing newer has taken its place.
    pub due: bool,
}

/// The register of a book, the newest first, as it stands against `opened`.
pub(crate) async fn register(
    workbench: &Workbench,
    opened: &Arc<Opened>,
) -> Result<Vec<Held>, Fault> {
    let issues = workbench.records.issued(&opened.slug).await?;
    held(issues, opened).await
}

/// The prints of one sheet of a book, the newest first.
pub(super) async fn prints(
    workbench: &Workbench,
    opened: &Arc<Opened>,
    sheet: &Sheet,
) -> Result<Vec<Held>, Fault> {
    let (slug, kind) = (&opened.slug, sheet.kind.word());
    let issues = workbench
        .records
        .issued_of(slug, kind, &sheet.subject)
        .await?;
    held(issues, opened).await
}

/// `issues` as they stand against `opened`.
pub(crate) async fn held(issues: Vec<Issue>, opened: &Arc<Opened>) -> Result<Vec<Held>, Fault> {
    let opened = opened.clone();
    beside(move || {
        let standings = records::standings(&issues, &opened.book);
        let due = records::to_reprint(&issues, &standings);
        let due: Vec<i64> = due.iter().map(|issue| issue.id).collect();
        let all = issues.into_iter().zip(standings);
        let all = all.map(|(issue, standing)| Held {
            due: due.contains(&issue.id),
            issue,
            standing,
        });
        all.collect()
    })
    .await
}

/// The prints of a report, each with its code; `none` says that there is none.
pub(crate) fn in_register(prints: &[Held], none: &str) -> Markup {
    html! {
        @if prints.is_empty() { p.quiet { (none) } }
        @else {
            p { "In the register:" }
            ul {
                @for held in prints {
                    li {
                        "Issued " (held.day()) ", " (held.choice_words()) ", code "
                        a.reach href=(format!("/paper/{}", held.issue.code)) { (held.issue.code) }
                        @if held.is_withdrawn() { ", withdrawn" }
                    }
                }
            }
        }
    }
}

impl Held {
    pub fn kind(&self) -> Option<Kind> {
        Kind::called(&self.issue.kind)
    }

    /// Is it about this?
    pub fn is_about(&self, kind: Kind, subject: &str) -> bool {
        self.issue.kind == kind.word() && self.issue.subject == subject
    }

    /// Is it a printing of this sheet, on this size of paper?
    pub fn is_of(&self, sheet: &Sheet, size: Size) -> bool {
        let (units, size) = (sheet.units.word(), size.word());
        self.is_about(sheet.kind, &sheet.subject)
            && self.issue.units == units
            && self.issue.size == size
    }

    /// Something that it says is no longer so, and it was not taken back.
    pub fn is_wrong(&self) -> bool {
        matches!(self.standing, Standing::Superseded { .. })
    }

    /// It was taken back.
    pub fn is_withdrawn(&self) -> bool {
        self.standing == Standing::Withdrawn
    }

    /// The book has no longer what it is about.
    pub fn is_gone(&self) -> bool {
        matches!(self.standing, Standing::Superseded { gone: true, .. })
    }

    /// "Line card: Left crosslay".
    pub fn title(&self) -> String {
        let kind = self.kind().map(Kind::title).unwrap_or(&self.issue.kind);
        format!("{kind}: {}", self.issue.title)
    }

    /// The day that stands on it.
    pub fn day(&self) -> Markup {
        day_words(&self.issue.date)
    }

    /// "Letter, US".
    pub fn choice_words(&self) -> String {
        let size = Size::called(&self.issue.size)
            .map(size_words)
            .unwrap_or(&self.issue.size);
        let units = Units::called(&self.issue.units).map_or("", units_words);
        format!("{size}, {units}")
    }

    pub fn choice(&self) -> Option<Choice> {
        Some(Choice {
            size: Size::called(&self.issue.size)?,
            units: Units::called(&self.issue.units)?,
        })
    }

    /// Is it the sheet of a test day, which no book alone makes?
    pub(super) fn is_of_a_test(&self) -> bool {
        self.kind().is_some_and(Kind::is_of_a_test)
    }

    /// Can it be made from the book as it is?
    pub(super) fn can_be_made(&self) -> bool {
        !self.is_gone() && self.kind().is_some_and(Kind::is_of_a_book)
    }

    /// Is it the report of a comparison?
    fn is_of_a_comparison(&self) -> bool {
        self.kind().is_some_and(Kind::is_of_a_comparison)
    }

    /// The same sheet from the book as it is, where that is due.
    pub(super) fn again(&self) -> Option<Wanted> {
        let wanted = Wanted {
            kind: self.kind()?,
            subject: self.issue.subject.clone(),
            choice: self.choice()?,
        };
        self.due.then_some(wanted)
    }

    /// Who withdrew it, when and why.
    fn taken_back(&self) -> Markup {
        html! {
            @if let Some(withdrawn) = &self.issue.withdrawn {
                "Withdrawn " (crate::when::when(withdrawn.at)) " by " (named(&withdrawn.who)) ": " (withdrawn.why)
            }
        }
    }

    /// What is wrong with it, and what to do.
    pub fn says(&self) -> Markup {
        html! {
            @match &self.standing {
                Standing::Current if self.is_of_a_test() => p {
                    "It says what was planned or found on its day, and stays right when the book changes."
                },
                Standing::Current if self.is_of_a_comparison() => p {
                    "All that it rests on is as it was: lines, equipment and what a crew can hold."
                },
                Standing::Current => p { "What it says is what the book says now." },
                Standing::Withdrawn => p { (self.taken_back()) },
                Standing::Superseded { gone: true, .. } => p {
                    "The book no longer has what it is about. Take it down and withdraw it."
                },
                Standing::Superseded { differences, .. } => {
                    (differences_words(differences))
                    p.mend {
                        @if self.is_of_a_comparison() {
                            "Take it down, ask the comparison again and print its report anew."
                        } @else if self.due { "Reprint it, and take the old one down." }
                        @else { "Take it down and withdraw it: another print of the same sheet is in the register." }
                    }
                }
            }
        }
    }
}

/// A standing as word and mark.
pub(crate) fn mark(standing: &Standing) -> Markup {
    let word = crate::tables::capital(standing.word());
    html! { strong class=(format!("standing {}", standing.word())) { (word) } }
}

/// Who did it.
pub(super) fn named(who: &str) -> &str {
    match who {
        "" => "no name given",
        who => who,
    }
}

/// "pump pressure: says 139 psi, now 151 psi", one after another; many are folded.
pub(crate) fn differences_words(all: &[Difference]) -> Markup {
    let (first, rest) = all.split_at(all.len().min(LISTED));
    let list = |some: &[Difference]| {
        html! { ul { @for one in some { li { (paper::in_words(one)) } } } }
    };
    html! {
        (list(first))
        @if !rest.is_empty() {
            details { summary { (rest.len()) " more" } (list(rest)) }
        }
    }
}

/// Which issued sheets the newest revision has made wrong.
pub(crate) async fn made_wrong(
    workbench: &Workbench,
    opened: &Arc<Opened>,
) -> Result<Markup, Fault> {
    let now = register(workbench, opened).await?;
    let wrong: Vec<&Held> = now.iter().filter(|held| held.is_wrong()).collect();
    if wrong.is_empty() {
        return Ok(html! {});
    }
    // Where the revision before cannot be read, all that is wrong is told.
    let before = match workbench.open_at(&opened.slug, opened.revision - 1).await {
        Ok(before) => {
            let issues = wrong.iter().map(|held| held.issue.clone()).collect();
            held(issues, &before).await?
        }
        Err(_) => Vec::new(),
    };
    let was = |held: &Held| before.iter().find(|was| was.issue.id == held.issue.id);
    let new = wrong
        .into_iter()
        .filter(|held| was(held).is_none_or(|was| was.standing == Standing::Current));
    Ok(told(&opened.slug, &new.collect::<Vec<_>>()))
}

fn told(slug: &str, wrong: &[&Held]) -> Markup {
    let count = wrong.len();
    html! {
        @if count > 0 {
            div.stale role="status" {
                p {
                    strong {
                        @if count == 1 { "1 issued sheet is now wrong" } @else { (count) " issued sheets are now wrong" }
                    }
                    ":"
                }
                ul { @for held in wrong.iter().take(LISTED) { li { (brief(held)) } } }
                @if count > LISTED { p { "and " (count - LISTED) " more" } }
                p { a.button href=(address::book(slug, "/issued")) { "See them and reprint" } }
            }
        }
    }
}

/// "Line card: Left crosslay of 3 May 2026: pump pressure: says 139 psi, now 151 psi".
fn brief(held: &Held) -> Markup {
    let first = match &held.standing {
        Standing::Superseded { differences, .. } => differences.first(),
        _ => None,
    };
    html! {
        (held.title()) " of " (held.day())
        @if held.is_gone() { ": the book no longer has it" }
        @if let Some(first) = first { ": " (paper::in_words(first)) }
    }
}
