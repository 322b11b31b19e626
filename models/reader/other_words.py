"""Other words for the same: what people put one for another, and how they open a question.

A row that is taught is now and then said so, with the roles of its words and its meaning kept.
From memory of how people speak; nothing here is a measurement.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import random

Words = tuple[str, ...]


def _others(name: str) -> dict[Words, list[Words]]:
    """Return for each of a file's words what may stand in their place."""
    found: dict[Words, list[Words]] = {}
    for line in Path(__file__).with_name(name).read_text(encoding="utf-8").splitlines():
        if line.startswith("#"):
            continue
        group = [tuple(one.replace("'s", " 's").split()) for one in line.split("|")]
        for one in group:
            found.setdefault(one, []).extend(other for other in group if other != one)
    return found


_OTHER_WORDS = _others("other_words.txt")
_OTHER_OPENINGS = _others("other_openings.txt")
_LONGEST = max(map(len, _OTHER_OPENINGS))
#: How often an opening is another, and a word.
_OPENED, _WORDED = 0.3, 0.12

ROLES_OF_NO_VALUE = ("O", "X")


def all_words() -> set[str]:
    """Return every word that may be put for another."""
    return {word for one in (*_OTHER_WORDS, *_OTHER_OPENINGS) for word in one}


def in_other_words(
    words: list[str], roles: list[str], chance: random.Random
) -> tuple[list[str], list[str]]:
    """Return a line's words and their roles with some said as others would say them."""
    said, kept = [], []
    at = 0
    if chance.random() < _OPENED:
        for length in range(min(_LONGEST, len(words)), 0, -1):
            others = _OTHER_OPENINGS.get(tuple(words[:length]))
            if others and all(role in ROLES_OF_NO_VALUE for role in roles[:length]):
                other = chance.choice(others)
                said, kept, at = list(other), ["O"] * len(other), length
                break
    for word, role in zip(words[at:], roles[at:], strict=True):
        others = _OTHER_WORDS.get((word,)) if role in ROLES_OF_NO_VALUE else None
        if others and chance.random() < _WORDED:
            other = chance.choice(others)
            said += other
            kept += ["O"] * len(other)
        else:
            said.append(word)
            kept.append(role)
    return said, kept
