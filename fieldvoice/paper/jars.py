"""The jars of a season, lot by lot: from which trees and boil they come, and where they went."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from fieldvoice.book.sugarhouse import Sugarhouse
from fieldvoice.dialogue.sums import content
from fieldvoice.schema.acts import StockOut

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from fieldvoice.book import BoilState, Season, StockLot, Years

#: How the ways out of the pantry are told, in the order in which they are shown.
WAYS = {
    "sold": "sold", "given": "given away", "eaten": "eaten", "spoiled": "lost", None: "gone",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Gone:
    """Containers that left: when, how many, why, to whom, and for how much (dollars, for all)."""

    at: datetime
    count: int
    why: str | None
    to: str | None
    price: float | None


@dataclass(frozen=True, slots=True)
class LotRow:
    """A lot with its boil, and where its jars went; ``stood`` are those there at first."""

    lot: StockLot
    stood: int
    boil: BoilState | None
    gone: tuple[Gone, ...]

    @property
    def left(self) -> int:
        """How many are still there."""
        return self.stood - sum(one.count for one in self.gone)

    def ways(self) -> dict[str | None, int]:
        """Return how many left by each way."""
        counts = Counter[str | None]()
        for one in self.gone:
            counts[one.why] += one.count
        return {why: counts[why] for why in WAYS if counts[why]}


@dataclass(frozen=True, slots=True)
class Pantry:
    """The lots of a season, then those of earlier ones that still had jars, each oldest first.

    ``filled`` are the first so many, those of the season itself. ``unplaced`` left the pantry by
    the notes, and no lot in it was what they say.
    """

    lots: tuple[LotRow, ...]
    filled: int
    unplaced: tuple[Gone, ...]

    def ways(self) -> dict[str | None, int]:
        """Return how many jars left by each way."""
        counts = Counter[str | None]()
        for row in self.lots:
            counts.update(row.ways())
        return {why: counts[why] for why in WAYS if counts[why]}

    def gallons_by_colour(self) -> dict[str, float]:
        """Return the syrup packed in the season, in gallons, by its colour ("" where not said)."""
        found: dict[str, float] = {}
        for row in self.lots[: self.filled]:
            gallons = content(row.stood, row.lot.size)
            found[row.lot.colour or ""] = found.get(row.lot.colour or "", 0.0) + gallons
        return found


def pantry_of(years: Years, year: int) -> Pantry:
    """Return where a season's jars came from and went.

    Jars leave by the ledger's own rule, the oldest that fit first.
    """
    season = years.seasons[year]
    before = max((one for one in years.seasons if one < year), default=None)
    old = years.seasons[before].pantry if before is not None else ()
    shelf = _Shelf(Sugarhouse())
    for lot in old:
        if lot.left:
            shelf.put(lot, lot.left)
    outs = [(at, act) for at, act in years.of_act("stock_out", year) if isinstance(act, StockOut)]
    fresh = [(lot.at, lot) for lot in season.pantry if lot.at.year == year]
    events: list[tuple[datetime, StockLot | StockOut]] = [*fresh, *outs]
    # What was filled at a time was there to be taken at that time.
    for at, what in sorted(events, key=lambda one: (one[0], isinstance(one[1], StockOut))):
        if isinstance(what, StockOut):
            shelf.take(at, what)
        else:
            shelf.put(what, what.count)
    rows = [
        LotRow(lot, stood, _boil_of(lot, season), tuple(gone))
        for lot, stood, gone in zip(shelf.house.stock, shelf.stood, shelf.gone, strict=True)
    ]
    rows.sort(key=lambda row: row.lot.at.year != year)
    return Pantry(tuple(rows), len(fresh), tuple(shelf.unplaced))


@dataclass(slots=True)
class _Shelf:
    """The pantry gone through once more, lot by lot; the lists run beside the stock."""

    house: Sugarhouse
    stood: list[int] = field(default_factory=list)
    gone: list[list[Gone]] = field(default_factory=list)
    unplaced: list[Gone] = field(default_factory=list)

    def put(self, lot: StockLot, count: int) -> None:
        """Put a lot there with so many jars."""
        self.house.stock.append(replace(lot, left=count))
        self.stood.append(count)
        self.gone.append([])

    def take(self, at: datetime, act: StockOut) -> None:
        """Take jars out, and write down of which lots they were."""
        before = [lot.left for lot in self.house.stock]
        self.house.out(act)
        left = max(0, act.count or 0)
        for lot, had, gone in zip(self.house.stock, before, self.gone, strict=True):
            if had > lot.left:
                gone.append(Gone(at, had - lot.left, act.why, act.to, act.price))
                left -= had - lot.left
        if left:
            self.unplaced.append(Gone(at, left, act.why, act.to, act.price))


def _boil_of(lot: StockLot, season: Season) -> BoilState | None:
    boils: Sequence[BoilState] = [boil for boil in season.boilings if boil.started_at <= lot.at]
    return boils[-1] if boils and lot.at.year == boils[-1].started_at.year else None
