//! Solid tips and fixed nozzles from readings of nozzle pressure and flow.

use super::estimate::Estimate;
use super::gauge::{Column, Gauge};
use super::law::Law;
use super::model::Model;
use hydraulics::nozzle::{NozzleError, SmoothBore};
use hydraulics::units::{Length, Measure, Pressure, Ratio, gpm, psi};

/// Q = k c sqrt(NP): k is known, c is reduced. Columns: nozzle pressure Pa, flow m3/s.
#[derive(Debug, Clone, PartialEq)]
struct RootOfPressure {
    columns: [Column; 2],
    known: f64,
    name: &'static str,
}

impl RootOfPressure {
    fn new([pressure, flow]: [Gauge; 2], known: f64, name: &'static str) -> Self {
        let columns = [
            Column {
                what: "nozzle pressure",
                gauge: pressure,
            },
            Column {
                what: "flow",
                gauge: flow,
            },
        ];
        RootOfPressure {
            columns,
            known,
            name,
        }
    }

    /// Flow at a coefficient of one. A needle at or below nought says nothing.
    fn of_one(&self, pressure: f64) -> f64 {
        self.known * pressure.sqrt()
    }
}

impl Model for RootOfPressure {
    fn names(&self) -> Vec<String> {
        vec![self.name.into()]
    }

    fn residual(&self, reading: &[f64], p: &[f64]) -> f64 {
        match (reading, p) {
            ([pressure, flow], [c]) => flow - c * self.of_one(*pressure),
            _ => f64::NAN,
        }
    }
}

impl Law for RootOfPressure {
    fn columns(&self) -> &[Column] {
        &self.columns
    }

    fn responses(&self) -> Vec<usize> {
        vec![1]
    }

    fn start(&self, readings: &[Vec<f64>]) -> Vec<f64> {
        let parts = |reading: &Vec<f64>| match reading.as_slice() {
            [pressure, flow] if *pressure > 0.0 => (*flow, self.of_one(*pressure)),
            _ => (0.0, 0.0),
        };
        let sums = readings.iter().map(parts);
        let (flow, one) = sums.fold((0.0, 0.0), |s, (flow, one)| (s.0 + flow, s.1 + one));
        vec![flow / one]
    }
}

/// The discharge coefficient of a solid tip of known bore:
/// Q = Cd (pi/4) d^2 sqrt(2 NP / rho). Columns: nozzle (pitot) pressure Pa, flow m3/s.
#[derive(Debug, Clone, PartialEq)]
pub struct SmoothBoreTip(RootOfPressure);

impl SmoothBoreTip {
    /// The law of a tip of `bore`, its gauges in the order pressure, flow.
    ///
    /// # Errors
    /// [`NozzleError`] when the bore is not above zero.
    pub fn new(bore: Length, gauges: [Gauge; 2]) -> Result<Self, NozzleError> {
        let ideal = SmoothBore::new(bore, Ratio::of_si(1.0))?.factor().si();
        Ok(SmoothBoreTip(RootOfPressure::new(
            gauges,
            ideal,
            "the discharge coefficient",
        )))
    }
}

/// The factor K of a fixed nozzle: Q = K sqrt(NP), SI. Columns: nozzle pressure Pa,
/// flow m3/s.
#[derive(Debug, Clone, PartialEq)]
pub struct FixedFactor(RootOfPressure);

impl FixedFactor {
    /// The law, its gauges in the order pressure, flow.
    pub fn new(gauges: [Gauge; 2]) -> Self {
        // In units of gpm per root psi the numbers are of a size to work with.
        let unit = gpm(1.0).si() / psi(1.0).si().sqrt();
        FixedFactor(RootOfPressure::new(
            gauges,
            unit,
            "the factor K, gpm per root psi",
        ))
    }

    /// The flow, m3/s, at `pressure` by the reduced factor.
    pub fn flow_at(estimate: &Estimate, pressure: Pressure) -> Estimate {
        let root = (pressure.si() / psi(1.0).si()).max(0.0).sqrt();
        let mut flow = estimate.times(gpm(1.0).si() * root);
        flow.name = "the flow at that pressure".into();
        flow
    }
}

macro_rules! as_inner {
    ($($law:ident),*) => {$(
        impl Model for $law {
            fn names(&self) -> Vec<String> {
                self.0.names()
            }

            fn residual(&self, reading: &[f64], p: &[f64]) -> f64 {
                self.0.residual(reading, p)
            }
        }

        impl Law for $law {
            fn columns(&self) -> &[Column] {
                self.0.columns()
            }

            fn responses(&self) -> Vec<usize> {
                self.0.responses()
            }

            fn start(&self, readings: &[Vec<f64>]) -> Vec<f64> {
                self.0.start(readings)
            }
        }
    )*};
}
as_inner!(SmoothBoreTip, FixedFactor);
