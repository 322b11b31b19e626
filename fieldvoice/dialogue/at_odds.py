"""Numbers of notes that cannot all be so: one of two was meant, one is a part of another.

The words tell it ("two or three gallons", "packed six pints, two of them dark"), or the notes do by
themselves: a bucket full and empty, degrees of another day than they were told of.
"""

from __future__ import annotations

import re
from itertools import combinations
from typing import TYPE_CHECKING

from fieldvoice.dialogue.numbers_said import NUMBER_OR_PART, SEVERAL
from fieldvoice.nlu.normalise import spell, words_of
from fieldvoice.nlu.times import WEEKDAYS
from fieldvoice.schema.acts import (
    Boil,
    Cost,
    Draw,
    Fuel,
    Gather,
    Pack,
    Pull,
    Reading,
    StockOut,
    Weather,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fieldvoice.schema import Act

#: Two values of which one is meant, or how far something went: "two or three gallons".
_EITHER = re.compile(
    rf"\b{NUMBER_OR_PART}(?: \w+)?,? or(?: was it| maybe| so)? {NUMBER_OR_PART}\b|\bcouple three\b",
    re.IGNORECASE,
)
_BETWEEN = re.compile(
    rf"\b{NUMBER_OR_PART}(?: \w+)?,? (?:to|through|maybe|by) {NUMBER_OR_PART}\b|\b\d+ ?- ?\d+\b"
    rf"|\bfrom (?:\w+ )?{NUMBER_OR_PART}(?: \w+)? to\b",
    re.IGNORECASE,
)
#: A part of what was told before, or one that was lost.
_PART_OF = re.compile(
    rf"\b(?:{NUMBER_OR_PART}|some|most|rest) of (?:them|those|these|it|the {NUMBER_OR_PART})\b"
    rf"|\b(?:traded|swapped)\b"
    r"|\b(?:but|only) (?:i |we |she |he )?(?:\w+ )?(?:only )?(?:spilled|lost|took|paid)\b",
    re.IGNORECASE,
)
#: One of several things, and no tree one: "tree four has two taps, one is dry".
_ONE_OF_SEVERAL = re.compile(
    rf"\b(?:{SEVERAL}|both) (?:taps|spiles|holes|buckets|pails|bags|jugs|jars|pints|quarts|trees)\b"
    r"[^.]*\W(?:and |but )?one (?:of (?:them|the \w+) )?(?:is|was|has|had|ran|looks|looked)\b",
    re.IGNORECASE,
)
_OTHER_THAN = r"\b(?:except|besides|apart from|other than)\b"
_EXCEPT = re.compile(_OTHER_THAN, re.IGNORECASE)
#: What is left out of all, or all that it was of.
_BUT_FOR = re.compile(
    _OTHER_THAN + r"|\b(?:all|every\w*) (?:\w+ ){0,3}but\b"
    r"|\b(?:half|most|some) (?:of )?the\b|\bevery (?:other|second|third)\b"
    r"|\b(?:under|over) \w+ inches\b",
    re.IGNORECASE,
)
_SO_MANY = re.compile(rf"\b{NUMBER_OR_PART} (?:of (?:the |our )?)?(?:taps|spiles)\b", re.IGNORECASE)
#: A fire that was lit and went out is two notes.
_LIT_AND_OUT = re.compile(
    r"\b(?:lit|started|fired)\b.*\b(?:out|done|stopped|shut)\b|\bout\b.*\brelit\b", re.IGNORECASE
)
#: A time that belongs to what is to come: "bob took two pints, will pay friday".
_PLANNED = re.compile(
    r"(?:\b(?:will|gonna|going to)\b|'ll\b)[^,.;]*\b(?:\w+day|tomorrow|tonight|later)\b",
    re.IGNORECASE,
)
#: Hotter days were never measured (134 °F, World Meteorological Organization).
_HOTTEST_F = 134
#: Nothing thinner is drawn off as syrup, which has 66 (a choice, far below it).
_THINNEST_BRIX = 40
#: Nothing boiling is so hot (sugar burns at about 350 °F, common knowledge): an hour was meant.
_BURNT_F = 400
_GAUGED = frozenset({"inspect", "measure", "health", "reading", "sweetness", "weather"})
_LATER = re.compile(r"\b(?:now|then|later|morning|noon|night|yesterday|today|after)\b", re.I)


def are_at_odds(text: str, acts: Sequence[Act]) -> bool:
    """Return whether the numbers of notes read from ``text`` speak against each other.

    One is one of two, or of a part of what the other is of, or an exception is in no note.
    """
    alike = [pair for pair in combinations(acts, 2) if pair[0].act == pair[1].act]
    if alike and (_EITHER.search(text) or _PART_OF.search(text) or _EXCEPT.search(text)):
        return True
    if any(getattr(one, "tree", None) == 1 for one in acts) and _ONE_OF_SEVERAL.search(text):
        return True
    if sum(isinstance(one, Boil) for one in acts) == 1 and _LIT_AND_OUT.search(text):
        return True
    of_one = [pair for pair in alike if _may_be_of_one(*pair)]
    if of_one and _BETWEEN.search(text):
        return True
    if any(_contradict(one, other) for one, other in of_one) and not _LATER.search(text):
        return True
    if any(map(_is_of_all, acts)) and _BUT_FOR.search(text):
        return True
    if any(map(_is_at_odds, acts)) or _are_told_twice(acts) or _are_crossed(text, acts):
        return True
    if any(isinstance(one, Pull) and one.all for one in acts) and _SO_MANY.search(text):
        return True
    return any(one.at for one in acts) and bool(_PLANNED.search(text))


def _is_at_odds(act: Act) -> bool:
    """Whether a note tells what cannot be: a day of boiling heat, a gift with a price."""
    if isinstance(act, Weather):
        return any(one is not None and one > _HOTTEST_F for one in (act.high_f, act.low_f))
    if isinstance(act, Reading):
        return act.temp_f is not None and act.temp_f < 0
    if isinstance(act, Draw):
        is_thin = act.brix is not None and act.brix < _THINNEST_BRIX
        return is_thin or (act.temp_f is not None and act.temp_f > _BURNT_F)
    return isinstance(act, StockOut) and act.why == "given" and act.price is not None


def _are_told_twice(acts: Sequence[Act]) -> bool:
    """Whether a number was read twice: as burned and as bought, or as all jars and their parts."""
    if any(isinstance(one, Fuel) for one in acts) and any(isinstance(one, Cost) for one in acts):
        return True
    if any(isinstance(one, Gather) and one.all for one in acts):
        return any(isinstance(one, StockOut) for one in acts)
    jars = [one for one in acts if isinstance(one, Pack)]
    parts = [one.count or 0 for one in jars[1:]]
    is_of_one = any(one.size is None for one in jars)
    return is_of_one and len(parts) > 1 and sum(parts) == jars[0].count


def _are_crossed(text: str, acts: Sequence[Act]) -> bool:
    """Whether degrees are of another day than they were told of: "44 yesterday, 46 today"."""
    weather = [one for one in acts if isinstance(one, Weather)]
    words = words_of(text)
    days = [(at, word) for at, word in enumerate(words) if word in _DAYS]
    if not weather or len({day for _, day in days}) < 2:
        return False
    if len(weather) < len(days):
        return True
    told = [(at, act) for act in weather if (at := _place_of(act, words)) is not None]
    marks = sorted([*((at, "d") for at, _ in days), *((at, "n") for at, _ in told)])
    if "".join(mark for _, mark in marks) not in ("ndnd", "dndn"):
        return False
    of_order = [act for _, act in sorted(told, key=lambda one: one[0])]
    return any(
        (act.day in (None, "today")) != (day == "today")
        for act, (_, day) in zip(of_order, days, strict=True)
    )


_DAYS = frozenset({"today", "yesterday", "tomorrow", *WEEKDAYS})


def _place_of(act: Weather, words: tuple[str, ...]) -> int | None:
    """Return where the degrees of a note stand among words."""
    value = act.high_f if act.high_f is not None else act.low_f
    said = tuple(spell(round(value)).split()) if value is not None and value >= 0 else ()
    places = (at for at in range(len(words)) if said and words[at : at + len(said)] == said)
    return next(places, None)


def _may_be_of_one(one: Act, other: Act) -> bool:
    """Whether two notes are of the same thing, or one of them names none."""
    subjects = _subject(one), _subject(other)
    return subjects[0] == subjects[1] or not all(map(any, subjects))


def _subject(act: Act) -> list[object]:
    return [getattr(act, name, None) for name in (*act.spec.subject, "at", "day")]


def _contradict(one: Act, other: Act) -> bool:
    """Whether two notes of one thing tell a value that it has but one of."""
    said, told = one.json_fields(), other.json_fields()
    return (one.act in _GAUGED or "trees" in said) and any(
        isinstance(said[name], int | float) and said[name] != told[name]
        for name in said.keys() & told.keys()
    )


def _is_of_all(act: Act) -> bool:
    """Whether a note is of every tree, with none left out."""
    told = act.json_fields()
    if "but" in told:
        return False
    trees = told.get("trees", ())
    in_a_row = len(trees) > 1 and list(trees) == list(range(trees[0], trees[0] + len(trees)))
    return bool(told.get("all")) or told.get("which") == "all" or in_a_row
