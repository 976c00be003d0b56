//! How well readings tell parameters: the covariance of a fit.

use super::model::FitError;
use nalgebra::{DMatrix, DVector, SVD};

/// Least ratio of singular values, columns scaled to length one: below it the
/// parameters cannot be told apart (slopes by differences are good to 1e-12).
const LEAST_RATIO: f64 = 1e-10;

/// The slopes of weighted residuals, taken apart.
pub(super) struct Parts {
    /// Length of each column.
    lengths: DVector<f64>,
    u: DMatrix<f64>,
    v_t: DMatrix<f64>,
    singular: DVector<f64>,
}

impl Parts {
    /// Takes `slopes` apart.
    ///
    /// # Errors
    /// [`FitError::CannotTell`] names the parameters that the readings cannot tell.
    pub(super) fn of(mut slopes: DMatrix<f64>, names: &[String]) -> Result<Self, FitError> {
        let cannot = |which: Vec<String>| FitError::CannotTell {
            parameters: which.join(" and "),
        };
        let lengths = DVector::from_iterator(
            slopes.ncols(),
            slopes.column_iter().map(|column| column.norm()),
        );
        let dead = |(length, name): (&f64, &String)| {
            (*length == 0.0 || !length.is_finite()).then(|| name.clone())
        };
        let dead: Vec<String> = lengths.iter().zip(names).filter_map(dead).collect();
        if !dead.is_empty() {
            return Err(cannot(dead));
        }
        for (mut column, length) in slopes.column_iter_mut().zip(&lengths) {
            column /= *length;
        }
        let svd = SVD::try_new(slopes, true, true, 5.0 * f64::EPSILON, 10_000);
        let Some((svd, Some(u), Some(v_t))) = svd.map(|mut svd| {
            let (u, v_t) = (svd.u.take(), svd.v_t.take());
            (svd, u, v_t)
        }) else {
            return Err(cannot(names.to_vec()));
        };
        let parts = Parts {
            lengths,
            u,
            v_t,
            singular: svd.singular_values,
        };
        match parts.muddled(names) {
            muddled if muddled.is_empty() => Ok(parts),
            muddled => Err(cannot(muddled)),
        }
    }

    /// The parameters that move together without moving the readings.
    fn muddled(&self, names: &[String]) -> Vec<String> {
        let most = self.singular.max();
        let (least_at, least) = self.singular.argmin();
        if least > LEAST_RATIO * most {
            return Vec::new();
        }
        let direction = self.v_t.row(least_at);
        let largest = direction.amax();
        let takes_part =
            |(share, name): (&f64, &String)| (share.abs() > 0.1 * largest).then(|| name.clone());
        direction.iter().zip(names).filter_map(takes_part).collect()
    }

    /// The step that takes the weighted `residuals` to their least squares, were the
    /// model straight.
    pub(super) fn step(&self, residuals: &DVector<f64>) -> DVector<f64> {
        let along = (self.u.transpose() * residuals).component_div(&self.singular);
        -(self.v_t.transpose() * along).component_div(&self.lengths)
    }

    /// (J' W J)^-1.
    pub(super) fn covariance(&self) -> DMatrix<f64> {
        let count = self.lengths.len();
        let half = DMatrix::from_fn(count, count, |parameter, which| {
            self.v_t[(which, parameter)] / self.singular[which] / self.lengths[parameter]
        });
        &half * half.transpose()
    }

    /// How much each reading pulls the fit to itself, 0 to 1.
    pub(super) fn leverages(&self) -> Vec<f64> {
        self.u
            .row_iter()
            .map(|row| row.norm_squared().min(1.0))
            .collect()
    }
}
