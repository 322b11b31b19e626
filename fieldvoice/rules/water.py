"""Where water and sugar solutions boil: by pressure, by elevation, and with sugar in them."""

from __future__ import annotations

import math

from fieldvoice.rules.inverse import inverse
from fieldvoice.rules.limits import within

#: An inch of mercury is 3.386389 kPa (NIST SP 811).
_INHG_PER_MPA = 1000 / 3.386389

#: IAPWS-IF97, region 4: coefficients n1 to n10 of the saturation equation.
_N = (
    0.11670521452767e4, -0.72421316703206e6, -0.17073846940092e2, 0.12020824702470e5,
    -0.32325550322333e7, 0.14915108613530e2, -0.48232657361591e4, 0.40511340542057e6,
    -0.23855557567849, 0.65017534844798e3,
)  # fmt: skip


def saturation_kelvin(pressure_mpa: float) -> float:
    """Return the temperature at which water boils, by the backward equation of IF97, region 4.

    Raises:
        RangeError: outside 0.000612 to 22.064 MPa.
    """
    within(pressure_mpa, 0.000612, 22.064, "A pressure", "MPa")
    beta = math.sqrt(math.sqrt(pressure_mpa))
    e = beta * beta + _N[2] * beta + _N[5]
    f = _N[0] * beta * beta + _N[3] * beta + _N[6]
    g = _N[1] * beta * beta + _N[4] * beta + _N[7]
    d = 2 * g / (-f - math.sqrt(f * f - 4 * e * g))
    return (_N[9] + d - math.sqrt((_N[9] + d) ** 2 - 4 * (_N[8] + _N[9] * d))) / 2


def water_boils_f(pressure_inhg: float) -> float:
    """Return where water boils at a station pressure (not corrected to sea level).

    Raises:
        RangeError: outside 18 to 32 inHg.
    """
    within(pressure_inhg, 18, 32, "A station pressure", "inches of mercury")
    return _boils_f(pressure_inhg)


def pressure_at_inhg(elevation_ft: float) -> float:
    """Return the standard atmosphere's pressure at an elevation.

    Raises:
        RangeError: outside -1,000 to 12,000 ft.
    """
    within(elevation_ft, -1000, 12_000, "An elevation", "feet")
    return 29.921 * math.pow(1 - 6.8753e-6 * elevation_ft, 5.2559)


def pressure_from_boil_inhg(boils_f: float) -> float:
    """Return the pressure at which water boils at ``boils_f`` (IF97 turned round).

    Raises:
        RangeError: outside 185 to 216 °F.
    """
    within(boils_f, 185, 216, "Water's boiling point", "°F")
    return inverse(_boils_f, boils_f, 15.0, 36.0, halvings=40)


def rise_f(brix: float, pressure_inhg: float = 29.921) -> float:
    """Return how far above water a sugar solution boils (Starzak and Peacock's water activity).

    Raises:
        RangeError: outside 0 to 85 Brix or 18 to 32 inHg.
    """
    within(brix, 0, 85, "Sugar", "Brix")
    water_f = water_boils_f(pressure_inhg)
    boils_f = water_f
    for _ in range(12):  # each turn shrinks the error more than tenfold
        boils_f = _boils_f(pressure_inhg / _water_activity(brix, boils_f))
    return boils_f - water_f


def brix_from_rise(above_water_f: float, pressure_inhg: float = 29.921) -> float:
    """Return the sugar of a solution that boils ``above_water_f`` above water.

    Raises:
        RangeError: outside 0 to 25 °F.
    """
    within(above_water_f, 0, 25, "The rise above water's boil", "°F")
    return inverse(lambda brix: rise_f(brix, pressure_inhg), above_water_f, 0.0, 85.0, halvings=30)


def _boils_f(pressure_inhg: float) -> float:
    kelvin = saturation_kelvin(pressure_inhg / _INHG_PER_MPA)
    return (kelvin - 273.15) * 1.8 + 32


def _water_activity(brix: float, temp_f: float) -> float:
    """Return the activity of water in a sucrose solution, 0 to 1."""
    sucrose, water = brix / 342.30, (100 - brix) / 18.015
    x = sucrose / (sucrose + water)
    kelvin = (temp_f - 32) / 1.8 + 273.15
    log_gamma = -17638 / (8.3145 * kelvin) * x * x * (1 - 1.0038 * x - 0.24653 * x * x)
    return (1 - x) * math.exp(log_gamma)
