//! From what was typed into the forms of a scene to rigs and their water, and back.

use super::{FieldError, HoseFields, free_name};
use crate::model::{Book, HosePart, Intake, IntakeFrom, Part, Parts, Scene, SceneLine, SceneRig};
use crate::problem::nearest;
use hydraulics::units::System;

/// The fields of a rig's water, as texts. An empty text is nothing.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct WaterFields {
    /// From where: "hydrant mill-street", "rig pumper-2", "draft mill-pond",
    /// "shuttle county-road" or "tank".
    pub from: String,
    /// The supply hose, by name; for a hydrant or a rig only, as all that follows.
    pub hose: String,
    /// Its length.
    pub length: String,
    /// Rise from the source to the rig.
    pub rise: String,
    /// How many lines of it lie side by side, 1 to 4; one when empty.
    pub count: String,
}

/// The fields of a rig put to work.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct RigFields {
    /// The rig, by name.
    pub rig: String,
    /// Its water.
    pub water: WaterFields,
    /// The lines that it feeds, by name.
    pub lines: Vec<String>,
}

/// The fields of a new scene: its title and its first rig.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct NewScene {
    /// What it is.
    pub title: String,
    /// Its first rig.
    pub rig: RigFields,
}

const SIDE_BY_SIDE: usize = 4;

fn wrong(key: &'static str, message: String, mend: impl Into<String>) -> FieldError {
    FieldError {
        key,
        message,
        mend: mend.into(),
    }
}

impl WaterFields {
    /// What the fields show for `intake`, in the units of `reader`. Hose and
    /// length are empty where the supply is more than one hose, or several alike
    /// side by side.
    pub fn of(intake: &Intake, reader: System) -> Self {
        let from = match &intake.from {
            IntakeFrom::Hydrant(name) => format!("hydrant {name}"),
            IntakeFrom::Rig(name) => format!("rig {name}"),
            IntakeFrom::Draft(name) => format!("draft {name}"),
            IntakeFrom::Shuttle(name) => format!("shuttle {name}"),
            IntakeFrom::Tank => "tank".into(),
        };
        let Some((hose, count)) = plain(&intake.parts) else {
            return WaterFields {
                from,
                ..WaterFields::default()
            };
        };
        let shown = HoseFields::of(hose, reader);
        WaterFields {
            from,
            hose: shown.hose,
            length: shown.length,
            rise: shown.rise,
            count: count.to_string(),
        }
    }

    /// Reads the fields. A bare number is in the units of `reader`. `was` is the
    /// water that the fields showed: what is as it was shown stays as it was
    /// written.
    ///
    /// # Errors
    /// [`FieldError`] for each field that cannot be read.
    ///
    /// ```
    /// use book::{Book, IntakeFrom, WaterFields};
    /// use hydraulics::units::System;
    /// let typed = WaterFields { from: "tank".into(), ..WaterFields::default() };
    /// let water = typed.read(&Book::default(), System::Us, None).map_err(|e| format!("{e:?}"))?;
    /// assert_eq!(water.from, IntakeFrom::Tank);
    /// # Ok::<(), String>(())
    /// ```
    pub fn read(
        &self,
        book: &Book,
        reader: System,
        was: Option<&Intake>,
    ) -> Result<Intake, Vec<FieldError>> {
        let mut errors = Vec::new();
        let from = self.source(book).map_err(|error| errors.push(error)).ok();
        if from.as_ref().is_some_and(|from| !is_laid(from)) {
            return from
                .map(|from| Intake {
                    from,
                    parts: Parts::new(),
                })
                .ok_or(errors);
        }
        let count = self.count().map_err(|error| errors.push(error)).ok();
        let typed = HoseFields {
            hose: self.hose.clone(),
            length: self.length.clone(),
            rise: self.rise.clone(),
            kink: String::new(),
        };
        let stood = was.and_then(|was| plain(&was.parts)).map(|(hose, _)| hose);
        let hose = typed.read(book, reader, stood);
        let hose = hose.map_err(|more| errors.extend(more)).ok();
        let kink = stood.and_then(|hose| hose.kink.clone());
        let (Some(from), Some(count), Some(hose)) = (from, count, hose) else {
            return Err(errors);
        };
        let hose = Part::Hose(HosePart { kink, ..hose });
        let parts = match count {
            1 => vec![hose],
            many => vec![Part::Legs(vec![vec![hose]; many])],
        };
        Ok(Intake { from, parts })
    }

    fn source(&self, book: &Book) -> Result<IntakeFrom, FieldError> {
        let text = self.from.trim();
        let (kind, name) = text.split_once(' ').unwrap_or((text, ""));
        let own: Vec<&str> = match kind {
            "tank" => return Ok(IntakeFrom::Tank),
            // Whether it is at work is for the scene to say.
            "rig" => return Ok(IntakeFrom::Rig(name.into())),
            "hydrant" => book.hydrant.keys().map(String::as_str).collect(),
            "draft" => book.draft.keys().map(String::as_str).collect(),
            "shuttle" => book.shuttle.keys().map(String::as_str).collect(),
            _ => {
                return Err(wrong(
                    "from",
                    "it is not said where the water comes from".into(),
                    "choose a hydrant, its own tank, open water, a shuttle or another rig",
                ));
            }
        };
        if !own.contains(&name) {
            let mend = match nearest(name, own.iter().copied()) {
                Some(near) => format!("did you mean \"{near}\"?"),
                None => "choose one of the book".into(),
            };
            return Err(wrong(
                "from",
                format!("there is no {kind} \"{name}\""),
                mend,
            ));
        }
        Ok(match kind {
            "hydrant" => IntakeFrom::Hydrant(name.into()),
            "draft" => IntakeFrom::Draft(name.into()),
            _ => IntakeFrom::Shuttle(name.into()),
        })
    }

    fn count(&self) -> Result<usize, FieldError> {
        let text = self.count.trim();
        let count = if text.is_empty() { Ok(1) } else { text.parse() };
        match count {
            Ok(count) if (1..=SIDE_BY_SIDE).contains(&count) => Ok(count),
            _ => Err(wrong(
                "count",
                format!("{text} supply lines cannot lie side by side here"),
                format!("choose 1 to {SIDE_BY_SIDE}"),
            )),
        }
    }
}

fn is_laid(from: &IntakeFrom) -> bool {
    matches!(from, IntakeFrom::Hydrant(_) | IntakeFrom::Rig(_))
}

/// The one hose of a supply, and how many of it lie side by side.
fn plain(parts: &[Part]) -> Option<(&HosePart, usize)> {
    match parts {
        [Part::Hose(hose)] => Some((hose, 1)),
        [Part::Legs(rows)] if rows.len() <= SIDE_BY_SIDE => {
            let (first, rest) = rows.split_first()?;
            let [Part::Hose(hose)] = first.as_slice() else {
                return None;
            };
            rest.iter()
                .all(|row| row == first)
                .then_some((hose, rows.len()))
        }
        _ => None,
    }
}

impl RigFields {
    /// Reads the fields. A bare number is in the units of `reader`.
    ///
    /// # Errors
    /// [`FieldError`] for each field that cannot be read.
    pub fn read(&self, book: &Book, reader: System) -> Result<(String, SceneRig), Vec<FieldError>> {
        let mut errors = Vec::new();
        let rig = self.rig.trim();
        match book.rig.get(rig) {
            _ if rig.is_empty() => {
                errors.push(wrong("rig", "no rig is chosen".into(), "choose the rig"));
            }
            None => errors.push(wrong(
                "rig",
                format!("there is no rig \"{rig}\""),
                "choose one of the book",
            )),
            Some(item) if item.pump.is_none() && item.pump_points.is_empty() => {
                errors.push(wrong(
                    "rig",
                    format!("rig \"{rig}\" has no pump in the book"),
                    "choose another rig, or add its pump first",
                ));
            }
            Some(_) => {}
        }
        for line in self.lines.iter().filter(|l| !book.line.contains_key(*l)) {
            let message = format!("there is no line \"{line}\"");
            errors.push(wrong("lines", message, "choose lines of the book"));
        }
        let water = self.water.read(book, reader, None);
        let water = water.map_err(|more| errors.extend(more)).ok();
        let line = |line: &String| SceneLine {
            line: line.clone(),
            ..SceneLine::default()
        };
        match water {
            Some(water) if errors.is_empty() => Ok((
                rig.into(),
                SceneRig {
                    intake: vec![water],
                    lines: self.lines.iter().map(line).collect(),
                    ..SceneRig::default()
                },
            )),
            _ => Err(errors),
        }
    }
}

impl NewScene {
    /// Reads the fields: a name that is free, made from the title, and the scene.
    ///
    /// # Errors
    /// [`FieldError`] for each field that cannot be read.
    ///
    /// ```
    /// use book::{NewScene, RigFields, WaterFields};
    /// use hydraulics::units::System;
    /// let text = b"[book]\nname = 'Example'\n[rig.pumper]\npump = '1250 gpm'\n";
    /// let book = book::read(text, "example.toml")?;
    /// let typed = NewScene {
    ///     title: "Barn on Mill Street".into(),
    ///     rig: RigFields {
    ///         rig: "pumper".into(),
    ///         water: WaterFields { from: "tank".into(), ..WaterFields::default() },
    ///         lines: Vec::new(),
    ///     },
    /// };
    /// let (name, scene) = typed.read(&book, System::Us).map_err(|e| format!("{e:?}"))?;
    /// assert_eq!((name.as_str(), scene.rig.len()), ("barn-on-mill-street", 1));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn read(&self, book: &Book, reader: System) -> Result<(String, Scene), Vec<FieldError>> {
        let title = self.title.trim();
        let mut errors = Vec::new();
        if title.is_empty() {
            errors.push(wrong(
                "title",
                "the scene has no title".into(),
                "write what it is, as \"Barn on Mill Street\"",
            ));
        }
        let rig = self.rig.read(book, reader);
        let rig = rig.map_err(|more| errors.extend(more)).ok();
        let Some((rig, item)) = rig.filter(|_| errors.is_empty()) else {
            return Err(errors);
        };
        let mut scene = Scene {
            title: Some(title.into()),
            ..Scene::default()
        };
        scene.rig.insert(rig, item);
        let words = match title.chars().any(char::is_alphanumeric) {
            true => title,
            false => "scene",
        };
        Ok((free_name(book, words), scene))
    }
}
