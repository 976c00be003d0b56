//! What a test says.

use super::model::Subject;
use crate::fact::Said;
use crate::figure::Figure;
use crate::notice::Notice;
use crate::reduce::{Budget, Verdict};

/// One value that a test found, beside the book's.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// What it is: "friction coefficient C", "nozzle pressure at the lowest flow".
    pub name: String,
    /// The value.
    pub value: Measured,
    /// Combined standard uncertainty.
    pub standard: Measured,
    /// The ends of the 95 % interval.
    pub between: [Measured; 2],
    /// Effective degrees of freedom; infinite where all is taken as known.
    pub degrees: f64,
    /// What the uncertainty is made of, in the unit of the SI value.
    pub budget: Budget,
    /// The value that the book has so far.
    pub book: Option<Measured>,
    /// What that one is: "published", "measured 2025-05-10", "rated".
    pub book_is: String,
    /// The 95 % interval leaves the book's value out.
    pub told_apart: bool,
}

/// A value of a test: a quantity, or a number whose unit depends on the system, as C.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Measured {
    /// A quantity.
    Figure(Figure),
    /// A number in US and in metric use, each with its unit, and its decimals.
    Number {
        /// The number in US use.
        us: f64,
        /// Its unit there; may be empty.
        us_unit: &'static str,
        /// The number in SI use.
        si: f64,
        /// Its unit there; may be empty.
        si_unit: &'static str,
        /// Decimals worth reading, US and SI.
        decimals: [usize; 2],
    },
}

/// What a verdict was made by: a limit on each side, where there is one.
#[derive(Debug, Clone, PartialEq)]
pub struct Bound {
    /// What was judged, in words.
    pub what: String,
    /// Pass, fail or not proven.
    pub verdict: Verdict,
    /// The measured value with the ends of its 95 % interval.
    pub value: [Figure; 3],
    /// The least allowed.
    pub least: Option<Figure>,
    /// The most allowed.
    pub most: Option<Figure>,
    /// Where the limit comes from, and that it is from memory where it is.
    pub source: &'static str,
    /// What would settle it, where it is not proven.
    pub settle: Option<String>,
}

/// A point of the test as the fit sees it.
#[derive(Debug, Clone, PartialEq)]
pub struct Seen {
    /// Which point, from 1.
    pub point: u32,
    /// Its time, may be empty.
    pub time: String,
    /// What was read, by the words of its place.
    pub read: Vec<(&'static str, Figure)>,
    /// Measured less expected.
    pub residual: Figure,
    /// The same in standard deviations of the fit without it.
    pub studentised: f64,
    /// It stands out: look for the cause.
    pub stands_out: bool,
    /// It was left out of the fit, and why.
    pub left_out: Option<String>,
    /// What was remarked; may be empty.
    pub remark: String,
}

/// A gauge that does not agree with the others.
#[derive(Debug, Clone, PartialEq)]
pub struct Suspect {
    /// The gauges, any of which may be it; one where the readings tell them apart.
    pub gauges: Vec<String>,
    /// What it is off by, and the ends of its 95 % interval: the first is the value.
    pub off: [Figure; 3],
    /// How likely sound gauges would look like that.
    pub chance: f64,
    /// What it does to the results, and what to do, in words.
    pub words: String,
}

/// A point in a drawing, SI.
#[derive(Debug, Clone, PartialEq)]
pub struct DrawnPoint {
    /// Which point, from 1.
    pub point: u32,
    /// Along, and the half-length of its bar (95 %).
    pub x: [f64; 2],
    /// Up, and the half-length of its bar (95 %).
    pub y: [f64; 2],
    /// Measured less expected, in the unit of `y`.
    pub residual: f64,
    /// It stands out, or was left out.
    pub stands_out: bool,
}

/// What a drawing of a fit is made of, SI.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawn {
    /// What goes along: a name and a figure kind ("flow", "nozzle pressure").
    pub x: (&'static str, hydraulics::units::Kind),
    /// What goes up.
    pub y: (&'static str, hydraulics::units::Kind),
    /// The points.
    pub points: Vec<DrawnPoint>,
    /// The fit: x, y, and the lower and upper end of its 95 % band.
    pub fit: Vec<[f64; 4]>,
    /// What the book says: x, y; empty where it says nothing.
    pub book: Vec<[f64; 2]>,
}

/// A test, reduced: what it found and what it proves.
#[derive(Debug, Clone, PartialEq)]
pub struct Proof {
    /// What it is about.
    pub subject: Subject,
    /// The day of it.
    pub date: String,
    /// The law in words, its equation and its source.
    pub law: String,
    /// The gauges it was read with, by their names in the book.
    pub gauges: Vec<String>,
    /// What was found. Empty where the test could not be reduced, as a notice says.
    pub found: Vec<Found>,
    /// The verdicts.
    pub bounds: Vec<Bound>,
    /// The points.
    pub points: Vec<Seen>,
    /// How likely such scatter is from the gauges alone; none where they tell nothing.
    pub scatter_chance: Option<f64>,
    /// How likely such departure from the law is from the scatter of repeats alone; none
    /// without repeats.
    pub lack_of_fit: Option<f64>,
    /// How the fit stopped and what is left, in words.
    pub stopped: String,
    /// Problems and cautions.
    pub notices: Vec<Notice>,
    /// What its drawing is made of.
    pub drawn: Option<Drawn>,
    /// More to know, as name and value: gauges, water, what was measured where.
    pub facts: Vec<(&'static str, Said)>,
}
