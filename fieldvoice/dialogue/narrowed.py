"""Questions told apart by words that readers pass over: who got syrup, a tank, the time named."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from fieldvoice.dialogue.asked_otherwise import asked_otherwise
from fieldvoice.dialogue.noted import noted
from fieldvoice.dialogue.policy import Answer, Clarify, Reject, decide_meant
from fieldvoice.dialogue.round import round_of_today
from fieldvoice.dialogue.waiting import is_bare, is_question
from fieldvoice.dialogue.weighing import weigh
from fieldvoice.schema import Ask
from fieldvoice.schema.acts import StockOut
from fieldvoice.schema.asks.boiling import BoilReport
from fieldvoice.schema.asks.follow_ups import AmountThen, InUnits
from fieldvoice.schema.asks.past import MadeIn, Money
from fieldvoice.schema.asks.sap import SapAge, SapStored, SapTotal, VesselLevel
from fieldvoice.schema.asks.season import Advice, ContainerAdvice, Said
from fieldvoice.schema.asks.syrup import SyrupGone
from fieldvoice.schema.asks.trees import (
    BestTrees,
    SlowTrees,
    TreeHistory,
    TreeKinds,
    TreeSap,
    TreesSeen,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from fieldvoice.dialogue.context import TurnContext
    from fieldvoice.dialogue.policy import Decision
    from fieldvoice.nlu.chunker import Span

#: Who says none of these asks something else about somebody.
_GOT = re.compile(
    r"\b(give|gave|given|get|got|gotten|gets|buy|bought|buys|pay|paid|pays|sell|sold|take|took|have"
    r"|had|owe|owes|receive|received|send|sent)\b",
    re.IGNORECASE,
)


#: What holds sap and hangs on no tree.
_VESSEL = re.compile(r"\b(?:tanks?|containers?|barrels?|totes?|vessels?|drums?)\b", re.IGNORECASE)


def narrowed(
    decided: Decision, text: str, moment: TurnContext, pieces: Callable[[], Sequence[Span]]
) -> Decision:
    """Return what is to be done about ``text`` by the words that tell its question from others.

    ``pieces`` returns those of it that have a value.
    """
    decided = _of_somebody(_of_vessels(decided, text, moment), text, moment)
    decided = _of_the_tree(_of_the_round(decided, text, moment), text, moment)
    ask = _asked(decided)
    is_unknown = isinstance(decided, Reject) and is_question(text)
    is_open = (
        is_unknown
        or isinstance(ask, Advice | ContainerAdvice | InUnits)
        or getattr(ask, "words", None) is not None
    )
    is_free = isinstance(decided, Answer) and decided.echo
    is_choice = isinstance(decided, Clarify)
    if (ask is None and not is_unknown) or not (is_open or is_free or is_choice):
        return decided
    thing = _thing(ask, moment, pieces)
    apart = asked_otherwise(ask, text, thing) or _of_things(ask, text, moment, pieces)
    told = apart or ask
    timed = _of_its_time(told, text, pieces) if told is not None and (apart or is_free) else None
    meant = timed or apart
    return decided if meant is None else decide_meant(weigh((meant,), moment), echo=True)


def _thing(
    ask: Ask | None, moment: TurnContext, pieces: Callable[[], Sequence[Span]]
) -> dict[str, Any]:
    """Return the one tree or vessel of a question, or that is named where nobody knows it."""
    if ask is not None:
        named = {one: getattr(ask, one, None) for one in ("tree", "vessel")}
        return {one: value for one, value in named.items() if value is not None}
    return known_thing(pieces(), moment)


def known_thing(pieces: Sequence[Span], moment: TurnContext) -> dict[str, Any]:
    """Return the one tree or vessel of the book among the pieces; nothing where there are more."""
    names, season = moment.season.names, moment.season
    found = [names.numbered({p.sort: p.value}) for p in pieces if p.sort in ("tree", "vessel")]
    known = [
        one for one in found
        if one.get("tree") in season.trees or one.get("vessel") in season.vessels
    ]  # fmt: skip
    return known[0] if known and all(one == known[0] for one in known) else {}


def _asked(decided: Decision) -> Ask | None:
    """Return the one question that is to be answered, or the first of those to choose from."""
    asked = decided.candidate.meanings if isinstance(decided, Answer) else ()
    if isinstance(decided, Clarify) and decided.question.kind == "choice":
        asked = decided.question.options[0]
    return asked[0] if len(asked) == 1 and isinstance(asked[0], Ask) else None


def _of_vessels(decided: Decision, text: str, moment: TurnContext) -> Decision:
    """Return the question what is in store, where trees were looked for and tanks are named."""
    is_of_trees = isinstance(_asked(decided), TreesSeen | BestTrees | SlowTrees)
    if is_of_trees and _VESSEL.search(text) and "tree" not in text.lower():
        return Answer(weigh((SapStored(),), moment), echo=True)
    return decided


_IT = re.compile(r"\bit\b", re.IGNORECASE)


def _of_the_tree(decided: Decision, text: str, moment: TurnContext) -> Decision:
    """Return the question of the tree in hand, where "it" was read as some vessel."""
    ask, tree = _asked(decided), moment.focus.tree
    is_of_it = isinstance(ask, VesselLevel) and ask.vessel is None and _IT.search(text)
    if tree is None or not is_of_it or _VESSEL.search(text):
        return decided
    return Answer(weigh((TreeHistory(tree=tree),), moment))


#: The round that is walked, or was last of today, and not one before it.
_ROUND = re.compile(
    r"\b(?:how (?:much|many)|what|total)\b.*\b(?:this|last|latest|second|current) round\b",
    re.IGNORECASE,
)


def _of_the_round(decided: Decision, text: str, moment: TurnContext) -> Decision:
    """Return the question what the newest round of today gave, where its sap is asked for."""
    may_be_it = isinstance(_asked(decided), SapTotal | BoilReport | AmountThen)
    is_unknown = isinstance(decided, Reject) and is_question(text)
    walked = round_of_today(moment.season, moment.now)
    if walked is None or not (may_be_it or is_unknown) or not _ROUND.search(text):
        return decided
    return Answer(weigh((SapTotal(since=walked.began_at.isoformat()),), moment))


#: From the first day on, where no day is named beside it.
_WHOLE = re.compile(
    r"\b(?:since (?:we|i|it|the (?:start|beginning))|so far|in total|altogether|all together|in all"
    r"|to date|(?:un)?till? now|up to now|overall|from the (?:start|beginning|first)|ever)\b"
    r"(?!.*\b(?:today|this morning|week|day)\b)",
    re.IGNORECASE,
)


#: What was named before.
_ONE_IN_HAND = frozenset(("it", "him", "her", "that one", "this one", "that tree", "this tree"))
#: Words that tell only when it was said.
_TIMED_WORDS = re.compile(
    r"(?:down )?(?:(?:for )?(?:this morning|today|so far)|(?:on )?\w+day|last night)?",
    re.IGNORECASE,
)
_SPAN_WORDS = re.compile(
    r"(?:down )?(?:in )?(?:this|the|last) (?:week|month|year|season)", re.IGNORECASE
)
#: When it was noted, behind what was: "ants last week".
_WHEN_AT_END = re.compile(
    r"\s+(?:on \w+day|yesterday|(?:this|last) (?:week|month|year|season|night|\w+day))$",
    re.IGNORECASE,
)
#: Things put beside each other.
_BESIDE = re.compile(r"\b(?:more|less|better|worse|than|compared?|versus|vs|against)\b", re.I)
#: One's own trees of a kind: "red maples", "which are the box elders".
_WHICH_KIND = re.compile(
    r"^(?:the |our |my |any )?(?:(?:sugar|red|silver|black|norway) maples|box elders)\W*$"
    r"|\b(?:which|how many)\b.*\b(?:maples|elders)\b(?!.*\b(?:best|tap|need|make|good)\b)",
    re.IGNORECASE,
)
#: What is asked of a vessel, and of no kind of vessel.
_IN_IT = re.compile(r"\b(?:what'?s? (?:is )?in|how (?:full|much|old)|still good|any good)\b", re.I)


def _of_things(
    ask: Ask | None, text: str, moment: TurnContext, pieces: Callable[[], Sequence[Span]]
) -> Ask | None:
    """Return a question of all the trees or kinds that are compared, or of no more than words tell.

    "What did we write down this morning" is of no "down this morning"; "what's in that milk can" of
    the family's, where they have one.
    """
    if isinstance(ask, Said):
        if ask.words is None:
            return None
        thing = known_thing(pieces(), moment)
        if ask.words in _ONE_IN_HAND:
            thing = {name: one for name, one in moment.focus.as_json().items() if name != "at"}
        if _SPAN_WORDS.fullmatch(ask.words):
            spans = [one for one in pieces() if one.sort == "span_back"]
            return Said(span=max(spans, key=len).value) if spans else None
        is_of_time = _TIMED_WORDS.fullmatch(ask.words)
        count = 3 if ask.words.startswith("down") else None  # what was written, not what was done
        of_today = Said(since="today", count=count) if is_of_time else None
        when = _WHEN_AT_END.search(ask.words)
        of_words = ask.replace(words=ask.words[: when.start()]) if when else None
        return Said(**thing) if thing else of_today or of_words
    if isinstance(ask, TreeKinds):
        kinds = {one.value for one in pieces() if one.sort == "species"}
        return TreeKinds() if len(kinds) > 1 and ask.species is not None else None
    if isinstance(ask, Advice) and _WHICH_KIND.search(text):
        kinds = {one.value for one in pieces() if one.sort == "species"}
        return TreeKinds(species=kinds.pop()) if len(kinds) == 1 else None
    if isinstance(ask, Advice | ContainerAdvice) and _IN_IT.search(text):
        own = [one.value for one in pieces() if one.value in moment.season.vessels]
        is_of_sap = "good" in text.lower()
        told = SapAge if is_of_sap else VesselLevel
        return told(vessel=own[0]) if own else None
    if isinstance(ask, TreeHistory) and is_bare(text):
        span = max((p for p in pieces() if p.sort in _TIMES), key=len, default=None)
        return TreeSap(tree=ask.tree, span=span.value) if span is not None else None
    is_of_one = ask is None or isinstance(ask, TreeSap | TreeHistory | BestTrees | SlowTrees)
    if not is_of_one or not _BESIDE.search(text) or getattr(ask, "trees", None):
        return None
    trees = tuple(dict.fromkeys(one.value for one in pieces() if one.sort == "tree"))
    said = {"span": ask.span, "since": ask.since} if isinstance(ask, TreeSap) else {}
    return TreeSap(trees=trees, **said) if len(trees) > 1 else None


def _of_its_time(ask: Ask, text: str, pieces: Callable[[], Sequence[Span]]) -> Ask | None:
    """Return a question with the time that its words name; None where it has one or takes none."""
    slots = type(ask).model_fields
    is_timed = any(getattr(ask, one, None) not in (None, "today") for one in ("since", "span"))
    if is_timed or not slots.keys() & {"since", "span"}:
        return None
    times = [one for one in pieces() if one.sort in _TIMES and not _UNTIL.search(text)]
    found = max(times, key=lambda one: (one.sort in _RUNS, len(one)), default=None)
    if isinstance(ask, SapTotal):
        if found is None or found.value == "today":
            return SapTotal(since="season") if found is None and _WHOLE.search(text) else None
        runs_on = found.sort == "since" or found.value == "yesterday"
        return SapTotal(since=found.value) if runs_on else MadeIn(span=found.value)
    if found is None or (isinstance(ask, Said) and (ask.count or found.value == "today")):
        return None
    if isinstance(ask, Said) and found.sort == "since":
        return Said(tree=ask.tree, vessel=ask.vessel, words=ask.words, since=found.value)
    named: Ask = ask.replace(**{**dict.fromkeys(slots.keys() & {"since"}), "span": found.value})
    return named


_TIMES = frozenset({"since", "span_back", "when"})
#: Up to then, and so from the beginning.
_UNTIL = re.compile(r"\b(?:until|till|up to) (?:today|now)\b", re.IGNORECASE)
#: Pieces of time that are surely what a question is of: "since monday", "last year".
_RUNS = frozenset({"since", "span_back"})


def _of_somebody(decided: Decision, text: str, moment: TurnContext) -> Decision:
    """Return the question what somebody got, where syrup is noted as gone to who is named.

    Only a question that nobody knows becomes one; one that asks where the syrup went, or what it
    brought in, is narrowed to who is named.
    """
    ask = _asked(decided)
    is_of_gone = isinstance(ask, SyrupGone | Money)
    if not is_of_gone and not (isinstance(decided, Reject) and is_question(text)):
        return decided
    name = _named(text, moment) if is_of_gone or _GOT.search(text) else None
    if name is None:
        return decided
    if isinstance(ask, SyrupGone):
        return Answer(weigh((ask.replace(to=name),), moment), echo=True)
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
