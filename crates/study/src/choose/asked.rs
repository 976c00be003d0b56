//! A comparison made ready: its names looked up, its values listed, its limits as
//! numbers. Nothing is solved yet.

use super::places::Places;
use super::{ChooseError, Limit, OfLine, Size, Where};
use crate::choose::evaluate::Of;
use crate::figure::thousands;
use book::comparison::{AimKind, Comparison, LIST_LIMIT, Steps};
use book::{Book, Which};
use hydraulics::units::{Length, Measure, Pressure, Ratio, System};
use std::collections::BTreeSet;

/// The most operating points that are solved for one comparison.
pub(super) const MOST_POINTS: u64 = 20_000_000;

/// The most choices that are tried in one comparison.
pub(super) const MOST_CHOICES: u64 = 1_000_000;

/// A comparison of a book, ready to be tried.
pub(super) struct Asked<'a> {
    pub book: &'a Book,
    pub comparison: &'a Comparison,
    pub system: System,
    pub lines: Vec<AskedLine<'a>>,
    /// `None` stands for what is on each line.
    pub hoses: Vec<Option<&'a str>>,
    pub nozzles: Vec<Option<(&'a str, Option<String>)>>,
    pub lengths: Vec<Option<Length>>,
    /// None: each line has its own.
    pub pressures: Vec<Pressure>,
    /// The first is the line as the book has it.
    pub cases: Vec<Where>,
    pub low: Option<Pressure>,
    pub gated: Option<Ratio>,
    pub aims: Vec<AskedAim>,
    pub bounds: Vec<Bound>,
    /// The pump ceiling of the comparison, else of the book.
    pub ceiling: Option<Pressure>,
}

/// A line to be equipped.
pub(super) struct AskedLine<'a> {
    pub name: &'a str,
    pub line: &'a book::Line,
    pub places: Places<'a>,
    pub as_is: OfLine,
}

/// An aim, and how much it counts.
#[derive(Debug, Clone, Copy)]
pub(super) struct AskedAim {
    pub aim: AimKind,
    pub weight: f64,
    /// The flow that is wanted, in SI.
    pub near: Option<f64>,
}

impl AskedAim {
    /// How bad a value is: less is better.
    pub fn cost(&self, value: f64) -> f64 {
        match self.near {
            Some(near) => (value - near).abs(),
            None if self.aim.more_is_better() => -value,
            None => value,
        }
    }
}

/// A limit as a number in SI, and what it bounds.
#[derive(Debug, Clone, Copy)]
pub(super) struct Bound {
    pub limit: Limit,
    pub of: Of,
    pub may: f64,
}

impl Bound {
    /// By how much a value misses, as a share of the limit; below zero when it keeps it.
    pub fn miss(&self, value: f64) -> f64 {
        let over = match self.of.less_is_worse() {
            true => self.may - value,
            false => value - self.may,
        };
        // A limit of nothing (a reach of 0 m) is missed by itself.
        over / self.may.abs().max(1e-9)
    }

    /// Is it passed? A millionth is left to the arithmetic.
    pub fn is_passed(&self, value: f64) -> bool {
        value.is_nan() || self.miss(value) > 1e-6
    }
}

/// Hose, nozzle and length of a choice, by their places in the lists.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Equipment {
    pub hose: usize,
    pub nozzle: usize,
    pub length: usize,
}

pub(super) fn question<T>(
    place: impl Into<String>,
    message: impl Into<String>,
    mend: impl Into<String>,
) -> Result<T, ChooseError> {
    Err(ChooseError::Question {
        place: place.into(),
        message: message.into(),
        mend: mend.into(),
    })
}

impl<'a> Asked<'a> {
    pub fn new(book: &'a Book, comparison: &'a Comparison) -> Result<Self, ChooseError> {
        let pressures = pressures(comparison)?;
        let cases = &comparison.cases;
        let mut asked = Asked {
            book,
            comparison,
            system: comparison.units.unwrap_or(book.units),
            lines: lines(book, comparison)?,
            hoses: hoses(book, comparison)?,
            nozzles: nozzles(book, comparison)?,
            lengths: lengths(comparison)?,
            pressures,
            cases: all_cases(comparison),
            low: cases.low_pump_pressure.as_ref().map(|p| p.get()),
            gated: cases.gated.as_ref().map(|share| share.get()),
            aims: Vec::new(),
            bounds: Vec::new(),
            ceiling: None,
        };
        let own = book.pump_ceiling.as_ref();
        let ceiling = comparison.limits.pump_pressure.as_ref().or(own);
        asked.ceiling = ceiling.map(|pressure| pressure.get());
        asked.aims = aims(comparison)?;
        asked.bounds = asked.bounds()?;
        asked.places_are_there()?;
        if !asked.wants(AimKind::SteadyWhenGated) {
            asked.gated = None;
        }
        Ok(asked)
    }

    /// Is an aim asked about?
    pub fn wants(&self, aim: AimKind) -> bool {
        self.aims.iter().any(|asked| asked.aim == aim)
    }

    /// Does the price count, or bound?
    pub fn pays(&self) -> bool {
        self.wants(AimKind::Price) || self.bounds_of(Of::Price).is_some()
    }

    /// Is a measure needed by a limit?
    pub fn bounds_of(&self, of: Of) -> Option<&Bound> {
        self.bounds.iter().find(|bound| bound.of == of)
    }

    /// Pressures to try for each equipment: one where each line has its own.
    pub fn steps(&self) -> usize {
        self.pressures.len().max(1)
    }

    /// Hose, nozzle and length to try.
    pub fn equipment_count(&self) -> usize {
        self.hoses.len() * self.nozzles.len() * self.lengths.len()
    }

    pub fn equipment(&self, number: usize) -> Equipment {
        let lengths = self.lengths.len();
        let nozzles = self.nozzles.len();
        Equipment {
            length: number % lengths,
            nozzle: number / lengths % nozzles,
            hose: number / lengths / nozzles,
        }
    }

    /// What is on a line with some equipment; its pump pressure is left at nothing.
    pub fn on(&self, line: &AskedLine, equipment: Equipment) -> OfLine {
        let mut on = line.as_is.clone();
        if let Some(Some(hose)) = self.hoses.get(equipment.hose) {
            on.hose = (*hose).into();
        }
        if let Some(Some((nozzle, setting))) = self.nozzles.get(equipment.nozzle) {
            on.nozzle = (*nozzle).into();
            on.setting = setting.clone();
        }
        if let Some(Some(length)) = self.lengths.get(equipment.length) {
            on.length = *length;
        }
        on
    }

    /// Operating points for each equipment on each line in each case.
    fn points_each(&self) -> u64 {
        let gated = 1 + u64::from(self.gated.is_some());
        self.steps() as u64 * gated + u64::from(self.low.is_some())
    }

    pub fn size(&self) -> Size {
        let equipment = self.equipment_count() as u64;
        let choices = equipment.saturating_mul(self.steps() as u64);
        let lines = (self.lines.len() * self.cases.len()) as u64;
        Size {
            choices,
            points: equipment
                .saturating_mul(lines)
                .saturating_mul(self.points_each()),
            draws: crate::doubt::days_for(&self.comparison.doubt, choices),
        }
    }

    /// Refuses a comparison that is too large.
    pub fn small_enough(&self) -> Result<Size, ChooseError> {
        let size = self.size();
        if size.points <= MOST_POINTS && size.choices <= MOST_CHOICES {
            return Ok(size);
        }
        let lists = [
            ("hoses", self.hoses.len()),
            ("nozzles and settings", self.nozzles.len()),
            ("lengths", self.lengths.len()),
            ("pump pressures", self.steps()),
            ("lines", self.lines.len()),
            ("cases", self.cases.len()),
        ];
        let mut longest = lists;
        longest.sort_by_key(|(_, count)| std::cmp::Reverse(*count));
        let told: Vec<String> = lists
            .iter()
            .map(|(what, n)| format!("{n} {what}"))
            .collect();
        let times = (size.points as f64 / MOST_POINTS as f64)
            .max(size.choices as f64 / MOST_CHOICES as f64);
        let [(first, count), (second, other), ..] = longest;
        Err(ChooseError::TooLarge {
            size,
            message: format!(
                "this comparison has {} choices and {} operating points ({}); at most {} choices and {} points are tried",
                thousands(size.choices),
                thousands(size.points),
                told.join(", "),
                thousands(MOST_CHOICES),
                thousands(MOST_POINTS)
            ),
            mend: format!(
                "leave out some of the {count} {first}, or of the {other} {second}: it must become {} times smaller",
                (times * 10.0).ceil() / 10.0
            ),
        })
    }

    /// The limits that are numbers.
    fn bounds(&self) -> Result<Vec<Bound>, ChooseError> {
        let limits = &self.comparison.limits;
        let mut bounds = Vec::new();
        let mut bound = |limit, of, may: Option<f64>| {
            bounds.extend(may.map(|may| Bound { limit, of, may }));
        };
        let people = match limits.people {
            None => None,
            Some(people @ 1..=3) => Some(self.book.crew_limits()[usize::from(people) - 1].value),
            Some(people) => {
                return question(
                    "limits.people",
                    format!(
                        "{people} people cannot be asked about: the book has limits for one, two and three"
                    ),
                    "write 1, 2 or 3, or give limits.reaction in their place",
                );
            }
        };
        let reaction = limits.reaction.as_ref().map(|r| r.get().value);
        let reaction = match (people, reaction) {
            (Some(a), Some(b)) => Some(a.min(b)),
            (a, b) => a.or(b),
        };
        bound(Limit::Reaction, Of::Reaction, reaction);
        bound(Limit::PumpPressure, Of::Pump, self.ceiling.map(|p| p.value));
        let service = (!limits.past_service_pressure).then_some(1.0);
        bound(Limit::ServicePressure, Of::Service, service);
        let si = |q: &Option<book::Stated<Pressure>>| q.as_ref().map(|q| q.get().value);
        let flow = |q: &Option<book::Stated<hydraulics::units::VolumeRate>>| {
            q.as_ref().map(|q| q.get().value)
        };
        bound(Limit::Flow, Of::LeastFlow, flow(&limits.flow));
        bound(Limit::TipPressure, Of::Tip, si(&limits.tip_pressure));
        bound(
            Limit::Reach,
            Of::Reach,
            limits.reach.as_ref().map(|q| q.get().value),
        );
        bound(
            Limit::FlowAtLowPump,
            Of::LowFlow,
            flow(&limits.flow_at_low_pump),
        );
        bound(
            Limit::TipPressureAtLowPump,
            Of::LowTip,
            si(&limits.tip_pressure_at_low_pump),
        );
        bound(
            Limit::Weight,
            Of::Weight,
            limits.weight.as_ref().map(|q| q.get().value),
        );
        bound(
            Limit::OutletPressure,
            Of::Inlet,
            si(&limits.outlet_pressure),
        );
        bound(
            Limit::Price,
            Of::Price,
            limits.price.as_ref().map(|q| q.get().value),
        );
        bound(Limit::Kinds, Of::Kinds, limits.kinds.map(f64::from));
        let at_low = [
            ("flow_at_low_pump", limits.flow_at_low_pump.is_some()),
            (
                "tip_pressure_at_low_pump",
                limits.tip_pressure_at_low_pump.is_some(),
            ),
        ];
        for (key, asked) in at_low {
            if asked && self.low.is_none() {
                return no_low(&format!("limits.{key}"));
            }
        }
        Ok(bounds)
    }

    /// Refuses lines without the parts that are varied.
    fn places_are_there(&self) -> Result<(), ChooseError> {
        let vary = &self.comparison.vary;
        for line in &self.lines {
            let hose = !vary.hose.is_empty() || !vary.length.is_empty();
            if hose && line.places.hoses.is_empty() {
                let name = line.name;
                return question(
                    "lines",
                    format!("line \"{name}\" has no hose that could be varied"),
                    "leave the line out, or vary no hose and no length",
                );
            }
            if line.places.tips.is_empty() {
                let name = line.name;
                return question(
                    "lines",
                    format!("line \"{name}\" has no nozzle at its end"),
                    "leave the line out, or mend it in the book",
                );
            }
        }
        Ok(())
    }

    /// Kinds of hose and nozzle over all the lines.
    pub fn kinds(&self, on: &[OfLine]) -> f64 {
        let mut names = BTreeSet::new();
        for (line, on) in self.lines.iter().zip(on) {
            names.extend(line.places.names(self.book, on));
        }
        names.len() as f64
    }
}

fn no_low<T>(place: &str) -> Result<T, ChooseError> {
    question(
        place,
        format!("{place} asks about a low pump pressure, and none is given"),
        "give cases.low_pump_pressure, for example \"100 psi\"",
    )
}

fn lines<'a>(
    book: &'a Book,
    comparison: &'a Comparison,
) -> Result<Vec<AskedLine<'a>>, ChooseError> {
    if comparison.lines.is_empty() {
        return question(
            "lines",
            "no line is named",
            "name the lines that are to be equipped",
        );
    }
    let mut lines: Vec<AskedLine> = Vec::new();
    for name in &comparison.lines {
        let Some((name, line)) = book.line.get_key_value(name.as_str()) else {
            let known = book.line.keys().map(String::as_str);
            return unknown("lines", "line", name, known);
        };
        if lines.iter().any(|other| other.name == name.as_str()) {
            return question(
                "lines",
                format!("line \"{name}\" is named twice"),
                "name it once",
            );
        }
        let places = Places::of(line);
        let as_is = places.as_is(book, name);
        lines.push(AskedLine {
            name,
            line,
            places,
            as_is,
        });
    }
    Ok(lines)
}

/// Refuses a name that is not known, with the nearest that is.
fn unknown<'n, T>(
    place: &str,
    kind: &str,
    name: &str,
    known: impl Iterator<Item = &'n str>,
) -> Result<T, ChooseError> {
    let mend = match book::nearest(name, known) {
        Some(near) => format!("did you mean \"{near}\"?"),
        None => format!("name a {kind} of the book or of the generic catalogue"),
    };
    let whose = match kind {
        "line" => "the book has no",
        _ => "neither the book nor the catalogue has a",
    };
    question(place, format!("{whose} {kind} \"{name}\""), mend)
}

fn hoses<'a>(
    book: &'a Book,
    comparison: &'a Comparison,
) -> Result<Vec<Option<&'a str>>, ChooseError> {
    let mut hoses = Vec::new();
    for name in &comparison.vary.hose {
        if book.hose(name).is_none() {
            let generic = book::catalogue().hose.keys();
            let known = book.hose.keys().chain(generic).map(String::as_str);
            return unknown("vary.hose", "hose", name, known);
        }
        if !hoses.contains(&Some(name.as_str())) {
            hoses.push(Some(name.as_str()));
        }
    }
    Ok(or_as_is(hoses))
}

/// A nozzle and its setting.
type NozzleAt<'a> = (&'a str, Option<String>);

fn nozzles<'a>(
    book: &'a Book,
    comparison: &'a Comparison,
) -> Result<Vec<Option<NozzleAt<'a>>>, ChooseError> {
    let mut nozzles = Vec::new();
    for choice in &comparison.vary.nozzle {
        let name = choice.nozzle.as_str();
        let Some(found) = book.nozzle(name) else {
            let generic = book::catalogue().nozzle.keys();
            let known = book.nozzle.keys().chain(generic).map(String::as_str);
            return unknown("vary.nozzle", "nozzle", name, known);
        };
        let settings = match &choice.setting {
            Some(asked) => match found.item.setting(Some(asked)) {
                Ok(setting) => vec![setting.map(String::from)],
                Err(error) => {
                    return question(
                        "vary.nozzle",
                        format!("nozzle \"{name}\": {error}"),
                        "name one of its settings, or none of them to try all",
                    );
                }
            },
            None => match found.item.settings().as_slice() {
                [] => vec![None],
                all => all.iter().map(|s| Some((*s).to_string())).collect(),
            },
        };
        for setting in settings {
            let one = Some((name, setting));
            if !nozzles.contains(&one) {
                nozzles.push(one);
            }
        }
    }
    Ok(or_as_is(nozzles))
}

fn lengths(comparison: &Comparison) -> Result<Vec<Option<Length>>, ChooseError> {
    let mut lengths = Vec::new();
    for length in &comparison.vary.length {
        let fair = length.get().value > 0.0 && length.get().value.is_finite();
        if !fair {
            return question(
                "vary.length",
                format!("a length of {} is not above zero", length.text()),
                "give lengths of hose like \"200 ft\" or \"60 m\"",
            );
        }
        let length = Some(length.get());
        if !lengths.contains(&length) {
            lengths.push(length);
        }
    }
    Ok(or_as_is(lengths))
}

/// A list to try: nothing asked for leaves the lines as they are.
fn or_as_is<T>(list: Vec<Option<T>>) -> Vec<Option<T>> {
    match list.is_empty() {
        true => vec![None],
        false => list,
    }
}

fn pressures(comparison: &Comparison) -> Result<Vec<Pressure>, ChooseError> {
    let place = "vary.pump_pressure";
    let mut pressures: Vec<Pressure> = match &comparison.vary.pump_pressure {
        Steps::List(list) => list.iter().map(|p| p.get()).collect(),
        Steps::Range { from, to, step } => {
            let (low, high, by) = (from.get().value, to.get().value, step.get().value);
            let fair = by > 0.0 && by.is_finite() && low.is_finite() && high.is_finite();
            if !fair {
                return question(
                    place,
                    format!("a step of {} leads nowhere", step.text()),
                    "give a step above zero, for example \"5 psi\"",
                );
            }
            if high < low {
                return question(
                    place,
                    format!("it goes from {} down to {}", from.text(), to.text()),
                    "give the lower pressure first",
                );
            }
            let count = ((high - low) / by + 1e-6).floor();
            if count >= LIST_LIMIT as f64 {
                return question(
                    place,
                    format!(
                        "from {} to {} by {} are {} pressures; at most {LIST_LIMIT} are tried",
                        from.text(),
                        to.text(),
                        step.text(),
                        count + 1.0
                    ),
                    "take a larger step",
                );
            }
            let steps = 0..=count as u32;
            steps
                .map(|n| Pressure::of_si(low + f64::from(n) * by))
                .collect()
        }
    };
    if let Some(low) = pressures
        .iter()
        .find(|p| p.value.is_nan() || p.value <= 0.0)
    {
        let text = hydraulics::units::show(hydraulics::units::Kind::Pressure, *low, System::Us);
        return question(
            place,
            format!("a pump pressure of {text} is not above zero"),
            "give pump pressures like \"150 psi\" or \"10 bar\"",
        );
    }
    pressures.sort_by(|a, b| a.value.total_cmp(&b.value));
    pressures.dedup();
    Ok(pressures)
}

/// Every rise with every coefficient; first the line as the book has it.
fn all_cases(comparison: &Comparison) -> Vec<Where> {
    let mut rises = vec![Length::of_si(0.0)];
    for rise in &comparison.cases.rise {
        if !rises.contains(&rise.get()) {
            rises.push(rise.get());
        }
    }
    let mut coefficients = vec![Which::Best];
    for which in &comparison.cases.coefficient {
        if !coefficients.contains(which) {
            coefficients.push(*which);
        }
    }
    let mut cases = Vec::new();
    for coefficient in coefficients {
        cases.extend(rises.iter().map(|rise| Where {
            line: String::new(),
            rise: *rise,
            coefficient,
        }));
    }
    cases
}

fn aims(comparison: &Comparison) -> Result<Vec<AskedAim>, ChooseError> {
    let mut aims = Vec::new();
    for (aim, wanted) in &comparison.aims {
        let weight = wanted.weight.get().value;
        let place = || format!("aims.{}", aim.key());
        let fair = weight >= 0.0 && weight.is_finite();
        if !fair {
            return question(
                place(),
                format!("a weight of {} is below zero", wanted.weight.text()),
                "give a weight from 0 (shown only) to 100",
            );
        }
        if *aim == AimKind::FlowAtLowPump && comparison.cases.low_pump_pressure.is_none() {
            return no_low(&place());
        }
        if *aim == AimKind::SteadyWhenGated && comparison.cases.gated.is_none() {
            return question(
                place(),
                format!("{} asks about a gated line, and no gate is given", place()),
                "give cases.gated, for example \"50 %\"",
            );
        }
        let near = wanted.near.as_ref().filter(|_| *aim == AimKind::Flow);
        aims.push(AskedAim {
            aim: *aim,
            weight,
            near: near.map(|flow| flow.get().value),
        });
    }
    if aims.iter().all(|aim| aim.weight == 0.0) {
        return question(
            "aims",
            "nothing is wanted: no aim has a weight above zero",
            "name at least one aim, for example flow, with a weight",
        );
    }
    // The order in which they are shown does not depend on the file.
    aims.sort_by_key(|aim| AimKind::ALL.iter().position(|other| *other == aim.aim));
    Ok(aims)
}
