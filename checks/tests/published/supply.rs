//! Rows about water supply: outlets, drafting, shuttles, foam, fire flow.

use super::Misses;
use super::laws::{coefficient, hose, misses};
use checks::{CheckError, Row};
use hydraulics::draft::{
    self, DRY_HYDRANT_N, Fitting, HeadBand, Suction, atmospheric, trade_atmospheric,
};
use hydraulics::element::Element;
use hydraulics::fire_flow::{self, Building, Construction, ConstructionType, Hazard, Use};
use hydraulics::foam_supply::{self, Fuel, Spill};
use hydraulics::orifice::{Outlet, OutletShape, pumper_correction};
use hydraulics::shuttle::{self, Cycle, Shuttle, usable_share};
use hydraulics::units::{
    Area, Kind, Length, Measure, Pressure, Ratio, Time, Velocity, Volume, VolumeRate, parse,
};
use hydraulics::water::Water;

/// What is wrong with `quantity` beside the row's value, in the row's unit.
pub fn compare<Q: Measure>(row: &Row, kind: Kind, quantity: Q) -> Misses {
    misses(row.miss(row.in_unit(kind, quantity)?)?)
}

fn length(row: &Row, name: &str) -> Result<Length, CheckError> {
    row.quantity(Kind::Length, name)
}

fn shape(row: &Row) -> Result<OutletShape, CheckError> {
    Ok(match row.text("shape") {
        Some("rounded") => OutletShape::Rounded,
        Some("square") => OutletShape::Square,
        Some("projecting") => OutletShape::Projecting,
        _ => OutletShape::Stated(Ratio::of_si(row.number("coefficient")?)),
    })
}

pub fn hydrant_pitot(row: &Row) -> Misses {
    let pitot = || row.quantity::<Pressure>(Kind::Pressure, "pitot");
    match row.method()? {
        "outlet" => {
            let outlet = Outlet {
                size: row.quantity(Kind::Size, "size")?,
                shape: shape(row)?,
                count: 1,
            };
            compare(row, Kind::Flow, outlet.flow(pitot()?))
        }
        "coefficient" => misses(row.miss(shape(row)?.coefficient().value)?),
        "correction" => misses(row.miss(pumper_correction(pitot()?).value)?),
        _ => Err(row.unknown_method()),
    }
}

pub fn drafting(row: &Row) -> Misses {
    let water = Water::default();
    let sea = Length::of_si(0.0);
    let altitude = || length(row, "altitude");
    let pressure = || row.quantity::<Pressure>(Kind::Pressure, "pressure");
    let pressure_of = |p: Pressure| compare(row, Kind::Pressure, p);
    let length_of = |l: Length| compare(row, Kind::Length, l);
    match row.method()? {
        "column" => length_of(draft::column(pressure()?, water)),
        "practical" => length_of(draft::practical_lift(length(row, "lift")?)),
        "trade_lift" => length_of(draft::trade_lift(pressure()?)),
        "atmosphere" => pressure_of(atmospheric(altitude()?)),
        "trade_atmosphere" => pressure_of(trade_atmospheric(altitude()?)),
        "standard_fall" => pressure_of(atmospheric(altitude()?) - atmospheric(sea)),
        "trade_fall" => pressure_of(trade_atmospheric(altitude()?) - trade_atmospheric(sea)),
        "lift_fall" => {
            let fall = trade_atmospheric(altitude()?) - trade_atmospheric(sea);
            length_of(draft::column(fall, water))
        }
        "capacity" => match draft::capacity_share(length(row, "lift")?) {
            Some(share) => compare(row, Kind::Share, share),
            None => Err(row.refused("no share is known for that lift")),
        },
        "vapour" => {
            let warm = Water::at(row.quantity(Kind::Temperature, "temperature")?);
            pressure_of(draft::vapour_pressure(warm))
        }
        "manning" => pipe(row, water),
        "strainer" => strainer(row, water),
        "fitting" => length_of(fitting(row)?.equivalent_length()),
        "band" => band(row),
        _ => Err(row.unknown_method()),
    }
}

/// Head lost in 100 ft of pipe.
fn pipe(row: &Row, water: Water) -> Misses {
    let bore = row.quantity(Kind::Size, "bore")?;
    let hundred = parse(Kind::Length, "100 ft").map_err(|e| row.refused(e))?;
    let flow = row.quantity(Kind::Flow, "flow")?;
    let loss =
        draft::manning_loss(bore, hundred, flow, DRY_HYDRANT_N).map_err(|e| row.refused(e))?;
    compare(row, Kind::Length, draft::column(loss, water))
}

/// The head lost at another flow by a strainer that loses `lift` at 250 gpm.
fn strainer(row: &Row, water: Water) -> Misses {
    let loss = water.static_pressure(length(row, "lift")?);
    let flow = parse(Kind::Flow, "250 gpm").map_err(|e| row.refused(e))?;
    let suction = Suction::rated(loss, flow).map_err(|e| row.refused(e))?;
    let loss = suction.loss(row.quantity(Kind::Flow, "flow")?).pressure;
    compare(row, Kind::Length, draft::column(loss, water))
}

fn fitting(row: &Row) -> Result<Fitting, CheckError> {
    match row.text("fitting") {
        Some("elbow_90") => Ok(Fitting::Elbow90),
        Some("elbow_45") => Ok(Fitting::Elbow45),
        Some("reducer") => Ok(Fitting::Reducer),
        _ => Err(row.refused("a fitting that is not known")),
    }
}

/// The printed head is the last of its band: an inch more is in the next.
fn band(row: &Row) -> Misses {
    let wanted = match row.text("fitting") {
        Some("preferred") => HeadBand::Preferred,
        Some("recommended") => HeadBand::Recommended,
        Some("limit") => HeadBand::Limit,
        _ => return Err(row.refused("a band that is not known")),
    };
    let last = Length::of_si(row.number("expected")? * 0.3048);
    let more = last + Length::of_si(0.0254);
    let ends = draft::head_band(last) == wanted && draft::head_band(more) > wanted;
    misses((!ends).then(|| format!("{}: the band does not end there", row.place)))
}

pub fn water_shuttle(row: &Row) -> Misses {
    let time = |name: &str| row.quantity::<Time>(Kind::Time, name);
    let flow = || row.quantity::<VolumeRate>(Kind::Flow, "flow");
    match row.method()? {
        "box" => {
            let floor: Area = length(row, "length")? * length(row, "width")?;
            let volume: Volume = floor * length(row, "height")?;
            compare(row, Kind::Volume, volume)
        }
        "rate" => rate(row, time("cycle")?, Time::of_si(0.0)),
        "route_rate" => {
            let travel = shuttle::travel_time(length(row, "distance")?);
            // The source drives the formula's way once in a round, not twice.
            rate(row, time("handling")?, 0.5 * travel)
        }
        "travel" => {
            let travel = shuttle::travel_time(length(row, "distance")?);
            compare(row, Kind::Time, travel)
        }
        "volume" => compare(row, Kind::Volume, shuttle::drawn_in(flow()?, time("time")?)),
        "duration" => {
            let tank = row.quantity(Kind::Volume, "tank")?;
            match shuttle::lasts(tank, flow()?, VolumeRate::of_si(0.0)) {
                Some(time) => compare(row, Kind::Time, time),
                None => Err(row.refused("the tank never runs out")),
            }
        }
        _ => Err(row.unknown_method()),
    }
}

/// What one tanker brings, in closed form and by the course of a tank from
/// which just that is drawn.
fn rate(row: &Row, handling: Time, travel: Time) -> Misses {
    let none = Time::of_si(0.0);
    let cycle = Cycle {
        fill: none,
        dump: none,
        travel,
        handling,
    };
    let tank: Volume = row.quantity(Kind::Volume, "tank")?;
    let refuse = |e| row.refused(e);
    let route = Shuttle::new(tank, usable_share(), cycle).map_err(refuse)?;
    let flow = route.sustained(1);
    let mut found = compare(row, Kind::Flow, flow)?;
    let portable = |drawn| shuttle::Storage {
        capacity: 2.0 * tank,
        start: route.load(),
        drawn,
    };
    let arrivals = route.arrivals(1, none);
    for (drawn, dry) in [(flow * 0.999, false), (flow * 1.05, true)] {
        let over = 50.0 * cycle.total();
        let course = shuttle::course(portable(drawn), arrivals, over).map_err(refuse)?;
        if course.dry_at.is_some() != dry {
            found.push(format!("{}: the tank's course disagrees", row.place));
        }
    }
    Ok(found)
}

pub fn foam(row: &Row) -> Misses {
    let solution = || row.quantity::<VolumeRate>(Kind::Flow, "solution");
    let ratio = || row.quantity::<Ratio>(Kind::Share, "ratio");
    let rate_of = |rate: Velocity| compare(row, Kind::AreaRate, rate);
    match (row.method()?, row.text("what")) {
        ("concentrate_flow", _) => {
            let flow = foam_supply::concentrate(solution()?, ratio()?);
            compare(row, Kind::Flow, flow)
        }
        ("water_flow", _) => {
            let flow = foam_supply::water(solution()?, ratio()?);
            compare(row, Kind::Flow, flow)
        }
        ("hose_past_eductor", _) => hose_past_eductor(row, solution()?, ratio()?),
        ("spill_rate", Some("hydrocarbon")) => rate_of(Fuel::Hydrocarbon.spill_rate()),
        ("spill_rate", Some("polar")) => rate_of(Fuel::Polar.spill_rate()),
        ("tank_rate", _) => match foam_supply::tank_rate(length(row, "length")?) {
            Some(rate) => rate_of(rate),
            None => Err(row.refused("no rate is known for that tank")),
        },
        ("duration", Some("spill")) => compare(row, Kind::Time, foam_supply::spill_duration()),
        ("duration", Some("tank")) => compare(row, Kind::Time, foam_supply::tank_duration()),
        (method, _) => spill(row, method),
    }
}

fn spill(row: &Row, method: &str) -> Misses {
    let spill = Spill {
        area: length(row, "length")? * length(row, "width")?,
        rate: row.quantity(Kind::AreaRate, "rate")?,
        ratio: row.quantity(Kind::Share, "ratio")?,
        duration: row.quantity(Kind::Time, "time")?,
    };
    match method {
        "solution" => compare(row, Kind::Flow, spill.solution()),
        "concentrate_rate" => compare(row, Kind::Flow, spill.concentrate_flow()),
        "concentrate" => compare(row, Kind::Volume, spill.concentrate()),
        "water" => compare(row, Kind::Volume, spill.water()),
        _ => Err(row.unknown_method()),
    }
}

/// The length that loses what the outlet of the eductor has above the nozzle.
fn hose_past_eductor(row: &Row, flow: VolumeRate, share: Ratio) -> Misses {
    let inlet: Pressure = row.quantity(Kind::Pressure, "inlet")?;
    let nozzle: Pressure = row.quantity(Kind::Pressure, "nozzle")?;
    let unit = Length::of_si(1.0);
    let metre = hose(row, coefficient(row, "coefficient")?, unit)?.loss(flow);
    let left = inlet * share - nozzle;
    compare(row, Kind::Length, unit * (left / metre.pressure).value)
}

/// A building of one floor; as good as all of it burns unless the row says what
/// share does.
fn building(row: &Row) -> Result<Building, CheckError> {
    let involved = match row.has("involved") {
        true => row.quantity(Kind::Share, "involved")?,
        false => Ratio::of_si(1.0),
    };
    Ok(Building {
        length: length(row, "length")?,
        width: length(row, "width")?,
        height: length(row, "height")?,
        floors: 1,
        involved,
        exposed_sides: 0,
        exposed_floors: 0,
    })
}

pub fn needed_flow(row: &Row) -> Misses {
    let estimate = match row.method()? {
        "area" => fire_flow::by_area(&building(row)?),
        "volume" => fire_flow::by_volume(&building(row)?),
        "volume_metric" => fire_flow::by_volume_metric(&building(row)?),
        "area_and_ceiling" => fire_flow::by_area_and_ceiling(&building(row)?),
        "fire_area" => fire_flow::by_fire_area(&building(row)?),
        "survey_other" => fire_flow::by_survey(&building(row)?, Use::Other),
        "survey_residential" => fire_flow::by_survey(&building(row)?, Use::Residential),
        "rural" => {
            let exposed = row.text("exposed") == Some("yes");
            fire_flow::rural_supply(&building(row)?, hazard(row)?, construction(row)?, exposed)
        }
        _ => return other_figure(row),
    };
    let mut found = match (estimate.flow(), estimate.supply()) {
        (Some(flow), _) => compare(row, Kind::Flow, flow)?,
        (_, Some(volume)) => compare(row, Kind::Volume, volume)?,
        _ => return Err(row.refused("an estimate of nothing")),
    };
    if !estimate.valid {
        found.push(format!("{}: outside its form's range", row.place));
    }
    Ok(found)
}

/// Figures that are not an estimate.
fn other_figure(row: &Row) -> Misses {
    match row.method()? {
        "content" => compare(row, Kind::Volume, building(row)?.volume()),
        "water_in_30_s" => {
            let flow = fire_flow::by_volume(&building(row)?).flow();
            let flow = flow.ok_or_else(|| row.refused("no flow"))?;
            compare(
                row,
                Kind::Volume,
                shuttle::drawn_in(flow, Time::of_si(30.0)),
            )
        }
        "exposure" => exposure(row),
        "hazard_number" => misses(row.miss(hazard(row)?.number())?),
        "construction_number" => misses(row.miss(construction(row)?.number())?),
        "delivery" => {
            let supply = row.quantity(Kind::Volume, "supply")?;
            compare(row, Kind::Flow, fire_flow::delivery_rate(supply))
        }
        "insurance_c" => {
            let area = row.quantity(Kind::Area, "area")?;
            let c = fire_flow::insurance_c(Construction::JoistedMasonry, area);
            compare(row, Kind::Flow, c)
        }
        _ => Err(row.unknown_method()),
    }
}

/// What one exposed side adds, as a share of the flow without it.
fn exposure(row: &Row) -> Misses {
    let alone = building(row)?;
    let beside = Building {
        exposed_sides: 1,
        ..alone
    };
    let flow = |b: &Building| {
        let flow = fire_flow::by_area(b).flow();
        flow.ok_or_else(|| row.refused("no flow"))
    };
    let added = flow(&beside)? / flow(&alone)? - Ratio::of_si(1.0);
    compare(row, Kind::Share, added)
}

fn hazard(row: &Row) -> Result<Hazard, CheckError> {
    let number = row.number("hazard")? as u32;
    Hazard::of_number(number).ok_or_else(|| row.refused("no such hazard number"))
}

fn construction(row: &Row) -> Result<ConstructionType, CheckError> {
    match row.text("construction") {
        Some("I") => Ok(ConstructionType::I),
        Some("II") => Ok(ConstructionType::II),
        Some("III") => Ok(ConstructionType::III),
        Some("IV") => Ok(ConstructionType::IV),
        Some("V") => Ok(ConstructionType::V),
        _ => Err(row.refused("no such type of construction")),
    }
}
