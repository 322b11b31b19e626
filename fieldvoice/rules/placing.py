"""Where to drill this year, from every remembered hole of the tree.

The pattern is the one that researchers teach: move a little to the right of the last hole and a
foot up or down, year after year, so that each hole has fresh wood. Every remembered hole is kept
clear of. Sides are noted to an eighth of the trunk, so that the words send one to the right place
and the eye does the rest.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldvoice.rules import sources
from fieldvoice.rules.limits import within
from fieldvoice.rules.rule import Rule
from fieldvoice.rules.spacing import SIDES, OldHole, bearings_apart, spacing_check

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from fieldvoice.rules.finding import Finding

#: Heights at which one drills at ease, in feet.
LOWEST_FT, HIGHEST_FT = 2.0, 4.5
#: A hand's breadth, the step to the right.
HAND_IN = 4.0
STEP_UP_IN = 12.0
#: A hole whose height nobody noted is kept clear of by this much sideways.
UNSURE_SIDE_IN = 6.0

HOLE_PLACE = Rule(
    "hole-place", ("note", "care"), "Where to drill this year, from the tree's old holes",
    sources.WILD,
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Placement:
    """A place for the next hole.

    ``right_in`` and ``up_in`` are measured from the hole ``beside`` (negative: left, down), facing
    it. ``side`` and ``height_ft`` say the same round the trunk.
    """

    side: str
    height_ft: float
    right_in: float
    up_in: float
    beside: OldHole
    findings: tuple[Finding, ...]


def place_hole(
    diameter_in: float, old_holes: Sequence[OldHole], this_year: int | None = None
) -> Placement | None:
    """Return where to drill; None when no old hole is known by side and height, or no room is left.

    Raises:
        RangeError: for a diameter outside 1 to 100 in, or a side that is no compass side.
    """
    within(diameter_in, 1, 100, "A trunk diameter", "inches")
    last = _latest(old_holes)
    if last is None:
        return None
    assert last.side is not None
    assert last.height_ft is not None
    for right_in, up_in in _pattern(diameter_in):
        height_ft = last.height_ft + up_in / 12
        bearing = SIDES[last.side] - right_in / (math.pi * diameter_in) * 360
        inside = LOWEST_FT <= height_ft <= HIGHEST_FT
        if inside and _clear(bearing, height_ft, diameter_in, old_holes):
            side = min(SIDES, key=lambda one: bearings_apart(SIDES[one], bearing % 360))
            told = _finding(right_in, up_in, side, height_ft, last, old_holes, this_year)
            return Placement(side, height_ft, right_in, up_in, last, (told,))
    return None


def _latest(old_holes: Sequence[OldHole]) -> OldHole | None:
    placed = [hole for hole in old_holes if hole.side is not None and hole.height_ft is not None]
    return max(placed, key=lambda hole: hole.year or 0, default=None)


def _pattern(diameter_in: float) -> Iterator[tuple[float, float]]:
    """Yield steps (right, up) in inches: a hand at a time, a foot up or down, once round."""
    for hands in range(1, int(math.pi * diameter_in / HAND_IN)):
        yield hands * HAND_IN, STEP_UP_IN
        yield hands * HAND_IN, -STEP_UP_IN
        if hands * HAND_IN >= UNSURE_SIDE_IN:
            yield hands * HAND_IN, 0.0


def _clear(
    bearing: float, height_ft: float, diameter_in: float, old_holes: Sequence[OldHole]
) -> bool:
    """Whether a place keeps its distance from every remembered hole."""
    for hole in old_holes:
        if hole.side is None:
            continue
        apart = bearings_apart(SIDES[hole.side], bearing % 360)
        sideways_in = math.pi * diameter_in * apart / 360
        if hole.height_ft is None:
            if sideways_in < UNSURE_SIDE_IN - 0.01:
                return False
            continue
        up_down_in = round(abs(height_ft - hole.height_ft) * 12, 3)
        if spacing_check(round(sideways_in, 3), up_down_in).spacing != "clear":
            return False
    return True


def _finding(
    right_in: float,
    up_in: float,
    side: str,
    height_ft: float,
    last: OldHole,
    old_holes: Sequence[OldHole],
    this_year: int | None,
) -> Finding:
    text = (
        f"{_sideways(right_in)} to the right of {_hole_name(last, this_year)}, {_height(up_in)}, "
        f"on the {side} side."
    )
    noted = sum(hole.side is not None for hole in old_holes)
    return HOLE_PLACE.finding(
        "note",
        text[:1].upper() + text[1:],
        f"That is {right_in:.0f} in sideways and {abs(up_in):.0f} in up or down, about "
        f"{height_ft:.1f} ft above the ground, clear of all {noted} holes noted. Moving the same "
        "way round each year, a foot up or down, leaves the old columns behind.",
    )


def _sideways(right_in: float) -> str:
    hands = round(right_in / HAND_IN)
    return {1: "a hand", 2: "two hands", 3: "a foot"}.get(hands, f"{right_in:.0f} inches")


def _height(up_in: float) -> str:
    if up_in == 0:
        return "at the same height"
    return "a foot higher" if up_in > 0 else "a foot lower"


def _hole_name(hole: OldHole, this_year: int | None) -> str:
    if hole.year is None or this_year is None:
        return "the last hole"
    if hole.year == this_year:
        return "this year's hole"
    return "last year's" if hole.year == this_year - 1 else f"the hole of {hole.year}"
