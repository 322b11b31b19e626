"""From notes to the season: a pure fold over entries in order of time."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING, Any

from fieldvoice.book.ledger import amount
from fieldvoice.book.lots import Lot
from fieldvoice.book.movements import Movements
from fieldvoice.book.rounds import rounds_of, trees_in, visited_in, walk_of
from fieldvoice.book.season import DayWeather, Season, TapHole, TreeState, worse_sap
from fieldvoice.meaning import Names, acts, plain_name

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping
    from datetime import datetime

    from fieldvoice.book.rows import Entry
    from fieldvoice.meaning import Act, TreeId


def fold(entries: Iterable[Entry], capacities: Mapping[str, float] | None = None) -> Season:
    """Return the season that ``entries`` (live ones, in the order of writing) add up to.

    They are taken in order of the time they happened, those of the same time as written. A season
    is a calendar year: sums, sap and lists are those of the newest; trees, vessels and jars last.
    ``capacities`` gives what vessels hold when full, in US gallons.
    """
    known = tuple(entries)
    names = _names_in(known)
    folding = _Folding(capacities or {}, names)
    for entry in sorted(known, key=lambda entry: entry.at):
        folding.take(entry.at, _by_number(entry.act, names))
    return folding.season()


def _names_in(entries: Iterable[Entry]) -> Names:
    """Return the names given in ``entries``, in the order of writing; the last one given holds.

    A name holds for all notes, also those made before it was given.
    """
    trees: dict[str, TreeId] = {}
    vessels: dict[str, str] = {}
    for entry in entries:
        act = entry.act
        if not isinstance(act, acts.Name) or act.name is None:
            continue
        plain = plain_name(act.name)
        trees.pop(plain, None)
        vessels.pop(plain, None)
        if act.vessel is not None:
            vessels[plain] = act.vessel
        else:
            trees[plain] = plain if act.tree is None else act.tree
    return Names(trees, vessels)


def _by_number(act: Act, names: Names) -> Act:
    """Return ``act`` with the tree numbers and vessels that its names stand for."""
    fields = act.json_fields()
    numbered = names.numbered(fields)
    return act if numbered == fields else type(act).model_validate(numbered)


@dataclass(slots=True)
class _Tree:
    """A tree in the making: the fields of ``TreeState``, open to change."""

    id: TreeId
    diameter_in: float | None = None
    species: str | None = None
    condition: str | None = None
    taps: list[TapHole] = field(default_factory=list)
    pulled_count: int = 0
    pulled: bool = False
    fill: float | None = None
    sap: str | None = None
    last_seen: datetime | None = None
    last_emptied: datetime | None = None
    gathered_gal: float = 0.0
    brix: float | None = None
    history: list[tuple[datetime, Act]] = field(default_factory=list)

    def holes(self) -> int:
        return sum(hole.count for hole in self.taps)

    def tap(self, hole: TapHole, act: acts.Tap) -> None:
        completed = self.taps[-1].completed(hole.at, act) if self.taps else None
        if completed is not None:
            self.taps[-1] = completed
        else:
            self.taps.append(hole)
        self.pulled = False

    def pull(self, count: int | None) -> None:
        """Pull ``count`` spiles, or all; more than were noted as set cannot be in the tree."""
        left = self.holes() - self.pulled_count
        self.pulled_count += left if count is None else min(count, left)
        self.pulled = self.pulled_count == self.holes()

    def empty(self, at: datetime) -> None:
        self.fill, self.sap, self.last_emptied = 0.0, None, at

    def begin_season(self) -> None:
        """Carry the tree into a new year: no spile stays in over the summer."""
        self.pulled_count = self.holes()
        self.pulled = bool(self.taps)
        self.fill, self.sap, self.brix, self.gathered_gal = None, None, None, 0.0

    def state(self) -> TreeState:
        return TreeState(
            id=self.id,
            diameter_in=self.diameter_in,
            species=self.species,
            condition=self.condition,
            taps=tuple(self.taps),
            pulled_count=self.pulled_count,
            pulled=self.pulled,
            fill=self.fill,
            sap=self.sap,
            last_seen=self.last_seen,
            last_emptied=self.last_emptied,
            gathered_gal=self.gathered_gal,
            brix=self.brix,
            history=tuple(self.history),
        )


class _Folding:
    """The season in the making; ``take`` goes through the notes in order of time."""

    def __init__(self, capacities: Mapping[str, float], names: Names) -> None:
        self._names = names
        self._notes: list[tuple[datetime, Act]] = []
        self._year: int | None = None
        self._trees: dict[TreeId, _Tree] = {}
        self._movements = Movements(capacities=dict(capacities))
        self._water: tuple[datetime, acts.Water] | None = None
        self._weather: dict[date, DayWeather] = {}
        self._cleaned: dict[str, datetime] = {}
        self._told: dict[str, list[tuple[datetime, Any]]] = {}

    def take(self, at: datetime, act: Act) -> None:
        visited = visited_in(act)
        if self._year is not None and at.year > self._year:
            self._new_season()
        self._year = at.year
        for tree in self._trees_of(act):
            tree.last_seen = at if tree.id in visited else tree.last_seen
            tree.history.append((at, act))
        self._notes.append((at, act))
        self._told.setdefault(act.act, []).append((at, act))
        effect = _EFFECTS.get(type(act))
        if effect is not None:
            effect(self, at, act)

    def season(self) -> Season:
        rounds = rounds_of(self._notes)
        return Season(
            trees={name: tree.state() for name, tree in self._trees.items()},
            vessels={name: one.state() for name, one in self._movements.vessels.items()},
            carried=self._movements.carried_state(),
            account=self._movements.account(),
            boilings=tuple(boil.state() for boil in self._movements.sugarhouse.boils),
            earlier_boilings=tuple(boil.state() for boil in self._movements.sugarhouse.earlier),
            pan_ft2=self._movements.sugarhouse.pan_ft2,
            pantry=tuple(self._movements.sugarhouse.stock),
            can_gal=self._movements.sugarhouse.can_gal,
            water=self._water,
            weather=tuple(self._weather[day] for day in sorted(self._weather)),
            gathers=tuple(self._told.get("gather", ())),
            stores=tuple(self._told.get("store", ())),
            boils=tuple(self._told.get("boil", ())),
            draws=tuple(self._told.get("draw", ())),
            packs=tuple(self._told.get("pack", ())),
            equipment=tuple(self._told.get("equipment", ())),
            sweetness=tuple(self._told.get("sweetness", ())),
            cleaned=self._cleaned,
            rounds=rounds,
            walk=walk_of(rounds),
            names=self._names,
        )

    def _new_season(self) -> None:
        """Begin the year's season: trees, vessels and jars stay; sap, sums and spiles do not."""
        for tree in self._trees.values():
            tree.begin_season()
        self._movements.new_season()
        self._weather, self._told, self._water = {}, {}, None

    def inspect(self, at: datetime, act: acts.Inspect) -> None:
        for tree in self._trees_of(act):
            tree.fill = tree.fill if act.fill is None else act.fill
            # An empty bucket has no sap left to be in any condition.
            tree.sap = act.sap or (None if act.fill == 0 else tree.sap)
        self._movements.read(at, act)

    def gather(self, at: datetime, act: acts.Gather) -> None:
        volume_gal = amount(act.volume_gal)
        trees = self._trees_of(act)
        sap: str | None = act.sap
        tested = [tree.brix for tree in trees if tree.brix is not None]
        for tree in trees:
            # What was seen in the bucket goes into the vessel with its sap, said again or not.
            sap = act.sap or worse_sap(sap, tree.sap)
            tree.gathered_gal += (volume_gal or 0.0) / len(trees)
            tree.empty(at)
        brix = sum(tested) / len(tested) if tested else None
        names: tuple[TreeId, ...] = tuple(tree.id for tree in trees)
        lot = Lot(at, volume_gal, sap, brix, names or ((act.site,) if act.site else ()))
        self._movements.gathered(lot, act.vessel)

    def store(self, at: datetime, act: acts.Store) -> None:
        self._movements.store(at, act)

    def reading(self, at: datetime, act: acts.Reading) -> None:
        self._movements.read(at, act)

    def sweet(self, _: datetime, act: acts.Sweetness) -> None:
        if act.brix is None:
            return
        for tree in self._trees_of(act):
            tree.brix = act.brix
        if act.vessel is not None:
            self._movements.vessel(act.vessel).test(act.brix)

    def measure(self, _: datetime, act: acts.Measure) -> None:
        for tree in self._trees_of(act):
            tree.diameter_in = tree.diameter_in if act.diameter_in is None else act.diameter_in
            tree.species = act.species or tree.species

    def health(self, _: datetime, act: acts.Health) -> None:
        for tree in self._trees_of(act):
            tree.condition = act.condition or tree.condition

    def tap(self, at: datetime, act: acts.Tap) -> None:
        hole = TapHole(
            at=at,
            count=1 if act.count is None else max(0, act.count),
            side=act.side,
            height_ft=act.height_ft,
            depth_in=act.depth_in,
            bit_in=act.bit_in,
            shavings=act.shavings,
        )
        for tree in self._trees_of(act):
            tree.tap(hole, act)

    def pull(self, _: datetime, act: acts.Pull) -> None:
        # Pulling everywhere is no visit to each tree, so it leaves the walk alone.
        trees = list(self._trees.values()) if act.all else self._trees_of(act)
        for tree in trees:
            tree.pull(None if act.count is None or act.all else max(0, act.count))

    def boil(self, at: datetime, act: acts.Boil) -> None:
        self._movements.boil(at, act)

    def dump(self, at: datetime, act: acts.Dump) -> None:
        for tree in self._trees_of(act):
            tree.empty(at)
        if act.vessel is not None:
            self._movements.dump(act.vessel)

    def clean(self, at: datetime, act: acts.Clean) -> None:
        if act.vessel is not None:
            self._movements.vessel(act.vessel).cleaned_at = at
        if act.item is not None:
            self._cleaned[act.item] = at

    def weather(self, at: datetime, act: acts.Weather) -> None:
        day = at.date() if act.day is None else _day(act.day, at.date())
        known = self._weather.get(day, DayWeather(day, None, None))
        self._weather[day] = DayWeather(
            day,
            known.low_f if act.low_f is None else act.low_f,
            known.high_f if act.high_f is None else act.high_f,
        )

    def set_up(self, _: datetime, act: acts.Vessel) -> None:
        self._movements.set_up(act)

    def transfer(self, at: datetime, act: acts.Transfer) -> None:
        self._movements.transfer(at, act)

    def ice_out(self, _: datetime, act: acts.IceOut) -> None:
        self._movements.ice_out(act)

    def rain_in(self, at: datetime, act: acts.RainIn) -> None:
        self._movements.rain_in(at, act)

    def pan(self, at: datetime, act: acts.Pan) -> None:
        self._movements.sugarhouse.pan(at, act)

    def draw(self, at: datetime, act: acts.Draw) -> None:
        self._movements.sugarhouse.draw(at, act)

    def filtered(self, at: datetime, act: acts.Filter) -> None:
        self._movements.sugarhouse.filtered(at, act)

    def defoam(self, at: datetime, act: acts.Defoam) -> None:
        self._movements.sugarhouse.defoam(at, act)

    def fuel(self, at: datetime, act: acts.Fuel) -> None:
        self._movements.sugarhouse.fuel(at, act)

    def pack(self, at: datetime, act: acts.Pack) -> None:
        self._movements.sugarhouse.pack(at, act)

    def stock_out(self, _: datetime, act: acts.StockOut) -> None:
        self._movements.sugarhouse.out(act)

    def boiling_water(self, at: datetime, act: acts.Water) -> None:
        self._water = (at, act)

    def remark(self, _: datetime, act: acts.Remark) -> None:
        if act.vessel is not None:
            self._movements.vessel(act.vessel)

    def _trees_of(self, act: Act) -> list[_Tree]:
        return [self._tree(name) for name in trees_in(act)]

    def _tree(self, name: TreeId) -> _Tree:
        if name not in self._trees:
            self._trees[name] = _Tree(name)
        return self._trees[name]


def _day(said: str, otherwise: date) -> date:
    try:
        return date.fromisoformat(said[:10])
    except ValueError:
        return otherwise


_EFFECTS: dict[type[Act], Callable[[_Folding, Any, Any], None]] = {
    acts.Inspect: _Folding.inspect,
    acts.Gather: _Folding.gather,
    acts.Store: _Folding.store,
    acts.Reading: _Folding.reading,
    acts.Sweetness: _Folding.sweet,
    acts.Measure: _Folding.measure,
    acts.Health: _Folding.health,
    acts.Tap: _Folding.tap,
    acts.Pull: _Folding.pull,
    acts.Boil: _Folding.boil,
    acts.Dump: _Folding.dump,
    acts.Clean: _Folding.clean,
    acts.Weather: _Folding.weather,
    acts.Remark: _Folding.remark,
    acts.Draw: _Folding.draw,
    acts.Pack: _Folding.pack,
    acts.Vessel: _Folding.set_up,
    acts.Transfer: _Folding.transfer,
    acts.IceOut: _Folding.ice_out,
    acts.RainIn: _Folding.rain_in,
    acts.Pan: _Folding.pan,
    acts.Defoam: _Folding.defoam,
    acts.Filter: _Folding.filtered,
    acts.Fuel: _Folding.fuel,
    acts.Water: _Folding.boiling_water,
    acts.StockOut: _Folding.stock_out,
}
