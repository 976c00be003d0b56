//! What a comparison finds.

use super::{Notice, Quantity, Range};
use serde::Serialize;
use utoipa::ToSchema;

/// What a comparison found.
#[derive(ToSchema, Serialize)]
pub(in crate::api) struct ComparisonAnswer {
    #[schema(required)]
    title: Option<String>,
    lines: Vec<String>,
    /// What counts, and how much; 0 is shown and does not count.
    aims: Vec<WeighedAim>,
    size: ComparisonSize,
    /// How many choices no other beats in everything.
    unbeaten: u64,
    /// How many pass no limit and are beaten in every aim by another; not counted past
    /// 9,000,000,000,000,000.
    beaten: u64,
    /// The unbeaten ones, best first; at most 200.
    choices: Vec<OneChoice>,
    excluded: Vec<ExcludedChoices>,
    /// What is carried today, judged the same way; null where no choice covers it.
    #[schema(required)]
    today: Option<OneChoice>,
    /// The code of the first that holds on enough days; null where none does or none were
    /// drawn.
    #[schema(required)]
    robust: Option<String>,
    /// The code of the choice that is put forward: the robust one, else the first.
    #[schema(required)]
    answer: Option<String>,
    notices: Vec<Notice>,
    /// The largest of all the solutions.
    residual: ComparisonResidual,
}

/// How large a comparison was.
#[derive(ToSchema, Serialize)]
struct ComparisonSize {
    choices: u64,
    /// Operating points solved.
    points: u64,
    /// Days drawn, over all the choices that were drawn for.
    draws: u64,
}

/// What is left over in the solutions.
#[derive(ToSchema, Serialize)]
struct ComparisonResidual {
    flow: Quantity,
    pressure: Quantity,
}

/// An aim with its weight.
#[derive(ToSchema, Serialize)]
struct WeighedAim {
    aim: AimWord,
    weight: f64,
}

/// What can be wanted.
#[derive(ToSchema, Serialize)]
#[schema(rename_all = "snake_case")]
enum AimWord {
    Flow,
    FlowAtLowPump,
    Reach,
    Reaction,
    PumpPressure,
    SteadyWhenGated,
    OnePumpPressure,
    Weight,
    Kinds,
    Price,
}

/// What no choice may pass.
#[derive(ToSchema, Serialize)]
#[schema(rename_all = "snake_case")]
enum LimitWord {
    Couplings,
    Eductor,
    NoAnswer,
    Reaction,
    PumpPressure,
    ServicePressure,
    Flow,
    TipPressure,
    Reach,
    FlowAtLowPump,
    TipPressureAtLowPump,
    Weight,
    OutletPressure,
    Price,
    Kinds,
}

/// One way to equip and run the lines.
#[derive(ToSchema, Serialize)]
struct OneChoice {
    code: String,
    /// 0 to 1, by the weights.
    score: f64,
    /// Of all lines; null: each has its own.
    #[schema(required)]
    pump_pressure: Option<Quantity>,
    on: Vec<OnLine>,
    measured: Vec<MeasuredAim>,
    results: Vec<LineGives>,
    /// The limits that it passes.
    past: Vec<PastLimit>,
    why: Vec<String>,
    /// What it lost on against the one before it; of the first, what the second lost on.
    against: Vec<String>,
    /// What is to be bought, and what changes against today.
    to_change: Vec<String>,
    /// Null where no days were drawn for it.
    #[schema(required)]
    doubted: Option<HowSure>,
}

/// What is on a line.
#[derive(ToSchema, Serialize)]
struct OnLine {
    line: String,
    hose: String,
    length: Quantity,
    nozzle: String,
    #[schema(required)]
    setting: Option<String>,
    pump_pressure: Quantity,
}

/// A choice under one aim, by the worst of its lines and cases.
#[derive(ToSchema, Serialize)]
struct MeasuredAim {
    aim: AimWord,
    /// Null where it is not known: the price of what the book does not price.
    #[schema(required)]
    value: Option<Quantity>,
    at: WhereMeasured,
    /// 1 the best of the unbeaten, 0 the worst.
    good: f64,
}

/// Where a value was found.
#[derive(ToSchema, Serialize)]
struct WhereMeasured {
    /// Null for a value of all lines together.
    #[schema(required)]
    line: Option<String>,
    /// Height of the tip above the book's.
    rise: Quantity,
    coefficient: String,
}

/// What a line gives.
#[derive(ToSchema, Serialize)]
struct LineGives {
    line: String,
    flow: Quantity,
    tip_pressure: Quantity,
    reaction: Quantity,
    /// Null: more than three.
    #[schema(required)]
    people: Option<u8>,
    effective_reach: Quantity,
    /// At the low pump pressure; null where none is asked about.
    #[schema(required)]
    at_low_pump: Option<AtLowPump>,
    /// The least and the most over the cases.
    flows: Range,
}

/// What a line gives at the low pump pressure.
#[derive(ToSchema, Serialize)]
struct AtLowPump {
    flow: Quantity,
    tip_pressure: Quantity,
}

/// A limit that is passed.
#[derive(ToSchema, Serialize)]
struct PastLimit {
    limit: LimitWord,
    /// Null where it is not known.
    #[schema(required)]
    has: Option<Quantity>,
    may: Quantity,
}

/// Choices that a limit left out.
#[derive(ToSchema, Serialize)]
struct ExcludedChoices {
    limit: LimitWord,
    choices: u64,
    /// By it and no other.
    alone: u64,
    nearest: String,
    #[schema(required)]
    has: Option<Quantity>,
    #[schema(required)]
    may: Option<Quantity>,
    text: String,
}

/// How sure a choice is.
#[derive(ToSchema, Serialize)]
struct HowSure {
    /// Days drawn.
    draws: u64,
    seed: u64,
    /// Days without a physical answer; they count as missed.
    unsolved: u64,
    unsure: Vec<UnsureThing>,
    over_days: Vec<OverDays>,
    holds: Vec<LimitHolds>,
    /// On how many days all limits hold.
    all_hold: ShareOfDays,
    shares: Vec<SharesOfAim>,
    words: Vec<String>,
    notices: Vec<Notice>,
}

/// Something doubtful.
#[derive(ToSchema, Serialize)]
struct UnsureThing {
    /// "hose", "nozzle", "regulator", "pump", "length", "rise", "gate", "kink".
    kind: String,
    name: String,
    spread: SpreadOf,
    /// The spread is of a factor on the book's value; otherwise it is in SI.
    factor: bool,
    source: String,
    mend: String,
}

/// How a doubtful value is spread; which of these are there depends on its kind.
#[derive(ToSchema, Serialize)]
struct SpreadOf {
    /// "exact", "even", "normal", "triangle", "sometimes".
    kind: String,
    value: Option<f64>,
    low: Option<f64>,
    most_likely: Option<f64>,
    high: Option<f64>,
    mean: Option<f64>,
    sd: Option<f64>,
    chance: Option<f64>,
    most: Option<f64>,
}

/// A value over the days.
#[derive(ToSchema, Serialize)]
struct OverDays {
    aim: AimWord,
    mean: Quantity,
    sd: Quantity,
    five_percent_below: Quantity,
    half_below: Quantity,
    ninety_five_percent_below: Quantity,
    histogram: HistogramOf,
}

/// How often each value came, in bins of equal width.
#[derive(ToSchema, Serialize)]
struct HistogramOf {
    low: Quantity,
    high: Quantity,
    counts: Vec<u64>,
}

/// On how many days a limit holds.
#[derive(ToSchema, Serialize)]
struct LimitHolds {
    limit: LimitWord,
    days: ShareOfDays,
}

/// A share with half of its 95 % interval.
#[derive(ToSchema, Serialize)]
struct ShareOfDays {
    share: f64,
    give_or_take: f64,
}

/// Whose doubt about an aim it is.
#[derive(ToSchema, Serialize)]
struct SharesOfAim {
    aim: AimWord,
    shares: Vec<ShareOfDoubt>,
}

/// What of the variance one thing brings.
#[derive(ToSchema, Serialize)]
struct ShareOfDoubt {
    name: String,
    /// By itself.
    first: ShareOfDays,
    /// What is gone only when it is known.
    total: ShareOfDays,
    /// The value with this at its 5 % and at its 95 % value, all else at its middle.
    swing: Vec<Quantity>,
}
