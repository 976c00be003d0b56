//! An automatic nozzle from readings of flow and nozzle pressure through its range and
//! past both ends: the lowest and highest flow of the range and the pressures there.
//!
//! Fitted as pressure by flow, which stays smooth for a regulator that is nearly flat:
//! below the range NP = (Q/Kmin)^2, in it by the balance of spring and baffle, above it
//! (Q/Kmax)^2 (`hydraulics::nozzle::Automatic`).
//!
//! The law has corners at the ends of the range, where the covariance of a fit sees only
//! one side: the intervals are found by how fast the fit gets worse (`profile`).

use super::gauge::{Column, Gauge};
use super::law::Law;
use super::model::Model;
use hydraulics::nozzle::Automatic;
use hydraulics::units::{Measure, Pressure, VolumeRate};

/// The law of an automatic nozzle. Columns: flow m3/s, nozzle pressure Pa. Parameters:
/// flow and pressure at the low end of the range, then at the high end.
#[derive(Debug, Clone, PartialEq)]
pub struct AutomaticNozzle {
    columns: [Column; 2],
}

impl AutomaticNozzle {
    /// The law, its gauges in the order flow, pressure.
    pub fn new([flow, pressure]: [Gauge; 2]) -> Self {
        let columns = [
            Column {
                what: "flow",
                gauge: flow,
            },
            Column {
                what: "nozzle pressure",
                gauge: pressure,
            },
        ];
        AutomaticNozzle { columns }
    }

    /// The sum of squares in the readings' own pressures, for choosing a start.
    fn squares(&self, readings: &[Vec<f64>], p: &[f64]) -> f64 {
        readings
            .iter()
            .map(|reading| self.residual(reading, p).powi(2))
            .sum()
    }
}

/// The nozzle with these ends, if there can be one.
fn nozzle(p: &[f64]) -> Option<Automatic> {
    let [low_flow, low, high_flow, high] = p else {
        return None;
    };
    let flows = (VolumeRate::of_si(*low_flow), VolumeRate::of_si(*high_flow));
    Automatic::new(flows, (Pressure::of_si(*low), Pressure::of_si(*high))).ok()
}

impl Model for AutomaticNozzle {
    fn names(&self) -> Vec<String> {
        let ends = [
            "the lowest flow of the range",
            "the pressure there",
            "the highest flow of the range",
            "the pressure at the highest flow",
        ];
        ends.map(String::from).to_vec()
    }

    fn residual(&self, reading: &[f64], p: &[f64]) -> f64 {
        match (reading, nozzle(p)) {
            ([flow, pressure], Some(nozzle)) => {
                pressure - nozzle.pressure(VolumeRate::of_si(*flow)).pressure.si()
            }
            _ => f64::NAN,
        }
    }
}

impl Law for AutomaticNozzle {
    fn columns(&self) -> &[Column] {
        &self.columns
    }

    fn responses(&self) -> Vec<usize> {
        vec![1]
    }

    fn is_known(&self, reading: &[f64], column: usize) -> bool {
        column == 0 && reading.first() == Some(&0.0)
    }

    fn has_corners(&self) -> bool {
        true
    }

    /// The two readings that, taken for the ends of the range, leave the least.
    fn start(&self, readings: &[Vec<f64>]) -> Vec<f64> {
        let mut best = (f64::INFINITY, vec![f64::NAN; 4]);
        for low in readings {
            for high in readings {
                let ends = [low.as_slice(), high.as_slice()].concat();
                let squares = self.squares(readings, &ends);
                if squares < best.0 {
                    best = (squares, ends);
                }
            }
        }
        best.1
    }
}
