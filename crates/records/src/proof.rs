//! Test sheets of the records as the test days that [`study::proof`] plans and reduces, and
//! back.

use crate::audit::By;
use crate::model::RecordsError;
use crate::place::Records;
use crate::reading::{self, NewReading, Reading, in_force};
use crate::store::Done;
use crate::test::{self, NewTest, Test};
use study::proof::{self, Day, Place, Subject};

/// The day that `tests` make up: each with those of `readings` that are its own and count.
///
/// # Errors
/// [`RecordsError::Word`] when a test is about nothing that this version knows, or a reading
/// was taken nowhere that it knows.
///
/// ```
/// use records::{By, NewTest, Stage, Test, proof};
/// let new = NewTest {
///     kind: "hose".into(),
///     subject: "attack".into(),
///     title: "Attack hose".into(),
///     date: "2026-05-11".into(),
///     pitot_tip: None,
/// };
/// let by = By::new("Captain", 1_790_000_000);
/// let sheet = Test { id: 1, slug: "bend".into(), revision: 1, new, stage: Stage::Open, by };
/// let day = proof::to_day(&[sheet], &[])?;
/// assert_eq!(day.tests[0].subject.to_string(), "hose attack");
/// # Ok::<(), records::RecordsError>(())
/// ```
pub fn to_day(tests: &[Test], readings: &[Reading]) -> Done<Day> {
    let counted = in_force(readings);
    let tests = tests.iter().map(|test| {
        let own = counted.iter().filter(|reading| reading.test == test.id);
        Ok(proof::Test {
            subject: subject(&test.new)?,
            date: test.new.date.clone(),
            pitot_tip: test.new.pitot_tip.clone(),
            readings: own
                .map(|reading| to_reading(&reading.new))
                .collect::<Done<_>>()?,
        })
    });
    let tests = tests.collect::<Done<_>>()?;
    Ok(Day { tests })
}

/// What a test is about.
///
/// # Errors
/// [`RecordsError::Word`].
pub fn subject(new: &NewTest) -> Done<Subject> {
    let NewTest { kind, subject, .. } = new;
    Subject::called(kind, subject).ok_or_else(|| RecordsError::Word(kind.clone()))
}

/// The test of a day to begin; `title` is what people call its subject.
pub fn begun(test: &proof::Test, title: &str) -> NewTest {
    let (kind, subject) = test.subject.words();
    NewTest {
        kind: kind.into(),
        subject,
        title: title.into(),
        date: test.date.clone(),
        pitot_tip: test.pitot_tip.clone(),
    }
}

/// A reading to enter. `token` is made by whoever sends it, another for each reading.
pub fn entered(reading: &proof::Reading, token: &str) -> NewReading {
    NewReading {
        token: token.into(),
        point: reading.point.into(),
        place: reading.place.word().into(),
        quantity: quantity(reading.place).into(),
        value: Some(reading.value),
        written: reading.written.clone(),
        gauge: reading.gauge.clone(),
        resolution: reading.resolution,
        calibrated: reading.calibrated.clone(),
        time: reading.time.clone(),
        remark: reading.remark.clone(),
    }
}

/// What is read at a place: "pressure", "flow", "length" or "time".
pub fn quantity(place: Place) -> &'static str {
    match place {
        Place::Flow => "flow",
        Place::Rise | Place::Length => "length",
        Place::Minutes => "time",
        Place::Pitot
        | Place::Inlet
        | Place::Outlet
        | Place::Tip
        | Place::Intake
        | Place::Discharge
        | Place::Residual
        | Place::Held => "pressure",
    }
}

fn to_reading(new: &NewReading) -> Done<proof::Reading> {
    let unknown = |word: String| RecordsError::Word(word);
    let value = new.value.ok_or(RecordsError::Reading("it has no value"))?;
    Ok(proof::Reading {
        point: u32::try_from(new.point).map_err(|_| unknown(format!("point {}", new.point)))?,
        place: Place::called(&new.place).ok_or_else(|| unknown(new.place.clone()))?,
        value,
        written: new.written.clone(),
        gauge: new.gauge.clone(),
        resolution: new.resolution,
        calibrated: new.calibrated.clone(),
        time: new.time.clone(),
        remark: new.remark.clone(),
    })
}

impl Records {
    /// Enters a day that is there as a whole, as from a file: each test with its readings, all
    /// or nothing. `titles` are what people call the subjects, in the order of the tests;
    /// where one is wanting, its words stand for it. Gives the tests' numbers.
    ///
    /// # Errors
    /// [`RecordsError::NoBook`]; [`RecordsError::Reading`] when a value is no number.
    pub async fn add_day(
        &self,
        slug: &str,
        day: &Day,
        titles: &[String],
        by: &By,
    ) -> Done<Vec<i64>> {
        let mut write = self.store.write().await?;
        let mut ids = Vec::new();
        for (at, test) in day.tests.iter().enumerate() {
            let title = titles.get(at).cloned();
            let title = title.unwrap_or_else(|| test.subject.to_string());
            let id = test::begin(&mut write, slug, &begun(test, &title), by).await?;
            for (row, one) in test.readings.iter().enumerate() {
                let new = entered(one, &format!("brought in {row}"));
                reading::enter(&mut write, id, &new, None, by).await?;
            }
            ids.push(id);
        }
        write.commit().await?;
        Ok(ids)
    }

    /// A department's tests of these numbers, as the day that they make up.
    ///
    /// # Errors
    /// [`RecordsError::NoTest`]; [`RecordsError::Word`].
    pub async fn day_of(&self, slug: &str, tests: &[i64]) -> Done<Day> {
        let (mut sheets, mut readings) = (Vec::new(), Vec::new());
        for id in tests {
            sheets.push(self.test(slug, *id).await?);
            readings.extend(self.readings(slug, *id).await?);
        }
        to_day(&sheets, &readings)
    }
}
