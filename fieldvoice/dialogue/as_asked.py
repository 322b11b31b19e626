"""How a question wants its answer: in the measure it names, and of the year or day it names."""

from __future__ import annotations

import re
from calendar import monthrange
from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

from fieldvoice.nlg.numbers import ordinal, paired
from fieldvoice.schema import Ask

if TYPE_CHECKING:
    from datetime import date

    from fieldvoice.dialogue.context import Turn

_METRIC = "lit(?:er|re)s?|celsius|centimet(?:er|re)s?|cm|kilos?|kilograms?"
_US = "gallons?|fahrenheit|inches"
_MEASURE = re.compile(
    rf"\b(?:how (?:many|much)|total|in|what) (?:(?P<metric>{_METRIC})|{_US})\b", re.IGNORECASE
)

_WEEKEND = re.compile(r"\b((?:since|on) )the weekend\b", re.IGNORECASE)


def in_measure_asked(turn: Turn, text: str) -> Turn:
    """Return an answer in the units that its question names: "how many liters came in"."""
    found = _MEASURE.search(text)
    is_answer = turn.outcome == "answered" and all(isinstance(one, Ask) for one in turn.meanings)
    if found is None or not is_answer or turn.metric is not None:
        return turn
    return replace(turn, metric=found["metric"] is not None)


_DAYS = {ordinal(day): day for day in range(1, 32)}
_NTH = "|".join(sorted(_DAYS, key=len, reverse=True))
#: A day of the month by its number alone, at the end: "since the first boil" is none.
_DAY = re.compile(
    rf"\b((?:on|since|from) the )(?:(?P<nth>{_NTH})|(?P<day>\d\d?)(?:st|nd|rd|th))(?=\W*$)",
    re.IGNORECASE,
)


def with_dates(text: str, today: date) -> str:
    """Return ``text`` with years called as people mostly do, and days with their month.

    "In 2026" is "last year" in 2027, "in March 2026" is "in March last year"; "on the fourth" is
    the fourth that was last.
    """
    for one, called in ((today.year - 1, "last year"), (today.year, "this year")):
        said = f"{one}|{paired(one)}"
        text = re.sub(rf"\b(?:(?:back in|in|of|from|during) )?(?:{said})\b", called, text)
    text = _WEEKEND.sub(r"\1saturday", text)
    week_ago = today - timedelta(days=7)
    text = re.sub(  # "last saturday" said on one
        rf"\blast {today:%A}\b(?! night)", f"on the {ordinal(week_ago.day)} of {week_ago:%B}", text,
        flags=re.IGNORECASE,
    )  # fmt: skip
    found = _DAY.search(text)
    if found is None:
        return text
    day = _DAYS[found["nth"].lower()] if found["nth"] else int(found["day"])
    month = today if day <= today.day else today.replace(day=1) - timedelta(days=1)
    if not 0 < day <= monthrange(month.year, month.month)[1]:
        return text
    nth = found["nth"] or ordinal(day)
    return f"{text[: found.start()]}{found[1]}{nth} of {month:%B}{text[found.end() :]}"
