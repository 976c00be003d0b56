//! One way for every reduction: fit with gauge errors in all columns, budget,
//! interval, diagnosis.

use super::both::fit_swinging;
use super::diagnose::{Diagnosis, diagnose, scatter_chance};
use super::estimate::Estimate;
use super::fit::Fit;
use super::law::{Law, Reading, ReduceError, check, gauge_off, gauges, gauges_tell, random, start};
use super::model::FitError;
use super::profile::reaches;
use super::repeats::{lack_of_fit, repeats};
use super::sources::{Sources, estimate};
use super::swing::fit_and_swing;

/// What the parameters would be without one reading.
#[derive(Debug, Clone, PartialEq)]
pub struct Without {
    /// The reading left out.
    pub reading: String,
    /// The parameters without it.
    pub parameters: Vec<f64>,
}

/// A test, reduced.
#[derive(Debug, Clone, PartialEq)]
pub struct Reduced {
    /// A value for each parameter of the law.
    pub estimates: Vec<Estimate>,
    /// The fit.
    pub fit: Fit,
    /// Each reading, as the others see it.
    pub diagnoses: Vec<Diagnosis>,
    /// How likely such scatter is from the gauges' resolution and swing alone; none
    /// where those are not known.
    pub scatter_chance: Option<f64>,
    /// How likely such a departure from the law is from the scatter of repeats alone;
    /// none without repeats. See [`lack_of_fit`].
    pub lack_of_fit: Option<f64>,
    /// What the residuals scatter by beyond the gauges' resolution, one standard
    /// deviation in the unit of the residual; nought where a gauge tells its swing, or
    /// where resolution explains the scatter.
    pub swing: f64,
    /// What makes the parameters uncertain, for [`Reduced::of`].
    pub sources: Sources,
}

impl Reduced {
    /// The reading that stands out most, if one does.
    pub fn suspect(&self) -> Option<&Diagnosis> {
        let out = self.diagnoses.iter().filter(|d| d.stands_out());
        out.min_by(|a, b| a.chance.total_cmp(&b.chance))
    }

    /// A value that follows from the parameters, with its uncertainty: what makes them
    /// uncertain goes through `value`.
    pub fn of(&self, name: &str, value: impl Fn(&[f64]) -> f64) -> Estimate {
        estimate(&self.fit, &self.sources, name, value)
    }

    /// What `law`, the one that was reduced, expects of its responses at `reading`, with
    /// the 95 % interval of the fitted curve there: its band. The responses in `reading`
    /// are not looked at. A hose gives its loss, a tip its flow, an automatic nozzle and a
    /// hydrant their pressure, a pump its net pressure.
    pub fn expected<L: Law>(&self, law: &L, reading: &[f64]) -> Estimate {
        let mut row = reading.to_vec();
        for response in law.responses() {
            if let Some(value) = row.get_mut(response) {
                *value = 0.0;
            }
        }
        self.of("the fitted curve", |p| -law.residual(&row, p))
    }
}

/// Reduces `readings` by `law`.
///
/// # Errors
/// [`ReduceError`] names the reading, the figure and what would mend it.
pub fn reduce<L: Law>(law: &L, readings: &[Reading]) -> Result<Reduced, ReduceError> {
    check(law, readings)?;
    let named = |error: FitError| match error {
        FitError::NoNumber { reading } => match readings.get(reading.wrapping_sub(1)) {
            Some(found) => ReduceError::OutsideTheLaw {
                reading: found.name.clone(),
            },
            None => ReduceError::Fit(error),
        },
        other => ReduceError::Fit(other),
    };
    let rows: Vec<Vec<f64>> = readings.iter().map(|r| r.values.clone()).collect();
    let names: Vec<String> = readings.iter().map(|r| r.name.clone()).collect();
    let swung = fit_and_swing(law, &rows, start(law, &rows)?).map_err(named)?;
    let fit = swung.fit;
    let known = gauges_tell(law);
    let sources = Sources {
        gauges_tell: known,
        off: off(law, &rows, &fit, swung.swing).map_err(named)?,
    };
    Ok(Reduced {
        estimates: estimates(law, &rows, &fit, &sources),
        diagnoses: diagnose(&fit, &names),
        scatter_chance: scatter_chance(&swung.by_gauges).filter(|_| known),
        lack_of_fit: lack_of_fit(&fit, &repeats(law, &rows)),
        swing: swung.swing,
        fit,
        sources,
    })
}

fn estimates<L: Law>(law: &L, rows: &[Vec<f64>], fit: &Fit, sources: &Sources) -> Vec<Estimate> {
    let value = |at: usize| move |p: &[f64]| p.get(at).copied().unwrap_or(f64::NAN);
    let named = fit.names.iter().enumerate();
    let straight = named.map(|(at, name)| estimate(fit, sources, name, value(at)));
    if !law.has_corners() || fit.degrees == 0 {
        return straight.collect();
    }
    let reaches = reaches(law, rows, fit);
    let both = straight.zip(reaches);
    both.map(|(estimate, reach)| estimate.reaching(reach))
        .collect()
}

/// What the parameters would be, were each gauge off by its own uncertainty in all its
/// readings at once.
fn off<L: Law>(
    law: &L,
    rows: &[Vec<f64>],
    found: &Fit,
    swing: f64,
) -> Result<Vec<(String, Vec<f64>)>, FitError> {
    let mut all = Vec::new();
    for gauge in gauges(law.columns()) {
        let off = gauge_off(law, rows, &gauge);
        if off != rows {
            let shifted = fit_law(law, &off, found.parameters.clone(), swing)?;
            all.push((gauge, shifted.parameters));
        }
    }
    Ok(all)
}

/// The fit of `law` with gauge errors in all columns and a swing that is known.
fn fit_law<L: Law>(
    law: &L,
    rows: &[Vec<f64>],
    start: Vec<f64>,
    swing: f64,
) -> Result<Fit, FitError> {
    fit_swinging(law, rows, &random(law, rows), start, swing)
}

/// What the parameters would be without each reading; a reading that cannot be spared
/// is passed over.
pub fn without<L: Law>(law: &L, readings: &[Reading], reduced: &Reduced) -> Vec<Without> {
    let rows: Vec<Vec<f64>> = readings.iter().map(|r| r.values.clone()).collect();
    let left = |(at, reading): (usize, &Reading)| {
        let start = reduced.fit.parameters.clone();
        let others = fit_and_swing(law, &but(&rows, at), start).ok()?;
        Some(Without {
            reading: reading.name.clone(),
            parameters: others.fit.parameters,
        })
    };
    readings.iter().enumerate().filter_map(left).collect()
}

fn but<T: Clone>(all: &[T], left_out: usize) -> Vec<T> {
    let kept = |(at, item): (usize, &T)| (at != left_out).then(|| item.clone());
    all.iter().enumerate().filter_map(kept).collect()
}
