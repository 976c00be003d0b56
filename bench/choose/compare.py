"""Times Python's ways on the points of `crates/lay/benches/batch.rs`, reads criterion's
estimates for Handline and for what the machine can do at most, and writes all of it to
`bench/choose/RESULTS.md`. `bench/choose/run` calls this after the Rust benches."""

import json
import os
import platform
import statistics
import subprocess
import sys
import time
from pathlib import Path

HERE = Path(__file__).resolve().parent
ROOT = HERE.parent.parent

import numba  # noqa: E402
import numpy as np  # noqa: E402
import scipy  # noqa: E402

from reference import (  # noqa: E402
    NOZZLES,
    brentq_flows,
    columns,
    elementwise_flows,
    numba_flows,
    numpy_flows,
)

POINTS = 10_000_000
TOLD = 10_007
THREADS = 2
NEAR = 1024
SECONDS = float(os.environ.get("SECONDS_EACH", "6"))
CRITERION = Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target")) / "criterion"

# Operations of `batch/kernel.rs` for one point, counted in the source: divisions, roots,
# and everything else (multiply, add, compare, choose). Of an automatic nozzle's points all
# take the way through its range, whose answer is used where the baffle moves.
OPERATIONS = {"fixed": (1, 1, 34), "automatic": (7, 4, 197)}
# Columns read and written, and that of the flows read once more before it is written.
BYTES = {"fixed": 5 * 8, "automatic": 5 * 8}
# Two columns read, one written and read before.
TRIAD_BYTES = 4 * 8 * POINTS


def median_ns(work, least=5):
    """Median time of one call, over about SECONDS of calls, after warming up."""
    work()
    times, end = [], time.perf_counter() + SECONDS
    while len(times) < least or time.perf_counter() < end:
        start = time.perf_counter_ns()
        work()
        times.append(time.perf_counter_ns() - start)
    return statistics.median(times)


def rust_ns(folder):
    """Criterion's median in nanoseconds, or None when this bench has not run."""
    path = CRITERION / folder / "new" / "estimates.json"
    if not path.exists():
        return None
    return json.loads(path.read_text())["median"]["point_estimate"]


def readable(ns):
    for unit, size in (("s", 1e9), ("ms", 1e6), ("us", 1e3)):
        if ns >= size:
            return f"{ns / size:.3g} {unit}"
    return f"{ns:.3g} ns"


def must_agree(name, way, flows, told, tolerance):
    # Near no flow the trace counts; there a thousandth of a litre a minute is enough.
    off = np.max(np.abs(flows - told) / np.maximum(told, 1e-5))
    if not off <= tolerance:
        sys.exit(f"{name}: {way} gives other flows, by {off:.1e}")


def python_ways(name):
    """(way, nanoseconds for all the points) of each way, its answers checked."""
    pump, square, rise = columns(POINTS)
    nozzle = NOZZLES[name]
    told = np.array(json.loads((CRITERION / "batch" / f"{name}.json").read_text()))
    some = [c[::TOLD] for c in (pump, square, rise)]
    rows = []

    flows = numpy_flows(pump, square, rise, nozzle)
    must_agree(name, "numpy", flows[::TOLD], told, 1e-7)
    rows.append(("numpy on whole columns, one core", median_ns(lambda: numpy_flows(pump, square, rise, nozzle), 3)))

    out = np.empty(POINTS)
    for threads in (1, THREADS):
        numba.set_num_threads(threads)
        numba_flows(pump, square, rise, nozzle, out)
        must_agree(name, "numba", out[::TOLD], told, 1e-7)
        ns = median_ns(lambda: numba_flows(pump, square, rise, nozzle, out))
        rows.append((f"numba, a loop compiled, {threads} core{'s' if threads > 1 else ''}", ns))

    must_agree(name, "find_root", elementwise_flows(*some, nozzle), told, 1e-7)
    fewer = 200_000
    few = [c[:fewer] for c in (pump, square, rise)]
    ns = median_ns(lambda: elementwise_flows(*few, nozzle), 3) * (POINTS / fewer)
    rows.append((f"scipy `elementwise.find_root` on {fewer:,} points, times {POINTS // fewer}", ns))

    must_agree(name, "brentq", brentq_flows(*some, nozzle), told, 1e-7)
    fewer = 10_000
    few2 = [c[:fewer] for c in (pump, square, rise)]
    ns = median_ns(lambda: brentq_flows(*few2, nozzle), 3) * (POINTS / fewer)
    rows.append((f"scipy `brentq` on {fewer:,} points, times {POINTS // fewer:,}", ns))
    return rows


def times_table():
    lines = [
        f"| nozzle | way | {POINTS:,} points | times Handline |",
        "| --- | --- | ---: | ---: |",
    ]
    for name in NOZZLES:
        best = rust_ns(f"batch/{name}_{THREADS}")
        if best is None:
            sys.exit("the Rust bench has not run: bench/choose/run")
        rows = [
            (f"**Handline, {THREADS} cores**", best),
            (f"Handline, {THREADS} cores, nozzle pressures too", rust_ns(f"batch/{name}_with_tips_{THREADS}")),
            ("Handline, 1 core", rust_ns(f"batch/{name}_1")),
            ("Handline, each point alone (`Series::at`), 1 core", rust_ns(f"batch/{name}_alone") * POINTS),
        ]
        for way, ns in rows + python_ways(name):
            lines.append(f"| {name} | {way} | {readable(ns)} | {ns / best:.3g} |")
    return "\n".join(lines)


def limits_table():
    """For each nozzle: what each part of the machine would need, and the share of it."""
    each = {what: rust_ns(f"limit/{what}") / NEAR for what in ("divide", "root", "simple")}
    each["simple"] /= 16
    lines = [
        "| nozzle | divisions, roots | other operations | divider | others | memory | limit | took | share of the limit |",
        "| --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: |",
    ]
    for name, (divisions, roots, simple) in OPERATIONS.items():
        divider = divisions * each["divide"] + roots * each["root"]
        others = simple * each["simple"]
        for threads, where in ((1, "near"), (1, "1"), (THREADS, str(THREADS))):
            memory = 0.0
            if where != "near":
                memory = BYTES[name] * rust_ns(f"limit/triad_{threads}") / TRIAD_BYTES
            # One thread takes what the divider and the rest take, whichever is more.
            limit = max(divider / threads, others / threads, memory)
            count = NEAR if where == "near" else POINTS
            took = rust_ns(f"batch/{name}_{where}") / count
            label = "in near memory, 1 core" if where == "near" else f"10 million, {threads} core{'s' if threads > 1 else ''}"
            cells = [f"{v / (1 if i == 2 else threads):.2f} ns" for i, v in enumerate((divider, others, memory))]
            lines.append(
                f"| {name}, {label} | {divisions}, {roots} | {simple} | "
                f"{' | '.join(cells)} | {limit:.2f} ns | {took:.2f} ns | {100 * limit / took:.0f} % |"
            )
    rates = ", ".join(f"{what} {1 / ns:.2f} a ns" for what, ns in each.items())
    triads = ", ".join(
        f"{TRIAD_BYTES / rust_ns(f'limit/triad_{t}'):.1f} GB/s on {t} core{'s' if t > 1 else ''}" for t in (1, THREADS)
    )
    return "\n".join(lines), rates, triads


def studies():
    """Rows of the comparison's own benches, where they have run."""
    rows = []
    told = CRITERION / "choose" / "candidates.json"
    size = json.loads(told.read_text()) if told.exists() else {"choices": 0, "points": 0}
    choices = f"{size['choices']:,} choices for 8 lines, {size['points']:,} operating points"
    for name, what, most in (
        ("choose/draws_100k", "100,000 days drawn of the demo's largest scene", 10.0),
        ("choose/candidates_200k", choices, 5.0),
    ):
        ns = rust_ns(name)
        if ns is not None:
            rows.append(f"| {what} | {readable(ns)} | under {most:.0f} s | {'yes' if ns < most * 1e9 else 'NO'} |")
    for draws in (10_000, 1_000_000):
        path = CRITERION / "choose" / f"peak_{draws}.json"
        if path.exists():
            rows.append(f"| memory at the most, {draws:,} days drawn | {json.loads(path.read_text()) / 1024:.1f} MiB | the same for any number | |")
    warm, cold = rust_ns("scene_one_gate_from_last_answer"), rust_ns("scene_one_gate_from_nothing")
    if warm and cold:
        met = "yes" if cold / warm > 3 else "NO"
        rows.append(
            f"| one gate changed in that scene, from the last answer | {readable(warm)}, "
            f"from nothing {readable(cold)}: {cold / warm:.1f} times | 3 times | {met} |"
        )
    if not rows:
        return ""
    head = "| what | took | demand | met |\n| --- | ---: | ---: | --- |\n"
    return "\n## Whole questions\n\n" + head + "\n".join(rows) + "\n"


def load():
    return ", ".join(f"{x:.1f}" for x in os.getloadavg())


def processor():
    lines = Path("/proc/cpuinfo").read_text().splitlines()
    return next(line.split(":")[1].strip() for line in lines if line.startswith("model name"))


def main():
    before = load()
    times = times_table()
    limits, rates, triads = limits_table()
    rustc = subprocess.run(["rustc", "--version"], capture_output=True, text=True, check=True)
    text = f"""# Ten million operating points

Written by `bench/choose/run`; do not edit. One line, 200 ft of 1-3/4 in hose of varied
C, at varied pump pressures and rises, with a fixed or an automatic nozzle; the points are
the same to the bit on both sides, and every {TOLD:,}th flow was compared (to a ten
millionth: Python leaves out the trace of loss in proportion to flow that every chain of a
lay has). Medians. The demand is under 1 s on two cores.

{times}

## How near to the machine's limit

Operations counted in the source of `lay::batch`'s kernel, at the speed at which this machine did
nothing but such operations in the same run, on independent numbers in its nearest memory,
as wide as the kernel's: {rates}. Divisions and roots share one
unit; the others go beside it. Memory is that of a triad over ten million numbers: {triads},
the column that is written counted twice. The limit is the slowest of the three: no
program that does these operations can be faster. All per point.

{limits}
{studies()}
Load on the machine before and after Python's part (1, 5, 15 minutes; {os.cpu_count()} cores): {before}; {load()}.
{processor()}; {rustc.stdout.strip()}; Python {platform.python_version()}, numpy
{np.__version__}, numba {numba.__version__}, scipy {scipy.__version__}.
"""
    (HERE / "RESULTS.md").write_text(text)
    print(text)


if __name__ == "__main__":
    main()
