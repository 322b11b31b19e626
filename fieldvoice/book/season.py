"""The season at a glance: what the notes add up to. All values are frozen and unit-named."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple

from fieldvoice.meaning import Names

if TYPE_CHECKING:
    from datetime import date, datetime

    from fieldvoice.book.rounds import Round
    from fieldvoice.meaning import Act, TreeId
    from fieldvoice.meaning.acts import Boil, Draw, Equipment, Gather, Pack, Store, Sweetness

#: The conditions of sap from best to worst. That spoiled sap counts for more than the rest is
#: common practice; the exact order is this project's choice. Frozen stands next to clear because
#: ice is no fault and melts.
SAP_ORDER = ("clear", "frozen", "hazy", "cloudy", "yellow", "buddy", "ropey", "sour")


def worse_sap(one: str | None, other: str | None) -> str | None:
    """Return the worse of two conditions; one not known counts for nothing."""
    known = [sap for sap in (one, other) if sap is not None]
    return max(known, key=SAP_ORDER.index, default=None)


@dataclass(frozen=True, slots=True)
class TapHole:
    """Holes drilled in one go; ``count`` is 1 where it was not said."""

    at: datetime
    count: int = 1
    side: str | None = None
    height_ft: float | None = None
    depth_in: float | None = None
    bit_in: float | None = None
    shavings: str | None = None


@dataclass(frozen=True, slots=True)
class TreeState:
    """One tree as last known.

    ``fill`` (0 to 1) and ``sap`` are those of its bucket; emptying sets them to 0 and None.
    ``gathered_gal`` is the tree's sum; a gathering of several trees counts in equal shares.
    ``pulled`` is true from when no spile noted as set is left in until it is tapped again.
    ``last_emptied`` is the last gathering or dumping. ``history`` holds every note that names the
    tree, oldest first.
    """

    id: TreeId
    diameter_in: float | None = None
    species: str | None = None
    condition: str | None = None
    taps: tuple[TapHole, ...] = ()
    pulled_count: int = 0
    pulled: bool = False
    fill: float | None = None
    sap: str | None = None
    last_seen: datetime | None = None
    last_emptied: datetime | None = None
    gathered_gal: float = 0.0
    brix: float | None = None
    history: tuple[tuple[datetime, Act], ...] = ()

    @property
    def taps_in(self) -> int:
        """How many spiles are in the tree now."""
        return sum(hole.count for hole in self.taps) - self.pulled_count


@dataclass(frozen=True, slots=True)
class Parcel:
    """Sap that came into a vessel together.

    ``volume_gal`` is what is left of it, and 0 while the amount was never said.
    """

    at: datetime
    volume_gal: float
    sap: str | None = None


@dataclass(frozen=True, slots=True)
class VesselState:
    """One vessel as last known.

    ``volume_gal`` is None when nobody can say: the level was never told, or sap of an amount not
    said went in since. ``oldest_at`` and ``newest_at`` are when its oldest and newest sap came in
    (or was first noticed); None when it is empty. ``sap`` is the worst condition of anything in
    it. ``temps`` holds every reading, oldest first; ``brix`` is the last one measured since it was
    empty. ``fill`` is the part filled (0 to 1) if it was
    said since the level last changed, or follows from ``capacity_gal``.
    """

    name: str
    volume_gal: float | None = None
    fill: float | None = None
    capacity_gal: float | None = None
    oldest_at: datetime | None = None
    newest_at: datetime | None = None
    sap: str | None = None
    temps: tuple[tuple[datetime, float], ...] = ()
    brix: float | None = None
    parcels: tuple[Parcel, ...] = ()
    cleaned_at: datetime | None = None


class DayWeather(NamedTuple):
    """A day's low and high, as far as they were said."""

    day: date
    low_f: float | None
    high_f: float | None


@dataclass(frozen=True, slots=True)
class Season:
    """All that the live entries say. Sequences are in order of time; ``weather`` has a day once.

    ``walk`` lists the trees in the order in which the rounds come to them. ``names`` are those
    given to trees and vessels; ``trees`` and ``vessels`` go by number where there is one.
    ``cleaned`` says when gear that is no vessel was last washed.
    """

    trees: dict[TreeId, TreeState] = field(default_factory=dict)
    vessels: dict[str, VesselState] = field(default_factory=dict)
    weather: tuple[DayWeather, ...] = ()
    gathers: tuple[tuple[datetime, Gather], ...] = ()
    stores: tuple[tuple[datetime, Store], ...] = ()
    boils: tuple[tuple[datetime, Boil], ...] = ()
    draws: tuple[tuple[datetime, Draw], ...] = ()
    packs: tuple[tuple[datetime, Pack], ...] = ()
    equipment: tuple[tuple[datetime, Equipment], ...] = ()
    sweetness: tuple[tuple[datetime, Sweetness], ...] = ()
    cleaned: dict[str, datetime] = field(default_factory=dict)
    rounds: tuple[Round, ...] = ()
    walk: tuple[TreeId, ...] = ()
    names: Names = field(default_factory=Names)
