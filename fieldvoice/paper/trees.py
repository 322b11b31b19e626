"""Each tree of a season in a row: what it gave, what it is, and what was seen of its trunk."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from fieldvoice.dialogue import rule_inputs
from fieldvoice.dialogue.sums import slow_trees
from fieldvoice.errors import RangeError
from fieldvoice.schema.acts import Remark

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import datetime

    from fieldvoice.book import Season, TreeState, Years
    from fieldvoice.dialogue.settings import Settings
    from fieldvoice.rules.tapping_zone import TappingZone
    from fieldvoice.rules.taps import TapLimit
    from fieldvoice.schema import TreeId

#: As many as the spoken answer names.
BEST_NAMED = 3

Mark = Literal["best", "slow", ""]


@dataclass(frozen=True, slots=True)
class TreeRow:
    """One tree in one season. ``taps`` are the holes drilled in it, ``given`` its sap by year."""

    tree: TreeState
    taps: int
    mark: Mark
    limit: TapLimit | None
    given: Mapping[int, float]
    sizes: Sequence[tuple[datetime, float]]
    remarks: Sequence[tuple[datetime, str]]
    zone: TappingZone | None

    @property
    def a_tap_gal(self) -> float | None:
        """Sap for each tap; None where no tap is noted."""
        return self.tree.gathered_gal / self.taps if self.taps else None


def tree_rows(years: Years, year: int, settings: Settings) -> list[TreeRow]:
    """Return the trees of a season, those that gave most first, the rest by number."""
    season = years.seasons[year]
    marks = _marks(season)
    rows = [
        _row(tree, years, year, settings, marks.get(tree.id, "")) for tree in season.trees.values()
    ]
    return sorted(rows, key=lambda row: (-row.tree.gathered_gal, place(row.tree.id)))


def place(tree: TreeId) -> tuple[int, int, str]:
    """Return what trees are sorted by: numbers in their order, then names."""
    return (0, tree, "") if isinstance(tree, int) else (1, 0, tree)


def _marks(season: Season) -> dict[TreeId, Mark]:
    given = [tree for tree in season.trees.values() if tree.gathered_gal]
    given.sort(key=lambda tree: -tree.gathered_gal)
    best = given[:BEST_NAMED] if len(given) > BEST_NAMED else []
    marks: dict[TreeId, Mark] = {tree.id: "best" for tree in best}
    slow = slow_trees(season)
    return marks | (dict.fromkeys(slow[0], "slow") if slow else {})


def _row(tree: TreeState, years: Years, year: int, settings: Settings, mark: Mark) -> TreeRow:
    told = [(at, act) for at, act in years.of_tree(tree.id) if at.year <= year]
    known = replace(tree, history=told)
    taps = sum(hole.count for hole in tree.taps if hole.at.year == year)
    return TreeRow(
        tree=known,
        taps=taps,
        mark=mark,
        limit=limit_of(known, settings),
        given=_given(years, tree.id, year),
        sizes=rule_inputs.sizes_of(known),
        remarks=[
            (at, act.text)
            for at, act in told
            if isinstance(act, Remark) and act.text and at.year == year
        ],
        zone=zone_of(known, taps),
    )


def limit_of(tree: TreeState, settings: Settings) -> TapLimit | None:
    """Return how many taps a tree may carry; None where it is not known, or no rule says."""
    try:
        return rule_inputs.limit_of(tree, settings)
    except RangeError:
        return None


def zone_of(tree: TreeState, taps: int) -> TappingZone | None:
    """Return what so many taps a year do to the wood in reach; None where nobody can tell."""
    try:
        return rule_inputs.zone_of(tree, taps)
    except RangeError:
        return None


def _given(years: Years, tree: TreeId, year: int) -> dict[int, float]:
    found = {}
    for one, season in years.seasons.items():
        state = season.trees.get(tree)
        if one <= year and state is not None and state.gathered_gal:
            found[one] = state.gathered_gal
    return found
