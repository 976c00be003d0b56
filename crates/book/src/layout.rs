//! A line of a book, under stated conditions, as a lay that can be solved.
//!
//! Heights: the pump outlet is at zero; a part's rise lies between its inlet
//! and its outlet. The rise of a tip lies in the hose that is held up with it.

mod site;

pub use site::{
    Branch, Feeds, LaidFoam, LaidRig, LaidSource, LaidStandpipe, Outlet, SceneConditions,
    SceneLayout, SourceKind, scene,
};

use crate::model::{
    Aim, ApplianceItem, ApplianceKind, AppliancePart, Attachment, Book, HosePart, Line, NozzleItem,
    NozzlePart, NozzleUsed, Part, Path, RegulatorState, SettingError, Shutoff, Stated, Step, Used,
    Which,
};
use crate::problem::nearest;
use crate::reader::DEPTH_LIMIT;
use hydraulics::appliance::Appliance;
use hydraulics::eductor::Eductor;
use hydraulics::element::Element;
use hydraulics::friction::FrictionError;
use hydraulics::hose::Run;
use hydraulics::nozzle::{Nozzle, Regulator, Screen, Tip};
use hydraulics::regulator::Regulating;
use hydraulics::units::{Length, Measure, Pressure, Ratio};
use hydraulics::valve::{CheckValve, Valve, ValveKind};
use hydraulics::water::Water;
use lay::{Lay, PartId, PlaceId};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// What a line is asked about beside what its book says. The default changes
/// nothing.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Conditions {
    /// Pump pressure; the line's own when `None`, else zero.
    pub pump_pressure: Option<Pressure>,
    /// Which friction coefficients to use; [`Which::Published`] also takes every
    /// nozzle and pump by its rating.
    pub which: Which,
    /// Takes every nozzle and pump by its rating, whichever coefficients are used.
    pub rated: bool,
    /// What the regulators of automatic nozzles do, where nothing else is said
    /// about them.
    pub regulator: Regulator,
    /// Changes to the line, by part.
    pub changes: BTreeMap<Path, Change>,
    /// Lines opened on the same pump.
    pub also: Vec<Opened>,
}

impl Conditions {
    /// The same with hose at `which`, nozzles and pumps as they were.
    ///
    /// ```
    /// use book::{Conditions, Which};
    /// let published = Conditions { which: Which::Published, ..Conditions::default() };
    /// assert!(published.with_hose(Which::PublishedLow).rated);
    /// ```
    pub fn with_hose(&self, which: Which) -> Self {
        Conditions {
            rated: self.rated || self.which == Which::Published,
            which,
            ..self.clone()
        }
    }

    /// Which of rating and measurement to use for nozzles and pumps.
    fn of_ratings(&self) -> Which {
        match self.rated {
            true => Which::Published,
            false => self.which,
        }
    }
}

/// Another line opened on the same pump.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Opened {
    /// Its name.
    pub line: String,
    /// Changes to it, by part.
    pub changes: BTreeMap<Path, Change>,
}

/// Changes to one part. Each that is `None` leaves the part as the book has it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Change {
    /// How far its gate is open: of a nozzle's shut-off, of a gated appliance
    /// ("part 2") or one of its outlets ("part 2, outlet 1"), or, at the pump
    /// outlet (the empty path), of the outlet's valve.
    pub gate: Option<Ratio>,
    /// A nozzle's setting.
    pub setting: Option<String>,
    /// Share of a hose's waterway that a kink closes.
    pub kink: Option<Ratio>,
    /// Share of a nozzle's screen that is blocked.
    pub screen_blocked: Option<Ratio>,
    /// What an automatic nozzle's regulator does.
    pub regulator: Option<Regulator>,
    /// Added to its rise.
    pub extra_rise: Option<Length>,
    /// Added to the length of a hose.
    pub extra_length: Option<Length>,
    /// Another hose in its place.
    pub hose: Option<String>,
    /// Another nozzle in its place.
    pub nozzle: Option<String>,
    /// Hose added at a nozzle: between shut-off and tip where the tip unscrews
    /// from its shut-off, before the nozzle otherwise.
    pub added: Option<Added>,
}

/// Hose added at a tip.
#[derive(Debug, Clone, PartialEq)]
pub struct Added {
    /// The hose.
    pub hose: String,
    /// Its length.
    pub length: Length,
}

/// A lay, and what its parts are in the book.
#[derive(Debug, Clone)]
pub struct Layout {
    /// What is solved.
    pub lay: Lay,
    /// The pump outlet that all its lines share; hold it at another pressure
    /// with [`Lay::set_pressure`].
    pub supply: PlaceId,
    /// The parts, in the order of the lines.
    pub parts: Vec<LaidPart>,
    /// The tips, in the order of the lines.
    pub tips: Vec<LaidTip>,
    /// The parts at which pressure starts anew, from the water on: each comes
    /// after the one that feeds it. The first is the pump outlet.
    pub cuts: Vec<Cut>,
    /// The parts through which a scene's water comes in.
    pub sources: Vec<PartId>,
}

/// A part at which pressure starts anew: what lies beyond it asks for a pressure
/// at its outlet, and the part for one at its inlet.
#[derive(Debug, Clone)]
pub struct Cut {
    /// What it is.
    pub kind: CutKind,
    /// The part in the lay; `None` for a pump outlet that is held.
    pub part: Option<PartId>,
    /// Its inlet.
    pub inlet: PlaceId,
    /// Its outlet.
    pub outlet: PlaceId,
    /// The one that feeds it.
    pub after: Option<usize>,
    /// The rig's outlet that feeds it, in a scene.
    pub branch: Option<usize>,
    /// What else feeds it: rigs that relay into one, each with its outlet.
    pub also_after: Vec<(usize, Option<usize>)>,
    /// Its line, or its rig.
    pub line: String,
    /// Its place in the line.
    pub path: Path,
}

/// What a part is at which pressure starts anew.
#[derive(Debug, Clone)]
pub enum CutKind {
    /// A pump.
    Pump,
    /// An eductor, and the share of concentrate at which it is set.
    Eductor(Eductor, Option<Ratio>),
    /// A regulating valve: its setting, and its loss when fully open.
    Regulating(Pressure, Appliance),
}

/// What a part of a lay is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum PartKind {
    /// A run of hose.
    Hose,
    /// A tip, with its own shut-off and screen.
    Nozzle,
    /// A shut-off left behind.
    Shutoff,
    /// An appliance.
    Appliance,
    /// A gate of an appliance or of the pump outlet.
    Gate,
    /// A length of a standpipe's riser.
    Riser,
}

impl PartKind {
    /// The word for it.
    pub fn word(self) -> &'static str {
        match self {
            PartKind::Hose => "hose",
            PartKind::Nozzle => "nozzle",
            PartKind::Shutoff => "shut-off",
            PartKind::Appliance => "appliance",
            PartKind::Gate => "gate",
            PartKind::Riser => "riser",
        }
    }
}

/// One part of a lay, and where it stands in the book.
#[derive(Debug, Clone)]
pub struct LaidPart {
    /// The part in the lay.
    pub part: PartId,
    /// Its line.
    pub line: String,
    /// Its place in the line.
    pub path: Path,
    /// What it is.
    pub kind: PartKind,
    /// The name of its equipment.
    pub name: String,
    /// Length, of hose.
    pub length: Option<Length>,
    /// Nominal size of hose, waterway of a gate.
    pub size: Option<Length>,
    /// The highest pressure at which a hose is used.
    pub service_pressure: Option<Pressure>,
    /// The friction used for a hose.
    pub used: Option<Used>,
    /// The valve that a gate or shut-off is, as it stands.
    pub valve: Option<Valve>,
    /// Share of a hose's waterway that a kink closes; zero without one.
    pub kink: Ratio,
    /// Hose added by a [`Change`], not in the book.
    pub added: bool,
}

impl LaidPart {
    fn bare(part: PartId, line: &str, path: Path) -> Self {
        LaidPart {
            part,
            line: line.into(),
            path,
            kind: PartKind::Appliance,
            name: String::new(),
            length: None,
            size: None,
            service_pressure: None,
            used: None,
            valve: None,
            kink: Ratio::of_si(0.0),
            added: false,
        }
    }
}

/// One tip of a lay.
#[derive(Debug, Clone)]
pub struct LaidTip {
    /// The part in the lay.
    pub part: PartId,
    /// The place at the nozzle's inlet.
    pub inlet: PlaceId,
    /// Its line.
    pub line: String,
    /// Its place in the line.
    pub path: Path,
    /// The nozzle's name.
    pub name: String,
    /// The setting it is on, where it has settings.
    pub setting: Option<String>,
    /// The law that was used: measured or rated.
    pub used: NozzleUsed,
    /// The nozzle with its shut-off and screen.
    pub tip: Tip,
    /// Its shut-off, if it has one here.
    pub shutoff: Shutoff,
    /// The nozzle pressure for which it is rated.
    pub rated_pressure: Pressure,
    /// Height above the pump outlet.
    pub height: Length,
    /// What it is meant to deliver: its own aim, else the line's.
    pub aim: Option<Aim>,
    /// It is fit for foam.
    pub foam: bool,
    /// Its tip can be unscrewed from its shut-off to add hose.
    pub breaks: bool,
    /// The foam attachment on it, and what it makes.
    pub attachment: Option<(String, Attachment)>,
    /// Which of [`Layout::cuts`] feeds it.
    pub after: usize,
    /// The rig's outlet that feeds it, in a scene.
    pub branch: Option<usize>,
}

/// Why a line could not be laid out. A book that was read without an error,
/// under conditions that name what it has, can be.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum LayoutError {
    /// The book has no such line.
    #[error("the book has no line \"{name}\"{}", meant(.near))]
    NoLine {
        /// The name asked for.
        name: String,
        /// The nearest name there is.
        near: Option<String>,
    },
    /// The book has no such scene.
    #[error("the book has no scene \"{name}\"{}", meant(.near))]
    NoScene {
        /// The name asked for.
        name: String,
        /// The nearest name there is.
        near: Option<String>,
    },
    /// Neither the book nor the catalogue has such equipment.
    #[error(
        "line \"{line}\", {path}: there is no {kind} \"{name}\" in the book or the catalogue; use a name that is in one of them"
    )]
    NoItem {
        /// The line.
        line: String,
        /// The part.
        path: Path,
        /// Hose, nozzle or appliance.
        kind: &'static str,
        /// The name.
        name: String,
    },
    /// A nozzle cannot be taken at a setting.
    #[error("line \"{line}\", {path}, nozzle \"{name}\": {error}")]
    Setting {
        /// The line.
        line: String,
        /// The part.
        path: Path,
        /// The nozzle.
        name: String,
        /// Why not.
        error: SettingError,
    },
    /// The numbers of a hose or an appliance describe none.
    #[error("line \"{line}\", {path}: {message}")]
    Numbers {
        /// The line.
        line: String,
        /// The part.
        path: Path,
        /// What is wrong.
        message: String,
    },
    /// A change is asked for of a part that is not there, or cannot change so.
    #[error("line \"{line}\" has no {path} that could be changed so")]
    NoPart {
        /// The line.
        line: String,
        /// The part.
        path: Path,
    },
    /// A row has no parts, or none where rows should be.
    #[error("line \"{line}\", {path}: there are no parts")]
    Empty {
        /// The line.
        line: String,
        /// The row.
        path: Path,
    },
    /// A row ends without a tip, or goes on after one.
    #[error("line \"{line}\", {path}: the water does not go on to a tip")]
    NoTip {
        /// The line.
        line: String,
        /// The part.
        path: Path,
    },
    /// Rows lie too deep within each other.
    #[error("line \"{line}\": rows lie more than {DEPTH_LIMIT} deep within each other")]
    TooDeep {
        /// The line.
        line: String,
    },
    /// Two lines do not come off one rig.
    #[error("line \"{other}\" does not come off the same rig as line \"{line}\"")]
    OtherRig {
        /// The line asked about.
        line: String,
        /// The line opened beside it.
        other: String,
    },
}

fn meant(near: &Option<String>) -> String {
    near.as_ref()
        .map_or_else(String::new, |n| format!("; did you mean \"{n}\"?"))
}

/// Lays out the line called `line`, and the lines opened beside it, on one pump
/// outlet.
///
/// # Errors
/// [`LayoutError`] when the book lacks something that is asked for.
///
/// ```
/// use hydraulics::units::{parse, show, Kind, System};
/// let text = br#"
/// [book]
/// name = "Example"
/// [line.left]
/// parts = [{ hose = "2.5 in", length = "200 ft" }, { nozzle = "1-1/8 in smooth bore" }]
/// "#;
/// let book = book::read(text, "example.toml")?;
/// let conditions = book::Conditions {
///     pump_pressure: Some(parse(Kind::Pressure, "75 psi")?),
///     ..Default::default()
/// };
/// let layout = book::layout(&book, "left", &conditions)?;
/// let answer = lay::solve(&layout.lay);
/// // 29.7 d2 sqrt(NP) and 2 (Q/100)^2 x 2 share 75 psi: 266 gpm at 50 psi takes 78.
/// assert_eq!(show(Kind::Flow, answer.flow(layout.tips[0].part), System::Us), "260 gpm");
/// assert_eq!(layout.tips[0].path.to_string(), "part 2");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn layout(book: &Book, line: &str, conditions: &Conditions) -> Result<Layout, LayoutError> {
    let main = find(book, line)?;
    let water = book.water();
    let mut lay = Lay::new(water.density());
    let own = main.pump_pressure.as_ref().map(Stated::get);
    let pressure = conditions.pump_pressure.or(own);
    let ground = Length::of_si(0.0);
    let supply = lay.supply(ground, pressure.unwrap_or_else(|| Pressure::of_si(0.0)));
    let pump = Cut {
        kind: CutKind::Pump,
        part: None,
        inlet: supply,
        outlet: supply,
        after: None,
        branch: None,
        also_after: Vec::new(),
        line: main.rig.clone().unwrap_or_default(),
        path: Path::default(),
    };
    let mut layout = Layout {
        lay,
        supply,
        parts: Vec::new(),
        tips: Vec::new(),
        cuts: vec![pump],
        sources: Vec::new(),
    };
    let start = Start {
        at: supply,
        height: ground,
        branch: None,
        after: 0,
    };
    let changes = (conditions, &conditions.changes);
    one(book, (line, line, main), changes, start, water, &mut layout)?;
    for opened in &conditions.also {
        let other = find(book, &opened.line)?;
        if other.rig != main.rig {
            return Err(LayoutError::OtherRig {
                line: line.into(),
                other: opened.line.clone(),
            });
        }
        let name = opened.line.as_str();
        let changes = (conditions, &opened.changes);
        one(
            book,
            (name, name, other),
            changes,
            start,
            water,
            &mut layout,
        )?;
    }
    Ok(layout)
}

fn find<'a>(book: &'a Book, name: &str) -> Result<&'a Line, LayoutError> {
    book.line.get(name).ok_or_else(|| LayoutError::NoLine {
        name: name.into(),
        near: nearest(name, book.line.keys().map(String::as_str)).map(Into::into),
    })
}

/// Where a line starts.
#[derive(Clone, Copy)]
struct Start {
    at: PlaceId,
    height: Length,
    branch: Option<usize>,
    after: usize,
}

/// Lays `line` of the book, called `label` in the layout.
fn one(
    book: &Book,
    (name, label, line): (&str, &str, &Line),
    (conditions, changes): (&Conditions, &BTreeMap<Path, Change>),
    start: Start,
    water: Water,
    layout: &mut Layout,
) -> Result<(), LayoutError> {
    let mut builder = Builder {
        book,
        name: label,
        aim: line.aim.as_ref(),
        conditions,
        changes,
        seen: BTreeSet::new(),
        water,
        start,
        layout,
    };
    let start = builder.pump_outlet(line);
    builder.row(&line.parts, &Path::default(), vec![start], true, 0)?;
    let seen = builder.seen;
    match changes.keys().find(|path| !seen.contains(*path)) {
        None => Ok(()),
        Some(path) => Err(LayoutError::NoPart {
            line: name.into(),
            path: path.clone(),
        }),
    }
}

/// Where the next part is joined on.
#[derive(Clone, Copy)]
struct End {
    place: PlaceId,
    height: Length,
    /// Size of what comes before.
    size: Option<Length>,
    /// Which cut feeds it.
    after: usize,
}

/// A run of hose to be laid.
struct Stretch<'n> {
    name: &'n str,
    length: Length,
    kink: Option<Ratio>,
    rise: Length,
    added: bool,
}

struct Builder<'a> {
    book: &'a Book,
    name: &'a str,
    aim: Option<&'a Aim>,
    conditions: &'a Conditions,
    changes: &'a BTreeMap<Path, Change>,
    /// The paths at which changes were looked for.
    seen: BTreeSet<Path>,
    water: Water,
    start: Start,
    layout: &'a mut Layout,
}

/// Waterway of a valve when nothing says it: 1-3/8 in, that of a handline
/// nozzle (common practice, no source).
fn usual_waterway() -> Length {
    Length::of_si(0.034_925)
}

fn add(rise: &Option<Stated<Length>>, extra: Option<Length>) -> Length {
    let none = Length::of_si(0.0);
    rise.as_ref().map_or(none, Stated::get) + extra.unwrap_or(none)
}

fn open() -> Ratio {
    Ratio::of_si(1.0)
}

/// A joint without loss.
fn joint() -> Appliance {
    Appliance::Coefficient {
        resistance: Measure::of_si(0.0),
    }
}

impl<'a> Builder<'a> {
    fn change(&mut self, path: &Path) -> Change {
        self.seen.insert(path.clone());
        self.changes.get(path).cloned().unwrap_or_default()
    }

    fn no_item(&self, path: &Path, kind: &'static str, name: &str) -> LayoutError {
        LayoutError::NoItem {
            line: self.name.into(),
            path: path.clone(),
            kind,
            name: name.into(),
        }
    }

    fn numbers(&self, path: &Path, error: &FrictionError) -> LayoutError {
        LayoutError::Numbers {
            line: self.name.into(),
            path: path.clone(),
            message: error.to_string(),
        }
    }

    fn no_part(&self, path: &Path) -> LayoutError {
        LayoutError::NoPart {
            line: self.name.into(),
            path: path.clone(),
        }
    }

    fn no_tip(&self, path: &Path) -> LayoutError {
        LayoutError::NoTip {
            line: self.name.into(),
            path: path.clone(),
        }
    }

    /// A part from `from` to a new place `rise` higher.
    fn element(&mut self, from: End, rise: Length, law: Arc<dyn Element>) -> (PartId, End) {
        let height = from.height + rise;
        let place = self.layout.lay.junction(height);
        let part = self.layout.lay.part(from.place, place, law);
        let end = End {
            place,
            height,
            ..from
        };
        (part, end)
    }

    fn laid(&self, part: PartId, path: &Path, kind: PartKind, name: &str) -> LaidPart {
        LaidPart {
            kind,
            name: name.into(),
            ..LaidPart::bare(part, self.name, path.clone())
        }
    }

    /// A row that ends open.
    fn open_row(&mut self, parts: &'a [Part], start: End) -> Result<Vec<End>, LayoutError> {
        self.row(parts, &Path::default(), vec![start], false, 0)
    }

    /// The pump outlet, with its valve where a change gates it.
    fn pump_outlet(&mut self, line: &Line) -> End {
        let size = line.parts.iter().find_map(|part| match part {
            Part::Hose(part) => self.book.hose(&part.hose).map(|h| h.item.size.get()),
            _ => None,
        });
        let end = End {
            place: self.start.at,
            height: self.start.height,
            size,
            after: self.start.after,
        };
        let path = Path::default();
        match self.change(&path).gate {
            None => end,
            Some(gate) => self.gate(end, (ValveKind::Ball, size), gate, &path, "pump outlet"),
        }
    }

    fn gate(
        &mut self,
        from: End,
        (kind, waterway): (ValveKind, Option<Length>),
        gate: Ratio,
        path: &Path,
        name: &str,
    ) -> End {
        let waterway = waterway.or(from.size).unwrap_or_else(usual_waterway);
        let valve = Valve {
            kind,
            waterway,
            gate,
        };
        let (part, end) = self.element(from, Length::of_si(0.0), Arc::new(valve));
        let laid = LaidPart {
            size: Some(waterway),
            valve: Some(valve),
            ..self.laid(part, path, PartKind::Gate, name)
        };
        self.layout.parts.push(laid);
        end
    }

    /// Lays one row and gives its open ends.
    fn row(
        &mut self,
        parts: &'a [Part],
        at: &Path,
        ends: Vec<End>,
        must_end: bool,
        depth: usize,
    ) -> Result<Vec<End>, LayoutError> {
        if depth > DEPTH_LIMIT {
            return Err(LayoutError::TooDeep {
                line: self.name.into(),
            });
        }
        if parts.is_empty() {
            return Err(LayoutError::Empty {
                line: self.name.into(),
                path: at.clone(),
            });
        }
        let mut ends = ends;
        // The rise of a tip that was already laid into the part before it.
        let mut lifted = false;
        for (index, part) in parts.iter().enumerate() {
            let path = at.then(Step::Part(index + 1));
            if ends.is_empty() {
                return Err(self.no_tip(&path));
            }
            let next = parts.get(index + 1);
            let last = index + 2 == parts.len();
            let lift = match (part, next) {
                (Part::Hose(_) | Part::Appliance(_), Some(Part::Nozzle(tip))) if last => {
                    let path = at.then(Step::Part(index + 2));
                    Some(add(&tip.rise, self.change(&path).extra_rise))
                }
                _ => None,
            };
            let up = lift.unwrap_or_else(|| Length::of_si(0.0));
            ends = match part {
                Part::Hose(hose) => vec![self.hose(hose, &path, &ends, up)?],
                Part::Appliance(a) => self.appliance(a, next, &path, &ends, up)?,
                Part::Nozzle(tip) if next.is_none() && must_end => {
                    self.tip(tip, &path, &ends, lifted)?;
                    return Ok(Vec::new());
                }
                Part::Nozzle(tip) if next.is_some() => vec![self.left_behind(tip, &path, &ends)?],
                Part::Nozzle(_) => return Err(self.no_tip(&path)),
                Part::Branches(rows) if next.is_none() && must_end => {
                    self.branches(rows, &path, ends, depth)?;
                    return Ok(Vec::new());
                }
                Part::Branches(_) => return Err(self.no_tip(&path)),
                Part::Legs(rows) => self.legs(rows, &path, ends, depth)?,
            };
            lifted = lift.is_some();
        }
        if must_end {
            return Err(self.no_tip(&at.then(Step::Part(parts.len()))));
        }
        Ok(ends)
    }

    /// The one end at which `ends` meet: through clappers where there are any.
    fn meet(&mut self, ends: &[End], clappers: bool, path: &Path) -> Result<End, LayoutError> {
        let (first, others) = ends.split_first().ok_or_else(|| self.no_tip(path))?;
        if others.is_empty() {
            return Ok(*first);
        }
        let place = self.layout.lay.junction(first.height);
        for end in ends {
            let law: Arc<dyn Element> = match clappers {
                true => Arc::new(CheckValve),
                false => Arc::new(joint()),
            };
            self.layout.lay.part(end.place, place, law);
        }
        Ok(End { place, ..*first })
    }

    fn hose(
        &mut self,
        part: &HosePart,
        path: &Path,
        ends: &[End],
        up: Length,
    ) -> Result<End, LayoutError> {
        let change = self.change(path);
        let from = self.meet(ends, false, path)?;
        let name = change.hose.as_deref().unwrap_or(&part.hose);
        let none = Length::of_si(0.0);
        let length = part.length.get() + change.extra_length.unwrap_or(none);
        let kink = change.kink.or(part.kink.as_ref().map(Stated::get));
        let stretch = Stretch {
            name,
            length,
            kink,
            rise: add(&part.rise, change.extra_rise) + up,
            added: false,
        };
        self.run(stretch, path, from)
    }

    fn run(&mut self, run: Stretch, path: &Path, from: End) -> Result<End, LayoutError> {
        let Stretch {
            name,
            length,
            kink,
            rise,
            added,
        } = run;
        let missing = || self.no_item(path, "hose", name);
        let item = self.book.hose(name).ok_or_else(missing)?.item;
        let size = item.size.get();
        let used = self
            .book
            .friction(name, self.conditions.which)
            .ok_or_else(missing)?;
        let run = Run::new(used.friction, length, self.water)
            .and_then(|run| match kink {
                Some(kink) => run.kinked(size, kink),
                None => Ok(run),
            })
            .map_err(|error| self.numbers(path, &error))?;
        let (part, end) = self.element(from, rise, Arc::new(run));
        let laid = LaidPart {
            length: Some(length),
            size: Some(size),
            service_pressure: item.service_pressure.as_ref().map(Stated::get),
            used: Some(used),
            kink: kink.unwrap_or_default(),
            added,
            ..self.laid(part, path, PartKind::Hose, name)
        };
        self.layout.parts.push(laid);
        Ok(End {
            size: Some(size),
            ..end
        })
    }

    fn appliance(
        &mut self,
        part: &AppliancePart,
        next: Option<&Part>,
        path: &Path,
        ends: &[End],
        up: Length,
    ) -> Result<Vec<End>, LayoutError> {
        let change = self.change(path);
        let name = part.appliance.as_str();
        let missing = || self.no_item(path, "appliance", name);
        let item = self.book.appliance(name).ok_or_else(missing)?.item;
        let mut end = self.meet(ends, item.clappers, path)?;
        if item.kind == ApplianceKind::CheckValve {
            end = self
                .element(end, Length::of_si(0.0), Arc::new(CheckValve))
                .1;
        }
        let law = item.law().map_err(|error| self.numbers(path, &error))?;
        let rise = add(&part.rise, change.extra_rise) + up;
        if item.eductor.is_some() || item.setting.is_some() {
            end = self.held(part, item, law, path, end)?;
            end = self.element(end, rise, Arc::new(joint())).1;
        } else {
            let (laid, beyond) = self.element(end, rise, Arc::new(law));
            let laid = self.laid(laid, path, PartKind::Appliance, name);
            self.layout.parts.push(laid);
            end = beyond;
        }
        self.outlets(part, item, next, (path, &change), end)
    }

    /// An appliance at which pressure starts anew.
    fn held(
        &mut self,
        part: &AppliancePart,
        item: &ApplianceItem,
        law: Appliance,
        path: &Path,
        from: End,
    ) -> Result<End, LayoutError> {
        let kind = match (&item.eductor, &item.setting) {
            (Some(eductor), _) => {
                let eductor = eductor.law().map_err(|error| LayoutError::Numbers {
                    line: self.name.into(),
                    path: path.clone(),
                    message: error.to_string(),
                })?;
                CutKind::Eductor(eductor, part.ratio.as_ref().map(Stated::get))
            }
            (None, setting) => {
                let setting = setting.as_ref().map_or_else(Pressure::default, Stated::get);
                CutKind::Regulating(setting, law)
            }
        };
        Ok(self.cut(kind, path, &part.appliance, from))
    }

    /// A part at which pressure starts anew.
    fn cut(&mut self, kind: CutKind, path: &Path, name: &str, from: End) -> End {
        let law: Arc<dyn Element> = match &kind {
            CutKind::Eductor(eductor, _) => Arc::new(*eductor),
            CutKind::Regulating(setting, law) => Arc::new(Regulating::new(*setting, *law)),
            CutKind::Pump => Arc::new(joint()),
        };
        let (part, end) = self.element(from, Length::of_si(0.0), law);
        let laid = self.laid(part, path, PartKind::Appliance, name);
        self.layout.parts.push(laid);
        let outlet = end.place;
        self.layout.cuts.push(Cut {
            kind,
            part: Some(part),
            inlet: from.place,
            outlet,
            after: Some(from.after),
            branch: self.start.branch,
            also_after: Vec::new(),
            line: self.name.into(),
            path: path.clone(),
        });
        End {
            place: outlet,
            after: self.layout.cuts.len() - 1,
            ..from
        }
    }

    /// The outlets of an appliance, each behind its gate where it has gates.
    fn outlets(
        &mut self,
        part: &AppliancePart,
        item: &ApplianceItem,
        next: Option<&Part>,
        (path, change): (&Path, &Change),
        end: End,
    ) -> Result<Vec<End>, LayoutError> {
        let Some(kind) = item.gates else {
            return match change.gate {
                None => Ok(vec![end]),
                Some(_) => Err(self.no_part(path)),
            };
        };
        let name = part.appliance.as_str();
        let waterway = |index: usize| {
            let coupling = item.outlets.get(index).or(item.outlets.first());
            let size = coupling.map(|c| c.get().size);
            item.waterway.as_ref().map(Stated::get).or(size)
        };
        let written = |index: usize| match part.gates.as_slice() {
            [all] => Some(all.get()),
            each => each.get(index).map(Stated::get),
        };
        let Some(Part::Branches(rows) | Part::Legs(rows)) = next else {
            let gate = change.gate.or_else(|| written(0)).unwrap_or_else(open);
            return Ok(vec![self.gate(end, (kind, waterway(0)), gate, path, name)]);
        };
        let outlet = |index: usize| {
            let at = path.then(Step::Outlet(index + 1));
            let own = self.change(&at).gate.or(change.gate);
            let gate = own.or_else(|| written(index)).unwrap_or_else(open);
            self.gate(end, (kind, waterway(index)), gate, &at, name)
        };
        Ok((0..rows.len()).map(outlet).collect())
    }

    fn branches(
        &mut self,
        rows: &'a [Vec<Part>],
        path: &Path,
        ends: Vec<End>,
        depth: usize,
    ) -> Result<(), LayoutError> {
        let starts = self.starts(rows, path, &ends)?;
        for (index, (row, start)) in rows.iter().zip(starts).enumerate() {
            let at = path.then(Step::Branch(index + 1));
            self.row(row, &at, vec![start], true, depth + 1)?;
        }
        Ok(())
    }

    fn legs(
        &mut self,
        rows: &'a [Vec<Part>],
        path: &Path,
        ends: Vec<End>,
        depth: usize,
    ) -> Result<Vec<End>, LayoutError> {
        let starts = self.starts(rows, path, &ends)?;
        let mut open = Vec::new();
        for (index, (row, start)) in rows.iter().zip(starts).enumerate() {
            let at = path.then(Step::Leg(index + 1));
            let ends = self.row(row, &at, vec![start], false, depth + 1)?;
            open.push(self.meet(&ends, false, &at)?);
        }
        Ok(open)
    }

    /// Where each row starts: at an outlet of its own, or all at one place.
    fn starts(
        &mut self,
        rows: &[Vec<Part>],
        path: &Path,
        ends: &[End],
    ) -> Result<Vec<End>, LayoutError> {
        if rows.is_empty() {
            return Err(LayoutError::Empty {
                line: self.name.into(),
                path: path.clone(),
            });
        }
        if ends.len() == rows.len() {
            return Ok(ends.to_vec());
        }
        let one = self.meet(ends, false, path)?;
        Ok(vec![one; rows.len()])
    }

    fn nozzle_item(&self, name: &str, path: &Path) -> Result<&'a NozzleItem, LayoutError> {
        let missing = || self.no_item(path, "nozzle", name);
        Ok(self.book.nozzle(name).ok_or_else(missing)?.item)
    }

    fn waterway(item: &NozzleItem, end: End) -> Length {
        let own = item.waterway.as_ref().map(Stated::get);
        let coupling = item.coupling.as_ref().map(|c| c.get().size);
        own.or(coupling).or(end.size).unwrap_or_else(usual_waterway)
    }

    /// The shut-off of a nozzle, unless it has none or it was left behind.
    fn shutoff(
        &self,
        item: &NozzleItem,
        part: &NozzlePart,
        (path, change): (&Path, &Change),
        end: End,
    ) -> Result<Option<Valve>, LayoutError> {
        let kind = item.shutoff.valve().filter(|_| !part.tip_only);
        let gate = change.gate.or(part.gate.as_ref().map(Stated::get));
        match kind {
            None if change.gate.is_some() => Err(self.no_part(path)),
            None => Ok(None),
            Some(kind) => Ok(Some(Valve {
                kind,
                waterway: Self::waterway(item, end),
                gate: gate.unwrap_or_else(open),
            })),
        }
    }

    /// The shut-off of a nozzle whose tip was unscrewed.
    fn left_behind(
        &mut self,
        part: &NozzlePart,
        path: &Path,
        ends: &[End],
    ) -> Result<End, LayoutError> {
        let change = self.change(path);
        let item = self.nozzle_item(&part.nozzle, path)?;
        if item.breaks_at.is_none() || part.tip_only {
            return Err(self.no_tip(path));
        }
        let from = self.meet(ends, false, path)?;
        let valve = self.shutoff(item, part, (path, &change), from)?;
        let rise = add(&part.rise, change.extra_rise);
        Ok(self.valve_at(valve, from, rise, path, &part.nozzle))
    }

    fn valve_at(
        &mut self,
        valve: Option<Valve>,
        from: End,
        rise: Length,
        path: &Path,
        name: &str,
    ) -> End {
        let law: Arc<dyn Element> = match valve {
            Some(valve) => Arc::new(valve),
            None => Arc::new(joint()),
        };
        let (laid, end) = self.element(from, rise, law);
        let laid = LaidPart {
            valve,
            size: valve.map(|v| v.waterway),
            ..self.laid(laid, path, PartKind::Shutoff, name)
        };
        self.layout.parts.push(laid);
        end
    }

    fn tip(
        &mut self,
        part: &NozzlePart,
        path: &Path,
        ends: &[End],
        lifted: bool,
    ) -> Result<(), LayoutError> {
        let change = self.change(path);
        let name = change.nozzle.as_deref().unwrap_or(&part.nozzle);
        let item = self.nozzle_item(name, path)?;
        let mut from = self.meet(ends, false, path)?;
        let mut shutoff = self.shutoff(item, part, (path, &change), from)?;
        let breaks = item.breaks_at.is_some() && !part.tip_only;
        if let Some(added) = &change.added {
            let flat = Length::of_si(0.0);
            if breaks {
                from = self.valve_at(shutoff.take(), from, flat, path, name);
            }
            let stretch = Stretch {
                name: &added.hose,
                length: added.length,
                kink: None,
                rise: flat,
                added: true,
            };
            from = self.run(stretch, path, from)?;
        }
        let rise = match lifted {
            true => Length::of_si(0.0),
            false => add(&part.rise, change.extra_rise),
        };
        let (used, rated_pressure) = self.at_setting(item, name, part, (path, &change))?;
        let blocked = change.screen_blocked;
        let blocked = blocked.or(part.screen_blocked.as_ref().map(Stated::get));
        let tip = Tip {
            nozzle: self.regulated(used.nozzle, part, &change),
            shutoff,
            screen: blocked.map(|blocked| Screen {
                waterway: Self::waterway(item, from),
                blocked,
            }),
        };
        let height = from.height + rise;
        let air = self.layout.lay.air(height);
        let laid = self.layout.lay.part(from.place, air, Arc::new(tip));
        let listed = LaidPart {
            valve: shutoff,
            size: Some(Self::waterway(item, from)),
            ..self.laid(laid, path, PartKind::Nozzle, name)
        };
        self.layout.parts.push(listed);
        self.layout.tips.push(LaidTip {
            part: laid,
            inlet: from.place,
            line: self.name.into(),
            path: path.clone(),
            name: name.into(),
            setting: used.setting.clone(),
            used,
            tip,
            shutoff: match shutoff {
                Some(_) => item.shutoff,
                None => Shutoff::None,
            },
            rated_pressure,
            height,
            aim: part.aim.as_ref().or(self.aim).cloned(),
            foam: item.foam,
            breaks,
            attachment: self.attachment(item, part, path)?,
            after: from.after,
            branch: self.start.branch,
        });
        Ok(())
    }

    fn attachment(
        &self,
        item: &NozzleItem,
        part: &NozzlePart,
        path: &Path,
    ) -> Result<Option<(String, Attachment)>, LayoutError> {
        let Some(name) = &part.attachment else {
            return Ok(None);
        };
        let found = item.attachment.get(name);
        let missing = || self.no_item(path, "attachment", name);
        Ok(Some((name.clone(), found.ok_or_else(missing)?.clone())))
    }

    fn at_setting(
        &self,
        item: &NozzleItem,
        name: &str,
        part: &NozzlePart,
        (path, change): (&Path, &Change),
    ) -> Result<(NozzleUsed, Pressure), LayoutError> {
        // Another nozzle has settings of its own.
        let written = part.setting.as_deref().filter(|_| change.nozzle.is_none());
        let asked = change.setting.as_deref().or(written);
        let used = item.used(asked, self.conditions.of_ratings());
        let taken = used.and_then(|used| Ok((used, item.rated_pressure(asked)?)));
        taken.map_err(|error| LayoutError::Setting {
            line: self.name.into(),
            path: path.clone(),
            name: name.into(),
            error,
        })
    }

    fn regulated(&self, nozzle: Nozzle, part: &NozzlePart, change: &Change) -> Nozzle {
        let Nozzle::Automatic(automatic) = nozzle else {
            return nozzle;
        };
        let written = part.regulator.as_ref().map(|state| match state {
            RegulatorState::Flush => Regulator::Flush,
            RegulatorState::Jammed(share) => Regulator::Jammed(share.get()),
        });
        let regulator = change.regulator.or(written);
        Nozzle::Automatic(automatic.with_regulator(regulator.unwrap_or(self.conditions.regulator)))
    }
}
