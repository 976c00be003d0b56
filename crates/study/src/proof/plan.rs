//! What to read on a test day, with which gauges, how often.
//!
//! The expected readings are those of the book. Reducing them as if they had been read
//! gives the uncertainty that the gauges alone allow: from once and twice the readings,
//! s^2 = a / repeats + b, where b is what no number of repeats takes away.

use super::found::Measured;
use super::gauges;
use super::model::{Day, Place, Reading, Subject, Test};
use super::planned::{self, Planned};
use super::points::has_gauge;
use super::prove::prove;
use crate::figure::Figure;
use crate::notice::{Notice, Weight};
use crate::operating::{StudyError, solve_plain};
use crate::reduce::{LEVEL, coverage_factor};
use book::{Book, Conditions, GaugeItem, PartKind};
use hydraulics::units::Measure;
use std::collections::BTreeMap;

/// What a plan is to reach, and with what.
#[derive(Debug, Clone, PartialEq)]
pub struct Wish {
    /// Half of the 95 % interval that is wanted, as a share of the value: 0.05.
    pub share: f64,
    /// The gauge for a place, by its name in the book; the best of the book where none
    /// is told.
    pub gauges: BTreeMap<Place, String>,
    /// The day of the test, as "2026-05-11", for the age of calibrations; may be empty.
    pub date: String,
    /// More repeats than this nobody takes.
    pub most_repeats: u32,
}

impl Default for Wish {
    fn default() -> Self {
        Wish {
            share: 0.05,
            gauges: BTreeMap::new(),
            date: String::new(),
            most_repeats: 10,
        }
    }
}

/// A plan of a test day.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// A test for each subject.
    pub items: Vec<PlanItem>,
    /// What to look out for on the day.
    pub cautions: Vec<Notice>,
}

/// The plan of one test.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanItem {
    /// What it is about.
    pub subject: Subject,
    /// What it is called.
    pub title: String,
    /// How to lay it out, in words.
    pub layout: String,
    /// What stands where.
    pub gauges: Vec<GaugeAt>,
    /// The points to take.
    pub points: Vec<PlanPoint>,
    /// How often each point is read.
    pub repeats: u32,
    /// What the test will find, and how well.
    pub expected: Vec<Expected>,
    /// Problems and cautions.
    pub notices: Vec<Notice>,
}

/// A gauge in its place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct GaugeAt {
    /// The place.
    pub place: Place,
    /// The gauge by its name in the book; empty where the book has none for it.
    pub gauge: String,
    /// Where that is, in words.
    pub words: String,
}

/// A point to take.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanPoint {
    /// Which, from 1.
    pub number: u32,
    /// What it is, in words without figures.
    pub target: String,
    /// What to set, and to which value.
    pub steer: (Place, Figure),
    /// What is expected to be read, by the book.
    pub expected: Vec<(Place, Figure)>,
}

/// What a test will find, and how well.
#[derive(Debug, Clone, PartialEq)]
pub struct Expected {
    /// What.
    pub name: String,
    /// The value that the book has.
    pub value: Measured,
    /// Half of the 95 % interval, with the repeats of the plan.
    pub half: Measured,
    /// The same as a share of the value.
    pub share: f64,
    /// The share below which no number of repeats comes: the gauges' own accuracy.
    pub floor: f64,
    /// The share that was wanted.
    pub wanted: f64,
    /// Is it reached?
    pub reached: bool,
    /// The gauge that stands most in the way.
    pub limited_by: Option<String>,
}

/// Why there is no plan.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ProofError {
    /// The line cannot be laid out.
    #[error(transparent)]
    Line(#[from] StudyError),
    /// The book does not have it, or it cannot be tested.
    #[error("{subject}: {why}")]
    Subject {
        /// What was to be tested.
        subject: String,
        /// Why not, and what to do.
        why: String,
    },
    /// A gauge that the book does not have.
    #[error("the book has no gauge \"{gauge}\" for the {place}: write it into the book")]
    Gauge {
        /// The gauge.
        gauge: String,
        /// Where it was to stand.
        place: &'static str,
    },
    /// A share that nobody could reach.
    #[error("{share} is no uncertainty to plan for: give a share above 0 and below 1, as 0.05")]
    Share {
        /// What was wanted.
        share: f64,
    },
}

/// What there is to test of a line: its hoses and its nozzles, each once.
///
/// # Errors
/// [`ProofError::Line`] when the line cannot be laid out.
///
/// ```
/// let text = b"[book]\nname = 'Example'\n[line.left]\n\
///     parts = [{ hose = '2.5 in', length = '200 ft' }, { nozzle = '1-1/8 in smooth bore' }]\n";
/// let book = book::read(text, "example.toml")?;
/// let subjects = study::proof::subjects_of(&book, "left")?;
/// assert_eq!(subjects[0].to_string(), "hose 2.5 in");
/// assert_eq!(subjects[1].to_string(), "nozzle 1-1/8 in smooth bore");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn subjects_of(book: &Book, line: &str) -> Result<Vec<Subject>, ProofError> {
    let layout = book::layout(book, line, &Conditions::default()).map_err(StudyError::from)?;
    let mut subjects: Vec<Subject> = Vec::new();
    let hoses = layout
        .parts
        .iter()
        .filter(|part| part.kind == PartKind::Hose);
    for part in hoses {
        let hose = part.name.clone();
        let subject = Subject::Hose {
            hose,
            find: super::model::Find::C,
        };
        if !subjects.contains(&subject) {
            subjects.push(subject);
        }
    }
    for tip in &layout.tips {
        let subject = Subject::Nozzle {
            nozzle: tip.name.clone(),
            setting: tip.setting.clone(),
        };
        if !subjects.contains(&subject) {
            subjects.push(subject);
        }
    }
    Ok(subjects)
}

/// Plans a test of each of `subjects`.
///
/// # Errors
/// [`ProofError`] when the book does not have a subject or a gauge.
///
/// ```
/// let text = b"[book]\nname = 'Example'\n[line.left]\n\
///     parts = [{ hose = '2.5 in', length = '200 ft' }, { nozzle = '1-1/8 in smooth bore' }]\n";
/// let book = book::read(text, "example.toml")?;
/// let subjects = study::proof::subjects_of(&book, "left")?;
/// let plan = study::proof::plan(&book, &subjects, &Default::default())?;
/// // The first point is read with the water shut off.
/// assert_eq!(plan.items[0].points[0].steer.1.show(hydraulics::units::System::Us), "0 gpm");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn plan(book: &Book, subjects: &[Subject], wish: &Wish) -> Result<Plan, ProofError> {
    if !(wish.share > 0.0 && wish.share < 1.0) {
        return Err(ProofError::Share { share: wish.share });
    }
    let items: Result<Vec<PlanItem>, ProofError> = subjects
        .iter()
        .map(|subject| item(book, subject, wish))
        .collect();
    Ok(Plan {
        items: items?,
        cautions: cautions(),
    })
}

fn item(book: &Book, subject: &Subject, wish: &Wish) -> Result<PlanItem, ProofError> {
    let planned = planned::of(book, subject).ok_or_else(|| ProofError::Subject {
        subject: subject.to_string(),
        why: "the book does not have it, or not what a test of it needs: look at its entry".into(),
    })?;
    let gauges = gauges_at(book, &planned, wish)?;
    let (mut expected, repeats) = uncertainty(book, subject, &planned, &gauges, wish);
    let proof = proved(book, subject, &planned, &gauges, wish, repeats);
    for value in &mut expected {
        value.reached = value.share <= value.wanted * 1.000_001;
    }
    let mut notices: Vec<Notice> = proof
        .notices
        .into_iter()
        .filter(|n| n.code.starts_with("calibration") || n.code == "gauge_unknown")
        .filter(|n| !(wish.date.is_empty() && n.code == "calibration_old"))
        .collect();
    notices.extend(expected.iter().filter_map(out_of_reach));
    notices.extend(planned.notices.iter().cloned());
    Ok(PlanItem {
        subject: subject.clone(),
        title: planned.title.clone(),
        layout: planned.layout.into(),
        gauges,
        points: planned
            .points
            .iter()
            .zip(1..)
            .map(|(p, n)| p.shown(n))
            .collect(),
        repeats,
        expected,
        notices,
    })
}

/// The uncertainty with as many repeats as are needed, or as many as anybody takes.
fn uncertainty(
    book: &Book,
    subject: &Subject,
    planned: &Planned,
    gauges: &[GaugeAt],
    wish: &Wish,
) -> (Vec<Expected>, u32) {
    let once = proved(book, subject, planned, gauges, wish, 1);
    let twice = proved(book, subject, planned, gauges, wish, 2);
    let factor = coverage_factor(LEVEL, f64::INFINITY);
    let us = hydraulics::units::System::Us;
    let mut repeats = 1_u32;
    let mut found = Vec::new();
    for (one, two) in once.found.iter().zip(&twice.found) {
        let value = one.value.number(us).abs().max(1e-12);
        let share = |f: &super::found::Found| factor * f.standard.number(us) / value;
        let (s1, s2) = (share(one).powi(2), share(two).powi(2));
        let by_reading = (2.0 * (s1 - s2)).max(0.0);
        let floor = (s1 - by_reading).max(0.0);
        let room = wish.share.powi(2) - floor;
        let needed = match room > 0.0 {
            true => (by_reading / room - 1e-9).ceil().max(1.0),
            // No number of repeats reaches it; from here on they hardly help.
            false => (by_reading / (0.25 * floor).max(1e-18))
                .ceil()
                .clamp(1.0, 3.0),
        };
        repeats = repeats.max(needed.min(f64::from(wish.most_repeats.max(1))) as u32);
        found.push((one, two, by_reading, floor));
    }
    let expected = found.into_iter().map(|(one, _, by_reading, floor)| {
        let share = (by_reading / f64::from(repeats) + floor).sqrt();
        Expected {
            name: one.name.clone(),
            value: one.value,
            half: scaled(&one.value, share),
            share,
            floor: floor.sqrt(),
            wanted: wish.share,
            reached: false,
            limited_by: widest(one),
        }
    });
    (expected.collect(), repeats)
}

/// `share` of a value.
fn scaled(value: &Measured, share: f64) -> Measured {
    match *value {
        Measured::Figure(figure) => Measured::Figure(figure.times(share).fine()),
        Measured::Number {
            us,
            us_unit,
            si,
            si_unit,
            decimals,
        } => Measured::Number {
            us: us * share,
            us_unit,
            si: si * share,
            si_unit,
            decimals: decimals.map(|d| d + 1),
        },
    }
}

/// The gauge whose own accuracy counts most.
fn widest(found: &super::found::Found) -> Option<String> {
    let parts = found.budget.contributions.iter();
    let gauges = parts.filter_map(|part| {
        let gauge = part.what.strip_prefix("accuracy of ")?;
        (part.standard > 0.0).then_some((gauge, part.standard))
    });
    let widest = gauges.max_by(|a, b| a.1.total_cmp(&b.1));
    widest.map(|(gauge, _)| gauge.to_string())
}

fn out_of_reach(expected: &Expected) -> Option<Notice> {
    if expected.reached {
        return None;
    }
    let gauge = expected.limited_by.clone().unwrap_or_default();
    Some(match expected.floor > expected.wanted {
        true => Notice::new(
            "gauge_too_wide",
            Weight::Caution,
            format!(
                "{}: no number of repeats reaches the uncertainty that is wanted, as the \
                 gauges' own accuracy is too wide",
                expected.name
            ),
        )
        .at(gauge)
        .mend("use a gauge of better accuracy there, or be content with less"),
        false => Notice::new(
            "too_many_repeats",
            Weight::Caution,
            format!(
                "{}: it would take more repeats than anybody takes to reach the uncertainty \
                 that is wanted",
                expected.name
            ),
        )
        .at(gauge)
        .mend("use a gauge that is read more finely, or be content with less"),
    })
}

/// The proof of what is expected to be read, `repeats` times.
fn proved(
    book: &Book,
    subject: &Subject,
    planned: &Planned,
    gauges: &[GaugeAt],
    wish: &Wish,
    repeats: u32,
) -> super::found::Proof {
    let mut readings = Vec::new();
    let all = (0..repeats).flat_map(|_| &planned.points);
    for (point, number) in all.zip(1..) {
        for (place, value) in &point.values {
            let gauge = gauges.iter().find(|g| g.place == *place);
            readings.push(Reading {
                point: number,
                place: *place,
                value: *value,
                written: String::new(),
                gauge: gauge.map_or(String::new(), |g| g.gauge.clone()),
                resolution: None,
                calibrated: None,
                time: String::new(),
                remark: String::new(),
            });
        }
    }
    let test = Test {
        subject: subject.clone(),
        date: wish.date.clone(),
        pitot_tip: planned.pitot_tip.clone(),
        readings,
    };
    let mut proved = prove(book, &Day { tests: vec![test] });
    match proved.proofs.pop() {
        Some(proof) => proof,
        // A day of one test has one proof.
        None => super::prove::empty(subject, &wish.date),
    }
}

/// A gauge for each place that has one: those that were asked for, else the most
/// accurate of the book, none twice in a test.
fn gauges_at(book: &Book, planned: &Planned, wish: &Wish) -> Result<Vec<GaugeAt>, ProofError> {
    let mut list: Vec<GaugeAt> = Vec::new();
    for (place, words) in &planned.places {
        let asked = wish.gauges.get(place);
        let gauge = match asked {
            Some(gauge) if !book.gauge.contains_key(gauge) => {
                return Err(ProofError::Gauge {
                    gauge: gauge.clone(),
                    place: place.word(),
                });
            }
            Some(gauge) => gauge.clone(),
            None if has_gauge(*place) => {
                let used: Vec<&str> = list.iter().map(|g| g.gauge.as_str()).collect();
                best(book, planned, *place, &used).unwrap_or_default()
            }
            None => String::new(),
        };
        list.push(GaugeAt {
            place: *place,
            gauge,
            words: (*words).into(),
        });
    }
    Ok(list)
}

/// The gauge of the book that is off by least at what is expected to be read, and
/// reaches that far.
fn best(book: &Book, planned: &Planned, place: Place, used: &[&str]) -> Option<String> {
    let values = planned.points.iter().flat_map(|p| &p.values);
    let most = values
        .filter(|(at, _)| *at == place)
        .map(|(_, v)| *v)
        .fold(0.0, f64::max);
    let fits = |(name, item): &(&String, &GaugeItem)| {
        let [.., highest] = item.si();
        item.is_flow() == (place == Place::Flow)
            && !used.contains(&name.as_str())
            && highest.is_none_or(|highest| highest >= most)
            // A pitot is no gauge to screw on, and the other way round.
            && (place == Place::Pitot) == name.contains("pitot")
    };
    let off = |item: &GaugeItem| {
        let gauge = gauges::of_book("", item);
        let off = gauge.shared(most).hypot(gauge.random());
        // What nothing is known of comes last.
        if off > 0.0 { off } else { f64::INFINITY }
    };
    let fitting = book.gauge.iter().filter(fits);
    let best = fitting.min_by(|a, b| off(a.1).total_cmp(&off(b.1)));
    best.map(|(name, _)| name.clone())
}

/// The flows of the lines that use `hose`, SI.
pub(super) fn used(book: &Book, hose: &str) -> Vec<f64> {
    let plain = Conditions::default();
    let answers = book
        .line
        .keys()
        .filter_map(|line| solve_plain(book, line, &plain).ok());
    let parts = answers.flat_map(|answer| answer.parts);
    let flows = parts
        .filter(|part| part.name == hose)
        .map(|part| part.flow.si());
    flows.filter(|flow| *flow > 0.0).collect()
}

fn cautions() -> Vec<Notice> {
    let caution =
        |code, text: &str, mend: &str| Notice::new(code, Weight::Caution, text).mend(mend);
    vec![
        caution(
            "reaction",
            "a nozzle pushes back as hard on the test ground as at a fire, and loose hose whips",
            "tie nozzles down or man them as the reaction asks, and keep everybody out of the \
             line of the hose",
        ),
        caution(
            "service_pressure",
            "hose and gauges burst above what they are made for",
            "never go above the hose's service pressure or the end of a gauge's scale",
        ),
        caution(
            "shut_slowly",
            "shutting off quickly sends a surge through hose and pump",
            "open and shut slowly",
        ),
        caution(
            "settle",
            "readings taken while flow still changes belong to no point",
            "let every point settle, and read all gauges of it together (common practice, no \
             source)",
        ),
        caution(
            "surroundings",
            "streams reach further than they look",
            "keep clear of electric lines by the local clearance, of traffic, and of places \
             where water freezes or washes out",
        ),
        caution(
            "local_rules",
            "this plan does not replace local rules, the makers' instructions or qualified people",
            "have the authority having jurisdiction agree to the test",
        ),
    ]
}
