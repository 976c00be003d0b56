"""Simulated test days and their fits by other people's libraries: lmfit's
Levenberg-Marquardt, then scipy's least squares down to the last digits, which must
agree with one another.

Each reading counts by its effective variance (what each column may be off by, times
how far that moves the law), taken anew at every trial. The laws are written again from
their statement: a hose's C, a tip's coefficient, a nozzle's factor, a hydrant's curve,
an automatic nozzle's range, a pump's net pressures.
"""

import json
import math
import sys
from pathlib import Path

import lmfit
import numpy as np
from scipy.optimize import brentq, least_squares

from model import FOOT, GPM, PSI, TRADE_DENSITY

SEED = 19620311
DAYS = 8
BORE = 15.0 / 16.0 * 0.0254
TIP = math.pi / 4.0 * BORE**2 * math.sqrt(2.0 / TRADE_DENSITY)
UNIT = GPM / math.sqrt(PSI)
RATED = 1000.0 * GPM


def hose(row, p):
    flow, inlet, outlet, rise, length = row
    lost = inlet - outlet - 0.434 * PSI * rise / FOOT
    return lost - p[0] * (flow / (100.0 * GPM)) ** 2 * length


def tip(row, p):
    return row[1] - p[0] * TIP * math.sqrt(row[0])


def fixed(row, p):
    return row[1] - p[0] * UNIT * math.sqrt(row[0])


def hydrant(row, p):
    drop = (p[0] - 20.0 * PSI) * (abs(row[0]) / p[1]) ** (1.0 / 0.54)
    return row[1] - (p[0] - math.copysign(drop, row[0]))


def automatic_pressure(flow, p):
    low_flow, low, high_flow, high = p
    k_low, k_high = low_flow / math.sqrt(low), high_flow / math.sqrt(high)
    if flow <= low_flow:
        return (flow / k_low) ** 2
    if flow >= high_flow:
        return (flow / k_high) ** 2

    def miss(t):
        return (k_low + t * (k_high - k_low)) * math.sqrt(low + t * (high - low)) - flow

    t = brentq(miss, 0.0, 1.0, xtol=1e-15, rtol=1e-15)
    return low + t * (high - low)


def automatic(row, p):
    return row[1] - automatic_pressure(row[0], p)


def pump(row, p):
    flow, intake, discharge = row
    points = [math.log(share * RATED) for share in (0.5, 0.7, 1.0)]
    x = math.log(flow)
    i = 0 if x <= points[1] else 1
    share = (x - points[i]) / (points[i + 1] - points[i])
    net = math.exp(math.log(p[i]) * (1.0 - share) + math.log(p[i + 1]) * share)
    return discharge - intake - net


def to(step, value):
    return float(np.round(value / step) * step)


def hose_day(rng):
    c = rng.uniform(8.0, 18.0)
    rows = []
    for flow in rng.uniform(90.0, 220.0, 9):
        outlet = rng.uniform(50.0, 100.0)
        inlet = outlet + 4.34 + 2.0 * c * (flow / 100.0) ** 2
        read = [flow + 1.5 * rng.normal(), inlet + 2.0 * rng.normal(), outlet + rng.normal()]
        rows.append([to(1, read[0]) * GPM, to(1, read[1]) * PSI, to(1, read[2]) * PSI])
        rows[-1] += [10.0 * FOOT, 200.0 * FOOT]
    return rows, [c * PSI / (100.0 * FOOT)]


def nozzle_day(rng, factor):
    """Readings of pressure and flow; `factor` in gpm by root psi."""
    rows = []
    for pressure in rng.uniform(30.0, 110.0, 8):
        flow = factor * math.sqrt(pressure) + 1.5 * rng.normal()
        rows.append([to(1, pressure + rng.normal()) * PSI, to(1, flow) * GPM])
    return rows


def tip_day(rng):
    cd = rng.uniform(0.94, 1.0)
    return nozzle_day(rng, cd * TIP / UNIT), [cd]


def fixed_day(rng):
    k = rng.uniform(10.0, 25.0)
    return nozzle_day(rng, k), [k]


def hydrant_day(rng):
    p = [rng.uniform(55.0, 90.0) * PSI, rng.uniform(1200.0, 2500.0) * GPM]
    rows = []
    for flow in [0.0, *rng.uniform(300.0, 1100.0, 6)]:
        pressure = -hydrant([flow * GPM, 0.0], p) / PSI + rng.normal()
        read = to(10, flow + 8.0 * rng.normal()) if flow else 0.0
        rows.append([read * GPM, to(1, pressure) * PSI])
    return rows, p


def automatic_day(rng):
    low, rise = rng.uniform(85.0, 98.0), rng.uniform(8.0, 16.0)
    p = [70.0 * GPM, low * PSI, 200.0 * GPM, (low + rise) * PSI]
    rows = []
    for flow in np.linspace(35.0, 245.0, 16):
        pressure = automatic_pressure(flow * GPM, p) / PSI + rng.normal()
        rows.append([to(0.5, flow + 0.3 * rng.normal()) * GPM, to(0.5, pressure) * PSI])
    return rows, p


def pump_day(rng):
    p = [(net + rng.uniform(0.0, 12.0)) * PSI for net in (250.0, 200.0, 150.0)]
    rows = []
    for flow in [*rng.uniform(500.0, 680.0, 4), *rng.uniform(690.0, 1050.0, 6)]:
        intake = 20.0 + rng.normal()
        net = -pump([flow * GPM, 0.0, 0.0], p) / PSI
        read = [flow + 4.0 * rng.normal(), intake, intake + net + 2.0 * rng.normal()]
        rows.append([to(10, read[0]) * GPM, to(1, read[1]) * PSI, to(5, read[2]) * PSI])
    return rows, p


# Law, day, and what each column may be off by from reading to reading.
LAWS = {
    "hose": (hose, hose_day, [1.5 * GPM, 2.0 * PSI, 1.0 * PSI, 0.0, 0.0]),
    "tip": (tip, tip_day, [1.0 * PSI, 1.5 * GPM]),
    "fixed": (fixed, fixed_day, [1.0 * PSI, 1.5 * GPM]),
    "hydrant": (hydrant, hydrant_day, [8.0 * GPM, 1.0 * PSI]),
    "automatic": (automatic, automatic_day, [0.3 * GPM, 1.0 * PSI]),
    "pump": (pump, pump_day, [4.0 * GPM, 1.0 * PSI, 2.0 * PSI]),
}


def weighted(law, row, sigmas, p):
    squares = 0.0
    for at, by in enumerate(sigmas):
        if by:
            up, down = list(row), list(row)
            up[at] += by
            down[at] -= by
            squares += ((law(up, p) - law(down, p)) / 2.0) ** 2
    return law(row, p) / math.sqrt(squares)


def slopes(residuals, u):
    columns = []
    for at in range(len(u)):
        step = np.zeros(len(u))
        step[at] = 1e-5
        columns.append((residuals(u + step) - residuals(u - step)) / 2e-5)
    return np.array(columns).T


def fitted(law, rows, sigmas, truth):
    """Parameters as shares of `truth`: of the size of one, whatever their unit."""
    truth = np.array(truth)

    def residuals(u):
        return np.array([weighted(law, row, sigmas, u * truth) for row in rows])

    start = lmfit.Parameters()
    for at in range(len(truth)):
        start.add(f"p{at}", value=1.0)
    by_lmfit = lmfit.minimize(
        lambda p: residuals(np.array([p[name].value for name in p])),
        start,
        ftol=1e-15,
        xtol=1e-15,
        scale_covar=True,
    )
    first = np.array([by_lmfit.params[name].value for name in by_lmfit.params])
    u = least_squares(residuals, first, jac="3-point", xtol=1e-15, ftol=1e-15, gtol=1e-15).x
    for _ in range(6):
        u = u - np.linalg.lstsq(slopes(residuals, u), residuals(u), rcond=None)[0]
    squares = float(np.sum(residuals(u) ** 2))
    inverse = np.linalg.inv(slopes(residuals, u).T @ slopes(residuals, u))
    errors = np.sqrt(np.diag(inverse) * squares / (len(rows) - len(u)))
    told = np.array([by_lmfit.params[name].stderr for name in by_lmfit.params])
    assert np.all(np.abs(first - u) < 1e-5), (first, u)
    assert np.all(np.abs(told / errors - 1.0) < 5e-3), (told, errors)
    return u * truth, errors * truth, squares


def short(value):
    return float(f"{value:.12g}")


def main(folder):
    rng = np.random.default_rng(SEED)
    days = []
    for name, (law, day, sigmas) in LAWS.items():
        for number in range(DAYS):
            rows, truth = day(rng)
            parameters, errors, squares = fitted(law, rows, sigmas, truth)
            days.append(
                {
                    "id": f"{name}-{number}",
                    "law": name,
                    "sigmas": [short(s) for s in sigmas],
                    "readings": [[short(v) for v in row] for row in rows],
                    "parameters": [short(p) for p in parameters],
                    "standard_errors": [short(e) for e in errors],
                    "sum_of_squares": short(squares),
                }
            )
    with open(folder / "peer_test_days.json", "w") as file:
        json.dump(days, file, indent=1)
        file.write("\n")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent.parent / "data")
