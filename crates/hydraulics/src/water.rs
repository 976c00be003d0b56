//! Fresh water by temperature.
//!
//! Density: Kell (J. Chem. Eng. Data 20, 1975), kg/m3, 0 to 100 C, within 0.02.
//! Viscosity: Likhachev (Tech. Phys. 48, 2003), mu = 2.4055e-5
//! exp(4.753 / (8.314e-3 (T - 139.7))) Pa s at low pressure, 0 to 100 C, within
//! 2.5 % (worst near freezing). Both from memory; checked against a general-purpose reference library.
//! Worked number: one foot of water at 60 F weighs 0.433 psi (printed 0.434, case
//! EL-06).

use crate::units::{
    DynamicViscosity, Length, MassDensity, Measure, Pressure, ThermodynamicTemperature,
};
use uom::si::{
    length::foot, pressure::psi, thermodynamic_temperature::degree_celsius,
    thermodynamic_temperature::degree_fahrenheit,
};

/// Standard gravity, m/s2.
pub const GRAVITY: f64 = 9.806_65;

/// Density to which the trade's constants belong, kg/m3: water at 60 F. Nozzles,
/// valves and streams are reckoned with it.
pub(crate) const TRADE_DENSITY: f64 = 999.0;

/// Velocity pressure at unit flow in a round waterway, Pa per (m3/s)^2.
pub(crate) fn velocity_head(waterway: Length) -> f64 {
    let area = std::f64::consts::FRAC_PI_4 * waterway.value * waterway.value;
    0.5 * TRADE_DENSITY / (area * area)
}

/// Fresh water at one temperature, kept within 0 to 100 C.
///
/// ```
/// use hydraulics::units::{parse, show, Kind, System};
/// use hydraulics::water::Water;
/// let rise = Water::default().static_pressure(parse(Kind::Length, "100 ft")?);
/// assert_eq!(show(Kind::Pressure, rise, System::Us), "43 psi");
/// # Ok::<(), hydraulics::units::UnitError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Water {
    celsius: f64,
}

impl Default for Water {
    /// Water at 60 F, to which the trade's constants belong.
    fn default() -> Self {
        Water::at(ThermodynamicTemperature::new::<degree_fahrenheit>(60.0))
    }
}

impl Water {
    /// Water at `temperature`, brought into 0 to 100 C.
    pub fn at(temperature: ThermodynamicTemperature) -> Self {
        let celsius = temperature.get::<degree_celsius>();
        Water {
            celsius: if celsius.is_nan() {
                15.6
            } else {
                celsius.clamp(0.0, 100.0)
            },
        }
    }

    /// Its temperature.
    pub fn temperature(&self) -> ThermodynamicTemperature {
        ThermodynamicTemperature::new::<degree_celsius>(self.celsius)
    }

    /// Density, about 999 kg/m3 at 60 F.
    pub fn density(&self) -> MassDensity {
        let t = self.celsius;
        let above = 999.839_52
            + t * (16.945_176
                + t * (-7.987_040_1e-3
                    + t * (-46.170_461e-6 + t * (105.563_02e-9 - t * 280.542_53e-12))));
        MassDensity::of_si(above / (1.0 + 16.879_85e-3 * t))
    }

    /// Dynamic viscosity, about 1.1 mPa s at 60 F.
    pub fn viscosity(&self) -> DynamicViscosity {
        let kelvin = self.celsius + 273.15;
        DynamicViscosity::of_si(2.405_5e-5 * (4.753 / (8.314e-3 * (kelvin - 139.7))).exp())
    }

    /// Pressure of a water column of height `rise`: rho g h.
    pub fn static_pressure(&self, rise: Length) -> Pressure {
        Pressure::of_si(self.density().value * GRAVITY * rise.value)
    }
}

/// The trade's rule for a rise: 0.434 psi a foot (cases EL-01, EL-06).
pub fn trade_rise(rise: Length) -> Pressure {
    Pressure::new::<psi>(0.434 * rise.get::<foot>())
}

/// The trade's rule for height in a building: 5 psi for each floor above the
/// first (cases EL-04, EL-09).
pub fn trade_floors(floors_above_first: u32) -> Pressure {
    Pressure::new::<psi>(5.0 * f64::from(floors_above_first))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn book_handbook_density_and_viscosity_at_20_c() {
        // Handbook values for water at 20 C (memory): 998.2 kg/m3, 1.002 mPa s.
        let water = Water::at(ThermodynamicTemperature::new::<degree_celsius>(20.0));
        assert!((water.density().value - 998.2).abs() < 0.05);
        assert!((water.viscosity().value * 1e3 - 1.002).abs() < 0.01);
    }
}
