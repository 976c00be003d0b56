//! What a pump can do: at each point of its rating, how far it is above it.

use super::case::{Axes, Case, Setup};
use super::figures::{figure, found};
use super::found::{Bound, Found, Measured};
use super::model::Place;
use super::reduction::Reduction;
use super::verdicts::bound;
use crate::reduce::{Column, Gauge, Law, Model, judge};
use book::{RigItem, Which};
use hydraulics::pump::Pump;
use hydraulics::units::{Kind, Measure, System, VolumeRate};

/// Where the limits on pumps come from.
const SOURCE: &str = "rating of the pump: all of its flow at 150 psi net, 70 % at 200, 50 % at \
                      250 (printed, cases PS-A01 to PS-A03); the rest of a pump test, speed \
                      and duration, is not judged here";

/// Net pressure at each point of the book's that was tested, the way from point to point
/// as the book has it. Columns: flow m3/s, intake Pa, discharge Pa.
#[derive(Debug, Clone)]
pub(super) struct PumpMargin {
    columns: [Column; 3],
    pump: Pump,
    /// The points of the pump that were tested.
    tested: Vec<usize>,
}

impl PumpMargin {
    /// The law of a pump tested near those of its points that `flows` are near.
    pub fn new(pump: Pump, gauges: [Gauge; 3], flows: &[f64]) -> Self {
        let mut what = ["flow", "intake pressure", "discharge pressure"].into_iter();
        let columns = gauges.map(|gauge| Column {
            what: what.next().unwrap_or_default(),
            gauge,
        });
        let mut tested: Vec<usize> = flows.iter().map(|q| nearest(&pump, *q)).collect();
        tested.sort_unstable();
        tested.dedup();
        PumpMargin {
            columns,
            pump,
            tested,
        }
    }

    /// The net pressure that the book has at a tested point.
    fn point(&self, tested: usize) -> Option<f64> {
        let (_, net) = self.pump.points().get(*self.tested.get(tested)?)?;
        Some(net.si())
    }

    fn which(&self, flow: f64) -> Option<usize> {
        let near = nearest(&self.pump, flow);
        self.tested.iter().position(|at| *at == near)
    }
}

/// The point of `pump` whose flow is nearest as a share.
fn nearest(pump: &Pump, flow: f64) -> usize {
    let away = |at: f64| (flow.max(1e-9) / at).ln().abs();
    let points = pump.points().iter().enumerate();
    let near = points.min_by(|(_, a), (_, b)| away(a.0.si()).total_cmp(&away(b.0.si())));
    near.map_or(0, |(at, _)| at)
}

impl Model for PumpMargin {
    fn names(&self) -> Vec<String> {
        let name = |at| format!("the net pressure at point {}", at + 1);
        self.tested.iter().map(|at| name(*at)).collect()
    }

    fn residual(&self, reading: &[f64], p: &[f64]) -> f64 {
        let [flow, intake, discharge] = reading else {
            return f64::NAN;
        };
        let Some(which) = self.which(*flow) else {
            return f64::NAN;
        };
        let rated = self.pump.capability(VolumeRate::of_si(*flow)).si();
        match (p.get(which), self.point(which)) {
            (Some(net), Some(at_point)) => discharge - intake - rated - (net - at_point),
            _ => f64::NAN,
        }
    }
}

impl Law for PumpMargin {
    fn columns(&self) -> &[Column] {
        &self.columns
    }

    fn responses(&self) -> Vec<usize> {
        vec![1, 2]
    }

    fn start(&self, readings: &[Vec<f64>]) -> Vec<f64> {
        let zero = vec![0.0; self.tested.len()];
        let mut sums = vec![(0.0, 0.0); self.tested.len()];
        for reading in readings {
            let flow = reading.first().copied().unwrap_or_default();
            if let Some(sum) = self.which(flow).and_then(|at| sums.get_mut(at)) {
                sum.0 += self.residual(reading, &zero);
                sum.1 += 1.0;
            }
        }
        let start = |(sum, count): (f64, f64)| sum / count;
        sums.into_iter().map(start).collect()
    }
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
    let law = PumpMargin::new(pump, gauges, &flows);
    let least = flows.iter().copied().fold(f64::INFINITY, f64::min);
    let setup = Setup {
        book: (0..law.tested.len()).map(|at| law.point(at)).collect(),
        law: Box::new(law),
        words: "net pressure, discharge less intake, beside the pump's capability in the book \
                at the flow that was read"
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
    let mut at: Vec<usize> = flows.map(|q| nearest(&pump, q)).collect();
    at.sort_unstable();
    at.dedup();
    let points = at.iter().filter_map(|at| pump.points().get(*at));
    points.map(|(flow, net)| (flow.si(), net.si())).collect()
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
