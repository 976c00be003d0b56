//! A test day reduced: its tests together, since a gauge that is off shows only beside
//! the others.

use crate::fault::Fault;
use crate::form::Sent;
use crate::paper::beside;
use crate::workbench::{Opened, Workbench};
use records::Test;
use std::collections::VecDeque;
use std::sync::{Arc, Mutex, PoisonError};
use study::proof::{Day, Leave, LeftOut, Proof, Proved};

/// A day's tests, and what they say.
pub(crate) struct Reduced {
    pub opened: Arc<Opened>,
    pub tests: Vec<Test>,
    pub day: Day,
    pub proved: Arc<Proved>,
    /// What was left out or corrected.
    pub left: Left,
    leave: Leave,
}

/// What days of one revision were found to say: the day, the result of each of its tests
/// and their reports ask for the same. A reading more is another day.
#[derive(Debug, Default)]
pub(crate) struct Reckoned(Mutex<VecDeque<Kept>>);

type Kept = (Day, Leave, Arc<Proved>);

/// Days of one revision that are kept.
const KEPT: usize = 8;

impl Reckoned {
    fn of(&self, day: &Day, leave: &Leave) -> Option<Arc<Proved>> {
        let kept = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let mut all = kept.iter();
        let found = all.find(|(was, without, _)| was == day && without == leave);
        found.map(|(_, _, proved)| proved.clone())
    }

    fn keep(&self, day: Day, leave: Leave, proved: Arc<Proved>) {
        let mut kept = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if kept.len() >= KEPT {
            kept.pop_front();
        }
        kept.push_back((day, leave, proved));
    }
}

async fn proved(opened: &Arc<Opened>, day: &Day, leave: &Leave) -> Result<Arc<Proved>, Fault> {
    if let Some(proved) = opened.reckoned.of(day, leave) {
        return Ok(proved);
    }
    let asked = (opened.clone(), day.clone(), leave.clone());
    let made = beside(move || study::proof::prove_with(&asked.0.book, &asked.1, &asked.2));
    let made = Arc::new(made.await?);
    let kept = made.clone();
    opened.reckoned.keep(day.clone(), leave.clone(), kept);
    Ok(made)
}

/// What is left out by choice, as the address says it.
#[derive(Debug, Clone, Default)]
pub(crate) struct Left {
    /// The points of one test, each with its reason.
    pub points: Vec<(u32, String)>,
    /// Gauges that are corrected by what the others say.
    pub gauges: Vec<String>,
}

impl Left {
    pub fn of(sent: &Sent) -> Self {
        let points = sent.all("leave").into_iter().filter_map(|point| {
            let point: u32 = point.parse().ok()?;
            let why = sent.own(&format!("why-{point}"));
            Some((point, why.chars().take(200).collect()))
        });
        Left {
            points: points.collect(),
            gauges: sent.all("correct"),
        }
    }

    pub fn is_none(&self) -> bool {
        self.points.is_empty() && self.gauges.is_empty()
    }

    /// As the pairs of an address or a form.
    pub fn pairs(&self) -> Vec<(String, String)> {
        let points = self.points.iter().flat_map(|(point, why)| {
            let point_pair = ("leave".to_string(), point.to_string());
            [point_pair, (format!("why-{point}"), why.clone())]
        });
        let gauges = self.gauges.iter();
        let gauges = gauges.map(|gauge| ("correct".to_string(), gauge.clone()));
        points.chain(gauges).collect()
    }

    /// Why a point is left out; none where it counts.
    pub fn why(&self, point: u32) -> Option<&str> {
        let found = self.points.iter().find(|(p, _)| *p == point);
        found.map(|(_, why)| why.as_str())
    }
}

impl Reduced {
    /// The tests of a day.
    pub async fn of_day(workbench: &Workbench, slug: &str, date: &str) -> Result<Self, Fault> {
        Reduced::open(workbench, slug, date, None, Left::default()).await
    }

    /// The day of a test, which is `left` without some of its points.
    pub async fn of_test(
        workbench: &Workbench,
        slug: &str,
        id: i64,
        left: Left,
    ) -> Result<(Self, usize), Fault> {
        let test = workbench.records.test(slug, id).await?;
        let day = Reduced::open(workbench, slug, &test.new.date, Some(id), left).await?;
        let at = day.tests.iter().position(|other| other.id == id);
        let at = at.ok_or(records::RecordsError::NoTest(id))?;
        Ok((day, at))
    }

    async fn open(
        workbench: &Workbench,
        slug: &str,
        date: &str,
        of: Option<i64>,
        left: Left,
    ) -> Result<Self, Fault> {
        let opened = workbench.open(slug).await?;
        let tests = workbench.records.tests_of_day(slug, date).await?;
        let mut readings = Vec::new();
        for test in &tests {
            readings.extend(workbench.records.readings(slug, test.id).await?);
        }
        let day = records::proof::to_day(&tests, &readings)?;
        let own = tests.iter().position(|test| Some(test.id) == of);
        let subject = own.and_then(|at| day.tests.get(at)).map(|t| &t.subject);
        let one = |(point, why): &(u32, String)| {
            Some(LeftOut {
                subject: subject?.clone(),
                point: *point,
                why: why.clone(),
            })
        };
        let leave = Leave {
            points: left.points.iter().filter_map(one).collect(),
            gauges: left.gauges.clone(),
        };
        let proved = proved(&opened, &day, &leave).await?;
        Ok(Reduced {
            opened,
            tests,
            day,
            proved,
            left,
            leave,
        })
    }

    /// The same, against another revision of the book.
    pub async fn against(self, opened: Arc<Opened>) -> Result<Self, Fault> {
        let proved = proved(&opened, &self.day, &self.leave).await?;
        Ok(Reduced {
            opened,
            proved,
            ..self
        })
    }

    /// A test and its proof.
    pub fn one(&self, at: usize) -> Result<(&Test, &Proof), Fault> {
        let both = self.tests.get(at).zip(self.proved.proofs.get(at));
        both.ok_or_else(|| Fault::Missing("There is no such test on that day.".into()))
    }
}
