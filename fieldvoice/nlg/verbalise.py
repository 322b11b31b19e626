"""From sentences as they are written to sentences as they are said.

The rules' own sentences and what people wrote come without parts, and are written for the eye:
"Tree 105: 2.5 gal at 36 °F; hurry." A voice should say "Tree one oh five: two and a half gallons
at thirty six degrees. Hurry." All figures, units and signs become words here, and no voice has to
know the trade's. What is words already is not changed, so that doing it twice does no harm.
"""

from __future__ import annotations

import re

from fieldvoice.nlg.numbers import FIGURES, cardinal, ordinal, paired, say_number
from fieldvoice.nlg.units import BEFORE_THING, UNIT, quantity, unit_of

_VULGAR = {
    "¼": "1/4", "½": "1/2", "¾": "3/4", "⅓": "1/3", "⅔": "2/3",
    "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
}  # fmt: skip
_SIGNS = {
    "−": "-", "\u00a0": " ", "\u202f": " ", "&": " and ", "~": " about ", "≈": " about ",
    "×": " times ", "±": " plus or minus ", "≤": " at most ", "≥": " at least ",
}  # fmt: skip
_MONTHS = (
    "January February March April May June July August September October November December"
).split()

_O_CLOCK = " o'clock"
#: The emergency call of the United States and Canada; it is dialled, and so it is said by digits.
_EMERGENCY = re.compile(r"(?<=\b[Cc]all )911\b")

#: Letters that the ear takes for a word: of "CO alarm on" two recognisers made "coalarmon".
_ABBREVIATIONS = {re.compile(r"\bCO\b"): "carbon monoxide"}

_SIGNED = rf"(?<![\w.])-?{FIGURES}"
_TO = r"(?:\s*[-–]\s*|\s+(?:to|or|and)\s+)"

#: A lot's code, or the number of a telephone.
_LOT = re.compile(r"\b(?:\d{5}|(?:\d{3}-)?\d{3})-\d{4}\b")
_DATE = re.compile(r"\b(\d{4})-(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])(?!\d)")
_CLOCK = re.compile(r"\b([01]?\d|2[0-3]):([0-5]\d)(?::[0-5]\d)?(?:\s?([ap])\.?m\b\.?)?")
_TREE_NUMBER = rf"\d+(?!\d)(?!\.\d)(?!\s?{UNIT})"
_TREES = re.compile(
    rf"\b(trees?|buckets?|maples?|numbers?)\s+({_TREE_NUMBER}(?:(?:,\s+|{_TO}){_TREE_NUMBER})*)",
    re.IGNORECASE,
)
_YEAR = re.compile(
    rf"\b(in|before|since|after|of|until|from|year)\s+((?:19|20)\d\d)\b(?!\.\d)(?!\s?{UNIT})"
)
_RANGE = re.compile(rf"({_SIGNED})({_TO})({FIGURES})([\s-]?)({UNIT})")
_QUANTITY = re.compile(rf"({_SIGNED})([\s-]?)({UNIT})")
_NUMBERS = re.compile(rf"({_SIGNED})(?:{_TO}({FIGURES}))?")
_ORDINAL = re.compile(r"\b(\d+)(?:st|nd|rd|th)\b")
_ANY_DIGITS = re.compile(r"\d+")
_SENTENCE_START = re.compile(r"(^|[.!?]\s+)([a-z])")


def speakable(text: str) -> str:
    """Return ``text`` with every figure, unit and sign in spoken words.

    Tree numbers and temperatures are said as on a sign ("tree one oh five", "two nineteen
    degrees"), amounts with their halves and quarters ("two and a half gallons"), readings with
    their point ("two point two percent"). A date loses its year. A semicolon or a dash ends the
    sentence, for short sentences are easier to follow. The answer has no digits.
    """
    return tidy(verbalise(text))


def verbalise(text: str) -> str:
    """Return a part of a sentence as for ``speakable``, its stops and capital letters left."""
    text = _plain_signs(text)
    for letters, words in _ABBREVIATIONS.items():
        text = letters.sub(words, text)
    text = _EMERGENCY.sub(lambda found: _digit_by_digit(found[0]), text)
    text = _LOT.sub(lambda found: say_code(found[0]), text)
    text = _DATE.sub(_say_date, text)
    text = _CLOCK.sub(_say_clock, text)
    text = _TREES.sub(_say_trees, text)
    text = _YEAR.sub(lambda found: f"{found[1]} {_say_year(int(found[2]))}", text)
    text = _ORDINAL.sub(lambda found: ordinal(int(found[1])), text)
    text = _RANGE.sub(_say_range, text)
    text = _QUANTITY.sub(_say_quantity, text)
    text = _NUMBERS.sub(_say_numbers, text)
    return _ANY_DIGITS.sub(lambda found: f" {_digit_by_digit(found[0])} ", text)


def _plain_signs(text: str) -> str:
    for sign, plain in _SIGNS.items():
        text = text.replace(sign, plain)
    for sign, plain in _VULGAR.items():
        text = re.sub(rf"(?<=\d)\s?{sign}", f" {plain}", text).replace(sign, plain)
    text = re.sub(r"\$\s?(\d[\d,.]*\d|\d)", r"\1 dollars", text)
    return re.sub(r"#\s?(?=\d)", "number ", text)


def say_code(code: str) -> str:
    """Return a lot's code digit by digit, as it is read off a label."""
    return ", ".join(_digit_by_digit(digits) for digits in code.split("-"))


def _say_date(found: re.Match[str]) -> str:
    return f"{_MONTHS[int(found[2]) - 1]} {ordinal(int(found[3]))}"


def _say_clock(found: re.Match[str]) -> str:
    hour, minute = int(found[1]), int(found[2])
    half = f" {found[3]} m" if found[3] else ""
    if not half and hour > 12:
        half = " in the afternoon" if hour < 18 else " in the evening"
        hour -= 12
    if hour == 0 and not half:
        half, hour = " at night", 12
    if minute == 0:
        return f"{cardinal(hour)}{half or _O_CLOCK}"
    return f"{cardinal(hour)} {'oh ' if minute < 10 else ''}{cardinal(minute)}{half}"


def _say_trees(found: re.Match[str]) -> str:
    numbers = re.sub(r"\s*[-–]\s*", " to ", found[2])
    return f"{found[1]} {_ANY_DIGITS.sub(lambda number: paired(int(number[0])), numbers)}"


def _say_year(year: int) -> str:
    return cardinal(year) if 2000 <= year < 2010 else paired(year)


def _between(link: str) -> str:
    """Return the word between two numbers; a dash is said as "to"."""
    return link.strip() if link.strip().isalpha() else "to"


def _say_range(found: re.Match[str]) -> str:
    unit = unit_of(found[5])
    first = say_number(found[1], unit.style)
    last = quantity(found[3], unit, before_thing=_describes(found, found[4]))
    return f"{first} {_between(found[2])} {last}"


def _say_quantity(found: re.Match[str]) -> str:
    return quantity(found[1], unit_of(found[3]), before_thing=_describes(found, found[2]))


def _describes(found: re.Match[str], joint: str) -> bool:
    """Whether the amount describes a thing named after it: "5/16 in bit", "5-gallon pail"."""
    return joint == "-" or BEFORE_THING.match(found.string, found.end()) is not None


def _say_numbers(found: re.Match[str]) -> str:
    if found[2] is None:
        return say_number(found[1])
    link = found[0][len(found[1]) : -len(found[2])]
    return f"{say_number(found[1])} {_between(link)} {say_number(found[2])}"


def _digit_by_digit(digits: str) -> str:
    return " ".join(cardinal(int(digit)) for digit in digits)


def tidy(text: str) -> str:
    """Return words with the stops and spaces that a voice needs, each sentence with a capital."""
    text = re.sub(r"\s*;\s*|\s+[—–]\s+", ". ", text)
    text = re.sub(r"\s*\(\s*", ", ", text)
    text = re.sub(r"\s*\)(?=\s+\w)", ",", text).replace(")", "")
    text = text.replace("%", " percent ").replace("°", " degrees ")
    text = re.sub(r"\s+", " ", text)
    text = re.sub(r"\s+(?=[,.!?:])", "", text).strip()
    return _SENTENCE_START.sub(lambda found: found[1] + found[2].upper(), text)
