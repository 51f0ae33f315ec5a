#!/usr/bin/env python3
"""Asks other readers whether they see the samples that waterjacket wrote.

    python3 tests/interchange.py FOLDER PROGRAM

FOLDER holds captures (NAME.wav, NAME.card.json), PROGRAM is the waterjacket program. Every WAV is
read by Python's wave, SciPy, soundfile (libsndfile) and, where it is installed, SoX; all must give
the same integers. `PROGRAM export` must give values within half a count of them. One line a check;
the exit code is 1 if a check failed, or if there was nothing to check.
"""

import csv
import hashlib
import json
import shutil
import subprocess
import sys
import wave
from pathlib import Path

import numpy
import scipy.io.wavfile
import soundfile

results = {"passed": 0, "failed": 0}


def check(what, question):
    """Counts and prints one check; `question` gives None, or what is wrong."""
    try:
        wrong = question()
    except Exception as error:
        wrong = f"{type(error).__name__}: {error}"
    results["failed" if wrong else "passed"] += 1
    print(f"{'FAILED' if wrong else 'passed'}  {what}" + (f": {wrong}" if wrong else ""))


def by_wave(path):
    with wave.open(str(path), "rb") as file:
        if file.getsampwidth() != 2 or file.getcomptype() != "NONE":
            raise ValueError(f"{file.getsampwidth()} bytes, {file.getcomptype()}")
        frames = file.readframes(file.getnframes())
        return file.getframerate(), numpy.frombuffer(frames, "<i2").reshape(-1, file.getnchannels())


def by_scipy(path):
    rate, samples = scipy.io.wavfile.read(path)
    return rate, samples.reshape(len(samples), -1)


def by_soundfile(path):
    samples, rate = soundfile.read(path, dtype="int16", always_2d=True)
    return rate, samples


def by_sox(path):
    def ask(*arguments):
        return subprocess.run(arguments, check=True, capture_output=True).stdout

    rate, channels = (int(ask("sox", "--i", flag, path)) for flag in ("-r", "-c"))
    raw = ask("sox", "-D", path, "-t", "raw", "-e", "signed-integer", "-b", "16", "-L", "-")
    return rate, numpy.frombuffer(raw, "<i2").reshape(-1, channels)


def as_the_card_says(card, rate, samples):
    expected = (round(card["sample_rate_hz"]), card["frames"], len(card["channels"]))
    found = (rate, *samples.shape)
    if found != expected:
        return f"(rate, frames, channels) are {found}, and the card says {expected}"
    if samples.dtype != numpy.int16:
        return f"the samples are {samples.dtype}"
    return None


def the_same(samples, others):
    if samples.shape != others.shape:
        return f"{samples.shape} and {others.shape}"
    different = numpy.argwhere(samples != others)
    if len(different):
        frame, channel = different[0]
        return f"{len(different)} samples differ, the first in frame {frame} of channel {channel}"
    return None


def within_half_a_count(card, samples, table):
    rows = list(csv.reader(table.splitlines()))[1:]
    values = numpy.array(rows, dtype=float)
    if values.shape != (samples.shape[0], samples.shape[1] + 1):
        return f"the table has {values.shape}, the samples {samples.shape}"
    times = numpy.arange(len(samples)) / card["sample_rate_hz"]
    if numpy.abs(values[:, 0] - times).max() > 0.5 / card["sample_rate_hz"]:
        return "the times are off by more than half a sample"
    for number, channel in enumerate(card["channels"]):
        counts = (values[:, number + 1] - channel["offset"]) / channel["scale_per_count"]
        off = numpy.abs(counts - samples[:, number]).max()
        if not off < 0.5:
            return f"channel {number} is off by {off} counts"
    return None


def check_capture(path, program):
    name = path.stem
    card = json.loads(path.with_name(f"{name}.card.json").read_text(encoding="utf-8"))
    readers = {"SciPy": by_scipy, "soundfile": by_soundfile}
    if shutil.which("sox"):
        readers["SoX"] = by_sox
    reference = None

    def read_reference():
        nonlocal reference
        rate, samples = by_wave(path)
        reference = samples
        return as_the_card_says(card, rate, samples)

    check(f"{name}: wave reads what the card says", read_reference)
    if reference is None:
        return
    for reader, read in readers.items():

        def compare(read=read):
            rate, samples = read(path)
            return as_the_card_says(card, rate, samples) or the_same(reference, samples)

        check(f"{name}: {reader} reads the samples of wave", compare)

    def compare_table():
        arguments = [program, "export", path.with_suffix("")]
        table = subprocess.run(arguments, check=True, capture_output=True, text=True).stdout
        return within_half_a_count(card, reference, table)

    check(f"{name}: the CSV is within half a count", compare_table)
    truth = path.with_name(f"{name}.truth.json")
    if truth.exists():

        def compare_digest():
            told = json.loads(truth.read_text(encoding="utf-8"))["wav_sha256"]
            found = hashlib.sha256(path.read_bytes()).hexdigest()
            return None if told == found else f"{found}, and the truth says {told}"

        check(f"{name}: the truth has the SHA-256 of the WAV", compare_digest)


def main():
    if len(sys.argv) != 3:
        sys.exit(__doc__)
    folder, program = Path(sys.argv[1]), shutil.which(sys.argv[2])
    if program is None:
        sys.exit(f"{sys.argv[2]}: there is no such program; build it first")
    program = str(Path(program).resolve())
    paths = sorted(folder.glob("*.wav"))
    if not paths:
        sys.exit(f"{folder}: the folder holds no captures; render some into it")
    if not shutil.which("sox"):
        print("skipped SoX, which is not installed")
    for path in paths:
        check_capture(path, program)
    print(f"{results['passed']} passed, {results['failed']} failed")
    sys.exit(1 if results["failed"] else 0)


if __name__ == "__main__":
    main()
