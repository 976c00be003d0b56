//! Equipment by serial number, and the tests that it is due for.

use crate::audit::{By, tell};
use crate::model::RecordsError;
use crate::place::Records;
use crate::store::{Done, Row, Write};
use jiff::ToSpan;
use jiff::civil::Date;

/// What a piece of equipment is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Gear {
    /// A length of hose.
    Hose,
    /// A nozzle.
    Nozzle,
    /// A gauge or a flow meter.
    Gauge,
}

impl Gear {
    /// All of them.
    pub const ALL: [Gear; 3] = [Gear::Hose, Gear::Nozzle, Gear::Gauge];

    /// The word for it.
    pub fn word(self) -> &'static str {
        match self {
            Gear::Hose => "hose",
            Gear::Nozzle => "nozzle",
            Gear::Gauge => "gauge",
        }
    }

    /// What `word` means.
    pub fn called(word: &str) -> Option<Self> {
        Gear::ALL.into_iter().find(|gear| gear.word() == word)
    }
}

/// A piece of equipment to enter.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewEquipment {
    /// The number that stands on it.
    pub serial: String,
    /// What it is.
    pub gear: Gear,
    /// Which of the book's hoses or nozzles; may be empty.
    pub item: String,
    /// What people call it.
    pub title: String,
    /// In service since, as "2026-05-11".
    pub since: String,
    /// It is tested every so many months. Hose and nozzles each year, gauges by their
    /// maker's word: from memory, local rules decide.
    pub months: u16,
}

/// A piece of equipment.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Equipment {
    /// What was entered.
    pub new: NewEquipment,
    /// Its latest test.
    pub trial: Option<Trial>,
    /// The day when it was taken out of service for good, and why.
    pub retired: Option<(String, String)>,
}

/// A test of a piece of equipment: an annual one, or a calibration.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Trial {
    /// The day of it, as "2026-05-11".
    pub date: String,
    /// It passed.
    pub passed: bool,
    /// What there is to say: the pressure, what was found.
    pub remark: String,
    /// Who entered it, and when.
    pub by: By,
}

/// How a piece of equipment stands on a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum State {
    /// It failed its latest test: out of service until it passes.
    Failed,
    /// Its test is due, or has been for a while.
    Due,
    /// In service; its first test is not due yet.
    InService,
    /// Tested, and the next test is not due yet.
    Tested,
    /// Out of service for good.
    Retired,
}

impl State {
    /// The word for it.
    pub fn word(self) -> &'static str {
        match self {
            State::Failed => "failed",
            State::Due => "due",
            State::InService => "in service",
            State::Tested => "tested",
            State::Retired => "retired",
        }
    }
}

impl Equipment {
    /// The day on which its next test is due.
    ///
    /// # Errors
    /// [`RecordsError::Day`].
    pub fn due(&self) -> Done<Date> {
        let last = self.trial.as_ref().map(|trial| trial.date.as_str());
        let last = day(last.unwrap_or(&self.new.since))?;
        let due = last.checked_add(i32::from(self.new.months).months());
        due.map_err(|_| RecordsError::Day(last.to_string()))
    }

    /// How it stands on the day `today`, as "2026-05-11".
    ///
    /// # Errors
    /// [`RecordsError::Day`].
    pub fn state(&self, today: &str) -> Done<State> {
        if self.retired.is_some() {
            return Ok(State::Retired);
        }
        let due = self.due()? <= day(today)?;
        Ok(match &self.trial {
            Some(trial) if !trial.passed => State::Failed,
            _ if due => State::Due,
            Some(_) => State::Tested,
            None => State::InService,
        })
    }
}

impl Records {
    /// Enters equipment of a department: all or none.
    ///
    /// # Errors
    /// [`RecordsError::Serial`] when there is one of that number; [`RecordsError::NoBook`];
    /// [`RecordsError::Day`]; [`RecordsError::Unnamed`].
    pub async fn add_equipment(&self, slug: &str, new: &[NewEquipment], by: &By) -> Done<()> {
        self.newest(slug).await?;
        let mut write = self.store.write().await?;
        for piece in new {
            enter(&mut write, slug, piece).await?;
            let (serial, by) = (piece.serial.as_str(), (by.who.as_str(), by.at));
            tell(&mut write, by, Some(slug), "equipment entered", serial).await?;
        }
        write.commit().await
    }

    /// All of a department's equipment with its latest test, by serial number.
    ///
    /// # Errors
    /// [`RecordsError::Database`].
    pub async fn equipment(&self, slug: &str) -> Done<Vec<Equipment>> {
        self.equipment_after(slug, "", i64::MAX).await
    }

    /// A department's equipment with its latest test, by serial number, from the first after
    /// the number `after` on: the next page of a list that ended with that number.
    ///
    /// # Errors
    /// [`RecordsError::Database`].
    pub async fn equipment_after(
        &self,
        slug: &str,
        after: &str,
        at_most: i64,
    ) -> Done<Vec<Equipment>> {
        let sql = "SELECT piece.serial, kind, item, title, since, months, retired, retired_why, \
                   date, passed, remark, at, who \
                   FROM equipment AS piece LEFT JOIN trial ON trial.id = ( \
                   SELECT id FROM trial AS latest \
                   WHERE latest.slug = piece.slug AND latest.serial = piece.serial \
                   ORDER BY date DESC, id DESC LIMIT 1) \
                   WHERE piece.slug = $1 AND piece.serial > $2 ORDER BY piece.serial LIMIT $3";
        let values = [slug.into(), after.into(), at_most.into()];
        let rows = self.store.all(sql, &values).await?;
        rows.iter().map(piece).collect()
    }

    /// A piece of equipment with its latest test.
    ///
    /// # Errors
    /// [`RecordsError::NoSerial`].
    pub async fn piece(&self, slug: &str, serial: &str) -> Done<Equipment> {
        let sql = "SELECT piece.serial, kind, item, title, since, months, retired, retired_why, \
                   date, passed, remark, at, who \
                   FROM equipment AS piece LEFT JOIN trial \
                   ON trial.slug = piece.slug AND trial.serial = piece.serial \
                   WHERE piece.slug = $1 AND piece.serial = $2 \
                   ORDER BY date DESC, trial.id DESC LIMIT 1";
        let row = self.store.one(sql, &[slug.into(), serial.into()]).await?;
        piece(&row.ok_or_else(|| RecordsError::NoSerial(serial.into()))?)
    }

    /// What of a department's equipment is due by the day `by`, as "2026-05-11", or failed
    /// its latest test: with that day, the earliest first.
    ///
    /// # Errors
    /// [`RecordsError::Day`].
    pub async fn due(&self, slug: &str, by: &str) -> Done<Vec<(Date, Equipment)>> {
        let mut due = Vec::new();
        for piece in self.equipment(slug).await? {
            if matches!(piece.state(by)?, State::Due | State::Failed) {
                due.push((piece.due()?, piece));
            }
        }
        due.sort_by(|(a, one), (b, other)| (a, &one.new.serial).cmp(&(b, &other.new.serial)));
        Ok(due)
    }

    /// Every test of a piece of equipment, the latest first.
    ///
    /// # Errors
    /// [`RecordsError::Database`].
    pub async fn trials(&self, slug: &str, serial: &str) -> Done<Vec<Trial>> {
        let sql = "SELECT date, passed, remark, at, who FROM trial \
                   WHERE slug = $1 AND serial = $2 ORDER BY date DESC, id DESC";
        let rows = self.store.all(sql, &[slug.into(), serial.into()]).await?;
        rows.iter().map(trial).collect()
    }

    /// Enters the test of a piece of equipment.
    ///
    /// # Errors
    /// [`RecordsError::NoSerial`]; [`RecordsError::Retired`]; [`RecordsError::Day`].
    pub async fn add_trial(&self, slug: &str, serial: &str, trial: &Trial) -> Done<()> {
        let mut write = self.store.write().await?;
        try_out(&mut write, slug, serial, trial).await?;
        write.commit().await
    }

    /// Takes a piece of equipment out of service for good, on a day as "2026-05-11". It
    /// stays in the records.
    ///
    /// # Errors
    /// [`RecordsError::NoSerial`]; [`RecordsError::Retired`] when it was before;
    /// [`RecordsError::Day`].
    pub async fn retire(
        &self,
        slug: &str,
        serial: &str,
        (date, why): (&str, &str),
        by: &By,
    ) -> Done<()> {
        let mut write = self.store.write().await?;
        put_away(&mut write, slug, serial, (date, why), by).await?;
        write.commit().await
    }
}

/// Enters the test of a piece of equipment.
pub(crate) async fn try_out(
    write: &mut Write,
    slug: &str,
    serial: &str,
    trial: &Trial,
) -> Done<()> {
    day(&trial.date)?;
    in_use(write, slug, serial).await?;
    let sql = "INSERT INTO trial (slug, serial, date, passed, remark, at, who) \
               VALUES ($1, $2, $3, $4, $5, $6, $7)";
    let values = [
        slug.into(),
        serial.into(),
        (&trial.date).into(),
        i64::from(trial.passed).into(),
        (&trial.remark).into(),
        trial.by.at.into(),
        (&trial.by.who).into(),
    ];
    write.run(sql, &values).await?;
    let what = match trial.passed {
        true => "equipment passed",
        false => "equipment failed",
    };
    let by = (trial.by.who.as_str(), trial.by.at);
    tell(write, by, Some(slug), what, serial).await
}

/// Takes a piece of equipment out of service for good.
pub(crate) async fn put_away(
    write: &mut Write,
    slug: &str,
    serial: &str,
    (date, why): (&str, &str),
    by: &By,
) -> Done<()> {
    day(date)?;
    in_use(write, slug, serial).await?;
    let sql = "UPDATE equipment SET retired = $1, retired_why = $2 \
               WHERE slug = $3 AND serial = $4";
    let values = [date.into(), why.into(), slug.into(), serial.into()];
    write.run(sql, &values).await?;
    let by = (by.who.as_str(), by.at);
    tell(write, by, Some(slug), "equipment retired", serial).await
}

fn day(text: &str) -> Done<Date> {
    text.parse().map_err(|_| RecordsError::Day(text.into()))
}

pub(crate) async fn enter(write: &mut Write, slug: &str, piece: &NewEquipment) -> Done<()> {
    day(&piece.since)?;
    if piece.serial.trim().is_empty() {
        return Err(RecordsError::Unnamed("a piece of equipment"));
    }
    let sql = "INSERT INTO equipment (slug, serial, kind, item, title, since, months) \
               VALUES ($1, $2, $3, $4, $5, $6, $7) ON CONFLICT (slug, serial) DO NOTHING";
    let values = [
        slug.into(),
        (&piece.serial).into(),
        piece.gear.word().into(),
        (&piece.item).into(),
        (&piece.title).into(),
        (&piece.since).into(),
        i64::from(piece.months).into(),
    ];
    match write.run(sql, &values).await? {
        0 => Err(RecordsError::Serial(piece.serial.clone())),
        _ => Ok(()),
    }
}

/// Holds a piece of equipment, which must be there and not retired.
async fn in_use(write: &mut Write, slug: &str, serial: &str) -> Done<()> {
    let sql = "SELECT retired FROM equipment WHERE slug = $1 AND serial = $2";
    let row = write.hold(sql, &[slug.into(), serial.into()]).await?;
    let row = row.ok_or_else(|| RecordsError::NoSerial(serial.into()))?;
    match row.get("retired")? {
        None => Ok(()),
        Some(date) => Err(RecordsError::Retired {
            serial: serial.into(),
            date,
        }),
    }
}

fn entered(row: &Row) -> Done<NewEquipment> {
    let word: String = row.get("kind")?;
    let months: i64 = row.get("months")?;
    Ok(NewEquipment {
        serial: row.get("serial")?,
        gear: Gear::called(&word).ok_or(RecordsError::Word(word))?,
        item: row.get("item")?,
        title: row.get("title")?,
        since: row.get("since")?,
        months: u16::try_from(months).map_err(|_| RecordsError::Word(months.to_string()))?,
    })
}

fn retired(row: &Row) -> Done<Option<(String, String)>> {
    let date: Option<String> = row.get("retired")?;
    let why: Option<String> = row.get("retired_why")?;
    Ok(date.map(|date| (date, why.unwrap_or_default())))
}

/// A piece beside its latest test, of which nothing is there before the first.
fn piece(row: &Row) -> Done<Equipment> {
    let tested = row.get::<Option<String>>("date")?.is_some();
    Ok(Equipment {
        new: entered(row)?,
        trial: tested.then(|| trial(row)).transpose()?,
        retired: retired(row)?,
    })
}

fn trial(row: &Row) -> Done<Trial> {
    let who: String = row.get("who")?;
    Ok(Trial {
        date: row.get("date")?,
        passed: row.get::<i64>("passed")? != 0,
        remark: row.get("remark")?,
        by: By::new(&who, row.get("at")?),
    })
}
