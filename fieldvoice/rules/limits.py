"""The range in which a rule holds, and the one sentence that says so."""

from __future__ import annotations

from fieldvoice.errors import RangeError


def within(value: float, low: float, high: float, what: str, unit: str = "") -> float:
    """Return ``value`` as a float when ``low <= value <= high``.

    Raises:
        RangeError: otherwise (not-a-number included), with a sentence that names the range.
    """
    if not low <= value <= high:
        space = " " if unit else ""
        raise RangeError(f"{what} must be from {low:g} to {high:g}{space}{unit}, not {value:g}.")
    return float(value)
