//! Automatic (constant-pressure) nozzles: a baffle held by a spring.
//!
//! Force balance p A = F0 + k x and flow Q = Cd a(x) sqrt(2p/rho), the gap a
//! growing in proportion to the travel x between two stops. In published
//! terms, with K = Q/sqrt(p) and the two ends of the range (Q1 at p1, Q2 at
//! p2): below the range Q = K1 sqrt(p); in it K rises linearly with p from K1
//! to K2; above it Q = K2 sqrt(p). A flat regulator (p2 = p1) is the limit.
//!
//! Range: as rated. Rivals: a fixed orifice (wrong by the whole flow range).
//! Source: the principle is defined by ASTM F1546 (case SF172); the printed
//! measurement 140, 115, 80 gpm at 100 psi with the shut-off full, half and a
//! third open (SF174-176) is a check. Worked number: a baffle of 10 cm2 on a
//! spring of 20 N/mm gains 0.2 bar for 1 mm of travel (SF190).

use super::NozzleError;
use super::discharge::{Discharge, Stop};
use super::factor::{Factor, positive};
use crate::element::Loss;
use crate::units::{Area, Force, Length, Measure, Pressure, Ratio, Stiffness, VolumeRate};
use crate::water::TRADE_DENSITY;
use uom::si::{area::square_meter, force::newton, ratio::ratio};

/// Where the baffle is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Regime {
    /// On its closed stop: a fixed orifice, pressure below the range.
    Below,
    /// Between its stops: the pressure is held.
    In,
    /// On its open stop: a fixed orifice, pressure above the range.
    Above,
}

/// What the regulator is doing.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum Regulator {
    /// Balanced, friction ignored.
    #[default]
    Balanced,
    /// Friction in the regulator holds it more closed than balance: the flow
    /// was rising.
    Opening,
    /// Friction holds it more open than balance: the flow was falling.
    Closing,
    /// Stuck at a share of its travel: a fixed orifice.
    Jammed(Ratio),
    /// Turned to flush: held on its open stop.
    Flush,
}

/// An automatic nozzle at one of its pressure settings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Automatic {
    low: Stop,
    high: Stop,
    band: Pressure,
    regulator: Regulator,
}

impl Automatic {
    /// A nozzle that passes `flows.0` at `pressures.0` on its closed stop and
    /// `flows.1` at `pressures.1` on its open one.
    ///
    /// # Errors
    /// [`NozzleError`] when a number is not above zero, or when flow, pressure
    /// or opening would fall from the low end to the high end.
    ///
    /// ```
    /// use hydraulics::nozzle::Automatic;
    /// use hydraulics::units::{parse, Kind};
    /// let flow = |text| parse(Kind::Flow, text).unwrap();
    /// let pressure = |text| parse(Kind::Pressure, text).unwrap();
    /// let nozzle = Automatic::new(
    ///     (flow("70 gpm"), flow("200 gpm")),
    ///     (pressure("94 psi"), pressure("106 psi")),
    /// )?;
    /// let middle = nozzle.pressure(flow("135 gpm")).pressure;
    /// assert!(middle > pressure("94 psi") && middle < pressure("106 psi"));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn new(
        flows: (VolumeRate, VolumeRate),
        pressures: (Pressure, Pressure),
    ) -> Result<Self, NozzleError> {
        let low = Stop {
            k: Factor::rated(flows.0, pressures.0)?.si(),
            p: pressures.0.value,
        };
        let high = Stop {
            k: Factor::rated(flows.1, pressures.1)?.si(),
            p: pressures.1.value,
        };
        Self::between(low, high)
    }

    fn between(low: Stop, high: Stop) -> Result<Self, NozzleError> {
        let reversed = |what| Err(NozzleError::RangeReversed { what });
        if high.p < low.p {
            return reversed("pressure");
        }
        if high.flow() < low.flow() {
            return reversed("flow");
        }
        if high.k < low.k {
            return reversed("opening");
        }
        Ok(Automatic {
            low,
            high,
            band: Pressure::of_si(0.0),
            regulator: Regulator::Balanced,
        })
    }

    /// The same nozzle with a band of pressure `band` between opening and
    /// closing, from friction in the regulator.
    pub fn with_band(self, band: Pressure) -> Self {
        Automatic { band, ..self }
    }

    /// The same nozzle with its regulator in another state.
    pub fn with_regulator(self, regulator: Regulator) -> Self {
        Automatic { regulator, ..self }
    }

    /// What the regulator is doing.
    pub fn regulator(&self) -> Regulator {
        self.regulator
    }

    /// Pressure between opening and closing at the same flow.
    pub fn band(&self) -> Pressure {
        self.band
    }

    /// The flows at the two ends of the range.
    pub fn flows(&self) -> (VolumeRate, VolumeRate) {
        let flow = |e: Stop| VolumeRate::of_si(e.flow());
        (flow(self.low), flow(self.high))
    }

    /// The pressures at the two ends of the range.
    pub fn pressures(&self) -> (Pressure, Pressure) {
        (Pressure::of_si(self.low.p), Pressure::of_si(self.high.p))
    }

    /// Where the baffle is at `flow`; `None` when it is jammed or held open.
    pub fn regime(&self, flow: VolumeRate) -> Option<Regime> {
        let (low, high) = self.ends()?;
        Some(if flow.value < low.flow() {
            Regime::Below
        } else if flow.value > high.flow() {
            Regime::Above
        } else {
            Regime::In
        })
    }

    /// Nozzle pressure at `flow`, and its slope (zero in a flat range).
    pub fn pressure(&self, flow: VolumeRate) -> Loss {
        self.discharge().pressure(flow)
    }

    /// Flow at nozzle pressure `pressure`. In a flat range, where any flow
    /// belongs to the one pressure, the largest.
    pub fn flow(&self, pressure: Pressure) -> VolumeRate {
        self.discharge().flow(pressure)
    }

    /// How it passes water with its regulator in the state that it is in.
    pub fn discharge(&self) -> Discharge {
        match self.ends() {
            Some((closed, open)) => Discharge { closed, open },
            None => Discharge::orifice(self.stuck()),
        }
    }

    /// The ends of the range as the regulator's friction shifts them; `None`
    /// when the baffle does not move.
    fn ends(&self) -> Option<(Stop, Stop)> {
        let shift = match self.regulator {
            Regulator::Balanced => 0.0,
            Regulator::Opening => 0.5 * self.band.value,
            Regulator::Closing => -0.5 * self.band.value,
            Regulator::Jammed(_) | Regulator::Flush => return None,
        };
        let at = |e: Stop| Stop {
            k: e.k,
            p: (e.p + shift).max(0.01 * e.p),
        };
        Some((at(self.low), at(self.high)))
    }

    fn stuck(&self) -> f64 {
        match self.regulator {
            Regulator::Jammed(share) => {
                let share = share.get::<ratio>().clamp(0.0, 1.0);
                self.low.k + share * (self.high.k - self.low.k)
            }
            _ => self.high.k,
        }
    }
}

/// The spring and the baffle behind an [`Automatic`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spring {
    /// Area on which the water pushes.
    pub baffle: Area,
    /// Spring force on the closed stop.
    pub preload: Force,
    /// Spring force gained over the whole travel.
    pub rise: Force,
    /// Discharge area (coefficient included) on the closed and the open stop.
    pub gap: (Area, Area),
}

impl Spring {
    /// The nozzle that this spring makes.
    ///
    /// # Errors
    /// [`NozzleError`] when an area or the preload is not above zero, or the
    /// gap shrinks.
    pub fn nozzle(&self) -> Result<Automatic, NozzleError> {
        let area = self.baffle.get::<square_meter>();
        let preload = self.preload.get::<newton>();
        let factor = |gap: Area| gap.get::<square_meter>() * (2.0 / TRADE_DENSITY).sqrt();
        positive(area, "baffle area")?;
        positive(preload, "spring preload")?;
        positive(factor(self.gap.0), "gap on the closed stop")?;
        Automatic::between(
            Stop {
                k: factor(self.gap.0),
                p: preload / area,
            },
            Stop {
                k: factor(self.gap.1),
                p: (preload + self.rise.get::<newton>()) / area,
            },
        )
    }

    /// Pressure gained when a baffle of `area` on a spring of `rate` travels by
    /// `travel`: k x / A.
    pub fn pressure_rise(area: Area, rate: Stiffness, travel: Length) -> Pressure {
        rate * travel / area
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use uom::si::{pressure::bar, volume_rate::liter_per_minute};

    fn nozzle(slope_bar: f64) -> Automatic {
        let flow = VolumeRate::new::<liter_per_minute>;
        let pressure = Pressure::new::<bar>;
        Automatic::new(
            (flow(250.0), flow(750.0)),
            (pressure(6.5), pressure(6.5 + slope_bar)),
        )
        .unwrap()
    }

    #[test]
    fn book_spring_gains_pressure_with_travel() {
        // Case SF190, derived: 10 cm2, 20 N/mm, 1 mm gives 0.2 bar.
        let rise = Spring::pressure_rise(
            Area::new::<square_meter>(1e-3),
            Stiffness::of_si(20_000.0),
            Length::of_si(1e-3),
        );
        assert!((rise.get::<bar>() - 0.2).abs() < 1e-12);
    }

    #[test]
    fn law_flat_range_holds_one_pressure() {
        let flat = nozzle(0.0);
        for litres in [250.0, 400.0, 600.0, 749.0] {
            let loss = flat.pressure(VolumeRate::new::<liter_per_minute>(litres));
            assert!((loss.pressure.get::<bar>() - 6.5).abs() < 1e-9);
        }
    }

    #[test]
    fn refuses_a_range_that_falls() {
        let flow = VolumeRate::new::<liter_per_minute>;
        let pressure = Pressure::new::<bar>;
        let reversed = Automatic::new((flow(750.0), flow(250.0)), (pressure(6.0), pressure(7.0)));
        assert!(matches!(reversed, Err(NozzleError::RangeReversed { .. })));
    }

    proptest! {
        #[test]
        fn law_pressure_and_flow_are_inverse(slope in 1e-6..3.0f64, litres in 1.0..2000.0f64) {
            let nozzle = nozzle(slope);
            let flow = VolumeRate::new::<liter_per_minute>(litres);
            let back = nozzle.flow(nozzle.pressure(flow).pressure);
            // A nearly flat range magnifies the last bits of the pressure.
            let tolerance = 1e-6 + 1e-12 / slope;
            prop_assert!((back.get::<liter_per_minute>() / litres - 1.0).abs() < tolerance);
        }

        #[test]
        fn law_pressure_never_falls_with_flow(slope in 0.0..3.0f64, a in 0.0..2000.0f64, b in 0.0..2000.0f64) {
            let nozzle = nozzle(slope);
            let at = |litres| nozzle.pressure(VolumeRate::new::<liter_per_minute>(litres)).pressure;
            prop_assert!(at(a.max(b)).value >= at(a.min(b)).value - 1e-6);
        }

        #[test]
        fn law_slope_is_the_derivative(slope in 0.1..3.0f64, litres in 5.0..2000.0f64) {
            let nozzle = nozzle(slope);
            let at = |litres| nozzle.pressure(VolumeRate::new::<liter_per_minute>(litres));
            let h = 1e-3;
            let ends = [250.0, 750.0 ];
            prop_assume!(ends.iter().all(|e| (litres - e).abs() > 2.0 * h));
            let rise = (at(litres + h).pressure - at(litres - h).pressure)
                / (VolumeRate::new::<liter_per_minute>(2.0 * h));
            prop_assert!((rise.value / at(litres).slope.value - 1.0).abs() < 1e-4);
        }
    }
}
