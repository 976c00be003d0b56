"""Compares two sets of the peers' files number by number: `compare.py OLD NEW`.
Fails, naming the file and the place, when a number differs by more than 1e-9 of
itself, or when anything else differs at all."""

import csv
import json
import sys
from pathlib import Path

RELATIVE = 1e-9
FILES = (
    "peer_water.csv",
    "peer_friction.csv",
    "peer_networks.json",
    "peer_scenes.json",
    "peer_test_days.json",
    "peer_doubt.json",
    "peer_unbeaten.json",
)


def as_number(value):
    if isinstance(value, bool):
        return None
    try:
        return float(value)
    except (TypeError, ValueError):
        return None


def differences(old, new, where, scale=0.0):
    """Every difference between two values, lists or dicts."""
    if isinstance(old, dict) and isinstance(new, dict):
        if list(old) != list(new):
            yield f"{where}: {list(old)} is now {list(new)}"
            return
        for key in old:
            yield from differences(old[key], new[key], f"{where}.{key}")
    elif isinstance(old, list) and isinstance(new, list):
        if len(old) != len(new):
            yield f"{where}: {len(old)} entries are now {len(new)}"
            return
        # A flow or pressure near nothing counts beside the largest of its list.
        sizes = [abs(n) for n in map(as_number, old) if n is not None]
        largest = max(sizes, default=0.0) if where.endswith(("flows", "pressures")) else 0.0
        for i, (a, b) in enumerate(zip(old, new)):
            yield from differences(a, b, f"{where}[{i}]", largest)
    else:
        a, b = as_number(old), as_number(new)
        if a is None or b is None:
            if old != new:
                yield f"{where}: {old!r} is now {new!r}"
        elif not abs(a - b) <= RELATIVE * max(abs(a), scale):
            yield f"{where}: {old} is now {new}"


def read(path):
    with open(path, newline="") as file:
        return json.load(file) if path.suffix == ".json" else list(csv.DictReader(file))


def main(old, new, files):
    found = []
    for name in files:
        found += differences(read(old / name), read(new / name), name)
    for line in found[:40]:
        print(line)
    if found:
        sys.exit(f"{len(found)} numbers differ from the committed ones by more than {RELATIVE}")
    print(f"the peers give the committed numbers again: {', '.join(files)}")


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]), sys.argv[3:] or FILES)
