//! Laws that hold for every scene, tested on random ones: hydrants on mains,
//! pumps held at a pressure or a speed, relays, eductors, regulating and check
//! valves, shut gates, loops, tips.
#![allow(clippy::unwrap_used)]

use hydraulics::appliance::Appliance;
use hydraulics::eductor::Eductor;
use hydraulics::element::{Element, Hold, Loss, Passage};
use hydraulics::hydrant::FlowTest;
use hydraulics::nozzle::{Automatic, Nozzle, SmoothBore, Tip};
use hydraulics::pump::{Governed, Governor, Pump, least_intake};
use hydraulics::regulator::Regulating;
use hydraulics::units::{Length, MassDensity, Measure, Pressure, Ratio, VolumeRate};
use hydraulics::valve::CheckValve;
use lay::{Lay, PartId, PlaceId, Role, Solver, Steady, Stopped};
use proptest::prelude::*;
use proptest::test_runner::RngSeed;
use std::sync::Arc;

const CASES: u32 = 10_000;

#[derive(Debug)]
struct Hose(f64);

impl Element for Hose {
    fn loss(&self, flow: VolumeRate) -> Loss {
        let q = flow.value;
        let s = (q * q + 1e-12).sqrt();
        Loss {
            pressure: Measure::of_si(self.0 * q * s),
            slope: Measure::of_si(self.0 * (s + q * q / s)),
        }
    }
}

#[derive(Debug)]
struct Shut;

impl Element for Shut {
    fn loss(&self, flow: VolumeRate) -> Loss {
        Hose(1e9).loss(flow)
    }

    fn passage(&self) -> Passage {
        Passage::Shut
    }
}

#[derive(Debug, Clone)]
enum Kit {
    Hose(f64),
    Check,
    Shut,
    PumpAtPressure { flow: f64, setting: f64 },
    PumpAtSpeed { flow: f64, speed: f64 },
    Regulating { setting: f64, r: f64 },
    Eductor { flow: f64, share: f64 },
}

fn passive() -> impl Strategy<Value = Kit> {
    prop_oneof![
        10 => (6.5..10.0f64).prop_map(|e| Kit::Hose(10f64.powf(e))),
        1 => Just(Kit::Check),
        1 => Just(Kit::Shut),
    ]
}

fn kit() -> impl Strategy<Value = Kit> {
    prop_oneof![
        12 => passive(),
        2 => (0.015..0.13f64, 2e5..2e6f64)
            .prop_map(|(flow, setting)| Kit::PumpAtPressure { flow, setting }),
        1 => (0.015..0.13f64, 0.3..1.3f64)
            .prop_map(|(flow, speed)| Kit::PumpAtSpeed { flow, speed }),
        2 => (1e5..1.5e6f64, 5.5..8.5f64)
            .prop_map(|(setting, e)| Kit::Regulating { setting, r: 10f64.powf(e) }),
        2 => (0.003..0.02f64, 0.5..0.8f64).prop_map(|(flow, share)| Kit::Eductor { flow, share }),
    ]
}

fn element(kit: &Kit) -> Arc<dyn Element> {
    let flow = VolumeRate::of_si;
    match *kit {
        Kit::Hose(r) => Arc::new(Hose(r)),
        Kit::Check => Arc::new(CheckValve),
        Kit::Shut => Arc::new(Shut),
        Kit::PumpAtPressure { flow: q, setting } => Arc::new(Governed {
            pump: Pump::rated(flow(q)).unwrap(),
            governor: Governor::Pressure(Pressure::of_si(setting)),
            starves_at: least_intake(),
        }),
        Kit::PumpAtSpeed { flow: q, speed } => Arc::new(Governed {
            pump: Pump::rated(flow(q)).unwrap(),
            governor: Governor::Speed(Ratio::of_si(speed)),
            starves_at: least_intake(),
        }),
        Kit::Regulating { setting, r } => {
            let open = Appliance::rated(Pressure::of_si(r * 1e-4), flow(1e-2)).unwrap();
            Arc::new(Regulating::new(Pressure::of_si(setting), open))
        }
        Kit::Eductor { flow: q, share } => {
            Arc::new(Eductor::new(flow(q), Pressure::of_si(1.4e6), Ratio::of_si(share)).unwrap())
        }
    }
}

#[derive(Debug, Clone)]
struct Plan {
    /// Static pressure, drop and flow of each hydrant's test.
    hydrants: Vec<(prop::sample::Index, f64, f64, f64)>,
    tree: Vec<(prop::sample::Index, Kit, f64)>,
    loops: Vec<(prop::sample::Index, prop::sample::Index, Kit)>,
    tips: Vec<(prop::sample::Index, Option<f64>, f64, f64)>,
}

fn plan() -> impl Strategy<Value = Plan> {
    let index = any::<prop::sample::Index>;
    let hydrant = (index(), 2e5..9e5f64, 0.1..0.9f64, 0.01..0.12f64);
    (
        prop::collection::vec(hydrant, 1..4),
        prop::collection::vec((index(), kit(), -10.0..20.0f64), 2..40),
        prop::collection::vec((index(), index(), passive()), 0..8),
        prop::collection::vec(
            (
                index(),
                prop::option::of(0.01..0.05f64),
                -5.0..30.0f64,
                0.002..0.01f64,
            ),
            1..12,
        ),
    )
        .prop_map(|(hydrants, tree, loops, tips)| Plan {
            hydrants,
            tree,
            loops,
            tips,
        })
}

struct Built {
    lay: Lay,
    parts: Vec<PartId>,
}

/// `backwards` numbers places and parts from the other end.
fn build(plan: &Plan, backwards: bool) -> Built {
    let mut heights = vec![0.0];
    let mut roles: Vec<Option<f64>> = vec![None];
    // A hose round a part that holds a pressure could run in a circle, cut off
    // from every supply, at any pressure: no answer is the one.
    let mut zones = vec![0];
    let mut edges: Vec<(usize, usize, Arc<dyn Element>)> = Vec::new();
    for (at, kit, rise) in &plan.tree {
        let from = at.index(heights.len());
        edges.push((from, heights.len(), element(kit)));
        zones.push(match element(kit).hold() {
            Hold::Nothing => zones[from],
            _ => heights.len(),
        });
        heights.push(heights[from] + rise);
        roles.push(None);
    }
    let junctions = heights.len();
    for (a, b, kit) in &plan.loops {
        let (a, b) = (a.index(junctions), b.index(junctions));
        if a != b && zones[a] == zones[b] {
            edges.push((a, b, element(kit)));
        }
    }
    for (i, (at, still, drop, flow)) in plan.hydrants.iter().enumerate() {
        let to = if i == 0 { 0 } else { at.index(junctions) };
        let test = FlowTest::new(
            Pressure::of_si(*still),
            Pressure::of_si(still * (1.0 - drop)),
            VolumeRate::of_si(*flow),
        );
        edges.push((heights.len(), to, Arc::new(test.unwrap())));
        heights.push(heights[to]);
        roles.push(Some(*still));
    }
    for (at, bore, rise, low) in &plan.tips {
        let from = at.index(junctions);
        let nozzle = match bore {
            Some(bore) => {
                let bore = Length::of_si(*bore);
                Nozzle::SmoothBore(SmoothBore::new(bore, Ratio::of_si(0.99)).unwrap())
            }
            None => {
                let flows = (VolumeRate::of_si(*low), VolumeRate::of_si(3.0 * low));
                let held = (Pressure::of_si(6.5e5), Pressure::of_si(7.3e5));
                Nozzle::Automatic(Automatic::new(flows, held).unwrap())
            }
        };
        edges.push((from, heights.len(), Arc::new(Tip::new(nozzle))));
        heights.push(heights[from] + rise);
        roles.push(Some(f64::NAN));
    }
    number(&heights, &roles, &edges, backwards)
}

fn number(
    heights: &[f64],
    roles: &[Option<f64>],
    edges: &[(usize, usize, Arc<dyn Element>)],
    backwards: bool,
) -> Built {
    let order = |n: usize| -> Vec<usize> {
        match backwards {
            true => (0..n).rev().collect(),
            false => (0..n).collect(),
        }
    };
    let mut lay = Lay::new(MassDensity::of_si(999.0));
    let mut places: Vec<Option<PlaceId>> = vec![None; heights.len()];
    for i in order(heights.len()) {
        let height = Length::of_si(heights[i]);
        places[i] = Some(match roles[i] {
            None => lay.junction(height),
            Some(p) if p.is_nan() => lay.air(height),
            Some(p) => lay.supply(height, Pressure::of_si(p)),
        });
    }
    let mut parts: Vec<Option<PartId>> = vec![None; edges.len()];
    for i in order(edges.len()) {
        let (from, to, law) = &edges[i];
        parts[i] = Some(lay.part(places[*from].unwrap(), places[*to].unwrap(), law.clone()));
    }
    Built {
        lay,
        parts: parts.into_iter().flatten().collect(),
    }
}

fn check_mass(lay: &Lay, answer: &Steady) -> Result<(), TestCaseError> {
    let largest = answer.largest_flow().value.max(1e-6);
    for place in lay.places().filter(|&p| lay.role(p) == Role::Junction) {
        let mut sum = 0.0;
        for part in lay.parts() {
            let (from, to) = lay.ends(part);
            let q = answer.flow(part).value;
            sum += if from == place { q } else { 0.0 };
            sum -= if to == place { q } else { 0.0 };
        }
        prop_assert!(sum.abs() <= 1e-9 * largest, "{sum} of {largest}");
    }
    Ok(())
}

/// Every part is in the one state that its pressures and its flow say: stated
/// from what the part is, not from how the solver works.
fn check_parts(lay: &Lay, answer: &Steady) -> Result<(), TestCaseError> {
    for part in lay.parts() {
        let (from, to) = lay.ends(part);
        let (q, law) = (answer.flow(part), lay.law(part));
        let (Some(inlet), Some(outlet)) = (answer.pressure(from), answer.pressure(to)) else {
            prop_assert_eq!(q.value, 0.0);
            continue;
        };
        // The outlet's pressure as though it were at the inlet's height.
        let outlet_up = (outlet + lay.rise(part)).value;
        let (inlet, outlet) = (inlet.value, outlet.value);
        let near = 5.0 + 1e-6 * inlet.abs().max(outlet.abs()) + 2e2 * q.value.abs();
        let left = inlet - law.loss(q).pressure.value;
        let shut = q.value == 0.0 && law.passage() == Passage::OneWay;
        match (law.passage(), law.hold()) {
            (Passage::Shut, _) => prop_assert_eq!(q.value, 0.0),
            (_, Hold::Nothing) if shut => prop_assert!(left <= outlet_up + near),
            (_, Hold::Nothing) => prop_assert!((left - outlet_up).abs() <= near),
            (
                _,
                Hold::Outlet {
                    setting,
                    pump_starves_at,
                },
            ) => {
                prop_assert!(q.value >= 0.0);
                let rise = lay.rise(part).value;
                let held = setting.value.min(left - rise);
                let held = match pump_starves_at {
                    Some(least) => held.min(1000.0 * (inlet - least.value)).max(inlet - rise),
                    None => held,
                };
                match shut {
                    true => prop_assert!(outlet >= held - near),
                    false => prop_assert!((outlet - held).abs() <= near, "{outlet} {held}"),
                }
            }
            (_, Hold::Inlet { share }) => {
                prop_assert!(q.value >= 0.0);
                let loss = law.loss(q).pressure.value;
                let drawing = outlet_up <= share * inlet + near;
                match (shut, drawing) {
                    (true, _) => prop_assert!(inlet <= outlet_up.max(0.0) + near),
                    (_, true) => prop_assert!(
                        (inlet - loss / (1.0 - share)).abs() <= near / (1.0 - share),
                        "draws {inlet} {outlet_up} {loss}"
                    ),
                    (_, false) => prop_assert!((left - outlet_up).abs() <= near),
                }
            }
        }
    }
    Ok(())
}

fn same(a: (&Built, &Steady), b: (&Built, &Steady)) -> Result<(), TestCaseError> {
    let largest = a.1.largest_flow().value.max(1e-6);
    for (&i, &j) in a.0.parts.iter().zip(&b.0.parts) {
        let (q, r) = (a.1.flow(i).value, b.1.flow(j).value);
        prop_assert!((q - r).abs() <= 1e-5 * largest, "{q} and {r} of {largest}");
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: CASES,
        failure_persistence: None,
        rng_seed: RngSeed::Fixed(20_261_125),
        ..ProptestConfig::default()
    })]

    #[test]
    fn law_every_scene_is_solved_in_one_consistent_state(plan in plan()) {
        let built = build(&plan, false);
        let answer = lay::solve(&built.lay);
        prop_assert_eq!(answer.stopped, Stopped::Converged, "{:?}", answer.residual);
        check_mass(&built.lay, &answer)?;
        check_parts(&built.lay, &answer)?;
    }

    #[test]
    fn law_numbering_and_start_do_not_matter_to_a_scene(plan in plan(), at in 0.1..10.0f64) {
        let one = build(&plan, false);
        let other = build(&plan, true);
        let (x, y) = (lay::solve(&one.lay), lay::solve(&other.lay));
        same((&one, &x), (&other, &y))?;
        // The same again, begun from the answer of another scene.
        let mut changed = plan.clone();
        for (_, still, _, flow) in &mut changed.hydrants {
            *still *= at.sqrt();
            *flow /= at;
        }
        let before = lay::solve(&build(&changed, false).lay);
        let again = Solver::new(&one.lay).solve(&one.lay, Some(&before));
        prop_assert_eq!(again.stopped, Stopped::Converged);
        same((&one, &x), (&one, &again))?;
    }
}
