//! A screen in the waterway, part of it blocked by debris.
//!
//! Loss in velocity heads of the waterway: (1/(1-b) - 1)^2, the sudden
//! enlargement behind the part that is still open (Borda-Carnot). A model: no
//! measured loss of a clogged nozzle screen was found. Range: b from 0 to 0.99.

use crate::element::{Loss, square};
use crate::units::{Length, Ratio, VolumeRate};
use crate::water::velocity_head;
use uom::si::ratio::ratio;

/// A screen in a round waterway.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Screen {
    /// Diameter of the waterway.
    pub waterway: Length,
    /// Share of the open area that is blocked, 0 to 1.
    pub blocked: Ratio,
}

impl Screen {
    /// Loss at `flow`.
    pub fn loss(&self, flow: VolumeRate) -> Loss {
        square(self.resistance(), flow)
    }

    pub(super) fn resistance(&self) -> f64 {
        let open = 1.0 - self.blocked.get::<ratio>().clamp(0.0, 0.99);
        let heads = (1.0 / open - 1.0).powi(2);
        heads * velocity_head(self.waterway)
    }
}
