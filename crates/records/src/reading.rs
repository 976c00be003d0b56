//! Readings of a test: entered once, never changed, corrected by another.

use crate::audit::{By, tell};
use crate::model::RecordsError;
use crate::place::Records;
use crate::store::{Done, Row, Write};
use crate::test::{Test, held, takes_readings};

/// A reading to enter.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct NewReading {
    /// Made by the form that sends it, another for each reading: sent twice, it is entered
    /// once.
    pub token: String,
    /// Which point of the test, from 1.
    pub point: i64,
    /// Where the gauge is, by the word of [`study::proof::Place::word`]: "inlet pressure".
    pub place: String,
    /// What is read: "pressure", "flow", "length", "time".
    pub quantity: String,
    /// The value in SI (Pa, m3/s, m, s); `None` strikes out the reading that this one corrects.
    pub value: Option<f64>,
    /// As it was written, with its unit.
    pub written: String,
    /// The gauge, by its name in the book or its serial number; may be empty.
    pub gauge: String,
    /// The step of its scale, in SI.
    pub resolution: Option<f64>,
    /// The day of its calibration, as "2026-05-11".
    pub calibrated: Option<String>,
    /// When it was read, as "10:32"; may be empty.
    pub time: String,
    /// What there is to say; may be empty.
    pub remark: String,
}

/// A reading. It is never changed: one that was wrong is corrected by another.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// Its number.
    pub id: i64,
    /// The test.
    pub test: i64,
    /// What was entered.
    pub new: NewReading,
    /// Who entered it, and when.
    pub by: By,
    /// The reading that it corrects.
    pub corrects: Option<i64>,
}

/// The readings that count: without those that another corrects, and without those that
/// strike one out.
pub fn in_force(readings: &[Reading]) -> Vec<&Reading> {
    let corrected: Vec<i64> = readings.iter().filter_map(|r| r.corrects).collect();
    let counts = |r: &&Reading| r.new.value.is_some() && !corrected.contains(&r.id);
    readings.iter().filter(counts).collect()
}

impl Records {
    /// Enters a reading; gives its number. One with a token that the test has is not entered
    /// again: the number is that of the first.
    ///
    /// # Errors
    /// [`RecordsError::NoTest`]; [`RecordsError::Reading`]; [`RecordsError::Closed`] and
    /// [`RecordsError::Accepted`] when the test takes no more; [`RecordsError::Token`] when
    /// another reading came under that token.
    pub async fn read(&self, slug: &str, test: i64, new: &NewReading, by: &By) -> Done<i64> {
        let mut write = self.store.write().await?;
        let test = held(&mut write, slug, test).await?;
        still_taken(&mut write, &test, new).await?;
        let id = enter(&mut write, test.id, new, None, by).await?;
        write.commit().await?;
        Ok(id)
    }

    /// Enters a reading in the place of another, which stays in the records; gives its
    /// number.
    ///
    /// # Errors
    /// [`RecordsError::NoReading`]; [`RecordsError::Corrected`] when somebody corrected that
    /// one before: correct the later one.
    pub async fn correct(
        &self,
        slug: &str,
        test: i64,
        wrong: i64,
        new: &NewReading,
        by: &By,
    ) -> Done<i64> {
        let mut write = self.store.write().await?;
        // Who corrects the same reading waits here.
        let sheet = held(&mut write, slug, test).await?;
        let sql = "SELECT id FROM reading WHERE id = $1 AND test = $2";
        let there = write.one(sql, &[wrong.into(), test.into()]).await?;
        there.ok_or(RecordsError::NoReading(wrong))?;
        let sql = "SELECT id, token FROM reading WHERE corrects = $1";
        if let Some(row) = write.one(sql, &[wrong.into()]).await? {
            let by: i64 = row.get("id")?;
            return match row.get::<String>("token")? == new.token {
                true => Ok(by),
                false => Err(RecordsError::Corrected { wrong, by }),
            };
        }
        still_taken(&mut write, &sheet, new).await?;
        let id = enter(&mut write, test, new, Some(wrong), by).await?;
        let about = format!("test {test}: reading {wrong} by reading {id}");
        let by = (by.who.as_str(), by.at);
        tell(&mut write, by, Some(slug), "reading corrected", &about).await?;
        write.commit().await?;
        Ok(id)
    }

    /// Every reading of a test, corrected ones too, in the order of entry. [`in_force`]
    /// tells those that count.
    ///
    /// # Errors
    /// [`RecordsError::NoTest`].
    pub async fn readings(&self, slug: &str, test: i64) -> Done<Vec<Reading>> {
        self.test(slug, test).await?;
        let sql = "SELECT id, test, token, point, place, quantity, value, written, gauge, \
                   resolution, calibrated, time, remark, at, who, corrects \
                   FROM reading WHERE test = $1 ORDER BY id";
        let rows = self.store.all(sql, &[test.into()]).await?;
        rows.iter().map(reading).collect()
    }
}

/// Refuses when the test takes no readings, unless it has this one already: then its sender
/// did not hear the answer.
async fn still_taken(write: &mut Write, test: &Test, new: &NewReading) -> Done<()> {
    let Err(refused) = takes_readings(test) else {
        return Ok(());
    };
    let sql = "SELECT id FROM reading WHERE test = $1 AND token = $2";
    let there = write
        .one(sql, &[test.id.into(), (&new.token).into()])
        .await?;
    there.map(drop).ok_or(refused)
}

/// Enters a reading, which is kept if `write` is.
pub(crate) async fn enter(
    write: &mut Write,
    test: i64,
    new: &NewReading,
    corrects: Option<i64>,
    by: &By,
) -> Done<i64> {
    check(new, corrects)?;
    // One that is there under this token is given back as it is.
    let sql = "INSERT INTO reading (test, token, point, place, quantity, value, written, \
               gauge, resolution, calibrated, time, remark, at, who, corrects) \
               VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15) \
               ON CONFLICT (test, token) DO UPDATE SET token = excluded.token \
               RETURNING id, point, place, quantity, written, corrects";
    let values = [
        test.into(),
        (&new.token).into(),
        new.point.into(),
        (&new.place).into(),
        (&new.quantity).into(),
        new.value.into(),
        (&new.written).into(),
        (&new.gauge).into(),
        new.resolution.into(),
        new.calibrated.as_deref().into(),
        (&new.time).into(),
        (&new.remark).into(),
        by.at.into(),
        (&by.who).into(),
        corrects.into(),
    ];
    let row = write.one(sql, &values).await?;
    let row = row.ok_or(sqlx::Error::RowNotFound)?;
    let id = row.get("id")?;
    let there: (i64, Option<i64>) = (row.get("point")?, row.get("corrects")?);
    let said: [String; 3] = [row.get("place")?, row.get("quantity")?, row.get("written")?];
    let same = there == (new.point, corrects)
        && said.each_ref() == [&new.place, &new.quantity, &new.written];
    match same {
        true => Ok(id),
        false => Err(RecordsError::Token(id)),
    }
}

/// A database would take what is no number for none.
fn check(new: &NewReading, corrects: Option<i64>) -> Done<()> {
    let no_number = |number: Option<f64>| number.is_some_and(|number| !number.is_finite());
    if no_number(new.value) || no_number(new.resolution) {
        return Err(RecordsError::Reading("a value is no number"));
    }
    match (new.value, corrects) {
        (None, None) => Err(RecordsError::Reading("it has no value")),
        _ => Ok(()),
    }
}

fn reading(row: &Row) -> Done<Reading> {
    let who: String = row.get("who")?;
    Ok(Reading {
        id: row.get("id")?,
        test: row.get("test")?,
        new: NewReading {
            token: row.get("token")?,
            point: row.get("point")?,
            place: row.get("place")?,
            quantity: row.get("quantity")?,
            value: row.get("value")?,
            written: row.get("written")?,
            gauge: row.get("gauge")?,
            resolution: row.get("resolution")?,
            calibrated: row.get("calibrated")?,
            time: row.get("time")?,
            remark: row.get("remark")?,
        },
        by: By::new(&who, row.get("at")?),
        corrects: row.get("corrects")?,
    })
}
