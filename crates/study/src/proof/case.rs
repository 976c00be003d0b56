//! A test on its way to a law: its points as rows of numbers.

use super::gauges::{self, Corrected};
use super::model::{Place, Subject, Test};
use super::points::Point;
use crate::reduce::{ByPitot, Gauge, Law, Reading};
use book::{Book, HydrantSupply, NozzleKind, PitotReading, TestFlow};
use hydraulics::nozzle::{Nozzle, SmoothBore};
use hydraulics::units::{Kind, Length, Measure, Pressure, Ratio};

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
    /// A row that is fitted out but for `column`.
    pub row: Vec<f64>,
    /// Flow by the root of pressure, SI, where `column` is read by a pitot.
    pub by_pitot: Option<f64>,
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
        // Shut, neither meter nor pitot is looked at.
        if matches!(place, Place::Flow | Place::Pitot) && reading.value == 0.0 {
            return Some(0.0);
        }
        Some(gauges::corrected(
            reading.value,
            &reading.gauge,
            self.corrected,
        ))
    }

    /// The flow of `point`: of the meter, else by the pitot.
    pub fn flow(&self, point: &Point<'_>) -> Option<f64> {
        let metered = self.value(point, Place::Flow);
        metered.or_else(|| self.by_pitot(self.value(point, Place::Pitot)?))
    }

    /// The flow that a pitot pressure tells; none where that is below nought.
    fn by_pitot(&self, pitot: f64) -> Option<f64> {
        if pitot < 0.0 {
            return None;
        }
        let pitot = Pressure::of_si(pitot);
        if let Some(tip) = &self.test.pitot_tip {
            let law = self.book.nozzle(tip)?.item.at(None).ok()?;
            return matches!(law, Nozzle::SmoothBore(_)).then(|| law.flow(pitot).si());
        }
        let outlet = self.outlet()?;
        let kind = Kind::Pressure;
        let pitot = book::Stated::of(kind, pitot, self.book.units).ok()?;
        let read = PitotReading {
            pitot,
            ..outlet.clone()
        };
        Some(read.flow().si())
    }

    /// Is every flow by pitot?
    pub fn is_by_pitot(&self) -> bool {
        let metered = |point: &Point<'_>| self.value(point, Place::Flow).is_some_and(|q| q > 0.0);
        let pitot = |point: &Point<'_>| point.at(Place::Pitot).is_some();
        self.points.iter().any(pitot) && !self.points.iter().any(metered)
    }

    /// The gauge of the flow: of the meter. A pitot is put in its place by
    /// [`Case::with_pitot`].
    pub fn flow_gauge(&self) -> Gauge {
        self.gauge(Place::Flow)
    }

    /// `setup` with the pitot in the place of the flow, where flows are by pitot.
    pub fn with_pitot(&self, setup: Setup, column: usize) -> Option<Setup> {
        if !self.is_by_pitot() {
            return Some(setup);
        }
        let (bore, doubt) = self.opening()?;
        let pitot = self.gauge(Place::Pitot);
        let ideal = SmoothBore::new(bore, Ratio::of_si(1.0)).ok()?.factor().si();
        let at = |number: &u32| self.points.iter().find(|p| p.number == *number);
        let mut setup = setup;
        for (row, number) in setup.rows.iter_mut().zip(&setup.numbers) {
            let read = at(number).and_then(|point| self.value(point, Place::Pitot));
            let read = read.unwrap_or(0.0);
            let flow = row.values.get(column).copied()?;
            let coefficient = match read > 0.0 {
                true => flow / (ideal * read.sqrt()),
                false => self.by_pitot(1e5)? / (ideal * 1e5_f64.sqrt()),
            };
            if let Some(value) = row.values.get_mut(column) {
                *value = read;
            }
            row.values.push(coefficient);
        }
        let coefficient = setup
            .rows
            .iter()
            .rev()
            .find_map(|r| r.values.last().copied())?;
        setup.axes.row.push(coefficient);
        if setup.axes.column == column {
            setup.axes.by_pitot = Some(coefficient * ideal);
        }
        let law = ByPitot::new(setup.law, bore, pitot, doubt).ok()?;
        setup.law = Box::new(law);
        Some(setup)
    }

    /// The opening on which the pitot is read, and how well its coefficient is known.
    fn opening(&self) -> Option<(Length, Gauge)> {
        let doubt = |share: f64, name: &str| Gauge {
            accuracy_share: share,
            ..Gauge::exact(&format!("the coefficient of {name}"))
        };
        if let Some(tip) = &self.test.pitot_tip {
            return match &self.book.nozzle(tip)?.item.kind {
                NozzleKind::SmoothBore { bore, .. } => Some((bore.get(), doubt(TIP_SHARE, tip))),
                _ => None,
            };
        }
        let outlet = self.outlet()?;
        Some((outlet.size.get(), doubt(OUTLET_SHARE, "the outlet")))
    }

    /// The outlet of a hydrant whose test in the book has one kind alone.
    fn outlet(&self) -> Option<&PitotReading> {
        let Subject::Hydrant { hydrant } = &self.test.subject else {
            return None;
        };
        let HydrantSupply::Test { flow, .. } = &self.book.hydrant.get(hydrant)?.supply else {
            return None;
        };
        match flow {
            TestFlow::Outlets(outlets) => match outlets.as_slice() {
                [outlet] => Some(outlet),
                _ => None,
            },
            TestFlow::Stated(_) => None,
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
                    let what = super::points::missing(self.book, &self.test.subject, tip, &owned);
                    let pitot = self.value(point, Place::Pitot);
                    let what = match what {
                        Some((what, _)) => what,
                        None if pitot.is_some_and(|p| p < 0.0) => {
                            "the pitot pressure is below nought".into()
                        }
                        None => "a value is missing".into(),
                    };
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

/// The same of an outlet of a hydrant (memory: 0.90, 0.80 and 0.70 by its form are good
/// to a few hundredths).
const OUTLET_SHARE: f64 = 0.03;
