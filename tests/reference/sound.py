"""Speed of sound in bubbly water and between elastic walls."""

from math import sqrt

from CoolProp.CoolProp import PropsSI
from scipy import optimize

from table import BAR, COOLPROP, MEMORY, Table


def bubbly_sound():
    rows, lowest = [], []
    for pressure in (BAR, 2 * BAR):
        for celsius in (20, 60, 90):
            state = ("T", celsius + 273.15, "P", pressure)
            water, speed = (PropsSI(key, *state, "Water") for key in "DA")
            air, air_speed = (PropsSI(key, *state, "Air") for key in "DA")

            def wood(void):
                density = void * air + (1 - void) * water
                give = void / (air * air_speed**2) + (1 - void) / (water * speed**2)
                return 1 / sqrt(density * give)

            for void in (0.0, 1e-4, 1e-3, 1e-2, 0.1, 0.3, 0.5, 0.7, 0.9):
                rows.append([pressure, celsius, water, water * speed**2, void, wood(void)])
            lowest.append(optimize.minimize_scalar(wood, bounds=(0.1, 0.9), method="bounded").x)
    return Table(
        "bubbly_sound",
        [
            f"Speed of sound in water with air bubbles; {COOLPROP}, Water (IAPWS-95) and Air",
            f"1/(rho c^2) = a/K_gas + (1 - a)/K_liquid, K = rho c^2: Wood, A Textbook of Sound, 1930, {MEMORY};",
            "the bubbles compress adiabatically;"
            f" the speed is lowest at a void of {min(lowest):.3f} to {max(lowest):.3f}",
        ],
        ["pressure_pa", "temperature_c", "water_kg_m3", "water_modulus_pa", "void_share", "speed_m_s"],
        rows,
        1e-9,
    )


def wall_sound():
    water, speed = (PropsSI(key, "T", 293.15, "P", BAR, "Water") for key in "DA")
    modulus = water * speed**2
    rows = []
    for what, bore, wall, elasticity, poisson in [
        ("casting", 0.025, 0.005, 70e9, 0.33),
        ("steel_pipe", 0.1, 0.002, 200e9, 0.3),
        ("plastic_pipe", 0.05, 0.003, 3e9, 0.4),
        ("hose", 0.035, 0.005, 5e6, 0.5),
    ]:
        thin = speed / sqrt(1 + modulus * bore / (elasticity * wall))
        inner, outer = bore / 2, bore / 2 + wall
        give = 2 / elasticity * ((outer**2 + inner**2) / (outer**2 - inner**2) + poisson)
        thick = speed / sqrt(1 + modulus * give)
        rows.append([what, water, modulus, bore, wall, elasticity, thin, thick])
    return Table(
        "wall_sound",
        [
            f"Wave speed of water at 20 C, 1 bar between elastic walls; {COOLPROP}, Water (IAPWS-95)",
            f"thin: c = c_0/sqrt(1 + K D/(E e)), Korteweg 1878, in Wylie and Streeter, Fluid Transients, {MEMORY};",
            f"thick: Lame's tube free to lengthen, poisson 0.33, 0.3, 0.4, 0.5, {MEMORY};",
            "the thin formula, which the model has, reads high for a hose",
        ],
        [
            "what",
            "water_kg_m3",
            "water_modulus_pa",
            "bore_m",
            "wall_m",
            "elasticity_pa",
            "thin_m_s",
            "thick_m_s",
        ],
        rows,
        1e-9,
    )
