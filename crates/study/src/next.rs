//! What happens next to a line as it stands, with the numbers before anything is
//! chosen.

mod line;
mod scene;

use crate::answer::{LineAnswer, TipAnswer};
use crate::figure::{self, Figure};
use crate::need;
use crate::notice::{Notice, Weight};
use crate::operating::{StudyError, solve_plain};
use crate::whatif::{WhatIf, apply};
use book::{Added, Book, Conditions, LaidTip, Layout, Opened, Path};
use hydraulics::units::{Pressure, Ratio, System};
use serde_json::{Value, json};
use std::borrow::Cow;

/// One thing that can happen next.
#[derive(Debug, Clone, PartialEq)]
pub struct Next {
    /// A fixed name: `extend`, `kink`, `screen`, `pump_lower`, `second_line` or
    /// `hydrant_weaker`.
    pub code: &'static str,
    /// What happens, in plain words, numbers in the reader's units.
    pub title: String,
    /// Where: a part, the pump outlet, a rig or a scene.
    pub place: String,
    /// What to change, for this to happen; `None` when nothing can be said.
    pub change: Option<Changed>,
    /// What it changes, what matters most first.
    pub figures: Vec<Gain>,
    /// How it was reckoned, and what to mind.
    pub words: Vec<String>,
    /// Cautions and limits that come new with it.
    pub notices: Vec<Notice>,
    /// Why nothing can be said; there are no figures then.
    pub refused: Option<String>,
}

/// A figure before and after.
#[derive(Debug, Clone, PartialEq)]
pub struct Gain {
    /// What it is.
    pub name: Cow<'static, str>,
    /// Whose, where that is not plain: a tip's place, a line, a rig.
    pub place: String,
    /// As it is; `None` for what comes new.
    pub before: Option<Figure>,
    /// As it would be.
    pub after: Figure,
}

/// What to change.
#[derive(Debug, Clone, PartialEq)]
pub enum Changed {
    /// One thing of the line: a kink, a screen, the pump.
    Line(WhatIf),
    /// All hose that is then added at a tip: what is there already with it.
    Added(Path, Added),
    /// A second line, which may be the same again.
    Second(String),
    /// The share of their test's flow that the hydrants of a scene have left.
    Hydrants {
        /// The scene.
        scene: String,
        /// The share.
        share: Ratio,
    },
}

impl Changed {
    /// `now` with the change made, the pump held at `held`; `None` for a change of
    /// a scene.
    pub fn conditions(&self, now: &Conditions, held: Pressure) -> Option<Conditions> {
        let mut then = Conditions {
            pump_pressure: Some(held),
            ..now.clone()
        };
        match self {
            Changed::Line(change) => apply(&mut then, change),
            Changed::Added(path, added) => {
                then.changes.entry(path.clone()).or_default().added = Some(added.clone());
            }
            Changed::Second(line) => then.also.push(Opened {
                line: line.clone(),
                ..Default::default()
            }),
            Changed::Hydrants { .. } => return None,
        }
        Some(then)
    }
}

impl Next {
    fn new(code: &'static str, title: impl Into<String>, place: impl ToString) -> Self {
        Next {
            code,
            title: title.into(),
            place: place.to_string(),
            change: None,
            figures: Vec::new(),
            words: Vec::new(),
            notices: Vec::new(),
            refused: None,
        }
    }

    fn refuse(self, why: impl ToString) -> Self {
        Next {
            refused: Some(why.to_string()),
            ..self
        }
    }

    /// This as JSON in the units of `system`.
    pub fn json(&self, system: System) -> Value {
        let figures: Vec<Value> = self.figures.iter().map(|f| f.json(system)).collect();
        let notices: Vec<Value> = self.notices.iter().map(|n| n.json(system)).collect();
        json!({
            "code": self.code,
            "title": self.title,
            "place": self.place,
            "figures": figures,
            "words": self.words,
            "notices": notices,
            "refused": self.refused,
        })
    }
}

impl Gain {
    /// This as JSON in the units of `system`.
    pub fn json(&self, system: System) -> Value {
        json!({
            "name": self.name,
            "place": self.place,
            "before": self.before.map(|figure| figure.json(system)),
            "after": self.after.json(system),
        })
    }
}

/// A line as it stands, and what is asked about it.
struct Stand<'a> {
    book: &'a Book,
    line: &'a str,
    conditions: &'a Conditions,
    system: System,
    layout: Layout,
    now: LineAnswer,
}

impl Stand<'_> {
    /// The tips of the line itself, each once.
    fn tips(&self) -> impl Iterator<Item = &LaidTip> {
        let own = self.layout.tips.iter().enumerate();
        let first = |(index, tip): &(usize, &LaidTip)| {
            let same = |other: &LaidTip| other.line == tip.line && other.path == tip.path;
            tip.line == self.line && !self.layout.tips.iter().take(*index).any(same)
        };
        own.filter(first).map(|(_, tip)| tip)
    }

    fn open_tips(&self) -> impl Iterator<Item = &LaidTip> {
        self.tips().filter(|tip| need::is_open(tip))
    }

    fn has_one_tip(&self) -> bool {
        self.tips().nth(1).is_none()
    }
}

/// What happens next to `line` as `conditions` have it: hose added at its first and
/// at its worst tip, a kink, a clogged screen, a lower pump pressure, a second line
/// on the same pump, a weaker hydrant. What cannot be said is there with its reason.
/// The pump stays at the pressure that it has, but where the item says otherwise.
///
/// # Errors
/// [`StudyError`] when the line cannot be laid out as `conditions` have it.
///
/// ```
/// use hydraulics::units::System;
/// let text = br#"
/// [book]
/// name = "Example"
/// [line.left]
/// parts = [{ hose = "2.5 in", length = "200 ft" }, { nozzle = "1-1/8 in smooth bore" }]
/// aim = { tip_pressure = "50 psi" }
/// "#;
/// let book = book::read(text, "example.toml")?;
/// let next = study::what_next(&book, "left", &Default::default(), System::Us)?;
/// assert_eq!(next[0].title, "50 ft more hose at the tip");
/// // 2 x 2.66^2 x 0.5 = 7 psi on top of 78.
/// let pump = &next[0].figures[0];
/// assert_eq!(pump.name, "pump pressure for the same flow");
/// assert_eq!(pump.after.show(System::Us), "85 psi");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn what_next(
    book: &Book,
    line: &str,
    conditions: &Conditions,
    system: System,
) -> Result<Vec<Next>, StudyError> {
    let stand = Stand {
        book,
        line,
        conditions,
        system,
        layout: book::layout(book, line, conditions)?,
        now: solve_plain(book, line, conditions)?,
    };
    let mut next = line::extends(&stand);
    next.push(line::kink(&stand));
    next.push(line::screen(&stand));
    next.push(line::pump_lower(&stand));
    next.push(scene::second_line(&stand));
    next.push(scene::hydrant_weaker(&stand));
    Ok(next)
}

/// `figure` in words, without a decimal that says nothing: "15 m".
fn plain(figure: Figure, system: System) -> String {
    figure.show(system).replace(".0 ", " ")
}

/// What the tips of `line` get, before and after. With one tip its place is not
/// named, and more is told.
fn tip_gains(line: &str, before: &[TipAnswer], after: &[TipAnswer]) -> Vec<Gain> {
    let own = |tips: &[TipAnswer]| -> Vec<TipAnswer> {
        let mut list: Vec<TipAnswer> = Vec::new();
        for tip in tips.iter().filter(|tip| tip.line == line) {
            if !list.iter().any(|other| other.place == tip.place) {
                list.push(tip.clone());
            }
        }
        list
    };
    let (before, after) = (own(before), own(after));
    let single = before.len() == 1;
    let mut gains = Vec::new();
    for (old, new) in before.iter().zip(&after) {
        let mut gain = |name: &'static str, before: Figure, after: Figure| {
            gains.push(Gain {
                name: name.into(),
                place: if single {
                    String::new()
                } else {
                    old.place.clone()
                },
                before: Some(before),
                after,
            });
        };
        gain("flow", figure::flow(old.flow), figure::flow(new.flow));
        let pressure = |tip: &TipAnswer| figure::pressure(tip.tip_pressure);
        gain("tip pressure", pressure(old), pressure(new));
        if single {
            let force = |tip: &TipAnswer| figure::force(tip.reaction);
            gain("reaction, formula value", force(old), force(new));
            let reach = |tip: &TipAnswer| figure::length(tip.effective_reach);
            gain("effective reach", reach(old), reach(new));
        }
    }
    gains
}

/// The cautions and limits of `after` that `before` has not.
fn new_notices(before: &[Notice], after: &[Notice]) -> Vec<Notice> {
    let old = |notice: &Notice| {
        let same = |other: &Notice| other.code == notice.code && other.place == notice.place;
        before.iter().any(same)
    };
    let heavy = after.iter().filter(|n| n.weight > Weight::Remark);
    heavy.filter(|notice| !old(notice)).cloned().collect()
}
