"""What others said: "my uncle says his tree nine gave two gallons" is nobody's own note.

It may be one all the same, so that it is put to whoever tells it. Who of the house stands by and
has something noted ("my daughter says tree five is full") tells it as if they typed it.
"""

from __future__ import annotations

import re

_SAYING = re.compile(
    r"(?:\b(?P<whose>my|our|the|your|his|her|their) )?\b(?P<who>\w+) "
    r"(?P<says>says?|said|thinks?|reckons?|claims?|tells (?:me|us)|told (?:me|us))\b",
    re.IGNORECASE,
)
#: Of somebody else's yard, or at somebody else's place.
_THEIRS = re.compile(
    r"\b(?:his|her|their) (?:(?!bucket|pail)\w+ )?(?:trees?|maples?|tanks?|totes?|yard|bush)\b"
    r"|\bat (?:(?:my|our|the|his|her|their) )?\w+(?:'s|s')"
    r"(?: (?:place|house|farm|cabin|camp)\b|(?: last night| today| yesterday| this morning)?\W*$)",
    re.IGNORECASE,
)
_OF_THE_HOUSE = frozenset(
    "son grandson daughter granddaughter father mother kid kids boy boys girl girls wife husband "
    "brother sister".split()
)
#: What is read off: "the thermometer on the porch says forty".
_GAUGES = frozenset(
    "refractometer hydrometer thermometer gauge meter tape scale stick dipstick dial caliper ruler "
    "radio forecast station label clock scope nose bark book phone pail bucket".split()
)
#: Who speaks, and what is no speaker.
_NO_OTHERS = frozenset(
    "it that this which what i d we you like just have has had as all to".split()
)


def is_hearsay(text: str) -> bool:
    """Whether words tell what somebody else said, or said before, or of somebody else's trees."""
    if _THEIRS.search(text):
        return True
    return any(
        not _is_noted_for(found["whose"], found["who"].lower(), found["says"].lower())
        for found in _SAYING.finditer(text)
        if found["who"].lower() not in _NO_OTHERS
        and _GAUGES.isdisjoint(re.findall(r"[a-z]+", text[: found.end()].lower()))
    )


def _is_noted_for(whose: str | None, who: str, says: str) -> bool:
    return whose is not None and who in _OF_THE_HOUSE and says in ("say", "says")
