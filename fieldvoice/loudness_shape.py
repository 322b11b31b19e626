"""How loud a recording is from moment to moment, as a text: it tells doubles in other formats."""

from __future__ import annotations

#: A sign for each decibel from the quietest on.
_SIGNS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz-_"
_QUIETEST_DB = -63.0
#: Steps by which formats put their beginning off: some begin with a little silence.
SHAPES_MAY_SHIFT = 3
#: Two of one sound differ by less on the mean, in decibels. (Tried with the formats that phones
#: write: 0.0 to 1.8, by telephone's narrow band 2.3; other words 6 and more.)
_ALIKE_DB = 3.0
#: Shorter ones say too little.
_FEWEST = 10


def shape_of(levels_db: list[float]) -> str:
    """Return the shape of a recording, given how loud each step is (0 is the most there is)."""
    places = (round(level - _QUIETEST_DB) for level in levels_db)
    return "".join(_SIGNS[min(max(place, 0), len(_SIGNS) - 1)] for place in places)


def alike(one: str, other: str) -> bool:
    """Whether two shapes are nearly the same, one begun a little later than the other perhaps."""
    if min(len(one), len(other)) < _FEWEST or abs(len(one) - len(other)) > SHAPES_MAY_SHIFT:
        return False
    mine, yours = map(_levels, (one, other))
    shifts = range(-SHAPES_MAY_SHIFT, SHAPES_MAY_SHIFT + 1)
    return any(_apart(mine[max(0, s) :], yours[max(0, -s) :]) < _ALIKE_DB for s in shifts)


def _levels(shape: str) -> list[int]:
    return [_SIGNS.index(sign) for sign in shape]


def _apart(mine: list[int], yours: list[int]) -> float:
    pairs = list(zip(mine, yours, strict=False))
    return sum(abs(one - other) for one, other in pairs) / max(1, len(pairs))
