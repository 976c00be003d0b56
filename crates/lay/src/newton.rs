//! Newton's method with line search on the whole network.
//!
//! Unknown are the head of every free node and, for every chain, a number s.
//! A chain that passes both ways carries the flow s. A one-way chain carries
//! s while s is above zero; below, it carries nothing, and its loss falls on
//! in a straight line, so that "shut with this much against it" is a point of
//! the same curve and no case distinction is left to the solver. The step
//! solves a network of conductances ([`crate::linear`]).

use crate::chain::{AGAINST, Chain, GUESS, Point};
use crate::linear::{Conductance, End, Linear};
use hydraulics::element::Hold;

/// Change of flow, as a share of the largest, below which a step is the last.
const SETTLED: f64 = 1e-10;
/// Share of its neighbours' conductance that a shut chain lends to the step.
const LEAK: f64 = 1e-10;
const STEPS: usize = 60;
const DESCENT: usize = 300;
/// The largest and the smallest rounding of corners, in Pa, and how it shrinks
/// from stage to stage: at first in large steps.
const SOFTEST: f64 = 3e5;
const HARDEST: f64 = 1e-2;
const STAGES: [f64; 3] = [0.3, 0.6, 0.85];

pub(crate) struct Problem<'a> {
    pub chains: Vec<Chain<'a>>,
    pub edges: &'a [(End, End)],
    /// Head at each end of each chain, where it is held.
    pub held: Vec<(f64, f64)>,
    /// Flow drawn at each free node.
    pub drawn: Vec<f64>,
}

#[derive(Debug, Clone, Default)]
pub(crate) struct State {
    pub s: Vec<f64>,
    pub heads: Vec<f64>,
}

#[derive(Debug, Clone, Copy)]
pub(crate) struct Outcome {
    pub converged: bool,
    pub steps: usize,
    /// Largest imbalance of flow at a node, m3/s.
    pub flow_miss: f64,
    /// Largest miss of head along a chain, Pa.
    pub head_miss: f64,
}

#[derive(Default)]
pub(crate) struct Work {
    points: Vec<Point>,
    /// Flow out of each node less flow in, drawn included.
    out: Vec<f64>,
    g: Vec<Conductance>,
    /// The largest conductance at each node.
    strongest: Vec<f64>,
    /// How far corners are rounded off, in Pa.
    soft: f64,
    step: Vec<f64>,
    moves: Vec<f64>,
    trial: State,
    head_scale: f64,
}

impl Problem<'_> {
    pub(crate) fn start(&self) -> State {
        let held = self.edges.iter().zip(&self.held);
        let (low, high) = held.fold((f64::INFINITY, f64::NEG_INFINITY), |acc, (e, h)| {
            let mut acc = acc;
            for (end, head) in [(e.0, h.0), (e.1, h.1)] {
                if end == End::Held {
                    acc = (acc.0.min(head), acc.1.max(head));
                }
            }
            acc
        });
        let middle = if low.is_finite() {
            0.5 * (low + high)
        } else {
            0.0
        };
        State {
            s: vec![GUESS; self.chains.len()],
            heads: vec![middle; self.drawn.len()],
        }
    }

    /// Solves from `state`. `work` is room that an earlier solution left.
    pub(crate) fn solve(&self, linear: &mut Linear, state: &mut State, work: &mut Work) -> Outcome {
        work.make_ready(self, state);
        let direct = self.home_in(linear, state, work);
        if direct.converged {
            return direct;
        }
        if self.chains.iter().any(|chain| chain.hold != Hold::Nothing) {
            return self.soften(linear, state, work, direct.steps);
        }
        // Steps that stall at a kink: walk down the convex energy of the heads
        // first, which cannot stall, then finish as before.
        *state = self.start();
        let walked = self.descend(linear, state, work);
        let last = self.home_in(linear, state, work);
        Outcome {
            steps: direct.steps + walked + last.steps,
            ..last
        }
    }

    /// Newton on the heads alone, every chain at the flow that belongs to the
    /// head over it. The imbalance of flow is the gradient of a convex energy,
    /// so along a step its slope only rises, and a bracket finds where to stop.
    fn descend(&self, linear: &mut Linear, state: &mut State, work: &mut Work) -> usize {
        self.flows_from_heads(state);
        self.evaluate(state, work);
        for steps in 0..DESCENT {
            let miss = work.out.iter().fold(0.0_f64, |m, v| m.max(v.abs()));
            if miss <= 1e-9 * work.largest_flow() || !self.newton_step(linear, work) {
                return steps;
            }
            let step = work.step.clone();
            let start = state.heads.clone();
            let first = slope_along(work, &step);
            let (mut low, mut high, mut share) = (0.0, f64::INFINITY, 1.0);
            for _ in 0..60 {
                for ((head, from), d) in state.heads.iter_mut().zip(&start).zip(&step) {
                    *head = from + share * d;
                }
                self.flows_from_heads(state);
                self.evaluate(state, work);
                let slope = slope_along(work, &step);
                if slope.abs() <= 0.5 * first.abs() {
                    break;
                }
                if slope > 0.0 {
                    high = share
                } else {
                    low = share
                }
                share = if high.is_finite() {
                    0.5 * (low + high)
                } else {
                    2.0 * share
                };
            }
        }
        DESCENT
    }

    /// The heads at the two ends of a chain.
    fn heads_at(&self, chain: usize, heads: &[f64]) -> (f64, f64) {
        let head = |end, held| match end {
            End::Free(n) => heads[n],
            End::Held => held,
        };
        let ((from, to), held) = (self.edges[chain], self.held[chain]);
        (head(from, held.0), head(to, held.1))
    }

    /// Sets every chain's s to what the heads at its ends make of it.
    fn flows_from_heads(&self, state: &mut State) {
        for (i, chain) in self.chains.iter().enumerate() {
            state.s[i] = chain.s_between(self.heads_at(i, &state.heads), GUESS);
        }
    }

    /// Newton with every corner rounded off, less and less; in smaller stages
    /// where larger ones do not lead to the end.
    fn soften(
        &self,
        linear: &mut Linear,
        state: &mut State,
        work: &mut Work,
        mut steps: usize,
    ) -> Outcome {
        let mut last = work.outcome(steps);
        for stage in STAGES {
            *state = self.start();
            let mut soft = SOFTEST;
            while soft > HARDEST {
                work.soft = soft;
                steps += self.home_in(linear, state, work).steps;
                soft *= stage;
            }
            work.soft = 0.0;
            last = self.home_in(linear, state, work);
            steps += last.steps;
            if last.converged || work.is_near() {
                last.converged = true;
                break;
            }
        }
        Outcome { steps, ..last }
    }

    fn home_in(&self, linear: &mut Linear, state: &mut State, work: &mut Work) -> Outcome {
        let mut norm = self.evaluate(state, work);
        for steps in 0..STEPS {
            let outcome = work.outcome(steps);
            if norm == 0.0 || !self.newton_step(linear, work) {
                return outcome;
            }
            self.fill_moves(work);
            let least = SETTLED * work.largest_flow();
            if outcome.converged && work.moves.iter().all(|m| m.abs() <= least) {
                return outcome;
            }
            let before = norm;
            norm = self.search_along(state, work, norm);
            if norm >= before {
                return outcome;
            }
        }
        work.outcome(STEPS)
    }

    /// Fills `work.step` with the change of every node's head.
    fn newton_step(&self, linear: &mut Linear, work: &mut Work) -> bool {
        self.conductances(work);
        for (step, out) in work.step.iter_mut().zip(&work.out) {
            *step = -out;
        }
        for (i, &(from, to)) in self.edges.iter().enumerate() {
            let push = work.g[i].g * work.points[i].miss;
            if let End::Free(n) = from {
                work.step[n] -= push;
            }
            if let End::Free(n) = to {
                work.step[n] += push;
            }
        }
        linear.solve(self.edges, &work.g, &mut work.step)
    }

    fn conductances(&self, work: &mut Work) {
        work.strongest.fill(0.0);
        for (i, point) in work.points.iter().enumerate() {
            let g = point.dq / point.dh;
            work.g[i] = Conductance {
                g,
                by_inlet: point.by_inlet,
                by_outlet: point.by_outlet,
            };
            let (from, to) = self.edges[i];
            for end in [from, to] {
                if let End::Free(n) = end {
                    work.strongest[n] = work.strongest[n].max(g);
                }
            }
        }
        for (i, point) in work.points.iter().enumerate() {
            if point.dq == 0.0 {
                let (from, to) = self.edges[i];
                let near = [from, to].into_iter().map(|end| match end {
                    End::Free(n) => work.strongest[n],
                    End::Held => 0.0,
                });
                work.g[i].g = LEAK * near.fold(1.0 / AGAINST, f64::max);
            }
        }
    }

    /// How far each chain's s goes in a full step.
    fn fill_moves(&self, work: &mut Work) {
        let step = |end| match end {
            End::Free(n) => work.step[n],
            End::Held => 0.0,
        };
        let move_of = |(point, &(from, to)): (&Point, &(End, End))| {
            let heads = point.by_inlet * step(from) - point.by_outlet * step(to);
            (point.miss + heads) / point.dh
        };
        work.moves.clear();
        work.moves
            .extend(work.points.iter().zip(self.edges).map(move_of));
    }

    /// Moves `state` along the step, shortened until the miss gets smaller.
    fn search_along(&self, state: &mut State, work: &mut Work, norm: f64) -> f64 {
        let mut share = 1.0;
        for _ in 0..30 {
            for ((trial, s), d) in work.trial.s.iter_mut().zip(&state.s).zip(&work.moves) {
                *trial = s + share * d;
            }
            for ((trial, h), d) in work
                .trial
                .heads
                .iter_mut()
                .zip(&state.heads)
                .zip(&work.step)
            {
                *trial = h + share * d;
            }
            let mut trial = std::mem::take(&mut work.trial);
            let new = self.evaluate(&trial, work);
            if new < norm * (1.0 - 1e-4 * share) {
                std::mem::swap(state, &mut trial);
                work.trial = trial;
                return new;
            }
            work.trial = trial;
            share *= 0.5;
        }
        self.evaluate(state, work);
        norm
    }

    /// Losses and misses at `state`; the sum of squares of the scaled misses.
    fn evaluate(&self, state: &State, work: &mut Work) -> f64 {
        work.out.copy_from_slice(&self.drawn);
        let mut norm = 0.0;
        for (i, chain) in self.chains.iter().enumerate() {
            let point = chain.at(state.s[i], self.heads_at(i, &state.heads), work.soft);
            let (from, to) = self.edges[i];
            norm += (point.miss / work.head_scale).powi(2);
            if let End::Free(n) = from {
                work.out[n] += point.q;
            }
            if let End::Free(n) = to {
                work.out[n] -= point.q;
            }
            work.points[i] = point;
        }
        let flows: f64 = work.out.iter().map(|m| (m / 0.01).powi(2)).sum();
        norm + flows
    }
}

impl Work {
    fn make_ready(&mut self, problem: &Problem<'_>, state: &State) {
        let (chains, nodes) = (problem.chains.len(), problem.drawn.len());
        let (mut low, mut high) = (0.0_f64, 0.0_f64);
        for &(a, b) in &problem.held {
            low = low.min(a).min(b);
            high = high.max(a).max(b);
        }
        self.points.resize(chains, Point::default());
        self.g.resize(chains, Conductance::default());
        for room in [&mut self.out, &mut self.strongest, &mut self.step] {
            room.resize(nodes, 0.0);
        }
        self.soft = 0.0;
        self.trial.clone_from(state);
        self.head_scale = (high - low).max(1e5);
    }

    fn largest_flow(&self) -> f64 {
        self.points.iter().fold(1e-6_f64, |m, p| m.max(p.q.abs()))
    }

    /// Near enough where rounding allows no more: a tenth of a Pa, and a
    /// thousandth of a millionth of the flow.
    fn is_near(&self) -> bool {
        let outcome = self.outcome(0);
        // Where next to nothing flows: a millionth of a millilitre a second.
        outcome.flow_miss <= 1e-9 * self.largest_flow().max(1e-3)
            && outcome.head_miss <= 0.1_f64.max(1e-7 * self.head_scale)
    }

    fn outcome(&self, steps: usize) -> Outcome {
        let largest = |values: &[f64]| values.iter().fold(0.0_f64, |m, v| m.max(v.abs()));
        let flow_miss = largest(&self.out);
        let head_miss = self.points.iter().fold(0.0_f64, |m, p| m.max(p.miss.abs()));
        Outcome {
            converged: flow_miss <= 1e-11 * self.largest_flow()
                && head_miss <= 1e-10 * self.head_scale,
            steps,
            flow_miss,
            head_miss,
        }
    }
}

/// Slope of the energy along a change of heads: less than zero while it falls.
fn slope_along(work: &Work, step: &[f64]) -> f64 {
    // The energy falls where more flows in than out.
    work.out.iter().zip(step).map(|(out, d)| out * d).sum()
}

#[cfg(test)]
mod tests {
    // The whole is tested in tests/, on random layouts; here only that a start
    // without any held end is finite.
    use super::*;

    #[test]
    fn law_start_is_finite_without_a_pump() {
        let problem = Problem {
            chains: vec![],
            edges: &[],
            held: vec![],
            drawn: vec![0.0],
        };
        assert_eq!(problem.start().heads, vec![0.0]);
    }
}
