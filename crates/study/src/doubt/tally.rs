//! What is kept of the days: counts, sums and moments, nothing for each day.

use super::model::Histogram;
use hdrhistogram::Histogram as Counts;

/// 95 % of a normal distribution lie within so many standard deviations.
pub(super) const Z95: f64 = 1.959_963_984_540_054;

/// Moments of a row of values, that can be put together (Chan, Golub and LeVeque 1979).
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct Moments {
    pub count: f64,
    pub mean: f64,
    /// Sum of the squares about the mean.
    pub squares: f64,
}

impl Moments {
    pub(super) fn add(&mut self, value: f64) {
        self.count += 1.0;
        let off = value - self.mean;
        self.mean += off / self.count;
        self.squares += off * (value - self.mean);
    }

    pub(super) fn merge(&mut self, other: &Moments) {
        let count = self.count + other.count;
        if other.count == 0.0 {
            return;
        }
        let off = other.mean - self.mean;
        self.mean += off * other.count / count;
        self.squares += other.squares + off * off * self.count * other.count / count;
        self.count = count;
    }

    /// Standard deviation, of a sample.
    pub(super) fn sd(&self) -> f64 {
        match self.count > 1.0 {
            true => (self.squares.max(0.0) / (self.count - 1.0)).sqrt(),
            false => 0.0,
        }
    }
}

/// Figures of a counted value that are kept: a quantile is off by at most one
/// ten-thousandth of itself, and half a step.
const FIGURES: u8 = 4;

/// The most steps that a value can have; larger ones count as this.
const MOST_STEPS: u64 = 100_000_000;

/// Bins of the histogram that is drawn.
const BINS: usize = 40;

/// Values of one measure over the days.
pub(super) struct Counted {
    pub moments: Moments,
    counts: Option<Counts<u64>>,
    /// The value of one step.
    step: f64,
}

impl Counted {
    /// `step` is the finest difference that counts, in SI.
    pub(super) fn new(step: f64) -> Self {
        Counted {
            moments: Moments::default(),
            counts: Counts::new_with_max(MOST_STEPS, FIGURES).ok(),
            step,
        }
    }

    /// Counts `value`, zero or more. The moments come by the chunk.
    pub(super) fn count(&mut self, value: f64) {
        let steps = (value / self.step).round().clamp(0.0, MOST_STEPS as f64);
        if let Some(counts) = &mut self.counts {
            counts.saturating_record(steps as u64);
        }
    }

    /// The value that a share `u` of the days stay below.
    pub(super) fn quantile(&self, u: f64) -> f64 {
        let Some(counts) = &self.counts else {
            return self.moments.mean;
        };
        if counts.is_empty() {
            return 0.0;
        }
        counts.median_equivalent(counts.value_at_quantile(u)) as f64 * self.step
    }

    /// Bins of equal width from the lowest value to the highest.
    pub(super) fn histogram(&self) -> Histogram {
        let Some(counts) = self.counts.as_ref().filter(|counts| !counts.is_empty()) else {
            return Histogram::default();
        };
        let (low, high) = (counts.min(), counts.max().max(counts.min() + 1));
        let width = (high - low) as f64 / BINS as f64;
        let mut bins = vec![0; BINS];
        for value in counts.iter_recorded() {
            let steps = counts.median_equivalent(value.value_iterated_to());
            let at = ((steps.clamp(low, high) - low) as f64 / width) as usize;
            if let Some(bin) = bins.get_mut(at.min(BINS - 1)) {
                *bin += value.count_at_value();
            }
        }
        Histogram {
            low: low as f64 * self.step,
            high: high as f64 * self.step,
            counts: bins,
        }
    }
}

/// A share of days, and half of its 95 % interval: the farther end of Wilson's interval
/// (1927), so that a limit that never failed is not said to be certain.
///
/// ```
/// let (share, half) = study::doubt::half_of_chance(9_500, 10_000);
/// assert!((share - 0.95).abs() < 1e-12 && (half - 0.0045).abs() < 2e-4);
/// // Never failed in 100 days: it may still fail on some.
/// assert!(study::doubt::half_of_chance(100, 100).1 > 0.03);
/// ```
pub fn half_of_chance(held: u64, days: u64) -> (f64, f64) {
    if days == 0 {
        return (0.0, 1.0);
    }
    let (n, p) = (days as f64, held as f64 / days as f64);
    let z2 = Z95 * Z95 / n;
    let middle = (p + 0.5 * z2) / (1.0 + z2);
    let half = (z2 * (p * (1.0 - p) + 0.25 * z2)).sqrt() / (1.0 + z2);
    (p, half + (middle - p).abs())
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn law_moments_do_not_care_how_they_are_put_together(
            values in prop::collection::vec(-1e3..1e3f64, 1..60), cut in 0usize..60,
        ) {
            let of = |values: &[f64]| {
                let mut moments = Moments::default();
                values.iter().for_each(|v| moments.add(*v));
                moments
            };
            let (first, second) = values.split_at(cut.min(values.len()));
            let mut both = of(first);
            both.merge(&of(second));
            let whole = of(&values);
            prop_assert!((both.mean - whole.mean).abs() < 1e-9);
            prop_assert!((both.squares - whole.squares).abs() < 1e-6 * (1.0 + whole.squares));
        }
    }

    #[test]
    fn law_quantiles_lie_within_a_ten_thousandth() {
        let mut counted = Counted::new(1e-8);
        for at in 0..10_000 {
            counted.count(0.005 + 1e-6 * f64::from(at));
        }
        for share in [0.05, 0.5, 0.95] {
            let true_value = 0.005 + 0.01 * share;
            let miss = (counted.quantile(share) / true_value - 1.0).abs();
            assert!(miss < 3e-4, "{share}: {miss}");
        }
        let histogram = counted.histogram();
        assert_eq!(histogram.counts.iter().sum::<u64>(), 10_000);
        assert!(
            histogram
                .counts
                .iter()
                .all(|count| (240..=260).contains(count))
        );
    }

    #[test]
    fn a_value_that_never_changes_has_one_bin() {
        let mut counted = Counted::new(1e-8);
        (0..10).for_each(|_| counted.count(0.01));
        let histogram = counted.histogram();
        assert_eq!(histogram.counts.iter().sum::<u64>(), 10);
        assert!(histogram.low < histogram.high);
    }
}
