//! Rows about whole firegrounds: pumps, mains, relays, standpipes, eductors,
//! through books and the scenes that `study` solves.

use super::Misses;
use super::laws::{coefficient, misses};
use super::supply::compare;
use book::Book;
use checks::{CheckError, Row};
use hydraulics::draft;
use hydraulics::hydrant::{self, FlowTest};
use hydraulics::pump::{self, Pump};
use hydraulics::shuttle;
use hydraulics::units::{
    Kind, Length, Measure, Pressure, Ratio, Time, Volume, VolumeRate, parse, psi,
};
use hydraulics::water::Water;
use study::scene::{EductorAnswer, NeedAnswer, RelayAnswer, StandpipeAnswer};
use study::{SceneAnswer, solve_scene};

/// Two rigs of any strength, and a main that hardly feels them.
const HEAD: &str = r#"
[book]
name = "Check"
[rig.first]
pump = "3000 gpm"
tank = "1000 gal"
concentrate = "1000 gal"
proportioner = "60 gpm"
[rig.second]
pump = "3000 gpm"
[hose.short]
size = "12 in"
coefficient = 0.001
[hydrant.strong]
static = "40 psi"
residual = "39 psi"
flow = "8000 gpm"
"#;

/// The intake of `rig` from the strong main.
fn from_main(rig: &str) -> String {
    format!(
        "[scene.it.rig.{rig}]\n\
         intake = [{{ hydrant = \"strong\", parts = [{{ hose = \"short\", length = \"1 ft\" }}] }}]\n"
    )
}

/// A nozzle that passes `flow` at `pressure`, and a line that is hardly more.
fn tip(flow: &str, pressure: &str) -> String {
    format!(
        "[nozzle.tip]\nkind = \"fixed\"\nflow = \"{flow}\"\npressure = \"{pressure}\"\n\
         [line.attack]\nparts = [{{ hose = \"short\", length = \"1 ft\" }}, {{ nozzle = \"tip\" }}]\n"
    )
}

fn text<'a>(row: &'a Row, column: &str) -> Result<&'a str, CheckError> {
    row.text(column)
        .ok_or_else(|| row.refused(format!("no {column}")))
}

fn book_of(row: &Row, text: &str) -> Result<Book, CheckError> {
    let problems = |p: book::Problems| row.refused(format!("{p:?}"));
    book::read(text.as_bytes(), "row").map_err(problems)
}

/// The scene `it` of the book in `text`.
fn solved(row: &Row, text: &str) -> Result<SceneAnswer, CheckError> {
    let book = book_of(row, text)?;
    let answer = solve_scene(&book, "it", &Default::default()).map_err(|e| row.refused(e))?;
    match answer.converged {
        true => Ok(answer),
        false => Err(row.refused("the scene did not converge")),
    }
}

fn first<T: Clone>(row: &Row, list: &[T], what: &str) -> Result<T, CheckError> {
    list.first()
        .cloned()
        .ok_or_else(|| row.refused(format!("the scene has no {what}")))
}

fn yes(said: bool) -> f64 {
    f64::from(u8::from(said))
}

// Pumps ---------------------------------------------------------------------

fn rated(row: &Row) -> Result<Pump, CheckError> {
    let flow: VolumeRate = row.quantity(Kind::Flow, "rated")?;
    let pump = match row.has("rated_pressure") {
        true => Pump::rated_metric(flow, row.quantity(Kind::Pressure, "rated_pressure")?),
        false => Pump::rated(flow),
    };
    pump.map_err(|e| row.refused(e))
}

/// A pump through the points of the row, each a share of its rating.
fn through_points(row: &Row) -> Result<Pump, CheckError> {
    let all: VolumeRate = row.quantity(Kind::Flow, "rated")?;
    let point = |text: &str| {
        let (share, net) = text.split_once(" at ")?;
        let share: Ratio = parse(Kind::Share, share.trim()).ok()?;
        let net: Pressure = parse(Kind::Pressure, net.trim()).ok()?;
        Some((all * share, net))
    };
    let points: Option<Vec<_>> = text(row, "points")?.split(';').map(point).collect();
    let points = points.ok_or_else(|| row.refused("points that cannot be read"))?;
    Pump::through(points).map_err(|e| row.refused(e))
}

fn flow_at(row: &Row, pump: &Pump) -> Result<VolumeRate, CheckError> {
    let net: Pressure = row.quantity(Kind::Pressure, "net")?;
    let more = match row.has("lift") {
        true => Water::default().static_pressure(row.quantity(Kind::Length, "lift")?),
        false => Pressure::of_si(0.0),
    };
    pump.flow_at(net + more)
        .ok_or_else(|| row.refused("the pump has no such pressure"))
}

pub fn pump_rating(row: &Row) -> Misses {
    match row.method()? {
        "capability" => {
            let pump = rated(row)?;
            let share: Ratio = row.quantity(Kind::Share, "share")?;
            let net = pump.capability(pump.rated_flow() * share);
            compare(row, Kind::Pressure, net)
        }
        "share" => share_at(row, &rated(row)?),
        "points_share" => share_at(row, &through_points(row)?),
        "flow" | "metric_flow" => compare(row, Kind::Flow, flow_at(row, &rated(row)?)?),
        "carries" | "metric_carries" => carries(row),
        "speed_flow" => {
            let flow = row.quantity(Kind::Flow, "flow")?;
            compare(
                row,
                Kind::Flow,
                pump::flow_at_speed(flow, row.number("times")?),
            )
        }
        "speed_head" => {
            let water = Water::default();
            let net = water.static_pressure(row.quantity(Kind::Length, "head")?);
            let net = pump::pressure_at_speed(net, row.number("times")?);
            compare(row, Kind::Length, draft::column(net, water))
        }
        "net_in_scene" => net_in_scene(row),
        _ => Err(row.unknown_method()),
    }
}

fn share_at(row: &Row, pump: &Pump) -> Misses {
    compare(row, Kind::Share, flow_at(row, pump)? / pump.rated_flow())
}

/// The pump gives the printed flow, and the next smaller usual size does not.
fn carries(row: &Row) -> Misses {
    let wanted = row.number("expected")?;
    let gives = |pump: &Pump| row.in_unit(Kind::Flow, flow_at(row, pump)?);
    let mut found = Vec::new();
    let own = gives(&rated(row)?)?;
    if own < wanted {
        found.push(format!("{}: gives {own:.1} of {wanted}", row.place));
    }
    if row.has("next_smaller") {
        let flow = row.quantity(Kind::Flow, "next_smaller")?;
        let smaller = gives(&Pump::rated(flow).map_err(|e| row.refused(e))?)?;
        if smaller >= wanted {
            found.push(format!(
                "{}: the next smaller gives {smaller:.1}",
                row.place
            ));
        }
    }
    Ok(found)
}

fn net_in_scene(row: &Row) -> Misses {
    let (flow, discharge) = (text(row, "flow")?, text(row, "discharge")?);
    let intake: Pressure = row.quantity(Kind::Pressure, "intake")?;
    let still = (intake / psi(1.0)).value;
    let text = format!(
        "{HEAD}[hydrant.main]\nstatic = \"{still} psi\"\nresidual = \"{} psi\"\n\
         flow = \"8000 gpm\"\n{}\
         [scene.it.rig.first]\npump_pressure = \"{discharge}\"\n\
         intake = [{{ hydrant = \"main\", parts = [{{ hose = \"short\", length = \"1 ft\" }}] }}]\n\
         lines = [{{ line = \"attack\" }}]\n",
        still - 1.0,
        tip(flow, "100 psi"),
    );
    let rig = first(row, &solved(row, &text)?.rigs, "rig")?;
    compare(row, Kind::Pressure, rig.net)
}

// Mains ---------------------------------------------------------------------

/// The hydrant of a row as a book has it: test flow stated, or by pitot.
fn hydrant_text(row: &Row) -> Result<String, CheckError> {
    let flowed = match row.text("pitot") {
        Some(pitot) => format!(
            "outlets = [{{ size = \"{}\", pitot = \"{pitot}\", coefficient = \"{}\" }}]",
            text(row, "size")?,
            text(row, "coefficient")?,
        ),
        None => format!("flow = \"{}\"", row.text("flow").unwrap_or("500 gpm")),
    };
    Ok(format!(
        "[hydrant.corner]\nstatic = \"{}\"\nresidual = \"{}\"\n{flowed}\n",
        text(row, "static")?,
        text(row, "residual")?
    ))
}

fn flow_test(row: &Row) -> Result<FlowTest, CheckError> {
    let book = book_of(row, &format!("{HEAD}{}", hydrant_text(row)?))?;
    let corner = book.hydrant.get("corner");
    let test = corner.and_then(|hydrant| hydrant.test().ok().flatten());
    test.ok_or_else(|| row.refused("no flow test"))
}

/// A rig on the row's hydrant, with one line that takes just the test flow: lines
/// that may be added by percent of drop, and what the main keeps with a second
/// line by squares.
fn at_the_hydrant(row: &Row) -> Result<(u32, Pressure), CheckError> {
    let text = format!(
        "{HEAD}{}{}[scene.it.rig.first]\n\
         intake = [{{ hydrant = \"corner\", parts = [{{ hose = \"short\", length = \"1 ft\" }}] }}]\n\
         lines = [{{ line = \"attack\" }}]\n",
        hydrant_text(row)?,
        tip(text(row, "flow")?, "100 psi"),
    );
    let source = first(row, &solved(row, &text)?.sources, "source")?;
    let main = source.main.ok_or_else(|| row.refused("no main"))?;
    Ok((main.more_by_percent, main.next_by_squares))
}

pub fn hydrant_curve(row: &Row) -> Misses {
    let test = || flow_test(row);
    let pressures = || -> Result<(Pressure, Pressure), CheckError> {
        Ok((
            row.quantity(Kind::Pressure, "static")?,
            row.quantity(Kind::Pressure, "residual")?,
        ))
    };
    match row.method()? {
        "residual" => {
            let flow = row.quantity(Kind::Flow, "at")?;
            compare(row, Kind::Pressure, test()?.residual_at(flow))
        }
        "available" => {
            let residual = row.quantity(Kind::Pressure, "at")?;
            compare(row, Kind::Flow, test()?.available(residual))
        }
        "share_dropped" => compare(row, Kind::Share, Ratio::of_si(test()?.share_dropped())),
        "more_by_percent" => {
            let (still, residual) = pressures()?;
            let more = hydrant::more_lines_by_percent(still, residual);
            misses(row.miss(f64::from(more))?)
        }
        "more_by_digit" => {
            let (still, residual) = pressures()?;
            let more = hydrant::more_lines_by_first_digit(still, residual);
            misses(row.miss(f64::from(more))?)
        }
        "more_in_scene" => misses(row.miss(f64::from(at_the_hydrant(row)?.0))?),
        "squares" => {
            let (still, residual) = pressures()?;
            let left = hydrant::residual_by_squares(still, residual, row.number("times")?);
            compare(row, Kind::Pressure, left)
        }
        "squares_in_scene" => compare(row, Kind::Pressure, at_the_hydrant(row)?.1),
        _ => Err(row.unknown_method()),
    }
}

// Relays --------------------------------------------------------------------

/// A relay of two rigs at the row's flow, over `length` of its hose, pumps held
/// to `ceiling` if there is one.
fn relayed(
    row: &Row,
    length: Length,
    ceiling: Option<Pressure>,
) -> Result<RelayAnswer, CheckError> {
    let rise: Length = row.quantity(Kind::Length, "rise")?;
    let ceiling = match ceiling {
        Some(p) => format!("pump_ceiling = \"{} kPa\"\n", p.value / 1000.0),
        None => String::new(),
    };
    let head = HEAD.replace("[rig.first]", &format!("{ceiling}[rig.first]"));
    let text = format!(
        "{head}[hose.relay]\nsize = \"5 in\"\ncoefficient = {}\n{}{}\
         [scene.it.rig.second]\n\
         intake = [{{ rig = \"first\", parts = \
         [{{ hose = \"relay\", length = \"{} m\", rise = \"{} m\" }}] }}]\n\
         lines = [{{ line = \"attack\" }}]\n",
        coefficient(row, "coefficient")?.us_value(),
        tip(text(row, "flow")?, "100 psi"),
        from_main("first"),
        length.value,
        rise.value,
    );
    first(row, &solved(row, &text)?.relays, "relay")
}

pub fn relay(row: &Row) -> Misses {
    match row.method()? {
        "longest" => relay_distance(row),
        "discharge" => {
            let relay = relayed(row, row.quantity(Kind::Length, "length")?, None)?;
            compare(row, Kind::Pressure, relay.discharge)
        }
        _ => Err(row.unknown_method()),
    }
}

/// How far apart the two rigs may stand, cut down to whole lengths as the source
/// does. Handline leaves 20 psi at the intake: where the source leaves another
/// pressure, the ceiling is moved by the difference.
pub fn relay_distance(row: &Row) -> Misses {
    let outlet: Pressure = row.quantity(Kind::Pressure, "outlet_pressure")?;
    let inlet: Pressure = row.quantity(Kind::Pressure, "inlet_pressure")?;
    let ceiling = outlet - inlet + psi(20.0);
    // Laid at a quarter of the printed length: the answer is not the question, and
    // a book takes no more than 10,000 ft.
    let printed = row.number("expected")?;
    let unit = text(row, "unit")?;
    let laid: Length =
        parse(Kind::Length, &format!("{} {unit}", printed / 4.0)).map_err(|e| row.refused(e))?;
    let relay = relayed(row, laid, Some(ceiling))?;
    let longest = relay
        .longest
        .ok_or_else(|| row.refused("no length is short enough"))?;
    let longest = row.in_unit(Kind::Length, longest)?;
    let over = longest - printed;
    let fits = over > -row.number("tolerance")? && over < row.number("cut_to")?;
    misses((!fits).then(|| {
        format!(
            "{}: computed {longest:.2} ({}), {}",
            row.place,
            relay.bound_by,
            row.text("basis").unwrap_or_default()
        )
    }))
}

// Standpipes ----------------------------------------------------------------

/// A standpipe too wide to lose anything, a line at the street and, with
/// `top_at`, the pump held there.
fn standpipe_answer(row: &Row, top_at: Option<Pressure>) -> Result<StandpipeAnswer, CheckError> {
    let floors = text(row, "floors")?;
    let height = match row.text("floor_height") {
        Some(height) => height.to_owned(),
        None => {
            let each = draft::column(
                row.quantity(Kind::Pressure, "floor_pressure")?,
                Water::default(),
            );
            format!("{} m", each.value)
        }
    };
    let required = match row.text("required") {
        Some(required) => format!("required = \"{required}\"\n"),
        None => String::new(),
    };
    let (held, floor) = match top_at {
        Some(p) => (
            format!("pump_pressure = \"{} kPa\"\n", p.value / 1000.0),
            floors,
        ),
        None => (String::new(), "1"),
    };
    let text = format!(
        "{HEAD}{}[standpipe.tower]\nfloors = {floors}\nfloor_height = \"{height}\"\n\
         riser = \"12 in\"\n{required}{}{held}\
         standpipes = [{{ standpipe = \"tower\", parts = \
         [{{ hose = \"short\", length = \"1 ft\" }}] }}]\n\
         lines = [{{ line = \"attack\", standpipe = \"tower\", floor = {floor} }}]\n",
        tip("10 gpm", "50 psi"),
        from_main("first"),
    )
    .replace(
        "[scene.it.rig.first]",
        "[scene.it]\nopen_outlets = true\n[scene.it.rig.first]",
    );
    first(row, &solved(row, &text)?.standpipes, "standpipe")
}

pub fn standpipe(row: &Row) -> Misses {
    let pipe = standpipe_answer(row, None)?;
    match row.method()? {
        "pump_for_top" if row.has("rounded_up_to") => {
            let up_to = row.number("rounded_up_to")?;
            let computed = row.in_unit(Kind::Pressure, pipe.pump_for_top)?;
            let short = row.number("expected")? - computed;
            let fits = (0.0..up_to).contains(&short);
            misses((!fits).then(|| format!("{}: computed {computed:.2}", row.place)))
        }
        "pump_for_top" => compare(row, Kind::Pressure, pipe.pump_for_top),
        "lift" => compare(row, Kind::Pressure, pipe.pump_for_top - pipe.required),
        "required" => compare(row, Kind::Pressure, pipe.required),
        "top_outlet" => {
            let again = standpipe_answer(row, Some(pipe.pump_for_top))?;
            let top = first(row, &again.floors, "outlet")?;
            let mut found = compare(row, Kind::Pressure, top.pressure)?;
            if again.highest_floor != again.of_floors {
                found.push(format!("{}: the top floor lacks it", row.place));
            }
            Ok(found)
        }
        _ => Err(row.unknown_method()),
    }
}

// Eductors ------------------------------------------------------------------

/// What a foam line from an eductor is made of, each as a book writes it.
struct FoamLine {
    eductor: String,
    back_pressure: String,
    /// Held at the pump; worked out when not given.
    inlet: Option<String>,
    /// Hose between pump and eductor: C and length.
    supply: Option<(f64, String)>,
    coefficient: f64,
    length: String,
    nozzle: (String, String),
}

fn educted(row: &Row, line: &FoamLine) -> Result<EductorAnswer, CheckError> {
    let (flow, pressure) = &line.nozzle;
    let held = match &line.inlet {
        Some(p) => format!("pump_pressure = \"{p}\"\n"),
        None => String::new(),
    };
    let (c, supply) = match &line.supply {
        Some((c, length)) => (
            *c,
            format!("{{ hose = \"supply\", length = \"{length}\" }}, "),
        ),
        None => (1.0, String::new()),
    };
    let text = format!(
        "{HEAD}[hose.attack]\nsize = \"1.75 in\"\ncoefficient = {}\n\
         [hose.supply]\nsize = \"3 in\"\ncoefficient = {c}\n\
         [appliance.eductor]\nkind = \"eductor\"\nflow = \"{}\"\ninlet_pressure = \"200 psi\"\n\
         back_pressure = \"{}\"\n\
         [nozzle.tip]\nkind = \"fixed\"\nflow = \"{flow}\"\npressure = \"{pressure}\"\nfoam = true\n\
         [line.foam]\nparts = [{supply}{{ appliance = \"eductor\", ratio = \"3 %\" }}, \
         {{ hose = \"attack\", length = \"{}\" }}, {{ nozzle = \"tip\" }}]\n\
         [scene.it]\nopen_outlets = true\n{}{held}lines = [{{ line = \"foam\" }}]\n",
        line.coefficient,
        line.eductor,
        line.back_pressure,
        line.length,
        from_main("first"),
    );
    first(row, &solved(row, &text)?.eductors, "eductor")
}

pub fn eductor(row: &Row) -> Misses {
    let supply = match row.text("supply_length") {
        Some(length) => Some((row.number("supply_us")?, length.to_owned())),
        None => None,
    };
    let own = |column: &str| text(row, column).map(str::to_owned);
    let line = FoamLine {
        eductor: own("eductor")?,
        back_pressure: own("back_pressure")?,
        inlet: Some(own("inlet")?),
        supply,
        coefficient: row.number("coefficient_us")?,
        length: own("length")?,
        nozzle: (own("nozzle")?, own("nozzle_pressure")?),
    };
    let answer = educted(row, &line)?;
    match row.method()? {
        "inlet" => compare(row, Kind::Pressure, answer.inlet),
        "outlet" => compare(row, Kind::Pressure, answer.outlet),
        "outlet_share" => compare(row, Kind::Share, answer.outlet / answer.inlet),
        "highest_outlet" => compare(row, Kind::Pressure, answer.highest_outlet),
        "draws" => misses(row.miss(yes(answer.draws))?),
        "richer" => match (answer.set, answer.makes) {
            (Some(set), Some(makes)) => misses(row.miss((makes - set).value.signum())?),
            _ => Err(row.refused("it draws nothing")),
        },
        _ => Err(row.unknown_method()),
    }
}

// Rows of other tables, through scenes ---------------------------------------

/// Rows of `foam` that a scene answers too: an eductor's longest hose, a
/// proportioner's concentrate, a spill.
pub fn foam_in_scene(row: &Row) -> Misses {
    match row.method()? {
        "hose_past_eductor" => hose_past_eductor(row),
        "concentrate_flow" | "water_flow" => proportioned(row),
        _ => spill(row),
    }
}

/// Laid at half the printed length, so that the answer is not the question.
fn hose_past_eductor(row: &Row) -> Misses {
    let flow = format!("{} gpm", row.number("solution_gpm")?);
    let half = row.number("expected")? / 2.0;
    let line = FoamLine {
        eductor: flow.clone(),
        back_pressure: text(row, "ratio")?.to_owned(),
        inlet: None,
        supply: None,
        coefficient: row.number("coefficient_us")?,
        length: format!("{half} ft"),
        nozzle: (flow, format!("{} psi", row.number("nozzle_psi")?)),
    };
    let longest = educted(row, &line)?.longest_past;
    let longest = longest.ok_or_else(|| row.refused("no length is short enough"))?;
    compare(row, Kind::Length, longest)
}

/// Share of a flow of up to 250 gpm at 100 psi that the droop of a held pump,
/// 100 Pa for each m3/s, may take: half of 0.0003 psi in 100, and some room.
const DROOP: f64 = 5e-6;

fn proportioned(row: &Row) -> Misses {
    let text = format!(
        "{HEAD}{}{}lines = [{{ line = \"attack\", foam = \"{}\" }}]\n",
        tip(&format!("{} gpm", row.number("solution_gpm")?), "100 psi"),
        from_main("first"),
        text(row, "ratio")?,
    );
    let foam = first(row, &solved(row, &text)?.foam, "foam line")?;
    let flow = match row.method()? {
        "concentrate_flow" => foam.concentrate,
        _ => foam.solution - foam.concentrate,
    };
    // A governed pump droops a little with flow, which the printed figures do not.
    let tolerance = row.number("tolerance")? + DROOP * row.number("expected")?;
    misses(row.miss_within(row.in_unit(Kind::Flow, flow)?, tolerance)?)
}

/// The spill of the ethanol slides: rate and time are Handline's own for the fuel.
fn spill(row: &Row) -> Misses {
    let area: hydraulics::units::Area = row.quantity::<Length>(Kind::Length, "length")?
        * row.quantity::<Length>(Kind::Length, "width")?;
    let text = format!(
        "{HEAD}{}{}lines = [{{ line = \"attack\" }}]\n\
         [scene.it.spill]\narea = \"{} m2\"\nfuel = \"polar\"\nratio = \"{}\"\n",
        tip("95 gpm", "100 psi"),
        from_main("first"),
        area.value,
        text(row, "ratio")?,
    );
    let spill = solved(row, &text)?.spill;
    let need = spill.ok_or_else(|| row.refused("no spill"))?.need;
    match row.method()? {
        "solution" => compare(row, Kind::Flow, need.solution()),
        "concentrate_rate" => compare(row, Kind::Flow, need.concentrate_flow()),
        "concentrate" => compare(row, Kind::Volume, need.concentrate()),
        "water" => compare(row, Kind::Volume, need.water()),
        _ => Err(row.unknown_method()),
    }
}

/// A shuttle over a route of 1 mile whose round takes the printed time.
pub fn shuttle_in_scene(row: &Row) -> Misses {
    let mile: Length = parse(Kind::Length, "1 mi").map_err(|e| row.refused(e))?;
    let round: Time = row.quantity(Kind::Time, "cycle")?;
    let tank: Volume = row.quantity(Kind::Volume, "tank")?;
    let minute = Time::of_si(60.0);
    let fill = round - 2.0 * shuttle::travel_time(mile) - minute;
    let text = format!(
        "{HEAD}{}[shuttle.road]\ntankers = 2\ntank = \"{} L\"\ndistance = \"1 mi\"\n\
         fill = \"{} s\"\ndump = \"1 min\"\ndump_tank = \"20000 L\"\n\
         [scene.it.rig.first]\nintake = [{{ shuttle = \"road\" }}]\n\
         lines = [{{ line = \"attack\" }}]\n",
        tip("95 gpm", "100 psi"),
        tank.value * 1000.0,
        fill.value,
    );
    let source = first(row, &solved(row, &text)?.sources, "source")?;
    let tankers = source.stored.and_then(|stored| stored.tankers);
    let tankers = tankers.ok_or_else(|| row.refused("no tankers"))?;
    compare(row, Kind::Flow, tankers.each)
}

/// Needed flow by the form that the row's method names.
pub fn fire_flow_in_scene(row: &Row) -> Misses {
    let form = match row.method()? {
        "area" => 0,
        "volume" => 1,
        _ => return Err(row.unknown_method()),
    };
    let involved = match row.text("involved") {
        Some(share) => format!("involved = \"{share}\"\n"),
        None => String::new(),
    };
    let text = format!(
        "{HEAD}{}{}lines = [{{ line = \"attack\" }}]\n\
         [scene.it.fire]\nlength = \"{}\"\nwidth = \"{}\"\nheight = \"{}\"\n{involved}",
        tip("95 gpm", "100 psi"),
        from_main("first"),
        text(row, "length")?,
        text(row, "width")?,
        text(row, "height")?,
    );
    let fire = solved(row, &text)?.fire;
    let fire = fire.ok_or_else(|| row.refused("no fire"))?;
    let need: &NeedAnswer = fire
        .needs
        .get(form)
        .ok_or_else(|| row.refused("no such form"))?;
    compare(row, Kind::Flow, need.flow)
}
