//! A change to a scene, from the form that asks for it.

use super::Asked;
use super::list::from;
use book::{
    Book, EditError, FieldError, NewScene, RigFields, SceneEdit, SceneLine, SceneRig, Stated,
    WaterFields, edit_scene,
};
use hydraulics::units::{Kind, Ratio, System};

/// A form as it was sent.
#[derive(Debug, Clone, Default)]
pub(super) struct Sent(pub Asked);

impl Sent {
    pub fn get(&self, key: &str) -> &str {
        let found = self.0.iter().find(|(name, _)| name == key);
        found.map_or("", |(_, value)| value.trim())
    }

    /// Every value of a list of boxes.
    pub fn all(&self, key: &str) -> Vec<String> {
        let found = self.0.iter().filter(|(name, _)| name == key);
        found.map(|(_, value)| value.clone()).collect()
    }

    pub fn base(&self) -> Option<i64> {
        self.get("base").parse().ok()
    }

    /// The same, made on another revision.
    pub fn on(&self, base: i64) -> Sent {
        let rest = self.0.iter().filter(|(key, _)| key != "base").cloned();
        Sent(rest.chain([("base".into(), base.to_string())]).collect())
    }

    fn own(&self, key: &str) -> String {
        self.get(key).to_string()
    }

    fn some(&self, key: &str) -> Option<String> {
        Some(self.own(key)).filter(|text| !text.is_empty())
    }

    fn water(&self) -> WaterFields {
        WaterFields {
            from: self.own("from"),
            hose: self.own("hose"),
            length: self.own("length"),
            rise: self.own("rise"),
            count: self.own("count"),
        }
    }

    fn rig(&self) -> RigFields {
        RigFields {
            rig: self.own("rig"),
            water: self.water(),
            lines: self.all("lines"),
        }
    }

    fn at(&self) -> usize {
        self.get("at").parse().unwrap_or(usize::MAX)
    }
}

/// A book with the change made.
pub(super) struct Changed {
    pub book: Book,
    /// The scene's name; `None`: it is gone.
    pub scene: Option<String>,
    /// The deed, for the history.
    pub why: &'static str,
}

/// Why a change cannot be made, by field; an empty key is about the whole.
pub(super) type Refused = Vec<(String, String)>;

/// A new scene as the form has it.
pub(super) fn begin(book: &Book, sent: &Sent, system: System) -> Result<Changed, Refused> {
    let wanted = NewScene {
        title: sent.own("title"),
        rig: sent.rig(),
    };
    let (name, scene) = wanted.read(book, system).map_err(fields)?;
    made(book, &name, &[SceneEdit::New(Box::new(scene))], "new scene")
}

/// Makes the change that `sent` asks for.
pub(super) fn change(
    book: &Book,
    scene: &str,
    sent: &Sent,
    system: System,
) -> Result<Changed, Refused> {
    let rig = sent.own("rig");
    let at = sent.at();
    as_shown(book, scene, sent)?;
    let (edits, why) = match sent.get("do") {
        "title" => (
            vec![
                SceneEdit::Title(sent.some("title")),
                SceneEdit::Note(sent.some("note")),
            ],
            "scene changed",
        ),
        "rig" => {
            let (name, rig) = sent.rig().read(book, system).map_err(fields)?;
            (
                vec![SceneEdit::AddRig(name, Box::new(rig))],
                "rig added to scene",
            )
        }
        "rig-out" => (vec![SceneEdit::RemoveRig(rig)], "rig taken out of scene"),
        "water" => {
            let stands = at_work(book, scene, &rig).and_then(|rig| rig.intake.get(at));
            let water = sent.water().read(book, system, stands).map_err(fields)?;
            (
                vec![SceneEdit::PutWater(rig, at, water)],
                "water of a rig changed",
            )
        }
        "water-add" => {
            let water = sent.water().read(book, system, None).map_err(fields)?;
            (
                vec![SceneEdit::AddWater(rig, water)],
                "water added to a rig",
            )
        }
        "water-out" => (
            vec![SceneEdit::RemoveWater(rig, at)],
            "water of a rig taken out",
        ),
        "pump" => (
            vec![pump(book, scene, sent, system)?],
            "pump pressure changed",
        ),
        "lines" => (lines(sent)?, "lines added to a rig"),
        "line-out" => (vec![SceneEdit::RemoveLine(rig, at)], "line taken off a rig"),
        "delete" => (vec![SceneEdit::Delete], "scene taken out"),
        _ => return Err(whole("There is no such change. Go back and choose one.")),
    };
    made(book, scene, &edits, why)
}

fn whole(message: &str) -> Refused {
    vec![(String::new(), message.into())]
}

fn at_work<'a>(book: &'a Book, scene: &str, rig: &str) -> Option<&'a SceneRig> {
    book.scene.get(scene)?.rig.get(rig)
}

/// Refuses a change of a list's entry that is another one by now.
fn as_shown(book: &Book, scene: &str, sent: &Sent) -> Result<(), Refused> {
    let rig = at_work(book, scene, sent.get("rig"));
    let stands = match sent.get("do") {
        "water" | "water-out" => rig
            .and_then(|rig| rig.intake.get(sent.at()))
            .map(|water| from(&water.from)),
        "line-out" => rig
            .and_then(|rig| rig.lines.get(sent.at()))
            .map(|line| line.line.clone()),
        _ => return Ok(()),
    };
    match stands.as_deref() == Some(sent.get("was")) {
        true => Ok(()),
        false => Err(whole(
            "The scene has changed since this form was made: look at it as it is now, and choose again.",
        )),
    }
}

fn pump(book: &Book, scene: &str, sent: &Sent, system: System) -> Result<SceneEdit, Refused> {
    let rig = sent.own("rig");
    let stands = at_work(book, scene, &rig).and_then(|rig| rig.pump_pressure.clone());
    let typed = sent.get("pump_pressure");
    let same = |kept: &Stated<_>| book::shown(Kind::Pressure, kept, system) == typed;
    let pressure = match stands.filter(same) {
        Some(kept) => Some(kept),
        None => book::pump_pressure(typed, system).map_err(|error| fields(vec![error]))?,
    };
    Ok(SceneEdit::PumpPressure(rig, pressure))
}

/// Lines off the rig's own outlets, or off a floor of a standpipe that it feeds.
fn lines(sent: &Sent) -> Result<Vec<SceneEdit>, Refused> {
    let names = sent.all("lines");
    let about = |key: &str, message: &str| vec![(key.to_string(), message.to_string())];
    if names.is_empty() {
        return Err(about("lines", "No line is chosen: tick those to be added."));
    }
    let standpipe = sent.some("standpipe");
    let floor = match (&standpipe, sent.get("floor")) {
        (None, _) => None,
        (Some(_), "") => return Err(about("floor", "No floor is written: write it as 5.")),
        (Some(_), text) => {
            let read = text.parse::<u32>().ok().filter(|floor| *floor > 0);
            let read = read.and_then(|floor| stated_floor(floor).ok());
            let told = format!("\"{text}\" is no floor: write it as 5.");
            Some(read.ok_or_else(|| about("floor", &told))?)
        }
    };
    let edit = |line: String| {
        let line = SceneLine {
            line,
            standpipe: standpipe.clone(),
            floor: floor.clone(),
            ..SceneLine::default()
        };
        SceneEdit::AddLine(sent.own("rig"), line)
    };
    Ok(names.into_iter().map(edit).collect())
}

fn stated_floor(floor: u32) -> Result<Stated<Ratio>, hydraulics::units::UnitError> {
    Stated::read(Kind::Share, &floor.to_string(), System::Us)
}

fn made(
    book: &Book,
    scene: &str,
    edits: &[SceneEdit],
    why: &'static str,
) -> Result<Changed, Refused> {
    let mut book = book.clone();
    for edit in edits {
        book = edit_scene(&book, scene, edit).map_err(|error| refused(&error))?;
    }
    let scene = book.scene.contains_key(scene).then(|| scene.to_string());
    Ok(Changed { book, scene, why })
}

fn fields(wrong: Vec<FieldError>) -> Refused {
    let said = |error: FieldError| (error.key.to_string(), sentence(&error.message, &error.mend));
    wrong.into_iter().map(said).collect()
}

fn refused(error: &EditError) -> Refused {
    let key = match error {
        EditError::NotAtWork { .. } => "from",
        EditError::AtWork { .. } | EditError::NoPump { .. } => "rig",
        _ => "",
    };
    vec![(key.into(), sentence(&error.to_string(), &error.mend()))]
}

fn sentence(message: &str, mend: &str) -> String {
    match mend {
        "" => message.into(),
        mend => format!("{message}: {mend}"),
    }
}
