//! The closed form of a line says what the network says, in a crowd what it says
//! alone, and always a number.
#![allow(clippy::unwrap_used, clippy::panic, clippy::print_stdout)]

use hydraulics::appliance::Appliance;
use hydraulics::element::Element;
use hydraulics::friction::{Coefficient, Friction};
use hydraulics::hose::Run;
use hydraulics::nozzle::{Automatic, Discharge, Fixed, Nozzle, Regulator, Screen, SmoothBore};
use hydraulics::nozzle::{Stop, Tip};
use hydraulics::units::{Length, Measure, Pressure, Ratio, VolumeRate};
use hydraulics::valve::{CheckValve, Valve, ValveKind};
use hydraulics::water::Water;
use lay::batch::{Column, NozzleColumns, Points, Series};
use lay::{Lay, PlaceId, Stopped};
use proptest::prelude::*;
use proptest::test_runner::RngSeed;
use std::sync::Arc;

const CASES: u32 = 4000;

/// A line of all the parts that have a closed form.
#[derive(Debug, Clone)]
struct Line {
    c: f64,
    metres: f64,
    kink: f64,
    gate: Option<f64>,
    monitor: bool,
    check: bool,
    rise: f64,
    tip: Tip,
}

impl Line {
    fn parts(&self) -> Vec<Arc<dyn Element>> {
        let friction = Friction::Coefficient(Coefficient::us(self.c).unwrap());
        let hose = |metres| Run::new(friction, Length::of_si(metres), Water::default()).unwrap();
        let mut parts: Vec<Arc<dyn Element>> = Vec::new();
        if let Some(gate) = self.gate {
            parts.push(Arc::new(valve(gate, ValveKind::Ball)));
        }
        parts.push(Arc::new(hose(0.4 * self.metres)));
        if self.check {
            parts.push(Arc::new(CheckValve));
        }
        if self.monitor {
            let loss = Appliance::rated(Pressure::of_si(7e4), VolumeRate::of_si(0.03));
            parts.push(Arc::new(loss.unwrap()));
        }
        let kinked = hose(0.6 * self.metres).kinked(Length::of_si(0.045), ratio(self.kink));
        parts.push(Arc::new(kinked.unwrap()));
        parts.push(Arc::new(self.tip));
        parts
    }

    fn lay(&self, pump: f64) -> (Lay, PlaceId) {
        let mut lay = Lay::new(Water::default().density());
        let supply = lay.supply(Length::of_si(2.0), Pressure::of_si(pump));
        let parts = self.parts();
        let mut from = supply;
        for (i, law) in parts.iter().enumerate() {
            let last = i + 1 == parts.len();
            let height = Length::of_si(2.0 + self.rise * (i + 1) as f64 / parts.len() as f64);
            let to = match last {
                true => lay.air(height),
                false => lay.junction(height),
            };
            lay.part(from, to, Arc::clone(law));
            from = to;
        }
        (lay, supply)
    }
}

fn ratio(share: f64) -> Ratio {
    Ratio::of_si(share)
}

fn valve(gate: f64, kind: ValveKind) -> Valve {
    Valve {
        kind,
        waterway: Length::of_si(0.038),
        gate: ratio(gate),
    }
}

fn automatic() -> impl Strategy<Value = Automatic> {
    let slope = prop_oneof![2 => Just(0.0), 1 => 0.0..1e-9f64, 4 => 0.0..0.6f64, 1 => 0.6..4.0f64];
    let state = (0..6u8, 0.0..1.0f64, 0.0..8e4f64);
    (0.0005..0.02f64, 1.0..8.0f64, 1e5..1.2e6f64, slope, state).prop_map(
        |(low, times, pressure, slope, (state, share, band))| {
            // A factor that never falls, as a nozzle must have.
            let high = low * times * (1.0 + slope).sqrt();
            let nozzle = Automatic::new(
                (VolumeRate::of_si(low), VolumeRate::of_si(high * 1.000_001)),
                (
                    Pressure::of_si(pressure),
                    Pressure::of_si(pressure * (1.0 + slope)),
                ),
            );
            let regulator = match state {
                0 => Regulator::Opening,
                1 => Regulator::Closing,
                2 => Regulator::Jammed(ratio(share)),
                3 => Regulator::Flush,
                _ => Regulator::Balanced,
            };
            let nozzle = nozzle.unwrap().with_band(Pressure::of_si(band));
            nozzle.with_regulator(regulator)
        },
    )
}

fn nozzle() -> impl Strategy<Value = Nozzle> {
    prop_oneof![
        1 => (0.006..0.06f64).prop_map(|bore| {
            Nozzle::SmoothBore(SmoothBore::new(Length::of_si(bore), ratio(0.99)).unwrap())
        }),
        1 => (0.0005..0.05f64, 1e5..1.4e6f64).prop_map(|(q, p)| {
            Nozzle::Fixed(Fixed::rated(VolumeRate::of_si(q), Pressure::of_si(p)).unwrap())
        }),
        4 => automatic().prop_map(Nozzle::Automatic),
    ]
}

fn line() -> impl Strategy<Value = Line> {
    let gate = || prop_oneof![2 => Just(None), 1 => (0.05..1.0f64).prop_map(Some)];
    let screen = prop_oneof![2 => Just(None), 1 => (0.0..0.95f64).prop_map(Some)];
    let hose = (
        0.05..40.0f64,
        1.0..300.0f64,
        prop_oneof![Just(0.0), 0.0..0.9f64],
    );
    let rise = prop_oneof![Just(0.0), -30.0..40.0f64];
    let ends = (nozzle(), gate(), screen);
    (hose, gate(), any::<(bool, bool)>(), rise, ends).prop_map(
        |((c, metres, kink), gate, (monitor, check), rise, (nozzle, shutoff, screen))| Line {
            c,
            metres,
            kink,
            gate,
            monitor,
            check,
            rise,
            tip: Tip {
                shutoff: shutoff.map(|gate| valve(gate, ValveKind::Slide)),
                screen: screen.map(|blocked| Screen {
                    waterway: Length::of_si(0.038),
                    blocked: ratio(blocked),
                }),
                ..Tip::new(nozzle)
            },
        },
    )
}

/// A pump pressure: any, none, or one that brings the baffle to a stop.
fn pump(line: &Line, share: f64, at: u8) -> f64 {
    let (lay, supply) = line.lay(0.0);
    let series = Series::of(&lay, supply).unwrap();
    let stop = |stop: Stop| series.pump_pressure(VolumeRate::of_si(stop.flow())).value;
    match at {
        0 => 0.0,
        1 => stop(series.nozzle.closed),
        2 => stop(series.nozzle.open),
        3 => {
            let (low, high) = (stop(series.nozzle.closed), stop(series.nozzle.open));
            low + share * (high - low)
        }
        _ => 2.5e6 * share,
    }
}

fn config() -> ProptestConfig {
    ProptestConfig {
        rng_seed: RngSeed::Fixed(7),
        failure_persistence: None,
        ..ProptestConfig::with_cases(CASES)
    }
}

/// Is `a` within a thousandth of a millionth of `b`? Below a millilitre a second
/// the network's own tolerance counts.
fn near(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-9 * b.abs().max(1e-6)
}

proptest! {
    #![proptest_config(config())]

    #[test]
    fn law_the_closed_form_is_the_networks_answer(
        line in line(), share in 0.0..1.0f64, at in 0..8u8,
    ) {
        let pump = pump(&line, share, at);
        let (lay, supply) = line.lay(pump);
        let series = Series::of(&lay, supply).unwrap();
        let (flow, tip) = series.at(pump);
        let solved = lay::solve(&lay);
        prop_assert_eq!(solved.stopped, Stopped::Converged);
        let last = lay.parts().last().unwrap();
        let wanted = solved.flow(last).value;
        prop_assert!(near(flow, wanted), "{} instead of {}", flow, wanted);
        let pressure = line.tip.nozzle.pressure(VolumeRate::of_si(wanted)).pressure.value;
        prop_assert!((tip - pressure).abs() <= 1e-8 * pressure.max(1.0), "{tip} {pressure}");
    }

    #[test]
    fn law_without_the_trace_it_is_the_direct_routes_answer(
        line in line(), share in 0.0..1.0f64, at in 0..8u8,
    ) {
        let pump = pump(&line, share, at);
        let (lay, supply) = line.lay(pump);
        let series = Series::of(&lay, supply).unwrap().without_trace();
        let parts = line.parts();
        let parts: Vec<&dyn Element> = parts.iter().map(AsRef::as_ref).collect();
        let rise = Pressure::of_si(series.rise);
        let wanted = lay::operating_flow(&parts, Pressure::of_si(pump), rise).value;
        let (flow, _) = series.at(pump);
        prop_assert!(near(flow, wanted), "{} instead of {}", flow, wanted);
    }

    #[test]
    fn law_a_flow_gives_back_the_pump_pressure_it_came_from(
        line in line(), share in 0.01..1.0f64,
    ) {
        let (lay, supply) = line.lay(0.0);
        let series = Series::of(&lay, supply).unwrap();
        let pump = Pressure::of_si(series.rise.max(0.0) + 2.5e6 * share);
        let (flow, _) = series.flow(pump);
        let back = series.pump_pressure(flow).value;
        prop_assert!((back - pump.value).abs() <= 1e-8 * pump.value, "{back} {pump:?}");
    }

    #[test]
    fn law_more_pressure_never_gives_less(
        line in line(), a in 0.0..2.5e6f64, b in 0.0..2.5e6f64, at in 0..8u8,
    ) {
        let (lay, supply) = line.lay(0.0);
        let series = Series::of(&lay, supply).unwrap();
        let corner = pump(&line, 0.5, at.min(2));
        for (a, b) in [(a.min(b), a.max(b)), (corner - 1.0, corner), (corner, corner + 1.0)] {
            let (low, high) = (series.at(a), series.at(b));
            prop_assert!(low.0 <= high.0 * (1.0 + 1e-12), "{low:?} {high:?}");
            prop_assert!(low.1 <= high.1 * (1.0 + 1e-12), "{low:?} {high:?}");
        }
    }

    #[test]
    fn law_the_parts_make_up_the_whole(line in line()) {
        let (lay, supply) = line.lay(1e6);
        let (series, parts) = Series::parted(&lay, supply).unwrap();
        prop_assert_eq!(parts.len(), line.parts().len());
        let sum: f64 = parts.iter().map(|(_, r)| r).sum();
        prop_assert_eq!(sum, series.square);
        let water = 0.02;
        for (part, r) in parts {
            let loss = lay.law(part).loss(VolumeRate::of_si(water)).pressure.value;
            let nozzle = match lay.ends(part).1 == lay.places().last().unwrap() {
                true => line.tip.nozzle.pressure(VolumeRate::of_si(water)).pressure.value,
                false => 0.0,
            };
            prop_assert!((loss - nozzle - r * water * water).abs() <= 1e-9 * loss.max(1.0));
        }
    }
}

/// Numbers that a careless caller could hand over.
fn odd() -> impl Strategy<Value = f64> {
    prop_oneof![
        Just(f64::NAN),
        Just(f64::INFINITY),
        Just(f64::NEG_INFINITY),
        Just(0.0),
        Just(-0.0),
        Just(-1.0),
        Just(f64::MAX),
        Just(f64::MIN_POSITIVE),
        Just(1e-300),
        any::<f64>(),
        0.0..2e6f64,
    ]
}

/// The points' answers, in pieces of `size`.
fn in_pieces(points: &[[f64; 7]], size: usize) -> Vec<(u64, u64)> {
    let mut bits = Vec::new();
    for piece in points.chunks(size) {
        let column = |i: usize| piece.iter().map(|p| p[i]).collect::<Vec<f64>>();
        let [pump, square, rise, k1, p1, k2, p2] = [0, 1, 2, 3, 4, 5, 6].map(column);
        let line = Series::new(0.0, 0.0, Discharge::orifice(1.0));
        let columns = Points {
            pump: Column::Each(&pump),
            square: Column::Each(&square),
            rise: Column::Each(&rise),
            nozzle: NozzleColumns::Each {
                closed_k: Column::Each(&k1),
                closed_p: Column::Each(&p1),
                open_k: Column::Each(&k2),
                open_p: Column::Each(&p2),
            },
            ..Points::of(&line)
        };
        let (mut flows, mut tips) = (vec![0.0; piece.len()], vec![0.0; piece.len()]);
        columns.solve(&mut flows, &mut tips).unwrap();
        let mut alone = vec![0.0; piece.len()];
        columns.flows(&mut alone).unwrap();
        assert!(
            alone
                .iter()
                .zip(&flows)
                .all(|(a, b)| a.to_bits() == b.to_bits())
        );
        bits.extend(
            flows
                .iter()
                .zip(&tips)
                .map(|(q, p)| (q.to_bits(), p.to_bits())),
        );
    }
    bits
}

proptest! {
    #![proptest_config(config())]

    #[test]
    fn law_never_anything_but_a_number(
        points in prop::collection::vec(prop::array::uniform7(odd()), 1..40),
    ) {
        for (q, p) in in_pieces(&points, 40) {
            let (q, p) = (f64::from_bits(q), f64::from_bits(p));
            prop_assert!(q.is_finite() && q >= 0.0 && p.is_finite() && p >= 0.0, "{q} {p}");
        }
    }

    #[test]
    fn law_odd_numbers_do_not_care_for_company(
        points in prop::collection::vec(prop::array::uniform7(odd()), 1..40),
        size in 1..9usize,
    ) {
        prop_assert_eq!(in_pieces(&points, 40), in_pieces(&points, size));
    }
}

/// Many points over all regimes of a nozzle that is almost flat.
fn many(count: usize) -> Vec<[f64; 7]> {
    let spread = |i: usize, by: f64| (i as f64 * by).fract();
    let (k, p) = (1.5e-5, 6.5e5);
    let point = |i: usize| {
        let pump = 2.2e6 * spread(i, 0.618_033_988_75);
        let square = 6e9 * spread(i, 0.414_213_562_37);
        let slope = match i % 3 {
            0 => 0.0,
            1 => 1e-12,
            _ => 0.13,
        };
        let times = 1.0 + spread(i, 0.732_050_807_57);
        [pump, square, 2e4, k, p, k * times, p * (1.0 + slope)]
    };
    (0..count).map(point).collect()
}

#[test]
fn law_threads_and_pieces_change_no_bit() {
    let points = many(30_011);
    let on = |threads: usize, size: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build();
        pool.unwrap().install(|| in_pieces(&points, size))
    };
    let one = on(1, points.len());
    assert!(one == on(2, points.len()));
    assert!(one == on(3, 10_000));
    assert!(one == on(2, 4093));
}

#[test]
fn law_a_crowd_says_what_each_point_says_alone() {
    let points = many(5000);
    for (point, (q, p)) in points.iter().zip(in_pieces(&points, 5000)) {
        let [pump, square, rise, k1, p1, k2, p2] = *point;
        let (closed, open) = (Stop { k: k1, p: p1 }, Stop { k: k2, p: p2 });
        let line = Series::new(square, rise, Discharge { closed, open });
        assert_eq!(line.at(pump), (f64::from_bits(q), f64::from_bits(p)));
    }
}

#[test]
fn a_column_of_another_length_is_named() {
    let line = Series::new(5e9, 0.0, Discharge::orifice(1e-5));
    let pump = [1e6; 3];
    let points = Points {
        pump: Column::Each(&pump),
        ..Points::of(&line)
    };
    let error = points.flows(&mut [0.0; 4]).unwrap_err().to_string();
    assert!(
        error.contains("pump pressures has 3 values for 4"),
        "{error}"
    );
    assert!(points.solve(&mut [0.0; 3], &mut [0.0; 2]).is_err());
}

#[test]
fn what_has_no_closed_form_is_left_to_the_network() {
    let tip = Tip::new(Nozzle::Fixed(
        Fixed::rated(VolumeRate::of_si(0.01), Pressure::of_si(7e5)).unwrap(),
    ));
    let rough = Friction::HazenWilliams {
        bore: Length::of_si(0.05),
        c: ratio(130.0),
    };
    let run = Run::new(rough, Length::of_si(50.0), Water::default()).unwrap();
    let wye = Appliance::allowance(Pressure::of_si(7e4), VolumeRate::of_si(0.0)).unwrap();
    let laws: [Arc<dyn Element>; 3] = [
        Arc::new(run),
        Arc::new(wye),
        Arc::new(valve(0.0, ValveKind::Slide)),
    ];
    let level = Length::of_si(0.0);
    for law in laws {
        let mut lay = Lay::new(Water::default().density());
        let supply = lay.supply(level, Pressure::of_si(1e6));
        let (base, air) = (lay.junction(level), lay.air(level));
        lay.part(supply, base, law);
        lay.part(base, air, Arc::new(tip));
        assert_eq!(Series::of(&lay, supply), None);
        assert_eq!(Series::of(&lay, base), None);
    }
    // Two lines from one outlet.
    let mut lay = Lay::new(Water::default().density());
    let supply = lay.supply(level, Pressure::of_si(1e6));
    for _ in 0..2 {
        let air = lay.air(level);
        lay.part(supply, air, Arc::new(tip));
    }
    assert_eq!(Series::of(&lay, supply), None);
}
