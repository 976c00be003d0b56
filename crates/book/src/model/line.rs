//! Lines and their parts.

use super::{About, Marking, Stated};
use hydraulics::units::{Force, Length, Pressure, Ratio, VolumeRate};

/// Parts from a pump outlet to one or more tips.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Line {
    /// What crews call it.
    pub title: Option<String>,
    /// The rig it comes off.
    pub rig: Option<String>,
    /// Colour and mark of its outlet.
    pub marking: Marking,
    /// The pump pressure that the department uses for it.
    pub pump_pressure: Option<Stated<Pressure>>,
    /// Its parts, from the pump on.
    pub parts: Parts,
    /// What each of its tips is meant to deliver, unless the tip says its own.
    pub aim: Option<Aim>,
    /// Its source and notes.
    pub about: About,
}

/// Parts one after the other.
pub type Parts = Vec<Part>;

/// One piece of equipment in its place in a line, or lines side by side.
#[derive(Debug, Clone, PartialEq)]
pub enum Part {
    /// A run of hose.
    Hose(HosePart),
    /// A nozzle. In the middle of a line: its shut-off, left behind when the tip
    /// was unscrewed to add hose.
    Nozzle(NozzlePart),
    /// An appliance.
    Appliance(AppliancePart),
    /// Rows that each end in tips of their own.
    Branches(Vec<Parts>),
    /// Rows that come together again.
    Legs(Vec<Parts>),
}

/// A run of hose in its place.
#[derive(Debug, Clone, PartialEq)]
pub struct HosePart {
    /// The hose.
    pub hose: String,
    /// How long the run is.
    pub length: Stated<Length>,
    /// How much higher its outlet lies than its inlet.
    pub rise: Option<Stated<Length>>,
    /// Share of its waterway that a kink closes.
    pub kink: Option<Stated<Ratio>>,
}

/// A nozzle in its place.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct NozzlePart {
    /// The nozzle.
    pub nozzle: String,
    /// Its setting.
    pub setting: Option<String>,
    /// How far its shut-off is open.
    pub gate: Option<Stated<Ratio>>,
    /// How much higher it is held than the part before it.
    pub rise: Option<Stated<Length>>,
    /// What is the matter with its regulator.
    pub regulator: Option<RegulatorState>,
    /// Share of its screen that is blocked.
    pub screen_blocked: Option<Stated<Ratio>>,
    /// The tip alone, its shut-off left behind.
    pub tip_only: bool,
    /// A foam attachment on it.
    pub attachment: Option<String>,
    /// What this tip is meant to deliver.
    pub aim: Option<Aim>,
}

/// What is the matter with the regulator of an automatic nozzle.
#[derive(Debug, Clone, PartialEq)]
pub enum RegulatorState {
    /// Turned to flush.
    Flush,
    /// Stuck at a share of its travel.
    Jammed(Stated<Ratio>),
}

/// An appliance in its place.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct AppliancePart {
    /// The appliance.
    pub appliance: String,
    /// How far its gates are open: none stated is open, one stands for all,
    /// several are its outlets in order.
    pub gates: Vec<Stated<Ratio>>,
    /// Share of concentrate at which an eductor is set.
    pub ratio: Option<Stated<Ratio>>,
    /// How much higher its outlet lies than its inlet.
    pub rise: Option<Stated<Length>>,
}

/// What a tip is meant to deliver.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Aim {
    /// What the pump is set for.
    pub target: Option<Target>,
    /// The greatest reaction that the crew should have to hold.
    pub reaction_at_most: Option<Stated<Force>>,
}

/// What the pump is set for.
#[derive(Debug, Clone, PartialEq)]
pub enum Target {
    /// A flow at the tip.
    Flow(Stated<VolumeRate>),
    /// A nozzle pressure.
    TipPressure(Stated<Pressure>),
    /// An effective reach.
    Reach(Stated<Length>),
}

impl Part {
    /// What it is, in a word.
    pub fn kind(&self) -> &'static str {
        match self {
            Part::Hose(_) => "hose",
            Part::Nozzle(_) => "nozzle",
            Part::Appliance(_) => "appliance",
            Part::Branches(_) => "branches",
            Part::Legs(_) => "legs",
        }
    }

    /// The name of its equipment, if it is one piece.
    pub fn name(&self) -> Option<&str> {
        match self {
            Part::Hose(part) => Some(&part.hose),
            Part::Nozzle(part) => Some(&part.nozzle),
            Part::Appliance(part) => Some(&part.appliance),
            Part::Branches(_) | Part::Legs(_) => None,
        }
    }
}
