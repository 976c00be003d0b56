//! Pass, fail or not proven, at 95 %.
//!
//! Tolerances (from memory, of the standard for spray nozzles; check the edition in
//! force): an automatic nozzle keeps within 15 psi of its rated pressure over its
//! range; any other gives from its rated flow to 10 % more at its rated pressure.

use super::budget::{Kind, LEVEL, coverage_factor};
use super::estimate::Estimate;
use hydraulics::pump::STANDARD_POINTS;
use hydraulics::units::{self, Measure, Pressure, System, VolumeRate, psi, show};

/// Half-width of an automatic nozzle's band, from memory.
pub const AUTOMATIC_PSI: f64 = 15.0;

/// What a nozzle may give above its rated flow, from memory.
pub const ABOVE_RATED: f64 = 0.10;

/// What a test says of a requirement.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Verdict {
    /// The whole 95 % interval is within the limits.
    Pass,
    /// The interval lies across a limit: the test does not decide.
    NotProven,
    /// The whole interval is outside.
    Fail,
}

impl Verdict {
    /// In words.
    pub fn word(self) -> &'static str {
        match self {
            Verdict::Pass => "pass",
            Verdict::NotProven => "not proven",
            Verdict::Fail => "fail",
        }
    }
}

/// A verdict and what would settle it.
#[derive(Debug, Clone, PartialEq)]
pub struct Judged {
    /// What was judged.
    pub what: String,
    /// The verdict.
    pub verdict: Verdict,
    /// The measured value, SI.
    pub value: f64,
    /// The limits, SI.
    pub limits: (f64, f64),
    /// How a test that did not decide could be made to.
    pub settle: Option<Settle>,
}

impl Judged {
    /// In words: what was judged, the verdict, and what would settle it.
    pub fn words(&self) -> String {
        let told = format!("{}: {}", self.what, self.verdict.word());
        match self.settle {
            None => told,
            Some(settle) => format!("{told}; {}", settle.words()),
        }
    }
}

/// What would settle a verdict, should the value stay where it is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Settle {
    /// So many times the readings, of the same kind.
    MoreReadings {
        /// How many times as many as were taken, at least 2.
        times: u32,
    },
    /// The gauges' own accuracy is too wide: no number of readings would do.
    BetterGauge,
    /// The value is on the limit: nothing short of a change of the equipment would.
    OnTheLimit,
    /// A pressure held so high that the gauge's doubt does not matter.
    HoldAt {
        /// What the gauge must show at the least, Pa.
        reading: f64,
    },
    /// A pressure held for long enough.
    HoldFor {
        /// How long by this clock, s.
        seconds: f64,
    },
}

impl Settle {
    /// In words.
    pub fn words(self) -> String {
        match self {
            Settle::MoreReadings { times } => {
                format!("{times} times as many readings would settle it")
            }
            Settle::BetterGauge => "a gauge of better accuracy would settle it".into(),
            Settle::OnTheLimit => "the value lies on the limit, no reading would settle it".into(),
            Settle::HoldAt { reading } => format!(
                "held at {} ({}) or more on this gauge it would be settled; never above the test pressure marked on the hose",
                up(reading, units::Kind::Pressure, System::Us),
                up(reading, units::Kind::Pressure, System::Si)
            ),
            Settle::HoldFor { seconds } => format!(
                "held for {} it would be settled",
                hydraulics::units::decimal((seconds / 6.0).ceil() / 10.0, 1) + " min"
            ),
        }
    }
}

/// `value` in a unit of `system`, no lower than it is.
fn up(value: f64, kind: units::Kind, system: System) -> String {
    let unit = kind.unit(system);
    let tens = 10.0_f64.powi(kind.decimals(system) as i32);
    let whole = (unit.from_si(value) * tens - 1e-9).ceil() / tens;
    show(kind, Pressure::of_si(unit.to_si(whole)), system)
}

/// Is `estimate` between `limits`, the ends included?
pub fn judge(estimate: &Estimate, limits: (f64, f64)) -> Judged {
    let (low, high) = limits;
    let verdict = if !(estimate.low.is_finite() && estimate.high.is_finite()) {
        Verdict::NotProven
    } else if estimate.low >= low && estimate.high <= high {
        Verdict::Pass
    } else if estimate.high < low || estimate.low > high {
        Verdict::Fail
    } else {
        Verdict::NotProven
    };
    Judged {
        what: estimate.name.clone(),
        verdict,
        value: estimate.value,
        limits,
        settle: (verdict == Verdict::NotProven).then(|| settle(estimate, limits)),
    }
}

/// Most times the readings that anybody would take.
const MOST_TIMES: f64 = 20.0;

fn settle(estimate: &Estimate, (low, high): (f64, f64)) -> Settle {
    let room = (estimate.value - low)
        .abs()
        .min((estimate.value - high).abs());
    let needed = room / coverage_factor(LEVEL, f64::INFINITY);
    let squares = |kind: Kind| {
        let of_kind = estimate
            .budget
            .contributions
            .iter()
            .filter(|c| c.kind == kind);
        of_kind.map(|c| c.standard * c.standard).sum::<f64>()
    };
    let (scatter, gauges) = (squares(Kind::A), squares(Kind::B));
    let left = needed * needed - gauges;
    if needed <= 0.05 * estimate.standard {
        Settle::OnTheLimit
    } else if left <= 0.0 || scatter / left > MOST_TIMES {
        Settle::BetterGauge
    } else {
        // As many as the square of scatter asks for, and some for knowing it better.
        Settle::MoreReadings {
            times: (scatter / left).ceil().clamp(2.0, MOST_TIMES) as u32,
        }
    }
}

/// An automatic nozzle's pressures at the ends of its range (`ends`, Pa), by the 15 psi
/// on either side of `rated`. The worst of them is the verdict on the nozzle.
pub fn judge_automatic(ends: &[Estimate], rated: Pressure) -> Vec<Judged> {
    let band = psi(AUTOMATIC_PSI);
    let limits = ((rated - band).si(), (rated + band).si());
    ends.iter().map(|end| judge(end, limits)).collect()
}

/// A nozzle's `flow` (m3/s) at its rated pressure by its rated flow, up to 10 % above.
pub fn judge_rated_flow(flow: &Estimate, rated: VolumeRate) -> Judged {
    judge(flow, (rated.si(), (1.0 + ABOVE_RATED) * rated.si()))
}

/// A pump's net pressures (Pa) at 50, 70 and 100 % of its rated flow, as
/// [`PumpCapability::rated`](super::PumpCapability::rated) gives them, by the standard
/// rating points: 250, 200 and 150 psi (cases PS-A01 to PS-A03, seen).
pub fn judge_pump(nets: &[Estimate]) -> Vec<Judged> {
    let points = nets.iter().zip(STANDARD_POINTS);
    points
        .map(|(net, (least, _))| judge(net, (psi(least).si(), f64::INFINITY)))
        .collect()
}
