//! Laws that hold for every layout, tested on random ones: trees, legs that
//! rejoin, loops, several pumps, shut gates, check valves, tips of every kind
//! in every regime.
#![allow(clippy::unwrap_used)]

use hydraulics::element::{Element, Loss, Passage};
use hydraulics::nozzle::{Automatic, Fixed, Nozzle, Regulator, SmoothBore, Tip};
use hydraulics::units::{Kind, Length, MassDensity, Measure, Pressure, Ratio, System, VolumeRate};
use hydraulics::valve::{CheckValve, Valve, ValveKind};
use lay::{Lay, PartId, PlaceId, Role, Steady, Stopped};
use proptest::prelude::*;
use proptest::test_runner::RngSeed;
use std::sync::Arc;

const CASES: u32 = 10_000;

/// A square law, so that this test leans on nothing but the solver.
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

#[derive(Debug, Clone)]
enum Kit {
    Hose { r: f64 },
    Gate { kind: ValveKind, gate: f64 },
    Check,
}

#[derive(Debug, Clone)]
enum End {
    Smooth {
        bore: f64,
    },
    Fixed {
        flow: f64,
        pressure: f64,
    },
    Automatic {
        low: f64,
        ratio: f64,
        pressure: f64,
        slope: f64,
        state: u8,
    },
}

#[derive(Debug, Clone)]
struct Plan {
    /// Part from a random earlier place to a new one: (which, kit, rise).
    tree: Vec<(prop::sample::Index, Kit, f64)>,
    /// Extra parts between any two places: loops.
    loops: Vec<(prop::sample::Index, prop::sample::Index, Kit)>,
    tips: Vec<(prop::sample::Index, End, f64, f64)>,
    /// Pumps: the first at place 0, the others through a hose to a place.
    pumps: Vec<(prop::sample::Index, f64)>,
}

fn kit() -> impl Strategy<Value = Kit> {
    prop_oneof![
        8 => (6.0..10.5f64).prop_map(|e| Kit::Hose { r: 10f64.powf(e) }),
        2 => (prop_oneof![Just(ValveKind::Slide), Just(ValveKind::Ball)],
              prop_oneof![3 => 0.02..1.0f64, 1 => Just(0.0), 1 => Just(1.0)])
            .prop_map(|(kind, gate)| Kit::Gate { kind, gate }),
        1 => Just(Kit::Check),
    ]
}

fn end() -> impl Strategy<Value = End> {
    prop_oneof![
        (0.008..0.05f64).prop_map(|bore| End::Smooth { bore }),
        (0.001..0.03f64, 2e5..1e6f64).prop_map(|(flow, pressure)| End::Fixed { flow, pressure }),
        (
            0.001..0.01f64,
            1.5..4.0f64,
            2e5..1e6f64,
            prop_oneof![Just(0.0), 0.0..0.4f64],
            0..5u8
        )
            .prop_map(|(low, ratio, pressure, slope, state)| End::Automatic {
                low,
                ratio,
                pressure,
                slope,
                state
            }),
    ]
}

fn plan() -> impl Strategy<Value = Plan> {
    let index = any::<prop::sample::Index>;
    (
        prop::collection::vec((index(), kit(), -15.0..25.0f64), 1..40),
        prop::collection::vec((index(), index(), kit()), 0..12),
        prop::collection::vec((index(), end(), -5.0..30.0f64, 0.0..1.2f64), 0..12),
        prop::collection::vec((index(), 1e5..2e6f64), 1..4),
    )
        .prop_map(|(tree, loops, tips, pumps)| Plan {
            tree,
            loops,
            tips,
            pumps,
        })
}

fn element(kit: &Kit) -> Arc<dyn Element> {
    match *kit {
        Kit::Hose { r } => Arc::new(Hose(r)),
        Kit::Check => Arc::new(CheckValve),
        Kit::Gate { kind, gate } => Arc::new(Valve {
            kind,
            waterway: Length::of_si(0.05),
            gate: Ratio::of_si(gate),
        }),
    }
}

fn tip(end: &End, gate: f64) -> Tip {
    let flow = VolumeRate::of_si;
    let pressure = Pressure::of_si;
    let nozzle = match *end {
        End::Smooth { bore } => {
            Nozzle::SmoothBore(SmoothBore::new(Length::of_si(bore), Ratio::of_si(0.99)).unwrap())
        }
        End::Fixed {
            flow: q,
            pressure: p,
        } => Nozzle::Fixed(Fixed::rated(flow(q), pressure(p)).unwrap()),
        End::Automatic {
            low,
            ratio,
            pressure: p,
            slope,
            state,
        } => {
            let nozzle = Automatic::new(
                (flow(low), flow(low * ratio)),
                (pressure(p), pressure(p * (1.0 + slope))),
            );
            let regulator = match state {
                0 => Regulator::Opening,
                1 => Regulator::Closing,
                2 => Regulator::Jammed(Ratio::of_si(0.4)),
                3 => Regulator::Flush,
                _ => Regulator::Balanced,
            };
            Nozzle::Automatic(
                nozzle
                    .unwrap()
                    .with_band(pressure(2e4))
                    .with_regulator(regulator),
            )
        }
    };
    let mut tip = Tip::new(nozzle);
    if gate < 1.0 {
        tip.shutoff = Some(Valve {
            kind: ValveKind::Slide,
            waterway: Length::of_si(0.035),
            gate: Ratio::of_si(gate),
        });
    }
    tip
}

/// A built lay, its places and parts in the order of the plan.
struct Built {
    lay: Lay,
    parts: Vec<PartId>,
    tips: Vec<PartId>,
}

/// Builds the plan; `shuffle` renumbers places and parts, `boost` is added to
/// every pump, `pass` is what pressures go through on the way in.
fn build(plan: &Plan, shuffle: bool, boost: f64, pass: fn(f64) -> f64) -> Built {
    let mut heights = vec![0.0];
    let mut edges: Vec<(usize, usize, Arc<dyn Element>)> = Vec::new();
    for (at, kit, rise) in &plan.tree {
        let from = at.index(heights.len());
        edges.push((from, heights.len(), element(kit)));
        heights.push(heights[from] + rise);
    }
    let junctions = heights.len();
    for (a, b, kit) in &plan.loops {
        let (a, b) = (a.index(junctions), b.index(junctions));
        if a != b {
            edges.push((a, b, element(kit)));
        }
    }
    let mut roles = vec![None; junctions];
    for (i, (at, pressure)) in plan.pumps.iter().enumerate() {
        let pressure = pass(pressure + boost);
        if i == 0 {
            roles[0] = Some(pressure);
        } else {
            heights.push(heights[at.index(junctions)]);
            roles.push(Some(pressure));
            edges.push((heights.len() - 1, at.index(junctions), Arc::new(Hose(3e8))));
        }
    }
    let mut tips = Vec::new();
    for (at, end, rise, gate) in &plan.tips {
        let from = at.index(junctions);
        if roles[from].is_some() {
            continue;
        }
        tips.push(edges.len());
        heights.push(heights[from] + rise);
        roles.push(Some(f64::NAN));
        edges.push((from, heights.len() - 1, Arc::new(tip(end, *gate))));
    }
    number(&heights, &roles, &edges, &tips, shuffle)
}

fn number(
    heights: &[f64],
    roles: &[Option<f64>],
    edges: &[(usize, usize, Arc<dyn Element>)],
    tips: &[usize],
    shuffle: bool,
) -> Built {
    let mut lay = Lay::new(MassDensity::of_si(999.0));
    let order = |n: usize| -> Vec<usize> {
        if shuffle {
            (0..n).rev().collect()
        } else {
            (0..n).collect()
        }
    };
    let mut places = vec![None; heights.len()];
    for i in order(heights.len()) {
        let height = Length::of_si(heights[i]);
        places[i] = Some(match roles[i] {
            None => lay.junction(height),
            Some(p) if p.is_nan() => lay.air(height),
            Some(p) => lay.supply(height, Pressure::of_si(p)),
        });
    }
    let places: Vec<PlaceId> = places.into_iter().flatten().collect();
    let mut parts = vec![None; edges.len()];
    for i in order(edges.len()) {
        let (from, to, law) = &edges[i];
        parts[i] = Some(lay.part(places[*from], places[*to], law.clone()));
    }
    let parts: Vec<PartId> = parts.into_iter().flatten().collect();
    let tips = tips.iter().map(|&t| parts[t]).collect();
    Built { lay, parts, tips }
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
        prop_assert!(
            sum.abs() <= 1e-9 * largest,
            "{sum} out of {largest} at {place:?}"
        );
    }
    Ok(())
}

/// Pressure closes along every part, and so round every loop; valves and tips
/// are in the state that their flow says.
fn check_pressure(lay: &Lay, answer: &Steady) -> Result<(), TestCaseError> {
    for part in lay.parts() {
        let (from, to) = lay.ends(part);
        let q = answer.flow(part);
        let law = lay.law(part);
        prop_assert!(q.value.is_finite());
        match law.passage() {
            Passage::Shut => prop_assert_eq!(q.value, 0.0),
            Passage::OneWay => prop_assert!(q.value >= 0.0),
            Passage::Free => {}
        }
        let (Some(a), Some(b)) = (answer.pressure(from), answer.pressure(to)) else {
            prop_assert_eq!(q.value, 0.0);
            continue;
        };
        let over = (a - b - lay.rise(part)).value - law.loss(q).pressure.value;
        match law.passage() {
            Passage::Shut => {}
            Passage::OneWay if q.value == 0.0 => prop_assert!(over <= 1.0, "shut against {over}"),
            _ => prop_assert!(
                over.abs() <= 1.0,
                "{part:?} misses by {over} Pa at {}",
                q.value
            ),
        }
    }
    Ok(())
}

fn through_psi(p: f64) -> f64 {
    let unit = Kind::Pressure.unit(System::Us);
    unit.to_si(unit.from_si(p))
}

fn through_bar(p: f64) -> f64 {
    let unit = Kind::Pressure.unit(System::Si);
    unit.to_si(unit.from_si(p))
}

fn same(a: &Built, x: &Steady, b: &Built, y: &Steady) -> Result<(), TestCaseError> {
    let largest = x.largest_flow().value.max(1e-6);
    for (&i, &j) in a.parts.iter().zip(&b.parts) {
        let (q, r) = (x.flow(i).value, y.flow(j).value);
        prop_assert!((q - r).abs() <= 1e-6 * largest, "{q} and {r} of {largest}");
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: CASES,
        failure_persistence: None,
        rng_seed: RngSeed::Fixed(20_260_511),
        ..Default::default()
    })]

    #[test]
    fn law_every_layout_has_one_answer(plan in plan()) {
        let built = build(&plan, false, 0.0, |p| p);
        let answer = lay::solve(&built.lay);
        prop_assert_eq!(answer.stopped, Stopped::Converged, "{:?} after {}", answer.residual, answer.steps);
        check_mass(&built.lay, &answer)?;
        check_pressure(&built.lay, &answer)?;
    }

    #[test]
    fn law_numbering_and_units_do_not_matter(plan in plan()) {
        let plain = build(&plan, false, 0.0, |p| p);
        let answer = lay::solve(&plain.lay);
        let shuffled = build(&plan, true, 0.0, |p| p);
        same(&plain, &answer, &shuffled, &lay::solve(&shuffled.lay))?;
        let (psi, bar) = (build(&plan, false, 0.0, through_psi), build(&plan, true, 0.0, through_bar));
        same(&psi, &lay::solve(&psi.lay), &bar, &lay::solve(&bar.lay))?;
    }

    #[test]
    fn law_more_pump_pressure_never_gives_less(plan in plan(), boost in 1e3..1e6f64) {
        let before = build(&plan, false, 0.0, |p| p);
        let after = build(&plan, false, boost, |p| p);
        let (x, y) = (lay::solve(&before.lay), lay::solve(&after.lay));
        for (&i, &j) in before.tips.iter().zip(&after.tips) {
            let (q, r) = (x.flow(i).value, y.flow(j).value);
            prop_assert!(r >= q - 1e-8 * x.largest_flow().value.max(1e-6), "{q} fell to {r}");
        }
    }
}
