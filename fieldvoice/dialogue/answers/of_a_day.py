"""What a day's notes come to, in one sentence: "13 gal of sap from 9 trees; 5 gal boiled"."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.book.rounds import trees_in
from fieldvoice.dialogue.answers.answered import told_gal
from fieldvoice.dialogue.answers.looking_back import jars_of
from fieldvoice.dialogue.answers.pantry import sorts
from fieldvoice.schema.acts import Draw, Gather, Pack, StockOut, Tap
from fieldvoice.segments import Count, listed, parts

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import date

    from fieldvoice.dialogue.context import TurnContext
    from fieldvoice.schema import Act
    from fieldvoice.segments import Parts

#: Notes whose amounts are summed up, and those that say nothing beside these sums.
_SUMMED = (Draw, Gather, Pack, StockOut, Tap)
_BESIDE = frozenset({"boil", "name", "round", "store"})


def come_to(acts: Sequence[Act], days: tuple[date, date], moment: TurnContext) -> Parts:
    """Return what the notes of days come to; nothing where none of them has an amount."""
    tapped = {tree for one in acts if isinstance(one, Tap) for tree in trees_in(one)}
    drawn = sum(one.syrup_gal or 0.0 for one in acts if isinstance(one, Draw))
    jars = jars_of(one for one in acts if isinstance(one, Pack))
    gone = sum(one.count or 0 for one in acts if isinstance(one, StockOut))
    boiled = _boiled(days, moment)
    told = (
        Count(len(tapped), "tree tapped", "trees tapped") if tapped else None,
        _gathered([one for one in acts if isinstance(one, Gather)]),
        parts(told_gal(boiled), "boiled") if boiled else None,
        parts(told_gal(drawn), "of syrup drawn off") if drawn else None,
        parts(sorts(jars), "packed") if any(jars.values()) else None,
        Count(gone, "jar sold or given away", "jars sold or given away") if gone else None,
    )
    return listed(filter(None, told), ";", ";")


def in_no_sum(acts: Iterable[Act]) -> int:
    """Return how many notes are not summed up."""
    return sum(not isinstance(one, _SUMMED) and one.act not in _BESIDE for one in acts)


def _gathered(gathers: Sequence[Gather]) -> Parts:
    gallons = sum(one.volume_gal or 0.0 for one in gathers)
    trees = {tree for one in gathers for tree in trees_in(one)}
    of_trees = parts("from", Count(len(trees), "tree")) if trees else ()
    return parts(told_gal(gallons), "of sap", of_trees) if gallons else ()


def _boiled(days: tuple[date, date], moment: TurnContext) -> float:
    """Return the sap of the boils that began on the days."""
    first, last = days
    begun = ((one.started_at.astimezone(moment.now.tzinfo).date(), one.sap_gal)
             for one in moment.season.boilings)  # fmt: skip
    return sum(gallons for day, gallons in begun if first <= day <= last)
