//! Rows that a whole lay answers, and by the closed form as well where the
//! public functions offer one.

use super::Misses;
use super::laws::{coefficient, hose, misses};
use checks::{CheckError, Row};
use hydraulics::appliance::Appliance;
use hydraulics::element::Element;
use hydraulics::friction::Coefficient;
use hydraulics::nozzle::{Automatic, Nozzle, SmoothBore, TRADE_COEFFICIENT, Tip};
use hydraulics::units::{Kind, Length, MassDensity, Measure, Pressure, Ratio, VolumeRate, parse};
use hydraulics::valve::{Valve, ValveKind};
use hydraulics::water::Water;
use lay::{Lay, PlaceId, Stopped, inverse, operating_flow, solve};
use std::sync::Arc;

const LEVEL: Length = Length {
    dimension: std::marker::PhantomData,
    units: std::marker::PhantomData,
    value: 0.0,
};

fn zero() -> Pressure {
    Pressure::of_si(0.0)
}

fn new_lay() -> Lay {
    Lay::new(Water::default().density())
}

/// Pressure lost in `legs` between two places, `flow` drawn off at the far one,
/// as the solver finds it.
fn loss_of_legs(
    row: &Row,
    legs: &[Arc<dyn Element>],
    flow: VolumeRate,
) -> Result<Pressure, CheckError> {
    let mut lay = new_lay();
    let pump = lay.supply(LEVEL, zero());
    let end = lay.junction(LEVEL);
    for leg in legs {
        lay.part(pump, end, Arc::clone(leg));
    }
    lay.draw(end, flow);
    Ok(-pressure_at(row, &lay, end)?)
}

fn pressure_at(row: &Row, lay: &Lay, place: PlaceId) -> Result<Pressure, CheckError> {
    let answer = solve(lay);
    if answer.stopped != Stopped::Converged {
        return Err(row.refused("the lay did not converge"));
    }
    answer
        .pressure(place)
        .ok_or_else(|| row.refused("no pressure there"))
}

pub fn siamesed(row: &Row) -> Misses {
    let flow: VolumeRate = row.quantity(Kind::Flow, "flow")?;
    let length: Length = row.quantity(Kind::Length, "length")?;
    let count = row.number("legs")? as usize;
    let single = coefficient(row, "coefficient")?;

    // By the combined coefficient as printed.
    let together = hose(row, coefficient(row, "together")?, length)?.loss(flow);
    let mut found: Vec<String> = row
        .miss(row.in_unit(Kind::Pressure, together.pressure)?)?
        .into_iter()
        .collect();
    // By the single coefficient of each leg, in closed form and as a lay.
    let tolerance = row.number("legs_tolerance_kpa")?;
    let combined = Coefficient::parallel(&vec![single; count]).map_err(|e| row.refused(e))?;
    let closed = hose(row, combined, length)?.loss(flow).pressure;
    let leg: Arc<dyn Element> = Arc::new(hose(row, single, length)?);
    let legs = loss_of_legs(row, &vec![leg; count], flow)?;
    for loss in [closed, legs] {
        found.extend(row.miss_within(row.in_unit(Kind::Pressure, loss)?, tolerance)?);
    }
    Ok(found)
}

pub fn parallel(row: &Row) -> Misses {
    let names = ["first", "second", "third"];
    let lines: Vec<Coefficient> = names
        .iter()
        .filter(|name| row.text(&format!("{name}_us")).is_some())
        .map(|name| coefficient(row, name))
        .collect::<Result<_, _>>()?;
    let closed = Coefficient::parallel(&lines).map_err(|e| row.refused(e))?;

    let hundred: Length = parse(Kind::Length, "100 ft").map_err(|e| row.refused(e))?;
    let flow: VolumeRate = parse(Kind::Flow, "500 gpm").map_err(|e| row.refused(e))?;
    let legs = lines
        .iter()
        .map(|&c| Ok::<Arc<dyn Element>, CheckError>(Arc::new(hose(row, c, hundred)?)))
        .collect::<Result<Vec<_>, _>>()?;
    let one: Pressure = parse(Kind::Pressure, "1 psi").map_err(|e| row.refused(e))?;
    let as_lay = (loss_of_legs(row, &legs, flow)? / one).value / 25.0;

    let mut found: Vec<String> = row.miss(closed.us_value())?.into_iter().collect();
    found.extend(row.miss(as_lay)?);
    Ok(found)
}

/// Appliances in series, as a lay.
pub fn appliances(row: &Row) -> Misses {
    let one = Appliance::allowance(
        row.quantity(Kind::Pressure, "allowance")?,
        row.quantity(Kind::Flow, "from")?,
    )
    .map_err(|e| row.refused(e))?;
    let mut lay = new_lay();
    let mut at = lay.supply(LEVEL, zero());
    for _ in 0..row.number("in_series")? as usize {
        let next = lay.junction(LEVEL);
        lay.part(at, next, Arc::new(one));
        at = next;
    }
    lay.draw(at, row.quantity(Kind::Flow, "flow")?);
    let lost = -pressure_at(row, &lay, at)?;
    misses(row.miss(row.in_unit(Kind::Pressure, lost)?)?)
}

/// A line or legs from the pump, perhaps a larger line after them, perhaps a
/// wye with legs of its own; a flow drawn off at each end.
struct Attack {
    lay: Lay,
    ends: Vec<PlaceId>,
    /// Where the supply line ends.
    wye: PlaceId,
}

fn attack(row: &Row, supply: Coefficient) -> Result<Attack, CheckError> {
    let mut lay = new_lay();
    let pump = lay.supply(LEVEL, zero());
    let rise = if row.has("rise") {
        row.quantity(Kind::Length, "rise")?
    } else {
        LEVEL
    };
    let mut wye = lay.junction(rise);
    let run = hose(row, supply, row.quantity(Kind::Length, "supply_length")?)?;
    for _ in 0..row.number("supply_lines")? as usize {
        lay.part(pump, wye, Arc::new(run));
    }
    if row.text("mid_coefficient_us").is_some() {
        let length = row.quantity(Kind::Length, "mid_length")?;
        let run = hose(row, coefficient(row, "mid_coefficient")?, length)?;
        let far = lay.junction(rise);
        lay.part(wye, far, Arc::new(run));
        wye = far;
    }
    let mut ends = Vec::new();
    for _ in 0..row.number("legs")? as usize {
        let length = row.quantity(Kind::Length, "leg_length")?;
        let run = hose(row, coefficient(row, "leg_coefficient")?, length)?;
        let end = lay.junction(rise);
        lay.part(wye, end, Arc::new(run));
        ends.push(end);
    }
    if ends.is_empty() {
        ends.push(wye);
    }
    Ok(Attack { lay, ends, wye })
}

/// What the pump must hold for the nozzle pressure at every end.
fn pump_needed(row: &Row, mut attack: Attack) -> Result<Pressure, CheckError> {
    let flow: VolumeRate = row.quantity(Kind::Flow, "flow")?;
    let nozzle: Pressure = row.quantity(Kind::Pressure, "nozzle_pressure")?;
    for &end in &attack.ends {
        attack.lay.draw(end, flow);
    }
    let mut needed = zero();
    for &end in &attack.ends {
        let this = nozzle - pressure_at(row, &attack.lay, end)?;
        if this > needed {
            needed = this;
        }
    }
    Ok(needed)
}

pub fn pump_pressure(row: &Row) -> Misses {
    let pressure = match row.method()? {
        "pump_pressure" => pump_needed(row, attack(row, coefficient(row, "supply_coefficient")?)?)?,
        "supply_leg_ratio" => return supply_leg_ratio(row),
        "coefficient_within_published_spread" => return within_spread(row),
        "square_supply" => square_supply(row)?.0,
        "square_supply_left" => square_supply(row)?.1,
        _ => return Err(row.unknown_method()),
    };
    misses(row.miss(row.in_unit(Kind::Pressure, pressure)?)?)
}

/// Loss in the supply line with all legs flowing, over that with one.
fn supply_leg_ratio(row: &Row) -> Misses {
    let flow: VolumeRate = row.quantity(Kind::Flow, "flow")?;
    let loss = |flowing: usize| {
        let mut attack = attack(row, coefficient(row, "supply_coefficient")?)?;
        for &end in attack.ends.iter().take(flowing) {
            attack.lay.draw(end, flow);
        }
        pressure_at(row, &attack.lay, attack.wye)
    };
    misses(row.miss((loss(2)? / loss(1)?).value)?)
}

/// The printed answer lies between those by the two ends of the published
/// spread of C.
fn within_spread(row: &Row) -> Misses {
    let by = |name: &str| {
        let needed = pump_needed(row, attack(row, coefficient(row, name)?)?)?;
        row.in_unit(Kind::Pressure, needed)
    };
    let (low, high) = (by("low_coefficient")?, by("high_coefficient")?);
    let printed = row.number("expected")?;
    let nearest = printed.clamp(low, high);
    misses(row.miss(nearest)?)
}

/// A supply whose pressure drops with the square of flow: the drop, and what
/// is left.
fn square_supply(row: &Row) -> Result<(Pressure, Pressure), CheckError> {
    let held: Pressure = row.quantity(Kind::Pressure, "static")?;
    let drop = Appliance::rated(
        row.quantity(Kind::Pressure, "drop")?,
        row.quantity(Kind::Flow, "drop_at")?,
    )
    .map_err(|e| row.refused(e))?;
    let mut lay = new_lay();
    let main = lay.supply(LEVEL, held);
    let outlet = lay.junction(LEVEL);
    lay.part(main, outlet, Arc::new(drop));
    lay.draw(outlet, row.quantity(Kind::Flow, "flow")?);
    let left = pressure_at(row, &lay, outlet)?;
    Ok((held - left, left))
}

/// How long the hose may be, cut down to whole lengths as the source does.
pub fn relay_distance(row: &Row) -> Misses {
    let c = coefficient(row, "coefficient")?;
    let flow: VolumeRate = row.quantity(Kind::Flow, "flow")?;
    let outlet: Pressure = row.quantity(Kind::Pressure, "outlet_pressure")?;
    let inlet: Pressure = row.quantity(Kind::Pressure, "inlet_pressure")?;
    let rise: Length = row.quantity(Kind::Length, "rise")?;
    let left = |metres: f64| {
        let mut lay = new_lay();
        let pump = lay.supply(LEVEL, outlet);
        let next = lay.junction(rise);
        let run = hose(row, c, Length::of_si(metres))?;
        lay.part(pump, next, Arc::new(run));
        lay.draw(next, flow);
        pressure_at(row, &lay, next)
    };
    let lost = |metres: f64| left(metres).map_or(f64::NAN, |p| (outlet - p).value);
    let metres =
        inverse::reach(lost, (outlet - inlet).value, (0.0, 1e5)).map_err(|e| row.refused(e))?;
    let length = row.in_unit(Kind::Length, Length::of_si(metres))?;
    let over = length - row.number("expected")?;
    let fits = over > -row.number("tolerance")? && over < row.number("cut_to")?;
    misses((!fits).then(|| {
        format!(
            "{}: computed {length:.2}, {}",
            row.place,
            row.text("basis").unwrap_or_default()
        )
    }))
}

pub fn measured_line(row: &Row) -> Misses {
    let length: Length = row.quantity(Kind::Length, "length")?;
    if row.method()? == "coefficient_from_test" {
        return coefficient_from_test(row, length);
    }
    let bore = row.quantity(Kind::Size, "bore")?;
    let nozzle =
        SmoothBore::new(bore, Ratio::of_si(TRADE_COEFFICIENT)).map_err(|e| row.refused(e))?;
    let run = hose(row, coefficient(row, "coefficient")?, length)?;
    let mut lay = new_lay();
    let pump = lay.supply(LEVEL, row.quantity(Kind::Pressure, "pump_pressure")?);
    let base = lay.junction(LEVEL);
    let air = lay.air(LEVEL);
    lay.part(pump, base, Arc::new(run));
    let tip = lay.part(base, air, Arc::new(Tip::new(Nozzle::SmoothBore(nozzle))));
    let computed = match row.method()? {
        "line_flow" => row.in_unit(Kind::Flow, solve(&lay).flow(tip))?,
        "line_tip_pressure" => row.in_unit(Kind::Pressure, pressure_at(row, &lay, base)?)?,
        _ => return Err(row.unknown_method()),
    };
    misses(row.miss(computed)?)
}

/// The C at which the hose loses what was measured.
fn coefficient_from_test(row: &Row, length: Length) -> Misses {
    let flow: VolumeRate = row.quantity(Kind::Flow, "flow")?;
    let measured: Pressure = row.quantity(Kind::Pressure, "loss")?;
    let loss = |us: f64| {
        let made = Coefficient::us(us).map_err(|e| row.refused(e));
        made.and_then(|c| hose(row, c, length))
            .map_or(f64::NAN, |run| run.loss(flow).pressure.value)
    };
    let c = inverse::reach(loss, measured.value, (0.01, 1000.0)).map_err(|e| row.refused(e))?;
    misses(row.miss(c)?)
}

/// Pump pressure 140 gpm needs with the bail full open, then the gate at which
/// the same pump gives the row's flow: gate, and the pressure at the nozzle.
///
/// The line is 200 ft of 1.75 in hose (C 15.5) with an automatic nozzle of
/// 70 to 200 gpm and 97 to 103 psi (invented) behind a ball shut-off of
/// 1-3/8 in waterway.
pub fn gate_of(row: &Row) -> Result<(f64, Pressure), CheckError> {
    let refuse = |e: String| row.refused(e);
    let flow =
        |text: &str| parse::<VolumeRate>(Kind::Flow, text).map_err(|e| refuse(e.to_string()));
    let psi =
        |text: &str| parse::<Pressure>(Kind::Pressure, text).map_err(|e| refuse(e.to_string()));
    let size = |text: &str| parse::<Length>(Kind::Length, text).map_err(|e| refuse(e.to_string()));

    let nozzle = Automatic::new(
        (flow("70 gpm")?, flow("200 gpm")?),
        (psi("97 psi")?, psi("103 psi")?),
    )
    .map_err(|e| row.refused(e))?;
    let c = Coefficient::us(15.5).map_err(|e| row.refused(e))?;
    let run = hose(row, c, size("200 ft")?)?;
    let waterway = size("1.375 in")?;
    let tip = |gate: f64| Tip {
        shutoff: Some(Valve {
            kind: ValveKind::Ball,
            waterway,
            gate: Ratio::of_si(gate),
        }),
        ..Tip::new(Nozzle::Automatic(nozzle))
    };
    let full = flow("140 gpm")?;
    let pump = run.loss(full).pressure + tip(1.0).loss(full).pressure;

    let target: VolumeRate = row.quantity(Kind::Flow, "flow")?;
    let through = |gate: f64| {
        let tip = tip(gate);
        operating_flow(&[&run, &tip], pump, zero()).value
    };
    // At full the pump was set for this very flow.
    let gate = if target == full {
        1.0
    } else {
        inverse::reach(through, target.value, (0.05, 1.0)).map_err(|e| row.refused(e))?
    };

    let mut lay = Lay::new(MassDensity::of_si(999.0));
    let outlet = lay.supply(LEVEL, pump);
    let base = lay.junction(LEVEL);
    let air = lay.air(LEVEL);
    lay.part(outlet, base, Arc::new(run));
    let end = lay.part(base, air, Arc::new(tip(gate)));
    let at = solve(&lay).flow(end);
    if (at / target).value < 0.999_999 || (at / target).value > 1.000_001 {
        return Err(row.refused("the lay and the single line give different flows"));
    }
    Ok((gate, nozzle.pressure(at).pressure))
}

pub fn gated_automatic(row: &Row) -> Misses {
    let (gate, pressure) = gate_of(row)?;
    let mut found: Vec<String> = row
        .miss(row.in_unit(Kind::Pressure, pressure)?)?
        .into_iter()
        .collect();
    let (low, high) = (row.number("gate_low")?, row.number("gate_high")?);
    if gate < low || gate > high {
        found.push(format!(
            "{}: gate {gate:.3}, expected between {low} and {high}",
            row.place
        ));
    }
    Ok(found)
}
