"""From the pan to the pantry: boils, the syrup drawn, what was packed of it, and what is left.

A boil's syrup is made of all the sap that went into the pan since the fire was lit, so that a lot
of jars names every tree and vessel whose sap may be in it: too many rather than too few.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, TypeVar

from fieldvoice.book.lots import Lot, Mixture
from fieldvoice.book.season import BoilState, StockLot
from fieldvoice.errors import RangeError
from fieldvoice.rules.packing import container_gal
from fieldvoice.schema import TreeId, acts

if TYPE_CHECKING:
    from collections.abc import Iterable

T = TypeVar("T")

#: A fire that nobody put out is out by the next day; a draw or a jar so late belongs to no boil.
_FIRE_LASTS = timedelta(hours=20)
#: Syrup may wait in its can for a while before it is packed.
_SYRUP_WAITS = timedelta(days=10)
#: So little is left in the can when the sums of jars do not come out even.
_DREGS_GAL = 0.02
#: Boils of earlier seasons that the pan's rate is still learnt from.
_BOILS_KEPT = 5


@dataclass(slots=True)
class Boiling:
    """A boil in the making; ``taken`` is the sap put on it, by the vessel it came from."""

    started_at: datetime
    boiling_at: datetime | None = None
    ended_at: datetime | None = None
    taken: dict[str, list[Lot]] = field(default_factory=dict)
    syrup_gal: float = 0.0
    draws: int = 0
    draw_brix: float | None = None
    agents: tuple[str, ...] = ()
    cords: float | None = None
    gas_gal: float | None = None
    filtered_f: float | None = None
    filtered_at: datetime | None = None
    levels: list[tuple[datetime, float]] = field(default_factory=list)
    feeds: list[tuple[datetime, float]] = field(default_factory=list)

    def settle(self) -> None:
        """Keep of a boil that is over only what its sap comes to, not every lot of it."""
        self.taken = {vessel: summed(lots) for vessel, lots in self.taken.items() if lots}
        self.levels, self.feeds = [], []

    def state(self) -> BoilState:
        """Return the boil as it stands."""
        sap = Mixture([lot for lots in self.taken.values() for lot in lots])
        source = Source.of(sap.lots)
        return BoilState(
            started_at=self.started_at,
            boiling_at=self.boiling_at,
            ended_at=self.ended_at,
            sap_gal=sap.known_gal(),
            brix=sap.brix(),
            sap=sap.worst(),
            syrup_gal=self.syrup_gal,
            draws=self.draws,
            draw_brix=self.draw_brix,
            trees=source.trees,
            vessels=source.vessels,
            gathered_from=source.gathered_from,
            gathered_to=source.gathered_to,
            oldest_at=min((lot.at for lot in sap.lots), default=None),
            is_all_known=sap.is_all_known(),
            agents=self.agents,
            cords=self.cords,
            gas_gal=self.gas_gal,
            filtered_f=self.filtered_f,
            filtered_at=self.filtered_at,
            levels=tuple(self.levels),
            feeds=tuple(self.feeds),
        )


def summed(lots: list[Lot]) -> list[Lot]:
    """Return lots run together: one with all of their sap, and one for the newest day."""
    mixed, source = Mixture(lots), Source.of(lots)
    sap = [lot.at for lot in lots if not lot.rain] or [lot.at for lot in lots]
    whole = Lot(
        min(sap), mixed.known_gal(), mixed.worst(), mixed.brix(), source.trees, source.vessels
    )
    return [whole, Lot(max(sap), 0.0, through=source.vessels)] if max(sap) > min(sap) else [whole]


@dataclass(slots=True)
class Source:
    """Where syrup came from: trees or sites, vessels, days, and what was put to it."""

    trees: tuple[TreeId, ...] = ()
    vessels: tuple[str, ...] = ()
    gathered_from: date | None = None
    gathered_to: date | None = None
    agents: tuple[str, ...] = ()

    @classmethod
    def of(cls, lots: list[Lot], agents: tuple[str, ...] = ()) -> Source:
        """Return where the lots came from."""
        days = [lot.at.date() for lot in lots if not lot.rain]
        return cls(
            trees=_each_once(tree for lot in lots for tree in lot.trees),
            vessels=_each_once(vessel for lot in lots for vessel in lot.through),
            gathered_from=min(days, default=None),
            gathered_to=max(days, default=None),
            agents=agents,
        )

    def joined(self, other: Source) -> Source:
        """Return where a mixture of the two came from."""
        first = [day for day in (self.gathered_from, other.gathered_from) if day]
        last = [day for day in (self.gathered_to, other.gathered_to) if day]
        return Source(
            trees=_each_once((*self.trees, *other.trees)),
            vessels=_each_once((*self.vessels, *other.vessels)),
            gathered_from=min(first, default=None),
            gathered_to=max(last, default=None),
            agents=_each_once((*self.agents, *other.agents)),
        )


@dataclass(slots=True)
class Sugarhouse:
    """Boils of the season, the syrup in the can, and the jars in the pantry, note by note.

    The pantry outlives the season: ``stock`` keeps the lots of earlier ones while jars are left. So
    do the pan and a few boils to know it by (``earlier``).
    """

    boils: list[Boiling] = field(default_factory=list)
    earlier: list[Boiling] = field(default_factory=list)
    can_gal: float = 0.0
    can_from: Source = field(default_factory=Source)
    can_at: datetime | None = None
    stock: list[StockLot] = field(default_factory=list)
    pan_ft2: float | None = None
    least_gal: float | None = None

    def open_boil(self, at: datetime) -> Boiling | None:
        """Return the boil going on at ``at``."""
        last = self.boils[-1] if self.boils else None
        if last is None or last.ended_at is not None or at - _last_of(last) > _FIRE_LASTS:
            return None
        return last

    def last_boil(self, at: datetime) -> Boiling | None:
        """Return the boil that something done at ``at`` belongs to: going on, or just over."""
        last = self.boils[-1] if self.boils else None
        return None if last is None or at - _last_of(last) > _FIRE_LASTS else last

    def light(self, at: datetime) -> Boiling:
        """Return the boil going on, begun now if there is none."""
        going = self.open_boil(at)
        if going is None:
            if self.boils:
                self.boils[-1].settle()
            going = Boiling(at)
            self.boils.append(going)
        return going

    def feed(self, at: datetime, vessel: str, lots: list[Lot]) -> None:
        """Put sap into the pan."""
        going = self.light(at)
        going.taken.setdefault(vessel, []).extend(lots)
        gallons = Mixture(lots).known_gal()
        if gallons:
            going.feeds.append((at, gallons))

    def unfeed(self, vessel: str) -> list[Lot]:
        """Return, and take out of the last boil, what it had from ``vessel``."""
        return self.boils[-1].taken.pop(vessel, []) if self.boils else []

    def end(self, at: datetime) -> None:
        """Let the fire out."""
        going = self.open_boil(at)
        if going is not None:
            going.ended_at = at

    def pan(self, at: datetime, act: acts.Pan) -> None:
        """Take down what was told of the pan: its boil, depth, size, what it is lit for."""
        if act.area_sqft is not None:
            self.pan_ft2 = act.area_sqft
        if act.least_gal is not None:
            self.least_gal = act.least_gal
        if not act.boiling and act.depth_in is None:
            return
        going = self.light(at)
        if act.boiling and going.boiling_at is None:
            going.boiling_at = at
        if act.depth_in is not None:
            going.levels.append((at, act.depth_in))

    def draw(self, at: datetime, act: acts.Draw) -> None:
        """Take syrup off the pan into the can."""
        gallons = act.syrup_gal if act.syrup_gal and 0 < act.syrup_gal < 1e4 else 0.0
        boil = self.last_boil(at)
        fresh = self.can_at is None or at - self.can_at > _SYRUP_WAITS
        if fresh or self.can_gal <= _DREGS_GAL:
            self.can_gal, self.can_from = 0.0, Source()
        self.can_gal, self.can_at = self.can_gal + gallons, at
        if boil is None:
            return
        boil.syrup_gal += gallons
        boil.draws += 1
        boil.draw_brix = act.brix if act.brix is not None else boil.draw_brix
        self.can_from = self.can_from.joined(self._source(boil))

    def filtered(self, at: datetime, act: acts.Filter) -> None:
        """Take down that syrup was filtered."""
        boil = self.last_boil(at)
        if boil is not None:
            boil.filtered_at, boil.filtered_f = at, act.temp_f

    def defoam(self, at: datetime, act: acts.Defoam) -> None:
        """Take down what knocked the foam down: it is in the syrup from then on."""
        if act.agent is not None:
            going = self.light(at)
            going.agents = _each_once((*going.agents, act.agent))

    def fuel(self, at: datetime, act: acts.Fuel) -> None:
        """Take down the fuel burnt."""
        boil = self.last_boil(at)
        if boil is None:
            return
        if act.cords is not None:
            boil.cords = (boil.cords or 0.0) + act.cords
        if act.volume_gal is not None:
            boil.gas_gal = (boil.gas_gal or 0.0) + act.volume_gal

    def pack(self, at: datetime, act: acts.Pack) -> None:
        """Fill containers from the can."""
        count = max(0, act.count or 0)
        boil = self.last_boil(at)
        waited = self.can_at is not None and at - self.can_at <= _SYRUP_WAITS
        source = self.can_from if waited else Source()
        if boil is not None:
            source = source.joined(self._source(boil))
        self.can_gal = max(0.0, self.can_gal - count * _content(act.size))
        self.stock.append(
            StockLot(
                code=lot_code(at),
                at=at,
                count=count,
                size=act.size or "container",
                left=count,
                colour=act.colour,
                temp_f=act.temp_f,
                brix=boil.draw_brix if boil else None,
                trees=source.trees,
                vessels=source.vessels,
                gathered_from=source.gathered_from,
                gathered_to=source.gathered_to,
                agents=source.agents,
            )
        )

    def out(self, act: acts.StockOut) -> None:
        """Take containers out of the pantry, the oldest first."""
        wanted = max(0, act.count or 0)
        for index, lot in enumerate(self.stock):
            if wanted and lot.left and _is_meant(lot, act):
                gone = min(wanted, lot.left)
                wanted -= gone
                self.stock[index] = replace(lot, left=lot.left - gone)

    def new_season(self) -> None:
        """Begin a season: only what is left in the pantry is carried over."""
        self.earlier = [*self.earlier, *self.boils][-_BOILS_KEPT:]
        self.boils = []
        self.can_gal, self.can_from, self.can_at = 0.0, Source(), None
        self.stock = [lot for lot in self.stock if lot.left]

    def _source(self, boil: Boiling) -> Source:
        return Source.of([lot for lots in boil.taken.values() for lot in lots], boil.agents)


def lot_code(at: datetime) -> str:
    """Return the code of what was packed at ``at``: "27064-1745" for 5 March 2027, 17:45.

    The time makes it last: no later correction of another note can change it.
    """
    return f"{at:%y%j-%H%M}"


def _last_of(boil: Boiling) -> datetime:
    """Return when a boil was last heard of."""
    return max(
        boil.ended_at or boil.started_at,
        *(at for at, _ in (*boil.levels[-1:], *boil.feeds[-1:])),
        boil.boiling_at or boil.started_at,
    )


def _content(size: str | None) -> float:
    try:
        return container_gal(size or "")
    except RangeError:
        return 0.0  # a size of the user's own: counted, not measured


def _is_meant(lot: StockLot, act: acts.StockOut) -> bool:
    return (
        act.size in (None, lot.size)
        and act.colour in (None, lot.colour)
        and act.lot in (None, lot.code)
    )


def _each_once(names: Iterable[T]) -> tuple[T, ...]:
    return tuple(dict.fromkeys(names))
