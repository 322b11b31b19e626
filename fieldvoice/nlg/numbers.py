"""Numbers as people say them: "two and a half", "two nineteen", "one oh five"."""

from __future__ import annotations

import re
from decimal import Decimal
from fractions import Fraction
from typing import Literal

#: ``measure``: halves and quarters as such. ``sign``: a number read off a scale or a label,
#: "two nineteen", its decimals "and a half" or after the point. ``point``: decimals always after
#: the point. ``plain``: the same, for bare numbers.
Style = Literal["measure", "sign", "point", "plain"]

#: How numbers are written: "1 1/2", "5/16", "1,200", "2.5", ".5".
FIGURES = r"(?:\d+ \d+/\d+|\d+/\d+|(?:\d{1,3}(?:,\d{3})+|\d+)(?:\.\d+)?|\.\d+)"

_SMALL = (
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen "
    "fifteen sixteen seventeen eighteen nineteen"
).split()
_TENS = "twenty thirty forty fifty sixty seventy eighty ninety".split()
_ORDINALS = {
    "one": "first", "two": "second", "three": "third", "five": "fifth", "eight": "eighth",
    "nine": "ninth", "twelve": "twelfth",
}  # fmt: skip
_DENOMINATORS = {
    2: "half", 3: "third", 4: "quarter", 8: "eighth", 16: "sixteenth", 32: "thirty second",
}  # fmt: skip

#: Decimals that stand for a fraction in what people measure; thirds come rounded.
_DECIMAL_FRACTIONS = {
    "25": Fraction(1, 4), "5": Fraction(1, 2), "75": Fraction(3, 4),
    "33": Fraction(1, 3), "333": Fraction(1, 3), "67": Fraction(2, 3), "667": Fraction(2, 3),
    "125": Fraction(1, 8), "375": Fraction(3, 8), "625": Fraction(5, 8), "875": Fraction(7, 8),
}  # fmt: skip


def cardinal(number: int) -> str:
    """Return a whole number in full: 105 is "one hundred and five"."""
    if number < 0:
        return f"minus {cardinal(-number)}"
    if number < 20:
        return _SMALL[number]
    if number < 100:
        tens, ones = divmod(number, 10)
        return f"{_TENS[tens - 2]} {_SMALL[ones]}" if ones else _TENS[tens - 2]
    if number < 1000:
        hundreds, rest = divmod(number, 100)
        words = f"{_SMALL[hundreds]} hundred"
        return f"{words} and {cardinal(rest)}" if rest else words
    for size, name in ((10**9, "billion"), (10**6, "million"), (1000, "thousand")):
        if number >= size:
            head, rest = divmod(number, size)
            words = f"{cardinal(head)} {name}"
            if not rest:
                return words
            return f"{words} and {cardinal(rest)}" if rest < 100 else f"{words} {cardinal(rest)}"
    raise AssertionError(number)  # every number from 1000 on is at least a thousand


def paired(number: int) -> str:
    """Return a whole number as on a sign: 219 is "two nineteen", 105 "one oh five"."""
    if number < 100 or number > 9999:
        return cardinal(number)
    head, rest = divmod(number, 100)
    if not rest:
        return cardinal(number) if head % 10 == 0 else f"{cardinal(head)} hundred"
    return f"{cardinal(head)} {'oh ' if rest < 10 else ''}{cardinal(rest)}"


def ordinal(number: int) -> str:
    """Return 1 as "first", 21 as "twenty first"."""
    *head, last = cardinal(number).split()
    last = _ORDINALS.get(last) or (f"{last[:-1]}ieth" if last.endswith("y") else f"{last}th")
    return " ".join([*head, last])


def fraction_words(part: Fraction) -> str:
    """Return a fraction below one: "a quarter", "three quarters", "five sixteenths"."""
    name = _DENOMINATORS.get(part.denominator, ordinal(part.denominator))
    if part.numerator == 1:
        return f"an {name}" if name.startswith("e") else f"a {name}"
    return f"{cardinal(part.numerator)} {name}s"


def as_fraction(figures: str) -> tuple[int, Fraction] | None:
    """Return whole and fraction of "2.5", "1 1/2" or "5/16"; None where it is not said as one."""
    whole, _, rest = figures.replace(",", "").rpartition(" ")
    if "/" in rest:
        above, below = (int(side) for side in rest.split("/"))
        if not 0 < above < below:
            return None
        return int(whole or 0), Fraction(above, below)
    whole, _, decimals = rest.partition(".")
    part = _DECIMAL_FRACTIONS.get(decimals.rstrip("0"))
    return None if part is None else (int(whole or 0), part)


def say_number(figures: str | float, style: Style = "plain") -> str:
    """Return a number in words.

    ``figures`` is a number, or how it is written: "2.5", "1,200", "-5", "5/16", "1 1/2". A number
    below one is said with its article: "a half", "a quarter".

    Raises:
        ValueError: it is no number, or not a finite one.
    """
    text = figures if isinstance(figures, str) else f"{Decimal(str(figures)):f}"
    if not re.fullmatch(f"-?{FIGURES}", text):
        raise ValueError(f"{text!r} is not a number")
    if text.startswith("-"):
        return f"minus {say_number(text[1:], style)}"
    parts = as_fraction(text)
    if parts is not None and ("/" in text or _is_said(parts, style)):
        whole, part = parts
        return (
            f"{_whole(whole, style)} and {fraction_words(part)}" if whole else fraction_words(part)
        )
    if "/" in text:
        return " over ".join(" ".join(map(say_number, side.split())) for side in text.split("/"))
    whole_text, _, decimals = text.replace(",", "").partition(".")
    words = _whole(int(whole_text or 0), style)
    return f"{words} point {' '.join(_SMALL[int(d)] for d in decimals)}" if decimals else words


def _is_said(parts: tuple[int, Fraction], style: Style) -> bool:
    return style == "measure" or (style == "sign" and parts[1] == Fraction(1, 2))


def _whole(number: int, style: Style) -> str:
    return paired(number) if style == "sign" else cardinal(number)
