//! Why a line or a scene could not be changed.

use crate::check::Fault;
use crate::model::{Path, listed};

/// Why a line or a scene could not be changed. It says what is wrong; [`EditError::mend`]
/// says what would mend it.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum EditError {
    /// The book has no such line.
    #[error("there is no line \"{line}\"")]
    NoLine {
        /// The line asked for.
        line: String,
    },
    /// The line has no such part or row.
    #[error("line \"{line}\" has no {path}")]
    NoPart {
        /// The line.
        line: String,
        /// The way that leads nowhere.
        path: Path,
    },
    /// What is there cannot be changed in this way.
    #[error("{path} is {}, and not {wanted}", article(.is))]
    NotThat {
        /// The part.
        path: Path,
        /// What it is.
        is: &'static str,
        /// What it would have to be.
        wanted: &'static str,
    },
    /// The part is the only one of its row.
    #[error("{path} is the only part of its row")]
    Only {
        /// The part.
        path: Path,
    },
    /// The part is at the end of its row already.
    #[error("{path} is already the {end} of its row")]
    AtEnd {
        /// The part or row.
        path: Path,
        /// "first" or "last".
        end: &'static str,
    },
    /// No wye of the book or the catalogue can stand there.
    #[error("no wye of the book or the catalogue fits before {path}")]
    NoWye {
        /// Where it should have stood.
        path: Path,
    },
    /// Another line or scene has the name.
    #[error("there is already a {kind} \"{name}\"")]
    Taken {
        /// The name.
        name: String,
        /// "line" or "scene".
        kind: &'static str,
    },
    /// The name cannot be read aloud.
    #[error("\"{name}\" cannot be the name of a line")]
    BadName {
        /// The name.
        name: String,
    },
    /// Scenes use the line.
    #[error("line \"{line}\" is at work in {}", scenes_of(.scenes))]
    InUse {
        /// The line.
        line: String,
        /// The scenes.
        scenes: Vec<String>,
    },
    /// The book has no such scene.
    #[error("there is no scene \"{scene}\"")]
    NoScene {
        /// The scene asked for.
        scene: String,
    },
    /// The rig is not in the scene.
    #[error("rig \"{rig}\" is not at work in this scene")]
    NotAtWork {
        /// The rig.
        rig: String,
    },
    /// The rig is in the scene already.
    #[error("rig \"{rig}\" is at work in this scene already")]
    AtWork {
        /// The rig.
        rig: String,
    },
    /// The book has no such rig, or not its pump.
    #[error("the book has no rig \"{rig}\" with a pump")]
    NoPump {
        /// The rig.
        rig: String,
    },
    /// It is the only rig of the scene.
    #[error("rig \"{rig}\" is the only rig of this scene")]
    LastRig {
        /// The rig.
        rig: String,
    },
    /// Other rigs have their water from it.
    #[error("rig \"{rig}\" supplies {}", listed(&.fed.iter().map(String::as_str).collect::<Vec<_>>()))]
    Supplies {
        /// The rig.
        rig: String,
        /// The rigs that it supplies.
        fed: Vec<String>,
    },
    /// The rig has no other water.
    #[error("rig \"{rig}\" has no other water")]
    LastWater {
        /// The rig.
        rig: String,
    },
    /// A rig's water or line is not there.
    #[error("rig \"{rig}\" has no such {what} any more")]
    Gone {
        /// The rig.
        rig: String,
        /// "water" or "line".
        what: &'static str,
    },
    /// The line would have these errors, which it had not before. Each has the
    /// part and the key at which it is.
    #[error("{}", first(.0))]
    Faults(Vec<Fault>),
    /// The book's file would not take it.
    #[error("{message}")]
    Refused {
        /// What is wrong.
        message: String,
        /// What would mend it.
        mend: String,
    },
}

fn article(kind: &str) -> String {
    match kind {
        "nozzle" => "a nozzle".into(),
        "appliance" => "an appliance".into(),
        many => many.into(),
    }
}

fn scenes_of(scenes: &[String]) -> String {
    let names: Vec<&str> = scenes.iter().map(String::as_str).collect();
    let word = if names.len() == 1 { "scene" } else { "scenes" };
    format!("{word} {}", listed(&names))
}

fn first(faults: &[Fault]) -> &str {
    let first = faults.first();
    first.map_or("the line does not hold together", |f| f.message.as_str())
}

impl EditError {
    /// What would mend it.
    ///
    /// ```
    /// let error = book::EditError::NoLine { line: "left".into() };
    /// assert_eq!(error.mend(), "choose one of the lines of the book");
    /// ```
    pub fn mend(&self) -> String {
        match self {
            EditError::NoLine { .. } => "choose one of the lines of the book".into(),
            EditError::NoPart { .. } => {
                "look at the line as it is now; it may have been changed meanwhile".into()
            }
            EditError::NotThat { wanted, .. } => format!("choose {wanted}"),
            EditError::Only { .. } => {
                "put another part in its place, or take out the whole branch or leg".into()
            }
            EditError::AtEnd { .. } => "move it the other way, or leave it there".into(),
            EditError::NoWye { .. } => {
                "name an appliance that divides the line, or put an adapter before it".into()
            }
            EditError::Taken { .. } => "give it another name".into(),
            EditError::BadName { .. } => {
                "give it a name of 1 to 80 letters, digits and signs".into()
            }
            EditError::NoScene { .. } => "choose one of the scenes of the book".into(),
            EditError::NotAtWork { .. } => "add it to the scene first, or choose another".into(),
            EditError::AtWork { .. } => "choose another, or change the one at work".into(),
            EditError::NoPump { .. } => "add the rig and its pump to the book first".into(),
            EditError::LastRig { .. } => {
                "add another rig first, or take out the whole scene".into()
            }
            EditError::Supplies { .. } => "give what it supplies other water first".into(),
            EditError::LastWater { .. } => "add other water first, or change this one".into(),
            EditError::Gone { .. } => "look at the scene as it is now".into(),
            EditError::InUse { .. } => "take it out of the scene first".into(),
            EditError::Faults(faults) => {
                faults.first().map_or_else(String::new, |f| f.mend.clone())
            }
            EditError::Refused { mend, .. } => mend.clone(),
        }
    }
}
