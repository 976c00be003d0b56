//! How any nozzle passes water: Q = K sqrt(p), with K on its closed stop up to one
//! pressure, on its open stop from another on, and between them in a straight line
//! with pressure. An orifice has two stops that are the same. SI; the law and its
//! sources are those of [`super::Automatic`].

use crate::element::{Loss, square};
use crate::units::{Measure, Pressure, VolumeRate};

/// One end of a nozzle's range.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stop {
    /// Discharge factor, m3/s per square root of Pa; above zero.
    pub k: f64,
    /// Nozzle pressure at which the baffle comes to this stop, Pa; above zero.
    pub p: f64,
}

impl Stop {
    /// Flow at which the baffle comes to this stop, m3/s.
    pub fn flow(self) -> f64 {
        self.k * self.p.sqrt()
    }
}

/// A nozzle between two stops, neither factor nor pressure falling from the
/// closed one to the open one.
///
/// ```
/// use hydraulics::nozzle::Discharge;
/// use hydraulics::units::{Measure, VolumeRate};
/// let orifice = Discharge::orifice(1e-5);
/// let pressure = orifice.pressure(VolumeRate::of_si(0.01)).pressure;
/// assert!((pressure.value - 1e6).abs() < 1e-6);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Discharge {
    /// The least open.
    pub closed: Stop,
    /// The most open.
    pub open: Stop,
}

impl Discharge {
    /// One orifice of factor `k`, whatever the pressure.
    pub fn orifice(k: f64) -> Self {
        let stop = Stop { k, p: 1.0 };
        Discharge {
            closed: stop,
            open: stop,
        }
    }

    /// Is it one orifice, whatever the pressure?
    pub fn is_orifice(&self) -> bool {
        self.closed == self.open
    }

    /// Nozzle pressure at `flow`, and its slope (zero in a flat range).
    pub fn pressure(&self, flow: VolumeRate) -> Loss {
        let orifice = |k: f64| square(1.0 / (k * k), flow);
        let q = flow.value;
        if self.is_orifice() || q <= self.closed.flow() {
            orifice(self.closed.k)
        } else if q >= self.open.flow() {
            orifice(self.open.k)
        } else {
            self.in_range(flow)
        }
    }

    /// Nozzle pressure at a flow between those of the two stops, and its slope.
    pub fn in_range(&self, flow: VolumeRate) -> Loss {
        in_range(self.closed, self.open, flow.value)
    }

    /// Flow at nozzle pressure `pressure`; zero at zero or less. In a flat range,
    /// where any flow belongs to the one pressure, the largest.
    pub fn flow(&self, pressure: Pressure) -> VolumeRate {
        let (low, high) = (self.closed, self.open);
        let p = pressure.value.max(0.0);
        let k = if p >= high.p {
            high.k
        } else if p < low.p {
            low.k
        } else {
            low.k + (high.k - low.k) * (p - low.p) / (high.p - low.p)
        };
        VolumeRate::of_si(k * p.sqrt())
    }
}

/// The pressure between the stops: with t the share of the travel,
/// (K1 + t dK) sqrt(p1 + t dp) = q. Newton on t from the chord; the left side
/// is concave or convex and rising, so a bracket keeps every step inside.
fn in_range(low: Stop, high: Stop, q: f64) -> Loss {
    let (dk, dp) = (high.k - low.k, high.p - low.p);
    let (mut lo, mut hi) = (0.0, 1.0);
    let mut t = (q - low.flow()) / (high.flow() - low.flow());
    let mut rise = 0.0;
    for _ in 0..40 {
        let (k, p) = (low.k + t * dk, low.p + t * dp);
        let root = p.sqrt();
        let miss = k * root - q;
        rise = dk * root + 0.5 * k * dp / root;
        let step = miss / rise;
        if miss.abs() <= 4.0 * f64::EPSILON * q || step.abs() < 1e-16 {
            break;
        }
        if miss > 0.0 {
            hi = t
        } else {
            lo = t
        }
        let next = t - step;
        t = if next > lo && next < hi {
            next
        } else {
            0.5 * (lo + hi)
        };
    }
    Loss {
        pressure: Measure::of_si(low.p + t * dp),
        slope: Measure::of_si(dp / rise),
    }
}
