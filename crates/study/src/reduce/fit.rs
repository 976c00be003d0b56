//! Weighted nonlinear least squares: a thin wrapper over `levenberg-marquardt`.
//!
//! Minimises the sum of (residual / sigma)^2 over the readings. The covariance of
//! the parameters is (J' W J)^-1, times s^2 unless the sigmas are known. Source of
//! the method: MINPACK (Moré, Garbow, Hillstrom, 1980); the tests check it against
//! the certified problems of NIST's Statistical Reference Datasets.

use super::model::{FitError, Model, Sigmas};
use super::polish::{descend, polish};
use super::spread::Parts;
use super::task::Task;
use levenberg_marquardt::{LeastSquaresProblem, LevenbergMarquardt, TerminationReason};
use nalgebra::storage::Owned;
use nalgebra::{DMatrix, DVector, Dyn};

/// Evaluations for each parameter before the search gives up.
const PATIENCE: usize = 2_000;

/// How far the first step may go, in lengths of the start values: MINPACK's usual bound,
/// then shorter ones for a start from which that oversteps.
const FIRST_STEPS: [f64; 3] = [100.0, 1.0, 0.1];

/// What stands for a residual that is no number on the way: so large that the step
/// which led there is taken back.
const NOWHERE: f64 = 1e100;

/// How a search stopped.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stopped {
    /// At the least sum of squares.
    Converged,
    /// After as many trials as it may make; the parameters are the best so far.
    OutOfPatience,
    /// Where no step would help, short of a proper bottom.
    Stuck,
}

/// What a fit found.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// The names of the parameters.
    pub names: Vec<String>,
    /// The parameters.
    pub parameters: Vec<f64>,
    /// Their covariance: variances on the diagonal.
    pub covariance: Vec<Vec<f64>>,
    /// Their covariance, were the sigmas known.
    pub unit_covariance: Vec<Vec<f64>>,
    /// Measured minus expected, reading by reading.
    pub residuals: Vec<f64>,
    /// The same, each divided by its sigma.
    pub weighted: Vec<f64>,
    /// How much each reading pulls the fit to itself, 0 to 1.
    pub leverages: Vec<f64>,
    /// The sum of the squares of [`Fit::weighted`].
    pub sum_of_squares: f64,
    /// Readings less parameters.
    pub degrees: usize,
    /// How the search stopped.
    pub stopped: Stopped,
    /// How often the readings were compared with the law.
    pub evaluations: usize,
}

impl Fit {
    /// The standard error of each parameter.
    pub fn standard_errors(&self) -> Vec<f64> {
        let variance = |(at, row): (usize, &Vec<f64>)| row.get(at).copied().unwrap_or(f64::NAN);
        self.covariance
            .iter()
            .enumerate()
            .map(variance)
            .map(f64::sqrt)
            .collect()
    }

    /// Sum of squares by degrees of freedom: near 1 where the sigmas are right and
    /// the law holds. Not a number when there are none to spare.
    pub fn reduced_chi_square(&self) -> f64 {
        self.sum_of_squares / self.degrees as f64
    }

    /// The residual standard deviation, in units of sigma (of the residual itself
    /// when all readings count alike).
    pub fn residual_deviation(&self) -> f64 {
        self.reduced_chi_square().sqrt()
    }
}

/// Makes the fit `task`.
///
/// # Errors
/// [`FitError`] says what is missing or cannot be told, and what would mend it.
///
/// ```
/// use study::reduce::{Model, Task, fit};
/// struct Square;
/// impl Model for Square {
///     fn names(&self) -> Vec<String> {
///         vec!["C".into()]
///     }
///     fn residual(&self, reading: &[f64], parameters: &[f64]) -> f64 {
///         match (reading, parameters) {
///             ([flow, loss], [c]) => loss - c * flow * flow,
///             _ => f64::NAN,
///         }
///     }
/// }
/// let readings = [vec![1.0, 2.1], vec![2.0, 7.9], vec![3.0, 18.1]];
/// let fit = fit(Task::new(&Square, &readings, vec![1.0]))?;
/// assert!((fit.parameters[0] - 2.0).abs() < 0.02);
/// assert_eq!(fit.degrees, 2);
/// # Ok::<(), study::reduce::FitError>(())
/// ```
pub fn fit<M: Model>(task: Task<M>) -> Result<Fit, FitError> {
    let names = task.model.names();
    task.check(&names)?;
    let mut first = None;
    for bound in FIRST_STEPS {
        let tried = search(&task, &names, bound);
        if matches!(&tried, Ok(fit) if fit.stopped == Stopped::Converged) {
            return tried;
        }
        first.get_or_insert(tried);
    }
    first.unwrap_or(Err(FitError::Start {
        given: 0,
        wanted: names.len(),
    }))
}

/// The same from a start that is near: straight to the bottom, and by search only where
/// that does not lead there.
pub(super) fn fit_near<M: Model>(task: Task<M>) -> Result<Fit, FitError> {
    let names = task.model.names();
    task.check(&names)?;
    let mut p = DVector::from_vec(task.start.clone());
    match polish(&task, &mut p, &names) {
        Ok(true) => found(&task, &p, names, Stopped::Converged, 1),
        _ => fit(task),
    }
}

/// The same straight to where the sum of squares falls by less than `nothing`, or not at
/// all: a search would take long where the readings hardly tell a parameter.
pub(super) fn fit_straight<M: Model>(task: Task<M>, nothing: f64) -> Result<Fit, FitError> {
    let names = task.model.names();
    task.check(&names)?;
    let mut p = DVector::from_vec(task.start.clone());
    match descend(&task, &mut p, &names, nothing)? {
        true => found(&task, &p, names, Stopped::Converged, 1),
        false => Err(FitError::CannotTell {
            parameters: names.join(" and "),
        }),
    }
}

/// One search, its first step no longer than `bound`.
fn search<M: Model>(task: &Task<M>, names: &[String], bound: f64) -> Result<Fit, FitError> {
    let search = Search {
        task,
        p: DVector::from_vec(task.start.clone()),
    };
    let (search, report) = LevenbergMarquardt::new()
        .with_patience(PATIENCE)
        .with_stepbound(bound)
        .minimize(search);
    let mut p = search.p;
    let settled = polish(task, &mut p, names)?;
    let stopped = match report.termination {
        _ if settled => Stopped::Converged,
        TerminationReason::LostPatience => Stopped::OutOfPatience,
        reason if reason.was_successful() => Stopped::Converged,
        _ => Stopped::Stuck,
    };
    found(
        task,
        &p,
        names.to_vec(),
        stopped,
        report.number_of_evaluations,
    )
}

fn found<M: Model>(
    task: &Task<M>,
    p: &DVector<f64>,
    names: Vec<String>,
    stopped: Stopped,
    evaluations: usize,
) -> Result<Fit, FitError> {
    let parts = Parts::of(task.weighted_slopes(p.as_slice()), &names)?;
    let weighted = task.weighted(p.as_slice());
    let degrees = task.readings.len() - names.len();
    let sum_of_squares = weighted.norm_squared();
    let times = match task.sigmas {
        Sigmas::Known(_) => 1.0,
        _ => sum_of_squares / degrees as f64,
    };
    let unit = parts.covariance();
    let rows = |table: &DMatrix<f64>| {
        let row = table.row_iter().map(|row| row.iter().copied().collect());
        row.collect::<Vec<Vec<f64>>>()
    };
    Ok(Fit {
        names,
        parameters: p.iter().copied().collect(),
        covariance: rows(&(&unit * times)),
        unit_covariance: rows(&unit),
        residuals: weighted
            .iter()
            .enumerate()
            .map(|(at, r)| r * task.sigma(at))
            .collect(),
        leverages: parts.leverages(),
        weighted: weighted.iter().copied().collect(),
        sum_of_squares,
        degrees,
        stopped,
        evaluations,
    })
}

/// The task as the library asks for it.
struct Search<'t, 'a, M> {
    task: &'t Task<'a, M>,
    p: DVector<f64>,
}

impl<M: Model> LeastSquaresProblem<f64, Dyn, Dyn> for Search<'_, '_, M> {
    type ParameterStorage = Owned<f64, Dyn>;
    type ResidualStorage = Owned<f64, Dyn>;
    type JacobianStorage = Owned<f64, Dyn, Dyn>;

    fn set_params(&mut self, p: &DVector<f64>) {
        self.p.copy_from(p);
    }

    fn params(&self) -> DVector<f64> {
        self.p.clone()
    }

    fn residuals(&self) -> Option<DVector<f64>> {
        let kept = |r: f64| {
            if r.is_finite() {
                r.clamp(-NOWHERE, NOWHERE)
            } else {
                NOWHERE
            }
        };
        Some(self.task.weighted(self.p.as_slice()).map(kept))
    }

    fn jacobian(&self) -> Option<DMatrix<f64>> {
        let slopes = self.task.weighted_slopes(self.p.as_slice());
        slopes
            .iter()
            .all(|slope| slope.is_finite())
            .then_some(slopes)
    }
}
