//! Eductors: foam concentrate drawn in by the water's own pressure drop.
//!
//! Rated flow at rated inlet pressure. While the outlet has no more than 65 % of
//! the inlet's pressure (70 % by some; cases SF191, SF200) the eductor draws, and
//! the inlet alone sets the flow: Q = Qr sqrt(in / in_r). Above that it draws
//! nothing, and flow goes with the pressure difference: Q = Qr sqrt((in - out) /
//! ((1 - share) in_r)); the two meet at the limit. The flow is taken as that of
//! the solution: the concentrate, up to 6 %, is not reckoned on top.
//!
//! Concentrate comes at a rate of its own, so a low inlet runs rich and a high
//! one lean (cases SF192, SF199, direction only); as a model, ratio = rated ratio
//! sqrt(in_r / in). Range: inlets of 100 to 250 psi.

use crate::element::{Element, Hold, Loss, Passage, square};
use crate::units::{Measure, Pressure, Ratio, VolumeRate};

/// Why numbers describe no eductor.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum EductorError {
    /// A rating is not above zero.
    #[error("rated flow and rated inlet pressure must be above zero")]
    NotPositive,
    /// The limit of back-pressure is no share below one.
    #[error("the limit of back-pressure must be above 0 and below 100 % of the inlet")]
    Share,
}

/// An eductor of one rating.
///
/// ```
/// use hydraulics::eductor::Eductor;
/// use hydraulics::units::{parse, psi, show, Kind, Measure, Ratio, System};
/// let eductor = Eductor::new(parse(Kind::Flow, "95 gpm")?, psi(200.0), Ratio::of_si(0.65))?;
/// assert_eq!(show(Kind::Pressure, eductor.highest_outlet(psi(200.0)), System::Us), "130 psi");
/// assert!(eductor.draws(psi(200.0), psi(130.0)));
/// assert!(!eductor.draws(psi(200.0), psi(140.0)));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Eductor {
    flow: VolumeRate,
    inlet: Pressure,
    share: f64,
}

impl Eductor {
    /// An eductor that passes `flow` at `inlet`, and draws up to an outlet
    /// pressure of `share` of its inlet's.
    ///
    /// # Errors
    /// [`EductorError`] unless the ratings are above zero and the share lies
    /// between 0 and 1.
    pub fn new(flow: VolumeRate, inlet: Pressure, share: Ratio) -> Result<Self, EductorError> {
        let positive = |v: f64| v.is_finite() && v > 0.0;
        if !positive(flow.value) || !positive(inlet.value) {
            return Err(EductorError::NotPositive);
        }
        if !positive(share.value) || share.value >= 1.0 {
            return Err(EductorError::Share);
        }
        Ok(Eductor {
            flow,
            inlet,
            share: share.value,
        })
    }

    /// Rated flow.
    pub fn rated_flow(&self) -> VolumeRate {
        self.flow
    }

    /// Rated inlet pressure.
    pub fn rated_inlet(&self) -> Pressure {
        self.inlet
    }

    /// Share of the inlet's pressure up to which it draws.
    pub fn share(&self) -> Ratio {
        Ratio::of_si(self.share)
    }

    /// The highest outlet pressure at which it draws.
    pub fn highest_outlet(&self, inlet: Pressure) -> Pressure {
        inlet * self.share
    }

    /// Does it draw concentrate? To a millionth of the limit.
    pub fn draws(&self, inlet: Pressure, outlet: Pressure) -> bool {
        inlet.value > 0.0 && outlet.value <= self.share * inlet.value * (1.0 + 1e-6)
    }

    /// Flow while it draws.
    pub fn flow_at(&self, inlet: Pressure) -> VolumeRate {
        self.flow * (inlet.value.max(0.0) / self.inlet.value).sqrt()
    }

    /// The ratio it makes at `inlet` when set to `ratio`, while it draws (model).
    pub fn ratio_at(&self, ratio: Ratio, inlet: Pressure) -> Ratio {
        ratio * (self.inlet.value / inlet.value.max(1.0)).sqrt()
    }
}

impl Element for Eductor {
    /// The loss at the limit of drawing and above it.
    fn loss(&self, flow: VolumeRate) -> Loss {
        let r = (1.0 - self.share) * self.inlet.value / (self.flow.value * self.flow.value);
        square(r, flow)
    }

    fn passage(&self) -> Passage {
        Passage::OneWay
    }

    fn hold(&self) -> Hold {
        Hold::Inlet { share: self.share }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::psi;

    #[test]
    fn law_both_regimes_meet_at_the_limit() {
        let flow = VolumeRate::of_si(0.006);
        let eductor = Eductor::new(flow, psi(200.0), Ratio::of_si(0.65)).unwrap();
        for inlet in [100.0, 150.0, 200.0, 230.0].map(psi) {
            let loss = eductor.loss(eductor.flow_at(inlet)).pressure;
            let left = inlet - loss;
            assert!((left - eductor.highest_outlet(inlet)).value.abs() < 1e-6 * inlet.value);
        }
    }

    #[test]
    fn book_low_inlet_runs_rich_and_high_inlet_runs_lean() {
        // Basic foam operations part 4, 2011 (case SF199, seen): rich at 150 psi,
        // lean at 225 psi for an eductor rated at 200 psi.
        let flow = VolumeRate::of_si(0.006);
        let eductor = Eductor::new(flow, psi(200.0), Ratio::of_si(0.65)).unwrap();
        let three = Ratio::of_si(0.03);
        assert!(eductor.ratio_at(three, psi(150.0)) > three);
        assert!(eductor.ratio_at(three, psi(225.0)) < three);
        assert_eq!(eductor.ratio_at(three, psi(200.0)), three);
    }
}
