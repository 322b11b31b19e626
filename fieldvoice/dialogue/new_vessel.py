"""A vessel told of for the first time, by what it holds: "the stock pot can hold six gallons"."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

from fieldvoice.schema.names import is_name, plain_name

if TYPE_CHECKING:
    from fieldvoice.grammar.entity_names import EntityNames

_HOLDS = re.compile(
    r"\W*(?:(?:and|so|ok(?:ay)?|well)\W+)*(?:(?:the|our|my)\s+)(?P<name>[a-z]+(?:[ -][a-z]+){0,2}?)"
    r"\s+(?:can hold|holds|will hold|can take)\s+[\w .,/]*(?:gallons?|gals?|quarts?|lit(?:re|er)s?)"
    r"[\s.!]*",
    re.IGNORECASE,
)
#: What holds something and is no vessel for sap, or is known by its number.
_OTHER_THINGS = frozenset(
    "tree trees maple bucket buckets pail pails bag bags jar jars bottle bottles pan row rows one "
    "ones it that this other others new old big small truck car house cup spoon ladle filter "
    "tank tote barrel drum jug vat".split()
)


def new_vessel_in(text: str, names: EntityNames) -> str | None:
    """Return the vessel that ``text`` tells the size of, where nothing has its name yet."""
    found = _HOLDS.fullmatch(text)
    if found is None:
        return None
    name = plain_name(found["name"])
    is_known = name in names.trees or name in names.vessels
    is_other = not is_name(name) or name.split()[-1] in _OTHER_THINGS
    return None if is_known or is_other else name


def with_vessel(names: EntityNames, vessel: str) -> EntityNames:
    """Return ``names`` with one more vessel."""
    return replace(names, vessels=names.vessels | {vessel})
