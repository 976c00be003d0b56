//! Whole scenes from the water to the tips, beside the scipy peer: pumps under a
//! governor, mains by their flow test, eductors and regulating valves.

use super::{differences, none_of};
use checks::data;
use checks::problem::{Answer, Built, Law, Place, Problem, ProblemError};
use hydraulics::appliance::Appliance;
use hydraulics::eductor::Eductor;
use hydraulics::element::Element;
use hydraulics::hydrant::FlowTest;
use hydraulics::pump::{Governed, Governor, Pump, PumpError, least_intake};
use hydraulics::regulator::Regulating;
use hydraulics::units::{Measure, Pressure, Ratio, ThermodynamicTemperature, VolumeRate};
use hydraulics::water::Water;
use serde::Deserialize;
use std::collections::BTreeMap;
use std::error::Error;
use std::sync::Arc;

/// A lay with the parts of a whole scene, and its answer.
#[derive(Debug, Deserialize)]
struct Scene {
    name: String,
    density: f64,
    kelvin: f64,
    places: Vec<Place>,
    parts: Vec<Part>,
    answer: Answer,
}

#[derive(Debug, Deserialize)]
struct Part {
    from: usize,
    to: usize,
    law: Kit,
}

#[derive(Debug, Deserialize)]
#[serde(untagged)]
enum Kit {
    Scene(SceneLaw),
    Lay(Law),
}

#[derive(Debug, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
enum SceneLaw {
    FlowTest {
        still: f64,
        residual: f64,
        test_flow: f64,
    },
    Pump(Rig),
    Regulating {
        setting: f64,
        open_loss: f64,
        open_flow: f64,
    },
    Eductor {
        flow: f64,
        inlet: f64,
        share: f64,
    },
}

/// A pump of the US rating, or with a rated pressure of the metric one, held at
/// a pressure or at a speed.
#[derive(Debug, Deserialize)]
struct Rig {
    rated_flow: f64,
    rated_pressure: Option<f64>,
    setting: Option<f64>,
    speed: Option<f64>,
}

impl Rig {
    fn governed(&self) -> Result<Governed, PumpError> {
        let flow = VolumeRate::of_si(self.rated_flow);
        let at_speed = |speed| Governor::Speed(Ratio::of_si(speed));
        let at_pressure = Governor::Pressure(Pressure::of_si(self.setting.unwrap_or(f64::NAN)));
        Ok(Governed {
            pump: match self.rated_pressure {
                Some(pressure) => Pump::rated_metric(flow, Pressure::of_si(pressure)),
                None => Pump::rated(flow),
            }?,
            governor: self.speed.map_or(at_pressure, at_speed),
            starves_at: least_intake(),
        })
    }
}

impl SceneLaw {
    fn element(&self) -> Result<Arc<dyn Element>, Box<dyn Error>> {
        let (flow, pressure) = (VolumeRate::of_si, Pressure::of_si);
        Ok(match *self {
            SceneLaw::FlowTest {
                still,
                residual,
                test_flow,
            } => Arc::new(FlowTest::new(
                pressure(still),
                pressure(residual),
                flow(test_flow),
            )?),
            SceneLaw::Pump(ref rig) => Arc::new(rig.governed()?),
            SceneLaw::Regulating {
                setting,
                open_loss,
                open_flow,
            } => {
                let open = Appliance::rated(pressure(open_loss), flow(open_flow))?;
                Arc::new(Regulating::new(pressure(setting), open))
            }
            SceneLaw::Eductor {
                flow: q,
                inlet,
                share,
            } => Arc::new(Eductor::new(flow(q), pressure(inlet), Ratio::of_si(share))?),
        })
    }
}

impl Scene {
    /// Its places, as a lay without parts.
    fn ground(&self) -> Result<Built, ProblemError> {
        let bare = Problem {
            name: self.name.clone(),
            density: self.density,
            kelvin: self.kelvin,
            places: self.places.clone(),
            parts: Vec::new(),
            answer: self.answer.clone(),
        };
        bare.build()
    }

    fn build(&self) -> Result<Built, Box<dyn Error>> {
        let mut built = self.ground()?;
        let water = Water::at(ThermodynamicTemperature::of_si(self.kelvin));
        for part in &self.parts {
            let law = match &part.law {
                Kit::Scene(law) => law.element()?,
                Kit::Lay(law) => law.element(water)?,
            };
            let (from, to) = (built.places[part.from], built.places[part.to]);
            built.parts.push(built.lay.part(from, to, law));
        }
        Ok(built)
    }

    /// In which state the peer's answer has each part that has several.
    fn states(&self) -> Result<Vec<&'static str>, PumpError> {
        let state = |(part, &flow): (&Part, &f64)| {
            let ends = [part.from, part.to].map(|place| self.answer.pressures[place]);
            match &part.law {
                Kit::Scene(SceneLaw::Pump(rig)) => Some(pump_state(rig, flow, ends)),
                Kit::Scene(SceneLaw::Eductor { share, .. }) => {
                    let draws = ends[1] <= share * ends[0];
                    Some(Ok(if draws { "draws" } else { "does not draw" }))
                }
                Kit::Scene(SceneLaw::Regulating { setting, .. }) => {
                    Some(Ok(valve_state(*setting, flow, ends)))
                }
                _ => None,
            }
        };
        let flows = &self.answer.flows;
        self.parts.iter().zip(flows).filter_map(state).collect()
    }
}

/// A held outlet is let droop by this much of what it is set to.
const DROOP: f64 = 2e-3;

fn held(outlet: f64, setting: f64) -> bool {
    (outlet / setting - 1.0).abs() < DROOP
}

fn valve_state(setting: f64, flow: f64, [_, outlet]: [f64; 2]) -> &'static str {
    match flow < 1e-9 {
        true => "shut",
        false if held(outlet, setting) => "regulates",
        false => "open",
    }
}

/// What a pump's pressures say that it does; its intake and discharge are level.
fn pump_state(
    rig: &Rig,
    flow: f64,
    [intake, discharge]: [f64; 2],
) -> Result<&'static str, PumpError> {
    let governed = rig.governed()?;
    let net = -governed.loss(VolumeRate::of_si(flow)).pressure.value;
    let near = |pressure: f64| (discharge - pressure).abs() < 10.0;
    Ok(if near(intake) {
        "runs through"
    } else if near(intake + net) {
        match governed.governor {
            Governor::Speed(_) => "at speed",
            Governor::Pressure(_) => "past its curve",
        }
    } else if rig.setting.is_some_and(|setting| held(discharge, setting)) {
        "holds"
    } else {
        assert!(intake < 0.0, "a pump that starves, at {intake} Pa");
        "starves"
    })
}

fn read() -> Result<Vec<Scene>, ProblemError> {
    let text = std::fs::read_to_string(data().join("peer_scenes.json"))?;
    Ok(serde_json::from_str(&text)?)
}

#[test]
fn peer_scenes_as_the_scipy_peer() {
    let scenes = read().unwrap();
    assert!(scenes.len() >= 60, "only {} scenes", scenes.len());
    let misses = scenes
        .iter()
        .flat_map(|scene| differences(&scene.name, scene.build(), &scene.answer, 1e-6))
        .collect();
    none_of(misses, scenes.len());
}

/// Each shape of scene is there for states that its parts come to; they do.
#[test]
fn peer_scenes_come_to_every_state() {
    let mut seen: BTreeMap<(String, &str), usize> = BTreeMap::new();
    for scene in read().unwrap() {
        let shape = scene.name.split('-').next().unwrap().to_owned();
        for state in scene.states().unwrap() {
            *seen.entry((shape.clone(), state)).or_default() += 1;
        }
    }
    for (shape, state, times) in [
        ("hydrant", "holds", 6),
        ("relay", "holds", 12),
        ("relay", "runs through", 3),
        ("standpipe", "regulates", 8),
        ("standpipe", "open", 8),
        ("standpipe", "shut", 1),
        ("draft", "draws", 4),
        ("draft", "does not draw", 4),
        ("draft", "at speed", 3),
        ("draft", "starves", 3),
        ("overasked", "past its curve", 4),
        ("overasked", "starves", 4),
    ] {
        let found = seen.get(&(shape.to_owned(), state)).copied();
        let enough = found.unwrap_or(0) >= times;
        assert!(enough, "{shape} {state} fewer than {times}: {seen:?}");
    }
}
