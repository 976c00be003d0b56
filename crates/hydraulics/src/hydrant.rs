//! What a hydrant gives, from its flow test.
//!
//! Q = Qt ((Ps - P) / (Ps - Pt))^0.54, with static pressure Ps, and residual Pt
//! at the test flow Qt (NFPA 291; Hazen-Williams flow in the main). As a loss:
//! Ps - P = (Ps - Pt) (Q / Qt)^(1/0.54). Range: tests that drop the pressure by a
//! tenth or more (case PS-B12, seen); mains that are not closed off or boosted
//! since the test. Beside it the trade's drop-in-residual rule (cases PS-B18 and
//! PS-B19): the drop goes with the square of flow.

use crate::element::{Element, Loss};
use crate::units::{Measure, Pressure, Slope, VolumeRate, psi};

/// The exponent of flow over pressure drop.
pub const EXPONENT: f64 = 0.54;

/// Residual below which no supply is planned: 20 psi.
pub const LEAST_RESIDUAL_PSI: f64 = 20.0;

/// Why a flow test describes no hydrant.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum TestError {
    /// The residual is not below the static pressure.
    #[error(
        "the residual pressure is not below the static pressure, so the test says nothing about the main"
    )]
    NoDrop,
    /// The test flow is not above zero.
    #[error("the test flow is not above zero")]
    NoFlow,
}

/// A flow test: static pressure, and residual pressure while a flow was drawn.
///
/// ```
/// use hydraulics::hydrant::FlowTest;
/// use hydraulics::units::{parse, psi, show, Kind, System};
/// let test = FlowTest::new(psi(70.0), psi(50.0), parse(Kind::Flow, "1000 gpm")?)?;
/// let available = test.available(psi(20.0));
/// assert_eq!(show(Kind::Flow, available, System::Us), "1640 gpm");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FlowTest {
    still: Pressure,
    residual: Pressure,
    flow: VolumeRate,
}

impl FlowTest {
    /// The test that found `residual` at `flow`, and `still` (static) without.
    ///
    /// # Errors
    /// [`TestError`] unless pressure fell while water flowed.
    pub fn new(still: Pressure, residual: Pressure, flow: VolumeRate) -> Result<Self, TestError> {
        if residual >= still {
            return Err(TestError::NoDrop);
        }
        if flow.value.is_nan() || flow.value <= 0.0 {
            return Err(TestError::NoFlow);
        }
        Ok(FlowTest {
            still,
            residual,
            flow,
        })
    }

    /// Static pressure.
    pub fn still(&self) -> Pressure {
        self.still
    }

    /// Residual pressure of the test.
    pub fn residual(&self) -> Pressure {
        self.residual
    }

    /// Flow of the test.
    pub fn flow(&self) -> VolumeRate {
        self.flow
    }

    /// Drop of the test as a share of the static pressure; below a tenth the
    /// test says little (case PS-B12).
    pub fn share_dropped(&self) -> f64 {
        ((self.still - self.residual) / self.still).value
    }

    /// Flow available at `residual`; zero where that is above the static
    /// pressure.
    pub fn available(&self, residual: Pressure) -> VolumeRate {
        let drop = (self.still - residual) / (self.still - self.residual);
        self.flow * drop.value.max(0.0).powf(EXPONENT)
    }

    /// Residual pressure at `flow`; below zero where the hydrant cannot give it.
    pub fn residual_at(&self, flow: VolumeRate) -> Pressure {
        self.still - self.loss(flow).pressure
    }
}

impl Element for FlowTest {
    fn loss(&self, flow: VolumeRate) -> Loss {
        let share = (flow / self.flow).value;
        let drop = (self.still - self.residual).value;
        let n = 1.0 / EXPONENT;
        let size = share.abs().powf(n - 1.0);
        let pressure = drop * size * share;
        let slope = n * drop * size / self.flow.value;
        Loss {
            pressure: Pressure::of_si(pressure),
            slope: Slope::of_si(slope),
        }
    }
}

/// What rounding may put a value past the edge of a band.
const AT_THE_EDGE: f64 = 1e-9;

/// How many more lines like the first the drop in residual lets on, by the
/// trade's percentage bands: up to 10 % three, to 15 % two, to 25 % one, beyond
/// that none (study notes and a training article, seen).
///
/// ```
/// use hydraulics::{hydrant, units::psi};
/// assert_eq!(hydrant::more_lines_by_percent(psi(80.0), psi(76.0)), 3);
/// ```
pub fn more_lines_by_percent(still: Pressure, residual: Pressure) -> u32 {
    let percent = 100.0 * ((still - residual) / still).value;
    match percent - AT_THE_EDGE {
        p if p <= 10.0 => 3,
        p if p <= 15.0 => 2,
        p if p <= 25.0 => 1,
        _ => 0,
    }
}

/// How many more lines like the first, by the first digit of the static
/// pressure: a drop up to it three, up to twice it two (case PS-B18, seen), up to
/// three times it one (memory).
pub fn more_lines_by_first_digit(still: Pressure, residual: Pressure) -> u32 {
    let unit = psi(1.0);
    let (still_psi, drop) = ((still / unit).value, ((still - residual) / unit).value);
    let digit = (still_psi / 10.0 + AT_THE_EDGE).floor();
    match drop - AT_THE_EDGE {
        d if d <= digit => 3,
        d if d <= 2.0 * digit => 2,
        d if d <= 3.0 * digit => 1,
        _ => 0,
    }
}

/// Residual with `times` the flow, by squaring: the drop goes with the square
/// of flow (case PS-B19).
pub fn residual_by_squares(still: Pressure, residual: Pressure, times: f64) -> Pressure {
    still - (still - residual) * times * times
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn law_available_flow_and_residual_are_each_others_inverse() {
        let test = FlowTest::new(psi(70.0), psi(45.0), VolumeRate::of_si(0.06)).unwrap();
        for residual in [60.0, 45.0, 20.0, 5.0] {
            let flow = test.available(psi(residual));
            let back = test.residual_at(flow);
            assert!((back - psi(residual)).value.abs() < 1e-6);
        }
        assert_eq!(test.available(psi(80.0)).value, 0.0);
    }

    #[test]
    fn regress_whole_psi_on_the_edge_of_a_band_belong_to_it() {
        for still in 20..=150_u32 {
            for residual in 5..still {
                let drop = still - residual;
                let percent = match 100 * drop {
                    d if d <= 10 * still => 3,
                    d if d <= 15 * still => 2,
                    d if d <= 25 * still => 1,
                    _ => 0,
                };
                let digit = match drop {
                    d if d <= still / 10 => 3,
                    d if d <= 2 * (still / 10) => 2,
                    d if d <= 3 * (still / 10) => 1,
                    _ => 0,
                };
                let (a, b) = (psi(f64::from(still)), psi(f64::from(residual)));
                assert_eq!(more_lines_by_percent(a, b), percent, "{still} {residual}");
                assert_eq!(more_lines_by_first_digit(a, b), digit, "{still} {residual}");
            }
        }
    }

    #[test]
    fn a_test_without_a_drop_is_refused() {
        let flow = VolumeRate::of_si(0.06);
        assert_eq!(
            FlowTest::new(psi(50.0), psi(50.0), flow),
            Err(TestError::NoDrop)
        );
        assert_eq!(
            FlowTest::new(psi(50.0), psi(40.0), VolumeRate::of_si(0.0)),
            Err(TestError::NoFlow)
        );
    }
}
