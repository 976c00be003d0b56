//! A run of hose: its friction, its water, its weight, a kink in it.
//!
//! Content V = pi/4 d^2 L (printed: 100 ft of 1.5 in hold 9.2 gal, case VOL-01);
//! velocity v = Q/A (printed: 250 gpm in 2.5 in, 16.3 ft/s, case VEL-01). A kink
//! closes a share of the bore's area at one point; its loss is that of a valve as
//! far open, contraction and enlargement (a model; no measured source).

use crate::element::{Element, Form, Loss, Passage, square};
use crate::friction::{Friction, FrictionError, Ready, above_zero, not_negative};
use crate::units::{Area, Length, Mass, Measure, Ratio, Velocity, Volume, VolumeRate};
use crate::valve::{Valve, ValveKind};
use crate::water::Water;
use uom::si::f64::LinearMassDensity;

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
    /// Loss of a unit flow at the kink.
    kink: f64,
    shut: bool,
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
            kink: 0.0,
            shut: false,
        })
    }

    /// The same run with a kink that closes `closed` (0 to 1) of the area of its
    /// `bore`; closed altogether, no water passes.
    ///
    /// # Errors
    /// [`FrictionError`] when the bore is not above zero or the share is not
    /// between 0 and 1.
    pub fn kinked(self, bore: Length, closed: Ratio) -> Result<Self, FrictionError> {
        above_zero(bore.value, "bore")?;
        not_negative(closed.value, "kink")?;
        not_negative(1.0 - closed.value, "opening at the kink")?;
        let kink = Valve {
            kind: ValveKind::Slide,
            waterway: bore,
            gate: Ratio::of_si(1.0 - closed.value),
        };
        let unit_flow = VolumeRate::of_si(1.0);
        Ok(Run {
            kink: kink.loss(unit_flow).pressure.value,
            shut: kink.passage() == Passage::Shut,
            ..self
        })
    }
}

impl Element for Run {
    fn loss(&self, flow: VolumeRate) -> Loss {
        self.ready.loss(flow) + square(self.kink, flow)
    }

    fn passage(&self) -> Passage {
        if self.shut {
            Passage::Shut
        } else {
            Passage::Free
        }
    }

    fn form(&self) -> Form {
        match self.ready {
            Ready::Square { r } => Form::Square { r: r + self.kink },
            _ => Form::Any,
        }
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

/// Weight, as mass, of `length` of hose that weighs `dry` a length when empty,
/// full of water.
///
/// ```
/// use hydraulics::hose::{charged_weight, content, water_weight};
/// use hydraulics::units::{parse, Kind, Length, Mass};
/// use hydraulics::water::Water;
/// let (bore, length): (Length, Length) = (parse(Kind::Size, "45 mm")?, parse(Kind::Length, "20 m")?);
/// let empty: Mass = parse(Kind::Mass, "8 kg")?;
/// let full = charged_weight(empty / length, bore, length, Water::default());
/// let water = water_weight(content(bore, length), Water::default());
/// assert!((full - empty - water).value.abs() < 1e-9);
/// # Ok::<(), hydraulics::units::UnitError>(())
/// ```
pub fn charged_weight(dry: LinearMassDensity, bore: Length, length: Length, water: Water) -> Mass {
    dry * length + water_weight(content(bore, length), water)
}

/// Velocity of `flow` in a bore; zero in a bore of zero.
pub fn velocity(flow: VolumeRate, bore: Length) -> Velocity {
    if bore.value > 0.0 {
        flow / area(bore)
    } else {
        Velocity::of_si(0.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::friction::Coefficient;
    use crate::units::{Kind, System, parse, show};
    use proptest::prelude::*;

    fn run(feet: &str) -> Run {
        let law = Friction::Coefficient(Coefficient::us(10.0).unwrap());
        Run::new(law, parse(Kind::Length, feet).unwrap(), Water::default()).unwrap()
    }

    #[test]
    fn book_wye_leg() {
        // Case FL-U-05 (seen): C 10, 150 gpm, 150 ft: 33.75 psi, printed as 34.
        let loss = run("150 ft").loss(parse(Kind::Flow, "150 gpm").unwrap());
        assert_eq!(show(Kind::Pressure, loss.pressure, System::Us), "34 psi");
    }

    #[test]
    fn book_hose_volumes() {
        // Cases VOL-01 to 03 (seen), printed to 0.1 gal. (VOL-04 prints 1.147 as
        // 1.2, rounded twice.)
        for (bore, feet, gallons) in [
            ("1.5 in", "100 ft", 9.2),
            ("1 in", "100 ft", 4.1),
            ("5/8 in", "50 ft", 0.8),
        ] {
            let held = content(
                parse(Kind::Size, bore).unwrap(),
                parse(Kind::Length, feet).unwrap(),
            );
            let held = held.get::<uom::si::volume::gallon>();
            assert!((held - gallons).abs() <= 0.05, "{bore}: {held}");
        }
    }

    #[test]
    fn refuses_a_run_that_cannot_be() {
        let law = Friction::Coefficient(Coefficient::us(10.0).unwrap());
        for metres in [-1.0, f64::NAN, f64::INFINITY] {
            assert!(Run::new(law, Length::of_si(metres), Water::default()).is_err());
        }
        let bore = Length::of_si(0.045);
        for closed in [-0.1, 1.1, f64::NAN] {
            assert!(run("50 ft").kinked(bore, Ratio::of_si(closed)).is_err());
        }
        assert!(
            run("50 ft")
                .kinked(Length::of_si(0.0), Ratio::of_si(0.5))
                .is_err()
        );
    }

    #[test]
    fn law_a_kink_closed_altogether_shuts() {
        let bore = Length::of_si(0.045);
        let at = |closed| run("50 ft").kinked(bore, Ratio::of_si(closed)).unwrap();
        assert_eq!(at(1.0).passage(), Passage::Shut);
        assert_eq!(at(0.9).passage(), Passage::Free);
        assert_eq!(run("50 ft").passage(), Passage::Free);
    }

    proptest! {
        #[test]
        fn law_a_tighter_kink_loses_more(a in 0.0..0.99f64, b in 0.0..0.99f64, q in 1e-4..0.02f64) {
            let at = |closed| {
                let kinked = run("50 ft").kinked(Length::of_si(0.045), Ratio::of_si(closed));
                kinked.unwrap().loss(VolumeRate::of_si(q)).pressure
            };
            prop_assert!(at(a.max(b)) >= at(a.min(b)));
            prop_assert!((at(0.0) / run("50 ft").loss(VolumeRate::of_si(q)).pressure).value - 1.0 < 1e-12);
        }
    }
}
