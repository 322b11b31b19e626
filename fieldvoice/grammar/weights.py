"""How often things are said, in tiers: a weight in a grammar is one of these and no other.

The steps are those of coins, 1 – 2 – 5, each about twice the next. A finer one would say more than
anybody knows of how people speak, and could be neither remembered nor kept up.
"""

from __future__ import annotations

import math

#: The tiers by weight, with what each says of an alternative beside those without a weight (1).
TIERS: dict[float, str] = {
    20: "nearly always",
    10: "mostly",
    5: "usually",
    2: "often",
    1: "as often as others; not written",
    0.5: "now and then",
    0.2: "seldom",
    0.1: "rarely",
    0.05: "very rarely",
    0.02: "hardly ever",
    0.001: "last of all: read only where nothing else fits, and never heard",
}

#: What is said less often than this does the recogniser no good: it is a saying, not grammar.
LEAST = 0.02


def nearest(weight: float) -> float:
    """Return the tier that stands nearest to ``weight`` by ratio; none of the last ones' is new."""
    heard = [tier for tier in TIERS if tier >= LEAST]
    return min(heard, key=lambda tier: abs(math.log(tier / weight)))
