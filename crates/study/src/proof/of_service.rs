//! The service test of a hose: a pressure held for a time.

use super::case::Case;
use super::figures::figure;
use super::found::{Bound, Found, Measured};
use super::model::Place;
use super::verdicts::bound;
use crate::reduce;
use crate::reduce::{Budget, Contribution, Estimate, judge};
use hydraulics::units::{Kind, Measure};

/// A hose is tested at this times the highest pressure it is used at.
pub(super) const ABOVE_USE: f64 = 1.1;

/// For how long, s.
pub(super) const HOLD: f64 = 60.0 * reduce::HOLD_MINUTES;

/// Where both come from.
const SOURCE: &str = "service test of hose, 110 % of the highest pressure it is used at (memory), \
                      held for 3 minutes (case LIM-04, NFPA 1962, seen): check the edition in \
                      force, and never go above the test pressure marked on the hose";

/// What was held and for how long, judged by the hose's service pressure.
pub(super) fn results(case: &Case<'_>, hose: &str) -> (Vec<Found>, Vec<Bound>) {
    let gauge = case.gauge(Place::Held);
    let values = |place: Place| -> Vec<f64> {
        let points = case.points.iter();
        points.filter_map(|p| case.value(p, place)).collect()
    };
    // The least that was held, and the time in all.
    let held = values(Place::Held)
        .into_iter()
        .fold(f64::INFINITY, f64::min);
    let minutes = values(Place::Minutes).into_iter().fold(0.0, f64::max);
    if !held.is_finite() {
        return (Vec::new(), Vec::new());
    }
    let part = |what: &str, standard: f64| Contribution {
        what: format!("{what} of {}", gauge.name),
        kind: reduce::Kind::B,
        standard,
        degrees: f64::INFINITY,
    };
    let budget = Budget {
        contributions: vec![
            part("accuracy", gauge.shared(held)),
            part("resolution and swing", gauge.random()),
        ],
    };
    let pressure = estimate("the pressure held", held, budget);
    let time = estimate("the time held", minutes, Budget::default());
    let item = case.book.hose(hose).map(|found| found.item);
    let service = item.and_then(|item| item.service_pressure.as_ref());
    let required = service.map(|p| ABOVE_USE * p.get().si());
    let mut bounds = Vec::new();
    if let Some(required) = required {
        let judged = judge(&pressure, (required, f64::INFINITY));
        bounds.push(bound(&judged, &pressure, Kind::Pressure, SOURCE));
    }
    let judged = judge(&time, (HOLD, f64::INFINITY));
    bounds.push(bound(&judged, &time, Kind::Time, SOURCE));
    let in_pressure = |v: f64| Measured::Figure(figure(Kind::Pressure, v));
    let in_time = |v: f64| Measured::Figure(figure(Kind::Time, v));
    let list = vec![
        super::figures::found(&pressure.name, &pressure, in_pressure, None, ""),
        super::figures::found(&time.name, &time, in_time, None, ""),
    ];
    (list, bounds)
}

fn estimate(name: &str, value: f64, budget: Budget) -> Estimate {
    let off = match budget.standard() > 0.0 {
        true => budget.expanded(reduce::LEVEL),
        false => 0.0,
    };
    Estimate {
        name: name.into(),
        value,
        standard: budget.standard(),
        degrees: budget.degrees(),
        low: value - off,
        high: value + off,
        budget,
    }
}
