//! Changing a scene of a book by hand: one change, one new book, or what stands
//! against it.

use super::{EditError, free, reads_back};
use crate::layout::{SceneConditions, scene as lay};
use crate::model::{Book, Intake, IntakeFrom, Scene, SceneLine, SceneRig, Stated};
use hydraulics::units::Pressure;

/// One change of a scene. Rigs go by name; water and lines of a rig by their place
/// in its list, the first at 0.
#[derive(Debug, Clone, PartialEq)]
pub enum SceneEdit {
    /// Adds the scene to the book, under a name that is free.
    New(Box<Scene>),
    /// What it is; nothing takes the title away.
    Title(Option<String>),
    /// Anything worth knowing.
    Note(Option<String>),
    /// Puts a rig to work.
    AddRig(String, Box<SceneRig>),
    /// Takes a rig out, unless it is the last or supplies another.
    RemoveRig(String),
    /// Gives a rig water from one place more.
    AddWater(String, Intake),
    /// Puts water in place of what stands there.
    PutWater(String, usize, Intake),
    /// Takes water away, unless the rig has no other.
    RemoveWater(String, usize),
    /// The pressure at which the pump is governed, in place of a speed; `None`
    /// leaves it to what the rig feeds.
    PumpPressure(String, Option<Stated<Pressure>>),
    /// A rig feeds a line more.
    AddLine(String, SceneLine),
    /// A rig feeds a line less.
    RemoveLine(String, usize),
    /// Takes the scene out of the book.
    Delete,
}

/// `book` after one change of the scene called `scene`.
///
/// The changed book reads back from its file, and its scene can be laid out,
/// unless it could not be before.
///
/// # Errors
/// [`EditError`] says what stands against the change; the book is as it was.
///
/// ```
/// use book::{Intake, IntakeFrom, SceneEdit, SceneRig, edit_scene};
/// let text = br#"
/// [book]
/// name = "Example"
/// [rig.pumper]
/// pump = "1250 gpm"
/// [rig.second]
/// pump = "1000 gpm"
/// [line.large]
/// parts = [{ hose = "2.5 in", length = "200 ft" }, { nozzle = "1-1/8 in smooth bore" }]
/// [scene.corner.rig.pumper]
/// intake = [{ tank = true }]
/// lines = [{ line = "large" }]
/// "#;
/// let book = book::read(text, "example.toml")?;
/// let tank = Intake { from: IntakeFrom::Tank, parts: Vec::new() };
/// let rig = SceneRig { intake: vec![tank], ..SceneRig::default() };
/// let after = edit_scene(&book, "corner", &SceneEdit::AddRig("second".into(), Box::new(rig)))?;
/// assert_eq!(after.scene["corner"].rig.len(), 2);
/// let refused = edit_scene(&book, "corner", &SceneEdit::RemoveRig("pumper".into()));
/// assert_eq!(refused.map_err(|e| e.mend()), Err("add another rig first, or take out the whole scene".into()));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn edit_scene(book: &Book, scene: &str, edit: &SceneEdit) -> Result<Book, EditError> {
    let mut after = book.clone();
    match edit {
        SceneEdit::New(new) => {
            free(book, scene)?;
            for rig in new.rig.keys() {
                pumps(book, rig)?;
            }
            after.scene.insert(scene.into(), (**new).clone());
        }
        SceneEdit::Delete => {
            known(&mut after, scene)?;
            after.scene.shift_remove(scene);
        }
        change => changed(book, known(&mut after, scene)?, change)?,
    }
    reads_back(book, &after)?;
    lays_out(book, &after, scene)?;
    Ok(after)
}

fn known<'a>(book: &'a mut Book, name: &str) -> Result<&'a mut Scene, EditError> {
    let missing = || EditError::NoScene { scene: name.into() };
    book.scene.get_mut(name).ok_or_else(missing)
}

fn changed(book: &Book, scene: &mut Scene, edit: &SceneEdit) -> Result<(), EditError> {
    match edit {
        SceneEdit::New(_) | SceneEdit::Delete => {}
        SceneEdit::Title(title) => scene.title.clone_from(title),
        SceneEdit::Note(note) => scene.about.note.clone_from(note),
        SceneEdit::AddRig(name, rig) => {
            pumps(book, name)?;
            relayed(scene, &rig.intake)?;
            if scene.rig.contains_key(name) {
                return Err(EditError::AtWork { rig: name.clone() });
            }
            scene.rig.insert(name.clone(), (**rig).clone());
        }
        SceneEdit::RemoveRig(name) => remove_rig(scene, name)?,
        SceneEdit::AddWater(name, water) => {
            relayed(scene, std::slice::from_ref(water))?;
            rig(scene, name)?.intake.push(water.clone());
        }
        SceneEdit::PutWater(name, at, water) => {
            relayed(scene, std::slice::from_ref(water))?;
            let place = rig(scene, name)?.intake.get_mut(*at);
            *place.ok_or_else(|| gone(name, "water"))? = water.clone();
        }
        SceneEdit::RemoveWater(name, at) => {
            let intake = &mut rig(scene, name)?.intake;
            if *at >= intake.len() {
                return Err(gone(name, "water"));
            }
            if intake.len() == 1 {
                return Err(EditError::LastWater { rig: name.clone() });
            }
            intake.remove(*at);
        }
        SceneEdit::PumpPressure(name, pressure) => {
            let rig = rig(scene, name)?;
            rig.pump_pressure.clone_from(pressure);
            rig.speed = None;
        }
        SceneEdit::AddLine(name, line) => rig(scene, name)?.lines.push(line.clone()),
        SceneEdit::RemoveLine(name, at) => {
            let lines = &mut rig(scene, name)?.lines;
            if *at >= lines.len() {
                return Err(gone(name, "line"));
            }
            lines.remove(*at);
        }
    }
    Ok(())
}

fn rig<'a>(scene: &'a mut Scene, name: &str) -> Result<&'a mut SceneRig, EditError> {
    let missing = || EditError::NotAtWork { rig: name.into() };
    scene.rig.get_mut(name).ok_or_else(missing)
}

fn gone(rig: &str, what: &'static str) -> EditError {
    EditError::Gone {
        rig: rig.into(),
        what,
    }
}

fn remove_rig(scene: &mut Scene, name: &str) -> Result<(), EditError> {
    rig(scene, name)?;
    if scene.rig.len() == 1 {
        return Err(EditError::LastRig { rig: name.into() });
    }
    let from = IntakeFrom::Rig(name.into());
    let fed = |rig: &SceneRig| rig.intake.iter().any(|intake| intake.from == from);
    let others = scene.rig.iter().filter(|(other, _)| *other != name);
    let fed: Vec<String> = others
        .filter(|(_, rig)| fed(rig))
        .map(|(other, _)| other.clone())
        .collect();
    if !fed.is_empty() {
        return Err(EditError::Supplies {
            rig: name.into(),
            fed,
        });
    }
    scene.rig.shift_remove(name);
    Ok(())
}

/// Refuses a rig that the book has not, or that cannot pump.
fn pumps(book: &Book, name: &str) -> Result<(), EditError> {
    let item = book.rig.get(name);
    let able = item.is_some_and(|item| item.pump.is_some() || !item.pump_points.is_empty());
    match able {
        true => Ok(()),
        false => Err(EditError::NoPump { rig: name.into() }),
    }
}

/// Refuses water from a rig that is not at work.
fn relayed(scene: &Scene, intake: &[Intake]) -> Result<(), EditError> {
    for water in intake {
        if let IntakeFrom::Rig(from) = &water.from
            && !scene.rig.contains_key(from)
        {
            return Err(EditError::NotAtWork { rig: from.clone() });
        }
    }
    Ok(())
}

/// Refuses a scene that would have no answer, unless it had none before.
fn lays_out(before: &Book, after: &Book, scene: &str) -> Result<(), EditError> {
    let plain = SceneConditions::default();
    if !after.scene.contains_key(scene) {
        return Ok(());
    }
    match lay(after, scene, &plain) {
        Ok(_) => Ok(()),
        Err(_) if before.scene.contains_key(scene) && lay(before, scene, &plain).is_err() => Ok(()),
        Err(error) => Err(EditError::Refused {
            message: error.to_string(),
            mend: "change the water, the hose or the lines of the scene".into(),
        }),
    }
}
