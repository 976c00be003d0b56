"""Whose doubt it is and how values spread, by other people's libraries: quantiles of
scipy.stats' distributions; for one hose line, written again from its laws, mean,
standard deviation and indices by quadrature, quantiles from the same grid, and the
indices once more by SALib's sampling and estimators.

The line: 150 psi at the pump, give or take 5 psi (95 %); 200 ft of 1.75 in hose, its C
published as 12 within 7 to 15.5 (a triangle); a 15/16 in tip of measured coefficient
0.97, give or take 0.02 (95 %). Normal distributions are cut off at four standard
deviations.
"""

import json
import math
import sys
from pathlib import Path

import numpy as np
from SALib.analyze import sobol as analyse
from SALib.sample import sobol as sample
from scipy import stats

from model import FOOT, GPM, PSI, TRADE_DENSITY

SEED = 19620311
ROWS = 2**14
CUT = 4.0
Z95 = stats.norm.ppf(0.975)
C, C_LOW, C_HIGH = 12.0, 7.0, 15.5
FEET = 200.0
BORE = 15.0 / 16.0 * 0.0254
COEFFICIENT, COEFFICIENT_HALF = 0.97, 0.02
PUMP, PUMP_HALF = 150.0 * PSI, 5.0 * PSI


def flow(c, tip, off):
    """Flow with so many times the C and the tip's coefficient, and pump pressure off."""
    hose = PSI * C * c * (FEET / 100.0) / (100.0 * GPM) ** 2
    k = COEFFICIENT * tip * math.pi / 4.0 * BORE**2 * math.sqrt(2.0 / TRADE_DENSITY)
    return np.sqrt((PUMP + off) / (hose + 1.0 / k**2))


def triangle(low, mode, high):
    return stats.triang((mode - low) / (high - low), loc=low, scale=high - low)


def cut_normal(mean, sd, low, high):
    return stats.truncnorm((low - mean) / sd, (high - mean) / sd, loc=mean, scale=sd)


TIP_SD = COEFFICIENT_HALF / COEFFICIENT / Z95
PUMP_SD = PUMP_HALF / Z95
# Kind and parameters as Handline states a spread.
SPREADS = [
    ["triangle", C_LOW / C, 1.0, C_HIGH / C],
    ["normal", 1.0, TIP_SD, 1.0 - CUT * TIP_SD, 1.0 + CUT * TIP_SD],
    ["normal", 0.0, PUMP_SD, -CUT * PUMP_SD, CUT * PUMP_SD],
]


def distribution(spread):
    kind, *p = spread
    if kind == "even":
        return stats.uniform(p[0], p[1] - p[0])
    return triangle(*p) if kind == "triangle" else cut_normal(*p)


def quantiles():
    """Quantiles of distributions of every kind, some of them lopsided."""
    others = [
        ["even", -3.0, 5.0],
        ["triangle", 7.0, 15.5, 15.5],
        ["triangle", 0.677, 0.8, 1.0],
        ["normal", 14.2, 0.3, 13.9, 15.5],
        ["normal", 0.0, 1.0, -4.0, 4.0],
        ["normal", 5.0, 2.0, 6.0, 30.0],
    ]
    shares = [0.0001, 0.01, 0.05, 0.25, 0.5, 0.7, 0.95, 0.99, 0.9999]
    rows = []
    for spread in SPREADS + others:
        values = distribution(spread).ppf(shares)
        rows.append({"spread": spread, "shares": shares, "values": values.tolist()})
    return rows


def nodes(spread, count):
    """Values and weights for integrals over one distribution."""
    kind, *p = spread
    ends = [p[0], p[1], p[2]] if kind == "triangle" else [p[2], p[3]]
    x, w = np.polynomial.legendre.leggauss(count)
    values, weights = [], []
    for low, high in zip(ends, ends[1:]):
        at = 0.5 * (low + high) + 0.5 * (high - low) * x
        values.append(at)
        weights.append(0.5 * (high - low) * w * distribution(spread).pdf(at))
    return np.concatenate(values), np.concatenate(weights)


def line():
    axes = [nodes(spread, 60) for spread in SPREADS]
    grid = np.meshgrid(*(values for values, _ in axes), indexing="ij")
    weights = np.einsum("i,j,k->ijk", *(w for _, w in axes))
    q = flow(*grid)
    mean = float((weights * q).sum())
    variance = float((weights * (q - mean) ** 2).sum())
    first, total = [], []
    for axis in range(3):
        others = tuple(other for other in range(3) if other != axis)
        own = axes[axis][1]
        by_itself = (weights * q).sum(axis=others) / own
        first.append(float((own * (by_itself - mean) ** 2).sum() / variance))
        rest = weights.sum(axis=axis)
        without = (weights * q).sum(axis=axis) / rest
        total.append(1.0 - float((rest * (without - mean) ** 2).sum() / variance))
    # Quantiles from even shares of each distribution.
    middles = (np.arange(240) + 0.5) / 240
    even = np.meshgrid(*(distribution(s).ppf(middles) for s in SPREADS), indexing="ij")
    shares = [0.05, 0.5, 0.95]
    return {
        "spreads": SPREADS,
        "mean": mean,
        "sd": math.sqrt(variance),
        "shares": shares,
        "quantiles": np.quantile(flow(*even), shares).tolist(),
        "first": first,
        "total": total,
        "salib": salib(),
    }


def salib():
    def bounds(spread):
        kind, *p = spread
        if kind == "triangle":
            return [p[0], p[2], (p[1] - p[0]) / (p[2] - p[0])]
        return [p[2], p[3], p[0], p[1]]

    problem = {
        "num_vars": 3,
        "names": ["hose", "tip", "pump"],
        "dists": ["triang", "truncnorm", "truncnorm"],
        "bounds": [bounds(spread) for spread in SPREADS],
    }
    rows = sample.sample(problem, ROWS, calc_second_order=False, seed=SEED)
    found = analyse.analyze(
        problem, flow(*rows.T), calc_second_order=False, seed=SEED, num_resamples=200
    )
    return {
        "rows": ROWS,
        "first": found["S1"].tolist(),
        "first_half": found["S1_conf"].tolist(),
        "total": found["ST"].tolist(),
        "total_half": found["ST_conf"].tolist(),
    }


def main(folder):
    cases = {"quantiles": quantiles(), "line": line()}
    (folder / "peer_doubt.json").write_text(json.dumps(cases, indent=1) + "\n")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
