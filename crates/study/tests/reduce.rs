//! Reducing flow tests: beside printed examples, a measured line, and simulated test
//! days whose truth is known.

mod days;

use days::*;
use hydraulics::nozzle::{Automatic, SmoothBore};
use hydraulics::units::{Kind, Length, Measure, Ratio, VolumeRate, gpm, parse, psi};
use study::reduce::{
    AutomaticNozzle, Budget, Contribution, Estimate, FitError, FixedFactor, Gauge, HoseLoss,
    HydrantCurve, Model, Reading, ReduceError, Reduced, Settle, Sigmas, SmoothBoreTip, Task,
    Verdict, coverage_factor, fit, fit_both, judge, judge_automatic, judge_rated_flow, rectangular,
    reduce, without,
};

/// y = a + b x, rows of x, y.
struct Line;

impl Model for Line {
    fn names(&self) -> Vec<String> {
        vec!["a".into(), "b".into()]
    }

    fn residual(&self, row: &[f64], p: &[f64]) -> f64 {
        row[1] - p[0] - p[1] * row[0]
    }

    fn slopes(&self, row: &[f64], _: &[f64]) -> Option<Vec<f64>> {
        Some(vec![-1.0, -row[0]])
    }
}

/// GUM H.3 (JCGM 100:2008): 11 readings of a thermometer, less 20 C, and corrections.
fn thermometer() -> Vec<Vec<f64>> {
    let t = [
        21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511,
    ];
    let b = [
        -0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160,
    ];
    t.iter().zip(b).map(|(t, b)| vec![t - 20.0, b]).collect()
}

#[test]
fn book_gum_h3_line_through_a_calibration() {
    let readings = thermometer();
    let fit = fit(Task::new(&Line, &readings, vec![0.0, 0.0])).unwrap();
    let errors = fit.standard_errors();
    near(fit.parameters[0], -0.1712, 0.00005);
    near(errors[0], 0.0029, 0.00005);
    near(fit.parameters[1], 0.00218, 0.000005);
    near(errors[1], 0.00067, 0.000005);
    near(fit.covariance[0][1] / errors[0] / errors[1], -0.930, 0.0005);
    near(fit.sum_of_squares, 0.000110096583109, 1e-15);
    // H.3.4: the correction at 30 C.
    near(
        fit.parameters[0] + 10.0 * fit.parameters[1],
        -0.1494,
        0.00005,
    );
    let variance =
        fit.covariance[0][0] + 20.0 * fit.covariance[0][1] + 100.0 * fit.covariance[1][1];
    near(variance.sqrt(), 0.0041, 0.00005);
}

fn part(standard: f64, degrees: f64) -> Contribution {
    Contribution {
        what: String::new(),
        kind: study::reduce::Kind::B,
        standard,
        degrees,
    }
}

/// GUM H.1 (JCGM 100:2008), in nm; the degrees of freedom are from memory.
#[test]
fn book_gum_h1_end_gauge() {
    let parts = [
        (25.0, 18.0),
        (16.599, 2.0),
        (6.7, 8.0),
        (5.8, 24.0),
        (3.9, 5.0),
        (rectangular(5.0), 50.0),
    ];
    let contributions = parts
        .map(|(standard, degrees)| part(standard, degrees))
        .to_vec();
    let budget = Budget { contributions };
    near(budget.standard(), 32.0, 0.5);
    assert_eq!(budget.degrees(), 16.0);
    // Printed 93: 2.92 times the rounded 32.
    near(budget.expanded(0.99), 93.0, 1.0);
    near(budget.shares().iter().sum(), 1.0, 1e-12);
}

/// GUM H.2 (JCGM 100:2008; the readings from memory): resistance and reactance of a
/// circuit element from five sets of voltage, current and phase, as means of five (the
/// second approach, table H.4).
#[test]
fn book_gum_h2_resistance_and_reactance_from_memory() {
    let volts = [5.007, 4.994, 5.005, 4.990, 4.999];
    let milliamps = [19.663, 19.639, 19.640, 19.685, 19.678];
    let phase = [1.0456, 1.0438, 1.0468, 1.0428, 1.0433_f64];
    let sets = || volts.iter().zip(milliamps).zip(phase);
    let mean = |part: fn(f64) -> f64| {
        let one = |((v, i), phase): ((&f64, f64), f64)| vec![0.0, 1e3 * v / i * part(phase)];
        let readings: Vec<Vec<f64>> = sets().map(one).collect();
        let fit = fit(Task::new(&Mean, &readings, vec![100.0])).unwrap();
        (fit.parameters[0], fit.standard_errors()[0])
    };
    let (resistance, reactance, impedance) = (mean(f64::cos), mean(f64::sin), mean(|_| 1.0));
    near(resistance.0, 127.732, 0.0005);
    near(resistance.1, 0.071, 0.0005);
    near(reactance.0, 219.847, 0.0005);
    near(reactance.1, 0.295, 0.0005);
    near(impedance.0, 254.260, 0.0005);
    near(impedance.1, 0.236, 0.0005);
}

/// y = a.
struct Mean;

impl Model for Mean {
    fn names(&self) -> Vec<String> {
        vec!["a".into()]
    }

    fn residual(&self, row: &[f64], p: &[f64]) -> f64 {
        row[1] - p[0]
    }
}

/// GUM table G.2, as printed to two decimals (memory).
#[test]
fn book_t_factors_from_memory() {
    for (degrees, printed) in [
        (1.0, 12.71),
        (2.0, 4.30),
        (5.0, 2.57),
        (10.0, 2.23),
        (50.0, 2.01),
        (f64::INFINITY, 1.96),
    ] {
        near(coverage_factor(0.95, degrees), printed, 0.005);
    }
    assert!(coverage_factor(0.95, 0.0).is_nan());
}

/// Pearson's data with York's weights (1966), errors in both; the exact line as later
/// papers print it (memory).
#[test]
fn book_york_line_with_errors_in_both_from_memory() {
    let x = [0.0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4];
    let y = [5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5];
    let wx = [
        1000.0, 1000.0, 500.0, 800.0, 200.0, 80.0, 60.0, 20.0, 1.8, 1.0,
    ];
    let wy = [1.0, 1.8, 4.0, 8.0, 20.0, 20.0, 70.0, 70.0, 100.0, 500.0_f64];
    let readings: Vec<Vec<f64>> = x.iter().zip(y).map(|(x, y)| vec![*x, y]).collect();
    let off = |(wx, wy): (&f64, f64)| vec![wx.powf(-0.5), wy.powf(-0.5)];
    let uncertain: Vec<Vec<f64>> = wx.iter().zip(wy).map(off).collect();
    let fit = fit_both(&Line, &readings, &uncertain, vec![5.0, -0.5]).unwrap();
    near(fit.parameters[0], 5.479_910_22, 1e-7);
    near(fit.parameters[1], -0.480_533_407, 1e-8);
    near(fit.reduced_chi_square(), 1.4833, 0.00005);
}

#[test]
fn law_slopes_written_down_and_by_differences_agree() {
    struct Plain;
    impl Model for Plain {
        fn names(&self) -> Vec<String> {
            Line.names()
        }
        fn residual(&self, row: &[f64], p: &[f64]) -> f64 {
            Line.residual(row, p)
        }
    }
    let readings = thermometer();
    let one = fit(Task::new(&Line, &readings, vec![0.0, 0.0])).unwrap();
    let other = fit(Task::new(&Plain, &readings, vec![0.0, 0.0])).unwrap();
    for (a, b) in one.standard_errors().iter().zip(other.standard_errors()) {
        near(b / a, 1.0, 1e-9);
    }
}

#[test]
fn a_fit_that_cannot_be_made_says_what_would_mend_it() {
    let readings = thermometer();
    let told = |task| fit(task).unwrap_err();
    let few = told(Task::new(&Line, &readings[..2], vec![0.0, 0.0]));
    assert_eq!(
        few.to_string(),
        "2 readings are too few for 2 unknowns: take at least 3"
    );
    let same = vec![vec![2.0, 1.0], vec![2.0, 1.1], vec![2.0, 0.9]];
    let error = told(Task::new(&Line, &same, vec![0.0, 0.0]));
    assert!(
        matches!(&error, FitError::CannotTell { parameters } if parameters == "a and b"),
        "{error}"
    );
    let holed = vec![vec![1.0, 1.0], vec![2.0, f64::NAN], vec![3.0, 0.9]];
    assert_eq!(
        told(Task::new(&Line, &holed, vec![0.0, 0.0])),
        FitError::NoNumber { reading: 2 }
    );
    let sigmas = Sigmas::Known(vec![1.0; 10]);
    let error = told(Task::new(&Line, &readings, vec![0.0, 0.0]).with_sigmas(sigmas));
    assert!(
        matches!(error, FitError::Sigma { reading: 11, .. }),
        "{error}"
    );
    let error = told(Task::new(&Line, &readings, vec![0.0]));
    assert_eq!(
        error,
        FitError::Start {
            given: 1,
            wanted: 2
        }
    );
}

/// The printed measured line, FL-U-09 of checks/data/measured_line.csv (seen): 200 ft of
/// 1.75 in hose loses 49 psi at 161 gpm, printed as C 9.5.
#[test]
fn book_measured_line_gives_its_printed_c() {
    let path = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../../checks/data/measured_line.csv"
    );
    let mut table = csv::Reader::from_path(path).unwrap();
    let heads = table.headers().unwrap().clone();
    let rows: Vec<csv::StringRecord> = table.records().map(Result::unwrap).collect();
    let row = rows.iter().find(|row| &row[0] == "FL-U-09").unwrap();
    let printed = |head: &str| -> f64 {
        let at = heads.iter().position(|h| h == head).unwrap();
        row[at].parse().unwrap()
    };
    let (flow, loss, length) = (
        printed("flow_gpm"),
        printed("loss_psi"),
        printed("length_ft"),
    );
    assert_eq!((flow, loss, length), (161.0, 49.0, 200.0));
    let law = HoseLoss::new(hose_gauges());
    let reading = hose_reading(1, flow, 50.0 + loss, 50.0, 0.0, length);
    let reduced = reduce(&law, &[reading]).unwrap();
    let c = HoseLoss::us(&reduced.estimates[0]);
    near(c.value, printed("expected"), printed("tolerance"));
    assert!(c.low < 9.5 && 9.5 < c.high);
    // One reading to the nearest psi and gpm: 0.41 psi of 49, and 2 x 0.29 gpm of 161.
    let by_hand = 9.45
        * f64::hypot(
            0.5_f64.sqrt() / 3.0_f64.sqrt() / 49.0,
            2.0 * 0.5 / 3.0_f64.sqrt() / 161.0,
        );
    near(c.standard, by_hand, 0.001);
    let book = c.beside(15.5);
    assert!(book.told_apart && book.share < -0.38);
    near(
        HoseLoss::metric(&reduced.estimates[0]).value,
        c.value * 24.6 / 15.5,
        0.1,
    );
}

#[test]
fn law_the_bad_reading_is_named() {
    let mut day = test_day(&mut noise(), 12);
    day[4].values[2] += psi(40.0).si();
    let law = HoseLoss::new(day_gauges());
    let reduced = reduce(&law, &day).unwrap();
    assert_eq!(reduced.suspect().unwrap().reading, "reading 5");
    assert!(reduced.scatter_chance.unwrap() < 0.05);
    let others = without(&law, &day, &reduced);
    assert_eq!(others.len(), 12);
    day.remove(4);
    let left = reduce(&law, &day).unwrap();
    assert_eq!(left.suspect(), None);
    near(others[4].parameters[0] / left.fit.parameters[0], 1.0, 1e-9);
    let sound = reduce(&law, &test_day(&mut noise(), 12)).unwrap();
    assert_eq!(sound.suspect(), None);
}

#[test]
fn law_a_gauge_that_is_off_by_all_it_may_be_moves_c_by_its_share_of_the_budget() {
    let mut gauges = hose_gauges();
    gauges[4].accuracy_share = 0.03;
    let day = test_day(&mut noise(), 8);
    let reduced = reduce(&HoseLoss::new(gauges), &day).unwrap();
    let c = &reduced.estimates[0];
    let tape = c
        .budget
        .contributions
        .iter()
        .find(|p| p.what == "accuracy of tape")
        .unwrap();
    // C goes with 1 / length.
    near(tape.standard / c.value, 0.03 / 3.0_f64.sqrt(), 0.0005);
}

#[test]
fn law_exponent_of_a_square_law_is_two() {
    let day = test_day(&mut noise(), 48);
    let reduced = reduce(&HoseLoss::new(day_gauges()).with_exponent(), &day).unwrap();
    let n = &reduced.estimates[1];
    assert!(n.low < 2.0 && 2.0 < n.high && n.standard < 0.2, "{n:?}");
}

#[test]
fn law_a_tip_gives_back_its_coefficient_and_a_nozzle_its_factor() {
    let bore: Length = parse(Kind::Size, "15/16 in").unwrap();
    let tip = SmoothBore::new(bore, Ratio::of_si(0.97)).unwrap();
    let at = |p: f64| (psi(p).si(), tip.factor().flow(psi(p)).si());
    let readings = pairs([30.0, 40.0, 50.0, 60.0, 70.0].map(at));
    let law = SmoothBoreTip::new(bore, pressure_then_flow()).unwrap();
    let reduced = reduce(&law, &readings).unwrap();
    near(reduced.estimates[0].value, 0.97, 1e-10);
    assert!(
        reduced.estimates[0].standard > 1e-4,
        "resolution stays in the budget"
    );

    let reduced = reduce(&FixedFactor::new(pressure_then_flow()), &readings).unwrap();
    let flow = FixedFactor::flow_at(&reduced.estimates[0], psi(50.0));
    near(flow.value, tip.factor().flow(psi(50.0)).si(), 1e-12);
}

fn ends(reduced: &Reduced) -> [f64; 4] {
    let of = |at: usize| reduced.estimates[at].value;
    [
        of(0) / gpm(1.0).si(),
        of(1) / psi(1.0).si(),
        of(2) / gpm(1.0).si(),
        of(3) / psi(1.0).si(),
    ]
}

fn automatic_day(swing: f64) -> Vec<Reading> {
    let rated: (VolumeRate, VolumeRate) = (gpm(70.0), gpm(200.0));
    let nozzle = Automatic::new(rated, (psi(94.0), psi(106.0))).unwrap();
    let mut noise = noise();
    let flows = [
        40.0, 50.0, 60.0, 80.0, 100.0, 120.0, 140.0, 160.0, 180.0, 210.0, 225.0, 240.0,
    ];
    pairs(flows.map(|flow| {
        let pressure = nozzle.pressure(gpm(flow)).pressure;
        (gpm(flow).si(), pressure.si() + swing * psi(noise()).si())
    }))
}

#[test]
fn law_an_automatic_nozzle_gives_back_its_range() {
    let law = AutomaticNozzle::new(flow_then_pressure());
    let reduced = reduce(&law, &automatic_day(0.0)).unwrap();
    for (found, true_end) in ends(&reduced).into_iter().zip([70.0, 94.0, 200.0, 106.0]) {
        near(found, true_end, 0.01);
    }
    let reduced = reduce(&law, &automatic_day(1.0)).unwrap();
    for (at, true_end) in [
        gpm(70.0).si(),
        psi(94.0).si(),
        gpm(200.0).si(),
        psi(106.0).si(),
    ]
    .into_iter()
    .enumerate()
    {
        let found = &reduced.estimates[at];
        assert!(
            (found.value - true_end).abs() < 4.0 * found.standard,
            "{found:?}"
        );
    }
    let pressures = [reduced.estimates[1].clone(), reduced.estimates[3].clone()];
    let judged = judge_automatic(&pressures, psi(100.0));
    assert!(
        judged.iter().all(|j| j.verdict == Verdict::Pass),
        "{judged:?}"
    );
    let judged = judge_automatic(&pressures, psi(75.0));
    assert!(
        judged.iter().all(|j| j.verdict == Verdict::Fail),
        "{judged:?}"
    );
}

#[test]
fn law_a_hydrant_gives_back_its_curve() {
    let test = hydraulics::hydrant::FlowTest::new(psi(70.0), psi(50.0), gpm(1000.0)).unwrap();
    let at = |flow: f64| (gpm(flow).si(), test.residual_at(gpm(flow)).si());
    let readings = pairs([0.0, 400.0, 700.0, 1000.0, 1200.0].map(at));
    let reduced = reduce(&HydrantCurve::new(flow_then_pressure()), &readings).unwrap();
    near(reduced.estimates[0].value / psi(1.0).si(), 70.0, 1e-6);
    near(
        reduced.estimates[1].value / gpm(1.0).si(),
        test.available(psi(20.0)).si() / gpm(1.0).si(),
        1e-4,
    );
}

#[test]
fn a_test_that_cannot_be_reduced_names_the_reading() {
    let law = HoseLoss::new(hose_gauges());
    let mut day = test_day(&mut noise(), 6);
    day[2].values[1] = f64::NAN;
    let error = reduce(&law, &day).unwrap_err();
    assert_eq!(
        error.to_string(),
        "reading 3: the pressure at the inlet is not a number"
    );
    day[2].values.pop();
    let error = reduce(&law, &day).unwrap_err();
    assert!(
        error
            .to_string()
            .starts_with("reading 3 has 4 figures where 5 are wanted: flow, "),
        "{error}"
    );
    let still = pairs([
        (0.0, psi(60.0).si()),
        (0.0, psi(61.0).si()),
        (0.0, psi(60.0).si()),
    ]);
    let error = reduce(&HydrantCurve::new(flow_then_pressure()), &still).unwrap_err();
    assert!(
        error.to_string().starts_with("these readings cannot tell"),
        "{error}"
    );
    let dead = pairs([
        (-psi(5.0).si(), gpm(50.0).si()),
        (psi(5.0).si(), gpm(50.0).si()),
    ]);
    let error = reduce(&FixedFactor::new(pressure_then_flow()), &dead).unwrap_err();
    assert!(
        error
            .to_string()
            .starts_with("reading 1 says nothing by this law"),
        "{error}"
    );
    let none = reduce(&law, &[]).unwrap_err();
    assert!(
        matches!(none, ReduceError::Fit(FitError::TooFew { readings: 0, .. })),
        "{none}"
    );
}

fn estimate(value: f64, scatter: f64, gauge: f64) -> Estimate {
    let at = |kind, standard, degrees| Contribution {
        kind,
        ..part(standard, degrees)
    };
    let contributions = vec![
        at(study::reduce::Kind::A, scatter, 10.0),
        at(study::reduce::Kind::B, gauge, f64::INFINITY),
    ];
    let budget = Budget { contributions };
    let off = budget.expanded(0.95);
    Estimate {
        name: "the flow".into(),
        value,
        standard: budget.standard(),
        degrees: budget.degrees(),
        low: value - off,
        high: value + off,
        budget,
    }
}

#[test]
fn a_verdict_says_pass_fail_or_what_would_settle_it() {
    let judged = |value, scatter, gauge| judge(&estimate(value, scatter, gauge), (100.0, 110.0));
    assert_eq!(judged(105.0, 1.0, 0.5).verdict, Verdict::Pass);
    assert_eq!(judged(105.0, 1.0, 0.5).settle, None);
    assert_eq!(judged(95.0, 1.0, 0.5).verdict, Verdict::Fail);
    let unsure = judged(102.0, 2.0, 0.2);
    assert_eq!(unsure.verdict, Verdict::NotProven);
    assert_eq!(unsure.settle, Some(Settle::MoreReadings { times: 4 }));
    assert_eq!(judged(102.0, 0.5, 2.0).settle, Some(Settle::BetterGauge));
    assert_eq!(judged(100.0, 1.0, 0.5).settle, Some(Settle::OnTheLimit));
    assert_eq!(
        unsure.words(),
        "the flow: not proven; 4 times as many readings would settle it"
    );
    assert_eq!(judged(105.0, 1.0, 0.5).words(), "the flow: pass");
    let flow = estimate(gpm(152.0).si(), gpm(0.2).si(), 0.0);
    assert_eq!(judge_rated_flow(&flow, gpm(150.0)).verdict, Verdict::Pass);
    assert_eq!(judge_rated_flow(&flow, gpm(155.0)).verdict, Verdict::Fail);
}

/// NIST StRD linear set NoInt1 (case PS-D33): a line through the origin, as loss over
/// the square of flow is.
#[test]
fn book_nist_noint1_through_the_origin() {
    struct Through;
    impl Model for Through {
        fn names(&self) -> Vec<String> {
            vec!["b".into()]
        }
        fn residual(&self, row: &[f64], p: &[f64]) -> f64 {
            row[1] - p[0] * row[0]
        }
    }
    let readings: Vec<Vec<f64>> = (0..=10)
        .map(|at| vec![60.0 + f64::from(at), 130.0 + f64::from(at)])
        .collect();
    let fit = fit(Task::new(&Through, &readings, vec![1.0])).unwrap();
    near(fit.parameters[0], 2.074_380_165_289_26, 1e-10);
    near(fit.standard_errors()[0], 0.016_528_925_619_834_7, 1e-10);
    near(fit.residual_deviation(), 3.567_530_340_063_38, 1e-9);
}

/// Loss that goes with flow to the power 1.5 is no square law, and fine gauges see it.
#[test]
fn law_a_law_that_does_not_fit_is_told_by_its_scatter() {
    let law = HoseLoss::new(hose_gauges());
    let at = |n: f64| {
        let reading = |at: i32| {
            let flow = 60.0 + 20.0 * f64::from(at);
            hose_reading(
                at as usize,
                flow,
                50.0 + 20.0 * (flow / 100.0).powf(n),
                50.0,
                0.0,
                200.0,
            )
        };
        let day: Vec<Reading> = (0..8).map(reading).collect();
        reduce(&law, &day).unwrap().scatter_chance.unwrap()
    };
    assert!(at(1.5) < 0.001);
    assert!(at(2.0) > 0.999);
}

proptest::proptest! {
    #![proptest_config(proptest::prelude::ProptestConfig {
        cases: 150,
        failure_persistence: None,
        ..Default::default()
    })]
    #[test]
    fn any_readings_are_reduced_or_refused(
        rows in proptest::collection::vec(proptest::array::uniform2(any_figure()), 0..9)
    ) {
        let day = pairs(rows.into_iter().map(|[a, b]| (a, b)));
        let _ = reduce(&FixedFactor::new(pressure_then_flow()), &day);
        let _ = reduce(&HydrantCurve::new(flow_then_pressure()), &day);
        let _ = reduce(&AutomaticNozzle::new(flow_then_pressure()), &day);
        let exact = [Gauge::exact("a"), Gauge::exact("b")];
        let _ = reduce(&AutomaticNozzle::new(exact), &day);
    }
}

fn any_figure() -> impl proptest::strategy::Strategy<Value = f64> {
    proptest::prop_oneof![
        4 => 0.0..1e6,
        1 => proptest::num::f64::ANY,
        1 => proptest::strategy::Just(0.0),
        1 => proptest::strategy::Just(1e300),
    ]
}
