"""Answers about one tree: taps, visits, history, and where to drill."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

from fieldvoice.dialogue import rule_inputs
from fieldvoice.dialogue.answers.answered import Answered, answer, answers, from_findings
from fieldvoice.dialogue.context import by_rule
from fieldvoice.nlg.numbers import paired
from fieldvoice.rules.holes import hole_advice
from fieldvoice.rules.taps import check_taps, tap_limit
from fieldvoice.schema.asks.trees import HoleAdvice, LastVisit, TapLimit, TreeHistory
from fieldvoice.segments import (
    Condition,
    Count,
    Example,
    Level,
    Quantity,
    Species,
    TreeRef,
    When,
    fact,
    listed,
    parts,
    prompt,
    told_of,
)

if TYPE_CHECKING:
    from fieldvoice.book import TreeState
    from fieldvoice.dialogue.context import TurnContext
    from fieldvoice.schema import TreeId
    from fieldvoice.segments import Parts, Sentence


class OfATree(Protocol):
    """A question about one tree, which was asked for where it was not named."""

    @property
    def tree(self) -> TreeId | None:
        """The tree."""
        ...


def tree_asked(ask: OfATree, moment: TurnContext) -> tuple[TreeState | None, TreeRef]:
    """Return the tree that a question names, None where the book lacks it, and how it is told."""
    assert ask.tree is not None
    return moment.season.trees.get(ask.tree), TreeRef((ask.tree,))


@answers(TapLimit)
def _tap_limit(ask: TapLimit, moment: TurnContext) -> Answered:
    if ask.diameter_in is not None:
        limit = tap_limit(
            ask.diameter_in, species=ask.species, schedule=moment.settings.schedule
        )  # fmt: skip
        return from_findings(limit.findings)
    tree, it = tree_asked(ask, moment)
    assert ask.tree is not None
    known_limit = rule_inputs.limit_of(tree, moment.settings) if tree else None
    if tree is None or known_limit is None:
        condition = tree.condition if tree else None
        ill = fact("It was noted as", condition) if condition not in (None, "sound") else fact()
        taps = fact(it, "has", Count(tree.taps_in, "tap")) if tree and tree.taps_in else fact()
        return Answered((taps, *size_of(ask.tree), ill))
    over = check_taps(tree.taps_in, known_limit).findings if tree.taps_in else ()
    has = parts("It has", Count(tree.taps_in, "now", "now")) if tree.taps_in and not over else None
    return from_findings((*known_limit.findings, *over), about=it, after=has)


def size_of(tree: TreeId) -> tuple[Sentence, ...]:
    """Return the question how big a tree is, with the words that tell it."""
    named = f"tree {paired(tree)}" if isinstance(tree, int) else tree
    example = Example(f"{named} is eighteen inches across")
    return prompt("How big is", TreeRef((tree,))), fact("Say", example)


@answers(LastVisit)
def _last_visit(ask: LastVisit, moment: TurnContext) -> Answered:
    tree, it = tree_asked(ask, moment)
    if tree is None or tree.last_seen is None:
        return answer(it, "isn't in the book")
    seen = parts("; last seen", When(tree.last_seen, moment.now, "ago"), _as_left(tree, ","))
    who = teller(tree, moment)
    by = parts(", by", who) if who else ()
    if tree.last_emptied is None:
        return answer(it, "was never emptied, as far as the book goes", seen, by)
    later = tree.last_seen > tree.last_emptied
    emptied = When(tree.last_emptied, moment.now, "ago")
    return answer(it, "was emptied", emptied, seen if later else None, by)


def teller(tree: TreeState, moment: TurnContext) -> str | None:
    """Return who told of the last visit to a tree; None where that is not known."""
    notes = moment.book.entries_naming(tree=tree.id, since=tree.last_seen)
    told = [note.utterance_id for note in notes if note.at == tree.last_seen]
    return moment.book.utterance(told[-1]).by if told else None


def _as_left(tree: TreeState, before: str) -> Parts:
    """Return how full a bucket was and its sap, when it was last seen."""
    fill = () if tree.fill is None else (Level(tree.fill),)
    sap = (Condition(tree.sap),) if tree.sap else ()
    return parts(before, listed((*fill, *sap))) if fill or sap else ()


@answers(TreeHistory)
def _tree_history(ask: TreeHistory, moment: TurnContext) -> Answered:
    tree, it = tree_asked(ask, moment)
    if tree is None:
        return answer(it, "isn't in the book")
    across, sweet, gave = tree.diameter_in, tree.brix, tree.gathered_gal
    facts = (
        None if across is None else parts(Quantity(across, "in"), "across"),
        Species(tree.species) if tree.species else None,
        tree.condition,
        "spiles pulled" if tree.pulled else Count(tree.taps_in, "tap") if tree.taps_in else None,
        parts(Quantity(gave, "gal"), "so far") if gave else None,
        None if sweet is None else Quantity(sweet, "% sugar"),
    )
    told = told_of(it, *(facts if any(facts) else ("nothing measured",)))
    if tree.last_seen is None:
        return Answered((told,))
    ago = When(tree.last_seen, moment.now, "ago")
    if tree.last_emptied == tree.last_seen and not tree.sap:  # "empty" alone may be a dry bucket
        return Answered((told, fact("Last emptied", ago)))
    return Answered((told, fact("Last seen", ago, _as_left(tree, ","))))


@answers(HoleAdvice)
def _hole_advice(ask: HoleAdvice, moment: TurnContext) -> Answered:
    tree = moment.season.trees.get(ask.tree) if ask.tree is not None else None
    advice = hole_advice(
        tree.diameter_in if tree else None, rule_inputs.old_holes(tree), this_year=moment.now.year
    )
    limit = rule_inputs.limit_of(tree, moment.settings) if tree else None
    if tree is not None and limit is not None and tree.taps_in >= limit.taps:
        # No place is right for a hole that should not be drilled.
        has = fact("It has", Count(tree.taps_in, "tap")) if tree.taps_in else fact()
        told = (fact("No more holes there"), by_rule(limit.findings[0]), has)
        return Answered(told, limit.findings)
    about = None if ask.tree is None else TreeRef((ask.tree,))
    return from_findings(advice.findings, about=about)
