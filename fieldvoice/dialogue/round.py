"""The round from tree to tree: which comes next, which were missed, and what it came to."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.dialogue.answers.answered import told_gal
from fieldvoice.nlg.wording import spans
from fieldvoice.rules.sap import sap_noticed, worst_sap
from fieldvoice.schema.acts import Dump, Gather
from fieldvoice.segments import Condition, Count, Day, TreeRef, fact, parts

if TYPE_CHECKING:
    from datetime import datetime

    from fieldvoice.book import Round, Season, TreeState
    from fieldvoice.schema import TreeId
    from fieldvoice.segments import Parts, Sentence

#: Sap that is worth telling of at the end of a round.
_BAD_SAP = ("cloudy", "yellow", "ropey", "sour", "buddy")
#: The longest list of trees that anybody follows by ear (a design choice).
_MOST_NAMED = 8


def open_round(season: Season, now: datetime) -> Round | None:
    """Return the round being walked; None when the last one is over or too long ago."""
    last = season.rounds[-1] if season.rounds else None
    return last if last is not None and last.is_open(now) else None


def round_of_today(season: Season, now: datetime) -> Round | None:
    """Return the round being walked, or else the last one of today."""
    last = season.rounds[-1] if season.rounds else None
    if last is None or last.is_open(now) or _day(last.last_at, now) == now.date():
        return last
    return None


def next_tree(season: Season, tree: TreeId | None, now: datetime) -> TreeId | None:
    """Return the tree to go to after ``tree``: the next in the order of the last round.

    Trees seen in this round and trees pulled are passed over; behind the last tree it begins again
    with those left out. On the very first round it is the next number. None when there is no more.
    """
    walking = open_round(season, now)
    seen = walking.trees if walking is not None else ()
    order = [one for one in season.walk if one == tree or not _is_pulled(season, one)]
    if tree in order:
        place = order.index(tree)
        order = order[place + 1 :] + order[:place]
    for one in order:
        if one not in seen:
            return one
    first_round = set(season.walk) <= set(seen)
    return tree + 1 if isinstance(tree, int) and first_round and is_first(season) else None


def is_first(season: Season) -> bool:
    """Whether no round was walked before the last one: the book does not know all trees yet."""
    return len(season.rounds) < 2


def _is_pulled(season: Season, tree: TreeId) -> bool:
    return tree in season.trees and season.trees[tree].pulled


def round_trees(season: Season) -> tuple[TreeId, ...]:
    """Return the trees of a round, numbers first: those with a spile in.

    Where no tapping was noted, every tree that ever had sap noted and was not pulled belongs to it.
    """
    standing = [tree for tree in season.trees.values() if not tree.pulled]
    tapped = [tree for tree in standing if tree.taps_in]
    stops = tapped or [tree for tree in standing if tree.has_bucket]
    return tuple(sorted((tree.id for tree in stops), key=_order))


def cut_down(tree: TreeState, now: datetime) -> Parts | None:
    """Return "tree 14 was cut down Wednesday, March 10"; None for one that stands."""
    if tree.felled_at is None:
        return None
    day = Day(tree.felled_at.astimezone(now.tzinfo).date())
    return parts(TreeRef((tree.id,)), "was cut down", day)


def missed_trees(season: Season, now: datetime) -> tuple[TreeId, ...]:
    """Return the trees not yet come to in the round of today; all of them before it begins."""
    walked = round_of_today(season, now)
    seen = walked.trees if walked is not None else ()
    return tuple(tree for tree in round_trees(season) if tree not in seen)


def progress(season: Season, now: datetime) -> Sentence:
    """Return how far the round is, "Round: 5 of 24 trees."; no words when none is being walked.

    On the very first round nobody knows how many trees there are.
    """
    walked = open_round(season, now)
    if walked is None or (is_first(season) and not walked.announced):
        return fact()
    if is_first(season):
        return fact("Round:", Count(len(walked.trees), "tree"))
    stops = round_trees(season)
    seen = len([tree for tree in stops if tree in walked.trees])
    return fact("Round:", Count(seen, "of", "of"), Count(len(stops), "tree"))


def told(walked: Round) -> tuple[Sentence, ...]:
    """Return what a round came to: "12 trees, 18 gal. Cloudy: tree 9. Dumped: tree 4."."""
    gathered = sum(act.volume_gal or 0.0 for _, act in walked.notes if isinstance(act, Gather))
    sap = parts(",", told_gal(gathered)) if gathered else None
    dumped = dict.fromkeys(
        tree for _, act in walked.notes if isinstance(act, Dump) for tree in _trees(act)
    )
    return (
        fact("Round done:", Count(len(walked.trees), "tree"), sap),
        *(
            fact(Condition(bad), ":", trees_in_words(trees))
            for bad, trees in _bad_sap(walked).items()
        ),
        fact("Dumped:", trees_in_words(tuple(dumped))) if dumped else fact(),
    )


def trees_in_words(trees: tuple[TreeId, ...]) -> Parts:
    """Return "trees 3 and 7", or how many more where there are too many to follow by ear."""
    ordered = tuple(sorted(trees, key=_order))
    if spans(ordered) <= _MOST_NAMED:
        return (TreeRef(ordered),)
    more = Count(len(ordered) - _MOST_NAMED, "more", "more")
    return parts(TreeRef(ordered[:_MOST_NAMED]), ", and", more)


def _bad_sap(walked: Round) -> dict[str, tuple[TreeId, ...]]:
    """Return the trees of each bad condition, each tree under its worst."""
    worst: dict[TreeId, str | None] = {}
    for _, act in walked.notes:
        sap = sap_noticed(getattr(act, "sap", None), getattr(act, "smell", None))
        for tree in _trees(act) if sap in _BAD_SAP else ():
            worst[tree] = worst_sap((worst.get(tree), sap))
    return {
        sap: tuple(tree for tree, seen in worst.items() if seen == sap)
        for sap in _BAD_SAP
        if sap in worst.values()
    }


def _trees(act: object) -> tuple[TreeId, ...]:
    tree, trees = getattr(act, "tree", None), getattr(act, "trees", None)
    return trees or (() if tree is None else (tree,))


def _order(tree: TreeId) -> tuple[bool, int, str]:
    return isinstance(tree, str), tree if isinstance(tree, int) else 0, str(tree)


def _day(at: datetime, now: datetime) -> object:
    return at.astimezone(now.tzinfo).date()
