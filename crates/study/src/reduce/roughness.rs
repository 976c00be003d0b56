//! A hose's roughness from readings of its loss, its bore and the water's temperature.
//!
//! p_in - p_out - rise = loss by Darcy and Weisbach with Colebrook's factor
//! (`hydraulics::friction`). The loss goes with the fifth power of the bore, so that the
//! bore's doubt, one for all readings, is most of the roughness's. A hose may come out
//! smoother than smooth; there the law is turned about the smooth pipe, so that the
//! figure says how far below it the readings lie.

use super::estimate::Estimate;
use super::gauge::{Column, Gauge};
use super::law::Law;
use super::model::Model;
use hydraulics::element::Element;
use hydraulics::friction::Friction;
use hydraulics::hose::Run;
use hydraulics::units::{Length, Measure, ThermodynamicTemperature, VolumeRate};
use hydraulics::water::Water;

/// The law of a hose by its roughness, m. Columns: flow m3/s, pressure at the inlet Pa, at
/// the outlet Pa, rise m (up is positive), length m, bore under pressure m, temperature of
/// the water K.
#[derive(Debug, Clone, PartialEq)]
pub struct HoseRoughness {
    columns: [Column; 7],
}

/// What a roughness says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Roughness {
    /// It is above zero, at 95 %.
    Rough,
    /// It may be nothing: the readings and the bore do not tell the hose from a smooth one.
    MayBeSmooth,
    /// Less than a smooth hose would lose: the bore, or a gauge, must be off.
    BelowSmooth,
}

impl HoseRoughness {
    /// The law with its gauges, in the order flow, inlet, outlet, rise, length, bore,
    /// temperature.
    pub fn new(gauges: [Gauge; 7]) -> Self {
        let what = [
            "flow",
            "pressure at the inlet",
            "pressure at the outlet",
            "rise",
            "length",
            "bore",
            "water temperature",
        ];
        let mut what = what.into_iter();
        HoseRoughness {
            columns: gauges.map(|gauge| Column {
                what: what.next().unwrap_or_default(),
                gauge,
            }),
        }
    }

    /// What the estimate of a roughness says.
    pub fn says(estimate: &Estimate) -> Roughness {
        if estimate.low > 0.0 {
            Roughness::Rough
        } else if estimate.high > 0.0 {
            Roughness::MayBeSmooth
        } else {
            Roughness::BelowSmooth
        }
    }
}

impl Roughness {
    /// In words; none for a figure that stands by itself.
    pub fn words(self) -> Option<&'static str> {
        match self {
            Roughness::Rough => None,
            Roughness::MayBeSmooth => Some(
                "the test does not tell this hose from a smooth one: take the upper end of the interval, or measure the bore better",
            ),
            Roughness::BelowSmooth => Some(
                "the hose loses less than a smooth one of that bore would: measure the bore again under pressure, and check the gauges",
            ),
        }
    }
}

/// The residual at a roughness of zero or more.
fn above_smooth(reading: &[f64], roughness: f64) -> Option<f64> {
    let [flow, inlet, outlet, rise, length, bore, temperature] = reading else {
        return None;
    };
    let warm = (250.0..500.0).contains(temperature);
    let water = warm.then(|| Water::at(ThermodynamicTemperature::of_si(*temperature)))?;
    let friction = Friction::DarcyWeisbach {
        bore: Length::of_si(*bore),
        roughness: Length::of_si(roughness),
    };
    let run = Run::new(friction, Length::of_si(*length), water).ok()?;
    let loss = run.loss(VolumeRate::of_si(*flow)).pressure.si();
    let rise = water.static_pressure(Length::of_si(*rise)).si();
    Some(inlet - outlet - rise - loss)
}

fn residual(reading: &[f64], roughness: f64) -> Option<f64> {
    let there = above_smooth(reading, roughness.abs())?;
    if roughness >= 0.0 {
        return Some(there);
    }
    Some(2.0 * above_smooth(reading, 0.0)? - there)
}

impl Model for HoseRoughness {
    fn names(&self) -> Vec<String> {
        vec!["the roughness".into()]
    }

    fn residual(&self, reading: &[f64], p: &[f64]) -> f64 {
        match p {
            [roughness] => residual(reading, *roughness).unwrap_or(f64::NAN),
            _ => f64::NAN,
        }
    }

    /// A smooth hose has none: slopes are then taken by tenths of a nanometre.
    fn scale(&self, _: usize, _: f64) -> f64 {
        1.0
    }
}

impl Law for HoseRoughness {
    fn columns(&self) -> &[Column] {
        &self.columns
    }

    fn responses(&self) -> Vec<usize> {
        vec![1, 2]
    }

    /// Of some roughnesses from smooth to very rough the one that leaves the least.
    fn start(&self, readings: &[Vec<f64>]) -> Vec<f64> {
        let squares = |roughness: f64| {
            let of = |reading: &Vec<f64>| residual(reading, roughness).unwrap_or(f64::NAN).powi(2);
            readings.iter().map(of).sum::<f64>()
        };
        let tries = (0..15).map(|step| 1e-6 * 2.0_f64.powi(step));
        let least = tries.min_by(|a, b| squares(*a).total_cmp(&squares(*b)));
        vec![
            least
                .filter(|e| squares(*e).is_finite())
                .unwrap_or(f64::NAN),
        ]
    }
}
