//! Drafting: what the air lets a pump lift, and what the suction takes of it.
//!
//! - Atmosphere by altitude: p = 101325 (1 - 2.25577e-5 h)^5.25588 Pa, h in m
//!   (standard atmosphere, memory), -500 to 11,000 m. Beside it the trade's rule,
//!   14.7 psi less 0.5 psi a 1000 ft (case PS-A14, seen).
//! - Vapour pressure of water: p = 611.21 exp((18.678 - t/234.5) t/(257.14 + t))
//!   Pa, t in C (Buck 1996, memory), 0 to 100 C, within 0.1 % of a handbook table
//!   (cases DR-04, seen).
//! - Lift: h = p / (rho g); printed 33.9 ft for 14.7 psi (case PS-A10, seen). By
//!   the trade 1.13 ft for each inHg of vacuum (case PS-A16, seen); two thirds of
//!   the theoretical lift in practice (case PS-A11, seen).
//! - Intake pressure: -rho g h - R q|q|, gauge, for lift h and suction resistance R.
//!   What is left above the vapour pressure is the margin: below zero, the water
//!   boils and the pump loses it.
//! - Capacity by lift: 100, 70, 60 % at 10, 15, 20 ft (case PS-A18, seen).
//! - Pipe of a dry hydrant: Manning, S = (n Q / (A R^(2/3)))^2, full pipe, with
//!   n = 0.010 (cases PS-A39 to A42; the n is derived from them).
//!
//! Air leaks, a strainer near the surface and a worn pump take more than any of
//! these say: a draft that works on paper is tried before it is relied on.

use crate::element::{Element, Loss, Passage, square};
use crate::friction::{FrictionError, above_zero, not_negative};
use crate::table::{below, between};
use crate::units::{Length, Measure, Pressure, Ratio, Resistance, VolumeRate, psi};
use crate::water::{GRAVITY, TRADE_DENSITY, Water};
use uom::si::{length::foot, pressure::inch_of_mercury, thermodynamic_temperature::degree_celsius};

/// Pressure of the standard atmosphere at `altitude`, kept within -500 to
/// 11,000 m.
///
/// ```
/// use hydraulics::draft::atmospheric;
/// use hydraulics::units::{parse, show, Kind, System};
/// let air = atmospheric(parse(Kind::Length, "4200 ft")?);
/// assert_eq!(format!("{:.1}", air.get::<uom::si::pressure::psi>()), "12.6");
/// # Ok::<(), hydraulics::units::UnitError>(())
/// ```
pub fn atmospheric(altitude: Length) -> Pressure {
    let metres = altitude.value.clamp(-500.0, 11_000.0);
    Pressure::of_si(101_325.0 * (1.0 - 2.255_77e-5 * metres).powf(5.255_88))
}

/// The trade's rule for the atmosphere: 14.7 psi less 0.5 psi a 1000 ft, never
/// below zero.
pub fn trade_atmospheric(altitude: Length) -> Pressure {
    psi((14.7 - 0.5 * altitude.get::<foot>() / 1000.0).max(0.0))
}

/// Absolute pressure at which `water` boils.
pub fn vapour_pressure(water: Water) -> Pressure {
    let t = water.temperature().get::<degree_celsius>();
    Pressure::of_si(611.21 * ((18.678 - t / 234.5) * t / (257.14 + t)).exp())
}

/// Height of the column of `water` that `pressure` holds up: the theoretical
/// lift for a whole atmosphere, the attainable one for the vacuum that a primer
/// pulls.
///
/// ```
/// use hydraulics::draft::column;
/// use hydraulics::units::{parse, show, Kind, System};
/// use hydraulics::water::Water;
/// let lift = column(parse(Kind::Pressure, "22 inHg")?, Water::default());
/// assert_eq!(show(Kind::Length, lift, System::Us), "25 ft");
/// # Ok::<(), hydraulics::units::UnitError>(())
/// ```
pub fn column(pressure: Pressure, water: Water) -> Length {
    Length::of_si(pressure.value / (water.density().value * GRAVITY))
}

/// Lift that the atmosphere at `altitude` leaves over a perfect vacuum, that is
/// down to the vapour pressure of `water`; never below zero.
pub fn theoretical_lift(altitude: Length, water: Water) -> Length {
    let lift = column(atmospheric(altitude) - vapour_pressure(water), water);
    Length::of_si(lift.value.max(0.0))
}

/// The trade's lift for a gauge reading of `vacuum`: 1.13 ft an inHg.
pub fn trade_lift(vacuum: Pressure) -> Length {
    Length::new::<foot>(1.13 * vacuum.get::<inch_of_mercury>())
}

/// The trade's two thirds of a theoretical lift.
pub fn practical_lift(theoretical: Length) -> Length {
    theoretical * (2.0 / 3.0)
}

/// Lift, ft, and the share of its rated capacity that a pump gives.
const CAPACITY: [(f64, f64); 3] = [(10.0, 1.0), (15.0, 0.7), (20.0, 0.6)];

/// Share of its rated capacity that a pump gives at `lift`, through 20 ft of
/// hard suction: linear between the printed points, and 1 below them. `None`
/// above 20 ft, of which nothing is printed.
///
/// ```
/// use hydraulics::draft::capacity_share;
/// use hydraulics::units::{parse, show, Kind, System};
/// let share = capacity_share(parse(Kind::Length, "15 ft")?);
/// assert_eq!(show(Kind::Share, share.unwrap(), System::Us), "70 %");
/// # Ok::<(), hydraulics::units::UnitError>(())
/// ```
pub fn capacity_share(lift: Length) -> Option<Ratio> {
    let feet = lift.get::<foot>();
    (!below(20.0, feet)).then(|| Ratio::of_si(between(&CAPACITY, feet)))
}

/// A suction: hard hose, strainer and intake together, as an element of a lay.
/// Water does not go back through it to the source.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Suction {
    resistance: Resistance,
}

impl Suction {
    /// A suction that loses `resistance` q^2.
    ///
    /// # Errors
    /// [`FrictionError`] when it is below zero.
    pub fn new(resistance: Resistance) -> Result<Self, FrictionError> {
        not_negative(resistance.value, "resistance of the suction")?;
        Ok(Suction { resistance })
    }

    /// A suction that loses `pressure` at `flow`.
    ///
    /// # Errors
    /// [`FrictionError`] when the flow is not above zero or the loss is below
    /// zero.
    pub fn rated(pressure: Pressure, flow: VolumeRate) -> Result<Self, FrictionError> {
        let q = above_zero(flow.value, "rated flow")?;
        let p = not_negative(pressure.value, "loss")?;
        Suction::new(Resistance::of_si(p / (q * q)))
    }

    /// Loss of a unit flow.
    pub fn resistance(&self) -> Resistance {
        self.resistance
    }
}

impl Element for Suction {
    fn loss(&self, flow: VolumeRate) -> Loss {
        square(self.resistance.value, flow)
    }

    fn passage(&self) -> Passage {
        Passage::OneWay
    }
}

/// A pump above its water.
///
/// ```
/// use hydraulics::draft::{Draft, Suction};
/// use hydraulics::units::{parse, show, Kind, System};
/// use hydraulics::water::Water;
/// let draft = Draft {
///     altitude: parse(Kind::Length, "0 ft")?,
///     water: Water::default(),
///     lift: parse(Kind::Length, "10 ft")?,
///     suction: Suction::rated(parse(Kind::Pressure, "4 psi")?, parse(Kind::Flow, "1000 gpm")?)?,
/// };
/// let intake = draft.intake_pressure(parse(Kind::Flow, "1000 gpm")?);
/// assert_eq!(show(Kind::Pressure, intake, System::Us), "-8 psi");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Draft {
    /// Height of the place above the sea.
    pub altitude: Length,
    /// The water that is drafted.
    pub water: Water,
    /// From the water's surface up to the pump's intake.
    pub lift: Length,
    /// What lies in between.
    pub suction: Suction,
}

impl Draft {
    /// Gauge pressure at the intake: below zero.
    pub fn intake_pressure(&self, flow: VolumeRate) -> Pressure {
        -self.water.static_pressure(self.lift) - self.suction.loss(flow).pressure
    }

    /// Absolute pressure at the intake less the vapour pressure of the water.
    /// At zero or less the water boils.
    pub fn margin(&self, flow: VolumeRate) -> Pressure {
        atmospheric(self.altitude) + self.intake_pressure(flow) - vapour_pressure(self.water)
    }

    /// The flow that leaves a margin of `kept`: zero where standing water has
    /// less already. `None` when the suction takes nothing, so that flow does
    /// not change the margin.
    pub fn greatest_flow(&self, kept: Pressure) -> Option<VolumeRate> {
        let resistance = self.suction.resistance.value;
        let left = (self.margin(VolumeRate::of_si(0.0)) - kept).value;
        match (left <= 0.0, resistance <= 0.0) {
            (true, _) => Some(VolumeRate::of_si(0.0)),
            (false, true) => None,
            (false, false) => Some(VolumeRate::of_si((left / resistance).sqrt())),
        }
    }
}

/// Manning's n that the printed table of dry-hydrant pipe follows.
pub const DRY_HYDRANT_N: f64 = 0.010;

/// Resistance of `length` of full round pipe by Manning's formula.
///
/// # Errors
/// [`FrictionError`] unless bore and n are above zero and the length is not
/// below it.
pub fn manning_resistance(
    bore: Length,
    length: Length,
    n: f64,
) -> Result<Resistance, FrictionError> {
    let d = above_zero(bore.value, "bore")?;
    let n = above_zero(n, "Manning's n")?;
    let length = not_negative(length.value, "length")?;
    let conveyance = std::f64::consts::FRAC_PI_4 * d * d * (d / 4.0).powf(2.0 / 3.0) / n;
    let head = length / (conveyance * conveyance);
    Ok(Resistance::of_si(TRADE_DENSITY * GRAVITY * head))
}

/// Loss of `flow` in `length` of full round pipe by Manning's formula.
///
/// # Errors
/// As [`manning_resistance`].
///
/// ```
/// use hydraulics::draft::{column, manning_loss, DRY_HYDRANT_N};
/// use hydraulics::units::{parse, Kind};
/// use hydraulics::water::Water;
/// let loss = manning_loss(
///     parse(Kind::Size, "8 in")?,
///     parse(Kind::Length, "100 ft")?,
///     parse(Kind::Flow, "500 gpm")?,
///     DRY_HYDRANT_N,
/// )?;
/// let head = column(loss, Water::default()).get::<uom::si::length::foot>();
/// // Printed: 0.5027 ft (case PS-A40).
/// assert!((head - 0.5027).abs() < 0.001);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn manning_loss(
    bore: Length,
    length: Length,
    flow: VolumeRate,
    n: f64,
) -> Result<Pressure, FrictionError> {
    let resistance = manning_resistance(bore, length, n)?;
    Ok(square(resistance.value, flow).pressure)
}

/// A fitting of a dry hydrant's pipe.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fitting {
    /// A right-angled elbow.
    Elbow90,
    /// A 30 or 45 degree elbow.
    Elbow45,
    /// A reducer.
    Reducer,
}

impl Fitting {
    /// Length of pipe that loses as much: 20 ft, and 10 ft for the lesser ones
    /// (case PS-A44, seen).
    pub fn equivalent_length(self) -> Length {
        Length::new::<foot>(match self {
            Fitting::Elbow90 => 20.0,
            Fitting::Elbow45 | Fitting::Reducer => 10.0,
        })
    }
}

/// What a dry-hydrant form says of a total head: lift and losses together (case
/// PS-A45, seen).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum HeadBand {
    /// Up to 15 ft.
    Preferred,
    /// Up to 20 ft.
    Recommended,
    /// Up to 22 ft.
    Limit,
    /// More than that.
    TooMuch,
}

/// The band in which `total` head of lift and losses lies.
pub fn head_band(total: Length) -> HeadBand {
    match total.get::<foot>() {
        h if !below(15.0, h) => HeadBand::Preferred,
        h if !below(20.0, h) => HeadBand::Recommended,
        h if !below(22.0, h) => HeadBand::Limit,
        _ => HeadBand::TooMuch,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::ThermodynamicTemperature;

    fn at(celsius: f64) -> Water {
        Water::at(ThermodynamicTemperature::new::<degree_celsius>(celsius))
    }

    fn draft(lift_ft: f64) -> Draft {
        Draft {
            altitude: Length::of_si(0.0),
            water: Water::default(),
            lift: Length::new::<foot>(lift_ft),
            suction: Suction::rated(psi(4.0), crate::units::gpm(1000.0)).unwrap(),
        }
    }

    #[test]
    fn book_vapour_pressure_at_a_few_temperatures_from_memory() {
        // Steam tables (memory): 0.611, 2.339, 7.384, 101.3 kPa.
        for (celsius, kilopascal) in [(0.0, 0.611), (20.0, 2.339), (40.0, 7.384), (100.0, 101.3)] {
            let found = vapour_pressure(at(celsius)).value / 1000.0;
            assert!(
                (found / kilopascal - 1.0).abs() < 2e-3,
                "{celsius}: {found}"
            );
        }
    }

    #[test]
    fn book_standard_atmosphere_from_memory() {
        // Standard atmosphere (memory): 89,875 Pa at 1000 m, 79,495 Pa at 2000 m.
        for (metres, pascal) in [(0.0, 101_325.0), (1000.0, 89_875.0), (2000.0, 79_495.0)] {
            let found = atmospheric(Length::of_si(metres)).value;
            assert!((found - pascal).abs() < 10.0, "{metres}: {found}");
        }
    }

    #[test]
    fn law_the_greatest_flow_leaves_just_the_margin() {
        let flow = draft(12.0).greatest_flow(psi(1.0)).unwrap();
        assert!((draft(12.0).margin(flow) - psi(1.0)).value.abs() < 1e-6);
        assert_eq!(draft(34.0).greatest_flow(psi(1.0)).unwrap().value, 0.0);
    }

    #[test]
    fn law_hot_water_and_high_ground_lower_the_lift() {
        let sea = Length::of_si(0.0);
        let lift = theoretical_lift(sea, at(10.0));
        assert!(theoretical_lift(Length::of_si(1500.0), at(10.0)) < lift);
        assert!(theoretical_lift(sea, at(50.0)) < lift);
        assert!(theoretical_lift(sea, at(100.0)).value < 0.01);
    }

    #[test]
    fn law_capacity_falls_with_lift_and_is_not_told_above_the_table() {
        let share = |feet| capacity_share(Length::new::<foot>(feet)).map(|s| s.value);
        assert_eq!(share(5.0), Some(1.0));
        assert!((share(12.5).unwrap() - 0.85).abs() < 1e-12);
        assert_eq!(share(21.0), None);
    }
}
