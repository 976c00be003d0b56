//! A hose's service test: a pressure held for a time.
//!
//! Pressures and time by the standard for the care of fire hose as quoted (cases LIM-01
//! to LIM-04, NFPA 1962, 2018, seen): check the edition in force, and never go above the
//! test pressure marked on the hose. A hose that leaks or bursts, or whose coupling
//! slips, fails whatever the gauge says.

use super::budget::{Budget, Contribution, Kind};
use super::estimate::Estimate;
use super::gauge::Gauge;
use super::verdict::{Judged, Settle, Verdict, judge};
use hydraulics::units::{Measure, Pressure};

/// Least service test pressure of attack hose, psi (LIM-01).
pub const ATTACK_TEST_PSI: f64 = 300.0;

/// Least service test pressure of supply hose, psi (LIM-02).
pub const SUPPLY_TEST_PSI: f64 = 200.0;

/// How long it is held, minutes (LIM-04).
pub const HOLD_MINUTES: f64 = 3.0;

/// A pressure read while it was held.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Held {
    /// What the gauge showed, Pa.
    pub pressure: f64,
    /// How long it had been held, s.
    pub time: f64,
}

/// What a service test requires.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ServiceTest {
    /// The least pressure.
    pub pressure: Pressure,
    /// For how long, s.
    pub time: f64,
}

/// The lowest of the `held` pressures, and the longest time, by what is `required`:
/// first the pressure, then the time. Nothing where nothing was read. A pressure that was
/// held for less than the time proves nothing, and fails nothing.
pub fn judge_service_test(
    held: &[Held],
    gauge: &Gauge,
    clock: &Gauge,
    required: ServiceTest,
) -> Vec<Judged> {
    let lowest = held.iter().map(|h| h.pressure).min_by(f64::total_cmp);
    let longest = held.iter().map(|h| h.time).max_by(f64::total_cmp);
    let (Some(lowest), Some(longest)) = (lowest, longest) else {
        return Vec::new();
    };
    let pressure = read("the lowest pressure held", lowest, gauge);
    let time = read("the time held", longest, clock);
    vec![
        judge_pressure(&pressure, required.pressure),
        judge_time(&time, required.time),
    ]
}

fn judge_pressure(pressure: &Estimate, least: Pressure) -> Judged {
    let judged = judge(pressure, (least.si(), f64::INFINITY));
    let reading = least.si() + (pressure.value - pressure.low);
    Judged {
        settle: judged.settle.map(|_| Settle::HoldAt { reading }),
        ..judged
    }
}

fn judge_time(time: &Estimate, least: f64) -> Judged {
    let judged = judge(time, (least, f64::INFINITY));
    let seconds = least + (time.value - time.low);
    match judged.verdict {
        Verdict::Pass => judged,
        _ => Judged {
            verdict: Verdict::NotProven,
            settle: Some(Settle::HoldFor { seconds }),
            ..judged
        },
    }
}

/// One figure read from a gauge.
fn read(name: &str, value: f64, gauge: &Gauge) -> Estimate {
    let part = |what: String, standard: f64| Contribution {
        what,
        kind: Kind::B,
        standard,
        degrees: f64::INFINITY,
    };
    let contributions = vec![
        part("resolution and swing of the gauges".into(), gauge.random()),
        part(format!("accuracy of {}", gauge.name), gauge.shared(value)),
    ];
    Estimate::of(name, value, Budget { contributions })
}
