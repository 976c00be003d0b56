//! A test of the demo's attack hose, and what it says, made up in round numbers.

use hydraulics::units::{Measure, gpm, psi};
use study::figure::{self, Figure};
use study::notice::{Notice, Weight};
use study::proof::{
    Bound, Drawn, DrawnPoint, Find, Found, Measured, Place, Proof, Reading, Seen, Subject, Suspect,
    Test,
};
use study::reduce::{Budget, Contribution, Kind as Known, Verdict};

pub const DATE: &str = "2026-05-09";

fn subject() -> Subject {
    Subject::Hose {
        hose: "attack".into(),
        find: Find::C,
    }
}

fn flow(point: u32, count: u32) -> f64 {
    100.0 + 100.0 * f64::from(point - 1) / f64::from(count.max(2) - 1)
}

fn off(point: u32) -> f64 {
    f64::from(point * 7 % 5) * 0.4 - 0.8 + if point == 7 { 9.0 } else { 0.0 }
}

/// What is lost in 200 ft by C 13.6.
fn loss(q: f64) -> f64 {
    13.6 * (q / 100.0).powi(2) * 2.0
}

/// `count` points, all gauges named.
pub fn test(count: u32) -> Test {
    let reading = |point, place, value: f64, unit: &str, gauge: &str| Reading {
        point,
        place,
        value: match place {
            Place::Flow => gpm(value).si(),
            Place::Rise | Place::Length => 0.3048 * value,
            _ => psi(value).si(),
        },
        written: format!("{value:.1} {unit}"),
        gauge: gauge.into(),
        resolution: None,
        calibrated: None,
        time: format!("10:{:02}", point % 60),
        remark: String::new(),
    };
    let readings = (1..=count).flat_map(|point| {
        let q = flow(point, count);
        vec![
            reading(point, Place::Flow, q, "gpm", "flow-meter"),
            reading(
                point,
                Place::Inlet,
                50.0 + loss(q) + off(point),
                "psi",
                "line-gauge-1",
            ),
            reading(point, Place::Outlet, 50.0, "psi", "line-gauge-2"),
            reading(point, Place::Rise, 0.0, "ft", ""),
            reading(point, Place::Length, 200.0, "ft", ""),
        ]
    });
    Test {
        subject: subject(),
        date: DATE.into(),
        pitot_tip: None,
        readings: readings.collect(),
    }
}

fn c(us: f64) -> Measured {
    Measured::Number {
        us,
        us_unit: "",
        si: us * 0.1404,
        si_unit: "",
        decimals: [2, 3],
    }
}

fn seen(point: u32, count: u32) -> Seen {
    let q = flow(point, count);
    let foot = |feet| figure::length(Measure::of_si(0.3048 * feet));
    let left_out = (point == 3).then(|| "a kink was found afterwards".to_string());
    Seen {
        point,
        time: format!("10:{:02}", point % 60),
        read: vec![
            ("flow", figure::flow(gpm(q))),
            (
                "inlet pressure",
                figure::pressure(psi(50.0 + loss(q) + off(point))),
            ),
            ("outlet pressure", figure::pressure(psi(50.0))),
            ("rise", foot(0.0)),
            ("length", foot(200.0)),
        ],
        residual: figure::pressure(psi(off(point))),
        studentised: off(point) / 1.1,
        stands_out: point == 7,
        left_out,
        remark: if point == 5 {
            "needle swung".into()
        } else {
            String::new()
        },
    }
}

/// What `test` says, with a verdict of each kind.
pub fn proof(count: u32) -> Proof {
    let along = (0..=40).map(|n| f64::from(n) * 5.0);
    let drawn = |point: u32| {
        let q = flow(point, count);
        DrawnPoint {
            point,
            x: [gpm(q).si(), gpm(4.0).si()],
            y: [psi(loss(q) + off(point)).si(), psi(2.4).si()],
            residual: psi(off(point)).si(),
            stands_out: point == 7 || point == 3,
        }
    };
    let curve = |c: f64, q: f64| psi(c / 13.6 * loss(q)).si();
    Proof {
        subject: subject(),
        date: DATE.into(),
        law: "Friction loss: FL = C (Q/100)² L/100, in psi, gpm and ft; the trade's form, printed widely (case FL-U-05)".into(),
        found: vec![found("friction coefficient C", c(13.6)), found("loss in 200 ft at 150 gpm", Measured::Figure(figure::pressure(psi(61.2))))],
        bounds: bounds(),
        points: (1..=count).map(|point| seen(point, count)).collect(),
        scatter_chance: Some(0.021),
        lack_of_fit: Some(0.43),
        stopped: "stopped after 4 steps, the last moved C by less than 1e-9".into(),
        notices: vec![
            Notice::new("gauge_alone", Weight::Caution, "both pressures rest on gauges of one certificate")
                .mend("compare them at rest before the next test"),
        ],
        drawn: Some(Drawn {
            x: ("flow", hydraulics::units::Kind::Flow),
            y: ("friction loss", hydraulics::units::Kind::Pressure),
            points: (1..=count).map(drawn).collect(),
            fit: along
                .clone()
                .map(|q| [gpm(q).si(), curve(13.6, q), curve(13.1, q), curve(14.1, q)])
                .collect(),
            book: along.map(|q| [gpm(q).si(), curve(14.2, q)]).collect(),
        }),
        facts: vec![("water", "60 F, fresh".into())],
        gauges: vec!["flow-meter".into(), "line-gauge-1".into(), "line-gauge-2".into()],
    }
}

fn found(name: &str, value: Measured) -> Found {
    let source = |what: &str, kind, standard, degrees| Contribution {
        what: what.into(),
        kind,
        standard,
        degrees,
    };
    let scaled = |by: f64| match value {
        Measured::Number { us, .. } => c(us * by),
        Measured::Figure(_) => Measured::Figure(figure::pressure(psi(61.2 * by))),
    };
    Found {
        name: name.into(),
        value,
        standard: scaled(0.018),
        between: [scaled(0.963), scaled(1.037)],
        degrees: 21.4,
        budget: Budget {
            contributions: vec![
                source("scatter of the readings", Known::A, 2.0, 16.0),
                source(
                    "flow-meter, accuracy 2 % of reading",
                    Known::B,
                    5.0,
                    f64::INFINITY,
                ),
                source("line-gauge-1, accuracy 3 psi", Known::B, 3.0, 50.0),
                source("line-gauge-2, accuracy 3 psi", Known::B, 3.0, 50.0),
                source("length", Known::B, 0.2, f64::INFINITY),
            ],
        },
        book: Some(scaled(1.044)),
        book_is: "measured 2026-05-11".into(),
        told_apart: true,
    }
}

fn bounds() -> Vec<Bound> {
    let pressure = |value: f64| figure::pressure(psi(value));
    let bound = |what: &str, verdict, value: f64, settle: Option<&str>| Bound {
        what: what.into(),
        verdict,
        value: [value, value - 4.0, value + 4.0].map(pressure),
        least: Some(pressure(85.0)),
        most: Some(pressure(115.0)),
        source: "from memory, of the standard for spray nozzles: rated pressure ± 15 psi; check the edition in force",
        settle: settle.map(Into::into),
    };
    vec![
        bound(
            "nozzle pressure at the lowest flow",
            Verdict::Pass,
            94.0,
            None,
        ),
        bound(
            "nozzle pressure at the highest flow",
            Verdict::NotProven,
            113.0,
            Some("4 times as many readings would settle it"),
        ),
        bound("nozzle pressure at 150 gpm", Verdict::Fail, 124.0, None),
    ]
}

pub fn suspects() -> Vec<Suspect> {
    let pressure = |value: f64| figure::pressure(psi(value));
    vec![Suspect {
        gauges: vec!["line-gauge-2".into()],
        off: [8.2, 5.9, 10.5].map(pressure),
        chance: 3e-7,
        words: "it reads too high, so that C comes out 1.1 too low; do not use it before it is calibrated".into(),
    }]
}

/// A test from which nothing can be reduced.
pub fn not_reduced() -> Proof {
    let whole = proof(1);
    Proof {
        found: Vec::new(),
        bounds: Vec::new(),
        drawn: None,
        scatter_chance: None,
        lack_of_fit: None,
        stopped: String::new(),
        notices: vec![
            Notice::new(
                "too_few",
                Weight::Limit,
                "one point is too few for a coefficient",
            )
            .mend("take at least three, at different flows"),
        ],
        ..whole
    }
}

/// For tests of figures.
pub fn shown(figure: Figure, system: hydraulics::units::System) -> String {
    // Of a large flow nobody reads a tenth.
    let large = figure.value(hydraulics::units::System::Us).abs() >= 500.0;
    let figure = if large { figure } else { figure.fine() };
    figure.show(system).replace('-', "\u{2212}")
}
