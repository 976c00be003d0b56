//! What a pump can do, from readings of flow, intake and discharge pressure.
//!
//! Net pressure = discharge - intake, both read at the height of the pump. The
//! capability is p = a Q^-n from one rating point to the next (`hydraulics::pump`),
//! its end lines carried on: reduced are the net pressures at the rating points' flows.
//! What is found is what the pump gave: taken at less than full throttle it can do more.

use super::gauge::{Column, Gauge};
use super::law::Law;
use super::model::Model;
use hydraulics::pump::STANDARD_POINTS;
use hydraulics::units::{Measure, VolumeRate};

/// Why there is no such pump.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum CapabilityError {
    /// Fewer than two flows, or flows that do not rise from above zero.
    #[error("the flows of a pump's rating points must be above zero and rise, two or more")]
    Flows,
}

/// The law of a pump. Columns: flow m3/s, intake pressure Pa, discharge pressure Pa.
/// Parameters: the net pressure at each rating point's flow, flow rising.
#[derive(Debug, Clone, PartialEq)]
pub struct PumpCapability {
    columns: [Column; 3],
    /// Logarithms of the points' flows, and what the points are called.
    points: Vec<(f64, String)>,
}

impl PumpCapability {
    /// The law of a pump of the US rating `rated`: its points are 50, 70 and 100 % of it.
    ///
    /// # Errors
    /// [`CapabilityError`] unless the flow is above zero.
    pub fn rated(rated: VolumeRate, gauges: [Gauge; 3]) -> Result<Self, CapabilityError> {
        let flows = STANDARD_POINTS.map(|(_, share)| rated * share);
        let mut law = PumpCapability::through(&flows, gauges)?;
        for (point, (_, share)) in law.points.iter_mut().zip(STANDARD_POINTS) {
            point.1 = format!("the net pressure at {:.0} % of rated flow", 100.0 * share);
        }
        Ok(law)
    }

    /// The law through points at `flows`, rising.
    ///
    /// # Errors
    /// [`CapabilityError`] for fewer than two flows, or flows that do not rise from above
    /// zero.
    pub fn through(flows: &[VolumeRate], gauges: [Gauge; 3]) -> Result<Self, CapabilityError> {
        let mut rise = flows.windows(2);
        let rising = rise.all(|two| matches!(two, [a, b] if a < b));
        let above = |flow: &VolumeRate| flow.si() > 0.0 && flow.si().is_finite();
        if flows.len() < 2 || !rising || !flows.iter().all(above) {
            return Err(CapabilityError::Flows);
        }
        let mut what = ["flow", "intake pressure", "discharge pressure"].into_iter();
        let points = flows.iter().enumerate();
        Ok(PumpCapability {
            columns: gauges.map(|gauge| Column {
                what: what.next().unwrap_or_default(),
                gauge,
            }),
            points: points
                .map(|(at, flow)| {
                    (
                        flow.si().ln(),
                        format!("the net pressure at point {}", at + 1),
                    )
                })
                .collect(),
        })
    }

    /// The net pressure at `flow` by the pressures at the points.
    fn net(&self, flow: f64, pressures: &[f64]) -> Option<f64> {
        let log = flow.ln();
        let last = self.points.len().checked_sub(2)?;
        let mut inner = self.points.iter().skip(1).take(last);
        let low = inner.position(|(point, _)| log <= *point).unwrap_or(last);
        let ((a, _), (b, _)) = (self.points.get(low)?, self.points.get(low + 1)?);
        let (p, q) = (pressures.get(low)?, pressures.get(low + 1)?);
        let share = (log - a) / (b - a);
        let both = *p > 0.0 && *q > 0.0;
        both.then(|| (p.ln() + share * (q.ln() - p.ln())).exp())
    }
}

impl Model for PumpCapability {
    fn names(&self) -> Vec<String> {
        self.points.iter().map(|(_, name)| name.clone()).collect()
    }

    fn residual(&self, reading: &[f64], p: &[f64]) -> f64 {
        match reading {
            [flow, intake, discharge] if *flow > 0.0 => {
                let net = self.net(*flow, p).unwrap_or(f64::NAN);
                discharge - intake - net
            }
            _ => f64::NAN,
        }
    }
}

impl Law for PumpCapability {
    fn columns(&self) -> &[Column] {
        &self.columns
    }

    fn responses(&self) -> Vec<usize> {
        vec![1, 2]
    }

    /// The net pressure of the reading next to each point.
    fn start(&self, readings: &[Vec<f64>]) -> Vec<f64> {
        let next = |(point, _): &(f64, String)| {
            let by = readings
                .iter()
                .filter_map(|reading| match reading.as_slice() {
                    [flow, intake, discharge] if *flow > 0.0 && discharge > intake => {
                        Some(((flow.ln() - point).abs(), discharge - intake))
                    }
                    _ => None,
                });
            by.min_by(|a, b| a.0.total_cmp(&b.0))
                .map_or(f64::NAN, |(_, net)| net)
        };
        self.points.iter().map(next).collect()
    }
}
