"""Answers about the yard itself: which trees there are and where, and what hangs on them."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from fieldvoice.dialogue.answers.answered import Answered, answer, answers
from fieldvoice.dialogue.answers.trees import tree_asked
from fieldvoice.dialogue.round import cut_down, trees_in_words
from fieldvoice.schema.acts.places import where_it_is
from fieldvoice.schema.asks.places import Hangs, TreeList, WhenTapped, WhereTree
from fieldvoice.segments import Count, Day, Example, Quantity, TreeRef, When, fact, listed, parts

if TYPE_CHECKING:
    from collections.abc import Iterable

    from fieldvoice.book.season import Hung
    from fieldvoice.dialogue.context import TurnContext
    from fieldvoice.segments import Parts


@answers(TreeList)
def _tree_list(ask: TreeList, moment: TurnContext) -> Answered:
    if ask.felled:
        felled = tuple(tree.id for tree in moment.season.trees.values() if tree.felled_at)
        return answer("Cut down:", trees_in_words(felled)) if felled else answer("None")
    standing = moment.season.standing
    if ask.count is not None:
        so_many = tuple(tree.id for tree in standing if tree.taps_in == ask.count)
        with_taps = parts("with", Count(ask.count, "tap"), "in")
        if not so_many:
            return answer("No tree", *with_taps)
        return answer(Count(len(so_many), "tree"), *with_taps, ":", trees_in_words(so_many))
    if ask.tapped:
        tapped = tuple(tree.id for tree in standing if tree.taps_in > 0)
        if not tapped:
            return answer("No tree has a tap in")
        return answer(Count(len(tapped), "tree"), "with taps in:", trees_in_words(tapped))
    if ask.site is not None:
        there = tuple(tree.id for tree in standing if tree.site == ask.site)
        if not there:
            example = Example(f"tree nine is in the {ask.site.removeprefix('the ')}")
            return Answered((fact("No tree of the book is noted there"), fact("Say", example)))
        return answer(Count(len(there), "tree"), ":", trees_in_words(there))
    if not standing:
        return answer("No trees are in the book yet")
    named = trees_in_words(tuple(tree.id for tree in standing))
    return answer(Count(len(standing), "tree"), ":", named)


@answers(WhereTree)
def _where_tree(ask: WhereTree, moment: TurnContext) -> Answered:
    tree, it = tree_asked(ask, moment)
    if tree is None:
        return answer(it, "isn't in the book")
    if (gone := cut_down(tree, moment.now)) is not None:
        return answer(*gone)
    if tree.site is None:
        return answer("Nobody noted where", it, "stands")
    return answer(it, "stands", where_it_is(tree.site))


@answers(WhenTapped)
def _when_tapped(ask: WhenTapped, moment: TurnContext) -> Answered:
    if ask.tree is None and moment.focus.tree is None:
        return _first_tapped(moment)
    tree, it = tree_asked(ask, moment)
    if tree is None:
        return answer(it, "isn't in the book")
    if not tree.taps:
        return answer("No tap on", it, "is in the book")
    day = Day(tree.taps[-1].at.astimezone(moment.now.tzinfo).date())
    year = tree.taps[-1].at.year
    when = parts(day) if year == moment.now.year else parts(day, ",", str(year))
    now = parts(";", Count(tree.taps_in, "tap"), "in now") if tree.taps_in else "; none in now"
    is_of_today = tree.taps[-1].at.date() == moment.now.date()
    ago = When(tree.taps[-1].at, moment.now, "ago")
    ago_told = parts(",", ago) if year == moment.now.year and not is_of_today else None
    side = parts(", on the", tree.taps[-1].side, "side") if tree.taps[-1].side else None
    return answer(it, "was tapped", *when, side, ago_told, now)


def _first_tapped(moment: TurnContext) -> Answered:
    """Return when the first tree of the year was tapped."""
    holes = [hole.at for tree in moment.season.trees.values() for hole in tree.taps]
    this_year = [at for at in holes if at.year == moment.now.year]
    if not this_year:
        return answer("No tap of this year is in the book")
    day = Day(min(this_year).astimezone(moment.now.tzinfo).date())
    taps = sum(tree.taps_in for tree in moment.season.trees.values())
    newest = Day(max(this_year).astimezone(moment.now.tzinfo).date())
    last = tuple(
        tree.id for tree in moment.season.trees.values()
        if tree.taps and tree.taps[-1].at == max(this_year)
    )  # fmt: skip
    then = parts("; last", newest, ":", TreeRef(last)) if len(this_year) > 1 else None
    return answer("First tapped on", day, then, ";", Count(taps, "tap"), "in now")


#: Where no more trees than these have something hanging, each is told (a design choice).
_MOST_TREES = 3


@answers(Hangs)
def _hangs(ask: Hangs, moment: TurnContext) -> Answered:
    trees = moment.season.trees
    if ask.tree is not None:
        it, tree = TreeRef((ask.tree,)), trees.get(ask.tree)
        if tree is None or not tree.hung:
            return answer("What hangs on", it, "is not in the book")
        return answer(it, ":", listed((_told(one) for one in tree.hung), ","))
    if ask.lid == "off":
        bare = tuple(t.id for t in trees.values() if any(one.lid is False for one in t.hung))
        return answer("Without a lid:", trees_in_words(bare)) if bare else answer("None is noted")
    holding = [tree for tree in trees.values() if tree.hung]
    hung = [one for tree in holding for one in tree.hung]
    if not hung:
        example = Example("a three gallon bucket hangs on tree nine")
        return Answered((fact("Nothing that hangs out is in the book"), fact("Say", example)))
    if len(holding) <= _MOST_TREES:
        on = (
            parts(listed(map(_told, tree.hung), ","), "on", TreeRef((tree.id,))) for tree in holding
        )
        return answer("Out:", listed(on, ";"), _room(hung))
    return answer("Out:", listed(_summed(hung), ","), _room(hung))


def _told(one: Hung) -> Parts:
    """Return "2 buckets, 3 gal each, no lid"."""
    size = None if one.capacity_gal is None else Quantity(one.capacity_gal, "gal")
    each = "each" if size is not None and one.count > 1 else None
    lid = {True: "with lid", False: "no lid", None: None}[one.lid]
    return parts(Count(one.count, one.item), "," if size else None, size, each,
                 "," if lid else None, lid)  # fmt: skip


def _summed(hung: Iterable[Hung]) -> list[Parts]:
    counts: Counter[str] = Counter()
    for one in hung:
        counts[one.item] += one.count
    return [parts(Count(number, item)) for item, number in counts.most_common()]


def _room(hung: Iterable[Hung]) -> Parts:
    """Return what they hold together, where the size of each is known."""
    sizes = [None if one.capacity_gal is None else one.capacity_gal * one.count for one in hung]
    known = [size for size in sizes if size is not None]
    if len(known) < len(sizes):
        return ()
    return parts("; room for", Quantity(round(sum(known), 1), "gal"))
