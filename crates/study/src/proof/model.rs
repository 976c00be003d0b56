//! What is read on a test day.

use hydraulics::units::Kind;
use std::fmt;

/// What a test of hose is to find.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Find {
    /// The friction coefficient C.
    C,
    /// C and the exponent of flow.
    Exponent,
    /// The roughness, from a bore that was measured.
    Roughness,
}

/// What a test is about, by its name in the book.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Subject {
    /// The friction of a hose.
    Hose {
        /// The hose.
        hose: String,
        /// What is to be found.
        find: Find,
    },
    /// The law of a nozzle: a tip's discharge coefficient, a fixed factor, an automatic
    /// nozzle's range.
    Nozzle {
        /// The nozzle.
        nozzle: String,
        /// Its setting, where it has several.
        setting: Option<String>,
    },
    /// What a rig's pump can do.
    Pump {
        /// The rig.
        rig: String,
    },
    /// A hydrant's curve.
    Hydrant {
        /// The hydrant.
        hydrant: String,
    },
    /// The service test of a hose: a pressure held for a time.
    Service {
        /// The hose.
        hose: String,
    },
}

impl Subject {
    /// The words for its kind and for what it is about, as records and files hold them:
    /// ("nozzle", "twin: high").
    ///
    /// ```
    /// use study::proof::Subject;
    /// let twin = Subject::Nozzle { nozzle: "twin".into(), setting: Some("high".into()) };
    /// assert_eq!(twin.words(), ("nozzle", "twin: high".to_string()));
    /// assert_eq!(Subject::called("nozzle", "twin: high"), Some(twin));
    /// ```
    pub fn words(&self) -> (&'static str, String) {
        match self {
            Subject::Hose { hose, find } => {
                let kind = match find {
                    Find::C => "hose",
                    Find::Exponent => "hose exponent",
                    Find::Roughness => "hose roughness",
                };
                (kind, hose.clone())
            }
            Subject::Nozzle { nozzle, setting } => {
                let about = match setting {
                    Some(setting) => format!("{nozzle}: {setting}"),
                    None => nozzle.clone(),
                };
                ("nozzle", about)
            }
            Subject::Pump { rig } => ("pump", rig.clone()),
            Subject::Hydrant { hydrant } => ("hydrant", hydrant.clone()),
            Subject::Service { hose } => ("service test", hose.clone()),
        }
    }

    /// What the words of [`Subject::words`] mean.
    pub fn called(kind: &str, about: &str) -> Option<Self> {
        let name = about.to_string();
        let hose = |find| Subject::Hose {
            hose: name.clone(),
            find,
        };
        Some(match kind {
            "hose" => hose(Find::C),
            "hose exponent" => hose(Find::Exponent),
            "hose roughness" => hose(Find::Roughness),
            "nozzle" => match about.rsplit_once(": ") {
                Some((nozzle, setting)) => Subject::Nozzle {
                    nozzle: nozzle.into(),
                    setting: Some(setting.into()),
                },
                None => Subject::Nozzle {
                    nozzle: name,
                    setting: None,
                },
            },
            "pump" => Subject::Pump { rig: name },
            "hydrant" => Subject::Hydrant { hydrant: name },
            "service test" => Subject::Service { hose: name },
            _ => return None,
        })
    }

    /// What is read at each point of such a test, in the order of the form.
    pub fn places(&self) -> &'static [Place] {
        match self {
            Subject::Hose { .. } => &[
                Place::Flow,
                Place::Pitot,
                Place::Inlet,
                Place::Outlet,
                Place::Rise,
                Place::Length,
            ],
            Subject::Nozzle { .. } => &[Place::Flow, Place::Pitot, Place::Tip],
            Subject::Pump { .. } => &[Place::Flow, Place::Pitot, Place::Intake, Place::Discharge],
            Subject::Hydrant { .. } => &[Place::Flow, Place::Pitot, Place::Residual],
            Subject::Service { .. } => &[Place::Held, Place::Minutes],
        }
    }
}

impl fmt::Display for Subject {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (kind, about) = self.words();
        write!(f, "{kind} {about}")
    }
}

/// Where a value is read, and so what it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Place {
    /// Flow by a meter; nought for the static reading of a hydrant.
    Flow,
    /// Pitot pressure at a solid tip or an outlet, from which the flow follows.
    Pitot,
    /// Pressure where the hose begins.
    Inlet,
    /// Pressure where the hose ends.
    Outlet,
    /// Nozzle pressure.
    Tip,
    /// Pressure at the pump's intake.
    Intake,
    /// Pump discharge pressure.
    Discharge,
    /// Pressure at the hydrant while others flow.
    Residual,
    /// How far the hose's end is above its beginning.
    Rise,
    /// Length of the hose.
    Length,
    /// Pressure that a hose was held at.
    Held,
    /// How long it was held.
    Minutes,
}

impl Place {
    /// All of them.
    pub const ALL: [Place; 12] = [
        Place::Flow,
        Place::Pitot,
        Place::Inlet,
        Place::Outlet,
        Place::Tip,
        Place::Intake,
        Place::Discharge,
        Place::Residual,
        Place::Rise,
        Place::Length,
        Place::Held,
        Place::Minutes,
    ];

    /// The words for it, as records and the heads of tables hold them.
    pub fn word(self) -> &'static str {
        match self {
            Place::Flow => "flow",
            Place::Pitot => "pitot pressure",
            Place::Inlet => "inlet pressure",
            Place::Outlet => "outlet pressure",
            Place::Tip => "nozzle pressure",
            Place::Intake => "intake pressure",
            Place::Discharge => "discharge pressure",
            Place::Residual => "residual pressure",
            Place::Rise => "rise",
            Place::Length => "length",
            Place::Held => "held pressure",
            Place::Minutes => "time held",
        }
    }

    /// The place that `word` means.
    pub fn called(word: &str) -> Option<Self> {
        Place::ALL.into_iter().find(|place| place.word() == word)
    }

    /// What its values are a measure of.
    pub fn kind(self) -> Kind {
        match self {
            Place::Flow => Kind::Flow,
            Place::Rise | Place::Length => Kind::Length,
            Place::Minutes => Kind::Time,
            _ => Kind::Pressure,
        }
    }
}

/// One value that was read.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// Which point of the test, from 1. Values of one point were read together.
    pub point: u32,
    /// Where.
    pub place: Place,
    /// The value in SI (Pa, m3/s, m, s).
    pub value: f64,
    /// As it was written, with its unit.
    pub written: String,
    /// The gauge by its name in the book; empty where none is told.
    pub gauge: String,
    /// The step of its scale in SI, where it is not the book's.
    pub resolution: Option<f64>,
    /// The day of its calibration, where it is not the book's, as "2026-05-11".
    pub calibrated: Option<String>,
    /// When, as "10:32"; may be empty.
    pub time: String,
    /// What there is to say; may be empty.
    pub remark: String,
}

/// A set of readings on one subject.
#[derive(Debug, Clone, PartialEq)]
pub struct Test {
    /// What it is about.
    pub subject: Subject,
    /// The day of it, as "2026-05-11".
    pub date: String,
    /// The solid tip (by its name in the book) on which pitot pressures were read, where
    /// it is not the subject.
    pub pitot_tip: Option<String>,
    /// What was read.
    pub readings: Vec<Reading>,
}

/// The tests of a day, with the same gauges.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Day {
    /// The tests.
    pub tests: Vec<Test>,
}
