//! Where a piece of equipment is used.

use super::entry::{Entry, Kind};
use book::{Book, HydrantSupply, IntakeFrom, Part, Scene, SceneRig};

/// Lines and scenes that name it.
#[derive(Debug, Default, PartialEq)]
pub(super) struct Uses<'a> {
    pub lines: Vec<&'a str>,
    pub scenes: Vec<&'a str>,
    /// Other hydrants on the main that was tested here.
    pub hydrants: Vec<&'a str>,
}

impl Uses<'_> {
    /// "2 lines, 1 scene"; "not used".
    pub fn words(&self) -> String {
        let counted = |count: usize, what: &str| match count {
            0 => None,
            1 => Some(format!("1 {what}")),
            count => Some(format!("{count} {what}s")),
        };
        let all = [
            counted(self.lines.len(), "line"),
            counted(self.scenes.len(), "scene"),
            counted(self.hydrants.len(), "other hydrant"),
        ];
        let words: Vec<String> = all.into_iter().flatten().collect();
        match words.is_empty() {
            true => "not used".into(),
            false => format!("in {}", words.join(", ")),
        }
    }
}

pub(super) fn uses<'a>(book: &'a Book, entry: &Entry<'_>) -> Uses<'a> {
    let lines = book.line.iter().filter(|(_, line)| match entry.kind {
        Kind::Rig => line.rig.as_deref() == Some(entry.name),
        _ => has(&line.parts, entry),
    });
    let scenes = book
        .scene
        .iter()
        .filter(|(_, scene)| in_scene(scene, entry));
    let main = |supply: &HydrantSupply| match supply {
        HydrantSupply::SameMain(other) => entry.kind == Kind::Hydrant && other == entry.name,
        HydrantSupply::Test { .. } => false,
    };
    let hydrants = book.hydrant.iter().filter(|(_, item)| main(&item.supply));
    Uses {
        lines: lines.map(|(name, _)| name.as_str()).collect(),
        scenes: scenes.map(|(name, _)| name.as_str()).collect(),
        hydrants: hydrants.map(|(name, _)| name.as_str()).collect(),
    }
}

/// Do the parts have it, at any depth?
fn has(parts: &[Part], entry: &Entry<'_>) -> bool {
    parts.iter().any(|part| match part {
        Part::Branches(rows) | Part::Legs(rows) => rows.iter().any(|row| has(row, entry)),
        one => one.kind() == entry.kind.word() && one.name() == Some(entry.name),
    })
}

/// Does the scene name it, in its supplies or among its rigs and water? (What is
/// in its lines is told by the lines.)
fn in_scene(scene: &Scene, entry: &Entry<'_>) -> bool {
    let own = entry.kind == Kind::Rig && scene.rig.contains_key(entry.name);
    own || scene.rig.values().any(|rig| at_rig(rig, entry))
}

fn at_rig(rig: &SceneRig, entry: &Entry<'_>) -> bool {
    let intake = |from: &IntakeFrom| match (from, entry.kind) {
        (IntakeFrom::Hydrant(name), Kind::Hydrant)
        | (IntakeFrom::Draft(name), Kind::Draft)
        | (IntakeFrom::Shuttle(name), Kind::Shuttle) => name == entry.name,
        _ => false,
    };
    let standpipe = |name: &str| entry.kind == Kind::Standpipe && name == entry.name;
    rig.intake
        .iter()
        .any(|i| intake(&i.from) || has(&i.parts, entry))
        || rig
            .standpipe
            .iter()
            .any(|s| standpipe(&s.standpipe) || has(&s.parts, entry))
}
