//! By how much a value is moved at a press, and how it is written.

use hydraulics::units::{Kind, System, decimal};

/// A small and a large step in the reader's unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Step {
    pub small: f64,
    pub large: f64,
    /// Decimals of both, and of values.
    pub decimals: usize,
}

impl Step {
    /// The steps of a scale whose own step is `si`, in SI; without one, usual steps of
    /// `kind`.
    pub fn of(kind: Kind, si: Option<f64>, system: System) -> Self {
        let own = si.map(|si| nearest(kind.unit(system).from_si(si)));
        let small = own.unwrap_or_else(|| usual(kind, system));
        let exponent = small.log10().floor();
        let first = small / 10f64.powf(exponent);
        // 1 goes with 10, 2 with 10, 5 with 25.
        let large = if first < 1.5 { 10.0 } else { 5.0 } * small;
        let mut decimals = 0;
        while decimals < 4 && is_between(small * 10f64.powi(decimals)) {
            decimals += 1;
        }
        Step {
            small,
            large,
            decimals: usize::try_from(decimals).unwrap_or(0),
        }
    }

    /// A value of SI as it stands in the field.
    pub fn write(&self, kind: Kind, si: f64, system: System) -> String {
        decimal(kind.unit(system).from_si(si), self.decimals)
    }

    /// The nearest value that the scale has, in SI.
    pub fn on_scale(&self, kind: Kind, si: f64, system: System) -> f64 {
        let unit = kind.unit(system);
        let steps = (unit.from_si(si) / self.small).round();
        unit.to_si(steps * self.small)
    }
}

/// Does it have a part behind the point?
fn is_between(value: f64) -> bool {
    (value - value.round()).abs() > 1e-6
}

fn usual(kind: Kind, system: System) -> f64 {
    match (kind, system) {
        (Kind::Pressure, System::Si) | (Kind::Length, System::Si) => 0.1,
        (Kind::Flow, System::Si) => 10.0,
        (Kind::Time, _) => 0.5,
        _ => 1.0,
    }
}

/// A step as scales have it: 1, 2, 2.5 or 5 with its noughts. A gauge in psi read in bar
/// has no such step; the nearest is taken.
fn nearest(step: f64) -> f64 {
    if !(step.is_finite() && step > 0.0) {
        return 1.0;
    }
    let power = 10f64.powf(step.log10().floor());
    let first = step / power;
    let all = [1.0, 2.0, 2.5, 5.0, 10.0];
    let near = all
        .into_iter()
        .min_by(|a, b| (a - first).abs().total_cmp(&(b - first).abs()));
    near.unwrap_or(1.0) * power
}

#[cfg(test)]
mod tests {
    use super::*;
    use hydraulics::units::{Measure, psi};

    #[test]
    fn steps_are_those_of_the_scale() {
        let of = |value, system| Step::of(Kind::Pressure, Some(psi(value).si()), system);
        let five = of(5.0, System::Us);
        assert_eq!((five.small, five.large, five.decimals), (5.0, 25.0, 0));
        let one = of(1.0, System::Us);
        assert_eq!((one.small, one.large, one.decimals), (1.0, 10.0, 0));
        let half = of(0.5, System::Us);
        assert_eq!((half.small, half.large, half.decimals), (0.5, 2.5, 1));
        // 1 psi is 0.069 bar.
        let bar = of(1.0, System::Si);
        assert!(
            (bar.small - 0.05).abs() < 1e-9 && bar.decimals == 2,
            "{bar:?}"
        );
    }

    #[test]
    fn a_value_is_put_on_the_scale() {
        let step = Step::of(Kind::Pressure, Some(psi(2.0).si()), System::Us);
        let on = step.on_scale(Kind::Pressure, psi(151.2).si(), System::Us);
        assert_eq!(step.write(Kind::Pressure, on, System::Us), "152");
    }
}
