//! The linear system of one Newton step: a network of conductances.
//!
//! A forest is eliminated from its leaves inward, which needs no fill and no
//! subtraction, so that conductances may differ by any factor. Anything with
//! loops goes to a sparse factorisation whose symbolic part is made once:
//! Cholesky, or LU where a part that holds a pressure makes the two ends differ.

use faer::Side;
use faer::linalg::solvers::Solve;
use faer::sparse::linalg::solvers::{Llt, Lu, SymbolicLlt, SymbolicLu};
use faer::sparse::{SparseColMat, SymbolicSparseColMat, Triplet};

/// One end of a conductance.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum End {
    /// A node whose head is sought.
    Free(usize),
    /// A place whose head is held.
    Held,
}

/// Flow along an edge for the heads at its ends: g (by_inlet x_from - by_outlet
/// x_to).
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Conductance {
    pub g: f64,
    pub by_inlet: f64,
    pub by_outlet: f64,
}

impl Conductance {
    fn inlet(self) -> f64 {
        self.g * self.by_inlet
    }

    fn outlet(self) -> f64 {
        self.g * self.by_outlet
    }

    fn is_even(self) -> bool {
        self.by_inlet == self.by_outlet
    }
}

/// Solves `sum over edges at n of the flow out of n = b_n`, with x zero at held
/// ends.
pub(crate) enum Linear {
    Forest(Forest),
    Sparse(Box<Sparse>),
}

impl Default for Linear {
    /// Nothing to solve.
    fn default() -> Self {
        Linear::Forest(Forest {
            order: Vec::new(),
            into: Vec::new(),
            ground: Vec::new(),
            branch: Vec::new(),
        })
    }
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
    pub(crate) fn solve(&mut self, edges: &[(End, End)], g: &[Conductance], b: &mut [f64]) -> bool {
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
    /// To the ground of a node, which is the edge's inlet or its outlet.
    Ground {
        node: usize,
        is_inlet: bool,
    },
    /// To the branch from a node to its parent, which is the edge's outlet or its
    /// inlet.
    Branch {
        node: usize,
        parent_is_outlet: bool,
    },
    Nowhere,
}

pub(crate) struct Forest {
    /// Nodes from the leaves inward, each with its parent (itself: a root).
    order: Vec<(usize, usize)>,
    into: Vec<Into>,
    ground: Vec<f64>,
    /// What the branch takes by the node's head, and by its parent's.
    branch: Vec<(f64, f64)>,
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
            (End::Free(a), End::Free(b)) if parent[a] == b => Into::Branch {
                node: a,
                parent_is_outlet: true,
            },
            (End::Free(_), End::Free(b)) => Into::Branch {
                node: b,
                parent_is_outlet: false,
            },
            (End::Free(node), End::Held) => Into::Ground {
                node,
                is_inlet: true,
            },
            (End::Held, End::Free(node)) => Into::Ground {
                node,
                is_inlet: false,
            },
            (End::Held, End::Held) => Into::Nowhere,
        });
        Some(Forest {
            order,
            into: into.collect(),
            ground: vec![0.0; nodes],
            branch: vec![(0.0, 0.0); nodes],
        })
    }

    fn gather(&mut self, g: &[Conductance]) {
        self.ground.fill(0.0);
        self.branch.fill((0.0, 0.0));
        for (&into, &g) in self.into.iter().zip(g) {
            match into {
                Into::Ground { node, is_inlet } => {
                    self.ground[node] += if is_inlet { g.inlet() } else { g.outlet() };
                }
                Into::Branch {
                    node,
                    parent_is_outlet,
                } => {
                    let (own, above) = match parent_is_outlet {
                        true => (g.inlet(), g.outlet()),
                        false => (g.outlet(), g.inlet()),
                    };
                    self.branch[node].0 += own;
                    self.branch[node].1 += above;
                }
                Into::Nowhere => {}
            }
        }
    }

    fn solve(&mut self, g: &[Conductance], b: &mut [f64]) {
        self.gather(g);
        for &(node, parent) in &self.order {
            let ((own, above), w) = (self.branch[node], self.ground[node]);
            if node != parent && own + w > 0.0 {
                self.ground[parent] += w * above / (own + w);
                b[parent] += b[node] * own / (own + w);
            }
        }
        for &(node, parent) in self.order.iter().rev() {
            let (own, known) = match node == parent {
                true => (0.0, 0.0),
                false => {
                    let (own, above) = self.branch[node];
                    (own, above * b[parent])
                }
            };
            let total = own + self.ground[node];
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
    uneven: Option<SymbolicLu<usize>>,
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
            uneven: None,
            slots,
            values: vec![0.0; entries.len()],
        }
    }

    fn add(&mut self, row: usize, column: usize, value: f64) {
        if let Some(&slot) = self.slots.get(&(row.max(column), row.min(column))) {
            self.values[slot] += value;
        }
    }

    fn assemble(&mut self, edges: &[(End, End)], g: &[Conductance]) {
        self.values.fill(0.0);
        for (&edge, g) in edges.iter().zip(g) {
            let g = g.g;
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

    fn solve(&mut self, edges: &[(End, End)], g: &[Conductance], b: &mut [f64]) -> bool {
        if !g.iter().all(|g| g.is_even()) {
            return self.solve_uneven(edges, g, b);
        }
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

    /// As [`Sparse::solve`], where an edge's two ends do not bear alike.
    fn solve_uneven(&mut self, edges: &[(End, End)], g: &[Conductance], b: &mut [f64]) -> bool {
        let triplets = uneven(b.len(), edges, g);
        let matrix = SparseColMat::<usize, f64>::try_new_from_triplets(b.len(), b.len(), &triplets);
        let Ok(matrix) = matrix else { return false };
        if self.uneven.is_none() {
            self.uneven = SymbolicLu::try_new(matrix.symbolic()).ok();
        }
        let Some(symbolic) = self.uneven.clone() else {
            return false;
        };
        let Ok(factor) = Lu::try_new_with_symbolic(symbolic, matrix.as_ref()) else {
            return false;
        };
        let mut rhs = faer::Mat::from_fn(b.len(), 1, |i, _| b[i]);
        factor.solve_in_place(&mut rhs);
        let finite = (0..b.len()).all(|i| rhs[(i, 0)].is_finite());
        if finite {
            for (i, value) in b.iter_mut().enumerate() {
                *value = rhs[(i, 0)];
            }
        }
        finite
    }
}

/// Entries of the whole matrix; the same places every time.
fn uneven(
    nodes: usize,
    edges: &[(End, End)],
    g: &[Conductance],
) -> Vec<Triplet<usize, usize, f64>> {
    let mut triplets: Vec<_> = (0..nodes)
        .map(|n| Triplet::new(n, n, f64::MIN_POSITIVE))
        .collect();
    for (&(from, to), g) in edges.iter().zip(g) {
        if let End::Free(a) = from {
            triplets.push(Triplet::new(a, a, g.inlet()));
        }
        if let End::Free(b) = to {
            triplets.push(Triplet::new(b, b, g.outlet()));
        }
        if let (End::Free(a), End::Free(b)) = (from, to) {
            triplets.push(Triplet::new(a, b, -g.outlet()));
            triplets.push(Triplet::new(b, a, -g.inlet()));
        }
    }
    triplets
}
