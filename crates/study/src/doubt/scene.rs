//! How sure the flows of a scene are.
//!
//! Pumps and outlets are set once, as the scene is planned, and stay so. Each day puts its
//! own hose, nozzles and pump pressures into the lay and solves it from the planned
//! answer. C of a hose and the doubt of a nozzle are the same wherever they lie that day;
//! each pump, and the rise, gate and kink of each line, is drawn by itself.

use super::choice::{days, held, shares_of, swings};
use super::days::{Halted, Meter, Model, draw};
use super::indices::{base_of, shares, solutions};
use super::line::{Asked, DayParts, which};
use super::model::{SceneDoubted, TipDoubted, Unsure, UnsureOf};
use super::spread::Ready;
use super::tally::half_of_chance;
use super::unsure::Gather;
use super::words;
use crate::choose::{ChooseError, Watch};
use crate::need;
use crate::operating::StudyError;
use crate::scene::set_and_changed;
use book::comparison::{AimKind, Doubt};
use book::{Book, LaidRig, SceneConditions, SceneLayout};
use hydraulics::pump::{Governed, Governor};
use hydraulics::units::{Measure, Pressure};
use lay::{Lay, Solver, Steady, Stopped};
use std::collections::BTreeSet;
use std::sync::Arc;

/// How sure the flows of the scene called `name` are, as `conditions` have it.
///
/// # Errors
/// [`ChooseError::Question`] when the scene cannot be laid out so,
/// [`ChooseError::Stopped`] when `watch` says that nobody wants it any more.
///
/// ```
/// use book::comparison::Doubt;
/// use study::choose::Quiet;
/// let text = br#"
/// [book]
/// name = "Example"
/// [rig.pumper]
/// pump = "1250 gpm"
/// [hydrant.corner]
/// static = "70 psi"
/// residual = "50 psi"
/// flow = "1000 gpm"
/// [line.attack]
/// parts = [{ hose = "1.75 in", length = "200 ft" }, { nozzle = "15/16 in smooth bore" }]
/// [scene.corner.rig.pumper]
/// intake = [{ hydrant = "corner", parts = [{ hose = "5 in", length = "50 ft" }] }]
/// lines = [{ line = "attack" }]
/// "#;
/// let book = book::read(text, "example.toml")?;
/// let doubt = Doubt { draws: Some(2000), ..Default::default() };
/// let doubted = study::doubt::of_scene(&book, "corner", &Default::default(), &doubt, &Quiet)?;
/// assert_eq!(doubted.tips.len(), 1);
/// assert_eq!(doubted.tips[0].shares[0].name, "C of 1.75 in");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn of_scene(
    book: &Book,
    name: &str,
    conditions: &SceneConditions,
    doubt: &Doubt,
    watch: &dyn Watch,
) -> Result<SceneDoubted, ChooseError> {
    of_changed_scene(book, name, conditions, &Default::default(), doubt, watch)
}

/// As [`of_scene`], with `changes` made once the scene is set: every other pump and outlet
/// stays as it was, on every day. A shut-off that is changed is not drawn.
///
/// # Errors
/// As [`of_scene`].
///
/// ```
/// # use book::comparison::Doubt;
/// # use study::choose::Quiet;
/// # use study::doubt::{of_changed_scene, of_scene};
/// # let text = br#"
/// # [book]
/// # name = "Example"
/// # [rig.pumper]
/// # pump = "1250 gpm"
/// # [hydrant.corner]
/// # static = "70 psi"
/// # residual = "50 psi"
/// # flow = "1000 gpm"
/// # [line.attack]
/// # parts = [{ hose = "1.75 in", length = "200 ft" }, { nozzle = "15/16 in smooth bore" }]
/// # [scene.corner.rig.pumper]
/// # intake = [{ hydrant = "corner", parts = [{ hose = "5 in", length = "50 ft" }] }]
/// # lines = [{ line = "attack" }]
/// # "#;
/// # let book = book::read(text, "example.toml")?;
/// let doubt = Doubt { draws: Some(1000), ..Default::default() };
/// let plain = book::SceneConditions::default();
/// let mut changes = plain.clone();
/// changes.pump_pressure.insert("pumper".into(), hydraulics::units::psi(80.0));
/// let as_set = of_scene(&book, "corner", &plain, &doubt, &Quiet)?;
/// let low = of_changed_scene(&book, "corner", &plain, &changes, &doubt, &Quiet)?;
/// let mean = |of: &study::doubt::SceneDoubted| of.tips[0].flow.mean.value(book.units);
/// assert!(mean(&low) < mean(&as_set));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn of_changed_scene(
    book: &Book,
    name: &str,
    conditions: &SceneConditions,
    changes: &SceneConditions,
    doubt: &Doubt,
    watch: &dyn Watch,
) -> Result<SceneDoubted, ChooseError> {
    let asked = SceneConditions {
        which: which(doubt),
        ..conditions.clone()
    };
    let set = set_and_changed(book, name, &asked, changes);
    let set = set.map_err(|error| question(name, &error))?;
    let gathered = gather(book, &set.laid, changes, doubt);
    let (unsure, notices) = (gathered.unsure, gathered.notices);
    let scene = SceneDays::new(book, set.laid, &unsure);
    let (draws, seed) = (days(doubt), doubt.seed.unwrap_or(1));
    let ready: Vec<Ready> = unsure.iter().map(|u| Ready::new(u.spread)).collect();
    let base = base_of(draws, ready.len());
    let meter = Meter::new(watch, solutions(draws, ready.len()));
    let stopped = |Halted| ChooseError::Stopped;
    let tally = draw(&scene, &ready, draws, seed, &meter).map_err(stopped)?;
    let found = shares(&scene, &ready, base, seed, &meter).map_err(stopped)?;
    let swings = swings(&scene, &unsure);
    let aims = tally.holds.iter().zip(&scene.aims);
    let meets: Vec<Option<(f64, f64)>> = aims
        .map(|(count, aim)| aim.then(|| half_of_chance(*count, tally.days)))
        .collect();
    let laid = scene.laid.layout.tips.iter().enumerate();
    let tips: Vec<TipDoubted> = laid
        .zip(&tally.values)
        .map(|((at, tip), counted)| {
            let found = found.get(at).map(Vec::as_slice).unwrap_or_default();
            TipDoubted {
                line: tip.line.clone(),
                place: tip.path.to_string(),
                nozzle: super::unsure::called(tip),
                flow: held(AimKind::Flow, counted),
                meets: meets.get(at).copied().flatten(),
                shares: shares_of(AimKind::Flow, &unsure, found, &swings, at),
            }
        })
        .collect();
    let words = tips.iter().filter_map(|tip| {
        let about = format!("the flow of {}, {}", tip.line, tip.place);
        words::of_aim(&about, &tip.shares, &unsure)
    });
    Ok(SceneDoubted {
        scene: name.into(),
        draws: tally.days,
        seed,
        unsolved: tally.unsolved,
        words: words.collect(),
        all_meet: scene
            .aims
            .contains(&true)
            .then(|| half_of_chance(tally.all_hold, tally.days)),
        tips,
        unsure,
        notices,
    })
}

fn question(name: &str, error: &StudyError) -> ChooseError {
    ChooseError::Question {
        place: "scene".into(),
        message: format!("scene \"{name}\" cannot be laid out so: {error}"),
        mend: "name a scene of the book, and equipment that it has".into(),
    }
}

/// What is doubtful about a scene: its hose and nozzles, each governed pump, and rise,
/// gate and kink of each line by itself.
fn gather(
    book: &Book,
    laid: &SceneLayout,
    changes: &SceneConditions,
    doubt: &Doubt,
) -> super::unsure::Gathered {
    let mut gather = Gather::new(book, doubt, book.units);
    gather.layout(&laid.layout);
    for rig in &laid.rigs {
        if matches!(rig.governor, Governor::Pressure(_)) {
            gather.pump(&rig.name);
        }
    }
    gather.length();
    let mut seen = BTreeSet::new();
    for tip in &laid.layout.tips {
        if seen.insert(tip.line.as_str()) {
            let of_line = laid.layout.tips.iter().filter(|t| t.line == tip.line);
            let shutoff = of_line.clone().any(|t| t.tip.shutoff.is_some())
                && !of_line.clone().any(|t| is_gated(changes, t));
            gather.of_line(&tip.line, shutoff);
        }
    }
    gather.done()
}

/// Do `changes` say how far the shut-off of `tip` is open?
fn is_gated(changes: &SceneConditions, tip: &book::LaidTip) -> bool {
    let of_line = changes.changes.get(&tip.line);
    let change = of_line.and_then(|parts| parts.get(&tip.path));
    change.is_some_and(|change| change.gate.is_some())
}

/// A pump that is governed by pressure, and where its doubt stands among the values.
struct DayPump {
    rig: usize,
    pressure: Pressure,
    at: usize,
}

/// A scene on any day.
struct SceneDays {
    laid: SceneLayout,
    parts: DayParts,
    pumps: Vec<DayPump>,
    /// Which tips have an aim.
    aims: Vec<bool>,
    base: Steady,
}

impl SceneDays {
    fn new(book: &Book, laid: SceneLayout, unsure: &[Unsure]) -> Self {
        let pump = |(rig, laid): (usize, &LaidRig)| {
            let Governor::Pressure(pressure) = laid.governor else {
                return None;
            };
            let of = UnsureOf::Pump(laid.name.clone());
            let at = unsure.iter().position(|u| u.of == of)?;
            Some(DayPump { rig, pressure, at })
        };
        let has_aim = |tip: &book::LaidTip| {
            let aim = tip.aim.as_ref();
            aim.is_some_and(|aim| aim.target.is_some() || aim.reaction_at_most.is_some())
        };
        SceneDays {
            parts: DayParts::new(&laid.layout, unsure, book.water()),
            pumps: laid.rigs.iter().enumerate().filter_map(pump).collect(),
            aims: laid.layout.tips.iter().map(has_aim).collect(),
            base: lay::solve(&laid.layout.lay),
            laid,
        }
    }

    fn set_pumps(&self, lay: &mut Lay, values: &[f64]) {
        for pump in &self.pumps {
            let (Some(rig), Some(off)) = (self.laid.rigs.get(pump.rig), values.get(pump.at)) else {
                continue;
            };
            let held = Pressure::of_si((pump.pressure.value + off).max(0.0));
            let law = Governed {
                pump: rig.pump.clone(),
                governor: Governor::Pressure(held),
                starves_at: rig.starves_at,
            };
            lay.replace(rig.part, Arc::new(law));
        }
    }
}

impl Model for SceneDays {
    type Kept = (Lay, Solver);

    fn start(&self) -> (Lay, Solver) {
        let lay = self.laid.layout.lay.clone();
        let solver = Solver::new(&lay);
        (lay, solver)
    }

    fn steps(&self) -> Vec<f64> {
        vec![1e-8; self.laid.layout.tips.len()]
    }

    fn limits(&self) -> usize {
        self.aims.len()
    }

    fn day(
        &self,
        (lay, solver): &mut (Lay, Solver),
        values: &[f64],
        measures: &mut [f64],
        holds: &mut [bool],
    ) -> bool {
        let asked = Asked::default();
        self.parts.put(lay, values, asked);
        self.set_pumps(lay, values);
        let steady = solver.solve(lay, Some(&self.base));
        if steady.stopped != Stopped::Converged {
            return false;
        }
        let tips = self.parts.tips(values, asked);
        let laid = self.laid.layout.tips.iter().zip(tips);
        for (((laid, day), flow), held) in laid.zip(measures).zip(holds) {
            let q = steady.flow(laid.part);
            let pressure = day.tip.nozzle.pressure(q).pressure;
            let force = crate::given::reaction_of(&day.tip.nozzle, q, pressure).0;
            let kept = need::reaction_limit(laid, force).is_none_or(|(_, kept)| kept);
            *flow = q.value;
            *held = kept && need::is_met(laid, q, pressure).unwrap_or(true);
        }
        true
    }
}
