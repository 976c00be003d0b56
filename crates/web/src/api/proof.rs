//! Flow tests: which there are, their readings, and what they say.

use super::named::{Asking, Named};
use super::questions::{self, Plain, Units};
use super::shapes::TestResult;
use super::told::{Refusals, Told};
use crate::proof::{Left, Reduced};
use crate::workbench::Workbench;
use axum::Json;
use axum::extract::State;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::sync::Arc;
use utoipa::{IntoParams, ToSchema};

type Shared = State<Arc<Workbench>>;

/// Tests in one answer.
const MOST: i64 = 200;

/// The tests of a department.
#[derive(Serialize, ToSchema)]
pub(super) struct Tests {
    /// The book's name in addresses.
    book: String,
    /// The latest first, at most 200.
    tests: Vec<OneTest>,
}

/// A flow test.
#[derive(Serialize, ToSchema)]
pub(super) struct OneTest {
    /// Its number.
    test: i64,
    /// "hose", "nozzle", "pump", "hydrant", "service test".
    kind: String,
    /// What it is about, by its name in the book.
    subject: String,
    title: String,
    /// The day of it.
    date: String,
    /// "open", "closed" or "accepted".
    stage: &'static str,
    /// The revision of the book that took its result in.
    #[schema(required)]
    accepted: Option<i64>,
    /// The solid tip on which pitot pressures were read.
    #[schema(required)]
    pitot_tip: Option<String>,
}

/// A flow test with its readings.
#[derive(Serialize, ToSchema)]
pub(super) struct Readings {
    about: OneTest,
    /// All of them, in the order of entry.
    readings: Vec<OneReading>,
}

/// A reading.
#[derive(Serialize, ToSchema)]
struct OneReading {
    reading: i64,
    point: i64,
    /// "inlet pressure", "flow".
    place: String,
    /// As it was written, with its unit.
    written: String,
    /// In Pa, m3/s, m or s; null: it strikes out the reading that it corrects.
    #[schema(required)]
    si: Option<f64>,
    gauge: String,
    /// When it was read, as "10:32"; may be empty.
    time: String,
    remark: String,
    /// Who entered it; may be empty.
    who: String,
    /// The reading whose place it takes.
    #[schema(required)]
    corrects: Option<i64>,
    /// It is neither corrected nor struck out.
    counts: bool,
}

fn one(test: records::Test) -> OneTest {
    OneTest {
        test: test.id,
        stage: test.stage.word(),
        accepted: match test.stage {
            records::Stage::Accepted { revision } => Some(revision),
            _ => None,
        },
        kind: test.new.kind,
        subject: test.new.subject,
        title: test.new.title,
        date: test.new.date,
        pitot_tip: test.new.pitot_tip,
    }
}

/// The flow tests of a department
#[utoipa::path(get, path = "/api/books/{book}/tests", tag = "Tests",
    params(("book" = String, Path, description = "The book's name in addresses",
        example = "saltmarsh-bend-fire-and-rescue")),
    responses((status = 200, description = "The tests, the latest first.", body = Tests), Refusals),
)]
pub(super) async fn tests(
    State(workbench): Shared,
    Named(slug): Named<String>,
    _: Asking<Plain>,
) -> Result<Json<Tests>, Told> {
    workbench.records.newest(&slug).await?;
    let tests = workbench.records.tests(&slug, MOST).await?;
    Ok(Json(Tests {
        book: slug,
        tests: tests.into_iter().map(one).collect(),
    }))
}

/// A flow test with its readings
#[utoipa::path(get, path = "/api/books/{book}/tests/{test}", tag = "Tests",
    params(
        ("book" = String, Path, description = "The book's name in addresses",
            example = "saltmarsh-bend-fire-and-rescue"),
        ("test" = i64, Path, description = "The test's number")),
    responses((status = 200, description = "The test.", body = Readings), Refusals),
)]
pub(super) async fn test(
    State(workbench): Shared,
    Named((slug, id)): Named<(String, i64)>,
    _: Asking<Plain>,
) -> Result<Json<Readings>, Told> {
    let about = one(workbench.records.test(&slug, id).await?);
    let all = workbench.records.readings(&slug, id).await?;
    let counted = records::in_force(&all);
    let counted: Vec<i64> = counted.into_iter().map(|reading| reading.id).collect();
    let readings = all.into_iter().map(|reading| OneReading {
        counts: counted.contains(&reading.id),
        reading: reading.id,
        point: reading.new.point,
        place: reading.new.place,
        written: reading.new.written,
        si: reading.new.value,
        gauge: reading.new.gauge,
        time: reading.new.time,
        remark: reading.new.remark,
        who: reading.by.who,
        corrects: reading.corrects,
    });
    Ok(Json(Readings {
        about,
        readings: readings.collect(),
    }))
}

/// Of one result.
#[derive(Deserialize, IntoParams, Default)]
#[serde(default)]
#[into_params(parameter_in = Query)]
pub(super) struct OfResult {
    /// Units of the answer; the book's when left out
    #[param(inline, value_type = Option<Units>)]
    units: Option<String>,
    /// Points that are not to count
    leave: Vec<u32>,
    /// Gauges that are corrected by what the others of the day say
    correct: Vec<String>,
}

/// What a flow test says
///
/// The tests of its day are reduced together: a gauge that is off shows beside the others.
#[utoipa::path(get, path = "/api/books/{book}/tests/{test}/result", tag = "Tests",
    params(
        ("book" = String, Path, description = "The book's name in addresses",
            example = "saltmarsh-bend-fire-and-rescue"),
        ("test" = i64, Path, description = "The test's number"),
        OfResult),
    responses((status = 200, description = "What it says.", body = TestResult), Refusals),
)]
pub(super) async fn result(
    State(workbench): Shared,
    Named((slug, id)): Named<(String, i64)>,
    Asking(of): Asking<OfResult>,
) -> Result<Json<Value>, Told> {
    let left = Left {
        points: of
            .leave
            .into_iter()
            .map(|point| (point, String::new()))
            .collect(),
        gauges: of.correct,
    };
    let (reduced, at) = Reduced::of_test(&workbench, &slug, id, left).await?;
    let system = questions::system(of.units.as_deref(), &reduced.opened.book)?;
    let (_, proof) = reduced.one(at)?;
    let suspects = reduced.proved.suspects.iter();
    let suspects = suspects.map(|suspect| suspect.object(system)).collect();
    let mut answer = proof.object(system);
    if let Some(members) = answer.as_object_mut() {
        members.insert("suspects".into(), Value::Array(suspects));
    }
    Ok(Json(answer))
}
