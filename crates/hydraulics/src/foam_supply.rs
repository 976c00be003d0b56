//! How much foam concentrate and water a spill takes, and how long it lasts.
//!
//! Solution = area x application rate; concentrate = solution x ratio; water = the
//! rest; each times the duration (case SF213, seen: 75 x 40 ft at 0.20 gpm/ft2
//! takes 600 gpm of solution, 18 gpm and 270 gal of 3 % concentrate in 15 min).
//! Water for it is (600 - 18) x 15 = 8,730 gal: the same source prints 26,190, for
//! it multiplies 97 by each gallon of concentrate instead of each three (SF214).
//!
//! Rates (cases SF209 to SF211, seen): 0.10 gpm/ft2 on a hydrocarbon spill, 0.20 on a
//! polar solvent; tanks 0.16, 0.18, 0.20 below 150, 200, 250 ft across.
//! Durations (SF212, seen): 15 min for a spill, 60 min for a storage tank. The
//! maker's rate for concentrate and fuel goes before these.

use crate::table::below;
use crate::units::{Area, Length, Ratio, Time, Velocity, Volume, VolumeRate, gpm};
use uom::si::{area::square_foot, length::foot, time::minute};

/// `value` gpm on each square foot.
fn gpm_per_ft2(value: f64) -> Velocity {
    gpm(value) / Area::new::<square_foot>(1.0)
}

/// What burns.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fuel {
    /// Petrol, diesel, crude: does not mix with water.
    Hydrocarbon,
    /// Ethanol and other polar solvents: mixes with water.
    Polar,
}

impl Fuel {
    /// Application rate on a spill.
    ///
    /// ```
    /// use hydraulics::foam_supply::Fuel;
    /// use hydraulics::units::{show, Kind, System};
    /// let rate = Fuel::Polar.spill_rate();
    /// assert_eq!(show(Kind::AreaRate, rate, System::Us), "0.20 gpm/ft2");
    /// ```
    pub fn spill_rate(self) -> Velocity {
        gpm_per_ft2(match self {
            Fuel::Hydrocarbon => 0.10,
            Fuel::Polar => 0.20,
        })
    }
}

/// Application rate on a storage tank of `diameter`; `None` from 250 ft on, for
/// which nothing is printed.
pub fn tank_rate(diameter: Length) -> Option<Velocity> {
    let rate = match diameter.get::<foot>() {
        d if below(d, 150.0) => 0.16,
        d if below(d, 200.0) => 0.18,
        d if below(d, 250.0) => 0.20,
        _ => return None,
    };
    Some(gpm_per_ft2(rate))
}

/// How long foam is put on a spill: 15 min.
pub fn spill_duration() -> Time {
    Time::new::<minute>(15.0)
}

/// How long foam is put on a storage tank: 60 min.
pub fn tank_duration() -> Time {
    Time::new::<minute>(60.0)
}

/// Concentrate in `solution` at `ratio`.
///
/// ```
/// use hydraulics::foam_supply::{concentrate, water};
/// use hydraulics::units::{gpm, Measure, Ratio};
/// let ratio = Ratio::of_si(0.03);
/// // Printed: 3.75 and 121.25 gpm (case SF195).
/// assert!((concentrate(gpm(125.0), ratio) - gpm(3.75)).value.abs() < 1e-12);
/// assert!((water(gpm(125.0), ratio) - gpm(121.25)).value.abs() < 1e-12);
/// ```
pub fn concentrate(solution: VolumeRate, ratio: Ratio) -> VolumeRate {
    solution * ratio
}

/// Water in `solution` at `ratio`.
pub fn water(solution: VolumeRate, ratio: Ratio) -> VolumeRate {
    solution - concentrate(solution, ratio)
}

/// How long `carried` concentrate lasts at a flow of `solution`; `None` where
/// nothing is drawn.
///
/// ```
/// use hydraulics::foam_supply::lasts;
/// use hydraulics::units::{gpm, parse, show, Kind, Measure, Ratio, System};
/// let time = lasts(parse(Kind::Volume, "30 gal")?, gpm(95.0), Ratio::of_si(0.03));
/// assert_eq!(show(Kind::Time, time.unwrap(), System::Us), "10.5 min");
/// # Ok::<(), hydraulics::units::UnitError>(())
/// ```
pub fn lasts(carried: Volume, solution: VolumeRate, ratio: Ratio) -> Option<Time> {
    let drawn = concentrate(solution, ratio);
    (drawn.value > 0.0).then(|| carried / drawn)
}

/// The largest area that `carried` concentrate covers at `rate` for `duration`;
/// `None` where nothing is drawn.
pub fn area_covered(carried: Volume, rate: Velocity, ratio: Ratio, duration: Time) -> Option<Area> {
    let depth: Length = rate * duration * ratio;
    (depth.value > 0.0).then(|| carried / depth)
}

/// Foam on an area for a time.
///
/// ```
/// use hydraulics::foam_supply::{spill_duration, Fuel, Spill};
/// use hydraulics::units::{parse, show, Kind, Measure, Ratio, System};
/// let spill = Spill {
///     area: parse(Kind::Area, "3000 ft2")?,
///     rate: Fuel::Polar.spill_rate(),
///     ratio: Ratio::of_si(0.03),
///     duration: spill_duration(),
/// };
/// assert_eq!(show(Kind::Flow, spill.solution(), System::Us), "600 gpm");
/// assert_eq!(show(Kind::Volume, spill.concentrate(), System::Us), "270 gal");
/// assert_eq!(show(Kind::Volume, spill.water(), System::Us), "8730 gal");
/// # Ok::<(), hydraulics::units::UnitError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spill {
    /// Area to cover.
    pub area: Area,
    /// Flow of solution on each unit of area.
    pub rate: Velocity,
    /// Concentrate in the solution, 0 to 1.
    pub ratio: Ratio,
    /// How long it is put on.
    pub duration: Time,
}

impl Spill {
    /// Flow of solution.
    pub fn solution(&self) -> VolumeRate {
        self.area * self.rate
    }

    /// Flow of concentrate.
    pub fn concentrate_flow(&self) -> VolumeRate {
        concentrate(self.solution(), self.ratio)
    }

    /// Flow of water.
    pub fn water_flow(&self) -> VolumeRate {
        water(self.solution(), self.ratio)
    }

    /// Concentrate for the whole duration.
    pub fn concentrate(&self) -> Volume {
        self.concentrate_flow() * self.duration
    }

    /// Water for the whole duration.
    pub fn water(&self) -> Volume {
        self.water_flow() * self.duration
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Measure;

    #[test]
    fn law_the_area_covered_takes_just_the_concentrate_carried() {
        let carried = Volume::of_si(0.2);
        let (rate, ratio) = (Fuel::Hydrocarbon.spill_rate(), Ratio::of_si(0.06));
        let area = area_covered(carried, rate, ratio, spill_duration()).unwrap();
        let spill = Spill {
            area,
            rate,
            ratio,
            duration: spill_duration(),
        };
        assert!((spill.concentrate() - carried).value.abs() < 1e-12);
        let time = lasts(carried, spill.solution(), ratio).unwrap();
        assert!((time - spill_duration()).value.abs() < 1e-6);
    }

    #[test]
    fn law_without_concentrate_nothing_runs_out() {
        let none = Ratio::of_si(0.0);
        assert!(lasts(Volume::of_si(0.1), gpm(100.0), none).is_none());
        assert!(tank_rate(Length::new::<foot>(250.0)).is_none());
    }
}
