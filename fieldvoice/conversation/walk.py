"""The round from tree to tree: which comes next, and which were missed."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import datetime

    from fieldvoice.book import Season, TreeState
    from fieldvoice.meaning import TreeId


def seen_today(tree: TreeState, now: datetime) -> bool:
    """Whether anything was noted of the tree on the day of ``now``."""
    return tree.last_seen is not None and _day(tree.last_seen, now) == now.date()


def next_tree(season: Season, tree: TreeId | None, now: datetime) -> TreeId | None:
    """Return the tree to go to after ``tree``: the next on the usual walk not yet seen today.

    ``Season.walk`` lists trees by their last visit, so that behind the tree just visited the walk
    starts again at the front. Without a walk to go by it is the next number; None without either.
    """
    walk = [one for one in season.walk if not season.trees[one].pulled]
    if tree in walk:
        place = walk.index(tree)
        walk = walk[place + 1 :] + walk[:place]
    for one in walk:
        if not seen_today(season.trees[one], now):
            return one
    return tree + 1 if isinstance(tree, int) else None


def round_trees(season: Season) -> tuple[TreeId, ...]:
    """Return the trees of a round, numbers first: those with a spile in.

    Where no tapping was noted, every tree in the book that was not pulled belongs to it.
    """
    standing = [tree for tree in season.trees.values() if not tree.pulled]
    tapped = [tree for tree in standing if tree.taps_in]
    return tuple(sorted((tree.id for tree in tapped or standing), key=_order))


def missed_trees(season: Season, now: datetime) -> tuple[TreeId, ...]:
    """Return the trees of the round of which nothing was noted today."""
    return tuple(tree for tree in round_trees(season) if not seen_today(season.trees[tree], now))


def _order(tree: TreeId) -> tuple[bool, int, str]:
    return isinstance(tree, str), tree if isinstance(tree, int) else 0, str(tree)


def _day(at: datetime, now: datetime) -> object:
    return at.astimezone(now.tzinfo).date()
