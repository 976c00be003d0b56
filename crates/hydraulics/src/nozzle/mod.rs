//! Nozzles: how flow and nozzle pressure belong together.
//!
//! Nozzle pressure NP is the pressure at the nozzle's base, downstream of its
//! shut-off. Every nozzle is a [`Nozzle`]; with its shut-off and its screen it
//! is a [`Tip`], the element that ends a line.

mod automatic;
mod discharge;
mod factor;
mod fixed;
mod screen;
mod selectable;
mod smooth_bore;

pub use automatic::{Automatic, Regime, Regulator, Spring};
pub use discharge::{Discharge, Stop};
pub use factor::Factor;
pub use fixed::Fixed;
pub use screen::Screen;
pub use selectable::Selectable;
pub use smooth_bore::{METRIC_COEFFICIENT, SmoothBore, TRADE_COEFFICIENT};

use crate::element::{Element, Form, Loss, Passage};
use crate::units::{Pressure, VolumeRate};
use crate::valve::Valve;

/// Why a nozzle cannot be described by the numbers given.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NozzleError {
    /// A number that must be above zero is not.
    #[error("the nozzle's {what} must be above zero")]
    NotPositive {
        /// Which number.
        what: &'static str,
    },
    /// The high end of an automatic nozzle's range lies below its low end.
    #[error("the {what} at the high end of the range is below the one at the low end")]
    RangeReversed {
        /// Flow, pressure or opening.
        what: &'static str,
    },
}

/// Any nozzle, at one setting.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Nozzle {
    /// A solid-stream tip.
    SmoothBore(SmoothBore),
    /// One orifice, whatever the pressure: fixed fog, or a selectable nozzle
    /// at one of its settings.
    Fixed(Fixed),
    /// A spring and a baffle that hold the pressure over a range of flow.
    Automatic(Automatic),
}

impl Nozzle {
    /// Flow at nozzle pressure `pressure`; zero at zero or less.
    pub fn flow(&self, pressure: Pressure) -> VolumeRate {
        match self {
            Nozzle::SmoothBore(n) => n.factor().flow(pressure),
            Nozzle::Fixed(n) => n.factor().flow(pressure),
            Nozzle::Automatic(n) => n.flow(pressure),
        }
    }

    /// Nozzle pressure at `flow`, and its slope.
    pub fn pressure(&self, flow: VolumeRate) -> Loss {
        match self {
            Nozzle::SmoothBore(n) => n.factor().pressure(flow),
            Nozzle::Fixed(n) => n.factor().pressure(flow),
            Nozzle::Automatic(n) => n.pressure(flow),
        }
    }

    /// Where in its range an automatic nozzle is at `flow`; `None` for others.
    pub fn regime(&self, flow: VolumeRate) -> Option<Regime> {
        match self {
            Nozzle::Automatic(n) => n.regime(flow),
            _ => None,
        }
    }

    /// How it passes water, in the one shape that all kinds share.
    pub fn discharge(&self) -> Discharge {
        match self {
            Nozzle::SmoothBore(n) => Discharge::orifice(n.factor().si()),
            Nozzle::Fixed(n) => Discharge::orifice(n.factor().si()),
            Nozzle::Automatic(n) => n.discharge(),
        }
    }

    /// True for a solid stream, false for a combination (spray) nozzle.
    pub fn is_solid(&self) -> bool {
        matches!(self, Nozzle::SmoothBore(_))
    }
}

/// A nozzle behind its shut-off and its screen: the end of a line.
///
/// ```
/// use hydraulics::element::Element;
/// use hydraulics::nozzle::{Fixed, Nozzle, Tip};
/// use hydraulics::units::{parse, Kind, Pressure, VolumeRate};
/// let rated: VolumeRate = parse(Kind::Flow, "150 gpm")?;
/// let at: Pressure = parse(Kind::Pressure, "100 psi")?;
/// let tip = Tip::new(Nozzle::Fixed(Fixed::rated(rated, at)?));
/// let inlet = tip.loss(rated).pressure;
/// assert!((inlet - at).value.abs() < 1.0);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tip {
    /// The nozzle at its setting.
    pub nozzle: Nozzle,
    /// The shut-off just upstream of it, at its gate position.
    pub shutoff: Option<Valve>,
    /// The screen at the nozzle's inlet.
    pub screen: Option<Screen>,
}

impl Tip {
    /// A nozzle with its shut-off fully open and its screen clean.
    pub fn new(nozzle: Nozzle) -> Self {
        Tip {
            nozzle,
            shutoff: None,
            screen: None,
        }
    }

    /// Loss between the tip's inlet and the nozzle's base at `flow`.
    pub fn upstream_loss(&self, flow: VolumeRate) -> Loss {
        let none = crate::element::square(0.0, flow);
        let valve = self.shutoff.map_or(none, |v| v.loss(flow));
        let screen = self.screen.map_or(none, |s| s.loss(flow));
        valve + screen
    }
}

impl Element for Tip {
    fn loss(&self, flow: VolumeRate) -> Loss {
        self.nozzle.pressure(flow) + self.upstream_loss(flow)
    }

    fn passage(&self) -> Passage {
        match self.shutoff {
            Some(valve) if valve.passage() == Passage::Shut => Passage::Shut,
            _ => Passage::OneWay,
        }
    }

    fn form(&self) -> Form {
        Form::Tip {
            r: self.shutoff.map_or(0.0, |v| v.resistance())
                + self.screen.map_or(0.0, |s| s.resistance()),
            nozzle: self.nozzle.discharge(),
        }
    }
}
