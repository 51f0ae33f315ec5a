"""Grades a million calls: how long it takes, and how much memory.

    python tests/million.py PROGRAM LESSONS OUT [N]

PROGRAM is a waterjacket built for release, LESSONS a folder of rendered captures with their truths. Makes a
key of N captures (1 000 000 if not said) in OUT/key, each the outline of one of the truths under a name of its own; calls
for them as CSV and as JSON Lines, right for four in five; grades both and compares one run with the other. Prints the
seconds and the peak memory of each command. Needs nothing but Python, and about 2.5 kB of disk a capture.
"""

import json
import os
import subprocess
import sys
import time
from pathlib import Path

LEFT_OUT = {"events": [], "tdcs": [], "scenario": None}


def make(lessons, out, n):
    truths = [json.loads(path.read_text()) | LEFT_OUT for path in sorted(lessons.glob("*.truth.json"))]
    if not truths:
        sys.exit(f"{lessons}: the folder holds no truths; render some into it")
    (out / "key").mkdir(parents=True, exist_ok=True)
    halves = [json.dumps(truth, separators=(",", ":")).split(f'"capture":"{truth["capture"]}"') for truth in truths]
    with (
        open(out / "key" / "many.key.jsonl", "w") as key,
        open(out / "calls.csv", "w") as table,
        open(out / "calls.jsonl", "w") as lines,
    ):
        table.write("capture,cylinders,confidence,lag_ms\n")
        for i in range(n):
            which = i % len(truths)
            # Steps through all names, so that they do not come in their order.
            name = f"capture-{i * 7_919 % n:07d}"
            key.write(f'"capture":"{name}"'.join(halves[which]) + "\n")
            supported = truths[which]["evidence"]["supported"][0]
            right = i % 5 > 0
            call = supported if right else "unsure"
            sure = 0.5 + i % 50 / 100
            table.write(f"{name},{call},{sure},{20 + i % 40}\n")
            lines.write(json.dumps({"capture": name, "cylinders": call, "confidence": sure}) + "\n")


def measure(*command):
    began = time.monotonic()
    process = subprocess.Popen(list(map(str, command)), stdout=subprocess.DEVNULL)
    _, status, usage = os.wait4(process.pid, 0)
    seconds = time.monotonic() - began
    code = os.waitstatus_to_exitcode(status)
    words = " ".join(Path(str(c)).name if os.sep in str(c) else str(c) for c in command)
    print(f"{seconds:7.1f} s  {usage.ru_maxrss / 1024:7.0f} MiB  exit {code}  {words}", flush=True)
    if code != 0:
        sys.exit(f"{words}: it ended with {code}")


def main():
    if len(sys.argv) not in (4, 5):
        sys.exit(__doc__)
    program, lessons, out = map(Path, sys.argv[1:4])
    n = int(sys.argv[4]) if len(sys.argv) == 5 else 1_000_000
    make(lessons, out, n)
    size = (out / "key" / "many.key.jsonl").stat().st_size
    print(f"{n} captures, a key of {size / 1e9:.2f} GB")
    for calls in ("calls.csv", "calls.jsonl"):
        results = out / f"results-{calls.split('.')[1]}.csv"
        measure(program, "grade", "--analyzer", out / calls, "--key", out / "key", "--csv", results)
    measure(program, "compare", out / "results-csv.csv", out / "results-jsonl.csv")


if __name__ == "__main__":
    main()
