//! Rows that one law answers.

use super::Misses;
use checks::{CheckError, Row};
use hydraulics::element::Element;
use hydraulics::friction::{Coefficient, Friction, old_rule};
use hydraulics::hose::{Run, content, velocity};
use hydraulics::nozzle::{METRIC_COEFFICIENT, SmoothBore, TRADE_COEFFICIENT};
use hydraulics::reaction::{half_the_flow, people, solid_stream, spray};
use hydraulics::stream::{Quality, Stream};
use hydraulics::units::{Force, Kind, Length, Measure, Pressure, Ratio, VolumeRate, parse};
use hydraulics::water::{GRAVITY, Water, trade_floors, trade_rise};

pub fn misses(found: Option<String>) -> Misses {
    Ok(found.into_iter().collect())
}

/// C of the column `name`_us or `name`_metric.
pub fn coefficient(row: &Row, name: &str) -> Result<Coefficient, CheckError> {
    let us = format!("{name}_us");
    let made = match row.text(&us) {
        Some(_) => Coefficient::us(row.number(&us)?),
        None => Coefficient::metric(row.number(&format!("{name}_metric"))?),
    };
    made.map_err(|e| row.refused(e))
}

pub fn hose(row: &Row, c: Coefficient, length: Length) -> Result<Run, CheckError> {
    Run::new(Friction::Coefficient(c), length, Water::default()).map_err(|e| row.refused(e))
}

pub fn friction(row: &Row) -> Misses {
    let flow: VolumeRate = row.quantity(Kind::Flow, "flow")?;
    let length: Length = row.quantity(Kind::Length, "length")?;
    let loss = match row.method()? {
        "coefficient" => {
            hose(row, coefficient(row, "coefficient")?, length)?
                .loss(flow)
                .pressure
        }
        "old_rule" => old_rule(flow, length),
        _ => return Err(row.unknown_method()),
    };
    misses(row.miss(row.in_unit(Kind::Pressure, loss)?)?)
}

pub fn coefficient_units(row: &Row) -> Misses {
    let c = coefficient(row, "coefficient")?;
    misses(row.miss(c.metric_value())?)
}

/// The length of another hose that loses as much at the same flow.
pub fn equivalent_length(row: &Row) -> Misses {
    let length: Length = row.quantity(Kind::Length, "length")?;
    let flow: VolumeRate = VolumeRate::of_si(0.02);
    let loss = |c| {
        let run = hose(row, c, length)?;
        Ok::<f64, CheckError>(run.loss(flow).pressure.value)
    };
    let here = loss(coefficient(row, "coefficient")?)?;
    let there = loss(coefficient(row, "as_coefficient")?)?;
    misses(row.miss(row.in_unit(Kind::Length, length * (here / there))?)?)
}

/// Discharge coefficient: of the ideal, or as the trade writes the formula.
fn discharge_coefficient(row: &Row) -> Result<Ratio, CheckError> {
    let written = row.text("coefficient").unwrap_or_default();
    Ok(match (row.method()?, written) {
        ("trade", "29.7") => Ratio::of_si(TRADE_COEFFICIENT),
        ("trade", "0.066") => Ratio::of_si(METRIC_COEFFICIENT),
        ("ideal", _) => Ratio::of_si(row.number("coefficient")?),
        _ => return Err(row.unknown_method()),
    })
}

/// A pressure, or the head of a water column.
fn nozzle_pressure(row: &Row) -> Result<Pressure, CheckError> {
    if row.has("head") {
        Ok(column(row.quantity(Kind::Length, "head")?))
    } else {
        row.quantity(Kind::Pressure, "pressure")
    }
}

/// Pressure of a column of the water that streams are reckoned with.
fn column(head: Length) -> Pressure {
    Pressure::of_si(999.0 * GRAVITY * head.value)
}

pub fn tip(row: &Row) -> Result<SmoothBore, CheckError> {
    let bore = row.quantity(Kind::Size, "bore")?;
    SmoothBore::new(bore, discharge_coefficient(row)?).map_err(|e| row.refused(e))
}

pub fn discharge(row: &Row) -> Misses {
    let flow = tip(row)?.factor().flow(nozzle_pressure(row)?);
    misses(row.miss(row.in_unit(Kind::Flow, flow)?)?)
}

pub fn reaction(row: &Row) -> Misses {
    let flow = || row.quantity::<VolumeRate>(Kind::Flow, "flow");
    let bore = || row.quantity::<Length>(Kind::Size, "bore");
    let pressure = || row.quantity::<Pressure>(Kind::Pressure, "pressure");
    let force = match row.method()? {
        "solid_stream" => solid_stream(bore()?, pressure()?),
        "spray" => spray(flow()?, pressure()?),
        "half_the_flow" => half_the_flow(flow()?),
        "spray_over_solid_stream" => {
            let tip = SmoothBore::new(bore()?, Ratio::of_si(TRADE_COEFFICIENT))
                .map_err(|e| row.refused(e))?;
            let sprayed = spray(tip.factor().flow(pressure()?), pressure()?);
            return misses(row.miss((sprayed / solid_stream(bore()?, pressure()?)).value)?);
        }
        "people" => return people_needed(row),
        _ => return Err(row.unknown_method()),
    };
    misses(row.miss(row.in_unit(Kind::Force, force)?)?)
}

/// At the working limit that many people hold it, and a pound more takes
/// another.
fn people_needed(row: &Row) -> Misses {
    let lbf = |text: &str| parse::<Force>(Kind::Force, text).map_err(|e| row.refused(e));
    let limits = [lbf("60 lbf")?, lbf("75 lbf")?, lbf("95 lbf")?];
    let reaction: Force = row.quantity(Kind::Force, "reaction")?;
    let count = |force| people(force, limits).map_or(4.0, f64::from);
    let mut found: Vec<String> = row.miss(count(reaction))?.into_iter().collect();
    if count(reaction + lbf("1 lbf")?) <= count(reaction) {
        found.push(format!("{}: a pound more takes nobody more", row.place));
    }
    Ok(found)
}

pub fn elevation(row: &Row) -> Misses {
    let rise = || row.quantity::<Length>(Kind::Length, "rise");
    let water = Water::default();
    let computed = match row.method()? {
        "trade_rise" => row.in_unit(Kind::Pressure, trade_rise(rise()?))?,
        "static" => row.in_unit(Kind::Pressure, water.static_pressure(rise()?))?,
        "trade_floors" => {
            let floors = row.number("floors")? as u32;
            row.in_unit(Kind::Pressure, trade_floors(floors))?
        }
        "column" => {
            let pressure: Pressure = row.quantity(Kind::Pressure, "pressure")?;
            let metre = Length::of_si(1.0);
            let height = metre * (pressure / water.static_pressure(metre)).value;
            row.in_unit(Kind::Length, height)?
        }
        _ => return Err(row.unknown_method()),
    };
    misses(row.miss(computed)?)
}

pub fn velocity_volume(row: &Row) -> Misses {
    let bore: Length = row.quantity(Kind::Size, "bore")?;
    let computed = match row.method()? {
        "velocity" => {
            let speed = velocity(row.quantity(Kind::Flow, "flow")?, bore);
            row.in_unit(Kind::Speed, speed)?
        }
        "content" => {
            let volume = content(bore, row.quantity(Kind::Length, "length")?);
            row.in_unit(Kind::Volume, volume)?
        }
        _ => return Err(row.unknown_method()),
    };
    misses(row.miss(computed)?)
}

pub fn units(row: &Row) -> Misses {
    let text = row.text("value").unwrap_or_default();
    let refuse = |e| row.refused(e);
    let computed = match row.text("kind") {
        Some("flow") => row.in_unit(
            Kind::Flow,
            parse::<VolumeRate>(Kind::Flow, text).map_err(refuse)?,
        ),
        Some("pressure") => row.in_unit(
            Kind::Pressure,
            parse::<Pressure>(Kind::Pressure, text).map_err(refuse)?,
        ),
        Some("length") => row.in_unit(
            Kind::Length,
            parse::<Length>(Kind::Length, text).map_err(refuse)?,
        ),
        Some("force") => row.in_unit(
            Kind::Force,
            parse::<Force>(Kind::Force, text).map_err(refuse)?,
        ),
        _ => return Err(row.unknown_method()),
    }?;
    misses(row.miss(computed)?)
}

pub fn reach(row: &Row) -> Misses {
    let bore = row.quantity(Kind::Size, "bore")?;
    let pressure = row.quantity(Kind::Pressure, "pressure")?;
    let stream = Stream::new(bore, pressure, Quality::Solid);
    let length = match row.method()? {
        "level" => stream.effective_reach(),
        "vertical" => stream.vertical_reach(),
        "jet_height" => stream.jet_height(),
        _ => return Err(row.unknown_method()),
    };
    misses(row.miss(row.in_unit(Kind::Length, length)?)?)
}

/// phi of the formula H_f = H/(1 + phi H), taken back out of the answer.
pub fn vertical_phi(row: &Row) -> Misses {
    let head: Length = row.quantity(Kind::Length, "head")?;
    let stream = Stream::new(
        row.quantity(Kind::Size, "bore")?,
        column(head),
        Quality::Solid,
    );
    let phi = 1.0 / stream.jet_height().value - 1.0 / head.value;
    misses(row.miss(phi)?)
}
