//! Handline beside Python peers: the reference libraries `fluids` and
//! `chemicals`, and a solver of the same laws written on scipy. Their answers
//! are committed, so that these tests need no Python; `peers/run` makes them
//! again. `peer_`: beside a reference library or a second solver.

use checks::problem::{self, Answer, Built, Law, Problem};
use checks::{CheckError, data};
use hydraulics::element::Element;
use hydraulics::friction::{Friction, colebrook};
use hydraulics::hose::Run;
use hydraulics::nozzle::{Automatic, Regime};
use hydraulics::units::{Length, Measure, Pressure, ThermodynamicTemperature, VolumeRate};
use hydraulics::water::Water;
use lay::{Stopped, solve};
use std::collections::BTreeMap;
use std::fmt::Display;

#[path = "peers/doubt.rs"]
mod doubt;
#[path = "peers/scenes.rs"]
mod scenes;
#[path = "peers/test_days.rs"]
mod test_days;
#[path = "peers/unbeaten.rs"]
mod unbeaten;

type Rows = Vec<BTreeMap<String, f64>>;

/// The numbers of a peer's table, by column.
fn numbers(name: &str) -> Result<Rows, CheckError> {
    let file = || name.to_owned();
    let unreadable = |cause| CheckError::File {
        file: file(),
        cause,
    };
    let mut reader = csv::Reader::from_path(data().join(name)).map_err(unreadable)?;
    let headers = reader.headers().map_err(unreadable)?.clone();
    reader
        .records()
        .map(|record| {
            let record = record.map_err(unreadable)?;
            let number = |(h, cell): (&str, &str)| Some((h.to_owned(), cell.parse().ok()?));
            Ok(headers.iter().zip(&record).filter_map(number).collect())
        })
        .collect()
}

/// Panics with every line in `misses`.
fn none_of(misses: Vec<String>, of: usize) {
    let count = misses.len();
    assert!(
        misses.is_empty(),
        "{count} of {of} miss:\n{}",
        misses.join("\n")
    );
}

fn apart(a: f64, b: f64) -> f64 {
    (a - b).abs() / b.abs().max(f64::MIN_POSITIVE)
}

#[test]
fn peer_friction_factor_and_loss_as_the_reference_library() {
    let rows = numbers("peer_friction.csv").unwrap();
    assert!(rows.len() >= 150, "only {} cases", rows.len());
    let mut misses = Vec::new();
    for (line, row) in rows.iter().enumerate() {
        let length = Length::of_si(row["length_m"]);
        let water = Water::at(ThermodynamicTemperature::of_si(
            row["temperature_c"] + 273.15,
        ));
        let law = Friction::DarcyWeisbach {
            bore: Length::of_si(row["bore_m"]),
            roughness: Length::of_si(row["roughness_m"]),
        };
        let run = Run::new(law, length, water).unwrap();
        let loss = run.loss(VolumeRate::of_si(row["flow_m3_s"])).pressure.value;
        if apart(loss, row["loss_pa"]) > 1e-8 {
            misses.push(format!("line {}: loss {loss}, {row:?}", line + 2));
        }
        if row["reynolds"] > 4000.0 {
            let factor = colebrook(row["reynolds"], row["relative_roughness"]).0;
            if apart(factor, row["friction_factor"]) > 1e-10 {
                misses.push(format!("line {}: factor {factor}, {row:?}", line + 2));
            }
        }
    }
    none_of(misses, rows.len());
}

#[test]
fn peer_water_as_the_reference_library() {
    // IAPWS-95 and IAPWS 2008 through the library. Kell's density keeps within
    // 0.015 kg/m3; Likhachev's viscosity within 2.5 % at 1 C and 1.2 % from 8 C.
    let rows = numbers("peer_water.csv").unwrap();
    assert!(rows.len() >= 15, "only {} temperatures", rows.len());
    let mut misses = Vec::new();
    for row in &rows {
        let celsius = row["temperature_c"];
        let water = Water::at(ThermodynamicTemperature::of_si(celsius + 273.15));
        let density = water.density().value - row["density_kg_m3"];
        let viscosity = water.viscosity().value / row["viscosity_pa_s"] - 1.0;
        let allowed = if celsius < 8.0 { 0.025 } else { 0.012 };
        if density.abs() > 0.015 || viscosity.abs() > allowed {
            misses.push(format!(
                "{celsius} C: density {density:+.4}, viscosity {viscosity:+.4}"
            ));
        }
    }
    none_of(misses, rows.len());
}

/// Where Handline and the peer differ by more than `allowed` of the largest
/// flow or pressure of the lay.
fn differences(
    name: &str,
    built: Result<Built, impl Display>,
    peer: &Answer,
    allowed: f64,
) -> Vec<String> {
    let built = match built {
        Ok(built) => built,
        Err(e) => return vec![format!("{name}: {e}")],
    };
    let answer = solve(&built.lay);
    let mut misses = Vec::new();
    if answer.stopped != Stopped::Converged {
        misses.push(format!("{name}: not converged, {:?}", answer.residual));
    }
    let largest = |values: &[f64]| values.iter().fold(0.0_f64, |m, v| m.max(v.abs()));
    let (flow_scale, pressure_scale) = (largest(&peer.flows), largest(&peer.pressures));
    for (i, (&part, &peer)) in built.parts.iter().zip(&peer.flows).enumerate() {
        let flow = answer.flow(part).value;
        if (flow - peer).abs() > allowed * flow_scale {
            misses.push(format!("{name}: part {i} flow {flow}, peer {peer} m3/s"));
        }
    }
    for (i, (&place, &peer)) in built.places.iter().zip(&peer.pressures).enumerate() {
        let pressure = answer.pressure(place).map_or(f64::NAN, |p| p.value);
        let within = (pressure - peer).abs() <= allowed * pressure_scale;
        if !within {
            misses.push(format!(
                "{name}: place {i} pressure {pressure}, peer {peer} Pa"
            ));
        }
    }
    misses
}

fn of_problem(problem: &Problem) -> Vec<String> {
    differences(&problem.name, problem.build(), &problem.answer, 1e-6)
}

#[test]
fn peer_networks_as_the_scipy_peer() {
    let problems = problem::read(&data().join("peer_networks.json")).unwrap();
    assert!(problems.len() >= 120, "only {} networks", problems.len());
    let misses = problems.iter().flat_map(of_problem).collect();
    none_of(misses, problems.len());
}

#[test]
fn peer_bench_problems_as_the_scipy_peer() {
    let folder = data().join("../../bench/problems");
    for (name, parts) in [
        ("operating_point", 2..=4),
        ("fireground_40", 40..=40),
        ("looped_1000", 1000..=1000),
    ] {
        let problems = problem::read(&folder.join(name).with_extension("json")).unwrap();
        assert!(problems.iter().all(|p| parts.contains(&p.parts.len())));
        let misses = problems.iter().flat_map(of_problem).collect();
        none_of(misses, problems.len());
    }
}

/// The networks of the peer do hold what they are there for.
#[test]
fn peer_networks_cover_every_regime() {
    let problems = problem::read(&data().join("peer_networks.json")).unwrap();
    let mut seen: BTreeMap<&str, usize> = BTreeMap::new();
    let mut count = |what| *seen.entry(what).or_default() += 1;
    for problem in &problems {
        for (part, &flow) in problem.parts.iter().zip(&problem.answer.flows) {
            match &part.law {
                Law::Automatic {
                    flows, pressures, ..
                } => {
                    let flow_pair = (VolumeRate::of_si(flows.0), VolumeRate::of_si(flows.1));
                    let pressure_pair =
                        (Pressure::of_si(pressures.0), Pressure::of_si(pressures.1));
                    let nozzle = Automatic::new(flow_pair, pressure_pair).unwrap();
                    count(match nozzle.regime(VolumeRate::of_si(flow)).unwrap() {
                        Regime::Below => "below",
                        Regime::In => "in",
                        Regime::Above => "above",
                    });
                }
                Law::SmoothBore { .. } => count("smooth bore"),
                Law::Fixed { .. } => count("fixed"),
                Law::HazenWilliams { .. } => count("Hazen-Williams"),
                Law::Coefficient { .. } => count("coefficient"),
                Law::Valve(_) => count("valve"),
                Law::Rated { .. } => count("appliance"),
                Law::Check => count("check valve"),
            }
        }
    }
    let wanted = [
        "below",
        "in",
        "above",
        "smooth bore",
        "fixed",
        "Hazen-Williams",
        "coefficient",
        "valve",
        "appliance",
    ];
    for what in wanted {
        assert!(seen.get(what).copied().unwrap_or(0) >= 20, "{seen:?}");
    }
}
