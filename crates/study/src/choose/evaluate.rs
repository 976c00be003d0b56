//! What one line gives with some equipment on it: the worst over its cases and tips, at
//! each pump pressure.
//!
//! Hose is held to its service pressure with every tip shut, since every tip gets shut:
//! the pump's pressure then stands all along it, less the height. Past an eductor or a
//! regulating valve it is held to it with the water moving.

use super::asked::{Asked, AskedLine, Bound, Equipment};
use super::places::raise;
use super::reach::{ReachTable, Reaches};
use super::run::Run;
use super::{Limit, OfLine};
use crate::given::reaction_of;
use crate::operating::{self, on_monitor};
use crate::scene;
use book::comparison::AimKind;
use book::{Book, Change, Conditions, Layout, Path};
use hydraulics::hose::{charged_weight, content, water_weight};
use hydraulics::units::{Length, Measure, Pressure, VolumeRate};

/// Flow below which a tip counts as dry: 0.6 L/min.
const DRY: f64 = 1e-5;

/// A measure of a line, or of all lines: of several values the worst counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Of {
    LeastFlow,
    MostFlow,
    Tip,
    Reach,
    Reaction,
    Pump,
    LowFlow,
    LowTip,
    /// Change of nozzle pressure when gated, as a share.
    Change,
    /// Pump pressure for the flow that is wanted, as the book has the line.
    AsksLeast,
    AsksMost,
    Weight,
    /// Pressure at the inlet of the varied hose.
    Inlet,
    /// Pressure in a hose over its service pressure.
    Service,
    Kinds,
    Price,
}

impl Of {
    const COUNT: usize = 16;

    pub fn less_is_worse(self) -> bool {
        matches!(
            self,
            Of::LeastFlow | Of::Tip | Of::Reach | Of::LowFlow | Of::LowTip | Of::AsksLeast
        )
    }
}

/// A value, and the line and case that it was found in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct At {
    /// Not a number: nothing was measured.
    pub value: f64,
    pub line: u16,
    pub case: u16,
}

/// What one line gives at one pump pressure, or what all lines give.
#[derive(Debug, Clone, Copy)]
pub(super) struct Gives {
    at: [At; Of::COUNT],
    /// Limits without a number that are passed.
    faults: u16,
}

impl Gives {
    pub fn nothing() -> Self {
        let none = At {
            value: f64::NAN,
            line: 0,
            case: 0,
        };
        Gives {
            at: [none; Of::COUNT],
            faults: 0,
        }
    }

    /// Lines that cannot be had so.
    pub fn fault(limit: Limit) -> Self {
        let mut gives = Gives::nothing();
        gives.add_fault(limit);
        gives
    }

    pub fn add_fault(&mut self, limit: Limit) {
        self.faults |= bit(limit);
    }

    /// Limits without a number that are passed, as bits.
    pub fn faults(&self) -> u16 {
        self.faults
    }

    pub fn at(&self, of: Of) -> At {
        self.at[of as usize]
    }

    pub fn get(&self, of: Of) -> f64 {
        self.at(of).value
    }

    /// Takes a value where it is worse than what was found before.
    pub fn note(&mut self, of: Of, value: f64, line: usize, case: usize) {
        let own = &mut self.at[of as usize];
        let worse = match of.less_is_worse() {
            true => value < own.value,
            false => value > own.value,
        };
        if own.value.is_nan() || worse {
            *own = At {
                value,
                line: line as u16,
                case: case as u16,
            };
        }
    }

    /// The worse of both, measure by measure.
    pub fn join(&mut self, other: &Gives) {
        const ALL: [Of; Of::COUNT] = [
            Of::LeastFlow,
            Of::MostFlow,
            Of::Tip,
            Of::Reach,
            Of::Reaction,
            Of::Pump,
            Of::LowFlow,
            Of::LowTip,
            Of::Change,
            Of::AsksLeast,
            Of::AsksMost,
            Of::Weight,
            Of::Inlet,
            Of::Service,
            Of::Kinds,
            Of::Price,
        ];
        self.faults |= other.faults;
        for of in ALL {
            let at = other.at(of);
            if !at.value.is_nan() {
                self.note(of, at.value, at.line.into(), at.case.into());
            }
        }
    }
}

/// A limit's place in a set of limits.
pub(super) fn bit(limit: Limit) -> u16 {
    1 << (limit as u16)
}

/// Which hose and nozzles can be screwed on which lines.
pub(super) struct Fits {
    fits: Vec<bool>,
    hoses: usize,
    nozzles: usize,
}

impl Fits {
    pub fn of(asked: &Asked) -> Self {
        let (hoses, nozzles) = (asked.hoses.len(), asked.nozzles.len());
        let mut fits = Vec::new();
        for line in &asked.lines {
            for hose in 0..hoses {
                for nozzle in 0..nozzles {
                    let equipment = Equipment {
                        hose,
                        nozzle,
                        length: 0,
                    };
                    fits.push(fits_on(asked.book, line, &asked.on(line, equipment)));
                }
            }
        }
        Fits {
            fits,
            hoses,
            nozzles,
        }
    }

    pub fn get(&self, line: usize, equipment: Equipment) -> bool {
        let row = line * self.hoses + equipment.hose;
        let found = self.fits.get(row * self.nozzles + equipment.nozzle);
        found.copied().unwrap_or(false)
    }
}

/// Can it be screwed together, by the book's own check of lines?
pub(super) fn fits_on(book: &Book, line: &AskedLine, on: &OfLine) -> bool {
    let replaced = line.places.replaced(book, line.line, on);
    let faults = book::check_line(book, line.name, &replaced);
    !faults.iter().any(book::Fault::forbids)
}

/// How points are solved.
#[derive(Clone, Copy)]
pub(super) struct How<'r> {
    /// Reach from tables; worked out anew where `None`.
    pub reaches: Option<&'r Reaches>,
    /// Every measure, not only those that an aim or a limit needs.
    pub all: bool,
}

/// What line number `line` gives with `on`, at each of `pressures`; at its own
/// pressure, no higher than the ceiling, where there are none.
pub(super) fn evaluate(
    asked: &Asked,
    line: usize,
    on: &OfLine,
    pressures: &[Pressure],
    how: How,
) -> Vec<Gives> {
    let work = Work::new(asked, line, how);
    match work.evaluate(on, pressures) {
        Some(gives) => gives,
        None => vec![Gives::fault(Limit::NoAnswer); pressures.len().max(1)],
    }
}

/// The least and the most flow of a tip over the cases, at one pump pressure.
pub(super) fn flows(asked: &Asked, line: usize, on: &OfLine, pump: Pressure) -> (f64, f64) {
    let how = How {
        reaches: None,
        all: false,
    };
    let work = Work {
        wants_reach: false,
        ..Work::new(asked, line, how)
    };
    let gives = work.evaluate(on, &[pump]);
    let gives = gives.and_then(|gives| gives.first().copied());
    let gives = gives.unwrap_or_else(Gives::nothing);
    (gives.get(Of::LeastFlow), gives.get(Of::MostFlow))
}

struct Work<'w> {
    asked: &'w Asked<'w>,
    number: usize,
    line: &'w AskedLine<'w>,
    how: How<'w>,
    wants_reach: bool,
    reach_bound: Option<Bound>,
}

/// A tip, who holds it, and its reach over its pressure.
struct Held<'l> {
    tip: &'l book::LaidTip,
    /// Water can leave it.
    open: bool,
    by_monitor: bool,
    reach: Option<ReachTable>,
}

impl<'w> Work<'w> {
    fn new(asked: &'w Asked<'w>, line: usize, how: How<'w>) -> Self {
        let reach_bound = asked.bounds_of(Of::Reach).copied();
        Work {
            asked,
            number: line,
            line: &asked.lines[line],
            how,
            wants_reach: how.all || asked.wants(AimKind::Reach) || reach_bound.is_some(),
            reach_bound,
        }
    }

    fn evaluate(&self, on: &OfLine, pressures: &[Pressure]) -> Option<Vec<Gives>> {
        let changes = self.line.places.changes(self.asked.book, on);
        let mut held = pressures.to_vec();
        let mut gives = Vec::new();
        for (case, at) in self.asked.cases.iter().enumerate() {
            let mut conditions = Conditions {
                changes: changes.clone(),
                ..Conditions::default().with_hose(at.coefficient)
            };
            raise(&self.line.places, &mut conditions, at.rise);
            let layout = book::layout(self.asked.book, self.line.name, &conditions).ok()?;
            if case == 0 {
                if held.is_empty() {
                    held.push(self.own_pressure(&conditions, &layout));
                }
                gives = vec![Gives::nothing(); held.len()];
                self.as_the_book_has_it(&layout, on, &mut gives);
            }
            let mut opens = Vec::with_capacity(held.len() * layout.tips.len());
            let tips = self.held(&layout);
            let mut run = Run::new(&layout, self.hose());
            for (give, pressure) in gives.iter_mut().zip(&held) {
                run.solve(*pressure);
                self.point(&run, &tips, (case, *pressure), give, &mut opens);
                if case == 0 {
                    self.eductors(&layout, &run, give);
                }
            }
            if let Some(low) = self.asked.low {
                run.solve(low);
                self.low_point(&layout, &run, case, &mut gives);
            }
            if let Some(gate) = self.asked.gated {
                self.gated(conditions, gate, (case, &held, &opens), &mut gives)?;
            }
        }
        Some(gives)
    }

    /// The varied hose before the first tip.
    fn hose(&self) -> Option<&Path> {
        self.line.places.hoses.first().map(|(path, _)| path)
    }

    /// The pressure that `solve` settles on, no higher than the ceiling.
    fn own_pressure(&self, conditions: &Conditions, layout: &Layout) -> Pressure {
        let own = operating::own_pressure(self.asked.book, self.line.name, conditions, layout);
        match self.asked.ceiling {
            Some(ceiling) if own > ceiling => ceiling,
            _ => own,
        }
    }

    /// What does not depend on the pump or on the case.
    fn as_the_book_has_it(&self, layout: &Layout, on: &OfLine, gives: &mut [Gives]) {
        let weight = self.weight(on);
        let wants = self.how.all || self.asked.wants(AimKind::OnePumpPressure);
        let asks = wants.then(|| self.asks(layout)).flatten();
        for give in gives {
            give.note(Of::Weight, weight, self.number, 0);
            if let Some(asks) = asks {
                give.note(Of::AsksLeast, asks.value, self.number, 0);
                give.note(Of::AsksMost, asks.value, self.number, 0);
            }
        }
    }

    /// The pump pressure at which every tip has its flow: the one that the comparison
    /// wants, else its aim in the book.
    fn asks(&self, layout: &Layout) -> Option<Pressure> {
        let mut needs = operating::needs(layout, self.line.name);
        let near = self.asked.aims.iter().find_map(|aim| aim.near);
        if let Some(near) = near {
            for (_, flow) in &mut needs {
                *flow = VolumeRate::of_si(near);
            }
        }
        operating::worst(layout, &needs).map(|worst| worst.pressure)
    }

    /// Weight of the varied hose, dry, and of the water in it, in kg. Hose that the
    /// book gives no weight counts by its water alone.
    fn weight(&self, on: &OfLine) -> f64 {
        let book = self.asked.book;
        let own = &self.line.as_is;
        let of_hose = |(_, part): &(Path, &book::HosePart)| {
            let name = match on.hose == own.hose {
                true => part.hose.as_str(),
                false => on.hose.as_str(),
            };
            let length = match (on.length - own.length).value.abs() > 1e-9 {
                true => on.length,
                false => part.length.get(),
            };
            hose_weight(book, name, length)
        };
        self.line.places.hoses.iter().map(of_hose).sum()
    }

    fn point(
        &self,
        run: &Run,
        tips: &[Held],
        (case, pump): (usize, Pressure),
        give: &mut Gives,
        opens: &mut Vec<f64>,
    ) {
        let line = self.number;
        let mut dry = false;
        let mut note = |of, value| give.note(of, value, line, case);
        note(Of::Pump, pump.value);
        for (index, held) in tips.iter().enumerate() {
            let (flow, pressure) = run.tip(index);
            note(Of::LeastFlow, flow.value);
            note(Of::MostFlow, flow.value);
            note(Of::Tip, pressure.value);
            opens.push(pressure.value);
            dry |= held.open && flow.value < DRY;
            if !held.by_monitor {
                let (force, _) = reaction_of(&held.tip.tip.nozzle, flow, pressure);
                note(Of::Reaction, force.value);
            }
            if self.wants_reach {
                note(Of::Reach, self.reach(held, flow, pressure));
            }
        }
        if let Some(inlet) = run.inlet() {
            note(Of::Inlet, inlet.value);
        }
        if let Some(share) = run.service() {
            note(Of::Service, share);
        }
        if dry || !run.converged() {
            give.add_fault(Limit::NoAnswer);
        }
    }

    /// An eductor that does not draw, or that its nozzle does not match.
    fn eductors(&self, layout: &Layout, run: &Run, give: &mut Gives) {
        let Some(steady) = run.steady().filter(|_| layout.cuts.len() > 1) else {
            return;
        };
        let eductors = scene::eductors_of(layout, steady);
        if eductors.iter().any(|e| !e.draws || !e.nozzle_matches()) {
            give.add_fault(Limit::Eductor);
        }
    }

    /// The tips of a layout, made ready for many pressures.
    fn held<'l>(&self, layout: &'l Layout) -> Vec<Held<'l>> {
        let tables = self.how.reaches.filter(|_| self.wants_reach);
        let held = |tip| Held {
            tip,
            open: crate::need::is_open(tip),
            by_monitor: on_monitor(self.asked.book, layout, tip),
            reach: tables.map(|reaches| reaches.of(tip)),
        };
        layout.tips.iter().map(held).collect()
    }

    /// Effective reach in metres; by a table, but close to its limit worked out.
    fn reach(&self, held: &Held, flow: VolumeRate, pressure: Pressure) -> f64 {
        let tip = held.tip;
        if let Some((_, attachment)) = &tip.attachment {
            return attachment.reach.get().value;
        }
        let exactly = || {
            let stream = crate::need::stream(tip, flow, pressure);
            stream.effective_reach().value
        };
        let table = held.reach.as_ref().and_then(|table| table.at(pressure));
        match (table, &self.reach_bound) {
            (None, _) => exactly(),
            (Some(found), Some(bound)) if bound.miss(found).abs() < 0.02 => exactly(),
            (Some(found), _) => found,
        }
    }

    fn low_point(&self, layout: &Layout, run: &Run, case: usize, gives: &mut [Gives]) {
        for index in 0..layout.tips.len() {
            let (flow, pressure) = run.tip(index);
            for give in gives.iter_mut() {
                give.note(Of::LowFlow, flow.value, self.number, case);
                give.note(Of::LowTip, pressure.value, self.number, case);
            }
        }
    }

    /// The change of nozzle pressure when each tip is gated at its shut-off, or at the
    /// pump outlet where one has none.
    fn gated(
        &self,
        mut conditions: Conditions,
        gate: hydraulics::units::Ratio,
        (case, held, opens): (usize, &[Pressure], &[f64]),
        gives: &mut [Gives],
    ) -> Option<()> {
        let (book, name) = (self.asked.book, self.line.name);
        let open = conditions.clone();
        for (path, _) in &self.line.places.tips {
            let change = conditions.changes.entry(path.clone()).or_default();
            change.gate = Some(gate);
        }
        let layout = book::layout(book, name, &conditions).or_else(|_| {
            let mut outlet = open;
            let change = Change {
                gate: Some(gate),
                ..Change::default()
            };
            outlet.changes.insert(Path::default(), change);
            book::layout(book, name, &outlet)
        });
        let layout = layout.ok()?;
        let mut run = Run::new(&layout, self.hose());
        let mut opens = opens.chunks(layout.tips.len().max(1));
        for (give, pressure) in gives.iter_mut().zip(held) {
            run.solve(*pressure);
            let opens = opens.next().unwrap_or_default();
            for (index, open) in opens.iter().enumerate() {
                let now = run.tip(index).1.value;
                let share = match *open > 0.0 {
                    true => (now - open).abs() / open,
                    false => 1.0,
                };
                give.note(Of::Change, share, self.number, case);
            }
        }
        Some(())
    }
}

/// Weight of a hose and of the water in it, in kg.
fn hose_weight(book: &Book, name: &str, length: Length) -> f64 {
    let Some(found) = book.hose(name) else {
        return f64::NAN;
    };
    let bore = bore(found.item);
    match &found.item.weight {
        Some(dry) => charged_weight(dry.get(), bore, length, book.water()).value,
        None => water_weight(content(bore, length), book.water()).value,
    }
}

/// Bore under pressure where the book has it, else the nominal size.
fn bore(item: &book::HoseItem) -> Length {
    match &item.friction {
        Some(
            book::FrictionWritten::Roughness { bore, .. }
            | book::FrictionWritten::HazenWilliams { bore, .. },
        ) => bore.get(),
        _ => item.size.get(),
    }
}
