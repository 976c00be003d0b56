//! Which comparison a page is about, and how it is looked at: all of it in the address,
//! so that the page can be shared.

use crate::address;
use crate::fault::Fault;
use crate::form::{Pairs, Sent};
use crate::workbench::{Opened, Workbench};
use book::Problems;
use book::comparison::{self, Comparison};
use records::ComparisonEntry;
use std::sync::Arc;

/// The longest text that an address carries, bytes; a longer one has to be kept first.
pub(super) const LONGEST: usize = 12_000;

/// Of a text that changes a kept comparison: its name, and the version that was changed.
pub(super) const CHANGES: [&str; 2] = ["changes", "base"];

/// A comparison by its text, or by the name under which it is kept.
pub(super) struct Question {
    pub opened: Arc<Opened>,
    /// The version that is looked at, of one that is kept.
    pub kept: Option<ComparisonEntry>,
    pub text: String,
    /// How the page looks at it.
    pub look: Sent,
}

impl Question {
    /// What the address of a page of book `slug` asks about.
    ///
    /// # Errors
    /// [`Fault::Misread`] when it names none; what the records say.
    pub async fn open(workbench: &Workbench, slug: &str, pairs: Pairs) -> Result<Self, Fault> {
        let look = Sent(pairs);
        let opened = workbench.open(slug).await?;
        let (kept, text) = match (look.own("of"), look.get("text")) {
            (name, _) if !name.is_empty() => {
                let number = number(&look)?;
                let kept = workbench.records.comparison(slug, &name, number).await?;
                (Some(kept.entry), kept.text)
            }
            (_, "") => {
                let text = "The address names no comparison. Open one from the list.";
                return Err(Fault::Misread(text.into()));
            }
            (_, text) if text.len() > LONGEST => {
                return Err(Fault::Misread(format!(
                    "The comparison is {} bytes long; an address carries {LONGEST}. Take notes out of it.",
                    text.len()
                )));
            }
            (_, text) => (None, text.replace("\r\n", "\n")),
        };
        Ok(Question {
            opened,
            kept,
            text,
            look,
        })
    }

    /// The comparison, or what is wrong with its file.
    pub fn read(&self) -> Result<Comparison, Problems> {
        comparison::read_for(self.text.as_bytes(), self.file(), &self.opened.book)
    }

    /// What messages call its file.
    fn file(&self) -> &str {
        self.kept
            .as_ref()
            .map_or("comparison", |kept| kept.name.as_str())
    }

    /// The pairs by which an address names it.
    pub fn pairs(&self) -> Vec<(&'static str, String)> {
        let Some(kept) = &self.kept else {
            let text = ("text", self.text.clone());
            let changed = CHANGES.map(|key| (key, self.look.own(key)));
            let changed = changed.into_iter().filter(|(_, value)| !value.is_empty());
            return std::iter::once(text).chain(changed).collect();
        };
        let mut pairs = vec![("of", kept.name.clone())];
        if kept.number != kept.newest {
            pairs.push(("version", kept.number.to_string()));
        }
        pairs
    }

    /// A page of it; `rest` is empty or begins with "/".
    pub fn at(&self, rest: &str) -> String {
        self.at_with(rest, &[])
    }

    /// The same, with what more is asked.
    pub fn at_with(&self, rest: &str, more: &[(&str, String)]) -> String {
        let pairs = self.pairs();
        let pairs = pairs.iter().chain(more);
        let pairs = pairs.map(|(key, value)| (*key, value.as_str()));
        address::asked(of(&self.opened.slug, rest), pairs)
    }

    /// What of its address is how it is looked at: weights and axes.
    pub fn looked_at(&self) -> Vec<(&str, String)> {
        let own = |key: &str| {
            key.starts_with("weight-") || matches!(key, "x" | "y" | "line" | "over" | "doubt")
        };
        let pairs = self.look.0.iter().filter(|(key, _)| own(key));
        pairs
            .map(|(key, value)| (key.as_str(), value.clone()))
            .collect()
    }

    /// May it take as long as it takes?
    pub fn is_started(&self) -> bool {
        self.look.get("start") == "yes"
    }
}

fn number(look: &Sent) -> Result<Option<i64>, Fault> {
    match look.own("version") {
        text if text.is_empty() => Ok(None),
        text => text.parse().map(Some).map_err(|_| {
            Fault::Missing(format!(
                "\"{text}\" is no version of a comparison; versions are counted from 1"
            ))
        }),
    }
}

/// A page of comparisons that are named by the question; `rest` is empty or begins with "/".
pub(super) fn of(slug: &str, rest: &str) -> String {
    address::book(slug, &format!("/comparison{rest}"))
}

/// The list of comparisons; `rest` is empty or begins with "/".
pub(super) fn all(slug: &str, rest: &str) -> String {
    address::book(slug, &format!("/comparisons{rest}"))
}

/// The page of a comparison by its text.
pub(super) fn by_text(slug: &str, text: &str) -> String {
    address::asked(of(slug, ""), [("text", text)])
}

/// The form of a new comparison, with a line ticked.
pub(crate) fn for_line(slug: &str, line: &str) -> String {
    address::asked(all(slug, "/new"), [("line", line)])
}

/// The page of one that is kept.
pub(super) fn by_name(slug: &str, name: &str) -> String {
    address::asked(of(slug, ""), [("of", name)])
}
