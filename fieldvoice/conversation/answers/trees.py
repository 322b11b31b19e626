"""Answers about one tree: taps, visits, history, and where to drill."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.conversation import known
from fieldvoice.conversation.answers.answered import Answered, from_findings
from fieldvoice.nlg import wording as w
from fieldvoice.rules.holes import hole_advice
from fieldvoice.rules.taps import check_taps, tap_limit

if TYPE_CHECKING:
    from collections.abc import Callable

    from fieldvoice.book import TreeState
    from fieldvoice.conversation.turn import Moment
    from fieldvoice.meaning import Ask


def _tap_limit(ask: Ask, moment: Moment) -> Answered:
    if ask.diameter_in is not None:
        limit = tap_limit(
            ask.diameter_in, species=ask.species, schedule=moment.settings.schedule
        )  # fmt: skip
        return from_findings(limit.findings)
    assert ask.tree is not None
    tree = moment.season.trees.get(ask.tree)
    name = w.start(w.tree_name(ask.tree))
    known_limit = known.limit_of(tree, moment.settings) if tree else None
    if tree is None or known_limit is None:
        condition = tree.condition if tree else None
        ill = f" It was noted as {condition}." if condition not in (None, "sound") else ""
        return Answered(f"I don't know {w.tree_name(ask.tree)}'s diameter; tell me that.{ill}")
    over = check_taps(tree.taps_in, known_limit).findings if tree.taps_in else ()
    told = from_findings((*known_limit.findings, *over), before=f"{name}:")
    has = f" It has {tree.taps_in} now." if tree.taps_in and not over else ""
    return Answered(told.text + has, told.findings)


def _last_visit(ask: Ask, moment: Moment) -> Answered:
    assert ask.tree is not None
    tree = moment.season.trees.get(ask.tree)
    name = w.start(w.tree_name(ask.tree))
    if tree is None or tree.last_seen is None:
        return Answered(f"{name} isn't in the book.")
    seen = f"last seen {w.ago(tree.last_seen, moment.now)}{_as_left(tree)}"
    if tree.last_emptied is None:
        return Answered(f"{name} was never emptied, as far as the book goes; {seen}.")
    emptied = f"{name} was emptied {w.ago(tree.last_emptied, moment.now)}"
    later = tree.last_seen > tree.last_emptied
    return Answered(f"{emptied}; {seen}." if later else f"{emptied}.")


def _as_left(tree: TreeState) -> str:
    parts = [
        "" if tree.fill is None else w.fill_words(tree.fill),
        w.sap_words(tree.sap) if tree.sap else "",
    ]
    told = " and ".join(part for part in parts if part)
    return f", {told}" if told else ""


def _tree_history(ask: Ask, moment: Moment) -> Answered:
    assert ask.tree is not None
    tree = moment.season.trees.get(ask.tree)
    name = w.start(w.tree_name(ask.tree))
    if tree is None:
        return Answered(f"{name} isn't in the book.")
    metric = moment.settings.metric
    species = w.species_name(tree.species or "")
    facts = [
        "" if tree.diameter_in is None else f"{w.length(tree.diameter_in, metric)} across",
        species,
        tree.condition or "",
        "spiles pulled" if tree.pulled else w.counted(tree.taps_in, "tap") if tree.taps_in else "",
        f"{w.volume(tree.gathered_gal, metric)} so far" if tree.gathered_gal else "",
        "" if tree.brix is None else f"{w.figure(tree.brix, 1)} % sugar",
    ]
    told = ", ".join(fact for fact in facts if fact) or "nothing measured"
    seen = ""
    if tree.last_seen is not None:
        seen = f" Last seen {w.ago(tree.last_seen, moment.now)}{_as_left(tree)}."
    return Answered(f"{name}: {told}.{seen}")


def _hole_advice(ask: Ask, moment: Moment) -> Answered:
    tree = moment.season.trees.get(ask.tree) if ask.tree is not None else None
    advice = hole_advice(
        tree.diameter_in if tree else None, known.old_holes(tree), this_year=moment.now.year
    )
    limit = known.limit_of(tree, moment.settings) if tree else None
    if tree is not None and limit is not None and tree.taps_in >= limit.taps:
        # No place is right for a hole that should not be drilled.
        has = f" It has {w.counted(tree.taps_in, 'tap')}." if tree.taps_in else ""
        return Answered(f"No more holes there. {limit.findings[0].text}{has}", limit.findings)
    before = "" if ask.tree is None else f"{w.start(w.tree_name(ask.tree))}:"
    return from_findings(advice.findings, before=before)


ANSWERS: dict[str, Callable[[Ask, Moment], Answered]] = {
    "tap_limit": _tap_limit, "last_visit": _last_visit, "tree_history": _tree_history,
    "hole_advice": _hole_advice,
}  # fmt: skip
