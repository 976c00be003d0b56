//! From a lay to its steady answer: dead ends set aside, parts in series taken
//! together, the rest solved, and every part's flow and every place's pressure
//! given back.

use crate::chain::{Chain, Link, Written, ways};
use crate::linear::{End, Linear};
use crate::network::{Lay, Part, PartId, PlaceId, Role};
use crate::newton::{Outcome, Problem, State, Work};
use hydraulics::element::{Element, Hold, Passage};
use hydraulics::units::{Measure, Pressure, VolumeRate};
use std::sync::Arc;

/// How the solver stopped.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stopped {
    /// Both misses are within tolerance.
    Converged,
    /// The step limit was reached; the answer is the best found.
    StepLimit,
}

/// What is left over in an answer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Residual {
    /// Largest imbalance of flow at a place.
    pub flow: VolumeRate,
    /// Largest miss of pressure along a part.
    pub pressure: Pressure,
}

/// The steady answer of a lay.
#[derive(Debug, Clone)]
pub struct Steady {
    flows: Vec<f64>,
    pressures: Vec<Option<f64>>,
    /// What is left over.
    pub residual: Residual,
    /// Newton steps taken.
    pub steps: usize,
    /// How the solver stopped.
    pub stopped: Stopped,
    state: State,
}

impl Steady {
    /// Flow through `part`, from its inlet to its outlet.
    pub fn flow(&self, part: PartId) -> VolumeRate {
        VolumeRate::of_si(self.flows.get(part.0).copied().unwrap_or(0.0))
    }

    /// Gauge pressure at `place`; `None` where no pump reaches it.
    pub fn pressure(&self, place: PlaceId) -> Option<Pressure> {
        let pressure = self.pressures.get(place.0).copied().flatten()?;
        Some(Pressure::of_si(pressure))
    }

    /// The largest flow through any part.
    pub fn largest_flow(&self) -> VolumeRate {
        VolumeRate::of_si(self.flows.iter().fold(0.0_f64, |m, q| m.max(q.abs())))
    }
}

/// The steady answer of `lay`. Never panics and never hangs: an answer that
/// did not converge says so in [`Steady::stopped`] and [`Steady::residual`].
pub fn solve(lay: &Lay) -> Steady {
    Solver::new(lay).solve(lay, None)
}

/// The shape of a lay made ready, to be solved again with other pressures or
/// other laws in the same places.
pub struct Solver {
    /// For each chain its ends and its parts (backwards or not), and one-way.
    plan: Vec<PlannedChain>,
    edges: Vec<(End, End)>,
    /// The place of each free node.
    nodes: Vec<usize>,
    linear: Linear,
    passages: Vec<Passage>,
    /// What each part said when it was last asked, from the second answer on.
    known: Vec<Known>,
    work: Work,
}

/// What a law says of itself. It is held on to, so that the same law in the same place
/// need not be asked again.
struct Known {
    law: Arc<dyn Element>,
    passage: Passage,
    form: Written,
}

impl Known {
    fn new(law: &Arc<dyn Element>) -> Self {
        Known {
            passage: law.passage(),
            form: Written::of(law.as_ref()),
            law: Arc::clone(law),
        }
    }
}

pub(crate) struct PlannedChain {
    pub from: usize,
    pub to: usize,
    pub parts: Vec<(usize, bool)>,
    one_way: bool,
}

impl PlannedChain {
    fn hold(&self, lay: &Lay) -> Hold {
        match self.parts.as_slice() {
            [(part, _)] => lay.parts[*part].law.hold(),
            _ => Hold::Nothing,
        }
    }

    fn turn_round(&mut self) {
        std::mem::swap(&mut self.from, &mut self.to);
        self.parts.reverse();
        for (_, backwards) in &mut self.parts {
            *backwards = !*backwards;
        }
    }
}

impl Solver {
    /// Makes the shape of `lay` ready.
    pub fn new(lay: &Lay) -> Self {
        let plan = plan(lay);
        let mut node_of = vec![usize::MAX; lay.places.len()];
        let mut nodes = Vec::new();
        let mut end = |place: usize| {
            if lay.held_head(place).is_some() {
                return End::Held;
            }
            if node_of[place] == usize::MAX {
                node_of[place] = nodes.len();
                nodes.push(place);
            }
            End::Free(node_of[place])
        };
        let edges: Vec<_> = plan.iter().map(|c| (end(c.from), end(c.to))).collect();
        let linear = Linear::new(nodes.len(), &edges);
        Solver {
            plan,
            edges,
            nodes,
            linear,
            passages: lay.parts.iter().map(|p| p.law.passage()).collect(),
            known: Vec::new(),
            work: Work::default(),
        }
    }

    /// Asks the parts whose laws are not those of the last time.
    fn ask_what_is_new(&mut self, lay: &Lay) {
        if self.known.len() != lay.parts.len() {
            self.known = lay.parts.iter().map(|p| Known::new(&p.law)).collect();
            return;
        }
        for (known, part) in self.known.iter_mut().zip(&lay.parts) {
            if !Arc::ptr_eq(&known.law, &part.law) {
                *known = Known::new(&part.law);
            }
        }
    }

    /// Can water pass the parts as it could when this was made ready?
    fn passes_alike(&self, lay: &Lay) -> bool {
        let count = lay.parts.len();
        if self.known.len() == count {
            let mut both = self.known.iter().zip(&self.passages);
            return count == self.passages.len() && both.all(|(k, &w)| k.passage == w);
        }
        let mut both = lay.parts.iter().zip(&self.passages);
        count == self.passages.len() && both.all(|(p, &w)| p.law.passage() == w)
    }

    /// All links in one row: a chain is a stretch of it.
    fn links<'a>(&self, lay: &'a Lay) -> Vec<Link<'a>> {
        let mut links = Vec::with_capacity(lay.parts.len());
        for &(part, backwards) in self.plan.iter().flat_map(|chain| &chain.parts) {
            let law = lay.parts[part].law.as_ref();
            let form = match self.known.get(part) {
                Some(known) => known.form,
                None => Written::of(law),
            };
            links.push(Link::new(part, law, backwards, form));
        }
        links
    }

    /// The steady answer of `lay`, which must have the shape that this solver
    /// was made for (a lay whose parts pass differently is planned anew).
    /// `from` is an earlier answer to start from.
    pub fn solve(&mut self, lay: &Lay, from: Option<&Steady>) -> Steady {
        match from {
            // Whoever starts from an answer is likely to come again.
            Some(_) => self.ask_what_is_new(lay),
            None => self.known.clear(),
        }
        if !self.passes_alike(lay) {
            let known = std::mem::take(&mut self.known);
            *self = Solver::new(lay);
            self.known = known;
        }
        let mut linear = std::mem::take(&mut self.linear);
        let mut work = std::mem::take(&mut self.work);
        let links = self.links(lay);
        let problem = self.problem(lay, &links);
        let mut state = from
            .filter(|s| {
                s.state.s.len() == self.plan.len() && s.state.heads.len() == self.nodes.len()
            })
            .map_or_else(|| problem.start(), |s| s.state.clone());
        let outcome = solve_problem(&problem, &mut linear, &mut state, &mut work);
        let answer = self.answer(lay, &problem, state, outcome);
        (self.linear, self.work) = (linear, work);
        answer
    }

    fn problem<'a>(&'a self, lay: &'a Lay, mut links: &'a [Link<'a>]) -> Problem<'a> {
        let chain = |planned: &PlannedChain| {
            let (own, rest) = links.split_at(planned.parts.len());
            links = rest;
            Chain::new(
                (planned.from, planned.to),
                own,
                planned.one_way,
                planned.hold(lay),
                (lay.static_head(planned.from), lay.static_head(planned.to)),
            )
        };
        let head = |place: usize| lay.held_head(place).unwrap_or(0.0);
        Problem {
            chains: self.plan.iter().map(chain).collect(),
            edges: &self.edges,
            held: self
                .plan
                .iter()
                .map(|c| (head(c.from), head(c.to)))
                .collect(),
            drawn: self.nodes.iter().map(|&n| lay.places[n].drawn).collect(),
        }
    }

    fn answer(&self, lay: &Lay, problem: &Problem<'_>, state: State, outcome: Outcome) -> Steady {
        let mut flows = vec![0.0; lay.parts.len()];
        let mut heads: Vec<Option<f64>> = (0..lay.places.len()).map(|p| lay.held_head(p)).collect();
        for (&place, &head) in self.nodes.iter().zip(&state.heads) {
            heads[place] = Some(head);
        }
        for (chain, &s) in problem.chains.iter().zip(&state.s) {
            let q = if chain.one_way { s.max(0.0) } else { s };
            for link in chain.links {
                flows[link.part] = if link.backwards { -q } else { q };
            }
            walk(lay, chain, q, &mut heads);
        }
        spread_at_rest(lay, &self.passages, &flows, &mut heads);
        for (place, head) in heads.iter_mut().enumerate() {
            *head = head.map(|head| head - lay.static_head(place));
        }
        Steady {
            flows,
            pressures: heads,
            residual: Residual {
                flow: VolumeRate::of_si(outcome.flow_miss),
                pressure: Pressure::of_si(outcome.head_miss),
            },
            steps: outcome.steps,
            stopped: if outcome.converged {
                Stopped::Converged
            } else {
                Stopped::StepLimit
            },
            state,
        }
    }
}

/// Chains between two held places stand alone and take the direct route; a
/// problem of nothing else needs no network at all.
fn solve_problem(
    problem: &Problem<'_>,
    linear: &mut Linear,
    state: &mut State,
    work: &mut Work,
) -> Outcome {
    let alone = |i: usize| problem.edges[i] == (End::Held, End::Held);
    for (i, chain) in problem.chains.iter().enumerate() {
        if alone(i) {
            state.s[i] = chain.s_between(problem.held[i], state.s[i]);
        }
    }
    problem.solve(linear, state, work)
}

/// Heads inside a chain, from its ends inward.
fn walk(lay: &Lay, chain: &Chain<'_>, q: f64, heads: &mut [Option<f64>]) {
    let mut place = chain.from;
    let mut head = heads[place];
    let blocked = chain.one_way && q == 0.0;
    let blocks = |link: &Link<'_>| blocked && link.ways() == (true, false);
    for link in chain.links {
        if blocks(link) {
            break;
        }
        place = far_end(lay, link.part, place);
        if place != chain.to {
            head = head.map(|h| h - link.loss(q).0);
            heads[place] = head;
        }
    }
    if !blocked {
        return;
    }
    let mut place = chain.to;
    let mut head = heads[place];
    for link in chain.links.iter().rev() {
        if blocks(link) {
            break;
        }
        place = far_end(lay, link.part, place);
        head = head.map(|h| h + link.loss(0.0).0);
        if place != chain.from && heads[place].is_none() {
            heads[place] = head;
        }
    }
}

fn far_end(lay: &Lay, part: usize, near: usize) -> usize {
    let part = &lay.parts[part];
    if part.from == near {
        part.to
    } else {
        part.from
    }
}

/// Carries pressure into what was set aside: nothing flows there, so that only
/// the parts' loss at rest lies between. Water shut in between check valves has
/// the highest pressure that any of them let in.
fn spread_at_rest(lay: &Lay, passages: &[Passage], flows: &[f64], heads: &mut [Option<f64>]) {
    let known = |part: &Part| heads[part.from].is_some() && heads[part.to].is_some();
    if lay.parts.iter().all(known) {
        return;
    }
    let solved: Vec<bool> = heads.iter().map(Option::is_some).collect();
    for _ in 0..lay.places.len() {
        let mut changed = false;
        let mut raise = |place: usize, head: f64, heads: &mut [Option<f64>]| {
            if !solved[place] && heads[place].is_none_or(|h| h < head) {
                heads[place] = Some(head);
                changed = true;
            }
        };
        for ((part, &flow), &passage) in lay.parts.iter().zip(flows).zip(passages) {
            if flow != 0.0 || passage == Passage::Shut {
                continue;
            }
            let rest = part.law.loss(VolumeRate::of_si(0.0)).pressure.value;
            if let Some(head) = heads[part.from] {
                let beyond = beyond_at_rest(part, head - rest, head, lay);
                raise(part.to, beyond, heads);
            }
            if let (Some(head), Passage::Free) = (heads[part.to], passage) {
                raise(part.from, head + rest, heads);
            }
        }
        if !changed {
            return;
        }
    }
}

/// Head behind a part that carries nothing: what it holds, or `reached`.
fn beyond_at_rest(part: &Part, reached: f64, inlet: f64, lay: &Lay) -> f64 {
    match part.law.hold() {
        Hold::Outlet {
            setting,
            pump_starves_at,
        } => {
            let held = reached.min(setting.value + lay.static_head(part.to));
            match pump_starves_at {
                Some(_) => held.max(inlet),
                None => held,
            }
        }
        Hold::Nothing | Hold::Inlet { .. } => reached,
    }
}

/// Which parts can carry water, and how they hang together.
pub(crate) fn plan(lay: &Lay) -> Vec<PlannedChain> {
    let mut usable: Vec<bool> = lay
        .parts
        .iter()
        .map(|p| p.law.passage() != Passage::Shut && p.from != p.to)
        .collect();
    loop {
        set_aside_unsupplied(lay, &mut usable);
        set_aside_dead_ends(lay, &mut usable);
        let chains = chains_of(lay, &usable);
        // A chain that passes neither way is shut; without it the rest may
        // have dead ends of its own.
        let shut: Vec<usize> = chains
            .iter()
            .filter(|(_, ways)| *ways == (false, false))
            .flat_map(|(chain, _)| chain.parts.iter().map(|&(part, _)| part))
            .collect();
        if shut.is_empty() {
            return chains.into_iter().map(|(chain, _)| chain).collect();
        }
        for part in shut {
            usable[part] = false;
        }
    }
}

fn parts_at(lay: &Lay, usable: &[bool]) -> Vec<Vec<usize>> {
    let mut at = vec![Vec::new(); lay.places.len()];
    for (i, part) in lay.parts.iter().enumerate() {
        if usable[i] {
            at[part.from].push(i);
            at[part.to].push(i);
        }
    }
    at
}

/// Parts that no supply can reach, and parts from which water cannot get
/// anywhere, carry nothing.
fn set_aside_unsupplied(lay: &Lay, usable: &mut [bool]) {
    let from = |p: usize| lay.places[p].role == Role::Supply;
    let to = |p: usize| lay.places[p].role != Role::Junction || lay.places[p].drawn != 0.0;
    let supplied = spread(lay, usable, from, true);
    let leads_out = spread(lay, usable, to, false);
    for (i, part) in lay.parts.iter().enumerate() {
        let goes = |from: usize, to: usize| {
            supplied[from] && lay.places[from].role != Role::Air && leads_out[to]
        };
        let both_ways = part.law.passage() != Passage::OneWay;
        usable[i] &= goes(part.from, part.to) || (both_ways && goes(part.to, part.from));
    }
}

/// The places that water from the places `at_first` can get to, or, not `with`
/// the water, those from which it can get there.
fn spread(lay: &Lay, usable: &[bool], at_first: impl Fn(usize) -> bool, with: bool) -> Vec<bool> {
    let at = parts_at(lay, usable);
    let mut reached: Vec<bool> = (0..lay.places.len()).map(at_first).collect();
    let mut stack: Vec<usize> = (0..reached.len()).filter(|&p| reached[p]).collect();
    while let Some(place) = stack.pop() {
        for &part in &at[place] {
            let far = far_end(lay, part, place);
            let along = lay.parts[part].from == place;
            if along != with && lay.parts[part].law.passage() == Passage::OneWay {
                continue;
            }
            if !reached[far] {
                reached[far] = true;
                // The open air passes nothing on.
                if lay.places[far].role != Role::Air {
                    stack.push(far);
                }
            }
        }
    }
    reached
}

fn set_aside_dead_ends(lay: &Lay, usable: &mut [bool]) {
    let at = parts_at(lay, usable);
    let mut count: Vec<usize> = at.iter().map(Vec::len).collect();
    let is_end = |place: usize, count: &[usize]| {
        lay.places[place].role == Role::Junction
            && lay.places[place].drawn == 0.0
            && count[place] == 1
    };
    let mut stack: Vec<usize> = (0..lay.places.len())
        .filter(|&p| is_end(p, &count))
        .collect();
    while let Some(place) = stack.pop() {
        let Some(&part) = at[place].iter().find(|&&p| usable[p]) else {
            continue;
        };
        usable[part] = false;
        count[place] -= 1;
        let far = far_end(lay, part, place);
        count[far] -= 1;
        if is_end(far, &count) {
            stack.push(far);
        }
    }
}

type Ways = (bool, bool);

fn chains_of(lay: &Lay, usable: &[bool]) -> Vec<(PlannedChain, Ways)> {
    let at = parts_at(lay, usable);
    let between = |place: usize| {
        let p = &lay.places[place];
        let holds = |&part: &usize| lay.parts[part].law.hold() != Hold::Nothing;
        p.role == Role::Junction
            && p.drawn == 0.0
            && at[place].len() == 2
            && !at[place].iter().any(holds)
    };
    let mut taken = vec![false; lay.parts.len()];
    let mut chains = Vec::new();
    for (start, parts) in at.iter().enumerate() {
        if between(start) {
            continue;
        }
        for &first in parts {
            if taken[first] {
                continue;
            }
            let chain = follow(lay, &at, start, first, &between, &mut taken);
            split_if_closed(lay, chain, &mut chains);
        }
    }
    chains.into_iter().map(|chain| orient(lay, chain)).collect()
}

/// Follows the parts from `start` through `first` to the next place that is
/// not merely in between.
fn follow(
    lay: &Lay,
    at: &[Vec<usize>],
    start: usize,
    first: usize,
    between: &dyn Fn(usize) -> bool,
    taken: &mut [bool],
) -> PlannedChain {
    let mut parts = Vec::new();
    let (mut place, mut part) = (start, first);
    loop {
        taken[part] = true;
        let backwards = lay.parts[part].from != place;
        parts.push((part, backwards));
        place = far_end(lay, part, place);
        let next = at[place].iter().copied().find(|&p| !taken[p]);
        match next {
            Some(next) if between(place) => part = next,
            _ => break,
        }
    }
    PlannedChain {
        from: start,
        to: place,
        parts,
        one_way: false,
    }
}

/// A chain that comes back to where it began is cut in two, so that the
/// network has no edge from a node to itself.
fn split_if_closed(lay: &Lay, mut chain: PlannedChain, into: &mut Vec<PlannedChain>) {
    if chain.from == chain.to && chain.parts.len() > 1 {
        let rest = chain.parts.split_off(1);
        let (part, backwards) = chain.parts[0];
        let part = &lay.parts[part];
        let middle = if backwards { part.from } else { part.to };
        into.push(PlannedChain {
            from: middle,
            to: chain.to,
            parts: rest,
            one_way: false,
        });
        chain.to = middle;
    }
    into.push(chain);
}

/// A chain that passes one way only is turned to run that way.
fn orient(lay: &Lay, mut planned: PlannedChain) -> (PlannedChain, Ways) {
    let ways = planned.parts.iter().fold((true, true), |w, &(part, back)| {
        let (with, against) = ways(lay.parts[part].law.passage(), back);
        (w.0 && with, w.1 && against)
    });
    planned.one_way = ways.0 != ways.1;
    if ways == (false, true) {
        planned.turn_round();
    }
    (planned, ways)
}
