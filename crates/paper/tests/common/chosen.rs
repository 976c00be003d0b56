//! A comparison of what the demo's crosslays could carry, and what it found, made up in
//! round numbers.
#![allow(dead_code)]

use book::comparison::{AimKind, Comparison, NozzleChoice, Steps, Wanted};
use book::{Book, Stated};
use hydraulics::units::{Kind, Measure, Ratio, System, gpm, parse, psi};
use study::choose::{
    Choice, Chosen, Excluded, Limit, LineResult, Measured, OfLine, Said, Size, Where,
};
use study::doubt::{Doubted, Held, Histogram, Share, Spread, Unsure, UnsureOf};
use study::figure::{self, Figure};
use study::notice::{Notice, Weight};

pub const NAME: &str = "crosslays";

pub fn stated<Q: Measure>(kind: Kind, text: &str) -> Stated<Q> {
    Stated::read(kind, text, System::Us).unwrap()
}

pub fn number(value: f64) -> Stated<Ratio> {
    stated(Kind::Share, &format!("{value}"))
}

/// The aims and what each counts.
pub const AIMS: [(AimKind, f64); 5] = [
    (AimKind::Flow, 3.0),
    (AimKind::FlowAtLowPump, 2.0),
    (AimKind::Reaction, 2.0),
    (AimKind::PumpPressure, 1.0),
    (AimKind::Kinds, 0.0),
];

pub fn comparison(lines: &[&str]) -> Comparison {
    let mut asked = Comparison {
        title: Some("Crosslays of a three-person crew".into()),
        lines: lines.iter().map(|line| (*line).into()).collect(),
        ..Comparison::default()
    };
    asked.vary.hose = vec!["attack".into(), "2 in".into()];
    asked.vary.nozzle = vec![
        NozzleChoice {
            nozzle: "twin".into(),
            setting: None,
        },
        NozzleChoice {
            nozzle: "fifteen-sixteenths".into(),
            setting: None,
        },
    ];
    asked.vary.pump_pressure = Steps::Range {
        from: stated(Kind::Pressure, "100 psi"),
        to: stated(Kind::Pressure, "175 psi"),
        step: stated(Kind::Pressure, "5 psi"),
    };
    asked.cases.low_pump_pressure = Some(stated(Kind::Pressure, "100 psi"));
    asked.cases.rise = vec![stated(Kind::Length, "0 ft"), stated(Kind::Length, "20 ft")];
    asked.limits.people = Some(3);
    asked.limits.pump_pressure = Some(stated(Kind::Pressure, "175 psi"));
    for (aim, weight) in AIMS {
        let near = (aim == AimKind::Flow).then(|| stated(Kind::Flow, "150 gpm"));
        let wanted = Wanted {
            weight: number(weight),
            near,
        };
        asked.aims.insert(aim, wanted);
    }
    asked
}

/// What is on line `line` in the choice of this number.
fn on(line: &str, number: usize) -> OfLine {
    let nozzle = ["twin", "fifteen-sixteenths", "twin"][number % 3];
    let setting = [Some("low"), None, Some("high")][number % 3];
    OfLine {
        line: line.into(),
        hose: ["attack", "2 in"][number / 3 % 2].into(),
        length: parse(Kind::Length, "200 ft").unwrap(),
        nozzle: nozzle.into(),
        setting: setting.map(String::from),
        pump_pressure: psi(120.0 + 5.0 * (number % 11) as f64),
    }
}

fn value(aim: AimKind, number: usize) -> Figure {
    let n = number as f64;
    match aim {
        AimKind::Flow => figure::flow(gpm(152.0 - n)),
        AimKind::FlowAtLowPump => figure::flow(gpm(131.0 - n)),
        AimKind::Reach => figure::length(parse(Kind::Length, "60 ft").unwrap()),
        AimKind::Reaction => figure::force(parse(Kind::Force, "55 lbf").unwrap()),
        AimKind::PumpPressure => figure::pressure(psi(120.0 + 5.0 * (n % 11.0))),
        AimKind::SteadyWhenGated => figure::share(Ratio::of_si(0.08)),
        AimKind::OnePumpPressure => figure::pressure(psi(4.0)),
        AimKind::Weight => figure::mass(parse(Kind::Mass, "230 lb").unwrap()),
        AimKind::Kinds => Figure::count(2.0, 0),
        AimKind::Price => Figure::count(1250.0, 0),
    }
}

/// A choice of this number for `lines`, with days drawn or not.
pub fn choice(
    lines: &[String],
    number: usize,
    aims: &[(AimKind, f64)],
    draws: Option<f64>,
    each: bool,
) -> Choice {
    let n = number as f64;
    let of = |(at, line): (usize, &String)| on(line, number + if each { at } else { 0 });
    let on: Vec<OfLine> = lines.iter().enumerate().map(of).collect();
    let measured = aims.iter().map(|(aim, _)| Measured {
        aim: *aim,
        value: value(*aim, number),
        at: Where {
            line: lines[0].clone(),
            ..Where::default()
        },
        good: if number == 0 { 1.0 } else { 1.0 / (2.0 + n) },
    });
    let result = |line: &String| LineResult {
        line: line.clone(),
        flow: gpm(152.0 - n),
        tip_pressure: psi(51.0),
        reaction: parse(Kind::Force, "55 lbf").unwrap(),
        people: Some(2),
        reach: parse(Kind::Length, "62 ft").unwrap(),
        low: Some((gpm(131.0 - n), psi(48.0))),
        flows: (gpm(118.0), gpm(166.0)),
    };
    Choice {
        code: format!("C{}", 12 + number),
        pump_pressure: (!each).then(|| on[0].pump_pressure),
        measured: measured.collect(),
        score: 0.82 - 0.03 * n.min(20.0),
        past: Vec::new(),
        why: vec![
            Said::new("most flow at the low pump pressure, ").figure(figure::flow(gpm(131.0 - n))),
            "no other beats it in everything".into(),
        ],
        against: vec![
            Said::new("flow at the low pump pressure: ")
                .figure(figure::flow(gpm(14.0)))
                .words(" less"),
        ],
        to_change: vec!["buy two nozzles twin".into(), "set both to low".into()],
        results: lines.iter().map(result).collect(),
        doubted: draws.map(doubted),
        on,
    }
}

fn doubted(share: f64) -> Doubted {
    let psi1 = psi(1.0).value;
    let unsure = |of, name: &str, spread, factor, source: &str, mend: &str| Unsure {
        of,
        name: name.into(),
        spread,
        factor,
        source: source.into(),
        mend: mend.into(),
    };
    let flow = |q| figure::flow(gpm(q));
    let share_of = |name: &str, total: f64, from, to| Share {
        name: name.into(),
        first: (total - 0.02, 0.02),
        total: (total, 0.02),
        swing: [flow(from), flow(to)],
    };
    Doubted {
        draws: 10_000,
        seed: 1,
        unsolved: 0,
        unsure: vec![
            unsure(
                UnsureOf::Hose("attack".into()),
                "C of attack",
                Spread::Normal {
                    mean: 1.0,
                    sd: 0.021,
                    low: 0.8,
                    high: 1.2,
                },
                true,
                "own flow test (invented), 2026-05-11",
                "test it again with more readings",
            ),
            unsure(
                UnsureOf::Pump("pumper-1".into()),
                "gauge and governor of the pump",
                Spread::Normal {
                    mean: 0.0,
                    sd: 2.5 * psi1,
                    low: -15.0 * psi1,
                    high: 15.0 * psi1,
                },
                false,
                "the comparison",
                "calibrate the gauge",
            ),
            unsure(
                UnsureOf::Kink(String::new()),
                "a kink",
                Spread::Sometimes(0.1, 0.3),
                false,
                "the comparison",
                "walk the line before water comes",
            ),
        ],
        over_days: vec![Held {
            aim: AimKind::Flow,
            mean: flow(150.0),
            sd: flow(6.0),
            quantiles: [flow(140.0), flow(150.0), flow(159.0)],
            histogram: Histogram {
                low: gpm(130.0).value,
                high: gpm(170.0).value,
                counts: vec![3, 40, 420, 2600, 4100, 2300, 500, 34, 3],
            },
        }],
        holds: vec![
            (Limit::Reaction, 1.0, 0.0),
            (Limit::PumpPressure, share, 0.003),
        ],
        all_hold: (share, 0.003),
        shares: vec![(
            AimKind::Flow,
            vec![
                share_of("C of attack", 0.66, 142.0, 158.0),
                share_of("gauge and governor of the pump", 0.31, 146.0, 154.0),
                share_of("a kink", 0.05, 149.0, 150.0),
            ],
        )],
        notices: vec![
            Notice::new(
                "hose_taken_as_exact",
                Weight::Remark,
                "no spread is published for hose \"2 in\": it counts as exact here",
            )
            .mend("test it"),
        ],
        words: vec!["two thirds of the doubt about flow is your hose attack: test it".into()],
    }
}

/// What the comparison found: `count` choices.
pub fn chosen(book: &Book, asked: &Comparison, count: usize, draws: bool) -> Chosen {
    of_aims(book, asked, &AIMS, count, draws)
}

pub fn of_aims(
    book: &Book,
    asked: &Comparison,
    aims: &[(AimKind, f64)],
    count: usize,
    draws: bool,
) -> Chosen {
    let solved = study::solve(book, "left-crosslay", &Default::default()).unwrap();
    let share = |number: usize| draws.then_some(if number == 0 { 0.9731 } else { 0.71 });
    let make = |number| choice(&asked.lines, number, aims, share(number), asked.each_line);
    let excluded = |limit, choices, alone, figures: Option<(Figure, Figure)>| Excluded {
        limit,
        choices,
        alone,
        nearest: Said::new("2 in, ")
            .figure(figure::length(parse(Kind::Length, "200 ft").unwrap()))
            .words(", twin, high"),
        has_and_may: figures,
        text: "its coupling is 2.5 in NH and the hose before it has 1.5 in NH".into(),
    };
    let force = |text| figure::force(parse(Kind::Force, text).unwrap());
    let mut today = make(2);
    today.code = "today".into();
    today.past = vec![(Limit::Reaction, force("97 lbf"), force("95 lbf"))];
    Chosen {
        title: asked.title.clone(),
        lines: asked.lines.clone(),
        aims: aims.to_vec(),
        size: Size {
            choices: 192,
            points: 1536,
            draws: if draws { 120_000 } else { 0 },
        },
        choices: (0..count.min(Chosen::SHOWN)).map(make).collect(),
        unbeaten: count as u64,
        beaten: 61,
        excluded: vec![
            excluded(
                Limit::Reaction,
                88,
                70,
                Some((force("96 lbf"), force("95 lbf"))),
            ),
            excluded(Limit::Couplings, 24, 24, None),
        ],
        today: (count > 1).then_some(today),
        robust: (draws && count > 0).then_some(0),
        notices: vec![
            Notice::new(
                "published_spread",
                Weight::Caution,
                "the coefficient of the hose is a published value",
            )
            .at("2 in")
            .mend("test the hose"),
        ],
        residual: solved.residual,
    }
}
