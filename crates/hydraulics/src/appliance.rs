//! Appliances: wyes, siamese, monitors, standpipes, strainers.
//!
//! Loss by coefficient, dp = p_ref (Q/Q_ref)^2, or by the trade's flat
//! allowance: so many psi whatever the flow, or none below a flow and so many
//! from it on (printed: 0 below 350 gpm, 10 psi from 350 gpm on, 25 psi for a
//! master stream at any flow; cases APP-02 to 04). A flat allowance is brought up
//! on a ramp, so that it is zero at rest and never jumps: from 0 to 20 L/min, or
//! over the last 2 % before its threshold flow.

use crate::element::{Element, Form, Loss, square};
use crate::friction::{FrictionError, above_zero, not_negative};
use crate::units::{Measure, Pressure, Resistance, Slope, VolumeRate};

/// How an appliance loses pressure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Appliance {
    /// In proportion to the square of flow.
    Coefficient {
        /// Loss of a unit flow; zero or more.
        resistance: Resistance,
    },
    /// The trade's flat allowance.
    Allowance {
        /// The allowance.
        pressure: Pressure,
        /// The flow from which it counts; zero: at any flow.
        from: VolumeRate,
    },
}

/// Flow over which an allowance that counts at any flow comes up: 20 L/min.
const START: f64 = 20.0 / 60_000.0;

impl Appliance {
    /// An appliance that loses `pressure` at `flow`.
    ///
    /// # Errors
    /// [`FrictionError`] when the flow is not above zero or the loss is below
    /// zero.
    ///
    /// ```
    /// use hydraulics::appliance::Appliance;
    /// use hydraulics::element::Element;
    /// use hydraulics::units::{parse, show, Kind, System};
    /// let monitor = Appliance::rated(parse(Kind::Pressure, "25 psi")?, parse(Kind::Flow, "500 gpm")?)?;
    /// let loss = monitor.loss(parse(Kind::Flow, "250 gpm")?).pressure;
    /// assert_eq!(show(Kind::Pressure, loss, System::Us), "6 psi");
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn rated(pressure: Pressure, flow: VolumeRate) -> Result<Self, FrictionError> {
        let q = above_zero(flow.value, "rated flow")?;
        let p = not_negative(pressure.value, "loss")?;
        Ok(Appliance::Coefficient {
            resistance: Resistance::of_si(p / (q * q)),
        })
    }

    /// A flat allowance of `pressure` from flow `from` on.
    ///
    /// # Errors
    /// [`FrictionError`] when either is below zero.
    pub fn allowance(pressure: Pressure, from: VolumeRate) -> Result<Self, FrictionError> {
        not_negative(pressure.value, "allowance")?;
        not_negative(from.value, "flow from which the allowance counts")?;
        Ok(Appliance::Allowance { pressure, from })
    }
}

impl Element for Appliance {
    fn loss(&self, flow: VolumeRate) -> Loss {
        match *self {
            Appliance::Coefficient { resistance } => square(resistance.value, flow),
            Appliance::Allowance { pressure, from } => {
                let (start, end) = if from.value > START {
                    (0.98 * from.value, from.value)
                } else {
                    (0.0, START)
                };
                let q = flow.value;
                let share = ((q.abs() - start) / (end - start)).clamp(0.0, 1.0);
                let rising = q.abs() > start && q.abs() < end;
                let slope = if rising {
                    pressure.value / (end - start)
                } else {
                    0.0
                };
                Loss {
                    pressure: Pressure::of_si(pressure.value * share * q.signum()),
                    slope: Slope::of_si(slope),
                }
            }
        }
    }

    fn form(&self) -> Form {
        match *self {
            Appliance::Coefficient { resistance } => Form::Square {
                r: resistance.value,
            },
            Appliance::Allowance { .. } => Form::Any,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::{Kind, parse};
    use proptest::prelude::*;

    #[test]
    fn book_allowance_counts_from_350_gpm() {
        // Cases APP-02, APP-03: 0 below 350 gpm, 10 psi at 350 gpm or more.
        let rule = Appliance::allowance(
            parse(Kind::Pressure, "10 psi").unwrap(),
            parse(Kind::Flow, "350 gpm").unwrap(),
        )
        .unwrap();
        let psi = |gpm: &str| {
            let loss = rule.loss(parse(Kind::Flow, gpm).unwrap()).pressure;
            loss.get::<uom::si::pressure::psi>()
        };
        assert_eq!(psi("300 gpm"), 0.0);
        assert!((psi("350 gpm") - 10.0).abs() < 1e-9);
        assert!((psi("800 gpm") - 10.0).abs() < 1e-9);
        assert_eq!(psi("0 gpm"), 0.0);
    }

    #[test]
    fn refuses_a_loss_below_zero() {
        let (psi, gpm) = (Pressure::of_si, VolumeRate::of_si);
        assert!(Appliance::rated(psi(-1.0), gpm(0.01)).is_err());
        assert!(Appliance::rated(psi(1e5), gpm(0.0)).is_err());
        assert!(Appliance::allowance(psi(f64::NAN), gpm(0.0)).is_err());
        assert!(Appliance::allowance(psi(1e5), gpm(-1.0)).is_err());
    }

    fn any() -> impl Strategy<Value = Appliance> {
        let pressure = (0.0..4e5f64).prop_map(Pressure::of_si);
        let from = prop_oneof![Just(0.0), 1e-12..1e-3f64, 1e-3..0.06f64];
        let from = from.prop_map(VolumeRate::of_si);
        prop_oneof![
            (pressure.clone(), 1e-3..0.06f64).prop_map(|(p, q)| Appliance::rated(
                p,
                VolumeRate::of_si(q)
            )
            .unwrap()),
            (pressure, from).prop_map(|(p, q)| Appliance::allowance(p, q).unwrap()),
        ]
    }

    proptest! {
        #[test]
        fn law_loss_rises_with_flow_and_turns_with_it(part in any(), a in 0.0..0.1f64, b in 0.0..0.1f64) {
            let at = |q| part.loss(VolumeRate::of_si(q)).pressure.value;
            prop_assert!(at(a.max(b)) >= at(a.min(b)));
            prop_assert_eq!(at(-a), -at(a));
            prop_assert_eq!(at(0.0), 0.0);
        }

        /// The trapezium rule on the slope is exact for squares and for ramps
        /// between their corners: no jump can hide from it.
        #[test]
        fn law_slope_adds_up_to_the_loss(part in any(), a in 1e-5..0.1f64, step in 1e-9..1e-7f64) {
            let at = |q| part.loss(VolumeRate::of_si(q));
            let (low, high) = (at(a), at(a + step));
            let rise = (high.pressure - low.pressure).value;
            let steepest = low.slope.value.max(high.slope.value);
            let corner = (low.slope.value - high.slope.value).abs() > 0.1 * steepest;
            let noise = 1e-9 * high.pressure.value + 1e-9;
            prop_assert!(rise <= steepest * step + noise || corner);
            if !corner {
                let mean = 0.5 * (low.slope + high.slope).value * step;
                prop_assert!((rise - mean).abs() <= 1e-6 * mean + noise);
            }
        }
    }
}
