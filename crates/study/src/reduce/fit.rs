//! Weighted nonlinear least squares: a thin wrapper over `levenberg-marquardt`.
//!
//! Minimises the sum of (residual / sigma)^2 over the readings. The covariance of
//! the parameters is (J' W J)^-1, times s^2 unless the sigmas are known. Source of
//! the method: MINPACK (Moré, Garbow, Hillstrom, 1980); the tests check it against
//! the certified problems of NIST's Statistical Reference Datasets.

use super::polish::polish;
use super::slopes::slopes;
use super::spread::Parts;
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

/// A law with parameters, and how far readings are from it.
pub trait Model {
    /// What its parameters are called in messages.
    fn names(&self) -> Vec<String>;

    /// Measured minus expected, for one row of numbers. Anything that is no number
    /// means that the law says nothing there.
    fn residual(&self, reading: &[f64], parameters: &[f64]) -> f64;

    /// The slope of the residual in each parameter, where it can be written down;
    /// otherwise differences are taken.
    fn slopes(&self, _reading: &[f64], _parameters: &[f64]) -> Option<Vec<f64>> {
        None
    }
}

/// What is known of how far each reading may be off.
#[derive(Debug, Clone, PartialEq, Default)]
pub enum Sigmas {
    /// Nothing: all readings count alike, and their scatter tells.
    #[default]
    Unknown,
    /// Their proportions; their scatter tells the rest.
    Relative(Vec<f64>),
    /// The standard uncertainty of each residual.
    Known(Vec<f64>),
}

/// Why readings give no parameters.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum FitError {
    /// Too few readings.
    #[error("{readings} readings are too few for {parameters} unknowns: take at least {needed}")]
    TooFew {
        /// How many there are.
        readings: usize,
        /// How many parameters are wanted.
        parameters: usize,
        /// How many readings are needed.
        needed: usize,
    },
    /// A model without parameters, or start values of the wrong number.
    #[error("{given} start values were given where {wanted} are wanted")]
    Start {
        /// How many were given.
        given: usize,
        /// How many parameters there are.
        wanted: usize,
    },
    /// A reading for which the law gives no number.
    #[error(
        "reading {reading} gives no number by this law at the start values: check it for a missing figure, a zero or a wrong sign"
    )]
    NoNumber {
        /// Which reading, counted from 1.
        reading: usize,
    },
    /// A standard uncertainty that is not above zero.
    #[error("the uncertainty of reading {reading} is {sigma}: it must be above zero")]
    Sigma {
        /// Which reading, counted from 1; one past the last where one is missing.
        reading: usize,
        /// What was given.
        sigma: f64,
    },
    /// Parameters that the readings do not tell, or do not tell apart.
    #[error(
        "these readings cannot tell {parameters}: take readings further apart, or fix one of them"
    )]
    CannotTell {
        /// Their names.
        parameters: String,
    },
}

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

/// A fit to be made.
#[derive(Debug, Clone)]
pub struct Task<'a, M> {
    /// The law.
    pub model: &'a M,
    /// A row for each reading.
    pub readings: &'a [Vec<f64>],
    /// How far each may be off.
    pub sigmas: Sigmas,
    /// Where the search starts.
    pub start: Vec<f64>,
    /// The size that each parameter may be expected to have: it sets the step of
    /// differences where a parameter comes near zero.
    pub scales: Vec<f64>,
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
    /// The standard error of each parameter, were the sigmas known.
    pub by_sigmas: Vec<f64>,
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

impl<'a, M: Model> Task<'a, M> {
    /// The fit of `model` to `readings` from `start`, all readings counting alike.
    pub fn new(model: &'a M, readings: &'a [Vec<f64>], start: Vec<f64>) -> Self {
        let scale = |p: &f64| if *p == 0.0 { 1.0 } else { p.abs() };
        Task {
            model,
            readings,
            sigmas: Sigmas::Unknown,
            scales: start.iter().map(scale).collect(),
            start,
        }
    }

    /// The same, the readings being off by `sigmas`.
    pub fn with_sigmas(self, sigmas: Sigmas) -> Self {
        Task { sigmas, ..self }
    }

    fn sigma(&self, reading: usize) -> f64 {
        match &self.sigmas {
            Sigmas::Unknown => 1.0,
            Sigmas::Relative(given) | Sigmas::Known(given) => {
                given.get(reading).copied().unwrap_or(f64::NAN)
            }
        }
    }

    pub(super) fn weighted(&self, p: &[f64]) -> DVector<f64> {
        let one =
            |(at, reading): (usize, &Vec<f64>)| self.model.residual(reading, p) / self.sigma(at);
        DVector::from_iterator(
            self.readings.len(),
            self.readings.iter().enumerate().map(one),
        )
    }

    pub(super) fn weighted_slopes(&self, p: &[f64]) -> DMatrix<f64> {
        let mut table = slopes(self.model, self.readings, p, &self.scales);
        for (at, mut row) in table.row_iter_mut().enumerate() {
            row /= self.sigma(at);
        }
        table
    }

    fn check(&self, names: &[String]) -> Result<(), FitError> {
        let (readings, parameters) = (self.readings.len(), names.len());
        let given = self.start.len().min(self.scales.len());
        if given != parameters || parameters == 0 {
            return Err(FitError::Start {
                given,
                wanted: parameters,
            });
        }
        let needed = parameters + usize::from(!matches!(self.sigmas, Sigmas::Known(_)));
        if readings < needed {
            return Err(FitError::TooFew {
                readings,
                parameters,
                needed,
            });
        }
        for at in 0..readings {
            let sigma = self.sigma(at);
            if !(sigma > 0.0 && sigma.is_finite()) {
                return Err(FitError::Sigma {
                    reading: at + 1,
                    sigma,
                });
            }
        }
        match self
            .weighted(&self.start)
            .iter()
            .position(|r| !r.is_finite())
        {
            Some(at) => Err(FitError::NoNumber { reading: at + 1 }),
            None => Ok(()),
        }
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
    let by_sigmas = unit
        .diagonal()
        .iter()
        .map(|variance| variance.sqrt())
        .collect();
    let covariance = unit * times;
    Ok(Fit {
        names,
        parameters: p.iter().copied().collect(),
        covariance: covariance
            .row_iter()
            .map(|row| row.iter().copied().collect())
            .collect(),
        residuals: weighted
            .iter()
            .enumerate()
            .map(|(at, r)| r * task.sigma(at))
            .collect(),
        leverages: parts.leverages(),
        by_sigmas,
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
