//! Whether the lines of a book hang together: every name is known, every joint
//! can be screwed together, every row ends as it must.

use crate::catalogue::catalogue;
use crate::model::{
    ApplianceItem, ApplianceKind, AppliancePart, Book, HosePart, Line, NozzleItem, NozzleKind,
    NozzlePart, Part, Path, RegulatorState, Shutoff, Stated, Step, listed,
};
use crate::problem::{Severity, nearest};
use crate::reader::DEPTH_LIMIT;
use crate::writer::key;
use hydraulics::coupling::{Coupling, Gender};

/// Something wrong with a line, and where in it.
#[derive(Debug, Clone, PartialEq)]
pub struct Fault {
    /// How much it weighs.
    pub severity: Severity,
    /// A fixed name for programs, in snake_case.
    pub code: &'static str,
    /// The line.
    pub line: String,
    /// The part, or the row.
    pub path: Path,
    /// The key of the part; empty for the part itself, "row" for a row.
    pub key: &'static str,
    /// What is wrong.
    pub message: String,
    /// What would mend it.
    pub mend: String,
    /// The adapter, of the book or the catalogue, that mends a misfit when it is
    /// put before the part.
    pub adapter: Option<String>,
}

impl Fault {
    /// Can the line not be laid so? True for errors, and where several lines come
    /// into one inlet: a file may leave the siamese out, a street cannot.
    pub fn forbids(&self) -> bool {
        self.severity == Severity::Error || self.code == "no_siamese"
    }
}

/// Everything wrong with the lines of `book`: what [`crate::read`] checks too,
/// for a book that was changed since.
///
/// ```
/// let mut book = book::Book::default();
/// book.line.insert("left".into(), book::Line::default());
/// let faults = book::check(&book);
/// assert_eq!(faults[0].code, "empty");
/// ```
pub fn check(book: &Book) -> Vec<Fault> {
    let lines = book.line.iter();
    lines.flat_map(|(name, l)| line(book, name, l)).collect()
}

/// Everything wrong with one line of `book`, which is called `name` there.
///
/// ```
/// let faults = book::check_line(&book::Book::default(), "left", &book::Line::default());
/// assert_eq!(faults[0].code, "empty");
/// ```
pub fn line(book: &Book, name: &str, line: &Line) -> Vec<Fault> {
    let mut walk = Walk {
        book,
        line: name,
        who: format!("line \"{name}\""),
        faults: Vec::new(),
    };
    walk.rig(line);
    walk.row(&line.parts, &Path::default(), outlet(), Finish::Tip, 0);
    walk.faults
}

/// Faults of a supply line, which ends open. `who` says which it is.
pub(crate) fn supply(book: &Book, who: &str, parts: &[Part]) -> Vec<Fault> {
    let mut walk = Walk {
        book,
        line: who,
        who: who.into(),
        faults: Vec::new(),
    };
    walk.row(parts, &Path::default(), outlet(), Finish::Supply, 0);
    walk.faults
}

fn outlet() -> Vec<End> {
    vec![End {
        coupling: None,
        what: "the outlet".into(),
    }]
}

/// An open end to which the next part is joined.
#[derive(Clone)]
struct End {
    coupling: Option<Coupling>,
    what: String,
}

/// How a row must finish.
#[derive(Clone, Copy, PartialEq)]
enum Finish {
    /// In a tip.
    Tip,
    /// Open, for it comes together with others.
    Leg,
    /// Open, at a rig's intake or a standpipe's inlet.
    Supply,
}

impl Finish {
    /// What a row that ends open is, and why no tip may end it.
    fn open(self) -> Option<(&'static str, &'static str)> {
        match self {
            Finish::Tip => None,
            Finish::Leg => Some(("leg", "legs come together again")),
            Finish::Supply => Some(("supply line", "a supply line has no tip")),
        }
    }
}

/// Faults of one line after which it is not looked at further.
const FAULTS: usize = 1000;

struct Walk<'a> {
    book: &'a Book,
    line: &'a str,
    who: String,
    faults: Vec<Fault>,
}

impl<'a> Walk<'a> {
    fn fault(
        &mut self,
        severity: Severity,
        code: &'static str,
        (path, key): (&Path, &'static str),
        message: String,
        mend: impl Into<String>,
    ) {
        self.faults.push(Fault {
            severity,
            code,
            line: self.line.into(),
            path: path.clone(),
            key,
            message: format!("{}: {message}", self.who),
            mend: mend.into(),
            adapter: None,
        });
    }

    fn error(
        &mut self,
        code: &'static str,
        place: (&Path, &'static str),
        message: String,
        mend: impl Into<String>,
    ) {
        self.fault(Severity::Error, code, place, message, mend);
    }

    fn rig(&mut self, line: &Line) {
        let Some(rig) = &line.rig else { return };
        if !self.book.rig.contains_key(rig) {
            let names = self.book.rig.keys().map(String::as_str);
            let mend = meant(rig, names, std::iter::empty());
            let message = format!("there is no rig \"{rig}\"");
            self.error("unknown_name", (&Path::default(), "rig"), message, mend);
        }
    }

    /// Checks one row and gives its open ends.
    fn row(
        &mut self,
        parts: &'a [Part],
        at: &Path,
        ends: Vec<End>,
        finish: Finish,
        depth: usize,
    ) -> Vec<End> {
        if depth > DEPTH_LIMIT {
            let message = format!("rows lie {depth} deep within each other");
            let mend = format!("the limit is {DEPTH_LIMIT}; divide the line");
            self.error("too_deep", (at, "row"), message, mend);
            return Vec::new();
        }
        if parts.is_empty() {
            let row = if at.0.is_empty() {
                "it".into()
            } else {
                at.to_string()
            };
            let message = format!("{row} has no parts");
            let mend = match finish {
                Finish::Tip => {
                    "write its parts, as [{ hose = \"attack\", length = \"200 ft\" }, { nozzle = \"fog\" }]"
                }
                _ => "write its parts, as [{ hose = \"supply\", length = \"100 ft\" }]",
            };
            self.error("empty", (at, "row"), message, mend);
            return Vec::new();
        }
        let mut ends = ends;
        for (index, part) in parts.iter().enumerate() {
            if self.faults.len() >= FAULTS {
                return Vec::new();
            }
            let path = at.then(Step::Part(index + 1));
            let before = index.checked_sub(1).and_then(|i| parts.get(i));
            let next = parts.get(index + 1);
            ends = self.part(part, (before, next), &path, ends, finish, depth);
        }
        if finish == Finish::Tip {
            self.tip_at_end(parts, at);
        }
        ends
    }

    fn tip_at_end(&mut self, parts: &[Part], at: &Path) {
        let Some(last) = parts.last() else { return };
        if !matches!(last, Part::Nozzle(_) | Part::Branches(_)) {
            let path = at.then(Step::Part(parts.len()));
            let message = format!("{path} is the last, but no tip follows it");
            let mend = "end the row with a nozzle, as { nozzle = \"fog\" }";
            self.error("no_tip", (&path, ""), message, mend);
        }
    }

    fn part(
        &mut self,
        part: &'a Part,
        (before, next): (Option<&'a Part>, Option<&'a Part>),
        path: &Path,
        ends: Vec<End>,
        finish: Finish,
        depth: usize,
    ) -> Vec<End> {
        match part {
            Part::Hose(hose) => self.hose(hose, path, &ends),
            Part::Nozzle(nozzle) => self.nozzle(nozzle, next, path, &ends, finish),
            Part::Appliance(appliance) => self.appliance(appliance, next, path, &ends),
            Part::Branches(rows) => {
                self.branches(rows, (before, next), path, ends, finish, depth);
                Vec::new()
            }
            Part::Legs(rows) => self.legs(rows, path, ends, depth),
        }
    }

    fn hose(&mut self, part: &HosePart, path: &Path, ends: &[End]) -> Vec<End> {
        let Some(found) = self.book.hose(&part.hose) else {
            let own = self.book.hose.keys().map(String::as_str);
            let mend = meant(&part.hose, own, names(&catalogue().hose));
            return self.unknown("hose", &part.hose, path, mend);
        };
        let what = format!("hose \"{}\"", part.hose);
        let inlets = found.item.inlet.as_ref().map(Stated::get);
        self.join(ends, inlets.as_slice(), path, &what);
        vec![End {
            coupling: found.item.outlet.as_ref().map(Stated::get),
            what,
        }]
    }

    fn unknown(&mut self, kind: &'static str, name: &str, path: &Path, mend: String) -> Vec<End> {
        let message = format!(
            "{path} names {kind} \"{name}\", which is neither in the book nor in the catalogue"
        );
        self.error("unknown_name", (path, kind), message, mend);
        vec![End {
            coupling: None,
            what: format!("{kind} \"{name}\""),
        }]
    }

    fn nozzle(
        &mut self,
        part: &NozzlePart,
        next: Option<&Part>,
        path: &Path,
        ends: &[End],
        finish: Finish,
    ) -> Vec<End> {
        let Some(found) = self.book.nozzle(&part.nozzle) else {
            let own = self.book.nozzle.keys().map(String::as_str);
            let mend = meant(&part.nozzle, own, names(&catalogue().nozzle));
            return self.unknown("nozzle", &part.nozzle, path, mend);
        };
        let item = found.item;
        let what = format!("nozzle \"{}\"", part.nozzle);
        let own = item.coupling.as_ref().map(Stated::get);
        let inlet = match (part.tip_only, &item.breaks_at) {
            (true, Some(thread)) => Some(half(thread.get(), Gender::Female)),
            _ => own,
        };
        self.join(ends, inlet.as_slice(), path, &what);
        self.own_shutoff(part, item, path, &what);
        self.attachment(part, item, next, path, &what);
        if next.is_some() {
            self.after_tip(part, item, path, &what);
        } else if let Some((row, why)) = finish.open() {
            let message = format!("{path}, {what}, ends a {row}, but {why}");
            let mend = match finish {
                Finish::Leg => {
                    "leave the nozzle out of the leg, or write branches in place of legs"
                }
                _ => "leave the nozzle out",
            };
            self.error("tip_in_leg", (path, "nozzle"), message, mend);
        } else {
            self.setting(part, item, path, &what);
        }
        vec![End {
            coupling: item.breaks_at.as_ref().map(Stated::get),
            what: format!("the shut-off of {what}"),
        }]
    }

    /// A part follows a nozzle: only its shut-off may have been left there.
    fn after_tip(&mut self, part: &NozzlePart, item: &NozzleItem, path: &Path, what: &str) {
        if item.breaks_at.is_some() && !part.tip_only {
            return;
        }
        let message = format!("{path}, {what}, ends the line, but another part follows it");
        let mend = "move the nozzle to the end; only one whose tip unscrews from its shut-off (breaks_at) can be extended";
        self.error("after_tip", (path, "nozzle"), message, mend);
    }

    fn own_shutoff(&mut self, part: &NozzlePart, item: &NozzleItem, path: &Path, what: &str) {
        if part.tip_only && item.breaks_at.is_none() {
            let message = format!("{path}: the tip of {what} does not unscrew from its shut-off");
            let mend = "leave tip_only out, or give the nozzle breaks_at = \"1.5 in NH\"";
            self.error("no_break", (path, "tip_only"), message, mend);
        }
        let shutoff = item.shutoff != Shutoff::None && !part.tip_only;
        if part.gate.is_some() && !shutoff {
            let message = format!("{path}: {what} has no shut-off here that could be gated");
            let mend = "leave gate out, or give the nozzle a shutoff";
            self.error("no_shutoff", (path, "gate"), message, mend);
        }
    }

    fn attachment(
        &mut self,
        part: &NozzlePart,
        item: &NozzleItem,
        next: Option<&Part>,
        path: &Path,
        what: &str,
    ) {
        let Some(asked) = &part.attachment else {
            return;
        };
        let place = (path, "attachment");
        if next.is_some() {
            let message =
                format!("{path}: only the shut-off of {what} is here, which takes no attachment");
            self.error(
                "not_its_key",
                place,
                message,
                "put the attachment on the tip at the end",
            );
            return;
        }
        if item.attachment.contains_key(asked) {
            return;
        }
        let have: Vec<&str> = names(&item.attachment).collect();
        let (message, mend) = match (nearest(asked, have.iter().copied()), have.as_slice()) {
            (_, []) => (
                format!("{path}: {what} takes no attachment, and \"{asked}\" is put on it"),
                format!(
                    "leave attachment out, or give the nozzle attachment.{} = {{ expansion = 20, reach = \"60 ft\" }}",
                    key(asked)
                ),
            ),
            (near, have) => (
                format!("{path}: {what} has no attachment \"{asked}\""),
                match near {
                    Some(near) => format!("did you mean \"{near}\"?"),
                    None => format!("it has {}", listed(have)),
                },
            ),
        };
        self.error("unknown_name", place, message, mend);
    }

    fn setting(&mut self, part: &NozzlePart, item: &NozzleItem, path: &Path, what: &str) {
        let asked = part.setting.as_deref();
        let unread = matches!(&item.kind, NozzleKind::Automatic { settings, .. } if settings.is_empty())
            || matches!(&item.kind, NozzleKind::Selectable { flows, .. } if flows.is_empty());
        if unread {
            return;
        }
        if let Err(error) = item.at(asked) {
            let have = item.settings();
            let mend = match asked.and_then(|a| nearest(a, have.iter().copied())) {
                Some(near) => format!("did you mean \"{near}\"?"),
                None if have.is_empty() => "leave setting out".to_string(),
                None => format!("write setting = one of {}", listed(&have)),
            };
            let code = if asked.is_some() {
                "unknown_setting"
            } else {
                "no_setting"
            };
            self.error(
                code,
                (path, "setting"),
                format!("{path}, {what}: {error}"),
                mend,
            );
        }
        self.regulator(part, item, path, what);
    }

    fn regulator(&mut self, part: &NozzlePart, item: &NozzleItem, path: &Path, what: &str) {
        let Some(state) = &part.regulator else { return };
        let (key, able) = match (state, &item.kind) {
            (RegulatorState::Flush, NozzleKind::Automatic { flush, .. }) => ("flush", *flush),
            (RegulatorState::Flush, _) => ("flush", false),
            (RegulatorState::Jammed(_), kind) => {
                ("jammed", matches!(kind, NozzleKind::Automatic { .. }))
            }
        };
        if !able {
            let message = format!("{path}: {what} cannot be {key}");
            let mend = match (key, &item.kind) {
                ("flush", NozzleKind::Automatic { .. }) => {
                    "give the nozzle flush = true if it can be turned to flush"
                }
                _ => "leave it out; only an automatic nozzle has a regulator",
            };
            self.error("no_regulator", (path, key), message, mend);
        }
    }

    fn appliance(
        &mut self,
        part: &AppliancePart,
        next: Option<&Part>,
        path: &Path,
        ends: &[End],
    ) -> Vec<End> {
        let Some(found) = self.book.appliance(&part.appliance) else {
            let own = self.book.appliance.keys().map(String::as_str);
            let mend = meant(&part.appliance, own, names(&catalogue().appliance));
            return self.unknown("appliance", &part.appliance, path, mend);
        };
        let item = found.item;
        let what = format!("appliance \"{}\"", part.appliance);
        let inlets: Vec<Coupling> = item.inlets.iter().map(Stated::get).collect();
        self.join(ends, &inlets, path, &what);
        self.gates(part, item, next, path, &what);
        self.ratio(part, item, path, &what);
        match item.outlets.as_slice() {
            [] => vec![End {
                coupling: None,
                what,
            }],
            outlets => outlets
                .iter()
                .map(|outlet| End {
                    coupling: Some(outlet.get()),
                    what: what.clone(),
                })
                .collect(),
        }
    }

    fn ratio(&mut self, part: &AppliancePart, item: &ApplianceItem, path: &Path, what: &str) {
        if part.ratio.is_some() && item.kind != ApplianceKind::Eductor {
            let message = format!("{path}: {what} is no eductor, so no ratio can be set on it");
            let mend = "leave ratio out, or name an eductor";
            self.error("not_its_key", (path, "ratio"), message, mend);
        }
    }

    fn gates(
        &mut self,
        part: &AppliancePart,
        item: &ApplianceItem,
        next: Option<&Part>,
        path: &Path,
        what: &str,
    ) {
        if part.gates.is_empty() {
            return;
        }
        if item.gates.is_none() {
            let message = format!("{path}: {what} has no gates");
            let mend = "leave gate out, or give the appliance gates = \"ball\"";
            self.error("no_gates", (path, "gate"), message, mend);
        }
        let rows = match next {
            Some(Part::Branches(rows) | Part::Legs(rows)) => rows.len(),
            _ => 1,
        };
        if part.gates.len() > rows.max(1) {
            let message = format!(
                "{path}: {} gates are given for {what}, but {rows} of its outlets lead on",
                part.gates.len()
            );
            self.error(
                "too_many",
                (path, "gate"),
                message,
                "write one for each row that follows",
            );
        }
    }

    fn branches(
        &mut self,
        rows: &'a [Vec<Part>],
        (before, next): (Option<&'a Part>, Option<&'a Part>),
        path: &Path,
        ends: Vec<End>,
        finish: Finish,
        depth: usize,
    ) {
        if next.is_some() {
            let message = format!("{path} is branches, and another part follows it");
            let mend =
                "put what follows into the branches, or write legs if they come together again";
            self.error("branches_not_last", (path, "branches"), message, mend);
        }
        if let Some((row, why)) = finish.open() {
            let message = format!("{path} is branches within a {row}, but {why}");
            let mend = match finish {
                Finish::Leg => {
                    "write legs in place of branches, or branches in place of the outer legs"
                }
                _ => "write legs in place of branches",
            };
            self.error("tip_in_leg", (path, "branches"), message, mend);
            // How its rows must end is not known.
            return;
        }
        self.no_rows(rows, path, "branches");
        if rows.len() > 1 && !matches!(before, Some(Part::Appliance(_))) {
            let message = format!("{path} divides the line, but no wye is named before it");
            let mend = "write { appliance = \"...\" } before it; its loss is taken as nothing now";
            self.fault(
                Severity::Warning,
                "no_wye",
                (path, "branches"),
                message,
                mend,
            );
        }
        let starts = self.divide(ends, rows.len(), path, "branches");
        for (index, (row, start)) in rows.iter().zip(starts).enumerate() {
            let at = path.then(Step::Branch(index + 1));
            self.row(row, &at, vec![start], Finish::Tip, depth + 1);
        }
    }

    fn legs(
        &mut self,
        rows: &'a [Vec<Part>],
        path: &Path,
        ends: Vec<End>,
        depth: usize,
    ) -> Vec<End> {
        self.no_rows(rows, path, "legs");
        let starts = self.divide(ends, rows.len(), path, "legs");
        let mut open = Vec::new();
        for (index, (row, start)) in rows.iter().zip(starts).enumerate() {
            let at = path.then(Step::Leg(index + 1));
            let ends = self.row(row, &at, vec![start], Finish::Leg, depth + 1);
            open.extend(ends.into_iter().next());
        }
        open
    }

    fn no_rows(&mut self, rows: &[Vec<Part>], path: &Path, key: &'static str) {
        if rows.is_empty() {
            let message = format!("{path}: there are no {key}");
            let mend = "write one row of parts for each, as [[...], [...]]";
            self.error("empty", (path, key), message, mend);
        }
    }

    /// The end at which each of `count` rows starts.
    fn divide(&mut self, ends: Vec<End>, count: usize, path: &Path, key: &'static str) -> Vec<End> {
        if ends.len() >= count {
            return ends;
        }
        let what = ends.first().map_or_else(String::new, |e| e.what.clone());
        if ends.len() > 1 {
            let message = format!(
                "{path} has {count} {key}, but {what} has {} outlets",
                ends.len()
            );
            let mend = "leave a row out, or name an appliance with more outlets";
            self.error("too_many", (path, key), message, mend);
        }
        let unknown = End {
            coupling: None,
            what,
        };
        vec![unknown; count]
    }

    /// Joins open ends to the inlets of the part at `path`.
    fn join(&mut self, ends: &[End], inlets: &[Coupling], path: &Path, what: &str) {
        match (ends, inlets) {
            ([], _) | (_, []) => {}
            ([.., _, _], [_]) => {
                let message = format!("{path}, {what}, has one inlet for {} lines", ends.len());
                let mend = "name the siamese that brings them together before it";
                self.fault(Severity::Warning, "no_siamese", (path, ""), message, mend);
            }
            ([end], inlets) => {
                let fits = |c: &Coupling| inlets.iter().any(|inlet| c.fits(inlet));
                if let (Some(coupling), Some(first)) = (end.coupling, inlets.first())
                    && !fits(&coupling)
                {
                    self.misfit(end, &coupling, first, path, what);
                }
            }
            (ends, inlets) if ends.len() > inlets.len() => {
                let message = format!(
                    "{path}, {what}, has {} inlets for {} lines",
                    inlets.len(),
                    ends.len()
                );
                let mend = "leave a leg out, or name an appliance with more inlets";
                self.error("too_many", (path, ""), message, mend);
            }
            (ends, inlets) => {
                for (end, inlet) in ends.iter().zip(inlets) {
                    if let Some(coupling) = end.coupling.filter(|c| !c.fits(inlet)) {
                        self.misfit(end, &coupling, inlet, path, what);
                    }
                }
            }
        }
    }

    fn misfit(&mut self, end: &End, outlet: &Coupling, inlet: &Coupling, path: &Path, what: &str) {
        let message = format!(
            "{path}: {what} ({}) cannot be screwed on to {} ({})",
            inlet.describe(),
            end.what,
            outlet.describe()
        );
        let adapter = outlet.adapter_to(inlet).unwrap_or_default();
        let found = self.adapter(outlet, inlet);
        let mend = match found {
            Some(name) => format!("put {{ appliance = \"{name}\" }} before it ({adapter})"),
            None => format!("put an {adapter} before it, as an appliance of kind \"adapter\""),
        };
        self.error("misfit", (path, ""), message, mend);
        if let Some(fault) = self.faults.last_mut() {
            fault.adapter = found.map(String::from);
        }
    }

    /// An adapter of the book or the catalogue that joins the two.
    fn adapter(&self, outlet: &Coupling, inlet: &Coupling) -> Option<&'a str> {
        let all = self.book.appliance.iter().chain(&catalogue().appliance);
        let fits = |item: &ApplianceItem| {
            item.kind == ApplianceKind::Adapter
                && item.inlets.iter().any(|c| outlet.fits(&c.get()))
                && item.outlets.iter().any(|c| c.get().fits(inlet))
        };
        all.into_iter()
            .find(|(_, item)| fits(item))
            .map(|(name, _)| name.as_str())
    }
}

fn half(coupling: Coupling, gender: Gender) -> Coupling {
    Coupling {
        gender: coupling.gender.map(|_| gender),
        ..coupling
    }
}

pub(crate) fn names<T>(
    items: &indexmap::IndexMap<String, T>,
) -> impl Iterator<Item = &str> + Clone {
    items.keys().map(String::as_str)
}

/// What a name was meant to be, or the names that there are.
pub(crate) fn meant<'a>(
    name: &str,
    own: impl Iterator<Item = &'a str> + Clone,
    generic: impl Iterator<Item = &'a str>,
) -> String {
    if let Some(near) = nearest(name, own.clone().chain(generic)) {
        return format!("did you mean \"{near}\"?");
    }
    let own: Vec<&str> = own.filter(|n| n.len() <= 400).take(13).collect();
    match own.as_slice() {
        [] => "the book has none yet; add it".into(),
        own => format!("the book has {}", listed(own)),
    }
}
