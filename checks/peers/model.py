"""A lay in Python: the same laws as Handline's, written again from their
statement, and solved by scipy on the raw equations.

A problem is a dict (see `data/peer_networks.json`): places with a kind, a
height and, for a supply, a pressure; parts from one place to another with a
law. Everything is in SI. The unknowns are the flow of every part, the head
(pressure plus rho g height) of every junction, and the head at the base of
every nozzle that has a shut-off before it.
"""

import math

import numpy as np
from scipy.optimize import least_squares, root

from water import GRAVITY, density

PSI = 6894.757293168361
GPM = 3.785411784e-3 / 60.0
FOOT = 0.3048
TRADE_DENSITY = 999.0

# Scales of the unknowns, so that the equations are all of the size of one.
FLOW = 0.01
HEAD = 1e6


def c_resistance(us, length):
    """FL = C (Q/100)^2 (L/100) in psi, gpm and ft, as Pa per (m3/s)^2."""
    return us * PSI / (100.0 * GPM) ** 2 * length / (100.0 * FOOT)


def hazen_williams_resistance(bore, c, length, rho):
    """h = 10.67 L Q^1.852/(c^1.852 d^4.8704), as Pa per (m3/s)^1.852."""
    return 10.67 * length / (c**1.852 * bore**4.8704) * rho * GRAVITY


def valve_resistance(gate):
    """(1/(Cc f) - 1)^2 velocity heads, Cc = 0.63 + 0.37 f^3."""
    opening = gate["gate"]
    if not gate["slide"]:
        # The lens between two circles whose centres are 2 r u apart.
        u = 1.0 - opening
        opening = 2.0 / math.pi * (math.acos(u) - u * math.sqrt(1.0 - u * u))
    heads = (1.0 / ((0.63 + 0.37 * opening**3) * opening) - 1.0) ** 2
    area = math.pi * gate["waterway"] ** 2 / 4.0
    return heads * 0.5 * TRADE_DENSITY / area**2


class PowerLaw:
    """loss = r |q|^n, turning with q."""

    def __init__(self, r, n=2.0):
        self.r, self.n = r, n

    def loss(self, q):
        size = abs(q)
        return math.copysign(self.r * size**self.n, q)

    def slope(self, q):
        return self.n * self.r * abs(q) ** (self.n - 1.0)


class Orifice:
    """q = k sqrt(p); nothing under suction."""

    def __init__(self, k):
        self.k = k

    def flow(self, p):
        return self.k * math.sqrt(max(p, 0.0))

    def slope(self, p):
        return 0.5 * self.k / math.sqrt(max(p, 1.0))

    def regime(self, p):
        return None


class Automatic:
    """k rises with p in a straight line from (p1, k1) to (p2, k2)."""

    def __init__(self, flows, pressures):
        self.p1, self.p2 = pressures
        self.k1 = flows[0] / math.sqrt(self.p1)
        self.k2 = flows[1] / math.sqrt(self.p2)

    def _k(self, p):
        share = (p - self.p1) / (self.p2 - self.p1)
        inside = 0.0 < share < 1.0
        k = self.k1 + (self.k2 - self.k1) * min(max(share, 0.0), 1.0)
        return k, (self.k2 - self.k1) / (self.p2 - self.p1) if inside else 0.0

    def flow(self, p):
        return self._k(p)[0] * math.sqrt(max(p, 0.0))

    def slope(self, p):
        k, dk = self._k(p)
        safe = max(p, 1.0)
        return 0.5 * k / math.sqrt(safe) + dk * math.sqrt(safe)

    def regime(self, p):
        return "below" if p < self.p1 else "above" if p > self.p2 else "in"


def nozzle(law):
    kind = law["kind"]
    if kind == "smooth_bore":
        area = math.pi * law["bore"] ** 2 / 4.0
        return Orifice(law["coefficient"] * area * math.sqrt(2.0 / TRADE_DENSITY))
    if kind == "fixed":
        return Orifice(law["flow"] / math.sqrt(law["pressure"]))
    if kind == "automatic":
        return Automatic(law["flows"], law["pressures"])
    return None


def run(law, rho):
    kind = law["kind"]
    if kind == "coefficient":
        return PowerLaw(c_resistance(law["us"], law["length"]))
    if kind == "hazen_williams":
        return PowerLaw(
            hazen_williams_resistance(law["bore"], law["c"], law["length"], rho), 1.852
        )
    if kind == "rated":
        return PowerLaw(law["pressure"] / law["flow"] ** 2)
    if kind == "valve":
        return PowerLaw(valve_resistance(law))
    raise ValueError(f"no law of the kind {kind!r}")


class Network:
    """The equations of a problem. An edge is (from, to, law, is_nozzle); a node
    is a number of an unknown head, or a known head."""

    def __init__(self, problem):
        self.problem = problem
        self.weight = problem["density"] * GRAVITY
        rho = density(problem["kelvin"] - 273.15)
        self.unknown = 0
        self.nodes = []
        for place in problem["places"]:
            head = self.weight * place["height"]
            if place["kind"] == "junction":
                self.nodes.append(("free", self._new()))
            elif place["kind"] == "supply":
                self.nodes.append(("held", head + place["pressure"]))
            else:
                self.nodes.append(("held", head))
        self.edges, self.of_part = [], []
        for part in problem["parts"]:
            a, b, law = self.nodes[part["from"]], self.nodes[part["to"]], part["law"]
            end = nozzle(law)
            self.of_part.append(len(self.edges))
            if end is None:
                self.edges.append((a, b, run(law, rho), False))
            elif law.get("shutoff"):
                base = ("free", self._new())
                gate = PowerLaw(valve_resistance(law["shutoff"]))
                self.edges.append((a, base, gate, False))
                self.edges.append((base, b, end, True))
            else:
                self.edges.append((a, b, end, True))

    def _new(self):
        self.unknown += 1
        return self.unknown - 1

    def _head(self, node, heads):
        return heads[node[1]] if node[0] == "free" else node[1]

    def residual(self, x):
        """Continuity at every free node, the law of every edge."""
        flows, heads = x[: len(self.edges)] * FLOW, x[len(self.edges) :] * HEAD
        balance = np.zeros(self.unknown)
        law = np.zeros(len(self.edges))
        for i, (a, b, element, is_nozzle) in enumerate(self.edges):
            drop = self._head(a, heads) - self._head(b, heads)
            if is_nozzle:
                law[i] = (flows[i] - element.flow(drop)) / FLOW
            else:
                law[i] = (drop - element.loss(flows[i])) / HEAD
            if a[0] == "free":
                balance[a[1]] -= flows[i] / FLOW
            if b[0] == "free":
                balance[b[1]] += flows[i] / FLOW
        return np.concatenate([balance, law])

    def jacobian(self, x):
        n, m = self.unknown, len(self.edges)
        flows, heads = x[:m] * FLOW, x[m:] * HEAD
        jac = np.zeros((n + m, n + m))
        for i, (a, b, element, is_nozzle) in enumerate(self.edges):
            drop = self._head(a, heads) - self._head(b, heads)
            if is_nozzle:
                by_flow, by_drop = 1.0, -element.slope(drop) * HEAD / FLOW
            else:
                by_flow, by_drop = -element.slope(flows[i]) * FLOW / HEAD, 1.0
            jac[n + i, i] = by_flow
            for node, sign in ((a, 1.0), (b, -1.0)):
                if node[0] == "free":
                    jac[node[1], i] -= sign
                    jac[n + i, m + node[1]] += sign * by_drop
        return jac

    def start(self, share, flow):
        top = max(v for kind, v in self.nodes if kind == "held")
        return np.concatenate(
            [
                np.full(len(self.edges), flow / FLOW),
                np.linspace(0.95, share, self.unknown) * top / HEAD,
            ]
        )

    def solve(self):
        """Least squares finds the neighbourhood, hybrid Powell the root, and
        two Newton steps the last digits. None when nothing converges."""
        for share, flow in ((0.5, 0.008), (0.8, 0.004), (0.3, 0.015), (0.9, 0.001)):
            near = least_squares(
                self.residual, self.start(share, flow), jac=self.jacobian, max_nfev=400
            )
            x = root(self.residual, near.x, jac=self.jacobian, tol=1e-14).x
            for _ in range(2):
                x = x - np.linalg.solve(self.jacobian(x), self.residual(x))
            if np.max(np.abs(self.residual(x))) < 1e-11:
                return x
        return None

    def answer(self, x):
        """Flow of every part and pressure of every place."""
        m = len(self.edges)
        flows, heads = x[:m] * FLOW, x[m:] * HEAD
        pressures = [
            self._head(node, heads) - self.weight * place["height"]
            for node, place in zip(self.nodes, self.problem["places"])
        ]
        return {
            "flows": [float(flows[i]) for i in self.of_part],
            "pressures": [float(p) for p in pressures],
        }

    def nozzle_pressures(self, x):
        """Of every nozzle: the nozzle, and the pressure at its base."""
        heads = x[len(self.edges) :] * HEAD
        return [
            (element, self._head(a, heads) - self._head(b, heads))
            for a, b, element, is_nozzle in self.edges
            if is_nozzle
        ]
