//! One thing that an answer says: a name and a figure, a word or a count. Tables
//! and JSON are made from the same list.

use crate::figure::Figure;
use hydraulics::units::System;
use serde_json::{Map, Value, json};

/// What is said.
#[derive(Debug, Clone, PartialEq)]
pub enum Said {
    /// A quantity.
    Figure(Figure),
    /// A word or a name.
    Text(String),
    /// A number of things.
    Count(u32),
    /// Yes or no.
    Flag(bool),
    /// Figures that go together, as a time and what is left then.
    Course(Vec<(Figure, Figure)>),
    /// There is nothing to say.
    Nothing,
}

/// A name in plain words, and what is said under it.
pub type Fact = (&'static str, Said);

impl From<Figure> for Said {
    fn from(figure: Figure) -> Self {
        Said::Figure(figure)
    }
}

impl From<Option<Figure>> for Said {
    fn from(figure: Option<Figure>) -> Self {
        figure.map_or(Said::Nothing, Said::Figure)
    }
}

impl From<&str> for Said {
    fn from(text: &str) -> Self {
        Said::Text(text.into())
    }
}

impl From<String> for Said {
    fn from(text: String) -> Self {
        Said::Text(text)
    }
}

impl From<u32> for Said {
    fn from(count: u32) -> Self {
        Said::Count(count)
    }
}

impl From<Option<u32>> for Said {
    fn from(count: Option<u32>) -> Self {
        count.map_or(Said::Nothing, Said::Count)
    }
}

impl From<bool> for Said {
    fn from(flag: bool) -> Self {
        Said::Flag(flag)
    }
}

impl Said {
    /// As a person reads it; `None` where there is nothing to say.
    pub fn show(&self, system: System) -> Option<String> {
        Some(match self {
            Said::Figure(figure) => figure.show(system),
            Said::Text(text) => text.clone(),
            Said::Count(count) => count.to_string(),
            Said::Flag(true) => "yes".into(),
            Said::Flag(false) => "no".into(),
            Said::Course(points) => {
                let points = points.iter();
                let shown = points.map(|(a, b)| format!("{} {}", a.show(system), b.show(system)));
                shown.collect::<Vec<_>>().join("; ")
            }
            Said::Nothing => return None,
        })
    }

    /// As JSON in the units of `system`.
    pub fn json(&self, system: System) -> Value {
        match self {
            Said::Figure(figure) => figure.json(system),
            Said::Text(text) => json!(text),
            Said::Count(count) => json!(count),
            Said::Flag(flag) => json!(flag),
            Said::Course(points) => points
                .iter()
                .map(|(a, b)| json!([a.json(system), b.json(system)]))
                .collect(),
            Said::Nothing => Value::Null,
        }
    }
}

/// Facts as a JSON object, their names in snake_case.
///
/// ```
/// use hydraulics::units::System;
/// let facts = [("more lines", study::fact::Said::from(2_u32))];
/// assert_eq!(study::fact::object(&facts, System::Us).to_string(), r#"{"more_lines":2}"#);
/// ```
pub fn object(facts: &[Fact], system: System) -> Value {
    let named = facts.iter().map(|(name, said)| {
        let key: String = name
            .chars()
            .map(|c| {
                if c.is_alphanumeric() {
                    c.to_ascii_lowercase()
                } else {
                    '_'
                }
            })
            .collect();
        (key, said.json(system))
    });
    Value::Object(named.collect::<Map<_, _>>())
}
