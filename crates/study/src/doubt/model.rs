//! What draws give back.

use crate::choose::Limit;
use crate::figure::Figure;
use crate::notice::Notice;
use book::comparison::AimKind;

/// How a doubtful value is spread. Values are in SI.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Spread {
    /// It is known.
    Exact(f64),
    /// Any value from the first to the second is as likely as another.
    Even(f64, f64),
    /// A normal distribution, by mean and standard deviation, cut off at the two ends.
    Normal {
        /// Mean.
        mean: f64,
        /// Standard deviation.
        sd: f64,
        /// The lowest value that can be.
        low: f64,
        /// The highest.
        high: f64,
    },
    /// A triangle: lowest, most likely and highest value.
    Triangle(f64, f64, f64),
    /// Nothing, but with this chance anything from nothing to the second.
    Sometimes(f64, f64),
}

/// What something doubtful is about.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum UnsureOf {
    /// Friction coefficient of a hose.
    Hose(String),
    /// Flow of a nozzle at its pressure.
    Nozzle(String),
    /// What an automatic nozzle's regulator does inside its band.
    Regulator(String),
    /// Gauge and governor of a rig's pump; the rig.
    Pump(String),
    /// The length of all hose.
    Length,
    /// Height of the tips of a line; of all lines alike when empty.
    Rise(String),
    /// How far the shut-offs of a line are open; of all lines when empty.
    Gate(String),
    /// A kink in the last hose of a line; of all lines when empty.
    Kink(String),
}

/// Something doubtful.
#[derive(Debug, Clone, PartialEq)]
pub struct Unsure {
    /// What it is about.
    pub of: UnsureOf,
    /// In words: "C of attack".
    pub name: String,
    /// How it is spread; a factor of the book's value where `factor`.
    pub spread: Spread,
    /// The spread is of a factor, 1 being the book's value.
    pub factor: bool,
    /// Where the spread comes from: a published spread, a measurement with its date,
    /// the comparison.
    pub source: String,
    /// What would lessen it: "test the hose: ...".
    pub mend: String,
}

/// How sure one choice on its lines is.
#[derive(Debug, Clone, PartialEq)]
pub struct Doubted {
    /// Days drawn.
    pub draws: u64,
    /// Where the draws began.
    pub seed: u64,
    /// Days on which no physical answer was found; they count as missed.
    pub unsolved: u64,
    /// What was doubtful.
    pub unsure: Vec<Unsure>,
    /// Values over the days, of each aim that changes with them, in the order of the
    /// aims: the worst line of each day.
    pub over_days: Vec<Held>,
    /// Share of the days on which each limit holds, in the order of the limits, with
    /// half of its 95 % interval.
    pub holds: Vec<(Limit, f64, f64)>,
    /// Share of the days on which all of them hold, with half of its 95 % interval.
    pub all_hold: (f64, f64),
    /// Whose doubt it is, by aim: one row for each thing unsure, the largest total
    /// first. Empty where a value has no doubt.
    pub shares: Vec<(AimKind, Vec<Share>)>,
    /// Two sentences for each aim that is doubtful: "Flow: about two thirds of the doubt
    /// is C of attack. To lessen it, test the hose: ...".
    pub words: Vec<String>,
    /// What was taken as exact though nobody says so, and other cautions.
    pub notices: Vec<Notice>,
}

/// How sure the flows of a scene are, pumps and outlets as they are set.
#[derive(Debug, Clone, PartialEq)]
pub struct SceneDoubted {
    /// The scene.
    pub scene: String,
    /// Days drawn.
    pub draws: u64,
    /// Where the draws began.
    pub seed: u64,
    /// Days on which no physical answer was found; they count as missed.
    pub unsolved: u64,
    /// What was doubtful.
    pub unsure: Vec<Unsure>,
    /// The tips, in the order of the scene.
    pub tips: Vec<TipDoubted>,
    /// Share of the days on which every tip that has an aim meets it, with half of its
    /// 95 % interval; `None` where no tip has one.
    pub all_meet: Option<(f64, f64)>,
    /// In sentences, whose doubt it is.
    pub words: Vec<String>,
    /// What was taken as exact though nobody says so, and other cautions.
    pub notices: Vec<Notice>,
}

/// How sure the flow of one tip is.
#[derive(Debug, Clone, PartialEq)]
pub struct TipDoubted {
    /// Its line, by its name in the scene.
    pub line: String,
    /// Its place in the line.
    pub place: String,
    /// The nozzle.
    pub nozzle: String,
    /// Its flow over the days.
    pub flow: Held,
    /// Share of the days on which it meets its aim, with half of its 95 % interval;
    /// `None` without an aim.
    pub meets: Option<(f64, f64)>,
    /// Whose doubt it is, the largest total first; empty where there is none.
    pub shares: Vec<Share>,
}

/// One value over the days.
#[derive(Debug, Clone, PartialEq)]
pub struct Held {
    /// The aim that it is of.
    pub aim: AimKind,
    /// Mean.
    pub mean: Figure,
    /// Standard deviation.
    pub sd: Figure,
    /// Value that 5 % of the days stay below, half of them, 95 % of them.
    pub quantiles: [Figure; 3],
    /// How often each value came.
    pub histogram: Histogram,
}

/// Counts of values in bins of equal width.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Histogram {
    /// The lower end of the first bin, in SI.
    pub low: f64,
    /// The upper end of the last.
    pub high: f64,
    /// How many values each holds.
    pub counts: Vec<u64>,
}

/// How much of a value's variance comes from one doubtful thing.
#[derive(Debug, Clone, PartialEq)]
pub struct Share {
    /// Its name, as in [`Unsure::name`].
    pub name: String,
    /// First-order index: share of the variance that it brings by itself, and half of
    /// the 95 % interval of that estimate.
    pub first: (f64, f64),
    /// Total index: share of the variance that is gone only when it is known, and the
    /// same.
    pub total: (f64, f64),
    /// Value with everything else at its middle and this at its 5 % and 95 % value.
    pub swing: [Figure; 2],
}
