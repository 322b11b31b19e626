"""The ledger of one vessel: sap in, sap out, and what was read off it in between.

Sap in a vessel is mixed, so what is taken out is taken from every lot in proportion, and a level
read sets every lot in proportion. A lot is gone only when the vessel is empty: until then its age
and condition are in what is left.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, timedelta

from fieldvoice.book.lots import A_DROP_GAL, Lot, Mixture
from fieldvoice.book.season import VesselState
from fieldvoice.rules.sap_clock import FREEZING_F

#: More than any sugarbush gives: such an amount was misheard.
_MOST_GAL = 1e6
#: A reading this long before sap came in still tells how cold the vessel stood.
_STOOD_AT = timedelta(hours=24)
#: Readings older than this say nothing of sap that is still there.
_KEEP_READINGS = timedelta(days=60)
#: Sugar left in ice, in Brix: the middle of community tests (0 to 1).
ICE_BRIX = 0.5


def amount(volume_gal: float | None) -> float | None:
    """Return a volume that can be reckoned with; a misheard one counts as not said."""
    if volume_gal is None or not 0 <= volume_gal <= _MOST_GAL:
        return None
    return volume_gal


@dataclass(slots=True)
class VesselLedger:
    """What one vessel holds, kept up note by note in order of time.

    ``tested`` is a sugar test of a vessel of which nothing else was known. ``adjusted_gal`` sums up
    what levels read were above (or, negative, below) what the notes came to. ``depth_in`` is the
    height of the full vessel, straight-sided.
    """

    name: str
    capacity_gal: float | None = None
    depth_in: float | None = None
    material: str | None = None
    food_grade: bool | None = None
    place: str | None = None
    insulated: bool | None = None
    tested: float | None = None
    cleaned_at: datetime | None = None
    temps: list[tuple[datetime, float]] = field(default_factory=list)
    adjusted_gal: float = 0.0
    held: Mixture = field(default_factory=Mixture)
    fill: float | None = None
    emptied: bool = False

    def add(self, lots: list[Lot]) -> None:
        """Pour lots in; a volume of None is an amount that was not said."""
        coming = [self._as_stored(lot) for lot in lots if lot.volume_gal != 0]
        if coming:
            self.held.add(coming)
            self.fill = None

    def empty(self) -> list[Lot]:
        """Empty it, and return what was in it."""
        self.emptied, self.fill, self.tested = True, 0.0, None
        return self.held.take_all()

    def take(self, volume_gal: float) -> list[Lot]:
        """Take out ``volume_gal``, or all if there is less; return what came out."""
        if not self.held.lots:
            return []
        out = self.held.take(volume_gal)
        if self.held.lots:
            self.fill = None
        else:
            self.empty()
        return out

    def take_share(self, share: float) -> list[Lot]:
        """Take out a part (0 to 1) of what is in it."""
        if share >= 1:
            return self.empty()
        return self.take(self.held.known_gal() * share)

    def put_back(self, lots: list[Lot]) -> None:
        """Undo a taking: give the lots taken their volume back."""
        self.held.add(lots)
        self.fill = None

    def volume_of(
        self, volume_gal: float | None, fill: float | None, depth_in: float | None
    ) -> float | None:
        """Return a level said in gallons, as a part of the vessel, or in inches, in gallons.

        None where the vessel's size is not known.
        """
        if volume_gal is not None or not self.capacity_gal:
            return volume_gal
        if fill is not None:
            return fill * self.capacity_gal
        if depth_in is not None and self.depth_in:
            return min(1.0, max(0.0, depth_in / self.depth_in)) * self.capacity_gal
        return None

    def read(
        self,
        at: datetime,
        *,
        volume_gal: float | None = None,
        fill: float | None = None,
        sap: str | None = None,
    ) -> None:
        """Take down what was read off it: gallons, or the part filled, and the sap's condition."""
        if volume_gal == 0 or (volume_gal is None and fill == 0):
            self.adjusted_gal -= self.held.known_gal()
            self.empty()
            return
        if volume_gal is not None:
            self._rebase(at, volume_gal)
        elif fill is not None or sap is not None:
            self._notice(at)
        if fill is not None:
            self.fill = fill
        if sap is not None:
            self.held.worsen(at, sap)

    def warm(self, at: datetime, temp_f: float) -> None:
        """Take down a temperature read; it is that of every lot in it."""
        self.temps = [seen for seen in self.temps if at - seen[0] <= _KEEP_READINGS]
        self.temps.append((at, temp_f))
        for lot in self.held.lots:
            lot.temps = (*lot.temps, (at, temp_f))

    def test(self, brix: float) -> None:
        """Take down a sugar test: a vessel is mixed, so that it holds for all that is in it."""
        self.tested = brix
        for lot in self.held.lots:
            lot.brix = brix

    def ice_out(self, at: datetime, volume_gal: float) -> float:
        """Take ice out, and return how much went: nearly water, so that the rest is sweeter.

        What it floated in stands at the freezing point.
        """
        known = self.held.known_gal()
        gone = min(volume_gal, known)
        if not known or gone >= known - A_DROP_GAL:
            self.empty()
            return gone
        share = gone / known
        for lot in self.held.lots:
            if lot.brix is not None and not lot.rain:
                ice_brix = min(ICE_BRIX, lot.brix)
                lot.brix = (lot.brix - share * ice_brix) / (1 - share)
            if lot.volume_gal is not None:
                lot.volume_gal *= 1 - share
            lot.temps = (*lot.temps, (at, FREEZING_F))
        self.fill = None
        return gone

    def state(self) -> VesselState:
        """Return the vessel as it stands."""
        parcels = tuple(lot.parcel() for lot in self.held.lots)
        volume_gal = self.level_gal()
        return VesselState(
            name=self.name,
            volume_gal=volume_gal,
            fill=self._fill_now(volume_gal),
            capacity_gal=self.capacity_gal,
            oldest_at=min((parcel.at for parcel in parcels), default=None),
            newest_at=max((parcel.at for parcel in parcels), default=None),
            sap=self.held.worst(),
            temps=tuple(self.temps),
            brix=self.brix(),
            parcels=parcels,
            cleaned_at=self.cleaned_at,
            depth_in=self.depth_in,
            material=self.material,
            food_grade=self.food_grade,
            place=self.place,
            insulated=self.insulated,
            adjusted_gal=self.adjusted_gal,
        )

    def brix(self) -> float | None:
        """Return the sugar of what is in it, as far as it was tested."""
        mixed = self.held.brix()
        return self.tested if mixed is None else mixed

    def level_gal(self) -> float | None:
        """Return the gallons in it; None when nobody can say."""
        if not self.held.is_all_known():
            return None
        return self.held.known_gal() if self.held.lots or self.emptied else None

    def _as_stored(self, lot: Lot) -> Lot:
        """Return a lot as it stands here: in this vessel, as cold as the vessel was last read."""
        last = self.temps[-1:]
        return lot.into(self.name, tuple(one for one in last if lot.at - one[0] <= _STOOD_AT))

    def _fill_now(self, volume_gal: float | None) -> float | None:
        if self.fill is not None or volume_gal is None or not self.capacity_gal:
            return self.fill
        return min(1.0, volume_gal / self.capacity_gal)

    def _notice(self, at: datetime) -> None:
        """There is sap in it, though nobody said that it went in."""
        if not self.held.lots:
            self.held.lots.append(Lot(at, None, None, self.tested, through=(self.name,)))

    def _rebase(self, at: datetime, volume_gal: float) -> None:
        lots = self.held.lots
        unknown = [lot for lot in lots if lot.volume_gal is None]
        known = self.held.known_gal()
        # What is there beyond the amounts said must be the sap whose amount was not said.
        for lot in unknown:
            lot.volume_gal = max(0.0, volume_gal - known) / len(unknown)
        if lots and not unknown:
            self.adjusted_gal += volume_gal - known
        total = self.held.known_gal()
        if total > 0:
            for lot in lots:
                lot.volume_gal = (lot.volume_gal or 0.0) / total * volume_gal
        else:
            lots.append(Lot(at, volume_gal, None, self.tested, through=(self.name,)))
        self.fill = None
