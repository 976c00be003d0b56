//! Flow read by pitot at a solid tip or an open outlet, in the place of a meter.
//!
//! Q = Cd (pi/4) d^2 sqrt(2 p / rho), by the trade's density (`hydraulics::nozzle::
//! SmoothBore`). The coefficient is not read but known to some doubt, which all flows of
//! the day share: it has a column and a gauge of its own.

use super::gauge::{Column, Gauge};
use super::law::Law;
use super::model::Model;
use hydraulics::nozzle::{NozzleError, SmoothBore};
use hydraulics::units::{Length, Measure, Ratio};

/// Why flow cannot be read by pitot.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PitotError {
    /// The law has no flow.
    #[error("this law has no flow that a pitot could give")]
    NoFlow,
    /// The bore is no bore.
    #[error(transparent)]
    Bore(#[from] NozzleError),
}

/// A law whose flow is read by pitot. Its columns are those of the law, with the pitot
/// pressure (Pa) where the flow was, and one more at the end: the discharge coefficient
/// of the tip or outlet, its doubt being the [`Gauge::accuracy_share`] of its gauge. A
/// pitot pressure of nought means a shut outlet; a reading with one below nought is
/// refused by its name ([`ReduceError::BelowNought`](super::ReduceError::BelowNought)).
///
/// ```
/// use hydraulics::units::{Kind, Measure, parse, psi};
/// use study::reduce::{ByPitot, Gauge, HydrantCurve, Reading, reduce};
/// let bore = parse(Kind::Size, "2.5 in")?;
/// let gauge = |name: &str| Gauge { name: name.into(), resolution: psi(1.0).si(), ..Gauge::default() };
/// let doubt = Gauge { accuracy_share: 0.03, ..Gauge::exact("coefficient of the outlet") };
/// let curve = HydrantCurve::new([Gauge::exact(""), gauge("hydrant gauge")]);
/// let law = ByPitot::new(curve, bore, gauge("pitot"), doubt)?;
/// let reading = |pitot: f64, residual: f64| Reading {
///     name: "reading".into(),
///     values: vec![psi(pitot).si(), psi(residual).si(), 0.9],
/// };
/// let reduced = reduce(&law, &[reading(0.0, 70.0), reading(16.0, 60.0), reading(36.0, 48.0)])?;
/// assert!(reduced.estimates[1].value > 0.06); // m3/s at 20 psi
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct ByPitot<L> {
    law: L,
    columns: Vec<Column>,
    flow: usize,
    /// Flow by the root of pressure at a coefficient of one, SI.
    ideal: f64,
}

impl<L: Law> ByPitot<L> {
    /// `law`, its flow read by `pitot` on a tip or outlet of `bore`, whose discharge
    /// coefficient is known as well as the gauge `coefficient` says.
    ///
    /// # Errors
    /// [`PitotError`] when the law has no flow, or the bore is not above zero.
    pub fn new(law: L, bore: Length, pitot: Gauge, coefficient: Gauge) -> Result<Self, PitotError> {
        let ideal = SmoothBore::new(bore, Ratio::of_si(1.0))?.factor().si();
        let mut columns = law.columns().to_vec();
        let flow = columns.iter().position(|column| column.what == "flow");
        let flow = flow.ok_or(PitotError::NoFlow)?;
        if let Some(column) = columns.get_mut(flow) {
            *column = Column {
                what: "pitot pressure",
                gauge: pitot,
            };
        }
        columns.push(Column {
            what: "discharge coefficient",
            gauge: coefficient,
        });
        Ok(ByPitot {
            law,
            columns,
            flow,
            ideal,
        })
    }

    /// The law within.
    pub fn law(&self) -> &L {
        &self.law
    }

    /// The flow, m3/s, at pitot pressure `pitot`, Pa, by `coefficient`; below nought
    /// where that is, which a needle may swing to, but no reading be.
    pub fn flow(&self, pitot: f64, coefficient: f64) -> f64 {
        let root = pitot.abs().sqrt().copysign(pitot);
        coefficient * self.ideal * root
    }

    /// The reading as the law within has it: flow for pitot pressure.
    pub fn within(&self, reading: &[f64]) -> Option<Vec<f64>> {
        let (coefficient, rest) = reading.split_last()?;
        let mut row = rest.to_vec();
        let place = row.get_mut(self.flow)?;
        *place = self.flow(*place, *coefficient);
        Some(row)
    }
}

impl<L: Law> Model for ByPitot<L> {
    fn names(&self) -> Vec<String> {
        self.law.names()
    }

    fn residual(&self, reading: &[f64], p: &[f64]) -> f64 {
        match self.within(reading) {
            Some(row) => self.law.residual(&row, p),
            None => f64::NAN,
        }
    }

    fn scale(&self, which: usize, start: f64) -> f64 {
        self.law.scale(which, start)
    }
}

impl<L: Law> Law for ByPitot<L> {
    fn columns(&self) -> &[Column] {
        &self.columns
    }

    fn start(&self, readings: &[Vec<f64>]) -> Vec<f64> {
        let rows: Vec<Vec<f64>> = readings.iter().filter_map(|r| self.within(r)).collect();
        self.law.start(&rows)
    }

    /// Those of the law; a pitot pressure is one where the flow is.
    fn responses(&self) -> Vec<usize> {
        self.law.responses()
    }

    fn is_known(&self, reading: &[f64], column: usize) -> bool {
        let shut = reading.get(self.flow) == Some(&0.0);
        if column == self.flow || column + 1 == self.columns.len() {
            return shut;
        }
        self.within(reading)
            .is_some_and(|row| self.law.is_known(&row, column))
    }

    fn below_nought(&self, reading: &[f64]) -> Option<usize> {
        let pitot = reading.get(self.flow)?;
        (*pitot < 0.0).then_some(self.flow)
    }

    fn has_corners(&self) -> bool {
        self.law.has_corners()
    }
}
