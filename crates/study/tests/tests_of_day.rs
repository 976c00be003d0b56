//! Pumps, roughness, service tests, an automatic nozzle's band, repeats and the band of
//! the curve: simulated readings whose truth is known, and verdicts.
#![allow(clippy::unwrap_used, clippy::panic, clippy::print_stdout)]

mod days;

use days::*;
use hydraulics::element::Element;
use hydraulics::friction::Friction;
use hydraulics::hose::Run;
use hydraulics::nozzle::{Automatic, Regulator, SmoothBore};
use hydraulics::pump::Pump;
use hydraulics::units::{Kind, Length, Measure, Ratio, ThermodynamicTemperature, gpm, parse, psi};
use hydraulics::water::Water;
use study::reduce::{
    ATTACK_TEST_PSI, AutomaticNozzle, ByPitot, CapabilityError, FixedFactor, Gauge, HOLD_MINUTES,
    Held, HoseLoss, HoseRoughness, HydrantCurve, PitotError, PumpCapability, Reading, Roughness,
    ServiceTest, Settle, SmoothBoreTip, Verdict, judge_pump, judge_service_test, lack_of_fit,
    reduce,
};

fn rows(values: impl IntoIterator<Item = Vec<f64>>) -> Vec<Reading> {
    let one = |(at, values)| Reading {
        name: format!("reading {}", at + 1),
        values,
    };
    values.into_iter().enumerate().map(one).collect()
}

fn pump_law() -> PumpCapability {
    let gauges = [
        gauge("flow meter", gpm(1.0).si()),
        gauge("intake gauge", psi(1.0).si()),
        gauge("pump gauge", psi(1.0).si()),
    ];
    PumpCapability::rated(gpm(1000.0), gauges).unwrap()
}

fn pump_day(extra: f64) -> Vec<Reading> {
    let pump = Pump::rated(gpm(1000.0)).unwrap();
    let flows = [
        500.0, 560.0, 620.0, 700.0, 760.0, 850.0, 950.0, 1000.0, 1050.0,
    ];
    rows(flows.map(|flow| {
        let net = pump.capability(gpm(flow)).si() + psi(extra).si();
        vec![gpm(flow).si(), psi(20.0).si(), psi(20.0).si() + net]
    }))
}

/// The rating points 250, 200 and 150 psi at 50, 70 and 100 % (PS-A01 to PS-A03, seen).
#[test]
fn book_a_pump_gives_back_its_rating_points_and_is_judged_by_them() {
    let reduced = reduce(&pump_law(), &pump_day(0.0)).unwrap();
    for (found, printed) in reduced.estimates.iter().zip([250.0, 200.0, 150.0]) {
        near(found.value / psi(1.0).si(), printed, 1e-6);
    }
    let verdicts = |extra: f64| {
        let reduced = reduce(&pump_law(), &pump_day(extra)).unwrap();
        let judged = judge_pump(&reduced.estimates);
        judged.iter().map(|j| j.verdict).collect::<Vec<_>>()
    };
    assert_eq!(verdicts(6.0), [Verdict::Pass; 3]);
    assert_eq!(verdicts(-6.0), [Verdict::Fail; 3]);
    assert_eq!(verdicts(0.0), [Verdict::NotProven; 3]);
    // Between the points the curve is that of the pump.
    let at = [gpm(850.0).si(), 0.0, 0.0];
    let curve = reduced.expected(&pump_law(), &at);
    let pump = Pump::rated(gpm(1000.0)).unwrap();
    near(curve.value / pump.capability(gpm(850.0)).si(), 1.0, 1e-9);
}

#[test]
fn a_pump_without_readings_by_a_point_cannot_be_told_there() {
    let high: Vec<Reading> = pump_day(0.0).split_off(4);
    let error = reduce(&pump_law(), &high).unwrap_err().to_string();
    assert!(error.contains("50 % of rated flow"), "{error}");
    let gauges = || [Gauge::exact("a"), Gauge::exact("b"), Gauge::exact("c")];
    assert_eq!(
        PumpCapability::rated(gpm(0.0), gauges()),
        Err(CapabilityError::Flows)
    );
    let shut = rows(vec![vec![0.0, 0.0, psi(200.0).si()]; 4]);
    assert!(reduce(&pump_law(), &shut).is_err());
}

/// Readings on 200 ft of 45 mm hose by Darcy and Weisbach, `times` the loss.
fn rough_day(roughness: f64, times: f64) -> Vec<Reading> {
    let water = Water::at(ThermodynamicTemperature::of_si(288.15));
    let friction = Friction::DarcyWeisbach {
        bore: Length::of_si(0.045),
        roughness: Length::of_si(roughness),
    };
    let run = Run::new(friction, Length::of_si(feet(200.0)), water).unwrap();
    rows((0..8).map(|at| {
        let flow = gpm(90.0 + 15.0 * f64::from(at));
        let loss = times * run.loss(flow).pressure.si();
        let outlet = psi(50.0).si();
        let rise = water.static_pressure(Length::of_si(3.0)).si();
        let inlet = outlet + rise + loss;
        vec![flow.si(), inlet, outlet, 3.0, feet(200.0), 0.045, 288.15]
    }))
}

fn rough_law(bore_off: f64) -> HoseRoughness {
    let [flow, inlet, outlet, rise, length] = hose_gauges();
    let bore = Gauge {
        accuracy: bore_off,
        ..Gauge::exact("bore gauge")
    };
    let thermometer = Gauge::exact("thermometer");
    HoseRoughness::new([flow, inlet, outlet, rise, length, bore, thermometer])
}

#[test]
fn law_a_hose_gives_back_its_roughness_and_the_bore_is_most_of_its_doubt() {
    let reduced = reduce(&rough_law(0.0002), &rough_day(3e-5, 1.0)).unwrap();
    let found = &reduced.estimates[0];
    near(found.value / 3e-5, 1.0, 1e-5);
    let shares = found.budget.shares();
    let parts = found.budget.contributions.iter().zip(shares);
    let largest = parts.max_by(|a, b| a.1.total_cmp(&b.1)).unwrap();
    assert_eq!(largest.0.what, "accuracy of bore gauge");
    // The loss goes with about the fifth power of the bore: 0.2 mm of 45 is 2.2 % of loss.
    let exact = reduce(&rough_law(0.0), &rough_day(3e-5, 1.0)).unwrap();
    assert!(exact.estimates[0].standard < 0.5 * found.standard);
    assert_eq!(HoseRoughness::says(&exact.estimates[0]), Roughness::Rough);
}

#[test]
fn law_a_hose_that_is_smooth_or_less_is_said_to_be() {
    let smooth = reduce(&rough_law(0.0002), &rough_day(0.0, 1.0)).unwrap();
    assert_eq!(
        HoseRoughness::says(&smooth.estimates[0]),
        Roughness::MayBeSmooth
    );
    let below = reduce(&rough_law(0.0002), &rough_day(0.0, 0.85)).unwrap();
    let found = &below.estimates[0];
    assert!(found.value < 0.0, "{found:?}");
    assert_eq!(HoseRoughness::says(found), Roughness::BelowSmooth);
    let words = HoseRoughness::says(found).words().unwrap();
    assert!(words.contains("measure the bore again"));
}

/// 300 psi for 3 min (LIM-01 and LIM-04, seen).
#[test]
fn book_a_service_test_passes_fails_or_says_what_would_settle_it() {
    let tester = Gauge {
        accuracy_share: 0.01,
        ..gauge("test gauge", psi(5.0).si())
    };
    let watch = gauge("watch", 1.0);
    let required = ServiceTest {
        pressure: psi(ATTACK_TEST_PSI),
        time: 60.0 * HOLD_MINUTES,
    };
    let judged = |pressures: &[f64], time: f64| {
        let one = |p: &f64| Held {
            pressure: psi(*p).si(),
            time,
        };
        let held: Vec<Held> = pressures.iter().map(one).collect();
        judge_service_test(&held, &tester, &watch, required)
    };
    let verdicts = |pressures: &[f64], time: f64| {
        let judged = judged(pressures, time);
        judged.iter().map(|j| j.verdict).collect::<Vec<_>>()
    };
    assert_eq!(verdicts(&[310.0, 308.0], 185.0), [Verdict::Pass; 2]);
    assert_eq!(
        verdicts(&[310.0, 280.0], 185.0),
        [Verdict::Fail, Verdict::Pass]
    );
    let unsure = judged(&[302.0, 300.0], 150.0);
    assert_eq!(unsure[0].verdict, Verdict::NotProven);
    assert_eq!(unsure[1].verdict, Verdict::NotProven);
    // 1.96 x hypot(5 / sqrt 12, 1 % of 300 / sqrt 3) = 4.4 psi.
    let Some(Settle::HoldAt { reading }) = unsure[0].settle else {
        panic!("{unsure:?}");
    };
    near(reading / psi(1.0).si(), 304.4, 0.1);
    let words = unsure[0].words();
    assert!(words.contains("305 psi"), "{words}");
    assert!(
        unsure[1].words().contains("3.1 min"),
        "{}",
        unsure[1].words()
    );
    assert!(judge_service_test(&[], &tester, &watch, required).is_empty());
}

fn twin() -> Automatic {
    Automatic::new((gpm(70.0), gpm(200.0)), (psi(94.0), psi(106.0))).unwrap()
}

#[test]
fn law_readings_taken_both_ways_give_the_band_of_an_automatic_nozzle() {
    let nozzle = twin().with_band(psi(6.0));
    let law = AutomaticNozzle::new(flow_then_pressure()).with_band();
    let mut noise = noise();
    let one = |(way, at): (f64, i32)| {
        let flow = gpm(35.0 + 14.0 * f64::from(at));
        let regulator = match way > 0.0 {
            true => Regulator::Opening,
            false => Regulator::Closing,
        };
        let pressure = nozzle.with_regulator(regulator).pressure(flow).pressure;
        let read = (pressure.si() / psi(1.0).si() + noise()).round();
        vec![flow.si(), psi(read).si(), way]
    };
    let ways = (0..16).flat_map(|at| [(1.0, at), (-1.0, at)]);
    let reduced = reduce(&law, &rows(ways.map(one).collect::<Vec<_>>())).unwrap();
    let band = &reduced.estimates[4];
    assert_eq!(band.name, "the band between opening and closing");
    assert!(band.low > 0.0, "{band:?}");
    assert!(band.low <= psi(6.0).si() && psi(6.0).si() <= band.high);
    let [least, most] = AutomaticNozzle::factors(&reduced);
    let truth = |flow: f64, pressure: f64| flow / f64::sqrt(pressure);
    assert!((least.value - truth(70.0, 94.0)).abs() < 4.0 * least.standard);
    assert!((most.value - truth(200.0, 106.0)).abs() < 4.0 * most.standard);
    let slope = AutomaticNozzle::slope(&reduced);
    let true_slope = psi(12.0).si() / gpm(130.0).si();
    assert!(
        (slope.value - true_slope).abs() < 4.0 * slope.standard,
        "{slope:?}"
    );
    let wrong_way = rows(vec![vec![gpm(100.0).si(), psi(100.0).si(), 0.5]; 6]);
    assert!(reduce(&law, &wrong_way).is_err());
}

/// A curve through repeated points: a square law put to readings that go with the power
/// 1.6, and to readings that follow it.
#[test]
fn law_repeats_tell_a_law_that_does_not_fit() {
    let law = HoseLoss::new(hose_gauges());
    let chance = |power: f64| {
        let mut noise = noise();
        let one = |at: i32| {
            let flow = 60.0 + 30.0 * f64::from(at / 3);
            let loss = 20.0 * (flow / 100.0).powf(power);
            let read = (50.0 + loss + noise()).round();
            hose_reading(at as usize, flow, read, 50.0, 0.0, 200.0)
        };
        let day: Vec<Reading> = (0..15).map(one).collect();
        let reduced = reduce(&law, &day).unwrap();
        // The caller may say which readings are repeats.
        let points: Vec<usize> = (0..15).map(|at| at / 3).collect();
        assert_eq!(lack_of_fit(&reduced.fit, &points), reduced.lack_of_fit);
        reduced.lack_of_fit.unwrap()
    };
    assert!(chance(1.6) < 0.001, "{}", chance(1.6));
    assert!(chance(2.0) > 0.05, "{}", chance(2.0));
    let single = [hose_reading(1, 161.0, 99.0, 50.0, 0.0, 200.0)];
    assert_eq!(reduce(&law, &single).unwrap().lack_of_fit, None);
}

/// F by hand (Draper and Smith's way): residuals 1, -1 / 2, 4 / -3, -3 of a law with one
/// parameter. Pure error 2 + 2 + 0 = 4 of 3 degrees, lack 40 - 4 = 36 of 2: F = 13.5;
/// F(2, 3) above 13.5 has the chance (1 + 2 x 13.5 / 3)^(-3/2) = 0.0316.
#[test]
fn law_lack_of_fit_by_hand() {
    let readings = rows((0..6).map(|_| vec![1.0, 1.0]));
    let mut fit = reduce(
        &FixedFactor::new([Gauge::exact("a"), Gauge::exact("b")]),
        &readings,
    )
    .unwrap()
    .fit;
    fit.weighted = vec![1.0, -1.0, 2.0, 4.0, -3.0, -3.0];
    fit.sum_of_squares = 40.0;
    let chance = lack_of_fit(&fit, &[0, 0, 1, 1, 2, 2]).unwrap();
    near(chance, 10.0_f64.powf(-1.5), 1e-9);
}

/// The band of a one-parameter law through the origin is that of its parameter.
#[test]
fn law_the_band_of_a_tip_is_the_share_of_its_coefficient() {
    let bore: Length = parse(Kind::Size, "15/16 in").unwrap();
    let tip = SmoothBore::new(bore, Ratio::of_si(0.97)).unwrap();
    let law = SmoothBoreTip::new(bore, pressure_then_flow()).unwrap();
    let mut noise = noise();
    let readings = pairs([30.0, 40.0, 50.0, 60.0, 70.0].map(|p| {
        let flow = tip.factor().flow(psi(p)).si() + gpm(noise()).si();
        (psi(p).si(), flow)
    }));
    let reduced = reduce(&law, &readings).unwrap();
    let cd = &reduced.estimates[0];
    let band = reduced.expected(&law, &[psi(55.0).si(), 0.0]);
    near(
        band.value,
        tip.factor().flow(psi(55.0)).si() * cd.value / 0.97,
        1e-12,
    );
    near(band.low / band.value, cd.low / cd.value, 1e-9);
    near(band.high / band.value, cd.high / cd.value, 1e-9);
}

#[test]
fn law_flow_by_pitot_is_flow_by_meter_and_the_coefficients_doubt_is_shared() {
    let bore: Length = parse(Kind::Size, "2.5 in").unwrap();
    let [meter, pressure] = flow_then_pressure();
    let doubt = Gauge {
        accuracy_share: 0.03,
        ..Gauge::exact("coefficient")
    };
    let curve = || HydrantCurve::new([meter.clone(), pressure.clone()]);
    let law = ByPitot::new(curve(), bore, gauge("pitot", psi(1.0).si()), doubt.clone()).unwrap();
    let read = [(0.0, 70.0), (9.0, 62.0), (16.0, 57.0), (25.0, 50.0)];
    let by_pitot = rows(read.map(|(p, r)| vec![psi(p).si(), psi(r).si(), 0.9]));
    let by_meter = rows(read.map(|(p, r)| vec![law.flow(psi(p).si(), 0.9), psi(r).si()]));
    let pitot = reduce(&law, &by_pitot).unwrap();
    let metered = reduce(&curve(), &by_meter).unwrap();
    for (a, b) in pitot.estimates.iter().zip(&metered.estimates) {
        assert!((a.value - b.value).abs() < 2.0 * a.standard, "{a:?} {b:?}");
    }
    let parts = &pitot.estimates[1].budget.contributions;
    let shared = parts.iter().find(|p| p.what == "accuracy of coefficient");
    let share = shared.unwrap().standard / pitot.estimates[1].value;
    near(share, 0.03 / 3.0_f64.sqrt(), 1e-4);
    // A law behind a pointer is a law.
    let boxed: Box<dyn study::reduce::Law> = Box::new(law);
    assert_eq!(reduce(&boxed, &by_pitot).unwrap(), pitot);
    let none = ByPitot::new(boxed, bore, Gauge::exact("pitot"), doubt);
    assert!(matches!(none.err(), Some(PitotError::NoFlow)));
}
