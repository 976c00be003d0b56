//! From an even number between 0 and 1 to a value: the quantile function of a spread.

use super::model::Spread;
use statrs::function::erf::{erfc, erfc_inv};
use std::f64::consts::{FRAC_1_SQRT_2, SQRT_2};

/// The chance that a standard normal value stays below `z`.
fn below(z: f64) -> f64 {
    0.5 * erfc(-z * FRAC_1_SQRT_2)
}

/// A spread made ready to be drawn from often.
#[derive(Debug, Clone, Copy)]
pub(super) struct Ready {
    spread: Spread,
    /// The chances below the two ends of a normal distribution.
    ends: (f64, f64),
}

impl Ready {
    pub(super) fn new(spread: Spread) -> Self {
        let ends = match spread {
            Spread::Normal {
                mean,
                sd,
                low,
                high,
            } if sd > 0.0 => (below((low - mean) / sd), below((high - mean) / sd)),
            _ => (0.0, 1.0),
        };
        Ready { spread, ends }
    }

    pub(super) fn at(&self, u: f64) -> f64 {
        match self.spread {
            Spread::Exact(value) => value,
            Spread::Even(low, high) => low + u * (high - low),
            Spread::Normal {
                mean,
                sd,
                low,
                high,
            } => match sd > 0.0 && low < high {
                true => {
                    let chance = self.ends.0 + u * (self.ends.1 - self.ends.0);
                    let z = -SQRT_2 * erfc_inv(2.0 * chance);
                    (mean + sd * z).clamp(low, high)
                }
                false => mean,
            },
            Spread::Triangle(low, mode, high) => triangle((low, mode, high), u),
            Spread::Sometimes(chance, most) => match chance > 0.0 && u > 1.0 - chance {
                true => most * (u - (1.0 - chance)) / chance,
                false => 0.0,
            },
        }
    }
}

fn triangle((low, mode, high): (f64, f64, f64), u: f64) -> f64 {
    let width = high - low;
    if width <= 0.0 {
        return low;
    }
    let left = (mode - low) / width;
    match u < left {
        true => low + (u * width * (mode - low)).sqrt(),
        false => high - ((1.0 - u) * width * (high - mode)).sqrt(),
    }
}

impl Spread {
    /// The value that a share `u` (0 to 1) of all values stay below.
    ///
    /// ```
    /// use study::doubt::Spread;
    /// assert_eq!(Spread::Even(2.0, 4.0).quantile(0.25), 2.5);
    /// // Half of a triangle's values lie below its peak when it stands in the middle.
    /// assert_eq!(Spread::Triangle(7.0, 10.0, 13.0).quantile(0.5), 10.0);
    /// ```
    pub fn quantile(&self, u: f64) -> f64 {
        Ready::new(*self).at(u.clamp(0.0, 1.0))
    }

    /// Is there only one value that it can have?
    ///
    /// ```
    /// assert!(study::doubt::Spread::Even(3.0, 3.0).is_exact());
    /// ```
    pub fn is_exact(&self) -> bool {
        match *self {
            Spread::Exact(_) => true,
            Spread::Even(low, high) => low >= high,
            Spread::Normal { sd, low, high, .. } => sd <= 0.0 || low >= high,
            Spread::Triangle(low, _, high) => low >= high,
            Spread::Sometimes(chance, most) => chance <= 0.0 || most == 0.0,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn book_normal_quantiles() {
        // Printed in every table of the normal distribution: 1.6449 at 95 %, 1.9600 at
        // 97.5 % (JCGM 100:2008, table G.1: 1.645, 1.960).
        let wide = Spread::Normal {
            mean: 0.0,
            sd: 1.0,
            low: -40.0,
            high: 40.0,
        };
        for (chance, z) in [(0.5, 0.0), (0.95, 1.6449), (0.975, 1.9600), (0.05, -1.6449)] {
            assert!((wide.quantile(chance) - z).abs() < 5e-5, "{chance}");
        }
    }

    #[test]
    fn law_a_kink_comes_as_often_as_its_chance() {
        let kink = Spread::Sometimes(0.25, 0.4);
        assert_eq!(kink.quantile(0.75), 0.0);
        assert!((kink.quantile(0.875) - 0.2).abs() < 1e-15);
        assert_eq!(kink.quantile(1.0), 0.4);
        assert_eq!(Spread::Sometimes(0.0, 0.4).quantile(1.0), 0.0);
    }

    proptest! {
        #[test]
        fn law_a_quantile_never_falls_and_keeps_its_ends(
            mean in -5.0..5.0f64, sd in 0.0..3.0f64, a in 0.0..3.0f64, b in 0.0..3.0f64,
            mode in 0.0..1.0f64, chance in 0.0..1.0f64, u in 0.0..1.0f64, v in 0.0..1.0f64,
        ) {
            let (low, high) = (mean - a, mean + b);
            let (u, v) = (u.min(v), u.max(v));
            let spreads = [
                Spread::Exact(mean),
                Spread::Even(low, high),
                Spread::Normal { mean, sd, low, high },
                Spread::Triangle(low, low + mode * (high - low), high),
            ];
            for spread in spreads {
                let (p, q) = (spread.quantile(u), spread.quantile(v));
                prop_assert!(p <= q + 1e-12, "{spread:?} {u} {v}: {p} {q}");
                prop_assert!(p >= low - 1e-12 && q <= high + 1e-12, "{spread:?}");
            }
            let kink = Spread::Sometimes(chance, 0.5);
            prop_assert!(kink.quantile(u) <= kink.quantile(v));
        }
    }
}
