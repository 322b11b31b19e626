"""What the planned taps need: spiles, buckets, lids and drop tubing."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldvoice.rules.finding import COMMON_PRACTICE
from fieldvoice.rules.limits import within
from fieldvoice.rules.rule import Rule

if TYPE_CHECKING:
    from fieldvoice.rules.finding import Finding

#: Tubing from a hole 2 to 4 ft up down into a bucket on the ground.
DROP_FT = 3.0
#: One spare for so many spiles: some split, some are lost in the snow.
SPARE_IN = 20

SUPPLIES = Rule(
    "supplies", ("note",), "Spiles, buckets, lids and tubing that taps need", COMMON_PRACTICE,
    "common practice",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Supplies:
    """Counts for the taps still to be set, spares included in ``spiles`` and ``drop_ft``."""

    taps: int
    spiles: int
    buckets: int
    lids: int
    drop_ft: float
    findings: tuple[Finding, ...]


def supplies(taps: int, *, buckets_on_ground: bool = True) -> Supplies:
    """Return what ``taps`` need: a spile, a bucket and a lid each, and tubing down to the ground.

    With ``buckets_on_ground`` False the buckets hang on the spiles and no tubing is needed.

    Raises:
        RangeError: for a count outside 0 to 5,000.
    """
    within(taps, 0, 5000, "A count of taps")
    spare = math.ceil(taps / SPARE_IN)
    drop_ft = (taps + spare) * DROP_FT if buckets_on_ground else 0.0
    tubing = f", and {drop_ft:.0f} feet of drop tubing" if drop_ft else ""
    lines = (
        f"{DROP_FT:g} feet of tubing from each spile to a bucket on the ground"
        if buckets_on_ground
        else "no tubing where buckets hang on the spile"
    )
    finding = SUPPLIES.finding(
        "note",
        f"{_counted(taps, 'bucket')} with lids, {_counted(taps + spare, 'spile')}{tubing}.",
        f"A spile, a bucket and a lid for each tap, one spile in {SPARE_IN} to spare, "
        f"and {lines}. New spiles each season give the most sap.",
    )
    return Supplies(taps, taps + spare, taps, taps, drop_ft, (finding,))


def _counted(count: int, one: str) -> str:
    return f"{count} {one}{'' if count == 1 else 's'}"
