//! A day's readings, reduced against the book.

use super::case::{Axes, Case, Setup};
use super::drawn::drawn;
use super::figures::figure;
use super::found::{Bound, Found, Proof, Seen, Suspect};
use super::gauges::{self, Corrected};
use super::model::{Day, Place, Subject, Test};
use super::points::{Point, points_of};
use super::reduction::Reduction;
use super::suspects::Gauges;
use super::{of_hose, of_hydrant, of_nozzle, of_pump, of_service};
use crate::fact::Said;
use crate::notice::{Notice, Weight};
use crate::reduce::{HoseRoughness, Stopped, Verdict, without};
use book::Book;

/// What is left out of a reduction, or corrected, and why.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Leave {
    /// Points that are not to count.
    pub points: Vec<LeftOut>,
    /// Gauges whose readings are corrected by what the day's other gauges say they are
    /// off by.
    pub gauges: Vec<String>,
}

/// A point that is not to count.
#[derive(Debug, Clone, PartialEq)]
pub struct LeftOut {
    /// Of which test.
    pub subject: Subject,
    /// Which point.
    pub point: u32,
    /// Why.
    pub why: String,
}

/// A day, reduced.
#[derive(Debug, Clone, PartialEq)]
pub struct Proved {
    /// The tests, in the order of the day.
    pub proofs: Vec<Proof>,
    /// Gauges that do not agree with the others, the surest first.
    pub suspects: Vec<Suspect>,
    /// What there is to say of the day as a whole.
    pub notices: Vec<Notice>,
}

/// Reduces the tests of `day` by the laws of their subjects, beside the values of
/// `book`. What cannot be reduced is a proof that has found nothing and says why.
///
/// ```
/// use hydraulics::units::System;
/// let book = book::read(b"[book]\nname = 'Example'\n", "example.toml")?;
/// let csv = b"test,date,flow (gpm),inlet (psi),outlet (psi),length (ft)\n\
///     hose 1.75 in,2026-05-11,161,99,50,200\n";
/// let day = study::proof::read_day(csv, "day.csv", &book, None)?.day;
/// let proved = study::proof::prove(&book, &day);
/// // Printed: 49 psi lost in 200 ft at 161 gpm is C 9.5 (case FL-U-09).
/// assert_eq!(proved.proofs[0].found[0].value.show(System::Us), "9.45");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn prove(book: &Book, day: &Day) -> Proved {
    prove_with(book, day, &Leave::default())
}

/// [`prove`] with points left out and gauges corrected. What is left out stays in the
/// proof's points, and says so.
pub fn prove_with(book: &Book, day: &Day, leave: &Leave) -> Proved {
    let plain: Vec<Work<'_>> = work(book, day, leave, &[]);
    let day_gauges = Gauges::of(&reductions(&plain));
    let suspects = day_gauges.suspects();
    let corrected = day_gauges.corrections(&leave.gauges);
    let mut notices = Vec::new();
    for gauge in &leave.gauges {
        notices.push(correction(gauge, &corrected, &suspects));
    }
    let works = match corrected.is_empty() {
        true => plain,
        false => work(book, day, leave, &corrected),
    };
    let mut proofs: Vec<Proof> = works
        .into_iter()
        .map(|work| finished(book, work, leave, &corrected))
        .collect();
    for proof in &mut proofs {
        touch(proof, &suspects, &corrected);
    }
    Proved {
        proofs,
        suspects,
        notices,
    }
}

/// A test and its reduction.
struct Work<'a> {
    test: &'a Test,
    all: Vec<Point<'a>>,
    reduced: Result<Done, Vec<Notice>>,
}

struct Done {
    reduction: Reduction,
    words: String,
    numbers: Vec<u32>,
    lacking: Vec<(u32, String)>,
    own: Option<Vec<f64>>,
    axes: Axes,
}

fn reductions<'a>(works: &'a [Work<'_>]) -> Vec<&'a Reduction> {
    let done = works.iter().filter_map(|work| work.reduced.as_ref().ok());
    done.map(|done| &done.reduction).collect()
}

fn work<'a>(book: &Book, day: &'a Day, leave: &Leave, corrected: &[Corrected]) -> Vec<Work<'a>> {
    let one = |test: &'a Test| {
        let all = points_of(test);
        let counts = |point: &&Point<'_>| {
            let out = |left: &LeftOut| left.subject == test.subject && left.point == point.number;
            !leave.points.iter().any(out)
        };
        let case = Case {
            book,
            test,
            points: all.iter().filter(counts).cloned().collect(),
            corrected,
        };
        Work {
            reduced: done(&case),
            test,
            all,
        }
    };
    day.tests.iter().map(one).collect()
}

fn setup(case: &Case<'_>) -> Option<Setup> {
    let book = case.book;
    match &case.test.subject {
        Subject::Hose { hose, find } => of_hose::setup(case, hose, *find),
        Subject::Nozzle { nozzle, setting } => {
            of_nozzle::setup(case, book.nozzle(nozzle)?.item, setting.as_deref())
        }
        Subject::Pump { rig } => of_pump::setup(case, book.rig.get(rig)?),
        Subject::Hydrant { hydrant } => of_hydrant::setup(case, book.hydrant.get(hydrant)?),
        Subject::Service { .. } => None,
    }
}

fn done(case: &Case<'_>) -> Result<Done, Vec<Notice>> {
    if matches!(case.test.subject, Subject::Service { .. }) {
        return Err(Vec::new());
    }
    let subject = case.test.subject.to_string();
    let Some(setup) = setup(case) else {
        let text = "this cannot be reduced: the book does not have it, its entry describes \
                    nothing that could be tested, or no point has all its values";
        let mend = "look at its entry in the book and at its readings";
        return Err(vec![limit("not_reduced", &subject, text).mend(mend)]);
    };
    match Reduction::of(setup.law, setup.rows) {
        Ok(reduction) => Ok(Done {
            reduction,
            words: setup.words,
            numbers: setup.numbers,
            lacking: setup.lacking,
            own: setup.book,
            axes: setup.axes,
        }),
        Err(error) => {
            let mut notices = lacking(&setup.lacking);
            notices.push(limit("not_reduced", &subject, &error.to_string()));
            Err(notices)
        }
    }
}

fn limit(code: &'static str, place: &str, text: &str) -> Notice {
    Notice::new(code, Weight::Limit, text).at(place)
}

fn lacking(points: &[(u32, String)]) -> Vec<Notice> {
    let one = |(point, what): &(u32, String)| {
        Notice::new(
            "point_incomplete",
            Weight::Caution,
            format!("{what}: the point is not used"),
        )
        .at(format!("point {point}"))
        .mend("complete it, or read it anew")
    };
    points.iter().map(one).collect()
}

fn finished(book: &Book, work: Work<'_>, leave: &Leave, corrected: &[Corrected]) -> Proof {
    let case = Case {
        book,
        test: work.test,
        points: work.all,
        corrected,
    };
    let mut proof = Proof {
        gauges: gauges::names(work.test),
        notices: gauges::notices(book, work.test),
        ..empty(&work.test.subject, &work.test.date)
    };
    match work.reduced {
        Ok(done) => fill(&mut proof, &case, &done, leave),
        Err(notices) => {
            proof.notices.extend(notices);
            proof.points = case
                .points
                .iter()
                .map(|p| plain_point(&case, p, leave))
                .collect();
            if let Subject::Service { hose } = &work.test.subject {
                service(&mut proof, &case, hose);
            }
        }
    }
    proof.notices.sort_by_key(|n| std::cmp::Reverse(n.weight));
    proof
}

/// A proof that has found nothing yet.
pub(super) fn empty(subject: &Subject, date: &str) -> Proof {
    Proof {
        subject: subject.clone(),
        date: date.into(),
        law: String::new(),
        gauges: Vec::new(),
        found: Vec::new(),
        bounds: Vec::new(),
        points: Vec::new(),
        scatter_chance: None,
        lack_of_fit: None,
        stopped: String::new(),
        notices: Vec::new(),
        drawn: None,
        facts: Vec::new(),
    }
}

fn service(proof: &mut Proof, case: &Case<'_>, hose: &str) {
    proof.law = "pressure held for a time".into();
    (proof.found, proof.bounds) = of_service::results(case, hose);
    let text = "hose that leaked, burst, or slipped at a coupling fails, whatever pressure was \
                held: a remark must say so";
    proof
        .notices
        .push(Notice::new("look_at_the_hose", Weight::Caution, text));
    let has_pressure = case
        .book
        .hose(hose)
        .is_some_and(|h| h.item.service_pressure.is_some());
    if !has_pressure {
        let text = "the book does not say at what pressure this hose is used, so that the \
                    pressure held cannot be judged";
        let notice = Notice::new("no_service_pressure", Weight::Caution, text);
        proof
            .notices
            .push(notice.mend("write its service_pressure into the book"));
    }
}

fn results(case: &Case<'_>, done: &Done) -> (Vec<Found>, Vec<Bound>) {
    let reduction = &done.reduction;
    let book = case.book;
    let none = (Vec::new(), Vec::new());
    match &case.test.subject {
        Subject::Hose { hose, find } => {
            (of_hose::results(case, reduction, hose, *find), Vec::new())
        }
        Subject::Nozzle { nozzle, setting } => book.nozzle(nozzle).map_or(none, |nozzle| {
            of_nozzle::results(reduction, nozzle.item, setting.as_deref())
        }),
        Subject::Pump { rig } => {
            let item = book.rig.get(rig);
            item.map_or(none, |item| {
                of_pump::results(case, reduction, item, &done.numbers)
            })
        }
        Subject::Hydrant { hydrant } => {
            let item = book.hydrant.get(hydrant);
            item.map_or(none, |item| {
                (of_hydrant::results(reduction, item), Vec::new())
            })
        }
        Subject::Service { .. } => none,
    }
}

fn fill(proof: &mut Proof, case: &Case<'_>, done: &Done, leave: &Leave) {
    let reduction = &done.reduction;
    let reduced = &reduction.reduced;
    proof.law.clone_from(&done.words);
    (proof.found, proof.bounds) = results(case, done);
    proof.scatter_chance = reduced.scatter_chance;
    proof.lack_of_fit = reduced.lack_of_fit;
    proof.stopped = stopped(reduction);
    proof.points = seen(case, done, leave);
    proof.drawn = Some(drawn(
        reduction,
        &done.axes,
        &done.numbers,
        done.own.as_deref(),
    ));
    proof.notices.extend(lacking(&done.lacking));
    proof.notices.extend(outliers(done));
    proof.notices.extend(scatter(reduction));
    proof.notices.extend(of_pitot(case));
    proof.notices.extend(roughness(case, reduction));
    proof.facts = facts(case, done);
}

fn stopped(reduction: &Reduction) -> String {
    let how = match reduction.reduced.fit.stopped {
        Stopped::Converged => "converged: the least sum of squares was found",
        Stopped::OutOfPatience => "stopped after as many trials as it may make",
        Stopped::Stuck => "stopped where no step would help, short of a proper bottom",
    };
    let (sum, degrees) = (
        reduction.reduced.fit.sum_of_squares,
        reduction.reduced.fit.degrees,
    );
    format!("{how}; sum of squares {sum:.3}, {degrees} degrees of freedom")
}

fn read(case: &Case<'_>, point: &Point<'_>) -> Vec<(&'static str, crate::figure::Figure)> {
    let places = case.test.subject.places().iter();
    places
        .filter_map(|place| {
            Some((
                place.word(),
                super::figures::of(*place, point.value(*place)?),
            ))
        })
        .collect()
}

/// Why a point was left out.
fn why_left(leave: &Leave, subject: &Subject, point: u32) -> Option<String> {
    let left = leave.points.iter();
    let mut left = left.filter(|l| l.subject == *subject && l.point == point);
    left.next().map(|l| match l.why.as_str() {
        "" => "left out by the tester".to_string(),
        why => why.to_string(),
    })
}

fn plain_point(case: &Case<'_>, point: &Point<'_>, leave: &Leave) -> Seen {
    Seen {
        point: point.number,
        time: point.time().into(),
        read: read(case, point),
        residual: figure(hydraulics::units::Kind::Pressure, 0.0),
        studentised: f64::NAN,
        stands_out: false,
        left_out: why_left(leave, &case.test.subject, point.number),
        remark: point.remark(),
    }
}

fn seen(case: &Case<'_>, done: &Done, leave: &Leave) -> Vec<Seen> {
    let kind = done.axes.y.1;
    let one = |point: &Point<'_>| {
        let plain = plain_point(case, point, leave);
        let at = done.numbers.iter().position(|n| *n == point.number);
        let diagnosis = at.and_then(|at| done.reduction.reduced.diagnoses.get(at));
        match diagnosis {
            Some(seen) => Seen {
                residual: figure(kind, seen.residual),
                studentised: seen.studentised,
                stands_out: seen.stands_out(),
                ..plain
            },
            None => Seen {
                residual: figure(kind, 0.0),
                left_out: plain.left_out.clone().or(Some("it lacks a value".into())),
                ..plain
            },
        }
    };
    case.points.iter().map(one).collect()
}

/// Points that stand out, and what would be found without each.
fn outliers(done: &Done) -> Vec<Notice> {
    let reduction = &done.reduction;
    let out = reduction
        .reduced
        .diagnoses
        .iter()
        .filter(|d| d.stands_out());
    let rest = without(&reduction.law, &reduction.rows, &reduction.reduced);
    let one = |seen: &crate::reduce::Diagnosis| {
        let kind = done.axes.y.1;
        let change = rest.iter().find(|w| w.reading == seen.reading).map(|w| {
            let names = reduction.reduced.fit.names.iter();
            let pairs = names.zip(w.parameters.iter().zip(reduction.parameters()));
            let one = |(name, (after, before)): (&String, (&f64, &f64))| {
                format!("{name} {:+.1} %", 100.0 * (after / before - 1.0))
            };
            pairs.map(one).collect::<Vec<_>>().join(", ")
        });
        let change = change.map_or(String::new(), |c| format!("; without it: {c}"));
        Notice::new(
            "stands_out",
            Weight::Caution,
            "this point does not belong to the others; it was counted",
        )
        .at(seen.reading.clone())
        .with("off by", figure(kind, seen.residual))
        .mend(format!("look for its cause before it is left out{change}"))
    };
    out.map(one).collect()
}

fn scatter(reduction: &Reduction) -> Option<Notice> {
    let chance = reduction.reduced.scatter_chance?;
    (chance < 0.01).then(|| {
        Notice::new(
            "scatter",
            Weight::Caution,
            "the readings scatter more about the law than the gauges allow: a gauge is off, a \
             reading is wrong, or the law does not fit",
        )
        .mend("look at the points drawn against the curve, and at the gauges")
    })
}

/// What a roughness says of the hose.
fn roughness(case: &Case<'_>, reduction: &Reduction) -> Option<Notice> {
    let is = matches!(
        case.test.subject,
        Subject::Hose {
            find: super::model::Find::Roughness,
            ..
        }
    );
    let estimate = reduction.reduced.estimates.first().filter(|_| is)?;
    let words = HoseRoughness::says(estimate).words()?;
    Some(Notice::new("roughness", Weight::Caution, words))
}

fn of_pitot(case: &Case<'_>) -> Option<Notice> {
    let own = super::points::is_solid(case.book, &case.test.subject);
    let used = case
        .points
        .iter()
        .any(|point| point.at(Place::Pitot).is_some() && point.at(Place::Flow).is_none());
    (used && !own).then(|| {
        Notice::new(
            "by_pitot",
            Weight::Remark,
            "flows are by pitot: the coefficient of the tip or outlet is taken from the book",
        )
        .mend("hold the pitot half a bore in front of the tip, in the middle of the stream")
    })
}

fn facts(case: &Case<'_>, done: &Done) -> Vec<(&'static str, Said)> {
    let used = done.numbers.len();
    let mut facts = vec![
        (
            "points used",
            Said::Count(u32::try_from(used).unwrap_or(u32::MAX)),
        ),
        ("gauges", Said::from(gauges::names(case.test).join(", "))),
    ];
    if let Some(tip) = &case.test.pitot_tip {
        facts.push(("tip of the pitot", Said::from(tip.as_str())));
    }
    facts
}

/// What a suspect gauge does to a proof.
fn touch(proof: &mut Proof, suspects: &[Suspect], corrected: &[Corrected]) {
    for suspect in suspects {
        let hit: Vec<&String> = suspect
            .gauges
            .iter()
            .filter(|g| proof.gauges.contains(g))
            .collect();
        let is_corrected = hit.iter().all(|g| corrected.iter().any(|c| c.gauge == **g));
        if hit.is_empty() {
            continue;
        }
        let names: Vec<&str> = hit.iter().map(|g| g.as_str()).collect();
        let notice = match is_corrected {
            true => Notice::new(
                "gauge_corrected",
                Weight::Caution,
                "this gauge did not agree with the others of the day, and its readings were \
                 corrected by what it is off",
            ),
            false => Notice::new(
                "gauge_suspect",
                Weight::Limit,
                "this gauge does not agree with the others of the day: the result is not to be \
                 used",
            ),
        };
        let notice = notice.at(names.join(", ")).with("off by", suspect.off[0]);
        proof
            .notices
            .insert(0, notice.mend("have it calibrated, and read the test anew"));
    }
}

fn correction(gauge: &str, corrected: &[Corrected], suspects: &[Suspect]) -> Notice {
    let known = corrected.iter().any(|c| c.gauge == gauge);
    let suspect = suspects
        .iter()
        .find(|s| s.gauges.iter().any(|g| g == gauge));
    let notice = match known {
        true => Notice::new(
            "gauge_corrected",
            Weight::Caution,
            "the readings of this gauge were corrected by what the others of the day say that \
             it is off",
        ),
        false => Notice::new(
            "gauge_not_corrected",
            Weight::Limit,
            "the readings of the day do not tell what this gauge is off by, and were not \
             corrected",
        ),
    };
    let notice = notice.at(gauge).mend("have it calibrated");
    match suspect {
        Some(suspect) => notice.with("off by", suspect.off[0]),
        None => notice,
    }
}

impl Proof {
    /// The worst of its verdicts; none where nothing was judged.
    pub fn verdict(&self) -> Option<Verdict> {
        self.bounds.iter().map(|bound| bound.verdict).max()
    }
}
