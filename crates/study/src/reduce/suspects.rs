//! Which gauge is wrong: the tests of a day share gauges, and a gauge that is off by more
//! than its certificate says does not agree with the others in any of them.
//!
//! All tests are fitted together (`joint`), once for each gauge with an error of its own
//! that nothing holds: an offset, or a share of the reading. The error is compared with
//! what the readings' scatter and the gauge's accuracy allow, by Student's t, which for
//! one error is the F test of the drop in the sum of squares; the chance is that of the
//! worst of so many gauges (Bonferroni).

use super::budget::{LEVEL, coverage_factor};
use super::gauge::{Column, Gauge};
use super::joint::{Free, GaugeError, Joint};
use super::law::{Law, Reading};
use super::model::Model;
use statrs::distribution::{ContinuousCDF, Normal, StudentsT};

/// A gauge as the tests see it.
#[derive(Debug, Clone, PartialEq)]
pub struct OffGauge {
    /// The gauge, by its name.
    pub gauge: String,
    /// How it is off.
    pub error: GaugeError,
    /// What it reads above the truth: SI, or the share of its reading. Below zero it
    /// reads low.
    pub value: f64,
    /// Lower end of the 95 % interval.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// Gauges of which one does not agree with the others.
#[derive(Debug, Clone, PartialEq)]
pub struct GaugeSuspect {
    /// What each of them would be off by, were it the one; the likeliest first. One
    /// where the readings tell them apart.
    pub gauges: Vec<OffGauge>,
    /// How likely the worst of so many sound gauges looks like that.
    pub chance: f64,
}

/// What chi-square may differ by between two explanations that are as good: 95 %, one
/// degree of freedom.
const AS_GOOD: f64 = 3.841;

/// The gauges that do not agree with the others in `tests`, each a law and its readings;
/// columns with one gauge name are one gauge. Two gauges that are only ever read against
/// one another (inlet and outlet of a hose) come as one suspect: swap them for one more
/// test, or give both a [`GaugeCheck`], to tell which. A test that cannot be reduced
/// takes no part, and a gauge without a name or taken as exact is never suspected.
pub fn gauge_suspects(tests: &[(&dyn Law, &[Reading])]) -> Vec<GaugeSuspect> {
    let mut joint = Joint::of(tests);
    let gauges = joint.gauges();
    let mut left = gauges.clone();
    let mut found = Vec::new();
    while let Some((suspect, free)) = worst(&joint, &left, gauges.len()) {
        left.retain(|gauge| suspect.gauges.iter().all(|off| off.gauge != *gauge));
        joint = joint.with(&free);
        found.push(suspect);
    }
    found
}

/// A gauge tried as the wrong one.
struct Tried<'a> {
    free: Free,
    off: OffGauge,
    chance: f64,
    /// The error in standard deviations of what sound gauges would show.
    away: f64,
    joint: Joint<'a>,
}

/// The gauge that agrees least with the others, if it is off by more than chance has it.
fn worst(joint: &Joint, left: &[String], of: usize) -> Option<(GaugeSuspect, Free)> {
    let both = |gauge: &String| [GaugeError::Offset, GaugeError::Share].map(|e| (gauge.clone(), e));
    let all = left.iter().flat_map(both);
    let mut tried: Vec<Tried> = all
        .filter_map(|(gauge, error)| tried(joint, joint.free(&gauge, error)?, of))
        .filter(|tried| tried.chance < 1.0 - LEVEL)
        .collect();
    tried.sort_by(|a, b| b.away.total_cmp(&a.away));
    let (best, others) = tried.split_first()?;
    let mut gauges = vec![best.off.clone()];
    let squares = best.joint.fit().ok()?.squares;
    for other in others {
        if gauges.iter().any(|off| off.gauge == other.off.gauge) {
            continue;
        }
        // By the swings of the best, so that like is compared with like.
        let instead = best.joint.instead(&other.free);
        if instead
            .fit()
            .is_ok_and(|fit| fit.squares < squares + AS_GOOD)
        {
            gauges.push(other.off.clone());
        }
    }
    let chance = best.chance;
    Some((GaugeSuspect { gauges, chance }, best.free.clone()))
}

fn tried<'a>(joint: &Joint<'a>, free: Free, of: usize) -> Option<Tried<'a>> {
    let mut joint = joint.with(&free);
    let together = joint.settle().ok()?;
    let value = together.fit.parameters.last()? * free.unit;
    let variance = *together.fit.covariance.last()?.last()?;
    let standard = variance.sqrt() * free.unit;
    let away = (value / standard.hypot(joint.accuracy(&free))).abs();
    let degrees = together.fit.degrees as f64;
    let one = match joint.finds_swing() {
        true => 2.0 * StudentsT::new(0.0, 1.0, degrees).ok()?.sf(away),
        false => 2.0 * Normal::standard().sf(away),
    };
    let reach = match joint.finds_swing() {
        true => coverage_factor(LEVEL, degrees) * standard,
        false => coverage_factor(LEVEL, f64::INFINITY) * standard,
    };
    away.is_finite().then(|| Tried {
        off: OffGauge {
            gauge: free.gauge.clone(),
            error: free.error,
            value,
            low: value - reach,
            high: value + reach,
        },
        free,
        chance: (one * of as f64).min(1.0),
        away,
        joint,
    })
}

/// A gauge beside a pressure or flow that is known: open to the air, or beside a gauge
/// of a laboratory. No parameter; it takes part in [`gauge_suspects`] and tells gauges
/// apart that are else only read against one another.
#[derive(Debug, Clone, PartialEq)]
pub struct GaugeCheck {
    columns: [Column; 2],
}

impl GaugeCheck {
    /// `gauge` beside what is known as well as `known` says. A reading is what the gauge
    /// shows and what is known: nought, where it is open to the air.
    pub fn new(gauge: Gauge, known: Gauge) -> Self {
        let columns = [
            Column {
                what: "what the gauge shows",
                gauge,
            },
            Column {
                what: "what is known",
                gauge: known,
            },
        ];
        GaugeCheck { columns }
    }

    /// A flow meter beside a flow that is known, or that a pitot gives on a tip whose
    /// coefficient is known ([`ByPitot`](super::ByPitot)).
    pub fn flow(meter: Gauge, known: Gauge) -> Self {
        let columns = [
            Column {
                what: "what the meter shows",
                gauge: meter,
            },
            Column {
                what: "flow",
                gauge: known,
            },
        ];
        GaugeCheck { columns }
    }
}

impl Model for GaugeCheck {
    fn names(&self) -> Vec<String> {
        Vec::new()
    }

    fn residual(&self, reading: &[f64], _: &[f64]) -> f64 {
        match reading {
            [shown, known] => shown - known,
            _ => f64::NAN,
        }
    }
}

impl Law for GaugeCheck {
    fn columns(&self) -> &[Column] {
        &self.columns
    }

    fn start(&self, _: &[Vec<f64>]) -> Vec<f64> {
        Vec::new()
    }

    fn responses(&self) -> Vec<usize> {
        vec![0]
    }
}
