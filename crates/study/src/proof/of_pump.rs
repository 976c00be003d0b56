//! What a pump can do: at each point of its rating, how far it is above it.

use super::case::{Axes, Case, Setup};
use super::figures::{figure, found};
use super::found::{Bound, Found, Measured};
use super::model::Place;
use super::reduction::Reduction;
use super::verdicts::bound;
use crate::reduce::{Column, Gauge, Law, Model, PumpCapability, judge};
use book::{RigItem, Which};
use hydraulics::pump::Pump;
use hydraulics::units::{Kind, Measure, System, VolumeRate};

/// Where the limits on pumps come from.
const SOURCE: &str = "rating of the pump: all of its flow at 150 psi net, 70 % at 200, 50 % at \
                      250 (printed, cases PS-A01 to PS-A03); the rest of a pump test, speed \
                      and duration, is not judged here";

/// Net pressure at the one point of the book's that was tested, the way there from the
/// flow that was read as the book has it. Of several points [`PumpCapability`] tells the
/// way itself. Columns: flow m3/s, intake Pa, discharge Pa.
#[derive(Debug, Clone)]
struct PumpAtPoint {
    columns: [Column; 3],
    pump: Pump,
    /// The net pressure that the book has at the point.
    net: f64,
}

impl PumpAtPoint {
    /// What the book's way leaves of the net pressure at the point.
    fn at_point(&self, reading: &[f64]) -> f64 {
        match reading {
            [flow, intake, discharge] => {
                let way = self.pump.capability(VolumeRate::of_si(*flow)).si() - self.net;
                discharge - intake - way
            }
            _ => f64::NAN,
        }
    }
}

impl Model for PumpAtPoint {
    fn names(&self) -> Vec<String> {
        vec!["the net pressure at the point".into()]
    }

    fn residual(&self, reading: &[f64], p: &[f64]) -> f64 {
        self.at_point(reading) - p.first().copied().unwrap_or(f64::NAN)
    }
}

impl Law for PumpAtPoint {
    fn columns(&self) -> &[Column] {
        &self.columns
    }

    fn responses(&self) -> Vec<usize> {
        vec![1, 2]
    }

    fn start(&self, readings: &[Vec<f64>]) -> Vec<f64> {
        let sum: f64 = readings.iter().map(|row| self.at_point(row)).sum();
        vec![sum / readings.len() as f64]
    }
}

/// The law of `pump` tested at `points` of its own, flow m3/s and net pressure Pa.
fn law(pump: Pump, points: &[(f64, f64)], gauges: [Gauge; 3]) -> Option<Box<dyn Law>> {
    if let [(_, net)] = points {
        let mut what = ["flow", "intake pressure", "discharge pressure"].into_iter();
        let columns = gauges.map(|gauge| Column {
            what: what.next().unwrap_or_default(),
            gauge,
        });
        let net = *net;
        return Some(Box::new(PumpAtPoint { columns, pump, net }));
    }
    let flow = |(flow, _): &(f64, f64)| VolumeRate::of_si(*flow);
    let flows: Vec<VolumeRate> = points.iter().map(flow).collect();
    Some(Box::new(PumpCapability::through(&flows, gauges).ok()?))
}

/// The points of `pump` that tests at `flows` (m3/s) are near, by their flow as a share.
fn near(pump: &Pump, flows: &[f64]) -> Vec<(f64, f64)> {
    let nearest = |flow: &f64| {
        let away = |at: f64| (flow.max(1e-9) / at).ln().abs();
        let points = pump.points().iter().enumerate();
        let near = points.min_by(|(_, a), (_, b)| away(a.0.si()).total_cmp(&away(b.0.si())));
        near.map_or(0, |(at, _)| at)
    };
    let mut tested: Vec<usize> = flows.iter().map(nearest).collect();
    tested.sort_unstable();
    tested.dedup();
    let points = tested.iter().filter_map(|at| pump.points().get(*at));
    points.map(|(flow, net)| (flow.si(), net.si())).collect()
}

pub(super) fn setup(case: &Case<'_>, item: &RigItem) -> Option<Setup> {
    let pump = item.used(Which::Published).ok()??.pump;
    let (rows, numbers, lacking) = case.rows(|point| {
        Some(vec![
            case.flow(point).filter(|flow| *flow > 0.0)?,
            case.value(point, Place::Intake)?,
            case.value(point, Place::Discharge)?,
        ])
    });
    let flows: Vec<f64> = rows
        .iter()
        .filter_map(|r| r.values.first().copied())
        .collect();
    let gauges = [
        case.flow_gauge(),
        case.gauge(Place::Intake),
        case.gauge(Place::Discharge),
    ];
    let points = near(&pump, &flows);
    let least = flows.iter().copied().fold(f64::INFINITY, f64::min);
    let setup = Setup {
        book: Some(points.iter().map(|(_, net)| *net).collect()),
        law: law(pump, &points, gauges)?,
        words: match points.len() {
            1 => {
                "net pressure, discharge less intake, beside the pump's capability in the \
                  book at the flow that was read"
            }
            _ => {
                "net pressure, discharge less intake: p = a Q^-n from one point of the pump's \
                  rating to the next"
            }
        }
        .into(),
        rows,
        numbers,
        lacking,
        axes: Axes {
            x: ("flow", Kind::Flow),
            y: ("net pressure", Kind::Pressure),
            column: 0,
            up: vec![1, 2],
            row: vec![0.0, 0.0, 0.0],
            by_pitot: None,
            from: least * 0.95,
        },
    };
    case.with_pitot(setup, 0)
}

/// The points of the pump that were tested: flow, and net pressure of the book.
fn tested(case: &Case<'_>, item: &RigItem, numbers: &[u32]) -> Vec<(f64, f64)> {
    let Ok(Some(used)) = item.used(Which::Published) else {
        return Vec::new();
    };
    let pump = used.pump;
    let used = case.points.iter().filter(|p| numbers.contains(&p.number));
    let flows = used.filter_map(|point| case.flow(point));
    near(&pump, &flows.collect::<Vec<f64>>())
}

pub(super) fn results(
    case: &Case<'_>,
    reduction: &Reduction,
    item: &RigItem,
    numbers: &[u32],
) -> (Vec<Found>, Vec<Bound>) {
    let book_is = match item.pump.is_some() {
        true => "rated",
        false => "by its own test",
    };
    let (mut list, mut bounds) = (Vec::new(), Vec::new());
    let points = tested(case, item, numbers);
    for (at, (flow, net)) in points.into_iter().enumerate() {
        let name = name(flow);
        let value = |p: &[f64]| p.get(at).copied().unwrap_or(f64::NAN);
        let estimate = reduction.reduced.of(&name, value);
        let shown = |v: f64| Measured::Figure(figure(Kind::Pressure, v));
        list.push(found(&name, &estimate, shown, Some(net), book_is));
        let judged = judge(&estimate, (net, f64::INFINITY));
        bounds.push(bound(&judged, &estimate, Kind::Pressure, SOURCE));
    }
    (list, bounds)
}

/// What is found of a pump at one of its points.
pub(super) fn name(flow: f64) -> String {
    let [gpm, lpm] = [System::Us, System::Si].map(|system| Kind::Flow.unit(system).from_si(flow));
    format!("net pressure at {gpm:.0} gpm ({lpm:.0} L/min)")
}
