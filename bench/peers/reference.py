"""The Python reference: the same equations in numpy arrays, solved three ways.

- `newton("dense")`: plain numpy, Newton with a halving line search;
- `newton("sparse")`: the same with scipy's sparse factorisation;
- `powell()`: scipy.optimize.root, for problems of some tens of unknowns.

A single line has `brent()`: scipy.optimize.brentq on the nozzle pressure.
The unknowns are the flow of every part and the head of every junction. A part
of hose or an appliance loses r |q|^n; a tip passes k(p) sqrt(p), with k in a
straight line from k1 at p1 to k2 at p2 (equal for a plain orifice).
"""

import math

import numpy as np
from scipy import sparse
from scipy.optimize import brentq, root
from scipy.sparse.linalg import splu

from model import FLOW, HEAD, Automatic, Network, Orifice


class Lay:
    def __init__(self, problem):
        network = Network(problem)
        self.network = network
        edges = network.edges
        self.count, self.unknown = len(edges), network.unknown
        self.known = np.array([[e[j][1] if e[j][0] == "held" else 0.0 for j in (0, 1)] for e in edges])
        ends = np.array([[e[j][1] if e[j][0] == "free" else -1 for j in (0, 1)] for e in edges], dtype=int)
        self.ends, self.free = ends, ends >= 0
        self.safe = np.where(self.free, ends, 0)
        tip = np.array([e[3] for e in edges])
        self.tips, self.pipes = np.flatnonzero(tip), np.flatnonzero(~tip)
        self.r = np.array([edges[i][2].r for i in self.pipes])
        self.n = np.array([edges[i][2].n for i in self.pipes])
        self.k1, self.k2, self.p1, self.p2 = np.array([self._tip(edges[i][2]) for i in self.tips]).T
        # Where the entries of the Jacobian stand.
        i = np.arange(self.count)
        rows, columns, signs = [], [], []
        for j, sign in ((0, -1.0), (1, 1.0)):
            here = self.free[:, j]
            rows.append(ends[here, j])
            columns.append(i[here])
            signs.append(np.full(here.sum(), sign))
        self.balance = sparse.csr_matrix(
            (np.concatenate(signs), (np.concatenate(rows), np.concatenate(columns))),
            shape=(self.unknown, self.count),
        )
        self.dense_balance = self.balance.toarray() if self.count < 3000 else None

    @staticmethod
    def _tip(element):
        if isinstance(element, Automatic):
            return element.k1, element.k2, element.p1, element.p2
        assert isinstance(element, Orifice)
        return element.k, element.k, 0.0, 1.0

    def _drops(self, heads):
        both = np.where(self.free, heads[self.safe], self.known)
        return both[:, 0] - both[:, 1]

    def equations(self, x):
        """What is left over, and the derivatives of each law by flow and by drop."""
        m = self.count
        flows, drop = x[:m] * FLOW, self._drops(x[m:] * HEAD)
        law, by_flow, by_drop = np.empty(m), np.empty(m), np.empty(m)
        q = flows[self.pipes]
        size = np.abs(q) ** (self.n - 1.0)
        law[self.pipes] = (drop[self.pipes] - self.r * size * q) / HEAD
        by_flow[self.pipes] = -self.n * self.r * size * FLOW / HEAD
        by_drop[self.pipes] = 1.0
        p = np.maximum(drop[self.tips], 1.0)
        share = (p - self.p1) / (self.p2 - self.p1)
        inside = (share > 0.0) & (share < 1.0)
        dk = (self.k2 - self.k1) / (self.p2 - self.p1)
        k = self.k1 + dk * (np.clip(share, 0.0, 1.0) * (self.p2 - self.p1))
        law[self.tips] = (flows[self.tips] - k * np.sqrt(p)) / FLOW
        by_flow[self.tips] = 1.0
        slope = 0.5 * k / np.sqrt(p) + np.where(inside, dk * np.sqrt(p), 0.0)
        by_drop[self.tips] = -slope * HEAD / FLOW
        balance = self.balance @ (flows / FLOW)
        return np.concatenate([balance, law]), by_flow, by_drop

    def _step_dense(self, left, by_flow, by_drop):
        n, m = self.unknown, self.count
        jac = np.zeros((n + m, n + m))
        jac[:n, :m] = self.dense_balance
        jac[np.arange(n, n + m), np.arange(m)] = by_flow
        jac[n:, m:] = by_drop[:, None] * -self.dense_balance.T
        return np.linalg.solve(jac, left)

    def _step_sparse(self, left, by_flow, by_drop):
        jac = sparse.bmat(
            [
                [self.balance, None],
                [sparse.diags(by_flow), sparse.diags(by_drop) @ -self.balance.T],
            ],
            format="csc",
        )
        return splu(jac).solve(left)

    def start(self):
        top = max(v for kind, v in self.network.nodes if kind == "held")
        return np.concatenate([np.full(self.count, 0.005 / FLOW), np.full(self.unknown, 0.7 * top / HEAD)])

    def newton(self, how, limit=100):
        step_of = self._step_dense if how == "dense" else self._step_sparse
        x = self.start()
        left, by_flow, by_drop = self.equations(x)
        size = np.max(np.abs(left))
        for _ in range(limit):
            step = step_of(left, by_flow, by_drop)
            share = 1.0
            while True:
                trial = x - share * step
                new = self.equations(trial)
                new_size = np.max(np.abs(new[0]))
                if new_size < size or share < 1e-3:
                    break
                share *= 0.5
            moved = share * np.max(np.abs(step))
            x, (left, by_flow, by_drop), size = trial, new, new_size
            if size < 1e-9 and moved < 1e-9:
                return x
        raise RuntimeError(f"{self.network.problem['name']}: not converged, {size}")

    def powell(self):
        n, m = self.unknown, self.count

        def both(x):
            left, by_flow, by_drop = self.equations(x)
            jac = np.zeros((n + m, n + m))
            jac[:n, :m] = self.dense_balance
            jac[np.arange(n, n + m), np.arange(m)] = by_flow
            jac[n:, m:] = by_drop[:, None] * -self.dense_balance.T
            return left, jac

        for method in ("hybr", "lm"):
            found = root(both, self.start(), jac=True, method=method, tol=1e-10)
            if np.max(np.abs(found.fun)) < 1e-8:
                return found.x
        raise RuntimeError("scipy.optimize.root did not converge")

    def brent(self):
        """One line of one hose and one tip, by the pressure at the tip."""
        hose, tip = self.network.edges[0][2], self.network.edges[1][2]
        head = self.known[0, 0] - self.known[1, 1]
        pressure = brentq(lambda p: head - p - hose.loss(tip.flow(p)), 0.0, head, xtol=1e-6)
        return tip.flow(pressure)

    def bisect(self):
        """The same without scipy: plain Python, halving."""
        hose, tip = self.network.edges[0][2], self.network.edges[1][2]
        head = self.known[0, 0] - self.known[1, 1]
        low, high = 0.0, head
        while high - low > 1e-6:
            middle = 0.5 * (low + high)
            if middle + hose.loss(tip.flow(middle)) < head:
                low = middle
            else:
                high = middle
        return tip.flow(0.5 * (low + high))

    def answer(self, x):
        return self.network.answer(x)


def tip_flows(lay, x):
    """Total flow of the tips, m3/s: what two ways of solving must agree on."""
    return math.fsum(x[lay.tips] * FLOW)
