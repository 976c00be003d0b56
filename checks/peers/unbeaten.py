"""Which rows of costs no other row beats, by pymoo's sorting into fronts, and once more
by trying every row against every other. The costs are made up: whole numbers drawn at
random, few enough of them that rows tie, and in half of the cases pulled to a slope, so
that much of one aim means little of another."""

import json
import sys
from pathlib import Path

import numpy as np
from pymoo.util.nds.non_dominated_sorting import NonDominatedSorting

SEED = 19060501
# Aims, rows, the highest cost, on a slope.
CASES = [
    (1, 40, 9, False),
    (2, 120, 30, False),
    (2, 120, 30, True),
    (3, 150, 20, False),
    (3, 150, 60, True),
    (4, 150, 12, False),
    (5, 150, 40, True),
    (6, 150, 8, False),
    (7, 120, 25, True),
    (8, 120, 6, False),
    (9, 100, 15, True),
    (10, 100, 5, False),
]


def drawn(rng, aims, rows, highest, slope):
    costs = rng.integers(0, highest + 1, size=(rows, aims))
    if slope:
        share = costs / np.maximum(costs.sum(axis=1, keepdims=True), 1)
        costs = np.rint(share * highest).astype(int)
    # Some rows twice, so that equal ones are there.
    again = rng.integers(0, rows, size=rows // 10)
    costs[rng.integers(0, rows, size=again.size)] = costs[again]
    return costs


def plainly(costs):
    no_worse = (costs[:, None, :] <= costs[None, :, :]).all(axis=2)
    better = (costs[:, None, :] < costs[None, :, :]).any(axis=2)
    return np.flatnonzero(~(no_worse & better).any(axis=0))


def main(folder):
    rng = np.random.default_rng(SEED)
    cases = []
    for aims, rows, highest, slope in CASES:
        costs = drawn(rng, aims, rows, highest, slope)
        front = NonDominatedSorting().do(costs.astype(float), only_non_dominated_front=True)
        front = np.sort(front)
        assert np.array_equal(front, plainly(costs)), (aims, rows)
        cases.append({"columns": costs.T.tolist(), "unbeaten": front.tolist()})
    with open(folder / "peer_unbeaten.json", "w") as file:
        json.dump(cases, file, separators=(",", ":"))
        file.write("\n")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
