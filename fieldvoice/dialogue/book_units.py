"""What a bare number stands for in a metric book: degrees Celsius, litres, centimetres of trunk.

The grammar takes numbers without a unit as Fahrenheit, gallons and inches. Where the words name no
unit of that sort, a metric book takes them as its own; a unit that was said always holds.
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from fieldvoice.schema import Act, Ask, Command, EntityMention, meaning_from

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from fieldvoice.dialogue.reader import Reader
    from fieldvoice.nlu.hypothesis import Hypothesis
    from fieldvoice.nlu.second_reader import SecondReading
    from fieldvoice.schema import Meaning
    from fieldvoice.transcript import Transcript

_DEGREES = ("temp_f", "low_f", "high_f", "water_boils_f")
_VOLUMES = ("volume_gal", "syrup_gal", "other_gal", "capacity_gal", "least_gal")
_TRUNKS = ("diameter_in", "length_in")

#: Nothing that is boiled here gets so hot in Celsius: it is Fahrenheit.
_HOTTEST_C = 130.0

_LITRES_PER_GAL, _CM_PER_IN = 3.785411784, 2.54

#: For each sort of field the words that name a unit of it, and what a number without one comes to.
_SORTS: tuple[tuple[tuple[str, ...], re.Pattern[str], Callable[[float], float]], ...] = (
    (
        _DEGREES,
        re.compile(r"fahrenheit|celsius|centigrade|°\s?[fc]\b|\d\s?[fc]\b|\bdegrees [fc]\b", re.I),
        lambda celsius: celsius * 1.8 + 32,
    ),
    (
        _VOLUMES,
        re.compile(
            r"gallon|quart|pint|cup|ounce|lit(?:er|re)|\d\s?(?:gal|gals|qts?|pts?|oz|ml|l)\b|\bgals?\b",
            re.I,
        ),
        lambda litres: litres / _LITRES_PER_GAL,
    ),
    (
        _TRUNKS,
        re.compile(
            r"inch|foot|feet|met(?:er|re)|\d\s?(?:(?:in|ft|cm|mm|m)\b|[\"”″])|\bcm\b", re.IGNORECASE
        ),
        lambda centimetres: centimetres / _CM_PER_IN,
    ),
)


def names_degrees(text: str) -> bool:
    """Whether words name Fahrenheit or Celsius."""
    return bool(_SORTS[0][1].search(text))


def in_stored_unit(slot: str, number: float, *, metric: bool) -> float:
    """Return a bare number said for ``slot`` in the unit that the slot is stored in."""
    if metric:
        for names, _, stored in _SORTS:
            if slot in names:
                return round(stored(number), 4)
    return number


class BookReader:
    """Reads as ``reader`` does, and takes numbers without a unit as those of a metric book."""

    def __init__(self, reader: Reader) -> None:
        self._reader = reader

    def __getattr__(self, name: str) -> Any:
        return getattr(self._reader, name)

    def read(self, heard: Transcript, **how: Any) -> list[Hypothesis]:
        """Return the readings of what was heard, cheapest first."""
        return [_in_metric(one, heard.text) for one in self._reader.read(heard, **how)]

    def by_wording(self, heard: Transcript, *how: Any) -> list[Hypothesis]:
        """Return what was heard as learnt wordings have it."""
        return [_in_metric(one, heard.text) for one in self._reader.by_wording(heard, *how)]

    def second(self, heard: Transcript, *how: Any, **which: Any) -> SecondReading | None:
        """Return what the second reader makes of what was heard."""
        read = self._reader.second(heard, *how, **which)
        if read is None:
            return None
        return replace(read, meanings=tuple(_meant(one, heard.text) for one in read.meanings))

    def wording_of(self, *_: object, **__: object) -> None:
        """Learn nothing: the values of a note are no longer those of its words."""
        return


def _in_metric(reading: Hypothesis, text: str) -> Hypothesis:
    said = f"{text} {reading.text}"
    return replace(reading, meanings=tuple(_meant(one, said) for one in reading.meanings))


def _meant(meaning: Meaning, text: str) -> Meaning:
    """Return a meaning with its bare numbers as a metric book has them."""
    if isinstance(meaning, Command):
        return replace_fields(meaning, _stored(meaning.fields, text))
    if isinstance(meaning, EntityMention):
        return EntityMention(mention=_stored(meaning.mention, text))
    fields = meaning.json_fields()
    stored = _stored(fields, text)
    return meaning if stored == fields else meaning_from(stored)


def replace_fields(command: Command, fields: Mapping[str, Any]) -> Command:
    """Return a command that carries other fields."""
    return command if fields == command.fields else Command(do=command.do, fields=dict(fields))


def _stored(fields: Mapping[str, Any], text: str) -> dict[str, Any]:
    stored = dict(fields)
    for names, named, convert in _SORTS:
        for name in names:
            value = stored.get(name)
            if not isinstance(value, int | float) or named.search(text):
                continue
            if not (names is _DEGREES and value > _HOTTEST_C):
                stored[name] = round(convert(value), 4)
    return stored


def with_degrees(
    meaning: Act | Ask, change: Callable[[float], float], slots: Sequence[str] = _DEGREES
) -> Meaning:
    """Return a meaning with each of its temperatures changed."""
    fields = meaning.json_fields()
    return meaning_from(
        {k: round(change(v), 4) if k in slots and v is not None else v for k, v in fields.items()}
    )
