"""The season at a glance: what the notes add up to. All values are frozen and unit-named."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta, tzinfo
from typing import TYPE_CHECKING, NamedTuple, TypeVar

from fieldvoice.book.lazy_notes import LazyNotes
from fieldvoice.schema import Names, TreeId

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fieldvoice.book.rounds import Round
    from fieldvoice.schema import Act
    from fieldvoice.schema.acts import (
        Boil,
        Draw,
        Equipment,
        Gather,
        Hang,
        Pack,
        Store,
        Sweetness,
        Tap,
        Water,
    )

Kind = TypeVar("Kind", bound="Act")

#: What is told of a hole, and how long after drilling it still is about that one (a design choice).
_OF_A_HOLE = ("side", "height_ft", "depth_in", "bit_in", "shavings")
_AT_THE_HOLE = timedelta(minutes=10)
#: A season may go on over New Year: sap that is no older then is still there, and spiles set no
#: longer before are still in (design choices; a hole gives for eight weeks at most).
SAP_STAYS, SPILES_STAY = timedelta(weeks=3), timedelta(weeks=8)
#: The hour at which something is told that was asked for on a day (a design choice).
_MORNING = 7


@dataclass(frozen=True, slots=True)
class TapHole:
    """Holes drilled in one go; ``count`` is 1 where it was not said.

    What is said of a hole right after it was drilled ("white shavings") belongs to it.
    """

    at: datetime
    count: int = 1
    side: str | None = None
    height_ft: float | None = None
    depth_in: float | None = None
    bit_in: float | None = None
    shavings: str | None = None

    def completed(self, at: datetime, act: Tap) -> TapHole | None:
        """Return this with the details in ``act``; None when they are those of another hole."""
        told = {name: getattr(act, name) for name in _OF_A_HOLE}
        details = {name: value for name, value in told.items() if value is not None}
        said_before = any(getattr(self, name) is not None for name in details)
        if act.count is not None or not details or said_before or at - self.at > _AT_THE_HOLE:
            return None
        return replace(self, **details)


@dataclass(frozen=True, slots=True)
class Hung:
    """What hangs on a tree: so many of an item, what each holds, and whether it has a lid."""

    item: str
    count: int = 1
    capacity_gal: float | None = None
    lid: bool | None = None

    def told_anew(self, act: Hang) -> Hung:
        """Return this with what a later note says of it."""
        return replace(
            self,
            count=self.count if act.count is None else act.count,
            capacity_gal=self.capacity_gal if act.capacity_gal is None else act.capacity_gal,
            lid=self.lid if act.lid is None else act.lid == "on",
        )


@dataclass(frozen=True, slots=True)
class TreeState:
    """One tree as last known.

    ``fill`` (0 to 1) and ``sap`` are those of its bucket; emptying sets them to 0 and None.
    ``gathered_gal`` is the tree's sum; a gathering of several trees counts in equal shares.
    ``pulled`` is true from when no spile noted as set is left in until it is tapped again.
    ``last_emptied`` is the last gathering or dumping. ``has_bucket`` tells that something was noted
    that shows it. ``site`` is where it stands, ``felled_at`` since when no more; ``hung`` is what
    hangs on it. ``history`` holds every note that names the tree, oldest first.
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
    site: str | None = None
    felled_at: datetime | None = None
    hung: tuple[Hung, ...] = ()
    has_bucket: bool = False
    history: Sequence[tuple[datetime, Act]] = ()

    def noted(self, kind: type[Kind]) -> list[tuple[datetime, Kind]]:
        """Return the notes of one kind in its history, oldest first."""
        notes, name = self.history, kind.model_fields["act"].default
        found = notes.of(name) if isinstance(notes, LazyNotes) else notes
        return [(at, act) for at, act in found if isinstance(act, kind)]

    def with_note(self, at: datetime, act: Act) -> TreeState:
        """Return it with one more note in its history, at the end."""
        more = ((at, act),)
        if not isinstance(self.history, LazyNotes):
            return replace(self, history=(*self.history, *more))
        told = self.history

        def read(kind: str | None) -> Sequence[tuple[datetime, Act]]:
            if kind is None:
                return (*told, *more)
            return (*told.of(kind), *(more if act.act == kind else ()))

        return replace(self, history=LazyNotes(read))

    @property
    def taps_in(self) -> int:
        """How many spiles are in the tree now."""
        return sum(hole.count for hole in self.taps) - self.pulled_count


@dataclass(frozen=True, slots=True)
class Parcel:
    """Sap that came into a vessel together.

    ``volume_gal`` is what is left of it, and 0 while the amount was never said. ``trees`` are those
    (or the sites) that it came from, ``through`` the vessels it has been in, ``temps`` the readings
    taken of it, ``turned_at`` when its condition was seen to be worse. ``rain`` is water, not sap.
    """

    at: datetime
    volume_gal: float
    sap: str | None = None
    brix: float | None = field(default=None, compare=False)
    trees: tuple[TreeId, ...] = field(default=(), compare=False)
    through: tuple[str, ...] = field(default=(), compare=False)
    temps: tuple[tuple[datetime, float], ...] = field(default=(), compare=False)
    rain: bool = field(default=False, compare=False)
    turned_at: datetime | None = field(default=None, compare=False)


@dataclass(frozen=True, slots=True)
class VesselState:
    """One vessel as last known.

    ``volume_gal`` is None when nobody can say: the level was never told, or sap of an amount not
    said went in since. ``oldest_at`` and ``newest_at`` are when its oldest and newest sap came in
    (or was first noticed); None when it is empty. ``sap`` is the worst condition of anything in
    it. ``temps`` holds the readings of the last two months, oldest first; ``brix`` is the sugar of
    all that is in it mixed, as far as it was tested. ``fill`` is the part filled (0 to 1) if it was
    said since the level last changed, or follows from ``capacity_gal``. ``depth_in`` is the height
    of the full vessel. ``adjusted_gal`` sums up what levels read were above or below the notes.
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
    depth_in: float | None = None
    material: str | None = None
    food_grade: bool | None = None
    place: str | None = None
    insulated: bool | None = None
    adjusted_gal: float = 0.0


@dataclass(frozen=True, slots=True)
class BoilState:
    """One boil, from lighting the fire to letting it out.

    ``sap_gal`` is what went into the pan, as far as it was told (``is_all_known``: all of it was);
    ``brix`` is its sugar, ``trees``, ``vessels`` and the days ``gathered_from`` to ``gathered_to``
    where it came from, ``oldest_at`` when its oldest came in. ``levels`` are the pan's depths read,
    in inches, ``feeds`` what was poured into it since, in gallons; both with their times.
    """

    started_at: datetime
    boiling_at: datetime | None = None
    ended_at: datetime | None = None
    sap_gal: float = 0.0
    brix: float | None = None
    sap: str | None = None
    syrup_gal: float = 0.0
    draws: int = 0
    draw_brix: float | None = None
    trees: tuple[TreeId, ...] = ()
    vessels: tuple[str, ...] = ()
    gathered_from: date | None = None
    gathered_to: date | None = None
    oldest_at: datetime | None = None
    is_all_known: bool = True
    agents: tuple[str, ...] = ()
    cords: float | None = None
    gas_gal: float | None = None
    filtered_f: float | None = None
    filtered_at: datetime | None = None
    levels: tuple[tuple[datetime, float], ...] = ()
    feeds: tuple[tuple[datetime, float], ...] = ()

    @property
    def hours(self) -> float | None:
        """Hours at the boil; None while it goes on. Without a word on when it boiled: from lit."""
        if self.ended_at is None:
            return None
        return (
            max(0.0, (self.ended_at - (self.boiling_at or self.started_at)).total_seconds()) / 3600
        )


@dataclass(frozen=True, slots=True)
class StockLot:
    """Containers filled together, with what a recall asks for.

    ``code`` goes on the label: year, day of the year, and the time of filling. ``left`` is how many
    are still there. ``allergens`` come from defoamers.
    """

    code: str
    at: datetime
    count: int
    size: str
    left: int
    colour: str | None = None
    temp_f: float | None = None
    brix: float | None = None
    trees: tuple[TreeId, ...] = ()
    vessels: tuple[str, ...] = ()
    gathered_from: date | None = None
    gathered_to: date | None = None
    agents: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Account:
    """Where the season's sap went, in gallons of known amount; what came in equals what went out.

    ``poured_gal`` came into vessels without having been noted as gathered; ``adjusted_gal`` is what
    levels read were above (or below) the notes; ``lost_gal`` was gathered and never placed.
    """

    gathered_gal: float = 0.0
    poured_gal: float = 0.0
    rain_gal: float = 0.0
    adjusted_gal: float = 0.0
    held_gal: float = 0.0
    boiled_gal: float = 0.0
    dumped_gal: float = 0.0
    iced_gal: float = 0.0
    lost_gal: float = 0.0

    @property
    def open_gal(self) -> float:
        """What the two sides differ by: nothing, to rounding."""
        came = self.gathered_gal + self.poured_gal + self.rain_gal + self.adjusted_gal
        went = self.held_gal + self.boiled_gal + self.dumped_gal + self.iced_gal + self.lost_gal
        return came - went


class DayWeather(NamedTuple):
    """A day's low and high, as far as they were said."""

    day: date
    low_f: float | None
    high_f: float | None


#: What is due sooner than this after it was asked for is over as long after it (design choices).
_OF_THE_DAY = timedelta(hours=12)


@dataclass(frozen=True, slots=True)
class ToRemind:
    """What somebody asked to be reminded of, and when they ``asked``.

    ``due`` is an ISO day, or a time with its offset.
    """

    text: str
    due: str
    asked: datetime

    @property
    def is_timer(self) -> bool:
        """Whether its time came so soon that it means nothing any more on another day."""
        at = datetime.fromisoformat(self.due)
        return "T" in self.due and at - self.asked < _OF_THE_DAY

    def is_open(self, now: datetime) -> bool:
        """Whether it is still to be told: a timer of long ago is not."""
        return not self.is_timer or now - datetime.fromisoformat(self.due) < _OF_THE_DAY

    def comes_up(self, zone: tzinfo | None) -> datetime:
        """Return when it is to be said: at its time, or in the morning of its day."""
        at = datetime.fromisoformat(self.due)
        return at if "T" in self.due else at.replace(hour=_MORNING, tzinfo=zone)


@dataclass(frozen=True, slots=True)
class Season:
    """All that the live entries say. Sequences are in order of time; ``weather`` has a day once.

    ``year`` is that of the newest note. ``gathers`` to ``sweetness`` are the notes of its season,
    ``gathered_by_day`` their sums, ``rounds`` the last few.

    ``walk`` lists the trees in the order in which the rounds come to them. ``names`` are those
    given to trees and vessels; ``trees`` and ``vessels`` go by number where there is one.
    ``cleaned`` says when gear that is no vessel was last washed.
    ``carried`` is sap gathered of which nobody has said where it went. ``boilings`` are the
    season's boils, ``earlier_boilings`` the last before it, ``pan_ft2`` the pan's area if it was
    said. ``pantry`` are the lots packed, ``can_gal`` the syrup drawn and not yet packed, ``water``
    where water last boiled or the pressure stood, and when. ``to_remind`` is what somebody asked
    to be reminded of and has not ended, ``cord_price`` what a cord of wood cost last, in dollars.
    """

    year: int | None = None
    trees: dict[TreeId, TreeState] = field(default_factory=dict)
    vessels: dict[str, VesselState] = field(default_factory=dict)
    weather: tuple[DayWeather, ...] = ()
    gathered_by_day: dict[date, float] = field(default_factory=dict)
    gathers: Sequence[tuple[datetime, Gather]] = ()
    stores: Sequence[tuple[datetime, Store]] = ()
    boils: Sequence[tuple[datetime, Boil]] = ()
    draws: Sequence[tuple[datetime, Draw]] = ()
    packs: Sequence[tuple[datetime, Pack]] = ()
    equipment: Sequence[tuple[datetime, Equipment]] = ()
    sweetness: Sequence[tuple[datetime, Sweetness]] = ()
    cleaned: dict[str, datetime] = field(default_factory=dict)
    rounds: tuple[Round, ...] = ()
    walk: tuple[TreeId, ...] = ()
    names: Names = field(default_factory=Names)
    carried: VesselState | None = None
    account: Account = field(default_factory=Account)
    boilings: tuple[BoilState, ...] = ()
    earlier_boilings: tuple[BoilState, ...] = ()
    pan_ft2: float | None = None
    least_gal: float | None = None
    pantry: tuple[StockLot, ...] = ()
    can_gal: float = 0.0
    water: tuple[datetime, Water] | None = None
    to_remind: tuple[ToRemind, ...] = ()
    cord_price: float | None = None

    @property
    def standing(self) -> list[TreeState]:
        """The trees that were not cut down."""
        return [tree for tree in self.trees.values() if tree.felled_at is None]

    def at(self, year: int) -> Season:
        """Return what is left of this season in ``year``: after a summer, no sap and no spiles.

        Its sums stay until the first note of the new one, for they are still asked about.
        """
        if self.year is None or year <= self.year:
            return self
        return replace(
            self,
            trees={name: _wintered(tree, year) for name, tree in self.trees.items()},
            vessels={name: _emptied(vessel, year) for name, vessel in self.vessels.items()},
            carried=self.carried
            if self.carried and stays(self.carried.newest_at, year, SAP_STAYS)
            else None,
        )

    @property
    def goes_on(self) -> bool:
        """Whether there is sap in store or a spile in a tree."""
        in_store = any(vessel.oldest_at for vessel in self.vessels.values())
        return in_store or any(tree.taps_in for tree in self.trees.values())


def stays(at: datetime | None, year: int, so_long: timedelta) -> bool:
    """Whether what was noted ``at`` is so near before ``year`` that it still is so in it."""
    return at is not None and at.date() >= date(year, 1, 1) - so_long


def pulled_by(year: int, taps: Sequence[TapHole], pulled: int) -> int:
    """Return how many of a tree's spiles are out when ``year`` begins, of ``pulled`` before."""
    old = sum(hole.count for hole in taps if not stays(hole.at, year, SPILES_STAY))
    return max(pulled, old)


def _wintered(tree: TreeState, year: int) -> TreeState:
    holes, pulled = (
        sum(hole.count for hole in tree.taps),
        pulled_by(year, tree.taps, tree.pulled_count),
    )
    out = replace(tree, pulled_count=pulled, pulled=bool(tree.taps) and pulled == holes)
    is_seen = stays(tree.last_seen, year, SAP_STAYS)
    return out if is_seen else replace(out, fill=None, sap=None, brix=None)


def _emptied(vessel: VesselState, year: int) -> VesselState:
    if stays(vessel.newest_at, year, SAP_STAYS):
        return vessel
    return replace(
        vessel, volume_gal=0.0, fill=0.0, oldest_at=None, newest_at=None, sap=None, temps=(),
        brix=None, parcels=(),
    )  # fmt: skip
