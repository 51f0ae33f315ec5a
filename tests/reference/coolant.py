"""The two compartments of the coolant, injected gas, and coolant drawn through a leak."""

from math import sqrt

import numpy as np
from CoolProp.CoolProp import PropsSI
from scipy import integrate, optimize

from table import BAR, COOLPROP, MEMORY, NUMPY, SCIPY, R, Table

AMBIENT = 101_325.0
INERTANCE = 1060 * 0.8 / 6e-4
LIQUID_GIVE = 5e-3 / 2.2e9


def coolant_modes():
    rows = []
    for pocket in (50e-6, 200e-6, 1500e-6):
        for hose in (2e-10, 2e-9):
            jacket = hose + LIQUID_GIVE + 5e-6 / (1.2 * AMBIENT)
            neck = hose + pocket / (1.2 * AMBIENT)
            system = [
                [0, 0, -1 / jacket],
                [0, 0, 1 / neck],
                [1 / INERTANCE, -1 / INERTANCE, -5e7 / INERTANCE],
            ]
            mode = max(np.linalg.eigvals(system), key=lambda z: z.imag)
            rows.append([pocket, hose, float(abs(mode)), float(-mode.real / abs(mode))])
    return Table(
        "coolant_modes",
        [
            f"Natural frequency and damping of jacket, column and neck; {NUMPY}, linalg.eigvals of the linear system",
            "bubbles 5 mL, coolant 5 L of 2.2 GPa and 1060 kg/m3, column 0.8 m by 6 cm2, R_1 5e7 Pa s/m3, n 1.2, 101 325 Pa",
        ],
        ["pocket_m3", "hose_m3_pa", "natural_rad_s", "damping"],
        rows,
        1e-10,
    )


def coolant_step():
    def rates(_, y):
        jacket, neck, q, bubbles, pocket = y
        bubble_give, pocket_give = bubbles / (1.2 * jacket), pocket / (1.2 * neck)
        d_jacket = -q / (2e-10 + LIQUID_GIVE + bubble_give)
        d_neck = q / (2e-10 + pocket_give)
        d_q = (jacket - neck - 5e7 * q - 2e10 * q * abs(q)) / INERTANCE
        return [d_jacket, d_neck, d_q, -bubble_give * d_jacket, -pocket_give * d_neck]

    times = np.arange(61) * 5e-3
    start = [AMBIENT + 2e4, AMBIENT, 0.0, 5e-6, 200e-6]
    run = integrate.solve_ivp(
        rates, (0, times[-1]), start, "DOP853", times, rtol=1e-10, atol=[1e-5, 1e-5, 1e-15, 1e-16, 1e-16]
    )
    return Table(
        "coolant_step",
        [
            f"Jacket 20 kPa above the neck, let go; {SCIPY}, solve_ivp DOP853, rtol 1e-10",
            "as coolant_modes with a pocket of 200 mL and hoses of 2e-10 m3/Pa, R_2 2e10 Pa s2/m6, gas volumes polytropic",
        ],
        ["time_s", "jacket_pa", "neck_pa", "flow_m3_s"],
        [[float(t), *map(float, y[:3])] for t, y in zip(times, run.y.T)],
        1e-8,
    )


def pocket_steps():
    kelvin, mass, gas = 298.15, 2e-6, 205e-6
    rows = []
    for walls, give in [("rigid", 0.0), ("elastic", 4e-10)]:
        for count in range(9):
            moles = AMBIENT * gas + count * mass * R * kelvin
            balance = lambda p: p * (gas + give * (p - AMBIENT)) - moles
            rows.append(
                [walls, count, float(optimize.brentq(balance, AMBIENT, 10 * AMBIENT, xtol=1e-9, rtol=1e-14))]
            )
    return Table(
        "pocket_steps",
        [
            f"Pressure after N injections of 2 mg of gas into 205 mL, all at 298.15 K; {SCIPY}, optimize.brentq",
            "p (V + C (p - p_0)) = m R T: ideal gas between walls of compliance C = 0 (rigid) and 4e-10 m3/Pa (elastic)",
            f"rigid: equal steps of m R T/V = {mass * R * kelvin / gas:.4f} Pa",
        ],
        ["walls", "injections", "pressure_pa"],
        rows,
        1e-10,
    )


def pull_back():
    share = 0.527
    rows = []
    for celsius in (20, 60, 90):
        density = PropsSI("D", "T", celsius + 273.15, "P", 2 * BAR, f"INCOMP::MEG[{share}]")
        for drop in (1e3, 1e4, 6e4, 1.5e5):
            rows.append([celsius, density, drop, 0.6 * 1e-7 * sqrt(2 * drop / density)])
    return Table(
        "pull_back",
        [
            f"Coolant drawn through 0.1 mm2 with Cd 0.6; density from {COOLPROP}, INCOMP::MEG[{share}]",
            f"Q = Cd A sqrt(2 dp/rho): textbook orifice of a liquid, {MEMORY}; 50 % glycol by volume is 52.7 % by mass",
        ],
        ["temperature_c", "density_kg_m3", "pressure_drop_pa", "flow_m3_s"],
        rows,
        1e-10,
    )
