//! A scene of a book as one lay: from the mains to the last tip.
//!
//! Heights: the first rig stands at zero, and so do hydrants. A rig stands where
//! its supply line ends, unless the scene says its height.

use super::{
    Builder, Change, Conditions, Cut, CutKind, End, LaidPart, Layout, LayoutError, PartKind, Start,
    joint, open,
};
use crate::model::{
    Book, HydrantSupply, Intake, IntakeFrom, Line, LossWritten, Part, Path, PumpUsed, Scene,
    SceneLine, SceneRig, SceneStandpipe, StandpipeItem, Stated, Step, Which,
};
use crate::problem::nearest;
use hydraulics::draft::{Suction, atmospheric, vapour_pressure};
use hydraulics::element::Element;
use hydraulics::friction::Friction;
use hydraulics::hose::Run;
use hydraulics::hydrant::FlowTest;
use hydraulics::nozzle::Regulator;
use hydraulics::pump::{Governed, Governor, Pump, least_intake};
use hydraulics::units::{Length, Measure, Pressure, Ratio, Volume, VolumeRate, gpm};
use hydraulics::valve::{CheckValve, Valve, ValveKind};
use hydraulics::water::Water;
use lay::{Lay, PartId, PlaceId};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// What a scene is asked about beside what its book says. The default changes
/// nothing.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct SceneConditions {
    /// Which friction coefficients to use; [`Which::Published`] also takes every
    /// nozzle and pump by its rating.
    pub which: Which,
    /// Takes every nozzle and pump by its rating, whichever coefficients are used.
    pub rated: bool,
    /// What the regulators of automatic nozzles do, where nothing else is said.
    pub regulator: Regulator,
    /// Pump pressures, by rig.
    pub pump_pressure: BTreeMap<String, Pressure>,
    /// How far the rigs' outlets are open.
    pub outlets: BTreeMap<Outlet, Ratio>,
    /// Changes to the lines, by the line's name in the scene and by part.
    pub changes: BTreeMap<String, BTreeMap<Path, Change>>,
    /// Share of every hydrant's test flow that is left: the main is weaker than
    /// when it was tested.
    pub hydrants: Option<Ratio>,
}

impl SceneConditions {
    /// The same with hose at `which`, nozzles and pumps as they were.
    pub fn with_hose(&self, which: Which) -> Self {
        SceneConditions {
            rated: self.rated || self.which == Which::Published,
            which,
            ..self.clone()
        }
    }
}

/// An outlet of a rig, by what it feeds.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Outlet {
    /// The rig.
    pub rig: String,
    /// What it feeds.
    pub feeds: Feeds,
}

/// What an outlet feeds.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Feeds {
    /// A line, by its name in the scene.
    Line(String),
    /// Another rig.
    Rig(String),
    /// A standpipe.
    Standpipe(String),
}

impl std::fmt::Display for Feeds {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Feeds::Line(name) => write!(f, "line {name}"),
            Feeds::Rig(name) => write!(f, "supply to {name}"),
            Feeds::Standpipe(name) => write!(f, "standpipe {name}"),
        }
    }
}

/// A scene as a lay, and what its parts are in the book.
#[derive(Debug, Clone)]
pub struct SceneLayout {
    /// The lay, its parts and its tips. Each rig's pump is one of its cuts.
    pub layout: Layout,
    /// The rigs, those nearer the water first.
    pub rigs: Vec<LaidRig>,
    /// The outlets of the rigs.
    pub branches: Vec<Branch>,
    /// Where the water comes from.
    pub sources: Vec<LaidSource>,
    /// The standpipes.
    pub standpipes: Vec<LaidStandpipe>,
    /// The lines of solution from a rig's own proportioner.
    pub foam: Vec<LaidFoam>,
}

/// A line of solution from a rig's own proportioner.
#[derive(Debug, Clone)]
pub struct LaidFoam {
    /// The line, by its name in the scene.
    pub line: String,
    /// The rig.
    pub rig: String,
    /// The share of concentrate that is asked for.
    pub ratio: Ratio,
}

/// A rig at work.
#[derive(Debug, Clone)]
pub struct LaidRig {
    /// Its name.
    pub name: String,
    /// Its intake.
    pub intake: PlaceId,
    /// Its discharge.
    pub discharge: PlaceId,
    /// Its pump in the lay.
    pub part: PartId,
    /// What its pump can do.
    pub pump: Pump,
    /// How that is known: measured or rated.
    pub used: PumpUsed,
    /// How it is governed.
    pub governor: Governor,
    /// The intake pressure at which it gives nothing any more.
    pub starves_at: Pressure,
    /// Height above the first rig.
    pub height: Length,
    /// Which of the layout's cuts it is.
    pub cut: usize,
}

/// An outlet of a rig with its valve.
#[derive(Debug, Clone)]
pub struct Branch {
    /// The outlet.
    pub outlet: Outlet,
    /// Which of the scene's rigs it is on.
    pub rig: usize,
    /// The name of the line or supply that it feeds, as its parts have it.
    pub line: String,
    /// Its valve in the lay.
    pub part: PartId,
    /// Its valve.
    pub valve: Valve,
}

/// What kind of source it is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SourceKind {
    /// A hydrant, by the test of its main (as changed by the conditions).
    Hydrant(FlowTest),
    /// Open water.
    Draft,
    /// A portable tank.
    Shuttle,
    /// The rig's own tank, its content and what its pipe lets through.
    Tank(Option<Volume>, VolumeRate),
}

/// Where water comes from.
#[derive(Debug, Clone)]
pub struct LaidSource {
    /// Its name; that of the rig for a tank.
    pub name: String,
    /// What it is.
    pub kind: SourceKind,
    /// The rig it feeds.
    pub rig: String,
    /// The part that carries its water.
    pub part: PartId,
    /// The place where its pressure is read: a hydrant's outlet, a rig's intake.
    pub place: PlaceId,
    /// Hydrants on one main have the same.
    pub main: String,
}

/// A standpipe at work.
#[derive(Debug, Clone)]
pub struct LaidStandpipe {
    /// Its name.
    pub name: String,
    /// The rig that feeds it.
    pub rig: String,
    /// Its inlet.
    pub inlet: PlaceId,
    /// Its outlets in use, from below: floor, the place behind the valve, the
    /// line's name in the scene.
    pub outlets: Vec<(f64, PlaceId, String)>,
    /// Height of the street.
    pub height: Length,
}

/// Lays out the scene called `name`. Pumps without a pressure, in the scene or in
/// `conditions`, are held at none.
///
/// # Errors
/// [`LayoutError`] when the book lacks something that is asked for.
///
/// ```
/// use hydraulics::units::{psi, show, Kind, System};
/// let text = br#"
/// [book]
/// name = "Example"
/// [rig.pumper]
/// pump = "1250 gpm"
/// [hydrant.corner]
/// static = "70 psi"
/// residual = "50 psi"
/// flow = "1000 gpm"
/// [line.large]
/// parts = [{ hose = "2.5 in", length = "200 ft" }, { nozzle = "1-1/8 in smooth bore" }]
/// [scene.corner.rig.pumper]
/// intake = [{ hydrant = "corner", parts = [{ hose = "5 in", length = "50 ft" }] }]
/// pump_pressure = "78 psi"
/// lines = [{ line = "large" }]
/// "#;
/// let book = book::read(text, "example.toml")?;
/// let scene = book::scene(&book, "corner", &Default::default())?;
/// let answer = lay::solve(&scene.layout.lay);
/// // As the line alone at 78 psi.
/// let flow = answer.flow(scene.layout.tips[0].part);
/// assert_eq!(show(Kind::Flow, flow, System::Us), "265 gpm");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn scene(
    book: &Book,
    name: &str,
    conditions: &SceneConditions,
) -> Result<SceneLayout, LayoutError> {
    Site::build(book, name, conditions)
}

/// A scene while it is laid out.
struct Site<'a> {
    book: &'a Book,
    conditions: &'a SceneConditions,
    /// The same for lines.
    plain: Conditions,
    water: Water,
    laid: SceneLayout,
    /// The place of each main, by the hydrant that was tested.
    mains: BTreeMap<String, PlaceId>,
    /// The lines' names in the scene so far.
    labels: BTreeSet<String>,
}

/// Where a supply reaches a rig, and what feeds it.
struct Supplied {
    place: PlaceId,
    height: Length,
    cut: Option<usize>,
    branch: Option<usize>,
}

/// Friction coefficient of a riser when none is written: steel in use (common
/// practice, no source).
const RISER: f64 = 120.0;

/// What a rig's tank pipe lets through when nothing is written: 250 gpm below
/// 500 gal, 500 gpm from there on (apparatus standard, memory).
fn usual_tank_flow(tank: Option<Volume>) -> VolumeRate {
    match tank {
        Some(tank) if tank.value < 1.89 => gpm(250.0),
        _ => gpm(500.0),
    }
}

/// Waterway of an outlet when nothing says its size: 2-1/2 in.
fn usual_outlet() -> Length {
    Length::of_si(0.063_5)
}

fn ground() -> Length {
    Length::of_si(0.0)
}

impl<'a> Site<'a> {
    fn build(
        book: &'a Book,
        name: &str,
        conditions: &'a SceneConditions,
    ) -> Result<SceneLayout, LayoutError> {
        let scene = book.scene.get(name).ok_or_else(|| LayoutError::NoScene {
            name: name.into(),
            near: nearest(name, book.scene.keys().map(String::as_str)).map(Into::into),
        })?;
        let water = book.water();
        let mut lay = Lay::new(water.density());
        // A line has one supply; in a scene this stands for it, joined to nothing.
        let supply = lay.junction(ground());
        let laid = SceneLayout {
            layout: Layout {
                lay,
                supply,
                parts: Vec::new(),
                tips: Vec::new(),
                cuts: Vec::new(),
                sources: Vec::new(),
            },
            rigs: Vec::new(),
            branches: Vec::new(),
            sources: Vec::new(),
            standpipes: Vec::new(),
            foam: Vec::new(),
        };
        let mut site = Site {
            book,
            conditions,
            plain: Conditions {
                which: conditions.which,
                rated: conditions.rated,
                regulator: conditions.regulator,
                ..Conditions::default()
            },
            water,
            laid,
            mains: BTreeMap::new(),
            labels: BTreeSet::new(),
        };
        for (rig, entry) in in_order(name, scene)? {
            site.rig(rig, entry)?;
        }
        site.all_used()?;
        site.laid.layout.sources = site.laid.sources.iter().map(|s| s.part).collect();
        Ok(site.laid)
    }

    /// Refuses conditions about what the scene does not have.
    fn all_used(&self) -> Result<(), LayoutError> {
        let conditions = self.conditions;
        let lines = conditions.changes.keys().cloned();
        let line = lines.into_iter().find(|line| !self.labels.contains(line));
        let has = |outlet: &&Outlet| !self.laid.branches.iter().any(|b| b.outlet == **outlet);
        let outlet = conditions.outlets.keys().find(has);
        let works = |rig: &&String| !self.laid.rigs.iter().any(|r| r.name == **rig);
        let rig = conditions.pump_pressure.keys().find(works).cloned();
        let missing = line
            .or(outlet.map(|outlet| format!("{} on {}", outlet.feeds, outlet.rig)))
            .or(rig);
        match missing {
            None => Ok(()),
            Some(name) => Err(LayoutError::NoPart {
                line: name,
                path: Path::default(),
            }),
        }
    }

    fn numbers(&self, line: &str, message: impl ToString) -> LayoutError {
        LayoutError::Numbers {
            line: line.into(),
            path: Path::default(),
            message: message.to_string(),
        }
    }

    fn no_item(&self, line: &str, kind: &'static str, name: &str) -> LayoutError {
        LayoutError::NoItem {
            line: line.into(),
            path: Path::default(),
            kind,
            name: name.into(),
        }
    }

    fn rig(&mut self, name: &str, entry: &'a SceneRig) -> Result<(), LayoutError> {
        let item = self.book.rig.get(name);
        let item = item.ok_or_else(|| self.no_item(name, "rig", name))?;
        let used = item.used(self.plain.of_ratings());
        let used = used.map_err(|e| self.numbers(name, e))?;
        let unrated = "its pump has no rating; write pump = \"1250 gpm\"";
        let used = used.ok_or_else(|| self.numbers(name, unrated))?;
        let stated = entry.height.as_ref().map(Stated::get);
        let mut ends = Vec::new();
        // Beside a soft supply, a stiff one can still be drawn from.
        let mut starves_at = Pressure::of_si(0.0);
        for intake in &entry.intake {
            let from = source_name(&intake.from, name);
            let label = match entry.intake.len() {
                1 => format!("supply to {name}"),
                _ => format!("supply to {name} from {from}"),
            };
            let (end, least) = self.intake((name, &label), intake, stated)?;
            starves_at = starves_at.min(least);
            ends.push(end);
        }
        let first = ends.first();
        let height = stated.or(first.map(|end| end.height));
        let height = height.unwrap_or_else(ground);
        let fed_by = ends.iter().filter_map(|end| Some((end.cut?, end.branch)));
        let fed_by: Vec<_> = fed_by.collect();
        let intake = self.meet(&ends, height);
        let governor = self.governor(name, entry);
        let held = (used, governor, starves_at);
        self.pump(name, (intake, height), held, &fed_by);
        self.feed(name, entry)
    }

    /// A rig's intake, where its supplies meet.
    fn meet(&mut self, ends: &[Supplied], height: Length) -> PlaceId {
        let lay = &mut self.laid.layout.lay;
        let intake = lay.junction(height);
        for end in ends {
            let law: Arc<dyn Element> = match ends.len() {
                1 => Arc::new(joint()),
                _ => Arc::new(CheckValve),
            };
            let part = lay.part(end.place, intake, law);
            let still = |source: &&mut LaidSource| {
                source.place == end.place && !matches!(source.kind, SourceKind::Hydrant(_))
            };
            if let Some(source) = self.laid.sources.iter_mut().find(still) {
                source.place = intake;
                source.part = part;
            }
        }
        intake
    }

    fn governor(&self, name: &str, entry: &SceneRig) -> Governor {
        let asked = self.conditions.pump_pressure.get(name).copied();
        let written = entry.pump_pressure.as_ref().map(Stated::get);
        match (asked, &entry.speed) {
            (Some(pressure), _) => Governor::Pressure(pressure),
            (None, Some(speed)) => Governor::Speed(speed.get()),
            (None, None) => Governor::Pressure(written.unwrap_or_default()),
        }
    }

    fn pump(
        &mut self,
        name: &str,
        (intake, height): (PlaceId, Length),
        (used, governor, starves_at): (PumpUsed, Governor, Pressure),
        fed_by: &[(usize, Option<usize>)],
    ) {
        let lay = &mut self.laid.layout.lay;
        let discharge = lay.junction(height);
        let law = Governed {
            pump: used.pump.clone(),
            governor,
            starves_at,
        };
        let part = lay.part(intake, discharge, Arc::new(law));
        let cuts = &mut self.laid.layout.cuts;
        cuts.push(Cut {
            kind: CutKind::Pump,
            part: Some(part),
            inlet: intake,
            outlet: discharge,
            after: fed_by.first().map(|fed| fed.0),
            branch: fed_by.first().and_then(|fed| fed.1),
            also_after: fed_by.iter().skip(1).copied().collect(),
            line: name.into(),
            path: Path::default(),
        });
        let cut = cuts.len() - 1;
        self.laid.rigs.push(LaidRig {
            name: name.into(),
            intake,
            discharge,
            part,
            pump: used.pump.clone(),
            used,
            governor,
            starves_at,
            height,
            cut,
        });
    }

    /// The end of a supply into a rig, and the least intake pressure it allows.
    fn intake(
        &mut self,
        (rig, label): (&str, &str),
        intake: &'a Intake,
        height: Option<Length>,
    ) -> Result<(Supplied, Pressure), LayoutError> {
        // Soft hose goes flat where its pressure is gone.
        let flat = Pressure::of_si(0.0);
        let end = match &intake.from {
            IntakeFrom::Hydrant(name) => {
                let place = self.hydrant(name, rig)?;
                let end = self.supply_row(label, intake, (place, ground()), None)?;
                return Ok((end, flat));
            }
            IntakeFrom::Rig(name) => {
                let index = self.laid.rigs.iter().position(|r| r.name == *name);
                let index = index.ok_or_else(|| self.no_item(rig, "rig", name))?;
                let feeds = Feeds::Rig(rig.into());
                let start = self.outlet(index, feeds, label, &intake.parts);
                let end = self.supply_row(label, intake, start, Some(index))?;
                return Ok((end, flat));
            }
            IntakeFrom::Draft(name) => return self.draft(rig, name, height),
            IntakeFrom::Shuttle(name) => {
                let item = self.book.shuttle.get(name);
                let item = item.ok_or_else(|| self.no_item(rig, "shuttle", name))?;
                let lift = item.lift.as_ref().map(Stated::get).unwrap_or_default();
                let suction = self.suction(rig, item.loss.as_ref())?;
                self.still_water((rig, name), SourceKind::Shuttle, lift, suction, height)
            }
            IntakeFrom::Tank => self.tank(rig, height)?,
        };
        Ok((end, least_intake()))
    }

    fn draft(
        &mut self,
        rig: &str,
        name: &str,
        height: Option<Length>,
    ) -> Result<(Supplied, Pressure), LayoutError> {
        let item = self.book.draft.get(name);
        let item = item.ok_or_else(|| self.no_item(rig, "draft", name))?;
        let altitude = item.altitude.as_ref().map_or_else(ground, Stated::get);
        // What a pump holds at sea level leaves so much above nothing; it leaves the
        // same higher up, and more in warm water.
        let left = atmospheric(ground()) + least_intake();
        let warm = vapour_pressure(self.water) - vapour_pressure(Water::default());
        let least = left + warm - atmospheric(altitude);
        let suction = self.suction(rig, item.loss.as_ref())?;
        let lift = item.lift.get();
        let end = self.still_water((rig, name), SourceKind::Draft, lift, suction, height);
        Ok((end, least))
    }

    fn tank(&mut self, rig: &str, height: Option<Length>) -> Result<Supplied, LayoutError> {
        let item = self.book.rig.get(rig);
        let content = item.and_then(|t| t.tank.as_ref()).map(Stated::get);
        let most = item.and_then(|t| t.tank_flow.as_ref()).map(Stated::get);
        let most = most.unwrap_or_else(|| usual_tank_flow(content));
        let suction = Suction::rated(-least_intake(), most);
        let suction = suction.map_err(|error| self.numbers(rig, error))?;
        let kind = SourceKind::Tank(content, most);
        Ok(self.still_water((rig, rig), kind, ground(), suction, height))
    }

    /// Where a hydrant's water can be taken.
    fn hydrant(&mut self, name: &str, rig: &str) -> Result<PlaceId, LayoutError> {
        let book = self.book;
        let missing = || self.no_item(rig, "hydrant", name);
        let item = book.hydrant.get(name).ok_or_else(missing)?;
        let main = match &item.supply {
            HydrantSupply::SameMain(other) => other.as_str(),
            HydrantSupply::Test { .. } => name,
        };
        let tested = book.hydrant.get(main).ok_or_else(missing)?;
        let test = tested.test().map_err(|error| self.numbers(rig, error))?;
        let test = self.weakened(test.ok_or_else(missing)?);
        let loss = LossWritten::law(item.loss.as_ref());
        let loss = loss.map_err(|error| self.numbers(rig, error))?;
        let lay = &mut self.laid.layout.lay;
        let place = *self.mains.entry(main.to_string()).or_insert_with(|| {
            let source = lay.supply(ground(), test.still());
            let place = lay.junction(ground());
            lay.part(source, place, Arc::new(test));
            place
        });
        let outlet = lay.junction(ground());
        let part = lay.part(place, outlet, Arc::new(loss));
        self.laid.sources.push(LaidSource {
            name: name.into(),
            kind: SourceKind::Hydrant(test),
            rig: rig.into(),
            part,
            place: outlet,
            main: main.into(),
        });
        Ok(outlet)
    }

    fn weakened(&self, test: FlowTest) -> FlowTest {
        let left = self.conditions.hydrants.unwrap_or_else(open);
        let weaker = FlowTest::new(test.still(), test.residual(), test.flow() * left);
        weaker.unwrap_or(test)
    }

    fn suction(&self, rig: &str, loss: Option<&LossWritten>) -> Result<Suction, LayoutError> {
        let suction = match loss {
            Some(LossWritten::Rated { pressure, flow }) => {
                Suction::rated(pressure.get(), flow.get())
            }
            _ => Suction::new(Measure::of_si(0.0)),
        };
        suction.map_err(|error| self.numbers(rig, error))
    }

    /// Water at rest, `lift` below the rig that draws it.
    fn still_water(
        &mut self,
        (rig, name): (&str, &str),
        kind: SourceKind,
        lift: Length,
        suction: Suction,
        height: Option<Length>,
    ) -> Supplied {
        let height = height.unwrap_or_else(ground);
        let lay = &mut self.laid.layout.lay;
        let source = lay.supply(height - lift, Pressure::of_si(0.0));
        let place = lay.junction(height);
        let part = lay.part(source, place, Arc::new(suction));
        self.laid.sources.push(LaidSource {
            name: name.into(),
            kind,
            rig: rig.into(),
            part,
            place,
            main: name.into(),
        });
        Supplied {
            place,
            height,
            cut: None,
            branch: None,
        }
    }

    fn builder<'b>(
        &'b mut self,
        label: &'b str,
        changes: &'b BTreeMap<Path, Change>,
        start: Start,
    ) -> Builder<'b> {
        Builder {
            book: self.book,
            name: label,
            aim: None,
            conditions: &self.plain,
            changes,
            seen: BTreeSet::new(),
            water: self.water,
            start,
            layout: &mut self.laid.layout,
        }
    }

    /// A supply line into `rig`, from a hydrant, or from the rig that the last
    /// outlet is on.
    fn supply_row(
        &mut self,
        label: &str,
        intake: &Intake,
        start: (PlaceId, Length),
        relay: Option<usize>,
    ) -> Result<Supplied, LayoutError> {
        let cut = relay.map(|index| self.laid.rigs[index].cut);
        let branch = relay.map(|_| self.laid.branches.len() - 1);
        let end = self.row(label, &intake.parts, start, (cut, branch))?;
        Ok(Supplied {
            place: end.place,
            height: end.height,
            cut,
            branch,
        })
    }

    /// Parts that end open.
    fn row(
        &mut self,
        label: &str,
        parts: &[Part],
        (place, height): (PlaceId, Length),
        (cut, branch): (Option<usize>, Option<usize>),
    ) -> Result<End, LayoutError> {
        let start = Start {
            at: place,
            height,
            branch,
            after: cut.unwrap_or(0),
        };
        let nothing = BTreeMap::new();
        let mut builder = self.builder(label, &nothing, start);
        let path = Path::default();
        let first = End {
            place,
            height,
            size: None,
            after: start.after,
        };
        let ends = builder.open_row(parts, first)?;
        builder.meet(&ends, false, &path)
    }

    /// A valve on a rig's discharge: the place behind it, and its height.
    fn outlet(
        &mut self,
        rig: usize,
        feeds: Feeds,
        label: &str,
        parts: &[Part],
    ) -> (PlaceId, Length) {
        let laid = &self.laid.rigs[rig];
        let (discharge, height) = (laid.discharge, laid.height);
        let outlet = Outlet {
            rig: laid.name.clone(),
            feeds,
        };
        let gate = self.conditions.outlets.get(&outlet).copied();
        let valve = Valve {
            kind: ValveKind::Ball,
            waterway: self.outlet_size(parts),
            gate: gate.unwrap_or_else(open),
        };
        let lay = &mut self.laid.layout.lay;
        let place = lay.junction(height);
        let part = lay.part(discharge, place, Arc::new(valve));
        self.laid.layout.parts.push(LaidPart {
            kind: PartKind::Gate,
            name: format!("outlet of {}", outlet.rig),
            size: Some(valve.waterway),
            valve: Some(valve),
            ..LaidPart::bare(part, label, Path::default())
        });
        self.laid.branches.push(Branch {
            outlet,
            line: label.into(),
            rig,
            part,
            valve,
        });
        (place, height)
    }

    /// The waterway of an outlet: that of the first hose behind it.
    fn outlet_size(&self, parts: &[Part]) -> Length {
        fn first(parts: &[Part]) -> Option<&str> {
            parts.iter().find_map(|part| match part {
                Part::Hose(part) => Some(part.hose.as_str()),
                Part::Legs(rows) | Part::Branches(rows) => rows.first().and_then(|row| first(row)),
                _ => None,
            })
        }
        let hose = first(parts).and_then(|name| self.book.hose(name));
        hose.map_or_else(usual_outlet, |found| found.item.size.get())
    }

    /// Everything that a rig feeds but other rigs.
    fn feed(&mut self, name: &str, entry: &'a SceneRig) -> Result<(), LayoutError> {
        let rig = self.laid.rigs.len() - 1;
        for line in entry.lines.iter().filter(|l| l.standpipe.is_none()) {
            self.line(rig, line)?;
        }
        for pipe in &entry.standpipe {
            let here = |l: &&SceneLine| l.standpipe.as_ref() == Some(&pipe.standpipe);
            let lines = entry.lines.iter().filter(here);
            self.standpipe((rig, name), pipe, lines.collect())?;
        }
        Ok(())
    }

    /// The name of a line in the scene: its own, with a number where that is there
    /// already.
    fn label(&mut self, plain: String) -> String {
        let numbered = (2..).map(|n| format!("{plain} ({n})"));
        let mut names = std::iter::once(plain.clone()).chain(numbered);
        let free = names.find(|label| !self.labels.contains(label));
        let label = free.unwrap_or(plain);
        self.labels.insert(label.clone());
        label
    }

    fn add_foam(&mut self, line: &str, rig: usize, entry: &SceneLine) {
        if let Some(ratio) = &entry.foam {
            self.laid.foam.push(LaidFoam {
                line: line.into(),
                rig: self.laid.rigs[rig].name.clone(),
                ratio: ratio.get(),
            });
        }
    }

    fn line(&mut self, rig: usize, entry: &SceneLine) -> Result<(), LayoutError> {
        let name = entry.line.as_str();
        let line = super::find(self.book, name)?;
        let label = self.label(name.into());
        self.add_foam(&label, rig, entry);
        let feeds = Feeds::Line(label.clone());
        let (place, height) = self.outlet(rig, feeds, &label, &line.parts);
        let start = Start {
            at: place,
            height,
            branch: Some(self.laid.branches.len() - 1),
            after: self.laid.rigs[rig].cut,
        };
        self.one_line((name, &label), line, start)
    }

    fn one_line(
        &mut self,
        (name, label): (&str, &str),
        line: &'a Line,
        start: Start,
    ) -> Result<(), LayoutError> {
        let nothing = BTreeMap::new();
        let changes = self.conditions.changes.get(label).unwrap_or(&nothing);
        let names = (name, label, line);
        let layout = &mut self.laid.layout;
        super::one(
            self.book,
            names,
            (&self.plain, changes),
            start,
            self.water,
            layout,
        )
    }

    fn standpipe(
        &mut self,
        (rig, rig_name): (usize, &str),
        entry: &SceneStandpipe,
        mut lines: Vec<&SceneLine>,
    ) -> Result<(), LayoutError> {
        let name = entry.standpipe.as_str();
        let item = self.book.standpipe.get(name);
        let item = item.ok_or_else(|| self.no_item(rig_name, "standpipe", name))?;
        let feeds = Feeds::Standpipe(name.into());
        let label = feeds.to_string();
        let start = self.outlet(rig, feeds, &label, &entry.parts);
        let branch = Some(self.laid.branches.len() - 1);
        let cut = Some(self.laid.rigs[rig].cut);
        let street = self.row(&label, &entry.parts, start, (cut, branch))?;
        self.laid.standpipes.push(LaidStandpipe {
            name: name.into(),
            rig: rig_name.into(),
            inlet: street.place,
            outlets: Vec::new(),
            height: street.height,
        });
        lines.sort_by(|a, b| floor_of(a).total_cmp(&floor_of(b)));
        let mut end = self.riser_inlet(item, &label, street, branch)?;
        for line in lines {
            end = self.riser(item, &label, (end, street.height), floor_of(line))?;
            self.floor((item, name), (&label, branch), end, (rig, line))?;
        }
        Ok(())
    }

    fn riser_inlet(
        &mut self,
        item: &StandpipeItem,
        label: &str,
        street: End,
        branch: Option<usize>,
    ) -> Result<End, LayoutError> {
        let loss = LossWritten::law(item.inlet_loss.as_ref());
        let loss = loss.map_err(|error| self.numbers(label, error))?;
        let (nothing, start) = (BTreeMap::new(), self.start_at(street, branch));
        let mut builder = self.builder(label, &nothing, start);
        let (part, end) = builder.element(street, ground(), Arc::new(loss));
        let laid = builder.laid(part, &on_floor(1.0), PartKind::Appliance, "standpipe inlet");
        builder.layout.parts.push(laid);
        Ok(end)
    }

    fn start_at(&self, end: End, branch: Option<usize>) -> Start {
        Start {
            at: end.place,
            height: end.height,
            branch,
            after: end.after,
        }
    }

    /// The riser from `from` up to `floor`.
    fn riser(
        &mut self,
        item: &StandpipeItem,
        label: &str,
        (from, street): (End, Length),
        floor: f64,
    ) -> Result<End, LayoutError> {
        let up = street + item.height(floor) - from.height;
        if up.value <= 0.0 {
            return Ok(from);
        }
        let c = item.hazen_williams.as_ref().map(Stated::get);
        let friction = Friction::HazenWilliams {
            bore: item.riser.get(),
            c: c.unwrap_or_else(|| Ratio::of_si(RISER)),
        };
        let run = Run::new(friction, up, self.water).map_err(|e| self.numbers(label, e))?;
        let lay = &mut self.laid.layout.lay;
        let height = from.height + up;
        let place = lay.junction(height);
        let part = lay.part(from.place, place, Arc::new(run));
        self.laid.layout.parts.push(LaidPart {
            kind: PartKind::Riser,
            name: format!("to floor {floor}"),
            length: Some(up),
            size: Some(item.riser.get()),
            ..LaidPart::bare(part, label, on_floor(floor))
        });
        Ok(End {
            place,
            height,
            ..from
        })
    }

    /// The outlet on a floor, and the line off it.
    fn floor(
        &mut self,
        (item, name): (&StandpipeItem, &str),
        (label, branch): (&str, Option<usize>),
        end: End,
        (rig, entry): (usize, &SceneLine),
    ) -> Result<(), LayoutError> {
        let floor = floor_of(entry);
        let line = super::find(self.book, &entry.line)?;
        let line_label = self.label(format!("{}, floor {floor}", entry.line));
        self.add_foam(&line_label, rig, entry);
        let loss = LossWritten::law(item.outlet_loss.as_ref());
        let loss = loss.map_err(|error| self.numbers(name, error))?;
        let (nothing, start) = (BTreeMap::new(), self.start_at(end, branch));
        let (path, valve) = (on_floor(floor), format!("outlet on floor {floor}"));
        let mut builder = self.builder(label, &nothing, start);
        let outlet = match item.setting(floor) {
            Some(setting) => builder.cut(CutKind::Regulating(setting, loss), &path, &valve, end),
            None => {
                let (part, outlet) = builder.element(end, ground(), Arc::new(loss));
                let laid = builder.laid(part, &path, PartKind::Appliance, &valve);
                builder.layout.parts.push(laid);
                outlet
            }
        };
        if let Some(pipe) = self.laid.standpipes.last_mut() {
            pipe.outlets.push((floor, outlet.place, line_label.clone()));
        }
        let start = self.start_at(outlet, branch);
        self.one_line((&entry.line, &line_label), line, start)
    }
}

/// What feeds `rig`, by name.
fn source_name<'n>(from: &'n IntakeFrom, rig: &'n str) -> &'n str {
    match from {
        IntakeFrom::Hydrant(name)
        | IntakeFrom::Rig(name)
        | IntakeFrom::Draft(name)
        | IntakeFrom::Shuttle(name) => name,
        IntakeFrom::Tank => rig,
    }
}

fn floor_of(line: &SceneLine) -> f64 {
    line.floor.as_ref().map_or(1.0, |floor| floor.get().value)
}

fn on_floor(floor: f64) -> Path {
    Path(vec![Step::Floor(floor as usize)])
}

/// The rigs of a scene, each after those that feed it.
fn in_order<'s>(name: &str, scene: &'s Scene) -> Result<Vec<(&'s str, &'s SceneRig)>, LayoutError> {
    let mut order: Vec<(&str, &SceneRig)> = Vec::new();
    while order.len() < scene.rig.len() {
        let placed = |rig: &str| order.iter().any(|(name, _)| *name == rig);
        let fed = |intake: &Intake| match &intake.from {
            IntakeFrom::Rig(from) => placed(from),
            _ => true,
        };
        let ready = |(rig, entry): &(&String, &SceneRig)| {
            !placed(rig.as_str()) && entry.intake.iter().all(fed)
        };
        let Some((rig, entry)) = scene.rig.iter().find(ready) else {
            return Err(LayoutError::Numbers {
                line: name.into(),
                path: Path::default(),
                message: "its rigs feed each other in a circle, or one is fed by a rig that is not at work".into(),
            });
        };
        order.push((rig, entry));
    }
    Ok(order)
}
