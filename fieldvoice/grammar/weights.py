"""How often things are said, in tiers: a weight in a grammar is one of these and no other.

Each is two or three times the next. A finer step would say more than anybody knows of how people
speak, and could be neither remembered nor kept up.
"""

from __future__ import annotations

import math

#: The tiers by weight, with what each says of an alternative beside one without a weight (1).
TIERS: dict[float, str] = {
    20: "nearly always",
    10: "mostly",
    5: "usually",
    3: "very often",
    2: "often",
    1: "as often as not",
    0.5: "now and then",
    0.3: "sometimes",
    0.1: "seldom",
    0.05: "rarely",
    0.02: "hardly ever",
    0.001: "last of all: read only where nothing else fits, and never heard",
}

#: What is said less often than this does the recogniser no good: it is a saying, not grammar.
LEAST = 0.02


def nearest(weight: float) -> float:
    """Return the tier that stands nearest to ``weight`` by ratio."""
    return min(TIERS, key=lambda tier: abs(math.log(tier / weight)))


def as_written(weight: float) -> str:
    """Return a weight as it is written between the slashes."""
    return f"{weight:g}"
