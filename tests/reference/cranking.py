"""The whole cranking system, written a second time from its equations, for SciPy to integrate.

A plain twin of the Rust model: no tables, no fixed step, no shared code. Everything in SI units;
angles from compression TDC of the first cylinder in the firing order.
"""

from math import degrees, pi, radians

import numpy as np
from scipy.integrate import solve_ivp

from table import SCIPY, R, Table

GAMMA = 1.38
AMBIENT = 101_325.0
COOLANT_K = WALL_K = 298.15
INTAKE_K = 300.15

# The vehicle: an invented inline six, cylinder 3 leaks, the plug of cylinder 4 is out.
FIRING_ORDER = [1, 5, 3, 6, 2, 4]
BORE, STROKE, ROD, COMPRESSION_RATIO = 0.092, 0.0828, 0.145, 9.6
TDC = np.arange(6) * 4 * pi / 6
LEAKING = FIRING_ORDER.index(3)
RING_AREA = 0.5e-6
PLUG_HOLE = np.where(np.array(FIRING_ORDER) == 4, 80e-6, 0.0)
LEAK_AREA, LEAK_OPENS_AT, LEAK_SPAN, LEAK_BACK = 0.05e-6, 3e5, 1e5, 0.5
KEY_ON = 0.25
END = 2.0

PISTON = pi / 4 * BORE**2
SWEPT = PISTON * STROKE
CLEARANCE = SWEPT / (COMPRESSION_RATIO - 1)
LITRES = 6 * SWEPT * 1e3
INERTIA = 0.2 + 0.4 * LITRES / 3
FRICTION, VISCOUS = 40 * LITRES / 3, 0.4 * LITRES / 3
CREEP = 0.5  # Friction fades below this speed, rad/s.

OPEN_CIRCUIT, BATTERY_OHM, STARTER_OHM, MOTOR, GEARS = 12.5, 6e-3, 12e-3, 0.49, 0.8

DENSITY, BULK, LIQUID = 1060.0, 2.2e9, 5e-3
HOSE_JACKET = HOSE_NECK = 2e-10
BUBBLES, POCKET, POLYTROPIC = 5e-6, 200e-6, 1.2
COLUMN = DENSITY * 0.8 / 6e-4
LAMINAR, QUADRATIC = 5e7, 2e10
COOLING, DRIFT = 0.05, 8.0
MOUTH = 0.05e-6  # Gas and coolant are drawn back in equal parts at this volume of gas, m3.


def cylinder_volume(x):
    """Slider-crank (Heywood 1988, eq. 2.4-2.5): volume, and its derivative by the chain rule."""
    a = STROKE / 2
    rod = np.sqrt(ROD**2 - (a * np.sin(x)) ** 2)
    volume = CLEARANCE + PISTON * (ROD + a - a * np.cos(x) - rod)
    return volume, PISTON * (a * np.sin(x) + a**2 * np.sin(x) * np.cos(x) / rod)


def nozzle(ratio):
    """Flow function of the ideal nozzle; a straight line to zero above 0.99, as the model has it."""
    r = np.minimum(np.maximum(ratio, (2 / (GAMMA + 1)) ** (GAMMA / (GAMMA - 1))), 0.99)
    psi = np.sqrt(2 * GAMMA / (GAMMA - 1) * (r ** (2 / GAMMA) - r ** ((GAMMA + 1) / GAMMA)))
    return np.where(ratio > 0.99, psi * (1 - ratio) / 0.01, psi)


def exchange(area, p, t, p_other, t_other):
    """Mass flow into the cylinders through an opening, and the enthalpy it carries over cp."""
    inward = p_other > p
    upstream, upstream_k = np.where(inward, p_other, p), np.where(inward, t_other, t)
    flow = area * upstream / np.sqrt(R * upstream_k) * nozzle(np.minimum(p, p_other) / upstream)
    flow = np.where(inward, flow, -flow)
    return np.array([flow, flow * upstream_k])


def valve(x, opens_deg, closes_deg, largest):
    """sin^2 between opening and closing, on the cycle's circle."""
    after = np.mod(x - radians(opens_deg), 4 * pi)
    open_for = radians(closes_deg - opens_deg)
    return np.where(after < open_for, largest * np.sin(pi * after / open_for) ** 2, 0.0)


def rates(_, y, key):
    theta, omega = y[:2]
    p, m = y[2:8], y[8:14]
    jacket, neck, q, bubbles, hot, pocket, passed = y[14:]
    x = theta - TDC
    volume, slope = cylinder_volume(x)
    t = p * volume / (m * R)

    flow = exchange(valve(x, -370, -115, 4.0e-4), p, t, 98e3, INTAKE_K)
    flow += exchange(valve(x, 130, 368, 3.5e-4), p, t, AMBIENT, 323.15)
    flow += exchange(RING_AREA + PLUG_HOLE, p, t, AMBIENT, INTAKE_K)

    # The leak: gas forward; backward gas from its mouth, then coolant.
    over = p[LEAKING] - jacket
    forward = back = drawn = 0.0
    if over > 0:
        area = LEAK_AREA * min(max((over - LEAK_OPENS_AT) / LEAK_SPAN, 0.0), 1.0)
        forward = -exchange(area, p[LEAKING], t[LEAKING], jacket, COOLANT_K)[0]
    else:
        gas = passed * R * COOLANT_K / jacket
        share = gas / (gas + MOUTH)
        back = share * exchange(LEAK_AREA * LEAK_BACK, p[LEAKING], t[LEAKING], jacket, COOLANT_K)[0]
        drawn = (1 - share) * 0.6 * LEAK_AREA * LEAK_BACK * np.sqrt(-2 * over / DENSITY)
    flow[:, LEAKING] += [back - forward, back * COOLANT_K - forward * t[LEAKING]]

    # Hohenberg (SAE 790825, 1979), p in bar.
    surface = 2 * PISTON + pi * BORE * volume / PISTON
    piston_speed = 2 * STROKE * abs(omega) / (2 * pi)
    film = 130 * volume**-0.06 * (p / 1e5) ** 0.8 * t**-0.4 * (piston_speed + 1.4) ** 0.8
    heat = -film * surface * (t - WALL_K)

    dp = (-GAMMA * p * slope * omega + GAMMA * R * flow[1] + (GAMMA - 1) * heat) / volume

    current = key * max(0.0, (OPEN_CIRCUIT - MOTOR * omega) / (BATTERY_OHM + STARTER_OHM))
    friction = FRICTION * min(max(omega / CREEP, -1.0), 1.0) + VISCOUS * omega
    torque = np.sum((p - AMBIENT) * slope) + GEARS * MOTOR * current - friction

    drift = passed / DRIFT
    # What leaves takes its share by mass of all the jacket's gas, hot and cold.
    leaving = (back + drift) / (AMBIENT * BUBBLES / (R * COOLANT_K) + passed)
    gas_in = forward * R * t[LEAKING] / jacket - hot / COOLING - leaving * bubbles
    heating = forward * R * (t[LEAKING] - COOLANT_K) / jacket - (1 / COOLING + leaving) * hot
    bubble_give = bubbles / (POLYTROPIC * jacket)
    d_jacket = (gas_in - q - drawn) / (HOSE_JACKET + LIQUID / BULK + bubble_give)
    arriving = drift * R * COOLANT_K / neck
    pocket_give = pocket / (POLYTROPIC * neck)
    d_neck = (q + arriving) / (HOSE_NECK + pocket_give)
    d_q = (jacket - neck - LAMINAR * q - QUADRATIC * q * abs(q)) / COLUMN
    coolant = [
        d_jacket,
        d_neck,
        d_q,
        gas_in - bubble_give * d_jacket,
        heating - hot / (POLYTROPIC * jacket) * d_jacket,
        arriving - pocket_give * d_neck,
        forward - back - drift,
    ]
    return np.concatenate([[omega, torque / INERTIA], dp, flow[0], coolant])


def run(rtol=1e-10, every=5e-3):
    """Rows of time, crank angle, pressure in cylinder 1, jacket and neck; angle in deg, else SI."""
    theta = radians(-70)
    volume, _ = cylinder_volume(theta - TDC)
    y = np.concatenate(
        [
            [theta, 0.0],
            np.full(6, AMBIENT),
            AMBIENT * volume / (R * WALL_K),
            [AMBIENT, AMBIENT, 0.0, BUBBLES, 0.0, POCKET, 0.0],
        ]
    )
    scale = np.concatenate(
        [[1, 10], np.full(6, 1e5), np.full(6, 1e-4), [1e5, 1e5, 1e-5, 1e-6, 1e-7, 1e-4, 1e-7]]
    )
    times = np.arange(round(END / every) + 1) * every
    rows = []
    # The key is an event: one integration before it, one after.
    for key, start, end in [(0.0, 0.0, KEY_ON), (1.0, KEY_ON, END)]:
        at = times[(times >= start) & (times <= end)]
        part = solve_ivp(
            rates,
            (start, end),
            y,
            "DOP853",
            at,
            rtol=rtol,
            atol=rtol * scale,
            args=(key,),
            max_step=1e-3,
        )
        assert part.success, part.message
        y = part.y[:, -1]
        rows += [[t, degrees(s[0]), s[2], s[14], s[15]] for t, s in zip(at, part.y.T)]
        if end < END:
            rows.pop()  # The next integration begins with it.
    return rows


def cranking():
    return Table(
        "cranking",
        [
            f"The whole cranking six, 2 s; {SCIPY}, solve_ivp DOP853, rtol 1e-10, of cranking.py",
            "every equation of the model written a second time; cylinder 3 leaks, the plug of 4 is out, key on at 0.25 s",
            "1e-9 instead of 1e-10 moves crank angle by 3e-6 deg, cylinder pressure by 0.1 Pa, neck pressure by 6e-4 Pa",
        ],
        ["time_s", "crank_deg", "cylinder_1_pa", "jacket_pa", "neck_pa"],
        run(),
        3e-7,
    )
