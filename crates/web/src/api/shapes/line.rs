//! What one line gives.

use super::scene::Eductor;
use super::{Coefficient, ItemUsed, Notice, Quantity, Range, Residual};
use serde::Serialize;
use std::collections::BTreeMap;
use utoipa::ToSchema;

/// The line as it is; where changes are asked, before and after them.
#[derive(ToSchema, Serialize)]
#[serde(untagged)]
pub(in crate::api) enum LineOrChange {
    Line(Box<Line>),
    Change(Box<LineChange>),
}

/// A line before and after changes, the pump left as it was.
#[derive(ToSchema, Serialize)]
pub(in crate::api) struct LineChange {
    before: Line,
    after: Line,
}

/// What a line gives at one pump pressure.
#[derive(ToSchema, Serialize)]
pub(in crate::api) struct Line {
    line: String,
    #[schema(required)]
    title: Option<String>,
    /// The rig that it comes off.
    #[schema(required)]
    rig: Option<String>,
    pump_pressure: Quantity,
    pump_pressure_from: Basis,
    /// From the pump into this line.
    flow: Quantity,
    /// What the crew gets at each tip.
    tips: Vec<Tip>,
    /// What happens along the way.
    parts: Vec<Part>,
    coefficients: Vec<Coefficient>,
    /// Which values of nozzles and pumps were used.
    items: Vec<ItemUsed>,
    /// How far the published spread of the coefficients moves the answer.
    #[schema(required)]
    spread: Option<Spread>,
    eductors: Vec<Eductor>,
    /// How to give every tip its aim and no more, where there are several.
    #[schema(required)]
    gating: Option<Gating>,
    notices: Vec<Notice>,
    residual: Residual,
}

/// Where a pump pressure comes from.
#[derive(ToSchema, Serialize)]
#[schema(rename_all = "snake_case")]
enum Basis {
    /// It was asked for.
    Asked,
    /// The book gives it.
    Book,
    /// Worked out so that the worst tip meets its aim.
    Aim,
    /// Worked out so that an eductor has its rated inlet pressure.
    Eductor,
    /// Worked out for the nozzles' rating, since no aim is given.
    Rating,
    /// Worked out for the nozzles' rating, since the aim cannot be reached.
    AimOutOfReach,
}

/// What the crew gets at one tip.
#[derive(ToSchema, Serialize)]
pub(super) struct Tip {
    /// Where it is in its line: "part 2".
    place: String,
    line: String,
    nozzle: String,
    #[schema(required)]
    setting: Option<String>,
    flow: Quantity,
    /// Downstream of the shut-off.
    tip_pressure: Quantity,
    /// By the trade's form for this nozzle: a formula value.
    reaction: Quantity,
    /// Which form that is.
    reaction_form: String,
    /// As momentum.
    reaction_momentum: Quantity,
    /// People it takes by the book's limits; null: more than three.
    #[schema(required)]
    people: Option<u8>,
    /// Of the good stream.
    effective_reach: Quantity,
    /// At the taught best angle, in still air.
    maximum_throw: Quantity,
    /// Where an automatic nozzle is in its range; null for other nozzles.
    #[schema(required)]
    regime: Option<Regime>,
    /// Flow when the regulator was last opening, and last closing.
    #[schema(required)]
    band: Option<Range>,
    /// The foam attachment on it; reach and throw are then the book's for it.
    #[schema(required)]
    attachment: Option<Attachment>,
    /// A monitor holds the nozzle, not people.
    on_monitor: bool,
    /// What it is meant to deliver, by name.
    aim: BTreeMap<String, Quantity>,
    /// Null when there is no aim.
    #[schema(required)]
    aim_met: Option<bool>,
    /// The parts of the aim that are missed: flow, tip_pressure or effective_reach,
    /// and reaction_at_most.
    aim_missed: Vec<String>,
}

/// Where an automatic nozzle is in its range.
#[derive(ToSchema, Serialize)]
#[schema(rename_all = "snake_case")]
enum Regime {
    Below,
    In,
    Above,
}

/// A foam attachment on a nozzle.
#[derive(ToSchema, Serialize)]
struct Attachment {
    name: String,
    /// Volume of foam for each of solution.
    expansion: f64,
    foam: Quantity,
}

/// One part of the way.
#[derive(ToSchema, Serialize)]
pub(super) struct Part {
    place: String,
    line: String,
    /// hose, appliance, nozzle ...
    kind: String,
    name: String,
    /// Of hose.
    #[schema(required)]
    length: Option<Quantity>,
    /// From its inlet to its outlet.
    flow: Quantity,
    /// Null where no pump reaches it.
    #[schema(required)]
    pressure_in: Option<Quantity>,
    #[schema(required)]
    pressure_out: Option<Quantity>,
}

/// How far the published spread of the coefficients moves an answer.
#[derive(ToSchema, Serialize)]
struct Spread {
    /// For the same flows.
    pump_pressure: Range,
    /// At the same pump pressure.
    flows: Vec<TipRange>,
}

/// Flow of a tip over the spread.
#[derive(ToSchema, Serialize)]
struct TipRange {
    place: String,
    flow: Range,
}

/// Gates that give every tip its aim and no more.
#[derive(ToSchema, Serialize)]
struct Gating {
    /// The pump pressure that then is enough.
    pump_pressure: Quantity,
    gates: Vec<Gate>,
}

/// How far to gate an easier tip.
#[derive(ToSchema, Serialize)]
struct Gate {
    /// The tip whose leg is to be gated.
    place: String,
    /// Pressure that the gate must take.
    excess: Quantity,
    /// How far open; null when the leg has no gate, or none that can take so much.
    #[schema(required)]
    gate: Option<Quantity>,
}
