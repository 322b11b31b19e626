"""A unit said once in a breath holds for the bare numbers of its sort that are said after it.

"High six celsius, low minus five" is two temperatures in Celsius, "two quarts from nine, three from
ten" two amounts in quarts. The grammar takes a bare number as Fahrenheit, or as gallons.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.nlu.normalise import spell
from fieldvoice.schema import Act, meaning_from

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from fieldvoice.nlu.chunker import Span
    from fieldvoice.schema import Meaning

HEATS = frozenset({"temp_f", "low_f", "high_f"})

#: Units of amounts, in gallons (exact definitions: 4 quarts, 8 pints, 128 ounces, 3.785411784 l).
IN_GALLONS = (
    (("gallon", "gallons"), 1.0),
    (("quart", "quarts"), 1 / 4),
    (("pint", "pints"), 1 / 8),
    (("cup", "cups"), 1 / 16),
    (("ounce", "ounces"), 1 / 128),
    (("liter", "liters", "litre", "litres"), 1 / 3.785411784),
)
_GALLONS_OF = {name: size for names, size in IN_GALLONS for name in names}
UNIT_WORDS = frozenset(_GALLONS_OF)
_OTHER_UNITS = UNIT_WORDS - {"gallon", "gallons"}

_FEW = {spell(number): number for number in range(2, 10)}
_SIZES = frozenset(map(spell, (*range(1, 20), *range(20, 100, 10))))

#: Sorts of pieces that may be without a unit.
_BARE = ("number", "temperature")


def unit_in(said: Sequence[str]) -> float | None:
    """Return the first unit in the words of an amount, in gallons; None where they have none."""
    return next((size for names, size in IN_GALLONS if any(name in said for name in names)), None)


def is_of_a_thing(words: Sequence[str], at: int) -> bool:
    """Whether the word at a place is a share of something: "half the tank", "a third of it".

    "Half of a gallon" is an amount.
    """
    leads = words[at] in _SHARES and words[at + 1 : at + 2] and words[at + 1] in _OF_A_THING
    return bool(leads) and unit_in(words[at + 1 : at + 4]) is None


_SHARES = frozenset({"half", "third", "thirds", "quarter", "quarters"})
_OF_A_THING = frozenset({"the", "of", "our", "my", "what"})


def how_many(said: Sequence[str]) -> int | None:
    """Return how many of a size an amount tells: three for "three two gallon" (buckets)."""
    is_size = len(said) > 1 and said[1] in _SIZES
    return _FEW.get(said[0]) if is_size else None


def may_share(words: Sequence[str]) -> bool:
    """Whether words name a unit that a bare number beside it may have as well."""
    return names_celsius_alone(words) or not _OTHER_UNITS.isdisjoint(words)


def names_celsius_alone(words: Sequence[str]) -> bool:
    """Whether the one unit of temperature that was said is Celsius."""
    return {"celsius", "fahrenheit"}.intersection(words) == {"celsius"}


def with_shared_units(
    meanings: tuple[Meaning, ...], words: Sequence[str], pieces: Sequence[Span]
) -> tuple[Meaning, ...]:
    """Return meanings with bare numbers in the unit that was said with another of their sort."""
    told = [one.json_fields() for one in meanings if isinstance(one, Act)]
    trees = [tuple(fields["trees"]) for fields in told if "trees" in fields]
    pieces = [one for one in pieces if one.sort != "trees" or tuple(one.value) in trees]
    heats = sum(len(HEATS & fields.keys()) for fields in told)
    amounts = sum("volume_gal" in fields for fields in told)
    shared = meanings
    if heats > 1 and names_celsius_alone(words):
        shared = _changed(shared, HEATS, lambda value: _in_celsius(value, words, pieces))
    if amounts > 1:
        shared = _changed(
            shared, frozenset({"volume_gal"}), lambda value: _in_last_unit(value, words, pieces)
        )
    return shared


def _changed(
    meanings: tuple[Meaning, ...], slots: frozenset[str], change: Callable[[float], float]
) -> tuple[Meaning, ...]:
    return tuple(
        meaning_from(
            {k: change(v) if k in slots else v for k, v in meaning.json_fields().items()}
        )
        if isinstance(meaning, Act) and slots & meaning.json_fields().keys()
        else meaning
        for meaning in meanings
    )  # fmt: skip


def _in_celsius(value: float, words: Sequence[str], pieces: Sequence[Span]) -> float:
    return value if _bare_at(value, words, pieces) is None else round(value * 1.8 + 32, 4)


def _in_last_unit(value: float, words: Sequence[str], pieces: Sequence[Span]) -> float:
    """Return an amount in the unit said last before its number, where it has none of its own."""
    at = _bare_at(value, words, pieces)
    units = [_GALLONS_OF[word] for word in words[: at or 0] if word in _GALLONS_OF]
    return round(value * units[-1], 4) if units else value


def _bare_at(value: float, words: Sequence[str], pieces: Sequence[Span]) -> int | None:
    """Return where a value was said without a unit, None where it was said with one or not at all.

    A number that names a tree or vessel, or is part of a larger piece, is none.
    """
    whole = [
        one for one in pieces
        if not any(
            other.start <= one.start and one.end <= other.end and len(other) > len(one)
            for other in pieces
        )
    ]  # fmt: skip
    if any(one.sort == "volume" and one.value == value for one in whole):
        return None
    bare = [
        one.start for one in whole
        if one.sort in _BARE and one.value == value and not _has_unit(words, one)
    ]  # fmt: skip
    return bare[-1] if bare else None


def _has_unit(words: Sequence[str], piece: Span) -> bool:
    said = words[piece.start : piece.end + 1]
    return any(word in _GALLONS_OF or word == "celsius" for word in said)
