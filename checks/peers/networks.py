"""140 random lays and their answers: trees, siamesed legs, loops, several
pumps at fixed pressures, rises, part-open valves, hose by C and by
Hazen-Williams, and tips of every kind in every regime.

Always the same ones; a draw that leaves a tip dry is thrown away, since whether
it drips is decided by the last bits.
"""

import json
import sys
from collections import Counter
from pathlib import Path

import numpy as np

from model import GPM, PSI, Network

SEED = 18890601
COUNT = 140
KINDS = ("tree", "siamese", "loop", "pumps")


class Draw:
    """A lay being drawn."""

    def __init__(self, rng):
        self.rng = rng
        self.places, self.parts = [], []

    def junction(self, height):
        self.places.append({"kind": "junction", "height": height})
        return len(self.places) - 1

    def supply(self):
        rng = self.rng
        self.places.append(
            {
                "kind": "supply",
                "height": rng.uniform(-2.0, 2.0),
                "pressure": rng.uniform(6e5, 16e5),
            }
        )
        return len(self.places) - 1

    def part(self, a, b, law):
        self.parts.append({"from": a, "to": b, "law": law})

    def height(self, place, up=3.0):
        return self.places[place]["height"] + self.rng.uniform(-1.0, up)

    def pick(self, *choices):
        return choices[int(self.rng.uniform() * len(choices))]

    def hose(self, large):
        rng = self.rng
        length = rng.uniform(15.0, 100.0)
        if rng.uniform() < 0.3:
            bore = rng.uniform(0.063, 0.13) if large else rng.uniform(0.042, 0.063)
            return {
                "kind": "hazen_williams",
                "bore": bore,
                "c": rng.uniform(110.0, 150.0),
                "length": length,
            }
        us = rng.uniform(0.08, 2.0) if large else rng.uniform(2.0, 15.5)
        return {"kind": "coefficient", "us": us, "length": length}

    def gate(self):
        return {
            "slide": self.rng.uniform() < 0.5,
            "waterway": self.rng.uniform(0.035, 0.065),
            "gate": self.rng.uniform(0.25, 1.0),
        }

    def leg(self, start, large=False):
        """Hose to a new place, perhaps through a gated outlet or an appliance."""
        at = start
        chance = self.rng.uniform()
        if chance < 0.25:
            middle = self.junction(self.places[at]["height"])
            self.part(at, middle, {"kind": "valve"} | self.gate())
            at = middle
        elif chance < 0.4:
            middle = self.junction(self.places[at]["height"])
            law = {
                "kind": "rated",
                "pressure": self.rng.uniform(0.2e5, 1.7e5),
                "flow": self.rng.uniform(0.01, 0.04),
            }
            self.part(at, middle, law)
            at = middle
        end = self.junction(self.height(at))
        self.part(at, end, self.hose(large))
        return end

    def tip(self, base):
        rng = self.rng
        self.places.append({"kind": "air", "height": self.height(base, 2.0)})
        shutoff = self.gate() if rng.uniform() < 0.4 else None
        kind = self.pick("smooth_bore", "fixed", "automatic", "automatic", "automatic")
        if kind == "smooth_bore":
            law = {"bore": rng.uniform(0.012, 0.035), "coefficient": rng.uniform(0.95, 1.0)}
        elif kind == "fixed":
            law = {
                "flow": rng.uniform(60.0, 250.0) * GPM,
                "pressure": self.pick(50.0, 75.0, 100.0) * PSI,
            }
        else:
            low = rng.uniform(40.0, 110.0) * GPM
            pressure = self.pick(45.0, 70.0, 95.0) * PSI
            law = {
                "flows": [low, low * rng.uniform(1.5, 3.5)],
                "pressures": [pressure, pressure * rng.uniform(1.03, 1.25)],
            }
        self.part(base, len(self.places) - 1, {"kind": kind, "shutoff": shutoff} | law)

    def attack(self, start, count):
        for _ in range(count):
            self.tip(self.leg(start))

    def count(self, low, high):
        return low + int(self.rng.uniform() * (high - low + 1))


def tree(draw):
    wye = draw.leg(draw.supply(), large=True)
    for _ in range(draw.count(1, 3)):
        branch = draw.leg(wye, large=True)
        draw.attack(branch, draw.count(1, 3))


def siamese(draw):
    pump = draw.supply()
    end = draw.junction(draw.height(pump))
    for _ in range(draw.count(2, 3)):
        draw.part(pump, end, draw.hose(large=True))
    if draw.rng.uniform() < 0.5:
        end = draw.leg(end, large=True)
    draw.attack(end, draw.count(1, 3))


def ring(draw, count):
    places = [draw.junction(draw.rng.uniform(-2.0, 6.0)) for _ in range(count)]
    for i in range(count):
        draw.part(places[i], places[(i + 1) % count], draw.hose(large=True))
    for _ in range(draw.count(0, 2)):
        a, b = draw.count(0, count - 1), draw.count(0, count - 1)
        if a != b:
            draw.part(places[a], places[b], draw.hose(large=True))
    return places


def loop(draw):
    places = ring(draw, draw.count(3, 8))
    draw.part(draw.supply(), places[0], draw.hose(large=True))
    for place in places[1:]:
        if draw.rng.uniform() < 0.6 or place == places[1]:
            draw.attack(place, 1)


def pumps(draw):
    places = ring(draw, draw.count(3, 6))
    pressure = draw.rng.uniform(8e5, 14e5)
    for i in range(draw.count(2, 3)):
        pump = draw.supply()
        draw.places[pump]["pressure"] = pressure * draw.rng.uniform(0.85, 1.15)
        draw.part(pump, places[(2 * i) % len(places)], draw.hose(large=True))
    draw.attack(places[1], draw.count(1, 2))
    draw.attack(places[-1], draw.count(1, 2))


def random_network(rng, kind, number):
    draw = Draw(rng)
    {"tree": tree, "siamese": siamese, "loop": loop, "pumps": pumps}[kind](draw)
    celsius = rng.uniform(4.0, 30.0)
    problem = {
        "name": f"{kind}-{number:03}",
        "density": float(rng.uniform(990.0, 1002.0)),
        "kelvin": celsius + 273.15,
        "places": draw.places,
        "parts": draw.parts,
    }
    network = Network(problem)
    x = network.solve()
    if x is None:
        return None, "not solved"
    ends = network.nozzle_pressures(x)
    if min(p for _, p in ends) < 0.2e5:
        return None, "dry"
    problem["answer"] = network.answer(x)
    return problem, [element.regime(p) or type(element).__name__ for element, p in ends]


def main(folder):
    rng = np.random.default_rng(SEED)
    problems, tips, refused = [], Counter(), Counter()
    while len(problems) < COUNT:
        kind = KINDS[len(problems) % len(KINDS)]
        problem, seen = random_network(rng, kind, len(problems))
        if problem is None:
            refused[seen] += 1
            continue
        problems.append(problem)
        tips.update(seen)
    assert all(tips[r] >= 20 for r in ("below", "in", "above")), tips
    assert refused["not solved"] <= COUNT // 10, refused
    with open(folder / "peer_networks.json", "w") as file:
        file.write("[\n")
        file.write(",\n".join(json.dumps(p) for p in problems))
        file.write("\n]\n")
    sizes = [len(p["parts"]) for p in problems]
    print(f"{COUNT} networks of {min(sizes)} to {max(sizes)} parts; tips {dict(tips)}; {dict(refused)}")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent.parent / "data")
