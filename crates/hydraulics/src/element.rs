//! What every part of a line is to the solver: a thing that loses pressure
//! with flow.

use crate::nozzle::Discharge;
use crate::units::{Measure, Pressure, Slope, VolumeRate};

/// Pressure lost at a flow, and how fast the loss grows with flow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Loss {
    /// Inlet pressure less outlet pressure, elevation apart.
    pub pressure: Pressure,
    /// Derivative of `pressure` by flow; never negative.
    pub slope: Slope,
}

/// Which way water can go through an element.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Passage {
    /// Either way: hose, appliances.
    Free,
    /// From inlet to outlet only: check valves, tips (air is not drawn in).
    OneWay,
    /// Not at all: a closed gate.
    Shut,
}

/// What an element does besides losing pressure: how its outlet follows from
/// its inlet. All three are monotone, so that a lay of them has one answer.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum Hold {
    /// The outlet has the inlet's pressure less the loss.
    #[default]
    Nothing,
    /// The outlet is held at `setting`, or has the inlet's pressure less the loss
    /// where that is lower: a pressure-regulating valve, a governed pump (whose
    /// loss is below zero).
    Outlet {
        /// The pressure that is held.
        setting: Pressure,
        /// For a pump, the inlet pressure at which it gives nothing any more. A
        /// pump adds pressure and takes none: an inlet above the setting passes
        /// through. `None` for a valve.
        pump_starves_at: Option<Pressure>,
    },
    /// While the outlet has no more than `share` of the inlet's pressure, the
    /// inlet alone sets the flow, as though the outlet had just that share: an
    /// eductor that draws.
    Inlet {
        /// Outlet pressure over inlet pressure up to which this holds.
        share: f64,
    },
}

/// One monotone element of a lay. A new kind of equipment implements this and
/// the solver stays as it is.
///
/// `loss` must be continuous, must not fall with flow, and must be finite for
/// every finite flow; a one-way element is only asked about flows of zero or
/// more.
pub trait Element: std::fmt::Debug + Send + Sync {
    /// Loss at `flow` from inlet to outlet (negative: the other way).
    fn loss(&self, flow: VolumeRate) -> Loss;

    /// Which way water can go.
    fn passage(&self) -> Passage {
        Passage::Free
    }

    /// What it holds. An element that holds something must be
    /// [`Passage::OneWay`] (or shut).
    fn hold(&self) -> Hold {
        Hold::Nothing
    }

    /// Its loss written down, where that can be done. It must say the same as
    /// `loss`; an element that holds something has none.
    fn form(&self) -> Form {
        Form::Any
    }
}

/// A loss written down, so that parts in series can be taken together without
/// asking each of them at every flow.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum Form {
    /// Only [`Element::loss`] knows.
    #[default]
    Any,
    /// In proportion to the square of flow, linear close to rest: hose by a
    /// coefficient, appliances, valves.
    Square {
        /// Loss of a unit flow, Pa per (m3/s)^2; zero or more.
        r: f64,
    },
    /// The end of a line: a square loss, and behind it a nozzle.
    Tip {
        /// Loss of a unit flow before the nozzle's base, Pa per (m3/s)^2.
        r: f64,
        /// The nozzle.
        nozzle: Discharge,
    },
}

/// Flow in m3/s below which a square law is made linear, so that its slope at
/// rest is not zero: 0.06 L/min.
pub const REST: f64 = 1e-6;

/// A loss in proportion to the square of flow, linear close to rest: `r` in Pa per
/// (m3/s)^2. What [`Form::Square`] stands for.
///
/// ```
/// use hydraulics::element::square;
/// use hydraulics::units::{Measure, VolumeRate};
/// assert_eq!(square(2.0, VolumeRate::of_si(-3.0)).pressure.value, -18.0);
/// ```
#[inline]
pub fn square(r: f64, flow: VolumeRate) -> Loss {
    let q = flow.value;
    let (pressure, slope) = if q.abs() > REST {
        (r * q * q.abs(), 2.0 * r * q.abs())
    } else {
        (r * q * REST, r * REST)
    };
    Loss {
        pressure: Pressure::of_si(pressure),
        slope: Slope::of_si(slope),
    }
}

impl std::ops::Add for Loss {
    type Output = Loss;
    fn add(self, other: Loss) -> Loss {
        Loss {
            pressure: self.pressure + other.pressure,
            slope: self.slope + other.slope,
        }
    }
}
