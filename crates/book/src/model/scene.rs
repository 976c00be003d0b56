//! Scenes: rigs, water and lines at work together.

use super::{About, Parts, Stated};
use hydraulics::fire_flow::{Construction, ConstructionType};
use hydraulics::foam_supply::Fuel;
use hydraulics::units::{Area, Length, Pressure, Ratio, Time, Velocity};
use indexmap::IndexMap;

/// Rigs, water and lines at work together.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Scene {
    /// What it is.
    pub title: Option<String>,
    /// How long it is to last.
    pub duration: Option<Stated<Time>>,
    /// Outlets stand open; otherwise each is gated to what its line needs.
    pub open_outlets: bool,
    /// The rigs at work, by name.
    pub rig: IndexMap<String, SceneRig>,
    /// A spill to be covered with foam.
    pub spill: Option<SpillWritten>,
    /// A building that burns.
    pub fire: Option<FireWritten>,
    /// Its source and notes.
    pub about: About,
}

/// A rig at work.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct SceneRig {
    /// Where its water comes from. The first is what feeds it; several are
    /// supply lines side by side.
    pub intake: Vec<Intake>,
    /// The pressure at which its pump is governed; worked out from what it feeds
    /// when not written.
    pub pump_pressure: Option<Stated<Pressure>>,
    /// The share of its rated speed at which its pump is governed instead.
    pub speed: Option<Stated<Ratio>>,
    /// How much higher it stands than the first rig.
    pub height: Option<Stated<Length>>,
    /// The lines that it feeds.
    pub lines: Vec<SceneLine>,
    /// The standpipes that it feeds.
    pub standpipe: Vec<SceneStandpipe>,
    /// Notes.
    pub about: About,
}

/// Water into a rig: from where, and through what.
#[derive(Debug, Clone, PartialEq)]
pub struct Intake {
    /// From where.
    pub from: IntakeFrom,
    /// Through what; nothing for a tank or a draft.
    pub parts: Parts,
}

/// Where a rig's water comes from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum IntakeFrom {
    /// A hydrant.
    Hydrant(String),
    /// The pump of another rig: a relay.
    Rig(String),
    /// Open water.
    Draft(String),
    /// A portable tank that tankers fill.
    Shuttle(String),
    /// Its own tank.
    Tank,
}

/// A line at work.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct SceneLine {
    /// The line.
    pub line: String,
    /// The standpipe off which it comes, instead of the rig's own outlet.
    pub standpipe: Option<String>,
    /// The floor of that standpipe.
    pub floor: Option<Stated<Ratio>>,
    /// How far its outlet is open; as its needs ask when not written.
    pub gate: Option<Stated<Ratio>>,
    /// Foam solution from the rig's own proportioner, at this ratio.
    pub foam: Option<Stated<Ratio>>,
}

/// A standpipe at work.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct SceneStandpipe {
    /// The standpipe.
    pub standpipe: String,
    /// From the pump to its inlet.
    pub parts: Parts,
}

/// A spill to be covered.
#[derive(Debug, Clone, PartialEq)]
pub struct SpillWritten {
    /// Its area.
    pub area: Stated<Area>,
    /// The fuel.
    pub fuel: Fuel,
    /// Solution for each unit of area; by the fuel when not written.
    pub rate: Option<Stated<Velocity>>,
    /// How long; 15 minutes when not written.
    pub duration: Option<Stated<Time>>,
    /// Share of concentrate in the solution.
    pub ratio: Stated<Ratio>,
}

/// A building that burns.
#[derive(Debug, Clone, PartialEq)]
pub struct FireWritten {
    /// Length of a floor.
    pub length: Stated<Length>,
    /// Width of a floor.
    pub width: Stated<Length>,
    /// Height of a floor.
    pub height: Stated<Length>,
    /// Floors that burn; one when not written.
    pub floors: Option<Stated<Ratio>>,
    /// Share of them that burns; all when not written.
    pub involved: Option<Stated<Ratio>>,
    /// Exposed sides.
    pub exposed_sides: Option<Stated<Ratio>>,
    /// Exposed floors.
    pub exposed_floors: Option<Stated<Ratio>>,
    /// Occupancy hazard number of the rural supply, 3 to 7.
    pub hazard: Option<Stated<Ratio>>,
    /// Type of construction, for the rural supply.
    pub construction_type: Option<ConstructionType>,
    /// Class of construction, for the insurance form.
    pub construction: Option<Construction>,
    /// Occupancy factor of the insurance form; 1 when not written.
    pub occupancy: Option<Stated<Ratio>>,
    /// Exposure factor of the insurance form; 1 when not written.
    pub exposure: Option<Stated<Ratio>>,
}
