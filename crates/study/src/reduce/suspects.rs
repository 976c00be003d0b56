//! Which gauge is wrong: the tests of a day share gauges, and a gauge that is off by more
//! than its certificate says does not agree with the others in any of them.
//!
//! All tests are fitted together (`joint`), once for each gauge with an error of its own
//! that nothing holds: an offset, or a share of the reading. The error is compared with
//! what the readings' scatter and the gauge's accuracy allow, by Student's t, which for
//! one error is the F test of the drop in the sum of squares; the chance is that of the
//! worst of so many gauges (Bonferroni).
//!
//! One step from the fit of all tells nearly as much as a fit with the error free: only
//! what that step leaves in doubt is fitted.

use super::budget::{LEVEL, coverage_factor};
use super::gauge::{Column, Gauge};
use super::joint::{Free, GaugeError, Joint, Together};
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
    /// Its standard uncertainty.
    pub standard: f64,
    /// What a sound gauge may be off by: one standard uncertainty.
    pub sound: f64,
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

/// What one step shows of an error, as a share of what makes it a suspect, for it to be
/// looked at more closely.
const CLOSER: f64 = 0.5;

/// The gauges that do not agree with the others in `tests`, each a law and its readings;
/// columns with one gauge name are one gauge. The chance that sound gauges look like that
/// is below `level`.
///
/// Two gauges that are only ever read against one another (inlet and outlet of a hose)
/// come as one suspect: swap them for one more test, or give both a [`GaugeCheck`], to
/// tell which. A test that cannot be reduced takes no part, and a gauge without a name or
/// of which nobody told the accuracy is never suspected.
pub fn gauge_suspects(tests: &[(&dyn Law, &[Reading])], level: f64) -> Vec<GaugeSuspect> {
    let mut joint = Joint::of(tests);
    // What a wrong gauge makes of a swing that nobody told would hide it.
    if !joint.finds_swing() && joint.settle().is_err() {
        return Vec::new();
    }
    let gauges = joint.gauges();
    let mut left = gauges.clone();
    let mut found = Vec::new();
    let mut search = Search {
        joint,
        gauges: gauges.len() as f64,
        level,
    };
    while let Some((suspect, joint)) = search.worst(&left) {
        left.retain(|gauge| suspect.gauges.iter().all(|off| off.gauge != *gauge));
        search.joint = joint;
        found.push(suspect);
    }
    found
}

/// What each of `wrong`, a gauge and how it is off, is off by, all of them being off by
/// anything and no other by more than its accuracy has it. Where it is not told how, a
/// pressure gauge is off by the same everywhere and a flow meter by a share. Nothing of a
/// gauge that no test was read from.
pub fn gauge_errors(
    tests: &[(&dyn Law, &[Reading])],
    wrong: &[(String, Option<GaugeError>)],
) -> Vec<OffGauge> {
    let mut joint = Joint::of(tests);
    for (gauge, error) in wrong {
        let error = error.unwrap_or_else(|| joint.plain(gauge));
        if let Some(free) = joint.free(gauge, error) {
            joint = joint.with(&free);
        }
    }
    let Ok(together) = joint.settle() else {
        return Vec::new();
    };
    let free = joint.freed().iter().enumerate();
    free.filter_map(|(at, free)| off(&joint, &together, at, free))
        .collect()
}

/// What the free error `at` of `joint` is.
fn off(joint: &Joint, together: &Together, at: usize, free: &Free) -> Option<OffGauge> {
    let fit = &together.fit;
    let at = fit.parameters.len() - joint.freed().len() + at;
    let value = fit.parameters.get(at)? * free.unit;
    let standard = fit.covariance.get(at)?.get(at)?.sqrt() * free.unit;
    let reach = coverage_factor(LEVEL, degrees(joint, together)) * standard;
    // A tenth of what is read is a ninth of what it should be.
    let of_truth = |value: f64| match free.error {
        GaugeError::Offset => value,
        GaugeError::Share => value / (1.0 - value),
    };
    let is_told = free.error == GaugeError::Offset || value + reach < 1.0;
    is_told.then(|| OffGauge {
        gauge: free.gauge.clone(),
        error: free.error,
        value: of_truth(value),
        low: of_truth(value - reach),
        high: of_truth(value + reach),
        standard: standard * of_truth(value) / value,
        sound: joint.accuracy(free),
    })
}

/// Degrees of freedom of what the readings scatter by; infinite where it is told.
fn degrees(joint: &Joint, together: &Together) -> f64 {
    match joint.finds_swing() {
        true => together.fit.degrees.saturating_sub(joint.freed().len()) as f64,
        false => f64::INFINITY,
    }
}

/// A gauge tried as the wrong one.
struct Tried<'a> {
    joint: Joint<'a>,
    plain: bool,
    off: OffGauge,
    chance: f64,
    deviance: f64,
}

/// The day as far as it is explained.
struct Search<'a> {
    joint: Joint<'a>,
    /// How many gauges there are.
    gauges: f64,
    level: f64,
}

impl<'a> Search<'a> {
    /// The gauge that agrees least with the others, if it is off by more than chance has
    /// it, and the day with its error free.
    fn worst(&self, left: &[String]) -> Option<(GaugeSuspect, Joint<'a>)> {
        let both =
            |gauge: &String| [GaugeError::Offset, GaugeError::Share].map(|e| (gauge.clone(), e));
        let mut tried: Vec<Tried<'a>> = left
            .iter()
            .flat_map(both)
            .filter_map(|(gauge, error)| self.tried(&self.joint.free(&gauge, error)?))
            .filter(|tried| tried.chance < self.level)
            .collect();
        tried.sort_by(|a, b| a.deviance.total_cmp(&b.deviance));
        let least = tried.first()?;
        let (chance, limit) = (least.chance, least.deviance + AS_GOOD);
        tried.retain(|tried| tried.deviance < limit);
        // Of one gauge the plain error, where it explains as much; of all, plain ones first.
        tried.sort_by_key(|tried| !tried.plain);
        let mut kept: Vec<OffGauge> = Vec::new();
        for tried in &tried {
            if kept.iter().all(|kept| kept.gauge != tried.off.gauge) {
                kept.push(tried.off.clone());
            }
        }
        let first = tried.into_iter().next()?;
        let suspect = GaugeSuspect {
            gauges: kept,
            chance,
        };
        Some((suspect, first.joint))
    }

    fn tried(&self, free: &Free) -> Option<Tried<'a>> {
        let mut joint = self.joint.with(free);
        if !joint.finds_swing() {
            let [value, standard] = joint.glimpse()?;
            let away = (value / standard.hypot(joint.accuracy(free))).abs();
            let needed = Normal::standard().inverse_cdf(1.0 - 0.5 * self.level / self.gauges);
            if away < CLOSER * needed {
                return None;
            }
        }
        let together = joint.settle().ok()?;
        let off = off(&joint, &together, joint.freed().len() - 1, free)?;
        let away = (off.value / off.standard.hypot(off.sound)).abs();
        let one = match degrees(&joint, &together) {
            degrees if degrees.is_finite() => StudentsT::new(0.0, 1.0, degrees).ok()?.sf(away),
            _ => Normal::standard().sf(away),
        };
        away.is_finite().then(|| Tried {
            plain: joint.plain(&free.gauge) == free.error,
            off,
            chance: (2.0 * one * self.gauges).min(1.0),
            deviance: together.deviance,
            joint,
        })
    }
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
                what: "flow by the meter",
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
