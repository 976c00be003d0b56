//! Two thousand simulated test days of each kind, whose truth is known: the 95 %
//! intervals hold it on 93 to 97 days of a hundred. On each day the needles swing, are
//! read to the steps of their scales, and every gauge is off as a whole by what its
//! certificate allows.

mod days;

use days::*;
use hydraulics::nozzle::{Automatic, SmoothBore};
use hydraulics::units::{Kind, Length, Measure, Ratio, gpm, parse, psi};
use study::reduce::{
    AutomaticNozzle, ByPitot, Estimate, FixedFactor, Gauge, HoseLoss, HydrantCurve, PumpCapability,
    Reading, SmoothBoreTip, reduce,
};

const DAYS: usize = 2000;

/// The shares of days on which `day` finds intervals that hold each of `truths`.
fn held<const N: usize>(
    what: &str,
    truths: [f64; N],
    mut day: impl FnMut(&mut dyn FnMut() -> f64) -> Vec<Estimate>,
) {
    let mut noise = noise();
    let mut held = [0; N];
    for _ in 0..DAYS {
        let found = day(&mut noise);
        assert_eq!(found.len(), N, "{what}");
        for ((held, found), truth) in held.iter_mut().zip(&found).zip(truths) {
            *held += usize::from(found.low <= truth && truth <= found.high);
        }
    }
    let shares = held.map(|held| held as f64 / DAYS as f64);
    println!("{what}: {shares:?} of {DAYS} days");
    assert!(
        shares.iter().all(|share| (0.93..=0.97).contains(share)),
        "{what}: {shares:?}"
    );
}

fn off_by(gauge: Gauge, accuracy_share: f64) -> Gauge {
    Gauge {
        accuracy_share,
        ..gauge
    }
}

/// What a gauge off by up to `share` multiplies its readings by on this day.
fn shared(noise: &mut dyn FnMut() -> f64, share: f64) -> f64 {
    1.0 + share * noise() / 3.0_f64.sqrt()
}

fn rounded(value: f64, step: f64) -> f64 {
    (value / step).round() * step
}

fn hose_days(readings: usize) {
    // The swing is not told to the reduction: the scatter tells it.
    let unknown = day_gauges().map(|gauge| Gauge {
        swing: 0.0,
        ..gauge
    });
    let law = HoseLoss::new(unknown);
    held(
        &format!("hose, {readings} readings"),
        [11.3],
        |mut noise| {
            let reduced = reduce(&law, &test_day(&mut noise, readings)).unwrap();
            vec![HoseLoss::us(&reduced.estimates[0])]
        },
    );
}

#[test]
fn law_interval_of_c_holds_the_truth_on_95_days_in_100() {
    hose_days(6);
    hose_days(12);
}

fn tip_day(noise: &mut dyn FnMut() -> f64, flow_at: impl Fn(f64) -> f64) -> Vec<Reading> {
    let (pitot_off, meter_off) = (shared(noise, 0.01), shared(noise, 0.02));
    pairs([30.0, 35.0, 40.0, 45.0, 50.0, 55.0, 60.0, 65.0].map(|p| {
        let flow = flow_at(p) * meter_off;
        let read = (p * pitot_off + 1.2 * noise()).round();
        (psi(read).si(), gpm((flow + 2.0 * noise()).round()).si())
    }))
}

fn tip_gauges() -> [Gauge; 2] {
    let [pitot, meter] = pressure_then_flow();
    [off_by(pitot, 0.01), off_by(meter, 0.02)]
}

#[test]
fn law_interval_of_a_tips_coefficient_holds_the_truth_on_95_days_in_100() {
    let bore: Length = parse(Kind::Size, "15/16 in").unwrap();
    let tip = SmoothBore::new(bore, Ratio::of_si(0.97)).unwrap().factor();
    let law = SmoothBoreTip::new(bore, tip_gauges()).unwrap();
    held("tip", [0.97], |noise| {
        let day = tip_day(noise, |p| tip.flow(psi(p)).si() / gpm(1.0).si());
        reduce(&law, &day).unwrap().estimates
    });
}

#[test]
fn law_interval_of_a_fixed_nozzles_factor_holds_the_truth_on_95_days_in_100() {
    let law = FixedFactor::new(tip_gauges());
    held("fixed nozzle", [15.0], |noise| {
        let day = tip_day(noise, |p| 15.0 * p.sqrt());
        reduce(&law, &day).unwrap().estimates
    });
}

/// Flows and pressures at both ends of the range: the law has corners there.
#[test]
fn law_intervals_of_an_automatic_nozzles_range_hold_the_truth_on_95_days_in_100() {
    let nozzle = Automatic::new((gpm(70.0), gpm(200.0)), (psi(94.0), psi(106.0))).unwrap();
    let law = AutomaticNozzle::new(flow_then_pressure());
    let truths = [
        gpm(70.0).si(),
        psi(94.0).si(),
        gpm(200.0).si(),
        psi(106.0).si(),
    ];
    held("automatic nozzle", truths, |noise| {
        let day = pairs((0..16).map(|at| {
            let flow = gpm(35.0 + 14.0 * f64::from(at));
            let pressure = nozzle.pressure(flow).pressure.si() / psi(1.0).si() + 1.5 * noise();
            (flow.si(), psi(pressure.round()).si())
        }));
        reduce(&law, &day).unwrap().estimates
    });
}

/// 1000 gpm; three readings about each rating point.
#[test]
fn law_intervals_of_a_pumps_net_pressures_hold_the_truth_on_95_days_in_100() {
    let pump = hydraulics::pump::Pump::rated(gpm(1000.0)).unwrap();
    let gauges = [
        off_by(gauge("flow meter", gpm(10.0).si()), 0.02),
        gauge("intake gauge", psi(1.0).si()),
        off_by(gauge("pump gauge", psi(5.0).si()), 0.01),
    ];
    let law = PumpCapability::rated(gpm(1000.0), gauges).unwrap();
    let truths = [250.0, 200.0, 150.0].map(|net| psi(net).si());
    held("pump", truths, |noise| {
        let (meter, discharge) = (shared(noise, 0.02), shared(noise, 0.01));
        let flows = [
            505.0, 520.0, 540.0, 680.0, 700.0, 720.0, 970.0, 1000.0, 1030.0,
        ];
        let read = flows.iter().enumerate().map(|(at, flow)| {
            let net = pump.capability(gpm(*flow)).si() / psi(1.0).si();
            let flow = rounded(flow * meter + 5.0 * noise(), 10.0);
            let intake = rounded(20.0 + 1.0 * noise(), 1.0);
            let out = rounded((20.0 + net) * discharge + 3.0 * noise(), 5.0);
            Reading {
                name: format!("reading {}", at + 1),
                values: vec![gpm(flow).si(), psi(intake).si(), psi(out).si()],
            }
        });
        reduce(&law, &read.collect::<Vec<_>>()).unwrap().estimates
    });
}

/// Flow by pitot at an open outlet whose coefficient is known to 3 %.
#[test]
fn law_intervals_of_a_hydrants_curve_hold_the_truth_on_95_days_in_100() {
    let test = hydraulics::hydrant::FlowTest::new(psi(70.0), psi(45.0), gpm(1000.0)).unwrap();
    let at_20 = test.available(psi(20.0)).si();
    let bore: Length = parse(Kind::Size, "2.5 in").unwrap();
    let outlet = SmoothBore::new(bore, Ratio::of_si(0.9)).unwrap().factor();
    let curve = HydrantCurve::new([Gauge::exact(""), gauge("hydrant gauge", psi(1.0).si())]);
    let doubt = off_by(Gauge::exact("coefficient of the outlet"), 0.03);
    let pitot = gauge("pitot", psi(1.0).si());
    let law = ByPitot::new(curve, bore, pitot, doubt).unwrap();
    held("hydrant", [psi(70.0).si(), at_20], |noise| {
        let coefficient = shared(noise, 0.03);
        let flows = [0.0, 400.0, 550.0, 700.0, 800.0, 900.0, 1000.0, 1100.0];
        let read = flows.iter().enumerate().map(|(at, flow)| {
            let factor = outlet.si() * coefficient;
            let pitot = (gpm(*flow).si() / factor).powi(2) / psi(1.0).si();
            let pitot = if *flow > 0.0 {
                (pitot + 0.8 * noise()).round()
            } else {
                0.0
            };
            let residual = test.residual_at(gpm(*flow)).si() / psi(1.0).si();
            let residual = (residual + 1.2 * noise()).round();
            Reading {
                name: format!("reading {}", at + 1),
                values: vec![psi(pitot).si(), psi(residual).si(), 0.9],
            }
        });
        reduce(&law, &read.collect::<Vec<_>>()).unwrap().estimates
    });
}
