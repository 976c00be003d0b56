//! What is asked of a scene.

use super::{AskError, Asked, misread, place, pressure, share};
use crate::scene::{SceneAnswer, SceneCompared, solve_scene, what_if_scene};
use book::{Book, Outlet, SceneConditions};
use hydraulics::units::System;
use serde_json::{Value, json};

/// The answer to a question about a scene.
#[derive(Debug, Clone)]
pub enum OfScene {
    /// Nothing was changed.
    Plain(Box<SceneAnswer>),
    /// Before and after the changes.
    Changed(Box<SceneCompared>),
}

impl OfScene {
    /// This answer as JSON in the units of `system`.
    pub fn json(&self, system: System) -> Value {
        match self {
            OfScene::Plain(answer) => answer.json(system),
            OfScene::Changed(compared) => json!({
                "before": compared.before.json(system),
                "after": compared.after.json(system),
            }),
        }
    }

    /// The answer with the changes made, if there are any.
    pub fn last(&self) -> &SceneAnswer {
        match self {
            OfScene::Plain(answer) => answer,
            OfScene::Changed(compared) => &compared.after,
        }
    }
}

impl Asked {
    /// Answers the question about the scene called `name`.
    ///
    /// # Errors
    /// [`AskError`] when the question is not written right or has no answer.
    pub fn scene(&self, book: &Book, name: &str) -> Result<OfScene, AskError> {
        let plain = SceneConditions {
            which: self.which,
            ..Default::default()
        };
        let changes = self.scene_changes(book, name)?;
        Ok(match changes == SceneConditions::default() {
            true => OfScene::Plain(Box::new(solve_scene(book, name, &plain)?)),
            false => OfScene::Changed(Box::new(what_if_scene(book, name, &plain, &changes)?)),
        })
    }

    /// The changes asked of the scene called `name`.
    ///
    /// # Errors
    /// [`AskError`] when a value or a name cannot be read, or there is no such scene.
    pub fn scene_changes(&self, book: &Book, name: &str) -> Result<SceneConditions, AskError> {
        self.refuse_what_is_of_lines()?;
        let mut conditions = SceneConditions::default();
        if let Some(text) = &self.weaker {
            let option = self.named("weaker");
            let left = share(&option, text)?;
            if left.value < 0.01 {
                return misread(format!("{option}: leave the mains at least 1 %"));
            }
            conditions.hydrants = Some(left);
        }
        let option = self.named("pump");
        for text in &self.pump {
            let (rig, value) = whose(&option, text, "pumper-1 = 150 psi")?;
            let value = pressure(&option, &value)?;
            conditions.pump_pressure.insert(rig, value);
        }
        let option = self.named("gate");
        for text in &self.gate {
            gate(&option, text, book, name, &mut conditions)?;
        }
        Ok(conditions)
    }

    fn refuse_what_is_of_lines(&self) -> Result<(), AskError> {
        let asked = self.of_lines();
        let asked = asked.iter().find(|(_, list)| !list.is_empty());
        let asked = asked.map(|(option, _)| *option);
        let Some(option) = asked.or(self.off.as_ref().map(|_| "off")) else {
            return Ok(());
        };
        let [option, pump, gate, weaker] =
            [option, "pump", "gate", "weaker"].map(|option| self.named(option));
        misread(format!(
            "{option} is a question about one line; of a scene ask {pump}, {gate} or {weaker}"
        ))
    }
}

fn gate(
    option: &str,
    text: &str,
    book: &Book,
    name: &str,
    conditions: &mut SceneConditions,
) -> Result<(), AskError> {
    let (line, value) = whose(option, text, "left-crosslay = 50 %")?;
    let open = share(option, &value)?;
    if let Some((line, at)) = line.split_once(':') {
        let changes = conditions.changes.entry(line.trim().into()).or_default();
        changes.entry(place(option, at)?).or_default().gate = Some(open);
        return Ok(());
    }
    let outlet = outlet_of(option, &line, book, name, conditions)?;
    conditions.outlets.insert(outlet, open);
    Ok(())
}

/// The outlet that feeds `line`.
fn outlet_of(
    option: &str,
    line: &str,
    book: &Book,
    name: &str,
    conditions: &SceneConditions,
) -> Result<Outlet, AskError> {
    let laid = book::scene(book, name, conditions)?;
    let fed = |b: &&book::Branch| {
        let feeds = b.outlet.feeds.to_string();
        let kinds = ["line", "standpipe", "supply to"];
        feeds == line || kinds.iter().any(|kind| feeds == format!("{kind} {line}"))
    };
    if let Some(branch) = laid.branches.iter().find(fed) {
        return Ok(branch.outlet.clone());
    }
    let all = laid.branches.iter().map(|b| b.outlet.feeds.to_string());
    let all: Vec<String> = all.collect();
    misread(format!(
        "{option}: no outlet feeds \"{line}\"; there are {}",
        all.join(", ")
    ))
}

/// Reads "NAME = VALUE".
fn whose(option: &str, text: &str, example: &str) -> Result<(String, String), AskError> {
    match text.split_once('=') {
        Some((name, value)) => Ok((name.trim().to_string(), value.trim().to_string())),
        None => misread(format!(
            "{option}: in a scene say whose, as {option} \"{example}\""
        )),
    }
}
