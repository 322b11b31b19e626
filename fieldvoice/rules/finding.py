"""What a rule has to say about facts: one spoken sentence, its reason and its source."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Level = Literal["note", "care", "stop"]
Certainty = Literal["published", "common practice", "design choice"]

COMMON_PRACTICE = "common practice"


@dataclass(frozen=True, slots=True)
class Finding:
    """One rule's word on the facts.

    ``level``: ``note`` (good to know), ``care`` (do something soon), ``stop`` (do not go on).
    ``text`` is one short sentence to be spoken; ``why`` gives the reasoning with its numbers.
    """

    rule: str
    level: Level
    text: str
    why: str
    source: str
    certainty: Certainty = "published"
