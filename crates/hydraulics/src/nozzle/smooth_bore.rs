//! Smooth-bore tips: Q = 29.84 Cd d^2 sqrt(NP) in gpm, inches and psi.
//!
//! Range: bores of 10 to 65 mm, nozzle pressures of 20 to 200 psi. The trade's
//! 29.7 d^2 sqrt(NP) means Cd = 0.995; the metric 0.066 d^2 sqrt(P) (mm, kPa,
//! L/min) means Cd = 0.990. Sources: NFPA 291 for 29.83 c d^2 sqrt(p) (case
//! NZ-H-01), the Quebec pump operator's table for the metric form (NZ-Q-01).

use super::NozzleError;
use super::factor::{Factor, positive};
use crate::units::{Length, Ratio};
use crate::water::TRADE_DENSITY;
use uom::si::{length::meter, ratio::ratio};

/// Discharge coefficient that turns 29.84 Cd into the trade's 29.7.
pub const TRADE_COEFFICIENT: f64 = 29.7 / 29.84;

/// Discharge coefficient meant by 0.066 d^2 sqrt(P) in mm, kPa and L/min.
pub const METRIC_COEFFICIENT: f64 = 0.066 / 0.066_677;

/// A solid-stream tip.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SmoothBore {
    bore: Length,
    factor: Factor,
}

impl SmoothBore {
    /// A tip of `bore` with discharge coefficient `coefficient`.
    ///
    /// # Errors
    /// [`NozzleError::NotPositive`] unless both are above zero.
    ///
    /// ```
    /// use hydraulics::nozzle::{SmoothBore, TRADE_COEFFICIENT};
    /// use hydraulics::units::{parse, Kind, Measure, Ratio};
    /// let tip = SmoothBore::new(parse(Kind::Size, "1 in")?, Ratio::of_si(TRADE_COEFFICIENT))?;
    /// let flow = tip.factor().flow(parse(Kind::Pressure, "50 psi")?);
    /// // Printed: 210 gpm (case NZ-U-20).
    /// assert!((flow.get::<uom::si::volume_rate::gallon_per_minute>() - 210.0).abs() < 0.1);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn new(bore: Length, coefficient: Ratio) -> Result<Self, NozzleError> {
        let d = bore.get::<meter>();
        let c = coefficient.get::<ratio>();
        positive(d, "bore")?;
        positive(c, "discharge coefficient")?;
        let area = std::f64::consts::FRAC_PI_4 * d * d;
        Ok(SmoothBore {
            bore,
            factor: Factor::of_si(c * area * (2.0 / TRADE_DENSITY).sqrt()),
        })
    }

    /// Diameter of the tip.
    pub fn bore(&self) -> Length {
        self.bore
    }

    /// Its discharge factor.
    pub fn factor(&self) -> Factor {
        self.factor
    }
}
