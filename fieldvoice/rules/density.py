"""Density of sucrose solutions at any temperature, and what a hydrometer reads in them.

The ICUMSA polynomial gives the density; a hydrometer floats where the liquid it pushes aside
weighs what it weighs, its glass a little larger when warm. So one calculation serves every
hydrometer, whatever temperature is printed on it.
"""

from __future__ import annotations

from fieldvoice.rules.inverse import inverse
from fieldvoice.rules.limits import within

#: Volume expansion of a hydrometer's glass, per °C.
_GLASS = 25e-6

#: ICUMSA SPS-4 (after data of the German standards institute); w is the mass fraction.
_AT_20C = (385.1761, 135.3705, 40.9299, -3.9643, 13.4853, -17.2890)
_WARMER = (
    (-46.2720, -7.1720, 1.1597, 5.1126, 17.5254),
    (59.7712, 7.2491, 12.3630, -35.4791),
    (-47.2207, -21.6977, 27.6301),
    (18.3184, 12.3081),
)


def water_density_kg_m3(celsius: float) -> float:
    """Return the density of water (Kell 1975).

    Raises:
        RangeError: outside 0 to 105 °C.
    """
    t = within(celsius, 0, 105, "A temperature", "°C")
    top = (
        999.83952
        + 16.945176 * t
        - 7.9870401e-3 * t**2
        - 46.170461e-6 * t**3
        + 105.56302e-9 * t**4
        - 280.54253e-12 * t**5
    )
    return top / (1 + 16.879850e-3 * t)


def solution_density_kg_m3(brix: float, celsius: float) -> float:
    """Return the density of a sucrose solution.

    Raises:
        RangeError: outside 0 to 85 Brix or 0 to 105 °C.
    """
    w = within(brix, 0, 85, "Sugar", "Brix") / 100
    theta = (celsius - 20) / 100
    sugar = sum(b * w**power for power, b in enumerate(_AT_20C, 1))
    warmth = sum(
        c * w**power * theta**k
        for k, row in enumerate(_WARMER, 1)
        for power, c in enumerate(row, 1)
    )
    return water_density_kg_m3(celsius) + sugar + warmth


def brix_from_hydrometer(reading_brix: float, temp_f: float, made_for_f: float) -> float:
    """Return the true Brix where a hydrometer made for ``made_for_f`` reads ``reading_brix``.

    Raises:
        RangeError: outside 0 to 80 Brix or 32 to 220 °F.
    """
    within(reading_brix, 0, 80, "A hydrometer reading", "Brix")
    celsius = (within(temp_f, 32, 220, "The temperature in the cup", "°F") - 32) / 1.8
    made_c = (within(made_for_f, 32, 100, "A hydrometer's own temperature", "°F") - 32) / 1.8
    floats_at = solution_density_kg_m3(reading_brix, made_c)
    wanted = floats_at / (1 + _GLASS * (celsius - made_c))
    return inverse(lambda brix: solution_density_kg_m3(brix, celsius), wanted, 0.0, 85.0)


def hydrometer_reads(brix: float, temp_f: float, made_for_f: float) -> float:
    """Return what a hydrometer made for ``made_for_f`` reads in a solution; the same turned round.

    Raises:
        RangeError: outside 0 to 80 Brix or 32 to 220 °F.
    """
    within(brix, 0, 80, "Sugar", "Brix")
    celsius = (within(temp_f, 32, 220, "The temperature in the cup", "°F") - 32) / 1.8
    made_c = (within(made_for_f, 32, 100, "A hydrometer's own temperature", "°F") - 32) / 1.8
    wanted = solution_density_kg_m3(brix, celsius) * (1 + _GLASS * (celsius - made_c))

    def floats_at(reading: float) -> float:
        """Return the density, carried on in a straight line where a warm cup reads below 0."""
        below = min(reading, 0.0)
        return solution_density_kg_m3(reading - below, made_c) + 3.9 * below

    return inverse(floats_at, wanted, -5.0, 85.0)
