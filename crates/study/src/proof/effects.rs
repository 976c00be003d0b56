//! What a changed book changes for its lines.

use crate::answer::LineAnswer;
use crate::fact::{self, Fact, Said};
use crate::figure::{self, Figure};
use crate::notice::Weight;
use crate::operating::solve_plain;
use book::{Book, Conditions};
use hydraulics::units::{Measure, System, gpm, psi};
use serde_json::Value;

/// What changes for a line.
#[derive(Debug, Clone, PartialEq)]
pub struct Effect {
    /// The line.
    pub line: String,
    /// Its title.
    pub title: Option<String>,
    /// Pump pressure before and after; none where the line cannot be solved.
    pub pump_pressure: [Option<Figure>; 2],
    /// Flow before and after.
    pub flow: [Option<Figure>; 2],
    /// Limits that it passes now and did not before, in words.
    pub crosses: Vec<String>,
}

/// The lines for which `after` gives another pump pressure, by a psi or more, or
/// another flow, by a gpm or more, than `before`, each at what its line aims at.
pub fn effects(before: &Book, after: &Book) -> Vec<Effect> {
    let plain = Conditions::default();
    let both = after
        .line
        .iter()
        .filter(|(name, _)| before.line.contains_key(*name));
    let effect = |(name, line): (&String, &book::Line)| {
        let answers = [before, after].map(|book| solve_plain(book, name, &plain).ok());
        let [old, new] = [&answers[0], &answers[1]];
        let moved = match (old, new) {
            (Some(old), Some(new)) => moved(old, new),
            (None, None) => false,
            _ => true,
        };
        moved.then(|| Effect {
            line: name.clone(),
            title: line.title.clone(),
            pump_pressure: [old, new]
                .map(|a| a.as_ref().map(|a| figure::pressure(a.pump_pressure))),
            flow: [old, new].map(|a| a.as_ref().map(|a| figure::flow(a.flow))),
            crosses: crossed(old.as_ref(), new.as_ref()),
        })
    };
    both.filter_map(effect).collect()
}

fn moved(old: &LineAnswer, new: &LineAnswer) -> bool {
    let pressure = (old.pump_pressure - new.pump_pressure).si().abs();
    let flow = (old.flow - new.flow).si().abs();
    pressure >= psi(1.0).si() || flow >= gpm(1.0).si()
}

fn crossed(old: Option<&LineAnswer>, new: Option<&LineAnswer>) -> Vec<String> {
    let limits = |answer: Option<&LineAnswer>| -> Vec<(String, String, String)> {
        let notices = answer.into_iter().flat_map(|answer| &answer.notices);
        let limits = notices.filter(|n| n.weight == Weight::Limit);
        limits
            .map(|n| (n.code.to_string(), n.place.clone(), n.text.clone()))
            .collect()
    };
    let before = limits(old);
    let passed = |limit: &&(String, String, String)| {
        !before.iter().any(|b| b.0 == limit.0 && b.1 == limit.1)
    };
    let after = limits(new);
    after
        .iter()
        .filter(passed)
        .map(|limit| limit.2.clone())
        .collect()
}

impl Effect {
    /// As name and value, for tables and JSON.
    pub fn facts(&self) -> Vec<Fact> {
        let [pressure, new_pressure] = self.pump_pressure;
        let [flow, new_flow] = self.flow;
        vec![
            ("line", Said::from(self.line.as_str())),
            ("pump pressure before", Said::from(pressure)),
            ("pump pressure after", Said::from(new_pressure)),
            ("flow before", Said::from(flow)),
            ("flow after", Said::from(new_flow)),
            (
                "passes a limit now",
                match self.crosses.as_slice() {
                    [] => Said::Nothing,
                    some => Said::from(some.join("; ")),
                },
            ),
        ]
    }

    /// As JSON.
    pub fn object(&self, system: System) -> Value {
        fact::object(&self.facts(), system)
    }

    /// In words: "left-crosslay: pump pressure 164 to 158 psi (-6 psi)".
    pub fn words(&self, system: System) -> String {
        let change = |[old, new]: [Option<Figure>; 2]| match (old, new) {
            (Some(old), Some(new)) => {
                let by = new.less(&old).show_change(system);
                (by != "none")
                    .then(|| format!("{} to {} ({by})", old.show(system), new.show(system)))
            }
            (None, Some(new)) => Some(format!("had no answer, now {}", new.show(system))),
            (Some(old), None) => Some(format!("{}, now no answer", old.show(system))),
            (None, None) => None,
        };
        let pressure = change(self.pump_pressure).map(|c| format!("pump pressure {c}"));
        let flow = change(self.flow).map(|c| format!("flow {c}"));
        let said: Vec<String> = pressure.into_iter().chain(flow).collect();
        let said = match said.as_slice() {
            [] => "changes by less than is shown".to_string(),
            said => said.join(", "),
        };
        let crosses: String = self.crosses.iter().map(|c| format!("; {c}")).collect();
        format!("{}: {said}{crosses}", self.line)
    }
}
