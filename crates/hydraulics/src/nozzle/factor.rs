//! The discharge factor K of an orifice: Q = K sqrt(p).

use super::NozzleError;
use crate::element::{Loss, square};
use crate::units::{Measure, Pressure, VolumeRate};

/// Discharge factor K in m3/s per square root of Pa, above zero.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Factor(f64);

impl Factor {
    /// The factor of an orifice that passes `flow` at `pressure`.
    ///
    /// # Errors
    /// [`NozzleError::NotPositive`] unless both are above zero and finite.
    pub fn rated(flow: VolumeRate, pressure: Pressure) -> Result<Self, NozzleError> {
        positive(flow.value, "flow")?;
        positive(pressure.value, "pressure")?;
        Ok(Factor(flow.value / pressure.value.sqrt()))
    }

    pub(super) fn of_si(value: f64) -> Self {
        Factor(value)
    }

    /// The SI value, m3/s per square root of Pa.
    pub fn si(self) -> f64 {
        self.0
    }

    /// Flow at `pressure`; zero at zero or less.
    pub fn flow(self, pressure: Pressure) -> VolumeRate {
        VolumeRate::of_si(self.0 * pressure.value.max(0.0).sqrt())
    }

    /// Pressure at `flow`: (Q/K)^2, and its slope.
    pub fn pressure(self, flow: VolumeRate) -> Loss {
        square(1.0 / (self.0 * self.0), flow)
    }
}

pub(crate) fn positive(value: f64, what: &'static str) -> Result<(), NozzleError> {
    if value > 0.0 && value.is_finite() {
        Ok(())
    } else {
        Err(NozzleError::NotPositive { what })
    }
}
