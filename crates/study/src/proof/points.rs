//! The points of a test: which values belong together, and what one must have.

use super::model::{Place, Reading, Subject, Test};
use book::{Book, HydrantSupply, NozzleKind, TestFlow};

/// The values of one point, read together.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Point<'a> {
    /// Which, from 1.
    pub number: u32,
    /// Its values.
    pub readings: Vec<&'a Reading>,
}

impl Point<'_> {
    /// What was read at `place`.
    pub fn at(&self, place: Place) -> Option<&Reading> {
        let found = self.readings.iter().find(|r| r.place == place);
        found.copied()
    }

    /// The SI value that was read at `place`.
    pub fn value(&self, place: Place) -> Option<f64> {
        self.at(place).map(|reading| reading.value)
    }

    /// When it was read; may be empty.
    pub fn time(&self) -> &str {
        let times = self.readings.iter().map(|r| r.time.as_str());
        times
            .into_iter()
            .find(|t| !t.is_empty())
            .unwrap_or_default()
    }

    /// What was remarked; may be empty.
    pub fn remark(&self) -> String {
        let mut said: Vec<&str> = Vec::new();
        for reading in &self.readings {
            let remark = reading.remark.as_str();
            if !remark.is_empty() && !said.contains(&remark) {
                said.push(remark);
            }
        }
        said.join("; ")
    }
}

/// The points of a test, in the order of their numbers. Length and rise that are told
/// once stand for the points after.
pub(super) fn points_of(test: &Test) -> Vec<Point<'_>> {
    let mut points: Vec<Point<'_>> = Vec::new();
    for reading in &test.readings {
        match points.iter_mut().find(|p| p.number == reading.point) {
            Some(point) => point.readings.push(reading),
            None => points.push(Point {
                number: reading.point,
                readings: vec![reading],
            }),
        }
    }
    points.sort_by_key(|point| point.number);
    for place in [Place::Length, Place::Rise] {
        let mut last = None;
        for point in &mut points {
            match point.readings.iter().find(|r| r.place == place) {
                Some(reading) => last = Some(*reading),
                None => point.readings.extend(last),
            }
        }
    }
    points
}

/// The place that a test of `subject` has where a table calls it `place`: the pump
/// outlet is where a hose begins.
pub(super) fn fits(subject: &Subject, place: Place) -> Option<Place> {
    let places = subject.places();
    let others = Place::ALL.into_iter().filter(|other| same(*other, place));
    std::iter::once(place)
        .chain(others)
        .find(|place| places.contains(place))
}

/// Are the two places one on some test ground?
pub(super) fn same(a: Place, b: Place) -> bool {
    const ALIKE: [[Place; 2]; 6] = [
        [Place::Discharge, Place::Inlet],
        [Place::Tip, Place::Outlet],
        [Place::Inlet, Place::Intake],
        [Place::Residual, Place::Inlet],
        [Place::Residual, Place::Intake],
        [Place::Held, Place::Discharge],
    ];
    ALIKE.contains(&[a, b]) || ALIKE.contains(&[b, a])
}

/// The places of a test in words.
pub(super) fn list(subject: &Subject) -> String {
    let words: Vec<&str> = subject.places().iter().map(|p| p.word()).collect();
    words.join(", ")
}

/// Is it read from a gauge or a meter?
pub(super) fn has_gauge(place: Place) -> bool {
    !matches!(place, Place::Rise | Place::Length | Place::Minutes)
}

/// What stays from the point before where nothing is told: the length of the hose and
/// its rise.
pub(super) fn keep_last(
    readings: &mut Vec<Reading>,
    subject: &Subject,
    point: u32,
    test: Option<&Test>,
) {
    if !matches!(subject, Subject::Hose { .. }) {
        return;
    }
    for place in [Place::Length, Place::Rise] {
        let before = test.into_iter().flat_map(|test| test.readings.iter().rev());
        let before = before.into_iter().find(|r| r.place == place);
        let told = readings.iter().any(|r| r.place == place);
        if let (false, Some(before)) = (told, before) {
            readings.push(Reading {
                point,
                ..before.clone()
            });
        }
    }
}

/// What a point lacks, and what would mend it.
pub(super) fn missing(
    book: &Book,
    subject: &Subject,
    tip: Option<&str>,
    readings: &[Reading],
) -> Option<(String, String)> {
    let has = |place: Place| readings.iter().any(|r| r.place == place);
    let lacks = |places: &[Place]| places.iter().find(|p| !has(**p)).copied();
    let needs: &[Place] = match subject {
        Subject::Hose { .. } => &[Place::Inlet, Place::Outlet, Place::Length],
        Subject::Nozzle { .. } if is_solid(book, subject) && has(Place::Pitot) => &[Place::Flow],
        Subject::Nozzle { .. } => &[Place::Tip],
        Subject::Pump { .. } => &[Place::Intake, Place::Discharge],
        Subject::Hydrant { .. } => &[Place::Residual],
        Subject::Service { .. } => &[Place::Held, Place::Minutes],
    };
    if let Some(place) = lacks(needs) {
        return Some((
            format!("the {} is missing", place.word()),
            format!("a test of {subject} needs it at every point"),
        ));
    }
    let flows = !matches!(subject, Subject::Service { .. });
    if !flows || has(Place::Flow) {
        return None;
    }
    match (has(Place::Pitot), by_pitot(book, subject, tip)) {
        (false, _) => Some((
            "neither flow nor pitot pressure is given".into(),
            "give the flow of a meter, or the pitot pressure and the tip it was read on".into(),
        )),
        (true, false) => Some((
            "a pitot pressure tells no flow without the tip that it was read on".into(),
            "name the smooth bore in a column \"pitot tip\"".into(),
        )),
        (true, true) => None,
    }
}

/// Does a pitot pressure tell the flow?
fn by_pitot(book: &Book, subject: &Subject, tip: Option<&str>) -> bool {
    let outlets = |hydrant: &String| {
        let supply = book.hydrant.get(hydrant).map(|item| &item.supply);
        matches!(supply, Some(HydrantSupply::Test { flow: TestFlow::Outlets(outlets), .. })
            if outlets.len() == 1)
    };
    match (tip, subject) {
        (Some(_), _) => true,
        (None, Subject::Hydrant { hydrant }) => outlets(hydrant),
        _ => false,
    }
}

/// Is it about a solid tip?
pub(super) fn is_solid(book: &Book, subject: &Subject) -> bool {
    let Subject::Nozzle { nozzle, .. } = subject else {
        return false;
    };
    let found = book.nozzle(nozzle);
    found.is_some_and(|found| matches!(found.item.kind, NozzleKind::SmoothBore { .. }))
}
