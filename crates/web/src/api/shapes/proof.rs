//! What a flow test says.

use super::{Notice, Quantity};
use serde::Serialize;
use serde_json::Value;
use std::collections::BTreeMap;
use utoipa::ToSchema;

/// A flow test, reduced.
#[derive(ToSchema, Serialize)]
pub(in crate::api) struct TestResult {
    /// "hose", "nozzle", "pump", "hydrant", "service test".
    kind: String,
    /// What it is about, by its name in the book.
    subject: String,
    date: String,
    /// The law in words.
    law: String,
    gauges: Vec<String>,
    /// Empty where the test could not be reduced, as a notice says.
    found: Vec<TestFound>,
    /// "pass", "fail" or "not proven": the worst; null where nothing was judged.
    #[schema(required)]
    verdict: Option<String>,
    verdicts: Vec<TestVerdict>,
    points: Vec<TestPoint>,
    /// How likely such scatter is from the gauges alone.
    #[schema(required)]
    scatter_chance: Option<f64>,
    /// How likely such departure from the law is from the scatter of repeats alone.
    #[schema(required)]
    lack_of_fit: Option<f64>,
    /// How the fit stopped.
    stopped: String,
    notices: Vec<Notice>,
    /// More to know, by name.
    facts: BTreeMap<String, Value>,
    /// Gauges of the day that do not agree with the others.
    suspects: Vec<TestSuspect>,
}

/// A value that a test found.
#[derive(ToSchema, Serialize)]
struct TestFound {
    name: String,
    value: Quantity,
    standard_uncertainty: Quantity,
    /// The ends of the 95 % interval.
    between: Vec<Quantity>,
    /// Null: infinite.
    #[schema(required)]
    degrees_of_freedom: Option<f64>,
    /// What the uncertainty is made of.
    budget: Vec<TestContribution>,
    /// What the book has.
    #[schema(required)]
    book: Option<Quantity>,
    book_is: String,
    /// The interval leaves the book's value out.
    told_apart: bool,
}

/// One source of uncertainty.
#[derive(ToSchema, Serialize)]
struct TestContribution {
    what: String,
    /// Its share in the square of the whole.
    #[schema(required)]
    share: Option<f64>,
    /// Degrees of freedom; null: infinite.
    #[schema(required)]
    degrees: Option<f64>,
}

/// A verdict.
#[derive(ToSchema, Serialize)]
struct TestVerdict {
    what: String,
    /// "pass", "fail" or "not proven", at 95 %.
    verdict: String,
    value: Quantity,
    between: Vec<Quantity>,
    #[schema(required)]
    least: Option<Quantity>,
    #[schema(required)]
    most: Option<Quantity>,
    /// Where the limit comes from.
    source: String,
    /// What would settle it.
    #[schema(required)]
    settle: Option<String>,
}

/// A point of a test.
#[derive(ToSchema, Serialize)]
struct TestPoint {
    point: u32,
    time: String,
    /// What was read, by place.
    read: BTreeMap<String, Quantity>,
    /// Measured less expected.
    residual: Quantity,
    #[schema(required)]
    studentised: Option<f64>,
    stands_out: bool,
    /// Why it does not count; null: it does.
    #[schema(required)]
    left_out: Option<String>,
    remark: String,
}

/// A gauge that does not agree with the others; of several, any may be it.
#[derive(ToSchema, Serialize)]
struct TestSuspect {
    gauges: Vec<String>,
    off_by: Quantity,
    between: Vec<Quantity>,
    /// How likely sound gauges would look like that.
    chance: f64,
    words: String,
}
