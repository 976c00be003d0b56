//! Parts in series taken together: one flow, one loss.

use hydraulics::element::{Element, Passage};
use hydraulics::units::{Measure, Pressure, VolumeRate};

/// Head against a shut one-way chain for a unit of s, Pa s/m3: the scale of an
/// ordinary hose.
pub(crate) const AGAINST: f64 = 1e8;

/// Loss in proportion to flow that every chain has besides its own, Pa s/m3:
/// 0.05 Pa at 50 L/s. It shares flow between parallel parts without loss, and
/// lets a flat regulator have a slope.
pub(crate) const TRACE: f64 = 1.0;

/// One part in a chain, and whether the chain runs through it backwards.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Link<'a> {
    pub part: usize,
    pub law: &'a dyn Element,
    pub backwards: bool,
}

impl Link<'_> {
    pub(crate) fn loss(&self, q: f64) -> (f64, f64) {
        let sign = if self.backwards { -1.0 } else { 1.0 };
        let loss = self.law.loss(VolumeRate::of_si(sign * q));
        (sign * loss.pressure.value, loss.slope.value)
    }

    /// Can water go with the chain, and against it?
    pub(crate) fn ways(&self) -> (bool, bool) {
        match (self.law.passage(), self.backwards) {
            (Passage::Free, _) => (true, true),
            (Passage::Shut, _) => (false, false),
            (Passage::OneWay, false) => (true, false),
            (Passage::OneWay, true) => (false, true),
        }
    }
}

/// Parts in series between two places that are not merely in between.
#[derive(Debug, Clone)]
pub(crate) struct Chain<'a> {
    pub from: usize,
    pub to: usize,
    pub links: Vec<Link<'a>>,
    /// Water can only go from `from` to `to`.
    pub one_way: bool,
}

impl Chain<'_> {
    pub(crate) fn loss(&self, q: f64) -> (f64, f64) {
        self.links.iter().fold((0.0, 0.0), |(p, s), link| {
            let (dp, ds) = link.loss(q);
            (p + dp, s + ds)
        })
    }

    /// The s under `head`, the difference of head between its two ends: the
    /// flow, or for a one-way chain shut against `head` a number below zero.
    pub(crate) fn s_under(&self, head: f64) -> f64 {
        let (rest, _) = self.loss(0.0);
        if self.one_way && head <= rest {
            return (head - rest) / AGAINST;
        }
        let loss = |q: f64| {
            let (p, slope) = self.loss(q);
            (p + TRACE * q, slope + TRACE)
        };
        root_of_rising(loss, head, self.one_way)
    }
}

/// Flow through `elements` in series, from a supply at `pressure` to the open
/// air `rise` (as pressure) higher: the direct route for a single line.
///
/// The elements are taken from inlet to outlet. Zero when the water does not
/// reach the end, or when one of them is shut.
///
/// ```
/// use hydraulics::element::Element;
/// use hydraulics::nozzle::{Fixed, Nozzle, Tip};
/// use hydraulics::units::{parse, show, Kind, Measure, Pressure};
/// let rated = Fixed::rated(parse(Kind::Flow, "95 gpm")?, parse(Kind::Pressure, "100 psi")?)?;
/// let tip = Tip::new(Nozzle::Fixed(rated));
/// let parts: [&dyn Element; 1] = [&tip];
/// let flow = lay::operating_flow(&parts, parse(Kind::Pressure, "25 psi")?, Pressure::of_si(0.0));
/// assert_eq!(show(Kind::Flow, flow * 2.0, Default::default()), "95 gpm");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn operating_flow(elements: &[&dyn Element], pressure: Pressure, rise: Pressure) -> VolumeRate {
    let passage = |p| elements.iter().any(|e| e.passage() == p);
    if passage(Passage::Shut) {
        return VolumeRate::of_si(0.0);
    }
    let loss = |q: f64| {
        elements.iter().fold((0.0, 0.0), |(p, s), element| {
            let loss = element.loss(VolumeRate::of_si(q));
            (p + loss.pressure.value, s + loss.slope.value)
        })
    };
    let head = pressure.value - rise.value;
    VolumeRate::of_si(root_of_rising(loss, head, passage(Passage::OneWay)))
}

/// The q at which the rising function `loss` reaches `target`; zero if that
/// would be below zero and `one_way`. Newton inside a bracket that grows until
/// it holds the root.
fn root_of_rising(loss: impl Fn(f64) -> (f64, f64), target: f64, one_way: bool) -> f64 {
    let (rest, _) = loss(0.0);
    if target == rest || (one_way && target < rest) {
        return 0.0;
    }
    let sign = if target > rest { 1.0 } else { -1.0 };
    // Along `sign` the miss rises from below zero.
    let miss = |x: f64| {
        let (p, slope) = loss(sign * x);
        (sign * (p - target), slope)
    };
    let (mut low, mut high) = (0.0, f64::INFINITY);
    let mut x = 0.01;
    for _ in 0..200 {
        let (m, slope) = miss(x);
        if m == 0.0 {
            return sign * x;
        }
        if m > 0.0 {
            high = x
        } else {
            low = x
        }
        let newton = x - m / slope;
        let next = if newton > low && newton < high && newton.is_finite() {
            newton
        } else if high.is_finite() {
            0.5 * (low + high)
        } else {
            2.0 * x
        };
        if (next - x).abs() <= 1e-14 * x {
            return sign * next;
        }
        x = next;
    }
    sign * x
}
