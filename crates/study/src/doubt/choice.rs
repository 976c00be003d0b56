//! How sure one choice on its lines is.
//!
//! On each day every line is solved with the values of that day: C of a hose, the doubt of
//! a nozzle, the length, the rise, the gate and the kink are the same on all lines, the
//! pump's is one for each rig. The worst line of the day counts. Heights that the
//! comparison names as cases are all tried on each day, unless the rise itself is drawn;
//! coefficients of its cases are not, since C is drawn.
//!
//! The pump ceiling is about what the gauge shows, which is what is set. Every other limit
//! is about what really is there: with a gauge that is off, the hose may be past its
//! service pressure though the gauge shows less.

use super::days::{Halted, Meter, Model, Tally, draw};
use super::indices::{Index, base_of, shares};
use super::line::{Asked, DayLine, KeptLine, TipDay, last_hose, reach, rig_of, which};
use super::model::{Doubted, Held, Share, Spread, Unsure};
use super::spread::Ready;
use super::tally::{Counted, half_of_chance};
use super::unsure::Gather;
use super::words;
use crate::choose::{Choice, ChooseError, Limit, OfLine, Watch};
use crate::figure::{self, Figure};
use crate::given::reaction_of;
use crate::notice::Notice;
use book::comparison::{AimKind, Comparison, Doubt};
use book::{Book, Conditions, LaidPart, LaidTip, Layout, LayoutError, PartKind, Path, Stated};
use hydraulics::units::{Force, Length, Measure, Pressure, Ratio, VolumeRate};

/// Days drawn when the comparison does not say.
const DRAWS: u64 = 10_000;

/// The most days.
const MOST_DRAWS: u64 = 10_000_000;

/// The choices, by rank, that days are drawn for.
pub const CHOICES_DRAWN: usize = 20;

/// Least days for the choices after the first.
const LEAST_DRAWS: u64 = 1_000;

/// A limit is kept to this share of itself, as far as sums in floating point go.
const EPSILON: f64 = 1e-9;

/// Days that a comparison draws: as many as it says, 10,000 when it does not.
///
/// ```
/// assert_eq!(study::doubt::days(&Default::default()), 10_000);
/// ```
pub fn days(doubt: &Doubt) -> u64 {
    doubt.draws.unwrap_or(DRAWS).min(MOST_DRAWS)
}

/// How sure what is on the lines of `on` is, by `draws` days ([`days`] says how many the
/// comparison asks for).
///
/// # Errors
/// [`ChooseError::Question`] when a line cannot be laid out so, [`ChooseError::Stopped`]
/// when `watch` says that the reader does not want it any more.
///
/// ```
/// use book::comparison::Comparison;
/// use hydraulics::units::{Kind, parse};
/// use study::choose::{OfLine, Quiet};
/// let text = br#"
/// [book]
/// name = "Example"
/// [line.left]
/// parts = [{ hose = "1.75 in", length = "200 ft" }, { nozzle = "15/16 in smooth bore" }]
/// "#;
/// let book = book::read(text, "example.toml")?;
/// let on = [OfLine {
///     line: "left".into(),
///     hose: "1.75 in".into(),
///     length: parse(Kind::Length, "200 ft")?,
///     nozzle: "15/16 in smooth bore".into(),
///     setting: None,
///     pump_pressure: parse(Kind::Pressure, "150 psi")?,
/// }];
/// let doubted = study::doubt::of_choice(&book, &Comparison::default(), &on, 2000, &Quiet)?;
/// // Only the hose is doubtful.
/// assert_eq!(doubted.unsure.len(), 1);
/// assert!(doubted.words[0].contains("C of 1.75 in"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn of_choice(
    book: &Book,
    comparison: &Comparison,
    on: &[OfLine],
    draws: u64,
    watch: &dyn Watch,
) -> Result<Doubted, ChooseError> {
    let system = comparison.units.unwrap_or(book.units);
    let mut gather = Gather::new(book, &comparison.doubt, system);
    let mut laid = Vec::new();
    for on in on {
        let layout = layout(book, comparison, on).map_err(|error| question(on, &error))?;
        gather.layout(&layout);
        gather.pump(&rig_of(book, &on.line));
        let gated = gated(book, comparison, on, &layout).map_err(|error| question(on, &error))?;
        laid.push((on, layout, gated));
    }
    gather.of_all_lines();
    let gathered = gather.done();
    let unsure = gathered.unsure;
    let lines = laid.into_iter().map(|(on, layout, gated)| {
        let rig = rig_of(book, &on.line);
        let day = |layout| DayLine::new(book, layout, on.pump_pressure, &unsure, &rig);
        Lines::new(book, comparison, on, day(layout), gated.map(day))
    });
    let days = ChoiceDays::new(book, comparison, lines.collect());
    let seed = comparison.doubt.seed.unwrap_or(1);
    let question = (draws, seed, watch);
    days.doubted(unsure, gathered.notices, question)
        .map_err(|Halted| ChooseError::Stopped)
}

/// Draws days for the first [`CHOICES_DRAWN`] of `choices` in their order: as many as the
/// comparison says for the first, a quarter (1,000 at least) for each after it, and as many
/// as for the first where a quarter cannot tell whether it holds on enough of them. Gives
/// the place of the first that does; `None` when none does, or when the comparison draws
/// no days.
///
/// # Errors
/// As [`of_choice`].
pub fn of_choices(
    book: &Book,
    comparison: &Comparison,
    choices: &mut [Choice],
    watch: &dyn Watch,
) -> Result<Option<usize>, ChooseError> {
    let first = days(&comparison.doubt);
    if first == 0 {
        return Ok(None);
    }
    let enough = comparison.doubt.days.as_ref();
    let enough = enough.map_or(0.95, |share| share.get().value);
    let all = days_for(&comparison.doubt, choices.len() as u64);
    let mut before = 0;
    let mut robust = None;
    for (place, choice) in choices.iter_mut().take(CHOICES_DRAWN).enumerate() {
        let draws = days_of(first, place);
        let watch = Among {
            watch,
            before,
            draws,
            all,
        };
        let mut doubted = of_choice(book, comparison, &choice.on, draws, &watch)?;
        let (share, half) = doubted.all_hold;
        if draws < first && robust.is_none() && (share - enough).abs() <= half {
            let still = Among { draws: 0, ..watch };
            doubted = of_choice(book, comparison, &choice.on, first, &still)?;
        }
        if robust.is_none() && doubted.all_hold.0 >= enough {
            robust = Some(place);
        }
        choice.doubted = Some(doubted);
        before += draws;
    }
    Ok(robust)
}

/// Days drawn for the choice of rank `place`, `first` for the first.
fn days_of(first: u64, place: usize) -> u64 {
    match place {
        0 => first,
        _ => (first / 4).clamp(LEAST_DRAWS.min(first), first),
    }
}

/// Days that [`of_choices`] draws for so many choices, all of them together.
///
/// ```
/// let doubt = Default::default();
/// assert_eq!(study::doubt::days_for(&doubt, 1), 10_000);
/// assert_eq!(study::doubt::days_for(&doubt, 3), 15_000);
/// ```
pub fn days_for(doubt: &Doubt, choices: u64) -> u64 {
    let first = days(doubt);
    let drawn = choices.min(CHOICES_DRAWN as u64);
    match drawn {
        0 => 0,
        drawn => first + (drawn - 1) * days_of(first, 1),
    }
}

/// One choice of several, as far as the reader is told.
struct Among<'a> {
    watch: &'a dyn Watch,
    before: u64,
    draws: u64,
    all: u64,
}

impl Watch for Among<'_> {
    fn progress(&self, what: &'static str, done: u64, all: u64) {
        let part = self.draws as f64 * done as f64 / all.max(1) as f64;
        self.watch
            .progress(what, self.before + part as u64, self.all);
    }

    fn is_stopped(&self) -> bool {
        self.watch.is_stopped()
    }
}

/// A line with what the choice puts on it.
fn layout(book: &Book, comparison: &Comparison, on: &OfLine) -> Result<Layout, LayoutError> {
    let conditions = conditions(book, comparison, on)?;
    book::layout(book, &on.line, &conditions)
}

fn conditions(
    book: &Book,
    comparison: &Comparison,
    on: &OfLine,
) -> Result<Conditions, LayoutError> {
    Ok(Conditions {
        which: which(&comparison.doubt),
        ..crate::choose::conditions_of(book, on)?
    })
}

/// The same line with each tip gated at its shut-off, or at the pump outlet where one has
/// none.
fn gated(
    book: &Book,
    comparison: &Comparison,
    on: &OfLine,
    open: &Layout,
) -> Result<Option<Layout>, LayoutError> {
    let Some(gate) = comparison.cases.gated.as_ref().map(Stated::get) else {
        return Ok(None);
    };
    let mut changed = conditions(book, comparison, on)?;
    let paths: Vec<Path> = match open.tips.iter().all(has_shutoff) {
        true => open.tips.iter().map(|tip| tip.path.clone()).collect(),
        false => vec![Path::default()],
    };
    for path in paths {
        changed.changes.entry(path).or_default().gate = Some(gate);
    }
    book::layout(book, &on.line, &changed).map(Some)
}

fn has_shutoff(tip: &LaidTip) -> bool {
    tip.tip.shutoff.is_some()
}

fn question(on: &OfLine, error: &LayoutError) -> ChooseError {
    ChooseError::Question {
        place: "lines".into(),
        message: format!("line \"{}\" cannot be laid out so: {error}", on.line),
        mend: "choose hose, nozzles and settings that the book or the catalogue has".into(),
    }
}

/// A measure over the days.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Wanted {
    Flow,
    LowFlow,
    Reach,
    Reaction,
    Steady,
    /// The lines' pump pressures from each other.
    Apart,
}

impl Wanted {
    fn of(aim: AimKind) -> Option<Self> {
        Some(match aim {
            AimKind::Flow => Wanted::Flow,
            AimKind::FlowAtLowPump => Wanted::LowFlow,
            AimKind::Reach => Wanted::Reach,
            AimKind::Reaction => Wanted::Reaction,
            AimKind::SteadyWhenGated => Wanted::Steady,
            AimKind::OnePumpPressure => Wanted::Apart,
            _ => return None,
        })
    }

    /// The finest difference that counts: 0.01 mL/s, 0.01 mm, 1 mN, a millionth,
    /// 1 Pa.
    fn step(self) -> f64 {
        match self {
            Wanted::Flow | Wanted::LowFlow => 1e-8,
            Wanted::Reach => 1e-5,
            Wanted::Reaction => 1e-3,
            Wanted::Steady => 1e-6,
            Wanted::Apart => 1.0,
        }
    }

    /// The worse of two values.
    fn worse(self, a: f64, b: f64) -> f64 {
        match self {
            Wanted::Flow | Wanted::LowFlow | Wanted::Reach => a.min(b),
            Wanted::Reaction | Wanted::Steady | Wanted::Apart => a.max(b),
        }
    }

    /// Where the worst of no values begins.
    fn none(self) -> f64 {
        match self {
            Wanted::Flow | Wanted::LowFlow | Wanted::Reach => f64::INFINITY,
            Wanted::Reaction | Wanted::Steady | Wanted::Apart => 0.0,
        }
    }
}

/// A value of an aim as a figure.
pub(super) fn figure_of(aim: AimKind, si: f64) -> Figure {
    match aim {
        AimKind::Flow | AimKind::FlowAtLowPump => figure::flow(VolumeRate::of_si(si)),
        AimKind::Reach => figure::length(Length::of_si(si)),
        AimKind::Reaction => figure::force(Force::of_si(si)),
        AimKind::PumpPressure | AimKind::OnePumpPressure => figure::pressure(Pressure::of_si(si)),
        _ => figure::share(Ratio::of_si(si)),
    }
}

/// A value over the days as it is shown.
pub(super) fn held(aim: AimKind, counted: &Counted) -> Held {
    let figure = |si| figure_of(aim, si);
    Held {
        aim,
        mean: figure(counted.moments.mean),
        sd: figure(counted.moments.sd()),
        quantiles: [0.05, 0.5, 0.95].map(|share| figure(counted.quantile(share))),
        histogram: counted.histogram(),
    }
}

/// A line of a choice on any day.
struct Lines {
    open: DayLine,
    gated: Option<DayLine>,
    /// The flow at which its pump pressure is set against that of other lines.
    asks_at: Option<VolumeRate>,
    /// How far its tips' shut-offs are open when it is gated; `None` where the pump
    /// outlet is gated in their stead.
    gate: Option<f64>,
    /// Which tips a person holds.
    by_hand: Vec<bool>,
    /// The varied hose before the first tip, by its place among the parts.
    hose: Option<usize>,
}

impl Lines {
    fn new(
        book: &Book,
        comparison: &Comparison,
        on: &OfLine,
        open: DayLine,
        gated: Option<DayLine>,
    ) -> Self {
        let layout = &open.layout;
        let first = layout.tips.first();
        let hose = first.and_then(|tip| last_hose(layout, &tip.line, &tip.path));
        let mut parts = layout.parts.iter();
        let hose = hose.and_then(|hose| parts.position(|part| part.part == hose.part));
        let near = comparison.aims.values().find_map(|aim| aim.near.as_ref());
        let needs = crate::operating::needs(layout, &on.line);
        let own = needs.first().map(|(_, flow)| *flow);
        let hand = |tip| !crate::operating::on_monitor(book, layout, tip);
        let at_tips = layout.tips.iter().all(has_shutoff);
        let gate = comparison.cases.gated.as_ref().filter(|_| at_tips);
        Lines {
            gate: gate.map(|share| share.get().value),
            asks_at: near.map(Stated::get).or(own).filter(|_| open.is_single()),
            by_hand: layout.tips.iter().map(hand).collect(),
            hose,
            gated,
            open,
        }
    }
}

/// The lines of a choice on any day.
struct ChoiceDays {
    lines: Vec<Lines>,
    aims: Vec<(AimKind, Wanted)>,
    limits: Vec<(Limit, f64)>,
    rises: Vec<f64>,
    low: Option<Pressure>,
    /// Reaches are asked for: they take the longest to work out.
    reach: bool,
}

impl ChoiceDays {
    fn new(book: &Book, comparison: &Comparison, lines: Vec<Lines>) -> Self {
        let cases = &comparison.cases;
        let low = cases.low_pump_pressure.as_ref().map(Stated::get);
        let alike = lines.len() > 1 && lines.iter().all(|line| line.asks_at.is_some());
        let possible = |wanted: &Wanted| match wanted {
            Wanted::LowFlow => low.is_some(),
            Wanted::Steady => cases.gated.is_some(),
            Wanted::Apart => alike,
            _ => true,
        };
        let mut aims: Vec<(AimKind, Wanted)> = comparison
            .aims
            .keys()
            .filter_map(|aim| Some((*aim, Wanted::of(*aim).filter(possible)?)))
            .collect();
        if comparison.aims.is_empty() {
            let usual = [AimKind::Flow, AimKind::Reach, AimKind::Reaction];
            aims = usual
                .into_iter()
                .filter_map(|aim| Some((aim, Wanted::of(aim)?)))
                .collect();
        }
        let limits = limits(book, comparison, &lines);
        let rises: Vec<f64> = match comparison.doubt.rise {
            Some(_) => Vec::new(),
            None => cases.rise.iter().map(|rise| rise.get().value).collect(),
        };
        let reach = limits.iter().any(|(limit, _)| *limit == Limit::Reach)
            || aims.iter().any(|(_, wanted)| *wanted == Wanted::Reach);
        ChoiceDays {
            lines,
            aims,
            limits,
            rises: match rises.is_empty() {
                true => vec![0.0],
                false => rises,
            },
            low,
            reach,
        }
    }

    fn doubted(
        &self,
        unsure: Vec<Unsure>,
        notices: Vec<Notice>,
        (draws, seed, watch): (u64, u64, &dyn Watch),
    ) -> Result<Doubted, Halted> {
        let ready: Vec<Ready> = unsure.iter().map(|u| Ready::new(u.spread)).collect();
        let asks = base_of(draws, ready.len());
        let meter = Meter::new(watch, draws + asks * (ready.len() as u64 + 2));
        let tally = draw(self, &ready, draws, seed, &meter)?;
        let found = shares(self, &ready, asks, seed, &meter)?;
        let swings = swings(self, &unsure);
        let aims = self.aims.iter().enumerate();
        let shares: Vec<(AimKind, Vec<Share>)> = aims
            .map(|(at, (aim, _))| {
                let found = found.get(at).map(Vec::as_slice).unwrap_or_default();
                (*aim, shares_of(*aim, &unsure, found, &swings, at))
            })
            .collect();
        let words = shares.iter().flat_map(|(aim, shares)| {
            words::of_aim(crate::choose::aim_name(*aim), shares, &unsure)
        });
        let all = |count: u64| half_of_chance(count, tally.days);
        let limits = self.limits.iter().zip(&tally.holds);
        Ok(Doubted {
            draws: tally.days,
            seed,
            unsolved: tally.unsolved,
            over_days: self.over_days(&tally),
            holds: limits
                .map(|((limit, _), count)| {
                    let (share, half) = all(*count);
                    (*limit, share, half)
                })
                .collect(),
            all_hold: all(tally.all_hold),
            words: words.collect(),
            shares,
            unsure,
            notices,
        })
    }

    fn over_days(&self, tally: &Tally) -> Vec<Held> {
        let aims = self.aims.iter().zip(&tally.values);
        aims.map(|((aim, _), counted)| held(*aim, counted))
            .collect()
    }
}

/// The values of all measures with everything at its middle but one thing, which is at its
/// 5 % and its 95 % value: for each thing, low and high.
pub(super) fn swings<M: Model>(model: &M, unsure: &[Unsure]) -> Vec<[Vec<f64>; 2]> {
    let middle: Vec<f64> = unsure.iter().map(|u| u.spread.quantile(0.5)).collect();
    let measures = model.steps().len();
    let mut kept = model.start();
    let mut at = |place: usize, spread: &Spread, share: f64| {
        let mut values = middle.clone();
        if let Some(value) = values.get_mut(place) {
            *value = spread.quantile(share);
        }
        let mut measured = vec![0.0; measures];
        let mut holds = vec![false; model.limits()];
        model.day(&mut kept, &values, &mut measured, &mut holds);
        measured
    };
    let things = unsure.iter().enumerate();
    things
        .map(|(place, thing)| [0.05, 0.95].map(|share| at(place, &thing.spread, share)))
        .collect()
}

/// The shares of one measure, the largest total first.
pub(super) fn shares_of(
    aim: AimKind,
    unsure: &[Unsure],
    found: &[Index],
    swings: &[[Vec<f64>; 2]],
    measure: usize,
) -> Vec<Share> {
    let rows = unsure.iter().zip(found).zip(swings);
    let mut shares: Vec<Share> = rows
        .map(|((unsure, index), swing)| Share {
            name: unsure.name.clone(),
            first: index.first,
            total: index.total,
            swing: swing
                .each_ref()
                .map(|values| figure_of(aim, values.get(measure).copied().unwrap_or_default())),
        })
        .collect();
    shares.sort_by(|a, b| b.total.0.total_cmp(&a.total.0));
    shares
}

/// The limits that what is drawn may pass, and the pump ceiling, each in SI.
fn limits(book: &Book, comparison: &Comparison, lines: &[Lines]) -> Vec<(Limit, f64)> {
    let asked = &comparison.limits;
    let low = comparison.cases.low_pump_pressure.is_some();
    let crew = asked.people.and_then(|people| {
        let limits = book.crew_limits();
        limits.get(usize::from(people).checked_sub(1)?).copied()
    });
    let reaction = [crew, asked.reaction.as_ref().map(Stated::get)];
    let reaction = reaction.into_iter().flatten().map(|f| f.value);
    let pressed = lines.iter().flat_map(|line| &line.open.layout.parts);
    let mut marked = pressed.filter(|part| part.service_pressure.is_some());
    let service = (!asked.past_service_pressure && marked.next().is_some()).then_some(0.0);
    fn si<Q: Measure>(stated: &Option<Stated<Q>>) -> Option<f64> {
        stated.as_ref().map(|stated| stated.get().si())
    }
    let all = [
        (Limit::Reaction, reaction.reduce(f64::min)),
        (Limit::PumpPressure, si(&asked.pump_pressure)),
        (Limit::ServicePressure, service),
        (Limit::Flow, si(&asked.flow)),
        (Limit::TipPressure, si(&asked.tip_pressure)),
        (Limit::Reach, si(&asked.reach)),
        (
            Limit::FlowAtLowPump,
            si(&asked.flow_at_low_pump).filter(|_| low),
        ),
        (
            Limit::TipPressureAtLowPump,
            si(&asked.tip_pressure_at_low_pump).filter(|_| low),
        ),
        (Limit::OutletPressure, si(&asked.outlet_pressure)),
    ];
    all.into_iter()
        .filter_map(|(limit, value)| Some((limit, value?)))
        .collect()
}

/// What a chunk keeps: the lines, open and gated, and room for their tips.
struct Kept {
    lines: Vec<(KeptLine, Option<KeptLine>)>,
    tips: Vec<TipDay>,
    gated: Vec<TipDay>,
}

/// The worst of a day's values, by measure and by limit.
struct Worst<'a> {
    days: &'a ChoiceDays,
    measures: &'a mut [f64],
    holds: &'a mut [bool],
}

impl Worst<'_> {
    fn see(&mut self, wanted: Wanted, value: f64) {
        for ((_, other), worst) in self.days.aims.iter().zip(self.measures.iter_mut()) {
            if *other == wanted {
                *worst = wanted.worse(*worst, value);
            }
        }
    }

    /// `value` must reach the limit.
    fn at_least(&mut self, limit: Limit, value: f64) {
        self.keep(limit, |bound| value >= bound * (1.0 - EPSILON));
    }

    /// `value` must not pass the limit.
    fn at_most(&mut self, limit: Limit, value: f64) {
        self.keep(limit, |bound| value <= bound * (1.0 + EPSILON));
    }

    fn keep(&mut self, limit: Limit, kept: impl Fn(f64) -> bool) {
        for ((other, bound), holds) in self.days.limits.iter().zip(self.holds.iter_mut()) {
            if *other == limit {
                *holds &= kept(*bound);
            }
        }
    }
}

impl Model for ChoiceDays {
    type Kept = Kept;

    fn start(&self) -> Kept {
        let kept = |line: &Lines| (line.open.start(), line.gated.as_ref().map(DayLine::start));
        Kept {
            lines: self.lines.iter().map(kept).collect(),
            tips: Vec::new(),
            gated: Vec::new(),
        }
    }

    fn steps(&self) -> Vec<f64> {
        self.aims.iter().map(|(_, wanted)| wanted.step()).collect()
    }

    fn limits(&self) -> usize {
        self.limits.len()
    }

    fn day(
        &self,
        kept: &mut Kept,
        values: &[f64],
        measures: &mut [f64],
        holds: &mut [bool],
    ) -> bool {
        for ((_, wanted), worst) in self.aims.iter().zip(measures.iter_mut()) {
            *worst = wanted.none();
        }
        holds.fill(true);
        let mut worst = Worst {
            days: self,
            measures,
            holds,
        };
        let Kept { lines, tips, gated } = kept;
        let mut asks = (f64::INFINITY, f64::NEG_INFINITY);
        for (line, kept) in self.lines.iter().zip(lines) {
            worst.at_most(Limit::PumpPressure, line.open.pressure.value);
            for (case, rise) in self.rises.iter().enumerate() {
                let rooms = (&mut *tips, &mut *gated);
                let day = (values, *rise);
                if self.line(line, kept, day, rooms, &mut worst).is_none() {
                    return false;
                }
                if let (0, Some(flow)) = (case, line.asks_at) {
                    let asked = line.open.asks(&mut kept.0, day, flow).value;
                    asks = (asks.0.min(asked), asks.1.max(asked));
                }
            }
        }
        if asks.0.is_finite() {
            worst.see(Wanted::Apart, asks.1 - asks.0);
        }
        worst.measures.iter().all(|value| value.is_finite())
    }
}

impl ChoiceDays {
    /// One line at one rise; `None` when there is no physical answer.
    fn line(
        &self,
        line: &Lines,
        (open, shut): &mut (KeptLine, Option<KeptLine>),
        (values, rise): (&[f64], f64),
        (tips, gated): (&mut Vec<TipDay>, &mut Vec<TipDay>),
        worst: &mut Worst<'_>,
    ) -> Option<()> {
        let asked = Asked { gate: None, rise };
        let pump = line.open.pump(line.open.pressure, values);
        let (service, inlet) = line
            .open
            .solve(open, pump, (values, asked), tips, |along| {
                self.pressures(line, pump, along)
            })?;
        worst.keep(Limit::ServicePressure, |_| service);
        worst.at_most(Limit::OutletPressure, inlet.value);
        self.tips(line, tips, worst);
        if let (Some(gated_line), Some(kept)) = (&line.gated, shut) {
            let asked = Asked {
                gate: line.gate,
                rise,
            };
            gated_line.solve(kept, pump, (values, asked), gated, |_| ())?;
            for (open, gated) in tips.iter().zip(gated.iter()) {
                let (open, now) = (open.pressure.value, gated.pressure.value);
                let change = if open > 0.0 {
                    (now - open).abs() / open
                } else {
                    1.0
                };
                worst.see(Wanted::Steady, change);
            }
        }
        if let Some(low) = self.low {
            let pump = line.open.pump(low, values);
            line.open.solve(open, pump, (values, asked), tips, |_| ())?;
            for tip in tips.iter() {
                worst.see(Wanted::LowFlow, tip.flow.value);
                worst.at_least(Limit::FlowAtLowPump, tip.flow.value);
                worst.at_least(Limit::TipPressureAtLowPump, tip.pressure.value);
            }
        }
        Some(())
    }

    /// What the tips give at the line's own pump pressure.
    fn tips(&self, line: &Lines, tips: &[TipDay], worst: &mut Worst<'_>) {
        let laid = line.open.layout.tips.iter().zip(&line.by_hand);
        for ((laid, by_hand), tip) in laid.zip(tips) {
            worst.see(Wanted::Flow, tip.flow.value);
            worst.at_least(Limit::Flow, tip.flow.value);
            worst.at_least(Limit::TipPressure, tip.pressure.value);
            if *by_hand {
                let force = reaction_of(&tip.tip.nozzle, tip.flow, tip.pressure).0;
                worst.see(Wanted::Reaction, force.value);
                worst.at_most(Limit::Reaction, force.value);
            }
            if self.reach {
                let reach = reach(laid, tip);
                worst.see(Wanted::Reach, reach.value);
                worst.at_least(Limit::Reach, reach.value);
            }
        }
    }

    /// Is no hose past its service pressure, and what does the varied hose get at its
    /// inlet? Hose stands under the pump's pressure whenever the tips are shut; past a part
    /// at which pressure starts anew, under what it has with the water moving.
    fn pressures(
        &self,
        line: &Lines,
        pump: Pressure,
        along: &dyn Fn(&LaidPart) -> (Pressure, Pressure),
    ) -> (bool, Pressure) {
        let layout = &line.open.layout;
        let asks = |limit| self.limits.iter().any(|(other, _)| *other == limit);
        let within = |part: &LaidPart| {
            let Some(service) = part.service_pressure else {
                return true;
            };
            let highest = match layout.cuts.len() {
                1 => {
                    let (from, to) = layout.lay.ends(part.part);
                    let lowest = layout.lay.height(from).min(layout.lay.height(to));
                    pump - layout.lay.column(lowest)
                }
                _ => {
                    let (from, to) = along(part);
                    from.max(to)
                }
            };
            highest.value <= service.value * (1.0 + EPSILON)
        };
        let mut hoses = layout
            .parts
            .iter()
            .filter(|part| part.kind == PartKind::Hose);
        let service = !asks(Limit::ServicePressure) || hoses.all(within);
        let varied = line.hose.filter(|_| asks(Limit::OutletPressure));
        let varied = varied.and_then(|at| layout.parts.get(at));
        (
            service,
            varied.map(|part| along(part).0).unwrap_or_default(),
        )
    }
}
