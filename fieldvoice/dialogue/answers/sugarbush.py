"""Answers about all the trees together: missed, slow, best, how many, which are full."""

from __future__ import annotations

from statistics import median
from typing import TYPE_CHECKING

from fieldvoice.dialogue import rule_inputs
from fieldvoice.dialogue.answers.answered import Answered, answer, answers, told_gal
from fieldvoice.dialogue.round import (
    is_first,
    missed_trees,
    round_of_today,
    round_trees,
    trees_in_words,
)
from fieldvoice.dialogue.sums import ENOUGH_TREES, slow_trees, without_sap, yields
from fieldvoice.schema.asks.trees import (
    BestTrees,
    MissedTrees,
    SlowTrees,
    SweetestTrees,
    TreeCount,
    TreesSeen,
)
from fieldvoice.segments import (
    Condition,
    Count,
    Day,
    Level,
    Quantity,
    TreeRef,
    VesselRef,
    fact,
    listed,
    parts,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from fieldvoice.book import TreeState
    from fieldvoice.dialogue.context import TurnContext
    from fieldvoice.schema import TreeId
    from fieldvoice.segments import Parts, Sentence

#: As many of the best trees as one can follow by ear (a design choice).
_BEST_NAMED = 3
#: Buckets this near to what is asked for are as full (a design choice).
_AS_FULL = 0.12


@answers(MissedTrees)
def _missed_trees(ask: MissedTrees, moment: TurnContext) -> Answered:
    if not round_trees(moment.season):
        return answer("No trees are in the book yet")
    missed = missed_trees(moment.season, moment.now)
    walked = round_of_today(moment.season, moment.now)
    if walked is None:
        return answer("No round today yet:", trees_in_words(round_trees(moment.season)), "to see")
    if not missed and is_first(moment.season) and walked.is_open(moment.now):
        return answer("None that the book knows; this is the first round")
    if not missed:
        return answer("None; every tree was seen")
    still = "left" if walked.is_open(moment.now) else "missed"
    return answer(Count(len(missed), still, still), ":", trees_in_words(missed))


@answers(SlowTrees)
def _slow_trees(ask: SlowTrees, moment: TurnContext) -> Answered:
    found = slow_trees(moment.season)
    if found is None:
        return answer("I can't tell yet: fewer than three trees have sap in the book")
    none = tuple(without_sap(moment.season))
    dry = fact("No sap noted:", trees_in_words(none)) if none else fact()
    slow = [tree for tree in found[0] if tree not in none]
    half = parts("half of the usual", told_gal(found[1]), "a tap")
    told = (
        parts(TreeRef(tuple(slow)), ": under", half)
        if slow
        else parts("None gives less than", half)
    )
    return Answered((dry, fact(told)) if slow or not none else (dry,))


@answers(BestTrees)
def _best_trees(ask: BestTrees, moment: TurnContext) -> Answered:
    given = {
        tree.id: tree.gathered_gal for tree in moment.season.trees.values() if tree.gathered_gal
    }
    if not given:
        return _best_sites(moment)
    most = _ranked(given, lambda gal: parts(Quantity(round(gal, 1), "gal"), "from"))
    return answer("Most sap:", most)


def _best_sites(moment: TurnContext) -> Answered:
    """Return which parts of the woods gave most, where sap was told by these alone."""
    given: dict[str, float] = {}
    for _, act in moment.season.gathers:
        if act.site is not None and act.volume_gal:
            given[act.site] = given.get(act.site, 0.0) + act.volume_gal
    if not given:
        return answer("The book has no sap by tree this season")
    best = sorted(given, key=given.__getitem__, reverse=True)[:_BEST_NAMED]
    told = (parts(Quantity(round(given[one], 1), "gal"), "from", one) for one in best)
    return answer("Most sap:", listed(told, ","))


@answers(SweetestTrees)
def _sweetest_trees(ask: SweetestTrees, moment: TurnContext) -> Answered:
    tested = {tree.id: tree.brix for tree in moment.season.trees.values() if tree.brix is not None}
    if not tested:
        return answer("No tree's sap has been tested this season")
    return answer("Sweetest:", _ranked(tested, lambda brix: parts(Quantity(brix, "%", 1), "at")))


def _ranked(amounts: Mapping[TreeId, float], shown: Callable[[float], Parts]) -> Parts:
    """Return the trees of the largest amounts, the first of them first."""
    best = sorted(amounts, key=amounts.__getitem__, reverse=True)[:_BEST_NAMED]
    return listed((parts(shown(amounts[tree]), TreeRef((tree,))) for tree in best), ",")


@answers(TreeCount)
def _tree_count(ask: TreeCount, moment: TurnContext) -> Answered:
    trees = moment.season.standing
    if not trees:
        return answer("No trees are in the book yet")
    tapped = [tree for tree in trees if tree.taps_in]
    taps = Count(sum(tree.taps_in for tree in tapped), "tap")
    has = parts(Count(len(tapped), "tapped, with", "tapped, with"), taps, "in")
    first = min((hole.at for tree in tapped for hole in tree.taps[-1:]), default=None)
    since = (
        () if first is None else parts("; begun", Day(first.astimezone(moment.now.tzinfo).date()))
    )
    told = parts(has, since) if tapped else "none tapped"
    return answer(Count(len(trees), "tree"), "in the book,", told)


@answers(TreesSeen)
def _trees_seen(ask: TreesSeen, moment: TurnContext) -> Answered:
    """Tell which buckets were like that when they were last looked at, and not emptied since."""
    if ask.sap is None and ask.fill is None:
        return _all_seen(moment)
    found = tuple(
        tree.id
        for tree in moment.season.trees.values()
        if (ask.sap is None or tree.sap == ask.sap) and _is_as_full(tree, ask.fill)
    )
    like = Condition(ask.sap) if ask.sap else Level(ask.fill or 0.0)
    stored = _stored(ask.sap, moment)
    if not found:
        return Answered((fact("No tree in the book is", like, ", as last seen"), stored))
    return Answered((fact(like, ", as last seen:", trees_in_words(found)), stored))


def _stored(sap: str | None, moment: TurnContext) -> Sentence:
    """Return which vessels hold sap in such condition; nothing where none does."""
    held = [one for one in rule_inputs.vessels_with_sap(moment.season) if sap and one.sap == sap]
    return fact("In store:", listed(VesselRef(one.name) for one in held)) if held else fact()


def _all_seen(moment: TurnContext) -> Answered:
    """Return how full the buckets were when they were last looked at, the fullest first."""
    seen: dict[float, list[TreeId]] = {}
    for tree in moment.season.standing:
        if tree.fill is not None and tree.taps_in:
            seen.setdefault(tree.fill, []).append(tree.id)
    if not seen:
        return answer("No bucket was looked at")
    each = (
        parts(Level(fill), ":", trees_in_words(tuple(seen[fill])))
        for fill in sorted(seen, reverse=True)
    )
    return answer("As last seen:", listed(each, ";", ";"))


def _is_as_full(tree: TreeState, fill: float | None) -> bool:
    return fill is None or (tree.fill is not None and abs(tree.fill - fill) <= _AS_FULL)


def usual_share(tree: TreeId, moment: TurnContext) -> float | None:
    """Return a tree's sap for each tap against the usual one's; None when nobody can tell."""
    found = yields(moment.season)
    if len(found) < ENOUGH_TREES or tree not in found or not median(found.values()):
        return None
    return found[tree] / median(found.values())


def usual_gal(moment: TurnContext) -> float | None:
    """Return the sap of the usual tap, in gallons; None when too few trees have sap."""
    found = yields(moment.season)
    return median(found.values()) if len(found) >= ENOUGH_TREES else None
