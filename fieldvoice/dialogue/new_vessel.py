"""A vessel told of for the first time, by what it holds: "the stock pot can hold six gallons"."""

from __future__ import annotations

import re
from dataclasses import replace
from difflib import get_close_matches
from typing import TYPE_CHECKING

from fieldvoice.dialogue.numbers_said import AMOUNT, NUMBER
from fieldvoice.nlu.normalise import words_of
from fieldvoice.schema.names import is_name, plain_name

if TYPE_CHECKING:
    from collections.abc import Mapping

    from fieldvoice.grammar.entity_names import EntityNames

_HOLDS = re.compile(
    r"\W*(?:(?:and|so|ok(?:ay)?|well)\W+)*(?:(?:the|our|my)\s+)(?P<name>[a-z]+(?:[ -][a-z]+){0,2}?)"
    r"\s+can hold\s+[\w .,/]*(?:gallons?|gals?|quarts?|lit(?:re|er)s?)"
    r"[\s.!]*",
    re.IGNORECASE,
)
#: The same in other words, and perhaps without the unit: "blue barrel is a 55", "our vat fits 40".
_SIZED = re.compile(
    r"\W*(?:(?:and|so|ok(?:ay)?|well)\W+)*(?:(?:the|our|my)\s+)?(?P<name>[\w' -]+?)\s*"
    r"(?:\b(?:can hold|holds|will hold|can take|takes|fits|has room for)\s+|(?:\bis|'s)\s+an?\s+)"
    rf"(?:about |around )?(?P<size>{AMOUNT})(?:[ -]?(?P<unit>gallon(?:s|er)?|gals?|g|quarts?|qts?"
    r"|lit(?:re|er)s?|l))?(?: one)?[\s.!]*",
    re.IGNORECASE,
)
#: One that is there: "we have a forty gallon tank".
_OWNED = re.compile(
    r"(?:(?:(?:we|i)(?:'ve)? )?(?:have|got|own|bought)|there's|there is) an?(?: new)?"
    rf" (?P<size>{NUMBER})[ -](?P<unit>gal(?:lon)?|lit(?:re|er))"
    r" (?P<name>tank|barrel|drum|tote)[\s.!]*",
    re.IGNORECASE,
)
_KINDS = frozenset(
    "tank tote barrel drum jug vat can keg cooler tub pot kettle carboy bin crock cask".split()
)
#: What holds something and is no vessel for sap, or is known by its number.
_OTHER_THINGS = frozenset(
    "tree trees maple bucket buckets pail pails bag bags jar jars bottle bottles pan row rows one "
    "ones it that this other others new old big small truck car house cup spoon ladle filter "
    "tank tote barrel drum jug vat".split()
)


def as_told(text: str, sizes: Mapping[str, float | None], *, metric: bool) -> str:
    """Return ``text`` as "the blue barrel can hold 55 gallons", where it tells a vessel's size.

    ``sizes`` are the vessels with what is known of theirs: once it is, "holds" tells the level.
    Without its unit a size is in gallons, of a ``metric`` book in litres.
    """
    owned = _OWNED.fullmatch(text)
    found = owned or _SIZED.fullmatch(text)
    if found is None:
        return text
    name = found["name"].lower()
    kinds = {word for word in re.split(r"[ -]", name) if word in _KINDS}
    known = {words_of(one): size for one, size in sizes.items()}
    if known.get(words_of(name)) is not None:
        return text
    if words_of(name) not in known and (not kinds or _NO_NAME.search(name)):
        return text
    unit = found["unit"] or ("liters" if metric else "gallons")
    unit = "gallons" if unit.lower().startswith("g") else unit
    unit = f"{unit}s" if owned and not unit.endswith("s") else unit
    article = "" if re.search(r"\d$|\b(?:one|two|three|four|five|six)$", name) else "the "
    return f"{article}{name} can hold {found['size']} {unit}"


_NO_NAME = re.compile(r"\b(?:it|that|this|we|i|they|bucket|tree|how|what|if|each|in|on|of)\b")


def new_vessel_in(text: str, names: EntityNames) -> str | None:
    """Return the vessel that ``text`` tells the size of, where nothing has its name yet."""
    found = _HOLDS.fullmatch(text)
    if found is None:
        return None
    name = plain_name(found["name"])
    is_known = name in names.trees or name in names.vessels
    is_other = not is_name(name) or name.split()[-1] in _OTHER_THINGS
    return None if is_known or is_other else name


def may_be_mistyped(name: str, names: EntityNames) -> bool:
    """Whether a new vessel's name is as like as not that of one that is known, with a slip."""
    return bool(get_close_matches(name, [str(one) for one in names.vessels], n=1, cutoff=0.8))


def with_vessel(names: EntityNames, vessel: str) -> EntityNames:
    """Return ``names`` with one more vessel."""
    return replace(names, vessels=names.vessels | {vessel})
