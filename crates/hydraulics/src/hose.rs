//! A run of hose: its friction, its water, its weight, a kink in it.
//!
//! Content V = pi/4 d^2 L (printed: 100 ft of 1.5 in hold 9.2 gal, case VOL-01);
//! velocity v = Q/A (printed: 250 gpm in 2.5 in, 16.3 ft/s, case VEL-01). A kink
//! closes a share of the bore at one point; its loss is that of a valve as far
//! open (a model, no measured source).

use crate::element::{Element, Loss};
use crate::friction::{Friction, FrictionError, Ready, above_zero, not_negative};
use crate::units::{Area, Length, Mass, Measure, Ratio, Velocity, Volume, VolumeRate};
use crate::valve::{Valve, ValveKind};
use crate::water::Water;

/// A length of hose in a line.
///
/// ```
/// use hydraulics::element::Element;
/// use hydraulics::friction::{Coefficient, Friction};
/// use hydraulics::hose::Run;
/// use hydraulics::units::{parse, show, Kind, System};
/// use hydraulics::water::Water;
/// let law = Friction::Coefficient(Coefficient::us(2.0)?);
/// let run = Run::new(law, parse(Kind::Length, "100 ft")?, Water::default())?;
/// let loss = run.loss(parse(Kind::Flow, "200 gpm")?).pressure;
/// assert_eq!(show(Kind::Pressure, loss, System::Us), "8 psi"); // case FL-U-01
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Run {
    ready: Ready,
    kink: Option<Valve>,
}

impl Run {
    /// `length` of hose with friction by `friction`, carrying `water`.
    ///
    /// # Errors
    /// [`FrictionError`] when a bore or coefficient is not above zero, or the
    /// length is below zero.
    pub fn new(friction: Friction, length: Length, water: Water) -> Result<Self, FrictionError> {
        Ok(Run {
            ready: friction.ready(length, water)?,
            kink: None,
        })
    }

    /// The same run with a kink that closes `closed` (0 to 1) of its `bore`.
    ///
    /// # Errors
    /// [`FrictionError`] when the bore is not above zero or the share is not
    /// between 0 and 1.
    pub fn kinked(self, bore: Length, closed: Ratio) -> Result<Self, FrictionError> {
        above_zero(bore.value, "bore")?;
        not_negative(closed.value, "kink")?;
        not_negative(1.0 - closed.value, "opening at the kink")?;
        Ok(Run {
            kink: Some(Valve {
                kind: ValveKind::Slide,
                waterway: bore,
                gate: Ratio::of_si(1.0 - closed.value),
            }),
            ..self
        })
    }
}

impl Element for Run {
    fn loss(&self, flow: VolumeRate) -> Loss {
        let loss = self.ready.loss(flow);
        match self.kink {
            Some(kink) => loss + kink.loss(flow),
            None => loss,
        }
    }

    fn passage(&self) -> crate::element::Passage {
        self.kink
            .map_or(crate::element::Passage::Free, |k| k.passage())
    }
}

fn area(bore: Length) -> Area {
    std::f64::consts::FRAC_PI_4 * bore * bore
}

/// Water held by `length` of hose of bore `bore`.
pub fn content(bore: Length, length: Length) -> Volume {
    area(bore) * length
}

/// Weight, as mass, of the water in `volume`.
pub fn water_weight(volume: Volume, water: Water) -> Mass {
    volume * water.density()
}

/// Velocity of `flow` in a bore; zero in a bore of zero.
pub fn velocity(flow: VolumeRate, bore: Length) -> Velocity {
    if bore.value > 0.0 {
        flow / area(bore)
    } else {
        Velocity::of_si(0.0)
    }
}
