"""Units as they are written in replies, and how they are said with their number."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldvoice.nlg.numbers import as_fraction, fraction_words, say_number

if TYPE_CHECKING:
    from fieldvoice.nlg.numbers import Style


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit's spoken names, for one and for many, and how its numbers are said."""

    one: str
    many: str
    style: Style = "measure"

    @property
    def article(self) -> str:
        """Return "a" or "an", by the sound."""
        return "an" if self.one.startswith(("inch", "hour", "ounce", "acre")) else "a"


_DEGREE = Unit("degree", "degrees", "sign")
_CELSIUS = Unit("degree Celsius", "degrees Celsius", "sign")
_PERCENT = Unit("percent", "percent", "point")
_BRIX = Unit("Brix", "Brix", "point")

_UNITS: tuple[tuple[Unit, str], ...] = (
    (Unit("gallon", "gallons"), "gal. gal gallons gallon"),
    (Unit("quart", "quarts"), "qt. qt quarts quart"),
    (Unit("pint", "pints"), "pt. pt pints pint"),
    (Unit("litre", "litres"), "L l litres litre liters liter"),
    (Unit("millilitre", "millilitres"), "ml mL millilitres millilitre"),
    (Unit("inch of mercury", "inches of mercury", "point"), "inHg"),
    (Unit("inch", "inches"), "inches inch in"),
    (Unit("foot", "feet"), "ft. ft feet foot"),
    (Unit("centimetre", "centimetres"), "cm centimetres centimetre"),
    (Unit("millimetre", "millimetres"), "mm"),
    (Unit("metre", "metres"), "m metres metre"),
    (Unit("square foot", "square feet"), "ft² ft2 square_feet"),
    (Unit("square metre", "square metres"), "m²"),
    (Unit("cubic metre", "cubic metres"), "m³"),
    (Unit("stacked cubic metre", "stacked cubic metres"), "stacked_m³"),
    (Unit("kilometre", "kilometres"), "km"),
    (Unit("hectare", "hectares"), "ha"),
    (Unit("kilogram", "kilograms"), "kg"),
    (Unit("gram", "grams"), "g"),
    (Unit("kilopascal", "kilopascals", "point"), "kPa"),
    (Unit("pound", "pounds"), "lb. lb lbs pounds pound"),
    (Unit("ounce", "ounces"), "oz. oz ounces ounce"),
    (Unit("cord", "cords"), "cords cord"),
    (Unit("day", "days"), "days day"),
    (Unit("hour", "hours"), "hours hour hrs hr h"),
    (Unit("minute", "minutes"), "minutes minute min"),
    (_DEGREE, "°F ° degrees degree"),
    (_CELSIUS, "°C"),
    (_PERCENT, "% percent"),
    (_BRIX, "°Brix Brix"),
    (Unit("Baumé", "Baumé", "point"), "°Bé Baumé"),
)

_BY_SIGN: dict[str, Unit] = {
    sign.replace("_", " "): unit for unit, signs in _UNITS for sign in signs.split()
}

#: "3 in a row", "1 in 20", "two in tank 2": here "in" is no inch.
_NO_INCH = r"in(?=\s+(?:\d|(?:an?|the|all|total|tank|tote|barrel|your|this|that|each|one|it's)\b))"

#: A unit's sign after its number. A stop belongs to the sign only inside a sentence.
UNIT = (
    rf"(?!{_NO_INCH})(?:"
    + "|".join(
        re.escape(sign) + (r"(?=\s+[a-z])" if sign.endswith(".") else r"(?![\w-])")
        for sign in sorted(_BY_SIGN, key=len, reverse=True)
    )
    + ")"
)

#: Words before which a unit stays singular and goes without "of a": "a five sixteenths inch bit".
_MADE_OF = r"(?=\s+(?:bits?|drill|hole|pail|bucket|pan|jar|bottle)\b)"
BEFORE_THING = re.compile(_MADE_OF)


def unit_of(sign: str) -> Unit:
    """Return the unit that a sign stands for; ``sign`` is one that ``UNIT`` matches."""
    return _BY_SIGN[sign]


def quantity(figures: str, unit: Unit, *, before_thing: bool = False) -> str:
    """Return a number with its unit: "two and a half gallons", "five sixteenths of an inch".

    ``before_thing``: a noun follows that it describes, as in "a five sixteenths inch bit".
    """
    number = say_number(figures, unit.style)
    if before_thing:
        return f"{number} {unit.one}"
    parts = as_fraction(figures.lstrip("-"))
    if parts is None or unit.style not in ("measure", "sign") or "point" in number.split():
        return f"{number} {unit.one if number in ('one', 'minus one') else unit.many}"
    whole, part = parts
    if whole:
        # Quarters lose their s before the unit: "one and three quarter gallons".
        return f"{re.sub('quarters$', 'quarter', number)} {unit.many}"
    words = "half" if part.denominator == 2 else f"{fraction_words(part)} of"
    sign = "minus " if figures.startswith("-") else ""
    return f"{sign}{words} {unit.article} {unit.one}"
