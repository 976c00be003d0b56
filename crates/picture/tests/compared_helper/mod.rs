//! Comparisons made by hand.

use book::comparison::AimKind;
use hydraulics::units::{
    Force, Kind, Length, Mass, Measure, Pressure, Ratio, VolumeRate, gpm, parse, psi,
};
use study::choose::{Bound, Choice, Chosen, Curve, Limit, Measured, OfLine, Size, Where, curves};
use study::doubt::{Doubted, Held, Histogram, Share};
use study::figure::{self, Figure};

/// How the choices of a comparison are named, and what is in it.
pub struct Style {
    pub name: &'static str,
    pub code: &'static str,
    pub today: bool,
    /// Flow is to come close to 150 gpm.
    pub target: bool,
}

impl Default for Style {
    fn default() -> Self {
        Style {
            name: "attack",
            code: "C",
            today: true,
            target: false,
        }
    }
}

/// `count` choices none of which beats another, spread without order (a multiplicative
/// step round a circle of values).
pub fn chosen(count: usize, style: &Style) -> Chosen {
    let mut choices: Vec<Choice> = (0..count).map(|n| choice(n, count, style)).collect();
    rate(&mut choices, style);
    let today = style.today.then(|| Choice {
        code: "C400".into(),
        ..choice_of(90.0, 0.35, style)
    });
    Chosen {
        title: Some("Crosslays".into()),
        lines: vec!["left".into()],
        aims: AimKind::ALL.map(|aim| (aim, 10.0)).to_vec(),
        size: Size {
            choices: 1000,
            points: 4000,
            draws: 10_000,
        },
        unbeaten: count as u64 + 3,
        beaten: 800,
        excluded: Vec::new(),
        today,
        robust: (count > 3).then_some(3),
        notices: Vec::new(),
        residual: lay::Residual {
            flow: Measure::of_si(0.0),
            pressure: Measure::of_si(0.0),
        },
        choices,
    }
}

fn choice(n: usize, count: usize, style: &Style) -> Choice {
    let share = (n * 37 % 101) as f64 / 100.0;
    let other = (n * 59 % 83) as f64 / 82.0;
    let flow = 110.0 + 80.0 * share;
    let mut choice = choice_of(flow, other, style);
    choice.code = format!("{}{}", style.code, n * 7 % (2 * count) + 1);
    choice.score = 1.0 - n as f64 / count as f64;
    choice
}

/// A choice that gives a flow in gpm; `other` moves everything else, 0 to 1.
fn choice_of(flow: f64, other: f64, style: &Style) -> Choice {
    let price = Figure::count((1500.0 * other).round() + 200.0, 0);
    let force = |lbf: f64| parse::<Force>(Kind::Force, &format!("{lbf} lbf")).unwrap();
    let feet = |ft: f64| parse::<Length>(Kind::Length, &format!("{ft} ft")).unwrap();
    let mass = parse::<Mass>(Kind::Mass, &format!("{} lb", 150.0 + 60.0 * other)).unwrap();
    let pump = psi(100.0 + (15.0 * other).round() * 5.0);
    let values = [
        figure::flow(gpm(flow)),
        figure::flow(gpm(flow * (0.6 + 0.2 * other))),
        figure::length(feet(45.0 + 0.15 * flow - 8.0 * other)),
        figure::force(force(0.45 * flow + 20.0 * other)),
        figure::pressure(pump),
        figure::share(Ratio::of_si(0.02 + 0.3 * other)),
        figure::pressure(psi(25.0 * (1.0 - other))),
        figure::mass(mass),
        Figure::count(2.0 + (3.0 * other).floor(), 0),
        price,
    ];
    let measured = AimKind::ALL.into_iter().zip(values);
    let measured = measured.map(|(aim, value)| Measured {
        aim,
        value,
        at: Where::default(),
        good: 0.0,
    });
    Choice {
        code: String::new(),
        on: vec![OfLine {
            line: "left".into(),
            hose: style.name.into(),
            length: feet(200.0),
            nozzle: "twin".into(),
            setting: Some("high".into()),
            pump_pressure: pump,
        }],
        pump_pressure: Some(pump),
        measured: measured.collect(),
        score: 0.0,
        past: Vec::new(),
        why: Vec::new(),
        against: Vec::new(),
        to_change: Vec::new(),
        results: Vec::new(),
        doubted: None,
    }
}

/// Sets how good each is among all.
fn rate(choices: &mut [Choice], style: &Style) {
    for (index, aim) in AimKind::ALL.into_iter().enumerate() {
        let target = style.target && aim == AimKind::Flow;
        let want = |figure: &Figure| match figure.value(hydraulics::units::System::Us) {
            value if target => -(value - 150.0).abs(),
            value if aim.more_is_better() => value,
            value => -value,
        };
        let all: Vec<f64> = choices
            .iter()
            .map(|c| want(&c.measured[index].value))
            .collect();
        let low = all.iter().copied().fold(f64::INFINITY, f64::min);
        let high = all.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        for (choice, value) in choices.iter_mut().zip(all) {
            choice.measured[index].good = match high > low {
                true => (value - low) / (high - low),
                false => 1.0,
            };
        }
    }
}

pub fn limits() -> Vec<Bound> {
    let force = parse::<Force>(Kind::Force, "95 lbf").unwrap();
    vec![
        Bound {
            limit: Limit::Reaction,
            aim: AimKind::Reaction,
            figure: figure::force(force),
        },
        Bound {
            limit: Limit::Flow,
            aim: AimKind::Flow,
            figure: figure::flow(gpm(125.0)),
        },
        Bound {
            limit: Limit::PumpPressure,
            aim: AimKind::PumpPressure,
            figure: figure::pressure(psi(175.0)),
        },
    ]
}

/// Flow with a normal spread about 150 gpm (sd 6), reaction without a limit's share, and
/// `count` doubtful things.
pub fn doubted(count: usize) -> Doubted {
    let flow = |q: f64| figure::flow(gpm(q));
    let bins = 64;
    let (low, high) = (126.0, 174.0);
    let step = (high - low) / f64::from(bins);
    let density = |q: f64| (-0.5 * ((q - 150.0) / 6.0_f64).powi(2)).exp();
    let counts = (0..bins).map(|n| {
        let q = low + step * (f64::from(n) + 0.5);
        (10_000.0 * step * density(q) / (6.0 * (2.0 * std::f64::consts::PI).sqrt())).round() as u64
    });
    let held = Held {
        aim: AimKind::Flow,
        mean: flow(150.0),
        sd: flow(6.0),
        quantiles: [flow(140.13), flow(150.0), flow(159.87)],
        histogram: Histogram {
            low: gpm(low).si(),
            high: gpm(high).si(),
            counts: counts.collect(),
        },
    };
    let newton = |n: f64| figure::force(Force::of_si(n));
    let reaction = Held {
        aim: AimKind::Reaction,
        mean: newton(300.0),
        sd: newton(0.0),
        quantiles: [newton(300.0), newton(300.0), newton(300.0)],
        histogram: Histogram {
            low: 300.0,
            high: 300.0,
            counts: vec![10_000],
        },
    };
    let names = [
        "C of attack",
        "flow of twin, high",
        "pump gauge and governor",
        "length of the hose",
        "what the regulator of twin does inside its band when it is dirty",
    ];
    let share = |n: usize| {
        let half = 9.0 / (n + 1) as f64 * if n % 3 == 1 { 1.0 } else { -1.0 };
        Share {
            name: names
                .get(n)
                .map_or(format!("thing {n}"), |name| (*name).to_string()),
            first: (0.62 / (n * n + 1) as f64, 0.02),
            total: (0.66 / (n * n + 1) as f64, 0.03),
            swing: [flow(150.0 - half), flow(150.0 + half)],
        }
    };
    Doubted {
        draws: 10_000,
        seed: 1,
        unsolved: 3,
        unsure: Vec::new(),
        over_days: vec![held, reaction],
        holds: vec![(Limit::Flow, 0.9712, 0.0033)],
        all_hold: (0.97, 0.003),
        shares: vec![(AimKind::Flow, (0..count).map(share).collect())],
        words: Vec::new(),
        notices: Vec::new(),
    }
}

const BOOK: &[u8] = br#"
[book]
name = "Example"
[nozzle.twin]
kind = "automatic"
setting.high = { flow = ["70 gpm", "200 gpm"], pressure = ["94 psi", "106 psi"] }
setting.low = { flow = ["70 gpm", "200 gpm"], pressure = ["46 psi", "56 psi"] }
[line.left]
parts = [{ hose = "1.75 in", length = "200 ft" }, { nozzle = "twin", setting = "high" }]
"#;

/// Flow, nozzle pressure and reaction by [`study::solve`], of a book in which the line
/// is written so from the start.
pub fn solved(of: &OfLine) -> (VolumeRate, Pressure, Force) {
    let text = String::from_utf8(BOOK.to_vec()).unwrap();
    let setting = of.setting.iter().map(|s| format!(", setting = \"{s}\""));
    let parts = format!(
        "parts = [{{ hose = \"{}\", length = \"200 ft\" }}, {{ nozzle = \"{}\"{} }}]",
        of.hose,
        of.nozzle,
        setting.collect::<String>()
    );
    let start = text.find("parts = ").unwrap();
    let text = format!("{}{parts}\n", &text[..start]);
    let book = book::read(text.as_bytes(), "example.toml").unwrap();
    let conditions = book::Conditions {
        pump_pressure: Some(of.pump_pressure),
        ..book::Conditions::default()
    };
    let answer = study::solve(&book, "left", &conditions).unwrap();
    let tip = &answer.tips[0];
    (tip.flow, tip.tip_pressure, tip.reaction)
}

/// Nine ways to equip the left crosslay of a small book.
pub fn line_curves() -> Vec<Curve> {
    let book = book::read(BOOK, "example.toml").unwrap();
    let of = |hose: &str, nozzle: &str, setting: Option<&str>, pump: f64| OfLine {
        line: "left".into(),
        hose: hose.into(),
        length: parse(Kind::Length, "200 ft").unwrap(),
        nozzle: nozzle.into(),
        setting: setting.map(str::to_string),
        pump_pressure: psi(pump),
    };
    let all = [
        of("1.75 in", "twin", Some("high"), 150.0),
        of("1.75 in", "twin", Some("low"), 120.0),
        of("2.5 in", "twin", Some("high"), 130.0),
        of("1.75 in", "150 gpm at 50 psi", None, 110.0),
        of("2.5 in", "150 gpm at 50 psi", None, 80.0),
        of("1.75 in", "7/8 in smooth bore", None, 105.0),
        of("2.5 in", "7/8 in smooth bore", None, 70.0),
        of("2.5 in", "1-1/8 in smooth bore", None, 90.0),
        of("1.75 in", "1-1/8 in smooth bore", None, 170.0),
    ];
    let all: Vec<&OfLine> = all.iter().collect();
    let range: (Pressure, Pressure) = (psi(80.0), psi(200.0));
    curves(&book, "left", &all, range).unwrap()
}
