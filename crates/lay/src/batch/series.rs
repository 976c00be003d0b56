//! A line in its closed form.

use super::kernel;
use crate::chain::TRACE;
use crate::network::{Lay, PartId, PlaceId, Role};
use crate::steady::plan;
use hydraulics::element::{Form, Hold, Passage, REST};
use hydraulics::nozzle::Discharge;
use hydraulics::units::{Measure, Pressure, VolumeRate};

/// A single line, from a supply held at a pressure to one tip. Change any field and
/// ask again: nothing is kept between two questions.
///
/// ```
/// use hydraulics::nozzle::Discharge;
/// use hydraulics::units::{Measure, Pressure};
/// use lay::batch::Series;
/// // 200 ft of 1-3/4 in hose (C 15.5, in SI), 10 ft up, an orifice of K 0.0000127.
/// let line = Series::new(5.4e9, 29_900.0, Discharge::orifice(1.27e-5));
/// let (flow, tip_pressure) = line.flow(Pressure::of_si(1.17e6));
/// assert!((flow.value - 0.0100).abs() < 0.0002);
/// let back = line.pump_pressure(flow);
/// assert!((back.value - 1.17e6).abs() < 1e-3 && tip_pressure < back);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Series {
    /// Loss of a unit flow from the supply to the nozzle's base, Pa per (m3/s)^2,
    /// zero or more: hose (C times its length), appliances, shut-off, screen.
    pub square: f64,
    /// Weight of the water between supply and tip, Pa: what the tip lacks at rest.
    pub rise: f64,
    /// The nozzle.
    pub nozzle: Discharge,
    /// Loss in proportion to flow, Pa s/m3: the trace that every chain of a lay has,
    /// 0.01 Pa at 10 L/s. Leave it as it is to have what [`crate::solve`] says.
    pub trace: f64,
}

impl Series {
    /// A line of loss `square` (Pa per (m3/s)^2) and `rise` (Pa) before `nozzle`.
    pub fn new(square: f64, rise: f64, nozzle: Discharge) -> Self {
        Series {
            square,
            rise,
            nozzle,
            trace: TRACE,
        }
    }

    /// The line from `supply` to a tip. `None` where that is no chain of parts with a
    /// closed form, or no water can pass, or `supply` feeds several lines: then
    /// [`crate::solve`] knows the answer.
    pub fn of(lay: &Lay, supply: PlaceId) -> Option<Self> {
        Self::parted(lay, supply).map(|(series, _)| series)
    }

    /// As [`Series::of`], with the loss of a unit flow in each part, from the supply
    /// to the tip, of which [`Series::square`] is the sum.
    pub fn parted(lay: &Lay, supply: PlaceId) -> Option<(Self, Vec<(PartId, f64)>)> {
        let all = plan(lay);
        let mut leaving = all
            .iter()
            .filter(|chain| chain.from == supply.0 || chain.to == supply.0);
        let (chain, None) = (leaving.next()?, leaving.next()) else {
            return None;
        };
        let (start, end) = (lay.places.get(chain.from)?, lay.places.get(chain.to)?);
        if chain.from != supply.0 || start.role != Role::Supply || end.role != Role::Air {
            return None;
        }
        let mut parts = Vec::with_capacity(chain.parts.len());
        let mut nozzle = None;
        for &(part, backwards) in &chain.parts {
            let law = &lay.parts[part].law;
            let (r, last) = match law.form() {
                Form::Square { r } => (r, None),
                Form::Tip { r, nozzle } if !backwards => (r, Some(nozzle)),
                _ => return None,
            };
            if nozzle.is_some() || law.hold() != Hold::Nothing || law.passage() == Passage::Shut {
                return None;
            }
            nozzle = last;
            parts.push((PartId(part), r));
        }
        let square = parts.iter().map(|(_, r)| r).sum();
        let rise = lay.static_head(chain.to) - lay.static_head(chain.from);
        let series = Series::new(square, rise, nozzle.filter(is_ordinary)?);
        Some((series, parts))
    }

    /// The same line without the trace of loss that a lay's chains have (0.01 Pa at
    /// 10 L/s): what [`crate::operating_flow`] solves.
    pub fn without_trace(self) -> Self {
        Series { trace: 0.0, ..self }
    }

    /// Flow and nozzle pressure when the supply is held at `pump`; both zero where
    /// the water does not reach the tip.
    #[inline]
    pub fn flow(&self, pump: Pressure) -> (VolumeRate, Pressure) {
        let (q, p) = self.at(pump.value);
        (VolumeRate::of_si(q), Pressure::of_si(p))
    }

    /// As [`Series::flow`], in m3/s and Pa.
    #[inline]
    pub fn at(&self, pump: f64) -> (f64, f64) {
        kernel::one(self, pump)
    }

    /// Pressure that the supply must hold for `flow`.
    pub fn pump_pressure(&self, flow: VolumeRate) -> Pressure {
        let q = flow.value;
        let square = self.square * q * q.max(REST);
        self.nozzle.pressure(flow).pressure + Pressure::of_si(square + self.trace * q + self.rise)
    }
}

/// Are both stops numbers that the closed form is made for, and above the flows
/// where a square law is linear?
fn is_ordinary(nozzle: &Discharge) -> bool {
    let (low, high) = (nozzle.closed, nozzle.open);
    let is_number = |x: f64| x.is_finite() && x > 0.0;
    let numbers = [low.k, low.p, high.k, high.p].into_iter().all(is_number);
    numbers && (nozzle.is_orifice() || (low.k <= high.k && low.p <= high.p && low.flow() > REST))
}
