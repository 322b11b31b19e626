"""Amounts in plain text in metric units: a rule's own sentence, "at 38 °F" as "at 3 °C"."""

from __future__ import annotations

import re

from fieldvoice.nlg.wording import figure

#: Litres in a US gallon, centimetres in an inch (both exact), kilograms in a pound (exact).
_L_PER_GAL, _CM_PER_IN, _KG_PER_LB = 3.785411784, 2.54, 0.45359237

#: What one of a unit is in the metric one. Ounces are of weight or of volume: they are left.
_FACTORS = {
    "gal": (_L_PER_GAL, "L"), "gallon": (_L_PER_GAL, "L"), "quart": (_L_PER_GAL / 4, "L"),
    "qt": (_L_PER_GAL / 4, "L"), "pint": (_L_PER_GAL / 8, "L"),
    "cup": (_L_PER_GAL * 1000 / 16, "mL"),
    "inch": (_CM_PER_IN, "cm"), "inche": (_CM_PER_IN, "cm"), "ft": (_CM_PER_IN * 0.12, "m"),
    "foot": (_CM_PER_IN * 0.12, "m"), "feet": (_CM_PER_IN * 0.12, "m"), "pound": (_KG_PER_LB, "kg"),
    "lb": (_KG_PER_LB, "kg"),
}  # fmt: skip
_WORDS = dict(
    zip("half one two three four five six seven eight nine ten twelve".split(),
        (0.5, *range(1, 11), 12), strict=True)
)  # fmt: skip
#: Fewer degrees than this are a difference, which has no freezing point to start from.
_LEAST_F = 25.0

_NUMBER = rf"\d+(?:\.\d+)?|\b(?:{'|'.join(_WORDS)})\b(?: an?\b)?"
_AMOUNT = re.compile(
    rf"({_NUMBER})(?:( to | or |-)({_NUMBER}))?[ -]?(°F|(?:{'|'.join(_FACTORS)})s?\b)"
)

#: Gallons and quarts of one thing come out the same: "3.5 L, 3.5 L".
_TWICE = re.compile(r"(\d[\d.]* \w+), \1\b")


def in_metric(text: str) -> str:
    """Return ``text`` with its gallons, inches, pounds and °F converted, rounded as they were told.

    What is told without a unit, or as a difference of degrees, stays as it is.
    """
    return _TWICE.sub(r"\1", _AMOUNT.sub(_converted, text))


def _converted(found: re.Match[str]) -> str:
    first, link, second, unit = found.groups()
    values = [_value(one) for one in (first, second) if one]
    if unit == "°F":
        if min(values) < _LEAST_F:
            return found[0]
        told, sign = [figure((value - 32) / 1.8, 0) for value in values], "°C"
    else:
        factor, sign = _FACTORS[unit.removesuffix("s")]
        told = [_rounded(value * factor) for value in values]
    return f"{(link or '').join(told)} {sign}"


def _value(number: str) -> float:
    word = number.split()[0]
    return _WORDS[word] if word in _WORDS else float(word)


def _rounded(value: float) -> str:
    """Return two figures of a value, more before the point where it has them."""
    places = 0 if value >= 10 else 1 if value >= 1 else 2
    return figure(value, places)
