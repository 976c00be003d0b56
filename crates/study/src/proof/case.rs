//! A test on its way to a law: its points as rows of numbers.

use super::gauges::{self, Corrected};
use super::model::{Place, Subject, Test};
use super::points::Point;
use crate::reduce::{Gauge, Law, Reading};
use book::{Book, HydrantSupply, TestFlow};
use hydraulics::nozzle::Nozzle;
use hydraulics::units::{Kind, Measure, Pressure};

/// A test, its points that count, and what is known of its gauges.
pub(super) struct Case<'a> {
    pub book: &'a Book,
    pub test: &'a Test,
    pub points: Vec<Point<'a>>,
    pub corrected: &'a [Corrected],
}

/// What a test is reduced by.
pub(super) struct Setup {
    /// The law.
    pub law: Box<dyn Law>,
    /// In words, with its equation and its source.
    pub words: String,
    /// A row for each point that has all its values.
    pub rows: Vec<Reading>,
    /// The points of the rows.
    pub numbers: Vec<u32>,
    /// Points that lack a value, and which.
    pub lacking: Vec<(u32, String)>,
    /// The book's parameters.
    pub book: Option<Vec<f64>>,
    /// How it is drawn.
    pub axes: Axes,
}

/// How a test is drawn: which column goes along, and what goes up.
pub(super) struct Axes {
    pub x: (&'static str, Kind),
    pub y: (&'static str, Kind),
    /// The column that goes along.
    pub column: usize,
    /// The columns that make what goes up.
    pub up: Vec<usize>,
    /// A row whose response is nought and that is fitted out but for `column`.
    pub row: Vec<f64>,
    /// Where the drawing begins.
    pub from: f64,
}

impl Case<'_> {
    /// The gauge at `place`.
    pub fn gauge(&self, place: Place) -> Gauge {
        gauges::at(self.book, self.test, place, self.corrected)
    }

    /// The SI value at `place` of `point`, corrected where its gauge is.
    pub fn value(&self, point: &Point<'_>, place: Place) -> Option<f64> {
        let reading = point.at(place)?;
        let (value, gauge) = (reading.value, reading.gauge.as_str());
        Some(gauges::corrected(value, gauge, place, self.corrected))
    }

    /// The flow of `point`: of the meter, else by the pitot.
    pub fn flow(&self, point: &Point<'_>) -> Option<f64> {
        let metered = self.value(point, Place::Flow);
        metered.or_else(|| Some(self.by_pitot(self.value(point, Place::Pitot)?)?))
    }

    /// The flow that a pitot pressure tells.
    fn by_pitot(&self, pitot: f64) -> Option<f64> {
        let pitot = Pressure::of_si(pitot.max(0.0));
        if let Some(tip) = &self.test.pitot_tip {
            let law = self.book.nozzle(tip)?.item.at(None).ok()?;
            return matches!(law, Nozzle::SmoothBore(_)).then(|| law.flow(pitot).si());
        }
        let Subject::Hydrant { hydrant } = &self.test.subject else {
            return None;
        };
        let HydrantSupply::Test { flow, .. } = &self.book.hydrant.get(hydrant)?.supply else {
            return None;
        };
        let TestFlow::Outlets(outlets) = flow else {
            return None;
        };
        let [outlet] = outlets.as_slice() else {
            return None;
        };
        let kind = Kind::Pressure;
        let pitot = book::Stated::of(kind, pitot, self.book.units).ok()?;
        let read = book::PitotReading {
            pitot,
            ..outlet.clone()
        };
        Some(read.flow().si())
    }

    /// What the flow may be off by: by the meter, or by the pitot at the middle of what
    /// was read.
    pub fn flow_gauge(&self) -> Gauge {
        let metered = |point: &Point<'_>| point.at(Place::Flow).is_some_and(|r| r.value > 0.0);
        if self.points.iter().any(metered) {
            return self.gauge(Place::Flow);
        }
        let pitots = self.points.iter().filter_map(|p| self.value(p, Place::Pitot));
        let mut pitots: Vec<f64> = pitots.filter(|p| *p > 0.0).collect();
        pitots.sort_by(f64::total_cmp);
        let Some(middle) = pitots.get(pitots.len() / 2).copied() else {
            return self.gauge(Place::Flow);
        };
        let flow = self.by_pitot(middle).unwrap_or(0.0);
        let pitot = self.gauge(Place::Pitot);
        // Flow goes with the root: half the share.
        let by_flow = |off: f64| flow * off / (2.0 * middle);
        let share = (pitot.accuracy / (2.0 * middle)).hypot(pitot.accuracy_share / 2.0);
        Gauge {
            resolution: by_flow(pitot.resolution),
            swing: by_flow(pitot.swing),
            accuracy: 0.0,
            accuracy_share: share.hypot(TIP_SHARE),
            name: pitot.name,
        }
    }

    /// The rows that `values` makes of the points, and the points that it cannot.
    pub fn rows(
        &self,
        values: impl Fn(&Point<'_>) -> Option<Vec<f64>>,
    ) -> (Vec<Reading>, Vec<u32>, Vec<(u32, String)>) {
        let (mut rows, mut numbers, mut lacking) = (Vec::new(), Vec::new(), Vec::new());
        for point in &self.points {
            match values(point) {
                Some(values) => {
                    let name = match point.time() {
                        "" => format!("point {}", point.number),
                        time => format!("point {}, {time}", point.number),
                    };
                    rows.push(Reading { name, values });
                    numbers.push(point.number);
                }
                None => {
                    let owned: Vec<_> = point.readings.iter().map(|r| (*r).clone()).collect();
                    let tip = self.test.pitot_tip.as_deref();
                    let what =
                        super::points::missing(self.book, &self.test.subject, tip, &owned);
                    let what = what.map_or("a value is missing".into(), |(what, _)| what);
                    lacking.push((point.number, what));
                }
            }
        }
        (rows, numbers, lacking)
    }
}

/// What a solid tip's coefficient may be off by as a share (memory: tips of good form
/// lie within 1 % of the trade's coefficient).
const TIP_SHARE: f64 = 0.01;
