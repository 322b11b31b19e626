"""A note with words beside it that are none: "skipped tree six, too much snow".

What is known word for word is a note, whatever stands before or after it, where
that denies, weakens and counts nothing. The speaker hears which words were not taken.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from fieldvoice.nlu.binder import NUMBER_WORDS, TURNING

if TYPE_CHECKING:
    from collections.abc import Iterator

_PARTED = re.compile(
    r"\s*[,.;]\s+(?:and |so |but )?|\s+-+\s+|(?<!nothing)\s+(?:because|since|but|so)\s+", re.I
)
#: What is told of a time gone by is no note of today.
_GONE_BY = re.compile(r"\blast (?:year|season|spring|time|march)\b", re.I)
#: What is told of another day is no note as it stands: "this is for yesterday, tree nine …".
_OF_A_DAY = re.compile(
    r"^(?:(?:this|that|it)(?:'s| is| was) )?(?:for |from |of |on )?"
    r"(?:\w+day|last night)\W*$",
    re.I,
)
#: That no sap came tells nothing of what was noted beside it: "it got down to 33, so nothing ran".
_NO_RUN = re.compile(
    r"(?:and |so )*(?:nothing (?:ran|is running|'s running)|no (?:run|flow)(?: today| yet)?"
    r"|nothing (?:came|dripped))",
    re.I,
)
#: These turn a note round where they stand in it; beside one they turn nothing.
_HARMLESS = frozenset(
    "again but like year years season ever looks next yet because what how who where which felt "
    "feels or said says".split()
)
#: What is told of these is a thing of its own, to be noted too.
_TELLING = frozenset(
    "lid lids cover bucket buckets pail pails bag spile tap taps spout tank barrel tote pan sap "
    "syrup ice rain limb branch crack cracked leak leaks leaking broke broken sour "
    "cloudy spilled "
    # and what was done to one
    "threw thrown dumped tossed poured emptied gathered collected pulled tapped hung washed rinsed "
    "moved sold gave packed boiled".split()
)
_WORDS = re.compile(r"[a-z']+|\d")


def parts_of(text: str) -> Iterator[tuple[str, str]]:
    """Yield each way to part words into a note and what is beside it, the longest note first."""
    ways = []
    for cut in _PARTED.finditer(text):
        head, tail = text[: cut.start()], text[cut.end() :].rstrip(" .!")
        ways += [(head, tail), (tail, head)]
    for note, beside in sorted(ways, key=lambda way: -len(way[0])):
        if note and beside and _changes_nothing(beside):
            yield note, beside


def _changes_nothing(beside: str) -> bool:
    """Whether words neither deny, nor weaken, nor count."""
    if _NO_RUN.fullmatch(beside):
        return True
    words = _WORDS.findall(beside.lower())
    if (
        not words
        or _GONE_BY.search(beside)
        or _OF_A_DAY.search(beside)
        or any(word.isdigit() or word.endswith("n't") for word in words)
    ):
        return False
    return (NUMBER_WORDS | _TELLING | (TURNING - _HARMLESS)).isdisjoint(words)
