//! How much water a building on fire takes, by the trade's planning forms.
//!
//! They rest on different questions and differ by a factor of two or more on the
//! same building: each estimate says where it holds. None is a promise.
//!
//! - Area: Q = L W / 3 x share involved x floors, gpm and ft (case PS-C04, seen);
//!   a quarter of that more for each exposed side and exposed floor (PS-C05,
//!   memory). Up to 50 % involvement (seen) and about 1000 gpm (memory).
//! - Volume: Q = V / 100, gpm and ft3 (PS-C01, seen), or 4/3 V, L/min and m3 (PS-C10,
//!   seen): 1/200 gal of water a ft3 put on in 30 s, one closed space (PS-C06, seen).
//! - Area and ceiling: Q = A (6 + 2 (H - 3)), L/min, m2 and m, H of 3 m and more
//!   (PS-C11, seen).
//! - Fire area: Q = 5 A, L/min and m2, 50 to 600 m2 (a national fire-chiefs'
//!   guidance page, seen).
//! - Survey of 134 fires: Q = 9e-5 A^2 + 0.50 A in dwellings, -1.3e-5 A^2 + 0.42 A
//!   elsewhere, gpm and ft2 (PS-C13 and its slide, seen); the second rises up to
//!   16,154 ft2 only.
//! - Rural supply: V / hazard number x construction number, gal and ft3, x 1.5 with
//!   an exposure; at least 2000, 3000 with one (PS-C14, seen).
//! - Insurance: C = 18 F sqrt(A), gpm and ft2, rounded to 250; needed flow
//!   C O (X + P) (PS-C21, memory).

use crate::table::below;
use crate::units::{Area, Length, Ratio, Volume, VolumeRate, gpm};
use uom::si::{
    area::{square_foot, square_meter},
    length::meter,
    volume::{cubic_foot, gallon},
    volume_rate::{gallon_per_minute, liter_per_minute},
};

/// What burns, and what stands beside it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Building {
    /// Length of a floor.
    pub length: Length,
    /// Width of a floor.
    pub width: Length,
    /// Height of one floor; of a pitched roof half is added.
    pub height: Length,
    /// Floors that burn.
    pub floors: u32,
    /// Share of those floors that burns, 0 to 1.
    pub involved: Ratio,
    /// Sides with a building that the fire threatens.
    pub exposed_sides: u32,
    /// Floors of the same building that the fire threatens.
    pub exposed_floors: u32,
}

impl Building {
    /// One floor's area.
    pub fn floor_area(&self) -> Area {
        self.length * self.width
    }

    /// Area that burns, on all floors.
    pub fn fire_area(&self) -> Area {
        self.floor_area() * self.involved * f64::from(self.floors)
    }

    /// Volume of the floors that burn, whatever share of them does.
    pub fn volume(&self) -> Volume {
        self.floor_area() * self.height * f64::from(self.floors)
    }

    fn is_sound(&self) -> bool {
        let lengths = [self.length, self.width, self.height];
        lengths.iter().all(|l| l.value > 0.0 && l.value.is_finite())
            && self.floors > 0
            && (0.0..=1.0).contains(&self.involved.value)
    }
}

/// What is needed: a flow, or a stock of water.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Need {
    /// Water a minute.
    Flow(VolumeRate),
    /// Water in all.
    Supply(Volume),
}

/// What one form says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// The form.
    pub name: &'static str,
    /// What it finds.
    pub need: Need,
    /// Is this a case that the form is for?
    pub valid: bool,
    /// What the form is for.
    pub why: &'static str,
}

impl Estimate {
    /// The flow; `None` for a stock of water.
    pub fn flow(&self) -> Option<VolumeRate> {
        match self.need {
            Need::Flow(flow) => Some(flow),
            Need::Supply(_) => None,
        }
    }

    /// The stock of water; `None` for a flow.
    pub fn supply(&self) -> Option<Volume> {
        match self.need {
            Need::Flow(_) => None,
            Need::Supply(volume) => Some(volume),
        }
    }
}

fn flow_estimate(name: &'static str, flow: VolumeRate, valid: bool, why: &'static str) -> Estimate {
    let need = Need::Flow(flow);
    Estimate {
        name,
        need,
        valid,
        why,
    }
}

fn litres_a_minute(value: f64) -> VolumeRate {
    VolumeRate::new::<liter_per_minute>(value)
}

/// By area and involvement: L W / 3.
///
/// ```
/// use hydraulics::fire_flow::{by_area, Building};
/// use hydraulics::units::{parse, show, Kind, Measure, Ratio, System};
/// let building = Building {
///     length: parse(Kind::Length, "50 ft")?,
///     width: parse(Kind::Length, "30 ft")?,
///     height: parse(Kind::Length, "8 ft")?,
///     floors: 1,
///     involved: Ratio::of_si(0.25),
///     exposed_sides: 0,
///     exposed_floors: 0,
/// };
/// let estimate = by_area(&building);
/// // Printed: 125 gpm (case PS-C04).
/// assert_eq!(show(Kind::Flow, estimate.flow().unwrap(), System::Us), "125 gpm");
/// assert!(estimate.valid);
/// # Ok::<(), hydraulics::units::UnitError>(())
/// ```
pub fn by_area(building: &Building) -> Estimate {
    let base = gpm(building.fire_area().get::<square_foot>() / 3.0);
    let exposures = f64::from(building.exposed_sides) + f64::from(building.exposed_floors);
    let flow = base * (1.0 + 0.25 * exposures);
    let known =
        !below(0.5, building.involved.value) && !below(1000.0, flow.get::<gallon_per_minute>());
    flow_estimate(
        "area and involvement",
        flow,
        building.is_sound() && known,
        "for an attack from inside, up to half of the floor burning and about 1000 gpm",
    )
}

const ONE_SPACE: &str =
    "for water put on within 30 s in one closed space that burns as a whole: one floor";

/// By volume: V / 100, in gpm and ft3.
pub fn by_volume(building: &Building) -> Estimate {
    let flow = gpm(building.volume().get::<cubic_foot>() / 100.0);
    let valid = building.is_sound() && building.floors == 1;
    flow_estimate("volume", flow, valid, ONE_SPACE)
}

/// By volume in its metric form: 4/3 V, in L/min and m3, 0.3 % below V / 100.
pub fn by_volume_metric(building: &Building) -> Estimate {
    let flow = litres_a_minute(building.volume().value * 4.0 / 3.0);
    let valid = building.is_sound() && building.floors == 1;
    flow_estimate("volume, metric form", flow, valid, ONE_SPACE)
}

/// By area and ceiling: 6 L/min a m2, and 2 more for each metre of ceiling above
/// 3 m.
pub fn by_area_and_ceiling(building: &Building) -> Estimate {
    let above = (building.height.get::<meter>() - 3.0).max(0.0);
    let area = building.fire_area().get::<square_meter>();
    flow_estimate(
        "area and ceiling, metric",
        litres_a_minute(area * (6.0 + 2.0 * above)),
        building.is_sound(),
        "for higher fire loads; a ceiling below 3 m counts as 3 m",
    )
}

/// By fire area: 5 L/min a m2.
pub fn by_fire_area(building: &Building) -> Estimate {
    let area = building.fire_area().get::<square_meter>();
    flow_estimate(
        "fire area, metric",
        litres_a_minute(5.0 * area),
        building.is_sound() && !below(area, 50.0) && !below(600.0, area),
        "a fireground rule for 50 to 600 m2 of fire",
    )
}

/// What a building is used for, in the survey.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Use {
    /// Dwellings.
    Residential,
    /// All else.
    Other,
}

/// By a survey of 134 fires: a curve through flow against area.
pub fn by_survey(building: &Building, used_as: Use) -> Estimate {
    let a = building.fire_area().get::<square_foot>();
    let (flow, top) = match used_as {
        Use::Residential => (9e-5 * a * a + 0.50 * a, f64::INFINITY),
        Use::Other => (-1.3e-5 * a * a + 0.42 * a, 0.42 / 2.6e-5),
    };
    flow_estimate(
        "survey of fires",
        gpm(flow),
        building.is_sound() && !below(top, a),
        "a curve through fires of one city; outside dwellings only up to 16,154 ft2, where it turns",
    )
}

/// How fiercely the contents burn, by the rural standard's number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Hazard {
    /// 3.
    Severe,
    /// 4.
    High,
    /// 5.
    Moderate,
    /// 6.
    Low,
    /// 7: dwellings.
    Light,
}

impl Hazard {
    /// Its number, by which the volume is divided (cases PS-C14, PS-C15, seen).
    pub fn number(self) -> f64 {
        match self {
            Hazard::Severe => 3.0,
            Hazard::High => 4.0,
            Hazard::Moderate => 5.0,
            Hazard::Low => 6.0,
            Hazard::Light => 7.0,
        }
    }

    /// The hazard of a number, 3 to 7; `None` for others.
    pub fn of_number(number: u32) -> Option<Hazard> {
        match number {
            3 => Some(Hazard::Severe),
            4 => Some(Hazard::High),
            5 => Some(Hazard::Moderate),
            6 => Some(Hazard::Low),
            7 => Some(Hazard::Light),
            _ => None,
        }
    }
}

/// Types of construction, I to V.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ConstructionType {
    /// Fire resistive.
    I,
    /// Noncombustible.
    II,
    /// Outer walls of masonry.
    III,
    /// Heavy timber.
    IV,
    /// Wood frame.
    V,
}

impl ConstructionType {
    /// Its number in the rural standard: 0.5, 0.75, 1.0 and 1.5 for types I, II,
    /// III and V (cases PS-C15, PS-C16, seen), 0.75 for IV (memory).
    pub fn number(self) -> f64 {
        match self {
            ConstructionType::I => 0.5,
            ConstructionType::II | ConstructionType::IV => 0.75,
            ConstructionType::III => 1.0,
            ConstructionType::V => 1.5,
        }
    }
}

/// Stock of water for a building without hydrants or sprinklers. `exposed`:
/// another building of 100 ft2 or more within 50 ft, or of any size where the
/// hazard is severe or high. Height runs to half of the roof; give all floors.
///
/// ```
/// use hydraulics::fire_flow::{rural_supply, Building, ConstructionType, Hazard};
/// use hydraulics::units::{parse, show, Kind, Measure, Ratio, System};
/// let house = Building {
///     length: parse(Kind::Length, "50 ft")?,
///     width: parse(Kind::Length, "24 ft")?,
///     height: parse(Kind::Length, "12 ft")?,
///     floors: 1,
///     involved: Ratio::of_si(1.0),
///     exposed_sides: 0,
///     exposed_floors: 0,
/// };
/// let estimate = rural_supply(&house, Hazard::Light, ConstructionType::III, false);
/// assert_eq!(show(Kind::Volume, estimate.supply().unwrap(), System::Us), "2057 gal");
/// # Ok::<(), hydraulics::units::UnitError>(())
/// ```
pub fn rural_supply(
    building: &Building,
    hazard: Hazard,
    construction: ConstructionType,
    exposed: bool,
) -> Estimate {
    let volume = building.volume().get::<cubic_foot>();
    let plain = volume / hazard.number() * construction.number();
    let gallons = match exposed {
        true => (1.5 * plain).max(3000.0),
        false => plain.max(2000.0),
    };
    Estimate {
        name: "rural supply",
        need: Need::Supply(Volume::new::<gallon>(gallons)),
        valid: building.is_sound(),
        why: "the least stock for one building without sprinklers, beyond the hydrants",
    }
}

/// Rate at which a rural supply is to be brought: 250, 500, 750, 1000 gpm for
/// less than 2500, 10,000, 20,000 gal, and more (case PS-C18, memory).
pub fn delivery_rate(supply: Volume) -> VolumeRate {
    gpm(match supply.get::<gallon>() {
        v if below(v, 2500.0) => 250.0,
        v if below(v, 10_000.0) => 500.0,
        v if below(v, 20_000.0) => 750.0,
        _ => 1000.0,
    })
}

/// Construction in the insurance form.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Construction {
    /// Wood frame: F 1.5.
    Frame,
    /// Masonry walls, floors and roof that burn: F 1.0.
    JoistedMasonry,
    /// Nothing that burns: F 0.8.
    Noncombustible,
    /// Fire resistive: F 0.6.
    FireResistive,
}

impl Construction {
    /// F (memory).
    pub fn factor(self) -> f64 {
        match self {
            Construction::Frame => 1.5,
            Construction::JoistedMasonry => 1.0,
            Construction::Noncombustible => 0.8,
            Construction::FireResistive => 0.6,
        }
    }

    /// The most that C may be, gpm (memory).
    fn most(self) -> f64 {
        match self {
            Construction::Frame | Construction::JoistedMasonry => 8000.0,
            Construction::Noncombustible | Construction::FireResistive => 6000.0,
        }
    }
}

/// C of the insurance form: 18 F sqrt(A) in gpm and ft2, rounded to 250 gpm,
/// and kept within 500 and 8000, or 6000 where nothing of the building burns
/// (memory).
///
/// ```
/// use hydraulics::fire_flow::{insurance_c, Construction};
/// use hydraulics::units::{parse, show, Kind, System};
/// let c = insurance_c(Construction::JoistedMasonry, parse(Kind::Area, "10000 ft2")?);
/// assert_eq!(show(Kind::Flow, c, System::Us), "1750 gpm");
/// # Ok::<(), hydraulics::units::UnitError>(())
/// ```
pub fn insurance_c(construction: Construction, effective_area: Area) -> VolumeRate {
    let area = effective_area.get::<square_foot>().max(0.0);
    let c = rounded(18.0 * construction.factor() * area.sqrt(), 250.0);
    gpm(c.clamp(500.0, construction.most()))
}

/// The insurance form: C O (X + P), with occupancy factor O (0.75 to 1.25) and
/// exposure and communication factor X + P (1.0 to 1.6); rounded to 250 gpm up to
/// 2500 and to 500 above, within 500 and 12,000 gpm (all memory).
pub fn insurance(
    construction: Construction,
    effective_area: Area,
    occupancy: f64,
    exposure: f64,
) -> Estimate {
    let c = insurance_c(construction, effective_area).get::<gallon_per_minute>();
    let plain = c * occupancy * exposure;
    let step = if plain > 2500.0 { 500.0 } else { 250.0 };
    let known = (0.75..=1.25).contains(&occupancy) && (1.0..=1.6).contains(&exposure);
    flow_estimate(
        "insurance form",
        gpm(rounded(plain, step).clamp(500.0, 12_000.0)),
        known && effective_area.value > 0.0,
        "for grading a town's water, not for an attack; occupancy 0.75 to 1.25, exposure 1.0 to 1.6",
    )
}

fn rounded(value: f64, step: f64) -> f64 {
    (value / step).round() * step
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Measure;

    fn hall(length: f64, width: f64, height: f64) -> Building {
        Building {
            length: Length::of_si(length),
            width: Length::of_si(width),
            height: Length::of_si(height),
            floors: 1,
            involved: Ratio::of_si(0.5),
            exposed_sides: 0,
            exposed_floors: 0,
        }
    }

    #[test]
    fn law_an_exposure_adds_a_quarter_of_the_base() {
        let alone = by_area(&hall(10.0, 8.0, 3.0)).flow().unwrap();
        let mut beside = hall(10.0, 8.0, 3.0);
        beside.exposed_sides = 2;
        beside.exposed_floors = 1;
        let ratio = (by_area(&beside).flow().unwrap() / alone).value;
        assert!((ratio - 1.75).abs() < 1e-12);
    }

    #[test]
    fn law_estimates_out_of_range_say_so() {
        let mut building = hall(10.0, 8.0, 3.0);
        assert!(by_area(&building).valid);
        building.involved = Ratio::of_si(0.6);
        assert!(!by_area(&building).valid);
        building.floors = 2;
        assert!(!by_volume(&building).valid);
        assert!(!by_fire_area(&hall(5.0, 5.0, 3.0)).valid);
        assert!(!by_survey(&hall(100.0, 100.0, 3.0), Use::Other).valid);
        assert!(!by_volume(&hall(-1.0, 5.0, 3.0)).valid);
    }

    #[test]
    fn law_both_volume_forms_agree_to_a_third_of_a_per_cent() {
        let us = by_volume(&hall(12.0, 9.0, 3.5)).flow().unwrap();
        let metric = by_volume_metric(&hall(12.0, 9.0, 3.5)).flow().unwrap();
        assert!(((metric / us).value - 1.0).abs() < 0.0035);
    }

    #[test]
    fn law_the_rural_supply_has_its_least() {
        let supply = |exposed| {
            let hut = hall(3.0, 3.0, 3.0);
            rural_supply(&hut, Hazard::Light, ConstructionType::I, exposed)
                .supply()
                .unwrap()
                .get::<gallon>()
        };
        assert!((supply(false) - 2000.0).abs() < 1e-9);
        assert!((supply(true) - 3000.0).abs() < 1e-9);
    }

    #[test]
    fn law_the_insurance_form_keeps_its_bounds() {
        let area = |ft2| Area::new::<square_foot>(ft2);
        let flow = |ft2| {
            insurance(Construction::Frame, area(ft2), 1.25, 1.6)
                .flow()
                .unwrap()
                .get::<gallon_per_minute>()
        };
        assert!((flow(1e9) - 12_000.0).abs() < 1e-6);
        assert!((flow(10.0) - 1000.0).abs() < 1e-6);
        assert!(!insurance(Construction::Frame, area(1e4), 2.0, 1.0).valid);
    }
}
