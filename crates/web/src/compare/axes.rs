//! What is drawn of a comparison: two aims against each other, one line's curves.

use crate::form::Sent;
use crate::tables::capital;
use book::comparison::AimKind;
use maud::{Markup, html};
use picture::Over;
use study::choose::{Chosen, aim_name};

/// What can be drawn over pump pressure: its word, and to the reader.
const OVER: [(&str, &str, Over); 3] = [
    ("flow", "flow", Over::Flow),
    ("nozzle-pressure", "nozzle pressure", Over::TipPressure),
    ("reaction", "reaction", Over::Reaction),
];

/// What an address asks to be drawn.
pub(super) struct Axes {
    /// Along and upward; `None` with fewer than two aims.
    pub plane: Option<(AimKind, AimKind)>,
    /// The line whose curves are drawn.
    pub line: String,
    pub over: Over,
    /// The aim whose doubt and days are drawn; `None` where nothing was drawn for.
    pub doubt: Option<AimKind>,
}

impl Axes {
    pub fn of(look: &Sent, chosen: &Chosen) -> Self {
        let aims: Vec<AimKind> = chosen.aims.iter().map(|(aim, _)| *aim).collect();
        let asked = |key: &str| aims.iter().copied().find(|aim| aim.key() == look.get(key));
        let x = asked("x").or_else(|| aims.first().copied());
        let other = || aims.iter().copied().find(|aim| Some(*aim) != x);
        let y = asked("y").filter(|y| Some(*y) != x).or_else(other);
        let line = chosen.lines.iter().find(|line| *line == look.get("line"));
        let line = line.or_else(|| chosen.lines.first());
        let over = OVER.iter().find(|(word, _, _)| *word == look.get("over"));
        let doubtful = doubtful(chosen);
        let doubt = doubtful.iter().copied();
        let doubt = doubt
            .clone()
            .find(|aim| aim.key() == look.get("doubt"))
            .or(doubt.clone().next());
        Axes {
            plane: x.zip(y),
            line: line.cloned().unwrap_or_default(),
            over: over.map_or(Over::Flow, |(_, _, over)| *over),
            doubt,
        }
    }

    /// The fields that choose them.
    pub fn fields(&self, chosen: &Chosen) -> Markup {
        let aims = chosen.aims.iter().map(|(aim, _)| *aim);
        let aims: Vec<(String, String)> = aims
            .map(|aim| (aim.key().to_string(), capital(aim_name(aim))))
            .collect();
        let lines: Vec<(String, String)> = chosen
            .lines
            .iter()
            .map(|line| (line.clone(), line.clone()))
            .collect();
        let over = OVER.map(|(word, label, _)| (word.to_string(), capital(label)));
        let doubts = doubtful(chosen).into_iter();
        let doubts: Vec<(String, String)> = doubts
            .map(|aim| (aim.key().to_string(), capital(aim_name(aim))))
            .collect();
        let word = OVER.iter().find(|(_, _, over)| *over == self.over);
        let word = word.map_or("", |(word, _, _)| *word);
        html! {
            fieldset {
                legend { "What is drawn" }
                @if let Some((x, y)) = self.plane {
                    (select("x", "Along", &aims, x.key()))
                    (select("y", "Upward", &aims, y.key()))
                }
                @if lines.len() > 1 { (select("line", "Curves of line", &lines, &self.line)) }
                (select("over", "Over pump pressure", &over, word))
                @if let Some(doubt) = self.doubt { (select("doubt", "Doubt and days of", &doubts, doubt.key())) }
            }
        }
    }
}

/// The aims whose values move from day to day.
fn doubtful(chosen: &Chosen) -> Vec<AimKind> {
    let put_forward = chosen.choices.get(chosen.robust.unwrap_or(0));
    let doubted = put_forward.and_then(|choice| choice.doubted.as_ref());
    doubted.map_or_else(Vec::new, |doubted| {
        doubted.over_days.iter().map(|held| held.aim).collect()
    })
}

fn select(key: &str, label: &str, of: &[(String, String)], is: &str) -> Markup {
    let id = format!("h-{key}");
    html! {
        div.hand {
            label for=(id) { (label) }
            select id=(id) name=(key) { @for (value, label) in of { option value=(value) selected[value == is] { (label) } } }
        }
    }
}
