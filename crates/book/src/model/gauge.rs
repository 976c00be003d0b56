//! Gauges and flow meters that readings are taken with.

use super::{About, Stated};
use hydraulics::units::{Measure, Pressure, Ratio, VolumeRate};

/// A gauge or a flow meter.
#[derive(Debug, Clone, PartialEq)]
pub struct GaugeItem {
    /// What it measures, and how well.
    pub scale: Scale,
    /// What it may be off by as a share of the reading, as its certificate says.
    pub accuracy_share: Option<Stated<Ratio>>,
    /// The number that stands on it.
    pub serial: Option<String>,
    /// Day of its last calibration, as "2026-03-02".
    pub calibrated: Option<String>,
    /// Its source and notes.
    pub about: About,
}

/// What a gauge measures, and how well.
#[derive(Debug, Clone, PartialEq)]
pub enum Scale {
    /// Pressure.
    Pressure(Steps<Pressure>),
    /// Flow.
    Flow(Steps<VolumeRate>),
}

/// How well a gauge measures.
#[derive(Debug, Clone, PartialEq)]
pub struct Steps<Q> {
    /// The smallest step that is read from it.
    pub step: Option<Stated<Q>>,
    /// What the whole gauge may be off by, as its certificate says.
    pub accuracy: Option<Stated<Q>>,
    /// By how much its needle swings.
    pub swing: Option<Stated<Q>>,
    /// The end of its scale.
    pub highest: Option<Stated<Q>>,
}

impl<Q> Default for Steps<Q> {
    /// Nothing known.
    fn default() -> Self {
        Steps {
            step: None,
            accuracy: None,
            swing: None,
            highest: None,
        }
    }
}

impl Scale {
    /// The word in a book.
    ///
    /// ```
    /// assert_eq!(book::Scale::Flow(book::Steps::default()).word(), "flow");
    /// ```
    pub fn word(&self) -> &'static str {
        match self {
            Scale::Pressure(_) => "pressure",
            Scale::Flow(_) => "flow",
        }
    }
}

impl<Q: Measure> Steps<Q> {
    /// Step, accuracy, swing and end of scale, SI.
    fn si(&self) -> [Option<f64>; 4] {
        let si = |stated: &Option<Stated<Q>>| stated.as_ref().map(|s| s.get().si());
        [
            si(&self.step),
            si(&self.accuracy),
            si(&self.swing),
            si(&self.highest),
        ]
    }
}

impl GaugeItem {
    /// Is it a flow meter?
    pub fn is_flow(&self) -> bool {
        matches!(self.scale, Scale::Flow(_))
    }

    /// Step, accuracy, swing and end of scale, in Pa or m3/s.
    pub fn si(&self) -> [Option<f64>; 4] {
        match &self.scale {
            Scale::Pressure(steps) => steps.si(),
            Scale::Flow(steps) => steps.si(),
        }
    }
}
