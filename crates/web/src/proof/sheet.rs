//! The sheet of a test: what is to be read at each point, and what was.

use super::plan::{OfSheet, of_sheet};
use crate::fault::Fault;
use crate::workbench::{Opened, Workbench};
use records::{Reading, Stage, Test, in_force};
use std::sync::Arc;
use study::proof::{Place, Subject};

/// A test and all of its readings, with the book as it is.
pub(super) struct Sheet {
    pub opened: Arc<Opened>,
    pub test: Test,
    pub subject: Subject,
    pub readings: Vec<Reading>,
    /// What a plan says of it.
    pub planned: Arc<OfSheet>,
}

/// What is expected, by point and place, in SI.
pub(crate) type Expected = Vec<(u32, Place, f64)>;

/// Places with the gauges of the plan.
pub(crate) type Gauges = Vec<(Place, String)>;

/// The most points of a sheet.
pub(super) const POINTS: u32 = 200;

impl Sheet {
    pub async fn open(workbench: &Workbench, slug: &str, id: i64) -> Result<Self, Fault> {
        let opened = workbench.open(slug).await?;
        let test = workbench.records.test(slug, id).await?;
        let readings = workbench.records.readings(slug, id).await?;
        let subject = records::proof::subject(&test.new)?;
        let planned = of_sheet(&opened, &subject, &test.new.date).await?;
        Ok(Sheet {
            opened,
            test,
            subject,
            readings,
            planned,
        })
    }

    /// May readings be entered?
    pub fn is_open(&self) -> bool {
        self.test.stage == Stage::Open
    }

    /// The readings that count.
    pub fn counted(&self) -> Vec<&Reading> {
        in_force(&self.readings)
    }

    /// Those that count of one place at one point: more than one where two testers were
    /// at it at the same time.
    pub fn at(&self, point: u32, place: Place) -> Vec<&Reading> {
        let here = |r: &&Reading| r.new.point == i64::from(point) && r.new.place == place.word();
        self.counted().into_iter().filter(here).collect()
    }

    /// The last that counts of a place before `point`, else the last of all.
    pub fn last(&self, point: u32, place: Place) -> Option<&Reading> {
        let counted = self.counted().into_iter();
        let own = counted.filter(|r| r.new.place == place.word());
        let own: Vec<&Reading> = own.collect();
        let before = own.iter().filter(|r| r.new.point < i64::from(point));
        let before = before.max_by_key(|r| (r.new.point, r.id));
        before.or_else(|| own.last()).copied()
    }

    /// What is expected of a place at a point, in SI.
    pub fn expected(&self, point: u32, place: Place) -> Option<f64> {
        let found = self
            .planned
            .expected
            .iter()
            .find(|(p, l, _)| (*p, *l) == (point, place));
        found.map(|(_, _, value)| *value)
    }

    /// The highest point that was planned or read.
    pub fn points(&self) -> u32 {
        let planned = self
            .planned
            .expected
            .iter()
            .map(|(point, _, _)| *point)
            .max();
        let read = self.counted().into_iter().map(|r| r.new.point).max();
        let read = read.and_then(|point| u32::try_from(point).ok());
        planned.max(read).unwrap_or(0).clamp(1, POINTS)
    }

    /// The first point at which nothing is read, else the one after all.
    pub fn next(&self) -> u32 {
        let read = |point: &u32| {
            self.counted()
                .iter()
                .any(|r| r.new.point == i64::from(*point))
        };
        (1..=POINTS).find(|point| !read(point)).unwrap_or(POINTS)
    }

    /// The places to be read at `point`, and those that can be read too.
    pub fn places(&self, point: u32) -> (Vec<Place>, Vec<Place>) {
        let wanted = |place: &Place| {
            self.expected(point, *place).is_some()
                || !self.at(point, *place).is_empty()
                || match place {
                    Place::Pitot => self.test.new.pitot_tip.is_some(),
                    Place::Flow => self.test.new.pitot_tip.is_none(),
                    // Those that stay the same all day.
                    Place::Rise | Place::Length => point == 1,
                    _ => true,
                }
        };
        self.subject.places().iter().copied().partition(wanted)
    }

    /// "Hose attack: friction".
    pub fn title(&self) -> String {
        match self.test.new.title.as_str() {
            "" => crate::tables::capital(&self.subject.to_string()),
            title => title.into(),
        }
    }
}
