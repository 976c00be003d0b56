//! Selectable nozzles: a ring chooses one of several orifices.

use super::{Fixed, NozzleError};
use crate::units::{Pressure, VolumeRate};

/// The flows that the ring offers, all rated at one pressure.
#[derive(Debug, Clone, PartialEq)]
pub struct Selectable {
    settings: Vec<Fixed>,
}

impl Selectable {
    /// One setting per flow, all at nozzle pressure `pressure`.
    ///
    /// # Errors
    /// [`NozzleError::NotPositive`] when a flow or the pressure is not above
    /// zero, or when there is no flow at all.
    ///
    /// ```
    /// use hydraulics::nozzle::Selectable;
    /// use hydraulics::units::{parse, Kind};
    /// let flows = ["30 gpm", "60 gpm", "95 gpm", "125 gpm"];
    /// let flows = flows.map(|f| parse(Kind::Flow, f).unwrap());
    /// let nozzle = Selectable::rated(&flows, parse(Kind::Pressure, "100 psi")?)?;
    /// assert_eq!(nozzle.settings().len(), 4);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn rated(flows: &[VolumeRate], pressure: Pressure) -> Result<Self, NozzleError> {
        if flows.is_empty() {
            return Err(NozzleError::NotPositive {
                what: "number of flow settings",
            });
        }
        let settings = flows.iter().map(|&f| Fixed::rated(f, pressure));
        Ok(Selectable {
            settings: settings.collect::<Result<_, _>>()?,
        })
    }

    /// The settings in the order given.
    pub fn settings(&self) -> &[Fixed] {
        &self.settings
    }
}
