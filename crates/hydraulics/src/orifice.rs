//! Flow of a hydrant outlet from its pitot pressure.
//!
//! Q = 29.84 c d^2 sqrt(p) in gpm, inches and psi; in SI Q = c A sqrt(2 p / rho),
//! with water at 60 F. Sources: 29.83 printed in a flow-test course (case PS-B01,
//! seen) and by NFPA 291 (case NZ-H-01, seen). Range: outlets that run full,
//! pitot pressures of 10 to 30 psi read well.
//!
//! Coefficient of the outlet by how it joins the barrel: 0.90 rounded, 0.80
//! square, 0.70 projecting (NFPA 291, memory; case PS-B09). A large (pumper)
//! outlet does not run full: its flow is multiplied by 0.97, 0.92, 0.89, 0.86,
//! 0.84, 0.83 at pitot pressures of 2, 3, 4, 5, 6, 7 psi and above (NFPA 291,
//! memory; case PS-B10; the last seen in a worked example), linear in between and
//! level outside.

use crate::table::{below, between};
use crate::units::{Length, Measure, Pressure, Ratio, VolumeRate};
use crate::water::TRADE_DENSITY;
use uom::si::{length::inch, pressure::psi};

/// Outlets above this size, in inches, are pumper outlets (memory).
const PUMPER_ABOVE_IN: f64 = 3.0;

/// Pitot pressure, psi, and what the flow of a pumper outlet is multiplied by.
const PUMPER: [(f64, f64); 6] = [
    (2.0, 0.97),
    (3.0, 0.92),
    (4.0, 0.89),
    (5.0, 0.86),
    (6.0, 0.84),
    (7.0, 0.83),
];

/// How an outlet joins the barrel of its hydrant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum OutletShape {
    /// Smooth and rounded: 0.90.
    Rounded,
    /// Square and sharp: 0.80.
    Square,
    /// Projecting into the barrel: 0.70.
    Projecting,
    /// A coefficient from elsewhere, as of a flow tube; it is used as it is, at
    /// large outlets too.
    Stated(Ratio),
}

impl OutletShape {
    /// Its discharge coefficient.
    pub fn coefficient(self) -> Ratio {
        match self {
            OutletShape::Rounded => Ratio::of_si(0.90),
            OutletShape::Square => Ratio::of_si(0.80),
            OutletShape::Projecting => Ratio::of_si(0.70),
            OutletShape::Stated(coefficient) => coefficient,
        }
    }
}

/// Like outlets of a hydrant, open at the same time.
///
/// ```
/// use hydraulics::orifice::{Outlet, OutletShape};
/// use hydraulics::units::{parse, show, Kind, System};
/// let outlet = Outlet {
///     size: parse(Kind::Size, "2.5 in")?,
///     shape: OutletShape::Square,
///     count: 1,
/// };
/// // Printed: 789 gpm (case PS-B01).
/// let flow = outlet.flow(parse(Kind::Pressure, "28 psi")?);
/// assert_eq!(show(Kind::Flow, flow, System::Us), "789 gpm");
/// # Ok::<(), hydraulics::units::UnitError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Outlet {
    /// Bore of each.
    pub size: Length,
    /// How each joins the barrel.
    pub shape: OutletShape,
    /// How many flow.
    pub count: u32,
}

impl Outlet {
    /// A pumper outlet by its size: above 3 in.
    pub fn is_large(&self) -> bool {
        below(PUMPER_ABOVE_IN, self.size.get::<inch>())
    }

    /// Flow of all of them, each at `pitot`; zero at zero or less. The pumper
    /// correction is in it where the outlet is large and its coefficient is not
    /// stated.
    pub fn flow(&self, pitot: Pressure) -> VolumeRate {
        let one = pitot_flow(self.size, self.shape.coefficient(), pitot);
        let stated = matches!(self.shape, OutletShape::Stated(_));
        let share = match self.is_large() && !stated {
            true => pumper_correction(pitot),
            false => Ratio::of_si(1.0),
        };
        one * share * f64::from(self.count)
    }
}

/// Flow of an opening of diameter `size` at velocity pressure `pitot`; zero at
/// zero or less.
pub fn pitot_flow(size: Length, coefficient: Ratio, pitot: Pressure) -> VolumeRate {
    let area = std::f64::consts::FRAC_PI_4 * size.value * size.value;
    let speed = (2.0 * pitot.value.max(0.0) / TRADE_DENSITY).sqrt();
    VolumeRate::of_si(coefficient.value * area * speed)
}

/// What the flow of a pumper outlet is multiplied by.
///
/// ```
/// use hydraulics::{orifice::pumper_correction, units::psi};
/// assert_eq!(pumper_correction(psi(4.0)).value, 0.89);
/// assert_eq!(pumper_correction(psi(20.0)).value, 0.83);
/// ```
pub fn pumper_correction(pitot: Pressure) -> Ratio {
    Ratio::of_si(between(&PUMPER, pitot.get::<psi>()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::psi;

    #[test]
    fn law_flow_goes_with_the_root_of_pitot_pressure_and_the_number_of_outlets() {
        let outlet = |count| Outlet {
            size: Length::of_si(0.0635),
            shape: OutletShape::Rounded,
            count,
        };
        let one = outlet(1).flow(psi(10.0));
        assert!(
            (outlet(1).flow(psi(40.0)) / one - Ratio::of_si(2.0))
                .value
                .abs()
                < 1e-12
        );
        assert!(
            (outlet(3).flow(psi(10.0)) / one - Ratio::of_si(3.0))
                .value
                .abs()
                < 1e-12
        );
        assert_eq!(outlet(1).flow(psi(-1.0)).value, 0.0);
    }

    #[test]
    fn law_only_large_outlets_of_no_stated_coefficient_are_corrected() {
        let flow = |inches: f64, shape| {
            let size = Length::new::<inch>(inches);
            let outlet = Outlet {
                size,
                shape,
                count: 1,
            };
            let plain = pitot_flow(size, shape.coefficient(), psi(10.0));
            (outlet.flow(psi(10.0)) / plain).value
        };
        assert_eq!(flow(2.5, OutletShape::Rounded), 1.0);
        assert!((flow(4.5, OutletShape::Rounded) - 0.83).abs() < 1e-12);
        assert_eq!(flow(4.5, OutletShape::Stated(Ratio::of_si(0.95))), 1.0);
    }
}
