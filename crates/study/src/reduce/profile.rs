//! How far each parameter may go before the fit gets too bad: for a law with corners,
//! where the curve of the sum of squares is not the parabola that a covariance stands
//! for (profile likelihood; Bates and Watts, Nonlinear Regression Analysis, chapter 6;
//! from memory).

use super::both::sigma;
use super::budget::{LEVEL, coverage_factor};
use super::fit::{Fit, fit_near};
use super::law::{Law, random};
use super::model::{Model, Sigmas};
use super::task::Task;

/// Most tries for one end.
const TRIES: usize = 8;

/// What each parameter may be off by from scatter alone, below and above, in standard
/// uncertainties; that of the covariance where the fit cannot be made on that side.
pub(super) fn reaches<L: Law>(law: &L, rows: &[Vec<f64>], found: &Fit) -> Vec<[f64; 2]> {
    let spread = found.standard_errors();
    let straight = || spread.iter().map(|s| [*s, *s]).collect::<Vec<_>>();
    // The weights stay: they are not what is asked about.
    let Some(profile) = Profile::of(law, rows, found) else {
        return straight();
    };
    let one = |(which, spread): (usize, &f64)| {
        [-1.0, 1.0].map(|side| profile.reach(which, side * spread).unwrap_or(*spread))
    };
    spread.iter().enumerate().map(one).collect()
}

struct Profile<'a, L> {
    law: &'a L,
    rows: &'a [Vec<f64>],
    sigmas: Vec<f64>,
    found: &'a Fit,
    /// The least sum of squares with these weights, and the variance by it.
    least: f64,
    variance: f64,
}

impl<'a, L: Law> Profile<'a, L> {
    fn of(law: &'a L, rows: &'a [Vec<f64>], found: &'a Fit) -> Option<Self> {
        let p = &found.parameters;
        let uncertain = random(law, rows);
        let known = rows.iter().zip(&uncertain);
        // What a residual was divided by, swing and all.
        let sigmas: Vec<f64> = found
            .residuals
            .iter()
            .zip(&found.weighted)
            .zip(known)
            .map(|((residual, weighted), (row, uncertain))| match *weighted {
                0.0 => sigma(law, row, uncertain, p),
                weighted => residual / weighted,
            })
            .collect();
        let task = Task::new(law, rows, p.clone()).with_sigmas(Sigmas::Known(sigmas.clone()));
        let least = fit_near(task).ok()?.sum_of_squares;
        let variance = least / found.degrees as f64;
        (variance > 0.0).then_some(Profile {
            law,
            rows,
            sigmas,
            found,
            least,
            variance,
        })
    }

    /// What parameter `which` may be off by on the side of `spread`, its standard error
    /// with a sign.
    fn reach(&self, which: usize, spread: f64) -> Option<f64> {
        let wanted = coverage_factor(LEVEL, self.found.degrees as f64);
        let mut away = wanted;
        for _ in 0..TRIES {
            let worse = self.worse(which, away * spread)?;
            let next = away * (wanted / worse).clamp(0.4, 2.5);
            if (worse / wanted - 1.0).abs() < 0.02 {
                return Some(next * spread.abs() / wanted);
            }
            away = next;
        }
        None
    }

    /// How much worse the fit is with parameter `which` held `away` from where it is, in
    /// standard deviations.
    fn worse(&self, which: usize, away: f64) -> Option<f64> {
        let p = &self.found.parameters;
        let value = p.get(which)? + away;
        let row = self.found.covariance.get(which)?;
        let variance = row.get(which)?;
        // The others go along as the covariance says.
        let along = p.iter().zip(row).enumerate();
        let start =
            |(at, (p, c)): (usize, (&f64, &f64))| (at != which).then(|| p + c / variance * away);
        let held = Held {
            law: self.law,
            which,
            value,
        };
        let task = |start: Vec<f64>| {
            let task = Task::new(&held, self.rows, start);
            fit_near(task.with_sigmas(Sigmas::Known(self.sigmas.clone()))).ok()
        };
        let others = |(at, p): (usize, &f64)| (at != which).then_some(*p);
        let fitted = task(along.filter_map(start).collect())
            .or_else(|| task(p.iter().enumerate().filter_map(others).collect()))?;
        let above = (fitted.sum_of_squares - self.least).max(0.0);
        Some((above / self.variance).sqrt())
    }
}

/// A law with one parameter held.
struct Held<'a, L> {
    law: &'a L,
    which: usize,
    value: f64,
}

impl<L: Law> Model for Held<'_, L> {
    fn names(&self) -> Vec<String> {
        let names = self.law.names().into_iter().enumerate();
        let others = names.filter(|(at, _)| *at != self.which);
        others.map(|(_, name)| name).collect()
    }

    fn residual(&self, reading: &[f64], others: &[f64]) -> f64 {
        let mut p = others.to_vec();
        p.insert(self.which.min(others.len()), self.value);
        self.law.residual(reading, &p)
    }
}
