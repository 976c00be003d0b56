//! A hose's loss from readings: flow, pressure at both ends, rise, length.
//!
//! p_in - p_out - rise = FL, FL = C (Q / 100 gpm)^n L. With n = 2 the trade's law; n
//! is reduced too where asked, C then being the loss at 100 gpm.

use super::estimate::Estimate;
use super::gauge::Column;
use super::law::Law;
use super::model::Model;
use hydraulics::friction::Coefficient;
use hydraulics::units::{Kind, Length, Measure, System, gpm, psi};
use hydraulics::water::trade_rise;

/// The law of a hose. Columns: flow m3/s, pressure at the inlet Pa, at the outlet Pa,
/// rise m (up is positive), length m.
#[derive(Debug, Clone, PartialEq)]
pub struct HoseLoss {
    columns: [Column; 5],
    /// Is the exponent reduced too, or 2?
    exponent: bool,
}

impl HoseLoss {
    /// The law with its gauges, in the order flow, inlet, outlet, rise, length.
    pub fn new(gauges: [super::Gauge; 5]) -> Self {
        let what = [
            "flow",
            "pressure at the inlet",
            "pressure at the outlet",
            "rise",
            "length",
        ];
        let mut what = what.into_iter();
        HoseLoss {
            columns: gauges.map(|gauge| Column {
                what: what.next().unwrap_or_default(),
                gauge,
            }),
            exponent: false,
        }
    }

    /// The same, its exponent reduced as well: wants readings at flows well apart.
    pub fn with_exponent(self) -> Self {
        HoseLoss {
            exponent: true,
            ..self
        }
    }

    /// The estimate of the first parameter, Pa per metre at 100 gpm, as US C: psi per
    /// 100 ft at 100 gpm.
    pub fn us(estimate: &Estimate) -> Estimate {
        estimate.times(1.0 / of_us_one())
    }

    /// The same as metric C: kPa per 100 m at 100 L/min. True for the square law only.
    pub fn metric(estimate: &Estimate) -> Estimate {
        let of_one = Coefficient::us(1.0).map_or(f64::NAN, Coefficient::metric_value);
        Self::us(estimate).times(of_one)
    }
}

/// Loss of a US C of one, Pa per metre at 100 gpm: 1 psi in 100 ft.
fn of_us_one() -> f64 {
    psi(1.0).si() / Kind::Length.unit(System::Us).to_si(100.0)
}

fn loss(flow: f64, c: f64, exponent: f64, length: f64) -> f64 {
    let share = flow / gpm(100.0).si();
    c * share.abs().powf(exponent) * share.signum() * length
}

/// What the readings say of the hose's own loss.
fn lost(reading: &[f64]) -> f64 {
    match reading {
        [_, inlet, outlet, rise, _] => inlet - outlet - trade_rise(Length::of_si(*rise)).si(),
        _ => f64::NAN,
    }
}

impl Model for HoseLoss {
    fn names(&self) -> Vec<String> {
        match self.exponent {
            true => vec!["the loss at 100 gpm".into(), "the exponent".into()],
            false => vec!["the friction coefficient C".into()],
        }
    }

    fn residual(&self, reading: &[f64], p: &[f64]) -> f64 {
        match (reading, p) {
            ([flow, .., length], [c]) => lost(reading) - loss(*flow, *c, 2.0, *length),
            ([flow, .., length], [c, n]) => lost(reading) - loss(*flow, *c, *n, *length),
            _ => f64::NAN,
        }
    }
}

impl Law for HoseLoss {
    fn columns(&self) -> &[Column] {
        &self.columns
    }

    fn responses(&self) -> Vec<usize> {
        vec![1, 2]
    }

    fn is_known(&self, reading: &[f64], column: usize) -> bool {
        column == 0 && reading.first() == Some(&0.0)
    }

    fn start(&self, readings: &[Vec<f64>]) -> Vec<f64> {
        let by_one = |reading: &Vec<f64>| match reading.as_slice() {
            [flow, .., length] => (lost(reading), loss(*flow, 1.0, 2.0, *length)),
            _ => (f64::NAN, f64::NAN),
        };
        let (above, below) = readings
            .iter()
            .map(by_one)
            .fold((0.0, 0.0), |sum, (lost, one)| {
                (sum.0 + lost * one, sum.1 + one * one)
            });
        let mut start = vec![above / below];
        if self.exponent {
            start.push(2.0);
        }
        start
    }
}
