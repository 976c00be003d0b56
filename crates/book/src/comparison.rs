//! A comparison: which choices are set against each other for some lines of a book,
//! what none of them may pass, what is wanted of them, and what is doubtful.
//!
//! A comparison is a file of its own, so that the same question can be asked of the
//! book of today and of next year's, on the command line and in the workbench.

mod check;
mod keys;
mod read;
mod write;

pub use check::{Fault, check, contradictions};
pub use read::{SIZE_LIMIT, read, read_for};
pub use write::write;

use crate::model::{Stated, Which};
use hydraulics::units::{Force, Kind, Length, Mass, Measure, Pressure, Ratio, System, VolumeRate};
use indexmap::IndexMap;
use serde_json::Value;

/// A question of choice about some lines of a book.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Comparison {
    /// What it is about, in a person's words.
    pub title: Option<String>,
    /// Anything else to know.
    pub note: Option<String>,
    /// Units of bare numbers and of the answer; the book's when `None`.
    pub units: Option<System>,
    /// The lines that are equipped anew, by their names in the book.
    pub lines: Vec<String>,
    /// Each line may get a choice of its own (one pump pressure still serves all);
    /// otherwise one choice serves all of them.
    pub each_line: bool,
    /// What may be chosen.
    pub vary: Vary,
    /// What every choice must cope with.
    pub cases: Cases,
    /// What no choice may pass.
    pub limits: Limits,
    /// What is wanted, each with its weight.
    pub aims: IndexMap<AimKind, Wanted>,
    /// What is doubtful, and how much of it to draw.
    pub doubt: Doubt,
}

/// What may be chosen. An empty list leaves the lines as the book has them.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Vary {
    /// Hose, in place of each line's last hose before its tip.
    pub hose: Vec<String>,
    /// Nozzles, in place of each line's tip.
    pub nozzle: Vec<NozzleChoice>,
    /// Length of that last hose.
    pub length: Vec<Stated<Length>>,
    /// Pressure at the pump outlet.
    pub pump_pressure: Steps<Pressure>,
}

/// A nozzle to choose, and its setting; all its settings when `None`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NozzleChoice {
    /// Its name in the book or the catalogue.
    pub nozzle: String,
    /// One of its settings.
    pub setting: Option<String>,
}

/// Values to try.
#[derive(Debug, Clone, PartialEq)]
pub enum Steps<Q> {
    /// These.
    List(Vec<Stated<Q>>),
    /// From the first to the last by steps.
    Range {
        /// The first.
        from: Stated<Q>,
        /// The last.
        to: Stated<Q>,
        /// The step, above zero.
        step: Stated<Q>,
    },
}

impl<Q: Measure> Steps<Q> {
    /// The values, in SI: those of a list as they are, those of a range up to its end,
    /// which is one of them when a whole number of steps leads to it. At most
    /// [`LIST_LIMIT`].
    ///
    /// ```
    /// use book::{Stated, comparison::Steps};
    /// use hydraulics::units::{Kind, Pressure, System, psi};
    /// let read = |text| Stated::<Pressure>::read(Kind::Pressure, text, System::Us);
    /// let (from, to, step) = (read("100 psi")?, read("175 psi")?, read("5 psi")?);
    /// let all = Steps::Range { from, to, step }.values();
    /// assert_eq!(all.len(), 16);
    /// assert!((all[15] - psi(175.0)).value.abs() < 0.1);
    /// # Ok::<(), hydraulics::units::UnitError>(())
    /// ```
    pub fn values(&self) -> Vec<Q> {
        match self {
            Steps::List(values) => values.iter().map(Stated::get).take(LIST_LIMIT).collect(),
            Steps::Range { from, step, .. } => (0_u32..)
                .take(self.count().min(LIST_LIMIT))
                .map(|n| Q::of_si(from.get().si() + f64::from(n) * step.get().si()))
                .collect(),
        }
    }

    /// How many values there are; none in a range that goes nowhere.
    pub fn count(&self) -> usize {
        match self {
            Steps::List(values) => values.len(),
            Steps::Range { from, to, step } => {
                let (from, to, step) = (from.get().si(), to.get().si(), step.get().si());
                // A thousandth of a step: units do not convert to the last digit.
                let steps = ((to - from) / step + 1e-3).floor();
                match step > 0.0 && steps >= 0.0 {
                    true => format!("{steps:.0}")
                        .parse::<usize>()
                        .unwrap_or(LIST_LIMIT)
                        .saturating_add(1),
                    false => 0,
                }
            }
        }
    }
}

impl<Q> Default for Steps<Q> {
    fn default() -> Self {
        Steps::List(Vec::new())
    }
}

/// What every choice must cope with: it is judged by the worst of them.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Cases {
    /// Heights of the tip above what the book says.
    pub rise: Vec<Stated<Length>>,
    /// Which friction coefficients may be true.
    pub coefficient: Vec<Which>,
    /// The lowest pump pressure at which the line must still be of use.
    pub low_pump_pressure: Option<Stated<Pressure>>,
    /// How far the shut-off is open when the line is gated.
    pub gated: Option<Stated<Ratio>>,
}

/// What no choice may pass. `None` sets no limit.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Limits {
    /// People on the nozzle (1 to 3): the reaction that they can hold by the book.
    pub people: Option<u8>,
    /// Greatest reaction.
    pub reaction: Option<Stated<Force>>,
    /// Highest pump pressure.
    pub pump_pressure: Option<Stated<Pressure>>,
    /// Leave hose pushed past its service pressure in (it is left out otherwise).
    pub past_service_pressure: bool,
    /// Least flow of every tip.
    pub flow: Option<Stated<VolumeRate>>,
    /// Least nozzle pressure of every tip.
    pub tip_pressure: Option<Stated<Pressure>>,
    /// Least effective reach.
    pub reach: Option<Stated<Length>>,
    /// Least flow at the low pump pressure of the cases.
    pub flow_at_low_pump: Option<Stated<VolumeRate>>,
    /// Least nozzle pressure there.
    pub tip_pressure_at_low_pump: Option<Stated<Pressure>>,
    /// Heaviest line: its varied hose, dry, and the water in it.
    pub weight: Option<Stated<Mass>>,
    /// Highest pressure at the inlet of the line's hose, for lines off a standpipe.
    pub outlet_pressure: Option<Stated<Pressure>>,
    /// Dearest equipment of all the lines, in the book's money.
    pub price: Option<Stated<Ratio>>,
    /// Most kinds of hose and nozzle together over all the lines.
    pub kinds: Option<u8>,
}

/// A thing that can be wanted of a choice.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum AimKind {
    /// Much flow, or a flow close to a stated one; of the tip that gets least.
    Flow,
    /// Much flow at the low pump pressure of the cases.
    FlowAtLowPump,
    /// Far effective reach.
    Reach,
    /// Little reaction.
    Reaction,
    /// Low pump pressure.
    PumpPressure,
    /// Little change of nozzle pressure, as a share, when the line is gated.
    SteadyWhenGated,
    /// The pump pressures at which the lines have their flow lie close together.
    OnePumpPressure,
    /// Light lines, charged.
    Weight,
    /// Few kinds of hose and nozzle.
    Kinds,
    /// A low price of what must be bought.
    Price,
}

impl AimKind {
    /// All of them, in the order in which they are shown.
    pub const ALL: [AimKind; 10] = [
        AimKind::Flow,
        AimKind::FlowAtLowPump,
        AimKind::Reach,
        AimKind::Reaction,
        AimKind::PumpPressure,
        AimKind::SteadyWhenGated,
        AimKind::OnePumpPressure,
        AimKind::Weight,
        AimKind::Kinds,
        AimKind::Price,
    ];

    /// Its key in a file and in JSON.
    pub fn key(self) -> &'static str {
        match self {
            AimKind::Flow => "flow",
            AimKind::FlowAtLowPump => "flow_at_low_pump",
            AimKind::Reach => "reach",
            AimKind::Reaction => "reaction",
            AimKind::PumpPressure => "pump_pressure",
            AimKind::SteadyWhenGated => "steady_when_gated",
            AimKind::OnePumpPressure => "one_pump_pressure",
            AimKind::Weight => "weight",
            AimKind::Kinds => "kinds",
            AimKind::Price => "price",
        }
    }

    /// Is more of it better? A flow with a target is better the closer it is.
    pub fn more_is_better(self) -> bool {
        matches!(
            self,
            AimKind::Flow | AimKind::FlowAtLowPump | AimKind::Reach
        )
    }
}

/// How much an aim counts.
#[derive(Debug, Clone, PartialEq)]
pub struct Wanted {
    /// Its weight, 0 to 100; an aim of weight 0 is shown but does not count.
    pub weight: Stated<Ratio>,
    /// The flow that is wanted, for [`AimKind::Flow`]; what is above it is as bad as
    /// what is below.
    pub near: Option<Stated<VolumeRate>>,
}

/// What is doubtful, beside what the book says about its hose and nozzles, and how
/// many days to draw. What is `None` is taken as exact.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Doubt {
    /// Days to draw; 10,000 when `None`, none at 0.
    pub draws: Option<u64>,
    /// Where the draws begin, up to a thousand million; 1 when `None`.
    pub seed: Option<u64>,
    /// Share of the days on which a robust choice must hold; 95 % when `None`.
    pub days: Option<Stated<Ratio>>,
    /// The pump gauge may be off by so much either way (95 %).
    pub pump_gauge: Option<Stated<Pressure>>,
    /// The governor holds within so much either way (95 %).
    pub governor: Option<Stated<Pressure>>,
    /// Hose is longer or shorter by this share (95 %).
    pub length: Option<Stated<Ratio>>,
    /// The tip is higher by anything from the first to the second.
    pub rise: Option<[Stated<Length>; 2]>,
    /// The shut-off is open anywhere from the first to the second.
    pub gate: Option<[Stated<Ratio>; 2]>,
    /// The chance that the hose is kinked, and the share of its waterway that a kink
    /// closes at most.
    pub kink: Option<[Stated<Ratio>; 2]>,
    /// Take every coefficient from the published spread, even where it was measured.
    pub published: bool,
}

/// The most values that a list of a comparison may have.
pub const LIST_LIMIT: usize = 1000;

/// The word for which coefficients may be true.
pub fn word_for(which: Which) -> &'static str {
    match which {
        Which::Best => "best",
        Which::Published => "published",
        Which::PublishedLow => "published low",
        Which::PublishedHigh => "published high",
        Which::Measured => "measured",
    }
}

/// The schema of a comparison's file (JSON Schema, draft 7).
///
/// ```
/// let schema = book::comparison::schema();
/// assert_eq!(schema["properties"]["aims"]["type"], "object");
/// ```
pub fn schema() -> Value {
    let about = "A question of choice about some lines of a book: what may be chosen, what is wanted, what must not be passed, what is doubtful.";
    let kinds = [
        Kind::Pressure,
        Kind::Flow,
        Kind::Length,
        Kind::Force,
        Kind::Share,
        Kind::Mass,
    ];
    let quantities = crate::schema::quantities(&kinds);
    crate::schema::of_file("Handline comparison", about, keys::FILE, quantities)
}
