//! What the drawing of a fit is made of.

use super::case::Axes;
use super::found::{Drawn, DrawnPoint};
use super::reduction::Reduction;
use crate::reduce::coverage_factor;

/// Steps of a curve.
const STEPS: usize = 60;

pub(super) fn drawn(
    reduction: &Reduction,
    axes: &Axes,
    numbers: &[u32],
    own: Option<&[f64]>,
) -> Drawn {
    let row = |x: f64| {
        let mut row = axes.row.clone();
        if let Some(value) = row.get_mut(axes.column) {
            *value = axes.by_pitot.map_or(x, |per| (x / per).powi(2));
        }
        row
    };
    let along = |values: &[f64]| {
        let read = values.get(axes.column).copied().unwrap_or_default();
        axes.by_pitot.map_or(read, |per| per * read.max(0.0).sqrt())
    };
    let law = &reduction.law;
    let rows = reduction.rows.iter().zip(&reduction.reduced.fit.residuals);
    let rows = rows.zip(numbers).zip(&reduction.reduced.diagnoses);
    let points = rows.map(|(((reading, residual), number), seen)| {
        let x = along(&reading.values);
        let (expected, _) = reduction.expected(&row(x));
        let bar = |columns: &[usize]| {
            let squares = columns.iter().filter_map(|at| {
                let (column, value) = (law.columns().get(*at)?, reading.values.get(*at)?);
                let gauge = &column.gauge;
                Some(gauge.random().powi(2) + gauge.shared(*value).powi(2))
            });
            coverage_factor(0.95, f64::INFINITY) * squares.sum::<f64>().sqrt()
        };
        let along = match axes.by_pitot {
            // Half the share, as flow goes with the root of pressure.
            Some(per) if x > 0.0 => bar(&[axes.column]) * per * per / (2.0 * x),
            Some(_) => 0.0,
            None => bar(&[axes.column]),
        };
        DrawnPoint {
            point: *number,
            x: [x, along],
            y: [expected + residual, bar(&axes.up)],
            residual: *residual,
            stands_out: seen.stands_out(),
        }
    });
    let points: Vec<DrawnPoint> = points.collect();
    let most = points.iter().map(|p| p.x[0]).fold(0.0, f64::max);
    let end = (most * 1.05).max(axes.from);
    let step = |at: usize| axes.from + (end - axes.from) * at as f64 / STEPS as f64;
    let fit = (0..=STEPS).map(step).map(|x| {
        let (y, half) = reduction.expected(&row(x));
        [x, y, y - half, y + half]
    });
    let own = own.map_or(Vec::new(), |p| {
        let at = |x: f64| [x, -law.residual(&row(x), p)];
        (0..=STEPS).map(step).map(at).collect()
    });
    Drawn {
        x: axes.x,
        y: axes.y,
        points,
        fit: fit.filter(|f| f.iter().all(|v| v.is_finite())).collect(),
        book: own
            .into_iter()
            .filter(|p| p.iter().all(|v| v.is_finite()))
            .collect(),
    }
}
