//! A piece of equipment as lists and its page show it.

use crate::address;
use crate::fault::Fault;
use crate::tables::capital;
use crate::when::day_words;
use jiff::civil::Date;
use maud::{Markup, html};
use records::{Equipment, State};

/// The states, those to see to first.
pub(super) const STATES: [State; 5] = [
    State::Failed,
    State::Due,
    State::InService,
    State::Tested,
    State::Retired,
];

/// A piece, and how it stands on a day.
pub(super) struct Row {
    pub piece: Equipment,
    pub state: State,
    pub due: Date,
    /// It was due before that day.
    pub overdue: bool,
}

impl Row {
    /// `piece` as it stands on the day `today`.
    pub fn new(piece: Equipment, today: &str) -> Result<Self, Fault> {
        let due = piece.due()?;
        Ok(Row {
            state: piece.state(today)?,
            overdue: due.to_string().as_str() < today,
            due,
            piece,
        })
    }

    /// What people call it, else what it is in the book, else what kind of thing.
    pub fn name(&self) -> String {
        let new = &self.piece.new;
        let names = [&new.title, &new.item];
        let name = names.into_iter().find(|name| !name.is_empty());
        name.cloned().unwrap_or_else(|| capital(new.gear.word()))
    }

    /// Does it have every word that is looked for? The words are in small letters.
    pub fn has(&self, words: &[String]) -> bool {
        let new = &self.piece.new;
        let remark = self.piece.trial.as_ref().map_or("", |t| t.remark.as_str());
        let said = [&new.serial, new.gear.word(), &new.item, &new.title, remark];
        let said = said.join(" ").to_lowercase();
        words.iter().all(|word| said.contains(word))
    }

    /// When its next test is due, in words.
    pub fn next(&self) -> Markup {
        let due = day_words(&self.due.to_string());
        html! {
            @match self.state {
                State::Retired => "none: retired",
                State::Failed => "out of service until it passes",
                _ if self.overdue => { "overdue since " (due) }
                _ => (due),
            }
        }
    }

    /// Its latest test, in words.
    pub fn last(&self) -> Markup {
        html! {
            @match &self.piece.trial {
                None => "none yet",
                Some(trial) => { (outcome(trial.passed)) ", " (day_words(&trial.date)) }
            }
        }
    }

    /// Where its page is.
    pub fn address(&self, slug: &str) -> String {
        address::piece(slug, &self.piece.new.serial)
    }
}

/// A state as word and mark.
pub(super) fn mark(state: State) -> Markup {
    let class = format!("state {}", state.word().replace(' ', "-"));
    html! { strong class=(class) { (capital(state.word())) } }
}

/// "passed" or "failed".
pub(super) fn outcome(passed: bool) -> &'static str {
    if passed { "passed" } else { "failed" }
}
