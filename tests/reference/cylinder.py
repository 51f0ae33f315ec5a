"""Slider-crank, closed cylinder, heat release, starter."""

from math import pi, radians

import cantera
import numpy as np
from CoolProp.CoolProp import PropsSI
from scipy import stats

from table import BAR, CANTERA, COOLPROP, MEMORY, NUMPY, SCIPY, Table


def piston_volume(bore, stroke, rod, ratio, x):
    """Cylinder volume from the distance between piston pin and crank axis; x may be complex."""
    a, area = stroke / 2, pi / 4 * bore**2
    pin = a * np.cos(x) + np.sqrt(rod**2 - (a * np.sin(x)) ** 2)
    return area * stroke / (ratio - 1) + area * (rod + a - pin)


def slider_crank():
    engines = {"six": (0.092, 0.0828, 0.145, 9.6), "long_stroke": (0.07, 0.105, 0.15, 12.5)}
    rows = []
    for name, (bore, stroke, rod, ratio) in engines.items():
        for deg in range(-360, 361, 4):
            # The step along the imaginary axis gives the derivative without cancellation.
            v = piston_volume(bore, stroke, rod, ratio, radians(deg) + 1e-30j)
            rows.append([name, deg, float(v.real), float(v.imag / 1e-30)])
    return Table(
        "slider_crank",
        [
            f"Cylinder volume and its derivative over a cycle; {NUMPY}",
            "V = V_c + A (l + a - s), s = a cos x + sqrt(l^2 - a^2 sin^2 x): Heywood, Internal Combustion",
            f"Engine Fundamentals, 1988, eq. 2.4 to 2.6, {MEMORY}; derivative by a complex step",
            "six: bore 92 mm, stroke 82.8 mm, rod 145 mm, ratio 9.6; long_stroke: 70, 105, 150 mm, 12.5",
        ],
        ["engine", "crank_deg", "volume_m3", "slope_m3_per_rad"],
        rows,
        1e-11,
    )


def closed_cylinder():
    gamma, speed = 1.38, 20.0
    bore, stroke, rod, ratio = 0.092, 0.0828, 0.145, 9.6
    area = pi / 4 * bore**2
    cp = cantera.gas_constant * gamma / (gamma - 1)
    gas = cantera.Solution(
        yaml=f"""
        phases: [{{name: gas, thermo: ideal-gas, elements: [N], species: [N2]}}]
        species:
        - name: N2
          composition: {{N: 2}}
          thermo: {{model: constant-cp, cp0: {cp!r} J/kmol/K}}
        """
    )
    volume = lambda x: float(piston_volume(bore, stroke, rod, ratio, x))
    slope = lambda x: float(piston_volume(bore, stroke, rod, ratio, x + 1e-30j).imag / 1e-30)
    gas.TP = 300.0, 98e3
    reactor = cantera.IdealGasReactor(gas, clone=False, volume=volume(-pi))
    outside = cantera.Reservoir(gas, clone=True)
    wall = cantera.Wall(reactor, outside, A=area)
    wall.velocity = lambda t: slope(speed * t - pi) * speed / area
    net = cantera.ReactorNet([reactor])
    net.rtol, net.atol = 1e-11, 1e-20
    rows = []
    for deg in range(-180, 181, 4):
        t = radians(deg + 180) / speed
        if t > 0:
            net.advance(t)
        closed = 98e3 * (volume(-pi) / volume(radians(deg))) ** gamma
        rows.append([deg, volume(radians(deg)), reactor.phase.P, reactor.T, closed])

    def real(compression):
        d, s = (PropsSI(key, "P", 98e3, "T", 300.0, "Air") for key in "DS")
        return PropsSI("P", "D", d * compression, "S", s, "Air")

    peak, at_14 = (98e3 * ratio**g for g in (gamma, 1.4))
    return Table(
        "closed_cylinder",
        [
            f"Adiabatic compression and expansion of a closed cylinder; {CANTERA}",
            "IdealGasReactor with a moving wall, gas of constant heat capacity, gamma 1.38; closed form p V^1.38",
            "bore 92 mm, stroke 82.8 mm, rod 145 mm, ratio 9.6, crank at 20 rad/s, from 98 kPa and 300 K at BDC",
            f"Not checked against real air: {COOLPROP} has {real(ratio) / BAR:.2f} bar at TDC,"
            f" gamma 1.38 {peak / BAR:.2f} bar ({100 * (peak / real(ratio) - 1):+.1f} %),"
            f" gamma 1.4 {at_14 / BAR:.2f} bar ({100 * (at_14 / real(ratio) - 1):+.1f} %);",
            "the model's gamma is a parameter for air whose heat capacity grows, with some of its residual gas",
        ],
        ["crank_deg", "volume_m3", "cantera_pressure_pa", "cantera_temperature_k", "closed_form_pressure_pa"],
        rows,
        5e-8,
    )


def starter():
    volts, ohm, motor, gears = 12.5, 0.018, 0.49, 0.8
    no_load = volts / motor
    rows = []
    for share in np.linspace(0, 1.2, 13):
        speed = float(share * no_load)
        current = volts / ohm * max(0.0, 1 - float(share))
        rows.append([speed, current, gears * motor * current])
    return Table(
        "starter",
        [
            "Permanent-magnet starter behind a one-way clutch; closed form, no library",
            "straight line between stall, I = V/R, T = eta K V/R, and no load, w = V/K; nothing beyond it",
            f"V 12.5 V, R 18 mohm with the battery's, K 0.49 V s/rad, eta 0.8; textbook motor, {MEMORY}",
            f"stall {volts / ohm:.1f} A and {gears * motor * volts / ohm:.1f} N m, no load {no_load:.2f} rad/s",
        ],
        ["speed_rad_s", "current_a", "torque_nm"],
        rows,
        1e-11,
    )


def wiebe():
    start, duration = -12.0, 55.0
    curve = stats.weibull_min(3, scale=5 ** (-1 / 3))
    rows = []
    for deg in np.arange(-14.0, 43.5, 1.0):
        u = (deg - start) / duration
        rows.append([float(deg), float(curve.cdf(u)), float(curve.pdf(u) / radians(duration))])
    angles = [start + duration * float(curve.ppf(share)) for share in (0.1, 0.5, 0.9)]
    return Table(
        "wiebe",
        [
            f"Burn fraction and its rate; {SCIPY}, stats.weibull_min(c=3, scale=5^(-1/3))",
            "x_b = 1 - exp(-5 u^3), u from -12 deg over 55 deg: Wiebe's function with a = 5, m = 2"
            f" (Heywood ch. 9, {MEMORY})",
            "10, 50, 90 % burnt at {:.2f}, {:.2f}, {:.2f} deg; 1 - exp(-5) = 99.33 % at the end".format(
                *angles
            ),
        ],
        ["crank_deg", "burnt_share", "rate_per_rad"],
        rows,
        1e-11,
    )
