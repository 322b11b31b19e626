"""The wood that taps use up, and whether the trunk grows it back (the tapping-zone model).

Published as a concept: the zone is a band of wood as deep as the hole, as high as the drop line
reaches, all round the trunk; each tap leaves a column of wood that carries no more sap, and growth
pushes old columns inward until they leave the band. The equations are worked from that
description, and what they assume stands in ``Assumptions``, to be changed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldvoice.rules import sources
from fieldvoice.rules.limits import within
from fieldvoice.rules.rule import Rule

if TYPE_CHECKING:
    from fieldvoice.rules.finding import Finding

#: Conductive wood that a sustainably tapped tree keeps in its zone.
KEPT_SHARE = 0.90

TAPPING_ZONE = Rule(
    "tapping-zone", ("note", "care"), "Whether growth makes good the wood that taps use up",
    sources.PERKINS_ZONE, "design choice",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Assumptions:
    """What the model takes for granted.

    ``column_factor`` is how many times the hole's volume goes dead (50 is often quoted, from
    memory; published observations disagree). ``reach_in`` is how far above and below the usual
    height the drop line reaches.
    """

    depth_in: float = 1.5
    bit_in: float = 5 / 16
    reach_in: float = 30.0
    column_factor: float = 50.0

    def in_words(self) -> str:
        """Return the assumptions as one line."""
        return (
            f"holes {self.depth_in:g} in deep and {self.bit_in * 16:.0f}/16 in wide, "
            f"{self.reach_in:g} in of reach each way, dead wood {self.column_factor:g} times the "
            "hole"
        )


@dataclass(frozen=True, slots=True)
class TappingZone:
    """The zone's wood, what a year's taps kill of it, and the share dead in the long run (0-1)."""

    zone_in3: float
    dead_in3_per_year: float
    years_in_zone: float
    dead_share: float
    findings: tuple[Finding, ...]

    @property
    def sustainable(self) -> bool:
        """Whether at least nine tenths of the zone stay alive."""
        return self.dead_share <= 1 - KEPT_SHARE


def tapping_zone(
    diameter_in: float, taps: int, ring_in: float, assumed: Assumptions | None = None
) -> TappingZone:
    """Return what ``taps`` a year do to a trunk that adds a ring of ``ring_in`` each year.

    Raises:
        RangeError: for a diameter outside 4 to 100 in, taps outside 1 to 6, rings outside 0.005
            to 0.5 in, or assumptions beyond reason.
    """
    assumed = assumed or Assumptions()
    within(diameter_in, 4, 100, "A trunk diameter", "inches")
    within(taps, 1, 6, "A count of taps")
    within(ring_in, 0.005, 0.5, "A ring's width", "inches")
    within(assumed.depth_in, 0.5, diameter_in / 2, "A hole's depth", "inches")
    within(assumed.reach_in, 6, 96, "The reach of a drop line", "inches")
    within(assumed.column_factor, 1, 300, "Dead wood against the hole", "times")
    radius = diameter_in / 2
    band = math.pi * (radius**2 - (radius - assumed.depth_in) ** 2)
    zone_in3 = band * 2 * assumed.reach_in
    dead_in3 = assumed.column_factor * taps * hole_volume_in3(assumed.bit_in, assumed.depth_in)
    years = assumed.depth_in / ring_in
    share = min(1.0, years * dead_in3 / zone_in3)
    return TappingZone(
        zone_in3, dead_in3, years, share, (_finding(share, years, taps, ring_in, assumed),)
    )


def hole_volume_in3(bit_in: float, depth_in: float) -> float:
    """Return the wood that a hole takes out.

    Raises:
        RangeError: for a bit outside 0.1 to 1 in or a depth outside 0.1 to 12 in.
    """
    within(bit_in, 0.1, 1, "A bit", "inches")
    return math.pi / 4 * bit_in**2 * within(depth_in, 0.1, 12, "A hole's depth", "inches")


def _finding(
    share: float, years: float, taps: int, ring_in: float, assumed: Assumptions
) -> Finding:
    fine = share <= 1 - KEPT_SHARE
    plural = "tap" if taps == 1 else "taps"
    text = (
        f"It can carry {taps} {plural} a year; growth makes good the wood."
        if fine
        else f"{taps} {plural} a year use up its wood faster than it grows: take one off."
    )
    return TAPPING_ZONE.finding(
        "note" if fine else "care",
        text,
        f"In the long run about {share:.0%} of the wood in reach is dead; up to 10 % is called "
        f"sustainable. Rings of {ring_in:.2f} in carry a hole out of the zone in {years:.0f} "
        f"years. Assumed: {assumed.in_words()}.",
    )
