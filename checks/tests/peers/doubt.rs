//! Days drawn beside scipy's distributions and quadrature, and whose doubt it is beside
//! SALib, on the same hose line.
#![allow(clippy::unwrap_used, clippy::panic)]

use super::{apart, none_of};
use book::comparison::{AimKind, Comparison};
use checks::data;
use hydraulics::element::Element;
use hydraulics::friction::{Coefficient, Friction};
use hydraulics::hose::Run;
use hydraulics::nozzle::{Nozzle, SmoothBore, Tip};
use hydraulics::units::{Kind, Length, Measure, Pressure, Ratio, parse, psi};
use hydraulics::water::Water;
use serde::Deserialize;
use study::choose::{OfLine, Quiet};
use study::doubt::{Spread, indices, of_choice};

#[derive(Deserialize)]
struct Cases {
    quantiles: Vec<Quantiles>,
    line: Line,
}

/// A kind of spread and its numbers.
type Stated = Vec<serde_json::Value>;

#[derive(Deserialize)]
struct Quantiles {
    spread: Stated,
    shares: Vec<f64>,
    values: Vec<f64>,
}

#[derive(Deserialize)]
struct Line {
    spreads: Vec<Stated>,
    mean: f64,
    sd: f64,
    shares: Vec<f64>,
    quantiles: Vec<f64>,
    first: Vec<f64>,
    total: Vec<f64>,
    salib: Salib,
}

#[derive(Deserialize)]
struct Salib {
    first: Vec<f64>,
    first_half: Vec<f64>,
    total: Vec<f64>,
    total_half: Vec<f64>,
}

fn cases() -> Cases {
    let text = std::fs::read_to_string(data().join("peer_doubt.json")).unwrap();
    serde_json::from_str(&text).unwrap()
}

fn spread(stated: &Stated) -> Spread {
    let numbers: Vec<f64> = stated.iter().filter_map(|v| v.as_f64()).collect();
    match (stated[0].as_str().unwrap(), numbers.as_slice()) {
        ("even", [low, high]) => Spread::Even(*low, *high),
        ("triangle", [low, mode, high]) => Spread::Triangle(*low, *mode, *high),
        ("normal", [mean, sd, low, high]) => Spread::Normal {
            mean: *mean,
            sd: *sd,
            low: *low,
            high: *high,
        },
        other => panic!("no spread {other:?}"),
    }
}

#[test]
fn peer_quantiles_as_scipy() {
    let mut misses = Vec::new();
    let mut count = 0;
    for case in cases().quantiles {
        let spread = spread(&case.spread);
        for (share, value) in case.shares.iter().zip(&case.values) {
            count += 1;
            let ours = spread.quantile(*share);
            if (ours - value).abs() > 1e-9 * value.abs().max(1.0) {
                misses.push(format!("{spread:?} at {share}: {ours}, scipy {value}"));
            }
        }
    }
    assert_eq!(count, 81);
    none_of(misses, count);
}

/// Flow of the peer's line with what is doubtful at these values.
fn flow(values: &[f64]) -> f64 {
    let [c, tip, off] = values else {
        panic!("{values:?}");
    };
    let c = Coefficient::us(12.0 * c).unwrap();
    let length: Length = parse(Kind::Length, "200 ft").unwrap();
    let hose = Run::new(Friction::Coefficient(c), length, Water::default()).unwrap();
    let bore: Length = parse(Kind::Size, "15/16 in").unwrap();
    let tip = SmoothBore::new(bore, Ratio::of_si(0.97 * tip)).unwrap();
    let tip = Tip::new(Nozzle::SmoothBore(tip));
    let parts: [&dyn Element; 2] = [&hose, &tip];
    let pump = psi(150.0) + Pressure::of_si(*off);
    lay::operating_flow(&parts, pump, Pressure::of_si(0.0)).si()
}

#[test]
fn peer_indices_as_salib_and_as_quadrature() {
    let line = cases().line;
    let spreads: Vec<Spread> = line.spreads.iter().map(spread).collect();
    let found = indices(flow, &spreads, 1 << 14, 7);
    assert_eq!(found.len(), 3);
    for (at, index) in found.iter().enumerate() {
        // Twice a half is about four standard errors.
        for ((ours, half), exact, salib, salib_half) in [
            (
                index.first,
                line.first[at],
                line.salib.first[at],
                line.salib.first_half[at],
            ),
            (
                index.total,
                line.total[at],
                line.salib.total[at],
                line.salib.total_half[at],
            ),
        ] {
            assert!((ours - exact).abs() < 2.0 * half, "{at}: {ours} {exact}");
            let both = half.hypot(salib_half);
            assert!((ours - salib).abs() < 2.0 * both, "{at}: {ours} {salib}");
            assert!(half < 0.03, "{at}: {half}");
        }
    }
}

const BOOK: &[u8] = br#"
[book]
name = "Example"
[hose.attack]
size = "1.75 in"
coefficient = 12
spread = [7, 15.5]
[nozzle.solid]
kind = "smooth-bore"
bore = "15/16 in"
measured = { coefficient = 0.97, uncertainty = 0.02 }
[line.left]
parts = [{ hose = "attack", length = "200 ft" }, { nozzle = "solid" }]
"#;

#[test]
fn peer_moments_and_quantiles_of_a_line_as_scipy() {
    let line = cases().line;
    let book = book::read(BOOK, "example.toml").unwrap();
    let mut comparison = Comparison::default();
    comparison.doubt.pump_gauge =
        Some(book::Stated::read(Kind::Pressure, "5 psi", book.units).unwrap());
    let on = [OfLine {
        line: "left".into(),
        hose: "attack".into(),
        length: parse(Kind::Length, "200 ft").unwrap(),
        nozzle: "solid".into(),
        setting: None,
        pump_pressure: psi(150.0),
    }];
    let draws = 40_000;
    let doubted = of_choice(&book, &comparison, &on, draws, &Quiet).unwrap();
    assert_eq!((doubted.draws, doubted.unsolved), (draws, 0));
    assert_eq!(doubted.unsure.len(), 3);
    for (unsure, peer) in doubted.unsure.iter().zip(&line.spreads) {
        let peer = spread(peer);
        for share in [0.01, 0.5, 0.8] {
            let (ours, peer) = (unsure.spread.quantile(share), peer.quantile(share));
            assert!(
                (ours - peer).abs() < 1e-6 * peer.abs().max(1.0),
                "{ours} {peer}"
            );
        }
    }
    let flow = &doubted.over_days[0];
    assert_eq!(flow.aim, AimKind::Flow);
    let gpm = |si: f64| si / 6.309_019_64e-5;
    let value = |figure: &study::figure::Figure| figure.value(book.units);
    // The standard error of a mean, and of a standard deviation near normal.
    let error = gpm(line.sd) / (draws as f64).sqrt();
    assert!((value(&flow.mean) - gpm(line.mean)).abs() < 4.0 * error);
    assert!((value(&flow.sd) - gpm(line.sd)).abs() < 4.0 * error);
    for ((figure, peer), share) in flow.quantiles.iter().zip(&line.quantiles).zip(&line.shares) {
        assert!(apart(value(figure), gpm(*peer)) < 2e-3, "{share}");
    }
    let shares = &doubted.shares[0].1;
    assert_eq!(shares[0].name, "C of attack");
    assert!((shares[0].total.0 - line.total[0]).abs() < 2.0 * shares[0].total.1);
}
