"""How far something is that takes its time, told to whoever waits for it."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterator
    from typing import TypeVar

    #: Told how much of a work is done, and how much there is, in any unit.
    Tell = Callable[[float, float], None]
    T = TypeVar("T")

#: It is told as often as this for many things, and for few after each.
_TIMES = 1000


def untold(done: float, whole: float) -> None:
    """Tell nobody."""


def part_of(tell: Tell, begins: float, ends: float) -> Tell:
    """Return what is told of one part of a work, which is the whole from 0 to 1."""

    def told(done: float, whole: float) -> None:
        tell(begins + (ends - begins) * (done / whole if whole else 1.0), 1.0)

    return told


def telling(things: Collection[T], tell: Tell) -> Iterator[T]:
    """Yield ``things``, and tell now and then how many of them are done."""
    every = max(1, len(things) // _TIMES)
    for done, one in enumerate(things):
        if not done % every:
            tell(done, len(things))
        yield one
    tell(len(things), len(things))
