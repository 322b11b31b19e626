"""What a season adds up to: the sums that spoken answers and the season's page have in common."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import date
from statistics import median
from typing import TYPE_CHECKING

from fieldvoice.dialogue.boil_day import likely_brix
from fieldvoice.errors import RangeError
from fieldvoice.rules.packing import container_gal
from fieldvoice.rules.sugar import syrup_estimate

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from fieldvoice.book import Account, BoilState, Season, StockLot
    from fieldvoice.schema import TreeId

#: A tree is slow when it gives less than this share of the usual tree (a design choice).
SLOW_SHARE = 0.5
#: Fewer trees than this with sap in the book show no usual tree.
ENOUGH_TREES = 3
#: Less is not told: what the sums of decimal fractions leave (a tenth is what is told).
TOLD_GAL = 0.05


@dataclass(frozen=True, slots=True)
class Totals:
    """A season's sums, in gallons.

    ``trees`` gave sap; ``sap_to_one`` is sap to one of syrup, by what was boiled, or else gathered;
    None without syrup. ``packed`` counts containers by size and colour, gone since or not.
    """

    sap_gal: float
    trees: int
    boils: int
    syrup_gal: float
    sap_to_one: int | None
    packed: Mapping[tuple[str, str], int]


def totals(season: Season) -> Totals:
    """Return what a season comes to."""
    sap = gathered_gal(season)
    drawn = sum(act.syrup_gal or 0.0 for _, act in season.draws)
    boiled = season.account.boiled_gal or sap
    packed: Counter[tuple[str, str]] = Counter()
    for _, act in season.packs:
        packed[act.size or "container", act.colour or ""] += act.count or 0
    return Totals(
        sap_gal=sap,
        trees=sum(1 for tree in season.trees.values() if tree.gathered_gal),
        boils=len(season.boilings),
        syrup_gal=drawn,
        sap_to_one=round(boiled / drawn) if boiled and drawn else None,
        packed=packed,
    )


def gathered_gal(season: Season, since: date = date.min, until: date = date.max) -> float:
    """Return the gallons gathered from day ``since`` up to and with day ``until``."""
    return sum(gallons for day, gallons in season.gathered_by_day.items() if since <= day <= until)


def content(count: int, size: str) -> float:
    """Return the gallons in containers; 0 for a size of the user's own, counted, not measured."""
    try:
        return count * container_gal(size)
    except RangeError:
        return 0.0


def left_in(pantry: Iterable[StockLot]) -> Counter[tuple[str, str]]:
    """Return how many containers are left, by size and colour."""
    left: Counter[tuple[str, str]] = Counter()
    for lot in pantry:
        left[lot.size, lot.colour or ""] += lot.left
    return left


def came_gal(account: Account) -> float:
    """Return the sap that came in: gathered, and poured without having been gathered."""
    return account.gathered_gal + account.poured_gal


def became_of(account: Account) -> dict[str, float]:
    """Return what became of the sap, in gallons, by how it is told; what is nothing is left out."""
    went = {
        "boiled": account.boiled_gal,
        "in store": account.held_gal,
        "dumped": account.dumped_gal,
        "thrown out as ice": account.iced_gal,
        "never placed": account.lost_gal,
    }
    return {name: gallons for name, gallons in went.items() if gallons > TOLD_GAL}


def yields(season: Season) -> dict[TreeId, float]:
    """Return the season's sap for each tap, of the trees still standing in the round.

    When every spile is pulled, of all trees by the taps that were in them this season.
    """
    emptied = [tree for tree in season.trees.values() if tree.last_emptied is not None]
    standing = [tree for tree in emptied if not tree.pulled]
    if standing:
        return {tree.id: tree.gathered_gal / max(1, tree.taps_in) for tree in standing}
    newest = max((tree.last_emptied.year for tree in emptied if tree.last_emptied), default=0)
    return {
        tree.id: tree.gathered_gal
        / max(1, sum(hole.count for hole in tree.taps if hole.at.year == newest))
        for tree in emptied
        if tree.gathered_gal
    }


def without_sap(season: Season) -> list[TreeId]:
    """Return the trees with a spile in that gave nothing yet, as far as the book goes."""
    return [tree.id for tree in season.standing if tree.taps_in and not tree.gathered_gal]


def slow_trees(season: Season) -> tuple[list[TreeId], float] | None:
    """Return the trees that give under half of the usual, the slowest first, and the usual a tap.

    None when too few trees have sap in the book to tell.
    """
    found = yields(season)
    if len(found) < ENOUGH_TREES:
        return None
    usual = median(found.values())
    slow = (tree for tree, gallons in found.items() if gallons < SLOW_SHARE * usual)
    return sorted(slow, key=found.__getitem__), usual


def expected_gal(boil: BoilState) -> float:
    """Return the syrup that the sugar of a boil's sap would give."""
    return syrup_estimate(boil.sap_gal, likely_brix(boil.brix)).syrup_gal
