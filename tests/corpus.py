#!/usr/bin/env python3
"""Asks pandas, Polars and DuckDB whether they read a corpus in Parquet as waterjacket meant it.

    python3 tests/corpus.py PROGRAM PLAN

PROGRAM renders a few captures of PLAN as WAV and as Parquet into a folder of its own. Every reader must
give the samples of the WAVs bit for bit, the columns of the cards, and the truths of the key. One line
a check; the exit code is 1 if a check failed.
"""

import json
import subprocess
import sys
import tempfile
from pathlib import Path

import duckdb
import numpy
import pandas
import polars
import scipy.io.wavfile

COUNT, PER_FILE = 14, 5
failed = 0


def check(what, question):
    """Prints one check; `question` gives None, or what is wrong."""
    global failed
    try:
        wrong = question()
    except Exception as error:
        wrong = f"{type(error).__name__}: {error}"
    failed += bool(wrong)
    print(f"{'FAILED' if wrong else 'passed'}  {what}" + (f": {wrong}" if wrong else ""))


def render(program, plan, folder, *more):
    arguments = [program, "corpus", plan, "--count", str(COUNT), "--seed", "7", "--out", folder, *more]
    subprocess.run(arguments, check=True, capture_output=True)


def by_pandas(folder):
    return pandas.read_parquet(folder).to_dict("records")


def by_polars(folder):
    return polars.read_parquet(folder / "*.parquet").to_dicts()


def by_duckdb(folder):
    rows = duckdb.sql(f"select * from '{folder}/*.parquet'")
    return [dict(zip(rows.columns, row)) for row in rows.fetchall()]


def samples_are_those_of_the_wav(row, wav):
    _, expected = scipy.io.wavfile.read(wav)
    found = numpy.array([numpy.asarray(channel) for channel in row["samples"]])
    if not numpy.array_equal(found, expected.reshape(len(expected), -1).T):
        return f"{row['capture']}: the samples are not those of {wav.name}"
    return None


def columns_are_those_of_the_card(row, card):
    per_channel = {"channels": "name", "measures": "measures", "unit": "unit",
                   "scale_per_count": "scale_per_count", "offset": "offset"}
    expected = {column: [channel[key] for channel in card["channels"]] for column, key in per_channel.items()}
    expected |= {key: card[key] for key in ("capture", "sample_rate_hz", "frames")}
    expected |= {key: card["engine"][key] for key in ("vehicle", "layout", "firing_order", "firing_intervals_deg",
                                                      "displacement_l", "compression_ratio", "shared_coils")}
    expected |= {key: card["set_up"][key] for key in ("mode", "plugs_out", "ignition_enabled")}
    return differences(row, expected) or (None if json.loads(row["card"]) == card else "the card is another")


def columns_are_those_of_the_truth(row, truth):
    leaks = truth["leaks"]
    highest = max(leaks, key=lambda leak: leak["pulse_height"] or 0.0, default={})
    parts = {"total": "difficulty"} | {part: f"difficulty_{part}" for part in truth["difficulty"] if part != "total"}
    expected = {
        "capture": truth["capture"],
        "leaking": [leak["cylinder"] for leak in leaks],
        "leak_area_mm2": [leak["area_mm2"] for leak in leaks],
        "opens_at_bar": [leak["opens_at_bar"] for leak in leaks],
        "gas_in_mg": [leak["gas_in_mg"] for leak in leaks],
        "worn": truth["weak_cylinders"],
        "clipped_samples": sum(channel["clipped_samples"] for channel in truth["channels"]),
        **{key: truth["evidence"][key] for key in ("supported", "visible", "hidden", "sync")},
        **{key: highest.get(key) for key in ("lag_ms", "lag_deg", "pulse_height", "pulse_over_noise")},
        **{column: truth["difficulty"][part] for part, column in parts.items()},
        **{key: truth[key] for key in ("title", "seed", "number", "wav_sha256")},
    }
    return differences(row, expected) or (None if json.loads(row["truth"]) == truth else "the truth is another")


def differences(row, expected):
    for column, value in expected.items():
        found = row[column]
        if isinstance(value, list):
            found = list(found)
        missing = found is None or (isinstance(found, float) and numpy.isnan(found))
        if not (missing if value is None else found == value):
            return f"{row['capture']}: {column} is {found!r}, and should be {value!r}"
    return None


def first(faults):
    return next((fault for fault in faults if fault), None)


def main():
    if len(sys.argv) != 3:
        sys.exit(__doc__)
    program, plan = (str(Path(path).resolve()) for path in sys.argv[1:])
    with tempfile.TemporaryDirectory() as folder:
        wav, parquet, labelled = (Path(folder) / name for name in ("wav", "parquet", "labelled"))
        render(program, plan, wav)
        render(program, plan, parquet, "--format", "parquet", "--captures-per-file", str(PER_FILE))
        render(program, plan, labelled, "--format", "labelled", "--captures-per-file", str(PER_FILE))
        key = wav / "key" / "shard-0001-of-0001.key.jsonl"
        truths = [json.loads(line) for line in key.read_text(encoding="utf-8").splitlines()]
        wavs = [wav / "captures" / "0000" / f"{truth['capture']}.wav" for truth in truths]
        cards = [json.loads(path.with_suffix(".card.json").read_text(encoding="utf-8")) for path in wavs]
        check(f"{COUNT} captures, some with three channels and some with four", lambda: None
              if len(truths) == COUNT and {len(card["channels"]) for card in cards} == {3, 4}
              else [len(card["channels"]) for card in cards])
        for reader, read in {"pandas": by_pandas, "Polars": by_polars, "DuckDB": by_duckdb}.items():
            for what, folder_of, compare, others in [
                ("the samples of the WAVs", parquet / "captures", samples_are_those_of_the_wav, wavs),
                ("the columns of the cards", parquet / "captures", columns_are_those_of_the_card, cards),
                ("the columns of the truths", parquet / "key" / "parquet", columns_are_those_of_the_truth, truths),
                ("labelled samples", labelled / "labelled", samples_are_those_of_the_wav, wavs),
                ("labelled truths", labelled / "labelled", columns_are_those_of_the_truth, truths),
            ]:

                def ask(read=read, folder_of=folder_of, compare=compare, others=others):
                    rows = sorted(read(folder_of), key=lambda row: row["capture"])
                    if len(rows) != COUNT:
                        return f"{len(rows)} rows"
                    return first(compare(row, other) for row, other in zip(rows, others))

                check(f"{reader} reads {what}", ask)
        check("Polars takes a sample for a 16-bit integer", lambda: None
              if str(polars.read_parquet_schema(parquet / "captures" / "c0000000.parquet")["samples"])
              == "List(List(Int16))" else "samples are no lists of lists of 16-bit integers")
    sys.exit(1 if failed else 0)


if __name__ == "__main__":
    main()
