//! What a scene gives. What is said of one kind of water only is left out of the
//! others.

use super::line::{Part, Tip};
use super::{
    Coefficient, CountOrWords, ItemUsed, Notice, Quantity, QuantityOrWords, Range, Residual,
};
use serde::Serialize;
use utoipa::ToSchema;

/// The scene as it is; where changes are asked, before and after them.
#[derive(ToSchema, Serialize)]
#[serde(untagged)]
pub(in crate::api) enum SceneOrChange {
    Scene(Box<Scene>),
    Change(Box<SceneChange>),
}

/// A scene before and after changes.
#[derive(ToSchema, Serialize)]
pub(in crate::api) struct SceneChange {
    before: Scene,
    after: Scene,
}

/// What a scene gives.
#[derive(ToSchema, Serialize)]
pub(in crate::api) struct Scene {
    scene: String,
    #[schema(required)]
    title: Option<String>,
    /// Those nearer the water first.
    rigs: Vec<Rig>,
    sources: Vec<Source>,
    relays: Vec<Relay>,
    standpipes: Vec<Standpipe>,
    /// What the crews get.
    tips: Vec<Tip>,
    parts: Vec<Part>,
    eductors: Vec<Eductor>,
    /// Lines of foam solution.
    foam: Vec<FoamLine>,
    #[schema(required)]
    spill: Option<Spill>,
    #[schema(required)]
    fire: Option<Fire>,
    /// How much of every limit is used, the one that binds first before the others.
    limits: Vec<Limit>,
    coefficients: Vec<Coefficient>,
    /// Which values of nozzles and pumps were used.
    items: Vec<ItemUsed>,
    /// Flow of every tip over the published spread of the coefficients.
    #[schema(required)]
    spread: Option<Vec<SceneTipRange>>,
    notices: Vec<Notice>,
    residual: Residual,
}

/// Flow of a tip over the spread.
#[derive(ToSchema, Serialize)]
struct SceneTipRange {
    line: String,
    place: String,
    flow: Range,
}

/// A rig at work.
#[derive(ToSchema, Serialize)]
struct Rig {
    rig: String,
    pump_pressure: Quantity,
    /// What its governor is set to.
    #[schema(required)]
    setting: Option<Quantity>,
    /// What sets its pump, in words.
    set_by: String,
    intake: Quantity,
    net_pressure: Quantity,
    /// Net pressure that the pump can give at this flow.
    capability: Quantity,
    flow: Quantity,
    rated_flow: Quantity,
    #[schema(required)]
    own_tank_would_last: Option<Quantity>,
    outlets: Vec<Outlet>,
}

/// An outlet of a rig.
#[derive(ToSchema, Serialize)]
struct Outlet {
    feeds: String,
    flow: Quantity,
    pressure: Quantity,
    #[schema(required)]
    needs: Option<Quantity>,
    /// How far it is open.
    gate: Quantity,
    /// Gated so that its line has no more than it needs.
    gated_for_its_line: bool,
}

/// A source of water.
#[derive(ToSchema, Serialize)]
struct Source {
    source: String,
    kind: String,
    feeds: String,
    flow: Quantity,
    pressure: Quantity,
    main_tested_at: Option<String>,
    #[schema(rename = "static")]
    still: Option<Quantity>,
    main_flow: Option<Quantity>,
    main_residual: Option<Quantity>,
    least_residual: Option<Quantity>,
    available_at_least_residual: Option<Quantity>,
    flow_of_one_more_line: Option<Quantity>,
    residual_with_one_more_line: Option<QuantityOrWords>,
    #[serde(rename = "residual_with_one_more_line__squaring_the_lines")]
    residual_with_one_more_line_squaring_the_lines: Option<QuantityOrWords>,
    #[serde(rename = "may_add_as_much_again__percentage_method")]
    may_add_as_much_again_percentage_method: Option<String>,
    #[serde(rename = "may_add_as_much_again__first_digit_method")]
    may_add_as_much_again_first_digit_method: Option<String>,
    lift: Option<Quantity>,
    pressure_above_vapour: Option<Quantity>,
    most_by_lift_and_suction: Option<Quantity>,
    share_of_rated_flow_at_this_lift: Option<QuantityOrWords>,
    rated_flow_by_that_share: Option<Quantity>,
    stored: Option<Quantity>,
    refill: Option<Quantity>,
    lasts_without_refill: Option<Quantity>,
    #[serde(rename = "lasts_with_refill__on_average")]
    lasts_with_refill_on_average: Option<QuantityOrWords>,
    tankers: Option<u32>,
    tankers_needed: Option<CountOrWords>,
    one_tanker_brings: Option<Quantity>,
    one_round: Option<Quantity>,
    lowest_in_the_portable_tank: Option<Quantity>,
    /// Times, each with what is left then.
    in_the_portable_tank_after: Option<Vec<Vec<Quantity>>>,
    first_runs_dry_after: Option<Quantity>,
}

/// A supply from rig to rig.
#[derive(ToSchema, Serialize)]
struct Relay {
    from: String,
    to: String,
    flow: Quantity,
    length: Quantity,
    pump_pressure: Quantity,
    intake_of_the_next: Quantity,
    highest_pump_pressure: Quantity,
    bound_by: String,
    #[schema(required)]
    longest_at_this_flow: Option<Quantity>,
}

/// A standpipe.
#[derive(ToSchema, Serialize)]
struct Standpipe {
    standpipe: String,
    fed_by: String,
    flow: Quantity,
    inlet: Quantity,
    #[schema(required)]
    rated_for: Option<Quantity>,
    required_at_an_outlet: Quantity,
    highest_floor_that_has_it: CountOrWords,
    floors: u32,
    pump_pressure_for_the_top_floor: Quantity,
    outlets: Vec<Floor>,
}

/// An outlet of a standpipe.
#[derive(ToSchema, Serialize)]
struct Floor {
    floor: u32,
    line: String,
    pressure: Quantity,
    /// What its regulating valve is set to; null when it has none.
    #[schema(required)]
    valve_set_to: Option<Quantity>,
    #[schema(required)]
    valve_holds: Option<bool>,
}

/// An eductor.
#[derive(ToSchema, Serialize)]
pub(super) struct Eductor {
    line: String,
    place: String,
    draws_concentrate: bool,
    flow: Quantity,
    rated_flow: Quantity,
    inlet: Quantity,
    rated_inlet: Quantity,
    outlet: Quantity,
    /// Above this it stops picking up.
    highest_outlet: Quantity,
    #[schema(required)]
    set_to: Option<Quantity>,
    #[schema(required)]
    makes: Option<Quantity>,
    hose_past_it: Quantity,
    #[schema(required)]
    longest_past_it: Option<Quantity>,
    nozzle_past_it: Quantity,
    nozzle_matches: bool,
}

/// A line of foam solution.
#[derive(ToSchema, Serialize)]
struct FoamLine {
    line: String,
    rig: String,
    by: String,
    solution: Quantity,
    #[schema(required)]
    set_to: Option<Quantity>,
    ratio: Quantity,
    concentrate: Quantity,
    #[schema(required)]
    at_most: Option<Quantity>,
    #[schema(required)]
    carried_lasts: Option<Quantity>,
}

/// A spill to be covered with foam.
#[derive(ToSchema, Serialize)]
struct Spill {
    area: Quantity,
    rate: Quantity,
    duration: Quantity,
    ratio: Quantity,
    solution_needed: Quantity,
    solution_given: Quantity,
    area_that_it_covers: Quantity,
    concentrate_needed: Quantity,
    concentrate_carried: Quantity,
    #[schema(required)]
    first_rig_runs_out_after: Option<Quantity>,
    water_needed: Quantity,
}

/// The flow that a building needs, by planning forms.
#[derive(ToSchema, Serialize)]
struct Fire {
    given_by_all_tips: Quantity,
    #[schema(required)]
    mains_at_least_residual: Option<Quantity>,
    needs: Vec<Need>,
}

/// The flow needed by one planning form.
#[derive(ToSchema, Serialize)]
struct Need {
    form: String,
    flow_needed: Quantity,
    #[schema(required)]
    stock_needed: Option<Quantity>,
    #[schema(required)]
    lasts: Option<Quantity>,
    given: bool,
    #[schema(required)]
    lines: Option<u32>,
    #[schema(required)]
    people_on_the_nozzles: Option<u32>,
    within_its_range: bool,
    #[schema(rename = "for")]
    meant_for: String,
}

/// How much of a limit is used. It has `at_least` or `at_most`.
#[derive(ToSchema, Serialize)]
struct Limit {
    limit: String,
    /// A fixed name, in snake_case.
    code: String,
    place: String,
    now: Quantity,
    at_least: Option<Quantity>,
    at_most: Option<Quantity>,
    used: Quantity,
    margin: Quantity,
    passed: bool,
}
