"""Times the Python reference, reads criterion's estimates for Handline, and
writes the two side by side to `bench/RESULTS.md`.

`bench/peers/run` calls this after the Rust benches."""

import json
import platform
import statistics
import subprocess
import sys
import time
from pathlib import Path

HERE = Path(__file__).resolve().parent
ROOT = HERE.parent.parent
sys.path.insert(0, str(ROOT / "checks" / "peers"))

import numpy  # noqa: E402
import scipy  # noqa: E402

from problems import PROBLEMS  # noqa: E402
from reference import Lay, tip_flows  # noqa: E402

SECONDS = 3.0


def median_ns(work):
    """Median time of one call, over about SECONDS of calls, after warming up."""
    work()
    times, end = [], time.perf_counter() + SECONDS
    while len(times) < 5 or time.perf_counter() < end:
        start = time.perf_counter_ns()
        work()
        times.append(time.perf_counter_ns() - start)
    return statistics.median(times)


def rust_ns(folder):
    """Criterion's median in nanoseconds, or None when this bench has not run."""
    path = ROOT / "target" / "criterion" / folder / "new" / "estimates.json"
    if not path.exists():
        return None
    return json.loads(path.read_text())["median"]["point_estimate"]


def ways(lay):
    """The Python ways that suit this problem: (name, work, flow of the tips)."""
    if lay.count == 2:
        yield "scipy brentq", lay.brent
        yield "plain Python, halving", lay.bisect
    if lay.count < 100:
        yield "scipy root", lambda: tip_flows(lay, lay.powell())
    yield "scipy sparse Newton", lambda: tip_flows(lay, lay.newton("sparse"))
    yield "plain numpy Newton", lambda: tip_flows(lay, lay.newton("dense"))


def time_python():
    """For each problem: its parts, and (way, median ns) of each way."""
    found = {}
    for make in PROBLEMS:
        problem = make()
        committed = json.loads((HERE.parent / "problems" / f"{problem['name']}.json").read_text())[0]
        if problem["parts"] != committed["parts"] or problem["places"] != committed["places"]:
            sys.exit(f"{problem['name']}: the committed problem is another; run problems.py")
        lay = Lay(problem)
        wanted = tip_flows(lay, lay.newton("sparse"))
        rows = []
        for name, work in ways(lay):
            if abs(work() / wanted - 1.0) > 1e-6:
                sys.exit(f"{problem['name']}: {name} gives another flow")
            rows.append((name, median_ns(work)))
        found[problem["name"]] = len(problem["parts"]), rows
    return found


def readable(ns):
    for unit, size in (("s", 1e9), ("ms", 1e6), ("us", 1e3)):
        if ns >= size:
            return f"{ns / size:.3g} {unit}"
    return f"{ns:.3g} ns"


def processor():
    try:
        lines = Path("/proc/cpuinfo").read_text().splitlines()
        return next(line.split(":")[1].strip() for line in lines if line.startswith("model name"))
    except (OSError, StopIteration):
        return platform.processor() or "unknown"


def table(python):
    lines = [
        "| problem | parts | way | median | times Handline |",
        "| --- | ---: | --- | ---: | ---: |",
    ]
    for name, (parts, rows) in python.items():
        rust = rust_ns(f"peers/{name}")
        lines.append(f"| {name} | {parts} | **Handline, `lay::solve`** | {readable(rust) if rust else 'not run'} | 1 |")
        direct = rust_ns(f"peers/{name}_direct")
        if direct and rust:
            lines.append(
                f"| {name} | {parts} | **Handline, `lay::operating_flow`** | {readable(direct)} | {direct / rust:.2g} |"
            )
        for way, ns in rows:
            ratio = f"{ns / rust:,.0f}" if rust else ""
            lines.append(f"| {name} | {parts} | {way} | {readable(ns)} | {ratio} |")
    return "\n".join(lines)


def main():
    rustc = subprocess.run(["rustc", "--version"], capture_output=True, text=True, check=True)
    text = f"""# Speed beside a Python reference

Written by `bench/peers/run`; do not edit. The problems are the files in
`bench/problems`; both sides start cold, from a lay already read. Handline and
the sparse Newton agree on every flow and pressure to a millionth of the largest
(a test of `checks`); the other ways, on the total flow of the tips. Medians of
{SECONDS:.0f} s of runs, one thread. `lay::operating_flow` is the direct route of a single
line: the flow alone, without a network.

{table(time_python())}

{processor()}; {rustc.stdout.strip()}; Python {platform.python_version()}, numpy
{numpy.__version__}, scipy {scipy.__version__}.
"""
    (ROOT / "bench" / "RESULTS.md").write_text(text)
    print(text)


if __name__ == "__main__":
    main()
