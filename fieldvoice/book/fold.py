"""From notes to the season: a pure fold over entries in order of time.

The fold's state is a value that can be written down and taken up again (``snapshots``): it holds
what the notes add up to, and not the notes.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime
from functools import cache
from typing import TYPE_CHECKING, Any, Protocol

from fieldvoice.book.lazy_notes import LazyNotes
from fieldvoice.book.ledger import amount
from fieldvoice.book.lots import Lot
from fieldvoice.book.movements import Movements
from fieldvoice.book.rounds import Rounds, trees_in, visited_in
from fieldvoice.book.season import (
    SAP_STAYS,
    DayWeather,
    Hung,
    Season,
    TapHole,
    ToRemind,
    TreeState,
    pulled_by,
    stays,
)
from fieldvoice.rules.sap import sap_noticed, worst_sap
from fieldvoice.schema import Names, TreeId, acts, plain_name
from fieldvoice.schema.names import NAMING
from fieldvoice.schema.registry import Registry

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

    from fieldvoice.book.rows import Entry
    from fieldvoice.schema import Act

#: What hangs on a tree where nobody said what.
_BUCKET = "bucket"
#: Rounds kept with all their notes; of those before only the walk is.
_ROUNDS_KEPT = 4


class Notes(Protocol):
    """Where the notes themselves can be looked up, live ones in order of time."""

    def of_act(self, act: str, year: int | None) -> Sequence[tuple[datetime, Act]]:
        """Return the notes of one act in one year."""
        ...

    def of_tree(self, tree: TreeId, kind: str | None) -> Sequence[tuple[datetime, Act]]:
        """Return the notes that name a tree: those of one kind, or for None all."""
        ...


def fold(entries: Iterable[Entry], capacities: Mapping[str, float] | None = None) -> Season:
    """Return the season that ``entries`` (live ones, in the order of writing) add up to.

    They are taken in order of the time they happened, those of the same time as written. A season
    is a calendar year: sums, sap and lists are those of the newest; trees, vessels and jars last.
    ``capacities`` gives what vessels hold when full, in US gallons.
    """
    known = tuple(entries)
    state = begun(capacities or {})
    state.names = names_in(known)
    state.take_all(known)
    return state.season(_Remembered(known, state.names))


def begun(capacities: Mapping[str, float]) -> State:
    """Return the state before the first note."""
    return State(Movements(capacities=dict(capacities)))


def names_in(entries: Iterable[Entry]) -> Names:
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


def by_number(act: Act, names: Names) -> Act:
    """Return ``act`` with the tree numbers and vessels that its names stand for."""
    if not names.trees and not names.vessels:
        return act
    said = {name: getattr(act, name) for name in _naming(type(act))}
    if said.get("trees"):
        said["trees"] = list(said["trees"])
    numbered = names.numbered(said)
    return act if numbered == said else type(act).model_validate({**act.json_fields(), **numbered})


@cache
def _naming(kind: type[Act]) -> tuple[str, ...]:
    """Return the fields of a kind of note that may hold a name."""
    return tuple(name for name in NAMING if name in kind.model_fields)


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
    site: str | None = None
    felled_at: datetime | None = None
    hung: list[Hung] = field(default_factory=list)
    has_bucket: bool = False

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

    def fell(self, at: datetime) -> None:
        """Note that it stands no longer: nothing is in it or hangs on it."""
        self.felled_at, self.fill, self.sap = at, None, None
        self.pull(None)
        self.hung.clear()

    def hang(self, act: acts.Hang) -> None:
        """Take in what hangs here; a lid without a thing is that of whatever does."""
        here = self.taken_off(act.item)
        if not act.gone:
            told = here or [Hung(act.item or _BUCKET)]
            self.hung.extend(one.told_anew(act) for one in told)

    def taken_off(self, item: str | None) -> list[Hung]:
        """Take what hangs here away, all of it if no ``item`` is named, and return it."""
        away = [one for one in self.hung if item in (None, one.item)]
        self.hung = [one for one in self.hung if one not in away]
        return away

    def empty(self, at: datetime) -> None:
        self.fill, self.sap, self.last_emptied = 0.0, None, at

    def begin_season(self, year: int) -> None:
        """Carry the tree into a new year: no spile stays in over the summer."""
        self.pulled_count = pulled_by(year, self.taps, self.pulled_count)
        self.pulled = bool(self.taps) and self.pulled_count == self.holes()
        self.gathered_gal = 0.0
        if not stays(self.last_seen, year, SAP_STAYS):
            self.fill, self.sap, self.brix = None, None, None

    def state(self, history: Sequence[tuple[datetime, Act]]) -> TreeState:
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
            site=self.site,
            felled_at=self.felled_at,
            hung=tuple(self.hung),
            has_bucket=self.has_bucket,
            history=history,
        )


class _Remembered:
    """The notes of a fold done at one go."""

    def __init__(self, entries: Sequence[Entry], names: Names) -> None:
        ordered = sorted(entries, key=lambda entry: entry.at)
        self._notes = [(entry.at, by_number(entry.act, names)) for entry in ordered]

    def of_act(self, act: str, year: int | None) -> Sequence[tuple[datetime, Act]]:
        return [(at, one) for at, one in self._notes if one.act == act and at.year == year]

    def of_tree(self, tree: TreeId, kind: str | None) -> Sequence[tuple[datetime, Act]]:
        of_kind = (note for note in self._notes if kind in (None, note[1].act))
        return [(at, one) for at, one in of_kind if tree in trees_in(one)]


#: What a kind of note does to the season.
folds: Registry[Callable[[Any, Any, Any], None]] = Registry()


@dataclass(slots=True)
class State:
    """The season in the making; ``take`` goes through the notes in order of time.

    Trees are kept under the ``repr`` of their names, so that tree 12 and a tree called "12" differ.
    """

    movements: Movements
    names: Names = field(default_factory=Names)
    year: int | None = None
    last_at: datetime | None = None
    trees: dict[str, _Tree] = field(default_factory=dict)
    water: tuple[datetime, acts.Water] | None = None
    days: dict[date, DayWeather] = field(default_factory=dict)
    cleaned: dict[str, datetime] = field(default_factory=dict)
    gathered: dict[date, float] = field(default_factory=dict)
    told_apart: dict[date, float] = field(default_factory=dict)
    to_remind: list[ToRemind] = field(default_factory=list)
    cord_price: float | None = None
    rounds: Rounds = field(default_factory=lambda: Rounds(most=_ROUNDS_KEPT))

    def take_all(self, entries: Iterable[Entry]) -> None:
        """Take in entries, by the time they happened."""
        for entry in sorted(entries, key=lambda entry: entry.at):
            self.take(entry.at, entry.act)

    def take(self, at: datetime, said: Act) -> None:
        """Take in one note, which happened no earlier than the last."""
        act = by_number(said, self.names)
        self.come_to(at.year)
        self.last_at = at
        visited = visited_in(act)
        for tree in self._trees_of(act):
            if visited:
                tree.last_seen = at
            tree.has_bucket |= act.spec.visits
        self.rounds.take(at, act, visited)
        effect = folds.of(act)
        if effect is not None:
            effect(self, at, act)

    def come_to(self, year: int) -> None:
        """Begin the season of a year, where the last note was of one before."""
        if self.year is not None and year > self.year:
            self._new_season(year)
        self.year = year

    def season(self, notes: Notes) -> Season:
        """Return the season as it stands; its lists of notes are looked up in ``notes``."""
        sugarhouse, year = self.movements.sugarhouse, self.year

        def told(act: str) -> Sequence[tuple[datetime, Any]]:
            return LazyNotes(lambda _: notes.of_act(act, year))

        return Season(
            year=year,
            trees={tree.id: tree.state(_history(notes, tree.id)) for tree in self.trees.values()},
            vessels={name: one.state() for name, one in self.movements.vessels.items()},
            carried=self.movements.carried_state(),
            account=self.movements.account(),
            boilings=tuple(boil.state() for boil in sugarhouse.boils),
            earlier_boilings=tuple(boil.state() for boil in sugarhouse.earlier),
            pan_ft2=sugarhouse.pan_ft2,
            least_gal=sugarhouse.least_gal,
            pantry=tuple(sugarhouse.stock),
            can_gal=sugarhouse.can_gal,
            water=self.water,
            to_remind=tuple(self.to_remind),
            cord_price=self.cord_price,
            weather=tuple(self.days[day] for day in sorted(self.days)),
            gathered_by_day=dict(self.gathered),
            gathers=told("gather"),
            stores=told("store"),
            boils=told("boil"),
            draws=told("draw"),
            packs=told("pack"),
            equipment=told("equipment"),
            sweetness=told("sweetness"),
            cleaned=dict(self.cleaned),
            rounds=self.rounds.rounds(),
            walk=self.rounds.walk(),
            names=self.names,
        )

    def _new_season(self, year: int) -> None:
        """Begin the year's season: trees, vessels, jars stay; sums, old sap and spiles go."""
        for tree in self.trees.values():
            tree.begin_season(year)
        self.movements.new_season(year)
        self.days, self.gathered, self.told_apart, self.water = {}, {}, {}, None

    @folds(acts.Inspect)
    def _inspect(self, at: datetime, act: acts.Inspect) -> None:
        for tree in self._trees_of(act):
            tree.fill = tree.fill if act.fill is None else act.fill
            # An empty bucket has no sap left to be in any condition.
            noticed = sap_noticed(act.sap, act.smell)
            tree.sap = noticed or (None if act.fill == 0 else tree.sap)
        self.movements.read(at, act)

    @folds(acts.Gather)
    def _gather(self, at: datetime, act: acts.Gather) -> None:
        volume_gal = self._not_yet_told(at, act)
        trees = self._trees_of(act)
        sap: str | None = act.sap
        tested = [tree.brix for tree in trees if tree.brix is not None]
        for tree in trees:
            # What was seen in the bucket goes into the vessel with its sap, said again or not.
            sap = act.sap or worst_sap((sap, tree.sap))
            tree.gathered_gal += (volume_gal or 0.0) / len(trees)
            tree.empty(at)
        self.gathered[at.date()] = self.gathered.get(at.date(), 0.0) + (volume_gal or 0.0)
        brix = sum(tested) / len(tested) if tested else None
        names: tuple[TreeId, ...] = tuple(tree.id for tree in trees)
        lot = Lot(at, volume_gal, sap, brix, names or ((act.site,) if act.site else ()))
        self.movements.gathered(lot, act.vessel)
        told_gal = (amount(act.volume_gal) or 0.0) - (volume_gal or 0.0)
        if act.vessel is not None and told_gal > 0:  # what was told before went there too
            self.movements.pour_carried(at, act.vessel, told_gal)

    def _not_yet_told(self, at: datetime, act: acts.Gather) -> float | None:
        """Return what a gathering adds: a total over the yard has in it what trees gave that day.

        So has it what parts of the woods gave; one that is less is of others beside those.
        """
        volume_gal, day = amount(act.volume_gal), at.date()
        if volume_gal is None:
            return None
        told = self.told_apart.get(day, 0.0)
        if not act.all:
            self.told_apart[day] = told + volume_gal
        elif volume_gal >= told:
            self.told_apart[day] = 0.0
            return volume_gal - told
        return volume_gal

    @folds(acts.Store)
    def _store(self, at: datetime, act: acts.Store) -> None:
        self.movements.store(at, act)

    @folds(acts.Reading)
    def _reading(self, at: datetime, act: acts.Reading) -> None:
        self.movements.read(at, act)

    @folds(acts.Sweetness)
    def _sweet(self, _: datetime, act: acts.Sweetness) -> None:
        if act.brix is None:
            return
        for tree in self._trees_of(act):
            tree.brix = act.brix
        if act.vessel is not None:
            self.movements.vessel(act.vessel).test(act.brix)

    @folds(acts.Measure)
    def _measure(self, _: datetime, act: acts.Measure) -> None:
        for tree in self._trees_of(act):
            tree.diameter_in = tree.diameter_in if act.diameter_in is None else act.diameter_in
            tree.species = act.species or tree.species

    @folds(acts.Stand)
    def _stand(self, at: datetime, act: acts.Stand) -> None:
        for tree in self._trees_of(act):
            tree.site = act.site or tree.site
            if act.felled:
                tree.fell(at)

    @folds(acts.Hang)
    def _hang(self, _: datetime, act: acts.Hang) -> None:
        moved = () if act.off is None else self._tree(act.off).taken_off(act.item)
        for tree in self._trees_of(act):
            tree.hung.extend(moved)
            tree.hang(act)

    @folds(acts.Health)
    def _health(self, _: datetime, act: acts.Health) -> None:
        for tree in self._trees_of(act):
            tree.condition = act.condition or tree.condition

    @folds(acts.Tap)
    def _tap(self, at: datetime, act: acts.Tap) -> None:
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

    @folds(acts.Pull)
    def _pull(self, _: datetime, act: acts.Pull) -> None:
        # Pulling everywhere is no visit to each tree, so it leaves the walk alone.
        trees = list(self.trees.values()) if act.all else self._trees_of(act)
        if act.site is not None:
            trees += [tree for tree in self.trees.values() if tree.site == act.site]
        for tree in trees:
            tree.pull(None if act.count is None or act.all else max(0, act.count))

    @folds(acts.Boil)
    def _boil(self, at: datetime, act: acts.Boil) -> None:
        self.movements.boil(at, act)

    @folds(acts.Dump)
    def _dump(self, at: datetime, act: acts.Dump) -> None:
        for tree in self._trees_of(act):
            tree.empty(at)
        if act.vessel is not None:
            self.movements.dump(at, act)

    @folds(acts.Clean)
    def _clean(self, at: datetime, act: acts.Clean) -> None:
        if act.vessel is not None:
            self.movements.vessel(act.vessel).cleaned_at = at
        if act.item is not None:
            self.cleaned[act.item] = at

    @folds(acts.Weather)
    def _weather(self, at: datetime, act: acts.Weather) -> None:
        day = at.date() if act.day is None else _day(act.day, at.date())
        known = self.days.get(day, DayWeather(day, None, None))
        self.days[day] = DayWeather(
            day,
            known.low_f if act.low_f is None else act.low_f,
            known.high_f if act.high_f is None else act.high_f,
        )

    @folds(acts.Remind)
    def _remind(self, at: datetime, act: acts.Remind) -> None:
        if act.text and act.due:
            self.to_remind.append(ToRemind(act.text, act.due, at))

    @folds(acts.Reminded)
    def _reminded(self, _: datetime, act: acts.Reminded) -> None:
        ended = next((one for one in self.to_remind if one.text == act.text), None)
        if ended is not None:
            self.to_remind.remove(ended)

    @folds(acts.Cost)
    def _cost(self, _: datetime, act: acts.Cost) -> None:
        if act.price is not None and act.cords != 0:
            self.cord_price = act.price / (act.cords or 1.0)

    @folds(acts.Vessel)
    def _set_up(self, _: datetime, act: acts.Vessel) -> None:
        self.movements.set_up(act)

    @folds(acts.Transfer)
    def _transfer(self, at: datetime, act: acts.Transfer) -> None:
        self.movements.transfer(at, act)

    @folds(acts.IceOut)
    def _ice_out(self, at: datetime, act: acts.IceOut) -> None:
        self.movements.ice_out(at, act)

    @folds(acts.RainIn)
    def _rain_in(self, at: datetime, act: acts.RainIn) -> None:
        self.movements.rain_in(at, act)

    @folds(acts.Pan)
    def _pan(self, at: datetime, act: acts.Pan) -> None:
        self.movements.sugarhouse.pan(at, act)

    @folds(acts.Draw)
    def _draw(self, at: datetime, act: acts.Draw) -> None:
        self.movements.sugarhouse.draw(at, act)

    @folds(acts.Filter)
    def _filtered(self, at: datetime, act: acts.Filter) -> None:
        self.movements.sugarhouse.filtered(at, act)

    @folds(acts.Defoam)
    def _defoam(self, at: datetime, act: acts.Defoam) -> None:
        self.movements.sugarhouse.defoam(at, act)

    @folds(acts.Fuel)
    def _fuel(self, at: datetime, act: acts.Fuel) -> None:
        self.movements.sugarhouse.fuel(at, act)

    @folds(acts.Pack)
    def _pack(self, at: datetime, act: acts.Pack) -> None:
        self.movements.sugarhouse.pack(at, act)

    @folds(acts.StockOut)
    def _stock_out(self, _: datetime, act: acts.StockOut) -> None:
        self.movements.sugarhouse.out(act)

    @folds(acts.Water)
    def _boiling_water(self, at: datetime, act: acts.Water) -> None:
        self.water = (at, act)

    @folds(acts.Remark)
    def _remark(self, _: datetime, act: acts.Remark) -> None:
        if act.vessel is not None:
            self.movements.vessel(act.vessel)

    def _trees_of(self, act: Act) -> list[_Tree]:
        return [self._tree(name) for name in trees_in(act)]

    def _tree(self, name: TreeId) -> _Tree:
        key = repr(name)
        if key not in self.trees:
            self.trees[key] = _Tree(name)
        return self.trees[key]


def _history(notes: Notes, tree: TreeId) -> Sequence[tuple[datetime, Act]]:
    return LazyNotes(lambda kind: notes.of_tree(tree, kind))


def _day(said: str, otherwise: date) -> date:
    try:
        return date.fromisoformat(said[:10])
    except ValueError:
        return otherwise
