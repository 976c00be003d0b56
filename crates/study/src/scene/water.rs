//! Where the water comes from, how long it lasts, and relays.

use super::Solved;
use crate::demand::least_residual;
use crate::fact::{Fact, Said};
use crate::figure;
use book::{LaidRig, LaidSource, LossWritten, PartKind, ShuttleItem, SourceKind, Stated};
use hydraulics::draft::vapour_pressure;
use hydraulics::element::Element;
use hydraulics::hydrant::{self, FlowTest};
use hydraulics::pump::Governor;
use hydraulics::shuttle::{self, Cycle, Shuttle, Storage};
use hydraulics::units::{Length, Measure, Pressure, Ratio, Time, Volume, VolumeRate};

/// What a source gives.
#[derive(Debug, Clone, PartialEq)]
pub struct SourceAnswer {
    /// Its name.
    pub name: String,
    /// What it is: hydrant, draft, shuttle, tank.
    pub kind: &'static str,
    /// The rig it feeds.
    pub rig: String,
    /// Flow from it.
    pub flow: VolumeRate,
    /// Pressure where it is taken: a hydrant's outlet, the rig's intake.
    pub pressure: Pressure,
    /// Of a hydrant, what its main says.
    pub main: Option<MainAnswer>,
    /// Of what is stored, how long it lasts.
    pub stored: Option<StoredAnswer>,
    /// Of open water, what its lift leaves.
    pub draft: Option<DraftAnswer>,
}

/// What a lift leaves.
#[derive(Debug, Clone, PartialEq)]
pub struct DraftAnswer {
    /// The lift.
    pub lift: Length,
    /// Pressure at the intake above that of water vapour.
    pub above_vapour: Pressure,
    /// The flow at which the pump holds all that it can against the air.
    pub most: Option<VolumeRate>,
    /// Share of the rated flow that the trade's table leaves at this lift; `None`
    /// above it.
    pub share: Option<Ratio>,
    /// That share of the rig's rated flow.
    pub by_table: Option<VolumeRate>,
}

/// A main at the scene's flow.
#[derive(Debug, Clone, PartialEq)]
pub struct MainAnswer {
    /// The hydrant that was tested.
    pub name: String,
    /// Its test.
    pub test: FlowTest,
    /// All that is drawn from it.
    pub flow: VolumeRate,
    /// Its residual pressure.
    pub residual: Pressure,
    /// What it gives at 20 psi.
    pub available: VolumeRate,
    /// The flow of one more line, as the scene's largest.
    pub next_flow: VolumeRate,
    /// Its residual with that line.
    pub next_residual: Pressure,
    /// The same by the trade's rule that the drop goes with the square.
    pub next_by_squares: Pressure,
    /// Lines like all that flows now that may be added, by the trade's percentage
    /// rule.
    pub more_by_percent: u32,
    /// The same by the first digit of the static pressure.
    pub more_by_digit: u32,
}

/// Water that is stored.
#[derive(Debug, Clone, PartialEq)]
pub struct StoredAnswer {
    /// How much of it.
    pub content: Volume,
    /// What refills it.
    pub refill: VolumeRate,
    /// How long it lasts without.
    pub lasts: Option<Time>,
    /// How long it lasts with; `None` when it does not run out.
    pub lasts_refilled: Option<Time>,
    /// The tankers, of a shuttle.
    pub tankers: Option<TankersAnswer>,
}

/// A shuttle's tankers.
#[derive(Debug, Clone, PartialEq)]
pub struct TankersAnswer {
    /// How many run.
    pub running: u32,
    /// How many the flow takes; `None` when no number does.
    pub needed: Option<u32>,
    /// What one brings, taken over its round.
    pub each: VolumeRate,
    /// One round.
    pub round: Time,
    /// The lowest content of the portable tank over the scene.
    pub lowest: Option<Volume>,
    /// When it first runs dry, over the scene.
    pub dry_at: Option<Time>,
    /// What is in it at even times over the scene.
    pub course: Vec<(Time, Volume)>,
}

pub(super) fn sources(solved: &Solved<'_>) -> Vec<SourceAnswer> {
    let sources = &solved.laid.sources;
    sources
        .iter()
        .map(|source| answer(solved, source))
        .collect()
}

fn flow_of(solved: &Solved<'_>, source: &LaidSource) -> VolumeRate {
    solved.steady.flow(source.part)
}

fn answer(solved: &Solved<'_>, source: &LaidSource) -> SourceAnswer {
    let flow = flow_of(solved, source);
    let draft = match source.kind {
        SourceKind::Draft => draft(solved, source),
        _ => None,
    };
    let (kind, main, stored) = match source.kind {
        SourceKind::Hydrant(test) => ("hydrant", Some(main(solved, source, test)), None),
        SourceKind::Draft => ("draft", None, None),
        SourceKind::Shuttle => ("shuttle", None, portable_tank(solved, source, flow)),
        SourceKind::Tank(content, _) => ("tank", None, own_tank(content, flow)),
    };
    SourceAnswer {
        name: source.name.clone(),
        kind,
        rig: source.rig.clone(),
        flow,
        pressure: solved.pressure(source.place),
        main,
        stored,
        draft,
    }
}

fn draft(solved: &Solved<'_>, source: &LaidSource) -> Option<DraftAnswer> {
    let item = solved.book.draft.get(&source.name)?;
    let rig = solved.laid.rigs.iter().find(|rig| rig.name == source.rig)?;
    let (water, lift) = (solved.book.water(), item.lift.get());
    let at_rest = -water.static_pressure(lift);
    let loss = LossWritten::law(item.loss.as_ref()).ok()?;
    let one = VolumeRate::of_si(1.0);
    let resistance = loss.loss(one).pressure / one / one;
    let spare = at_rest - rig.starves_at;
    let most = (resistance.value > 0.0).then(|| {
        let square = spare.value.max(0.0) / resistance.value;
        VolumeRate::of_si(square.sqrt())
    });
    // The trade's table is for the height at which pumps are rated, up to 2,000 ft.
    let altitude = item.altitude.as_ref().map_or(0.0, |a| a.get().value);
    let share = hydraulics::draft::capacity_share(lift).filter(|_| altitude <= 610.0);
    Some(DraftAnswer {
        lift,
        above_vapour: draft_margin(solved, source)?,
        most,
        share,
        by_table: share.map(|share| rig.pump.rated_flow() * share),
    })
}

/// The largest flow of a line in the scene; 250 gpm where nothing flows.
fn largest_line(solved: &Solved<'_>) -> VolumeRate {
    let feeds_line = |b: &&book::Branch| matches!(b.outlet.feeds, book::Feeds::Line(_));
    let lines = solved.laid.branches.iter().filter(feeds_line);
    let flows = lines.map(|b| solved.steady.flow(b.part));
    let largest = flows.fold(VolumeRate::of_si(0.0), VolumeRate::max);
    match largest.value > 0.0 {
        true => largest,
        false => hydraulics::units::gpm(250.0),
    }
}

fn main(solved: &Solved<'_>, source: &LaidSource, test: FlowTest) -> MainAnswer {
    let same = solved.laid.sources.iter().filter(|s| s.main == source.main);
    let flow = same.fold(VolumeRate::of_si(0.0), |sum, s| sum + flow_of(solved, s));
    let (still, residual) = (test.still(), test.residual_at(flow));
    let next_flow = largest_line(solved);
    let times = match flow.value > 0.0 {
        true => ((flow + next_flow) / flow).value,
        false => 1.0,
    };
    MainAnswer {
        name: source.main.clone(),
        test,
        flow,
        residual,
        available: test.available(least_residual()),
        next_flow,
        next_residual: test.residual_at(flow + next_flow),
        next_by_squares: hydrant::residual_by_squares(still, residual, times),
        more_by_percent: hydrant::more_lines_by_percent(still, residual),
        more_by_digit: hydrant::more_lines_by_first_digit(still, residual),
    }
}

fn own_tank(content: Option<Volume>, flow: VolumeRate) -> Option<StoredAnswer> {
    let content = content?;
    let none = VolumeRate::of_si(0.0);
    Some(StoredAnswer {
        content,
        refill: none,
        lasts: shuttle::lasts(content, flow, none),
        lasts_refilled: shuttle::lasts(content, flow, none),
        tankers: None,
    })
}

/// Steps in which a portable tank's content is told.
const COURSE: u32 = 6;

impl TankersAnswer {
    fn said_course(&self) -> Said {
        let points = self.course.iter();
        let points = points.map(|&(time, left)| (figure::time(time), figure::volume(left)));
        match self.course.is_empty() {
            true => Said::Nothing,
            false => Said::Course(points.collect()),
        }
    }
}

/// The shuttle of a book.
fn shuttle_of(item: &ShuttleItem) -> Option<Shuttle> {
    let cycle = Cycle {
        fill: item.fill.get(),
        dump: item.dump.get(),
        travel: shuttle::travel_time(item.distance.get()),
        handling: item.handling.as_ref().map(Stated::get).unwrap_or_default(),
    };
    let usable = item.usable.as_ref().map(Stated::get);
    let usable = usable.unwrap_or_else(shuttle::usable_share);
    Shuttle::new(item.tank.get(), usable, cycle).ok()
}

fn portable_tank(
    solved: &Solved<'_>,
    source: &LaidSource,
    flow: VolumeRate,
) -> Option<StoredAnswer> {
    let item = solved.book.shuttle.get(&source.name)?;
    let shuttle = shuttle_of(item)?;
    let running = item.tankers.get().value.round() as u32;
    let refill = shuttle.sustained(running);
    let content = item.dump_tank.get();
    let storage = Storage {
        capacity: content,
        start: content,
        drawn: flow,
    };
    let first = shuttle.cycle().total() / f64::from(running.max(1));
    let over = solved.scene.duration.as_ref().map(Stated::get);
    let course =
        over.and_then(|over| shuttle::course(storage, shuttle.arrivals(running, first), over).ok());
    Some(StoredAnswer {
        content,
        refill,
        lasts: shuttle::lasts(content, flow, VolumeRate::of_si(0.0)),
        lasts_refilled: shuttle::lasts(content, flow, refill),
        tankers: Some(TankersAnswer {
            running,
            needed: shuttle.number_needed(flow),
            each: shuttle.sustained(1),
            round: shuttle.cycle().total(),
            lowest: course.as_ref().map(|c| c.lowest),
            dry_at: course.as_ref().and_then(|c| c.dry_at),
            course: match (&course, over) {
                (Some(course), Some(over)) => (0..=COURSE)
                    .map(|n| over * (f64::from(n) / f64::from(COURSE)))
                    .map(|time| (time, course.content_at(time)))
                    .collect(),
                _ => Vec::new(),
            },
        }),
    })
}

impl SourceAnswer {
    /// What is said about it.
    pub fn facts(&self) -> Vec<Fact> {
        let mut facts = vec![
            ("source", self.name.clone().into()),
            ("kind", self.kind.into()),
            ("feeds", self.rig.clone().into()),
            ("flow", figure::flow(self.flow).into()),
            ("pressure", figure::pressure(self.pressure).into()),
        ];
        facts.extend(self.main.iter().flat_map(MainAnswer::facts));
        facts.extend(self.stored.iter().flat_map(StoredAnswer::facts));
        facts.extend(self.draft.iter().flat_map(DraftAnswer::facts));
        facts
    }
}

impl MainAnswer {
    fn facts(&self) -> Vec<Fact> {
        vec![
            ("main tested at", self.name.clone().into()),
            ("static", figure::pressure(self.test.still()).into()),
            ("main flow", figure::flow(self.flow).into()),
            ("main residual", figure::pressure(self.residual).into()),
            ("least residual", figure::pressure(least_residual()).into()),
            (
                "available at least residual",
                figure::flow(self.available).into(),
            ),
            ("flow of one more line", figure::flow(self.next_flow).into()),
            ("residual with one more line", had(self.next_residual)),
            (
                "residual with one more line, squaring the lines",
                had(self.next_by_squares),
            ),
            (
                "may add as much again, percentage method",
                times(self.more_by_percent),
            ),
            (
                "may add as much again, first-digit method",
                times(self.more_by_digit),
            ),
        ]
    }
}

impl DraftAnswer {
    fn facts(&self) -> Vec<Fact> {
        vec![
            ("lift", figure::length(self.lift).into()),
            (
                "pressure above vapour",
                figure::pressure(self.above_vapour).into(),
            ),
            (
                "most by lift and suction",
                self.most.map(figure::flow).into(),
            ),
            (
                "share of rated flow at this lift",
                match self.share {
                    Some(share) => figure::share(share).into(),
                    None => "not in the trade's table".into(),
                },
            ),
            (
                "rated flow by that share",
                self.by_table.map(figure::flow).into(),
            ),
        ]
    }
}

/// A pressure, where there is any.
fn had(pressure: Pressure) -> Said {
    match pressure.value < 0.0 {
        true => "cannot be had".into(),
        false => figure::pressure(pressure).into(),
    }
}

fn times(times: u32) -> Said {
    match times {
        0 => "not".into(),
        1 => "once".into(),
        times => format!("{times} times").into(),
    }
}

impl StoredAnswer {
    fn facts(&self) -> Vec<Fact> {
        let mut facts: Vec<Fact> = vec![
            ("stored", figure::volume(self.content).into()),
            ("refill", figure::flow(self.refill).into()),
            ("lasts without refill", self.lasts.map(figure::time).into()),
            (
                "lasts with refill, on average",
                match self.lasts_refilled {
                    Some(time) => figure::time(time).into(),
                    None => Said::Text("does not run out".into()),
                },
            ),
        ];
        if let Some(tankers) = &self.tankers {
            facts.extend([
                ("tankers", tankers.running.into()),
                (
                    "tankers needed",
                    match tankers.needed {
                        Some(needed) => needed.into(),
                        None => Said::Text("no number is enough".into()),
                    },
                ),
                ("one tanker brings", figure::flow(tankers.each).into()),
                ("one round", figure::time(tankers.round).into()),
                (
                    "lowest in the portable tank",
                    tankers.lowest.map(figure::volume).into(),
                ),
                ("in the portable tank after", tankers.said_course()),
                (
                    "first runs dry after",
                    tankers.dry_at.map(figure::time).into(),
                ),
            ]);
        }
        facts
    }
}

/// A supply from rig to rig.
#[derive(Debug, Clone, PartialEq)]
pub struct RelayAnswer {
    /// The rig that pumps.
    pub from: String,
    /// The rig that takes.
    pub to: String,
    /// Flow.
    pub flow: VolumeRate,
    /// Hose between them.
    pub length: Length,
    /// Discharge of the one that pumps.
    pub discharge: Pressure,
    /// Intake of the one that takes.
    pub intake: Pressure,
    /// The highest discharge that pump, ceiling and hose allow.
    pub highest: Pressure,
    /// What keeps it there.
    pub bound_by: &'static str,
    /// How long the same supply could be at this flow, 20 psi left at the intake.
    pub longest: Option<Length>,
}

pub(super) fn relays(solved: &Solved<'_>) -> Vec<RelayAnswer> {
    let branches = solved.laid.branches.iter();
    let relay = |branch: &book::Branch| {
        let book::Feeds::Rig(to) = &branch.outlet.feeds else {
            return None;
        };
        let from = solved.laid.rigs.get(branch.rig)?;
        let to = solved.laid.rigs.iter().find(|rig| rig.name == *to)?;
        Some(self::relay(solved, branch, from, to))
    };
    branches.filter_map(relay).collect()
}

fn relay(solved: &Solved<'_>, branch: &book::Branch, from: &LaidRig, to: &LaidRig) -> RelayAnswer {
    let layout = &solved.laid.layout;
    let flow = solved.steady.flow(branch.part);
    let hose = layout.parts.iter();
    let hose: Vec<_> = hose
        .filter(|part| part.line == branch.line && part.kind == PartKind::Hose)
        .collect();
    // Side by side, the way is as long as one leg: its share of the flow.
    let length = hose.iter().fold(Length::of_si(0.0), |sum, part| {
        let share = (solved.steady.flow(part.part) / flow).value;
        let share = if share.is_finite() { share.abs() } else { 1.0 };
        sum + part.length.unwrap_or_default() * share
    });
    let discharge = solved.pressure(from.discharge);
    let intake = solved.pressure(to.intake);
    let service = hose.iter().filter_map(|part| part.service_pressure);
    let service = service.reduce(Pressure::min);
    let capable = solved.pressure(from.intake) + from.pump.capability(flow);
    let ceiling = solved.book.pump_ceiling.as_ref().map(Stated::get);
    let bounds = [
        (Some(capable), "the pump's capability"),
        (ceiling, "the department's ceiling"),
        (service, "the hose's service pressure"),
    ];
    let bounds = bounds.into_iter().filter_map(|(p, why)| Some((p?, why)));
    let lowest = bounds.reduce(|a, b| if b.0 < a.0 { b } else { a });
    let (highest, bound_by) = lowest.unwrap_or((capable, "the pump's capability"));
    let behind = layout.lay.ends(branch.part).1;
    let rise = layout.lay.height(to.intake) - layout.lay.height(from.discharge);
    let rise = solved.book.water().static_pressure(rise);
    let friction = solved.pressure(behind) - intake - rise;
    let spare = highest - least_residual() - rise;
    let longest = (friction.value > 0.0 && spare.value > 0.0).then(|| length * (spare / friction));
    RelayAnswer {
        from: from.name.clone(),
        to: to.name.clone(),
        flow,
        length,
        discharge,
        intake,
        highest,
        bound_by,
        longest,
    }
}

impl RelayAnswer {
    /// What is said about it.
    pub fn facts(&self) -> Vec<Fact> {
        vec![
            ("from", self.from.clone().into()),
            ("to", self.to.clone().into()),
            ("flow", figure::flow(self.flow).into()),
            ("length", figure::length(self.length).into()),
            ("pump pressure", figure::pressure(self.discharge).into()),
            ("intake of the next", figure::pressure(self.intake).into()),
            (
                "highest pump pressure",
                figure::pressure(self.highest).into(),
            ),
            ("bound by", self.bound_by.into()),
            (
                "longest at this flow",
                self.longest.map(figure::length).into(),
            ),
        ]
    }
}

/// Pressure that a rig's suction has left before the water boils.
pub(super) fn draft_margin(solved: &Solved<'_>, source: &LaidSource) -> Option<Pressure> {
    let item = solved.book.draft.get(&source.name)?;
    let sea = Length::of_si(0.0);
    let altitude = item.altitude.as_ref().map_or(sea, Stated::get);
    let air = hydraulics::draft::atmospheric(altitude) - vapour_pressure(solved.book.water());
    Some(air + solved.pressure(source.place))
}

/// Does the pump of `rig` hold what it is set to?
pub(super) fn holds(solved: &Solved<'_>, rig: &LaidRig) -> bool {
    match rig.governor {
        Governor::Pressure(setting) => {
            let short = setting - solved.pressure(rig.discharge);
            short.value <= 3_450.0
        }
        Governor::Speed(_) => true,
    }
}
