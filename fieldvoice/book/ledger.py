"""The ledger of one vessel: sap in, sap out, and what was read off it in between.

Sap in a vessel is mixed, so what is taken out is taken from every parcel in proportion, and a level
read sets every parcel in proportion. A parcel is gone only when the vessel is empty: until then its
age and condition are in what is left.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldvoice.book.season import Parcel, VesselState, worse_sap

if TYPE_CHECKING:
    from datetime import datetime

#: Less than a drop: what is left when the sums of decimal fractions do not come out even.
_A_DROP_GAL = 1e-6
#: More than any sugarbush gives: such an amount was misheard.
_MOST_GAL = 1e6


@dataclass(slots=True)
class Lot:
    """A parcel in the making; an amount of None is not known."""

    at: datetime
    volume_gal: float | None
    sap: str | None


def amount(volume_gal: float | None) -> float | None:
    """Return a volume that can be reckoned with; a misheard one counts as not said."""
    if volume_gal is None or not 0 <= volume_gal <= _MOST_GAL:
        return None
    return volume_gal


class VesselLedger:
    """What one vessel holds, kept up note by note in order of time."""

    def __init__(self, name: str, capacity_gal: float | None = None) -> None:
        self.name = name
        self.capacity_gal = capacity_gal
        self.brix: float | None = None
        self.cleaned_at: datetime | None = None
        self.temps: list[tuple[datetime, float]] = []
        self._lots: list[Lot] = []
        self._fill: float | None = None
        self._emptied = False

    def add(self, at: datetime, volume_gal: float | None, sap: str | None) -> None:
        """Pour sap in; None is an amount that was not said."""
        if volume_gal == 0:
            return
        self._lots.append(Lot(at, volume_gal, sap))
        self._fill = None

    def empty(self) -> list[Lot]:
        """Empty it, and return what was in it."""
        lots, self._lots = self._lots, []
        self._emptied, self._fill, self.brix = True, 0.0, None
        return lots

    def take(self, volume_gal: float) -> list[Lot]:
        """Take out ``volume_gal``, or all if there is less; return what came out.

        While some of what is in it is of unknown amount, it is never taken to be empty.
        """
        if not self._lots:
            return []
        known = self._known_gal()
        unknown = any(lot.volume_gal is None for lot in self._lots)
        if not unknown and volume_gal >= known - _A_DROP_GAL:
            return self.empty()
        share = min(1.0, volume_gal / known) if known > 0 else 0.0
        out = []
        for lot in self._lots:
            if lot.volume_gal is not None:
                out.append(Lot(lot.at, lot.volume_gal * share, lot.sap))
                lot.volume_gal *= 1 - share
        self._fill = None
        return out

    def put_back(self, lots: list[Lot]) -> None:
        """Undo a taking: give the lots taken their volume back."""
        here = {(lot.at, lot.sap): lot for lot in self._lots}
        for lot in lots:
            same = here.get((lot.at, lot.sap))
            if same is not None and same.volume_gal is not None and lot.volume_gal is not None:
                same.volume_gal += lot.volume_gal
            else:
                self._lots.append(lot)
        self._lots.sort(key=lambda lot: lot.at)
        self._fill = None

    def read(
        self,
        at: datetime,
        *,
        volume_gal: float | None = None,
        fill: float | None = None,
        sap: str | None = None,
    ) -> None:
        """Take down what was read off it: gallons, or the part filled, and the sap's condition."""
        if volume_gal is None and fill is not None and self.capacity_gal is not None:
            volume_gal = fill * self.capacity_gal
        if volume_gal == 0 or (volume_gal is None and fill == 0):
            self.empty()
            return
        if volume_gal is not None:
            self._rebase(at, volume_gal)
        elif fill is not None or sap is not None:
            self._notice(at)
        if fill is not None:
            self._fill = fill
        if sap is not None:
            self._worsen(sap)

    def state(self) -> VesselState:
        """Return the vessel as it stands."""
        parcels = tuple(Parcel(lot.at, lot.volume_gal or 0.0, lot.sap) for lot in self._lots)
        volume_gal = self._level_gal()
        worst: str | None = None
        for parcel in parcels:
            worst = worse_sap(worst, parcel.sap)
        return VesselState(
            name=self.name,
            volume_gal=volume_gal,
            fill=self._fill_now(volume_gal),
            capacity_gal=self.capacity_gal,
            oldest_at=min((parcel.at for parcel in parcels), default=None),
            newest_at=max((parcel.at for parcel in parcels), default=None),
            sap=worst,
            temps=tuple(self.temps),
            brix=self.brix,
            parcels=parcels,
            cleaned_at=self.cleaned_at,
        )

    def _known_gal(self) -> float:
        return math.fsum(lot.volume_gal for lot in self._lots if lot.volume_gal is not None)

    def _level_gal(self) -> float | None:
        if any(lot.volume_gal is None for lot in self._lots):
            return None
        return self._known_gal() if self._lots or self._emptied else None

    def _fill_now(self, volume_gal: float | None) -> float | None:
        if self._fill is not None or volume_gal is None or not self.capacity_gal:
            return self._fill
        return min(1.0, volume_gal / self.capacity_gal)

    def _notice(self, at: datetime) -> None:
        """There is sap in it, though nobody said that it went in."""
        if not self._lots:
            self._lots.append(Lot(at, None, None))

    def _worsen(self, sap: str) -> None:
        """Set the condition of all that is in it. Sap never gets better, but it does thaw."""
        for lot in self._lots:
            fresh = lot.sap in (None, "clear", "frozen")
            lot.sap = sap if fresh else worse_sap(lot.sap, sap)

    def _rebase(self, at: datetime, volume_gal: float) -> None:
        unknown = [lot for lot in self._lots if lot.volume_gal is None]
        known = self._known_gal()
        # What is there beyond the amounts said must be the sap whose amount was not said.
        for lot in unknown:
            lot.volume_gal = max(0.0, volume_gal - known) / len(unknown)
        total = self._known_gal()
        if total > 0:
            for lot in self._lots:
                lot.volume_gal = (lot.volume_gal or 0.0) / total * volume_gal
        else:
            self._lots.append(Lot(at, volume_gal, None))
        self._fill = None
