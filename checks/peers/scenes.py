"""60 whole fireground scenes and their answers, from the water to the tips:
hydrant and pumper; two hydrants and a relay; a standpipe with regulating
valves; drafting, with an eductor; and pumps asked for more than they or their
water can give.

Always the same ones, of five shapes in turn, sizes drawn among those that
departments have. A draw that leaves a tip dry is thrown away, since whether it
drips is decided by the last bits.
"""

import json
import sys
from collections import Counter
from pathlib import Path

import numpy as np

from model import FOOT, GPM, PSI
from networks import Draw
from scene_model import Scene

SEED = 20261125
COUNT = 60

INCH = 0.0254
# C of hose for lines, for large lines and for supply (psi, gpm, ft).
LINE = (15.5, 12.0, 8.0)
LARGE = (2.0, 0.8)
SUPPLY = (0.8, 0.2, 0.08)
US_RATINGS = (750.0, 1000.0, 1250.0, 1500.0, 2000.0)
METRIC_RATINGS = (1000.0, 2000.0, 3000.0, 4000.0)
EDUCTORS = (60.0, 95.0, 125.0, 250.0)


class Ground(Draw):
    """A fireground being drawn."""

    def hose(self, cs, lengths, feet=50.0):
        count = self.count(*lengths)
        return {"kind": "coefficient", "us": self.pick(*cs), "length": count * feet * FOOT}

    def rated(self, low, high, gpm):
        pressure = self.rng.uniform(low, high) * PSI
        return {"kind": "rated", "pressure": pressure, "flow": gpm * GPM}

    def onward(self, start, law, height=None):
        """A part to a new place."""
        at = self.places[start]["height"] if height is None else height
        end = self.junction(at)
        self.part(start, end, law)
        return end

    def water(self, height, pressure):
        self.places.append({"kind": "supply", "height": height, "pressure": pressure})
        return len(self.places) - 1

    def main(self, still=(45.0, 95.0), gpm=(700.0, 2200.0), keeps=(0.3, 0.85)):
        """A main by its flow test."""
        pressure = self.rng.uniform(*still) * PSI
        law = {
            "kind": "flow_test",
            "still": pressure,
            "residual": pressure * self.rng.uniform(*keeps),
            "test_flow": self.rng.uniform(*gpm) * GPM,
        }
        return self.onward(self.water(self.rng.uniform(-2.0, 2.0), pressure), law)

    def pump(self, intake, ratings=US_RATINGS, **governor):
        if self.rng.uniform() < 0.7:
            rating = {"rated_flow": self.pick(*ratings) * GPM, "rated_pressure": None}
        else:
            flow = self.pick(*METRIC_RATINGS) / 60e3
            rating = {"rated_flow": flow, "rated_pressure": 10e5}
        return self.onward(intake, {"kind": "pump"} | rating | governor)

    def at_pressure(self, intake, low, high, ratings=US_RATINGS):
        return self.pump(intake, ratings, setting=self.rng.uniform(low, high) * PSI)

    def outlet(self, discharge):
        return self.onward(discharge, {"kind": "valve"} | self.gate())

    def line(self, start, up=4.0):
        hose = self.hose(LINE, (2, 5))
        self.tip(self.onward(start, hose, self.height(start, up)))

    def wyed(self, discharge):
        hose = self.hose(LARGE, (2, 6))
        end = self.onward(self.outlet(discharge), hose, self.height(discharge))
        wye = self.onward(end, self.rated(3.0, 12.0, 350.0))
        for _ in range(2):
            self.line(wye)

    def monitor(self, discharge, inches=(1.25, 2.0)):
        siamese = self.junction(self.height(discharge))
        for _ in range(self.count(2, 3)):
            self.part(self.outlet(discharge), siamese, self.hose(LARGE, (1, 5)))
        base = self.onward(siamese, self.rated(10.0, 25.0, 500.0))
        self.places.append({"kind": "air", "height": self.height(base, 2.0)})
        law = {"bore": self.rng.uniform(*inches) * INCH, "coefficient": 0.997}
        self.part(base, len(self.places) - 1, {"kind": "smooth_bore", "shutoff": None} | law)

    def lines(self, discharge):
        """Two or three lines, one wyed, one siamesed into a monitor."""
        self.wyed(discharge)
        self.monitor(discharge)
        if self.rng.uniform() < 0.5:
            self.line(self.outlet(discharge))

    def intake(self, hydrant, lines=(1, 2), hose=None):
        end = self.junction(self.height(hydrant))
        for _ in range(self.count(*lines)):
            self.part(hydrant, end, hose or self.hose(SUPPLY, (1, 6)))
        return end


def hydrant(draw, turn):
    draw.lines(draw.at_pressure(draw.intake(draw.main()), 90.0, 200.0))


def pipe(draw):
    return {
        "kind": "hazen_williams",
        "bore": draw.pick(6.0, 8.0) * INCH,
        "c": draw.rng.uniform(80.0, 140.0),
        "length": draw.rng.uniform(50.0, 250.0),
    }


def relay(draw, turn):
    """Two hydrants on one main feed the first pumper; every third relay has a
    pumper set below what it gets."""
    main = draw.main()
    intake = draw.junction(draw.height(main))
    for _ in range(2):
        hydrant = draw.onward(main, pipe(draw), draw.height(main))
        draw.part(hydrant, intake, draw.hose(SUPPLY, (1, 6)))
    discharge = draw.at_pressure(intake, 120.0, 200.0)
    stages = draw.count(1, 2)
    for stage in range(stages):
        intake = draw.onward(discharge, draw.hose(SUPPLY[1:], (4, 20)), draw.height(discharge))
        low = turn % 3 == 0 and stage == stages - 1
        discharge = draw.at_pressure(intake, *((40.0, 70.0) if low else (110.0, 200.0)))
    if turn % 3 == 0:
        draw.wyed(discharge)
    else:
        draw.lines(discharge)


def regulating(draw):
    return {
        "kind": "regulating",
        "setting": draw.rng.uniform(60.0, 175.0) * PSI,
        "open_loss": draw.rng.uniform(5.0, 15.0) * PSI,
        "open_flow": 250.0 * GPM,
    }


def standpipe(draw, turn):
    """Every fourth has two outlets on one line."""
    discharge = draw.at_pressure(draw.intake(draw.main()), 150.0, 230.0)
    siamese = draw.junction(draw.places[discharge]["height"] + 1.0)
    for _ in range(2):
        draw.part(draw.outlet(discharge), siamese, draw.hose(LARGE, (1, 3)))
    at = draw.onward(siamese, draw.rated(3.0, 10.0, 500.0))
    bore, storey, floor = draw.pick(4.0, 6.0) * INCH, draw.rng.uniform(2.8, 3.8), 0
    ground = draw.places[at]["height"]
    valves = []
    for _ in range(draw.count(2, 3)):
        climbed = draw.count(1, 6)
        floor += climbed
        riser = {"kind": "hazen_williams", "bore": bore, "c": 120.0, "length": climbed * storey}
        at = draw.onward(at, riser, ground + floor * storey)
        valves.append(draw.onward(at, regulating(draw)))
    if turn % 4 == 3:
        meet = draw.junction(draw.height(valves[0]))
        for valve in valves[:2]:
            draw.part(valve, meet, draw.hose(LARGE, (1, 3)))
        valves[:2] = [draw.onward(meet, draw.rated(3.0, 10.0, 350.0))]
        draw.line(valves[0])
    for valve in valves:
        draw.line(valve)


def draft(draw, turn):
    """A foam line behind an eductor; every second scene has a water line too,
    every fourth a lift or a suction hose that the pump cannot follow."""
    hard = turn % 4 == 3
    lift = draw.rng.uniform(5.5, 6.8) if hard else draw.rng.uniform(0.3, 2.0)
    strainer = draw.onward(draw.water(-lift, 0.0), draw.rated(0.5, 2.0, 1000.0))
    hose = {
        "kind": "hazen_williams",
        "bore": (4.5 if hard else draw.pick(5.0, 6.0)) * INCH,
        "c": 130.0,
        "length": draw.count(2, 4) * 10.0 * FOOT,
    }
    intake = draw.onward(strainer, hose, 0.0)
    discharge = draw.pump(intake, speed=draw.rng.uniform(0.85, 1.2))
    foam(draw, discharge)
    if hard:
        draw.monitor(discharge, (1.75, 2.25))
        draw.monitor(discharge, (1.75, 2.25))
    elif turn % 2 == 1:
        draw.line(draw.outlet(discharge))


def foam(draw, discharge):
    gpm = draw.pick(*EDUCTORS)
    law = {
        "kind": "eductor",
        "flow": gpm * GPM,
        "inlet": 200.0 * PSI,
        "share": draw.pick(0.65, 0.7),
    }
    drawn = draw.onward(draw.onward(discharge, draw.hose(LARGE, (1, 2))), law)
    c = {60.0: 15.5, 95.0: 12.0, 125.0: 8.0, 250.0: 2.0}[gpm]
    end = draw.onward(drawn, draw.hose((c,), (1, 10)), draw.height(drawn, 8.0))
    draw.places.append({"kind": "air", "height": draw.height(end, 2.0)})
    tip = {"kind": "fixed", "flow": gpm * GPM, "pressure": draw.pick(75.0, 100.0) * PSI}
    draw.part(end, len(draw.places) - 1, tip | {"shutoff": None})


def overasked(draw, turn):
    """A pump past its curve, and a hydrant that cannot follow, in turn."""
    if turn % 2 == 0:
        main = draw.main((60.0, 95.0), (1500.0, 3000.0), (0.5, 0.85))
        intake = draw.intake(main, (2, 2), draw.hose(SUPPLY[1:], (1, 4)))
        discharge = draw.at_pressure(intake, 160.0, 230.0, (500.0, 750.0, 1000.0))
        draw.monitor(discharge, (1.75, 2.25))
    else:
        main = draw.main((30.0, 60.0), (250.0, 600.0), (0.15, 0.5))
        intake = draw.intake(main, (1, 1), draw.hose((2.0, 0.8), (4, 14)))
        discharge = draw.at_pressure(intake, 120.0, 200.0)
    draw.lines(discharge)


SHAPES = (hydrant, relay, standpipe, draft, overasked)
# How often each state must be there, by shape.
WANTED = {
    "hydrant": {"pump held": 6},
    "relay": {"pump held": 12, "pump through": 3},
    "standpipe": {"regulating regulates": 8, "regulating open": 8},
    "draft": {
        "eductor draws": 4,
        "eductor does not draw": 4,
        "pump at speed": 3,
        "pump starved": 3,
    },
    "overasked": {"pump reached": 4, "pump starved": 4},
}


def random_scene(rng, shape, number):
    draw = Ground(rng)
    shape(draw, number // len(SHAPES))
    celsius = rng.uniform(4.0, 30.0)
    problem = {
        "name": f"{shape.__name__}-{number:03}",
        "density": float(rng.uniform(990.0, 1002.0)),
        "kelvin": celsius + 273.15,
        "places": draw.places,
        "parts": draw.parts,
    }
    scene = Scene(problem)
    x = scene.solve()
    if x is None:
        return None, "not solved"
    if min(scene.tip_pressures(x)) < 0.1e5:
        return None, "dry"
    problem["answer"] = scene.answer(x)
    return problem, scene.regimes(x)


def main(folder):
    rng = np.random.default_rng(SEED)
    problems, refused = [], Counter()
    seen = {shape.__name__: Counter() for shape in SHAPES}
    while len(problems) < COUNT:
        shape = SHAPES[len(problems) % len(SHAPES)]
        problem, regimes = random_scene(rng, shape, len(problems))
        if problem is None:
            refused[regimes] += 1
            continue
        problems.append(problem)
        seen[shape.__name__].update(regimes)
    sizes = [len(p["parts"]) for p in problems]
    print(f"{COUNT} scenes of {min(sizes)} to {max(sizes)} parts; {dict(refused)}")
    for shape, wanted in WANTED.items():
        print(f"  {shape}: {dict(seen[shape])}")
        assert all(seen[shape][state] >= times for state, times in wanted.items()), shape
    assert refused["not solved"] <= COUNT // 10, refused
    with open(folder / "peer_scenes.json", "w") as file:
        file.write("[\n")
        file.write(",\n".join(json.dumps(p) for p in problems))
        file.write("\n]\n")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent.parent / "data")
