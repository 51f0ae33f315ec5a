"""Reference tables for the physics: each number comes from a library or a closed form outside of it.

    python make.py            writes the tables beside this file
    python make.py --check    makes them again in memory and fails on a difference

Needs the libraries in requirements.txt; cargo test needs only the tables. A number may differ by the
table's tolerance, relative to the largest magnitude in its column: another processor rounds
differently, and the adaptive integrators pass such differences on.
"""

import sys
from pathlib import Path

sys.dont_write_bytecode = True

import coolant
import cranking
import cylinder
import gas
import grader
import signals
import sound

HERE = Path(__file__).parent
TABLES = [
    cylinder.slider_crank,
    cylinder.closed_cylinder,
    cylinder.wiebe,
    cylinder.starter,
    cranking.cranking,
    gas.orifice,
    gas.blow_down,
    sound.bubbly_sound,
    sound.wall_sound,
    coolant.coolant_modes,
    coolant.coolant_step,
    coolant.pocket_steps,
    coolant.pull_back,
    signals.filter_coefficients,
    signals.filter_samples,
    signals.pulse_ramp,
    signals.quantiser,
    grader.wilson,
    grader.brier,
    grader.exact_mcnemar,
    grader.paired_difference,
    grader.log_score,
    grader.calibration_error,
    grader.holm,
]


def main():
    check = sys.argv[1:] == ["--check"]
    if sys.argv[1:] and not check:
        sys.exit(__doc__)
    faults = []
    for make in TABLES:
        table = make()
        path = HERE / f"{table.name}.csv"
        if check:
            old = path.read_text() if path.exists() else ""
            faults += [f"{path.name}: {fault}" for fault in table.differences(old)]
        else:
            path.write_text(table.text())
    if faults:
        sys.exit("\n".join(faults))
    print(f"{len(TABLES)} reference tables {'agree' if check else 'written'}")


if __name__ == "__main__":
    main()
