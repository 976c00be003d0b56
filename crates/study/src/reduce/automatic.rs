//! An automatic nozzle from readings of flow and nozzle pressure through its range and
//! past both ends: the lowest and highest flow of the range and the pressures there.
//!
//! Fitted as pressure by flow, which stays smooth for a regulator that is nearly flat:
//! below the range NP = (Q/Kmin)^2, in it by the balance of spring and baffle, above it
//! (Q/Kmax)^2 (`hydraulics::nozzle::Automatic`).
//!
//! The law has corners at the ends of the range, where the covariance of a fit sees only
//! one side: the intervals are found by how fast the fit gets worse (`profile`).

use super::estimate::Estimate;
use super::gauge::{Column, Gauge};
use super::law::Law;
use super::model::Model;
use super::reduction::Reduced;
use hydraulics::nozzle::{Automatic, Regulator};
use hydraulics::units::{Measure, Pressure, VolumeRate, gpm, psi};

/// The law of an automatic nozzle. Columns: flow m3/s, nozzle pressure Pa; where its band
/// is asked for, the direction too. Parameters: flow and pressure at the low end of the
/// range, then at the high end; then the band, Pa.
#[derive(Debug, Clone, PartialEq)]
pub struct AutomaticNozzle {
    columns: Vec<Column>,
}

impl AutomaticNozzle {
    /// The law, its gauges in the order flow, pressure.
    pub fn new([flow, pressure]: [Gauge; 2]) -> Self {
        let columns = vec![
            Column {
                what: "flow",
                gauge: flow,
            },
            Column {
                what: "nozzle pressure",
                gauge: pressure,
            },
        ];
        AutomaticNozzle { columns }
    }

    /// The same, the band between opening and closing reduced as well: what friction in
    /// the regulator makes of the pressure at one flow. Wants readings taken both ways;
    /// the third column says which: 1 where the flow was rising, -1 where it was falling,
    /// 0 where nobody knows.
    pub fn with_band(mut self) -> Self {
        self.columns.truncate(2);
        self.columns.push(Column {
            what: "direction",
            gauge: Gauge::exact("direction"),
        });
        self
    }

    /// Flow by the root of pressure at the closed stop and at the open one, gpm per root
    /// psi: below and above the range the nozzle is a fixed one of these.
    pub fn factors(reduced: &Reduced) -> [Estimate; 2] {
        let unit = gpm(1.0).si() / psi(1.0).si().sqrt();
        let factor = |p: &[f64], at: usize| match (p.get(at), p.get(at + 1)) {
            (Some(flow), Some(pressure)) => flow / pressure.sqrt() / unit,
            _ => f64::NAN,
        };
        [
            reduced.of("Kmin, gpm per root psi", |p| factor(p, 0)),
            reduced.of("Kmax, gpm per root psi", |p| factor(p, 2)),
        ]
    }

    /// How far the pressure rises over the range, by how far the flow does: Pa per m3/s.
    pub fn slope(reduced: &Reduced) -> Estimate {
        reduced.of("the slope over the range", |p| match p {
            [low_flow, low, high_flow, high, ..] => (high - low) / (high_flow - low_flow),
            _ => f64::NAN,
        })
    }

    fn bands(&self) -> bool {
        self.columns.len() > 2
    }

    /// What the readings say of the band, the nozzle's ends being `ends`.
    fn band(&self, readings: &[Vec<f64>], ends: &[f64]) -> f64 {
        let way = |which: f64| {
            let of = readings.iter().filter(|r| r.get(2) == Some(&which));
            let residuals: Vec<f64> = of
                .map(|r| self.residual(r, &[ends, &[0.0]].concat()))
                .collect();
            residuals.iter().sum::<f64>() / residuals.len() as f64
        };
        let band = way(1.0) - way(-1.0);
        // Near nought it would have no size to take slopes by.
        band.abs().max(psi(0.5).si()).copysign(band)
    }

    /// The sum of squares in the readings' own pressures, for choosing a start.
    fn squares(&self, readings: &[Vec<f64>], ends: &[f64]) -> f64 {
        let square = |reading: &Vec<f64>| match (reading.as_slice(), nozzle(ends)) {
            ([flow, pressure, ..], Some(nozzle)) => (pressure - at(&nozzle, *flow)).powi(2),
            _ => f64::NAN,
        };
        readings.iter().map(square).sum()
    }
}

/// The nozzle with these ends, if there can be one.
fn nozzle(ends: &[f64]) -> Option<Automatic> {
    let [low_flow, low, high_flow, high] = ends else {
        return None;
    };
    let flows = (VolumeRate::of_si(*low_flow), VolumeRate::of_si(*high_flow));
    Automatic::new(flows, (Pressure::of_si(*low), Pressure::of_si(*high))).ok()
}

/// Nozzle pressure at a flow.
fn at(nozzle: &Automatic, flow: f64) -> f64 {
    nozzle.pressure(VolumeRate::of_si(flow)).pressure.si()
}

impl Model for AutomaticNozzle {
    fn names(&self) -> Vec<String> {
        let ends = [
            "the lowest flow of the range",
            "the pressure there",
            "the highest flow of the range",
            "the pressure at the highest flow",
        ];
        let mut names = ends.map(String::from).to_vec();
        if self.bands() {
            names.push("the band between opening and closing".into());
        }
        names
    }

    fn residual(&self, reading: &[f64], p: &[f64]) -> f64 {
        match (reading, p) {
            ([flow, pressure], ends) => {
                nozzle(ends).map_or(f64::NAN, |nozzle| pressure - at(&nozzle, *flow))
            }
            ([flow, pressure, way], [ends @ .., band]) => {
                let Some(nozzle) = nozzle(ends) else {
                    return f64::NAN;
                };
                let regulator = match *way {
                    1.0 => Regulator::Opening,
                    -1.0 => Regulator::Closing,
                    0.0 => Regulator::Balanced,
                    _ => return f64::NAN,
                };
                let nozzle = nozzle.with_band(Pressure::of_si(*band));
                pressure - at(&nozzle.with_regulator(regulator), *flow)
            }
            _ => f64::NAN,
        }
    }
}

impl Law for AutomaticNozzle {
    fn columns(&self) -> &[Column] {
        &self.columns
    }

    fn responses(&self) -> Vec<usize> {
        vec![1]
    }

    fn is_known(&self, reading: &[f64], column: usize) -> bool {
        column == 0 && reading.first() == Some(&0.0)
    }

    fn has_corners(&self) -> bool {
        true
    }

    /// The two readings that, taken for the ends of the range, leave the least.
    fn start(&self, readings: &[Vec<f64>]) -> Vec<f64> {
        let end = |reading: &Vec<f64>| reading.get(..2).unwrap_or_default().to_vec();
        let mut best = (f64::INFINITY, vec![f64::NAN; 4]);
        for low in readings {
            for high in readings {
                let ends = [end(low), end(high)].concat();
                let squares = self.squares(readings, &ends);
                if squares < best.0 {
                    best = (squares, ends);
                }
            }
        }
        if self.bands() {
            let band = self.band(readings, &best.1);
            best.1.push(band);
        }
        best.1
    }
}
