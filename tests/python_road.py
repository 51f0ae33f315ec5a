"""The Python road: captures, truths and calls with soundfile, SciPy and pandas, without any of our code.

    python tests/python_road.py LESSONS PROGRAM OUT

LESSONS is a folder of rendered lessons with their truths, PROGRAM a waterjacket. Runs the developer's guide's own Python, then a small
analyzer that shows the way: it counts from the coil's trigger to the steepest rise, allows for a lag that is always the
same, and writes calls that `waterjacket grade` reads. Checks that samples, units, truths and grades fit together. Needs what
tests/interchange-requirements.txt lists.
"""

import contextlib
import io
import json
import re
import subprocess
import sys
from pathlib import Path

import numpy as np
import pandas as pd
from scipy.ndimage import uniform_filter1d
from scipy.signal import find_peaks

ROOT = Path(__file__).parent.parent
# A common lag in these lessons; an analyzer worth its name would find out.
LAG_S = 0.025
LEAST_SIGMA = 6
GRID_DEG = 3


def guide():
    """Runs the guide's Python beside `out`, and returns what it defines and prints."""
    text = (ROOT / "src/guide/developer.md").read_text(encoding="utf-8")
    blocks = re.findall(r"^```python\n(.*?)^```$", text, re.M | re.S)
    (code,) = (block for block in blocks if "import soundfile" in block)
    names, printed = {}, io.StringIO()
    with contextlib.redirect_stdout(printed):
        exec(compile(code, "developer.md", "exec"), names)
    return names, printed.getvalue()


def call(card, traces):
    """One capture's call: cylinders, confidence, and the lag in milliseconds."""
    channels = {c["measures"]: c for c in card["channels"]}
    neck = channels.get("neck_pressure") or channels.get("neck_pulse")
    coil = channels.get("coil_trigger")
    if neck is None or coil is None or not card["set_up"]["ignition_enabled"]:
        return "unsure", 0.5, None
    engine, rate = card["engine"], card["sample_rate_hz"]
    trigger = traces[coil["name"]].to_numpy()
    marks, _ = find_peaks(trigger, height=(trigger.max() + trigger.min()) / 2, distance=int(0.03 * rate))
    period = 360 if engine["shared_coils"] else 720
    first = dict(zip(engine["firing_order"], np.cumsum([0, *engine["firing_intervals_deg"]])))
    angles = first[coil["cylinder"]] + period * np.arange(len(marks))
    window = int(0.006 * rate)
    values = traces[neck["name"]].to_numpy() * (-1 if neck["inverted"] else 1)
    slope = np.gradient(uniform_filter1d(uniform_filter1d(values, window), window)) * rate
    # The mean slope over the turns, at equal angles from the trigger's cylinder.
    starts = angles[1:-1]
    grid = np.arange(0, period, GRID_DEG)
    frames = np.interp(starts[:, None] + grid, angles, marks).round().astype(int)
    turns = slope[frames]
    mean, error = turns.mean(axis=0), turns.std(axis=0).mean() / np.sqrt(len(turns))
    steepest = int(mean.argmax())
    if mean[steepest] - np.median(mean) < LEAST_SIGMA * error:
        return "none", 0.7, None
    s_per_deg = np.diff(marks).mean() / rate / period
    angle = grid[steepest] + first[coil["cylinder"]] - LAG_S / s_per_deg
    apart = {c: (angle - tdc + period / 2) % period - period / 2 for c, tdc in first.items()}
    nearest = min(abs(deg) for deg in apart.values())
    named = sorted(c for c, deg in apart.items() if abs(deg) < nearest + 1e-6)
    lag_ms = 1e3 * (LAG_S + apart[named[0]] * s_per_deg)
    return "|".join(map(str, named)), 0.8, round(lag_ms, 1)


def main():
    if len(sys.argv) != 4:
        sys.exit(__doc__)
    lessons, program, out = Path(sys.argv[1]), Path(sys.argv[2]).resolve(), Path(sys.argv[3])
    out.mkdir(parents=True, exist_ok=True)
    names, printed = guide()
    print(printed, end="")
    read, truths = names["read"], names["truths"]

    # Scaled samples are those that the program exports.
    card, traces = read(lessons, "01-plain-staircase")
    export = [program, "export", lessons / "01-plain-staircase", "--every", "1000"]
    table = pd.read_csv(io.StringIO(subprocess.run(export, check=True, capture_output=True, text=True).stdout))
    half = [channel["scale_per_count"] / 2 for channel in card["channels"]]
    off = np.abs(traces.iloc[::1000].to_numpy() - table.iloc[:, 1:].to_numpy()).max(axis=0)
    assert (off <= half).all(), f"{off} is more than half a count, {half}"

    # The steepest rise is where the truth says, to the sensor's smoothing.
    event = truths.loc["01-plain-staircase", "events"][2]
    around = traces["Neck pressure"].loc[event["tdc_s"] : event["tdc_s"] + 0.06].rolling(200, center=True).mean()
    found = around.diff().rolling(200, center=True).mean().idxmax()
    assert abs(found - event["steepest_s"]) < 0.01, f"{found} s, and the truth says {event['steepest_s']} s"

    calls = []
    for path in sorted(lessons.glob("*.card.json")):
        card, traces = read(lessons, path.name.removesuffix(".card.json"))
        cylinders, confidence, lag_ms = call(card, traces)
        calls.append({"capture": card["capture"], "cylinders": cylinders, "confidence": confidence, "lag_ms": lag_ms})
    pd.DataFrame(calls).to_json(out / "calls.jsonl", orient="records", lines=True)
    pd.DataFrame(calls).to_csv(out / "calls.csv", index=False)

    scores = []
    for name in ("calls.jsonl", "calls.csv"):
        grade = [program, "grade", "--analyzer", out / name, "--key", lessons, "--csv", out / "results.csv", "--json"]
        run = subprocess.run(grade, capture_output=True, text=True)
        assert run.returncode == 0, run.stderr
        scores.append(json.loads(run.stdout) | {"calls": ""})
    assert scores[0] == scores[1], "CSV and JSON Lines are graded alike"
    summary = scores[0]["summary"]
    print(f"{summary['right']} of {summary['n']} right")
    # 19 when this was written; the constant lag fails where the lag is long.
    assert summary["n"] == len(calls) and summary["right"] >= 14, summary["kinds"]

    # Results and truths join by the capture's name.
    results = pd.read_csv(out / "results.csv").set_index("capture").join(truths, suffixes=("", "_truth"), validate="1:1")
    assert results["evidence"].notna().all()
    full = [row.cylinders in row.evidence["supported"] for row in results.itertuples()]
    assert (results.loc[full, "points"] == 1).all() and sum(full) >= 14


if __name__ == "__main__":
    main()
