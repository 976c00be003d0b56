"""Whole scenes in Python: water mains, pumps under a governor, eductors and
regulating valves, written from their statement beside the laws of `model`, and
solved by scipy.

The form of a scene is that of a problem in `model`, with four more laws. The
unknowns are the flow of every part and the pressure of every junction and of the
base of every tip behind a shut-off. What a part does in one state is one
equation; min and max choose between states. They are rounded off on the way to
an answer, and sharp when it is verified.

Three numbers are Handline's own: what a held outlet loses with flow, how steeply
a starving pump gives up, and the trace of loss that parts in series have besides
their own. The last moves no answer by more than two millionths.
"""

import math

import numpy as np
from scipy.optimize import least_squares

from model import FLOW, HEAD, PSI, PowerLaw, nozzle, run, valve_resistance
from water import GRAVITY, density

DROOP = 100.0
STARVING = 1000.0
TRACE = 1.0
INCH_OF_MERCURY = 3386.389
LEAST_INTAKE = -22.0 * INCH_OF_MERCURY

# Pressures over which min and max are rounded off, one after another.
SOFT = (3e5, 1e5, 3e4, 1e4, 3e3, 1e3, 1e2, 0.0)
CLOSE = {"ftol": 1e-15, "xtol": 1e-15, "gtol": 1e-15}


class Term(np.ndarray):
    """A value, and its change with flow, inlet and outlet pressure."""

    def __new__(cls, *numbers):
        return np.array(numbers, dtype=float).view(cls)


def lower(a, b, soft):
    """min(a, b); rounded off by about `soft`."""
    gap = a[0] - b[0]
    if soft == 0.0:
        return a if gap <= 0.0 else b
    size = math.hypot(gap, soft)
    mixed = a - 0.5 * (1.0 + gap / size) * (a - b)
    mixed[0] = 0.5 * (a[0] + b[0] - size)
    return mixed


def higher(a, b, soft):
    return -lower(-a, -b, soft)


def not_back(q, short, soft):
    """q >= 0 and short <= 0, one of them zero: water that does not go back."""
    return lower(Term(q / FLOW, 1.0 / FLOW, 0.0, 0.0), -short / HEAD, soft / HEAD)


class Losing:
    """outlet = inlet - rise - loss."""

    trace = 0.0

    def __init__(self, law):
        self.law = law

    def equation(self, q, inlet, outlet, rise, soft):
        left = inlet - outlet - rise - self.law.loss(q) - self.trace * q
        return Term(left, -self.law.slope(q) - self.trace, 1.0, -1.0) / HEAD


class Ending:
    """A tip. Under suction its flow is mirrored, to show the way back; an answer
    like that is thrown away."""

    def __init__(self, tip):
        self.tip = tip

    def equation(self, q, inlet, outlet, rise, soft):
        p = inlet - outlet - rise
        flow, slope = math.copysign(self.tip.flow(abs(p)), p), self.tip.slope(abs(p))
        return Term(q - flow, 1.0, -slope, slope) / FLOW


def main_law(law):
    """Q = Qt ((Ps - P)/(Ps - Pt))^0.54, as a loss from the static pressure."""
    n = 1.0 / 0.54
    return PowerLaw((law["still"] - law["residual"]) / law["test_flow"] ** n, n)


class Pump:
    """Capability p = a Q^-n between its points, level before the first; at a
    speed, n^2 p_r (1.25 - 0.25 (Q/(n Qr))^2)."""

    def __init__(self, law):
        flow, pressure = law["rated_flow"], law["rated_pressure"]
        if pressure is None:
            shares = ((0.5, 250.0), (0.7, 200.0), (1.0, 150.0))
            self.points = [(flow * share, net * PSI) for share, net in shares]
        else:
            self.points = [(0.5 * flow, 1.2 * pressure), (flow, pressure)]
        self.setting, self.speed = law.get("setting"), law.get("speed")

    def net(self, q):
        """Net pressure at a flow, and its slope."""
        if self.speed is not None:
            flow, pressure = self.points[-1]
            share = q / (self.speed * flow)
            full = self.speed**2 * pressure
            return full * (1.25 - 0.25 * share**2), -0.5 * full * share / (self.speed * flow)
        if q <= self.points[0][0]:
            return self.points[0][1], 0.0
        beyond = [i for i, (flow, _) in enumerate(self.points) if flow >= q]
        end = beyond[0] if beyond else len(self.points) - 1
        (q1, p1), (q2, p2) = self.points[end - 1 : end + 1]
        n = math.log(p1 / p2) / math.log(q2 / q1)
        net = p1 * (q1 / q) ** n
        return net, -n * net / q

    def states(self, q, inlet, rise):
        """What each state would give at the outlet."""
        net, slope = self.net(max(q, 0.0))
        setting = math.inf if self.setting is None else self.setting
        return {
            "held": Term(setting - DROOP * q, -DROOP, 0.0, 0.0),
            "reached": Term(inlet - rise + net, slope, 1.0, 0.0),
            "starved": Term(STARVING * (inlet - LEAST_INTAKE) - DROOP * q, -DROOP, STARVING, 0.0),
            "through": Term(inlet - rise, 0.0, 1.0, 0.0),
        }

    def equation(self, q, inlet, outlet, rise, soft):
        state = self.states(q, inlet, rise)
        given = state["reached"]
        if self.setting is not None:
            given = lower(state["held"], given, soft)
        given = higher(lower(given, state["starved"], soft), state["through"], soft)
        return not_back(q, given - Term(outlet, 0.0, 0.0, 1.0), soft)

    def regime(self, q, inlet, outlet, rise):
        states = self.states(q, inlet, rise)
        found = min(states, key=lambda name: abs(states[name][0] - outlet))
        return "at speed" if found == "reached" and self.speed is not None else found


class Regulating:
    """outlet = min(setting, inlet - rise - loss); water does not go back."""

    def __init__(self, law):
        self.setting = law["setting"]
        self.open = PowerLaw(law["open_loss"] / law["open_flow"] ** 2)

    def equation(self, q, inlet, outlet, rise, soft):
        held = Term(self.setting - DROOP * q, -DROOP, 0.0, 0.0)
        left = Term(inlet - rise - self.open.loss(q), -self.open.slope(q), 1.0, 0.0)
        given = lower(held, left, soft)
        return not_back(q, given - Term(outlet, 0.0, 0.0, 1.0), soft)

    def regime(self, q, inlet, outlet, rise):
        if q < 1e-9:
            return "shut"
        held = self.setting - DROOP * q
        return "regulates" if held < inlet - rise - self.open.loss(q) else "open"


class Eductor:
    """Q = Qr sqrt(in/in_r) while out <= share in, and from there on
    Q = Qr sqrt((in - out)/((1 - share) in_r)): the lower of both. Mirrored under
    suction, as a tip."""

    def __init__(self, law):
        self.k = law["flow"] / math.sqrt(law["inlet"])
        self.share = law["share"]

    def equation(self, q, inlet, outlet, rise, soft):
        keep = 1.0 - self.share
        drawing = Term(inlet, 0.0, 1.0, 0.0)
        pushed = Term((inlet - outlet - rise) / keep, 0.0, 1.0 / keep, -1.0 / keep)
        moves = lower(drawing, pushed, soft)
        size = max(abs(moves[0]), 1.0)
        by_end = -0.5 * self.k / math.sqrt(size) * moves[2:]
        flow = math.copysign(self.k * math.sqrt(size), moves[0])
        return Term(q - flow, 1.0, *by_end) / FLOW

    def regime(self, q, inlet, outlet, rise):
        return "draws" if outlet + rise <= self.share * inlet else "does not draw"


def element(law, rho):
    kind = law["kind"]
    if kind == "flow_test":
        return Losing(main_law(law))
    own = {"pump": Pump, "regulating": Regulating, "eductor": Eductor}.get(kind)
    return own(law) if own else Losing(run(law, rho))


class Scene:
    """The equations of a scene. A node is a known pressure or the number of an
    unknown one, and the weight of the water column up to it."""

    def __init__(self, problem):
        self.problem = problem
        self.weight = problem["density"] * GRAVITY
        rho = density(problem["kelvin"] - 273.15)
        self.unknown = 0
        self.nodes = []
        for place in problem["places"]:
            known = {"supply": place.get("pressure"), "air": 0.0}.get(place["kind"])
            self.nodes.append(self._node(place["height"], known))
        self.edges, self.of_part = [], []
        for part in problem["parts"]:
            a, b, law = self.nodes[part["from"]], self.nodes[part["to"]], part["law"]
            self.of_part.append(len(self.edges))
            tip = nozzle(law)
            if tip is None:
                self.edges.append((a, b, element(law, rho)))
                continue
            if law.get("shutoff"):
                base = self._node(problem["places"][part["from"]]["height"], None)
                self.edges.append((a, base, Losing(PowerLaw(valve_resistance(law["shutoff"])))))
                a = base
            self.edges.append((a, b, Ending(tip)))
        self._trace()

    def _trace(self):
        """The trace of loss of parts in series, laid on the first of them: one that
        does not begin where just it and another such part meet."""
        meet = {}
        for a, b, law in self.edges:
            for node in (a, b):
                meet.setdefault(node, []).append(isinstance(law, (Losing, Ending)))
        for a, _, law in self.edges:
            if isinstance(law, Losing) and (a[0] == "known" or meet[a] != [True, True]):
                law.trace = TRACE

    def _node(self, height, known):
        if known is not None:
            return ("known", known, self.weight * height)
        self.unknown += 1
        return ("free", self.unknown - 1, self.weight * height)

    def _ends(self, x):
        """Every edge with its flow and the pressures at its ends."""
        m = len(self.edges)
        pressures = x[m:] * HEAD

        def at(node):
            return pressures[node[1]] if node[0] == "free" else node[1]

        for i, (a, b, law) in enumerate(self.edges):
            yield i, a, b, law, (x[i] * FLOW, at(a), at(b), b[2] - a[2])

    def equations(self, x, soft):
        """The misses: the law of every edge, continuity at every free node;
        and their derivatives."""
        m = len(self.edges)
        miss = np.zeros(m + self.unknown)
        jac = np.zeros((m + self.unknown, m + self.unknown))
        for i, a, b, law, state in self._ends(x):
            term = law.equation(*state, soft)
            miss[i], jac[i, i] = term[0], term[1] * FLOW
            for node, slope, sign in ((a, term[2], -1.0), (b, term[3], 1.0)):
                if node[0] == "free":
                    jac[i, m + node[1]] += slope * HEAD
                    miss[m + node[1]] += sign * x[i]
                    jac[m + node[1], i] += sign
        return miss, jac

    def start(self, share, flow):
        known = [v for kind, v, _ in self.nodes if kind == "known"]
        top = max(known + [6e5])
        return np.concatenate(
            [
                np.full(len(self.edges), flow / FLOW),
                np.linspace(0.95, share, self.unknown) * top / HEAD,
            ]
        )

    def solve(self):
        """Least squares on ever less rounded equations, then Newton steps on
        the sharp ones. None when nothing converges."""
        for share, flow in ((0.5, 0.01), (0.8, 0.005), (0.3, 0.02), (0.9, 0.002)):
            x = self.start(share, flow)
            for soft in SOFT:
                x = least_squares(
                    lambda x, soft: self.equations(x, soft)[0],
                    x,
                    jac=lambda x, soft: self.equations(x, soft)[1],
                    args=(soft,),
                    x_scale="jac",
                    max_nfev=200,
                    **CLOSE,
                ).x
            for _ in range(3):
                miss, jac = self.equations(x, 0.0)
                try:
                    x = x - np.linalg.solve(jac, miss)
                except np.linalg.LinAlgError:
                    break
            if np.max(np.abs(self.equations(x, 0.0)[0])) < 1e-11:
                return x
        return None

    def answer(self, x):
        """Flow of every part and pressure of every place."""
        m = len(self.edges)
        pressures = [
            x[m + node[1]] * HEAD if node[0] == "free" else node[1] for node in self.nodes
        ]
        return {
            "flows": [float(x[i] * FLOW) for i in self.of_part],
            "pressures": [float(p) for p in pressures],
        }

    def tip_pressures(self, x):
        """The pressure at the base of every tip."""
        states = ((law, state) for _, _, _, law, state in self._ends(x))
        return [s[1] - s[2] - s[3] for law, s in states if isinstance(law, Ending)]

    def regimes(self, x):
        """The state of every pump, valve and eductor, by kind."""
        states = ((law, state) for _, _, _, law, state in self._ends(x))
        return [
            f"{type(law).__name__.lower()} {law.regime(*state)}"
            for law, state in states
            if hasattr(law, "regime")
        ]
