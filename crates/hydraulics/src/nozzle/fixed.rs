//! Fixed (basic, constant-flow) spray nozzles: one orifice, Q = K sqrt(NP).
//!
//! Range: nozzle pressures of 20 to 200 psi; source: ASTM F1546 calls this the
//! constant flow rate spray nozzle (definition seen: case SF171).

use super::{Factor, NozzleError};
use crate::units::{Pressure, VolumeRate};

/// One orifice, rated at a flow and a pressure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fixed {
    factor: Factor,
}

impl Fixed {
    /// A nozzle that passes `flow` at nozzle pressure `pressure`.
    ///
    /// # Errors
    /// [`NozzleError::NotPositive`] unless both are above zero.
    ///
    /// ```
    /// use hydraulics::nozzle::Fixed;
    /// use hydraulics::units::{parse, Kind};
    /// let nozzle = Fixed::rated(parse(Kind::Flow, "95 gpm")?, parse(Kind::Pressure, "100 psi")?)?;
    /// let quarter = nozzle.factor().flow(parse(Kind::Pressure, "25 psi")?);
    /// assert!((quarter.get::<uom::si::volume_rate::gallon_per_minute>() - 47.5).abs() < 1e-9);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn rated(flow: VolumeRate, pressure: Pressure) -> Result<Self, NozzleError> {
        Factor::rated(flow, pressure).map(Self::of)
    }

    /// A nozzle of discharge factor `factor`.
    pub fn of(factor: Factor) -> Self {
        Fixed { factor }
    }

    /// Its discharge factor.
    pub fn factor(&self) -> Factor {
        self.factor
    }
}
