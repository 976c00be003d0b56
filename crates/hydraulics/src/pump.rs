//! Pumps on rigs: what they are rated for, and how they are governed.
//!
//! A US pump is rated by three points of net pressure (discharge less intake):
//! all of its flow at 150 psi, 70 % at 200, 50 % at 250 (cases PS-A01 to PS-A03,
//! seen). A metric pump of class FPN by two: its flow at its pressure, half of
//! it at 1.2 times the pressure (EN 1028-1, cases PS-A24 to PS-A26, seen). Between
//! points the capability is p = a Q^-n, a straight line on double logarithmic
//! paper; below the first point nothing is rated, and it is taken as level;
//! above the last the last line is carried on. A department's own pump test can
//! give more points.
//!
//! Governed by pressure, a pump holds its discharge at a setting as far as its
//! capability goes; where the intake is above the setting the water runs
//! through. No pump draws its intake below what it can hold against the air,
//! 22 inHg for one in good order (case PS-A16, seen): there it gives less until
//! the supply can follow. Governed by speed, its net pressure follows its characteristic,
//! p = n^2 p_r (1.25 - 0.25 (Q / (n Qr))^2), by the affinity laws: flow with
//! speed, pressure with its square (case PS-A21, seen). The characteristic is a
//! model: 1.25 is the rise to no flow of a usual centrifugal pump (memory).

use crate::element::{Element, Hold, Loss, Passage};
use crate::units::{Measure, Pressure, Ratio, Slope, VolumeRate, psi};
use uom::si::pressure::inch_of_mercury;

/// Net pressure and share of rated flow at the three standard points.
pub const STANDARD_POINTS: [(f64, f64); 3] = [(250.0, 0.5), (200.0, 0.7), (150.0, 1.0)];

/// Rise from rated pressure to that at no flow, at rated speed.
const NO_FLOW: f64 = 1.25;

/// Why numbers describe no pump.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PumpError {
    /// Fewer than two points.
    #[error("a pump's capability needs two points or more, this has {0}")]
    TooFew(usize),
    /// A flow or a pressure that is not above zero.
    #[error("flow and net pressure of every point must be above zero")]
    NotPositive,
    /// Pressure that rises with flow, or two points at one flow.
    #[error("from point to point flow must rise and net pressure fall")]
    NotFalling,
}

/// What a pump can do: net pressure against flow.
///
/// ```
/// use hydraulics::pump::Pump;
/// use hydraulics::units::{parse, show, Kind, System};
/// let pump = Pump::rated(parse(Kind::Flow, "1250 gpm")?)?;
/// let net = pump.capability(parse(Kind::Flow, "875 gpm")?);
/// assert_eq!(show(Kind::Pressure, net, System::Us), "200 psi");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Pump {
    /// Flow rising, net pressure falling.
    points: Vec<(VolumeRate, Pressure)>,
    rated: VolumeRate,
}

impl Pump {
    /// A pump of the US rating: `flow` at 150 psi net, and its other points.
    /// Rated sizes run from 250 to 3,000 gpm.
    ///
    /// # Errors
    /// [`PumpError::NotPositive`] unless the flow is above zero.
    pub fn rated(flow: VolumeRate) -> Result<Self, PumpError> {
        let points = STANDARD_POINTS.map(|(net, share)| (flow * share, psi(net)));
        Pump::through(points.to_vec())
    }

    /// A pump of the metric rating FPN: `flow` at `pressure`, half of it at 1.2
    /// times the pressure.
    ///
    /// # Errors
    /// [`PumpError::NotPositive`] unless both are above zero.
    pub fn rated_metric(flow: VolumeRate, pressure: Pressure) -> Result<Self, PumpError> {
        Pump::through(vec![(flow * 0.5, pressure * 1.2), (flow, pressure)])
    }

    /// A pump whose capability goes through `points` (flow, net pressure), flow
    /// rising; the last is its rating.
    ///
    /// # Errors
    /// [`PumpError`] says what is wrong with the points.
    pub fn through(points: Vec<(VolumeRate, Pressure)>) -> Result<Self, PumpError> {
        let positive = |v: f64| v.is_finite() && v > 0.0;
        if !points
            .iter()
            .all(|(q, p)| positive(q.value) && positive(p.value))
        {
            return Err(PumpError::NotPositive);
        }
        let falling = |two: &[(VolumeRate, Pressure)]| match two {
            [a, b] => b.0 > a.0 && b.1 < a.1,
            _ => true,
        };
        if !points.windows(2).all(falling) {
            return Err(PumpError::NotFalling);
        }
        match points.as_slice() {
            [.., (rated, _)] if points.len() > 1 => Ok(Pump {
                rated: *rated,
                points,
            }),
            few => Err(PumpError::TooFew(few.len())),
        }
    }

    /// The flow of its last point.
    pub fn rated_flow(&self) -> VolumeRate {
        self.rated
    }

    /// The net pressure at its rated flow.
    pub fn rated_pressure(&self) -> Pressure {
        self.points.last().map_or(Pressure::of_si(0.0), |p| p.1)
    }

    /// Its points, flow rising.
    pub fn points(&self) -> &[(VolumeRate, Pressure)] {
        &self.points
    }

    /// The highest net pressure at `flow`.
    pub fn capability(&self, flow: VolumeRate) -> Pressure {
        self.limit(flow.value).0
    }

    /// The flow it can give at net pressure `net`; `None` above its highest
    /// point.
    pub fn flow_at(&self, net: Pressure) -> Option<VolumeRate> {
        let (first, last) = (self.points.first()?, self.points.last()?);
        if net > first.1 {
            return None;
        }
        let mut two = self.points.iter().zip(self.points.iter().skip(1));
        let within = two.clone().find(|(_, b)| net >= b.1);
        let (a, b) = within.or_else(|| two.next_back())?;
        if net.value <= 0.0 {
            return Some(last.0);
        }
        let n = slope_of(a, b);
        Some(a.0 * (a.1.value / net.value).powf(1.0 / n))
    }

    /// The share of its rated speed at which it adds `net` at `flow`.
    ///
    /// ```
    /// use hydraulics::pump::Pump;
    /// use hydraulics::units::{gpm, psi};
    /// let pump = Pump::rated(gpm(1000.0))?;
    /// assert!((pump.speed(psi(150.0), gpm(1000.0)).value - 1.0).abs() < 1e-9);
    /// # Ok::<(), hydraulics::pump::PumpError>(())
    /// ```
    pub fn speed(&self, net: Pressure, flow: VolumeRate) -> Ratio {
        let still = NO_FLOW * self.rated_pressure().value;
        let drop = still - characteristic(self, flow.value, 1.0).0;
        Ratio::of_si(((net.value + drop) / still).max(0.0).sqrt())
    }

    /// Capability and its slope by flow.
    fn limit(&self, q: f64) -> (Pressure, f64) {
        let mut last = (Pressure::of_si(0.0), 0.0);
        for two in self.points.windows(2) {
            let [a, b] = two else { continue };
            if q <= a.0.value {
                return (a.1, 0.0);
            }
            let n = slope_of(a, b);
            let p = a.1.value * (q / a.0.value).powf(-n);
            last = (Pressure::of_si(p), -n * p / q);
            if q <= b.0.value {
                return last;
            }
        }
        last
    }
}

/// The n of p = a Q^-n between two points.
fn slope_of(a: &(VolumeRate, Pressure), b: &(VolumeRate, Pressure)) -> f64 {
    (a.1.value / b.1.value).ln() / (b.0.value / a.0.value).ln()
}

/// Intake pressure below which no pump in good order draws: 22 inHg under that of
/// the air (case PS-A16).
pub fn least_intake() -> Pressure {
    Pressure::new::<inch_of_mercury>(-22.0)
}

/// How a pump is held.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Governor {
    /// At a discharge pressure.
    Pressure(Pressure),
    /// At a share of its rated speed.
    Speed(Ratio),
}

/// A pump under its governor, from its intake to its discharge.
///
/// ```
/// use hydraulics::element::Element;
/// use hydraulics::pump::{Governed, Governor, Pump};
/// use hydraulics::units::{parse, psi, show, Kind, Measure, Ratio, System};
/// let pump = Pump::rated(parse(Kind::Flow, "1000 gpm")?)?;
/// let starves_at = hydraulics::pump::least_intake();
/// let governed = Governed { pump, governor: Governor::Speed(Ratio::of_si(1.0)), starves_at };
/// let net = -governed.loss(parse(Kind::Flow, "1000 gpm")?).pressure;
/// assert_eq!(show(Kind::Pressure, net, System::Us), "150 psi");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Governed {
    /// What it can do.
    pub pump: Pump,
    /// How it is held.
    pub governor: Governor,
    /// The intake pressure at which it gives nothing any more; usually
    /// [`least_intake`].
    pub starves_at: Pressure,
}

impl Element for Governed {
    /// What it adds, as a loss below zero: its capability, or its
    /// characteristic at a speed.
    fn loss(&self, flow: VolumeRate) -> Loss {
        let (net, slope) = match self.governor {
            Governor::Pressure(_) => {
                let (net, slope) = self.pump.limit(flow.value);
                (net.value, slope)
            }
            Governor::Speed(speed) => characteristic(&self.pump, flow.value, speed.value),
        };
        Loss {
            pressure: Pressure::of_si(-net),
            slope: Slope::of_si(-slope),
        }
    }

    fn passage(&self) -> Passage {
        Passage::OneWay
    }

    fn hold(&self) -> Hold {
        let setting = match self.governor {
            Governor::Pressure(setting) => setting,
            Governor::Speed(_) => Pressure::of_si(f64::INFINITY),
        };
        Hold::Outlet {
            setting,
            pump_starves_at: Some(self.starves_at),
        }
    }
}

/// Net pressure and its slope at a share of the rated speed.
fn characteristic(pump: &Pump, q: f64, speed: f64) -> (f64, f64) {
    let (rated, net) = (pump.rated.value, pump.rated_pressure().value);
    let fall = (NO_FLOW - 1.0) * net / (rated * rated);
    (
        NO_FLOW * net * speed * speed - fall * q * q,
        -2.0 * fall * q,
    )
}

/// Flow at `times` the speed (affinity law).
pub fn flow_at_speed(flow: VolumeRate, times: f64) -> VolumeRate {
    flow * times
}

/// Net pressure at `times` the speed (affinity law).
pub fn pressure_at_speed(net: Pressure, times: f64) -> Pressure {
    net * times * times
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pump() -> Pump {
        Pump::rated(VolumeRate::of_si(0.08)).unwrap()
    }

    #[test]
    fn law_capability_and_flow_are_each_others_inverse() {
        for share in [0.55, 0.7, 0.85, 1.0, 1.2] {
            let flow = VolumeRate::of_si(0.08 * share);
            let net = pump().capability(flow);
            let back = pump().flow_at(net).unwrap();
            assert!((back - flow).value.abs() < 1e-12, "{share}");
        }
        assert_eq!(pump().flow_at(psi(260.0)), None);
    }

    #[test]
    fn law_slopes_are_derivatives() {
        for governor in [
            Governor::Pressure(psi(150.0)),
            Governor::Speed(Ratio::of_si(0.9)),
        ] {
            let governed = Governed {
                pump: pump(),
                governor,
                starves_at: least_intake(),
            };
            for q in [0.01, 0.05, 0.07, 0.09] {
                let at = |q| governed.loss(VolumeRate::of_si(q));
                let (d, h) = (at(q).slope.value, 1e-7);
                let difference = (at(q + h).pressure - at(q - h).pressure).value / (2.0 * h);
                assert!((d - difference).abs() <= 1e-4 * difference.abs().max(1.0));
            }
        }
    }

    #[test]
    fn law_a_speed_gives_back_the_net_pressure_it_was_found_for() {
        for (net, q) in [(60.0, 0.01), (150.0, 0.08), (180.0, 0.05), (10.0, 0.0)] {
            let (net, flow) = (psi(net), VolumeRate::of_si(q));
            let governed = Governed {
                pump: pump(),
                governor: Governor::Speed(pump().speed(net, flow)),
                starves_at: least_intake(),
            };
            let given = -governed.loss(flow).pressure;
            assert!((given - net).value.abs() < 1e-6, "{net:?}");
        }
    }

    #[test]
    fn points_that_rise_are_refused() {
        let points = vec![
            (VolumeRate::of_si(0.02), psi(100.0)),
            (VolumeRate::of_si(0.04), psi(150.0)),
        ];
        assert_eq!(Pump::through(points), Err(PumpError::NotFalling));
        assert_eq!(Pump::through(Vec::new()), Err(PumpError::TooFew(0)));
    }
}
