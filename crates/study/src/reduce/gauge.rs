//! Gauges: what a reading may be off by.

/// The standard uncertainty of a value that may lie anywhere within `half_width`
/// of what is read: a / sqrt 3 (GUM 4.3.7).
///
/// ```
/// assert!((study::reduce::rectangular(5.0) - 2.88675).abs() < 1e-5); // GUM F.2.3.3, H.1
/// ```
pub fn rectangular(half_width: f64) -> f64 {
    half_width / 3.0_f64.sqrt()
}

/// A gauge, in the SI unit of what it measures.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Gauge {
    /// Its name or serial. Columns read with one gauge are off together.
    pub name: String,
    /// The smallest step that is read from it; zero for none.
    pub resolution: f64,
    /// Standard deviation of one reading from the needle's swing, where it is known;
    /// else zero, and the scatter about the law tells.
    pub swing: f64,
    /// What the whole gauge may be off by (half-width), as its certificate says.
    pub accuracy: f64,
    /// The same as a share of the reading: 0.01 for 1 %.
    pub accuracy_share: f64,
}

impl Gauge {
    /// A gauge without error.
    pub fn exact(name: &str) -> Self {
        Gauge {
            name: name.into(),
            ..Gauge::default()
        }
    }

    /// The standard uncertainty that is new with each reading: resolution and swing.
    pub fn random(&self) -> f64 {
        rectangular(self.resolution / 2.0).hypot(self.swing)
    }

    /// The standard uncertainty that all readings of the gauge share, at `value`.
    pub fn shared(&self, value: f64) -> f64 {
        rectangular(self.accuracy).hypot(rectangular(self.accuracy_share * value))
    }
}

/// What one column of the readings holds, and the gauge it was read from.
#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    /// "flow", "pressure at the pump".
    pub what: &'static str,
    /// The gauge.
    pub gauge: Gauge,
}

impl Column {
    /// Is it read from a flow meter?
    pub fn is_flow(&self) -> bool {
        self.what.starts_with("flow")
    }
}
