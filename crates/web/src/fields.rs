//! Fields of forms: their labels, what can be chosen, what is wrong beside each.

use crate::tables::capital;
use book::{Book, catalogue};
use hydraulics::units::{Kind, System};
use maud::{Markup, html};

/// One field.
pub(crate) struct Row {
    pub key: &'static str,
    pub label: String,
    pub value: String,
    input: Input,
}

enum Input {
    Text,
    /// A day, as 2026-05-11.
    Date,
    /// Groups of values with their labels.
    Choice(Groups),
    Check,
}

impl Row {
    /// The name of its input, where the page has one form with it.
    pub fn id(&self) -> String {
        format!("f-{}", self.key)
    }

    pub fn text(key: &'static str, label: &str, value: &str) -> Self {
        Row {
            key,
            label: label.into(),
            value: value.into(),
            input: Input::Text,
        }
    }

    pub fn measured(
        key: &'static str,
        label: &str,
        kind: Kind,
        value: &str,
        system: System,
    ) -> Self {
        let example = match (key, system) {
            ("rise", System::Us) => "20 ft",
            ("rise", System::Si) => "6 m",
            _ => kind.example(system),
        };
        Row::text(key, &format!("{label} (such as {example})"), value)
    }

    pub fn date(key: &'static str, label: &str, value: &str) -> Self {
        Row {
            input: Input::Date,
            ..Row::text(key, label, value)
        }
    }

    pub fn choice(key: &'static str, label: &str, value: &str, of: Groups) -> Self {
        Row {
            input: Input::Choice(of),
            ..Row::text(key, label, value)
        }
    }

    pub fn check(key: &'static str, label: &str, value: &str) -> Self {
        Row {
            input: Input::Check,
            ..Row::text(key, label, value)
        }
    }
}

/// A field with its label and what is wrong with it. `id` is its own on the page.
pub(crate) fn field(id: &str, row: &Row, value: &str, wrong: Option<&str>, first: bool) -> Markup {
    let (bad, by) = (wrong.map(|_| "true"), wrong.map(|_| format!("{id}-w")));
    html! {
        div {
            @match &row.input {
                Input::Check => label.check { input type="checkbox" id=(id) name=(row.key) value="yes" checked[!value.is_empty()] aria-invalid=[bad] aria-describedby=[by]; (row.label) },
                Input::Text => {
                    label for=(id) { (row.label) }
                    input id=(id) name=(row.key) value=(value) autocomplete="off" autofocus[first] aria-invalid=[bad] aria-describedby=[by];
                }
                Input::Date => {
                    label for=(id) { (row.label) }
                    input type="date" id=(id) name=(row.key) value=(value) autofocus[first] aria-invalid=[bad] aria-describedby=[by];
                }
                Input::Choice(groups) => {
                    label for=(id) { (row.label) }
                    select id=(id) name=(row.key) autofocus[first] aria-invalid=[bad] aria-describedby=[by] { (options(groups, value)) }
                }
            }
            @if let Some(wrong) = wrong { p.wrong id=(format!("{id}-w")) { (wrong) } }
        }
    }
}

fn options(groups: &Groups, chosen: &str) -> Markup {
    let known = groups
        .iter()
        .any(|(_, of)| of.iter().any(|(value, _)| value == chosen));
    html! {
        @if !known && !chosen.is_empty() { option value=(chosen) selected { (chosen) } }
        @for (group, of) in groups {
            @let inside = html! { @for (value, label) in of { option value=(value) selected[value == chosen] { (label) } } };
            @if group.is_empty() { (inside) } @else if !of.is_empty() { optgroup label=(group) { (inside) } }
        }
    }
}

/// Groups of choices, each with its label.
pub(crate) type Groups = Vec<(&'static str, Vec<(String, String)>)>;

/// Names of the department's own and of the catalogue's, each after `before`.
fn names<'a>(
    own: impl Iterator<Item = &'a String>,
    generic: impl Iterator<Item = &'a String>,
    before: &str,
) -> [Vec<(String, String)>; 2] {
    let own: Vec<&String> = own.collect();
    let pair = |name: &String| (format!("{before}{name}"), name.clone());
    let rest = generic
        .filter(|name| !own.contains(name))
        .map(pair)
        .collect();
    [own.iter().map(|name| pair(name)).collect(), rest]
}

pub(crate) fn hoses(book: &Book, before: &str) -> [Vec<(String, String)>; 2] {
    names(book.hose.keys(), catalogue().hose.keys(), before)
}

pub(crate) fn nozzles(book: &Book) -> [Vec<(String, String)>; 2] {
    names(book.nozzle.keys(), catalogue().nozzle.keys(), "")
}

pub(crate) fn appliances(book: &Book, before: &str) -> [Vec<(String, String)>; 2] {
    names(book.appliance.keys(), catalogue().appliance.keys(), before)
}

/// The department's own first, then generic ones in the reader's units before the
/// others.
pub(crate) fn both([own, generic]: [Vec<(String, String)>; 2], system: System) -> Groups {
    let is_metric = |(name, _): &(String, String)| {
        [" mm", " L/min", " bar"]
            .iter()
            .any(|unit| name.contains(unit))
    };
    let (metric, inch): (Vec<_>, Vec<_>) = generic.into_iter().partition(is_metric);
    let mut groups = vec![("The department's", own), ("Generic, in inches", inch)];
    let at = if system == System::Si { 1 } else { 2 };
    groups.insert(at, ("Generic, metric", metric));
    groups
}

pub(crate) fn plain(of: &[(&str, &str)]) -> Groups {
    let pairs = of
        .iter()
        .map(|(value, label)| ((*value).to_string(), (*label).to_string()));
    vec![("", pairs.collect())]
}

/// The plain colours that a book knows.
pub(crate) fn colours() -> Groups {
    let none = (String::new(), "None written".to_string());
    let words = book::Colour::words().map(|word| (word.to_string(), capital(word)));
    vec![("", std::iter::once(none).chain(words).collect())]
}
