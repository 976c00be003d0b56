//! Handline's reduction of test days beside lmfit and scipy on the same readings and the
//! same effective variances.
#![allow(clippy::unwrap_used, clippy::panic)]

use super::{apart, none_of};
use checks::data;
use hydraulics::units::{Kind, Length, gpm, parse};
use serde::Deserialize;
use study::reduce::{
    AutomaticNozzle, FixedFactor, Gauge, HoseLoss, HydrantCurve, Law, PumpCapability,
    SmoothBoreTip, fit_both,
};

/// A test day of the peer.
#[derive(Deserialize)]
struct Day {
    id: String,
    law: String,
    /// What each column may be off by from reading to reading.
    sigmas: Vec<f64>,
    readings: Vec<Vec<f64>>,
    parameters: Vec<f64>,
    standard_errors: Vec<f64>,
    sum_of_squares: f64,
}

fn law(name: &str) -> Box<dyn Law> {
    let gauge = || Gauge::exact("gauge");
    let two = || [gauge(), gauge()];
    let three = || [gauge(), gauge(), gauge()];
    match name {
        "hose" => Box::new(HoseLoss::new([gauge(), gauge(), gauge(), gauge(), gauge()])),
        "tip" => {
            let bore: Length = parse(Kind::Size, "15/16 in").unwrap();
            Box::new(SmoothBoreTip::new(bore, two()).unwrap())
        }
        "fixed" => Box::new(FixedFactor::new(two())),
        "hydrant" => Box::new(HydrantCurve::new(two())),
        "automatic" => Box::new(AutomaticNozzle::new(two())),
        "pump" => Box::new(PumpCapability::rated(gpm(1000.0), three()).unwrap()),
        other => panic!("no law {other}"),
    }
}

#[test]
fn peer_test_days_as_lmfit_and_scipy() {
    let text = std::fs::read_to_string(data().join("peer_test_days.json")).unwrap();
    let days: Vec<Day> = serde_json::from_str(&text).unwrap();
    assert_eq!(days.len(), 48);
    let mut misses = Vec::new();
    for day in &days {
        let law = law(&day.law);
        let uncertain = vec![day.sigmas.clone(); day.readings.len()];
        let start = law.start(&day.readings);
        let fit = fit_both(&law, &day.readings, &uncertain, start).unwrap();
        let mut compare = |what: &str, ours: &[f64], peers: &[f64], least: f64| {
            assert_eq!(ours.len(), peers.len(), "{}", day.id);
            for (at, (ours, peer)) in ours.iter().zip(peers).enumerate() {
                if apart(*ours, *peer) > least {
                    misses.push(format!("{} {what} {at}: {ours}, peer {peer}", day.id));
                }
            }
        };
        compare("parameter", &fit.parameters, &day.parameters, 1e-6);
        compare(
            "standard error",
            &fit.standard_errors(),
            &day.standard_errors,
            1e-3,
        );
        compare(
            "sum of squares",
            &[fit.sum_of_squares],
            &[day.sum_of_squares],
            1e-6,
        );
    }
    none_of(misses, days.len());
}
