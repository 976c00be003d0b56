//! Reaction force at the nozzle.
//!
//! - Momentum: RF = rho Q v, with v = sqrt(2 NP/rho).
//! - The trade's solid-stream form: RF = 1.57 d^2 NP (lbf, in, psi).
//! - The trade's spray form: RF = 0.0505 Q sqrt(NP) (lbf, gpm, psi).
//! - The rule of thumb for spray at 100 psi: RF = Q/2 (cases NR-06, 07).
//!
//! They differ by design: at the same flow and pressure the spray form gives
//! about 4.5 % less than the solid-stream form. Range: nozzle pressures of 20 to
//! 200 psi. These are formula values: a measured study found the force on the
//! person above the formula in every posture, by up to 50 % (case NR-14). Worked
//! number: 1-3/8 in at 80 psi gives 237 lbf (case NR-02).

use crate::units::{Force, Length, Measure, Pressure, VolumeRate};
use crate::water::TRADE_DENSITY;
use uom::si::{force::pound_force, length::inch, pressure::psi, volume_rate::gallon_per_minute};

/// Which form a reaction was worked out by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// rho Q v.
    Momentum,
    /// 1.57 d^2 NP.
    SolidStream,
    /// 0.0505 Q sqrt(NP).
    Spray,
    /// Q/2, at 100 psi.
    HalfTheFlow,
}

impl Form {
    /// The form as the trade writes it.
    pub fn formula(self) -> &'static str {
        match self {
            Form::Momentum => "rho Q v",
            Form::SolidStream => "1.57 d2 NP",
            Form::Spray => "0.0505 Q sqrt(NP)",
            Form::HalfTheFlow => "Q/2",
        }
    }
}

/// Reaction as momentum of water of 999 kg/m3.
///
/// ```
/// use hydraulics::reaction::momentum;
/// use hydraulics::units::{parse, show, Kind, System};
/// let force = momentum(parse(Kind::Flow, "150 gpm")?, parse(Kind::Pressure, "100 psi")?);
/// assert_eq!(show(Kind::Force, force, System::Us), "79 lbf");
/// # Ok::<(), hydraulics::units::UnitError>(())
/// ```
pub fn momentum(flow: VolumeRate, pressure: Pressure) -> Force {
    Force::of_si(flow.value * (2.0 * TRADE_DENSITY * pressure.value.max(0.0)).sqrt())
}

/// The trade's form for a solid stream from a tip of `bore`.
pub fn solid_stream(bore: Length, pressure: Pressure) -> Force {
    let d = bore.get::<inch>();
    Force::new::<pound_force>(1.57 * d * d * pressure.get::<psi>().max(0.0))
}

/// The trade's form for a spray (combination) nozzle.
pub fn spray(flow: VolumeRate, pressure: Pressure) -> Force {
    let root = pressure.get::<psi>().max(0.0).sqrt();
    Force::new::<pound_force>(0.0505 * flow.get::<gallon_per_minute>() * root)
}

/// The rule of thumb for a spray nozzle at 100 psi: half the gpm in lbf.
pub fn half_the_flow(flow: VolumeRate) -> Force {
    Force::new::<pound_force>(0.5 * flow.get::<gallon_per_minute>())
}

/// People needed for `reaction` when one, two and three can hold `limits`;
/// `None` when three are not enough.
///
/// ```
/// use hydraulics::reaction::people;
/// use hydraulics::units::{parse, Kind};
/// let lbf = |text| parse(Kind::Force, text).unwrap();
/// // Working limits from study notes (cases NR-11 to 13).
/// let limits = [lbf("60 lbf"), lbf("75 lbf"), lbf("95 lbf")];
/// assert_eq!(people(lbf("70 lbf"), limits), Some(2));
/// assert_eq!(people(lbf("120 lbf"), limits), None);
/// ```
pub fn people(reaction: Force, limits: [Force; 3]) -> Option<u8> {
    let count = limits.iter().position(|&limit| reaction <= limit)?;
    u8::try_from(count + 1).ok()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::nozzle::{SmoothBore, TRADE_COEFFICIENT};
    use crate::units::{Kind, Ratio, parse};
    use proptest::prelude::*;

    fn lbf(force: Force) -> f64 {
        force.get::<pound_force>()
    }

    #[test]
    fn book_solid_stream_of_500_gpm() {
        // Case NR-02 (seen): 1-3/8 in at 80 psi gives 237 lbf.
        let bore = parse(Kind::Size, "1-3/8 in").unwrap();
        let force = solid_stream(bore, parse(Kind::Pressure, "80 psi").unwrap());
        assert!((lbf(force) - 237.0).abs() < 0.5);
    }

    #[test]
    fn book_half_the_flow() {
        // Cases NR-06 and NR-07 (seen): 150 and 200 gpm at 100 psi give 75 and 100
        // lbf; the spray form gives about 1 % more.
        for (gpm, printed) in [("150 gpm", 75.0), ("200 gpm", 100.0)] {
            let flow = parse(Kind::Flow, gpm).unwrap();
            let pressure = parse(Kind::Pressure, "100 psi").unwrap();
            assert!((lbf(half_the_flow(flow)) - printed).abs() < 1e-9);
            assert!((lbf(spray(flow, pressure)) / printed - 1.01).abs() < 1e-3);
        }
    }

    proptest! {
        /// The spray form gives about 4.5 % less than the solid-stream form, and
        /// momentum gives what the solid-stream form gives, at any tip.
        #[test]
        fn law_the_forms_differ_as_they_should(mm in 10.0..65.0f64, bar in 1.4..14.0f64) {
            let (bore, pressure) = (Length::of_si(mm / 1e3), Pressure::of_si(bar * 1e5));
            let flow = |c| SmoothBore::new(bore, Ratio::of_si(c)).unwrap().factor().flow(pressure);
            let solid = solid_stream(bore, pressure);
            let sprayed = spray(flow(TRADE_COEFFICIENT), pressure) / solid;
            prop_assert!((sprayed.value - 0.955).abs() < 0.001);
            let pushed = momentum(flow(1.0), pressure) / solid;
            prop_assert!((pushed.value - 1.0).abs() < 0.001);
        }

        #[test]
        fn law_no_pressure_no_reaction(bar in -5.0..=0.0f64, mm in 5.0..60.0f64) {
            let (bore, pressure) = (Length::of_si(mm / 1e3), Pressure::of_si(bar * 1e5));
            prop_assert_eq!(solid_stream(bore, pressure).value, 0.0);
            prop_assert_eq!(spray(VolumeRate::of_si(0.01), pressure).value, 0.0);
            prop_assert_eq!(momentum(VolumeRate::of_si(0.01), pressure).value, 0.0);
        }
    }
}
