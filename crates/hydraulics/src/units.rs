//! Quantities, and the units in which people write and read them.
//!
//! Inside, every quantity is SI and typed by [`uom`]; psi, gpm, feet, bar and
//! litres exist only in [`parse`] and [`show`]. Conversion factors are uom's.
//!
//! ```
//! use hydraulics::units::{parse, show, Kind, Pressure, System};
//! let pressure: Pressure = parse(Kind::Pressure, "150 psi")?;
//! assert_eq!(show(Kind::Pressure, pressure, System::Us), "150 psi");
//! assert_eq!(show(Kind::Pressure, pressure, System::Si), "10.3 bar");
//! # Ok::<(), hydraulics::units::UnitError>(())
//! ```

pub use uom::si::f64::{
    Angle, Area, DynamicViscosity, Force, Length, Mass, MassDensity, Pressure, Ratio,
    ThermodynamicTemperature, Time, Velocity, Volume, VolumeRate,
};
use uom::si::{
    angle, area, force, length, mass, pressure, ratio, thermodynamic_temperature, time, velocity,
    volume, volume_rate,
};

/// Pressure per flow, Pa s/m3: the slope of a loss against flow.
pub type Slope = <Pressure as std::ops::Div<VolumeRate>>::Output;

/// Pressure per flow squared, Pa s2/m6: the loss of a unit flow by a square law.
pub type Resistance = <Slope as std::ops::Div<VolumeRate>>::Output;

/// Force per length, N/m: the rate of a spring.
pub type Stiffness = <Force as std::ops::Div<Length>>::Output;

/// The two ways people read: US customary, or metric as fire services use it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum System {
    /// psi, gpm, ft, in, lbf, gal, lb, deg F.
    #[default]
    Us,
    /// bar, L/min, m, mm, N, L, kg, deg C. Time is in minutes in both.
    Si,
}

/// What a written quantity is a measure of. Sizes (bores, couplings) are
/// lengths that people read in inches or millimetres.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Kind {
    /// Gauge pressure.
    Pressure,
    /// Volume flow.
    Flow,
    /// Length of hose, rise, reach.
    Length,
    /// Bore, coupling size, roughness.
    Size,
    /// Reaction force.
    Force,
    /// Tank or hose content.
    Volume,
    /// Weight of hose and water, as mass.
    Mass,
    /// Wind or stream velocity.
    Speed,
    /// Elevation angle of a nozzle.
    Angle,
    /// Water temperature.
    Temperature,
    /// A share of a whole, 0 to 1, also written in per cent.
    Share,
    /// How long something takes or lasts.
    Time,
    /// Floor, spill, tank surface.
    Area,
    /// Flow on each unit of area, held as a velocity.
    AreaRate,
}

/// One unit: how it is written, and how it converts.
pub struct Unit {
    /// The symbol used on screens and paper.
    pub symbol: &'static str,
    also: &'static [&'static str],
    to_si: fn(f64) -> f64,
    from_si: fn(f64) -> f64,
}

impl Unit {
    /// SI value of `value` in this unit.
    pub fn to_si(&self, value: f64) -> f64 {
        (self.to_si)(value)
    }

    /// Value in this unit of an SI value.
    pub fn from_si(&self, si: f64) -> f64 {
        (self.from_si)(si)
    }

    /// Every way in which this unit may be written, capitals or not.
    pub fn names(&self) -> impl Iterator<Item = &'static str> {
        std::iter::once(self.symbol).chain(self.also.iter().copied())
    }

    fn is(&self, text: &str) -> bool {
        self.symbol.eq_ignore_ascii_case(text)
            || self.also.iter().any(|a| a.eq_ignore_ascii_case(text))
    }
}

impl std::fmt::Debug for Unit {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "Unit({})", self.symbol)
    }
}

impl PartialEq for Unit {
    fn eq(&self, other: &Self) -> bool {
        self.symbol == other.symbol
    }
}

macro_rules! unit {
    ($symbol:literal, [$($also:literal),*], $quantity:ident, $unit:path) => {
        Unit {
            symbol: $symbol,
            also: &[$($also),*],
            to_si: |v| $quantity::new::<$unit>(v).value,
            from_si: |v| $quantity::of_si(v).get::<$unit>(),
        }
    };
}

static PRESSURE: [Unit; 6] = [
    unit!("psi", ["psig", "lbf/in2"], Pressure, pressure::psi),
    unit!("bar", ["bars"], Pressure, pressure::bar),
    unit!("kPa", [], Pressure, pressure::kilopascal),
    unit!("MPa", [], Pressure, pressure::megapascal),
    unit!("Pa", [], Pressure, pressure::pascal),
    unit!("inHg", ["in Hg"], Pressure, pressure::inch_of_mercury),
];
static FLOW: [Unit; 5] = [
    unit!(
        "gpm",
        ["gal/min", "US gpm"],
        VolumeRate,
        volume_rate::gallon_per_minute
    ),
    unit!(
        "L/min",
        ["lpm", "litres/min", "liters/min"],
        VolumeRate,
        volume_rate::liter_per_minute
    ),
    unit!("L/s", ["lps"], VolumeRate, volume_rate::liter_per_second),
    unit!(
        "m3/h",
        ["m³/h"],
        VolumeRate,
        volume_rate::cubic_meter_per_hour
    ),
    unit!(
        "m3/s",
        ["m³/s"],
        VolumeRate,
        volume_rate::cubic_meter_per_second
    ),
];
static LENGTH: [Unit; 8] = [
    unit!("ft", ["feet", "foot", "'"], Length, length::foot),
    unit!(
        "m",
        ["metres", "meters", "metre", "meter"],
        Length,
        length::meter
    ),
    unit!("in", ["inch", "inches", "\""], Length, length::inch),
    unit!("mm", [], Length, length::millimeter),
    unit!("cm", [], Length, length::centimeter),
    unit!("yd", ["yards", "yard"], Length, length::yard),
    unit!("mi", ["mile", "miles"], Length, length::mile),
    unit!(
        "km",
        ["kilometres", "kilometers"],
        Length,
        length::kilometer
    ),
];
static FORCE: [Unit; 3] = [
    unit!("lbf", ["lb", "pounds"], Force, force::pound_force),
    unit!("N", ["newtons"], Force, force::newton),
    unit!("kgf", [], Force, force::kilogram_force),
];
static VOLUME: [Unit; 4] = [
    unit!("gal", ["gallons", "US gal"], Volume, volume::gallon),
    unit!("L", ["litres", "liters"], Volume, volume::liter),
    unit!("m3", ["m³"], Volume, volume::cubic_meter),
    unit!("ft3", ["ft³", "cu ft"], Volume, volume::cubic_foot),
];
static MASS: [Unit; 2] = [
    unit!("lb", ["lbs", "pounds"], Mass, mass::pound),
    unit!("kg", [], Mass, mass::kilogram),
];
static SPEED: [Unit; 4] = [
    unit!("mph", [], Velocity, velocity::mile_per_hour),
    unit!("m/s", [], Velocity, velocity::meter_per_second),
    unit!("km/h", [], Velocity, velocity::kilometer_per_hour),
    unit!("ft/s", [], Velocity, velocity::foot_per_second),
];
static ANGLE: [Unit; 1] = [unit!(
    "deg",
    ["°", "degrees", "degree"],
    Angle,
    angle::degree
)];
static TEMPERATURE: [Unit; 3] = [
    unit!(
        "F",
        ["°F", "deg F"],
        ThermodynamicTemperature,
        thermodynamic_temperature::degree_fahrenheit
    ),
    unit!(
        "C",
        ["°C", "deg C"],
        ThermodynamicTemperature,
        thermodynamic_temperature::degree_celsius
    ),
    unit!(
        "K",
        [],
        ThermodynamicTemperature,
        thermodynamic_temperature::kelvin
    ),
];
static SHARE: [Unit; 2] = [
    unit!("%", ["per cent", "percent"], Ratio, ratio::percent),
    unit!("", [], Ratio, ratio::ratio),
];

static TIME: [Unit; 3] = [
    unit!("min", ["mins", "minutes", "minute"], Time, time::minute),
    unit!("h", ["hr", "hours", "hour"], Time, time::hour),
    unit!("s", ["sec", "seconds", "second"], Time, time::second),
];
static AREA: [Unit; 2] = [
    unit!(
        "ft2",
        ["ft²", "sq ft", "square feet"],
        Area,
        area::square_foot
    ),
    unit!(
        "m2",
        ["m²", "sq m", "square metres"],
        Area,
        area::square_meter
    ),
];
static AREA_RATE: [Unit; 2] = [
    Unit {
        symbol: "gpm/ft2",
        also: &["gpm/ft²", "gpm/sq ft"],
        to_si: |v| gpm(v).value / FT2,
        from_si: |v| v * FT2 / gpm(1.0).value,
    },
    Unit {
        symbol: "L/min/m2",
        also: &["L/min/m²", "L/(min m2)", "lpm/m2"],
        to_si: |v| v / 60_000.0,
        from_si: |v| v * 60_000.0,
    },
];

/// A square foot in square metres.
const FT2: f64 = 0.092_903_04;

impl Kind {
    /// Every unit accepted for this kind, the commonest first.
    pub fn units(self) -> &'static [Unit] {
        match self {
            Kind::Pressure => &PRESSURE,
            Kind::Flow => &FLOW,
            Kind::Length | Kind::Size => &LENGTH,
            Kind::Force => &FORCE,
            Kind::Volume => &VOLUME,
            Kind::Mass => &MASS,
            Kind::Speed => &SPEED,
            Kind::Angle => &ANGLE,
            Kind::Temperature => &TEMPERATURE,
            Kind::Share => &SHARE,
            Kind::Time => &TIME,
            Kind::Area => &AREA,
            Kind::AreaRate => &AREA_RATE,
        }
    }

    /// The unit in which `system` reads this kind.
    pub fn unit(self, system: System) -> &'static Unit {
        let index = match (self, system) {
            (Kind::Size, System::Us) => 2,
            (Kind::Size, System::Si) => 3,
            (Kind::Angle | Kind::Share | Kind::Time, _) | (_, System::Us) => 0,
            (_, System::Si) => 1,
        };
        &self.units()[index]
    }

    /// What a person would call this kind.
    pub fn name(self) -> &'static str {
        match self {
            Kind::Pressure => "pressure",
            Kind::Flow => "flow",
            Kind::Length => "length",
            Kind::Size => "size",
            Kind::Force => "force",
            Kind::Volume => "volume",
            Kind::Mass => "weight",
            Kind::Speed => "speed",
            Kind::Angle => "angle",
            Kind::Temperature => "temperature",
            Kind::Share => "share",
            Kind::Time => "time",
            Kind::Area => "area",
            Kind::AreaRate => "application rate",
        }
    }

    /// An example of how this kind is written.
    pub fn example(self, system: System) -> &'static str {
        match (self, system) {
            (Kind::Pressure, System::Us) => "150 psi",
            (Kind::Pressure, System::Si) => "10.3 bar",
            (Kind::Flow, System::Us) => "150 gpm",
            (Kind::Flow, System::Si) => "570 L/min",
            (Kind::Length, System::Us) => "200 ft",
            (Kind::Length, System::Si) => "60 m",
            (Kind::Size, System::Us) => "1-3/4 in",
            (Kind::Size, System::Si) => "45 mm",
            (Kind::Force, System::Us) => "75 lbf",
            (Kind::Force, System::Si) => "330 N",
            (Kind::Volume, System::Us) => "750 gal",
            (Kind::Volume, System::Si) => "2800 L",
            (Kind::Mass, System::Us) => "40 lb",
            (Kind::Mass, System::Si) => "18 kg",
            (Kind::Speed, System::Us) => "10 mph",
            (Kind::Speed, System::Si) => "5 m/s",
            (Kind::Angle, _) => "30 deg",
            (Kind::Temperature, System::Us) => "60 F",
            (Kind::Temperature, System::Si) => "15 C",
            (Kind::Share, _) => "50 %",
            (Kind::Time, _) => "15 min",
            (Kind::Area, System::Us) => "3000 ft2",
            (Kind::Area, System::Si) => "280 m2",
            (Kind::AreaRate, System::Us) => "0.10 gpm/ft2",
            (Kind::AreaRate, System::Si) => "4.1 L/min/m2",
        }
    }

    /// Decimals worth reading on a fireground, in the unit of `system`.
    pub fn decimals(self, system: System) -> usize {
        match (self, system) {
            (Kind::Size, System::Us) => 3,
            (Kind::Pressure | Kind::Length | Kind::Size | Kind::Speed, System::Si) => 1,
            (Kind::Temperature | Kind::Time, _) => 1,
            (Kind::AreaRate, System::Us) => 2,
            (Kind::AreaRate, System::Si) => 1,
            _ => 0,
        }
    }

    fn all() -> [Kind; 14] {
        [
            Kind::Pressure,
            Kind::Flow,
            Kind::Length,
            Kind::Size,
            Kind::Force,
            Kind::Volume,
            Kind::Mass,
            Kind::Speed,
            Kind::Angle,
            Kind::Temperature,
            Kind::Share,
            Kind::Time,
            Kind::Area,
            Kind::AreaRate,
        ]
    }
}

/// A typed quantity that can be made from, and read as, its SI value.
pub trait Measure: Copy {
    /// The quantity whose SI value is `value`.
    fn of_si(value: f64) -> Self;
    /// The SI value.
    fn si(self) -> f64;
}

impl<D> Measure for uom::si::Quantity<D, uom::si::SI<f64>, f64>
where
    D: uom::si::Dimension + ?Sized,
{
    fn of_si(value: f64) -> Self {
        Self {
            dimension: std::marker::PhantomData,
            units: std::marker::PhantomData,
            value,
        }
    }

    fn si(self) -> f64 {
        self.value
    }
}

/// Why a written quantity could not be read.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum UnitError {
    /// No number at the start of the text.
    #[error("\"{text}\" has no number that can be read as {} {kind}", article(.kind))]
    NoNumber {
        /// What was written.
        text: String,
        /// What was wanted.
        kind: &'static str,
    },
    /// The number has no unit.
    #[error("\"{text}\" has no unit, so it is not clear what {kind} it is")]
    NoUnit {
        /// What was written.
        text: String,
        /// What was wanted.
        kind: &'static str,
    },
    /// The unit is not one that is known.
    #[error("\"{unit}\" is not a unit of {kind}")]
    UnknownUnit {
        /// The unit as written.
        unit: String,
        /// What was wanted.
        kind: &'static str,
        /// The nearest unit that would be accepted.
        nearest: &'static str,
    },
    /// The unit measures something else.
    #[error("\"{unit}\" measures {is}, but {} {wanted} is wanted here", article(.wanted))]
    WrongKind {
        /// The unit as written.
        unit: String,
        /// What it measures.
        is: &'static str,
        /// What was wanted.
        wanted: &'static str,
    },
    /// The number is too large to mean anything, or not a number.
    #[error("\"{text}\" is not a number that means anything")]
    NotFinite {
        /// What was written.
        text: String,
    },
}

/// Reads `text` as a quantity of `kind`: a number and a unit, "150 psi",
/// "1-3/4 in", "2 1/2 in", "50 %".
///
/// # Errors
/// [`UnitError`] says what is missing or not known.
pub fn parse<Q: Measure>(kind: Kind, text: &str) -> Result<Q, UnitError> {
    let (value, unit) = split(kind, text)?;
    if unit.is_empty() && kind != Kind::Share {
        return Err(UnitError::NoUnit {
            text: text.trim().into(),
            kind: kind.name(),
        });
    }
    let unit = find_unit(kind, unit)?;
    finite(text, unit.to_si(value))
}

/// `value` psi: for the standards that are written in it.
pub fn psi(value: f64) -> Pressure {
    Pressure::new::<pressure::psi>(value)
}

/// `value` US gallons a minute: for the standards that are written in it.
pub fn gpm(value: f64) -> VolumeRate {
    VolumeRate::new::<volume_rate::gallon_per_minute>(value)
}

/// Reads a bare number in the unit in which `system` reads `kind`.
///
/// # Errors
/// [`UnitError::NotFinite`] when the number is infinite or not a number.
pub fn bare<Q: Measure>(kind: Kind, value: f64, system: System) -> Result<Q, UnitError> {
    finite(&value.to_string(), kind.unit(system).to_si(value))
}

fn article(noun: &str) -> &'static str {
    match noun.starts_with(['a', 'e', 'i', 'o', 'u']) {
        true => "an",
        false => "a",
    }
}

fn finite<Q: Measure>(text: &str, si: f64) -> Result<Q, UnitError> {
    if si.is_finite() && si.abs() < 1e15 {
        Ok(Q::of_si(si))
    } else {
        Err(UnitError::NotFinite {
            text: text.trim().into(),
        })
    }
}

/// The number and the unit text of a written quantity.
fn split(kind: Kind, text: &str) -> Result<(f64, &str), UnitError> {
    let text = text.trim();
    let no_number = || UnitError::NoNumber {
        text: text.into(),
        kind: kind.name(),
    };
    let is_number =
        |c: char| c.is_ascii_digit() || matches!(c, '.' | '-' | '+' | '/' | ' ' | '_' | ',');
    let mut end = text.find(|c| !is_number(c)).unwrap_or(text.len());
    // "1e3 psi": an exponent belongs to the number.
    if let Some(rest) = text[end..].strip_prefix(['e', 'E']) {
        let digits = rest.trim_start_matches(['+', '-']);
        let count = digits.chars().take_while(char::is_ascii_digit).count();
        if count > 0 {
            end += 1 + (rest.len() - digits.len()) + count;
        }
    }
    let number = text[..end].trim();
    let value = number_of(number).ok_or_else(no_number)?;
    Ok((value, text[end..].trim()))
}

/// A decimal, a fraction ("7/8"), or a whole and a fraction ("1-3/4", "1 3/4").
fn number_of(text: &str) -> Option<f64> {
    let (sign, text) = match text.strip_prefix('-') {
        Some(rest) => (-1.0, rest.trim_start()),
        None => (1.0, text.strip_prefix('+').unwrap_or(text)),
    };
    let Some((left, below)) = text.split_once('/') else {
        return Some(sign * thousands(text)?);
    };
    let below = plain(below)?;
    let left = left.trim();
    let value = match left.rsplit_once(['-', ' ']) {
        Some((whole, above)) => plain(whole)? + plain(above)? / below,
        None => plain(left)? / below,
    };
    (below != 0.0).then_some(sign * value)
}

/// Digits as a person groups them: "1,500" and "1_500" as well as "1500".
fn thousands(text: &str) -> Option<f64> {
    if !text.contains(',') {
        return plain(&text.replace('_', ""));
    }
    let whole = text.split('.').next().unwrap_or(text);
    let groups: Vec<&str> = whole.split(',').collect();
    let grouped = groups.len() > 1
        && (1..=3).contains(&groups[0].len())
        && groups[1..].iter().all(|g| g.len() == 3);
    grouped.then(|| plain(&text.replace(',', ""))).flatten()
}

fn plain(text: &str) -> Option<f64> {
    let text = text.trim();
    text.starts_with(|c: char| c.is_ascii_digit() || c == '.')
        .then(|| text.parse().ok())
        .flatten()
}

fn find_unit(kind: Kind, text: &str) -> Result<&'static Unit, UnitError> {
    if let Some(unit) = kind.units().iter().find(|u| u.is(text)) {
        return Ok(unit);
    }
    let other = Kind::all()
        .into_iter()
        .find(|k| k.units().iter().any(|u| u.is(text)));
    if let Some(other) = other {
        return Err(UnitError::WrongKind {
            unit: text.into(),
            is: other.name(),
            wanted: kind.name(),
        });
    }
    let nearest = kind
        .units()
        .iter()
        .min_by_key(|u| strsim::damerau_levenshtein(&u.symbol.to_lowercase(), &text.to_lowercase()))
        .map_or("", |u| u.symbol);
    Err(UnitError::UnknownUnit {
        unit: text.into(),
        kind: kind.name(),
        nearest,
    })
}

/// The figure of `quantity` in the unit in which `system` reads `kind`.
pub fn figure<Q: Measure>(kind: Kind, quantity: Q, system: System) -> f64 {
    kind.unit(system).from_si(quantity.si())
}

/// `quantity` as a person reads it: figure and unit, never without its unit.
pub fn show<Q: Measure>(kind: Kind, quantity: Q, system: System) -> String {
    let unit = kind.unit(system);
    let number = decimal(figure(kind, quantity, system), kind.decimals(system));
    let number = if kind == Kind::Size {
        number.trim_end_matches('0').trim_end_matches('.').into()
    } else {
        number
    };
    match unit.symbol {
        "" => number,
        symbol => format!("{number} {symbol}"),
    }
}

/// `value` with `places` decimals, and never "-0".
pub fn decimal(value: f64, places: usize) -> String {
    let text = format!("{value:.places$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.bytes().all(|b| matches!(b, b'0' | b'.')) => rest.into(),
        _ => text,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn reads_what_firefighters_write() {
        for (text, inches) in [
            ("1.75 in", 1.75),
            ("1-3/4 in", 1.75),
            ("1 3/4 in", 1.75),
            ("15/16in", 0.9375),
            ("2.5\"", 2.5),
        ] {
            let size: Length = parse(Kind::Size, text).unwrap();
            assert!(
                (size.get::<length::inch>() - inches).abs() < 1e-12,
                "{text}"
            );
        }
        let tank: Volume = parse(Kind::Volume, "1,500 gal").unwrap();
        assert!((tank.get::<volume::gallon>() - 1500.0).abs() < 1e-9);
    }

    #[test]
    fn says_what_is_wrong_with_a_unit() {
        let wrong = parse::<Pressure>(Kind::Pressure, "150 gpm").unwrap_err();
        assert_eq!(
            wrong.to_string(),
            "\"gpm\" measures flow, but a pressure is wanted here"
        );
        let typo = parse::<Pressure>(Kind::Pressure, "150 pis").unwrap_err();
        assert!(matches!(
            typo,
            UnitError::UnknownUnit { nearest: "psi", .. }
        ));
        assert!(parse::<Pressure>(Kind::Pressure, "NaN psi").is_err());
        assert!(parse::<Pressure>(Kind::Pressure, "1e999 psi").is_err());
        assert!(parse::<Pressure>(Kind::Pressure, "1/0 psi").is_err());
        assert!(matches!(
            parse::<Pressure>(Kind::Pressure, "150"),
            Err(UnitError::NoUnit { .. })
        ));
    }

    #[test]
    fn law_an_application_rate_is_flow_over_area() {
        let rate: Velocity = parse(Kind::AreaRate, "0.10 gpm/ft2").unwrap();
        let area: Area = parse(Kind::Area, "3,000 sq ft").unwrap();
        let flow: VolumeRate = rate * area;
        assert_eq!(show(Kind::Flow, flow, System::Us), "300 gpm");
        assert_eq!(show(Kind::AreaRate, rate, System::Si), "4.1 L/min/m2");
        let wrong = parse::<Area>(Kind::Area, "15 min").unwrap_err();
        assert_eq!(
            wrong.to_string(),
            "\"min\" measures time, but an area is wanted here"
        );
    }

    proptest! {
        #[test]
        fn law_units_convert_there_and_back(value in -1e6..1e6f64, kind in 0..14usize) {
            for unit in Kind::all()[kind].units() {
                let back = unit.from_si(unit.to_si(value));
                prop_assert!((back - value).abs() <= 1e-9 * value.abs().max(500.0));
            }
        }

        #[test]
        fn law_any_text_is_read_or_refused(text in ".{0,40}") {
            let _ = parse::<Pressure>(Kind::Pressure, &text);
        }
    }
}
