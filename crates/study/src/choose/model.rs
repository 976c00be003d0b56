//! What a comparison gives back.

use super::Said;
use crate::doubt::Doubted;
use crate::figure::Figure;
use crate::notice::Notice;
use book::Which;
use book::comparison::AimKind;
use hydraulics::units::{Force, Length, Pressure, VolumeRate};

/// How large a comparison is, known before it starts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Size {
    /// Choices to try.
    pub choices: u64,
    /// Operating points to solve for them: choices, times lines, times cases.
    pub points: u64,
    /// Draws of the days, over all the choices that are drawn for.
    pub draws: u64,
}

/// How far a long question is, and whether it is still wanted.
pub trait Watch: Sync {
    /// `done` of `all` steps of `what` ("choices tried", "days drawn") are done. May
    /// come from any thread, and not in order.
    fn progress(&self, what: &'static str, done: u64, all: u64);

    /// The reader does not want the answer any more.
    fn is_stopped(&self) -> bool;
}

/// A [`Watch`] that tells nobody and never stops.
#[derive(Debug, Clone, Copy, Default)]
pub struct Quiet;

impl Watch for Quiet {
    fn progress(&self, _: &'static str, _: u64, _: u64) {}

    fn is_stopped(&self) -> bool {
        false
    }
}

/// What a comparison found.
#[derive(Debug, Clone)]
pub struct Chosen {
    /// Its title.
    pub title: Option<String>,
    /// The lines.
    pub lines: Vec<String>,
    /// The aims that count, and those that are only shown (weight 0), in order.
    pub aims: Vec<(AimKind, f64)>,
    /// How large it was.
    pub size: Size,
    /// The choices that no other beats in all aims, best first. At most
    /// [`Chosen::SHOWN`]; `unbeaten` counts all of them.
    pub choices: Vec<Choice>,
    /// Choices that no other beats.
    pub unbeaten: u64,
    /// Choices that pass no limit but are beaten in every aim by another. Where each line
    /// is equipped by itself they are not counted past 9,000,000,000,000,000.
    pub beaten: u64,
    /// Choices left out, by the limit they pass, the most frequent first. A choice that
    /// passes several counts at each.
    pub excluded: Vec<Excluded>,
    /// What is carried today, judged the same way; `None` when the lines differ in a way
    /// that no choice covers.
    pub today: Option<Choice>,
    /// The first choice in the order of the ranks that holds on enough days, by its
    /// place in `choices`. `None` when no draws were made or none holds.
    pub robust: Option<usize>,
    /// Problems and cautions.
    pub notices: Vec<Notice>,
    /// The largest residual of all the solutions.
    pub residual: lay::Residual,
}

impl Chosen {
    /// The most choices that are kept in full.
    pub const SHOWN: usize = 200;
}

/// One way to equip and run the lines.
#[derive(Debug, Clone)]
pub struct Choice {
    /// A short name that is the same whenever the same things are compared: "C12".
    pub code: String,
    /// What is on each line, in the order of the lines.
    pub on: Vec<OfLine>,
    /// The pump pressure that serves all lines; `None` when each has its own.
    pub pump_pressure: Option<Pressure>,
    /// What it comes to under each aim, in the order of [`Chosen::aims`].
    pub measured: Vec<Measured>,
    /// The weighted mean of how good each aim is among the unbeaten, 0 to 1.
    pub score: f64,
    /// The limits that it passes; none for a choice that may be used.
    pub past: Vec<(Limit, Figure, Figure)>,
    /// Why it is in, in sentences.
    pub why: Vec<Said>,
    /// What it lost on against the choice ranked before it, or for the first what the
    /// second lost on.
    pub against: Vec<Said>,
    /// What is to be bought for it and what it changes against today, in sentences.
    pub to_change: Vec<Said>,
    /// What each line gives in its worst case.
    pub results: Vec<LineResult>,
    /// How sure it is, where days were drawn for it.
    pub doubted: Option<Doubted>,
}

/// What is on one line.
#[derive(Debug, Clone, PartialEq)]
pub struct OfLine {
    /// The line.
    pub line: String,
    /// Its last hose before the tip.
    pub hose: String,
    /// The length of that hose.
    pub length: Length,
    /// The nozzle.
    pub nozzle: String,
    /// Its setting.
    pub setting: Option<String>,
    /// The pump pressure of the line.
    pub pump_pressure: Pressure,
}

impl OfLine {
    /// The nozzle and its setting: "twin, high".
    pub fn nozzle_called(&self) -> String {
        match &self.setting {
            Some(setting) => format!("{}, {setting}", self.nozzle),
            None => self.nozzle.clone(),
        }
    }
}

/// A choice under one aim.
#[derive(Debug, Clone, PartialEq)]
pub struct Measured {
    /// The aim.
    pub aim: AimKind,
    /// The value of the worst line and case.
    pub value: Figure,
    /// Where that was.
    pub at: Where,
    /// How good it is among the unbeaten choices: 1 the best, 0 the worst.
    pub good: f64,
}

/// Where a value was found.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Where {
    /// The line; empty for a value of all lines together.
    pub line: String,
    /// Height of the tip above the book's.
    pub rise: Length,
    /// The coefficients.
    pub coefficient: Which,
}

/// What one line gives.
#[derive(Debug, Clone, PartialEq)]
pub struct LineResult {
    /// The line.
    pub line: String,
    /// Flow as the book has the line.
    pub flow: VolumeRate,
    /// Nozzle pressure.
    pub tip_pressure: Pressure,
    /// Reaction, a formula value.
    pub reaction: Force,
    /// People that it takes by the book's limits; `None`: more than three.
    pub people: Option<u8>,
    /// Effective reach.
    pub reach: Length,
    /// Flow and nozzle pressure at the low pump pressure, where one is asked about.
    pub low: Option<(VolumeRate, Pressure)>,
    /// The least and the most flow over the cases.
    pub flows: (VolumeRate, VolumeRate),
}

/// A limit that a choice can pass.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Limit {
    /// It cannot be screwed together.
    Couplings,
    /// The nozzle does not match the eductor before it.
    Eductor,
    /// No water reaches a tip in one of the cases, or there is no physical answer.
    NoAnswer,
    /// Reaction for the crew.
    Reaction,
    /// Pump ceiling.
    PumpPressure,
    /// Service pressure of a hose.
    ServicePressure,
    /// Least flow.
    Flow,
    /// Least nozzle pressure.
    TipPressure,
    /// Least reach.
    Reach,
    /// Least flow at the low pump pressure.
    FlowAtLowPump,
    /// Least nozzle pressure there.
    TipPressureAtLowPump,
    /// Weight of the charged hose.
    Weight,
    /// Pressure at a standpipe's outlet.
    OutletPressure,
    /// Price.
    Price,
    /// Kinds of hose and nozzle.
    Kinds,
}

impl Limit {
    /// All of them, in the order in which they are shown.
    pub const ALL: [Limit; 15] = [
        Limit::Couplings,
        Limit::Eductor,
        Limit::NoAnswer,
        Limit::Reaction,
        Limit::PumpPressure,
        Limit::ServicePressure,
        Limit::Flow,
        Limit::TipPressure,
        Limit::Reach,
        Limit::FlowAtLowPump,
        Limit::TipPressureAtLowPump,
        Limit::Weight,
        Limit::OutletPressure,
        Limit::Price,
        Limit::Kinds,
    ];

    /// Its key in JSON.
    pub fn key(self) -> &'static str {
        match self {
            Limit::Couplings => "couplings",
            Limit::Eductor => "eductor",
            Limit::NoAnswer => "no_answer",
            Limit::Reaction => "reaction",
            Limit::PumpPressure => "pump_pressure",
            Limit::ServicePressure => "service_pressure",
            Limit::Flow => "flow",
            Limit::TipPressure => "tip_pressure",
            Limit::Reach => "reach",
            Limit::FlowAtLowPump => "flow_at_low_pump",
            Limit::TipPressureAtLowPump => "tip_pressure_at_low_pump",
            Limit::Weight => "weight",
            Limit::OutletPressure => "outlet_pressure",
            Limit::Price => "price",
            Limit::Kinds => "kinds",
        }
    }

    /// What it limits, in words: "reaction for the crew".
    pub fn name(self) -> &'static str {
        match self {
            Limit::Couplings => "couplings that fit",
            Limit::Eductor => "a nozzle that matches its eductor",
            Limit::NoAnswer => "a physical answer",
            Limit::Reaction => "reaction for the crew",
            Limit::PumpPressure => "pump ceiling",
            Limit::ServicePressure => "service pressure of the hose",
            Limit::Flow => "least flow",
            Limit::TipPressure => "least nozzle pressure",
            Limit::Reach => "least reach",
            Limit::FlowAtLowPump => "least flow at the low pump pressure",
            Limit::TipPressureAtLowPump => "least nozzle pressure at the low pump pressure",
            Limit::Weight => "weight of the charged hose",
            Limit::OutletPressure => "pressure at the hose's inlet",
            Limit::Price => "price",
            Limit::Kinds => "kinds of hose and nozzle",
        }
    }
}

/// What an aim is about, in words: "flow at the low pump pressure".
pub fn aim_name(aim: AimKind) -> &'static str {
    match aim {
        AimKind::Flow => "flow",
        AimKind::FlowAtLowPump => "flow at the low pump pressure",
        AimKind::Reach => "effective reach",
        AimKind::Reaction => "reaction",
        AimKind::PumpPressure => "pump pressure",
        AimKind::SteadyWhenGated => "change of nozzle pressure when gated",
        AimKind::OnePumpPressure => "spread of the lines' pump pressures",
        AimKind::Weight => "weight of the charged hose",
        AimKind::Kinds => "kinds of hose and nozzle",
        AimKind::Price => "price",
    }
}

/// Choices that a limit excluded.
#[derive(Debug, Clone, PartialEq)]
pub struct Excluded {
    /// The limit.
    pub limit: Limit,
    /// How many choices pass it.
    pub choices: u64,
    /// How many pass it and no other.
    pub alone: u64,
    /// Of these (of all that pass it, when none passes it alone) the one that comes
    /// closest, in words: "attack, 200 ft, twin on high at 150 psi".
    pub nearest: Said,
    /// What that one has, and what is allowed; `None` where the limit is no number.
    pub has_and_may: Option<(Figure, Figure)>,
    /// In a sentence: what excluded them, and by how much the nearest misses.
    pub text: Said,
}

/// Why a comparison has no answer.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ChooseError {
    /// It asks for something that the book does not have, or that does not fit.
    #[error("{message}")]
    Question {
        /// The place in the comparison: "vary.hose".
        place: String,
        /// What is wrong.
        message: String,
        /// What would mend it.
        mend: String,
    },
    /// Two limits cannot both be kept, whatever is chosen.
    #[error("{message}")]
    Contradiction {
        /// The two.
        limits: (Limit, Limit),
        /// Which two, with their numbers.
        message: String,
        /// What would mend it.
        mend: String,
    },
    /// No choice keeps all the limits.
    #[error("{message}")]
    Nothing {
        /// What excluded the choices.
        excluded: Vec<Excluded>,
        /// In a sentence.
        message: String,
        /// Which limit to relax, and by how much.
        mend: String,
    },
    /// It is larger than can be tried.
    #[error("{message}")]
    TooLarge {
        /// How large.
        size: Size,
        /// In a sentence.
        message: String,
        /// What would make it smaller.
        mend: String,
    },
    /// The reader stopped it.
    #[error("stopped; nothing was kept")]
    Stopped,
}
