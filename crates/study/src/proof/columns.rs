//! Which column of a table of readings holds what.

use super::model::Place;
use crate::intake::Table;
use hydraulics::units::{Kind, Unit};

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Role {
    /// Nothing that is asked for.
    Ignored,
    /// The kind of test, or kind and subject together: "hose attack".
    Kind,
    /// What the test is about, by its name in the book.
    Subject,
    /// A nozzle's setting.
    Setting,
    /// The number of the point.
    Point,
    /// The day.
    Date,
    /// The time of day.
    Time,
    /// A remark.
    Remark,
    /// The solid tip on which pitot pressures were read.
    PitotTip,
    /// What was read at a place.
    Value(Place),
    /// The gauge at a place; without one, at every place that names none.
    Gauge(Option<Place>),
    /// The step of its scale.
    Step(Option<Place>),
    /// The day of its calibration.
    Calibrated(Option<Place>),
}

impl Role {
    /// Every role, in the order of a list to choose from.
    pub fn all() -> Vec<Role> {
        let plain = [
            Role::Ignored,
            Role::Kind,
            Role::Subject,
            Role::Setting,
            Role::Point,
            Role::Date,
            Role::Time,
            Role::Remark,
            Role::PitotTip,
        ];
        let places = || std::iter::once(None).chain(Place::ALL.map(Some));
        plain
            .into_iter()
            .chain(Place::ALL.map(Role::Value))
            .chain(places().map(Role::Gauge))
            .chain(places().map(Role::Step))
            .chain(places().map(Role::Calibrated))
            .collect()
    }

    /// The words for it.
    ///
    /// ```
    /// use study::proof::{Place, Role};
    /// let role = Role::Gauge(Some(Place::Inlet));
    /// assert_eq!(role.words(), "gauge of inlet pressure");
    /// assert_eq!(Role::called("gauge of inlet pressure"), Some(role));
    /// ```
    pub fn words(self) -> String {
        let of = |what: &str, place: Option<Place>| match place {
            Some(place) => format!("{what} of {}", place.word()),
            None => what.to_string(),
        };
        match self {
            Role::Ignored => "not used".into(),
            Role::Kind => "kind of test".into(),
            Role::Subject => "what it is about".into(),
            Role::Setting => "setting".into(),
            Role::Point => "point".into(),
            Role::Date => "date".into(),
            Role::Time => "time".into(),
            Role::Remark => "remark".into(),
            Role::PitotTip => "tip of the pitot".into(),
            Role::Value(place) => place.word().into(),
            Role::Gauge(place) => of("gauge", place),
            Role::Step(place) => of("step of the gauge", place),
            Role::Calibrated(place) => of("calibration of the gauge", place),
        }
    }

    /// The role that `words` mean.
    pub fn called(words: &str) -> Option<Self> {
        Role::all().into_iter().find(|role| role.words() == words)
    }

    /// What its cells are a measure of.
    fn kind(self) -> Option<Kind> {
        match self {
            Role::Value(place) | Role::Step(Some(place)) => Some(place.kind()),
            _ => None,
        }
    }
}

/// A column and what it is taken for.
#[derive(Debug, Clone, PartialEq)]
pub struct Matched {
    /// Its head.
    pub head: String,
    /// What it is taken for.
    pub role: Role,
    /// The symbol of the unit that its head states; without one the cell says its own,
    /// or the book's is meant.
    pub unit: Option<&'static str>,
    /// Why it is not used, where its head is a puzzle; else empty.
    pub trouble: String,
}

/// What each column is taken for.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Matching {
    /// The columns, in their order.
    pub columns: Vec<Matched>,
    /// The day of rows that tell none, as "2026-05-11"; may be empty.
    pub date: String,
}

impl Matching {
    /// The first column with `role`.
    pub fn column(&self, role: Role) -> Option<usize> {
        self.columns.iter().position(|column| column.role == role)
    }

    /// The unit that the head of `column` states.
    pub(super) fn unit(&self, column: usize) -> Option<&'static Unit> {
        let matched = self.columns.get(column)?;
        let units = matched.role.kind()?.units();
        units.iter().find(|u| Some(u.symbol) == matched.unit)
    }
}

/// Takes each column of `table` for what its head says. A role is given once, to the
/// first column that asks for it.
pub fn match_columns(table: &Table) -> Matching {
    let mut columns: Vec<Matched> = Vec::new();
    for head in &table.head {
        let mut matched = matched(head);
        let taken = columns.iter().any(|other| other.role == matched.role);
        if taken && matched.role != Role::Ignored {
            matched.trouble = format!("another column is the {} already", matched.role.words());
            matched.role = Role::Ignored;
        }
        columns.push(matched);
    }
    Matching {
        columns,
        date: String::new(),
    }
}

/// Is `head` the head of a column of readings?
pub(super) fn is_head(head: &str) -> bool {
    matched(head).role != Role::Ignored
}

fn matched(head: &str) -> Matched {
    let (words, unit) = unit_of(head);
    // A head that is a unit alone: "gpm".
    let role = match (plain(&words).as_str(), unit) {
        ("", Some("min")) => Role::Value(Place::Minutes),
        ("", Some(unit)) if Kind::Flow.units().iter().any(|u| u.symbol == unit) => {
            Role::Value(Place::Flow)
        }
        (words, unit) => role_of(words, unit.is_some()),
    };
    let mut matched = Matched {
        head: head.into(),
        role,
        unit: None,
        trouble: String::new(),
    };
    let (Some(unit), Some(kind)) = (unit, role.kind()) else {
        return matched;
    };
    match kind.units().iter().find(|u| u.symbol == unit) {
        Some(unit) => matched.unit = Some(unit.symbol),
        None => {
            matched.trouble = format!("{unit} is not a unit of {}", kind.name());
            matched.role = Role::Ignored;
        }
    }
    matched
}

/// A head without its unit, and the unit's symbol: "inlet (psi)", "inlet, psi",
/// "inlet psi".
fn unit_of(head: &str) -> (String, Option<&'static str>) {
    let head = head.trim();
    let closed = |open: char, close: char| {
        let rest = head.strip_suffix(close)?;
        rest.rsplit_once(open)
    };
    let ways = [
        closed('(', ')'),
        closed('[', ']'),
        head.rsplit_once(','),
        head.rsplit_once('/').filter(|(_, unit)| unit.len() > 1),
        // "flow meter" has no unit of length.
        head.rsplit_once(char::is_whitespace)
            .filter(|(_, unit)| !unit.eq_ignore_ascii_case("meter")),
        Some(("", head)),
    ];
    let mut found = ways.into_iter().flatten().filter_map(|(words, unit)| {
        let symbol = symbol(unit.trim())?;
        Some((words.trim().to_string(), Some(symbol)))
    });
    found.next().unwrap_or_else(|| (head.to_string(), None))
}

/// The symbol of a unit of what is read on a test day.
fn symbol(text: &str) -> Option<&'static str> {
    let kinds = [Kind::Pressure, Kind::Flow, Kind::Length, Kind::Time];
    let mut units = kinds.iter().flat_map(|kind| kind.units());
    let called = |unit: &&Unit| unit.names().any(|name| name.eq_ignore_ascii_case(text));
    units.find(called).map(|unit| unit.symbol)
}

/// Small letters, single blanks, and nothing else than letters and figures.
fn plain(words: &str) -> String {
    let spaced: String = words
        .chars()
        .map(|c| match c.is_alphanumeric() {
            true => c.to_lowercase().next().unwrap_or(c),
            false => ' ',
        })
        .collect();
    let words: Vec<&str> = spaced.split_whitespace().collect();
    words.join(" ")
}

const OTHERS: [(Role, &[&str]); 8] = [
    (
        Role::Kind,
        &[
            "kind",
            "kind of test",
            "test",
            "type",
            "test kind",
            "test type",
        ],
    ),
    (
        Role::Subject,
        &[
            "subject",
            "about",
            "what it is about",
            "name",
            "item",
            "equipment",
            "hose",
        ],
    ),
    (Role::Setting, &["setting"]),
    (
        Role::Point,
        &[
            "point",
            "no",
            "number",
            "reading",
            "point no",
            "point number",
            "reading no",
        ],
    ),
    (Role::Date, &["date", "day"]),
    (Role::Time, &["time", "time of day", "clock"]),
    (
        Role::Remark,
        &["remark", "remarks", "note", "notes", "comment", "comments"],
    ),
    (
        Role::PitotTip,
        &[
            "tip of the pitot",
            "pitot tip",
            "tip used",
            "tip name",
            "smooth bore",
            "solid tip",
        ],
    ),
];

fn role_of(words: &str, has_unit: bool) -> Role {
    if let Some((role, _)) = OTHERS.iter().find(|(_, names)| names.contains(&words)) {
        return *role;
    }
    let without = |what: &[&str]| {
        let left: Vec<&str> = words.split(' ').filter(|w| !what.contains(w)).collect();
        (left.len() < words.split(' ').count()).then(|| left.join(" "))
    };
    // "gauge" alone is the gauge of every place; "left gauge" is one of no place known.
    let of = |rest: &str, role: fn(Option<Place>) -> Role| match rest {
        "" | "of" | "the" | "date" | "day" => role(None),
        rest => place_of(rest).map_or(Role::Ignored, |place| role(Some(place))),
    };
    if let Some(rest) = without(&["calibrated", "calibration"]) {
        let rest: Vec<&str> = rest.split(' ').filter(|w| !is_filler(w)).collect();
        return of(&rest.join(" "), Role::Calibrated);
    }
    if let Some(rest) = without(&["resolution", "step"]) {
        let rest: Vec<&str> = rest.split(' ').filter(|w| !is_filler(w)).collect();
        return of(&rest.join(" "), Role::Step);
    }
    if let (Some(rest), false) = (without(&["gauge", "gage", "meter", "instrument"]), has_unit) {
        let flow = words.contains("meter");
        return match (rest.as_str(), flow) {
            ("", true) => Role::Gauge(Some(Place::Flow)),
            (rest, _) => of(rest, Role::Gauge),
        };
    }
    place_of(words).map_or(Role::Ignored, Role::Value)
}

fn is_filler(word: &str) -> bool {
    matches!(
        word,
        "date" | "day" | "gauge" | "gage" | "meter" | "of" | "the" | "last" | "scale"
    )
}

const PLACES: [(Place, &[&str]); 12] = [
    (
        Place::Flow,
        &[
            "flow",
            "flow rate",
            "flow meter",
            "metered flow",
            "q",
            "meter",
        ],
    ),
    (Place::Pitot, &["pitot", "velocity"]),
    (
        Place::Inlet,
        &[
            "inlet",
            "in",
            "hose inlet",
            "hose start",
            "upstream",
            "pump end",
            "beginning",
        ],
    ),
    (
        Place::Outlet,
        &[
            "outlet",
            "out",
            "hose outlet",
            "hose end",
            "downstream",
            "nozzle end",
            "line",
            "end",
        ],
    ),
    (Place::Tip, &["nozzle", "tip", "np", "nozzle inlet"]),
    (Place::Intake, &["intake", "suction", "pump intake"]),
    (
        Place::Discharge,
        &["discharge", "pump discharge", "pump outlet", "pdp", "pump"],
    ),
    (Place::Residual, &["residual", "rp", "static", "hydrant"]),
    (Place::Rise, &["rise", "height", "elevation"]),
    (Place::Length, &["length", "hose length"]),
    (Place::Held, &["held", "held at", "test"]),
    (
        Place::Minutes,
        &[
            "time held",
            "held for",
            "minutes",
            "minutes held",
            "duration",
        ],
    ),
];

/// The place that a head means.
fn place_of(words: &str) -> Option<Place> {
    let small = |word: &&str| {
        !matches!(
            *word,
            "pressure" | "reading" | "value" | "at" | "the" | "of" | "gauge" | "gage"
        )
    };
    let words: Vec<&str> = words.split(' ').filter(small).collect();
    let words = words.join(" ");
    let found = PLACES
        .iter()
        .find(|(_, names)| names.contains(&words.as_str()));
    found.map(|(place, _)| *place)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn heads_are_taken_for_what_they_say() {
        use Place::*;
        let told = [
            ("inlet (psi)", Role::Value(Inlet), Some("psi")),
            ("Pump outlet, bar", Role::Value(Discharge), Some("bar")),
            ("flow gpm", Role::Value(Flow), Some("gpm")),
            ("Flow [L/min]", Role::Value(Flow), Some("L/min")),
            ("Flow", Role::Value(Flow), None),
            ("flow meter", Role::Gauge(Some(Flow)), None),
            ("flow meter (gpm)", Role::Value(Flow), Some("gpm")),
            ("inlet gauge", Role::Gauge(Some(Inlet)), None),
            ("inlet gauge psi", Role::Value(Inlet), Some("psi")),
            ("gauge", Role::Gauge(None), None),
            ("Calibration date", Role::Calibrated(None), None),
            ("inlet calibrated", Role::Calibrated(Some(Inlet)), None),
            (
                "outlet resolution (psi)",
                Role::Step(Some(Outlet)),
                Some("psi"),
            ),
            ("Nozzle pressure", Role::Value(Tip), None),
            ("length ft", Role::Value(Length), Some("ft")),
            ("time", Role::Time, None),
            ("time held (min)", Role::Value(Minutes), Some("min")),
            ("gpm", Role::Value(Flow), Some("gpm")),
            ("minutes", Role::Value(Minutes), Some("min")),
            ("psi", Role::Ignored, None),
            ("weather", Role::Ignored, None),
            ("test", Role::Kind, None),
        ];
        for (head, role, unit) in told {
            let matched = matched(head);
            assert_eq!((matched.role, matched.unit), (role, unit), "{head}");
        }
    }

    #[test]
    fn a_unit_of_something_else_is_not_taken() {
        let matched = matched("inlet (gpm)");
        assert_eq!(matched.role, Role::Ignored);
        assert_eq!(matched.trouble, "gpm is not a unit of pressure");
    }

    #[test]
    fn every_role_has_words_of_its_own() {
        for role in Role::all() {
            assert_eq!(Role::called(&role.words()), Some(role));
        }
    }
}
