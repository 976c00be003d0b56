//! Charts, and hose added.

use super::line::Line;
use super::{Coefficient, ItemUsed, Quantity, Range};
use serde::Serialize;
use utoipa::ToSchema;

/// A pump chart of one line.
#[derive(ToSchema, Serialize)]
pub(in crate::api) struct Chart {
    line: String,
    #[schema(required)]
    title: Option<String>,
    /// The hose whose length the rows give.
    hose: String,
    place: String,
    /// One for each row.
    lengths: Vec<Quantity>,
    /// One for each column: height of the tip above the pump.
    rises: Vec<Quantity>,
    /// The highest pump pressure that the department allows.
    #[schema(required)]
    ceiling: Option<Quantity>,
    coefficients: Vec<Coefficient>,
    /// Which values of nozzles and pumps were used.
    items: Vec<ItemUsed>,
    /// Pump pressure of the line as it is, over the published spread.
    #[schema(required)]
    spread: Option<Range>,
    /// One for each setting.
    tables: Vec<Table>,
}

/// The pump pressures for one setting.
#[derive(ToSchema, Serialize)]
struct Table {
    /// Null when the nozzle has none, or there are several tips.
    #[schema(required)]
    setting: Option<String>,
    /// The flow at the first tip that it is for.
    flow: Quantity,
    /// A row for each length, in it a cell for each rise.
    rows: Vec<Vec<Cell>>,
}

/// One cell of a chart.
#[derive(ToSchema, Serialize)]
struct Cell {
    /// Null when no pressure does.
    #[schema(required)]
    pump_pressure: Option<Quantity>,
    /// Above the ceiling, or above some hose's service pressure.
    over_limit: bool,
}

/// What hose added at a tip changes.
#[derive(ToSchema, Serialize)]
pub(in crate::api) struct Extended {
    /// The tip.
    place: String,
    hose: String,
    length: Quantity,
    /// The hose goes in between the shut-off, which stays behind, and the tip.
    leaves_shutoff: bool,
    /// Adapters without which it cannot be screwed together.
    adapters: Vec<String>,
    /// Couplings are not written for every end, so that the fit is not known.
    fit_unknown: bool,
    /// In the added hose.
    water: Quantity,
    water_weight: Quantity,
    /// Dry, where the book says.
    #[schema(required)]
    hose_weight: Option<Quantity>,
    /// The rig's tank.
    #[schema(required)]
    tank: Option<Quantity>,
    before: Line,
    /// At the pump pressure that gives every tip its old flow.
    same_flow: Line,
    /// Can the same flow be had at all? When not, `same_flow` is only the nearest.
    same_flow_had: bool,
    /// At the old pump pressure.
    same_pressure: Line,
}
