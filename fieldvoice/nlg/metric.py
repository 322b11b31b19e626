"""A sentence of the rules or the handbook in a metric book's units.

The rules and cards speak US units; a metric book is told the same in litres, centimetres and
degrees Celsius, figures and number words alike. Conversions are the exact definitions (1 in =
2.54 cm, 1 US gal = 3.785411784 L, 1 lb = 0.45359237 kg, °F = 1.8 °C + 32); what comes out has about
as many figures as what went in, and a volume under a litre is rounded down: it may be a most.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

L_PER_GAL, CM_PER_IN, _KG_PER_LB = 3.785411784, 2.54, 0.45359237
_M2_PER_FT2 = 0.09290304

_ONES = (
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen "
    "fifteen sixteen seventeen eighteen nineteen"
).split()
_TENS = "twenty thirty forty fifty sixty seventy eighty ninety".split()
_WORDS: Mapping[str, float] = {
    **{word: float(value) for value, word in enumerate(_ONES)},
    **{word: 10.0 * (place + 2) for place, word in enumerate(_TENS)},
    "an": 1.0, "a": 1.0,
}  # fmt: skip
_PARTS: Mapping[str, float] = {
    "half": 0.5, "quarter": 0.25, "third": 1 / 3, "quarters": 0.25, "thirds": 1 / 3,
    "sixteenths": 1 / 16, "eighths": 1 / 8, "eighth": 1 / 8, "sixth": 1 / 6, "tenths": 0.1,
    "twentieth": 1 / 20,
}  # fmt: skip

_SMALL = "|".join((*_ONES[1:], *_TENS))
_WORD_NUMBER = (
    rf"(?:(?:{'|'.join(_TENS)})[- ](?:{'|'.join(_ONES[1:10])})|(?:(?:{_SMALL}|a) hundred"
    rf"(?: and (?:{_SMALL}))?)|{_SMALL})"
)
_PART_NUMBER = (
    rf"(?:half an?|half|an? (?:half|quarter|third|sixth|eighth|twentieth)|(?:{_SMALL})[- ]"
    r"(?:quarters|thirds|sixteenths|eighths|tenths))(?: of an?)?"
)
_FIGURES = r"(?:-|−)?(?:\d+ \d+/\d+|\d+/\d+|\d{1,3}(?:,\d{3})+|\d+(?:\.\d+)?|\.\d+)"
_AND_PART = r"(?: and (?:a half|a quarter|a third|three quarters|one half))?"
NUMBER = rf"(?:{_FIGURES}|{_PART_NUMBER}|(?:{_WORD_NUMBER}|an?\b){_AND_PART})"
_LINK = r"(?:\s*(?:to|or|and|-|–)\s*)"


@dataclass(frozen=True, slots=True)
class _Unit:
    """A unit's names, and how an amount of it is told in metric."""

    names: str
    told: Callable[[tuple[float, ...]], str]


def _figure(value: float, places: int) -> str:
    text = f"{value:.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _span(values: tuple[float, ...], places: int, sign: str) -> str:
    told = list(dict.fromkeys(_figure(value, places) for value in values))
    return f"{' to '.join(told)} {sign}"


def _litres(gal_each: float) -> Callable[[tuple[float, ...]], str]:
    def told(values: tuple[float, ...]) -> str:
        litres = tuple(value * gal_each * L_PER_GAL for value in values)
        if max(litres) < 1:
            step = 10 if max(litres) >= 0.05 else 1
            small = tuple(max(1, math.floor(one * 1000 / step + 1e-6) * step) for one in litres)
            return _span(small, 0, "ml")
        return _span(litres, 1 if min(litres) < 10 else 0, "L")

    return told


def _lengths(in_each: float) -> Callable[[tuple[float, ...]], str]:
    def told(values: tuple[float, ...]) -> str:
        centimetres = tuple(value * in_each * CM_PER_IN for value in values)
        if max(centimetres) < 2:
            return _span(tuple(one * 10 for one in centimetres), 0, "mm")
        if min(centimetres) < 10 and all((one * 2 * in_each).is_integer() for one in values):
            centimetres = tuple(round(one * 2) / 2 for one in centimetres)
        if min(centimetres) >= 200:
            metres = tuple(one / 100 for one in centimetres)
            return _span(metres, 0 if min(metres) >= 10 else 1, "m")
        return _span(centimetres, 0 if min(centimetres) >= 10 else 1, "cm")

    return told


def _scaled(factor: float, sign: str, places: int = 1) -> Callable[[tuple[float, ...]], str]:
    def told(values: tuple[float, ...]) -> str:
        scaled = tuple(value * factor for value in values)
        return _span(scaled, 0 if min(scaled) >= 10 else places, sign)

    return told


def _kilograms(values: tuple[float, ...]) -> str:
    kilograms = tuple(value * _KG_PER_LB for value in values)
    if max(kilograms) < 0.1:
        return _span(tuple(one * 1000 for one in kilograms), 0, "g")
    return _span(kilograms, 0 if min(kilograms) >= 10 else 1, "kg")


#: A short unit's own full stop, not the sentence's.
_STOP = r"\b(?:\.(?=\s+[a-z]))?"
_FEET = rf"feet|foot|ft{_STOP}(?![\w²])"
#: "3 in a row", "two in tank 2": here "in" is no inch.
_INCHES = (
    r"inches|inch|in(?![-\w])(?!\s+(?:\d|(?:an?|the|all|total|tank|tote|barrel|your|this|that|each"
    rf"|it|its|one|stock|four|five|ten|{'|'.join(_TENS)}|(?-i:[A-Z])\w+)\b))"
)
#: Nor is it after a number in words: "one in plain water".
_ONE_IN = re.compile(r"[a-z]\s+in$", re.IGNORECASE)
#: Longer names first: "gallons a square foot an hour" before "gallons".
_UNITS: tuple[_Unit, ...] = (
    _Unit(
        r"(?:gallons?|gal\.?) (?:a|per) (?:square foot|ft²) (?:an|per) hour",
        _scaled(L_PER_GAL / _M2_PER_FT2, "L a square metre an hour", 0),
    ),
    _Unit(r"(?:pounds?|lbs?) (?:a|per) gallon", _scaled(_KG_PER_LB / L_PER_GAL, "kg a litre", 2)),
    _Unit(
        r"(?:gallons?|gal\.?) (?:a|per) (?:square foot|ft²)",
        _scaled(L_PER_GAL / _M2_PER_FT2, "L a square metre", 0),
    ),
    _Unit(r"gal/ft²/h", _scaled(L_PER_GAL / _M2_PER_FT2, "L/m²/h", 0)),
    _Unit(r"square feet|square foot|sq ft|ft²", _scaled(_M2_PER_FT2, "m²", 2)),
    _Unit(r"cubic feet|cubic foot", _scaled(0.0283168, "m³", 2)),
    _Unit(r"inches of mercury|inHg", _scaled(3.386389, "kPa")),
    _Unit(r"(?:of an )?inch(?:es)? of vacuum", _scaled(3.386389, "kPa of vacuum")),
    _Unit(r"tablespoons?", _scaled(15, "ml", 0)),
    _Unit(r"teaspoons?", _scaled(5, "ml", 0)),
    _Unit(r"cups?", _litres(1 / 16)),
    _Unit(rf"quarts?|qts?{_STOP}", _litres(1 / 4)),
    _Unit(r"half pints?", _litres(1 / 16)),
    _Unit(rf"pints?|pts?{_STOP}", _litres(1 / 8)),
    _Unit(r"gallons?|gal\b\.?(?=\s+[a-z])|gal\b", _litres(1.0)),
    _Unit(_INCHES, _lengths(1.0)),
    _Unit(_FEET, _lengths(12.0)),
    _Unit(rf"pounds?|lbs?{_STOP}", _kilograms),
    _Unit(rf"ounces?|oz{_STOP}", _scaled(28.349523, "g", 0)),
    _Unit(r"acres?", _scaled(0.40468564, "ha")),
    _Unit(r"miles?", _scaled(1.609344, "km")),
    _Unit(r"cords?", _scaled(3.6245563, "stacked m³")),
    _Unit(r"parts a billion|ppb", _scaled(1.0, "parts a billion")),
)


@cache
def _amounts() -> tuple[tuple[re.Pattern[str], _Unit], ...]:
    """Return how an amount in each unit is written; only a metric book needs the long patterns."""
    return tuple(
        (
            re.compile(
                rf"(?<![\w.])(?P<first>{NUMBER})(?:{_LINK}(?P<last>{NUMBER}))?[\s-]*(?:{unit.names})(?!\w)",
                re.IGNORECASE,
            ),
            unit,
        )
        for unit in _UNITS
    )


_TEMPERATURE = re.compile(
    rf"(?<![\w.])(?P<first>{NUMBER})(?:{_LINK}(?P<last>{NUMBER}))?\s*"
    r"(?P<unit>°F|degrees Fahrenheit|degrees?(?! (?:Brix|Baum|C\b|Celsius|days?|day)))"
    r"(?!\w|: Celsius or)",
    re.IGNORECASE,
)
_AT = re.compile(r"\b(?:at|to|under|over) $")
#: What makes degrees a difference and not a point of the scale.
_DIFFERENCE = re.compile(
    r"^\W*(?:(?!or )[a-z]+ )?(?:days|above|below|over|under|past|off|to go|higher|lower|warmer"
    r"|cooler|colder|hotter|more|less|either way|on the thermometer|a Brix|is about|rise)\b",
    re.IGNORECASE,
)
_ABOVE_WATER = re.compile(
    r"(?:above|past|over) (?:your |the |its )?water|water's boil\b", re.IGNORECASE
)
_BARE_RANGE = re.compile(r"(?<![\w.°])(\d+(?:\.\d+)?)(?: to (\d+(?:\.\d+)?))?(?![\w.%°/:])")
_DECADE = re.compile(
    r"\bin the (?P<part>upper |lower |mid |low |high )?(?P<tens>\d0)s(?: to (?P<last>\d0)s)?\b"
)
#: A degree without its sign, in a sentence that has one: "as at 38; keep it under 40".
_BARE_DEGREE = re.compile(
    r"\b(?P<before>at|under|over|below|above|to|of|is|not|from|low|high|(?:cool|hott|warm)er than)"
    r"\s(?P<degree>\d{2,3}(?:\.\d+)?)"
    r"(?=[;.,]?(?:\s|$)(?!%|percent|hours?|days?|gal|L\b|cm\b|Brix|years?|weeks?|trees?|taps?|parts?"
    r"|times|kg|ml|mm|m\b|°|to\b|in\b|of\b))"
)
_ASKED: tuple[tuple[re.Pattern[str], str], ...] = tuple(
    (re.compile(rf"\b{said}\b", re.IGNORECASE), metric)
    for said, metric in (
        ("gallons and Fahrenheit", "gallons and Fahrenheit"),
        ("gallons", "litres"),
        ("inches", "centimetres"),
        ("in feet", "in metres"),
        ("square feet", "square metres"),
    )
)
#: So many of sap to one of syrup is the same in every unit.
_RATIO = re.compile(
    rf"(?P<many>{NUMBER}) gal(?:lons?)?(?P<of>(?: of sap)?)"
    r"(?P<to> (?:to )?(?:a|one|make one)) gallon",
    re.IGNORECASE,
)
#: A pan's sides, said in feet without saying so.
_SIDES = re.compile(
    rf"\b(?P<one>{_SMALL}|\d+)[ -]by[ -](?P<other>{_SMALL}|\d+)(?:[ -]foot)?(?= pan)"
)
#: What the pan does on its area.
_ON_AREA = re.compile(
    rf"(?P<much>{NUMBER}) gal(?:lons?)? an hour for each square foot", re.IGNORECASE
)
#: A unit counted by a word that is no number.
_COUNTED = re.compile(
    r"\b(?P<which>last|first|each|every) (?P<unit>inch|foot|gallon|quart)\b", re.I
)
_ROUND: Mapping[str, str] = {"inch": "2.5 cm", "foot": "30 cm", "gallon": "4 L", "quart": "litre"}
#: Degrees of a slope are the same everywhere.
_SLOPE = re.compile(r"slop|angle|tilt|upward|compass", re.IGNORECASE)
_ABOVE = re.compile(r"(?<![\w.])(\d+(?:\.\d+)?) (?=above (?:water|that|where|it\b))")
#: Something small in each gallon.
_IN_A_GALLON = re.compile(rf"(?P<much>{NUMBER}) cups?(?P<of>(?: of \w+)?) a gallon", re.IGNORECASE)
#: So many things for a gallon.
_FOR_A_GALLON = re.compile(r"\b(?P<what>taps|cylinders|BTU) a gallon\b", re.IGNORECASE)
#: How units of both sorts go together is told in both.
_OF_BOTH = re.compile(r"\b(?:centimeters|cm|liters|Celsius)\b|\d L\b|°C")
#: A volume told twice, in gallons and in something smaller.
_TOLD_TWICE = re.compile(rf"({_FIGURES} gal),? (?:or )?{_FIGURES} (?:quarts|pints)")
_SENTENCE = re.compile(r"[^.!?]+(?:\.(?=\d)[^.!?]+)*[.!?]*\s*")


@lru_cache(maxsize=4096)
def in_metric(text: str) -> str:
    """Return a sentence with every amount of it in metric units; others stay as they are."""
    return "".join(_converted(one) for one in _SENTENCE.findall(text)) or text


def _converted(sentence: str) -> str:
    had_degrees = "°F" in sentence or re.search(r"\bdegrees?\b", sentence) is not None
    is_above_water = had_degrees and _ABOVE_WATER.search(sentence) is not None
    told = sentence
    if is_above_water and sum(bool(last) for _, last in _BARE_RANGE.findall(sentence)) > 1:
        return _all_above_water(sentence)
    told = _TOLD_TWICE.sub(r"\1", told)
    if _OF_BOTH.search(told):
        return sentence
    told = _RATIO.sub(r"\g<many> litres\g<of>\g<to> litre", told)
    told = _SIDES.sub(_sides, told)
    told = _ON_AREA.sub(_on_area, told)
    told = _IN_A_GALLON.sub(_in_a_litre, told)
    told = _FOR_A_GALLON.sub(r"\g<what> for 3.8 L", told)
    told = _COUNTED.sub(lambda found: f"{found['which']} {_ROUND[found['unit'].lower()]}", told)
    if had_degrees:
        told = _ABOVE.sub(lambda found: f"{_figure(float(found[1]) / 1.8, 1)} °C ", told)
    told = _TEMPERATURE.sub(lambda found: _degrees(found, sentence), told)
    if "°F" in sentence:
        told = _BARE_DEGREE.sub(
            lambda found: f"{found['before']} {_celsius(float(found['degree']))}", told
        )
    told = _DECADE.sub(_decade, told)
    said_as: dict[str, set[str]] = {}
    for pattern, unit in _amounts():
        told = pattern.sub(lambda found, unit=unit: _amount(found, unit, said_as), told)  # type: ignore[misc]
    if any(len(said) > 1 for said in said_as.values()):
        return sentence  # how US units go together: "two cups to a pint"
    for said, metric in _ASKED:
        told = said.sub(metric, told)
    return told


def _sides(found: re.Match[str]) -> str:
    one, other = (round(value_of(found[side]) * 3.048) * 10 for side in ("one", "other"))
    return f"{one} by {other} cm"


def _on_area(found: re.Match[str]) -> str:
    litres = value_of(found["much"]) * L_PER_GAL / _M2_PER_FT2
    return f"{_figure(litres, 0)} L an hour for each square metre"


def _in_a_litre(found: re.Match[str]) -> str:
    millilitres = math.floor(value_of(found["much"]) * 1000 / 16)
    return f"{millilitres} ml{found['of']} a litre"


def _amount(found: re.Match[str], unit: _Unit, said_as: dict[str, set[str]]) -> str:
    """Return an amount in metric, and note in ``said_as`` by which amount it was said."""
    if _ONE_IN.search(found[0]):
        return found[0]
    values = tuple(value_of(one) for one in (found["first"], found["last"]) if one)
    told = unit.told(values)
    said_as.setdefault(told, set()).add(f"{values} {unit.names}")
    # "2 or 3 gallons" stays a choice, "a five-gallon pail" one thing.
    if found["last"] and " or " in found[0] and " to " in told:
        told = told.replace(" to ", " or ", 1)
    return told


def _degrees(found: re.Match[str], sentence: str) -> str:
    if found["unit"].lower() != "°f" and _SLOPE.search(sentence):
        return found[0]
    values = [value_of(one) for one in (found["first"], found["last"]) if one]
    after = sentence[found.end() :]
    is_difference = _DIFFERENCE.match(after) is not None and max(values) < 60
    if found["unit"].lower() != "°f" and max(values) < 15:
        is_difference = _AT.search(sentence[: found.start()]) is None
    if is_difference:
        return _span(tuple(value / 1.8 for value in values), 1, "°C")
    return f"{' to '.join(dict.fromkeys(_celsius(value) for value in values))} °C"


def _celsius(fahrenheit: float) -> str:
    """Return degrees Celsius in words of the same fineness: tenths near the pan, else whole."""
    is_fine = fahrenheit >= 200 or not float(fahrenheit).is_integer()
    return _figure((fahrenheit - 32) / 1.8, 1 if is_fine else 0).replace("-0", "0")


def _all_above_water(sentence: str) -> str:
    """Return a sentence of how far above water things boil: every figure is a difference."""

    def told(found: re.Match[str]) -> str:
        values = [float(one) for one in found.groups() if one]
        return " to ".join(_figure(value / 1.8, 1 if value < 18 else 0) for value in values)

    whole = _BARE_RANGE.sub(told, sentence.replace(" °F", " °F"))
    return re.sub(r"°F|\bdegrees?\b", "°C", whole)


def _decade(found: re.Match[str]) -> str:
    low, high = float(found["tens"]), float(found["last"] or found["tens"]) + 9
    part = (found["part"] or "").strip()
    if part in ("upper", "high"):
        low += 6
    if part in ("lower", "low"):
        high -= 6
    return f"of {_celsius(low)} to {_celsius(high)} °C"


def value_of(said: str) -> float:
    """Return what a number in figures or words is worth."""
    text = said.lower().replace(",", "").replace("−", "-").strip()
    if re.fullmatch(r"-?[\d. /]+", text):
        return sum(_fraction(one) for one in text.split())
    value = 0.0
    whole, _, part = text.partition(" and ")
    if part in ("a half", "one half"):
        value, text = 0.5, whole
    elif part == "a quarter":
        value, text = 0.25, whole
    elif part == "a third":
        value, text = 1 / 3, whole
    elif part == "three quarters":
        value, text = 0.75, whole
    words = re.split(r"[- ]+", re.sub(r" of an?$|(?<=half) an?$", "", text))
    return value + _words_value([word for word in words if word != "and"])


def _words_value(words: list[str]) -> float:
    total, here = 0.0, 0.0
    for word in words:
        if word == "hundred":
            here *= 100
        elif word in _PARTS:
            return total + (here or 1.0) * _PARTS[word]
        else:
            here += _WORDS[word]
    return total + here


def _fraction(said: str) -> float:
    above, _, below = said.partition("/")
    return float(above) / float(below) if below else float(above)
