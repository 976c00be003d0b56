//! Friction loss in hose.
//!
//! Three laws, all for one run of hose of length L at flow Q:
//!
//! - **Published coefficient** (the default, because departments think in C and
//!   test C): FL = C (Q/100)^2 (L/100). US C in psi, gpm, ft; metric C in kPa,
//!   L/min, m. Range: the flows for which the hose is used, turbulent. Source:
//!   pumper handbooks; the Quebec pump operator's table for the metric form.
//!   Worked number: C 2, 200 gpm, 100 ft gives 8 psi (case FL-U-01). Published C
//!   for 1.75 in hose runs from 7 to 15.5, so the hose in hand decides.
//! - **Darcy-Weisbach** with measured bore, roughness and water temperature:
//!   dp = f (L/d) rho v^2/2. f = 64/Re below Re 2000, Colebrook's f above 4000,
//!   solved to the last bits; between, the loss goes from the one to the other by
//!   the cubic that meets both in value and in slope (a model: flow there is
//!   unsteady), which keeps it rising and without a kink. Roughness counts up to a
//!   fifth of the bore. C cannot be regenerated from one roughness and the nominal
//!   bore, since hose stretches.
//! - **Hazen-Williams**: h = 10.67 L Q^1.852 / (c^1.852 d^4.8704), SI, water near
//!   60 F. Range: d above 50 mm, v below 3 m/s (memory).

use crate::element::{Loss, REST};
use crate::units::{Length, Measure, Pressure, Ratio, Slope, VolumeRate};
use crate::water::{GRAVITY, Water};
use uom::si::{
    length::foot, pressure::kilopascal, pressure::psi, ratio::ratio,
    volume_rate::gallon_per_minute, volume_rate::liter_per_minute,
};

/// Why a friction law or a run of hose cannot be what the numbers say.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum FrictionError {
    /// A number that must be above zero is not.
    #[error("the hose's {what} must be above zero")]
    NotPositive {
        /// Which number.
        what: &'static str,
    },
    /// A number that must not be below zero is.
    #[error("the hose's {what} must not be below zero")]
    Negative {
        /// Which number.
        what: &'static str,
    },
}

pub(crate) fn above_zero(value: f64, what: &'static str) -> Result<f64, FrictionError> {
    if value > 0.0 && value.is_finite() {
        Ok(value)
    } else {
        Err(FrictionError::NotPositive { what })
    }
}

pub(crate) fn not_negative(value: f64, what: &'static str) -> Result<f64, FrictionError> {
    if value >= 0.0 && value.is_finite() {
        Ok(value)
    } else {
        Err(FrictionError::Negative { what })
    }
}

/// A published friction coefficient, kept as SI resistance of one metre:
/// Pa per (m3/s)^2 per m.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Coefficient(f64);

/// SI resistance per metre of a US C of one.
fn us_unit() -> f64 {
    let flow = VolumeRate::new::<gallon_per_minute>(100.0).value;
    Pressure::new::<psi>(1.0).value / (flow * flow) / Length::new::<foot>(100.0).value
}

/// SI resistance per metre of a metric C of one.
fn metric_unit() -> f64 {
    let flow = VolumeRate::new::<liter_per_minute>(100.0).value;
    Pressure::new::<kilopascal>(1.0).value / (flow * flow) / 100.0
}

impl Coefficient {
    /// C in psi per (100 gpm)^2 per 100 ft.
    ///
    /// # Errors
    /// [`FrictionError::NotPositive`] unless above zero.
    ///
    /// ```
    /// use hydraulics::friction::Coefficient;
    /// let c = Coefficient::us(15.5)?;
    /// assert!((c.metric_value() - 24.6).abs() < 0.2); // printed for 45 mm hose: 24.6
    /// # Ok::<(), hydraulics::friction::FrictionError>(())
    /// ```
    pub fn us(c: f64) -> Result<Self, FrictionError> {
        above_zero(c, "friction coefficient C").map(|c| Coefficient(c * us_unit()))
    }

    /// C in kPa per (100 L/min)^2 per 100 m.
    ///
    /// # Errors
    /// [`FrictionError::NotPositive`] unless above zero.
    pub fn metric(c: f64) -> Result<Self, FrictionError> {
        above_zero(c, "friction coefficient C").map(|c| Coefficient(c * metric_unit()))
    }

    /// C of parallel lines of equal length taken together:
    /// 1/(sum of 1/sqrt C)^2.
    ///
    /// # Errors
    /// [`FrictionError::NotPositive`] when there is no line.
    pub fn parallel(lines: &[Coefficient]) -> Result<Self, FrictionError> {
        let sum: f64 = lines.iter().map(|c| 1.0 / c.0.sqrt()).sum();
        above_zero(sum, "number of parallel lines").map(|s| Coefficient(1.0 / (s * s)))
    }

    /// C in psi, gpm and feet.
    pub fn us_value(self) -> f64 {
        self.0 / us_unit()
    }

    /// C in kPa, L/min and metres.
    pub fn metric_value(self) -> f64 {
        self.0 / metric_unit()
    }

    pub(crate) fn per_metre(self) -> f64 {
        self.0
    }
}

/// How a hose loses pressure with flow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Friction {
    /// By a published or measured C.
    Coefficient(Coefficient),
    /// By bore, roughness and water.
    DarcyWeisbach {
        /// Bore under pressure, above zero.
        bore: Length,
        /// Roughness of the lining, zero or more.
        roughness: Length,
    },
    /// By bore and the Hazen-Williams coefficient.
    HazenWilliams {
        /// Bore, above zero.
        bore: Length,
        /// Hazen-Williams c, above zero; 100 to 150 for lined hose.
        c: Ratio,
    },
}

/// A friction law for one length of hose, ready to be asked often.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Ready {
    Square { r: f64 },
    Darcy(Darcy),
    HazenWilliams { r: f64 },
}

impl Friction {
    pub(crate) fn ready(self, length: Length, water: Water) -> Result<Ready, FrictionError> {
        let length = not_negative(length.value, "length")?;
        Ok(match self {
            Friction::Coefficient(c) => Ready::Square {
                r: c.per_metre() * length,
            },
            Friction::DarcyWeisbach { bore, roughness } => {
                Ready::Darcy(Darcy::new(bore, roughness, length, water)?)
            }
            Friction::HazenWilliams { bore, c } => {
                let d = above_zero(bore.value, "bore")?;
                let c = above_zero(c.get::<ratio>(), "Hazen-Williams coefficient")?;
                let head = 10.67 * length / (c.powf(1.852) * d.powf(4.870_4));
                Ready::HazenWilliams {
                    r: head * water.density().value * GRAVITY,
                }
            }
        })
    }
}

impl Ready {
    pub(crate) fn loss(&self, flow: VolumeRate) -> Loss {
        match self {
            Ready::Square { r } => crate::element::square(*r, flow),
            Ready::Darcy(darcy) => darcy.loss(flow),
            Ready::HazenWilliams { r } => power(*r, 1.852, flow),
        }
    }
}

/// r q^n, odd in q, linear close to rest.
fn power(r: f64, n: f64, flow: VolumeRate) -> Loss {
    let (q, size) = (flow.value, flow.value.abs());
    let (pressure, slope) = if size > REST {
        let p = r * size.powf(n - 1.0);
        (p * q, n * p)
    } else {
        let p = r * REST.powf(n - 1.0);
        (p * q, p)
    };
    Loss {
        pressure: Pressure::of_si(pressure),
        slope: Slope::of_si(slope),
    }
}

/// Darcy-Weisbach for one length. The loss is worked out as f Re^2, which unlike
/// f has a value and a slope at rest.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Darcy {
    /// Reynolds number of a unit flow.
    reynolds: f64,
    /// Loss where f Re^2 is one.
    scale: f64,
    /// Roughness over bore.
    rough: f64,
    /// f Re^2 and its derivative by Re where turbulent flow starts.
    joint: (f64, f64),
}

/// End of laminar flow, and start of fully turbulent flow.
const LAMINAR: f64 = 2000.0;
const TURBULENT: f64 = 4000.0;

impl Darcy {
    fn new(
        bore: Length,
        roughness: Length,
        length: f64,
        water: Water,
    ) -> Result<Self, FrictionError> {
        let d = above_zero(bore.value, "bore")?;
        let rough = not_negative(roughness.value, "roughness")? / d;
        let area = std::f64::consts::FRAC_PI_4 * d * d;
        let density = water.density().value;
        let rough = rough.min(0.2);
        let reynolds = density * d / (area * water.viscosity().value);
        let unit_flow = 0.5 * density * length / (d * area * area);
        Ok(Darcy {
            reynolds,
            scale: unit_flow / (reynolds * reynolds),
            rough,
            joint: turbulent(TURBULENT, rough),
        })
    }

    /// f Re^2 and its derivative by Re.
    fn laws(&self, re: f64) -> (f64, f64) {
        if re <= LAMINAR {
            (64.0 * re, 64.0)
        } else if re >= TURBULENT {
            turbulent(re, self.rough)
        } else {
            cubic((LAMINAR, 64.0 * LAMINAR, 64.0), (TURBULENT, self.joint), re)
        }
    }

    fn loss(&self, flow: VolumeRate) -> Loss {
        let q = flow.value;
        let (value, slope) = self.laws(self.reynolds * q.abs());
        Loss {
            pressure: Pressure::of_si((self.scale * value).copysign(q)),
            slope: Slope::of_si(self.scale * self.reynolds * slope),
        }
    }
}

/// f Re^2 and its derivative by Re in turbulent flow.
fn turbulent(re: f64, rough: f64) -> (f64, f64) {
    let (f, df) = colebrook(re, rough);
    (f * re * re, re * (2.0 * f + df * re))
}

/// The cubic between (x, value, slope) at `low` and (x, (value, slope)) at `high`:
/// its value and slope at `x`. It rises because neither slope is more than three
/// times the chord's: the lower is a quarter of it or less, the upper about a tenth
/// above it.
fn cubic(low: (f64, f64, f64), high: (f64, (f64, f64)), x: f64) -> (f64, f64) {
    let (x0, y0, m0) = low;
    let (x1, (y1, m1)) = high;
    let width = x1 - x0;
    let chord = (y1 - y0) / width;
    let t = (x - x0) / width;
    let (b, c) = (3.0 * chord - 2.0 * m0 - m1, m0 + m1 - 2.0 * chord);
    let value = y0 + width * t * (m0 + t * (b + t * c));
    (value, m0 + t * (2.0 * b + 3.0 * t * c))
}

/// Darcy friction factor by Colebrook (1939),
/// 1/sqrt f = -2 log10(e/(3.7 d) + 2.51/(Re sqrt f)), and its derivative by Re.
/// Newton on x = 1/sqrt f, which rises straight enough to need four steps.
/// Range: Re from 4000 to 1e8, relative roughness 0 to 0.05; what lies outside
/// is brought to a Reynolds number of at least 2000 and a roughness of 0 to 1.
///
/// ```
/// use hydraulics::friction::colebrook;
/// // Re 100,000 in a smooth pipe: 0.0180 (Moody chart, memory).
/// assert!((colebrook(1e5, 0.0).0 - 0.0180).abs() < 1e-4);
/// ```
pub fn colebrook(re: f64, relative_roughness: f64) -> (f64, f64) {
    let re = re.max(LAMINAR);
    let rough = if relative_roughness > 0.0 {
        relative_roughness.min(1.0)
    } else {
        0.0
    };
    let (a, b) = (rough / 3.7, 2.51 / re);
    let k = 2.0 / std::f64::consts::LN_10;
    // Start: Haaland's explicit form.
    let mut x = -1.8 * (a.powf(1.11) + 6.9 / re).log10();
    for _ in 0..20 {
        let inside = a + b * x;
        let miss = x + k * inside.ln();
        let step = miss / (1.0 + k * b / inside);
        x -= step;
        if step.abs() <= 1e-15 * x.abs() {
            break;
        }
    }
    // Implicit: (1 + k b/inside) dx = -(k x/inside) db, with db = -b/Re dRe.
    let inside = a + b * x;
    let dx = (k * x * b / (inside * re)) / (1.0 + k * b / inside);
    let f = 1.0 / (x * x);
    (f, -2.0 * f / x * dx)
}

/// The older rule for 2.5 in hose: FL per 100 ft = 2 Q^2 + Q psi, Q in hundreds
/// of gpm (cases FL-OLD-03 to 06). Kept because printed tables use it.
pub fn old_rule(flow: VolumeRate, length: Length) -> Pressure {
    let hundreds = flow.get::<gallon_per_minute>() / 100.0;
    let per_100_ft = 2.0 * hundreds * hundreds + hundreds;
    Pressure::new::<psi>(per_100_ft * length.get::<foot>() / 100.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn laws() -> Vec<Ready> {
        let bore = Length::of_si(0.045);
        let laws = [
            Friction::Coefficient(Coefficient::us(15.5).unwrap()),
            Friction::DarcyWeisbach {
                bore,
                roughness: Length::of_si(2e-5),
            },
            Friction::DarcyWeisbach {
                bore,
                roughness: Length::of_si(0.0),
            },
            Friction::DarcyWeisbach {
                bore,
                roughness: Length::of_si(2e-3),
            },
            Friction::HazenWilliams {
                bore,
                c: Ratio::of_si(140.0),
            },
        ];
        laws.map(|l| l.ready(Length::of_si(30.0), Water::default()).unwrap())
            .to_vec()
    }

    #[test]
    fn refuses_what_is_not_a_hose() {
        assert!(Coefficient::us(0.0).is_err());
        assert!(Coefficient::metric(f64::NAN).is_err());
        let bad = Friction::HazenWilliams {
            bore: Length::of_si(-1.0),
            c: Ratio::of_si(1.0),
        };
        assert!(bad.ready(Length::of_si(1.0), Water::default()).is_err());
    }

    #[test]
    fn book_moody_chart() {
        // Moody chart, memory: f at Re and e/d.
        for (re, rough, f) in [
            (1e4, 0.0, 0.0309),
            (1e6, 0.0, 0.0116),
            (1e5, 0.001, 0.0222),
            (1e7, 0.01, 0.0379),
        ] {
            let computed = colebrook(re, rough).0;
            assert!(
                (computed / f - 1.0).abs() < 0.005,
                "{re} {rough}: {computed}"
            );
        }
    }

    #[test]
    fn book_laminar_loss_is_poiseuille() {
        // Hagen-Poiseuille (textbook, memory): dp = 128 mu L Q / (pi d^4).
        let (d, length, q) = (0.045_f64, 30.0, 1e-5);
        let water = Water::default();
        let darcy = Darcy::new(Length::of_si(d), Length::of_si(1e-5), length, water).unwrap();
        let printed =
            128.0 * water.viscosity().value * length * q / (std::f64::consts::PI * d.powi(4));
        let computed = darcy.loss(VolumeRate::of_si(q)).pressure.value;
        assert!((computed / printed - 1.0).abs() < 1e-12);
    }

    #[test]
    fn law_colebrook_satisfies_its_equation() {
        for (re, rough) in [(4e3, 0.0), (1e5, 1e-4), (1e8, 0.05), (5e3, 0.2)] {
            let f: f64 = colebrook(re, rough).0;
            let right = -2.0 * (rough / 3.7 + 2.51 / (re * f.sqrt())).log10();
            assert!((1.0 / f.sqrt() / right - 1.0).abs() < 1e-14);
        }
        assert!(colebrook(f64::NAN, f64::NAN).0.is_finite());
        assert!(colebrook(0.0, -1.0).0.is_finite());
    }

    #[test]
    fn law_transition_meets_both_ends_in_value_and_slope() {
        let water = Water::default();
        for rough in [0.0, 2e-5, 2e-3, 9e-3] {
            let darcy =
                Darcy::new(Length::of_si(0.045), Length::of_si(rough), 30.0, water).unwrap();
            for joint in [LAMINAR, TURBULENT] {
                let below = darcy.laws(joint * (1.0 - 1e-12));
                let above = darcy.laws(joint * (1.0 + 1e-12));
                assert!((below.0 / above.0 - 1.0).abs() < 1e-9);
                assert!((below.1 / above.1 - 1.0).abs() < 1e-9);
            }
            for step in 0..=200 {
                let re = LAMINAR + f64::from(step) * (TURBULENT - LAMINAR) / 200.0;
                assert!(darcy.laws(re).1 >= 64.0 * (1.0 - 1e-12), "{rough} {re}");
            }
        }
    }

    #[test]
    fn book_parallel_lines_by_us_coefficients() {
        // Cases CO-05 and CO-06 (seen): two and three lines of C 2 count as C 0.5
        // and 0.22.
        let line = Coefficient::us(2.0).unwrap();
        let together = |lines: &[Coefficient]| Coefficient::parallel(lines).unwrap().us_value();
        assert!((together(&[line; 2]) - 0.5).abs() < 1e-12);
        assert!((together(&[line; 3]) - 0.22).abs() < 0.005);
        assert!(Coefficient::parallel(&[]).is_err());
    }

    proptest! {
        #[test]
        fn law_loss_rises_with_flow_and_turns_with_it(law in 0..5usize, a in 0.0..0.03f64, b in 0.0..0.03f64) {
            let law = laws()[law];
            let at = |q| law.loss(VolumeRate::of_si(q)).pressure.value;
            prop_assert!(at(a.max(b)) >= at(a.min(b)));
            prop_assert_eq!(at(-a), -at(a));
        }

        #[test]
        fn law_slope_is_the_derivative(law in 0..5usize, q in 1e-5..0.03f64) {
            let law = laws()[law];
            let at = |q| law.loss(VolumeRate::of_si(q));
            let h = 1e-6 * q;
            let rise = (at(q + h).pressure.value - at(q - h).pressure.value) / (2.0 * h);
            prop_assert!((rise / at(q).slope.value - 1.0).abs() < 1e-5);
        }
    }
}
