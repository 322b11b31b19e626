"""Answers about trees side by side: what they gave in a time, of what kind, how thick they are."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.dialogue import rule_inputs
from fieldvoice.dialogue.answers.answered import Answered, answer, answers, told_gal
from fieldvoice.dialogue.round import trees_in_words
from fieldvoice.nlu.times import date_of, days_of
from fieldvoice.schema.acts import Gather
from fieldvoice.schema.asks.trees import TapRoom, TreeKinds, TreeSap, TreeSizes
from fieldvoice.schema.vocabulary import SINCE, SPAN_THEN
from fieldvoice.segments import Count, Quantity, Species, TreeRef, fact, listed, parts

if TYPE_CHECKING:
    from datetime import date

    from fieldvoice.book import TreeState
    from fieldvoice.dialogue.context import TurnContext
    from fieldvoice.schema import TreeId
    from fieldvoice.segments import Parts, Sentence

#: As many as one can follow by ear (design choices).
_EACH_TOLD, _SIZES_TOLD = 4, 3


@answers(TreeSap)
def _tree_sap(ask: TreeSap, moment: TurnContext) -> Answered:
    asked = ask.trees or (() if ask.tree is None else (ask.tree,))
    known = [one for one in asked if one in moment.season.trees]
    if not known:
        return answer(TreeRef(asked), "isn't in the book" if len(asked) == 1 else "aren't in it")
    when, first, last = _time(ask, moment)
    gave = {tree: _gathered(moment.season.trees[tree], first, last, moment) for tree in known}
    if len(known) == 1:
        (tree,) = known
        told = parts(told_gal(gave[tree])) if gave[tree] else parts("no sap noted")
        season = moment.season.trees[tree].gathered_gal
        is_past = first.year < moment.now.year and season
        now = parts(";", told_gal(season), "this season") if is_past else None
        return answer(TreeRef((tree,)), ":", told, *when, now)
    whole = parts(told_gal(sum(gave.values())), "in all", *when)
    most = sorted(gave, key=gave.__getitem__, reverse=True)[:_EACH_TOLD]
    each = listed((parts(told_gal(gave[one]), "from", TreeRef((one,))) for one in most), "and")
    rest = len(known) - len(most)
    beside = parts(", less from the other", Count(rest, "")) if rest else None
    return Answered((fact(each, beside), fact(whole)))


def _time(ask: TreeSap, moment: TurnContext) -> tuple[Parts, date, date]:
    """Return the time asked about as it is told, and its first and last day."""
    today = moment.now.date()
    if ask.span is not None:
        return (SPAN_THEN.told(ask.span), *days_of(ask.span))
    if ask.since is not None:
        return SINCE.told(ask.since), date_of(ask.since, today), today
    return parts("this season"), today.replace(month=1, day=1), today


def _gathered(tree: TreeState, first: date, last: date, moment: TurnContext) -> float:
    """Return the gallons of a tree in a time; what came from several is shared out evenly."""
    zone = moment.now.tzinfo
    return sum(
        (act.volume_gal or 0.0) / max(1, len(act.trees or ()))
        for at, act in tree.noted(Gather)
        if first <= at.astimezone(zone).date() <= last
    )


@answers(TreeKinds)
def _tree_kinds(ask: TreeKinds, moment: TurnContext) -> Answered:
    standing = moment.season.standing
    kinds = dict.fromkeys(tree.species for tree in standing if tree.species)
    without = sum(tree.species is None for tree in standing)
    unknown = fact("The book has no kind of", Count(without, "tree")) if without else fact()
    if ask.species is not None:
        found = tuple(tree.id for tree in standing if tree.species == ask.species)
        if not found:
            return Answered((fact("None is noted as", Species(ask.species)), unknown))
        told = fact(
            Count(len(found), "tree"), ",", Species(ask.species), ":", trees_in_words(found)
        )
        return Answered((told, unknown))
    if not kinds:
        return answer("No tree's kind is in the book")
    each = (
        parts(
            Species(kind), ":", trees_in_words(tuple(t.id for t in standing if t.species == kind))
        )
        for kind in kinds
    )
    return Answered((fact(listed(each, ";", ";")), unknown))


@answers(TreeSizes)
def _tree_sizes(ask: TreeSizes, moment: TurnContext) -> Answered:
    across = {tree.id: tree.diameter_in for tree in moment.season.standing if tree.diameter_in}
    if not across:
        return answer("No tree's size is in the book")
    ranked = sorted(across, key=across.__getitem__, reverse=True)
    if ask.diameter_in is not None:
        return Answered((_beyond(ask, ranked, across), _unmeasured(moment)))
    told = [fact("Thickest:", _sizes(ranked[:_SIZES_TOLD], across))]
    if len(ranked) > _SIZES_TOLD:
        told.append(fact("Thinnest:", _sizes(ranked[-1:], across)))
    return Answered((*told, _unmeasured(moment)))


def _beyond(ask: TreeSizes, ranked: list[TreeId], across: dict[TreeId, float]) -> Sentence:
    """Return how many trees, and which, are thicker or thinner than the size asked about."""
    limit = ask.diameter_in or 0.0
    found = tuple(t for t in ranked if (across[t] < limit if ask.under else across[t] > limit))
    than = parts("under" if ask.under else "over", Quantity(limit, "in"), "across")
    if not found:
        return fact("None is", *than)
    return fact(Count(len(found), "tree"), *than, ":", trees_in_words(found))


def _sizes(trees: list[TreeId], across: dict[TreeId, float]) -> Parts:
    return listed(
        (parts(TreeRef((one,)), ",", Quantity(across[one], "in")) for one in trees), ";", ";"
    )


def _unmeasured(moment: TurnContext) -> Sentence:
    count = sum(tree.diameter_in is None for tree in moment.season.standing)
    one, many = "tree was not measured", "trees were not measured"
    return fact(Count(count, one, many)) if count else fact()


@answers(TapRoom)
def _tap_room(ask: TapRoom, moment: TurnContext) -> Answered:
    """Return the trees that may carry more taps, those that may carry none, and taps in all."""
    limits = {
        tree.id: (limit.taps, tree.taps_in)
        for tree in moment.season.standing
        if (limit := rule_inputs.limit_of(tree, moment.settings)) is not None
    }
    if not limits:
        return answer("I can't tell: no tree's size is in the book")
    more = tuple(tree for tree, (most, has) in limits.items() if has < most)
    none = tuple(tree for tree, (most, _) in limits.items() if not most)
    can = parts("Room for more:", trees_in_words(more)) if more else parts("None has room for more")
    small = fact("No tap:", trees_in_words(none)) if none else fact()
    whole = fact(
        "The measured ones carry", Count(sum(most for most, _ in limits.values()), "tap"), "in all"
    )
    return Answered((fact(can), small, whole, _unmeasured(moment)))
