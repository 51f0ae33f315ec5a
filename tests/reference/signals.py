"""Filters, pulse sensor, quantiser."""

from math import log10, pi

import numpy as np
from scipy import signal

from table import MEMORY, NUMPY, SCIPY, Table

FILTERS = {
    "low_pass": lambda rate: signal.bilinear([2 * pi * 300], [1, 2 * pi * 300], rate),
    "high_pass": lambda rate: signal.bilinear([0.04, 0], [0.04, 1], rate),
    "second_order": lambda rate: signal.bilinear(
        [(2 * pi * 500) ** 2], [1, 2 * 0.7 * 2 * pi * 500, (2 * pi * 500) ** 2], rate
    ),
    "butterworth": lambda rate: signal.butter(2, 400, fs=rate),
}
FILTER_INPUT = [1, 2, -1, 0.5, 3, 3, 3, -2, 0, 0.25]


def filter_cases():
    return [
        (name, rate, *design(rate)) for name, design in FILTERS.items() for rate in (2000, 10_000, 96_000)
    ]


def filter_coefficients():
    pad = lambda c: [float(x) for x in [*c, 0.0][:3]]
    rows = [[name, rate, *pad(b), *pad(a)[1:]] for name, rate, b, a in filter_cases()]
    return Table(
        "filter_coefficients",
        [
            f"Digital filters; {SCIPY}, signal.bilinear (no prewarping) and signal.butter (prewarps)",
            "low_pass 300 Hz; high_pass 40 ms; second_order 500 Hz, damping 0.7; butterworth of order 2 at 400 Hz",
        ],
        ["filter", "rate_hz", "b0", "b1", "b2", "a1", "a2"],
        rows,
        1e-11,
    )


def filter_samples():
    rows = []
    for name, rate, b, a in filter_cases():
        y, _ = signal.lfilter(b, a, FILTER_INPUT, zi=signal.lfilter_zi(b, a) * FILTER_INPUT[0])
        rows += [[name, rate, float(x), float(out)] for x, out in zip(FILTER_INPUT, y)]
    return Table(
        "filter_samples",
        [
            f"Ten samples through the filters of filter_coefficients; {SCIPY}, signal.lfilter",
            "each starts as if its first input had lasted for ever (signal.lfilter_zi)",
        ],
        ["filter", "rate_hz", "input", "output"],
        rows,
        1e-11,
    )


def pulse_ramp():
    decay, corner = 0.04, 2 * pi * 1000
    sensor = signal.TransferFunction([decay * corner, 0], np.polymul([decay, 1], [1, corner]))
    times = np.arange(2001) * 1e-4
    _, felt, _ = signal.lsim(sensor, 1e5 * np.minimum(times, 0.05), times)
    return Table(
        "pulse_ramp",
        [
            f"A pulse sensor on a ramp of 100 kPa/s for 50 ms, then held; {SCIPY}, signal.lsim (exact for straight pieces)",
            "tau s/(tau s + 1) w/(s + w), tau 40 ms, w 2 pi 1000 rad/s, gain 1",
        ],
        ["time_s", "felt_pa"],
        [[float(times[i]), float(felt[i])] for i in range(0, 2001, 20)],
        1e-9,
    )


def quantiser():
    rows = []
    for bits in (8, 10, 12, 14, 16):
        n, steps = 100_003, 2 ** (bits - 1)
        sine = (steps - 0.51) * np.sin(2 * pi * 1009 * np.arange(n) / n)
        noise = np.round(sine) - sine
        rows.append([bits, 10 * log10(np.sum(sine**2) / np.sum(noise**2)), 6.02 * bits + 1.76])
    return Table(
        "quantiser",
        [
            f"Signal over quantisation noise of a full-scale sine; {NUMPY}, round",
            f"1009 periods in 100 003 samples, amplitude 0.51 steps short of full scale; rule: IEEE 1241, {MEMORY}",
        ],
        ["bits", "rounded_sine_db", "rule_db"],
        rows,
        1e-6,
    )
