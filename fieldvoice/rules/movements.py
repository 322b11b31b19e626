"""What can be in a note about sap or syrup at most: what a vessel holds, trees give, sap makes.

Each figure bounds what is asked about, never what is saved: all are choices of this house, set a
little above what the trade's figures come to.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.rules.limits import within
from fieldvoice.rules.sugar import sap_per_syrup

if TYPE_CHECKING:
    from collections.abc import Mapping

#: What a vessel of a kind holds that nobody has told the size of, in gallons: the usual steel drum,
#: the larger of the two usual totes, a ten-gallon milk can, a big jug (common practice).
USUAL_GAL: Mapping[str, float] = {
    "barrel": 55.0, "drum": 55.0, "tote": 330.0, "milk can": 10.0, "jug": 6.0,
}  # fmt: skip

#: A tap at its very best: gallons in an hour of a run, and in a day (a good day gives one to two).
_BEST_GAL_H, _BEST_GAL_DAY = 0.5, 4.0
#: So much may have been left in a bucket that was called empty, in gallons.
_LEFT_IN_GAL = 0.25

#: Sugar taken for sap that was never tested, where the most is asked for: sweeter is rare.
SWEETEST_USUAL_BRIX = 3.0
#: Notes of sap, sugar and syrup are each off by some; and a pan keeps some of the boil before.
_OFF_BY, _KEPT_GAL = 1.15, 0.15
#: The same for jars: a glass more out of the same can, and what clings to it.
_JARS_OFF_BY, _JARS_KEPT_GAL = 1.05, 0.1


def usual_gal(kind: str) -> float | None:
    """Return what a vessel of this kind holds in gallons, where there is a usual size."""
    return USUAL_GAL.get(kind)


def most_from_taps_gal(taps: int, hours: float) -> float:
    """Return the most that so many taps give in so many hours since they were emptied, in gallons.

    Raises:
        RangeError: for fewer than no taps, or for hours before the emptying.
    """
    within(taps, 0, 100_000, "Taps")
    within(hours, 0, 100_000_000, "Hours since the last visit", "h")  # as long as any calendar
    # A run takes up a third of a day: beyond those hours it is the day that bounds it.
    ran_gal = min(_BEST_GAL_H * hours, _BEST_GAL_DAY * max(1.0, hours / 24))
    return taps * (ran_gal + _LEFT_IN_GAL)


def most_syrup_gal(sap_gal: float, brix: float | None, syrup_brix: float) -> float:
    """Return the most syrup that may be drawn of sap, in gallons, by what sugar there is in it.

    Raises:
        RangeError: for sugar that the balance does not reach to.
    """
    sap_brix = SWEETEST_USUAL_BRIX if brix is None else brix
    return sap_gal / sap_per_syrup(sap_brix, syrup_brix) * _OFF_BY + _KEPT_GAL


def most_packed_gal(drawn_gal: float) -> float:
    """Return the most that may be packed of what was drawn and is not packed yet, in gallons."""
    return drawn_gal * _JARS_OFF_BY + _JARS_KEPT_GAL
