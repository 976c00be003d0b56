//! The linear system of one Newton step: a network of conductances.
//!
//! A forest is eliminated from its leaves inward, which needs no fill and no
//! subtraction, so that conductances may differ by any factor. Anything with
//! loops goes to a sparse Cholesky factorisation whose symbolic part is made
//! once.

use faer::Side;
use faer::linalg::solvers::Solve;
use faer::sparse::linalg::solvers::{Llt, SymbolicLlt};
use faer::sparse::{SparseColMat, SymbolicSparseColMat, Triplet};

/// One end of a conductance.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum End {
    /// A node whose head is sought.
    Free(usize),
    /// A place whose head is held.
    Held,
}

/// Solves `sum over conductances at n of g (x_n - x_other) = b_n`, with x zero
/// at held ends.
pub(crate) enum Linear {
    Forest(Forest),
    Sparse(Box<Sparse>),
}

impl Linear {
    /// Prepares for `nodes` free nodes joined by `edges`.
    pub(crate) fn new(nodes: usize, edges: &[(End, End)]) -> Self {
        match Forest::new(nodes, edges) {
            Some(forest) => Linear::Forest(forest),
            None => Linear::Sparse(Box::new(Sparse::new(nodes, edges))),
        }
    }

    /// Puts the solution for conductances `g` into `b`. False when there is
    /// none to be had.
    pub(crate) fn solve(&mut self, edges: &[(End, End)], g: &[f64], b: &mut [f64]) -> bool {
        match self {
            Linear::Forest(forest) => forest.solve(g, b),
            Linear::Sparse(sparse) => return sparse.solve(edges, g, b),
        }
        true
    }
}

/// Where the conductance of an edge goes.
#[derive(Clone, Copy)]
enum Into {
    /// To the ground of a node.
    Ground(usize),
    /// To the branch from a node to its parent.
    Branch(usize),
    Nowhere,
}

pub(crate) struct Forest {
    /// Nodes from the leaves inward, each with its parent (itself: a root).
    order: Vec<(usize, usize)>,
    into: Vec<Into>,
    ground: Vec<f64>,
    branch: Vec<f64>,
}

impl Forest {
    /// `None` when the nodes form a loop (parallel edges count as one).
    fn new(nodes: usize, edges: &[(End, End)]) -> Option<Self> {
        let mut near = vec![Vec::new(); nodes];
        for &edge in edges {
            if let (End::Free(a), End::Free(b)) = edge
                && a != b
                && !near[a].contains(&b)
            {
                near[a].push(b);
                near[b].push(a);
            }
        }
        let mut parent = vec![usize::MAX; nodes];
        let mut order = Vec::with_capacity(nodes);
        for root in 0..nodes {
            if parent[root] != usize::MAX {
                continue;
            }
            parent[root] = root;
            let mut stack = vec![root];
            while let Some(node) = stack.pop() {
                order.push((node, parent[node]));
                for &next in &near[node] {
                    if next == parent[node] {
                        continue;
                    }
                    if parent[next] != usize::MAX {
                        return None;
                    }
                    parent[next] = node;
                    stack.push(next);
                }
            }
        }
        order.reverse();
        let into = edges.iter().map(|&edge| match edge {
            (End::Free(a), End::Free(b)) if a == b => Into::Nowhere,
            (End::Free(a), End::Free(b)) if parent[a] == b => Into::Branch(a),
            (End::Free(_), End::Free(b)) => Into::Branch(b),
            (End::Free(a), End::Held) | (End::Held, End::Free(a)) => Into::Ground(a),
            (End::Held, End::Held) => Into::Nowhere,
        });
        Some(Forest {
            order,
            into: into.collect(),
            ground: vec![0.0; nodes],
            branch: vec![0.0; nodes],
        })
    }

    fn solve(&mut self, g: &[f64], b: &mut [f64]) {
        self.ground.fill(0.0);
        self.branch.fill(0.0);
        for (&into, &g) in self.into.iter().zip(g) {
            match into {
                Into::Ground(node) => self.ground[node] += g,
                Into::Branch(node) => self.branch[node] += g,
                Into::Nowhere => {}
            }
        }
        for &(node, parent) in &self.order {
            let (g, w) = (self.branch[node], self.ground[node]);
            if node != parent && g + w > 0.0 {
                let share = g / (g + w);
                self.ground[parent] += w * share;
                b[parent] += b[node] * share;
            }
        }
        for &(node, parent) in self.order.iter().rev() {
            let above = if node == parent {
                0.0
            } else {
                self.branch[node]
            };
            let total = above + self.ground[node];
            let known = if node == parent {
                0.0
            } else {
                above * b[parent]
            };
            b[node] = if total > 0.0 {
                (b[node] + known) / total
            } else {
                0.0
            };
        }
    }
}

pub(crate) struct Sparse {
    pattern: SymbolicSparseColMat<usize>,
    symbolic: Option<SymbolicLlt<usize>>,
    /// For each stored entry, its row and column: diagonal or below.
    slots: std::collections::HashMap<(usize, usize), usize>,
    values: Vec<f64>,
}

impl Sparse {
    fn new(nodes: usize, edges: &[(End, End)]) -> Self {
        let mut entries: Vec<(usize, usize)> = (0..nodes).map(|n| (n, n)).collect();
        for &edge in edges {
            if let (End::Free(a), End::Free(b)) = edge
                && a != b
            {
                entries.push((a.max(b), a.min(b)));
            }
        }
        entries.sort_unstable_by_key(|&(row, column)| (column, row));
        entries.dedup();
        let triplets: Vec<_> = entries
            .iter()
            .map(|&(row, column)| Triplet::new(row, column, 0.0_f64))
            .collect();
        let pattern = SparseColMat::try_new_from_triplets(nodes, nodes, &triplets)
            .map(|m: SparseColMat<usize, f64>| m.symbolic().to_owned())
            .ok()
            .and_then(Result::ok);
        let pattern = pattern
            .unwrap_or_else(|| SymbolicSparseColMat::new_checked(0, 0, vec![0], None, Vec::new()));
        let symbolic = SymbolicLlt::try_new(pattern.as_ref(), Side::Lower).ok();
        let slots = entries.iter().enumerate().map(|(i, &e)| (e, i)).collect();
        Sparse {
            pattern,
            symbolic,
            slots,
            values: vec![0.0; entries.len()],
        }
    }

    fn add(&mut self, row: usize, column: usize, value: f64) {
        if let Some(&slot) = self.slots.get(&(row.max(column), row.min(column))) {
            self.values[slot] += value;
        }
    }

    fn assemble(&mut self, edges: &[(End, End)], g: &[f64]) {
        self.values.fill(0.0);
        for (&edge, &g) in edges.iter().zip(g) {
            match edge {
                (End::Free(a), End::Free(b)) if a != b => {
                    self.add(a, a, g);
                    self.add(b, b, g);
                    self.add(a, b, -g);
                }
                (End::Free(a), End::Held) | (End::Held, End::Free(a)) => self.add(a, a, g),
                _ => {}
            }
        }
    }

    fn solve(&mut self, edges: &[(End, End)], g: &[f64], b: &mut [f64]) -> bool {
        let Some(symbolic) = self.symbolic.clone() else {
            return false;
        };
        self.assemble(edges, g);
        for lift in [0.0, 1e-14, 1e-11, 1e-8] {
            let mut values = self.values.clone();
            if lift > 0.0 {
                for n in 0..b.len() {
                    if let Some(&slot) = self.slots.get(&(n, n)) {
                        values[slot] = values[slot] * (1.0 + lift) + f64::MIN_POSITIVE;
                    }
                }
            }
            let matrix = SparseColMat::new(self.pattern.clone(), values);
            let factor = Llt::try_new_with_symbolic(symbolic.clone(), matrix.as_ref(), Side::Lower);
            let Ok(factor) = factor else { continue };
            let mut rhs = faer::Mat::from_fn(b.len(), 1, |i, _| b[i]);
            factor.solve_in_place(&mut rhs);
            if (0..b.len()).all(|i| rhs[(i, 0)].is_finite()) {
                for (i, value) in b.iter_mut().enumerate() {
                    *value = rhs[(i, 0)];
                }
                return true;
            }
        }
        false
    }
}
