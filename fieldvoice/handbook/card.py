"""One card of the handbook: what is said when somebody asks about the trade."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal, get_args

CardLevel = Literal["note", "care", "stop", "emergency"]

LEVELS: tuple[CardLevel, ...] = get_args(CardLevel)

#: The longest spoken answer, in words: what can be kept in mind with both hands full.
MOST_WORDS = 25

_WORD = re.compile(r"[a-z0-9]+(?:'[a-z]+)?")


@dataclass(frozen=True, slots=True)
class Card:
    """What is told about one thing, why, by whom, and the ways in which people ask for it.

    ``say`` is spoken, the danger first; ``sources`` are written out. ``topic`` is the passing
    question of the grammar that leads here too; ``rule`` names the rule or question that works out
    a number when the asking gives one.
    """

    id: str
    subject: str
    title: str
    level: CardLevel
    say: str
    why: str
    sources: tuple[str, ...]
    asked: tuple[str, ...]
    topic: str | None = None
    rule: str | None = None


def words(text: str) -> list[str]:
    """Return the words of a text in small letters, without signs."""
    return _WORD.findall(text.lower().replace("’", "'"))
