"""Numbers for people: small volumes as one measures them out, whole hours, no idle decimals."""

from __future__ import annotations

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


def plain(value: float) -> str:
    """Return a number as it was said: two decimals at most, none that say nothing."""
    return f"{round(value, 2):g}"


def hours_of(hours: float) -> str:
    """Return whole hours: "1 hour", "5 hours"."""
    whole = round(hours)
    return "1 hour" if whole == 1 else f"{whole} hours"
