"""The three problems of the speed comparison, written to `bench/problems` with
their answers. They hold no chance: every number follows from its place."""

import json
import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent.parent / "checks" / "peers"))

from model import FOOT, GPM, PSI  # noqa: E402

INCH = 0.0254


class Lay:
    def __init__(self, name):
        self.name, self.places, self.parts = name, [], []

    def place(self, kind, height, **more):
        self.places.append({"kind": kind, "height": height} | more)
        return len(self.places) - 1

    def hose(self, a, us, length, height, count=1, end=None):
        """`count` lengths of hose from `a`; their far end."""
        for i in range(count):
            last = end is not None and i == count - 1
            b = end if last else self.place("junction", height)
            self.parts.append({"from": a, "to": b, "law": {"kind": "coefficient", "us": us, "length": length}})
            a = b
        return a

    def appliance(self, a, psi, gpm, height):
        b = self.place("junction", height)
        law = {"kind": "rated", "pressure": psi * PSI, "flow": gpm * GPM}
        self.parts.append({"from": a, "to": b, "law": law})
        return b

    def tip(self, a, height, kind, **law):
        air = self.place("air", height)
        self.parts.append({"from": a, "to": air, "law": {"kind": kind, "shutoff": None} | law})

    def automatic(self, a, height, flows=(70.0, 200.0)):
        self.tip(
            a,
            height,
            "automatic",
            flows=[f * GPM for f in flows],
            pressures=[94.0 * PSI, 106.0 * PSI],
        )

    def problem(self):
        return {
            "name": self.name,
            "density": 999.0,
            "kelvin": 288.70555555555555,
            "places": self.places,
            "parts": self.parts,
        }


def operating_point():
    """200 ft of 1-3/4 in (C 15.5) up 10 ft to an automatic nozzle, 170 psi at
    the pump."""
    lay = Lay("operating_point")
    pump = lay.place("supply", 0.0, pressure=170.0 * PSI)
    base = lay.hose(pump, 15.5, 200.0 * FOOT, 10.0 * FOOT)
    lay.automatic(base, 10.0 * FOOT)
    return lay.problem()


def fireground_40():
    """One manifold behind 100 ft of 5 in: two wyed lines (automatic nozzles;
    15/16 in tips), a siamese to a monitor, and one line with a fixed nozzle."""
    lay = Lay("fireground_40")
    length = 50.0 * FOOT
    pump = lay.place("supply", 0.0, pressure=190.0 * PSI)
    manifold = lay.hose(pump, 0.08, 100.0 * FOOT, 0.0)
    for line in range(2):
        wye = lay.appliance(lay.hose(manifold, 2.0, length, 0.0, 4), 5.0, 350.0, 0.0)
        for leg in range(2):
            up = (10.0 + 10.0 * leg) * FOOT
            base = lay.hose(wye, 15.5, length, up, 3)
            if line == 0:
                lay.automatic(base, up)
            else:
                lay.tip(base, up, "smooth_bore", bore=15.0 / 16.0 * INCH, coefficient=0.995)
    siamese = lay.place("junction", 0.0)
    for _ in range(2):
        lay.hose(manifold, 0.8, length, 0.0, 3, end=siamese)
    monitor = lay.appliance(lay.appliance(siamese, 5.0, 500.0, 0.0), 10.0, 500.0, 0.0)
    lay.tip(monitor, 0.0, "smooth_bore", bore=1.375 * INCH, coefficient=0.995)
    base = lay.hose(manifold, 15.5, length, 5.0 * FOOT, 3)
    lay.tip(base, 5.0 * FOOT, "fixed", flow=150.0 * GPM, pressure=100.0 * PSI)
    return lay.problem()


def looped_1000():
    """A net of 20 by 20 places joined by 5 in hose, four pumps, and 118 legs
    with a tip each: 1,000 parts."""
    lay = Lay("looped_1000")
    side = 20
    at = [lay.place("junction", float((13 * i) % 9)) for i in range(side * side)]
    length = [15.0 + float((7 * i) % 11) for i in range(2 * side * side)]
    for row in range(side):
        for column in range(side):
            here = side * row + column
            if column + 1 < side:
                lay.hose(at[here], 0.08, length[2 * here], 0.0, end=at[here + 1])
            if row + 1 < side:
                lay.hose(at[here], 0.08, length[2 * here + 1], 0.0, end=at[here + side])
    for number, (row, column) in enumerate(((5, 5), (5, 14), (14, 5), (14, 14))):
        pump = lay.place("supply", 0.0, pressure=(200.0 + 5.0 * number) * PSI)
        lay.hose(pump, 0.08, 30.0, 0.0, end=at[side * row + column])
    for leg in range(118):
        here = (3 * leg + leg // 7) % (side * side)
        up = float(leg % 6)
        base = lay.hose(at[here], 2.0, 15.0, up)
        if leg % 3 == 0:
            lay.automatic(base, up, flows=(40.0, 120.0))
        elif leg % 3 == 1:
            lay.tip(base, up, "smooth_bore", bore=0.5 * INCH, coefficient=0.995)
        else:
            lay.tip(base, up, "fixed", flow=60.0 * GPM, pressure=100.0 * PSI)
    return lay.problem()


PROBLEMS = (operating_point, fireground_40, looped_1000)


def main(folder):
    from reference import Lay as Solved

    for make in PROBLEMS:
        problem = make()
        solved = Solved(problem)
        problem["answer"] = solved.answer(solved.newton("sparse"))
        text = json.dumps([problem], indent=None)
        (folder / f"{problem['name']}.json").write_text(text + "\n")
        print(problem["name"], len(problem["parts"]), "parts")


if __name__ == "__main__":
    main(HERE.parent / "problems")
