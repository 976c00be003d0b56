//! Changing a line of a book by hand: one change, one new book, or what stands
//! against it.

mod error;
mod fields;
mod fit;
mod items;
mod marking;
mod place;
mod rows;
mod scene;
mod scene_fields;
mod start;

pub use error::EditError;
pub use fields::{
    AimFields, ApplianceFields, FieldError, HoseFields, NozzleFields, crew_limit, pump_ceiling,
    pump_pressure, shown,
};
pub use items::{ItemError, ItemFields, ItemKind, change_item, item_fields, new_item, remove_item};
pub use marking::marking;
pub use scene::{SceneEdit, edit_scene};
pub use scene_fields::{NewScene, RigFields, WaterFields};
pub use start::{NewLine, NewLineError, Started, free_name, new_line};

use crate::check::{self, Fault};
use crate::model::{Aim, Book, Line, Marking, Part, Path, Stated};
use crate::problem::Severity;
use crate::reader::{examine, nameable};
use crate::writer::write;
use hydraulics::units::Pressure;

/// One change of a line. Paths are as [`Path`] writes them: "part 3, branch 1,
/// part 2"; a row is "part 3, branch 1".
#[derive(Debug, Clone, PartialEq)]
#[expect(clippy::large_enum_variant, reason = "one is made at a time")]
pub enum Edit {
    /// Puts a part in place of the one at the path.
    Put(Path, Part),
    /// Puts parts in, so that the first of them stands at the path. The path may
    /// be one past the end of its row. Several at once can extend a line from a
    /// shut-off: hose and the nozzle at its end.
    Insert(Path, Vec<Part>),
    /// Takes a part out; or a whole branch or leg, its gate with it. When one
    /// row is left it is joined into the line, and the wye and siamese that are
    /// then of no use go too, unless the line does not fit without them.
    Remove(Path),
    /// Moves a part one place towards the pump; or a branch or leg before the
    /// one next to it.
    Earlier(Path),
    /// Moves a part one place towards the tip; or a branch or leg behind the one
    /// next to it.
    Later(Path),
    /// Divides the line before the part at the path: what stood from there on is
    /// the first branch, a copy of it the second.
    Divide {
        /// The first part of the branches.
        at: Path,
        /// What divides the line; a wye of the book or of the catalogue that
        /// fits, when none is named.
        appliance: Option<String>,
    },
    /// Adds a branch or a leg, a copy of the last, to the branches or legs at
    /// the path.
    AddRow(Path),
    /// Makes two legs of the part at the path, each a copy of it, with the wye
    /// before and the siamese behind that it takes.
    Twin(Path),
    /// What crews call the line; nothing takes the title away.
    Title(Option<String>),
    /// The rig that it comes off.
    Rig(Option<String>),
    /// The pump pressure that the department uses for it; `None` leaves it to
    /// the aim.
    PumpPressure(Option<Stated<Pressure>>),
    /// What each tip is meant to deliver.
    Aim(Option<Aim>),
    /// Colour and mark of its outlet.
    Marking(Marking),
    /// Anything worth knowing.
    Note(Option<String>),
    /// Adds the line to the book, under a name that is free.
    New(Box<Line>),
    /// Adds a copy of the line under this name, behind it.
    Copy(String),
    /// Gives the line this name; scenes follow.
    Rename(String),
    /// Takes the line out of the book, unless a scene uses it.
    Delete,
}

/// `book` after one change of the line called `line`.
///
/// The changed book reads back from its file, and its line has no error that it
/// had not before; warnings pass ([`crate::check`] tells them), but for several
/// lines into one inlet, which gets the siamese that it takes or is refused.
///
/// # Errors
/// [`EditError`] says what stands against the change; the book is as it was.
///
/// ```
/// use book::{edit, Edit, EditError};
/// let text = br#"
/// [book]
/// name = "Example"
/// [line.left]
/// parts = [{ hose = "1.75 in", length = "200 ft" }, { nozzle = "150 gpm at 50 psi" }]
/// aim = { flow = "150 gpm" }
/// "#;
/// let book = book::read(text, "example.toml")?;
/// let wyed = edit(&book, "left", &Edit::Divide { at: "part 2".parse()?, appliance: None })?;
/// assert_eq!(wyed.line["left"].parts.len(), 3);
/// let refused = edit(&book, "left", &Edit::Remove("part 2".parse()?));
/// assert!(matches!(refused, Err(EditError::Faults(faults)) if faults[0].code == "no_tip"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn edit(book: &Book, line: &str, edit: &Edit) -> Result<Book, EditError> {
    apply(book, line, edit, false).map(|(after, _)| after)
}

/// As [`edit`], with adapters put in where couplings ask for them, and taken out
/// where they no longer do. Gives the changed book, and what was done to the
/// adapters in words; nothing when nothing was.
///
/// # Errors
/// As [`edit`]: also where no adapter of the book or the catalogue helps.
///
/// ```
/// use book::{edit_and_adapt, Edit, HosePart, Part, Stated};
/// use hydraulics::units::{Kind, System};
/// let text = br#"
/// [book]
/// name = "Example"
/// [line.left]
/// parts = [{ hose = "1.75 in", length = "200 ft" }, { nozzle = "150 gpm at 50 psi" }]
/// "#;
/// let book = book::read(text, "example.toml")?;
/// let part = Part::Hose(HosePart {
///     hose: "2.5 in".into(),
///     length: Stated::read(Kind::Length, "100 ft", System::Us)?,
///     rise: None,
///     kink: None,
/// });
/// let (after, told) = edit_and_adapt(&book, "left", &Edit::Insert("part 1".parse()?, vec![part]))?;
/// assert_eq!(after.line["left"].parts[1].name(), Some("reducer 2.5 to 1.5 in"));
/// assert_eq!(told, ["\"reducer 2.5 to 1.5 in\" put in before part 2"]);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn edit_and_adapt(
    book: &Book,
    line: &str,
    edit: &Edit,
) -> Result<(Book, Vec<String>), EditError> {
    apply(book, line, edit, true)
}

fn apply(
    book: &Book,
    name: &str,
    edit: &Edit,
    adapt: bool,
) -> Result<(Book, Vec<String>), EditError> {
    let mut after = book.clone();
    let mut told = Vec::new();
    match edit {
        Edit::New(line) => {
            free(book, name)?;
            let (line, done) = best(book, name, vec![(**line).clone()], adapt)?;
            told = done;
            after.line.insert(name.into(), line);
        }
        Edit::Copy(to) => {
            let line = known(book, name)?.clone();
            free(book, to)?;
            let index = after.line.get_index_of(name).unwrap_or_default();
            after.line.shift_insert(index + 1, to.clone(), line);
        }
        Edit::Rename(to) => rename(&mut after, name, to)?,
        Edit::Delete => {
            known(book, name)?;
            unused(book, name)?;
            after.line.shift_remove(name);
        }
        change => {
            let line = known(book, name)?;
            let candidates = place::changed(book, name, line, change)?;
            let (line, done) = best(book, name, candidates, adapt)?;
            let (at, asked) = match change {
                Edit::Put(at, part) => (Some(at), Some(part)),
                Edit::Insert(at, parts) => (Some(at), parts.first()),
                _ => (None, None),
            };
            let put_in = at.and_then(|at| rows::siamese_put_in(book, &line, at, asked));
            told = put_in.into_iter().chain(done).collect();
            after.line.insert(name.into(), line);
        }
    }
    reads_back(book, &after)?;
    Ok((after, told))
}

fn known<'a>(book: &'a Book, name: &str) -> Result<&'a Line, EditError> {
    let missing = || EditError::NoLine { line: name.into() };
    book.line.get(name).ok_or_else(missing)
}

/// Refuses a name that cannot be given to a line.
fn free(book: &Book, name: &str) -> Result<(), EditError> {
    if !nameable(name) {
        return Err(EditError::BadName { name: name.into() });
    }
    let kind = match name {
        _ if book.line.contains_key(name) => "line",
        _ if book.scene.contains_key(name) => "scene",
        _ => return Ok(()),
    };
    Err(EditError::Taken {
        name: name.into(),
        kind,
    })
}

fn unused(book: &Book, name: &str) -> Result<(), EditError> {
    let uses = |scene: &crate::model::Scene| {
        let mut lines = scene.rig.values().flat_map(|rig| &rig.lines);
        lines.any(|l| l.line == name)
    };
    let scenes: Vec<String> = book
        .scene
        .iter()
        .filter(|(_, scene)| uses(scene))
        .map(|(name, _)| name.clone())
        .collect();
    match scenes.as_slice() {
        [] => Ok(()),
        _ => Err(EditError::InUse {
            line: name.into(),
            scenes,
        }),
    }
}

fn rename(book: &mut Book, name: &str, to: &str) -> Result<(), EditError> {
    known(book, name)?;
    if name == to {
        return Ok(());
    }
    free(book, to)?;
    if let Some((index, _, line)) = book.line.shift_remove_full(name) {
        book.line.shift_insert(index, to.into(), line);
    }
    let rigs = book.scene.values_mut().flat_map(|s| s.rig.values_mut());
    for line in rigs.flat_map(|rig| &mut rig.lines) {
        if line.line == name {
            line.line = to.into();
        }
    }
    Ok(())
}

/// The first of `candidates` that brings no new error, and of those the one with
/// the fewest warnings and adapters.
fn best(
    book: &Book,
    name: &str,
    candidates: Vec<Line>,
    adapt: bool,
) -> Result<(Line, Vec<String>), EditError> {
    let was = book.line.get(name);
    let old = was.map_or_else(Vec::new, |line| check::line(book, name, line));
    let unjoined = |faults: &[Fault]| faults.iter().filter(|f| f.code == "no_siamese").count();
    let mut found: Option<((usize, usize), Line, Vec<String>)> = None;
    let mut refusal = Vec::new();
    for line in candidates {
        let (line, told) = match adapt {
            true => fit::adapted(book, name, line),
            false => (line, Vec::new()),
        };
        let faults = check::line(book, name, &line);
        // What came into one inlet before may go on doing so elsewhere.
        let joins = unjoined(&faults) > unjoined(&old);
        let (errors, warnings): (Vec<_>, Vec<_>) = faults
            .into_iter()
            .filter(|fault| !old.contains(fault))
            .partition(|f| f.severity == Severity::Error || (joins && f.forbids()));
        let cost = (warnings.len(), told.len());
        if !errors.is_empty() {
            // That lines cannot come together is plainer than what fits no siamese.
            if unjoined(&refusal) == 0 {
                refusal = errors;
            }
        } else if found.as_ref().is_none_or(|(least, ..)| cost < *least) {
            found = Some((cost, line, told));
        }
    }
    match found {
        Some((_, line, told)) => Ok((line, told)),
        None => Err(EditError::Faults(refusal)),
    }
}

/// Refuses a book that its file would not give back: a value out of range, a
/// scene that no longer holds.
fn reads_back(before: &Book, after: &Book) -> Result<(), EditError> {
    let reading = examine(write(after).as_bytes(), "book.toml");
    if reading.book.as_ref() == Some(after) {
        return Ok(());
    }
    let old = examine(write(before).as_bytes(), "book.toml").problems;
    let said = |message: &str| old.list().iter().any(|p| p.message == message);
    let mut errors = reading.problems.list().iter();
    let error = errors.find(|p| p.severity == Severity::Error && !said(&p.message));
    match error {
        Some(problem) => Err(EditError::Refused {
            message: problem.message.clone(),
            mend: problem.mend.clone(),
        }),
        None if old.is_error() => Ok(()),
        None => Err(EditError::Refused {
            message: "the file of the book would not give this back".into(),
            mend: "write it in plain letters and figures".into(),
        }),
    }
}
