"""Numbers for people: small volumes as one measures them out, whole hours, no idle decimals."""

from __future__ import annotations

import math

_CUPS_A_GALLON = 16
_PARTS = {1: "a quarter cup", 2: "half a cup", 3: "three quarters of a cup"}


def measured_out(gallons: float) -> str:
    """Return a small volume in the measure that is at hand for it, no finer than it shows."""
    cups = gallons * _CUPS_A_GALLON
    if cups < 0.2:
        count = max(1, round(cups * 16))
        return "a tablespoon" if count == 1 else f"{count} tablespoons"
    if cups < 1.2:
        return _PARTS.get(round(cups * 4), "a cup")
    if cups < 4:
        halves = round(cups * 2) / 2
        return "a cup" if halves == 1 else f"{halves:g} cups"
    if gallons < 2:
        quarts = round(gallons * 8) / 2
        return "a quart" if quarts == 1 else f"{quarts:g} quarts"
    return f"{gallons:.0f} gal" if gallons >= 10 else f"{gallons:.1f} gal"


def at_most(gallons: float) -> str:
    """Return the greatest measure at hand that is not more than a small volume.

    For what must not be too much, as bleach: tablespoons, quarter cups, quarts and gallons.
    """
    cups = gallons * _CUPS_A_GALLON
    if gallons >= 2:
        return f"{_down(gallons, 0.1):g} gal"
    if cups >= 4:
        return _counted(_down(cups / 4, 0.5), "quart")
    if cups >= 1:
        return _counted(_down(cups, 0.5), "cup")
    if cups >= 0.25:
        return _PARTS[round(_down(cups, 0.25) * 4)]
    if cups >= 1 / 16:
        return _counted(_down(cups * 16, 1), "tablespoon")
    return _counted(_down(cups * 48, 1), "teaspoon")


def _down(value: float, step: float) -> float:
    """Return the greatest multiple of ``step`` that is not above ``value``."""
    return math.floor(value / step + 1e-9) * step


def _counted(count: float, unit: str) -> str:
    return f"a {unit}" if count == 1 else f"{count:g} {unit}s"


def plain(value: float) -> str:
    """Return a number as it was said: two decimals at most, none that say nothing."""
    return f"{round(value, 2):g}"


def hours_of(hours: float) -> str:
    """Return whole hours: "1 hour", "5 hours"."""
    whole = round(hours)
    return "1 hour" if whole == 1 else f"{whole} hours"
