//! Which gauge does not agree with the others of the day, in words and figures.
//!
//! The tests are fitted together ([`gauge_suspects`]): every gauge is off by nought give
//! or take its stated accuracy, but one. An error that a law's parameter takes up leaves
//! no trace: a flow meter's share goes into C and K. A reading with the water shut off
//! tells most: both gauges must then agree.

use super::figures::figure;
use super::found::Suspect;
use super::gauges::Corrected;
use super::reduction::Reduction;
use crate::reduce::{
    GaugeError, GaugeSuspect, Law, OffGauge, Reading, gauge_errors, gauge_suspects,
};
use hydraulics::units::Kind;

/// Chance below which a gauge is named.
const LEVEL: f64 = 0.01;

/// How many times worse than its accuracy an error may be known, to be corrected.
const KNOWN: f64 = 3.0;

/// The tests of a day that tell of their gauges.
pub(super) struct Gauges<'a> {
    tests: Vec<(&'a dyn Law, &'a [Reading])>,
    found: Vec<GaugeSuspect>,
}

impl<'a> Gauges<'a> {
    /// The gauges of a day, as its `reductions` see them.
    pub fn of(reductions: &[&'a Reduction]) -> Self {
        // A law with corners takes up by its parameters what a gauge is off by.
        let smooth = reductions.iter().filter(|r| !r.law.has_corners());
        let test = |r: &&'a Reduction| (r.law.as_ref() as &dyn Law, r.rows.as_slice());
        let tests: Vec<_> = smooth.map(test).collect();
        Gauges {
            found: gauge_suspects(&tests, LEVEL),
            tests,
        }
    }

    /// The gauges that do not agree with the others, the surest first.
    pub fn suspects(&self) -> Vec<Suspect> {
        let one = |found: &GaugeSuspect| {
            let first = found.gauges.first()?;
            let gauges: Vec<String> = found.gauges.iter().map(|off| off.gauge.clone()).collect();
            Some(Suspect {
                off: self.shown(first),
                chance: found.chance,
                words: words(first, &gauges),
                gauges,
            })
        };
        self.found.iter().filter_map(one).collect()
    }

    /// What each of `names` is off by, all of them off by anything.
    pub fn corrections(&self, names: &[String]) -> Vec<Corrected> {
        if names.is_empty() {
            return Vec::new();
        }
        let how = |name: &String| {
            let mut all = self.found.iter().flat_map(|found| &found.gauges);
            let found = all.find(|off| off.gauge == *name);
            (name.clone(), found.map(|off| off.error))
        };
        let wrong: Vec<_> = names.iter().map(how).collect();
        let known = |off: &OffGauge| off.sound > 0.0 && off.standard < KNOWN * off.sound;
        let errors = gauge_errors(&self.tests, &wrong).into_iter();
        let correction = |off: OffGauge| Corrected {
            gauge: off.gauge,
            error: off.error,
            off: off.value,
            standard: off.standard,
        };
        errors.filter(known).map(correction).collect()
    }

    /// What `off` makes of the mean of what was read, with the ends of its interval.
    fn shown(&self, off: &OffGauge) -> [crate::figure::Figure; 3] {
        let read: Vec<(Kind, f64)> = self.read(&off.gauge);
        let kind = read.first().map_or(Kind::Pressure, |(kind, _)| *kind);
        let size = match off.error {
            GaugeError::Offset => 1.0,
            GaugeError::Share => {
                read.iter().map(|(_, v)| v.abs()).sum::<f64>() / read.len().max(1) as f64
            }
        };
        [off.value, off.low, off.high].map(|v| figure(kind, v * size))
    }

    /// All that was read from `gauge`.
    fn read(&self, gauge: &str) -> Vec<(Kind, f64)> {
        let mut read = Vec::new();
        for (law, rows) in &self.tests {
            for (at, column) in law.columns().iter().enumerate() {
                if column.gauge.name == gauge {
                    let kind = match column.is_flow() {
                        true => Kind::Flow,
                        false => Kind::Pressure,
                    };
                    let values = rows.iter().filter_map(|row| row.values.get(at));
                    read.extend(values.map(|value| (kind, *value)));
                }
            }
        }
        read
    }
}

fn words(first: &OffGauge, gauges: &[String]) -> String {
    let direction = match first.value > 0.0 {
        true => "reads too high",
        false => "reads too low",
    };
    let share = match first.error {
        GaugeError::Offset => String::new(),
        GaugeError::Share => format!(", by {:.1} % of its reading", 100.0 * first.value.abs()),
    };
    match gauges {
        [one] => format!(
            "{one} {direction}{share}: it does not agree with the other gauges of the day. What \
             was read with it is not to be used before it has been calibrated, or corrected by \
             what it is off"
        ),
        several => format!(
            "one of {} is off, and these readings do not tell which: with the water shut off, \
             read them side by side with a third gauge",
            several.join(", ")
        ),
    }
}
