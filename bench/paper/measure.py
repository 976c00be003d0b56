"""Wall time and peak memory of the demo's whole set as PDF, and of Chromium printing
the pages of its lines. Prints; writes nothing but its scratch folder."""

import json
import os
import statistics
import subprocess
import sys
import time
import urllib.request

BUILT, FOLDER, ADDRESS = sys.argv[1:4]
BOOK = "books/saltmarsh-bend.toml"
TIMES = 5


def run(words):
    """Seconds and peak memory in MiB of one command with its children."""
    start = time.monotonic()
    process = subprocess.Popen(words, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    _, status, used = os.wait4(process.pid, 0)
    if status != 0:
        sys.exit(f"{' '.join(words)} ended with {status}")
    return time.monotonic() - start, used.ru_maxrss / 1024


def say(what, runs, pages):
    seconds = statistics.median(seconds for seconds, _ in runs)
    memory = max(memory for _, memory in runs)
    print(f"{what}: {seconds:.2f} s, at most {memory:.0f} MiB, {pages}")


def whole_set():
    out = os.path.join(FOLDER, "set.zip")
    words = [BUILT, "paper", BOOK, "--out", out, "--date", "2026-05-11"]
    runs = [run(words) for _ in range(TIMES)]
    told = subprocess.run([*words, "--json"], capture_output=True, check=True)
    sheets = json.loads(told.stdout)["sheets"]
    pages = sum(sheet["pages"] for sheet in sheets)
    say("Handline, the whole set", runs, f"{len(sheets)} sheets, {pages} pages")


def in_a_browser():
    for _ in range(100):
        try:
            urllib.request.urlopen(f"{ADDRESS}/api/books").close()
            break
        except OSError:
            time.sleep(0.1)
    listed = subprocess.run([BUILT, "solve", BOOK, "--json"], capture_output=True, check=True)
    lines = [line["line"] for line in json.loads(listed.stdout)["lines"]]
    runs = []
    for _ in range(TIMES):
        seconds, memory = 0.0, 0.0
        for line in lines:
            page = f"{ADDRESS}/book/saltmarsh-bend-fire-and-rescue/line/{line}"
            out = os.path.join(FOLDER, "page.pdf")
            words = ["chromium", "--headless", "--no-sandbox", "--disable-gpu"]
            one = run([*words, f"--print-to-pdf={out}", page])
            seconds, memory = seconds + one[0], max(memory, one[1])
        runs.append((seconds, memory))
    say("Chromium, the pages of the lines", runs, f"{len(lines)} documents")


whole_set()
in_a_browser()
