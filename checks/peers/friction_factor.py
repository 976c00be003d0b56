"""Friction factor and loss of 150 random hoses, by the reference library
`fluids`: Colebrook above Re 4000, 64/Re below 2000, and the pressure drop from
the friction factor.

The transition is left out: there Handline joins the two ends by a smooth
curve, and the library jumps.
"""

import csv
import math
import sys
from pathlib import Path

import numpy as np
from fluids import K_from_f, dP_from_K, friction_laminar
from fluids.friction import Colebrook

from water import density, viscosity

SEED = 19390101
CASES = 150


def random_case(rng):
    while True:
        re = 10.0 ** rng.uniform(2.0, 7.0)
        if not 2000.0 <= re <= 4000.0:
            break
    rough = 0.0 if rng.uniform() < 0.1 else 10.0 ** rng.uniform(-6.0, math.log10(0.05))
    bore = rng.uniform(0.019, 0.150)
    length = rng.uniform(1.0, 300.0)
    celsius = rng.uniform(1.0, 60.0)
    return re, rough, bore, length, celsius


def solve(re_wanted, rough, bore, length, celsius):
    rho, mu = density(celsius), viscosity(celsius)
    area = math.pi * bore**2 / 4.0
    flow = re_wanted * mu * area / (rho * bore)
    speed = flow / area
    re = rho * speed * bore / mu
    factor = friction_laminar(re) if re < 2000.0 else Colebrook(re, rough)
    loss = dP_from_K(K_from_f(factor, length, bore), rho=rho, V=speed)
    # The equation itself, so that a slip of the library would not pass.
    if re > 4000.0:
        x = 1.0 / math.sqrt(factor)
        miss = x + 2.0 * math.log10(rough / 3.7 + 2.51 * x / re)
        assert abs(miss) < 1e-11 * x, (re, rough, miss)
    return flow, re, factor, loss


def main(folder):
    rng = np.random.default_rng(SEED)
    heads = ["id", "flow_m3_s", "bore_m", "length_m", "roughness_m", "temperature_c"]
    with open(folder / "peer_friction.csv", "w", newline="") as file:
        out = csv.writer(file, lineterminator="\n")
        out.writerow(heads + ["reynolds", "relative_roughness", "friction_factor", "loss_pa"])
        for number in range(CASES):
            re, rough, bore, length, celsius = random_case(rng)
            flow, re, factor, loss = solve(re, rough, bore, length, celsius)
            row = [flow, bore, length, rough * bore, celsius, re, rough, factor, loss]
            out.writerow([f"ff-{number:03}"] + [repr(float(v)) for v in row])


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent.parent / "data")
