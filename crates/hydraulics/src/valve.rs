//! Shut-offs and gated outlets: a valve part open.
//!
//! Loss in velocity heads of the waterway: (1/(Cc f) - 1)^2, with f the open
//! share of the waterway's area and Cc = 0.63 + 0.37 f^3 the contraction behind
//! it (Weisbach; both from memory). Nothing when fully open: a nozzle is rated
//! with its shut-off open. A slide uncovers area in step with its travel; a
//! ball uncovers the lens between two equal circles. Range: f from 0.01 to 1.
//!
//! A ball part open disturbs the stream, a slide does not (common practice, no
//! source).

use crate::element::{Element, Form, Loss, Passage, square};
use crate::units::{Length, Ratio, VolumeRate};
use crate::water::velocity_head;
use uom::si::ratio::ratio;

/// How a valve uncovers its waterway.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum ValveKind {
    /// A sleeve or slide: area in step with travel.
    #[default]
    Slide,
    /// A ball: the lens between two circles.
    Ball,
}

/// A valve at one position.
///
/// ```
/// use hydraulics::element::{Element, Passage};
/// use hydraulics::units::{parse, Kind, Measure, Ratio};
/// use hydraulics::valve::{Valve, ValveKind};
/// let valve = Valve {
///     kind: ValveKind::Ball,
///     waterway: parse(Kind::Size, "1-3/8 in")?,
///     gate: Ratio::of_si(0.0),
/// };
/// assert_eq!(valve.passage(), Passage::Shut);
/// # Ok::<(), hydraulics::units::UnitError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Valve {
    /// Slide or ball.
    pub kind: ValveKind,
    /// Diameter of the waterway when fully open.
    pub waterway: Length,
    /// How far it is open, 0 to 1.
    pub gate: Ratio,
}

impl Valve {
    /// Share of the waterway's area that is open.
    pub fn open_share(&self) -> f64 {
        let gate = self.gate.get::<ratio>().clamp(0.0, 1.0);
        match self.kind {
            ValveKind::Slide => gate,
            ValveKind::Ball => {
                let u = 1.0 - gate;
                std::f64::consts::FRAC_2_PI * (u.acos() - u * (1.0 - u * u).sqrt())
            }
        }
    }

    pub(crate) fn resistance(&self) -> f64 {
        let open = self.open_share().max(1e-3);
        let contraction = 0.63 + 0.37 * open.powi(3);
        (1.0 / (contraction * open) - 1.0).powi(2) * velocity_head(self.waterway)
    }
}

impl Element for Valve {
    fn loss(&self, flow: VolumeRate) -> Loss {
        square(self.resistance(), flow)
    }

    fn passage(&self) -> Passage {
        // From a hundredth of its travel on, either kind is surely open.
        if self.gate.value <= 0.01 && self.open_share() < 1e-6 {
            Passage::Shut
        } else {
            Passage::Free
        }
    }

    fn form(&self) -> Form {
        Form::Square {
            r: self.resistance(),
        }
    }
}

/// A check valve: water passes from inlet to outlet only, without loss of its
/// own.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CheckValve;

impl Element for CheckValve {
    fn loss(&self, flow: VolumeRate) -> Loss {
        square(0.0, flow)
    }

    fn passage(&self) -> Passage {
        Passage::OneWay
    }

    fn form(&self) -> Form {
        Form::Square { r: 0.0 }
    }
}
