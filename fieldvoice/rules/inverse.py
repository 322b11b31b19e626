"""A rising function turned round, by halving the interval in which the answer lies."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable


def inverse(
    rising: Callable[[float], float], wanted: float, low: float, high: float, *, halvings: int = 50
) -> float:
    """Return where ``rising`` comes to ``wanted``, or the end of the interval nearest to it.

    The answer is exact to ``(high - low) / 2 ** halvings``.
    """
    for _ in range(halvings):
        middle = (low + high) / 2
        low, high = (middle, high) if rising(middle) < wanted else (low, middle)
    return (low + high) / 2
