"""Lots of sap: what was gathered together keeps its age, sugar, condition and trees.

The content of a vessel is a mixture of lots. What is taken out of a mixture takes of every lot in
proportion, so that volume and sugar are neither made nor lost by moving sap about.
"""

from __future__ import annotations

import math
from bisect import bisect_left, insort_right
from dataclasses import dataclass, field
from datetime import datetime
from itertools import islice, takewhile
from operator import attrgetter
from typing import TYPE_CHECKING

from fieldvoice.book.season import Parcel
from fieldvoice.rules.sap import worst_sap
from fieldvoice.rules.sap_clock import ASSUMED_F, FREEZING_F
from fieldvoice.rules.sugar import density_kg_m3
from fieldvoice.schema import TreeId

if TYPE_CHECKING:
    from collections.abc import Sequence

_gathered_at = attrgetter("at")

#: Less than a drop: what is left when the sums of decimal fractions do not come out even.
A_DROP_GAL = 1e-6


@dataclass(slots=True)
class Lot:
    """Sap gathered together, or the part of it in one place; an amount of None is not known.

    ``at`` is when it was gathered, or first noticed. ``trees`` are those (or the sites) it came
    from, ``through`` the vessels it has been in, ``temps`` the readings taken of it. ``turned_at``
    is when its condition was seen to be worse than at first. Rain is a lot of no sugar and no tree;
    ``rain`` tells it apart.
    """

    at: datetime
    volume_gal: float | None
    sap: str | None = None
    brix: float | None = None
    trees: tuple[TreeId, ...] = ()
    through: tuple[str, ...] = ()
    temps: tuple[tuple[datetime, float], ...] = ()
    rain: bool = False
    turned_at: datetime | None = None

    def part(self, share: float) -> Lot:
        """Return ``share`` (0 to 1) of it; of an amount not known, an amount not known."""
        volume_gal = None if self.volume_gal is None else self.volume_gal * share
        return self._copy(volume_gal, self.through, self.temps)

    def into(self, vessel: str, temps: tuple[tuple[datetime, float], ...]) -> Lot:
        """Return it as it stands in ``vessel``, of which ``temps`` were read last."""
        through = self.through if vessel in self.through else (*self.through, vessel)
        return self._copy(self.volume_gal, through, self.temps or temps)

    def _copy(
        self,
        volume_gal: float | None,
        through: tuple[str, ...],
        temps: tuple[tuple[datetime, float], ...],
    ) -> Lot:
        """Return it changed."""
        # ``dataclasses.replace`` takes five times as long, and lots are many.
        return Lot(
            self.at, volume_gal, self.sap, self.brix, self.trees, through, temps, self.rain,
            self.turned_at,
        )  # fmt: skip

    def parcel(self) -> Parcel:
        """Return it as a value."""
        return Parcel(
            self.at, self.volume_gal or 0.0, self.sap, brix=self.brix, trees=self.trees,
            through=self.through, temps=self.temps, rain=self.rain, turned_at=self.turned_at,
        )  # fmt: skip

    def kind(self) -> tuple[object, ...]:
        """Return what parts of the same gathering in the same state have in common."""
        return (self.at, self.sap, self.brix, self.trees, self.temps, self.rain, self.turned_at)

    def worsen(self, at: datetime, sap: str) -> None:
        """Set the condition it is seen to have. Sap never gets better, but it does thaw.

        With ice in it sap stands at the freezing point; thawed it counts as taken for unread sap.
        """
        if sap == "frozen":
            self.temps = (*self.temps, (at, FREEZING_F))
        elif self.sap == "frozen":
            self.temps = (*self.temps, (at, ASSUMED_F))
        fresh = self.sap in (None, "clear", "frozen")
        seen = sap if fresh else worst_sap((self.sap, sap))
        if seen != self.sap:
            self.sap, self.turned_at = seen, at


@dataclass(slots=True)
class Mixture:
    """Lots in one place, in the order of gathering."""

    lots: list[Lot] = field(default_factory=list)

    def known_gal(self) -> float:
        """Return the volume of the lots whose amount is known."""
        return math.fsum(lot.volume_gal for lot in self.lots if lot.volume_gal is not None)

    def newest_at(self) -> datetime | None:
        """Return when the newest of it was gathered; None when there is none."""
        return max((lot.at for lot in self.lots), default=None)

    def is_all_known(self) -> bool:
        """Whether every lot's amount is known."""
        return all(lot.volume_gal is not None for lot in self.lots)

    def add(self, lots: list[Lot]) -> None:
        """Pour lots in; what belongs together runs together."""
        for lot in lots:
            same = self._same(lot)
            if same is None or same.volume_gal is None or lot.volume_gal is None:
                insort_right(self.lots, lot, key=_gathered_at)
            else:
                same.volume_gal += lot.volume_gal
                same.through = tuple(dict.fromkeys((*same.through, *lot.through)))

    def _same(self, lot: Lot) -> Lot | None:
        """Return the part of the same gathering that is here already."""
        first = bisect_left(self.lots, lot.at, key=_gathered_at)
        of_its_time = takewhile(lambda one: one.at == lot.at, islice(self.lots, first, None))
        return next((one for one in of_its_time if one.kind() == lot.kind()), None)

    def take(self, volume_gal: float) -> list[Lot]:
        """Take out ``volume_gal``, or all if there is less; return what came out.

        While some of what is in it is of unknown amount, it is never taken to be empty.
        """
        if not self.lots:
            return []
        known = self.known_gal()
        if self.is_all_known() and volume_gal >= known - A_DROP_GAL:
            return self.take_all()
        share = min(1.0, volume_gal / known) if known > 0 else 0.0
        out = [lot.part(share) for lot in self.lots if lot.volume_gal is not None]
        for lot in self.lots:
            if lot.volume_gal is not None:
                lot.volume_gal *= 1 - share
        return out

    def take_all(self) -> list[Lot]:
        """Empty it, and return what was in it."""
        lots, self.lots = self.lots, []
        return lots

    def worst(self) -> str | None:
        """Return the worst condition of anything in it."""
        return worst_sap(lot.sap for lot in self.lots)

    def worsen(self, at: datetime, sap: str) -> None:
        """Set the condition that all that is in it is seen to have."""
        for lot in self.lots:
            lot.worsen(at, sap)

    def brix(self) -> float | None:
        """Return the sugar of the lots that were tested, mixed by mass; None if none was.

        Lots never tested are taken to be like the rest; rain has none.
        """
        tested = [lot for lot in self.lots if lot.brix is not None]
        if not any(not lot.rain for lot in tested):
            return None
        of_known = [(lot.volume_gal, lot.brix) for lot in tested if lot.volume_gal]
        if not of_known:
            return tested[-1].brix
        untested = math.fsum(
            lot.volume_gal or 0.0 for lot in self.lots if lot.brix is None and lot.volume_gal
        )
        sweet = [(lot.volume_gal, lot.brix) for lot in tested if lot.volume_gal and not lot.rain]
        if untested and sweet:
            of_known.append((untested, blended(sweet)))
        return blended(of_known)


def blended(parts: Sequence[tuple[float | None, float | None]]) -> float:
    """Return the Brix of (gallons, Brix) parts mixed, weighed by mass."""
    masses = [(volume or 0.0) * density_kg_m3(_in_range(brix)) for volume, brix in parts]
    sugar = math.fsum(mass * (part[1] or 0.0) for mass, part in zip(masses, parts, strict=True))
    return sugar / math.fsum(masses)


def _in_range(brix: float | None) -> float:
    """Return a Brix for which a density is known; a misheard one is brought back to the edge."""
    return min(80.0, max(0.0, brix or 0.0))
