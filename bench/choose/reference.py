"""Ten million operating points of one line, the ways Python offers: numpy on whole
columns, numba compiled and on all cores, scipy's root finders on fewer points.

A line loses r q^2 before a nozzle that passes q = k(p) sqrt(p), with k in a straight
line from k1 at p1 to k2 at p2, constant outside. With h the pump pressure less the
rise: r q^2 + p = h. (Handline adds a trace of loss, 0.01 Pa at 10 L/s.)
"""

import math

import numpy as np
from numba import njit, prange
from scipy.optimize import brentq, elementwise

HOSE = 5.37e9
FIXED = 0.0094635 / 830.36
# The nozzles as `benches/batch.rs` has them: (k1, p1, k2, p2).
NOZZLES = {
    "fixed": (FIXED, 1.0, FIXED, 1.0),
    "automatic": (0.0044163 / math.sqrt(648107.0), 648107.0, 0.012618 / math.sqrt(730844.0), 730844.0),
}


def columns(count):
    """Pump pressure, square loss and rise of each point, bit for bit those of the bench."""
    i = np.arange(count, dtype=float)

    def each(by, low, high):
        return low + (high - low) * np.modf(i * by)[0]

    return (
        each(0.618033988749895, 344738.0, 1723689.0),
        each(0.414213562373095, 0.5 * HOSE, 1.5 * HOSE),
        each(0.732050807568877, 0.0, 149300.0),
    )


def numpy_flows(pump, square, rise, nozzle):
    """Whole columns; Newton on the nozzle pressure only where the baffle moves."""
    k1, p1, k2, p2 = nozzle
    h = np.maximum(pump - rise, 0.0)
    flows = np.sqrt(h / (square + 1.0 / (k1 * k1)))
    if p1 == p2:
        return flows
    high = h >= square * (k2 * k2 * p2) + p2
    flows[high] = np.sqrt(h[high] / (square[high] + 1.0 / (k2 * k2)))
    inside = ~high & (h > square * (k1 * k1 * p1) + p1)
    r, h = square[inside], h[inside]
    dk = (k2 - k1) / (p2 - p1)
    p = np.full(r.shape, 0.5 * (p1 + p2))
    for _ in range(7):
        k = k1 + dk * (p - p1)
        rk = r * k
        p -= (rk * k * p + p - h) / (rk * (k + 2.0 * dk * p) + 1.0)
    flows[inside] = (k1 + dk * (p - p1)) * np.sqrt(p)
    return flows


@njit(parallel=True, cache=False)
def numba_flows(pump, square, rise, nozzle, flows):
    """A plain loop over the points, compiled, on all cores."""
    k1, p1, k2, p2 = nozzle
    c1, c2 = 1.0 / (k1 * k1), 1.0 / (k2 * k2)
    g1, g2 = k1 * k1 * p1, k2 * k2 * p2
    dk = (k2 - k1) / (p2 - p1) if p2 > p1 else 0.0
    for i in prange(pump.size):
        h, r = max(pump[i] - rise[i], 0.0), square[i]
        if h >= r * g2 + p2:
            flows[i] = math.sqrt(h / (r + c2))
        elif h <= r * g1 + p1:
            flows[i] = math.sqrt(h / (r + c1))
        else:
            p = 0.5 * (p1 + p2)
            k = 0.0
            for _ in range(20):
                k = k1 + dk * (p - p1)
                rk = r * k
                step = (rk * k * p + p - h) / (rk * (k + 2.0 * dk * p) + 1.0)
                p -= step
                if abs(step) <= 1e-13 * p:
                    break
            flows[i] = (k1 + dk * (p - p1)) * math.sqrt(p)


def _tip_flow(p, nozzle):
    k1, p1, k2, p2 = nozzle
    if p <= p1:
        return k1 * math.sqrt(p)
    if p >= p2:
        return k2 * math.sqrt(p)
    return (k1 + (k2 - k1) * (p - p1) / (p2 - p1)) * math.sqrt(p)


def brentq_flows(pump, square, rise, nozzle):
    """One root at a time, by the nozzle pressure."""
    flows = np.zeros(pump.size)
    for i in range(pump.size):
        h, r = float(pump[i] - rise[i]), float(square[i])
        if h > 0.0:
            p = brentq(lambda p: r * _tip_flow(p, nozzle) ** 2 + p - h, 0.0, h, xtol=1e-7)
            flows[i] = _tip_flow(p, nozzle)
    return flows


def elementwise_flows(pump, square, rise, nozzle):
    """All roots at once, by scipy's bracketing on whole columns."""
    k1, p1, k2, p2 = nozzle
    h = np.maximum(pump - rise, 0.0)
    step = (k2 - k1) / (p2 - p1) if p2 > p1 else 0.0

    def tip_flow(p):
        return (k1 + step * (np.clip(p, p1, p2) - p1)) * np.sqrt(p)

    def miss(p, r, h):
        return r * tip_flow(p) ** 2 + p - h

    found = elementwise.find_root(miss, (np.zeros_like(h), h), args=(square, h))
    return tip_flow(found.x)
