//! The points of a planned test and what the book expects to be read at them, SI.

use super::figures;
use super::model::{Place, Subject};
use super::plan::{PlanPoint, used};
use super::points::is_solid;
use crate::notice::{Notice, Weight};
use book::{Book, Which};
use hydraulics::friction::Friction;
use hydraulics::hydrant::LEAST_RESIDUAL_PSI;
use hydraulics::nozzle::Nozzle;
use hydraulics::units::{Kind, Length, Measure, Pressure, System, VolumeRate, psi};

/// A test as it is planned.
pub(super) struct Planned {
    pub title: String,
    pub layout: &'static str,
    /// What is read, and where that is.
    pub places: Vec<(Place, &'static str)>,
    pub points: Vec<Point>,
    pub pitot_tip: Option<String>,
    pub notices: Vec<Notice>,
}

/// A point to take, SI.
pub(super) struct Point {
    pub target: &'static str,
    pub steer: Place,
    pub values: Vec<(Place, f64)>,
}

impl Point {
    /// The point as a plan shows it, its number `number`.
    pub fn shown(&self, number: u32) -> PlanPoint {
        let figure = |(place, value): &(Place, f64)| (*place, figures::of(*place, *value));
        let steer = self.values.iter().find(|(place, _)| *place == self.steer);
        let none = (self.steer, figures::of(self.steer, 0.0));
        PlanPoint {
            number,
            target: self.target.into(),
            steer: steer.map_or(none, figure),
            expected: self.values.iter().map(figure).collect(),
        }
    }
}

/// Where things are read, in words.
const METER: (Place, &str) = (
    Place::Flow,
    "flow meter between pump and hose, with the straight run before it that its maker asks for",
);

/// The plan of a test of `subject`; none where the book does not have what it needs.
pub(super) fn of(book: &Book, subject: &Subject) -> Option<Planned> {
    match subject {
        Subject::Hose { hose, .. } => of_hose(book, hose),
        Subject::Nozzle { nozzle, setting } => of_nozzle(book, subject, nozzle, setting.as_deref()),
        Subject::Pump { rig } => of_pump(book, rig),
        Subject::Hydrant { hydrant } => of_hydrant(book, hydrant),
        Subject::Service { hose } => of_service(book, hose),
    }
}

/// `count` values from `from` to `to`, both among them.
fn spread(from: f64, to: f64, count: u32) -> Vec<f64> {
    let step = (to - from) / f64::from(count.max(2) - 1);
    (0..count).map(|at| from + step * f64::from(at)).collect()
}

fn of_hose(book: &Book, hose: &str) -> Option<Planned> {
    let item = book.hose(hose)?.item;
    let friction = book.friction(hose, Which::Best)?.friction;
    let flows = used(book, hose);
    let bore = item.size.get().si();
    let by_speed = |speed: f64| std::f64::consts::FRAC_PI_4 * bore * bore * speed;
    // Without a line that uses it: the speeds at which hose is used (memory).
    let least = flows.iter().copied().fold(f64::INFINITY, f64::min);
    let (low, high) = match flows.iter().copied().reduce(f64::max) {
        Some(most) => (0.6 * least, 1.1 * most),
        None => (by_speed(2.5), by_speed(7.0)),
    };
    let nozzle = crate::nozzles_on(book, hose).into_iter().next();
    let outlet = |flow: f64| match &nozzle {
        Some(on) => on.law.pressure(VolumeRate::of_si(flow)).pressure.si(),
        None => psi(50.0).si(),
    };
    let service = item.service_pressure.as_ref().map(|p| p.get().si());
    let room = 0.9 * service.unwrap_or(psi(250.0).si()) - outlet(high);
    let length = length_for(book.units, |length| loss_of(friction, high, length), room);
    let loss = |flow: f64| loss_of(friction, flow, length);
    let still = psi(100.0).si();
    let point = |target, flow: f64, outlet: f64| Point {
        target,
        steer: Place::Flow,
        values: vec![
            (Place::Flow, flow),
            (Place::Inlet, outlet + loss(flow)),
            (Place::Outlet, outlet),
            (Place::Rise, 0.0),
            (Place::Length, length),
        ],
    };
    let mut points = vec![point(
        "water shut off at the tip, pump running: both gauges must read the same",
        0.0,
        still,
    )];
    let flowing = spread(low, high, 5).into_iter();
    points.extend(flowing.map(|q| point("flow set by the tip or its gate", q, outlet(q))));
    let mut notices = Vec::new();
    if let Some(service) = service
        && points
            .iter()
            .flat_map(|p| &p.values)
            .any(|(place, v)| *place == Place::Inlet && *v > service)
    {
        notices.push(
            Notice::new(
                "above_service_pressure",
                Weight::Limit,
                "a point would take the hose above its service pressure",
            )
            .mend("leave that point out, or test a shorter length"),
        );
    }
    Some(Planned {
        title: format!("Friction of hose {hose}"),
        layout: "Lay the hose straight and level on the ground, without kinks, full of water. \
                 Line gauges at both its ends, the flow meter before the first of them, a tip \
                 that can be gated after the second.",
        places: vec![
            METER,
            (Place::Inlet, "line gauge where the hose begins"),
            (
                Place::Outlet,
                "line gauge where the hose ends, before the nozzle",
            ),
            (Place::Rise, "how far the second gauge is above the first"),
            (
                Place::Length,
                "tape along the hose, from gauge to gauge, under pressure",
            ),
        ],
        points,
        pitot_tip: None,
        notices,
    })
}

/// How much hose to lay: as many of its usual lengths as lose 100 psi at the highest
/// flow, eight at most, and not so many that the pump would need more than `room` allows.
fn length_for(system: System, loss: impl Fn(f64) -> f64, room: f64) -> f64 {
    let one = match system {
        System::Us => Kind::Length.unit(System::Us).to_si(50.0),
        System::Si => 20.0,
    };
    let enough = psi(100.0).si().min(room);
    let lengths = (2..=8).map(|count| f64::from(count) * one);
    let fitting = lengths.take_while(|length| loss(*length) <= enough);
    // Two lengths are the least that are worth laying.
    fitting.last().unwrap_or(2.0 * one)
}

/// The loss of a hose, Pa.
fn loss_of(friction: Friction, flow: f64, length: f64) -> f64 {
    use hydraulics::element::Element;
    let water = hydraulics::water::Water::default();
    let hose = hydraulics::hose::Run::new(friction, Length::of_si(length), water);
    hose.map_or(0.0, |hose| hose.loss(VolumeRate::of_si(flow)).pressure.si())
}

fn of_nozzle(
    book: &Book,
    subject: &Subject,
    nozzle: &str,
    setting: Option<&str>,
) -> Option<Planned> {
    let item = book.nozzle(nozzle)?.item;
    let law = item.at(setting).ok()?;
    let rated = item.rated_pressure(setting).ok()?.si();
    let read_at = Place::Tip;
    let point = |target, steer, flow: f64| Point {
        target,
        steer,
        values: vec![
            (Place::Flow, flow),
            (read_at, law.pressure(VolumeRate::of_si(flow)).pressure.si()),
        ],
    };
    let points = match law {
        Nozzle::Automatic(automatic) => {
            let (low, high) = automatic.flows();
            let (low, high) = (low.si(), high.si());
            let at = |shares: &[f64], of: f64| -> Vec<f64> {
                shares.iter().map(|share| share * of).collect()
            };
            let flow = Place::Flow;
            let mut points = Vec::new();
            let below = "opening, below the range";
            points.extend(
                at(&[0.6, 0.85], low)
                    .into_iter()
                    .map(|q| point(below, flow, q)),
            );
            let within = spread(low, high, 5);
            let opening = "opening, in the range: come to it from less flow";
            points.extend(within.iter().map(|q| point(opening, flow, *q)));
            let above = "above the range";
            points.extend(
                at(&[1.1, 1.25], high)
                    .into_iter()
                    .map(|q| point(above, flow, q)),
            );
            let closing = "closing, in the range: come to it from more flow";
            points.extend(within.iter().rev().map(|q| point(closing, flow, *q)));
            let below = "closing, below the range";
            points.extend(at(&[0.75], low).into_iter().map(|q| point(below, flow, q)));
            points
        }
        _ => {
            let pressures = spread(0.5 * rated, 1.2 * rated, 5).into_iter();
            let target = "nozzle pressure set at the pump, shut-off fully open";
            pressures
                .map(|p| point(target, read_at, law.flow(Pressure::of_si(p)).si()))
                .collect()
        }
    };
    let called = match setting {
        Some(setting) => format!("{nozzle}, {setting}"),
        None => nozzle.to_string(),
    };
    let tip = match is_solid(book, subject) {
        true => "pitot in the stream of the tip, or a line gauge just before it",
        false => "line gauge just before the nozzle, its shut-off fully open",
    };
    Some(Planned {
        title: format!("Nozzle {called}"),
        layout: "Tie the nozzle down. The line gauge just before the nozzle, the flow meter \
                 between pump and hose.",
        places: vec![METER, (read_at, tip)],
        points,
        pitot_tip: None,
        notices: Vec::new(),
    })
}

fn of_pump(book: &Book, rig: &str) -> Option<Planned> {
    let pump = book.rig.get(rig)?.used(Which::Published).ok()??.pump;
    // What a hydrant leaves at the intake; a test from draft reads suction there.
    let intake = psi(20.0).si();
    let points = pump.points().iter().rev().map(|(flow, net)| Point {
        target: "a point of the rating: hold the discharge pressure, set the flow at the outlets",
        steer: Place::Discharge,
        values: vec![
            (Place::Flow, flow.si()),
            (Place::Intake, intake),
            (Place::Discharge, intake + net.si()),
        ],
    });
    let text = "the standard's own pump test, its duration, speed and draft conditions, is not \
                replaced by this";
    Some(Planned {
        title: format!("Pump of {rig}"),
        layout: "Gauges at the pump's intake and discharge, tapped at the pump itself; the flow \
                 by a meter in each line or by pitot on solid tips.",
        places: vec![
            (Place::Flow, "flow meter, or a pitot on solid tips"),
            (Place::Intake, "gauge at the pump's intake"),
            (Place::Discharge, "gauge at the pump's discharge"),
        ],
        points: points.collect(),
        pitot_tip: None,
        notices: vec![
            Notice::new("own_standard", Weight::Remark, text).mend("follow the edition in force"),
        ],
    })
}

fn of_hydrant(book: &Book, hydrant: &str) -> Option<Planned> {
    let test = book.hydrant.get(hydrant)?.test().ok()??;
    let most = test.available(psi(LEAST_RESIDUAL_PSI + 5.0)).si();
    let most = most.min(1.1 * test.flow().si());
    let flows = spread(0.0, most, 4).into_iter();
    let points = flows.map(|flow| Point {
        target: match flow > 0.0 {
            true => "outlets of the next hydrants opened one after another",
            false => "nothing flows: the static pressure",
        },
        steer: Place::Flow,
        values: vec![
            (Place::Flow, flow),
            (
                Place::Residual,
                test.residual_at(VolumeRate::of_si(flow)).si(),
            ),
        ],
    });
    let text = "flowing a main stirs it up and may draw it down";
    Some(Planned {
        title: format!("Hydrant {hydrant}"),
        layout: "A cap gauge on the hydrant that is tested; flow the next ones on the same \
                 main, away from the supply, and read the flow there by meter or pitot.",
        places: vec![
            (
                Place::Flow,
                "flow meter, or a pitot at the outlets that flow",
            ),
            (
                Place::Residual,
                "cap gauge on the hydrant that does not flow",
            ),
        ],
        points: points.collect(),
        pitot_tip: None,
        notices: vec![
            Notice::new("main", Weight::Caution, text)
                .mend("tell the water department, and stop above 20 psi of residual pressure"),
        ],
    })
}

fn of_service(book: &Book, hose: &str) -> Option<Planned> {
    let service = book.hose(hose)?.item.service_pressure.as_ref()?.get().si();
    Some(Planned {
        title: format!("Service test of hose {hose}"),
        layout: "Hose laid straight, filled and freed of air, the tip shut, a gate at the pump \
                 that is hardly open. Walk along it only before the pressure is raised.",
        places: vec![
            (Place::Held, "gauge at the pump or at the test machine"),
            (Place::Minutes, "watch"),
        ],
        points: vec![Point {
            target: "the test pressure, held",
            steer: Place::Held,
            values: vec![
                (Place::Held, super::of_service::ABOVE_USE * service),
                (Place::Minutes, super::of_service::HOLD),
            ],
        }],
        pitot_tip: None,
        notices: vec![
            Notice::new(
                "hose_may_burst",
                Weight::Caution,
                "hose that bursts at test pressure maims",
            )
            .mend("keep everybody away from it while it is under pressure"),
        ],
    })
}
