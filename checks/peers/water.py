"""Fresh water by temperature.

`density` and `viscosity` are the formulas that Handline states (Kell 1975;
Likhachev 2003), written again from their papers' form. `main` puts beside them
what the reference library `chemicals` gives (IAPWS-95 density, IAPWS 2008
viscosity) from 0 to 100 C, and writes that: the Rust test compares Handline
with the library, not with these formulas.
"""

import csv
import math
import sys
from pathlib import Path

GRAVITY = 9.80665


def density(celsius):
    """Kell, J. Chem. Eng. Data 20 (1975), kg/m3."""
    t = celsius
    above = (
        999.83952
        + 16.945176 * t
        - 7.9870401e-3 * t**2
        - 46.170461e-6 * t**3
        + 105.56302e-9 * t**4
        - 280.54253e-12 * t**5
    )
    return above / (1.0 + 16.87985e-3 * t)


def viscosity(celsius):
    """Likhachev, Tech. Phys. 48 (2003), low pressure, Pa s."""
    kelvin = celsius + 273.15
    return 2.4055e-5 * math.exp(4.753 / (8.314e-3 * (kelvin - 139.7)))


def main(folder):
    from chemicals import iapws95_rho, mu_IAPWS

    with open(folder / "peer_water.csv", "w", newline="") as file:
        out = csv.writer(file, lineterminator="\n")
        out.writerow(["temperature_c", "density_kg_m3", "viscosity_pa_s"])
        for celsius in range(1, 100, 7):
            kelvin = celsius + 273.15
            rho = iapws95_rho(kelvin, 101325.0)
            out.writerow([celsius, f"{rho:.12g}", f"{mu_IAPWS(kelvin, rho):.12g}"])


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent.parent / "data")
