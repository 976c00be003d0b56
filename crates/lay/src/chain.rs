//! Parts in series taken together: one flow, one loss.

use hydraulics::element::{Element, Form, Hold, Passage, square};
use hydraulics::nozzle::{Discharge, Stop};
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
    form: Written,
}

/// The loss of a part, written down once for all the flows that it is asked about.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Written {
    Square(f64),
    Tip(WrittenTip),
    Asked,
}

#[derive(Debug, Clone, Copy)]
pub(crate) struct WrittenTip {
    r: f64,
    nozzle: Discharge,
    /// Flow at which the baffle comes to its stop, and 1/K^2 there.
    closed: (f64, f64),
    open: (f64, f64),
}

impl Written {
    pub(crate) fn of(law: &dyn Element) -> Self {
        match law.form() {
            Form::Square { r } => Written::Square(r),
            Form::Tip { r, nozzle } => Written::Tip(WrittenTip::new(r, nozzle)),
            Form::Any => Written::Asked,
        }
    }
}

impl WrittenTip {
    fn new(r: f64, nozzle: Discharge) -> Self {
        let stop = |stop: Stop| (stop.flow(), 1.0 / (stop.k * stop.k));
        let closed = stop(nozzle.closed);
        WrittenTip {
            r,
            nozzle,
            closed,
            open: match nozzle.is_orifice() {
                true => (0.0, closed.1),
                false => stop(nozzle.open),
            },
        }
    }

    fn loss(&self, q: f64) -> (f64, f64) {
        if q >= self.open.0 {
            square_loss(self.r + self.open.1, q)
        } else if q <= self.closed.0 {
            square_loss(self.r + self.closed.1, q)
        } else {
            let nozzle = self.nozzle.in_range(VolumeRate::of_si(q));
            let (p, slope) = square_loss(self.r, q);
            (p + nozzle.pressure.value, slope + nozzle.slope.value)
        }
    }
}

fn square_loss(r: f64, q: f64) -> (f64, f64) {
    let loss = square(r, VolumeRate::of_si(q));
    (loss.pressure.value, loss.slope.value)
}

impl<'a> Link<'a> {
    /// A part whose loss is written down in `form`.
    pub(crate) fn new(part: usize, law: &'a dyn Element, backwards: bool, form: Written) -> Self {
        let form = match form {
            Written::Tip(_) if backwards => Written::Asked,
            form => form,
        };
        Link {
            part,
            law,
            backwards,
            form,
        }
    }

    /// Loss at `q` along the chain, and its slope.
    pub(crate) fn loss(&self, q: f64) -> (f64, f64) {
        match &self.form {
            Written::Square(r) => square_loss(*r, q),
            Written::Tip(tip) => tip.loss(q),
            Written::Asked => {
                let sign = if self.backwards { -1.0 } else { 1.0 };
                let loss = self.law.loss(VolumeRate::of_si(sign * q));
                (sign * loss.pressure.value, loss.slope.value)
            }
        }
    }

    fn square(&self) -> Option<f64> {
        match self.form {
            Written::Square(r) => Some(r),
            _ => None,
        }
    }

    /// Can water go with the chain, and against it?
    pub(crate) fn ways(&self) -> (bool, bool) {
        ways(self.law.passage(), self.backwards)
    }
}

/// Can water go along a part that passes like this, and against it?
pub(crate) fn ways(passage: Passage, backwards: bool) -> (bool, bool) {
    match (passage, backwards) {
        (Passage::Free, _) => (true, true),
        (Passage::Shut, _) => (false, false),
        (Passage::OneWay, false) => (true, false),
        (Passage::OneWay, true) => (false, true),
    }
}

/// Outlet pressure that a held outlet loses with flow, Pa s/m3: 1 Pa at 10 L/s.
/// It gives its curve a slope.
const DROOP: f64 = 1e2;

/// Outlet pressure that a starving pump gives for each of inlet pressure above
/// the least.
const STARVING: f64 = 1000.0;

/// What a holding part's equation keeps of an end that does not bear on it, so
/// that every step has a direction.
const LOOSE: f64 = 1e-9;

/// Parts in series between two places that are not merely in between.
#[derive(Debug, Clone)]
pub(crate) struct Chain<'a> {
    pub from: usize,
    pub to: usize,
    pub links: &'a [Link<'a>],
    /// The links from the first to the last that have another loss than a square
    /// one, and the sum of the square losses outside them.
    curved: &'a [Link<'a>],
    square: f64,
    /// Water can only go from `from` to `to`.
    pub one_way: bool,
    /// What its only part holds; a part that holds something is a chain of its
    /// own.
    pub hold: Hold,
    /// Head of no pressure at its inlet and at its outlet.
    pub still: (f64, f64),
}

/// A chain at an s between two heads.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Point {
    /// Flow, and its change with s.
    pub q: f64,
    pub dq: f64,
    /// How far the head at the inlet is above what the chain takes.
    pub miss: f64,
    /// Fall of the miss with s, and its change with the heads at both ends: +1
    /// and -1 for a part that only loses pressure.
    pub dh: f64,
    pub by_inlet: f64,
    pub by_outlet: f64,
}

impl<'a> Chain<'a> {
    pub(crate) fn new(
        (from, to): (usize, usize),
        links: &'a [Link<'a>],
        one_way: bool,
        hold: Hold,
        still: (f64, f64),
    ) -> Self {
        let is_curved = |link: &Link<'_>| link.square().is_none();
        let first = links.iter().position(is_curved).unwrap_or(links.len());
        let last = links.iter().rposition(is_curved).map_or(first, |i| i + 1);
        let (before, rest) = links.split_at(first);
        let (curved, after) = rest.split_at(last - first);
        let square = before.iter().chain(after).filter_map(Link::square).sum();
        Chain {
            from,
            to,
            links,
            curved,
            square,
            one_way,
            hold,
            still,
        }
    }

    pub(crate) fn loss(&self, q: f64) -> (f64, f64) {
        let square = square_loss(self.square, q);
        self.curved.iter().fold(square, |(p, s), link| {
            let (dp, ds) = link.loss(q);
            (p + dp, s + ds)
        })
    }

    /// The chain at `s` between heads `inlet` and `outlet`. Corners are rounded
    /// off by about `soft`, a pressure; none at zero.
    pub(crate) fn at(&self, s: f64, (inlet, outlet): (f64, f64), soft: f64) -> Point {
        let (q, dq) = match self.one_way {
            true => above_zero(s, soft / AGAINST),
            false => (s, 1.0),
        };
        let (loss, slope) = self.loss(q);
        let taken = Reach {
            head: loss + TRACE * q,
            slope: slope + TRACE,
            by_end: 1.0,
        };
        let (miss, dh, by_inlet, by_outlet) = match self.hold {
            Hold::Nothing => (inlet - outlet - taken.head, taken.slope, 1.0, 1.0),
            Hold::Outlet {
                setting,
                pump_starves_at,
            } => {
                let given = self.outlet(q, inlet, taken, (setting, pump_starves_at), soft);
                (given.head - outlet, given.slope, given.by_end, 1.0)
            }
            Hold::Inlet { share } => {
                let wanted = self.inlet(outlet, taken, share, soft);
                (inlet - wanted.head, wanted.slope, 1.0, wanted.by_end)
            }
        };
        Point {
            q,
            dq,
            miss: miss - AGAINST * (s - q),
            dh: dh * dq + AGAINST * (1.0 - dq),
            by_inlet: by_inlet.max(LOOSE),
            by_outlet: by_outlet.max(LOOSE),
        }
    }

    /// The head that a part which holds its outlet gives there.
    fn outlet(
        &self,
        q: f64,
        inlet: f64,
        taken: Reach,
        (setting, pump_starves_at): (Pressure, Option<Pressure>),
        soft: f64,
    ) -> Reach {
        let held = Reach {
            head: setting.value + self.still.1 - DROOP * q,
            slope: DROOP,
            by_end: 0.0,
        };
        let reached = Reach {
            head: inlet - taken.head,
            ..taken
        };
        let given = match setting.value.is_finite() {
            true => held.lower(reached, soft),
            false => reached,
        };
        let Some(least) = pump_starves_at else {
            return given;
        };
        let starved = Reach {
            head: self.still.1 + STARVING * (inlet - self.still.0 - least.value) - DROOP * q,
            slope: DROOP,
            by_end: STARVING,
        };
        let through = Reach {
            head: inlet - TRACE * q,
            slope: TRACE,
            by_end: 1.0,
        };
        given.lower(starved, soft).higher(through, soft)
    }

    /// The head that an eductor takes at its inlet.
    fn inlet(&self, outlet: f64, taken: Reach, share: f64, soft: f64) -> Reach {
        let drawing = Reach {
            head: self.still.0 + taken.head / (1.0 - share),
            slope: taken.slope / (1.0 - share),
            by_end: 0.0,
        };
        let pushed = Reach {
            head: outlet + taken.head,
            ..taken
        };
        drawing.higher(pushed, soft)
    }

    /// The s that belongs to the heads at its two ends; `guess` is near it.
    pub(crate) fn s_between(&self, heads: (f64, f64), guess: f64) -> f64 {
        if self.hold == Hold::Nothing {
            return self.s_under(heads.0 - heads.1, guess);
        }
        let still = self.at(0.0, heads, 0.0);
        if still.miss <= 0.0 {
            return still.miss / AGAINST;
        }
        let taken = |q: f64| {
            let point = self.at(q.max(1e-15), heads, 0.0);
            (-point.miss, point.dh)
        };
        root_of_rising(taken, 0.0, true, guess)
    }

    /// The s under `head`, the difference of head between its two ends: the
    /// flow, or for a one-way chain shut against `head` a number below zero.
    fn s_under(&self, head: f64, guess: f64) -> f64 {
        let (rest, _) = self.loss(0.0);
        if self.one_way && head <= rest {
            return (head - rest) / AGAINST;
        }
        let loss = |q: f64| {
            let (p, slope) = self.loss(q);
            (p + TRACE * q, slope + TRACE)
        };
        root_of_rising(loss, head, self.one_way, guess)
    }
}

/// A head, its fall (or rise) with flow, and its change with the head at the
/// other end.
#[derive(Clone, Copy)]
struct Reach {
    head: f64,
    slope: f64,
    by_end: f64,
}

impl Reach {
    fn lower(self, other: Reach, soft: f64) -> Reach {
        let (gap, share) = above_zero(self.head - other.head, soft);
        self.mixed(other, self.head - gap, 1.0 - share)
    }

    fn higher(self, other: Reach, soft: f64) -> Reach {
        let (gap, share) = above_zero(other.head - self.head, soft);
        self.mixed(other, self.head + gap, 1.0 - share)
    }

    fn mixed(self, other: Reach, head: f64, share: f64) -> Reach {
        let mix = |own: f64, others: f64| share * own + (1.0 - share) * others;
        Reach {
            head,
            slope: mix(self.slope, other.slope),
            by_end: mix(self.by_end, other.by_end),
        }
    }
}

/// The part of `x` above zero and its derivative, rounded off by about `soft`.
fn above_zero(x: f64, soft: f64) -> (f64, f64) {
    if soft == 0.0 {
        return if x > 0.0 { (x, 1.0) } else { (0.0, 0.0) };
    }
    let root = x.hypot(soft);
    (0.5 * (x + root), 0.5 * (1.0 + x / root))
}

/// Flow through `elements` in series, from a supply at `pressure` to the open
/// air `rise` (as pressure) higher: the direct route for a single line.
///
/// The elements are taken from inlet to outlet; none of them may hold a pressure
/// ([`Hold::Nothing`]). Zero when the water does not
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
    VolumeRate::of_si(root_of_rising(loss, head, passage(Passage::OneWay), GUESS))
}

/// Flow to start from where nothing is known, m3/s.
pub(crate) const GUESS: f64 = 0.01;

/// The q at which the rising function `loss` reaches `target`; zero if that
/// would be below zero and `one_way`. Newton inside a bracket that grows until
/// it holds the root, from the size of `guess`.
fn root_of_rising(loss: impl Fn(f64) -> (f64, f64), target: f64, one_way: bool, guess: f64) -> f64 {
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
    let mut x = if guess.abs() > 1e-6 {
        guess.abs()
    } else {
        GUESS
    };
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
