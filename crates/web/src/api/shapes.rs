//! The shapes of the answers, for the description. The answers themselves are
//! written by `study` and `book`, in one place for the command and for programs;
//! a test holds every real answer of the demo book against these.
#![expect(
    dead_code,
    reason = "these describe JSON that other crates write; nothing fills them in"
)]

mod comparison;
mod line;
mod proof;
mod scene;
mod sizes;

pub(super) use comparison::ComparisonAnswer;
pub(super) use line::LineOrChange;
pub(super) use proof::TestResult;
pub(super) use scene::SceneOrChange;
pub(super) use sizes::{Chart, Extended};

use serde::Serialize;
use std::collections::BTreeMap;
use utoipa::ToSchema;

/// A quantity with its unit, to a ten-thousandth.
#[derive(ToSchema, Serialize)]
#[schema(example = json!({"value": 151.9, "unit": "gpm"}))]
pub(super) struct Quantity {
    value: f64,
    /// In the units asked for: psi, gpm, ft, lbf ... or bar, L/min, m, N ...
    unit: String,
}

/// From the lower to the higher.
#[derive(ToSchema, Serialize)]
struct Range {
    low: Quantity,
    high: Quantity,
}

/// A quantity, or words where there is none.
#[derive(ToSchema, Serialize)]
#[serde(untagged)]
enum QuantityOrWords {
    Quantity(Quantity),
    Words(String),
}

/// A number of things, or words where there is none.
#[derive(ToSchema, Serialize)]
#[serde(untagged)]
enum CountOrWords {
    Count(u32),
    Words(String),
}

/// A stated problem or caution.
#[derive(ToSchema, Serialize)]
struct Notice {
    /// A fixed name, in snake_case.
    code: String,
    weight: Weight,
    /// The part or tip that it is about; empty when it is about the whole.
    place: String,
    /// What is the matter, in words.
    text: String,
    /// The numbers that it rests on, by name.
    numbers: BTreeMap<String, Quantity>,
    /// What to do about it; may be empty.
    mend: String,
}

/// How much a notice weighs.
#[derive(ToSchema, Serialize)]
#[schema(rename_all = "snake_case")]
enum Weight {
    /// Something to know about the answer.
    Remark,
    /// Something that may go wrong.
    Caution,
    /// A limit is passed, or there is no physical answer.
    Limit,
}

/// Which coefficient of a hose was used, and why.
#[derive(ToSchema, Serialize)]
struct Coefficient {
    hose: String,
    /// As a person reads it: "C 14.2".
    used: String,
    /// Measured by the department, not published.
    measured: bool,
    source: String,
    why: String,
    /// Lowest and highest published; null when none are known.
    #[schema(required)]
    published_spread: Option<Vec<f64>>,
}

/// Which value of a nozzle or a pump was used, and why.
#[derive(ToSchema, Serialize)]
struct ItemUsed {
    /// "nozzle" or "pump".
    kind: String,
    /// A nozzle's with its setting: "twin, high".
    name: String,
    /// As a person reads it.
    used: String,
    /// Measured by the department, not rated.
    measured: bool,
    /// The book has a rating and a measurement.
    rating_and_measurement: bool,
    source: String,
    why: String,
}

/// What is left over in the solution.
#[derive(ToSchema, Serialize)]
struct Residual {
    flow: Quantity,
    pressure: Quantity,
    /// Did the solution settle?
    converged: bool,
}

/// What is wrong with a book's file.
#[derive(ToSchema, Serialize)]
pub(super) struct Problems {
    file: String,
    /// At most 100, in the order of the file.
    problems: Vec<Problem>,
    /// How many more there are.
    left_off: usize,
}

/// One thing that is wrong with a book's file.
#[derive(ToSchema, Serialize)]
pub(super) struct Problem {
    severity: Severity,
    /// A fixed name, in snake_case.
    code: String,
    /// Counted from 1.
    line: usize,
    /// In characters, counted from 1.
    column: usize,
    message: String,
    /// What would mend it; may be empty.
    mend: String,
}

/// How much a problem weighs.
#[derive(ToSchema, Serialize)]
#[schema(rename_all = "snake_case")]
enum Severity {
    /// The book can be used, but may not say what was meant.
    Warning,
    /// The book cannot be used.
    Error,
}
