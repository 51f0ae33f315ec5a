"""Orifice and blow-down."""

from math import log, sqrt

from CoolProp.CoolProp import PropsSI
from scipy import integrate, optimize

from table import BAR, COOLPROP, MEMORY, SCIPY, R, Table


def nozzle_flux(enthalpy, density, low, high):
    """Largest mass flux on the way from high to low pressure, and where it is: an isentropic nozzle."""
    flux = lambda p: density(p) * sqrt(max(0.0, 2 * (enthalpy(high) - enthalpy(p))))
    best = optimize.minimize_scalar(
        lambda p: -flux(p), bounds=(0.3 * high, high), method="bounded", options={"xatol": 1e-9 * high}
    )
    return (flux(low), low) if low > best.x else (flux(best.x), best.x)


def ideal_nozzle(gamma, high, kelvin):
    cp = R * gamma / (gamma - 1)
    at = lambda p: kelvin * (p / high) ** ((gamma - 1) / gamma)
    return (lambda p: cp * at(p)), (lambda p: p / (R * at(p)))


def real_nozzle(high, kelvin):
    s = PropsSI("S", "P", high, "T", kelvin, "Air")
    return tuple(lambda p, key=key: PropsSI(key, "P", p, "S", s, "Air") for key in "HD")


def critical_function(flux, high, kelvin, gas_constant=R):
    return flux * sqrt(gas_constant * kelvin) / high


def orifice():
    rows = []
    for gamma in (1.38, 1.4):
        for high in (1.2 * BAR, 5 * BAR, 14 * BAR):
            for kelvin in (300.0, 450.0, 700.0):
                ideal, real = ideal_nozzle(gamma, high, kelvin), real_nozzle(high, kelvin)
                for ratio in (0.1, 0.4, 0.52, 0.54, 0.6, 0.7, 0.8, 0.9, 0.95, 0.99):
                    flows = [1e-6 * nozzle_flux(*air, ratio * high, high)[0] for air in (ideal, real)]
                    rows.append([gamma, high, kelvin, ratio, *map(float, flows)])
    flux, throat = nozzle_flux(*ideal_nozzle(1.4, BAR, 300.0), 0.0, BAR)
    air_r = PropsSI("GAS_CONSTANT", "Air") / PropsSI("M", "Air")
    real = [
        critical_function(nozzle_flux(*real_nozzle(p, t), 0.0, p)[0], p, t, air_r)
        for p, t in [(BAR, 300.0), (12 * BAR, 600.0)]
    ]
    return Table(
        "orifice",
        [
            f"Mass flow through 1 mm2 of effective area; {SCIPY}, optimize.minimize_scalar; {COOLPROP}, Air",
            "largest rho v, v^2 = 2 (h_0 - h), on the isentrope down to the back pressure: no closed form is used",
            f"At gamma 1.4 the critical flow function is {critical_function(flux, BAR, 300.0):.4f} and the critical ratio"
            f" {throat / BAR:.4f}: ISO 9300's ideal values 0.6847 and 0.5283 ({MEMORY});",
            "CoolProp's real air has {:.4f} at 1 bar, 300 K and {:.4f} at 12 bar, 600 K".format(*real),
            "ratios above 0.99 are left out: there the model takes a straight line to zero",
        ],
        ["gamma", "upstream_pa", "upstream_k", "ratio", "flow_kg_s", "real_air_kg_s"],
        rows,
        1e-9,
    )


def blow_down():
    gamma, volume, area, p0, t0, outside = 1.4, 1e-3, 1e-6, 12 * BAR, 300.0, BAR
    critical = (2 / (gamma + 1)) ** (gamma / (gamma - 1))
    choked = sqrt(gamma * (2 / (gamma + 1)) ** ((gamma + 1) / (gamma - 1)))
    rate = area * choked * sqrt(R * t0) / volume

    def subsonic(r):
        return sqrt(2 * gamma / (gamma - 1) * (r ** (2 / gamma) - r ** ((gamma + 1) / gamma)))

    def isothermal(p):
        if p >= outside / critical:
            return log(p0 / p) / rate
        tail = lambda q: choked / (rate * q * subsonic(outside / q))
        return (
            isothermal(outside / critical)
            + integrate.quad(tail, p, outside / critical, epsabs=0, epsrel=1e-12)[0]
        )

    def adiabatic(p):
        k = (gamma - 1) / 2
        if p >= outside / critical:
            return ((p0 / p) ** (k / gamma) - 1) / (k * rate)
        # dm/m = dp/(gamma p); the gas cools with the pressure.
        tail = lambda q: choked * (p0 / q) ** (k / gamma) / (gamma * rate * q * subsonic(outside / q))
        return (
            adiabatic(outside / critical)
            + integrate.quad(tail, p, outside / critical, epsabs=0, epsrel=1e-12)[0]
        )

    levels = [10, 8, 6, 4, 3, 2, 1.8, 1.6, 1.4, 1.2, 1.1, 1.05, 1.02]
    rows = [
        [case, p * BAR, float(time(p * BAR))]
        for case, time in [("isothermal", isothermal), ("adiabatic", adiabatic)]
        for p in levels
    ]
    return Table(
        "blow_down",
        [
            f"Time in which a vessel of 1 L blows down through 1 mm2; closed forms above 1.893 bar, below {SCIPY}, integrate.quad",
            "isothermal: t = ln(p_0/p)/k, k = A psi sqrt(R T_0)/V; adiabatic: t = ((p_0/p)^((g-1)/2g) - 1) 2/((g-1) k)",
            "(mass balance of the choked vessel, derived here); 12 bar, 300 K, gamma 1.4, into 1 bar",
        ],
        ["case", "pressure_pa", "time_s"],
        rows,
        1e-9,
    )
