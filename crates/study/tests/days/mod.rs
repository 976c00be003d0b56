//! Gauges, readings and noise of simulated test days.
#![allow(dead_code)] // Each test file takes its part.

use hydraulics::units::{Kind, Length, Measure, System, gpm, psi};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{RngCore, SeedableRng};
use statrs::distribution::{ContinuousCDF, Normal};
use study::reduce::{Gauge, Reading};

pub fn near(value: f64, printed: f64, tolerance: f64) {
    assert!(
        (value - printed).abs() <= tolerance,
        "{value} is not {printed}"
    );
}

pub fn gauge(name: &str, resolution: f64) -> Gauge {
    Gauge {
        name: name.into(),
        resolution,
        ..Gauge::default()
    }
}

pub fn hose_gauges() -> [Gauge; 5] {
    [
        gauge("flow meter", gpm(1.0).si()),
        gauge("pump gauge", psi(1.0).si()),
        gauge("line gauge", psi(1.0).si()),
        Gauge::exact("level"),
        Gauge::exact("tape"),
    ]
}

pub fn feet(value: f64) -> f64 {
    Kind::Length.unit(System::Us).to_si(value)
}

pub fn hose_reading(
    name: usize,
    flow: f64,
    inlet: f64,
    outlet: f64,
    rise: f64,
    length: f64,
) -> Reading {
    Reading {
        name: format!("reading {name}"),
        values: vec![
            gpm(flow).si(),
            psi(inlet).si(),
            psi(outlet).si(),
            feet(rise),
            feet(length),
        ],
    }
}

pub fn noise() -> impl FnMut() -> f64 {
    let mut rng = ChaCha8Rng::seed_from_u64(1962);
    let normal = Normal::standard();
    move || normal.inverse_cdf((rng.next_u64() >> 11) as f64 / 2.0_f64.powi(53) + 2.0_f64.powi(-54))
}

/// One simulated day of `readings` on 200 ft of hose with C 11.3 and 10 ft of rise:
/// needles swing, are read to 5 psi and 1 gpm, and each gauge is off as a whole.
pub fn test_day(noise: &mut impl FnMut() -> f64, readings: usize) -> Vec<Reading> {
    let shared = |noise: f64, share: f64| 1.0 + share * noise / 3.0_f64.sqrt();
    let (meter, pump, tip) = (
        shared(noise(), 0.02),
        shared(noise(), 0.01),
        shared(noise(), 0.01),
    );
    let round = |value: f64, step: f64| (value / step).round() * step;
    let one = |at: usize| {
        let flow = 100.0 + 100.0 * at as f64 / (readings - 1) as f64;
        let loss = 11.3 * (flow / 100.0).powi(2) * 2.0 + psi_of_rise(10.0);
        let read =
            |noise: f64, value: f64, swing: f64, step: f64| round(value + swing * noise, step);
        let flow = read(noise(), flow * meter, 2.5, 1.0);
        let inlet = read(noise(), (100.0 + loss) * pump, 4.0, 5.0);
        let outlet = read(noise(), 100.0 * tip, 4.0, 5.0);
        hose_reading(at + 1, flow, inlet, outlet, 10.0, 200.0)
    };
    (0..readings).map(one).collect()
}

pub fn psi_of_rise(rise: f64) -> f64 {
    hydraulics::water::trade_rise(Length::of_si(feet(rise))).si() / psi(1.0).si()
}

pub fn day_gauges() -> [Gauge; 5] {
    let [flow, inlet, outlet, rise, length] = hose_gauges();
    let as_tested = |gauge: Gauge, resolution: f64, swing: f64, share: f64| Gauge {
        resolution,
        swing,
        accuracy_share: share,
        ..gauge
    };
    [
        as_tested(flow, gpm(1.0).si(), gpm(2.5).si(), 0.02),
        as_tested(inlet, psi(5.0).si(), psi(4.0).si(), 0.01),
        as_tested(outlet, psi(5.0).si(), psi(4.0).si(), 0.01),
        rise,
        length,
    ]
}

pub fn pairs(rows: impl IntoIterator<Item = (f64, f64)>) -> Vec<Reading> {
    let one = |(at, (a, b)): (usize, (f64, f64))| Reading {
        name: format!("reading {}", at + 1),
        values: vec![a, b],
    };
    rows.into_iter().enumerate().map(one).collect()
}

pub fn pressure_then_flow() -> [Gauge; 2] {
    [
        gauge("pitot", psi(1.0).si()),
        gauge("flow meter", gpm(1.0).si()),
    ]
}

pub fn flow_then_pressure() -> [Gauge; 2] {
    let [pressure, flow] = pressure_then_flow();
    [flow, pressure]
}
