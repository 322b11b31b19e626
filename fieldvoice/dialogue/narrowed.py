"""Questions told apart by a word that readers pass over: whom syrup went to, a tank for a tree."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from fieldvoice.dialogue.noted import noted
from fieldvoice.dialogue.policy import Answer, Reject
from fieldvoice.dialogue.waiting import is_question
from fieldvoice.dialogue.weighing import weigh
from fieldvoice.schema.acts import StockOut
from fieldvoice.schema.asks.past import Money
from fieldvoice.schema.asks.sap import SapStored
from fieldvoice.schema.asks.season import Advice
from fieldvoice.schema.asks.syrup import Stock, SyrupGone
from fieldvoice.schema.asks.trees import BestTrees, SlowTrees, TreeCount, TreesSeen

if TYPE_CHECKING:
    from fieldvoice.dialogue.context import TurnContext
    from fieldvoice.dialogue.policy import Decision
    from fieldvoice.schema import Ask

#: Who says none of these asks something else about somebody.
_GOT = re.compile(
    r"\b(give|gave|given|get|got|gotten|gets|buy|bought|buys|pay|paid|pays|sell|sold|take|took|have"
    r"|had|owe|owes|receive|received|send|sent)\b",
    re.IGNORECASE,
)


#: What holds sap and hangs on no tree.
_VESSEL = re.compile(r"\b(?:tanks?|containers?|barrels?|totes?|vessels?|drums?)\b", re.IGNORECASE)


def narrowed(decided: Decision, text: str, moment: TurnContext) -> Decision:
    """Return what is to be done about ``text`` by the words that tell its question from others."""
    for told_apart in (_of_vessels, _of_the_book, _of_somebody):
        decided = told_apart(decided, text, moment)
    return decided


def _of_vessels(decided: Decision, text: str, moment: TurnContext) -> Decision:
    """Return the question what is in store, where trees were looked for and tanks are named."""
    asked = decided.candidate.meanings if isinstance(decided, Answer) else ()
    is_of_trees = len(asked) == 1 and isinstance(asked[0], TreesSeen | BestTrees | SlowTrees)
    if is_of_trees and _VESSEL.search(text) and "tree" not in text.lower():
        return Answer(weigh((SapStored(),), moment), echo=True)
    return decided


#: Cards that only tell which question of the book's own answers, by that question.
_TOLD_BY: dict[str, Ask] = {"syrup-in-stock": Stock(), "list-my-trees": TreeCount()}
#: Who says this wants to know how it is told or counted, and not what the book has.
_HOW_TO = re.compile(
    r"\b(?:how (?:do|does|can|would)|can you|could you|do i have to|where do|keep|track|wrong|fix"
    r"|off|tell you)\b",
    re.IGNORECASE,
)


def _of_the_book(decided: Decision, text: str, moment: TurnContext) -> Decision:
    """Return the book's own question, where the card found would only name it."""
    if not isinstance(decided, Answer) or not decided.echo or _HOW_TO.search(text):
        return decided
    asked = decided.candidate.meanings
    card = asked[0].topic if len(asked) == 1 and isinstance(asked[0], Advice) else None
    own = _TOLD_BY.get(card or "")
    return decided if own is None else Answer(weigh((own,), moment), echo=True)


def _of_somebody(decided: Decision, text: str, moment: TurnContext) -> Decision:
    """Return the question what somebody got, where syrup is noted as gone to who is named.

    Only a question that nobody knows becomes one; one that asks where the syrup went, or what it
    brought in, is narrowed to who is named.
    """
    asked = decided.candidate.meanings if isinstance(decided, Answer) else ()
    is_of_gone = len(asked) == 1 and isinstance(asked[0], SyrupGone | Money)
    if not is_of_gone and not (isinstance(decided, Reject) and is_question(text)):
        return decided
    name = _named(text, moment) if is_of_gone or _GOT.search(text) else None
    if name is None:
        return decided
    if asked and isinstance(asked[0], SyrupGone):
        ask = asked[0].replace(to=name)
        return Answer(weigh((ask,), moment), echo=True)
    return Answer(weigh((SyrupGone(to=name),), moment), echo=True)


def _named(text: str, moment: TurnContext) -> str | None:
    """Return who of those that got syrup this year is named; none where two are."""
    got = {act.to for _, act in noted(StockOut, None, moment) if act.to}
    said = f" {' '.join(re.findall(r'[a-z]+', text.lower()))} "
    named = [name for name in got if f" {name.lower()} " in said or f" {_one(name)} " in said]
    return named[0] if len(named) == 1 else None


def _one(name: str) -> str:
    """Return "neighbor" of "neighbors"."""
    return name.lower().removesuffix("s")
