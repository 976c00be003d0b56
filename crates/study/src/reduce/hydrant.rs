//! A hydrant's curve from readings of flow and residual pressure.
//!
//! P = Ps - (Ps - 20 psi) (Q / Q20)^(1/0.54) (NFPA 291): reduced are the static pressure
//! Ps and the flow Q20 that the hydrant gives at 20 psi, the least residual planned for.

use super::gauge::{Column, Gauge};
use super::law::Law;
use super::model::Model;
use hydraulics::hydrant::{EXPONENT, LEAST_RESIDUAL_PSI};
use hydraulics::units::{Measure, psi};

/// The law of a hydrant. Columns: flow m3/s (nought for the static reading), pressure Pa.
#[derive(Debug, Clone, PartialEq)]
pub struct HydrantCurve {
    columns: [Column; 2],
}

impl HydrantCurve {
    /// The law, its gauges in the order flow, pressure.
    pub fn new([flow, pressure]: [Gauge; 2]) -> Self {
        let columns = [
            Column {
                what: "flow",
                gauge: flow,
            },
            Column {
                what: "residual pressure",
                gauge: pressure,
            },
        ];
        HydrantCurve { columns }
    }
}

fn least() -> f64 {
    psi(LEAST_RESIDUAL_PSI).si()
}

fn residual_at(flow: f64, still: f64, at_20: f64) -> f64 {
    let share = flow / at_20;
    still - (still - least()) * share.abs().powf(1.0 / EXPONENT) * share.signum()
}

impl Model for HydrantCurve {
    fn names(&self) -> Vec<String> {
        vec!["the static pressure".into(), "the flow at 20 psi".into()]
    }

    fn residual(&self, reading: &[f64], p: &[f64]) -> f64 {
        match (reading, p) {
            ([flow, pressure], [still, at_20]) if *at_20 > 0.0 => {
                pressure - residual_at(*flow, *still, *at_20)
            }
            _ => f64::NAN,
        }
    }
}

impl Law for HydrantCurve {
    fn columns(&self) -> &[Column] {
        &self.columns
    }

    fn responses(&self) -> Vec<usize> {
        vec![1]
    }

    /// The static reading: nothing flows, and no meter is needed to know it.
    fn is_known(&self, reading: &[f64], column: usize) -> bool {
        column == 0 && reading.first() == Some(&0.0)
    }

    fn start(&self, readings: &[Vec<f64>]) -> Vec<f64> {
        let pairs = || {
            readings
                .iter()
                .filter_map(|r| Some((*r.first()?, *r.get(1)?)))
        };
        let by_flow = |a: &(f64, f64), b: &(f64, f64)| a.0.total_cmp(&b.0);
        let (least_flow, still) = pairs().min_by(by_flow).unwrap_or_default();
        let (flow, residual) = pairs().max_by(by_flow).unwrap_or_default();
        // A drop must be there to start from; else the fit says that it cannot tell.
        let drop = (still - residual).max(psi(1.0).si());
        let above = (still - least()).max(psi(1.0).si());
        let flow = if flow > least_flow { flow } else { f64::NAN };
        vec![still, flow * (above / drop).powf(EXPONENT)]
    }
}
