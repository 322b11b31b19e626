"""The bark of a trunk rolled out flat: where its holes are, how old, and where to drill next.

The right edge is north again. From left to right it is what one sees walking round the trunk
against the sun, facing it, so that "to the right" on the picture is to the right at the tree.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldvoice.dialogue import rule_inputs
from fieldvoice.errors import RangeError
from fieldvoice.rules.holes import hole_advice
from fieldvoice.rules.placing import place_hole
from fieldvoice.rules.pulling import CLOSES_YEARS
from fieldvoice.rules.spacing import CLEAR_SIDE_IN, SIDES

if TYPE_CHECKING:
    from fieldvoice.book import TreeState
    from fieldvoice.rules.tapping_zone import TappingZone
    from fieldvoice.rules.taps import TapLimit

#: The heights that the picture shows, in feet.
LOW_FT, HIGH_FT = 1.0, 6.0
#: Where a hole of unknown height is drawn.
UNSURE_FT = 3.0
#: The sides from left to right, as far as they are lettered on the picture.
LETTERS = (("N", 0.0), ("W", 0.25), ("S", 0.5), ("E", 0.75), ("N", 1.0))


@dataclass(frozen=True, slots=True)
class Spot:
    """A place on the bark: ``across`` from 0 (north) over west and south to 1, and its height."""

    across: float
    height_ft: float

    @property
    def up(self) -> float:
        """How far up the picture it lies, 0 to 1."""
        return min(1.0, max(0.0, (self.height_ft - LOW_FT) / (HIGH_FT - LOW_FT)))


@dataclass(frozen=True, slots=True)
class DrawnHole:
    """A hole on the picture; ``sure`` tells that its height was noted.

    ``grown_out`` is the year in which growth has carried it out of the wood that taps reach, None
    where the trunk was never measured.
    """

    spot: Spot
    year: int
    sure: bool
    grown_out: int | None = None

    def closing(self, year: int) -> bool:
        """Whether it is so young that it may still be open."""
        return 0 < year - self.year <= CLOSES_YEARS


@dataclass(frozen=True, slots=True)
class Trunk:
    """What the picture shows; ``unplaced`` holes have no side; ``advice`` tells of the next.

    ``clear_across`` is how far on either side of a hole no other may be, as a part of the girth.
    """

    holes: tuple[DrawnHole, ...]
    unplaced: int
    next_spot: Spot | None
    advice: str
    clear_across: float = 0.0


def trunk_of(
    tree: TreeState, limit: TapLimit | None, this_year: int, zone: TappingZone | None = None
) -> Trunk:
    """Return the picture of a trunk, with the place for a hole of ``this_year`` if it may have one.

    ``limit`` is what the tree may carry and ``zone`` how its wood grows, None where that is not
    known.
    """
    placed = [hole for hole in tree.taps if hole.side is not None]
    holes = tuple(
        DrawnHole(
            _spot(SIDES[hole.side or ""], hole.height_ft),
            hole.at.year,
            hole.height_ft is not None,
            None if zone is None else hole.at.year + math.ceil(zone.years_in_zone),
        )
        for hole in placed
    )
    unplaced = sum(hole.count for hole in tree.taps if hole.side is None)
    across = 0.0 if not tree.diameter_in else CLEAR_SIDE_IN / (math.pi * tree.diameter_in)
    if limit is not None and limit.taps == 0:
        # No place is right for a hole that should not be drilled.
        return Trunk(holes, unplaced, None, limit.findings[0].text, across)
    next_spot, advice = _next(tree, this_year)
    return Trunk(holes, unplaced, next_spot, advice, across)


def _spot(bearing: float, height_ft: float | None) -> Spot:
    return Spot((360 - bearing) % 360 / 360, UNSURE_FT if height_ft is None else height_ft)


def _next(tree: TreeState, this_year: int) -> tuple[Spot | None, str]:
    """Return where to drill next, by the rule that the spoken answer goes by, and its words."""
    old = rule_inputs.old_holes(tree)
    try:
        advice = hole_advice(tree.diameter_in, old, this_year=this_year)
        placed = None if tree.diameter_in is None else place_hole(tree.diameter_in, old, this_year)
    except RangeError:
        return None, ""
    told = advice.findings[0].text
    if placed is not None and tree.diameter_in is not None:
        side = SIDES[placed.beside.side or ""]
        turned = placed.right_in / (math.pi * tree.diameter_in) * 360
        return _spot(side - turned, placed.height_ft), told
    if advice.side is not None:
        return _spot(SIDES[advice.side], None), told
    return None, told
