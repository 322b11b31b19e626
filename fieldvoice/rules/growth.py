"""Whether a tree grows fast enough to make good the wood that tapping costs it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldvoice.rules import sources
from fieldvoice.rules.limits import within
from fieldvoice.rules.rule import Rule

if TYPE_CHECKING:
    from fieldvoice.rules.finding import Finding

SLOW_GROWTH = Rule(
    "slow-growth", ("note", "care"), "Trunk growth against the least that one tap needs",
    sources.VAN_DEN_BERG_2016,
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Growth:
    """Yearly growth of a trunk, and the least that one tap a year needs at that size."""

    ring_in: float
    diameter_in_per_year: float
    basal_area_in2_per_year: float
    least_basal_area_in2_per_year: float
    findings: tuple[Finding, ...]

    @property
    def enough(self) -> bool:
        """Whether the tree grows at least as fast as one tap a year needs."""
        return self.basal_area_in2_per_year >= self.least_basal_area_in2_per_year


def ring_width_in(diameter_in: float, basal_area_in2_per_year: float) -> float:
    """Return the width in inches of the outer ring that added ``basal_area_in2_per_year``.

    Raises:
        RangeError: for a diameter outside 1 to 100 in or growth outside 0 to half the trunk.
    """
    within(diameter_in, 1, 100, "A trunk diameter", "inches")
    grown = basal_area_in2_per_year
    within(grown, 0, math.pi / 8 * diameter_in**2, "Basal area growth", "square inches a year")
    inner = math.sqrt(diameter_in**2 - 4 * basal_area_in2_per_year / math.pi)
    return (diameter_in - inner) / 2


def growth_between(earlier_in: float, later_in: float, years: float) -> Growth:
    """Return the yearly growth between two diameters measured ``years`` apart.

    Raises:
        RangeError: for diameters outside 1 to 100 in, a shrinking trunk, or fewer than one year.
    """
    within(earlier_in, 1, 100, "A trunk diameter", "inches")
    within(later_in, earlier_in, 100, "The later diameter", "inches")
    within(years, 1, 100, "The time between", "years")
    yearly = (later_in - earlier_in) / years
    area = math.pi / 4 * (later_in**2 - (later_in - yearly) ** 2)
    # 1.4 in²/yr at 10 in and 2.6 at 18 in are the published minima; a straight line joins them.
    least = max(0.0, 1.4 + (later_in - 10) * (2.6 - 1.4) / (18 - 10))
    fast = area >= least
    finding = SLOW_GROWTH.finding(
        "note" if fast else "care",
        "It grows well enough for one tap." if fast else "It grows slowly: one tap at most.",
        f"{area:.1f} square inches of wood a year; one tap needs about {least:.1f} at this size.",
    )
    return Growth(ring_width_in(later_in, area), yearly, area, least, (finding,))
