//! A whole scene: what every tip gets, from the mains on, and what gives out
//! first.

mod fire;
mod foam;
mod limits;
mod notices;
mod rigs;
mod standpipe;
mod water;

pub use fire::{FireAnswer, NeedAnswer};
pub use foam::{EductorAnswer, FoamLine, SpillAnswer};
pub use limits::Limit;
pub use rigs::{OutletAnswer, RigAnswer, SetBy};
pub use standpipe::{FloorAnswer, StandpipeAnswer};
pub use water::{DraftAnswer, MainAnswer, RelayAnswer, SourceAnswer, StoredAnswer, TankersAnswer};

pub(crate) use foam::eductors_of;
pub(crate) use notices::eductor as eductor_notices;

use crate::answer::{CoefficientUsed, ItemUsed, PartAnswer, TipAnswer, ValueUsed};
use crate::demand::{self, Demands};
use crate::fact::object;
use crate::figure;
use crate::notice::Notice;
use crate::operating::{self, StudyError};
use book::{Book, Outlet, SceneConditions, SceneLayout, Which};
use hydraulics::pump::Governor;
use hydraulics::units::{Measure, Pressure, Ratio, System, VolumeRate};
use lay::{Steady, Stopped, inverse};
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// What a scene gives.
#[derive(Debug, Clone)]
pub struct SceneAnswer {
    /// Its name.
    pub scene: String,
    /// Its title.
    pub title: Option<String>,
    /// The rigs, those nearer the water first.
    pub rigs: Vec<RigAnswer>,
    /// Where the water comes from.
    pub sources: Vec<SourceAnswer>,
    /// The supplies from rig to rig.
    pub relays: Vec<RelayAnswer>,
    /// The standpipes.
    pub standpipes: Vec<StandpipeAnswer>,
    /// What the crews get.
    pub tips: Vec<TipAnswer>,
    /// What happens along the way.
    pub parts: Vec<PartAnswer>,
    /// The eductors.
    pub eductors: Vec<EductorAnswer>,
    /// Lines of foam solution.
    pub foam: Vec<FoamLine>,
    /// The spill, if there is one.
    pub spill: Option<SpillAnswer>,
    /// The building that burns, if there is one.
    pub fire: Option<FireAnswer>,
    /// How much of every limit is used, the one that binds first before the
    /// others.
    pub limits: Vec<Limit>,
    /// Which hose coefficients were used.
    pub coefficients: Vec<CoefficientUsed>,
    /// Which values of nozzles and pumps were used.
    pub items: Vec<ItemUsed>,
    /// Flow of every tip over the published spread of the coefficients, pumps and
    /// outlets as they are.
    pub spread: Option<Vec<(VolumeRate, VolumeRate)>>,
    /// Problems and cautions.
    pub notices: Vec<Notice>,
    /// What is left over in the solution.
    pub residual: lay::Residual,
    /// Did the solver converge?
    pub converged: bool,
}

/// A scene laid out, its pumps and outlets set, and solved.
pub(crate) struct Solved<'a> {
    pub book: &'a Book,
    pub scene: &'a book::Scene,
    pub laid: SceneLayout,
    pub steady: Steady,
    pub demands: Demands,
    pub tips: Vec<TipAnswer>,
    /// Outlets that were gated here, not by the book or the reader.
    pub gated: BTreeMap<Outlet, Ratio>,
    /// Rigs whose pressure the reader asked for.
    pub asked: Vec<String>,
}

impl Solved<'_> {
    pub fn pressure(&self, place: lay::PlaceId) -> Pressure {
        self.steady.pressure(place).unwrap_or_default()
    }

    /// All water that the tips give.
    pub fn outflow(&self) -> VolumeRate {
        self.tips
            .iter()
            .fold(VolumeRate::of_si(0.0), |sum, tip| sum + tip.flow)
    }
}

/// What the scene called `name` gives. A pump is held at the pressure asked for,
/// or the book's, or the one at which what asks most of it has what it needs;
/// outlets that need less are gated, unless the book or the reader says how far
/// they are open.
///
/// # Errors
/// [`StudyError::Layout`] when the scene cannot be laid out so.
///
/// ```
/// use hydraulics::units::{show, Kind, System};
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
/// lines = [{ line = "large" }]
/// "#;
/// let book = book::read(text, "example.toml")?;
/// let answer = study::solve_scene(&book, "corner", &Default::default())?;
/// // 266 gpm at 50 psi takes 78 psi at the pump.
/// let pump = &answer.rigs[0];
/// assert_eq!(show(Kind::Pressure, pump.discharge, System::Us), "78 psi");
/// assert_eq!(show(Kind::Flow, pump.flow, System::Us), "266 gpm");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn solve_scene(
    book: &Book,
    name: &str,
    conditions: &SceneConditions,
) -> Result<SceneAnswer, StudyError> {
    let set = set_scene(book, name, conditions)?;
    let asked = conditions.pump_pressure.keys().cloned().collect();
    answered(book, name, set, asked)
}

/// A scene's answer before and after a change.
#[derive(Debug, Clone)]
pub struct SceneCompared {
    /// As the book has it.
    pub before: SceneAnswer,
    /// With the change; pumps and outlets otherwise as they were.
    pub after: SceneAnswer,
}

/// What the scene called `name` gives as `conditions` have it, and what it gives
/// when `changes` are made while every other pump and outlet stays as it was.
///
/// # Errors
/// [`StudyError::Layout`] when the scene has no such rig, outlet or line.
///
/// ```
/// # let text = br#"
/// # [book]
/// # name = "Example"
/// # [rig.pumper]
/// # pump = "1250 gpm"
/// # [hydrant.corner]
/// # static = "70 psi"
/// # residual = "50 psi"
/// # flow = "1000 gpm"
/// # [line.large]
/// # parts = [{ hose = "2.5 in", length = "200 ft" }, { nozzle = "1-1/8 in smooth bore" }]
/// # [scene.corner.rig.pumper]
/// # intake = [{ hydrant = "corner", parts = [{ hose = "5 in", length = "50 ft" }] }]
/// # lines = [{ line = "large" }]
/// # "#;
/// # let book = book::read(text, "example.toml")?;
/// use hydraulics::units::psi;
/// let mut changes = book::SceneConditions::default();
/// changes.pump_pressure.insert("pumper".into(), psi(70.0));
/// let compared = study::what_if_scene(&book, "corner", &Default::default(), &changes)?;
/// assert!(compared.after.tips[0].flow < compared.before.tips[0].flow);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn what_if_scene(
    book: &Book,
    name: &str,
    conditions: &SceneConditions,
    changes: &SceneConditions,
) -> Result<SceneCompared, StudyError> {
    let set = set_scene(book, name, conditions)?;
    let as_set = set.conditions.clone();
    let asked: Vec<String> = conditions.pump_pressure.keys().cloned().collect();
    let before = answered(book, name, set, asked.clone())?;
    let set = as_it_stands(book, name, &with_changes(as_set, changes))?;
    let changed = changes.pump_pressure.keys().cloned();
    let after = answered(book, name, set, asked.into_iter().chain(changed).collect())?;
    Ok(SceneCompared { before, after })
}

/// A scene that is set, and changed afterwards.
fn with_changes(mut set: SceneConditions, changes: &SceneConditions) -> SceneConditions {
    set.pump_pressure.extend(changes.pump_pressure.clone());
    set.outlets.extend(changes.outlets.clone());
    set.changes.extend(changes.changes.clone());
    set.hydrants = changes.hydrants.or(set.hydrants);
    set
}

/// The scene called `name` set as `conditions` have it, and then with `changes`, every
/// other pump and outlet as it was.
///
/// # Errors
/// [`StudyError::Layout`] when the scene cannot be laid out so.
pub(crate) fn set_and_changed(
    book: &Book,
    name: &str,
    conditions: &SceneConditions,
    changes: &SceneConditions,
) -> Result<SetScene, StudyError> {
    let set = set_scene(book, name, conditions)?;
    match *changes == SceneConditions::default() {
        true => Ok(set),
        false => as_it_stands(book, name, &with_changes(set.conditions, changes)),
    }
}

/// The answer of a scene that is set; `asked` are the rigs whose pressure the
/// reader asked for.
fn answered(
    book: &Book,
    name: &str,
    set: SetScene,
    asked: Vec<String>,
) -> Result<SceneAnswer, StudyError> {
    let conditions = set.conditions.clone();
    let solved = solved(book, name, set, asked)?;
    let layout = &solved.laid.layout;
    let rigs = rigs::answers(&solved);
    let sources = water::sources(&solved);
    let relays = water::relays(&solved);
    let standpipes = standpipe::answers(&solved);
    let eductors = foam::eductors(&solved);
    let foam = foam::lines(&solved, &eductors);
    let mut answer = SceneAnswer {
        scene: name.to_string(),
        title: solved.scene.title.clone(),
        spill: foam::spill(&solved, &foam),
        fire: fire::answer(&solved, &sources),
        limits: Vec::new(),
        rigs,
        sources,
        relays,
        standpipes,
        tips: solved.tips.clone(),
        parts: operating::part_answers(layout, &solved.steady),
        eductors,
        foam,
        coefficients: operating::coefficients(book, layout),
        items: items_used(&solved.laid),
        spread: None,
        notices: Vec::new(),
        residual: solved.steady.residual,
        converged: solved.steady.stopped == Stopped::Converged,
    };
    answer.spread = spread(book, name, &conditions, &answer)?;
    answer.limits = limits::of(&solved, &answer);
    answer.notices = notices::of(&solved, &answer);
    answer.notices.sort_by_key(|n| std::cmp::Reverse(n.weight));
    Ok(answer)
}

/// The pumps of the rigs at work, then the nozzles.
fn items_used(laid: &SceneLayout) -> Vec<ItemUsed> {
    let pump = |rig: &book::LaidRig| ItemUsed {
        name: rig.name.clone(),
        used: ValueUsed::Pump(rig.used.clone()),
    };
    let pumps = laid.rigs.iter().map(pump);
    pumps.chain(operating::nozzles_used(&laid.layout)).collect()
}

/// A scene laid out with every pump and outlet set, ready to be solved, and what
/// sets them.
pub struct SetScene {
    /// What was asked, and every pump and outlet.
    pub conditions: SceneConditions,
    /// The scene.
    pub laid: SceneLayout,
    demands: Demands,
    gated: BTreeMap<Outlet, Ratio>,
}

/// Lays out the scene called `name` with its pumps held for what asks most of
/// them and its outlets gated to what they feed, where nobody says otherwise.
///
/// # Errors
/// [`StudyError::Layout`] when the scene cannot be laid out so.
pub fn set_scene(book: &Book, name: &str, asked: &SceneConditions) -> Result<SetScene, StudyError> {
    let scene = found(book, name)?;
    let (first, demands) = demanded(book, name, asked)?;
    let mut conditions = asked.clone();
    let ceiling = book.pump_ceiling.as_ref().map(book::Stated::get);
    set_pumps(ceiling, scene, &first, &demands, &mut conditions);
    let gated = gate_outlets(scene, &first, &demands, &mut conditions);
    Ok(SetScene {
        laid: book::scene(book, name, &conditions)?,
        conditions,
        demands,
        gated,
    })
}

/// The scene as `asked` has it, whatever it needs.
fn as_it_stands(book: &Book, name: &str, asked: &SceneConditions) -> Result<SetScene, StudyError> {
    let (laid, demands) = demanded(book, name, asked)?;
    Ok(SetScene {
        conditions: asked.clone(),
        laid,
        demands,
        gated: BTreeMap::new(),
    })
}

fn found<'a>(book: &'a Book, name: &str) -> Result<&'a book::Scene, StudyError> {
    // Laying it out knows which name is nearest.
    let missing = || match book::scene(book, name, &SceneConditions::default()) {
        Err(error) => error,
        Ok(_) => book::LayoutError::NoScene {
            name: name.into(),
            near: None,
        },
    };
    Ok(book.scene.get(name).ok_or_else(missing)?)
}

/// The layout of `asked`, and what is asked in it.
fn demanded(
    book: &Book,
    name: &str,
    asked: &SceneConditions,
) -> Result<(SceneLayout, Demands), StudyError> {
    let laid = book::scene(book, name, asked)?;
    let outlets = demand::required(book, &laid);
    let flows = demand::open_flows(&laid, &outlets);
    let flow = |tip: &book::LaidTip| flows.get(&tip.part).copied();
    let branches = laid.branches.len();
    let mut demands = demand::demands(&laid.layout, branches, &outlets, flow);
    // With easier tips wide open all ask alike: who asks most shows by the aims.
    let by_aim = demand::demands(&laid.layout, branches, &outlets, demand::by_aim);
    for (cut, plain) in demands.cuts.iter_mut().zip(by_aim.cuts) {
        cut.worst = plain.worst;
    }
    Ok((laid, demands))
}

fn solved<'a>(
    book: &'a Book,
    name: &str,
    set: SetScene,
    asked: Vec<String>,
) -> Result<Solved<'a>, StudyError> {
    let scene = found(book, name)?;
    let steady = lay::solve(&set.laid.layout.lay);
    let tips = set.laid.layout.tips.iter();
    let tips = tips.map(|tip| operating::tip_answer(book, &set.laid.layout, tip, &steady));
    Ok(Solved {
        book,
        scene,
        tips: tips.collect(),
        asked,
        laid: set.laid,
        steady,
        demands: set.demands,
        gated: set.gated,
    })
}

/// Pumps whose pressure nobody says are set for what asks most of them, no higher
/// than the department's ceiling.
fn set_pumps(
    ceiling: Option<Pressure>,
    scene: &book::Scene,
    laid: &SceneLayout,
    demands: &Demands,
    conditions: &mut SceneConditions,
) {
    for rig in &laid.rigs {
        let entry = scene.rig.get(&rig.name);
        let said = entry.is_some_and(|e| e.pump_pressure.is_some() || e.speed.is_some());
        let demand = demands.cuts.get(rig.cut).filter(|d| d.any());
        if let (false, Some(demand)) = (said, demand) {
            let most = ceiling.map_or(demand.pressure, |c| demand.pressure.min(c));
            let pressure = Pressure::of_si(most.value.max(0.0));
            let name = rig.name.clone();
            conditions.pump_pressure.entry(name).or_insert(pressure);
        }
    }
}

/// Excess below which an outlet is left open: half a psi.
const EXCESS: f64 = 3_450.0;

/// Gates every outlet that needs less than its pump gives, where nobody says how
/// far it is open.
fn gate_outlets(
    scene: &book::Scene,
    laid: &SceneLayout,
    demands: &Demands,
    conditions: &mut SceneConditions,
) -> BTreeMap<Outlet, Ratio> {
    written_gates(scene, laid, conditions);
    let mut gated = BTreeMap::new();
    if scene.open_outlets {
        return gated;
    }
    for (branch, demand) in laid.branches.iter().zip(&demands.branches) {
        let pump = laid.rigs.get(branch.rig).map(|rig| match rig.governor {
            _ if conditions.pump_pressure.contains_key(&rig.name) => {
                conditions.pump_pressure.get(&rig.name).copied()
            }
            Governor::Pressure(pressure) => Some(pressure),
            Governor::Speed(_) => None,
        });
        let Some(pump) = pump.flatten().filter(|_| demand.any()) else {
            continue;
        };
        let excess = pump - demand.pressure;
        if excess.value < EXCESS || conditions.outlets.contains_key(&branch.outlet) {
            continue;
        }
        let valve = branch.valve;
        let gate = inverse::gate_for(valve.kind, valve.waterway, demand.flow, excess);
        if let Ok(gate) = gate {
            gated.insert(branch.outlet.clone(), gate);
            conditions.outlets.insert(branch.outlet.clone(), gate);
        }
    }
    gated
}

/// The gates that the book gives the outlets of lines.
fn written_gates(scene: &book::Scene, laid: &SceneLayout, conditions: &mut SceneConditions) {
    for branch in &laid.branches {
        let book::Feeds::Line(label) = &branch.outlet.feeds else {
            continue;
        };
        let lines = scene.rig.get(&branch.outlet.rig).map(|rig| &rig.lines);
        let written = lines.into_iter().flatten().find(|line| line.line == *label);
        if let Some(gate) = written.and_then(|line| line.gate.as_ref()) {
            let outlet = branch.outlet.clone();
            conditions.outlets.entry(outlet).or_insert(gate.get());
        }
    }
}

/// Solves again with every hose at the ends of its published spread.
fn spread(
    book: &Book,
    name: &str,
    conditions: &SceneConditions,
    answer: &SceneAnswer,
) -> Result<Option<Vec<(VolumeRate, VolumeRate)>>, StudyError> {
    if answer.coefficients.iter().all(|c| c.spread.is_none()) {
        return Ok(None);
    }
    let flows = |which| -> Result<Vec<VolumeRate>, StudyError> {
        let conditions = conditions.with_hose(which);
        let laid = book::scene(book, name, &conditions)?;
        let steady = lay::solve(&laid.layout.lay);
        let tips = laid.layout.tips.iter();
        Ok(tips.map(|tip| steady.flow(tip.part)).collect())
    };
    let (most, least) = (flows(Which::PublishedLow)?, flows(Which::PublishedHigh)?);
    Ok(Some(least.into_iter().zip(most).collect()))
}

impl SceneAnswer {
    /// This answer as JSON in the units of `system`.
    pub fn json(&self, system: System) -> Value {
        let list = |items: Vec<Value>| Value::Array(items);
        let spread = self.spread.as_ref().map(|flows| {
            let tips = self.tips.iter().zip(flows).map(|(tip, &(low, high))| {
                json!({
                    "line": tip.line,
                    "place": tip.place,
                    "flow": crate::answer::pair(figure::flow(low), figure::flow(high), system),
                })
            });
            list(tips.collect())
        });
        json!({
            "scene": self.scene,
            "title": self.title,
            "rigs": list(self.rigs.iter().map(|r| r.json(system)).collect()),
            "sources": list(self.sources.iter().map(|s| object(&s.facts(), system)).collect()),
            "relays": list(self.relays.iter().map(|r| object(&r.facts(), system)).collect()),
            "standpipes": list(self.standpipes.iter().map(|s| s.json(system)).collect()),
            "tips": list(self.tips.iter().map(|t| t.json(system)).collect()),
            "parts": list(self.parts.iter().map(|p| p.json(system)).collect()),
            "eductors": list(self.eductors.iter().map(|e| object(&e.facts(), system)).collect()),
            "foam": list(self.foam.iter().map(|f| object(&f.facts(), system)).collect()),
            "spill": self.spill.as_ref().map(|s| object(&s.facts(), system)),
            "fire": self.fire.as_ref().map(|f| f.json(system)),
            "limits": list(self.limits.iter().map(|l| object(&l.facts(), system)).collect()),
            "coefficients": list(self.coefficients.iter().map(|c| c.json(system)).collect()),
            "items": list(self.items.iter().map(|i| i.json(system)).collect()),
            "spread": spread,
            "notices": list(self.notices.iter().map(|n| n.json(system)).collect()),
            "residual": {
                "flow": figure::flow(self.residual.flow).json(system),
                "pressure": figure::pressure(self.residual.pressure).json(system),
                "converged": self.converged,
            },
        })
    }
}
